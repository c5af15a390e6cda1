//! International price tables by groups of countries: every cell, asked for by every country of its group.

use std::collections::{BTreeMap, BTreeSet};

use dawnpack::model::address::Country;
use dawnpack::model::mass::Weight;
use jiff::civil::{Date, date};
use rust_decimal::Decimal;

use super::data::{Question, Row, card, service, table};
use super::prices::{Line, every_cell, parcel_to, tiers, weight};

const DAY: Date = date(2025, 10, 5);

/// Countries of each group by ISO 3166-1. Names that the printed table breaks over two lines (Ireland stands in two
/// groups for it), and those that ISO writes otherwise, are left out and counted.
fn groups(column: &str) -> (BTreeMap<u32, Vec<Country>>, usize) {
    let mut found: BTreeMap<Country, BTreeSet<u32>> = BTreeMap::new();
    let mut unread = 0;
    for row in table("country_price_groups_usps_2025-10-05.csv") {
        let Ok(group) = row[column].parse::<u32>() else { continue };
        // "Syrian Arab Republic (Syria)", "Korea, Republic of (South Korea)".
        let (long, short) = row["country"].split_once(" (").unwrap_or((&row["country"], ""));
        let country = long.parse().or_else(|_| short.trim_end_matches(')').parse::<Country>());
        match country {
            Ok(country) => {
                found.entry(country).or_default().insert(group);
            }
            Err(_) => unread += 1,
        }
    }
    let mut groups: BTreeMap<u32, Vec<Country>> = BTreeMap::new();
    for (country, of) in found {
        match of.into_iter().collect::<Vec<_>>().as_slice() {
            [group] => groups.entry(*group).or_default().push(country),
            _ => unread += 1,
        }
    }
    (groups, unread)
}

fn list(countries: &[Country]) -> String {
    let codes: Vec<String> = countries.iter().map(|country| format!("\"{country}\"")).collect();
    format!("[{}]", codes.join(", "))
}

fn line(row: &Row, column: &str) -> Line {
    let edge: Weight = weight(&format!("{} oz", row["weight_not_over_oz"])).unwrap();
    let price: Decimal = row[column].parse().unwrap();
    Line { edge, cells: vec![(String::new(), price)] }
}

/// USPS Notice 123 of 5 October 2025, p. 42 (First-Class Package International, by price group, to 64 oz) and p. 56 to
/// 61 (the countries' groups): four rows, twenty groups, one service for each in one card.
#[test]
fn every_cell_of_the_package_table_is_reproduced_for_every_country() {
    let rows = table("price_table_usps_fcpis_retail_2025-10-05.csv");
    let (groups, unread) = groups("fcpis_group");
    assert_eq!(groups.keys().copied().collect::<Vec<_>>(), (1..=20).collect::<Vec<_>>());
    let of = |group: &u32| rows.iter().map(|row| line(row, &format!("group{group}"))).collect::<Vec<Line>>();
    let services: Vec<String> = groups
        .iter()
        .map(|(group, countries)| {
            service(&format!("group-{group}"), "parcel", &list(countries), "oz", "", &tiers(&of(group)))
        })
        .collect();
    let card = card("USPS", "USD", DAY, &services);
    let (mut cells, mut countries) = (0, 0);
    for (group, of_group) in &groups {
        for country in of_group {
            let ask = |_: &str| Question { to: country.code(), ..parcel_to("", DAY) };
            let asked = every_cell(&card, &format!("group-{group}"), &of(group), ask);
            assert_eq!(asked, 4, "{country}");
            countries += 1;
        }
        cells += of(group).len();
    }
    assert_eq!((cells, countries, unread), (80, 212, 6));
}

/// USPS Notice 123 of 5 October 2025, p. 42, First-Class Mail International: letters and large envelopes to Canada
/// (group 1), Mexico (group 2), and two bundles of price groups, to 15.994 oz.
#[test]
fn every_cell_of_the_letter_table_is_reproduced_for_every_country() {
    let rows = table("price_table_usps_first_class_international_2025-10-05.csv");
    let (groups, _) = groups("fcmi_group");
    let (mut cells, mut countries) = (0, 0);
    for (code, shape) in [("letter", "letter"), ("large_envelope", "flat")] {
        for (column, numbers) in [("canada", 1..=1), ("mexico", 2..=2), ("groups_3_5", 3..=5), ("groups_6_9", 6..=9)] {
            let of_column: Vec<Country> = numbers.flat_map(|group| groups[&group].clone()).collect();
            let lines: Vec<Line> =
                rows.iter().filter(|row| row["shape"] == code).map(|row| line(row, column)).collect();
            let text = service(code, shape, &list(&of_column), "oz", "", &tiers(&lines));
            let card = card("USPS", "USD", DAY, &[text]);
            for country in &of_column {
                let ask = |_: &str| Question { to: country.code(), pins: false, ..parcel_to("", DAY) };
                assert_eq!(every_cell(&card, code, &lines, ask), lines.len(), "{country}");
            }
            cells += lines.len();
            countries += of_column.len();
        }
    }
    assert_eq!((cells, countries), (56, 2 * 213));
}
