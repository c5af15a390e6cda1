//! Declarations against the fields of the UPU's form CN 22.

use dawnpack::model::address::Country;
use dawnpack::model::catalogue::{Article, Code, Kind};
use dawnpack::model::customs::{Category, Form, HsCode};
use dawnpack::model::mass::Mass;
use dawnpack::model::money::{Currency, Money};
use dawnpack::model::rules::SdrRate;
use dawnpack::plan::customs::{Choice, Content, Deed, choose, goods};
use jiff::civil::date;
use rust_decimal::{Decimal, dec};

use super::data::{decimal, toml};

fn pin(description: &str, heading: &str) -> Article {
    Article {
        code: Code(heading.into()),
        title: "Pin".into(),
        aliases: Vec::new(),
        kind: Kind::Pin,
        width: None,
        height: None,
        thickness: None,
        mass: Some(Mass::from_g(dec!(8.3))),
        mass_sd: None,
        roll_share: dec!(1),
        card: None,
        contains: None,
        price: None,
        cost: None,
        on_hand: None,
        place: String::new(),
        customs_description: Some(description.into()),
        hs_code: Some(heading.parse().unwrap()),
        origin: Some("US".parse().unwrap()),
    }
}

fn content(article: &Article, quantity: u32, unit_value: Decimal, deed: Deed) -> Content<'_> {
    Content { article, quantity, unit_value: Some(usd(unit_value)), deed }
}

fn usd(amount: Decimal) -> Money {
    Money::new(amount, Currency::USD)
}

/// CN 22 as printed by India Post, notes (1) to (8): quantity and detailed description (1), net mass of each (2),
/// value of each (3), heading (4), origin (5), total mass (6), total value (7); and the sums agree.
#[test]
fn a_declaration_has_the_fields_of_the_form_and_its_sums_agree() {
    let (enamel, name) = (pin("Enamel lapel pin of base metal", "711719"), pin("Name badge of base metal", "831000"));
    let items = [content(&enamel, 3, dec!(9.05), Deed::Sale), content(&name, 2, dec!(4.10), Deed::Sale)];
    let declared = goods(&items, Currency::USD).unwrap();
    assert_eq!(declared.category, Category::SaleOfGoods);
    let [first, second] = declared.items.as_slice() else { panic!("{declared:?}") };
    assert_eq!((first.quantity, first.description.as_str()), (3, "Enamel lapel pin of base metal"));
    assert_eq!(
        (first.hs_code.as_ref().map(HsCode::digits), first.origin.map(Country::code)),
        (Some("711719"), Some("US"))
    );
    assert_eq!((first.value, second.value, declared.value), (usd(dec!(27.15)), usd(dec!(8.20)), usd(dec!(35.35))));
    assert!((first.net_g - 24.9).abs() < 1e-9 && (declared.net_g - 41.5).abs() < 1e-9);
    let swapped = goods(&[content(&enamel, 3, dec!(9.05), Deed::Trade)], Currency::USD).unwrap();
    assert_eq!((swapped.category, swapped.explanation.is_some()), (Category::Other, true));
}

/// The limits of `customs.toml`: CN 22 to 300 SDR and 2 kg. At exactly 300 two operators differ (India Post: over 300
/// takes CN 23; Eswatini Post: from 300), so the larger is taken. Prices of one right: 1.00, an invented 1.36, and one
/// below 1; a cent and a gram on either side.
#[test]
fn the_form_changes_at_the_published_limits() {
    let facts = toml("customs.toml");
    let limit = decimal(&facts["threshold"]["cn22_max_value_sdr"]);
    assert_eq!(decimal(&facts["threshold"]["cn23_above_sdr"]), limit);
    let kilograms = decimal(&facts["threshold"]["cn22_max_weight_kg"]);
    let day = date(2026, 11, 25);
    let form = |value: Decimal, one: Decimal, grams: Decimal| {
        let sdr = Some(SdrRate { one: usd(one), on: day });
        choose(&Choice { value: usd(value), gross: Mass::from_g(grams), sdr, day, service: None }).0
    };
    for one in [dec!(1), dec!(1.36), dec!(0.74)] {
        let at = limit * one;
        for (value, expected) in [(at - dec!(0.01), Form::Cn22), (at, Form::Cn23), (at + dec!(0.01), Form::Cn23)] {
            assert_eq!(form(value, one, dec!(100)), expected, "{value} at {one}");
        }
    }
    let most = kilograms * dec!(1000);
    for (grams, expected) in [(most, Form::Cn22), (most + dec!(1), Form::Cn23)] {
        assert_eq!(form(dec!(20), dec!(1.36), grams), expected, "{grams} g");
    }
}

/// "gift", "samples" and "daily necessities" are refused as descriptions (Japan Post, Customs Declaration Form; USPS
/// Postal Bulletin 22555): the words are those that the reference's own check names. Headings: six digits or more.
#[test]
fn generic_descriptions_and_short_headings_are_refused() {
    let facts = toml("customs.toml");
    let checks = facts["cn22"]["fields"]["consistency_checks"].as_array().unwrap();
    let generic = checks.iter().find_map(|check| check.as_str()?.strip_prefix("description not generic (")).unwrap();
    let words: Vec<&str> = generic.split('\'').skip(1).step_by(2).collect();
    assert_eq!(words, ["gift", "samples", "daily necessities"]);
    let refused = |description: &str, heading: &str| {
        goods(&[content(&pin(description, heading), 1, dec!(9), Deed::Sale)], Currency::USD).is_err()
    };
    for word in words {
        assert!(refused(word, "711719"), "{word}");
    }
    for heading in facts["hs"].as_array().unwrap() {
        let code = heading["code"].as_str().unwrap();
        for code in code.split(" / ") {
            assert!(!refused("Enamel lapel pin of base metal", code), "{code}");
            // The shorter is no subheading at all: the catalogue can't hold it, nor can a declaration.
            assert!(code[..4].parse::<HsCode>().is_err(), "{code}");
        }
    }
}
