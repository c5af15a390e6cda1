//! Which insurance band of a rate card a parcel's value lies in.
//!
//! Handed the cards and what was planned; promises the band of the card in force on the day, and whether it costs more
//! than the postage. Insurance is never bought in silence, so a band that costs is only named. Turned down: saying what
//! would be paid for a loss, which the carrier's terms decide.

use jiff::civil::Date;

use crate::model::money::Money;
use crate::model::rates::{InsuranceBand, RateCard};
use crate::plan::postage::cards_in_force;

/// What the rate card says of insurance for a value.
#[derive(Clone, PartialEq, Debug)]
pub enum Cover {
    /// No card that holds has the service.
    NoCard,
    /// The service has no bands.
    NoBands,
    /// The value lies in this band.
    Band(InsuranceBand),
    /// The value is above the last band.
    Above(InsuranceBand),
}

/// The band of `value` for a carrier's service on `day`.
#[must_use]
pub fn of(cards: &[RateCard], carrier: &str, service: &str, day: Date, value: Money) -> Cover {
    let holding = cards_in_force(cards, day);
    let of_carrier = holding.into_iter().filter(|card| card.carrier == carrier);
    let Some(service) = of_carrier.flat_map(|card| &card.services).find(|known| known.code == service) else {
        return Cover::NoCard;
    };
    let mut bands = service.insurance.iter().filter(|band| band.up_to.currency == value.currency);
    let holds = bands.clone().find(|band| value.amount <= band.up_to.amount);
    match (holds, bands.next_back()) {
        (Some(band), _) => Cover::Band(band.clone()),
        (None, Some(last)) => Cover::Above(last.clone()),
        (None, None) => Cover::NoBands,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::Decimal;

    use super::*;
    use crate::model::money::Currency;
    use crate::model::rates::{Destinations, Limits, Service, Shape};

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
        let band = |up_to, price| InsuranceBand { up_to: usd(up_to), price: usd(price), steps: None };
        assert_eq!(
            [of(0), of(100), of(101), of(200)],
            [band(100, 0), band(100, 0), band(200, 5), band(200, 5)].map(Cover::Band)
        );
        assert_eq!(of(201), Cover::Above(band(200, 5)));
    }

    #[test]
    fn without_a_card_or_a_band_it_says_so() {
        let day = date(2026, 11, 25);
        assert_eq!(of(&[card(&[])], "Northline Post", "small", day, usd(1)), Cover::NoBands);
        assert_eq!(of(&[card(&[])], "Northline Post", "large", day, usd(1)), Cover::NoCard);
        assert_eq!(of(&[card(&[])], "Northline Post", "small", date(2026, 7, 11), usd(1)), Cover::NoCard);
    }
}
