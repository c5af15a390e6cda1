//! The life of a trade over the confirmations that tell of it.
//!
//! Handed confirmations; a trade is known again by its partner, the day it was agreed and, where there are several of
//! one day, its number among them. A confirmation is whole: what a later one leaves out is no longer agreed, and
//! everything it says otherwise is noted for the next email. What can't be a later word on the same trade is given back
//! with what to write instead: one in which nothing is as before, one that changes what went in a parcel already, one
//! of a trade that was called off. Turned down: a question for each of these, since it is settled by a line in the
//! confirmation, which then says the same in whatever order it is dropped.

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::model::order::OrderState;
use crate::model::parcel::ParcelState;
use crate::model::trade::{Trade, TradeId};
use crate::plan::identity;

use super::said::Misfit;
use super::take::Change;
use super::{LedgerError, from_doc, parsed, to_doc};

/// A trade of the ledger.
struct Known {
    id: TradeId,
    state: OrderState,
    trade: Trade,
}

/// The key by which a trade is known again.
fn key(trade: &Trade) -> (String, String, u32) {
    (trade.with.name.to_lowercase(), trade.agreed.to_string(), trade.of_day)
}

fn known(db: &Connection, trade: &Trade) -> Result<Option<Known>, LedgerError> {
    let found: Option<(u32, String, String)> = db
        .query_row(
            "SELECT id, state, doc FROM trades WHERE partner = ?1 AND agreed = ?2 AND of_day = ?3",
            key(trade),
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    let Some((id, state, doc)) = found else { return Ok(None) };
    Ok(Some(Known { id: TradeId(id), state: parsed("trade state", &state)?, trade: from_doc("trade", &doc)? }))
}

/// Notes that a file told of a trade.
pub(super) fn note_telling(tx: &Transaction<'_>, drop: i64, trade: &Trade) -> Result<(), LedgerError> {
    let Some(known) = known(tx, trade)? else { return Ok(()) };
    tx.execute(
        "INSERT INTO tellings (drop_id, trade_id) VALUES (?1, ?2) ON CONFLICT (drop_id, trade_id) DO NOTHING",
        params![drop, known.id.0],
    )?;
    Ok(())
}

/// Takes a confirmation in; the sentence is for one that can't be a later word on the trade it names.
pub(super) fn take(tx: &Transaction<'_>, trade: &Trade) -> Result<Result<Change, Misfit>, LedgerError> {
    let doc = to_doc("trade", trade)?;
    let Some(before) = known(tx, trade)? else {
        let (partner, agreed, of_day) = key(trade);
        tx.execute(
            "INSERT INTO trades (partner, agreed, of_day, doc) VALUES (?1, ?2, ?3, ?4)",
            params![partner, agreed, of_day, doc],
        )?;
        return Ok(Ok(Change::New));
    };
    if let Some(reason) = refusal(tx, &before, trade)? {
        return Ok(Err(Misfit { column: None, value: trade.with.name.clone(), reason }));
    }
    if before.trade == *trade {
        return Ok(Ok(Change::Same));
    }
    tx.execute("UPDATE trades SET doc = ?2 WHERE id = ?1", params![before.id.0, doc])?;
    for what in identity::trade_differences(&before.trade, trade) {
        tx.execute("INSERT INTO trade_changes (trade_id, what) VALUES (?1, ?2)", params![before.id.0, what])?;
    }
    Ok(Ok(Change::Changed))
}

/// Why a confirmation can't be a later word on the trade, and what to do.
fn refusal(db: &Connection, before: &Known, trade: &Trade) -> Result<Option<String>, LedgerError> {
    let (id, agreed) = (before.id, trade.agreed);
    let as_another = || -> Result<String, LedgerError> {
        let free = free_number(db, trade)?;
        Ok(format!("write `Trade of that day: {free}` into this confirmation and drop it again"))
    };
    if before.state == OrderState::Cancelled {
        return Ok(Some(format!(
            "is trade {id}, agreed on {agreed}, which is cancelled; if it is on again, {}",
            as_another()?
        )));
    }
    if before.trade == *trade {
        return Ok(None);
    }
    if identity::is_another_trade(&before.trade, trade) {
        return Ok(Some(format!(
            "is agreed with on the same day, {agreed}, as in trade {id}, and nothing in it is the same; if it is \
             another trade, {}; if it takes the place of {id}, run `dawnpack cancel {id}` too",
            as_another()?
        )));
    }
    // What lies in a parcel is known by its place among what I send.
    if before.trade.send == trade.send {
        return Ok(None);
    }
    let mut in_parcels =
        db.prepare("SELECT DISTINCT ref, state FROM live_items WHERE trade_id = ?1 ORDER BY parcel_id")?;
    let in_parcels: Vec<(String, String)> =
        in_parcels.query_map([id.0], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    // What only lies on the table is asked about, and packed anew as this one says.
    if in_parcels.iter().all(|(_, state)| state == ParcelState::Listed.word()) {
        return Ok(None);
    }
    let refs = in_parcels.iter().map(|(parcel, _)| parcel.as_str()).collect::<Vec<_>>().join(" and ");
    Ok(Some(format!(
        "is trade {id}, whose half of yours went in parcel {refs} as it was first confirmed; settle the rest with your \
         partner, and if something more is to go, {} with only that under `I send`",
        as_another()?
    )))
}

/// The first number that none of the trades agreed with that partner on that day has.
fn free_number(db: &Connection, trade: &Trade) -> Result<u32, LedgerError> {
    let (partner, agreed, _) = key(trade);
    Ok(db.query_row(
        "SELECT 1 + max(of_day) FROM trades WHERE partner = ?1 AND agreed = ?2",
        [partner, agreed],
        |row| row.get(0),
    )?)
}
