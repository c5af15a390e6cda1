//! Lawful services, tiers, declared weight, price, and the runner-up.
//!
//! Handed a parcel and the rate cards; promises an offer for every service in force, each with its price or the
//! reason why not. Prices and edges are exact decimals; an edge is inclusive, so a mass at an edge pays that tier
//! and a hair more pays the next. The declared weight is the tier's top: within a tier the price is flat. Turned
//! down: comparing in grams as floats, which puts 4.00 oz on either side of its edge.

use std::collections::BTreeSet;
use std::fmt;

use jiff::civil::Date;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

use crate::model::address::Country;
use crate::model::catalogue::Contents;
use crate::model::length::Size;
use crate::model::mass::{Estimate, Mass, MassUnit, Weight};
use crate::model::money::Money;
use crate::model::parcel::{ChangeAhead, NextBest, Postage};
use crate::model::rates::RateCard;
use crate::model::scale::Confidence;
use crate::plan::weighing;

mod offer;

/// A parcel to be posted.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// What it should weigh.
    pub mass: Estimate,
    /// Its outside.
    pub size: Size,
    /// Holds pins: rigid and uneven, so that only the shape `parcel` is lawful.
    pub pins: bool,
    /// Contents that need care.
    pub contains: &'a BTreeSet<Contents>,
    /// Where it goes.
    pub to: Country,
    /// Postal code there.
    pub postal_code: &'a str,
    /// Value of the goods.
    pub value: Money,
    /// Day of hand-off.
    pub day: Date,
    /// How often the tier must hold before the parcel is weighed.
    pub declare_with: Confidence,
}

/// What one service says to it.
#[derive(Clone, PartialEq, Debug)]
pub struct Offer {
    /// Carrier.
    pub carrier: String,
    /// Service code.
    pub service: String,
    /// Service title.
    pub title: String,
    /// Whether the parcel may go by it.
    pub lawful: bool,
    /// Price with the extras bought unasked; `None` where the service's table has none for this place and mass.
    pub price: Option<Money>,
    /// The tier's top, likewise.
    pub tier: Option<Weight>,
    /// Zone, where prices have zones.
    pub zone: Option<String>,
    /// Carries a tracking number.
    pub tracked: bool,
    /// Why this price, or why not lawful.
    pub why: Vec<String>,
}

/// What all services say.
#[derive(Clone, PartialEq, Debug)]
pub struct Quote {
    /// Every service in force.
    pub offers: Vec<Offer>,
    /// The one chosen: the cheapest lawful, tracked before untracked at one price, then by code.
    pub chosen: Option<usize>,
    /// The next cheapest lawful.
    pub next_best: Option<usize>,
    /// The scale may show another service or tier to be enough: an edge lies inside the mass's interval.
    pub weigh_first: bool,
    /// The highest such edge.
    pub edge: Option<Weight>,
}

impl Quote {
    /// The service and tier to buy.
    fn bought(&self) -> Option<(&str, &str, Weight)> {
        let offer = self.chosen.and_then(|index| self.offers.get(index))?;
        Some((&offer.carrier, &offer.service, offer.tier?))
    }
}

/// No service takes it; says why of each.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NoService(pub Vec<String>);

impl fmt::Display for NoService {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("no rate card holds on the day of hand-off; add one to rates/");
        }
        write!(f, "no service takes it: {}", self.0.join("; "))
    }
}

/// Of each carrier, the card that holds on `day`: the latest not after it.
#[must_use]
pub fn cards_in_force(cards: &[RateCard], day: Date) -> Vec<&RateCard> {
    let mut holding: Vec<&RateCard> = Vec::new();
    for card in cards.iter().filter(|card| card.valid_from <= day) {
        match holding.iter_mut().find(|held| held.carrier == card.carrier) {
            Some(held) if held.valid_from < card.valid_from => *held = card,
            Some(_) => {}
            None => holding.push(card),
        }
    }
    holding
}

/// Every service's word on a parcel that has not been weighed: the tier is the lowest that holds it as often as
/// is asked, usually in 97.5% of cases. Where the scale might show a cheaper tier or service to be enough, it says to weigh first.
#[must_use]
pub fn quote(ask: &Ask<'_>, cards: &[RateCard]) -> Quote {
    let (low, high) = weighing::interval(ask.mass, ask.declare_with);
    let upper = Mass::from_g(Decimal::from_f64(high).unwrap_or(Decimal::MAX));
    let lower = Mass::from_g(Decimal::from_f64(low).unwrap_or_default());
    let mut quote = quote_exact(upper, ask, cards);
    // Only an edge at which something else would be bought matters: one of a dearer service asks for nothing.
    quote.edge = edges(cards, ask.day)
        .into_iter()
        .filter(|edge| edge.mass() > lower && edge.mass() < upper)
        .filter(|edge| quote_exact(edge.mass(), ask, cards).bought() != quote.bought())
        .max_by_key(|edge| edge.mass());
    quote.weigh_first = quote.edge.is_some();
    quote
}

/// All masses at which some service changes its price or its mind.
fn edges(cards: &[RateCard], day: Date) -> Vec<Weight> {
    let services = cards_in_force(cards, day).into_iter().flat_map(|card| &card.services);
    services
        .flat_map(|service| {
            let heaviest = service.limits.max_mass.map(|most| Weight::new(most.g(), MassUnit::Gram));
            service.tiers.iter().map(|tier| tier.up_to).chain(heaviest)
        })
        .collect()
}

/// Every service's word on a mass as the scale shows it.
#[must_use]
pub fn quote_exact(mass: Mass, ask: &Ask<'_>, cards: &[RateCard]) -> Quote {
    let mut offers: Vec<Offer> = cards_in_force(cards, ask.day)
        .into_iter()
        .flat_map(|card| card.services.iter().map(move |service| offer::of(card, service, mass, ask)))
        .collect();
    let mut lawful: Vec<(usize, Money)> = (0..)
        .zip(&offers)
        .filter(|(_, offer)| offer.lawful)
        .filter_map(|(index, offer)| Some((index, offer.price?)))
        .collect();
    lawful.sort_by_key(|(index, price)| {
        // Amounts of two currencies can't be compared, and nothing is ever converted: the seller's own comes first.
        let foreign = price.currency != ask.value.currency;
        let ties = offers.get(*index).map(|offer| (!offer.tracked, offer.service.clone(), offer.carrier.clone()));
        (foreign, price.currency, price.amount, ties)
    });
    let mut ranked = lawful.into_iter();
    let best = ranked.next();
    let next_best = ranked.clone().next().map(|(index, _)| index);
    if let Some((best, least)) = best {
        let chosen = offers.get(best).map(|offer| offer.service.clone()).unwrap_or_default();
        for (index, price) in ranked {
            let against = if price.currency != least.currency {
                format!("priced in {}, `{chosen}` in {}", price.currency, least.currency)
            } else if price.amount == least.amount {
                format!("no cheaper than `{chosen}`")
            } else {
                let more = Money::new(price.amount - least.amount, price.currency);
                format!("{} dearer than `{chosen}`", more.plain())
            };
            if let Some(offer) = offers.get_mut(index) {
                offer.why.push(against);
            }
        }
    }
    Quote { chosen: best.map(|(index, _)| index), next_best, offers, weigh_first: false, edge: None }
}

/// The postage to plan for a parcel, with the runner-up and a price change known ahead.
///
/// # Errors
/// [`NoService`] where no service is lawful.
pub fn planned(ask: &Ask<'_>, cards: &[RateCard]) -> Result<Postage, NoService> {
    let quote = quote(ask, cards);
    let chosen = quote.chosen.and_then(|index| quote.offers.get(index));
    let (Some(offer), Some((price, declared))) = (chosen, chosen.and_then(|offer| offer.price.zip(offer.tier))) else {
        let no = |offer: &Offer| format!("{}: {}", offer.service, offer.why.join(", "));
        let lighter = quote.edge.map(|edge| format!("weigh it: up to {edge} it may go"));
        return Err(NoService(quote.offers.iter().map(no).chain(lighter).collect()));
    };
    let next_best = quote.next_best.and_then(|index| quote.offers.get(index));
    Ok(Postage {
        carrier: offer.carrier.clone(),
        service: offer.service.clone(),
        service_title: offer.title.clone(),
        declared,
        price,
        zone: offer.zone.clone(),
        weigh_first: quote.weigh_first,
        edge: quote.edge,
        next_best: next_best.and_then(|next| Some(NextBest { service: next.service.clone(), price: next.price? })),
        change_ahead: change_ahead(ask, cards, offer, price),
    })
}

/// The first later card of the carrier under which the same parcel by the same service costs something else.
fn change_ahead(ask: &Ask<'_>, cards: &[RateCard], chosen: &Offer, price: Money) -> Option<ChangeAhead> {
    let later: BTreeSet<Date> = cards
        .iter()
        .filter(|card| card.carrier == chosen.carrier && card.valid_from > ask.day)
        .map(|card| card.valid_from)
        .collect();
    later.into_iter().find_map(|from| {
        let then = quote(&Ask { day: from, ..ask.clone() }, cards);
        let same = |offer: &&Offer| offer.carrier == chosen.carrier && offer.service == chosen.service;
        let new = then.offers.iter().find(same).filter(|offer| offer.lawful)?.price?;
        (new != price).then_some(ChangeAhead { from, price: new })
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;
    use rust_decimal::dec;

    use super::*;
    use crate::model::length::Length;
    use crate::model::money::Currency;
    use crate::model::rates::{Destinations, Extra, Limits, Price, Service, Shape, Tier};

    fn usd(amount: Decimal) -> Money {
        Money::new(amount, Currency::USD)
    }

    fn service(code: &str, shape: Shape, tiers: &[(Decimal, Decimal)]) -> Service {
        let us: Country = "US".parse().unwrap();
        let tier = |(edge, price): &(Decimal, Decimal)| Tier {
            up_to: Weight::new(*edge, MassUnit::Ounce),
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
            extras: Vec::new(),
            insurance: Vec::new(),
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
            to: "US".parse().unwrap(),
            postal_code: "04999",
            value: usd(dec!(20)),
            day: date(2026, 11, 25),
            declare_with: Confidence::USUAL,
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
        let counter =
            [card(date(2018, 1, 1), one_to_four(dec!(2.67))), card(date(2026, 1, 1), one_to_four(dec!(3.00)))];
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
        let to = |named: &[&str], elsewhere| Destinations {
            named: named.iter().map(|code| country(code)).collect(),
            elsewhere,
        };
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
        let price =
            |near, far| Price::ByZone([("1", usd(near)), ("8", usd(far))].map(|(k, v)| (k.to_owned(), v)).into());
        let mut zoned = service("zoned", Shape::Parcel, &[]);
        zoned.tiers = vec![Tier { up_to: Weight::new(dec!(8), MassUnit::Ounce), price: price(dec!(5), dec!(9)) }];
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
        with.extras =
            vec![extra("signature", Some(usd(dec!(150)))), extra("on-request", None), extra("other", Some(eur))];
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
    fn at_one_price_the_tracked_service_is_taken_and_its_own_currency_before_any() {
        let none = BTreeSet::new();
        let eur = Money::new(dec!(1), "EUR".parse().unwrap());
        let tiers = [(dec!(4), dec!(5))];
        let untracked = Service { tracked: false, ..service("a", Shape::Parcel, &tiers) };
        let mut foreign = service("foreign", Shape::Parcel, &tiers);
        foreign.tiers = vec![Tier { up_to: Weight::new(dec!(4), MassUnit::Ounce), price: Price::Flat(eur) }];
        let cards = [card(date(2026, 1, 1), vec![foreign, untracked, service("b", Shape::Parcel, &tiers)])];
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

    proptest! {
        #[test]
        fn more_mass_never_costs_less(a in 1_i64..9000, b in 1_i64..9000) {
            let tiers = [(dec!(4), dec!(5)), (dec!(8), dec!(5)), (dec!(15.999), dec!(7.5)), (dec!(80), dec!(12))];
            let cards = [card(date(2026, 1, 1), vec![service("small", Shape::Parcel, &tiers)])];
            let (light, heavy) = (Decimal::new(a.min(b), 2), Decimal::new(a.max(b), 2));
            let price = |ounces| at(ounces, &cards).map_or(Decimal::MAX, |price| price.amount);
            prop_assert!(price(light) <= price(heavy));
        }
    }
}
