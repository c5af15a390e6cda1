//! `manifest.json`: the day's plan for other programs.
//!
//! Handed a plan; gives the document of the schema `dawnpack/manifest/1`, whose fields are in [`form`].

use jiff::civil::Date;
use rust_decimal::prelude::ToPrimitive;
use serde_json::Number;

use crate::model::address::Country;
use crate::model::catalogue::Kind;
use crate::model::customs::{Category, Declaration};
use crate::model::day::{CalledOff, DayPlan, ListedEarlier, TakenOff};
use crate::model::length::Length;
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::model::parcel::{self, Parcel, Postage, Roll};
use crate::model::recipient::Recipient;
use crate::model::scale::{LearntMass, ScaleFinding};
use crate::papers::said;
use crate::plan::weighing;

use form::{Amount, Day};

pub mod form;

/// The plan as `manifest.json` holds it.
#[must_use]
pub fn manifest_json(plan: &DayPlan) -> form::Manifest {
    form::Manifest {
        schema: "dawnpack/manifest/1",
        date: day(plan.date),
        revision: plan.revision,
        currency: plan.currency.code(),
        parcels: plan.parcels.iter().map(parcel).collect(),
        listed_earlier: plan.listed_earlier.iter().map(earlier).collect(),
        taken_off: plan.taken_off.iter().map(taken_off).collect(),
        held: plan
            .held
            .iter()
            .map(|held| form::Held {
                id: held.id.to_string(),
                name: held.name.clone(),
                reason: held.reason.word(),
                text: held.text.clone(),
                until: held.until.map(day),
                ship_by: held.ship_by.map(day),
            })
            .collect(),
        questions: plan
            .questions
            .iter()
            .map(|question| form::Question {
                id: question.id.to_string(),
                kind: question.subject.kind().word(),
                about: question.about.iter().map(ToString::to_string).collect(),
                text: question.text.clone(),
                choices: question.choices.clone(),
            })
            .collect(),
        refused: plan
            .refused
            .iter()
            .map(|refused| form::Refused {
                file: refused.file.clone(),
                line: refused.line,
                column: refused.column.clone(),
                value: refused.value.clone(),
                reason: refused.reason.clone(),
            })
            .collect(),
        waiting: plan
            .waiting
            .iter()
            .map(|waiting| form::Waiting {
                file: waiting.file.clone(),
                why: waiting.why.clone(),
                proposal: waiting.proposal.as_ref().map(|proposal| proposal.name.clone()),
            })
            .collect(),
        changed: plan
            .changed
            .iter()
            .map(|changed| form::Changed {
                id: changed.id.to_string(),
                name: changed.name.clone(),
                what: changed.what.clone(),
                parcel: changed.parcel.as_ref().map(|parcel| parcel.0.clone()),
                handed_over: changed.handed_over,
            })
            .collect(),
        remarks: plan
            .remarks
            .iter()
            .map(|remark| form::Remark {
                file: remark.file.clone(),
                line: remark.line,
                column: remark.column.clone(),
                text: remark.text.clone(),
            })
            .collect(),
        called_off: plan.called_off.iter().map(called_off).collect(),
        said: plan
            .said
            .iter()
            .map(|said| form::Said { at: said.at.to_string(), text: said::line(&said.what) })
            .collect(),
        scale: plan.scale.iter().map(on_scale).collect(),
        masses: plan.masses.iter().map(learnt_mass).collect(),
        totals: form::Totals {
            parcels: plan.totals.parcels,
            items: plan.totals.items,
            postage: amount(plan.totals.postage),
            mass_g: tenth(plan.totals.mass_g),
        },
    }
}

fn earlier(earlier: &ListedEarlier) -> form::Earlier {
    form::Earlier {
        r#ref: earlier.r#ref.0.clone(),
        listed: day(earlier.listed),
        name: earlier.name.clone(),
        ship_by: earlier.ship_by.map(day),
        hand_over_by: earlier.last_day.map(day),
        late: earlier.late,
        heed: earlier.heed.clone(),
    }
}

fn taken_off(taken: &TakenOff) -> form::TakenOff {
    form::TakenOff {
        r#ref: taken.r#ref.0.clone(),
        listed: day(taken.listed),
        name: taken.name.clone(),
        why: taken.why.clone(),
        holds: taken.holds.iter().map(ToString::to_string).collect(),
    }
}

fn called_off(off: &CalledOff) -> form::CalledOff {
    form::CalledOff {
        id: off.order.to_string(),
        name: off.name.clone(),
        state: off.state.word(),
        listed_in: off.listed_in.iter().map(|parcel| parcel.0.clone()).collect(),
        went_in: off.went_in.iter().map(|(went, on)| form::Went { r#ref: went.0.clone(), on: day(*on) }).collect(),
    }
}

fn on_scale(finding: &ScaleFinding) -> form::OnScale {
    form::OnScale {
        parcel: finding.parcel.0.clone(),
        planned_g: tenth(finding.planned.mean_g),
        sd_g: tenth(finding.expected.sd_g),
        scale_g: tenth(finding.scale.mass().as_f64()),
        reading: finding.likeliest.finding.word(),
        code: finding.likeliest.code.as_ref().map(ToString::to_string),
        with: finding.likeliest.with.as_ref().map(|with| with.0.clone()),
        text: weighing::tell(finding),
    }
}

fn learnt_mass(mass: &LearntMass) -> form::LearntMass {
    form::LearntMass {
        code: mass.thing.to_string(),
        mass_g: tenth(mass.known.mean_g),
        mass_sd_g: tenth(mass.known.sd_g),
        learnt_g: tenth(mass.learnt.mean_g),
        learnt_sd_g: tenth(mass.learnt.sd_g),
        readings: mass.readings,
    }
}

fn parcel(parcel: &Parcel) -> form::Parcel {
    form::Parcel {
        r#ref: parcel.r#ref.0.clone(),
        again: false,
        part: parcel.part.map(|(this, of)| [this, of]),
        recipient: recipient(&parcel.recipient),
        orders: parcel.orders.iter().map(|order| order.id.to_string()).collect(),
        trades: parcel.trades.iter().map(|(id, _)| id.to_string()).collect(),
        items: parcel.items.iter().map(item).collect(),
        rolls: parcel.rolls.iter().map(roll).collect(),
        mailer: parcel.mailer.code.clone(),
        papers: parcel.papers.iter().map(|paper| paper.word()).collect(),
        invoices: parcel
            .invoices
            .iter()
            .map(|invoice| form::Invoice {
                number: invoice.number,
                order: invoice.order.to_string(),
                issued_on: day(invoice.issued_on),
            })
            .collect(),
        belongs_to: parcel
            .rests
            .iter()
            .map(|rest| form::Rest {
                order: rest.order.to_string(),
                invoice: rest.invoice.as_ref().map(|invoice| invoice.number),
                after: rest.after.clone(),
            })
            .collect(),
        mass: form::Mass { mean_g: tenth(parcel.mass.mean_g), sd_g: tenth(parcel.mass.sd_g) },
        size_mm: [mm(parcel.size.length), mm(parcel.size.width), mm(parcel.size.thickness)],
        postage: postage(&parcel.postage),
        value: amount(parcel.value),
        refund_offer: parcel.refund_offer.map(amount),
        customs: parcel.customs.as_ref().map(customs),
        ship_by: day(parcel.ship_by),
        hand_over_by: parcel.hand_over_by.map(day),
        late: parcel.late,
        cautions: parcel
            .cautions
            .iter()
            .map(|caution| form::Caution { code: caution.code.clone(), text: caution.text.clone() })
            .collect(),
        why: parcel.why.clone(),
    }
}

fn recipient(to: &Recipient) -> form::Recipient {
    form::Recipient {
        name: to.name.clone(),
        company: to.company.clone(),
        lines: to.lines.clone(),
        city: to.city.clone(),
        region: to.region.clone(),
        postal_code: to.postal_code.clone(),
        country: to.country.map(Country::code),
        country_as_written: to.country_as_written.clone(),
    }
}

fn item(item: &parcel::Item) -> form::Item {
    form::Item {
        code: item.code.0.clone(),
        title: item.title.clone(),
        quantity: item.quantity,
        kind: match item.kind {
            Kind::Pin => "pin",
            Kind::Carded => "carded",
            Kind::Flat => "flat",
            Kind::Other => "other",
        },
        r#for: item.for_.id().to_string(),
        options: item.options.clone(),
        place: item.place.clone(),
    }
}

fn roll(roll: &Roll) -> form::Roll {
    form::Roll {
        codes: roll.laid.iter().map(|piece| piece.code.0.clone()).collect(),
        wrap_mm: [mm(roll.strip_width), mm(roll.strip_length)],
        size_mm: [mm(roll.size.length), mm(roll.size.width), mm(roll.size.thickness)],
        folds_mm: roll.folds.iter().map(|fold| mm(*fold)).collect(),
    }
}

fn postage(postage: &Postage) -> form::Postage {
    form::Postage {
        carrier: postage.carrier.clone(),
        service: postage.service.clone(),
        declared: weight(postage.declared),
        price: amount(postage.price),
        zone: postage.zone.clone(),
        weigh_first: postage.weigh_first,
        edge: postage.edge.map(weight),
        next_best: postage
            .next_best
            .as_ref()
            .map(|next| form::NextBest { service: next.service.clone(), price: amount(next.price) }),
        change_ahead: postage.change_ahead.as_ref().map(|change| form::ChangeAhead {
            from: day(change.from),
            price: amount(change.price),
            difference: difference(change.price, postage.price),
        }),
        base: postage.base.map(amount),
        bought: postage
            .bought
            .iter()
            .map(|bought| form::Bought {
                what: bought.what.word(),
                code: bought.code.clone(),
                price: amount(bought.price),
                up_to: bought.up_to.map(amount),
            })
            .collect(),
    }
}

fn customs(declaration: &Declaration) -> form::Customs {
    form::Customs {
        form: declaration.form.word(),
        form_why: declaration.form_why.clone(),
        explanation: declaration.explanation.clone(),
        category: match declaration.category {
            Category::SaleOfGoods => "sale-of-goods",
            Category::Other => "other",
        },
        items: declaration
            .items
            .iter()
            .map(|item| form::CustomsItem {
                description: item.description.clone(),
                quantity: item.quantity,
                net_g: tenth(item.net_g),
                value: amount(item.value),
                hs_code: item.hs_code.as_ref().map(|code| code.digits().to_owned()),
                origin: item.origin.map(|origin| origin.code().to_owned()),
            })
            .collect(),
        net_g: tenth(declaration.net_g),
        value: amount(declaration.value),
        gross_g: declaration.gross_g.map(tenth),
        postal_charges: declaration.postal_charges.map(amount),
    }
}

/// How much dearer `then` is; below zero where it is cheaper, and none where the two are in two currencies.
fn difference(then: Money, now: Money) -> Option<Amount> {
    (then.currency == now.currency).then(|| amount(Money::new(then.amount - now.amount, now.currency)))
}

fn day(date: Date) -> Day {
    Day(date.to_string())
}

fn amount(money: Money) -> Amount {
    Amount(money.plain())
}

fn weight(weight: Weight) -> form::Weight {
    form::Weight { value: Amount(weight.value.normalize().to_string()), unit: weight.unit.symbol() }
}

/// Rounded to the tenth of a gram, finer than any kitchen scale.
fn tenth(grams: f64) -> f64 {
    (grams * 10.0).round() / 10.0
}

/// A length as a JSON number, without a point where it is whole.
fn mm(length: Length) -> Number {
    let decimal = length.mm().normalize();
    let fraction = || decimal.to_f64().and_then(Number::from_f64);
    let number = if decimal.scale() == 0 { decimal.to_i64().map(Number::from) } else { fraction() };
    // No length is beyond what these hold.
    number.unwrap_or_else(|| Number::from(0))
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::super::sample;
    use super::*;

    fn json_of(plan: &DayPlan) -> Value {
        serde_json::to_value(manifest_json(plan)).unwrap()
    }

    #[test]
    fn a_parcel_is_told_as_the_schema_says() {
        let (_, mut plan) = sample::day().unwrap();
        plan.parcels[0].mass.mean_g = 38.449;
        plan.totals.mass_g = 0.05 + 38.4;
        let json = json_of(&plan);
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
        let json = json_of(&plan);
        let roll = &json["parcels"][0]["rolls"][0];
        assert_eq!(roll["codes"].as_array().unwrap().len(), plan.parcels[0].rolls[0].laid.len());
        assert!(roll["wrap_mm"][0].is_u64(), "{}", roll["wrap_mm"]);
        assert_eq!(json!(mm(Length::from_mm("117.5".parse().unwrap()))), json!(117.5));
    }

    /// Every key that a reader may rely on, at every level.
    #[test]
    fn no_key_is_missing() {
        let (_, plan) = sample::day().unwrap();
        let json = json_of(&plan);
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
