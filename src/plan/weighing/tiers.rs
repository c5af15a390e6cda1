//! How sure a declared weight is, and the lines that say so.
//!
//! Handed an estimate and what was planned of postage; promises the probability that a tier holds, rounded down. The
//! tier itself is `postage`'s: the lowest that the upper end of the interval lies in, which is the lowest that holds as
//! often as is asked; a property test says so of the two. Turned down: declaring the mean and paying the difference
//! where it is short, which carriers may charge for; and naming the tier that a scale's reading asks for, as postage
//! is bought before the filled-in sheet comes back.

use rust_decimal::Decimal;

use super::normal;
use crate::model::mass::{Estimate, MassUnit, Weight};
use crate::model::parcel::Postage;
use crate::model::scale::Confidence;

/// How probable it is that a parcel is no heavier than `top`.
#[must_use]
pub fn holds(mass: Estimate, top: Weight) -> f64 {
    let room = top.mass().as_f64() - mass.mean_g;
    if mass.sd_g > 0.0 {
        normal::below(room / mass.sd_g)
    } else if room < 0.0 {
        0.0
    } else {
        1.0
    }
}

/// The lines that tell of a parcel's mass: `mass: 38 g ± 4 g; the tier to 4 oz (113.4 g) holds with 99.2%`, and where an
/// edge matters, `weigh before buying: the edge at 4 oz (113.4 g) lies inside 108 to 121 g`.
#[must_use]
pub fn why(mass: Estimate, postage: &Postage, confidence: Confidence) -> Vec<String> {
    let (low, high) = super::interval(mass, confidence);
    let mut why = vec![format!(
        "mass: {:.0} g ± {:.0} g; the tier to {} holds with {}",
        mass.mean_g,
        (high - mass.mean_g).ceil(),
        with_grams(postage.declared),
        percent(holds(mass, postage.declared))
    )];
    if let Some(edge) = postage.edge.filter(|_| postage.weigh_first) {
        let inside = format!("{:.0} to {:.0} g", low.floor(), high.ceil());
        why.push(format!("weigh before buying: the edge at {} lies inside {inside}", with_grams(edge)));
    }
    why
}

fn with_grams(weight: Weight) -> String {
    match weight.unit {
        MassUnit::Gram => weight.to_string(),
        MassUnit::Kilogram | MassUnit::Ounce | MassUnit::Pound => {
            format!("{weight} ({} g)", weight.mass().g().round_dp(1).normalize())
        }
    }
}

/// Rounded down, so that it never promises more than was reckoned, and never certainty.
fn percent(share: f64) -> String {
    use rust_decimal::prelude::FromPrimitive;
    let tenths = Decimal::from_f64((share * 1000.0).floor()).unwrap_or_default() / Decimal::TEN;
    if tenths >= Decimal::ONE_HUNDRED { "over 99.9%".to_owned() } else { format!("{tenths:.1}%") }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use jiff::civil::date;
    use proptest::prelude::*;
    use rust_decimal::dec;

    use super::*;
    use crate::model::address::Country;
    use crate::model::length::{Length, Size};
    use crate::model::money::{Currency, Money};
    use crate::model::rates::{Destinations, Limits, Price, RateCard, Service, Shape, Tier};
    use crate::model::rules::PostageRules;
    use crate::plan::postage;

    fn oz(value: Decimal) -> Weight {
        Weight::new(value, MassUnit::Ounce)
    }

    fn g(value: Decimal) -> Weight {
        Weight::new(value, MassUnit::Gram)
    }

    /// The weight that `postage` declares by a card of one service with these tiers.
    fn declared(mass: Estimate, declare_with: Confidence, tops: &[Weight]) -> Option<Weight> {
        let us: Country = "US".parse().unwrap();
        let price = Price::Flat(Money::zero(Currency::USD));
        let service = Service {
            code: "a".into(),
            title: "A".into(),
            shape: Shape::Parcel,
            from: us,
            to: Destinations { named: [us].into(), elsewhere: false },
            tracked: true,
            days: None,
            tiers: tops.iter().map(|top| Tier { up_to: *top, up_to_volume: None, price: price.clone() }).collect(),
            zones: BTreeMap::new(),
            limits: Limits::default(),
            refuses: BTreeSet::new(),
            surcharges: Vec::new(),
            extras: Vec::new(),
            insurance: Vec::new(),
            declaration: None,
        };
        let day = date(2026, 11, 25);
        let cards = [RateCard {
            file: "a.toml".into(),
            carrier: "Northline Post".into(),
            currency: Currency::USD,
            valid_from: day,
            services: vec![service],
        }];
        let mm = |value: i64| Length::from_mm(Decimal::from(value));
        let ask = postage::Ask {
            mass,
            size: Size::laid(mm(180), mm(110), mm(22)),
            pins: true,
            contains: &BTreeSet::new(),
            from: us,
            to: us,
            postal_code: "97099",
            value: Money::zero(Currency::USD),
            day,
            declare_with,
            rules: &PostageRules::NONE,
        };
        postage::planned(&ask, &cards).ok().map(|postage| postage.declared)
    }

    fn planned(declared: Weight, edge: Option<Weight>) -> Postage {
        Postage {
            carrier: String::new(),
            service: String::new(),
            service_title: String::new(),
            declared,
            price: Money::zero(Currency::USD),
            zone: None,
            weigh_first: edge.is_some(),
            edge,
            next_best: None,
            change_ahead: None,
            base: None,
            bought: Vec::new(),
            why: Vec::new(),
            customs_form: None,
        }
    }

    /// By hand: 110 ± 2 g against 4 oz (113.398 g): 1.699 standard deviations, 0.9553 of a normal distribution.
    #[test]
    fn a_tier_holds_as_often_as_the_normal_distribution_says() {
        let mass = Estimate { mean_g: 110.0, sd_g: 2.0 };
        assert!((holds(mass, oz(dec!(4))) - 0.9553).abs() < 1e-4);
        let certain = Estimate { mean_g: 113.0, sd_g: 0.0 };
        assert_eq!(
            [holds(certain, oz(dec!(4))), holds(certain, oz(dec!(3)))].map(f64::to_bits),
            [1.0, 0.0].map(f64::to_bits)
        );
    }

    #[test]
    fn the_lines_say_how_sure_it_is() {
        let light = Estimate { mean_g: 38.4, sd_g: 1.9 };
        assert_eq!(
            why(light, &planned(oz(dec!(4)), None), Confidence::USUAL),
            ["mass: 38 g ± 4 g; the tier to 4 oz (113.4 g) holds with over 99.9%"]
        );
        let near = Estimate { mean_g: 114.4, sd_g: 3.1 };
        assert_eq!(
            why(near, &planned(oz(dec!(8)), Some(oz(dec!(4)))), Confidence::USUAL),
            [
                "mass: 114 g ± 7 g; the tier to 8 oz (226.8 g) holds with over 99.9%",
                "weigh before buying: the edge at 4 oz (113.4 g) lies inside 108 to 121 g",
            ]
        );
        let edge = Estimate { mean_g: 95.0, sd_g: 2.0 };
        assert_eq!(
            why(edge, &planned(g(dec!(100)), None), Confidence::USUAL),
            ["mass: 95 g ± 4 g; the tier to 100 g holds with 99.3%"]
        );
    }

    proptest! {
        /// The tier that `postage` declares holds as often as is asked, and the one below it doesn't.
        #[test]
        fn the_declared_tier_is_the_lowest_that_holds(
            mean_g in 5.0..400.0_f64, sd_g in 0.1..20.0_f64, share in 5_100_i64..9_990,
            edges in prop::collection::btree_set(1_u32..500, 1..6),
        ) {
            let declare_with = Confidence::try_from(Decimal::new(share, 4)).unwrap();
            let tops: Vec<Weight> = edges.into_iter().map(|edge| g(Decimal::from(edge))).collect();
            let mass = Estimate { mean_g, sd_g };
            // An edge within a rounding error of the share may go either way.
            prop_assume!(tops.iter().all(|top| (holds(mass, *top) - declare_with.share()).abs() > 1e-9));
            let lowest = tops.iter().copied().find(|top| holds(mass, *top) >= declare_with.share());
            prop_assert_eq!(declared(mass, declare_with, &tops), lowest);
        }

        /// The same masses, written in grams and in ounces.
        #[test]
        fn changing_units_changes_nothing(mean in 5.0..400.0_f64, sd in 0.1..20.0_f64, tenths in 1_i64..160) {
            let mass = Estimate { mean_g: mean, sd_g: sd };
            let in_oz = oz(Decimal::new(tenths, 1));
            let in_g = g(in_oz.mass().g());
            prop_assert!((holds(mass, in_oz) - holds(mass, in_g)).abs() < 1e-12);
        }
    }
}
