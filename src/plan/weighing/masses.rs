//! What is believed of the masses of articles and mailers, and what of a sealed parcel is made of them.
//!
//! A belief is a mean for each thing and the covariance of them all. From the seller's files the things are independent;
//! once parcels have taught, those that were weighed together no longer are: their sum is known better than either.
//! Turned down: a spread for each thing alone, which makes a parcel of well-known sum look uncertain.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use crate::model::catalogue::{Catalogue, Code};
use crate::model::mailer::Mailer;
use crate::model::mass::Estimate;
use crate::model::parcel::{Paper, Parcel, ParcelRef};
use crate::model::rules::PackingRules;
use crate::model::scale::Thing;

/// What the seller's files say, by thing. An article without a mass is not among them.
pub type Known = BTreeMap<Thing, Estimate>;

/// Masses as `catalogue.csv` and `mailers.csv` have them, with the usual spread where they give none.
#[must_use]
pub fn known(catalogue: &Catalogue, mailers: &[Mailer]) -> Known {
    let articles = catalogue.iter().filter_map(|article| {
        let mean_g = article.mass?.as_f64();
        let sd_g = super::article_sd(mean_g, article.mass_sd.unwrap_or_default().as_f64());
        (mean_g > 0.0).then(|| (Thing::Article(article.code.clone()), Estimate { mean_g, sd_g }))
    });
    let mailers = mailers.iter().filter(|mailer| mailer.tare.as_f64() > 0.0).map(|mailer| {
        let mean_g = mailer.tare.as_f64();
        (Thing::Mailer(mailer.code.clone()), Estimate { mean_g, sd_g: super::tare_sd(mean_g) })
    });
    articles.chain(mailers).collect()
}

/// A sealed parcel by what its mass is made of.
#[derive(Clone, PartialEq, Debug)]
pub struct Sealed {
    /// Which parcel.
    pub parcel: ParcelRef,
    /// What its manifest said it should weigh.
    pub planned: Estimate,
    /// Copies of each article.
    pub articles: BTreeMap<Code, u32>,
    /// The mailer's code.
    pub mailer: String,
    /// Wrap, paper, tape and label; the spread is what differs from parcel to parcel.
    pub packing: Estimate,
}

impl Sealed {
    /// Of a parcel as it was planned.
    #[must_use]
    pub fn of(parcel: &Parcel, rules: &PackingRules) -> Self {
        let mut articles: BTreeMap<Code, u32> = BTreeMap::new();
        for item in parcel.items.iter().filter(|item| item.quantity > 0) {
            let copies = articles.entry(item.code.clone()).or_default();
            *copies = copies.saturating_add(item.quantity);
        }
        Self {
            parcel: parcel.r#ref.clone(),
            planned: parcel.mass,
            articles,
            mailer: parcel.mailer.code.clone(),
            packing: super::packing(&parcel.rolls, sheets(parcel), parcel.mailer.reused, rules),
        }
    }

    /// How many of each thing, each with its count.
    pub(super) fn things(&self) -> impl Iterator<Item = (Thing, u32)> {
        let articles = self.articles.iter().map(|(code, copies)| (Thing::Article(code.clone()), *copies));
        articles.chain([(Thing::Mailer(self.mailer.clone()), 1)])
    }
}

/// Sheets that were printed for this parcel: one for each order and trade in it.
fn sheets(parcel: &Parcel) -> u32 {
    let gifts = parcel.orders.iter().filter(|order| order.gift).count();
    let sheets: usize = parcel
        .papers
        .iter()
        .map(|paper| match paper {
            Paper::Invoice => parcel.invoices.len(),
            Paper::Gift => gifts,
            Paper::Note => parcel.trades.len(),
            Paper::Rest => parcel.rests.len(),
        })
        .sum();
    u32::try_from(sheets).unwrap_or(u32::MAX)
}

/// How many of each thing, by its place in [`Masses`].
pub(super) type Counts = Vec<(usize, f64)>;

/// The belief.
#[derive(Clone, PartialEq, Debug)]
pub struct Masses {
    pub(super) places: BTreeMap<Thing, usize>,
    pub(super) means: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// What the planned variance of packing and rounding is multiplied by: 1 until parcels have taught.
    pub(super) scatter: f64,
}

impl Masses {
    /// By the seller's files alone.
    #[must_use]
    pub fn new(known: &Known) -> Self {
        let variances = DVector::from_iterator(known.len(), known.values().map(|mass| mass.sd_g * mass.sd_g));
        Self {
            places: known.keys().cloned().zip(0..).collect(),
            means: DVector::from_iterator(known.len(), known.values().map(|mass| mass.mean_g)),
            covariance: DMatrix::from_diagonal(&variances),
            scatter: 1.0,
        }
    }

    /// Of one thing; `None` where nothing is known of it.
    #[must_use]
    pub fn of(&self, thing: &Thing) -> Option<Estimate> {
        self.places.get(thing).map(|place| self.at(*place))
    }

    /// What a sealed parcel should weigh, without the scale's rounding.
    ///
    /// # Errors
    /// The first thing in it of which no mass is known.
    pub fn expected(&self, sealed: &Sealed) -> Result<Estimate, Thing> {
        let counts = self.counts(sealed)?;
        let variance = self.covariance_of(&counts, &counts) + self.scatter * sealed.packing.sd_g.powi(2);
        Ok(Estimate { mean_g: self.mean_of(&counts) + sealed.packing.mean_g, sd_g: variance.sqrt() })
    }

    pub(super) fn at(&self, place: usize) -> Estimate {
        let at = self.means.get(place).copied().unwrap_or_default();
        let variance = self.covariance.get((place, place)).copied().unwrap_or_default();
        Estimate { mean_g: at, sd_g: variance.max(0.0).sqrt() }
    }

    pub(super) fn counts(&self, sealed: &Sealed) -> Result<Counts, Thing> {
        let place = |(thing, copies)| match self.places.get(&thing) {
            Some(place) => Ok((*place, f64::from(copies))),
            None => Err(thing),
        };
        sealed.things().map(place).collect()
    }

    pub(super) fn mean_of(&self, counts: &[(usize, f64)]) -> f64 {
        counts.iter().filter_map(|(place, count)| Some(count * self.means.get(*place)?)).sum()
    }

    /// Of the masses of two lots of things; of one lot with itself, its variance.
    pub(super) fn covariance_of(&self, one: &[(usize, f64)], other: &[(usize, f64)]) -> f64 {
        let of = |(a, n): &(usize, f64)| -> f64 {
            other.iter().filter_map(|(b, m)| Some(n * m * self.covariance.get((*a, *b))?)).sum()
        };
        one.iter().map(of).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn article(code: &str) -> Thing {
        Thing::Article(Code(code.to_owned()))
    }

    /// By hand: two pins of 8 ± 0.3 g and one of 5 ± 0.2 g in a mailer of 7.5 ± 0.4 g with 10 ± 0.6 g of packing:
    /// 38.5 g; 0.6² + 0.2² + 0.4² + 0.6² = 0.92.
    #[test]
    fn a_parcel_is_the_sum_of_what_is_in_it() {
        let of = |mean_g, sd_g| Estimate { mean_g, sd_g };
        let known: Known =
            [(article("A"), of(8.0, 0.3)), (article("B"), of(5.0, 0.2)), (Thing::Mailer("M".into()), of(7.5, 0.4))]
                .into();
        let sealed = Sealed {
            parcel: ParcelRef("1125-01".into()),
            planned: of(0.0, 0.0),
            articles: [(Code("A".into()), 2), (Code("B".into()), 1)].into(),
            mailer: "M".into(),
            packing: of(10.0, 0.6),
        };
        let mut masses = Masses::new(&known);
        let found = masses.expected(&sealed).unwrap();
        assert!((found.mean_g - 38.5).abs() < 1e-9 && (found.sd_g.powi(2) - 0.92).abs() < 1e-9, "{found:?}");
        // What is known of A and B together: one is as much too heavy as the other is too light.
        masses.covariance[(0, 1)] = -0.05;
        masses.covariance[(1, 0)] = -0.05;
        assert!((masses.expected(&sealed).unwrap().sd_g.powi(2) - 0.72).abs() < 1e-9);
        let other = Sealed { mailer: "N".into(), ..sealed };
        assert_eq!(masses.expected(&other), Err(Thing::Mailer("N".into())));
        assert_eq!(masses.of(&article("Z")), None);
    }
}
