//! Tiers, shapes, zones, limits and reasons, on cards made by hand.

use jiff::civil::date;
use rust_decimal::dec;

use super::*;
use crate::model::length::Length;
use crate::model::money::Currency;
use crate::model::rates::{Destinations, Extra, Limits, Price, Service, Shape, Tier};

mod laws;
mod wishes;

fn usd(amount: Decimal) -> Money {
    Money::new(amount, Currency::USD)
}

fn service(code: &str, shape: Shape, tiers: &[(Decimal, Decimal)]) -> Service {
    let us: Country = "US".parse().unwrap();
    let tier = |(edge, price): &(Decimal, Decimal)| Tier {
        up_to: Weight::new(*edge, MassUnit::Ounce),
        up_to_volume: None,
        price: Price::Flat(usd(*price)),
    };
    Service {
        code: code.into(),
        title: code.into(),
        shape,
        from: us,
        to: Destinations { named: BTreeSet::from([us]), elsewhere: false },
        tracked: true,
        days: None,
        tiers: tiers.iter().map(tier).collect(),
        zones: std::collections::BTreeMap::new(),
        limits: Limits::default(),
        refuses: BTreeSet::new(),
        surcharges: Vec::new(),
        extras: Vec::new(),
        insurance: Vec::new(),
        declaration: None,
    }
}

fn card(valid_from: Date, services: Vec<Service>) -> RateCard {
    let file = "test.toml".to_owned();
    RateCard { file, carrier: "Northline Post".into(), currency: Currency::USD, valid_from, services }
}

fn ask(contains: &BTreeSet<Contents>) -> Ask<'_> {
    let mm = |value: i64| Length::from_mm(Decimal::from(value));
    Ask {
        mass: Estimate { mean_g: 50.0, sd_g: 1.0 },
        size: Size::laid(mm(180), mm(110), mm(22)),
        pins: true,
        contains,
        from: "US".parse().unwrap(),
        to: "US".parse().unwrap(),
        postal_code: "04999",
        value: usd(dec!(20)),
        day: date(2026, 11, 25),
        declare_with: Confidence::USUAL,
        rules: &PostageRules::NONE,
    }
}

fn at(ounces: Decimal, cards: &[RateCard]) -> Option<Money> {
    let none = BTreeSet::new();
    let quote = quote_exact(Weight::new(ounces, MassUnit::Ounce).mass(), &ask(&none), cards);
    quote.chosen.and_then(|index| quote.offers[index].price)
}

#[test]
fn an_edge_belongs_to_the_tier_below_it() {
    let cards = [card(
        date(2026, 1, 1),
        vec![service("small", Shape::Parcel, &[(dec!(4), dec!(5.25)), (dec!(8), dec!(6.10))])],
    )];
    assert_eq!(at(dec!(3.99), &cards), Some(usd(dec!(5.25))));
    assert_eq!(at(dec!(4), &cards), Some(usd(dec!(5.25))));
    assert_eq!(at(dec!(4.01), &cards), Some(usd(dec!(6.10))));
    assert_eq!(at(dec!(8.01), &cards), None);
}

/// One historic rate step (common practice, no source): 1 to 4 oz one flat price, 2.61 bought online, 2.67
/// then 3.00 at the counter, 0.39 saved a parcel.
#[test]
fn the_historic_rate_step_is_reproduced() {
    let one_to_four = |price| vec![service("small", Shape::Parcel, &[(dec!(4), price)])];
    let counter = [card(date(2018, 1, 1), one_to_four(dec!(2.67))), card(date(2026, 1, 1), one_to_four(dec!(3.00)))];
    let online = [card(date(2018, 1, 1), one_to_four(dec!(2.61)))];
    for ounces in [dec!(0.01), dec!(1), dec!(1.27), dec!(1.83), dec!(4)] {
        let saved = at(ounces, &counter).unwrap().amount - at(ounces, &online).unwrap().amount;
        assert_eq!(saved, dec!(0.39), "{ounces}");
    }
    let none = BTreeSet::new();
    let before = Ask { day: date(2025, 12, 31), ..ask(&none) };
    let postage = planned(&before, &counter).unwrap();
    assert_eq!(postage.price, usd(dec!(2.67)));
    assert_eq!(postage.change_ahead, Some(ChangeAhead { from: date(2026, 1, 1), price: usd(dec!(3.00)) }));
}

#[test]
fn pins_never_go_as_a_letter_however_cheap() {
    let cards = [card(
        date(2026, 1, 1),
        vec![
            service("letter", Shape::Letter, &[(dec!(4), dec!(1))]),
            service("small", Shape::Parcel, &[(dec!(4), dec!(5))]),
        ],
    )];
    assert_eq!(at(dec!(2), &cards), Some(usd(dec!(5))));
    let none = BTreeSet::new();
    let paper = Ask { pins: false, ..ask(&none) };
    let quote = quote(&paper, &cards);
    assert_eq!(quote.offers[quote.chosen.unwrap()].service, "letter");
}

/// 4 oz are 113.398 g: a parcel of 112 g with a spread of 2 g may lie on either side.
#[test]
fn an_interval_across_an_edge_asks_to_be_weighed() {
    let none = BTreeSet::new();
    let cards =
        [card(date(2026, 1, 1), vec![service("small", Shape::Parcel, &[(dec!(4), dec!(5)), (dec!(8), dec!(6))])])];
    let near = Ask { mass: Estimate { mean_g: 112.0, sd_g: 2.0 }, ..ask(&none) };
    let postage = planned(&near, &cards).unwrap();
    assert_eq!((postage.declared.to_string().as_str(), postage.weigh_first), ("8 oz", true));
    let clear = Ask { mass: Estimate { mean_g: 50.0, sd_g: 2.0 }, ..ask(&none) };
    assert!(!planned(&clear, &cards).unwrap().weigh_first);
}

#[test]
fn what_a_service_refuses_leaves_a_reason() {
    let cells = BTreeSet::from([Contents::ButtonCell]);
    let mut only = service("small", Shape::Parcel, &[(dec!(8), dec!(5))]);
    only.refuses = cells.clone();
    let no = planned(&ask(&cells), &[card(date(2026, 1, 1), vec![only])]).unwrap_err();
    assert_eq!(no.to_string(), "no service takes it: small: does not carry button-cell");
}

#[test]
fn elsewhere_is_what_no_other_service_of_the_card_names() {
    let country = |code: &str| code.parse::<Country>().unwrap();
    let to =
        |named: &[&str], elsewhere| Destinations { named: named.iter().map(|code| country(code)).collect(), elsewhere };
    let by = |code, price, to| Service { to, ..service(code, Shape::Parcel, &[(dec!(8), price)]) };
    let cards = [card(
        date(2026, 1, 1),
        vec![
            by("home", dec!(5), to(&["US"], false)),
            by("north", dec!(9), to(&["CA"], false)),
            by("far", dec!(1), to(&[], true)),
        ],
    )];
    let none = BTreeSet::new();
    for (code, service) in [("US", "home"), ("CA", "north"), ("DE", "far")] {
        let postage = planned(&Ask { to: country(code), ..ask(&none) }, &cards).unwrap();
        assert_eq!(postage.service, service, "{code}");
    }
}

#[test]
fn the_longest_prefix_gives_the_zone_and_none_gives_a_reason() {
    let price = |near, far| Price::ByZone([("1", usd(near)), ("8", usd(far))].map(|(k, v)| (k.to_owned(), v)).into());
    let mut zoned = service("zoned", Shape::Parcel, &[]);
    zoned.tiers =
        vec![Tier { up_to_volume: None, up_to: Weight::new(dec!(8), MassUnit::Ounce), price: price(dec!(5), dec!(9)) }];
    zoned.zones = [("04", "8"), ("049", "1"), ("SW1", "8")].map(|(k, v)| (k.to_owned(), v.to_owned())).into();
    let cards = [card(date(2026, 1, 1), vec![zoned])];
    let none = BTreeSet::new();
    for (postal_code, zone) in [("04999-1234", "1"), ("04812", "8"), ("sw 1a 1aa", "8")] {
        let postage = planned(&Ask { postal_code, ..ask(&none) }, &cards).unwrap();
        assert_eq!(postage.zone.as_deref(), Some(zone), "{postal_code}");
    }
    let no = planned(&Ask { postal_code: "97099", ..ask(&none) }, &cards).unwrap_err();
    assert_eq!(no.to_string(), "no service takes it: zoned: no zone for postal code `97099`");
}

/// Bought above the value and not at it; a signature in another currency is left alone.
#[test]
fn extras_are_bought_above_a_value() {
    let extra = |code: &str, above| Extra { code: code.into(), price: usd(dec!(3.95)), above_value: above };
    let eur = Money::new(dec!(1), "EUR".parse().unwrap());
    let mut with = service("small", Shape::Parcel, &[(dec!(8), dec!(5))]);
    with.extras = vec![extra("signature", Some(usd(dec!(150)))), extra("on-request", None), extra("other", Some(eur))];
    let cards = [card(date(2026, 1, 1), vec![with])];
    let none = BTreeSet::new();
    let price = |value| planned(&Ask { value: usd(value), ..ask(&none) }, &cards).unwrap().price.amount;
    assert_eq!((price(dec!(150)), price(dec!(150.01))), (dec!(5), dec!(8.95)));
}

#[test]
fn limits_speak_of_the_longest_side_whichever_way_it_stands() {
    let mm = |value: i64| Length::from_mm(Decimal::from(value));
    let mut short = service("short", Shape::Parcel, &[(dec!(8), dec!(5))]);
    short.limits.max_length = Some(mm(200));
    short.limits.max_length_plus_girth = Some(mm(500));
    let cards = [card(date(2026, 1, 1), vec![short])];
    let none = BTreeSet::new();
    let no = |a, b, c| planned(&Ask { size: Size::laid(mm(a), mm(b), mm(c)), ..ask(&none) }, &cards).err();
    assert_eq!(no(200, 100, 50), None);
    let upright = no(100, 50, 201).unwrap();
    assert_eq!(
        upright.to_string(),
        "no service takes it: short: length 201 mm, at most 200 mm, length plus girth 501 mm, at most 500 mm"
    );
}

/// The interval ends above the cheap service's last tier, so that the dear one must be planned for; the scale
/// may still allow the cheap one.
#[test]
fn weighing_first_is_also_asked_for_where_it_may_open_a_cheaper_service() {
    let none = BTreeSet::new();
    let cheap = service("cheap", Shape::Parcel, &[(dec!(4), dec!(5))]);
    let dear = service("dear", Shape::Parcel, &[(dec!(16), dec!(9))]);
    let cards = [card(date(2026, 1, 1), vec![cheap, dear])];
    let near = Ask { mass: Estimate { mean_g: 112.0, sd_g: 2.0 }, ..ask(&none) };
    let postage = planned(&near, &cards).unwrap();
    assert_eq!((postage.service.as_str(), postage.weigh_first), ("dear", true));
    assert_eq!(postage.edge, Some(Weight::new(dec!(4), MassUnit::Ounce)));
    // An edge of the dear service inside the interval changes nothing.
    let dear = service("dear", Shape::Parcel, &[(dec!(2), dec!(8)), (dec!(16), dec!(9))]);
    let cards = [card(date(2026, 1, 1), vec![service("cheap", Shape::Parcel, &[(dec!(4), dec!(5))]), dear])];
    let light = Ask { mass: Estimate { mean_g: 56.0, sd_g: 2.0 }, ..ask(&none) };
    assert!(!planned(&light, &cards).unwrap().weigh_first);
}

#[test]
fn at_one_price_the_tracked_service_is_taken() {
    let none = BTreeSet::new();
    let tiers = [(dec!(4), dec!(5))];
    let untracked = Service { tracked: false, ..service("a", Shape::Parcel, &tiers) };
    let cards = [card(date(2026, 1, 1), vec![untracked, service("b", Shape::Parcel, &tiers)])];
    let postage = planned(&ask(&none), &cards).unwrap();
    assert_eq!(postage.service, "b");
    assert_eq!(postage.next_best.map(|next| next.service).as_deref(), Some("a"));
}

#[test]
fn every_offer_says_why() {
    let none = BTreeSet::new();
    let cards = [card(
        date(2026, 1, 1),
        vec![
            service("letter", Shape::Letter, &[(dec!(4), dec!(1))]),
            service("small", Shape::Parcel, &[(dec!(4), dec!(5.25))]),
            service("fast", Shape::Parcel, &[(dec!(4), dec!(6.10))]),
        ],
    )];
    let quote = quote(&ask(&none), &cards);
    let why: Vec<String> = quote.offers.iter().map(|offer| offer.why.join("; ")).collect();
    assert_eq!(
        why,
        [
            "pins are rigid and uneven: parcel only, never a letter or flat",
            "up to 4 oz: 5.25",
            "up to 4 oz: 6.10; 0.85 dearer than `small`",
        ]
    );
}

#[test]
fn the_plan_tells_the_price_the_runner_up_and_why_each_other_is_out() {
    let none = BTreeSet::new();
    let tiers = |price| vec![(dec!(4), price)];
    let july = vec![
        service("letter", Shape::Letter, &tiers(dec!(1))),
        service("small", Shape::Parcel, &tiers(dec!(5.25))),
        service("fast", Shape::Parcel, &tiers(dec!(6.10))),
        service("faster", Shape::Parcel, &tiers(dec!(8))),
        Service { from: "GB".parse().unwrap(), ..service("theirs", Shape::Parcel, &tiers(dec!(2))) },
    ];
    let december = vec![service("small", Shape::Parcel, &tiers(dec!(5.60)))];
    let cards = [card(date(2026, 7, 12), july), card(date(2026, 12, 1), december)];
    let postage = planned(&ask(&none), &cards).unwrap();
    assert_eq!(
        postage.why,
        [
            "postage: small of Northline Post, up to 4 oz: 5.25",
            "not letter: pins are rigid and uneven: parcel only, never a letter or flat",
            "next best: fast, 6.10: 0.85 dearer than `small`",
            "also lawful: faster, 8.00: 2.75 dearer than `small`",
            "from 2026-12-01 it costs 0.35 more: 5.60",
        ]
    );
    assert_eq!((postage.base, postage.bought), (Some(usd(dec!(5.25))), vec![]));
}

/// A card that leaves the service out is told of, with what is cheapest then; a fall in price as well.
#[test]
fn a_service_that_ends_and_a_fall_are_told_ahead() {
    let none = BTreeSet::new();
    let one = |code: &str, price| vec![service(code, Shape::Parcel, &[(dec!(4), price)])];
    let line = |later: &[RateCard]| {
        let cards: Vec<RateCard> =
            std::iter::once(card(date(2026, 7, 12), one("small", dec!(5.25)))).chain(later.iter().cloned()).collect();
        let postage = planned(&ask(&none), &cards).unwrap();
        (postage.why.last().cloned().unwrap(), postage.change_ahead.map(|change| change.price))
    };
    assert_eq!(line(&[]), ("postage: small of Northline Post, up to 4 oz: 5.25".to_owned(), None));
    let same = card(date(2026, 11, 30), one("small", dec!(5.25)));
    let fall = card(date(2026, 12, 1), one("small", dec!(5.00)));
    assert_eq!(line(&[same, fall]), ("from 2026-12-01 it costs 0.25 less: 5.00".to_owned(), Some(usd(dec!(5)))));
    let other = card(date(2026, 12, 1), one("box", dec!(7)));
    let gone = "from 2026-12-01 small no longer takes it; the cheapest then is box: 7.00";
    assert_eq!(line(&[other]), (gone.to_owned(), None));
    let nothing = card(
        date(2026, 12, 1),
        one("box", dec!(7))
            .into_iter()
            .map(|mut service| {
                service.tracked = false;
                service.limits.max_mass = Some(Mass::from_g(dec!(1)));
                service
            })
            .collect(),
    );
    assert_eq!(line(&[nothing]), ("from 2026-12-01 no service takes it".to_owned(), None));
}

/// A card of another country's services is no offer, whatever it costs, and doesn't speak for `"*"`.
#[test]
fn only_what_is_posted_here_counts() {
    let none = BTreeSet::new();
    let country = |code: &str| code.parse::<Country>().unwrap();
    let tiers = [(dec!(8), dec!(5))];
    let far = Destinations { named: BTreeSet::new(), elsewhere: true };
    let mine = Service { to: far, ..service("far", Shape::Parcel, &tiers) };
    let theirs = Service {
        from: country("GB"),
        to: Destinations { named: BTreeSet::from([country("DE")]), elsewhere: false },
        ..service("theirs", Shape::Parcel, &[(dec!(8), dec!(1))])
    };
    let cards = [card(date(2026, 1, 1), vec![theirs, mine])];
    let abroad = Ask { to: country("DE"), ..ask(&none) };
    assert_eq!(planned(&abroad, &cards).unwrap().service, "far");
    let quote = quote(&abroad, &cards);
    assert_eq!(quote.offers[0].why, ["is posted in GB, and you post in US"]);
    let home = planned(&ask(&none), &cards).unwrap_err();
    assert_eq!(home.to_string(), "no service takes it: none that is posted in US goes to US; add one to rates/");
}
