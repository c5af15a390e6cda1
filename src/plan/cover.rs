//! Which insurance band of a rate card a parcel's value lies in.
//!
//! Handed the cards and what was planned; promises the band of the card in force on the day, and what it costs for that
//! value, by the same look-up that planning buys by. What was bought, the parcel's own record says. Turned down: saying
//! what would be paid for a loss, which the carrier's terms decide.

use jiff::civil::Date;

use crate::model::money::Money;
use crate::model::rates::RateCard;
use crate::plan::postage::{band, cards_in_force};

/// What the rate card says of insurance for a value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Cover {
    /// No card that holds has the service.
    NoCard,
    /// The service has no bands.
    NoBands,
    /// The value lies in the band up to this, which costs so much more for it.
    Band {
        /// The band's edge.
        up_to: Money,
        /// For this value, with every step that it begins.
        price: Money,
    },
    /// The value is above the last band, which goes up to this.
    Above(Money),
}

/// The band of `value` for a carrier's service on `day`.
#[must_use]
pub fn of(cards: &[RateCard], carrier: &str, service: &str, day: Date, value: Money) -> Cover {
    let holding = cards_in_force(cards, day);
    let of_carrier = holding.into_iter().filter(|card| card.carrier == carrier);
    let Some(service) = of_carrier.flat_map(|card| &card.services).find(|known| known.code == service) else {
        return Cover::NoCard;
    };
    let mut in_currency = service.insurance.iter().filter(|band| band.up_to.currency == value.currency);
    match (band(&service.insurance, value), in_currency.next_back()) {
        (Some((band, price)), _) => Cover::Band { up_to: band.up_to, price },
        (None, Some(last)) => Cover::Above(last.up_to),
        (None, None) => Cover::NoBands,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::Decimal;

    use super::*;
    use crate::model::money::Currency;
    use crate::model::rates::{Destinations, InsuranceBand, Limits, Service, Shape, Step};

    fn usd(amount: i64) -> Money {
        Money::new(Decimal::from(amount), Currency::USD)
    }

    fn card(bands: &[(i64, i64)]) -> RateCard {
        let service = Service {
            code: "small".into(),
            title: "Small".into(),
            shape: Shape::Parcel,
            from: "US".parse().unwrap(),
            to: Destinations::default(),
            tracked: true,
            days: None,
            tiers: Vec::new(),
            zones: std::collections::BTreeMap::new(),
            limits: Limits::default(),
            refuses: std::collections::BTreeSet::new(),
            surcharges: Vec::new(),
            declaration: None,
            extras: Vec::new(),
            insurance: bands
                .iter()
                .map(|(up_to, price)| InsuranceBand { up_to: usd(*up_to), price: usd(*price), steps: None })
                .collect(),
        };
        RateCard {
            file: "a.toml".into(),
            carrier: "Northline Post".into(),
            currency: Currency::USD,
            valid_from: date(2026, 7, 12),
            services: vec![service],
        }
    }

    #[test]
    fn a_value_lies_in_the_lowest_band_that_holds_it() {
        let cards = [card(&[(100, 0), (200, 5)])];
        let of = |value| super::of(&cards, "Northline Post", "small", date(2026, 11, 25), usd(value));
        let band = |up_to, price| Cover::Band { up_to: usd(up_to), price: usd(price) };
        assert_eq!([of(0), of(100), of(101), of(200)], [band(100, 0), band(100, 0), band(200, 5), band(200, 5)]);
        assert_eq!(of(201), Cover::Above(usd(200)));
    }

    /// By hand, the steps as on the sample's pattern, common practice: above 600, 1.50 for each further 100 or part of it, on 8.95: 650 begins
    /// one step, 701 two.
    #[test]
    fn a_stepped_band_costs_what_its_steps_cost() {
        let cents = |amount: i64| Money::new(Decimal::new(amount, 2), Currency::USD);
        let mut card = card(&[(600, 8)]);
        let steps = Some(Step { each: usd(100), price: cents(150) });
        card.services[0].insurance.push(InsuranceBand { up_to: usd(5000), price: cents(895), steps });
        let of =
            |value| super::of(std::slice::from_ref(&card), "Northline Post", "small", date(2026, 11, 25), usd(value));
        let band = |price| Cover::Band { up_to: usd(5000), price: cents(price) };
        assert_eq!([of(650), of(700), of(701)], [band(1045), band(1045), band(1195)]);
    }

    #[test]
    fn without_a_card_or_a_band_it_says_so() {
        let day = date(2026, 11, 25);
        assert_eq!(of(&[card(&[])], "Northline Post", "small", day, usd(1)), Cover::NoBands);
        assert_eq!(of(&[card(&[])], "Northline Post", "large", day, usd(1)), Cover::NoCard);
        assert_eq!(of(&[card(&[])], "Northline Post", "small", date(2026, 7, 11), usd(1)), Cover::NoCard);
    }
}
