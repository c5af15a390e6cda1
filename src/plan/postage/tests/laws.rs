//! Laws that hold of any rate card.

use jiff::civil::date;
use proptest::prelude::*;
use rust_decimal::dec;

use super::*;
use crate::model::length::{Length, Volume};
use crate::model::rates::{InsuranceBand, Step, Surcharge, When};

/// Cards of some services whose prices don't fall from tier to tier, with limits and surcharges by mass.
fn services() -> impl Strategy<Value = Vec<Service>> {
    let tiers = prop::collection::vec((1_i64..400, 0_i64..300), 1..6);
    let drawn = (tiers, prop::option::of(1_i64..2000), prop::option::of((1_i64..1500, 0_i64..500)), any::<bool>());
    prop::collection::vec(drawn, 1..5).prop_map(|services| {
        let one = |(place, (steps, heaviest, charged, tracked)): (usize, Tiers)| {
            let (mut edge, mut price) = (Decimal::ZERO, Decimal::ZERO);
            let mut tiers = Vec::new();
            for (more_mass, more_price) in steps {
                edge += Decimal::new(more_mass, 2);
                price += Decimal::new(more_price, 2);
                tiers.push((edge, price));
            }
            let mut service = super::service(&format!("s{place}"), Shape::Parcel, &tiers);
            service.tracked = tracked;
            service.limits.max_mass = heaviest.map(|hundredths| ounces(hundredths).mass());
            service.surcharges.extend(charged.map(|(over, price)| Surcharge {
                code: "heavy".into(),
                price: usd(Decimal::new(price, 2)),
                when: When { over_mass: Some(ounces(over).mass()), ..When::default() },
            }));
            service
        };
        services.into_iter().enumerate().map(one).collect()
    })
}

type Tiers = (Vec<(i64, i64)>, Option<i64>, Option<(i64, i64)>, bool);

fn ounces(hundredths: i64) -> Weight {
    Weight::new(Decimal::new(hundredths, 2), MassUnit::Ounce)
}

fn cheapest(mass: Mass, cards: &[RateCard]) -> Option<Decimal> {
    let none = BTreeSet::new();
    let quote = quote_exact(mass, &ask(&none), cards);
    quote.chosen.map(|index| quote.offers[index].price.unwrap().amount)
}

/// The same service sold by another unit: every edge of it is the same mass to the last digit.
fn sold_by(unit: MassUnit, service: &Service) -> Service {
    // A pound is 16 oz, and grams and kilograms are an ounce times their number, so each of these is finite.
    let edge = |edge: Weight| match unit {
        MassUnit::Ounce => edge,
        MassUnit::Pound => Weight::new(edge.value / dec!(16), unit),
        MassUnit::Gram => Weight::new(edge.mass().g(), unit),
        MassUnit::Kilogram => Weight::new(edge.mass().g() / dec!(1000), unit),
    };
    let tiers = service.tiers.iter().map(|tier| Tier { up_to: edge(tier.up_to), ..tier.clone() });
    Service { tiers: tiers.collect(), ..service.clone() }
}

proptest! {
    #[test]
    fn more_mass_never_costs_less(services in services(), a in 1_i64..2500, b in 1_i64..2500) {
        let cards = [card(date(2026, 1, 1), services)];
        let price = |hundredths| cheapest(ounces(hundredths).mass(), &cards).unwrap_or(Decimal::MAX);
        prop_assert!(price(a.min(b)) <= price(a.max(b)));
    }

    /// At its edge a mass pays that tier, and a hair above it the next, or nothing takes it.
    #[test]
    fn a_tier_edge_belongs_to_the_lower_tier(services in services(), pick in any::<prop::sample::Index>()) {
        let mut only = services[0].clone();
        (only.limits, only.surcharges) = (Limits::default(), Vec::new());
        let place = pick.index(only.tiers.len());
        let price = |tier: &Tier| match &tier.price {
            Price::Flat(price) => price.amount,
            Price::ByZone(_) => unreachable!("made flat"),
        };
        let (edge, own) = (only.tiers[place].up_to.mass(), price(&only.tiers[place]));
        let next = only.tiers.get(place + 1).map(price);
        let cards = [card(date(2026, 1, 1), vec![only])];
        prop_assert_eq!(cheapest(edge, &cards), Some(own));
        prop_assert_eq!(cheapest(Mass::from_g(edge.g() + dec!(0.000001)), &cards), next);
        prop_assert_eq!(cheapest(Mass::from_g(edge.g() - dec!(0.000001)), &cards), Some(own));
    }

    #[test]
    fn changing_units_changes_nothing(services in services(), hundredths in 1_i64..2500) {
        let mass = ounces(hundredths).mass();
        let none = BTreeSet::new();
        let bought = |unit: MassUnit| {
            let services = services.iter().map(|service| sold_by(unit, service)).collect();
            let quote = quote_exact(mass, &ask(&none), &[card(date(2026, 1, 1), services)]);
            let offer = quote.chosen.map(|index| quote.offers[index].clone());
            offer.map(|offer| (offer.service, offer.price, offer.tier.map(Weight::mass)))
        };
        let by_ounce = bought(MassUnit::Ounce);
        for unit in [MassUnit::Pound, MassUnit::Gram, MassUnit::Kilogram] {
            prop_assert_eq!(bought(unit), by_ounce.clone(), "{}", unit);
        }
    }

    /// Whatever is on top, the price is the tier's own and all that is bought, to the last digit.
    #[test]
    fn a_price_is_the_sum_of_its_parts(services in services(), hundredths in 1_i64..2500) {
        let none = BTreeSet::new();
        let quote = quote_exact(ounces(hundredths).mass(), &ask(&none), &[card(date(2026, 1, 1), services)]);
        for offer in quote.offers {
            let parts = offer.base.map(|base| base.amount + offer.bought.iter().map(|b| b.price.amount).sum::<Decimal>());
            prop_assert_eq!(parts, offer.price.map(|price| price.amount));
        }
    }
}

fn extreme_amount() -> impl Strategy<Value = Money> {
    let ends = [dec!(0), dec!(0.00000001), dec!(5.25), dec!(999999999999.99999999)];
    prop::sample::select(ends.to_vec()).prop_map(usd)
}

fn extreme_weight() -> impl Strategy<Value = Weight> {
    let units = vec![MassUnit::Gram, MassUnit::Kilogram, MassUnit::Ounce, MassUnit::Pound];
    let ends = vec![dec!(0.000001), dec!(4), dec!(9999999.999999)];
    (prop::sample::select(ends), prop::sample::select(units)).prop_map(|(value, unit)| Weight::new(value, unit))
}

proptest! {
    /// What is within [`Length::BOUND`], [`Weight::BOUND`] and [`Money::BOUND`] is priced or refused.
    #[test]
    fn nothing_within_the_bounds_of_the_walls_is_too_much(
        tiers in prop::collection::vec((extreme_weight(), extreme_amount()), 1..4),
        most in extreme_weight(),
        side in prop::sample::select(vec![dec!(0.000001), dec!(22), dec!(99999.999999)]),
        ratio in prop::sample::select(vec![dec!(0.000001), dec!(999999.999999)]),
        bands in prop::collection::vec((extreme_amount(), extreme_amount(), extreme_amount(), extreme_amount()), 0..3),
        value in extreme_amount(),
        mean_g in prop::sample::select(vec![0.0, 1e-6, 38.4, 4.6e9]),
    ) {
        let mut service = super::service("a", Shape::Parcel, &[]);
        let tier = |(up_to, price)| Tier { up_to, up_to_volume: Some(Volume::from_cubic_feet(ratio)), price: Price::Flat(price) };
        service.tiers = tiers.into_iter().map(tier).collect();
        service.limits.max_mass = Some(most.mass());
        let when = When { ratio_over: Some(ratio), over_volume: Some(Volume::from_litres(ratio)), ..When::default() };
        service.surcharges = vec![Surcharge { code: "s".into(), price: value, when }];
        let band = |(up_to, price, each, step): (Money, Money, Money, Money)| InsuranceBand {
            up_to,
            price,
            steps: (each.amount > Decimal::ZERO).then_some(Step { each, price: step }),
        };
        service.insurance = bands.into_iter().map(band).collect();
        let none = BTreeSet::new();
        let rules = PostageRules { insure_above: Some(usd(dec!(0))), ..PostageRules::NONE };
        let side = Length::from_mm(side);
        let ask = Ask {
            mass: Estimate { mean_g, sd_g: mean_g / 10.0 },
            size: Size::laid(side, side, side),
            value,
            rules: &rules,
            ..super::ask(&none)
        };
        let cards = [card(date(2026, 1, 1), vec![service])];
        let quote = quote(&ask, &cards);
        prop_assert_eq!(quote.offers.len(), 1);
        let _ = planned(&ask, &cards);
    }
}
