//! Working days, and days that can't be meant.

use std::collections::BTreeSet;

use jiff::ToSpan as _;
use jiff::civil::{Date, Weekday};

/// Days on which the seller works and parcels are taken: work days of the week less holidays.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WorkCalendar {
    /// Which days of the week count, Monday first.
    pub work_days: [bool; 7],
    /// Where holidays come from.
    pub holidays: Holidays,
    /// When the seller is away, first and last day of each time.
    pub away: Vec<(Date, Date)>,
}

/// Where holidays come from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Holidays {
    /// Every day is a day.
    None,
    /// The eleven of 5 U.S.C. 6103, as mail is off on them: reckoned for any year by `plan::calendar`.
    UsFederal,
    /// Those of the seller's own list.
    Listed(BTreeSet<Date>),
}

impl WorkCalendar {
    /// Is the seller away on that day?
    #[must_use]
    pub fn is_away(&self, day: Date) -> bool {
        self.away.iter().any(|(from, to)| (*from..=*to).contains(&day))
    }

    /// Does the day of the week count?
    #[must_use]
    pub fn works_on(&self, weekday: Weekday) -> bool {
        self.work_days[usize::from(weekday.to_monday_zero_offset().unsigned_abs())]
    }
}

/// How many years ahead a day may be that a person names (common practice, no source): what is sold before it is made
/// takes months, and a slip in the year takes ten.
const MOST_YEARS: i64 = 2;

/// Whether a day that a person names is so far ahead that it must be a slip.
#[must_use]
pub fn is_a_slip(day: Date, today: Date) -> bool {
    day > today.saturating_add(MOST_YEARS.years())
}
