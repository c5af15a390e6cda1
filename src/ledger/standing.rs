//! Where parcels stand, reckoned anew from all that is recorded of them.
//!
//! Handed the keys of the parcels that a file told something of; writes what [`standing`] says of each. The rows of
//! sheets, receipts and postage are what is recorded; a parcel's own columns only follow from them.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rusqlite::{Connection, Row, params};

use crate::model::day::Remark;
use crate::model::handoff::HandoffEntry;
use crate::plan::standing::{Facts, ReceiptRow, SheetRow, disagreements, standing};

use super::{LedgerError, from_doc, parsed, to_doc};

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

fn facts(db: &Connection, parcel: i64) -> Result<Facts, LedgerError> {
    let (state, gone): (String, Option<String>) =
        db.query_row("SELECT state, said_gone_on FROM parcels WHERE id = ?1", [parcel], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?;
    Ok(Facts {
        state: parsed("parcel state", &state)?,
        said_gone_on: gone.map(|day| parsed("date", &day)).transpose()?,
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
