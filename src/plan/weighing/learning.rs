//! What sealed parcels teach of the masses of articles and mailers.
//!
//! A parcel's reading less its packing is the sum of what lies in it: a linear model, with the seller's files as its prior
//! and what differs from parcel to parcel as its noise. Handed the files' masses and the parcels that were weighed;
//! promises the posterior of every mass, the same for the same parcels in any order but for the last digits, and a list of
//! those whose figure the parcels contradict.
//!
//! ```text
//! reading − packing = Σ copies · mass + e      mass ~ N(known, sd² / λ)      e ~ N(0, (packing sd² + step² / 12) / α)
//! ```
//!
//! `λ` says how far the files can be trusted, `α` how evenly the seller packs; both come from the parcels themselves (see
//! `evidence.rs`), so a catalogue that is 12% off where it claims 5% doesn't drown what is weighed. A parcel that isn't as
//! planned must not teach: each is judged by what all the others say it should weigh, with the same rule as the scale
//! check, and put aside where a slip is likelier; then all is fitted again. Turned down: a running mean for each article,
//! which needs parcels with one pin in them.

use std::collections::{BTreeMap, BTreeSet};

use nalgebra::{DMatrix, DVector};

use super::evidence::{self, Posterior, Row};
use super::masses::{Counts, Known, Masses, Sealed};
use super::scale;
use crate::model::mass::Estimate;
use crate::model::parcel::ParcelRef;
use crate::model::scale::{LearntMass, Reading, Thing};

/// Fits at most; two or three are usual.
const MOST_ROUNDS: u32 = 10;
/// At most one parcel in so many is put aside at a time, the least likely first: where more seem wrong, the catalogue is.
const ONE_ASIDE_IN: usize = 5;

// A change of the catalogue is proposed where all three hold. Common practice, no source.

/// Standard deviations of what was learnt that the known figure is off by, at least.
const PROPOSE_SIGMAS: f64 = 2.0;
/// Grams that it is off by, at least: less than a third of a scale's step changes no postage and hides no pin.
const PROPOSE_G: f64 = 0.3;
/// Parcels that taught it, at least.
const PROPOSE_READINGS: u32 = 5;

/// A sealed parcel with its reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Weighed {
    /// What it is made of.
    pub sealed: Sealed,
    /// What the scale showed.
    pub reading: Reading,
}

/// What the parcels taught.
#[derive(Clone, PartialEq, Debug)]
pub struct Learnt {
    /// The belief to check the next parcels by.
    pub masses: Masses,
    /// Everything known, in order, with how many parcels taught it.
    pub things: Vec<LearntMass>,
    /// Parcels that taught.
    pub parcels: u32,
    /// Parcels put aside, since a slip is likelier than that they are as planned.
    pub put_aside: Vec<ParcelRef>,
    /// Parcels that couldn't teach, with the thing in them whose mass nobody knows.
    pub unknown: Vec<(ParcelRef, Thing)>,
    /// Standard deviations of packing and rounding, as a multiple of what was planned: `1/√α`.
    pub scatter: f64,
    /// Standard deviations of the files' masses, as a multiple of what they claim: `1/√λ`.
    pub distrust: f64,
}

impl Learnt {
    /// Masses to change in the seller's files, with the evidence: what was learnt is more than two standard deviations
    /// and 0.3 g away from what is written there, by five parcels or more.
    pub fn proposals(&self) -> impl Iterator<Item = &LearntMass> {
        self.things.iter().filter(|thing| {
            let off = (thing.learnt.mean_g - thing.known.mean_g).abs();
            off > PROPOSE_SIGMAS * thing.learnt.sd_g
                && off > PROPOSE_G
                && thing.readings >= PROPOSE_READINGS
                && thing.learnt.mean_g > 0.0
        })
    }
}

/// A parcel as an equation.
struct Equation<'a> {
    sealed: &'a Sealed,
    counts: Counts,
    row: Row,
    /// Planned standard deviation of its noise, g.
    noise: f64,
}

/// Learns from all parcels that were ever weighed, in any order.
#[must_use]
pub fn learn(known: &Known, weighed: &[Weighed]) -> Learnt {
    let prior = Masses::new(known);
    let mut unknown = Vec::new();
    let mut equations = Vec::new();
    for one in weighed {
        match prior.counts(&one.sealed) {
            Ok(counts) => equations.push(equation(one, counts, &prior)),
            Err(thing) => unknown.push((one.sealed.parcel.clone(), thing)),
        }
    }
    let mut aside = BTreeSet::new();
    let mut fitted = fit(&equations, &aside, &prior);
    for _ in 1..MOST_ROUNDS {
        let Some(fit_now) = &fitted else { break };
        let next = not_as_planned(&equations, &aside, fit_now);
        if next == aside {
            break;
        }
        aside = next;
        fitted = fit(&equations, &aside, &prior);
    }
    let taught = || equations.iter().enumerate().filter(|(place, _)| !aside.contains(place)).map(|(_, one)| one);
    let mut readings: BTreeMap<usize, u32> = BTreeMap::new();
    for (place, _) in taught().flat_map(|one| &one.counts) {
        *readings.entry(*place).or_default() += 1;
    }
    let (masses, alpha, lambda) = match fitted {
        Some(fit) => (fit.masses, fit.alpha, fit.lambda),
        None => (prior, 1.0, 1.0),
    };
    let things = known.iter().zip(0..).map(|((thing, mass), place)| LearntMass {
        thing: thing.clone(),
        known: *mass,
        learnt: masses.at(place),
        readings: readings.get(&place).copied().unwrap_or_default(),
    });
    Learnt {
        things: things.collect(),
        parcels: u32::try_from(taught().count()).unwrap_or(u32::MAX),
        put_aside: aside.iter().filter_map(|place| Some(equations.get(*place)?.sealed.parcel.clone())).collect(),
        unknown,
        scatter: alpha.sqrt().recip(),
        distrust: lambda.sqrt().recip(),
        masses,
    }
}

/// In units of the prior's spreads and of the planned noise, as `evidence` wants it.
fn equation<'a>(weighed: &'a Weighed, counts: Counts, prior: &Masses) -> Equation<'a> {
    let sealed = &weighed.sealed;
    let variance = sealed.packing.sd_g.powi(2) + weighed.reading.rounding();
    let noise = variance.max(super::LEAST_VARIANCE).sqrt();
    let off = weighed.reading.g() - sealed.packing.mean_g - prior.mean_of(&counts);
    let at = counts.iter().map(|(place, count)| (*place, count * prior.at(*place).sd_g / noise)).collect();
    Equation { sealed, counts, row: Row { at, y: off / noise }, noise }
}

struct Fit {
    masses: Masses,
    /// Column of each thing that some parcel holds.
    columns: BTreeMap<usize, usize>,
    posterior: Posterior,
    alpha: f64,
    lambda: f64,
}

/// `None` where nothing teaches, or no numbers fit.
fn fit(equations: &[Equation<'_>], aside: &BTreeSet<usize>, prior: &Masses) -> Option<Fit> {
    let mut columns: BTreeMap<usize, usize> = BTreeMap::new();
    for (place, _) in equations.iter().flat_map(|one| &one.counts) {
        let next = columns.len();
        columns.entry(*place).or_insert(next);
    }
    let kept = equations.iter().enumerate().filter(|(place, _)| !aside.contains(place));
    let rows: Vec<Row> = kept.map(|(_, one)| in_columns(&one.row, &columns)).collect();
    if rows.is_empty() {
        return None;
    }
    let posterior = evidence::fit(&rows, columns.len())?;
    let (alpha, lambda) = (posterior.alpha, posterior.lambda);
    let spreads = DVector::from_iterator(prior.means.len(), (0..prior.means.len()).map(|place| prior.at(place).sd_g));
    let mut means = prior.means.clone();
    // What no parcel holds keeps its mean; how far the files can be trusted is known better for it too.
    let mut covariance = DMatrix::from_diagonal(&spreads.map(|sd| sd * sd / lambda));
    for (place, column) in &columns {
        let sd = spreads.get(*place)?;
        *means.get_mut(*place)? += sd * posterior.mean.get(*column)?;
        for (other, across) in &columns {
            let entry = sd * spreads.get(*other)? * posterior.covariance.get((*column, *across))?;
            *covariance.get_mut((*place, *other))? = entry;
        }
    }
    let masses = Masses { places: prior.places.clone(), means, covariance, scatter: alpha.recip() };
    Some(Fit { masses, columns, posterior, alpha, lambda })
}

fn in_columns(row: &Row, columns: &BTreeMap<usize, usize>) -> Row {
    let at = row.at.iter().filter_map(|(place, x)| Some((*columns.get(place)?, *x))).collect();
    Row { at, y: row.y }
}

/// The parcels that, by what all others say, are likelier a slip than as planned.
fn not_as_planned(equations: &[Equation<'_>], aside: &BTreeSet<usize>, fit: &Fit) -> BTreeSet<usize> {
    let mut doubtful: Vec<(f64, usize)> = equations
        .iter()
        .enumerate()
        .map(|(place, one)| {
            let Estimate { mean_g, sd_g } = without_itself(one, !aside.contains(&place), fit);
            let articles = one.sealed.articles.len();
            let pieces: Vec<(f64, f64)> = one
                .counts
                .iter()
                .take(articles)
                .map(|(place, copies)| (*copies, fit.masses.at(*place).mean_g))
                .collect();
            (scale::as_planned(mean_g, sd_g * sd_g, &pieces), place)
        })
        .filter(|(as_planned, _)| *as_planned < 0.5)
        .collect();
    doubtful.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    doubtful.truncate(equations.len() / ONE_ASIDE_IN);
    doubtful.into_iter().map(|(_, place)| place).collect()
}

/// How far a parcel's reading is from what all others say of it, and how far it may be, g. For one that taught, by the
/// leave-one-out identity of linear models: the residual over `1 − h`, with `h` the parcel's own pull on the fit.
fn without_itself(one: &Equation<'_>, taught: bool, fit: &Fit) -> Estimate {
    let row = in_columns(&one.row, &fit.columns);
    let fitted: f64 = row.at.iter().filter_map(|(column, x)| Some(x * fit.posterior.mean.get(*column)?)).sum();
    let spread = |(column, x): &(usize, f64)| -> f64 {
        let across = row.at.iter().filter_map(|(other, z)| Some(z * fit.posterior.covariance.get((*column, *other))?));
        x * across.sum::<f64>()
    };
    let pull = fit.alpha * row.at.iter().map(spread).sum::<f64>();
    let residual = row.y - fitted;
    let (off, variance) = if taught { (residual / (1.0 - pull), 1.0 / (1.0 - pull)) } else { (residual, 1.0 + pull) };
    Estimate { mean_g: off * one.noise, sd_g: (variance / fit.alpha).sqrt() * one.noise }
}
