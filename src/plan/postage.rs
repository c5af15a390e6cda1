//! Lawful services, tiers, declared weight, price, and the runner-up.
//!
//! Handed a parcel, the rate cards and the seller's rules; promises an offer for every service in force, each with its
//! price or the reason why not. Prices and edges are exact decimals; an edge is inclusive, so a mass at an edge pays that tier
//! and a hair more pays the next. The declared weight is the tier's top: within a tier the price is flat. Turned
//! down: comparing in grams as floats, which puts 4.00 oz on either side of its edge.

use std::collections::BTreeSet;
use std::fmt;

use jiff::civil::Date;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

use crate::model::address::Country;
use crate::model::catalogue::Contents;
use crate::model::customs::Form;
use crate::model::length::Size;
use crate::model::mass::{Estimate, Mass, MassUnit, Weight};
use crate::model::money::Money;
use crate::model::parcel::{Bought, ChangeAhead, NextBest, Postage};
use crate::model::rates::RateCard;
use crate::model::rules::PostageRules;
use crate::model::scale::Confidence;
use crate::plan::weighing;

use ahead::Ahead;
pub(in crate::plan) use extras::band;

mod ahead;
mod bounds;
mod extras;
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
    /// Where it is posted.
    pub from: Country,
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
    /// What the seller asks beyond the lowest price.
    pub rules: &'a PostageRules,
}

/// Whether a value is above a limit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Above {
    Yes,
    No,
    /// They are in two currencies, and nothing is ever converted.
    CannotTell,
}

impl Ask<'_> {
    fn is_above(&self, limit: Money) -> Above {
        if self.value.currency != limit.currency {
            Above::CannotTell
        } else if self.value.amount > limit.amount {
            Above::Yes
        } else {
            Above::No
        }
    }
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
    /// Whether it goes from here to there at all.
    pub serves: bool,
    /// Whether the parcel may go by it.
    pub lawful: bool,
    /// Price with all that is bought; `None` where the service's table has none for this place and mass.
    pub price: Option<Money>,
    /// The tier's own part of the price, likewise.
    pub base: Option<Money>,
    /// What the price holds besides, and what comes with it for nothing.
    pub bought: Vec<Bought>,
    /// The tier's top, likewise.
    pub tier: Option<Weight>,
    /// Zone, where prices have zones.
    pub zone: Option<String>,
    /// Carries a tracking number.
    pub tracked: bool,
    /// Delivery days promised at most, where the card says.
    pub days: Option<u32>,
    /// The customs form it asks for whatever the value.
    pub customs_form: Option<Form>,
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
    /// The service and tier to buy, and for how much.
    fn bought(&self) -> Option<(&str, &str, Weight, Money)> {
        let offer = self.chosen.and_then(|index| self.offers.get(index))?;
        Some((&offer.carrier, &offer.service, offer.tier?, offer.price?))
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
    let (low, _) = weighing::interval(ask.mass, ask.declare_with);
    let upper = heaviest(ask.mass, ask.declare_with);
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

/// The mass that a parcel doesn't reach as often as `confidence` asks.
#[must_use]
pub fn heaviest(mass: Estimate, confidence: Confidence) -> Mass {
    let (_, high) = weighing::interval(mass, confidence);
    Mass::from_g(Decimal::from_f64(high).unwrap_or(Decimal::MAX))
}

/// All masses at which some service changes its price or its mind.
fn edges(cards: &[RateCard], day: Date) -> Vec<Weight> {
    let services = cards_in_force(cards, day).into_iter().flat_map(|card| &card.services);
    services
        .flat_map(|service| {
            let charged = service.surcharges.iter().filter_map(|surcharge| surcharge.when.over_mass);
            let by_mass = service.limits.max_mass.into_iter().chain(charged);
            let tiers = service.tiers.iter().map(|tier| tier.up_to);
            tiers.chain(by_mass.map(|mass| Weight::new(mass.g(), MassUnit::Gram)))
        })
        .collect()
}

/// Every service's word on a mass as the scale shows it. Prices are compared by their amounts: all cards are in the home's
/// currency, which the home sees to.
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
        let ties = offers.get(*index).map(|offer| (!offer.tracked, offer.service.clone(), offer.carrier.clone()));
        (price.amount, ties)
    });
    let mut ranked = lawful.into_iter();
    let best = ranked.next();
    let next_best = ranked.clone().next().map(|(index, _)| index);
    if let Some((best, least)) = best {
        let chosen = offers.get(best).map(|offer| offer.service.clone()).unwrap_or_default();
        for (index, price) in ranked {
            let against = if price.amount == least.amount {
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
        return Err(none_takes(ask, &quote));
    };
    let next_best = quote.next_best.and_then(|index| quote.offers.get(index));
    let ahead = ahead::of(heaviest(ask.mass, ask.declare_with), ask, cards, offer, price);
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
        why: lines(&quote, offer, price, ahead.as_ref()),
        change_ahead: ahead.and_then(Ahead::change),
        base: offer.base,
        bought: offer.bought.clone(),
        customs_form: offer.customs_form,
    })
}

/// The first later card of the chosen service's carrier under which a parcel of `mass` costs something else by it, and
/// the line on it, which also tells where the service takes it no more.
#[must_use]
pub fn change_ahead(
    mass: Mass,
    ask: &Ask<'_>,
    cards: &[RateCard],
    quote: &Quote,
) -> Option<(Option<ChangeAhead>, String)> {
    let offer = quote.chosen.and_then(|index| quote.offers.get(index))?;
    let price = offer.price?;
    let ahead = ahead::of(mass, ask, cards, offer, price)?;
    let line = ahead::line(&ahead, &offer.service, price);
    Some((ahead.change(), line))
}

fn none_takes(ask: &Ask<'_>, quote: &Quote) -> NoService {
    let no = |offer: &Offer| format!("{}: {}", offer.service, offer.why.join(", "));
    let mut why: Vec<String> = quote.offers.iter().filter(|offer| offer.serves).map(no).collect();
    if why.is_empty() && !quote.offers.is_empty() {
        why.push(format!("none that is posted in {} goes to {}; add one to rates/", ask.from, ask.to));
    }
    why.extend(quote.edge.map(|edge| format!("weigh it: up to {edge} it may go")));
    NoService(why)
}

/// How the price came about, why every other service that goes there is out, and what is ahead.
fn lines(quote: &Quote, chosen: &Offer, price: Money, ahead: Option<&Ahead>) -> Vec<String> {
    let mut why = vec![format!("postage: {} of {}, {}", chosen.service, chosen.carrier, chosen.why.join("; "))];
    let place = |index: usize| quote.next_best == Some(index);
    for (index, offer) in quote.offers.iter().enumerate().filter(|(_, offer)| offer.serves) {
        if offer.lawful && quote.chosen != Some(index) {
            let head = if place(index) { "next best" } else { "also lawful" };
            let (price, last) = (offer.price.map(Money::plain).unwrap_or_default(), offer.why.last());
            let against = last.map(String::as_str).unwrap_or_default();
            why.push(format!("{head}: {}, {price}: {against}", offer.service));
        } else if !offer.lawful {
            why.push(format!("not {}: {}", offer.service, offer.why.join(", ")));
        }
    }
    why.extend(ahead.map(|ahead| ahead::line(ahead, &chosen.service, price)));
    why
}

#[cfg(test)]
mod tests;
