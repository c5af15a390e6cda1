//! The main job against published tables and standards. Each check names its source; the tables lie in `data/`,
//! with their own sources at their heads.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use dawnpack::model::calendar::{Holidays, WorkCalendar};
use dawnpack::model::catalogue::Contents;
use dawnpack::model::length::{Length, Size};
use dawnpack::model::mass::{Estimate, MassUnit, Weight};
use dawnpack::model::money::{Currency, Money};
use dawnpack::model::rates::{Destinations, Limits, Price, RateCard, Service, Shape, Tier};
use dawnpack::plan::{calendar, postage, tracking};
use jiff::civil::{Date, date};
use rust_decimal::{Decimal, dec};

use crate::desk::Desk;

fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/standards/data").join(name);
    let text = fs::read_to_string(path).unwrap();
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.deserialize().map(|row| row.unwrap()).collect()
}

/// 5 U.S.C. 6103(a) and (b), Executive Order 11582 section 3(a), USPS ELM 518: five years of eleven holidays.
#[test]
fn federal_holidays_fall_as_the_statute_says() {
    let rows = table("holidays_2024_2028.csv");
    assert_eq!(rows.len(), 55);
    for row in rows {
        let day = |column: &str| row[column].parse::<Date>().unwrap();
        let statutory = day("statutory_date");
        let holidays = calendar::us_federal(statutory.year());
        let found = holidays.iter().find(|holiday| holiday.statutory == statutory).unwrap_or_else(|| panic!("{row:?}"));
        assert_eq!((found.observed, found.mail_off), (day("observed_date"), day("mail_off_date")), "{row:?}");
        let weekdays = WorkCalendar { work_days: [true; 7], holidays: Holidays::UsFederal };
        assert!(!calendar::is_business_day(&weekdays, day("mail_off_date")));
    }
}

fn zoned_service(rows: &[BTreeMap<String, String>]) -> Service {
    let us = "US".parse().unwrap();
    let tiers = rows
        .iter()
        .map(|row| {
            let (value, unit) = row["weight_not_over"].split_once(' ').unwrap();
            let unit: MassUnit = unit.parse().unwrap();
            let prices = row.iter().filter_map(|(column, price)| {
                let zone = column.strip_prefix("zone")?;
                Some((zone.to_owned(), Money::new(price.parse().unwrap(), Currency::USD)))
            });
            Tier { up_to: Weight::new(value.parse().unwrap(), unit), price: Price::ByZone(prices.collect()) }
        })
        .collect();
    Service {
        code: "ground".into(),
        title: "Ground".into(),
        shape: Shape::Parcel,
        from: us,
        to: Destinations { named: BTreeSet::from([us]), elsewhere: false },
        tracked: true,
        days: None,
        tiers,
        // A zone chart is not part of the table: here the first digit of the code stands for the zone.
        zones: (1..=9).map(|zone| (zone.to_string(), zone.to_string())).collect(),
        limits: Limits::default(),
        refuses: BTreeSet::new(),
        extras: Vec::new(),
        insurance: Vec::new(),
    }
}

/// Every cell of two published price lists (USPS Notice 123, 5 October 2025 and 12 July 2026, Ground Advantage
/// retail), at the edge, a hundredth of its unit below, and a hundredth above, which pays the next tier.
#[test]
fn every_cell_of_a_published_price_table_is_reproduced() {
    for (name, valid_from) in [
        ("price_table_usps_ground_advantage_retail_2025-10-05.csv", date(2025, 10, 5)),
        ("price_table_usps_ground_advantage_retail_2026-07-12.csv", date(2026, 7, 12)),
    ] {
        let rows: Vec<_> = table(name).into_iter().filter(|row| row["weight_not_over"].contains(' ')).collect();
        let rows: Vec<_> = rows
            .into_iter()
            .filter(|row| {
                row["weight_not_over"]
                    .split_once(' ')
                    .is_some_and(|(v, u)| v.parse::<Decimal>().is_ok() && u.parse::<MassUnit>().is_ok())
            })
            .collect();
        assert!(rows.len() >= 13, "{name}: {}", rows.len());
        let card = RateCard {
            file: name.into(),
            carrier: "USPS".into(),
            currency: Currency::USD,
            valid_from,
            services: vec![zoned_service(&rows)],
        };
        let cards = [card];
        let mut cells = 0;
        for (index, row) in rows.iter().enumerate() {
            for zone in 1..=9 {
                let expected = |row: &BTreeMap<String, String>| row[&format!("zone{zone}")].parse::<Decimal>().unwrap();
                let (value, unit) = row["weight_not_over"].split_once(' ').unwrap();
                let (value, unit): (Decimal, MassUnit) = (value.parse().unwrap(), unit.parse().unwrap());
                let price = |value: Decimal| price(&cards, Weight::new(value, unit), zone, valid_from);
                assert_eq!(price(value), Some(expected(row)), "{name} {row:?} zone {zone}");
                assert_eq!(price(value - dec!(0.01)), Some(expected(row)), "{name} {row:?} zone {zone}, below");
                let above = Weight::new(value + dec!(0.01), unit).mass();
                let next = rows.iter().skip(index + 1).find(|next| {
                    let (value, unit) = next["weight_not_over"].split_once(' ').unwrap();
                    Weight::new(value.parse().unwrap(), unit.parse().unwrap()).mass() >= above
                });
                assert_eq!(price(value + dec!(0.01)), next.map(expected), "{name} {row:?} zone {zone}, above");
                cells += 1;
            }
        }
        assert_eq!(cells, rows.len() * 9);
    }
}

fn price(cards: &[RateCard], weight: Weight, zone: u32, day: Date) -> Option<Decimal> {
    let none: BTreeSet<Contents> = BTreeSet::new();
    let inches = |value| Length::from_inches(value);
    let code = format!("{zone}0000");
    let ask = postage::Ask {
        mass: Estimate { mean_g: 0.0, sd_g: 0.0 },
        size: Size::laid(inches(dec!(6)), inches(dec!(4)), inches(dec!(0.75))),
        pins: true,
        contains: &none,
        to: "US".parse().unwrap(),
        postal_code: &code,
        value: Money::zero(Currency::USD),
        day,
    };
    let quote = postage::quote_exact(weight.mass(), &ask, cards);
    quote.chosen.and_then(|index| quote.offers[index].price).map(|price| price.amount)
}

/// Vectors for UPU S10 and for the US package identifiers; sources at the heads of the two files.
#[test]
fn published_identifiers_are_told_right_from_wrong() {
    for row in table("s10_vectors.csv") {
        if row["expect_valid"] != "check-digit-only" {
            let valid = row["expect_valid"] == "true";
            assert_eq!(tracking::identify(&row["identifier"]).valid, valid, "{row:?}");
        }
    }
    for row in table("impb_vectors.csv") {
        let valid = row["expect_valid"] != "false";
        assert_eq!(tracking::identify(&row["full_number"]).valid, valid, "{row:?}");
    }
}

/// The morning's message, read by an independent reader, and line by line against RFC 5322, section 2.1.1.
#[test]
fn the_message_is_read_back_by_an_independent_reader() {
    use mail_parser::{MessageParser, MimeHeaders};
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let name = desk.names("outbox/mail").remove(0);
    let bytes = fs::read(desk.path("outbox/mail").join(name)).unwrap();
    for line in bytes.split(|byte| *byte == b'\n') {
        assert!(line.len() <= 999, "a line of {} octets", line.len());
    }
    let message = MessageParser::default().parse(&bytes).unwrap();
    let body = message.body_text(0).unwrap().replace("\r\n", "\n");
    assert_eq!(body.trim_end(), desk.read("outbox/2026-11-25/dispatch.txt").trim_end());
    assert!(message.subject().unwrap().contains("8 parcels"), "{:?}", message.subject());
    let attached: Vec<(String, Vec<u8>)> = message
        .attachments()
        .map(|part| (part.attachment_name().unwrap().to_owned(), part.contents().to_vec()))
        .collect();
    for (name, bytes) in &attached {
        assert_eq!(&fs::read(desk.path("outbox/2026-11-25").join(name)).unwrap(), bytes, "{name}");
    }
    assert_eq!(attached.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["dispatch.pdf", "handoff.csv"]);
}
