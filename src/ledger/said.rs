//! What the seller says, by command or by a filled-in sheet: the same effect either way.

use std::fmt::Display;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, params};

use crate::model::day::{Question, QuestionId, Refused};
use crate::model::handoff::HandoffEntry;
use crate::model::order::OrderId;
use crate::model::parcel::ParcelRef;
use crate::model::reply;
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::model::trade::TradeId;

use super::{Ledger, LedgerError, called_off, columns_of, from_doc, orders, parsed, pictures, to_doc};

/// What the seller said that fits nothing in the ledger.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Misfit {
    /// The sheet's column, where it is one cell.
    pub(super) column: Option<&'static str>,
    /// What was said.
    pub(super) value: String,
    /// Why it fits nothing, and what to do.
    pub(super) reason: String,
}

impl Misfit {
    fn of(column: &'static str, value: &dyn Display, reason: String) -> Self {
        Self { column: Some(column), value: value.to_string(), reason }
    }

    /// As a refusal of a row of a file.
    pub(super) fn refused(self, file: &str, line: Option<u64>) -> Refused {
        let Self { column, value, reason } = self;
        Refused { file: file.to_owned(), line, column: column.map(str::to_owned), value: Some(value), reason }
    }
}

impl From<Misfit> for LedgerError {
    fn from(misfit: Misfit) -> Self {
        Self::NotNow(misfit.reason)
    }
}

/// What calling an order or trade off came to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cancelled {
    /// Refs of the parcels that are cancelled with it, to unpack.
    pub unpack: Vec<String>,
    /// Refs of the parcels in which a part of it went; that stays gone.
    pub gone: Vec<String>,
}

/// What a release took back.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Released {
    /// The seller's hold.
    Hold,
    /// The seller's calling it off.
    DueAgain,
}

impl Ledger {
    /// Answers a question.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where there is no such question or choice.
    pub fn answer(&mut self, question: QuestionId, choice: &str, now: Timestamp) -> Result<(), LedgerError> {
        let tx = self.db.transaction()?;
        answered(&tx, question, choice, now)??;
        tx.commit()?;
        Ok(())
    }

    /// Records that a partner's half came.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where there is no such trade, or the day is still to come.
    pub fn arrived(&mut self, trade: TradeId, on: Date, today: Date) -> Result<(), LedgerError> {
        Ok(arrived(&self.db, trade, on, None, today)??)
    }

    /// Holds an order or trade: until a day, until another order or trade can go with it, or until it is released.
    ///
    /// # Errors
    /// [`LedgerError::NotThere`] where there is none of that id, [`LedgerError::NotNow`] where it would wait for
    /// itself.
    pub fn hold(
        &mut self,
        id: &SendingId,
        until: Option<Date>,
        waits_for: Option<&SendingId>,
        note: Option<&str>,
        now: Timestamp,
    ) -> Result<(), LedgerError> {
        self.must_know(id)?;
        if let Some(other) = waits_for {
            self.must_know(other)?;
            if other == id {
                return Err(LedgerError::NotNow(format!("`{id}` can't wait for itself; name another order or trade")));
            }
        }
        self.db.execute(
            "INSERT INTO holds (id, until, note, held_at, waits_for) VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (id) DO UPDATE SET until = ?2, note = ?3, held_at = ?4, waits_for = ?5",
            params![
                id.to_string(),
                until.map(|day| day.to_string()),
                note,
                now.to_string(),
                waits_for.map(ToString::to_string)
            ],
        )?;
        Ok(())
    }

    /// Takes the seller's hold off, or takes back that the seller called it off: then what is in no parcel is due again.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where it isn't held or called off by the seller.
    pub fn release(&mut self, id: &SendingId) -> Result<Released, LedgerError> {
        self.must_know(id)?;
        let tx = self.db.transaction()?;
        let held = tx.execute("DELETE FROM holds WHERE id = ?1", [id.to_string()])?;
        let back = called_off::take_back(&tx, id)?;
        tx.commit()?;
        match (back, held) {
            (0, 0) => Err(LedgerError::NotNow(format!(
                "`{id}` is neither held nor called off by you; `dawnpack list held` says what holds it, and what its \
                 source called off only the source opens again"
            ))),
            (0, _) => Ok(Released::Hold),
            (_, _) => Ok(Released::DueAgain),
        }
    }

    /// Calls an order or trade off. Where it lies in a parcel that is not handed over, that parcel is cancelled
    /// with it, and whatever else was in the parcel is due again. Of one that went in part, what is left is called off.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where all of it was handed over already.
    pub fn cancel(&mut self, id: &SendingId) -> Result<Cancelled, LedgerError> {
        self.must_know(id)?;
        let tx = self.db.transaction()?;
        let (open, gone): (Vec<_>, Vec<_>) =
            parcels_of(&tx, id)?.into_iter().partition(|(_, _, state)| state == "listed");
        for (key, _, _) in &open {
            tx.execute("UPDATE parcels SET state = 'cancelled' WHERE id = ?1", [key])?;
        }
        let rest = if gone.is_empty() {
            called_off::whole(&tx, id)?;
            true
        } else {
            called_off::rest(&tx, id)? > 0 || !open.is_empty()
        };
        if let Some((_, parcel, state)) = gone.first().filter(|_| !rest) {
            return Err(LedgerError::NotNow(format!(
                "`{id}` is in parcel {parcel}, which is {state} already, and nothing of it is left to call off; what \
                 went, only the recipient can send back"
            )));
        }
        tx.commit()?;
        let refs = |parcels: Vec<(i64, String, String)>| parcels.into_iter().map(|(_, parcel, _)| parcel).collect();
        Ok(Cancelled { unpack: refs(open), gone: refs(gone) })
    }

    fn must_know(&self, id: &SendingId) -> Result<(), LedgerError> {
        let known: bool = self.db.query_row(
            "SELECT EXISTS (SELECT 1 FROM orders WHERE source = ?1 AND number = ?2)
                 OR EXISTS (SELECT 1 FROM trades WHERE id = ?3)",
            columns_of(id),
            |row| row.get(0),
        )?;
        if known { Ok(()) } else { Err(LedgerError::NotThere(id.to_string())) }
    }
}

/// Keys, refs and states of the parcels that an order or trade is in, cancelled ones left out.
fn parcels_of(db: &Connection, id: &SendingId) -> Result<Vec<(i64, String, String)>, LedgerError> {
    let mut statement = db.prepare(
        "SELECT DISTINCT p.id, p.ref, p.state FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
         WHERE ((i.source = ?1 AND i.number = ?2) OR i.trade_id = ?3) AND p.state <> 'cancelled' ORDER BY p.id",
    )?;
    let rows = statement.query_map(columns_of(id), |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Records a row of the hand-off sheet; the sentence is for a row that fits nothing.
pub(super) fn handed_over(
    db: &Connection,
    drop: i64,
    entry: &HandoffEntry,
    today: Date,
) -> Result<Result<(), Misfit>, LedgerError> {
    if let Some(day) = entry.handed_over_on.filter(|day| *day > today) {
        return Ok(Err(still_to_come("handed_over_on", day, "went", today)));
    }
    // A ref comes round again every year: the sheet's own date says which one is meant, else the latest.
    let sheet_date = entry.sheet.split_whitespace().find_map(|word| word.parse::<Date>().ok());
    let found: Option<(i64, String)> = db
        .query_row(
            "SELECT id, state FROM parcels WHERE ref = ?1 AND (?2 IS NULL OR listed_on <= ?2)
             ORDER BY listed_on DESC LIMIT 1",
            params![entry.parcel.0, sheet_date.map(|day| day.to_string())],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let Some((id, state)) = found else {
        let reason = format!("there is no parcel `{}`; write the ref as it stands on the packing card", entry.parcel);
        return Ok(Err(Misfit::of("parcel", &entry.parcel, reason)));
    };
    if state == "cancelled" && entry.handed_over_on.is_some() {
        let reason = format!("parcel {} was cancelled; if it did go, tell what went by hand", entry.parcel);
        return Ok(Err(Misfit::of("parcel", &entry.parcel, reason)));
    }
    db.execute(
        "UPDATE parcels SET
            handed_over_on = coalesce(?2, handed_over_on), tracking = coalesce(?3, tracking),
            postage_paid = coalesce(?4, postage_paid), scale = coalesce(?5, scale),
            place = coalesce(?6, place), note = coalesce(?7, note),
            handed_over_why = CASE WHEN ?2 IS NULL THEN handed_over_why END,
            state = CASE WHEN ?2 IS NOT NULL AND state = 'listed' THEN 'handed-over' ELSE state END
         WHERE id = ?1",
        params![
            id,
            entry.handed_over_on.map(|day| day.to_string()),
            entry.tracking,
            entry.postage_paid.map(|paid| to_doc("postage", &paid)).transpose()?,
            entry.scale.map(|scale| to_doc("scale reading", &scale)).transpose()?,
            entry.place,
            entry.note
        ],
    )?;
    db.execute(
        "INSERT INTO handoff_rows (drop_id, line, parcel_id, doc) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT (drop_id, line) DO UPDATE SET parcel_id = ?3, doc = ?4",
        params![drop, entry.line.cast_signed(), id, to_doc("hand-off row", entry)?],
    )?;
    Ok(Ok(()))
}

/// Records an answer; the sentence is for one that fits no question or none of its choices.
pub(super) fn answered(
    db: &Connection,
    id: QuestionId,
    choice: &str,
    now: Timestamp,
) -> Result<Result<(), Misfit>, LedgerError> {
    let doc: Option<String> =
        db.query_row("SELECT doc FROM questions WHERE id = ?1", [id.0], |row| row.get(0)).optional()?;
    let Some(doc) = doc else {
        let reason = format!("there is no question `{id}`; `dawnpack list questions` shows the open ones");
        return Ok(Err(Misfit::of("question", &id, reason)));
    };
    let question: Question = from_doc("question", &doc)?;
    let misfit = |reason: String| Misfit::of("answer", &choice, reason);
    let Some(choice) = question.choices.iter().find(|known| known.eq_ignore_ascii_case(choice.trim())) else {
        return Ok(Err(misfit(if question.choices.is_empty() {
            format!("question {id} is answered in the home, not here: {}", question.text)
        } else {
            format!("`{choice}` is no choice of question {id}; write one of: {}", question.choices.join(", "))
        })));
    };
    if let Err(reason) = take_effect(db, &question.subject, choice)? {
        return Ok(Err(misfit(format!("question {id} {reason}"))));
    }
    db.execute(
        "UPDATE questions SET answer = ?2, answered_at = ?3 WHERE id = ?1",
        params![id.0, choice, now.to_string()],
    )?;
    Ok(Ok(()))
}

/// What an answer changes in the ledger at once; most are only looked up when the next day is planned. The sentence is
/// for one that can change nothing any more.
fn take_effect(db: &Connection, subject: &Subject, choice: &str) -> Result<Result<(), String>, LedgerError> {
    match subject {
        Subject::ReusedNumber { order, mark } => orders::said_of_reused(db, order, mark, parsed("answer", choice)?),
        Subject::SameOrder { newer, older } => said_of_twins(db, newer, older, parsed("answer", choice)?),
        Subject::OpenParcel { parcel, listed, .. } => match parsed("answer", choice)? {
            reply::OpenParcel::WithIt => unpack(db, parcel, *listed),
            reply::OpenParcel::Apart => Ok(Ok(())),
        },
        Subject::ReceiptPicture { hash } => {
            let day = match parsed("answer", choice)? {
                reply::ReceiptPicture::Of(day) => Some(day),
                reply::ReceiptPicture::None => None,
            };
            let told = pictures::answered(db, hash, day)?;
            Ok(if told == 0 { Err("is about a picture that the ledger no longer has".to_owned()) } else { Ok(()) })
        }
        Subject::Part { .. }
        | Subject::Article { .. }
        | Subject::Mass { .. }
        | Subject::Address { .. }
        | Subject::SameRecipient { .. }
        | Subject::Customs { .. }
        | Subject::Changed { .. }
        | Subject::PartRefunded { .. }
        | Subject::Reworded { .. }
        | Subject::Wish { .. }
        | Subject::Before { .. }
        | Subject::Dates { .. } => Ok(Ok(())),
    }
}

/// Cancels a parcel that is still unsealed on the table, so that what is in it is packed anew.
fn unpack(db: &Connection, parcel: &ParcelRef, listed: Date) -> Result<Result<(), String>, LedgerError> {
    let unpacked = db.execute(
        "UPDATE parcels SET state = 'cancelled' WHERE ref = ?1 AND listed_on = ?2 AND state = 'listed'",
        params![parcel.0, listed.to_string()],
    )?;
    Ok(if unpacked == 0 {
        let apart = reply::OpenParcel::Apart;
        Err(format!("comes too late: parcel {parcel} is handed over or cancelled; answer {apart}"))
    } else {
        Ok(())
    })
}

/// Whether two orders of two sources are one: the newer is never sent for itself then.
fn said_of_twins(
    db: &Connection,
    newer: &OrderId,
    older: &OrderId,
    said: reply::SameOrder,
) -> Result<Result<(), String>, LedgerError> {
    let same_as = match said {
        reply::SameOrder::Same => Some(older.to_string()),
        reply::SameOrder::Another => None,
    };
    let told = db.execute(
        "UPDATE orders SET same_as = ?3 WHERE source = ?1 AND number = ?2",
        params![newer.source, newer.number, same_as],
    )?;
    Ok(if told == 0 { Err(format!("is about {newer}, which the ledger no longer has")) } else { Ok(()) })
}

/// What can't have happened yet: most often a slip in the year or the month.
fn still_to_come(column: &'static str, day: Date, what: &str, today: Date) -> Misfit {
    Misfit::of(column, &day, format!("this day is still to come, as today is {today}; write the day it {what}"))
}

/// Records that a partner's half came.
pub(super) fn arrived(
    db: &Connection,
    id: TradeId,
    on: Date,
    condition: Option<&str>,
    today: Date,
) -> Result<Result<(), Misfit>, LedgerError> {
    // Taken as it stands it would let my half go at once.
    if on > today {
        return Ok(Err(still_to_come("arrived_on", on, "came", today)));
    }
    let changed = db.execute(
        "UPDATE trades SET arrived_on = ?2, condition = coalesce(?3, condition) WHERE id = ?1",
        params![id.0, on.to_string(), condition],
    )?;
    Ok(if changed == 0 {
        let reason = format!("there is no trade `{id}`; write it as it stands on the sheet of incoming trades");
        Err(Misfit::of("trade", &id, reason))
    } else {
        Ok(())
    })
}
