//! `manifest.json`: the day's plan for other programs, and `manifest.csv`, the same parcels for a spreadsheet.
//!
//! Handed a plan; gives JSON of the schema `dawnpack/manifest/1`. Money is a decimal string, mass in grams to the
//! tenth, length in millimetres, dates ISO 8601. Turned down: serialising the model as it is, which would tie
//! readers outside to every change of a type inside.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::{Value, json};

use crate::model::customs::Declaration;
use crate::model::day::DayPlan;
use crate::model::length::Length;
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::model::parcel::{Parcel, Roll};
use crate::model::recipient::Recipient;

/// The plan as `manifest.json` holds it.
#[must_use]
pub fn manifest_json(plan: &DayPlan) -> Value {
    json!({
        "schema": "dawnpack/manifest/1",
        "date": plan.date.to_string(),
        "revision": plan.revision,
        "currency": plan.currency.code(),
        "parcels": plan.parcels.iter().map(parcel).collect::<Vec<_>>(),
        "listed_earlier": plan.listed_earlier.iter().map(|earlier| json!({
            "ref": earlier.r#ref.0, "listed": earlier.listed.to_string(), "name": earlier.name,
        })).collect::<Vec<_>>(),
        "held": plan.held.iter().map(|held| json!({
            "id": held.id,
            "name": held.name,
            "reason": held.reason.word(),
            "text": held.text,
            "until": held.until.map(|day| day.to_string()),
            "ship_by": held.ship_by.map(|day| day.to_string()),
        })).collect::<Vec<_>>(),
        "questions": plan.questions.iter().map(|question| json!({
            "id": question.id.to_string(),
            "kind": question.kind.word(),
            "about": question.about,
            "text": question.text,
            "choices": question.choices,
        })).collect::<Vec<_>>(),
        "refused": plan.refused.iter().map(|refused| json!({
            "file": refused.file,
            "line": refused.line,
            "column": refused.column,
            "value": refused.value,
            "reason": refused.reason,
        })).collect::<Vec<_>>(),
        "waiting": plan.waiting.iter()
            .map(|waiting| json!({
                "file": waiting.file, "why": waiting.why,
                "proposal": waiting.proposal.as_ref().map(|proposal| &proposal.name),
            })).collect::<Vec<_>>(),
        "changed": plan.changed.iter().map(|changed| json!({
            "id": changed.id,
            "name": changed.name,
            "what": changed.what,
            "parcel": changed.parcel.as_ref().map(|parcel| &parcel.0),
            "handed_over": changed.handed_over,
        })).collect::<Vec<_>>(),
        "remarks": plan.remarks.iter().map(|remark| json!({
            "file": remark.file, "line": remark.line, "column": remark.column, "text": remark.text,
        })).collect::<Vec<_>>(),
        "called_off": plan.called_off.iter()
            .map(|(id, state)| json!({ "id": id, "state": state })).collect::<Vec<_>>(),
        "totals": {
            "parcels": plan.totals.parcels,
            "items": plan.totals.items,
            "postage": plan.totals.postage.plain(),
            "mass_g": tenth(plan.totals.mass_g),
        },
    })
}

fn parcel(parcel: &Parcel) -> Value {
    let postage = &parcel.postage;
    json!({
        "ref": parcel.r#ref.0,
        "again": false,
        "part": parcel.part.map(|(this, of)| json!([this, of])),
        "recipient": recipient(&parcel.recipient),
        "orders": parcel.orders.iter().map(|order| order.id.to_string()).collect::<Vec<_>>(),
        "trades": parcel.trades.iter().map(|(id, _)| id.to_string()).collect::<Vec<_>>(),
        "items": parcel.items.iter().map(|item| json!({
            "code": item.code.0,
            "title": item.title,
            "quantity": item.quantity,
            "kind": item.kind,
            "for": item.for_.id(),
            "options": item.options,
            "place": item.place,
        })).collect::<Vec<_>>(),
        "rolls": parcel.rolls.iter().map(roll).collect::<Vec<_>>(),
        "mailer": parcel.mailer.code,
        "papers": parcel.papers.iter().map(|paper| paper.word()).collect::<Vec<_>>(),
        "invoices": parcel.invoices.iter().map(|invoice| json!({
            "number": invoice.number, "order": invoice.order.to_string(), "issued_on": invoice.issued_on.to_string(),
        })).collect::<Vec<_>>(),
        "mass": { "mean_g": tenth(parcel.mass.mean_g), "sd_g": tenth(parcel.mass.sd_g) },
        "size_mm": [mm(parcel.size.length), mm(parcel.size.width), mm(parcel.size.thickness)],
        "postage": {
            "carrier": postage.carrier,
            "service": postage.service,
            "declared": weight(postage.declared),
            "price": postage.price.plain(),
            "zone": postage.zone,
            "weigh_first": postage.weigh_first,
            "edge": postage.edge.map(weight),
            "next_best": postage.next_best.as_ref()
                .map(|next| json!({ "service": next.service, "price": next.price.plain() })),
            "change_ahead": postage.change_ahead.as_ref()
                .map(|change| json!({
                    "from": change.from.to_string(),
                    "price": change.price.plain(),
                    "difference": difference(change.price, postage.price),
                })),
            "base": postage.base.map(Money::plain),
            "bought": postage.bought.iter().map(|bought| json!({
                "what": bought.what.word(),
                "code": bought.code,
                "price": bought.price.plain(),
                "up_to": bought.up_to.map(Money::plain),
            })).collect::<Vec<_>>(),
        },
        "value": parcel.value.plain(),
        "refund_offer": parcel.refund_offer.map(Money::plain),
        "customs": parcel.customs.as_ref().map(customs),
        "ship_by": parcel.ship_by.to_string(),
        "late": parcel.late,
        "cautions": parcel.cautions.iter()
            .map(|caution| json!({ "code": caution.code, "text": caution.text })).collect::<Vec<_>>(),
        "why": parcel.why,
    })
}

/// The email stays out: no reader of a manifest needs it.
fn recipient(to: &Recipient) -> Value {
    json!({
        "name": to.name,
        "company": to.company,
        "lines": to.lines,
        "city": to.city,
        "region": to.region,
        "postal_code": to.postal_code,
        "country": to.country.map(super::super::model::address::Country::code),
        "country_as_written": to.country_as_written,
    })
}

fn roll(roll: &Roll) -> Value {
    json!({
        "codes": roll.laid.iter().map(|piece| piece.code.0.as_str()).collect::<Vec<_>>(),
        "wrap_mm": [mm(roll.strip_width), mm(roll.strip_length)],
        "size_mm": [mm(roll.size.length), mm(roll.size.width), mm(roll.size.thickness)],
        "folds_mm": roll.folds.iter().map(|fold| mm(*fold)).collect::<Vec<_>>(),
    })
}

fn customs(declaration: &Declaration) -> Value {
    json!({
        "form": declaration.form.word(),
        "form_why": declaration.form_why,
        "category": declaration.category,
        "explanation": declaration.explanation,
        "items": declaration.items.iter().map(|item| json!({
            "description": item.description,
            "quantity": item.quantity,
            "net_g": tenth(item.net_g),
            "value": item.value.plain(),
            "hs_code": item.hs_code,
            "origin": item.origin,
        })).collect::<Vec<_>>(),
        "net_g": tenth(declaration.net_g),
        "value": declaration.value.plain(),
        "gross_g": declaration.gross_g.map(tenth),
        "postal_charges": declaration.postal_charges.map(Money::plain),
    })
}

/// How much dearer `then` is; below zero where it is cheaper, and none where the two are in two currencies.
fn difference(then: Money, now: Money) -> Option<String> {
    (then.currency == now.currency).then(|| Money::new(then.amount - now.amount, now.currency).plain())
}

fn weight(weight: Weight) -> Value {
    json!({ "value": weight.value.normalize().to_string(), "unit": weight.unit.symbol() })
}

/// Rounded to the tenth of a gram, finer than any kitchen scale.
fn tenth(grams: f64) -> Value {
    json!((grams * 10.0).round() / 10.0)
}

/// A length as a JSON number, without a point where it is whole.
fn mm(length: Length) -> Value {
    number(length.mm().normalize())
}

fn number(decimal: Decimal) -> Value {
    if decimal.scale() == 0 { json!(decimal.to_i64()) } else { json!(decimal.to_f64()) }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn a_parcel_is_told_as_the_schema_says() {
        let (_, mut plan) = sample::day().unwrap();
        plan.parcels[0].mass.mean_g = 38.449;
        plan.totals.mass_g = 0.05 + 38.4;
        let json = manifest_json(&plan);
        let parcel = &json["parcels"][0];
        assert_eq!(json["schema"], "dawnpack/manifest/1");
        assert_eq!(parcel["again"], false);
        assert_eq!(parcel["mass"]["mean_g"], 38.4);
        assert_eq!(parcel["postage"]["declared"], json!({ "value": "4", "unit": "oz" }));
        assert_eq!(parcel["postage"]["price"], "5.25");
        let change = parcel["postage"]["change_ahead"].as_object().unwrap();
        assert_eq!(change["difference"], "0.35");
        assert!(json["parcels"][1]["customs"]["form"].is_string());
        assert_eq!(parcel["papers"], json!(["invoice", "note"]));
        assert_eq!(parcel["items"][0]["for"], "stall:1001");
        assert_eq!(parcel["items"].as_array().unwrap().last().unwrap()["for"], "T-0007");
        assert_eq!(parcel["mailer"], "A");
        assert_eq!(json["parcels"][1]["postage"]["next_best"], Value::Null);
        assert_eq!(json["held"][0]["until"], Value::Null);
        assert_eq!(json["totals"]["postage"], "26.90");
        assert!(!json.to_string().contains("ines@example.net"));
    }

    #[test]
    fn a_roll_has_a_code_for_each_piece_and_whole_millimetres_without_a_point() {
        let (_, plan) = sample::day().unwrap();
        let json = manifest_json(&plan);
        let roll = &json["parcels"][0]["rolls"][0];
        assert_eq!(roll["codes"].as_array().unwrap().len(), plan.parcels[0].rolls[0].laid.len());
        assert!(roll["wrap_mm"][0].is_u64(), "{}", roll["wrap_mm"]);
        assert_eq!(number("117.5".parse().unwrap()), json!(117.5));
    }

    /// Every key that a reader may rely on, at every level.
    #[test]
    fn no_key_is_missing() {
        let (_, plan) = sample::day().unwrap();
        let json = manifest_json(&plan);
        let keys = |value: &Value, keys: &[&str]| {
            for key in keys {
                assert!(value.get(key).is_some(), "{key} in {value}");
            }
        };
        keys(&json, &["schema", "date", "revision", "currency", "parcels", "listed_earlier", "held", "questions"]);
        keys(&json, &["refused", "totals"]);
        let parcel = &json["parcels"][0];
        keys(parcel, &["ref", "again", "recipient", "orders", "trades", "items", "rolls", "mailer", "papers", "mass"]);
        keys(parcel, &["postage", "value", "ship_by", "late", "cautions", "why"]);
        keys(&parcel["recipient"], &["name", "lines", "city", "region", "postal_code", "country"]);
        keys(&parcel["items"][0], &["code", "title", "quantity", "kind", "for"]);
        keys(&parcel["postage"], &["carrier", "service", "declared", "price", "weigh_first", "next_best"]);
        keys(&json["listed_earlier"][0], &["ref", "listed"]);
        keys(&json["questions"][0], &["id", "kind", "about", "text", "choices"]);
        keys(&json["refused"][0], &["file", "line", "column", "value", "reason"]);
        keys(&json["totals"], &["parcels", "items", "postage", "mass_g"]);
    }
}
