//! Readings of a kitchen scale, what they say of a sealed parcel, and what they teach.
//!
//! Made by `plan::weighing`, recorded and printed by others. Turned down: a reading as a bare number of grams, which
//! forgets how coarsely the scale shows it.

use std::fmt;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};

use super::catalogue::Code;
use super::mass::{Estimate, Mass, MassUnit, Weight};
use super::parcel::ParcelRef;

/// How often a declared weight must hold, as a share of parcels: from 0.5 to 0.9999.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug)]
pub struct Confidence(f64);

/// A share that can't be one of [`Confidence`].
#[derive(Clone, Copy, Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not from 0.5 to 0.9999; write how often the declared weight must hold, such as 0.975")]
pub struct NoConfidence(pub Decimal);

impl Confidence {
    /// 97.5%: one parcel in forty is heavier than it was declared, before it is weighed.
    pub const USUAL: Self = Self(0.975);

    /// As a share of one.
    #[must_use]
    pub const fn share(self) -> f64 {
        self.0
    }
}

impl Default for Confidence {
    fn default() -> Self {
        Self::USUAL
    }
}

impl TryFrom<Decimal> for Confidence {
    type Error = NoConfidence;

    /// # Errors
    /// [`NoConfidence`] below 0.5, where the mean alone would do, and above 0.9999, where no estimate is that good.
    fn try_from(share: Decimal) -> Result<Self, NoConfidence> {
        let fits = (dec!(0.5)..=dec!(0.9999)).contains(&share);
        share.to_f64().filter(|_| fits).map(Self).ok_or(NoConfidence(share))
    }
}

/// The sheet that papers are printed on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sheet {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Sheet {
    /// Its name in Typst.
    #[must_use]
    pub const fn typst_name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }

    /// Mass of one, g. Of A4 at 80 g/m²: 0.210 m × 0.297 m × 80 g/m² = 4.99 g, as ISO 536 defines grammage. Of Letter
    /// at 20 lb: 500 sheets of 17 × 22 in weigh 20 lb (9,071.8474 g), each of them makes four, so one is 4.536 g. Which
    /// grammage lies in the printer: common practice, no source.
    #[must_use]
    pub const fn grams(self) -> f64 {
        match self {
            Self::A4 => 0.210 * 0.297 * 80.0,
            Self::Letter => 9_071.847_4 / 2_000.0,
        }
    }
}

/// What a scale shows, and the step it shows it in.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Reading {
    /// As shown.
    pub weight: Weight,
    /// The smallest step between two readings.
    pub step: Mass,
}

impl Reading {
    /// Of a scale whose step is known.
    #[must_use]
    pub const fn new(weight: Weight, step: Mass) -> Self {
        Self { weight, step }
    }

    /// Of a scale that shows 1 g, 0.001 kg, 0.1 oz or 0.01 lb, or finer where more places than that are written.
    /// Common practice, no source.
    #[must_use]
    pub fn of(weight: Weight) -> Self {
        let usual = match weight.unit {
            MassUnit::Gram => 0,
            MassUnit::Ounce => 1,
            MassUnit::Pound => 2,
            MassUnit::Kilogram => 3,
        };
        let places = weight.value.normalize().scale().max(usual);
        Self { weight, step: Weight::new(Decimal::new(1, places), weight.unit).mass() }
    }

    /// In grams.
    #[must_use]
    pub fn g(self) -> f64 {
        self.weight.mass().as_f64()
    }

    /// Variance that rounding to the step brings, g²: d²/12, that of a uniform distribution as wide as the step.
    #[must_use]
    pub fn rounding(self) -> f64 {
        self.step.as_f64().powi(2) / 12.0
    }
}

/// In one word, what a reading says of a parcel.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// It weighs what it should.
    AsPlanned,
    /// One piece is missing.
    OneShort,
    /// One piece too many.
    OneOver,
    /// A piece of a neighbour's lies in it instead of one of its own, or the two changed places whole.
    Swapped,
    /// None of these explains it.
    Unexplained,
}

impl Finding {
    /// The word of `reconciliation.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::AsPlanned => "as-planned",
            Self::OneShort => "one-short",
            Self::OneOver => "one-over",
            Self::Swapped => "swapped",
            Self::Unexplained => "unexplained",
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One way to explain a reading.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Explanation {
    /// In one word.
    pub finding: Finding,
    /// The article that is missing, or is there once too often; of a swap, this parcel's own that is gone. `None` where
    /// whole parcels changed places.
    pub code: Option<Code>,
    /// Of a swap, the neighbour's article that lies here.
    pub theirs: Option<Code>,
    /// The parcel it was swapped with, or where the piece went or came from, if its reading says so too.
    pub with: Option<ParcelRef>,
    /// How probable, after the reading.
    pub probability: f64,
}

/// What the scale says of one parcel.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct ScaleFinding {
    /// Which parcel.
    pub parcel: ParcelRef,
    /// What its manifest said.
    pub planned: Estimate,
    /// What was to be expected on the scale by the masses known now, with the scale's rounding.
    pub expected: Estimate,
    /// The reading.
    pub scale: Weight,
    /// The likeliest explanation.
    pub likeliest: Explanation,
    /// Others that can't be told apart from it, likeliest first; empty where it is as planned.
    pub also: Vec<Explanation>,
    /// How probable each word is, in the order of [`Finding`]; together 1.
    pub chances: Vec<(Finding, f64)>,
}

/// A thing whose mass is learnt.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Thing {
    /// An article of `catalogue.csv`.
    Article(Code),
    /// A mailer of `mailers.csv`, by its code.
    Mailer(String),
}

impl fmt::Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Article(code) => code.fmt(f),
            Self::Mailer(code) => write!(f, "mailer {code}"),
        }
    }
}

/// What sealed parcels teach of one thing's mass.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct LearntMass {
    /// Which thing.
    pub thing: Thing,
    /// As the seller's file has it; the spread is the usual one where the file gives none.
    pub known: Estimate,
    /// As the parcels have it.
    pub learnt: Estimate,
    /// Parcels that held it and taught.
    pub readings: u32,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_confidence_is_a_share_that_an_estimate_can_hold() {
        assert_eq!(Confidence::try_from(dec!(0.975)), Ok(Confidence::USUAL));
        for no in [dec!(0.4999), dec!(0.99991), dec!(97.5), dec!(-1)] {
            assert_eq!(Confidence::try_from(no), Err(NoConfidence(no)));
        }
        assert_eq!(
            NoConfidence(dec!(97.5)).to_string(),
            "`97.5` is not from 0.5 to 0.9999; write how often the declared weight must hold, such as 0.975"
        );
    }

    /// The ounce by its definition; steps are common practice.
    #[test]
    fn the_step_follows_the_unit_and_the_places_written() {
        let step = |value, unit| Reading::of(Weight::new(value, unit)).step.g();
        assert_eq!(step(dec!(113), MassUnit::Gram), dec!(1));
        assert_eq!(step(dec!(110.00), MassUnit::Gram), dec!(1));
        assert_eq!(step(dec!(113.4), MassUnit::Gram), dec!(0.1));
        assert_eq!(step(dec!(0.113), MassUnit::Kilogram), dec!(1));
        assert_eq!(step(dec!(4), MassUnit::Ounce), dec!(2.8349523125));
        assert_eq!(step(dec!(1.27), MassUnit::Ounce), dec!(0.28349523125));
    }

    #[test]
    fn words_are_those_of_json() {
        for word in [Finding::AsPlanned, Finding::OneShort, Finding::OneOver, Finding::Swapped, Finding::Unexplained] {
            assert_eq!(serde_json::to_string(&word).unwrap(), format!("\"{word}\""));
        }
    }
}
