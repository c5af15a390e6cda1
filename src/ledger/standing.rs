//! Where parcels stand, reckoned anew from all that is recorded of them.
//!
//! Handed the keys of the parcels that a file told something of; writes what [`standing`] says of each. The rows of
//! sheets, receipts and postage are what is recorded; a parcel's own columns only follow from them.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rusqlite::{Connection, Row, params};

use crate::model::day::{Question, Remark};
use crate::model::handoff::HandoffEntry;
use crate::model::parcel::ParcelRef;
use crate::model::subject::{Lying, Subject};
use crate::plan::snapshot::ToldTwice;
use crate::plan::standing::{Facts, ReceiptRow, SheetRow, days_told, disagreements, standing};

use super::{Ledger, LedgerError, from_doc, parsed, to_doc};

/// The day by which a file had come: in UTC, and so a day on wherever it is a day later there.
pub(super) fn came_by(taken_at: &str) -> Result<Date, LedgerError> {
    let at: Timestamp = parsed("time", taken_at)?;
    let day = at.to_zoned_datetime(TimeZone::UTC).date();
    Ok(day.tomorrow().unwrap_or(day))
}

/// Reckons anew where these parcels stand.
pub(super) fn settle(db: &Connection, parcels: &BTreeSet<i64>) -> Result<(), LedgerError> {
    for parcel in parcels {
        let stands = standing(&facts(db, *parcel)?);
        let day = |day: Option<Date>| day.map(|day| day.to_string());
        db.execute(
            "UPDATE parcels SET state = ?2, handed_over_on = ?3, handed_over_why = ?4, accepted_on = ?5,
                sheet_tracking = ?6, tracking = ?7, postage_paid = ?8, scale = ?9, place = ?10, note = ?11
             WHERE id = ?1",
            params![
                parcel,
                stands.state.word(),
                day(stands.handed_over_on),
                stands.handed_over_why,
                day(stands.accepted_on),
                stands.sheet_tracking,
                stands.tracking,
                stands.postage_paid.map(|paid| to_doc("postage", &paid)).transpose()?,
                stands.scale.map(|scale| to_doc("scale reading", &scale)).transpose()?,
                stands.place,
                stands.note
            ],
        )?;
    }
    Ok(())
}

/// What the rows of a sheet say otherwise than other sheets did.
pub(super) fn remarks(
    db: &Connection,
    drop: i64,
    file: &str,
    parcels: &BTreeSet<i64>,
) -> Result<Vec<Remark>, LedgerError> {
    let mut all = Vec::new();
    for parcel in parcels {
        let told = disagreements(&sheets(db, *parcel)?, drop).into_iter().map(|told| Remark {
            file: file.to_owned(),
            line: Some(told.line),
            column: Some(told.column.to_owned()),
            text: told.text,
        });
        all.extend(told);
    }
    all.sort();
    Ok(all)
}

/// Reckons anew where a parcel stands, once the seller said on which day it was handed over.
pub(super) fn settle_told(db: &Connection, parcel: &Lying) -> Result<(), LedgerError> {
    let keys = db
        .prepare("SELECT id FROM parcels WHERE ref = ?1 AND listed_on = ?2")?
        .query_map([&parcel.parcel.0, &parcel.listed.to_string()], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    settle(db, &keys)
}

/// What the seller said of a parcel whose sheets say several days.
fn said_days(db: &Connection, parcel: i64) -> Result<Vec<(Vec<Date>, Date)>, LedgerError> {
    let asked = rows(
        db,
        "SELECT q.doc, q.answer FROM questions q JOIN parcels p ON p.ref = q.doc ->> '$.subject.parcel.parcel'
            AND p.listed_on = q.doc ->> '$.subject.parcel.listed'
         WHERE p.id = ?1 AND q.answer IS NOT NULL AND q.doc ->> '$.subject.kind' = 'hand-off'",
        parcel,
        |row| Ok((from_doc::<Question>("question", &row.get::<_, String>(0)?)?, row.get::<_, String>(1)?)),
    )?;
    let mut all = Vec::new();
    for (question, answer) in asked {
        if let Subject::HandOff { days, .. } = question.subject {
            all.push((days, parsed("answer", &answer)?));
        }
    }
    Ok(all)
}

impl Ledger {
    /// Parcels that went, and whose sheets say several days of it.
    pub(super) fn told_twice(&self) -> Result<Vec<ToldTwice>, LedgerError> {
        let parcels = self.rows(
            "SELECT p.id, p.ref, p.listed_on, p.name FROM parcels p WHERE p.handed_over_on IS NOT NULL
                AND p.state <> 'cancelled'
                AND (SELECT count(DISTINCT doc ->> '$.handed_over_on') FROM handoff_rows WHERE parcel_id = p.id) > 1
             ORDER BY p.id",
            |row| {
                let listed = parsed("date", &row.get::<_, String>(2)?)?;
                Ok((row.get::<_, i64>(0)?, Lying { parcel: ParcelRef(row.get(1)?), listed }, row.get::<_, String>(3)?))
            },
        )?;
        let mut all = Vec::new();
        for (id, parcel, name) in parcels {
            let days = days_told(&sheets(&self.db, id)?);
            if days.len() > 1 {
                let holds = rows(
                    &self.db,
                    "SELECT DISTINCT coalesce(source || ':' || number, printf('T-%04d', trade_id)) FROM parcel_items
                     WHERE parcel_id = ?1 ORDER BY 1",
                    id,
                    |row| parsed("contents of a parcel", &row.get::<_, String>(0)?),
                )?;
                all.push(ToldTwice { parcel, name, holds, days });
            }
        }
        Ok(all)
    }
}

fn facts(db: &Connection, parcel: i64) -> Result<Facts, LedgerError> {
    let (state, gone): (String, Option<String>) =
        db.query_row("SELECT state, said_gone_on FROM parcels WHERE id = ?1", [parcel], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?;
    Ok(Facts {
        state: parsed("parcel state", &state)?,
        said_gone_on: gone.map(|day| parsed("date", &day)).transpose()?,
        said_days: said_days(db, parcel)?,
        sheets: sheets(db, parcel)?,
        receipts: rows(
            db,
            "SELECT d.name, r.doc FROM receipts r JOIN drops d ON d.id = r.drop_id WHERE r.parcel_id = ?1",
            parcel,
            |row| Ok(ReceiptRow { file: row.get(0)?, row: from_doc("receipt", &row.get::<_, String>(1)?)? }),
        )?,
        postage: rows(db, "SELECT doc FROM postage_bought WHERE parcel_id = ?1", parcel, |row| {
            from_doc("postage", &row.get::<_, String>(0)?)
        })?,
    })
}

fn sheets(db: &Connection, parcel: i64) -> Result<Vec<SheetRow>, LedgerError> {
    let mut sheets = rows(
        db,
        "SELECT h.doc, d.taken_at, d.id FROM handoff_rows h JOIN drops d ON d.id = h.drop_id WHERE h.parcel_id = ?1",
        parcel,
        |row| {
            Ok(SheetRow {
                entry: from_doc("hand-off row", &row.get::<_, String>(0)?)?,
                taken_on: came_by(&row.get::<_, String>(1)?)?,
                drop: row.get(2)?,
            })
        },
    )?;
    // What was recorded before this was kept row by row is older than every row.
    let before = rows(db, "SELECT doc FROM handoff_before WHERE parcel_id = ?1", parcel, |row| {
        let entry: HandoffEntry = from_doc("hand-off", &row.get::<_, String>(0)?)?;
        Ok(SheetRow { entry, taken_on: Date::MIN, drop: 0 })
    })?;
    sheets.extend(before);
    Ok(sheets)
}

fn rows<T>(
    db: &Connection,
    sql: &str,
    parcel: i64,
    mut make: impl FnMut(&Row<'_>) -> Result<T, LedgerError>,
) -> Result<Vec<T>, LedgerError> {
    let mut statement = db.prepare_cached(sql)?;
    let mut found = statement.query([parcel])?;
    let mut all = Vec::new();
    while let Some(row) = found.next()? {
        all.push(make(row)?);
    }
    Ok(all)
}
