//! Days that are named on the command line.
//!
//! Handed what was typed; promises a day, or one line that says how to write it. Whether that day makes sense is for
//! what it is said of: [`meant`], and the ledger for what is recorded there. Turned down: the time
//! library's own reading of an option, whose message names what it looked for and not what to write.

use std::str::FromStr;

use anyhow::{Result, bail};
use jiff::civil::Date;

use crate::model::calendar;

/// A day as it is typed: `2026-11-30`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Day(pub Date);

impl FromStr for Day {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let is_written_so = text.len() == "2026-11-30".len();
        let day = text.parse().ok().filter(|_| is_written_so);
        day.map(Self).ok_or_else(|| format!("`{text}` is no day; write it as `2026-11-30`"))
    }
}

/// The day of a morning or of a quote: the one given, else today. It may be past, for a morning that was missed, or to see
/// what it cost then.
///
/// # Errors
/// Where it is so far ahead that it must be a slip: what is listed for a day goes on no list before it.
pub fn meant(given: Option<Day>, today: Date) -> Result<Date> {
    let day = given.map_or(today, |Day(day)| day);
    if calendar::is_a_slip(day, today) {
        bail!("`{day}` is more than two years ahead; look for a slip in the year");
    }
    Ok(day)
}
