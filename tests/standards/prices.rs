//! Published price tables, cell by cell, each written as a rate card of a home and read back from it.
//!
//! Every cell is asked for at its edge, a hundredth of its unit below, and a hundredth above, which pays the next.

use dawnpack::model::length::Size;
use dawnpack::model::mass::{Mass, MassUnit, Weight};
use dawnpack::model::rates::RateCard;
use dawnpack::plan::postage::{Ask, planned};
use jiff::civil::{Date, date};
use rust_decimal::{Decimal, dec};

use super::data::{Question, Row, card, inches, mm, service, table};

/// An edge and its cells, by zone; one cell without a name where there are no zones.
pub(super) struct Line {
    pub(super) edge: Weight,
    pub(super) cells: Vec<(String, Decimal)>,
}

/// `4 oz`, `1 lb`; `None` for rows that are no weight.
pub(super) fn weight(text: &str) -> Option<Weight> {
    let (value, unit) = text.split_once(' ')?;
    Some(Weight::new(value.parse().ok()?, unit.parse().ok()?))
}

fn ounces(weight: Weight) -> Decimal {
    weight.mass().g() / MassUnit::Ounce.grams()
}

/// The columns `zone1`, `zone1_2`, … of a table, by the zones that they hold for.
pub(super) fn zones(row: &Row) -> Vec<(String, Decimal)> {
    let columns = row.iter().filter_map(|(column, cell)| Some((column.strip_prefix("zone")?, cell.parse().unwrap())));
    columns.flat_map(|(zones, price)| zones.split('_').map(move |zone| (zone.to_owned(), price))).collect()
}

pub(super) fn tiers(lines: &[Line]) -> Vec<String> {
    let tier = |line: &Line| {
        let cell = |(zone, price): &(String, Decimal)| match zone.as_str() {
            "" => format!("\"{price}\""),
            zone => format!("\"{zone}\" = \"{price}\""),
        };
        let cells: Vec<String> = line.cells.iter().map(cell).collect();
        let price = if cells[0].contains('=') { format!("{{ {} }}", cells.join(", ")) } else { cells[0].clone() };
        format!("{{ up_to = \"{}\", price = {price} }}", ounces(line.edge).normalize())
    };
    lines.iter().map(tier).collect()
}

/// Asks for every cell of a service thrice; tells how many cells there were.
pub(super) fn every_cell(
    card: &RateCard,
    service: &str,
    lines: &[Line],
    ask: impl Fn(&str) -> Question<'static>,
) -> usize {
    let mut cells = 0;
    for line in lines {
        for (zone, price) in &line.cells {
            let ask = ask(zone);
            let at = |value: Decimal| ask.price(Weight::new(value, line.edge.unit).mass(), card, service);
            let place = format!("{} {service} {} zone `{zone}`", card.carrier, line.edge);
            assert_eq!(at(line.edge.value), Some(*price), "{place}");
            for near in [line.edge.value - dec!(0.01), line.edge.value + dec!(0.01)] {
                // The first row that is not under it: 0.99 lb is under 15.999 oz and pays that row, not the pound's.
                let mass = Weight::new(near, line.edge.unit).mass();
                let row = lines.iter().find(|row| mass <= row.edge.mass());
                let expected = row.map(|row| row.cells.iter().find(|cell| cell.0 == *zone).unwrap().1);
                assert_eq!(at(near), expected, "{place}, at {near}");
            }
            cells += 1;
        }
    }
    cells
}

pub(super) fn parcel_to(zone: &str, day: Date) -> Question<'static> {
    let size = inches(dec!(6), dec!(4), dec!(0.75));
    Question { to: "US", postal_code: format!("{zone}0000"), pins: true, size, day }
}

/// USPS Notice 123, effective 5 October 2025 (p. 7 and 15) and 12 July 2026, Ground Advantage, retail and commercial;
/// First-Class Package Service, retail, 27 January 2019, whose rows above 13 oz its transcript calls suspect.
#[test]
fn every_cell_of_the_zoned_tables_is_reproduced() {
    for (name, day, rows) in [
        ("price_table_usps_ground_advantage_retail_2025-10-05.csv", date(2025, 10, 5), 74),
        ("price_table_usps_ground_advantage_retail_2026-07-12.csv", date(2026, 7, 12), 13),
        ("price_table_usps_ground_advantage_commercial_2025-10-05.csv", date(2025, 10, 5), 74),
        ("price_table_usps_ground_advantage_commercial_2026-07-12.csv", date(2026, 7, 12), 20),
        ("price_table_usps_fcps_retail_2019-01-27.csv", date(2019, 1, 27), 13),
    ] {
        let lines: Vec<Line> = table(name)
            .iter()
            .filter_map(|row| {
                let edge = match row.get("weight_not_over_oz") {
                    Some(value) => (row["class"] == "retail").then(|| weight(&format!("{value} oz")))?,
                    None => weight(&row["weight_not_over"]),
                };
                Some(Line { edge: edge?, cells: zones(row) })
            })
            .collect();
        assert_eq!(lines.len(), rows, "{name}");
        let text = service("ground", "parcel", "[\"US\"]", "oz", "zones = \"zones.csv\"", &tiers(&lines));
        let card = card("USPS", "USD", day, &[text]);
        assert_eq!(every_cell(&card, "ground", &lines, |zone| parcel_to(zone, day)), rows * 9, "{name}");
    }
}

/// Between 15.999 oz and a pound only the pound's row holds: the same price at the counter, another in the
/// commercial list (Notice 123 of 5 October 2025, p. 7 and 15: 9.10 and 9.10, 6.37 and 7.10 in zone 1).
#[test]
fn the_gap_below_a_pound_pays_the_pound() {
    let day = date(2025, 10, 5);
    for (list, below, above) in [("retail", dec!(9.10), dec!(9.10)), ("commercial", dec!(6.37), dec!(7.10))] {
        let lines: Vec<Line> = table(&format!("price_table_usps_ground_advantage_{list}_2025-10-05.csv"))
            .iter()
            .filter_map(|row| Some(Line { edge: weight(&row["weight_not_over"])?, cells: zones(row) }))
            .collect();
        let text = service("ground", "parcel", "[\"US\"]", "oz", "zones = \"zones.csv\"", &tiers(&lines));
        let card = card("USPS", "USD", day, &[text]);
        let price = |ounces| {
            let mass = Weight::new(ounces, MassUnit::Ounce).mass();
            parcel_to("1", day).price(mass, &card, "ground")
        };
        assert_eq!(price(dec!(15.999)), Some(below), "{list}");
        assert_eq!(price(dec!(15.9991)), Some(above), "{list}");
        assert_eq!(price(dec!(16)), Some(above), "{list}");
    }
}

/// USPS Notice 123 of 31 May 2015, 5 October 2025 (p. 6) and 12 July 2026, First-Class Mail: letters, flats, and in
/// 2015 parcels, without zones. Pins go by the parcel's price only.
#[test]
fn every_cell_of_the_flat_tables_is_reproduced() {
    for (name, day, cells) in [
        ("price_table_usps_first_class_mail_retail_2015-05-31.csv", date(2015, 5, 31), 32),
        ("price_table_usps_first_class_mail_retail_2025-10-05.csv", date(2025, 10, 5), 34),
        ("price_table_usps_first_class_mail_2026-07-12.csv", date(2026, 7, 12), 8),
    ] {
        let rows = table(name);
        let mut seen = 0;
        for (code, shape) in [
            ("letter_stamped", "letter"),
            ("letter_metered", "letter"),
            ("large_envelope", "flat"),
            ("keys_and_id_devices", "parcel"),
            ("parcel", "parcel"),
        ] {
            let line = |row: &Row| {
                let edge = weight(&format!("{} oz", row["weight_not_over_oz"]))?;
                Some(Line { edge, cells: vec![(String::new(), row["price_usd"].parse().unwrap())] })
            };
            let lines: Vec<Line> = rows.iter().filter(|row| row["shape"] == code).filter_map(line).collect();
            if lines.is_empty() {
                continue;
            }
            let card = card("USPS", "USD", day, &[service(code, shape, "[\"US\"]", "oz", "", &tiers(&lines))]);
            let paper = |_: &str| Question { pins: false, ..parcel_to("1", day) };
            seen += every_cell(&card, code, &lines, paper);
            let pins = parcel_to("1", day).price(lines[0].edge.mass(), &card, code);
            assert_eq!(pins.is_some(), shape == "parcel", "{code}");
        }
        assert_eq!(seen, cells, "{name}");
    }
}

/// Royal Mail, from 7 April 2025: a letter is at most 240 × 165 × 5 mm and 100 g, a large letter 353 × 250 × 25 mm; 1.70
/// and 3.15 first class, 0.87 and 1.55 second. The limits count to the last tenth, and either way up.
#[test]
fn royal_mails_size_classes_and_bands_are_reproduced() {
    let day = date(2025, 4, 7);
    let rows: Vec<Row> = table("price_table_royal_mail_2025-04-07.csv")
        .into_iter()
        .filter(|row| !row["first_class_gbp"].is_empty())
        .collect();
    assert_eq!(rows.len(), 2);
    for class in ["first_class_gbp", "second_class_gbp"] {
        let services: Vec<String> = rows
            .iter()
            .map(|row| {
                let limits = format!(
                    "max_length_mm = {}\nmax_width_mm = {}\nmax_thickness_mm = {}\nmax_mass = {}",
                    row["max_l_mm"], row["max_w_mm"], row["max_t_mm"], row["max_weight_g"]
                );
                let shape = if row["format"] == "letter" { "letter" } else { "flat" };
                let tier = format!("{{ up_to = {}, price = \"{}\" }}", row["max_weight_g"], row[class]);
                service(&row["format"], shape, "[\"GB\"]", "g", &limits, &[tier]).replace("\"US\"", "\"GB\"")
            })
            .collect();
        let card = card("Royal Mail", "GBP", day, &services);
        let chosen = |grams: Decimal, size: Size| {
            let ask = Question { to: "GB", postal_code: "SW1A 1AA".into(), pins: false, size, day };
            let quote = ask.quote(Mass::from_g(grams), &card);
            quote.chosen.map(|index| quote.offers[index].price.unwrap().amount)
        };
        let price = |format: &str| {
            let row = rows.iter().find(|row| row["format"] == format).unwrap();
            Some(row[class].parse::<Decimal>().unwrap())
        };
        let letter = mm(dec!(165), dec!(240), dec!(5));
        assert_eq!(chosen(dec!(100), letter), price("letter"), "{class}");
        assert_eq!(chosen(dec!(100.01), letter), None, "{class}");
        for over in [
            mm(dec!(165), dec!(240.1), dec!(5)),
            mm(dec!(165.1), dec!(240), dec!(5)),
            mm(dec!(165), dec!(240), dec!(5.1)),
            mm(dec!(250), dec!(353), dec!(25)),
        ] {
            assert_eq!(chosen(dec!(100), over), price("large_letter"), "{class} {over:?}");
        }
        for over in [
            mm(dec!(250), dec!(353.1), dec!(25)),
            mm(dec!(250.1), dec!(353), dec!(25)),
            mm(dec!(1), dec!(1), dec!(25.1)),
        ] {
            let too_thick = over.thickness > over.width;
            assert_eq!(chosen(dec!(100), over), if too_thick { price("letter") } else { None }, "{class} {over:?}");
        }
    }
}

/// Canada Post Lettermail of 2008, by a private transcript: standard to 245 × 156 × 5 mm and 50 g, other to 380 × 270 ×
/// 20 mm and 500 g; at home, to the US, and everywhere else.
#[test]
fn canada_posts_bands_are_reproduced_at_home_and_elsewhere() {
    let day = date(2008, 4, 3);
    let rows = table("price_table_canada_post_lettermail_2008.csv");
    let formats = [
        (
            "standard",
            "letter",
            "min_length_mm = 140\nmin_width_mm = 90\nmax_length_mm = 245\nmax_width_mm = 156\nmax_thickness_mm = 5",
        ),
        ("other", "flat", "max_length_mm = 380\nmax_width_mm = 270\nmax_thickness_mm = 20"),
    ];
    let mut services = Vec::new();
    let mut asked = Vec::new();
    for (column, to, country) in
        [("canada", "[\"CA\"]", "CA"), ("usa", "[\"US\"]", "US"), ("international", "[\"*\"]", "DE")]
    {
        for (format, shape, limits) in formats {
            let line = |row: &Row| Line {
                edge: weight(&format!("{} g", row["weight_not_over_g"])).unwrap(),
                cells: vec![(String::new(), row[column].parse().unwrap())],
            };
            let lines: Vec<Line> = rows.iter().filter(|row| row["format"] == format).map(line).collect();
            let tiers: Vec<String> = lines
                .iter()
                .map(|line| format!("{{ up_to = {}, price = \"{}\" }}", line.edge.value, line.cells[0].1))
                .collect();
            let code = format!("{format}-{column}");
            let text = service(&code, shape, to, "g", limits, &tiers);
            services.push(text.replace("from = \"US\"", "from = \"CA\""));
            asked.push((code, country, lines));
        }
    }
    let card = card("Canada Post", "CAD", day, &services);
    let size = mm(dec!(245), dec!(156), dec!(5));
    let mut cells = 0;
    for (code, country, lines) in &asked {
        let ask = |_: &str| Question { to: country, postal_code: String::new(), pins: false, size, day };
        cells += every_cell(&card, code, lines, ask);
        // Nobody else's letters go by it: "*" is everywhere that no other service names, and not home.
        for other in ["CA", "US", "DE", "JP"].into_iter().filter(|other| other != country) {
            let expected = *country == "DE" && other == "JP";
            let ask = Question { to: other, ..ask("") };
            assert_eq!(ask.price(lines[0].edge.mass(), &card, code).is_some(), expected, "{code} to {other}");
        }
    }
    assert_eq!(cells, 15);
}

/// One historic rate step (common practice, no source): 1 to 4 oz one flat price, 2.61 bought online, 2.67 then 3.00 at
/// the counter; 0.39 saved a parcel. A rise is seen before its day.
#[test]
fn the_historic_step_saves_39_cents_a_parcel() {
    let at = |carrier, day, price: &str| {
        let tier = format!("{{ up_to = 4, price = \"{price}\" }}");
        card(carrier, "USD", day, &[service("small", "parcel", "[\"US\"]", "oz", "", &[tier])])
    };
    let (before, after) = (date(2017, 6, 1), date(2018, 6, 1));
    let counter = [at("Counter", date(2017, 1, 1), "2.67"), at("Counter", date(2018, 1, 1), "3.00")];
    let online = [at("Online", date(2017, 1, 1), "2.61")];
    let none = std::collections::BTreeSet::new();
    let price = |cards: &[RateCard], ounces: Decimal, day: Date| {
        let mass =
            dawnpack::model::mass::Estimate { mean_g: Weight::new(ounces, MassUnit::Ounce).mass().as_f64(), sd_g: 0.0 };
        let question = parcel_to("1", day);
        let ask = Ask {
            mass,
            size: question.size,
            pins: true,
            contains: &none,
            from: "US".parse().unwrap(),
            to: "US".parse().unwrap(),
            postal_code: "10000",
            value: dawnpack::model::money::Money::zero(dawnpack::model::money::Currency::USD),
            day,
            declare_with: dawnpack::model::scale::Confidence::USUAL,
            rules: &dawnpack::model::rules::PostageRules::NONE,
        };
        planned(&ask, cards).unwrap()
    };
    for ounces in [dec!(0.01), dec!(1), dec!(1.27), dec!(1.83), dec!(3.99), dec!(4)] {
        let at_counter = price(&counter, ounces, after).price.amount;
        assert_eq!(price(&counter, ounces, before).price.amount, dec!(2.67), "{ounces}");
        assert_eq!(at_counter, dec!(3.00), "{ounces}");
        assert_eq!(at_counter - price(&online, ounces, after).price.amount, dec!(0.39), "{ounces}");
    }
    let ahead = price(&counter, dec!(1.27), before).change_ahead.unwrap();
    assert_eq!((ahead.from, ahead.price.amount), (date(2018, 1, 1), dec!(3.00)));
}
