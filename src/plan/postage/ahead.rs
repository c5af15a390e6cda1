//! A rise ahead: what a later card asks for the same parcel by the same service.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::{Ask, Offer, quote_exact};
use crate::model::mass::Mass;
use crate::model::money::Money;
use crate::model::parcel::ChangeAhead;
use crate::model::rates::RateCard;

/// What a later card of the carrier brings.
pub(super) enum Ahead {
    /// Another price.
    Price(ChangeAhead),
    /// The service doesn't take it any more, from this day on; the cheapest that then does, where one does.
    Gone(Date, Option<(String, Money)>),
}

impl Ahead {
    /// The new price, where the service goes on.
    pub(super) fn change(self) -> Option<ChangeAhead> {
        match self {
            Self::Price(change) => Some(change),
            Self::Gone(..) => None,
        }
    }
}

/// The first later card of the carrier under which the parcel can't go as planned, or not for this price.
pub(super) fn of(mass: Mass, ask: &Ask<'_>, cards: &[RateCard], chosen: &Offer, price: Money) -> Option<Ahead> {
    let later: BTreeSet<Date> = cards
        .iter()
        .filter(|card| card.carrier == chosen.carrier && card.valid_from > ask.day)
        .map(|card| card.valid_from)
        .collect();
    later.into_iter().find_map(|from| {
        let then = quote_exact(mass, &Ask { day: from, ..ask.clone() }, cards);
        let same = |offer: &&Offer| offer.carrier == chosen.carrier && offer.service == chosen.service && offer.lawful;
        if let Some(new) = then.offers.iter().find(same).and_then(|offer| offer.price) {
            return (new != price).then_some(Ahead::Price(ChangeAhead { from, price: new }));
        }
        let cheapest = then.chosen.and_then(|index| then.offers.get(index));
        Some(Ahead::Gone(from, cheapest.and_then(|offer| Some((offer.service.clone(), offer.price?)))))
    })
}

/// The line on it: "from 2026-12-01 it costs 0.35 more: 5.60".
pub(super) fn line(ahead: &Ahead, service: &str, price: Money) -> String {
    match ahead {
        Ahead::Price(change) => {
            let more = change.price.amount - price.amount;
            let word = if more.is_sign_negative() { "less" } else { "more" };
            let by = Money::new(more.abs(), change.price.currency).plain();
            format!("from {} it costs {by} {word}: {}", change.from, change.price.plain())
        }
        Ahead::Gone(from, Some((other, then))) => {
            format!("from {from} {service} no longer takes it; the cheapest then is {other}: {}", then.plain())
        }
        Ahead::Gone(from, None) => format!("from {from} no service takes it"),
    }
}
