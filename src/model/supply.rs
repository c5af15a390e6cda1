//! How long mailers last.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// One kind of mailer that is counted, and how long it lasts at the present rate.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct SupplyForecast {
    /// Mailer code.
    pub code: String,
    /// Mailer title.
    pub title: String,
    /// How many are left.
    pub on_hand: u32,
    /// Whole work days that they last; `None` where none are used, or no day is known.
    pub days_left: Option<u32>,
    /// First work day on which there are too few; `None` likewise, and where that is beyond planning.
    pub runs_out_on: Option<Date>,
}

impl SupplyForecast {
    /// Whether none is left, or they don't last for `days` work days.
    #[must_use]
    pub fn runs_low(&self, days: u32) -> bool {
        self.on_hand == 0 || self.days_left.is_some_and(|left| left < days)
    }
}
