//! Which shapes are lawful, against the physical standards of a published manual.

use dawnpack::model::mass::{MassUnit, Weight};
use jiff::civil::date;
use rust_decimal::{Decimal, dec};

use super::data::{Question, card, decimal, inches, service, toml};

/// USPS Domestic Mail Manual 101 (updated 7-9-23), 1.1, 2.1, 2.4 and 3.2: limits of letters, flats and parcels, and
/// seven examples classed by hand from them. What the manual says of aspect ratio, flexibility and uniform thickness
/// lies outside of a rate card: dawnpack knows that pins are rigid and uneven, and nothing else of stiffness.
#[test]
fn the_manuals_examples_are_classed_as_it_says() {
    let facts = toml("dmm_physical.toml");
    let number = |part: &str, key: &str| decimal(&facts[part][key]);
    let millimetres = |part: &str, key: &str| (number(part, key) * dec!(25.4)).normalize();
    let letter = format!(
        "min_length_mm = {}\nmin_width_mm = {}\nmax_length_mm = {}\nmax_width_mm = {}\nmax_thickness_mm = {}\nmax_mass = {}",
        millimetres("letter", "min_length_in"),
        millimetres("letter", "min_height_in"),
        millimetres("letter", "max_length_in"),
        millimetres("letter", "max_height_in"),
        millimetres("letter", "max_thickness_in"),
        number("letter", "max_weight_oz"),
    );
    let flat = format!(
        "max_length_mm = {}\nmax_width_mm = {}\nmax_thickness_mm = {}",
        millimetres("flat", "max_length_in"),
        millimetres("flat", "max_height_in"),
        millimetres("flat", "max_thickness_in"),
    );
    let parcel = format!("max_length_plus_girth_mm = {}", millimetres("parcel", "max_length_plus_girth_in"));
    let tier = |ounces: Decimal| [format!("{{ up_to = \"{ounces}\", price = \"1\" }}")];
    let to = "[\"US\"]";
    let card = card(
        "USPS",
        "USD",
        date(2023, 7, 9),
        &[
            service("letter", "letter", to, "oz", &letter, &tier(number("letter", "max_weight_oz"))),
            service("flat", "flat", to, "oz", &flat, &tier(number("flat", "max_weight_oz"))),
            service("parcel", "parcel", to, "oz", &parcel, &tier(number("parcel", "max_weight_lb") * dec!(16))),
        ],
    );
    let lawful = |[a, b, thickness]: [Decimal; 3], ounces: Decimal, pins: bool| {
        let size = inches(a, b, thickness);
        let ask = Question { to: "US", postal_code: "10000".into(), pins, size, day: date(2023, 7, 9) };
        let quote = ask.quote(Weight::new(ounces, MassUnit::Ounce).mass(), &card);
        let lawful = quote.offers.into_iter().filter(|offer| offer.lawful).map(|offer| offer.service);
        lawful.collect::<Vec<_>>().join(" ")
    };
    // In the order of the file: a letter; a square one; one at ratio 1.3; a thick one; one at its limits; a mailer of
    // pins; a box at 108 in.
    let expected = [
        "letter flat parcel",
        "letter flat parcel",
        "letter flat parcel",
        "flat parcel",
        "letter flat parcel",
        "parcel",
        "parcel",
    ];
    let examples = facts["examples"].as_array().unwrap();
    assert_eq!(examples.len(), expected.len());
    for (example, expected) in examples.iter().zip(expected) {
        let says = example["expect"].as_str().unwrap();
        let dims: Vec<Decimal> = example["dims_in"].as_array().unwrap().iter().map(decimal).collect();
        let pins = says.contains("pins");
        let found = lawful([dims[0], dims[1], dims[2]], decimal(&example["weight_oz"]), pins);
        assert_eq!(found, expected, "{says}");
        // A letter by the manual is one by the card, and what is none never is.
        assert_eq!(found.contains("letter"), says.starts_with("letter"), "{says}");
    }
    // Just beyond each example's limit.
    assert_eq!(lawful([dec!(8), dec!(4), dec!(0.2501)], dec!(3.5), false), "flat parcel");
    assert_eq!(lawful([dec!(8), dec!(4), dec!(0.25)], dec!(3.51), false), "flat parcel");
    assert_eq!(lawful([dec!(8), dec!(4), dec!(0.7501)], dec!(2), false), "parcel");
    assert_eq!(lawful([dec!(4.99), dec!(3.5), dec!(0.02)], dec!(1), false), "flat parcel");
    assert_eq!(lawful([dec!(40), dec!(17), dec!(17.001)], dec!(320), false), "");
    // Rigid or uneven pays the parcel's price whatever its thickness (101.2.5, 6.3.2).
    assert_eq!(lawful([dec!(9.5), dec!(4.125), dec!(0.02)], dec!(1), true), "parcel");
}
