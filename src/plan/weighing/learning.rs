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
    /// Parcels put aside, since a slip is likelier than that they are as planned. This and the two below no paper prints:
    /// the laws of learning are checked by them, and a debugger asks for them first.
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

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::model::catalogue::Code;
    use crate::model::mass::{Mass, MassUnit, Weight};

    fn article(code: &str) -> Thing {
        Thing::Article(Code(code.to_owned()))
    }

    fn known() -> Known {
        let of = |mean_g, sd_g| Estimate { mean_g, sd_g };
        [
            (article("A"), of(6.0, 0.3)),
            (article("B"), of(9.0, 0.4)),
            (article("C"), of(12.0, 0.6)),
            (Thing::Mailer("M".to_owned()), of(7.5, 0.4)),
        ]
        .into()
    }

    /// A parcel of these pieces in mailer M, with 10 ± 0.6 g of packing.
    fn weighed(number: usize, pieces: &str, grams: i64) -> Weighed {
        let mut articles = BTreeMap::new();
        for piece in pieces.chars() {
            *articles.entry(Code(piece.to_string())).or_default() += 1;
        }
        let sealed = Sealed {
            parcel: ParcelRef(format!("{number:03}")),
            planned: Estimate { mean_g: 0.0, sd_g: 0.0 },
            articles,
            mailer: "M".to_owned(),
            packing: Estimate { mean_g: 10.0, sd_g: 0.6 },
        };
        let weight = Weight::new(Decimal::from(grams), MassUnit::Gram);
        Weighed { sealed, reading: Reading::new(weight, Mass::from_g(Decimal::ONE)) }
    }

    /// B weighs 11 g and not 9, the rest is right: by hand, less 17.5 g for mailer and packing.
    fn month() -> Vec<Weighed> {
        let parcels = [("A", 23), ("AB", 34), ("B", 29), ("BC", 41), ("AC", 36), ("BB", 39), ("AAB", 41), ("C", 29)];
        (0..32).zip(parcels.iter().cycle()).map(|(number, (pieces, grams))| weighed(number, pieces, *grams)).collect()
    }

    #[test]
    fn a_wrong_mass_is_learnt_and_proposed_with_its_evidence() {
        let learnt = learn(&known(), &month());
        assert_eq!((learnt.parcels, learnt.put_aside.len(), learnt.unknown.len()), (32, 0, 0));
        let proposals: Vec<&LearntMass> = learnt.proposals().collect();
        let [proposal] = proposals.as_slice() else { panic!("{proposals:?}") };
        assert_eq!((&proposal.thing, proposal.readings), (&article("B"), 20));
        assert!((proposal.learnt.mean_g - 11.0).abs() < 0.2 && proposal.learnt.sd_g < 0.3, "{proposal:?}");
        assert!(learnt.distrust > 1.0, "{}", learnt.distrust);
    }

    #[test]
    fn too_few_parcels_propose_nothing_and_none_teach_nothing() {
        let few = learn(&known(), &month()[..4]);
        assert_eq!(few.proposals().count(), 0);
        let none = learn(&known(), &[]);
        assert_eq!((none.parcels, none.masses), (0, Masses::new(&known())));
        assert!(none.things.iter().all(|thing| thing.learnt == thing.known && thing.readings == 0));
        assert_eq!(learn(&Known::new(), &[]).things, []);
    }

    #[test]
    fn a_parcel_that_lacks_a_piece_does_not_teach() {
        let mut with = month();
        let clean = learn(&known(), &with);
        // Of 12 + 11 g only the heavy one is there; of 12 g nothing.
        with.push(weighed(90, "BC", 29));
        with.push(weighed(91, "C", 17));
        let learnt = learn(&known(), &with);
        assert_eq!(learnt.put_aside, [ParcelRef("090".into()), ParcelRef("091".into())]);
        for (one, other) in learnt.things.iter().zip(&clean.things) {
            assert!((one.learnt.mean_g - other.learnt.mean_g).abs() < 1e-9, "{one:?} {other:?}");
        }
    }

    #[test]
    fn an_unknown_article_is_told_and_the_order_of_parcels_is_nothing() {
        let mut with = month();
        with.push(weighed(90, "AX", 40));
        let learnt = learn(&known(), &with);
        assert_eq!(learnt.unknown, [(ParcelRef("090".into()), article("X"))]);
        with.reverse();
        let turned = learn(&known(), &with);
        for (one, other) in learnt.things.iter().zip(&turned.things) {
            assert!((one.learnt.mean_g - other.learnt.mean_g).abs() < 1e-9, "{one:?} {other:?}");
            assert_eq!(one.readings, other.readings);
        }
    }

    /// Were all put aside that the first fit finds odd, a catalogue that is off throughout would never be mended.
    #[test]
    fn at_most_one_in_five_is_put_aside() {
        let sure: Known = known().into_iter().map(|(thing, mass)| (thing, Estimate { sd_g: 0.01, ..mass })).collect();
        let learnt = learn(&sure, &month());
        assert!(learnt.put_aside.len() <= 32 / ONE_ASIDE_IN, "{:?}", learnt.put_aside);
        let b = learnt.masses.of(&article("B")).unwrap();
        assert!((b.mean_g - 11.0).abs() < 0.4, "{b:?}");
    }
}
