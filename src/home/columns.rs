//! `columns/NAME.toml`.

use std::collections::BTreeMap;

use serde::Deserialize as _;
use serde::de::IntoDeserializer as _;
use serde::de::value::{Error, StrDeserializer};

use crate::model::drop::{ColumnMap, DateOrder, MapKind, SalesField};
use crate::model::order::OrderState;

use super::fault::{Fault, suggestion};
use super::keys::{self, Source, Table};

/// Fields of a sales export.
const SALES: [&str; 31] = [
    "order",
    "line",
    "placed_at",
    "paid_at",
    "state",
    "buyer",
    "name",
    "company",
    "address1",
    "address2",
    "address3",
    "city",
    "region",
    "postal_code",
    "country",
    "email",
    "code",
    "title",
    "options",
    "quantity",
    "unit_price",
    "line_total",
    "postage_charged",
    "tax",
    "discount",
    "total",
    "currency",
    "note",
    "gift",
    "gift_message",
    "ship_by",
];
/// Fields of a table of postage bought.
const POSTAGE: [&str; 8] = ["tracking", "parcel", "bought_at", "price", "service", "mass", "name", "postal_code"];
/// Fields of acceptance receipts.
const RECEIPTS: [&str; 7] = ["tracking", "parcel", "accepted_at", "place", "price", "mass", "postal_code"];

pub(super) fn read(file: &str, text: &str, faults: &mut Vec<Fault>) -> Option<ColumnMap> {
    let source = Source { file, text };
    let parsed = keys::parse(source, faults)?;
    let table = Table::root(source, &parsed);
    table.only(&["name", "kind", "headers", "dates", "decimal", "columns", "states"], faults);
    let name = table.must("name", "write a short name for the source", faults).and_then(|item| {
        let name = item.text(faults)?;
        if name.contains([':', '|', ' ']) {
            faults
                .push(item.fault("holds a colon, bar or space; it is the first half of every order's id: use letters"));
        }
        Some(name.to_owned())
    });
    let kind = match table.get("kind") {
        Some(item) => item.word(&["sales", "postage", "receipts"], faults),
        None => Some(MapKind::Sales),
    };
    let headers = table.must("headers", "name the headers that tell this source", faults).and_then(|item| {
        let headers = item.texts(faults)?;
        if headers.is_empty() {
            faults.push(item.fault("is empty; name the headers that tell this source"));
        }
        Some(headers)
    });
    let dates = table.get("dates").map_or(Some(DateOrder::Ymd), |item| item.word(&["dmy", "mdy", "ymd"], faults));
    let decimal = table.get("decimal").map_or(Some('.'), |item| match item.text(faults)? {
        "." => Some('.'),
        "," => Some(','),
        _ => {
            faults.push(item.fault(keys::one_of(&[".", ","])));
            None
        }
    });
    let states = states(&table, faults);
    let (sales, entries) = fields(&table, kind?, faults)?;
    Some(ColumnMap {
        name: name?,
        kind: kind?,
        headers: headers?,
        dates: dates?,
        decimal: decimal?,
        sales,
        entries,
        states,
    })
}

fn states(table: &Table<'_>, faults: &mut Vec<Fault>) -> BTreeMap<String, OrderState> {
    let Some(states) = table.get("states").and_then(|item| item.table(faults)) else { return BTreeMap::new() };
    let items = states.items();
    items.into_iter().filter_map(|(word, item)| Some((word.to_owned(), item.parsed(faults)?))).collect()
}

type Fields = (BTreeMap<SalesField, String>, BTreeMap<String, String>);

fn fields(table: &Table<'_>, kind: MapKind, faults: &mut Vec<Fault>) -> Option<Fields> {
    let columns = table.must("columns", "add [columns] with our field = their header", faults)?.table(faults)?;
    let known: &[&str] = match kind {
        MapKind::Sales => &SALES,
        MapKind::Postage => &POSTAGE,
        MapKind::Receipts => &RECEIPTS,
    };
    let (mut sales, mut entries) = (BTreeMap::new(), BTreeMap::new());
    for (field, item) in columns.items() {
        let Some(header) = item.text(faults) else { continue };
        if !known.contains(&field) {
            faults.push(item.fault(format!("stands for an unknown field; {}", suggestion(field, known))));
            continue;
        }
        let word: StrDeserializer<'_, Error> = field.into_deserializer();
        match (kind, SalesField::deserialize(word)) {
            (MapKind::Sales, Ok(field)) => {
                sales.insert(field, header.to_owned());
            }
            (MapKind::Sales | MapKind::Postage | MapKind::Receipts, _) => {
                entries.insert(field.to_owned(), header.to_owned());
            }
        }
    }
    if kind == MapKind::Sales {
        let mut need = |field: SalesField, word: &str| {
            if !sales.contains_key(&field) {
                faults.push(columns.fault(word, "is missing; name the header of that column"));
            }
        };
        need(SalesField::Order, "order");
        need(SalesField::Name, "name");
        if !sales.contains_key(&SalesField::Code) {
            faults.extend(
                (!sales.contains_key(&SalesField::Title))
                    .then(|| columns.fault("code", "is missing, and so is title; name the header of one of them")),
            );
        }
    }
    Some((sales, entries))
}
