//! What the scale showed of sealed parcels, with what they were planned to hold; how many mailers went each day.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;
use rusqlite::Transaction;

use crate::model::day::DayPlan;
use crate::model::mass::Weight;
use crate::plan::snapshot::{ScaleDay, Shown};

use super::{Ledger, LedgerError, from_doc, parsed, to_u32};

/// How far back readings teach and mailers count, in days: half a year, as stock is made anew about that often.
/// Common practice, no source.
const LOOK_BACK: i64 = 183;

impl Ledger {
    /// The days before or on `date` of which some parcel was weighed, oldest first, each with all of its parcels as
    /// planned, in packing order. What was cancelled isn't there.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn scale_days(&self, date: Date) -> Result<Vec<ScaleDay>, LedgerError> {
        let mut shown: BTreeMap<(Date, String), (Option<Weight>, bool)> = BTreeMap::new();
        self.rows_of(
            "SELECT p.listed_on, p.ref, p.scale, p.scale_told IS NOT NULL FROM parcels p
             WHERE p.state <> 'cancelled' AND p.listed_on >= ?1 AND p.listed_on <= ?2 AND EXISTS (
                SELECT 1 FROM parcels q WHERE q.listed_on = p.listed_on AND q.scale IS NOT NULL)",
            (since(date).to_string(), date.to_string()),
            |row| {
                let listed: Date = parsed("date", &row.get::<_, String>(0)?)?;
                let scale: Option<String> = row.get(2)?;
                let scale = scale.map(|scale| from_doc("scale reading", &scale)).transpose()?;
                shown.insert((listed, row.get(1)?), (scale, row.get(3)?));
                Ok(())
            },
        )?;
        let mut days: BTreeMap<Date, Vec<Shown>> = BTreeMap::new();
        let listed: BTreeSet<String> = shown.keys().map(|(day, _)| day.to_string()).collect();
        for day in listed {
            self.rows_of("SELECT plan FROM manifests WHERE date = ?1 ORDER BY revision", [day], |row| {
                let plan: DayPlan = from_doc("plan", &row.get::<_, String>(0)?)?;
                days.entry(plan.date).or_default().extend(plan.parcels.into_iter().filter_map(|parcel| {
                    let (scale, told) = *shown.get(&(plan.date, parcel.r#ref.0.clone()))?;
                    Some(Shown { parcel, scale, told })
                }));
                Ok(())
            })?;
        }
        Ok(days.into_iter().map(|(listed, parcels)| ScaleDay { listed, parcels }).collect())
    }

    /// Mailers that went on the days before `date`, by day and code. What was cancelled isn't counted.
    pub(super) fn mailers_by_day(&self, date: Date) -> Result<BTreeMap<Date, BTreeMap<String, u32>>, LedgerError> {
        let mut days: BTreeMap<Date, BTreeMap<String, u32>> = BTreeMap::new();
        self.rows_of(
            "SELECT listed_on, mailer, count(*) FROM parcels
             WHERE state <> 'cancelled' AND listed_on >= ?1 AND listed_on < ?2 GROUP BY listed_on, mailer",
            (since(date).to_string(), date.to_string()),
            |row| {
                let day: Date = parsed("date", &row.get::<_, String>(0)?)?;
                days.entry(day).or_default().insert(row.get(1)?, to_u32(row.get(2)?));
                Ok(())
            },
        )?;
        Ok(days)
    }
}

fn since(date: Date) -> Date {
    date.saturating_sub(LOOK_BACK.days())
}

/// Notes that `manifest` tells what there is to tell of every reading so far.
pub(super) fn told(tx: &Transaction<'_>, manifest: i64) -> Result<(), LedgerError> {
    tx.execute("UPDATE parcels SET scale_told = ?1 WHERE scale IS NOT NULL AND scale_told IS NULL", [manifest])?;
    Ok(())
}
