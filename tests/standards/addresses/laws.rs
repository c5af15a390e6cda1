//! What holds of any address at all.

use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::standard::{Agreement, check, standard};
use proptest::prelude::*;

use super::super::data::table;
use super::{tern, to};

const COUNTRIES: [&str; 24] = [
    "US", "US", "US", "US", "PR", "CA", "GB", "AU", "IE", "DE", "AT", "CH", "NL", "BE", "FR", "ES", "IT", "PL", "SE",
    "DK", "FI", "JP", "BR", "RU",
];

/// Words that addresses are made of, of many kinds, so that soups of them meet every rule.
const WORDS: &[&str] = &[
    "88",
    "4",
    "12-14",
    "4B",
    "5th",
    "1/2",
    "88A",
    "N",
    "North",
    "SW",
    "West",
    "A",
    "B",
    "Tern",
    "Gull",
    "Saint",
    "St",
    "Street",
    "Ave",
    "Avenue",
    "Park",
    "Parks",
    "Rd",
    "Meadows",
    "Key",
    "Apt",
    "Apartment",
    "Suite",
    "Ste",
    "Unit",
    "Floor",
    "Fl",
    "Bldg",
    "Rear",
    "Front",
    "Lot",
    "#",
    "#4",
    "No.",
    "PO",
    "Box",
    "P.O.",
    "RR",
    "HC",
    "PSC",
    "Rural",
    "Route",
    "Highway",
    "County",
    "Road",
    "US",
    "I-10",
    "SR",
    "Kentucky",
    "General",
    "Delivery",
    "c/o",
    "URB",
    "Calle",
    "C/",
    "Rue",
    "bis",
    "Av.",
    "Möwenstraße",
    "Str.",
    "Platz",
    "Straße",
    "ul.",
    "m.",
    "3º",
    "th",
    "Flat",
    "3/F",
    "Postfach",
    "Box",
    "12",
    "7",
    "丁目",
    "番",
    "号",
    "Mueller",
    "Müller",
    "O'Hara",
    "Via",
    "s/n",
    "кв.",
    "ул.",
    ",",
    ",",
    ";",
    "-",
    "&",
    "Cedex",
    "Gullhaven",
    "Lane",
    "E",
    "Close",
    "Crescent",
    "Cl",
    "Cr",
];

fn soup() -> impl Strategy<Value = Recipient> {
    let words = |most: usize| prop::collection::vec(prop::sample::select(WORDS), 0..most);
    (prop::sample::select(&COUNTRIES[..]), prop::collection::vec(words(9), 0..4), words(4), words(3), words(3))
        .prop_map(|(country, lines, city, region, postal)| Recipient {
            lines: lines.into_iter().map(|words| words.join(" ")).collect(),
            city: city.join(" "),
            region: region.join(" "),
            postal_code: postal.join(" "),
            ..to(&format!("{country}||||"))
        })
}

/// An address as people write them in the US or abroad.
fn plausible() -> impl Strategy<Value = Recipient> {
    let rows = table("address_pairs.csv");
    let all: Vec<String> = rows.iter().flat_map(|row| [row["one"].clone(), row["other"].clone()]).collect();
    prop::sample::select(all).prop_map(|text| to(&text))
}

fn changed(to: &Recipient, change: impl Fn(&str) -> String) -> Recipient {
    Recipient {
        lines: to.lines.iter().map(|line| change(line)).collect(),
        city: change(&to.city),
        region: change(&to.region),
        ..to.clone()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// What is standard stays as it is.
    #[test]
    fn standardising_what_is_standard_changes_nothing(to in prop_oneof![soup(), plausible()]) {
        let once = standard(&to);
        let again = standard(&once.rendered());
        prop_assert_eq!(&once, &again);
        prop_assert!(once.same_place(&again));
    }

    /// No text at all makes it panic, and a place is always itself.
    #[test]
    fn any_text_is_read(
        country in prop::sample::select(&COUNTRIES[..]),
        lines in prop::collection::vec("\\PC{0,30}", 0..4),
        name in "\\PC{0,10}", city in "\\PC{0,12}", region in "\\PC{0,8}", code in "\\PC{0,10}",
    ) {
        let to = Recipient { name, lines, city, region, postal_code: code, ..to(&format!("{country}||||")) };
        let place = standard(&to);
        prop_assert!(place.same_place(&place));
        prop_assert!(!place.street.iter().any(String::is_empty));
        let _doubt = check(&to);
    }

    #[test]
    fn case_spacing_and_points_do_not_matter(to in prop_oneof![soup(), plausible()], spaces in 1_usize..4) {
        let place = standard(&to);
        let wide = changed(&to, |text| format!(" {} ", text.replace(' ', &" ".repeat(spaces))));
        prop_assert_eq!(&standard(&wide), &place);
        let upper = changed(&to, str::to_uppercase);
        prop_assert_eq!(&standard(&upper), &place);
        let lower = changed(&to, str::to_lowercase);
        prop_assert_eq!(&standard(&lower), &place);
        let dotted = changed(&to, |text| text.split(' ').map(|word| word.to_owned() + if word.ends_with(char::is_alphabetic) { "." } else { "" }).collect::<Vec<_>>().join(" "));
        prop_assert_eq!(&standard(&dotted), &place);
    }

    /// Another figure anywhere in the number, the unit, the box, the street or the code is another place; a leading zero
    /// is none, since "04" may be 4.
    #[test]
    fn another_digit_is_another_place(to in plausible(), at in 0_usize..64, by in 1_u32..9) {
        let place = standard(&to);
        let text = [to.lines.join("~"), to.postal_code.clone()].join("|");
        let digits: Vec<(usize, u32)> = text
            .char_indices()
            .filter_map(|(at, c)| Some((at, c.to_digit(10).filter(|digit| *digit > 0 && c.is_ascii())?)))
            .collect();
        prop_assume!(!digits.is_empty());
        let (at, old) = digits[at % digits.len()];
        let (before, rest) = text.split_at(at);
        let new = (old - 1 + by) % 9 + 1;
        // A last line that says the ZIP+4 again.
        prop_assume!(!to.lines.iter().any(|line| line.contains(&format!("{}-", to.postal_code))));
        let changed = format!("{before}{new}{}", &rest[1..]);
        let (lines, code) = changed.rsplit_once('|').unwrap();
        let lines = lines.split('~').map(str::to_owned).collect();
        let other = Recipient { lines, postal_code: code.to_owned(), ..to.clone() };
        // The last four of a ZIP+4 name no other place, but a part of the same.
        prop_assume!(standard(&other).postal_plus == place.postal_plus);
        // What the fields say is not said again by the lines: there a changed figure is a line of its own.
        prop_assert!(!standard(&other).same_place(&place), "{to:?}\n{other:?}\n{place:?}");
    }

    /// A letter more or less in the number, the unit or the box is another place.
    #[test]
    fn another_letter_at_a_number_is_another_place(number in 1_u32..999, door in 1_u32..99, letter in "[A-Z]", kind in 0_usize..4) {
        let ways = |number: String, door: String| {
            [format!("{number} Tern St Apt {door}"), format!("{number} Tern St #{door}"),
             format!("PO Box {door}"), format!("RR {number} Box {door}")][kind].clone()
        };
        let plain = tern(&ways(number.to_string(), door.to_string()));
        let lettered = tern(&ways(number.to_string(), format!("{door}{letter}")));
        prop_assert!(!plain.same_place(&lettered), "{plain:?}\n{lettered:?}");
        if kind < 2 {
            let house = tern(&ways(format!("{number}{letter}"), door.to_string()));
            prop_assert!(!plain.same_place(&house), "{plain:?}\n{house:?}");
        }
    }

    #[test]
    fn being_one_place_does_not_hang_on_the_order(a in soup(), b in plausible()) {
        let (a, b) = (standard(&a), standard(&b));
        prop_assert_eq!(a.same_place(&b), b.same_place(&a));
        prop_assert_eq!(a.unit_agreement(&b), b.unit_agreement(&a));
    }
}

#[test]
fn a_unit_without_designator_agrees_with_any_and_a_part_left_out_is_silence() {
    let agreement =
        |a: &str, b: &str| tern(&format!("88 Tern St {a}")).unit_agreement(&tern(&format!("88 Tern St {b}")));
    assert_eq!(agreement("#4", "Ste 4"), Agreement::Same);
    assert_eq!(agreement("Apt 4", "Ste 4"), Agreement::Differs);
    assert_eq!(agreement("#4", "#5"), Agreement::Differs);
    assert_eq!(agreement("", "Apt 5"), Agreement::Silent);
    assert_eq!(agreement("Bldg C Apt 5", "Apt 5"), Agreement::Silent);
    assert_eq!(agreement("Bldg C Apt 5", "Bldg D Apt 5"), Agreement::Differs);
    assert_eq!(agreement("Rear", "Front"), Agreement::Differs);
    assert_eq!(agreement("", ""), Agreement::Same);
}
