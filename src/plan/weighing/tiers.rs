//! Which weight tier to declare, before the scale and after it, and how sure that is.
//!
//! Handed an estimate or a reading and the tops of a service's tiers; promises the lowest tier that holds with the
//! confidence asked for, and after a reading the lowest that holds the reading: any fraction rounds up. `postage` asks
//! the same of whole rate cards by the upper end of the interval; the two agree, which is tested. Turned down:
//! declaring the mean and paying the difference where it is short, which carriers may charge for.

use rust_decimal::Decimal;

use super::normal;
use crate::model::mass::{Estimate, MassUnit, Weight};
use crate::model::parcel::Postage;
use crate::model::scale::{Confidence, Reading};

/// One tier against an estimate.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TierChance {
    /// Its top, inclusive.
    pub up_to: Weight,
    /// How probable it is that the parcel is no heavier than that.
    pub holds: f64,
    /// How probable it is that this is the tier: that the parcel is heavier than the tier below ends.
    pub falls_here: f64,
}

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

/// The probabilities of all tiers, from the lightest up. What is missing from 1 in `falls_here` is heavier than all.
#[must_use]
pub fn chances(mass: Estimate, tops: &[Weight]) -> Vec<TierChance> {
    let mut below = 0.0;
    let chance = |up_to: Weight| {
        let holds = holds(mass, up_to);
        let falls_here = holds - below;
        below = holds;
        TierChance { up_to, holds, falls_here }
    };
    rising(tops).into_iter().map(chance).collect()
}

fn rising(tops: &[Weight]) -> Vec<Weight> {
    let mut rising = tops.to_vec();
    rising.sort_by_key(|top| top.mass());
    rising
}

/// The weight to declare for a parcel that hasn't been weighed: the lowest top that holds with `confidence`. `None`
/// where none does.
#[must_use]
pub fn declared(mass: Estimate, tops: &[Weight], confidence: Confidence) -> Option<Weight> {
    rising(tops).into_iter().find(|top| holds(mass, *top) >= confidence.share())
}

/// The weight to declare for a parcel that was weighed: the lowest top that is no less than the reading, exactly.
#[must_use]
pub fn declared_by_reading(reading: Reading, tops: &[Weight]) -> Option<Weight> {
    rising(tops).into_iter().find(|top| reading.weight.mass() <= top.mass())
}

/// The tops that lie inside the interval, from the lightest up: where there is one, weigh before buying.
#[must_use]
pub fn edges_inside(mass: Estimate, tops: &[Weight], confidence: Confidence) -> Vec<Weight> {
    let (low, high) = super::interval(mass, confidence);
    let inside = |top: &Weight| (low..high).contains(&top.mass().as_f64());
    rising(tops).into_iter().filter(inside).collect()
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
    use proptest::prelude::*;
    use rust_decimal::dec;

    use super::*;
    use crate::model::mass::Mass;
    use crate::model::money::{Currency, Money};

    fn oz(value: Decimal) -> Weight {
        Weight::new(value, MassUnit::Ounce)
    }

    fn g(value: Decimal) -> Weight {
        Weight::new(value, MassUnit::Gram)
    }

    fn postage(declared: Weight, edge: Option<Weight>) -> Postage {
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
    fn a_tier_that_holds_too_seldom_is_not_declared() {
        let mass = Estimate { mean_g: 110.0, sd_g: 2.0 };
        let tops = [oz(dec!(8)), oz(dec!(4))];
        let chances = chances(mass, &tops);
        assert!((chances[0].holds - 0.9553).abs() < 1e-4 && (chances[1].falls_here - 0.0447).abs() < 1e-4);
        assert_eq!(declared(mass, &tops, Confidence::USUAL), Some(oz(dec!(8))));
        let easier = Confidence::try_from(dec!(0.95)).unwrap();
        assert_eq!(declared(mass, &tops, easier), Some(oz(dec!(4))));
        assert_eq!(declared(mass, &[oz(dec!(3))], easier), None);
        assert_eq!(edges_inside(mass, &tops, Confidence::USUAL), [oz(dec!(4))]);
        // Φ⁻¹(0.95) = 1.645: the interval ends at 113.29.
        assert_eq!(edges_inside(mass, &tops, easier), []);
        let certain = Estimate { mean_g: 113.0, sd_g: 0.0 };
        assert_eq!(declared(certain, &tops, Confidence::USUAL), Some(oz(dec!(4))));
    }

    #[test]
    fn after_a_reading_the_reading_counts_and_a_fraction_rounds_up() {
        let tops = [oz(dec!(4)), oz(dec!(8))];
        let by = |weight| declared_by_reading(Reading::of(weight), &tops);
        assert_eq!(by(oz(dec!(4))), Some(oz(dec!(4))));
        assert_eq!(by(oz(dec!(4.01))), Some(oz(dec!(8))));
        assert_eq!(by(g(dec!(113))), Some(oz(dec!(4))));
        assert_eq!(by(g(dec!(114))), Some(oz(dec!(8))));
        assert_eq!(by(g(dec!(300))), None);
    }

    #[test]
    fn the_lines_say_how_sure_it_is() {
        let light = Estimate { mean_g: 38.4, sd_g: 1.9 };
        assert_eq!(
            why(light, &postage(oz(dec!(4)), None), Confidence::USUAL),
            ["mass: 38 g ± 4 g; the tier to 4 oz (113.4 g) holds with over 99.9%"]
        );
        let near = Estimate { mean_g: 114.4, sd_g: 3.1 };
        assert_eq!(
            why(near, &postage(oz(dec!(8)), Some(oz(dec!(4)))), Confidence::USUAL),
            [
                "mass: 114 g ± 7 g; the tier to 8 oz (226.8 g) holds with over 99.9%",
                "weigh before buying: the edge at 4 oz (113.4 g) lies inside 108 to 121 g",
            ]
        );
        let edge = Estimate { mean_g: 95.0, sd_g: 2.0 };
        assert_eq!(
            why(edge, &postage(g(dec!(100)), None), Confidence::USUAL),
            ["mass: 95 g ± 4 g; the tier to 100 g holds with 99.3%"]
        );
    }

    proptest! {
        /// What `postage` does: the tier of the upper end of the interval.
        #[test]
        fn the_declared_tier_is_that_of_the_intervals_upper_end(
            mean in 5.0..400.0_f64, sd in 0.1..20.0_f64, share in 5_100_i64..9_990,
            edges in prop::collection::btree_set(1_u32..500, 1..6),
        ) {
            let confidence = Confidence::try_from(Decimal::new(share, 4)).unwrap();
            let tops: Vec<Weight> = edges.into_iter().map(|edge| g(Decimal::from(edge))).collect();
            let mass = Estimate { mean_g: mean, sd_g: sd };
            let (_, high) = super::super::interval(mass, confidence);
            // An edge within a rounding error of the end may go either way.
            prop_assume!(tops.iter().all(|top| (top.mass().as_f64() - high).abs() > 1e-6));
            let by_end = tops.iter().copied().find(|top| high <= top.mass().as_f64());
            prop_assert_eq!(declared(mass, &tops, confidence), by_end);
            let sum: f64 = chances(mass, &tops).iter().map(|chance| chance.falls_here).sum();
            prop_assert!(sum <= 1.0 + 1e-12);
        }

        /// The same masses, written in grams and in ounces.
        #[test]
        fn changing_units_changes_nothing(mean in 5.0..400.0_f64, sd in 0.1..20.0_f64, tenths in 1_i64..160) {
            let mass = Estimate { mean_g: mean, sd_g: sd };
            let in_oz = oz(Decimal::new(tenths, 1));
            let in_g = g(in_oz.mass().g());
            prop_assert!((holds(mass, in_oz) - holds(mass, in_g)).abs() < 1e-12);
            let reading = Reading::new(in_oz, Mass::from_g(dec!(1)));
            let same = Reading::new(in_g, Mass::from_g(dec!(1)));
            prop_assert_eq!(declared_by_reading(reading, &[in_g]), declared_by_reading(same, &[in_g]));
        }
    }
}
