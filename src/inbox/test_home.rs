//! A small home for the tests of this room: an order book's column map, prices in US dollars, days in New York.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use jiff::tz::TimeZone;

use crate::model::drop::{ColumnMap, Content, DateOrder, MapKind, Reading, SalesField};
use crate::model::money::Currency;
use crate::model::order::{Order, OrderState};
use crate::model::trade::Trade;

use super::{ReadError, ReadRules};

/// Comma or any other delimiter, points in numbers, month first.
pub(super) fn order_book() -> ColumnMap {
    let columns = [
        (SalesField::Order, "Ref"),
        (SalesField::Line, "Row"),
        (SalesField::PlacedAt, "Taken on"),
        (SalesField::Buyer, "Buyer"),
        (SalesField::Name, "Name"),
        (SalesField::Address1, "Street"),
        (SalesField::Address2, "Street 2"),
        (SalesField::City, "Town"),
        (SalesField::PostalCode, "ZIP"),
        (SalesField::Country, "Land"),
        (SalesField::Code, "Pin"),
        (SalesField::Title, "Title"),
        (SalesField::Options, "Options"),
        (SalesField::Quantity, "Qty"),
        (SalesField::UnitPrice, "Each"),
        (SalesField::LineTotal, "Sum"),
        (SalesField::Discount, "Off"),
        (SalesField::Total, "Total"),
        (SalesField::Currency, "Currency"),
        (SalesField::Note, "Said"),
        (SalesField::Gift, "Gift"),
        (SalesField::GiftMessage, "Words"),
    ];
    ColumnMap {
        name: "stall".into(),
        kind: MapKind::Sales,
        headers: vec!["Ref".into(), "Qty".into()],
        dates: DateOrder::Mdy,
        decimal: '.',
        sales: columns.map(|(field, header)| (field, header.to_owned())).into(),
        entries: BTreeMap::new(),
        mass_unit: None,
        currency: None,
        states: BTreeMap::from([
            ("Storniert".into(), OrderState::Cancelled),
            ("owing".into(), OrderState::Unpaid),
            ("settled".into(), OrderState::Open),
        ]),
    }
}

/// The same, of a source that tells how an order stands and when it was paid.
pub(super) fn telling_book() -> ColumnMap {
    let mut book = order_book();
    book.sales.extend([(SalesField::PaidAt, "Paid on".to_owned()), (SalesField::State, "State".to_owned())]);
    book
}

/// No answers yet about any source's dates.
pub(super) static NO_DATES: BTreeMap<String, DateOrder> = BTreeMap::new();

static NEW_YORK: LazyLock<TimeZone> = LazyLock::new(|| TimeZone::get("America/New_York").unwrap());

/// The rules of that home, with these column maps.
pub(super) fn rules(maps: &[ColumnMap]) -> ReadRules<'_> {
    ReadRules { maps, time_zone: &NEW_YORK, currency: Currency::USD, country: "US".parse().unwrap(), dates: &NO_DATES }
}

pub(super) fn read_with(bytes: &[u8], maps: &[ColumnMap]) -> Result<Reading, ReadError> {
    super::read("a.csv", bytes, &rules(maps))
}

pub(super) fn read(text: &str) -> Reading {
    let tells = text.contains("Paid on") || text.contains("State");
    let book = if tells { telling_book() } else { order_book() };
    read_with(text.as_bytes(), &[book]).unwrap()
}

pub(super) fn orders(reading: &Reading) -> &[Order] {
    let Content::Sales(orders) = &reading.content else { panic!("{reading:?}") };
    orders
}

pub(super) fn trades(reading: &Reading) -> &[Trade] {
    let Content::Trades(trades) = &reading.content else { panic!("{reading:?}") };
    trades
}

/// Lines and reasons of what was refused.
pub(super) fn refused(reading: &Reading) -> Vec<(u64, &str)> {
    reading.refused.iter().map(|row| (row.why.line.unwrap_or(0), row.why.reason.as_str())).collect()
}
