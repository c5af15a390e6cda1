//! How a file would be read, as one document and one line.
//!
//! Handed what reading gave; promises every part of it in the form that `read --json` has. Turned down: the types of
//! the inbox as they are, which would bind what others read to how this program is built.

use jiff::civil::Date;
use serde_json::{Map, Value, json};

use crate::inbox::ReadError;
use crate::model::carrier::{Acceptance, PostageBought, ReceiptPicture};
use crate::model::day::{Proposal, Refused, Remark, Waiting};
use crate::model::drop::{Content, Reading};
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::model::order::Order;
use crate::model::parcel::ParcelRef;
use crate::model::trade::{Trade, TradeItem};

/// How one file would be read.
#[derive(Debug)]
pub struct FileRead {
    /// For a program.
    pub document: Value,
    /// For a person, in one line.
    pub line: String,
    /// What was read, for a person: a line for each of the first orders or trades, then what was chosen or mended; or
    /// the column map that is proposed.
    pub shown: Vec<String>,
    /// What would be refused.
    pub refused: Vec<Refused>,
}

/// The document of one file.
#[must_use]
pub(super) fn document(name: &str, read: &Result<Reading, ReadError>) -> FileRead {
    match read {
        Ok(reading) => reading_of(name, reading),
        Err(ReadError::Unreadable(why)) => unread(name, "unreadable", why.clone(), None),
        Err(ReadError::Waiting(waiting)) => {
            let reason = waiting.why.clone();
            let why = Refused { file: name.to_owned(), line: None, column: None, value: None, reason };
            unread(name, "waiting", why, Some(waiting))
        }
    }
}

fn remark(remark: &Remark) -> Value {
    json!({"line": remark.line, "column": remark.column, "text": remark.text})
}

fn unread(name: &str, kind: &str, why: Refused, waiting: Option<&Waiting>) -> FileRead {
    let proposal = waiting.and_then(|waiting| waiting.proposal.as_ref());
    let date_asked = waiting.and_then(|waiting| waiting.date_asked.as_ref());
    let refused = json!({"line": why.line, "column": why.column, "value": why.value, "reason": why.reason});
    FileRead {
        document: json!({
            "file": name, "kind": kind, "source": null, "columns": null, "encoding": null, "delimiter": null,
            "header_line": null, "orders": [], "trades": [], "entries": [], "refused": [refused],
            "remarks": [], "matched": null, "proposal": proposal, "date_asked": date_asked,
            "rows": {"read": 0, "taken": 0, "refused": 0, "skipped": 0}
        }),
        line: format!("{name}: {kind}"),
        shown: proposal.map(proposed).unwrap_or_default(),
        refused: vec![why],
    }
}

fn reading_of(name: &str, reading: &Reading) -> FileRead {
    let (orders, trades, entries) = match &reading.content {
        Content::Sales(orders) => (orders.iter().map(order).collect(), json!([]), json!([])),
        Content::Trades(trades) => (Vec::new(), json!(trades), json!([])),
        Content::Handoff(entries) => (Vec::new(), json!([]), json!(entries)),
        Content::Answers(entries) => (Vec::new(), json!([]), json!(entries)),
        Content::Arrivals(entries) => (Vec::new(), json!([]), json!(entries)),
        Content::Postage(entries) => (Vec::new(), json!([]), entries.iter().map(postage).collect()),
        Content::Receipts(entries) => (Vec::new(), json!([]), entries.iter().map(receipt).collect()),
        Content::ReceiptPicture(picture) => (Vec::new(), json!([]), json!([picture])),
    };
    let refused: Vec<Refused> = reading.refused.iter().map(|row| row.why.clone()).collect();
    let refused_rows: Vec<Value> = refused
        .iter()
        .map(|why| json!({"line": why.line, "column": why.column, "value": why.value, "reason": why.reason}))
        .collect();
    let rows = reading.rows;
    let columns = match (&reading.source, &reading.matched) {
        (_, Some(_)) => Some("matched"),
        (Some(_), None) => Some("map"),
        (None, None) => None,
    };
    let matched = reading.matched.as_ref().map(|columns| {
        columns.iter().map(|(field, header)| (field.word().to_owned(), json!(header))).collect::<Map<String, Value>>()
    });
    let remarks: Vec<Value> = reading.remarks.iter().map(remark).collect();
    FileRead {
        line: format!(
            "{name}: {} by {}, {}; {} rows: {} taken, {} refused, {} skipped",
            reading.content.kind(),
            reading.source.as_deref().unwrap_or("its own form"),
            reading.encoding,
            rows.read,
            rows.taken,
            rows.refused,
            rows.skipped
        ),
        shown: shown(reading),
        document: json!({
            "file": name, "kind": reading.content.kind(), "source": reading.source,
            "columns": columns, "encoding": reading.encoding,
            "delimiter": reading.delimiter, "header_line": reading.header_line, "orders": orders, "trades": trades,
            "entries": entries, "refused": refused_rows, "remarks": remarks, "matched": matched, "proposal": null,
            "date_asked": null,
            "rows": {"read": rows.read, "taken": rows.taken, "refused": rows.refused, "skipped": rows.skipped}
        }),
        refused,
    }
}

fn order(order: &Order) -> Value {
    let plain = |money: Option<Money>| money.map(Money::plain);
    let lines: Vec<Value> = order
        .lines
        .iter()
        .map(|line| {
            json!({"code": line.code, "title": line.title, "quantity": line.quantity,
                   "unit_price": plain(line.unit_price)})
        })
        .collect();
    json!({
        "order": order.id.number, "placed_at": order.placed_at, "state": order.state.word(),
        "recipient": order.recipient, "lines": lines, "postage_charged": plain(order.postage_charged),
        "tax": plain(order.tax), "discount": plain(order.discount), "total": plain(order.total),
        "currency": order.currency, "gift": order.gift, "gift_message": order.gift_message, "note": order.note
    })
}

/// Orders or trades shown of a file; the document has them all.
const MOST_SHOWN: usize = 10;

fn shown(reading: &Reading) -> Vec<String> {
    let mut all: Vec<String> = match &reading.content {
        Content::Sales(orders) => orders.iter().map(order_line).collect(),
        Content::Trades(trades) => trades.iter().map(trade_line).collect(),
        Content::Handoff(entries) => vec![format!("{} parcels told of", entries.len())],
        Content::Answers(entries) => vec![format!("{} questions answered", entries.len())],
        Content::Arrivals(entries) => vec![format!("{} trades told of", entries.len())],
        Content::Postage(entries) => entries
            .iter()
            .map(|row| entry_line(row.tracking.as_ref(), row.parcel.as_ref(), row.bought_at, row.price))
            .collect(),
        Content::Receipts(entries) => entries
            .iter()
            .map(|row| entry_line(row.tracking.as_ref(), row.parcel.as_ref(), row.accepted_at, row.price))
            .collect(),
        Content::ReceiptPicture(picture) => vec![picture_line(picture)],
    };
    let more = all.len().saturating_sub(MOST_SHOWN);
    if more > 0 {
        all.truncate(MOST_SHOWN);
        all.push(format!("and {more} more, all with --json"));
    }
    let place = |remark: &Remark| {
        let line = remark.line.map(|line| format!("line {line}: ")).unwrap_or_default();
        format!("note: {line}{}", remark.text)
    };
    all.extend(reading.remarks.iter().map(place));
    all
}

fn order_line(order: &Order) -> String {
    let goods: Vec<String> = order.lines.iter().map(ToString::to_string).collect();
    let to = &order.recipient;
    let to: Vec<&str> = [&to.name, &to.city].into_iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
    format!("{} {}, {}: {}", order.id.number, order.state.word(), to.join(", "), goods.join(", "))
}

fn trade_line(trade: &Trade) -> String {
    let goods = |items: &[TradeItem]| {
        items.iter().map(|item| format!("{} × {}", item.quantity, item.what)).collect::<Vec<_>>().join(", ")
    };
    let (send, get) = (goods(&trade.send), goods(&trade.get));
    format!("{}, agreed {}: I send {send}; I get {get}", trade.with.name, trade.agreed)
}

fn postage(row: &PostageBought) -> Value {
    json!({
        "line": row.line, "tracking": row.tracking, "parcel": row.parcel, "bought_at": row.bought_at,
        "bought_at_as_written": row.bought_at_as_written, "price": row.price.map(Money::plain),
        "currency": row.price.map(|price| price.currency), "service": row.service, "mass": row.mass.map(grams),
        "mass_as_written": row.mass, "name": row.name, "postal_code": row.postal_code
    })
}

fn receipt(row: &Acceptance) -> Value {
    json!({
        "line": row.line, "tracking": row.tracking, "parcel": row.parcel, "accepted_at": row.accepted_at,
        "accepted_at_as_written": row.accepted_at_as_written, "place": row.place,
        "price": row.price.map(Money::plain), "currency": row.price.map(|price| price.currency),
        "mass": row.mass.map(grams), "mass_as_written": row.mass, "postal_code": row.postal_code
    })
}

fn grams(weight: Weight) -> f64 {
    weight.mass().as_f64()
}

fn entry_line(
    tracking: Option<&String>,
    parcel: Option<&ParcelRef>,
    day: Option<Date>,
    price: Option<Money>,
) -> String {
    let day = day.map(|day| day.to_string());
    let price = price.map(|price| format!("{} {}", price.plain(), price.currency));
    let told = [tracking.cloned(), parcel.map(|parcel| format!("parcel {parcel}")), day, price];
    told.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn picture_line(picture: &ReceiptPicture) -> String {
    let names = picture.parcels.iter().map(ToString::to_string).chain(picture.tracking.iter().cloned());
    let day = picture.day.map(|(month, day)| format!("the hand-off of {month:02}-{day:02}"));
    let names: Vec<String> = names.chain(day).collect();
    let told =
        if names.is_empty() { "its name says of nothing".to_owned() } else { format!("of {}", names.join(", ")) };
    format!("{} picture of a receipt, {told}", picture.format.word())
}

fn proposed(proposal: &Proposal) -> Vec<String> {
    let head = format!("proposed as columns/{}.toml, to be completed:", proposal.name);
    std::iter::once(head).chain(proposal.toml.lines().map(|line| format!("  {line}"))).collect()
}
