//! What is charged or bought on top of a tier, prices by volume, and surcharges, against published tables.

use std::fmt::Write;

use dawnpack::model::mass::{MassUnit, Weight};
use dawnpack::model::money::{Currency, Money};
use dawnpack::model::parcel::BoughtKind;
use dawnpack::model::rates::RateCard;
use dawnpack::model::rules::PostageRules;
use jiff::civil::{Date, date};
use rust_decimal::{Decimal, dec};

use super::data::{Question, Row, card, decimal, inches, service, table, toml};
use super::prices::{parcel_to, zones};

const DAY: Date = date(2025, 10, 5);

fn ounces(value: Decimal) -> dawnpack::model::mass::Mass {
    Weight::new(value, MassUnit::Ounce).mass()
}

fn one_service(rest: &str) -> RateCard {
    let tier = ["{ up_to = 16, price = \"5.00\" }".to_owned()];
    card("USPS", "USD", DAY, &[service("ground", "parcel", "[\"US\"]", "oz", rest, &tier)])
}

/// What is paid above the tier's 5.00 for goods of `value`, insured by a rule above nothing; `None` where it can't be.
fn insured(card: &RateCard, value: Decimal) -> Option<Decimal> {
    let zero = Money::zero(Currency::USD);
    let rules = PostageRules { insure_above: Some(zero), ..PostageRules::NONE };
    let quote = parcel_to("1", DAY).quote_worth(ounces(dec!(4)), card, Money::new(value, Currency::USD), &rules);
    let offer = &quote.offers[0];
    offer.price.filter(|_| offer.lawful).map(|price| price.amount - dec!(5))
}

/// USPS Notice 123 of 5 October 2025, p. 27, insurance: seven bands to 600, then 1.50 for each further 100 or part of it
/// to 5,000. Each band at its edges and a cent beside them.
#[test]
fn every_insurance_band_is_reproduced_at_its_edges() {
    let rows = table("price_table_usps_extra_services_2025-10-05.csv");
    let of = |name: &str| rows.iter().filter(|row| row["service"] == name).cloned().collect::<Vec<Row>>();
    let bands = of("insurance");
    let number = |row: &Row, column: &str| row[column].parse::<Decimal>().unwrap();
    let mut text: Vec<String> = bands
        .iter()
        .map(|row| format!("{{ up_to = \"{}\", price = \"{}\" }}", row["value_to_usd"], row["fee_usd"]))
        .collect();
    let open = of("insurance_each_100_or_fraction_over_600");
    let [open] = open.as_slice() else { panic!("{open:?}") };
    assert_eq!(open["fee_usd"], "8.95 + 1.50 per 100");
    let last =
        format!("{{ up_to = \"{}\", price = \"8.95\", each = \"100\", each_price = \"1.50\" }}", open["value_to_usd"]);
    text.push(last);
    let card = one_service(&format!("insurance = [ {} ]", text.join(", ")));
    assert_eq!(bands.len(), 7);
    for row in &bands {
        let fee = number(row, "fee_usd");
        for value in
            [number(row, "value_from_usd"), number(row, "value_to_usd"), number(row, "value_to_usd") - dec!(0.01)]
        {
            assert_eq!(insured(&card, value), Some(fee), "{value}");
        }
    }
    // By hand: one further 100 begun, one whole, two begun; and the last, 44 of them: 8.95 + 66.00.
    for (value, fee) in
        [(dec!(600.01), dec!(10.45)), (dec!(700), dec!(10.45)), (dec!(700.01), dec!(11.95)), (dec!(5000), dec!(74.95))]
    {
        assert_eq!(insured(&card, value), Some(fee), "{value}");
    }
    assert_eq!(insured(&card, dec!(5000.01)), None);
    assert_eq!(insured(&card, dec!(0)), Some(dec!(0)));
}

/// The same page: what costs the same whatever the value, each as an extra that is bought above no value.
#[test]
fn every_extra_of_one_price_is_reproduced() {
    let rows = table("price_table_usps_extra_services_2025-10-05.csv");
    let flat: Vec<&Row> = rows.iter().filter(|row| row["value_to_usd"].is_empty()).collect();
    assert_eq!(flat.len(), 7);
    for row in flat {
        let (code, fee) = (&row["service"], row["fee_usd"].parse::<Decimal>().unwrap());
        let card = one_service(&format!("extras = [ {{ code = \"{code}\", price = \"{fee}\", above_value = 0 }} ]"));
        let worth = |value| {
            let value = Money::new(value, Currency::USD);
            let quote = parcel_to("1", DAY).quote_worth(ounces(dec!(4)), &card, value, &PostageRules::NONE);
            let offer = quote.offers[0].clone();
            (offer.price.unwrap().amount, offer.bought.iter().map(|bought| bought.what).collect::<Vec<_>>())
        };
        assert_eq!(worth(dec!(0.01)), (dec!(5) + fee, vec![BoughtKind::Extra]), "{code}");
        assert_eq!(worth(dec!(0)), (dec!(5), vec![]), "{code}");
    }
}

/// USPS Notice 123 of 5 October 2025, p. 16, Ground Advantage commercial, cubic: ten volumes to a cubic foot, nine zones,
/// to 20 lb. Each at its edge, a thousandth of a foot below, and as much above, which pays the next. Sides aren't rounded
/// down to quarters of an inch, as the manual lets one do (from memory): the price is then never too low.
#[test]
fn every_cell_of_the_cubic_table_is_reproduced() {
    let rows = table("price_table_usps_ground_advantage_commercial_cubic_2025-10-05.csv");
    let edge = |row: &Row| row["cubic_ft_up_to"].parse::<Decimal>().unwrap();
    let tiers: Vec<String> = rows
        .iter()
        .map(|row| {
            let mut cells = String::new();
            for (zone, price) in zones(row) {
                let _ = write!(cells, "\"{zone}\" = \"{price}\", ");
            }
            let cells = cells.trim_end_matches(", ");
            format!("{{ up_to = 20, up_to_cubic_feet = \"{}\", price = {{ {cells} }} }}", edge(row))
        })
        .collect();
    let rest = "zones = \"zones.csv\"\nmax_length_mm = 457.2";
    let card = card("USPS", "USD", DAY, &[service("cubic", "parcel", "[\"US\"]", "lb", rest, &tiers)]);
    let mut cells = 0;
    for (place, row) in rows.iter().enumerate() {
        for (zone, price) in zones(row) {
            // A foot by a foot by as many feet: so many cubic feet.
            let at = |feet: Decimal, pounds: Decimal| {
                let size = inches(dec!(12), dec!(12), feet * dec!(12));
                let ask = Question { size, ..parcel_to(&zone, DAY) };
                ask.price(Weight::new(pounds, MassUnit::Pound).mass(), &card, "cubic")
            };
            let next = rows.get(place + 1).map(|next| zones(next).into_iter().find(|cell| cell.0 == zone).unwrap().1);
            for pounds in [dec!(0.01), dec!(20)] {
                assert_eq!(at(edge(row), pounds), Some(price), "{zone}, {}", edge(row));
                assert_eq!(at(edge(row) - dec!(0.001), pounds), Some(price), "{zone}, {}", edge(row));
                assert_eq!(at(edge(row) + dec!(0.001), pounds), next, "{zone}, {}", edge(row));
            }
            assert_eq!(at(edge(row), dec!(20.01)), None);
            cells += 1;
        }
    }
    assert_eq!(cells, 90);
}

/// USPS Notice 123 of 5 October 2025 and 12 July 2026, First-Class Mail: the nonmachinable surcharge of 0.49, for letters
/// whose length by height is under 1.3 or over 2.5 (Domestic Mail Manual 101.1.2); those bounds themselves are fine.
#[test]
fn a_letter_of_an_unusual_ratio_pays_the_nonmachinable_surcharge() {
    let facts = &toml("dmm_physical.toml")["letter"]["nonmachinable"];
    let (least, most) = (decimal(&facts["aspect_ratio_min"]), decimal(&facts["aspect_ratio_max"]));
    for name in
        ["price_table_usps_first_class_mail_retail_2025-10-05.csv", "price_table_usps_first_class_mail_2026-07-12.csv"]
    {
        let rows = table(name);
        let row = |shape: &str| rows.iter().find(|row| row["shape"] == shape).unwrap();
        let fee: Decimal = row("nonmachinable_surcharge")["price_usd"].parse().unwrap();
        let letter: Decimal = row("letter_stamped")["price_usd"].parse().unwrap();
        let surcharges = format!(
            "surcharges = [ {{ code = \"nonmachinable\", price = \"{fee}\", ratio_under = {least} }}, \
             {{ code = \"nonmachinable\", price = \"{fee}\", ratio_over = {most} }} ]"
        );
        let tier = [format!("{{ up_to = 1, price = \"{letter}\" }}")];
        let card = card("USPS", "USD", DAY, &[service("letter", "letter", "[\"US\"]", "oz", &surcharges, &tier)]);
        let paid = |length, height| {
            let ask = Question { pins: false, size: inches(length, height, dec!(0.02)), ..parcel_to("1", DAY) };
            ask.price(ounces(dec!(1)), &card, "letter").unwrap() - letter
        };
        // The manual's examples by hand: 2.303, 1.0, exactly 1.3; then the bounds.
        assert_eq!(paid(dec!(9.5), dec!(4.125)), dec!(0), "{name}");
        assert_eq!(paid(dec!(5), dec!(5)), fee, "{name}");
        assert_eq!(paid(dec!(6.5), dec!(5)), dec!(0), "{name}");
        assert_eq!(
            (paid(dec!(6.49), dec!(5)), paid(dec!(10), dec!(4)), paid(dec!(10.01), dec!(4))),
            (fee, dec!(0), fee)
        );
    }
}

/// USPS Notice 123 of 5 October 2025, p. 6, postcards: one price, without a row of weights, within 4.25 × 6 × 0.016 in
/// (Domestic Mail Manual 101.6.2.2) as read from the table of physical standards.
#[test]
fn a_postcard_has_one_price_within_its_sizes() {
    let rows = table("price_table_usps_first_class_mail_retail_2025-10-05.csv");
    let price: Decimal = rows.iter().find(|row| row["shape"] == "postcard").unwrap()["price_usd"].parse().unwrap();
    let facts = &toml("dmm_physical.toml")["postcard"];
    let side = |end: &str, key: &str| (decimal(&facts[end][key]) * dec!(25.4)).normalize();
    let limits = format!(
        "min_width_mm = {}\nmin_length_mm = {}\nmin_thickness_mm = {}\nmax_width_mm = {}\nmax_length_mm = {}\n\
         max_thickness_mm = {}",
        side("min", "height_in"),
        side("min", "length_in"),
        side("min", "thickness_in"),
        side("max", "height_in"),
        side("max", "length_in"),
        side("max", "thickness_in"),
    );
    let tier = [format!("{{ up_to = 1, price = \"{price}\" }}")];
    let card = card("USPS", "USD", DAY, &[service("postcard", "letter", "[\"US\"]", "oz", &limits, &tier)]);
    let paid = |length, height, thickness| {
        let ask = Question { pins: false, size: inches(length, height, thickness), ..parcel_to("1", DAY) };
        ask.price(ounces(dec!(0.2)), &card, "postcard")
    };
    assert_eq!(paid(dec!(6), dec!(4.25), dec!(0.016)), Some(price));
    assert_eq!(paid(dec!(5), dec!(3.5), dec!(0.007)), Some(price));
    for (length, height, thickness) in [
        (dec!(6.01), dec!(4.25), dec!(0.016)),
        (dec!(6), dec!(4.26), dec!(0.016)),
        (dec!(6), dec!(4.25), dec!(0.017)),
        (dec!(4.99), dec!(3.5), dec!(0.007)),
        (dec!(5), dec!(3.49), dec!(0.007)),
        (dec!(5), dec!(3.5), dec!(0.006)),
    ] {
        assert_eq!(paid(length, height, thickness), None, "{length} {height} {thickness}");
    }
}

/// USPS Notice 123 of 5 October 2025, p. 7, nonstandard fees: 4.00 above 22 in to 30, 8.40 above 30, 18.00 above 3,456
/// cubic inches (two cubic feet), and a long parcel of that size pays both (from memory).
#[test]
fn nonstandard_parcels_pay_by_length_and_volume() {
    let facts = toml("dmm_physical.toml");
    let fees = &facts["parcel"]["nonstandard_fees_usd_2025_10_05"];
    let fee = |key: &str| decimal(&fees[key]);
    let (long, longer, large) = (fee("length_over_22_to_30"), fee("length_over_30"), fee("over_3456_in3"));
    let rest = format!(
        "surcharges = [ {{ code = \"long\", price = \"{longer}\", over_length_mm = {} }}, \
         {{ code = \"long\", price = \"{long}\", over_length_mm = {} }}, \
         {{ code = \"large\", price = \"{large}\", over_cubic_feet = 2 }} ]",
        dec!(30) * dec!(25.4),
        dec!(22) * dec!(25.4)
    );
    let card = one_service(&rest);
    let paid = |a, b, c| {
        let ask = Question { size: inches(a, b, c), ..parcel_to("1", DAY) };
        ask.price(ounces(dec!(4)), &card, "ground").unwrap() - dec!(5)
    };
    assert_eq!(paid(dec!(22), dec!(8), dec!(8)), dec!(0));
    assert_eq!(paid(dec!(22.01), dec!(8), dec!(8)), long);
    assert_eq!(paid(dec!(8), dec!(8), dec!(30)), long);
    assert_eq!(paid(dec!(8), dec!(30.01), dec!(8)), longer);
    assert_eq!(paid(dec!(12), dec!(12), dec!(24)), long, "exactly two cubic feet, and 24 in long");
    assert_eq!(paid(dec!(16), dec!(16), dec!(13.5)), dec!(0), "exactly 3,456 cubic inches");
    assert_eq!(paid(dec!(16), dec!(16), dec!(13.51)), large);
    assert_eq!(paid(dec!(30.01), dec!(12), dec!(12)), longer + large);
}
