//! The best that can be done: Bayes' rule by somebody who knows how the readings came about.
//!
//! Written apart from the program: dense, by a Cholesky factor, with the exact probability of a reading's step in place of a
//! density. It is told what the program has to find out: the catalogue's and the mailers' true spread, the true scatter,
//! which parcels lacked a piece, and that one piece, each as likely as any other, is missing from the one in question.

use std::collections::BTreeMap;

use dawnpack::model::catalogue::Code;
use dawnpack::model::scale::{Reading, Thing};
use dawnpack::plan::weighing::learning::Weighed;
use dawnpack::plan::weighing::masses::Sealed;
use nalgebra::{DMatrix, DVector};

use super::month::{Month, OFF, SCATTER_G, TARES_OFF};

pub(super) struct Classifier {
    places: BTreeMap<Thing, usize>,
    means: DVector<f64>,
    covariance: DMatrix<f64>,
}

impl Classifier {
    /// Knows what everything weighs.
    pub(super) fn all_knowing(month: &Month) -> Self {
        let count = month.true_g.len();
        Self {
            places: month.true_g.keys().cloned().zip(0..).collect(),
            means: DVector::from_iterator(count, month.true_g.values().copied()),
            covariance: DMatrix::zeros(count, count),
        }
    }

    /// Knows what `clean` parcels teach.
    pub(super) fn taught(month: &Month, clean: &[Weighed]) -> Self {
        let places: BTreeMap<Thing, usize> = month.known.keys().cloned().zip(0..).collect();
        let prior = DVector::from_iterator(places.len(), month.known.values().map(|mass| mass.mean_g));
        let spread = month.known.iter().map(|(thing, mass)| {
            mass.mean_g
                * match thing {
                    Thing::Article(_) => OFF,
                    Thing::Mailer(_) => TARES_OFF,
                }
        });
        let spread = DVector::from_iterator(places.len(), spread);
        let mut precision = DMatrix::from_diagonal(&spread.map(|sd| sd.powi(-2)));
        let mut pull = DVector::zeros(places.len());
        for one in clean {
            let counts = counts(&places, &one.sealed);
            let step = one.reading.step.as_f64();
            let variance = SCATTER_G.powi(2) + step * step / 12.0;
            let off = one.reading.g() - one.sealed.packing.mean_g - counts.dot(&prior);
            pull += &counts * (off / variance);
            precision += &counts * counts.transpose() / variance;
        }
        let factor = precision.cholesky().unwrap();
        Self { means: prior + factor.solve(&pull), covariance: factor.inverse(), places }
    }

    /// Squares of the relative errors of the articles' masses, summed.
    pub(super) fn squares(&self, month: &Month) -> f64 {
        let articles = self.places.iter().filter(|(thing, _)| matches!(thing, Thing::Article(_)));
        articles.map(|(thing, place)| (self.means[*place] / month.true_g[thing] - 1.0).powi(2)).sum()
    }

    /// The piece that is likeliest missing.
    pub(super) fn missing(&self, sealed: &Sealed, reading: Reading) -> Code {
        let all = counts(&self.places, sealed);
        let likelihood = |(code, copies): &(&Code, &u32)| {
            let mut left = all.clone();
            left[self.places[&Thing::Article((*code).clone())]] -= 1.0;
            let mean = left.dot(&self.means) + sealed.packing.mean_g;
            let sd = ((&self.covariance * &left).dot(&left) + SCATTER_G.powi(2)).sqrt();
            let half = reading.step.as_f64() / 2.0;
            f64::from(**copies) * step(reading.g() - half - mean, reading.g() + half - mean, sd)
        };
        let best = sealed.articles.iter().max_by(|a, b| likelihood(a).total_cmp(&likelihood(b)));
        best.unwrap().0.clone()
    }
}

fn counts(places: &BTreeMap<Thing, usize>, sealed: &Sealed) -> DVector<f64> {
    let mut counts = DVector::zeros(places.len());
    for (code, copies) in &sealed.articles {
        counts[places[&Thing::Article(code.clone())]] = f64::from(*copies);
    }
    counts[places[&Thing::Mailer(sealed.mailer.clone())]] = 1.0;
    counts
}

/// How much of a normal distribution lies between two points, by Simpson's rule over 32 strips: enough for a width of a
/// few standard deviations, and right far out, where a difference of two distribution functions is nothing.
fn step(low: f64, high: f64, sd: f64) -> f64 {
    let density = |x: f64| (-0.5 * (x / sd).powi(2)).exp() / (sd * std::f64::consts::TAU.sqrt());
    let width = (high - low) / 32.0;
    let weight = |strip: u32| match strip {
        0 | 32 => 1.0,
        odd if odd % 2 == 1 => 4.0,
        _ => 2.0,
    };
    (0..=32).map(|strip| weight(strip) * density(low + width * f64::from(strip))).sum::<f64>() * width / 3.0
}

/// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 26.1: P(1) − P(−1) = 0.68268 94921.
#[test]
fn a_step_is_what_a_published_table_says() {
    assert!((step(-1.0, 1.0, 1.0) - 0.682_689_492_1).abs() < 1e-6);
}
