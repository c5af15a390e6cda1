//! The seller's rules, what is bought by them, and surcharges.

use jiff::civil::date;
use rust_decimal::dec;

use super::*;
use crate::model::length::Volume;
use crate::model::parcel::BoughtKind;
use crate::model::rates::{InsuranceBand, Step, Surcharge, When};

fn small(code: &str, price: Decimal) -> Service {
    service(code, Shape::Parcel, &[(dec!(4), price)])
}

fn signed(code: &str, price: Decimal) -> Service {
    let extra = Extra { code: "signature".into(), price: usd(dec!(3.95)), above_value: None };
    Service { extras: vec![extra], ..small(code, price) }
}

fn bands(bands: &[(Decimal, Decimal)]) -> Vec<InsuranceBand> {
    bands.iter().map(|(up_to, price)| InsuranceBand { up_to: usd(*up_to), price: usd(*price), steps: None }).collect()
}

/// Worth `value`, under `rules`: what is chosen and its price, or why nothing is.
fn chosen(value: Money, rules: &PostageRules, services: &[Service]) -> Result<(String, Decimal), String> {
    let none = BTreeSet::new();
    let cards = [card(date(2026, 1, 1), services.to_vec())];
    let postage = planned(&Ask { value, rules, ..ask(&none) }, &cards).map_err(|no| no.to_string())?;
    Ok((postage.service, postage.price.amount))
}

fn taken(service: &str, price: Decimal) -> (String, Decimal) {
    (service.to_owned(), price)
}

#[test]
fn above_its_value_a_parcel_goes_tracked_and_not_at_it() {
    let rules = PostageRules { tracked_above: Some(usd(dec!(20))), ..PostageRules::NONE };
    let services = [Service { tracked: false, ..small("plain", dec!(4)) }, small("tracked", dec!(5))];
    assert_eq!(chosen(usd(dec!(20)), &rules, &services), Ok(taken("plain", dec!(4))));
    assert_eq!(chosen(usd(dec!(20.01)), &rules, &services), Ok(taken("tracked", dec!(5))));
    let no = "no service takes it: plain: has no tracking, which your rule asks for above 20.00";
    assert_eq!(chosen(usd(dec!(21)), &rules, &services[..1]), Err(no.to_owned()));
    // Whether 5 EUR are above 20 USD can't be told: tracking is asked for.
    let eur = Money::new(dec!(5), "EUR".parse().unwrap());
    assert_eq!(chosen(eur, &rules, &services), Ok(taken("tracked", dec!(5))));
}

#[test]
fn a_signature_is_bought_by_the_rule_once_and_only_where_it_is_offered() {
    let rules = PostageRules { signature_above: Some(usd(dec!(100))), ..PostageRules::NONE };
    let services = [small("bare", dec!(5)), signed("signed", dec!(6))];
    assert_eq!(chosen(usd(dec!(100)), &rules, &services), Ok(taken("bare", dec!(5))));
    assert_eq!(chosen(usd(dec!(101)), &rules, &services), Ok(taken("signed", dec!(9.95))));
    let no = "no service takes it: bare: offers no signature, which your rule asks for above 100.00";
    assert_eq!(chosen(usd(dec!(101)), &rules, &services[..1]), Err(no.to_owned()));
    // The rate card asks for it as well: it is paid once.
    let mut both = signed("both", dec!(6));
    both.extras[0].above_value = Some(usd(dec!(50)));
    assert_eq!(chosen(usd(dec!(101)), &rules, &[both]), Ok(taken("both", dec!(9.95))));
    // Nothing is bought on a comparison that can't be made.
    let eur = Money::new(dec!(500), "EUR".parse().unwrap());
    assert_eq!(chosen(eur, &rules, &services), Ok(taken("bare", dec!(5))));
}

#[test]
fn insurance_is_bought_by_the_rule_from_the_lowest_band_that_holds_the_value() {
    let rules = PostageRules { insure_above: Some(usd(dec!(50))), ..PostageRules::NONE };
    let bands = bands(&[(dec!(100), dec!(0)), (dec!(200), dec!(4.60))]);
    let insured = Service { insurance: bands, ..small("insured", dec!(5)) };
    let price = |value| chosen(usd(value), &rules, std::slice::from_ref(&insured)).map(|(_, price)| price);
    assert_eq!(
        (price(dec!(100)), price(dec!(100.01)), price(dec!(200))),
        (Ok(dec!(5)), Ok(dec!(9.60)), Ok(dec!(9.60)))
    );
    let no = "no service takes it: insured: its insurance ends at 200.00, and your rule asks for the whole value above 50.00";
    assert_eq!(price(dec!(200.01)), Err(no.to_owned()));
    let no = "no service takes it: bare: offers no insurance, and your rule asks for the whole value above 50.00";
    assert_eq!(chosen(usd(dec!(51)), &rules, &[small("bare", dec!(4))]), Err(no.to_owned()));
    // Without a rule none is bought, and what comes with the service is told.
    let none = BTreeSet::new();
    let cards = [card(date(2026, 1, 1), vec![insured.clone()])];
    let postage = planned(&Ask { value: usd(dec!(150)), ..ask(&none) }, &cards).unwrap();
    assert_eq!(postage.price, usd(dec!(5)));
    let bought: Vec<_> = postage.bought.iter().map(|bought| (bought.what, bought.price, bought.up_to)).collect();
    assert_eq!(bought, [(BoughtKind::Insurance, usd(dec!(0)), Some(usd(dec!(100))))]);
    assert!(postage.why[0].contains("insurance up to 100.00 comes with it; the carrier's terms decide"), "{postage:?}");
}

/// "8.95, and 1.50 for each further 100 or part of it": the step begins above the band before.
#[test]
fn a_step_that_is_begun_is_paid() {
    let rules = PostageRules { insure_above: Some(usd(dec!(0))), ..PostageRules::NONE };
    let mut stepped = small("stepped", dec!(0));
    stepped.insurance = bands(&[(dec!(600), dec!(8.95)), (dec!(5000), dec!(8.95))]);
    stepped.insurance[1].steps = Some(Step { each: usd(dec!(100)), price: usd(dec!(1.50)) });
    let price = |value| chosen(usd(value), &rules, std::slice::from_ref(&stepped)).unwrap().1;
    assert_eq!((price(dec!(600)), price(dec!(600.01)), price(dec!(700))), (dec!(8.95), dec!(10.45), dec!(10.45)));
    assert_eq!((price(dec!(700.01)), price(dec!(5000))), (dec!(11.95), dec!(74.95)));
}

#[test]
fn days_are_asked_at_home_and_not_abroad() {
    let rules = PostageRules { max_days: Some(5), ..PostageRules::NONE };
    let days = |code: &str, price, days| Service { days, ..small(code, price) };
    let services = [days("slow", dec!(4), Some(6)), days("unsaid", dec!(4.5), None), days("five", dec!(5), Some(5))];
    assert_eq!(chosen(usd(dec!(20)), &rules, &services), Ok(taken("five", dec!(5))));
    let no = "no service takes it: slow: takes up to 6 days, and your rule asks for at most 5; unsaid: says no delivery \
              days, and your rule asks for at most 5";
    assert_eq!(chosen(usd(dec!(20)), &rules, &services[..2]), Err(no.to_owned()));
    let none = BTreeSet::new();
    let abroad = Service { to: Destinations { named: BTreeSet::new(), elsewhere: true }, ..small("abroad", dec!(14)) };
    let cards = [card(date(2026, 1, 1), vec![abroad])];
    assert!(planned(&Ask { to: "DE".parse().unwrap(), rules: &rules, ..ask(&none) }, &cards).is_ok());
}

#[test]
fn a_service_carries_no_more_than_its_greatest_value() {
    let mut cheap = small("cheap", dec!(4));
    cheap.limits.max_value = Some(usd(dec!(400)));
    let price = |value| chosen(value, &PostageRules::NONE, std::slice::from_ref(&cheap)).map(|(_, price)| price);
    assert_eq!(price(usd(dec!(400))), Ok(dec!(4)));
    assert_eq!(price(usd(dec!(400.01))), Err("no service takes it: cheap: worth 400.01, at most 400.00".to_owned()));
    let eur = Money::new(dec!(1), "EUR".parse().unwrap());
    let no = "no service takes it: cheap: carries at most 400.00 USD; the value is in EUR";
    assert_eq!(price(eur), Err(no.to_owned()));
}

/// The parcel of these tests is 180 × 110 × 22 mm and 50 g; each condition is met just, and missed by a hair.
#[test]
fn a_surcharge_is_charged_where_all_its_conditions_hold() {
    let mm = |value: Decimal| Some(Length::from_mm(value));
    let none = BTreeSet::new();
    let magnet = BTreeSet::from([Contents::Magnet]);
    let charged = |when: &When, contains: &BTreeSet<Contents>| {
        let mut service = small("small", dec!(5));
        service.surcharges = vec![Surcharge { code: "more".into(), price: usd(dec!(1)), when: when.clone() }];
        let cards = [card(date(2026, 1, 1), vec![service])];
        let quote = quote_exact(Mass::from_g(dec!(50)), &ask(contains), &cards);
        quote.offers[0].price == Some(usd(dec!(6)))
    };
    let no = When::default();
    let litres = |value| Some(Volume::from_litres(value));
    let day = |day| Some(date(2026, 11, day));
    let prefixes = |prefix: &str| BTreeSet::from([prefix.to_owned()]);
    let to = |code: &str| BTreeSet::from([code.parse::<Country>().unwrap()]);
    for (holds, misses) in [
        (When { over_length: mm(dec!(179.9)), ..no.clone() }, When { over_length: mm(dec!(180)), ..no.clone() }),
        (When { over_width: mm(dec!(109.9)), ..no.clone() }, When { over_width: mm(dec!(110)), ..no.clone() }),
        (When { over_thickness: mm(dec!(21.9)), ..no.clone() }, When { over_thickness: mm(dec!(22)), ..no.clone() }),
        (
            When { over_length_plus_girth: mm(dec!(443.9)), ..no.clone() },
            When { over_length_plus_girth: mm(dec!(444)), ..no.clone() },
        ),
        (
            When { over_volume: litres(dec!(0.43559)), ..no.clone() },
            When { over_volume: litres(dec!(0.4356)), ..no.clone() },
        ),
        (
            When { over_mass: Some(Mass::from_g(dec!(49.9))), ..no.clone() },
            When { over_mass: Some(Mass::from_g(dec!(50))), ..no.clone() },
        ),
        (When { ratio_under: Some(dec!(1.64)), ..no.clone() }, When { ratio_under: Some(dec!(1.63)), ..no.clone() }),
        (When { ratio_over: Some(dec!(1.63)), ..no.clone() }, When { ratio_over: Some(dec!(1.64)), ..no.clone() }),
        (When { prefixes: prefixes("049"), ..no.clone() }, When { prefixes: prefixes("48"), ..no.clone() }),
        (When { countries: to("US"), ..no.clone() }, When { countries: to("CA"), ..no.clone() }),
        (When { from: day(25), ..no.clone() }, When { from: day(26), ..no.clone() }),
        (When { to: day(25), ..no.clone() }, When { to: day(24), ..no.clone() }),
    ] {
        assert!(charged(&holds, &none) && !charged(&misses, &none), "{holds:?}, {misses:?}");
        let neither = When { contains: magnet.clone(), ..holds };
        assert!(charged(&neither, &magnet) && !charged(&neither, &none), "{neither:?}");
    }
    assert!(charged(&no, &none));
}

/// Of one code the first that applies; of two codes both, and the plan names them.
#[test]
fn of_one_code_only_the_first_surcharge_is_charged() {
    let over = |code: &str, price, length: i64| Surcharge {
        code: code.into(),
        price: usd(price),
        when: When { over_length: Some(Length::from_mm(Decimal::from(length))), ..When::default() },
    };
    let mut long = small("long", dec!(5));
    long.surcharges = vec![
        over("long", dec!(8.40), 170),
        over("long", dec!(4), 100),
        over("odd", dec!(1), 10),
        over("odd", dec!(9), 500),
    ];
    let none = BTreeSet::new();
    let postage = planned(&ask(&none), &[card(date(2026, 1, 1), vec![long])]).unwrap();
    assert_eq!((postage.price, postage.base), (usd(dec!(14.40)), Some(usd(dec!(5)))));
    let line =
        "postage: long of Northline Post, up to 4 oz: 5.00; surcharge long: 8.40; surcharge odd: 1.00; in all 14.40";
    assert_eq!(postage.why[0], line);
}

/// A surcharge by mass makes an edge at which the scale may save it.
#[test]
fn a_surcharge_by_mass_within_the_interval_asks_to_be_weighed() {
    let mut heavy = small("heavy", dec!(5));
    let when = When { over_mass: Some(Mass::from_g(dec!(50))), ..When::default() };
    heavy.surcharges = vec![Surcharge { code: "heavy".into(), price: usd(dec!(2)), when }];
    let none = BTreeSet::new();
    let cards = [card(date(2026, 1, 1), vec![heavy])];
    let postage = planned(&ask(&none), &cards).unwrap();
    assert_eq!((postage.price.amount, postage.weigh_first), (dec!(7), true));
    let light = Ask { mass: Estimate { mean_g: 40.0, sd_g: 1.0 }, ..ask(&none) };
    assert!(!planned(&light, &cards).unwrap().weigh_first);
}

#[test]
fn a_tier_by_volume_holds_the_box_and_the_mass() {
    let litres = |most| Some(Volume::from_litres(most));
    let mut by_box = small("cubic", dec!(5));
    by_box.tiers = vec![
        Tier {
            up_to: Weight::new(dec!(4), MassUnit::Ounce),
            up_to_volume: litres(dec!(0.4)),
            price: Price::Flat(usd(dec!(5))),
        },
        Tier {
            up_to: Weight::new(dec!(4), MassUnit::Ounce),
            up_to_volume: litres(dec!(0.5)),
            price: Price::Flat(usd(dec!(6))),
        },
    ];
    let cards = [card(date(2026, 1, 1), vec![by_box])];
    let none = BTreeSet::new();
    let at = |thickness: i64, grams| {
        let mm = |value: i64| Length::from_mm(Decimal::from(value));
        let ask = Ask { size: Size::laid(mm(180), mm(110), mm(thickness)), ..ask(&none) };
        let quote = quote_exact(Mass::from_g(grams), &ask, &cards);
        quote
            .chosen
            .map(|index| quote.offers[index].price.unwrap().amount)
            .ok_or_else(|| quote.offers[0].why.join(", "))
    };
    assert_eq!((at(20, dec!(100)), at(22, dec!(100))), (Ok(dec!(5)), Ok(dec!(6))));
    assert_eq!(at(26, dec!(100)), Err("larger than its last tier of 0.5 l".to_owned()));
    assert_eq!(at(20, dec!(114)), Err("over its last tier of 4 oz".to_owned()));
}
