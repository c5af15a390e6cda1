//! What the scale says of sealed parcels, from the hand-off sheet to the next morning's email.

use std::fmt::Write as _;

use serde_json::Value;

use crate::desk::{Desk, NOW};

const HEAD: &str =
    "Slip,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each,Post paid by buyer\n";
const FRIDAY: &str = "2026-11-27T06:30";

/// One parcel a number, each with three puffins of 8.0 g, for people of towns apart.
fn listed(orders: u32) -> (Desk, Value) {
    let desk = Desk::new();
    let mut rows = HEAD.to_owned();
    for number in 1..=orders {
        let (town, state, zip) =
            if number % 2 == 0 { ("Brackwater", "MA", "01999") } else { ("Gullhaven", "OR", "97099") };
        writeln!(
            rows,
            "{number},11/24/2026,settled,Buyer {number}a,{number}1 Pier Road,{town},{state},{zip},US,PUFFIN,3,9.00,5.00"
        )
        .unwrap();
    }
    desk.drop("a.csv", rows.as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(manifest["totals"]["parcels"], orders, "{manifest}");
    (desk, manifest)
}

/// Fills in the sheet: each parcel as heavy as its manifest expects and `off` grams more.
fn hand_over(desk: &Desk, manifest: &Value, off: impl Fn(usize) -> f64) {
    let sheet = desk.read("outbox/2026-11-25/handoff.csv");
    let mut filled = sheet;
    for (place, parcel) in manifest["parcels"].as_array().unwrap().iter().enumerate() {
        let grams = (parcel["mass"]["mean_g"].as_f64().unwrap() + off(place)).round();
        let row = filled.lines().find(|line| line.contains(parcel["ref"].as_str().unwrap())).unwrap().to_owned();
        let with_scale = row.replacen(",oz,,,,,", ",g,,5.25,2026-11-25,counter,", 1);
        let with_scale = with_scale.replacen(",,g,", &format!(",{grams},g,"), 1);
        assert_ne!(row, with_scale);
        filled = filled.replace(&row, &with_scale);
    }
    desk.drop("handoff.csv", filled.as_bytes());
}

#[test]
fn a_parcel_that_lacks_a_pin_is_told_once_with_the_pin() {
    let (desk, manifest) = listed(2);
    hand_over(&desk, &manifest, |place| if place == 0 { -8.0 } else { 0.0 });
    let manifest = desk.morning(FRIDAY);
    let said = manifest["scale"].as_array().unwrap();
    assert_eq!(said.len(), 1, "{manifest}");
    assert_eq!(
        (&said[0]["parcel"], &said[0]["reading"], &said[0]["code"]),
        (&"1125-01".into(), &"one-short".into(), &"PUFFIN".into())
    );
    let text = desk.read("outbox/2026-11-27/dispatch.txt");
    assert!(text.contains("- 1125-01 is ") && text.contains("one “PUFFIN” is missing"), "{text}");
    assert_eq!(desk.morning("2026-11-28T06:30")["scale"], serde_json::json!([]), "told once");
}

#[test]
fn parcels_that_weigh_what_they_should_say_nothing() {
    let (desk, manifest) = listed(2);
    hand_over(&desk, &manifest, |_| 0.0);
    assert_eq!(desk.morning(FRIDAY)["scale"], serde_json::json!([]));
}

/// Puffins of 9 g where the catalogue says 8: each parcel of three is 3 g heavier.
#[test]
fn masses_are_learnt_and_told_at_the_week_s_beginning() {
    let (desk, manifest) = listed(12);
    hand_over(&desk, &manifest, |_| 3.0);
    assert_eq!(desk.morning(FRIDAY)["masses"], serde_json::json!([]));
    let monday = desk.morning("2026-11-30T06:30");
    let puffin = &monday["masses"][0];
    assert_eq!((&puffin["code"], &puffin["mass_g"], &puffin["readings"]), (&"PUFFIN".into(), &8.0.into(), &12.into()));
    let learnt = puffin["learnt_g"].as_f64().unwrap();
    assert!((8.5..9.2).contains(&learnt), "{monday}");
    let listed = desk.json(&["list", "masses", "--json"]);
    let row = listed["masses"].as_array().unwrap().iter().find(|row| row["id"] == "PUFFIN").unwrap();
    assert_eq!((&row["state"], &row["learnt_g"]), (&"to-put-right".into(), &learnt.into()));
    let shown = desk.run(&["list", "masses"]).stdout;
    assert!(shown.lines().any(|line| line.starts_with("PUFFIN ") && line.ends_with("by 12 parcels")), "{shown}");
}

/// A unit is read as people write it, wherever a weight has one: in both cells of the sheet, in a command, a column map
/// and a rate card.
#[test]
fn a_unit_is_read_as_people_write_it() {
    let desk = Desk::new();
    let mass = |unit: &str| {
        let said = desk.run(&["quote", "--mass", &format!("3 {unit}"), "--to", "US", "--json"]);
        let quote: Value = serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{error}: {said:?}"));
        quote["asked"]["mass"].as_str().unwrap().to_owned()
    };
    for (words, symbol) in [
        (["g", "grams", "Gram", "grammes"], "g"),
        (["kg", "kilos", "kilograms", "kgs."], "kg"),
        (["oz", "ounces", "OZ.", "ounce"], "oz"),
        (["lb", "lbs", "pounds", "Pound"], "lb"),
    ] {
        for word in words {
            assert_eq!(mass(word), format!("3 {symbol}"), "{word}");
            let (desk, _) = listed(1);
            for (name, cells) in [("a.csv", format!("0.3,{word}")), ("b.csv", format!("0.3 {word},"))] {
                let head = "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,\
                            handed_over_on,place,note";
                desk.drop(name, format!("{head}\nhandoff 2026-11-25 r1,1125-01,,,,,{cells},,,,,\n").as_bytes());
                let said = desk.run(&["take-in"]);
                assert_eq!(said.code, Some(0), "{cells}: {said:?}");
            }
        }
    }
    assert_eq!(desk.run(&["quote", "--mass", "3 gr", "--to", "US"]).code, Some(2));
    desk.edit("columns/northline-counter.toml", "mass_unit = \"oz\"", "mass_unit = \"ounces\"");
    desk.edit("rates/northline-2026-07.toml", "unit = \"oz\"", "unit = \"ounces\"");
    let said = desk.run(&["check"]);
    assert_eq!(said.code, Some(0), "{said:?}");
}
