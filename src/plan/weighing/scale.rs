//! What a reading says of a sealed parcel: as planned, one piece short, one over, swapped with a neighbour, or none of it.
//!
//! Handed a day's parcels in the order they were packed, with the readings there are, and the masses believed; promises
//! for each reading the probability of every explanation by Bayes' rule. Each explanation expects a mass of its own: less
//! the missing piece, more the one too many. A swap moves two readings in opposite directions, so a neighbour that was
//! weighed must agree. Pieces of like mass can't be told apart: then all of them are named.
//!
//! A parcel that is its own neighbour's witness is held to what it would be by itself; that both share a catalogue's error
//! is left out, as that moves them the same way and never in opposite ones. Turned down: a fixed tolerance in grams, which
//! cries at every heavy parcel and sleeps through a light pin.

use super::masses::{Counts, Masses, Sealed};
use super::normal::{log_density, log_sum};
use crate::model::catalogue::Code;
use crate::model::mass::Estimate;
use crate::model::parcel::ParcelRef;
use crate::model::scale::{Explanation, Finding, Reading, ScaleFinding, Thing};

// How often each slip happens, as a share of parcels. Common practice, no source: a careful pair of hands leaves a piece
// out once in a hundred parcels. A figure twice or half as large moves the line between "as planned" and a slip by less
// than a quarter of a standard deviation.

/// A piece was left out.
const SHORT: f64 = 1.0 / 100.0;
/// A piece was counted in twice: seldomer, as a gap in the drawer shows.
const OVER: f64 = 1.0 / 200.0;
/// Two parcels got a piece of each other's.
const SWAPPED: f64 = 1.0 / 300.0;
/// A piece of one lies in the other: this way, and the same the other way.
const MOVED: f64 = 1.0 / 500.0;
/// Two parcels got each other's label: seldomer, as a label is stuck on where its card lies.
const EXCHANGED: f64 = 1.0 / 3000.0;
/// Something else: a wrong mailer, a slip of the pen, two pieces at once.
const UNEXPLAINED: f64 = 1.0 / 1000.0;
/// Width over which "something else" is spread evenly, g: no reading of a small parcel is much further off.
const UNEXPLAINED_OVER_G: f64 = 200.0;
/// Explanations up to so many times less probable than the likeliest are named beside it.
const TOLD_APART: f64 = 5.0;
/// Explanations named beside the likeliest, at most.
const MOST_BESIDE: usize = 5;

/// A sealed parcel, weighed or not.
#[derive(Clone, PartialEq, Debug)]
pub struct OnScale {
    /// What it is made of.
    pub sealed: Sealed,
    /// What the scale showed; `None` where it wasn't weighed.
    pub reading: Option<Reading>,
}

/// A reading that says nothing, since a mass in the parcel isn't known.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{parcel}` can't be checked by its weight: the mass of `{thing}` isn't known; fill it in")]
pub struct UnknownMass {
    /// Which parcel.
    pub parcel: ParcelRef,
    /// What in it.
    pub thing: Thing,
}

/// What the readings of one day say, parcel by parcel in the order given; those that weren't weighed are passed over.
pub fn check(day: &[OnScale], masses: &Masses) -> Vec<Result<ScaleFinding, UnknownMass>> {
    let known: Vec<Result<Parcel<'_>, UnknownMass>> = day.iter().map(|on| Parcel::of(on, masses)).collect();
    let weighed =
        known.iter().zip(day).enumerate().filter_map(|(place, (known, on))| Some((place, known, on.reading?)));
    weighed
        .map(|(place, parcel, reading)| match parcel {
            Ok(parcel) => Ok(judge(place, parcel, reading, &known, masses)),
            Err(unknown) => Err(unknown.clone()),
        })
        .collect()
}

/// A parcel with all that doesn't change from one explanation to the next.
struct Parcel<'a> {
    on: &'a OnScale,
    /// Article, its place among the masses, its copies.
    pieces: Vec<(&'a Code, usize, f64)>,
    /// Pieces in all.
    number: f64,
    counts: Counts,
    /// By itself: what it should weigh with its rounding.
    expected: Estimate,
    reading: Option<f64>,
    /// Logarithm of the density of its reading, whatever happened to it by itself.
    evidence: f64,
}

impl<'a> Parcel<'a> {
    fn of(on: &'a OnScale, masses: &Masses) -> Result<Self, UnknownMass> {
        let unknown = |thing| UnknownMass { parcel: on.sealed.parcel.clone(), thing };
        let counts = masses.counts(&on.sealed).map_err(unknown)?;
        let copies = on.sealed.articles.iter().zip(&counts);
        let pieces: Vec<_> = copies.map(|((code, _), (place, copies))| (code, *place, *copies)).collect();
        let rounding = on.reading.map_or(0.0, Reading::rounding);
        let noise = masses.scatter * (on.sealed.packing.sd_g.powi(2) + rounding);
        let variance = masses.covariance_of(&counts, &counts) + noise;
        let mean_g = masses.mean_of(&counts) + on.sealed.packing.mean_g;
        let mut parcel = Self {
            number: pieces.iter().map(|(_, _, copies)| copies).sum(),
            pieces,
            expected: Estimate { mean_g, sd_g: variance.max(super::LEAST_VARIANCE).sqrt() },
            counts,
            on,
            reading: on.reading.map(Reading::g),
            evidence: 0.0,
        };
        let alone: Vec<f64> = parcel.alone(masses).into_iter().map(|way| way.log).collect();
        parcel.evidence = log_sum(alone.into_iter());
        Ok(parcel)
    }

    /// Mean and variance of the reading, were the counts changed so.
    fn with(&self, change: &[(usize, f64)], masses: &Masses) -> (f64, f64) {
        let more = 2.0 * masses.covariance_of(change, &self.counts) + masses.covariance_of(change, change);
        let variance = self.expected.sd_g.powi(2) + more;
        (self.expected.mean_g + masses.mean_of(change), variance.max(super::LEAST_VARIANCE))
    }

    /// Logarithm of the density of its reading, were the counts changed so; 0 where it wasn't weighed.
    fn density(&self, change: &[(usize, f64)], masses: &Masses) -> f64 {
        let Some(reading) = self.reading else { return 0.0 };
        let (mean, variance) = self.with(change, masses);
        log_density(reading - mean, variance)
    }

    /// All that may have happened to it by itself.
    fn alone(&self, masses: &Masses) -> Vec<Way<'a>> {
        let way = |finding, code, log| Way { finding, code, theirs: None, with: None, log };
        let slips = SHORT + OVER + SWAPPED + 2.0 * MOVED + EXCHANGED + UNEXPLAINED;
        let mut ways = vec![
            way(Finding::AsPlanned, None, (1.0 - slips).ln() + self.density(&[], masses)),
            way(Finding::Unexplained, None, (UNEXPLAINED / UNEXPLAINED_OVER_G).ln()),
        ];
        for (code, place, copies) in &self.pieces {
            let share = copies / self.number;
            let short = (SHORT * share).ln() + self.density(&[(*place, -1.0)], masses);
            let over = (OVER * share).ln() + self.density(&[(*place, 1.0)], masses);
            ways.extend([way(Finding::OneShort, Some(*code), short), way(Finding::OneOver, Some(*code), over)]);
        }
        ways
    }

    /// All that may have happened between it and `other`, where that is `nearness` of all such slips.
    fn between(&self, other: &Self, nearness: f64, masses: &Masses) -> Vec<Way<'a>>
    where
        Self: 'a,
    {
        let with = Some(&other.on.sealed.parcel);
        // The neighbour was weighed: how much better this explains its reading than anything that befell it alone.
        let witness = |change: &[(usize, f64)]| match other.reading {
            Some(_) => other.density(change, masses) - other.evidence,
            None => 0.0,
        };
        let mut ways = Vec::new();
        let mut say = |finding, code, theirs, prior: f64, densities: f64| {
            ways.push(Way { finding, code, theirs, with, log: (prior * nearness).ln() + densities });
        };
        for (mine, gone, copies) in &self.pieces {
            let share = copies / self.number;
            for (theirs, come, others) in other.pieces.iter().filter(|(_, come, _)| come != gone) {
                let (here, there) = ([(*gone, -1.0), (*come, 1.0)], [(*gone, 1.0), (*come, -1.0)]);
                let densities = self.density(&here, masses) + witness(&there);
                let prior = SWAPPED * share * others / other.number;
                say(Finding::Swapped, Some(*mine), Some(*theirs), prior, densities);
            }
            // Of a neighbour that wasn't weighed nothing says more than that a piece is gone.
            if other.reading.is_some() {
                let densities = self.density(&[(*gone, -1.0)], masses) + witness(&[(*gone, 1.0)]);
                say(Finding::OneShort, Some(*mine), None, MOVED * share, densities);
            }
        }
        for (theirs, come, copies) in &other.pieces {
            let densities = self.density(&[(*come, 1.0)], masses) + witness(&[(*come, -1.0)]);
            say(Finding::OneOver, Some(*theirs), None, MOVED * copies / other.number, densities);
        }
        let densities = other.stands_in(self, masses)
            + other.reading.map_or(0.0, |_| self.stands_in(other, masses) - other.evidence);
        say(Finding::Swapped, None, None, EXCHANGED, densities);
        ways
    }

    /// Logarithm of the density of the other's reading, were this parcel on the scale in its place.
    fn stands_in(&self, other: &Self, masses: &Masses) -> f64 {
        let Some(reading) = other.reading else { return 0.0 };
        let rounding = masses.scatter * other.on.reading.map_or(0.0, Reading::rounding);
        let own = self.on.reading.map_or(0.0, Reading::rounding) * masses.scatter;
        let variance = self.expected.sd_g.powi(2) - own + rounding;
        log_density(reading - self.expected.mean_g, variance.max(super::LEAST_VARIANCE))
    }
}

/// One explanation and the logarithm of its weight.
struct Way<'a> {
    finding: Finding,
    code: Option<&'a Code>,
    theirs: Option<&'a Code>,
    with: Option<&'a ParcelRef>,
    log: f64,
}

fn judge(
    place: usize,
    parcel: &Parcel<'_>,
    reading: Reading,
    day: &[Result<Parcel<'_>, UnknownMass>],
    masses: &Masses,
) -> ScaleFinding {
    let mut ways = parcel.alone(masses);
    // The nearer on the table, the likelier the hand went wrong: as one over the square of the distance.
    let others: Vec<(&Parcel<'_>, f64)> = day
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != place)
        .filter_map(|(other, known)| {
            let distance = u32::try_from(other.abs_diff(place)).unwrap_or(u32::MAX);
            Some((known.as_ref().ok()?, f64::from(distance).powi(-2)))
        })
        .collect();
    let all: f64 = others.iter().map(|(_, near)| near).sum();
    ways.extend(others.iter().flat_map(|(other, near)| parcel.between(other, near / all, masses)));
    let evidence = log_sum(ways.iter().map(|way| way.log));
    let mut explanations: Vec<Explanation> = ways
        .into_iter()
        .map(|way| Explanation {
            finding: way.finding,
            code: way.code.cloned(),
            theirs: way.theirs.cloned(),
            with: way.with.cloned(),
            probability: (way.log - evidence).exp(),
        })
        .collect();
    // Stable: of two that are equally probable, the one that was thought of first.
    explanations.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let words = [Finding::AsPlanned, Finding::OneShort, Finding::OneOver, Finding::Swapped, Finding::Unexplained];
    let of = |word| explanations.iter().filter(|way| way.finding == word).map(|way| way.probability).sum::<f64>();
    let chances: Vec<(Finding, f64)> = words.into_iter().map(|word| (word, of(word))).collect();
    let as_planned = of(Finding::AsPlanned);
    let slip = chances.iter().filter(|(word, _)| *word != Finding::AsPlanned);
    let finding = if as_planned >= 0.5 {
        Finding::AsPlanned
    } else {
        slip.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(Finding::Unexplained, |(word, _)| *word)
    };
    let likeliest = explanations.iter().position(|way| way.finding == finding).unwrap_or_default();
    let likeliest = explanations.remove(likeliest);
    explanations
        .retain(|way| way.finding != Finding::AsPlanned && way.probability * TOLD_APART >= likeliest.probability);
    explanations.truncate(if finding == Finding::AsPlanned { 0 } else { MOST_BESIDE });
    ScaleFinding {
        parcel: parcel.on.sealed.parcel.clone(),
        planned: parcel.on.sealed.planned,
        expected: parcel.expected,
        scale: reading.weight,
        likeliest,
        also: explanations,
        chances,
    }
}

/// How probable it is that a parcel is as planned, by itself: its reading is off by `deviation` g where `variance` g² is
/// to be expected, and it holds so many copies of pieces of such mass.
pub(super) fn as_planned(deviation: f64, variance: f64, pieces: &[(f64, f64)]) -> f64 {
    let number: f64 = pieces.iter().map(|(copies, _)| copies).sum();
    let planned = (1.0 - SHORT - OVER - UNEXPLAINED).ln() + log_density(deviation, variance);
    let slips = pieces.iter().flat_map(|(copies, mass)| {
        let slip = |often: f64, off: f64| (often * copies / number).ln() + log_density(deviation - off, variance);
        [slip(SHORT, -mass), slip(OVER, *mass)]
    });
    let all = [planned, (UNEXPLAINED / UNEXPLAINED_OVER_G).ln()].into_iter().chain(slips);
    (planned - log_sum(all)).exp()
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::super::masses::Known;
    use super::*;
    use crate::model::mass::{Mass, MassUnit, Weight};

    const MAILER: f64 = 7.5;
    const PACKING: f64 = 10.0;

    fn g(mass: f64) -> Reading {
        Reading::new(Weight::new(Decimal::try_from(mass).unwrap(), MassUnit::Gram), Mass::from_g(Decimal::ONE))
    }

    /// A light pin, two that weigh much the same, and a heavy one, each known to a tenth of a gram.
    fn masses() -> Masses {
        let articles = [("A", 4.0), ("B", 8.0), ("C", 8.2), ("D", 14.0)]
            .map(|(code, mean_g)| (Thing::Article(Code(code.to_owned())), Estimate { mean_g, sd_g: 0.1 }));
        let mailer = (Thing::Mailer("M".to_owned()), Estimate { mean_g: MAILER, sd_g: 0.1 });
        Masses::new(&articles.into_iter().chain([mailer]).collect::<Known>())
    }

    /// A parcel of these pieces, one letter each, that is `off` by so many grams.
    fn parcel(number: u32, pieces: &str, off: Option<f64>) -> OnScale {
        let mut sealed = Sealed {
            parcel: ParcelRef(format!("1125-{number:02}")),
            planned: Estimate { mean_g: 0.0, sd_g: 1.0 },
            articles: std::collections::BTreeMap::new(),
            mailer: "M".to_owned(),
            packing: Estimate { mean_g: PACKING, sd_g: 0.8 },
        };
        for piece in pieces.chars() {
            *sealed.articles.entry(Code(piece.to_string())).or_default() += 1;
        }
        let reading = off.map(|off| g(masses().expected(&sealed).unwrap().mean_g + off));
        OnScale { sealed, reading }
    }

    fn first(day: &[OnScale]) -> ScaleFinding {
        let mut found = check(day, &masses());
        found.remove(0).unwrap()
    }

    fn word(found: &ScaleFinding) -> (Finding, Option<&str>) {
        (found.likeliest.finding, found.likeliest.code.as_ref().map(|code| code.0.as_str()))
    }

    /// By hand: one pin of 8 g, 4 g light, is as far from "as planned" as from "short", but for the pin's own variance:
    /// 0.64 + 1/12 + 0.01 (mailer) = 0.7333, with the pin 0.7433. Densities e^(−8/0.7433) / √0.7433 and e^(−8/0.7333) /
    /// √0.7333 are as 1 to 0.8698; the slips' shares leave 1 − 0.0236667 for "as planned", 0.01 for "short".
    #[test]
    fn bayes_by_hand() {
        let found = first(&[parcel(1, "B", Some(-4.0))]);
        let chance = |word| found.chances.iter().find(|(of, _)| *of == word).unwrap().1;
        let slips = 0.01 + 0.005 + 1.0 / 300.0 + 2.0 / 500.0 + 1.0 / 3000.0 + 0.001;
        let ratio =
            0.01 / (1.0 - slips) * ((8.0 / 0.743_333_f64 - 8.0 / 0.733_333).exp() * (0.743_333_f64 / 0.733_333).sqrt());
        assert!((chance(Finding::OneShort) / chance(Finding::AsPlanned) / ratio - 1.0).abs() < 1e-4);
        let sum: f64 = found.chances.iter().map(|(_, chance)| chance).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        assert_eq!(word(&found), (Finding::AsPlanned, None));
        assert!((found.expected.mean_g - 25.5).abs() < 1e-9 && (found.expected.sd_g.powi(2) - 0.743_333).abs() < 1e-5);
    }

    #[test]
    fn a_missing_piece_is_named_and_one_that_weighs_the_same_beside_it() {
        let found = first(&[parcel(1, "ABD", Some(-13.6))]);
        assert_eq!(word(&found), (Finding::OneShort, Some("D")));
        assert!(found.also.is_empty(), "{found:?}");
        let found = first(&[parcel(1, "ABC", Some(-8.0))]);
        assert_eq!(word(&found), (Finding::OneShort, Some("B")));
        let beside: Vec<_> =
            found.also.iter().map(|way| (way.finding, way.code.as_ref().unwrap().0.as_str())).collect();
        assert_eq!(beside, [(Finding::OneShort, "C")]);
        assert_eq!(word(&first(&[parcel(1, "AABD", Some(8.1))])), (Finding::OneOver, Some("B")));
    }

    /// 10 g lighter and the next 10 g heavier: a pin of 14 and one of 4 g changed places. Where the next weighs what it
    /// should, nothing explains it.
    #[test]
    fn a_swap_needs_its_neighbour_to_agree() {
        let next = |off| parcel(2, "AC", off);
        let one = parcel(1, "DD", Some(-10.0));
        let found = first(&[one.clone(), next(Some(10.0))]);
        assert_eq!(word(&found), (Finding::Swapped, Some("D")));
        let likeliest = &found.likeliest;
        assert_eq!(
            (likeliest.with.as_ref(), likeliest.theirs.as_ref()),
            (Some(&ParcelRef("1125-02".into())), Some(&Code("A".into())))
        );
        assert_eq!(word(&first(&[one.clone(), next(Some(0.0))])), (Finding::Unexplained, None));
        assert_eq!(word(&first(&[one, next(None)])), (Finding::Swapped, Some("D")));
    }

    #[test]
    fn a_piece_in_the_wrong_parcel_is_found_there() {
        let day = [parcel(1, "ABD", Some(-14.0)), parcel(2, "CC", Some(14.0))];
        let found: Vec<ScaleFinding> = check(&day, &masses()).into_iter().map(Result::unwrap).collect();
        assert_eq!(word(&found[0]), (Finding::OneShort, Some("D")));
        assert_eq!(found[0].likeliest.with, Some(ParcelRef("1125-02".into())));
        assert_eq!(word(&found[1]), (Finding::OneOver, Some("D")));
        assert_eq!(found[1].likeliest.with, Some(ParcelRef("1125-01".into())));
    }

    #[test]
    fn two_labels_changed_are_a_swap_without_a_code() {
        // 17.5 + 12 and 17.5 + 36 g: each weighs what the other should.
        let found = first(&[parcel(1, "AB", Some(24.0)), parcel(2, "DDB", Some(-24.0))]);
        assert_eq!(word(&found), (Finding::Swapped, None));
        assert_eq!(found.likeliest.with, Some(ParcelRef("1125-02".into())));
    }

    #[test]
    fn what_no_slip_explains_is_not_explained_and_an_unknown_mass_is_told() {
        assert_eq!(word(&first(&[parcel(1, "ABCD", Some(-40.0))])), (Finding::Unexplained, None));
        assert_eq!(word(&first(&[parcel(1, "A", Some(2000.0))])), (Finding::Unexplained, None));
        let day = [parcel(1, "A", Some(0.0)), parcel(2, "B", None)];
        let mut with_new = day.clone();
        with_new[0].sealed.articles.insert(Code("NEW".into()), 1);
        let found = check(&with_new, &masses());
        assert_eq!(found.len(), 1);
        assert_eq!(
            found[0].as_ref().unwrap_err().to_string(),
            "`1125-01` can't be checked by its weight: the mass of `NEW` isn't known; fill it in"
        );
    }

    /// A catalogue that knows a pin to 3 g only can't miss it.
    #[test]
    fn what_is_hardly_known_raises_no_alarm() {
        let vague: Known = [
            (Thing::Article(Code("B".into())), Estimate { mean_g: 8.0, sd_g: 3.0 }),
            (Thing::Mailer("M".into()), Estimate { mean_g: MAILER, sd_g: 0.4 }),
        ]
        .into();
        let day = [parcel(1, "B", Some(-7.0))];
        let found = check(&day, &Masses::new(&vague)).remove(0).unwrap();
        assert_eq!(found.likeliest.finding, Finding::AsPlanned);
    }
}
