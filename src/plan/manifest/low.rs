//! Which mailers run low.
//!
//! Handed what earlier days used and what today takes; promises those that won't last, by the pace of the last work
//! days, or while there is no pace yet, those of which few are left. Turned down: one number for all mailers, which warns
//! too late of the one that goes ten a day.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::model::day::Supply;
use crate::model::supply::SupplyForecast;
use crate::plan::snapshot::{Rules, Snapshot};
use crate::plan::{calendar, supplies};

/// Work days that the pace is taken of.
const PACE_DAYS: usize = 20;
/// Fewer work days than this tell no pace.
const FEWEST_DAYS: usize = 5;
/// While there is no pace, fewer left than this are few.
const FEW: u32 = 10;

/// The mailers that run low once `taken` is taken, today's with it.
pub(super) fn low(snapshot: &Snapshot, rules: &Rules<'_>, taken: &BTreeMap<String, u32>, date: Date) -> Vec<Supply> {
    let used = pace(snapshot, rules, date);
    let has_pace = used.len() >= FEWEST_DAYS;
    let forecasts = supplies::forecast(rules.mailers, taken, &used, rules.calendar, date);
    let low: Vec<&SupplyForecast> = if has_pace {
        supplies::low(&forecasts)
    } else {
        forecasts.iter().filter(|supply| supply.on_hand < FEW).collect()
    };
    low.into_iter()
        .map(|supply| Supply {
            code: supply.code.clone(),
            title: supply.title.clone(),
            left: supply.on_hand,
            runs_out_on: supply.runs_out_on.filter(|_| has_pace),
        })
        .collect()
}

/// Mailers of each of the last work days before `date`, as far back as there are manifests.
fn pace(snapshot: &Snapshot, rules: &Rules<'_>, date: Date) -> Vec<BTreeMap<String, u32>> {
    let Some(first) = snapshot.mailers_by_day.keys().next() else { return Vec::new() };
    let days = std::iter::successors(Some(date.saturating_sub(1.day())), |day| Some(day.saturating_sub(1.day())));
    days.take_while(|day| day >= first)
        // A day on which something went counts, though the calendar calls it none now.
        .filter(|day| calendar::is_business_day(rules.calendar, *day) || snapshot.mailers_by_day.contains_key(day))
        .take(PACE_DAYS)
        .map(|day| snapshot.mailers_by_day.get(&day).cloned().unwrap_or_default())
        .collect()
}
