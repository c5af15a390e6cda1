//! Rolls and mailers against optima proven by another solver, and layers against a plain rectangle packer.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use dawnpack::model::catalogue::{Code, Kind};
use dawnpack::model::length::Length;
use dawnpack::model::mailer::Mailer;
use dawnpack::model::mass::Mass;
use dawnpack::model::money::{Currency, Money};
use dawnpack::model::parcel::Piece;
use dawnpack::model::rules::PackingRules;
use dawnpack::plan::{mailers, rolls};
use rust_decimal::{Decimal, dec};
use serde_json::Value;

fn data(name: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/standards/data").join(name);
    let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_str(&text).unwrap()
}

fn mm(value: &Value) -> Length {
    Length::from_mm(Decimal::from(value.as_i64().unwrap()))
}

fn bags(data: &Value) -> Vec<Mailer> {
    let bag = |bag: &Value| Mailer {
        code: bag["code"].as_str().unwrap().to_owned(),
        title: String::new(),
        inner_width: mm(&bag["width"]),
        inner_length: mm(&bag["length"]),
        max_thickness: mm(&bag["thickness"]),
        tare: Mass::ZERO,
        cost: Some(Money::new(Decimal::new(bag["cents"].as_i64().unwrap(), 2), Currency::USD)),
        on_hand: None,
        reused: false,
    };
    data["mailers"].as_array().unwrap().iter().map(bag).collect()
}

fn piece(number: usize, kind: Kind, sides: [Length; 3], share: Decimal) -> Piece {
    Piece {
        code: Code(format!("P-{number}")),
        kind,
        width: sides[0],
        height: sides[1],
        thickness: sides[2],
        share,
        mass: Mass::from_g(dec!(8)),
        mass_sd: Mass::ZERO,
    }
}

/// 200 parcels of up to 12 pins and cards, solved anew from the documented formulas and proven by OR-Tools
/// CP-SAT 9.15.6755 (`tests/peers/packing/optima.py`): the same mailer and the same area of wrap, to the square
/// millimetre, in every one.
#[test]
fn two_hundred_parcels_cost_what_a_solver_proves_they_must() {
    let data = data("packing_optima.json");
    let bags = bags(&data);
    let parcels = data["parcels"].as_array().unwrap();
    assert_eq!(parcels.len(), 200);
    for (place, parcel) in parcels.iter().enumerate() {
        let pieces: Vec<Piece> = parcel["pieces"]
            .as_array()
            .unwrap()
            .iter()
            .enumerate()
            .map(|(number, piece_data)| {
                let kind = match piece_data[0].as_str() {
                    Some("pin") => Kind::Pin,
                    Some("carded") => Kind::Carded,
                    other => panic!("{other:?}"),
                };
                let sides = [mm(&piece_data[1]), mm(&piece_data[2]), mm(&piece_data[3])];
                piece(number, kind, sides, Decimal::from(piece_data[4].as_i64().unwrap()))
            })
            .collect();
        let ranked = mailers::rank(&pieces, &PackingRules::USUAL, &bags, &BTreeMap::new());
        let found = ranked.choices.first().map(|choice| (choice.mailer.code.as_str(), choice.wrap));
        let proven = parcel["mailer"].as_str().map(|code| (code, Decimal::from(parcel["wrap_mm2"].as_i64().unwrap())));
        assert_eq!(found, proven, "parcel {place}: {parcel}");
    }
}

/// Least wrap of 13 to 30 pins in strips no wider than a given one, 60 times, proven by OR-Tools CP-SAT 9.15.6755 from a
/// list of all rolls (`tests/peers/packing/optima.py`): the same area to the square millimetre.
#[test]
fn up_to_thirty_pins_take_the_least_wrap_a_solver_proves() {
    let data = data("packing_rolls.json");
    let cases = data["rolls"].as_array().unwrap();
    assert_eq!(cases.len(), 60);
    for case in cases {
        let pins = case["pins"].as_array().unwrap().iter().enumerate();
        let pieces: Vec<Piece> = pins
            .map(|(number, pin)| {
                let sides = [mm(&pin[0]), mm(&pin[1]), mm(&pin[2])];
                piece(number, Kind::Pin, sides, Decimal::from(pin[3].as_i64().unwrap()))
            })
            .collect();
        let found = rolls::area(&rolls::cut(&pieces, &PackingRules::USUAL, mm(&case["widest"])));
        assert_eq!(found, Decimal::from(case["wrap_mm2"].as_i64().unwrap()), "{case}");
    }
}

/// Whatever `PyPI` rectpack 0.2.2 packs into what a mailer has left round rolls of one thickness
/// (`tests/peers/packing/optima.py`), that mailer takes in one layer. Pieces wrapped alone stand for the rolls: their
/// rolls are 40 wider and 8 higher, and 12 thicker.
#[test]
fn what_a_rectangle_packer_packs_lies_in_one_layer() {
    let data = data("packing_layers.json");
    let (mut packed, mut more) = (0, 0);
    for case in data["layers"].as_array().unwrap() {
        let mailer: Vec<Mailer> = bags(&data)
            .into_iter()
            .filter(|bag| case["mailer"] == bag.code.as_str())
            // One layer and no more.
            .map(|bag| Mailer { max_thickness: mm(&case["thick"]), ..bag })
            .collect();
        let less = |value: &Value, by: Decimal| Length::from_mm(mm(value).mm() - by);
        let laid = case["rolls"].as_array().unwrap().iter().enumerate();
        let pieces: Vec<Piece> = laid
            .map(|(number, roll)| {
                let sides = [less(&roll[0], dec!(40)), less(&roll[1], dec!(8)), less(&case["thick"], dec!(12))];
                piece(number, Kind::Other, sides, Decimal::ONE)
            })
            .collect();
        let ours = !mailers::rank(&pieces, &PackingRules::USUAL, &mailer, &BTreeMap::new()).choices.is_empty();
        let theirs = case["packs"].as_bool().unwrap();
        assert!(ours || !theirs, "{case}");
        packed += u32::from(theirs);
        more += u32::from(ours && !theirs);
    }
    assert!(packed >= 90, "{packed}");
    println!("{packed} packed by both, {more} more by ours");
}
