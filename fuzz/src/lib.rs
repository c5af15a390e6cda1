//! What the fuzz targets share: a small home, and the laws that hold for every file.
//!
//! The two rooms that read drops are taken in by their paths and not as the crate, whose papers need typst: with
//! coverage marks in it, that builds for half an hour and makes nothing here any truer.

#[path = "../../src/inbox/mod.rs"]
pub mod inbox;
#[path = "../../src/model/mod.rs"]
pub mod model;
#[path = "../../src/plan/mod.rs"]
pub mod plan;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use inbox::{ReadError, ReadRules};
use jiff::tz::TimeZone;
use model::drop::{ColumnMap, DateOrder, MapKind, Reading, SalesField};
use model::money::Currency;
use model::order::OrderState;

/// The header of the sales exports that [`maps`] reads.
pub const SALES_HEADER: &str = "Ref,Row,Taken on,Paid on,State,Buyer,Name,Street,Town,ZIP,Land,Mail,Pin,Title,Options,\
                                Qty,Each,Sum,Carriage,Tax,Off,Total,Currency,Said,Gift,Words,By\n";

/// One column map, of an order book.
pub fn maps() -> Vec<ColumnMap> {
    let columns = [
        (SalesField::Order, "Ref"),
        (SalesField::Line, "Row"),
        (SalesField::PlacedAt, "Taken on"),
        (SalesField::PaidAt, "Paid on"),
        (SalesField::State, "State"),
        (SalesField::Buyer, "Buyer"),
        (SalesField::Name, "Name"),
        (SalesField::Address1, "Street"),
        (SalesField::City, "Town"),
        (SalesField::PostalCode, "ZIP"),
        (SalesField::Country, "Land"),
        (SalesField::Email, "Mail"),
        (SalesField::Code, "Pin"),
        (SalesField::Title, "Title"),
        (SalesField::Options, "Options"),
        (SalesField::Quantity, "Qty"),
        (SalesField::UnitPrice, "Each"),
        (SalesField::LineTotal, "Sum"),
        (SalesField::PostageCharged, "Carriage"),
        (SalesField::Tax, "Tax"),
        (SalesField::Discount, "Off"),
        (SalesField::Total, "Total"),
        (SalesField::Currency, "Currency"),
        (SalesField::Note, "Said"),
        (SalesField::Gift, "Gift"),
        (SalesField::GiftMessage, "Words"),
        (SalesField::ShipBy, "By"),
    ];
    vec![ColumnMap {
        name: "stall".into(),
        kind: MapKind::Sales,
        headers: vec!["Ref".into(), "Qty".into()],
        dates: DateOrder::Mdy,
        decimal: '.',
        sales: columns.map(|(field, header)| (field, header.to_owned())).into(),
        entries: BTreeMap::new(),
        mass_unit: None,
        currency: None,
        states: BTreeMap::from([("Storniert".into(), OrderState::Cancelled), ("owing".into(), OrderState::Unpaid)]),
    }]
}

/// Reads bytes as a file of a small home.
pub fn read(bytes: &[u8], maps: &[ColumnMap]) -> Result<Reading, ReadError> {
    static ZONE: OnceLock<TimeZone> = OnceLock::new();
    static DATES: BTreeMap<String, DateOrder> = BTreeMap::new();
    let zone = ZONE.get_or_init(|| TimeZone::get("America/New_York").expect("the zones are built in"));
    let country = "US".parse().expect("a country");
    let rules = ReadRules { maps, time_zone: zone, currency: Currency::USD, country, dates: &DATES };
    inbox::read("a.csv", bytes, &rules)
}

/// Reads bytes and asserts what holds for every file: each record is in one place, and what was refused can be
/// written, and read again without becoming more.
pub fn laws(bytes: &[u8], maps: &[ColumnMap]) {
    quiet_about_what_is_caught();
    let Ok(reading) = read(bytes, maps) else { return };
    assert_counted(&reading);
    let Some((_, refused)) = inbox::refused_rows(&reading) else { return };
    // Without a map, a few rows alone may not tell their columns any more.
    let Ok(again) = read(&refused, maps) else { return };
    assert_counted(&again);
    assert!(
        again.rows.refused <= reading.rows.refused,
        "{} refused became {}",
        reading.rows.refused,
        again.rows.refused
    );
    assert!(
        again.headers.len() <= reading.headers.len().max(longest(&reading)),
        "{:?} became {:?}",
        reading.headers,
        again.headers
    );
}

fn longest(reading: &Reading) -> usize {
    reading.refused.iter().map(|row| row.cells.len()).max().unwrap_or(0)
}

fn assert_counted(reading: &Reading) {
    let rows = reading.rows;
    assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped, "{rows:?}");
    assert_eq!(rows.refused > 0, !reading.refused.is_empty(), "{rows:?}");
}

/// The fuzzer ends the program at the first panic, even at one in a workbook's reader that is caught and told as
/// damage. Those that are not caught still end it.
fn quiet_about_what_is_caught() {
    static ONCE: OnceLock<()> = OnceLock::new();
    ONCE.get_or_init(|| std::panic::set_hook(Box::new(|panic| eprintln!("{panic}"))));
}
