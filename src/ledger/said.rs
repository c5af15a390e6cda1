//! What the seller says, by command or by a filled-in sheet: the same effect either way.

use std::fmt::Display;

use jiff::civil::Date;
use jiff::{Timestamp, ZonedDateTime};
use rusqlite::{Connection, OptionalExtension, params};

use crate::model::day::{Question, QuestionId, Refused};
use crate::model::handoff::Arrival;
use crate::model::order::OrderId;
use crate::model::parcel::ParcelState;
use crate::model::reply;
use crate::model::said::{Said, Saying};
use crate::model::sending::SendingId;
use crate::model::subject::{Lying, Subject};
use crate::model::trade::{Trade, TradeId};

use super::{
    Ledger, LedgerError, called_off, columns_of, from_doc, on_the_table, orders, parsed, pictures, standing, to_doc,
};

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
    pub(super) fn of(column: &'static str, value: &dyn Display, reason: String) -> Self {
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
    pub fn answer(&mut self, question: QuestionId, choice: &str, now: &ZonedDateTime) -> Result<(), LedgerError> {
        let tx = self.db.transaction()?;
        answered(&tx, question, choice, now)??;
        tx.commit()?;
        Ok(())
    }

    /// Records that a partner's half came.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where there is no such trade, or the day is still to come.
    pub fn arrived(&mut self, trade: TradeId, on: Date, now: &ZonedDateTime) -> Result<(), LedgerError> {
        let arrival = Arrival { line: 0, trade, arrived_on: on, condition: None, note: None };
        let tx = self.db.transaction()?;
        arrived(&tx, &arrival, now)??;
        tx.commit()?;
        Ok(())
    }

    /// Takes the seller's hold off, or takes back that the seller called it off: then what is in no parcel is due again.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where it isn't held or called off by the seller.
    pub fn release(&mut self, id: &SendingId, now: Timestamp) -> Result<Released, LedgerError> {
        self.must_know(id)?;
        let tx = self.db.transaction()?;
        let held = tx.execute("DELETE FROM holds WHERE id = ?1", [id.to_string()])?;
        let released = match (called_off::take_back(&tx, id)?, held) {
            (0, 0) => {
                return Err(LedgerError::NotNow(format!(
                    "`{id}` is neither held nor called off by you; `dawnpack list held` says what holds it, and what its \
                     source called off only the source opens again"
                )));
            }
            (0, _) => Released::Hold,
            (_, _) => Released::DueAgain,
        };
        note_said(&tx, now, Saying::Released { id: id.clone() })?;
        tx.commit()?;
        Ok(released)
    }

    /// Calls an order or trade off. Where it lies in a parcel that is not handed over, that parcel is cancelled
    /// with it, and whatever else was in the parcel is due again. Of one that went in part, what is left is called off.
    ///
    /// # Errors
    /// [`LedgerError::NotNow`] where all of it was handed over already.
    pub fn cancel(&mut self, id: &SendingId, now: Timestamp) -> Result<Cancelled, LedgerError> {
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
        let refs = |parcels: Vec<(i64, String, String)>| parcels.into_iter().map(|(_, parcel, _)| parcel).collect();
        let cancelled = Cancelled { unpack: refs(open), gone: refs(gone) };
        note_said(&tx, now, Saying::Cancelled { id: id.clone(), unpacked: cancelled.unpack.clone() })?;
        tx.commit()?;
        Ok(cancelled)
    }

    pub(super) fn must_know(&self, id: &SendingId) -> Result<(), LedgerError> {
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

/// Records an answer; the sentence is for one that fits no question or none of its choices.
pub(super) fn answered(
    db: &Connection,
    id: QuestionId,
    choice: &str,
    now: &ZonedDateTime,
) -> Result<Result<(), Misfit>, LedgerError> {
    let found: Option<(String, Option<String>)> = db
        .query_row("SELECT doc, answer FROM questions WHERE id = ?1", [id.0], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((doc, answer)) = found else {
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
    // A sheet is filled in bit by bit and dropped each time: what was said before has had its effect.
    if answer.as_deref() == Some(choice) {
        return Ok(Ok(()));
    }
    if let Err(reason) = take_effect(db, &question.subject, choice, now.date())? {
        return Ok(Err(misfit(format!("question {id} {reason}"))));
    }
    db.execute(
        "UPDATE questions SET answer = ?2, answered_at = ?3 WHERE id = ?1",
        params![id.0, choice, now.timestamp().to_string()],
    )?;
    if let Subject::HandOff { parcel, .. } = &question.subject {
        standing::settle_told(db, parcel)?;
    }
    note_said(db, now.timestamp(), Saying::Answered { question: id, asked: question.text, choice: choice.clone() })?;
    Ok(Ok(()))
}

/// Notes what was said, for the next email.
pub(super) fn note_said(db: &Connection, at: Timestamp, what: Saying) -> Result<(), LedgerError> {
    db.execute("INSERT INTO said (doc) VALUES (?1)", [to_doc("thing said", &Said { at, what })?])?;
    Ok(())
}

/// What an answer changes in the ledger at once; most are only looked up when the next day is planned. The sentence is
/// for one that can change nothing any more.
fn take_effect(
    db: &Connection,
    subject: &Subject,
    choice: &str,
    today: Date,
) -> Result<Result<(), String>, LedgerError> {
    match subject {
        Subject::ReusedNumber { order, mark } => orders::said_of_reused(db, order, mark, parsed("answer", choice)?),
        Subject::SameOrder { newer, older } => said_of_twins(db, newer, older, parsed("answer", choice)?),
        Subject::OpenParcel { parcel, listed, with } => {
            let lying = Lying { parcel: parcel.clone(), listed: *listed };
            goes_with(db, &lying, with, parsed("answer", choice)?)
        }
        Subject::OnTheTable { parcels, .. } => on_the_table_said(db, parcels, parsed("answer", choice)?, today),
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
        | Subject::HandOff { .. }
        | Subject::Dates { .. } => Ok(Ok(())),
    }
}

/// Whether it can still be said where something goes that could go with a listed parcel. The plan of the next day does
/// the rest; what was packed with it already is asked about then.
fn goes_with(
    db: &Connection,
    lying: &Lying,
    with: &SendingId,
    said: reply::OpenParcel,
) -> Result<Result<(), String>, LedgerError> {
    let packed = on_the_table::packed_with(db, lying, with)?;
    let parcel = &lying.parcel;
    Ok(match (said, packed) {
        (reply::OpenParcel::WithIt, Some(_)) | (reply::OpenParcel::Apart, None | Some((_, ParcelState::Listed))) => {
            Ok(())
        }
        (reply::OpenParcel::Apart, Some((together, state))) => Err(format!(
            "comes too late: {with} and what lay in {parcel} are in {together}, which is {} already",
            state.word()
        )),
        (reply::OpenParcel::WithIt, None) => match on_the_table::state(db, lying)? {
            Some(ParcelState::Listed) => Ok(()),
            Some(state) => {
                Err(format!("comes too late: parcel {parcel} is {}; {with} goes in a parcel of its own", state.word()))
            }
            None => Err(format!("is about parcel {parcel}, which the ledger no longer has")),
        },
    })
}

/// What becomes of listed parcels: packed anew, or left, with the plan of the next day; gone, at once.
fn on_the_table_said(
    db: &Connection,
    parcels: &[Lying],
    said: reply::OnTheTable,
    today: Date,
) -> Result<Result<(), String>, LedgerError> {
    for lying in parcels {
        match on_the_table::state(db, lying)? {
            Some(ParcelState::Listed) => {}
            Some(state) => {
                return Ok(Err(format!("comes too late: parcel {} is {} already", lying.parcel, state.word())));
            }
            None => return Ok(Err(format!("is about parcel {}, which the ledger no longer has", lying.parcel))),
        }
    }
    match said {
        reply::OnTheTable::PackAnew | reply::OnTheTable::Leave => {}
        reply::OnTheTable::Went => on_the_table::went(db, parcels, today)?,
    }
    Ok(Ok(()))
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
pub(super) fn still_to_come(column: &'static str, day: Date, what: &str, today: Date) -> Misfit {
    Misfit::of(column, &day, format!("this day is still to come, as today is {today}; write the day it {what}"))
}

/// Records that a partner's half came.
pub(super) fn arrived(
    db: &Connection,
    arrival: &Arrival,
    now: &ZonedDateTime,
) -> Result<Result<(), Misfit>, LedgerError> {
    let Arrival { line: _, trade: id, arrived_on: on, condition, note } = arrival;
    let (on, today) = (*on, now.date());
    // Taken as it stands it would let my half go at once.
    if on > today {
        return Ok(Err(still_to_come("arrived_on", on, "came", today)));
    }
    let known: Option<(String, [Option<String>; 3])> = db
        .query_row("SELECT doc, arrived_on, condition, arrival_note FROM trades WHERE id = ?1", [id.0], |row| {
            Ok((row.get(0)?, [row.get(1)?, row.get(2)?, row.get(3)?]))
        })
        .optional()?;
    let Some((doc, before)) = known else {
        let reason = format!("there is no trade `{id}`; write it as it stands on the sheet of incoming trades");
        return Ok(Err(Misfit::of("trade", id, reason)));
    };
    let trade: Trade = from_doc("trade", &doc)?;
    if on < trade.agreed {
        let reason = format!("trade {id} was only agreed on {}; write the day it came", trade.agreed);
        return Ok(Err(Misfit::of("arrived_on", &on, reason)));
    }
    // The sheet of a week comes back again and again with what it said before.
    let told = [Some(on.to_string()), condition.clone(), note.clone()];
    if told.iter().zip(&before).all(|(told, before)| told.is_none() || told == before) {
        return Ok(Ok(()));
    }
    db.execute(
        "UPDATE trades SET arrived_on = ?2, condition = coalesce(?3, condition),
            arrival_note = coalesce(?4, arrival_note) WHERE id = ?1",
        params![id.0, on.to_string(), condition, note],
    )?;
    let condition = condition.clone();
    note_said(db, now.timestamp(), Saying::Arrived { trade: *id, with: trade.with.name, on, condition })?;
    Ok(Ok(()))
}
