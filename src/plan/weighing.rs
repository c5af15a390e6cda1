//! What a sealed parcel should weigh, and how sure that is; what the scale says of it, and what it teaches.
//!
//! The mean is a sum: articles (each with its card), wrap by area (grammage is mass by area, ISO 536), the mailer's tare,
//! paper by the sheet, and tape with the label:
//!
//! ```text
//! mean = Σ articles + Σ strip width · strip length · g/m² / 10⁶ + tare + sheets + 0.3 rolls + flap + 2.0
//! ```
//!
//! The spread: copies of one article share that article's error, since it lies in the catalogue's figure and not in
//! the copy, so it counts once for each copy before it is squared. What is the same stuff shares an error likewise:
//! all wrap, all paper, all tape. The parts are independent and add in quadrature:
//!
//! ```text
//! sd² = Σ (copies · sd of the article)² + (15% wrap)² + (5% tare)² + (4% paper)² + (50% tape)² + (25% label)²
//! ```
//!
//! An article without a mass never comes here: its order is held and asked about. [`tiers`] says which weight to declare,
//! [`scale`] what a reading says of a sealed parcel, [`learning`] what many readings teach of the masses. Turned down: a
//! flat percentage, which is too wide for one pin and too narrow for twenty.

pub mod learning;
pub mod masses;
pub mod scale;
pub mod tiers;

mod evidence;
mod normal;
mod telling;

pub use telling::tell;

use std::collections::BTreeMap;

use crate::model::catalogue::Code;
use crate::model::mailer::Mailer;
use crate::model::mass::Estimate;
use crate::model::parcel::{Piece, Roll};
use crate::model::rules::PackingRules;
use crate::model::scale::Confidence;

/// A shipping label. Common practice, no source.
const LABEL_G: f64 = 2.0;
/// Tape on each roll. Common practice, no source.
const TAPE_PER_ROLL_G: f64 = 0.3;
/// Tape along the whole flap of a reused mailer. Common practice, no source.
const TAPE_FOR_FLAP_G: f64 = 1.5;
/// Of wrap, as it is cut by hand. Common practice, no source.
const WRAP_SPREAD: f64 = 0.15;
/// Of a mailer's tare within a batch. Common practice, no source.
const TARE_SPREAD: f64 = 0.05;
/// Of paper: a maker's tolerance on grammage, and what the printer lays on it. Common practice, no source.
const PAPER_SPREAD: f64 = 0.04;
/// Of tape, torn off by hand. Common practice, no source.
const TAPE_SPREAD: f64 = 0.5;
/// Of a label: thermal or paper under tape. Common practice, no source.
const LABEL_SPREAD: f64 = 0.25;
/// Of an article whose own spread the catalogue doesn't give. Common practice, no source.
const ARTICLE_SPREAD: f64 = 0.05;

/// Variance that no reading is better than, g²: a thousandth of a gram. Keeps what is divided by it from nothing.
const LEAST_VARIANCE: f64 = 1e-6;

/// What is on the scale.
#[derive(Clone, Copy, Debug)]
pub struct Contents<'a> {
    /// All pieces.
    pub pieces: &'a [Piece],
    /// The rolls they lie in.
    pub rolls: &'a [Roll],
    /// The mailer.
    pub mailer: &'a Mailer,
    /// Sheets of paper inside.
    pub sheets: u32,
}

/// Mean and spread of the sealed parcel.
#[must_use]
pub fn estimate(contents: &Contents<'_>, rules: &PackingRules) -> Estimate {
    let mut articles: BTreeMap<&Code, (f64, f64)> = BTreeMap::new();
    for piece in contents.pieces {
        let mass = piece.mass.as_f64();
        let sums = articles.entry(&piece.code).or_default();
        sums.0 += mass;
        sums.1 += article_sd(mass, piece.mass_sd.as_f64());
    }
    let tare = contents.mailer.tare.as_f64();
    let around = packing(contents.rolls, contents.sheets, contents.mailer.reused, rules);
    let mean_g = articles.values().map(|(mass, _)| mass).sum::<f64>() + tare + around.mean_g;
    let variance = articles.values().map(|(_, sd)| sd * sd).sum::<f64>() + tare_sd(tare).powi(2) + around.sd_g.powi(2);
    Estimate { mean_g, sd_g: variance.sqrt() }
}

/// All that is neither article nor mailer: wrap, paper, tape and label.
#[must_use]
fn packing(rolls: &[Roll], sheets: u32, reused_tape: bool, rules: &PackingRules) -> Estimate {
    let area: f64 = rolls.iter().map(|roll| roll.strip_width.as_f64() * roll.strip_length.as_f64() / 1e6).sum();
    let flap = if reused_tape { TAPE_FOR_FLAP_G } else { 0.0 };
    let parts = [
        (area * rules.wrap_g_per_m2, WRAP_SPREAD),
        (f64::from(sheets) * rules.sheet.grams(), PAPER_SPREAD),
        (f64::from(u32::try_from(rolls.len()).unwrap_or(u32::MAX)) * TAPE_PER_ROLL_G + flap, TAPE_SPREAD),
        (LABEL_G, LABEL_SPREAD),
    ];
    let variance: f64 = parts.iter().map(|(mass, spread)| (mass * spread).powi(2)).sum();
    Estimate { mean_g: parts.iter().map(|(mass, _)| mass).sum(), sd_g: variance.sqrt() }
}

/// The spread of an article's mass: the catalogue's, or the usual one where it gives none.
fn article_sd(mass: f64, known: f64) -> f64 {
    if known > 0.0 { known } else { mass * ARTICLE_SPREAD }
}

fn tare_sd(tare: f64) -> f64 {
    tare * TARE_SPREAD
}

/// Where the mass lies, g: `confidence` of all such parcels are no heavier than the upper end, and as many no lighter than
/// the lower. At the usual 97.5% that is 19 of 20 between the two.
#[must_use]
pub fn interval(estimate: Estimate, confidence: Confidence) -> (f64, f64) {
    let reach = normal::sigmas(confidence.share()) * estimate.sd_g;
    ((estimate.mean_g - reach).max(0.0), estimate.mean_g + reach)
}

#[cfg(test)]
mod tests {
    use rust_decimal::{Decimal, dec};

    use super::*;
    use crate::model::catalogue::Kind;
    use crate::model::length::Length;
    use crate::model::mass::{Mass, MassUnit};
    use crate::plan::rolls;

    fn mm(value: i64) -> Length {
        Length::from_mm(Decimal::from(value))
    }

    fn pin(mass: Decimal, kind: Kind, width: i64, height: i64) -> Piece {
        Piece {
            code: crate::model::catalogue::Code(format!("{kind:?}")),
            kind,
            width: mm(width),
            height: mm(height),
            thickness: mm(10),
            share: dec!(1),
            mass: Mass::from_g(mass),
            mass_sd: Mass::ZERO,
        }
    }

    fn small_mailer() -> Mailer {
        Mailer {
            code: "A".into(),
            title: "A".into(),
            inner_width: mm(100),
            inner_length: mm(180),
            max_thickness: mm(40),
            tare: Mass::from_g(dec!(7.5)),
            cost: None,
            on_hand: None,
            reused: false,
        }
    }

    fn ounces(pieces: &[Piece], tare: Decimal) -> f64 {
        let rolls = rolls::cut(pieces, &PackingRules::USUAL, mm(180));
        let mailer = Mailer { tare: Mass::from_g(tare), ..small_mailer() };
        let contents = Contents { pieces, rolls: &rolls, mailer: &mailer, sheets: 1 };
        estimate(&contents, &PackingRules::USUAL).mean_g / Mass::from_g(MassUnit::Ounce.grams()).as_f64()
    }

    /// Two weighed packages (common practice, no source): three loose pins in a small padded mailer, 1.27 oz; a
    /// carded and a loose one, 1.83 oz. Masses from the ranges of trade habit: pins of one inch 4.5 to 8 g with
    /// their clutch, one of an inch and a half 12 to 16 g with its card, a mailer of 4 by 8 in 5 to 10 g. A card with
    /// its wrap is too wide for that one: the next, of 5 by 10 in, weighs 9 to 13 g.
    #[test]
    fn two_weighed_packages_are_met_within_15_percent() {
        let loose = vec![pin(dec!(5.5), Kind::Pin, 25, 25); 3];
        let three = ounces(&loose, dec!(7.5));
        assert!((three / 1.27 - 1.0).abs() < 0.15, "{three}");
        let carded = pin(dec!(14), Kind::Carded, 55, 85);
        let two = ounces(&[carded, pin(dec!(7), Kind::Pin, 32, 32)], dec!(11));
        assert!((two / 1.83 - 1.0).abs() < 0.15, "{two}");
    }

    #[test]
    fn copies_share_their_articles_error() {
        let one = Piece { mass_sd: Mass::from_g(dec!(1)), ..pin(dec!(10), Kind::Pin, 25, 25) };
        let alone = Contents { pieces: &[], rolls: &[], mailer: &small_mailer(), sheets: 0 };
        let four = vec![one; 4];
        let of_four = estimate(&Contents { pieces: &four, ..alone }, &PackingRules::USUAL).sd_g;
        let of_none = estimate(&alone, &PackingRules::USUAL).sd_g;
        assert!(((of_four.powi(2) - of_none.powi(2)).sqrt() - 4.0).abs() < 1e-9);
    }

    /// By hand: one pin of 10 ± 1 g, no roll, mailer 7.5, two sheets, a taped flap and a label:
    /// 10 + 7.5 + 2 · 4.9896 + 1.5 + 2 = 30.9792; 1² + 0.375² + 0.3992² + 0.75² + 0.5² = 2.1125, its root 1.4535.
    #[test]
    fn each_part_brings_its_own_spread() {
        let pieces = [Piece { mass_sd: Mass::from_g(dec!(1)), ..pin(dec!(10), Kind::Pin, 25, 25) }];
        let mailer = Mailer { reused: true, ..small_mailer() };
        let contents = Contents { pieces: &pieces, rolls: &[], mailer: &mailer, sheets: 2 };
        let found = estimate(&contents, &PackingRules::USUAL);
        assert!((found.mean_g - 30.9792).abs() < 1e-9, "{found:?}");
        assert!((found.sd_g - 1.4535).abs() < 1e-4, "{found:?}");
    }

    /// 97.5% of a normal distribution lie below 1.959964 standard deviations (any table of its quantiles).
    #[test]
    fn the_interval_is_19_of_20_and_never_below_nothing() {
        let (low, high) = interval(Estimate { mean_g: 50.0, sd_g: 2.0 }, Confidence::USUAL);
        assert!((low - 46.080_07).abs() < 1e-4 && (high - 53.919_93).abs() < 1e-4, "{low} {high}");
        assert!(interval(Estimate { mean_g: 1.0, sd_g: 2.0 }, Confidence::USUAL).0.abs() < f64::EPSILON);
    }
}
