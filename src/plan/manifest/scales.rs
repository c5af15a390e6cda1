//! What the scale says of sealed parcels: those that weigh otherwise than planned, and what all of them teach.
//!
//! Handed the days of which parcels were weighed; promises each finding once, by the masses that enough parcels have
//! taught, else by those of the seller's files, and only those worth a look. Turned down: taking what was learnt for the
//! plan by itself, as the catalogue is the seller's to write.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::model::scale::{Finding, LearntMass, Reading, ScaleFinding};
use crate::plan::calendar;
use crate::plan::snapshot::{Rules, ScaleDay, Shown};
use crate::plan::weighing::learning::{self, Learnt, Weighed};
use crate::plan::weighing::masses::{self, Masses, Sealed};
use crate::plan::weighing::scale;

/// Parcels that must have taught before what they taught is believed: of fewer, one that lacks a pin bends the masses
/// towards itself. Common practice, no source.
const TAUGHT: u32 = 20;

/// What is to be told.
pub(super) struct Scales {
    /// Parcels that weigh otherwise than planned and of which no manifest has told.
    pub(super) findings: Vec<ScaleFinding>,
    /// Masses to put right in the seller's files.
    pub(super) masses: Vec<LearntMass>,
}

pub(super) fn read(days: &[ScaleDay], rules: &Rules<'_>, date: Date) -> Scales {
    let is_untold = |shown: &Shown| shown.scale.is_some() && !shown.told;
    let untold: Vec<&ScaleDay> = days.iter().filter(|day| day.parcels.iter().any(is_untold)).collect();
    let begins = begins_week(date, rules);
    if untold.is_empty() && !begins {
        // Learning from half a year of parcels takes seconds, and there is nothing to tell of it.
        return Scales { findings: Vec::new(), masses: Vec::new() };
    }
    let learnt = learn(days, rules);
    let written = Masses::new(&masses::known(rules.catalogue, rules.mailers));
    let believed = if learnt.parcels < TAUGHT { &written } else { &learnt.masses };
    Scales {
        findings: untold.into_iter().flat_map(|day| of_day(day, rules, believed)).collect(),
        masses: if begins { learnt.proposals().cloned().collect() } else { Vec::new() },
    }
}

/// What is to be told of one day's parcels.
fn of_day(day: &ScaleDay, rules: &Rules<'_>, believed: &Masses) -> Vec<ScaleFinding> {
    let on_scale: Vec<scale::OnScale> = day
        .parcels
        .iter()
        .map(|shown| scale::OnScale {
            sealed: Sealed::of(&shown.parcel, rules.packing),
            reading: shown.scale.map(Reading::of),
        })
        .collect();
    let is_told =
        |finding: &ScaleFinding| day.parcels.iter().any(|shown| shown.told && shown.parcel.r#ref == finding.parcel);
    // A parcel with an article that has left the catalogue can't be judged, and nothing is wrong with it.
    scale::check(&on_scale, believed)
        .into_iter()
        .filter_map(Result::ok)
        .filter(|finding| finding.likeliest.finding != Finding::AsPlanned && !is_told(finding))
        .collect()
}

/// Whether no day of the week before `date` was a working one: what is no hurry is told then.
fn begins_week(date: Date, rules: &Rules<'_>) -> bool {
    let monday = date.saturating_sub(i64::from(date.weekday().to_monday_zero_offset()).days());
    calendar::on_or_after(&[rules.calendar], monday) == date
}

/// What the parcels of `days` teach of the masses in the seller's files.
#[must_use]
pub fn learn(days: &[ScaleDay], rules: &Rules<'_>) -> Learnt {
    let weighed: Vec<Weighed> = days
        .iter()
        .flat_map(|day| &day.parcels)
        .filter_map(|shown| {
            Some(Weighed { sealed: Sealed::of(&shown.parcel, rules.packing), reading: Reading::of(shown.scale?) })
        })
        .collect();
    learning::learn(&masses::known(rules.catalogue, rules.mailers), &weighed)
}
