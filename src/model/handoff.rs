//! What the seller fills in.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::day::QuestionId;
use super::mass::Weight;
use super::money::Money;
use super::parcel::ParcelRef;
use super::trade::TradeId;

/// A filled-in row of `handoff.csv`.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct HandoffEntry {
    /// Line in the file.
    pub line: u64,
    /// Which sheet it stands on, such as `handoff 2026-11-25 r1`.
    pub sheet: String,
    /// Which parcel.
    pub parcel: ParcelRef,
    /// Scale reading of the sealed parcel.
    pub scale: Option<Weight>,
    /// Tracking number as typed.
    pub tracking: Option<String>,
    /// What the postage cost.
    pub postage_paid: Option<Money>,
    /// Day of hand-off; a row without one records no hand-off.
    pub handed_over_on: Option<Date>,
    /// Where.
    pub place: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

impl HandoffEntry {
    /// Day and revision of the sheet, where it says them.
    #[must_use]
    pub fn written(&self) -> Option<(Date, u32)> {
        let mut words = self.sheet.split_whitespace();
        let date = words.find_map(|word| word.parse().ok())?;
        let revision = words.find_map(|word| word.strip_prefix('r')?.parse().ok());
        Some((date, revision.unwrap_or(1)))
    }
}

/// A filled-in row of `incoming.csv`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Arrival {
    /// Line in the file.
    pub line: u64,
    /// Which trade.
    pub trade: TradeId,
    /// Day it came.
    pub arrived_on: Date,
    /// In what state.
    pub condition: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// A filled-in row of `questions.csv`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Answer {
    /// Line in the file.
    pub line: u64,
    /// Which question.
    pub question: QuestionId,
    /// The choice, as written.
    pub choice: String,
}
