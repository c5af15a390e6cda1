//! A row of the hand-off sheet, as it meets the ledger.
//!
//! Handed a row that could be read; promises that it is kept for the parcel it names, or given back with what the ledger
//! knows better: no such parcel, a day before its listing or still to come, goods that are packed anew elsewhere. Where
//! the parcel stands then is for [`super::standing`] to reckon. Turned down: refusing a row for a number that stands on
//! another's too, by which the day of the hand-off would be lost with it.

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, params};

use crate::model::day::Remark;
use crate::model::handoff::HandoffEntry;
use crate::model::parcel::{ParcelRef, ParcelState};
use crate::model::sending::SendingId;

use super::said::{Misfit, still_to_come};
use super::{LedgerError, parsed, to_doc};

/// Records a row of the hand-off sheet, and gives the key of its parcel; the sentence is for a row that fits nothing.
pub(super) fn take(
    db: &Connection,
    drop: i64,
    entry: &HandoffEntry,
    today: Date,
) -> Result<Result<i64, Misfit>, LedgerError> {
    if let Some(day) = entry.handed_over_on.filter(|day| *day > today) {
        return Ok(Err(still_to_come("handed_over_on", day, "went", today)));
    }
    // A ref comes round again every year: the sheet's own date says which one is meant, else the latest.
    let sheet_date = entry.written().map(|(date, _)| date);
    let found: Option<(i64, String, String)> = db
        .query_row(
            "SELECT id, state, listed_on FROM parcels WHERE ref = ?1 AND (?2 IS NULL OR listed_on <= ?2)
             ORDER BY listed_on DESC LIMIT 1",
            params![entry.parcel.0, sheet_date.map(|day| day.to_string())],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    let Some((id, state, listed)) = found else {
        let reason = format!("there is no parcel `{}`; write the ref as it stands on the packing card", entry.parcel);
        return Ok(Err(Misfit::of("parcel", &entry.parcel, reason)));
    };
    // That a parcel went is a fact, whatever was said of it before: it is handed over after all, unless what was in it
    // has been packed anew.
    if state == "cancelled"
        && entry.handed_over_on.is_some()
        && let Some(again) = packed_anew(db, id)?
    {
        return Ok(Err(Misfit::of("parcel", &entry.parcel, again.why_not(&entry.parcel))));
    }
    let listed: Date = parsed("date", &listed)?;
    if let Some(misfit) = contradicted(listed, entry) {
        return Ok(Err(misfit));
    }
    note_number_twice(db, drop, id, entry)?;
    if state == "cancelled" && entry.handed_over_on.is_some() {
        db.execute("UPDATE parcels SET state = 'listed' WHERE id = ?1", [id])?;
    }
    db.execute(
        "INSERT INTO handoff_rows (drop_id, line, parcel_id, doc) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT (drop_id, line) DO UPDATE SET parcel_id = ?3, doc = ?4",
        params![drop, entry.line.cast_signed(), id, to_doc("hand-off row", entry)?],
    )?;
    Ok(Ok(id))
}

/// What the ledger knows better than a row of the hand-off sheet.
fn contradicted(listed: Date, entry: &HandoffEntry) -> Option<Misfit> {
    if let Some(day) = entry.handed_over_on.filter(|day| *day < listed) {
        let reason = format!("parcel {} was only listed on {listed}; write the day it went", entry.parcel);
        return Some(Misfit::of("handed_over_on", &day, reason));
    }
    None
}

/// Says so where a number was written for another parcel too: neither is tied by it to a receipt till that is put right.
fn note_number_twice(db: &Connection, drop: i64, id: i64, entry: &HandoffEntry) -> Result<(), LedgerError> {
    let Some(number) = &entry.tracking else { return Ok(()) };
    let other: Option<String> = db
        .query_row(
            "SELECT ref FROM parcels p WHERE id <> ?2 AND state <> 'cancelled' AND (tracking = ?1 OR EXISTS (
                SELECT 1 FROM handoff_rows r WHERE r.parcel_id = p.id AND r.doc ->> '$.tracking' = ?1))
             ORDER BY id DESC LIMIT 1",
            params![number, id],
            |row| row.get(0),
        )
        .optional()?;
    let Some(other) = other else { return Ok(()) };
    let file = db.query_row("SELECT name FROM drops WHERE id = ?1", [drop], |row| row.get(0))?;
    let parcel = &entry.parcel;
    let text = format!(
        "`{number}` was written for parcel {other} too: one of the two is wrong, and no receipt counts for either; look at \
         both labels, and drop the sheet again with {parcel}'s or {other}'s number put right"
    );
    let remark = Remark { file, line: Some(entry.line), column: Some("tracking".to_owned()), text };
    db.execute(
        "INSERT INTO remarks (drop_id, doc) VALUES (?1, ?2) ON CONFLICT (drop_id, doc) DO NOTHING",
        params![drop, to_doc("remark", &remark)?],
    )?;
    Ok(())
}

/// Something of a cancelled parcel that lies in another.
struct PackedAnew {
    what: SendingId,
    parcel: ParcelRef,
    state: ParcelState,
}

impl PackedAnew {
    /// Why the cancelled parcel can't have gone too, and what to do.
    fn why_not(&self, cancelled: &ParcelRef) -> String {
        let Self { what, parcel, state } = self;
        match state {
            ParcelState::Listed => format!(
                "parcel {cancelled} was cancelled, and {what} is packed anew in {parcel}; if {cancelled} did go, keep \
                 {parcel} back: run `dawnpack cancel {what}`, then drop this row again"
            ),
            ParcelState::HandedOver
            | ParcelState::Accepted
            | ParcelState::Closed
            | ParcelState::Cancelled
            | ParcelState::Returned
            | ParcelState::Lost => format!(
                "parcel {cancelled} was cancelled, and {what} went in {parcel}, which is {}; write the ref that stands \
                 on the parcel you handed over",
                state.word()
            ),
        }
    }
}

/// What of a cancelled parcel is in another by now, so that it would have gone twice. Parts of one order that were
/// packed on one morning are not one another's.
fn packed_anew(db: &Connection, cancelled: i64) -> Result<Option<PackedAnew>, LedgerError> {
    let found: Option<(String, String, String)> = db
        .query_row(
            "SELECT coalesce(i.source || ':' || i.number, printf('T-%04d', i.trade_id)), p.ref, p.state
             FROM in_two_parcels i JOIN parcels p ON p.id = i.other_id WHERE i.parcel_id = ?1 ORDER BY p.id LIMIT 1",
            [cancelled],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    let Some((what, parcel, state)) = found else { return Ok(None) };
    Ok(Some(PackedAnew {
        what: parsed("contents of a parcel", &what)?,
        parcel: ParcelRef(parcel),
        state: parsed("parcel state", &state)?,
    }))
}
