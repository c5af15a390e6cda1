//! Holding an order or trade back by the seller's word.
//!
//! Handed what to hold, and till when; promises that a hold is only noted where it keeps something back. Of what lies in
//! a parcel, went, or is called off, it says so instead, with the parcel, the day, and what would keep it back. Turned
//! down: noting it all the same for what may be due again some day, by which "held" was said of a parcel on its way.

use jiff::ZonedDateTime;
use jiff::civil::Date;
use rusqlite::params;

use crate::model::calendar;
use crate::model::day::{Question, QuestionId};
use crate::model::order::OrderState;
use crate::model::parcel::{ParcelRef, ParcelState};
use crate::model::reply;
use crate::model::said::Saying;
use crate::model::sending::SendingId;
use crate::model::subject::{Lying, Subject};

use super::said::note_said;
use super::{Ledger, LedgerError, columns_of, from_doc, parsed};

/// A parcel that holds something of what is asked about.
struct In {
    lying: Lying,
    state: ParcelState,
    handed_over_on: Option<Date>,
}

/// Why nothing of an order or trade is to go.
struct NothingLeft {
    /// What is true of it: `stall:7 lies in parcel 1125-01`.
    fact: String,
    /// What to do instead, where something can be done.
    instead: Option<String>,
}

impl Ledger {
    /// Holds what is still to go of an order or trade: until a day, until another order or trade can go with it, or
    /// until it is released. Gives the parcels that hold the rest of it, which is not held.
    ///
    /// # Errors
    /// [`LedgerError::NotThere`] where there is none of that id, [`LedgerError::NotNow`] where nothing of it is left to
    /// hold, where it would wait for itself or for what is not to come, or the day is past or out of all reason.
    pub fn hold(
        &mut self,
        id: &SendingId,
        until: Option<Date>,
        waits_for: Option<&SendingId>,
        note: Option<&str>,
        now: &ZonedDateTime,
    ) -> Result<Vec<ParcelRef>, LedgerError> {
        self.must_know(id)?;
        if let Some(reason) = until.and_then(|until| no_end_of_a_hold(until, now.date())) {
            return Err(LedgerError::NotNow(reason));
        }
        if let Some(NothingLeft { fact, instead }) = self.nothing_left(id)? {
            let instead = instead.map(|instead| format!("; {instead}")).unwrap_or_default();
            return Err(LedgerError::NotNow(format!("{fact}, so that a hold keeps nothing back{instead}")));
        }
        if let Some(other) = waits_for {
            self.must_know(other)?;
            if other == id {
                return Err(LedgerError::NotNow(format!("`{id}` can't wait for itself; name another order or trade")));
            }
            if let Some(NothingLeft { fact, .. }) = self.nothing_left(other)? {
                return Err(LedgerError::NotNow(format!(
                    "{fact}, so that `{id}` would wait for nothing; name one that is still to go, or a day"
                )));
            }
        }
        let moment = now.timestamp();
        let tx = self.db.transaction()?;
        tx.execute(
            "INSERT INTO holds (id, until, note, held_at, waits_for) VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (id) DO UPDATE SET until = ?2, note = ?3, held_at = ?4, waits_for = ?5",
            params![
                id.to_string(),
                until.map(|day| day.to_string()),
                note,
                moment.to_string(),
                waits_for.map(ToString::to_string)
            ],
        )?;
        let (held, waits_for, note) = (id.clone(), waits_for.cloned(), note.map(str::to_owned));
        note_said(&tx, moment, Saying::Held { id: held, until, waits_for, note })?;
        tx.commit()?;
        Ok(self.parcels_with(id)?.into_iter().map(|part| part.lying.parcel).collect())
    }

    /// Why nothing of it is left to go, where that is so.
    fn nothing_left(&self, id: &SendingId) -> Result<Option<NothingLeft>, LedgerError> {
        let is_due = match id {
            SendingId::Order(order) => self.due_orders()?.iter().any(|due| due.order.id == *order),
            SendingId::Trade(trade) => self.due_trades()?.iter().any(|due| due.id == *trade),
        };
        if is_due {
            return Ok(None);
        }
        let parcels = self.parcels_with(id)?;
        if parcels.is_empty() {
            return self.why_in_none(id).map(Some);
        }
        let listed: Vec<&In> = parcels.iter().filter(|part| part.state == ParcelState::Listed).collect();
        let mut question = None;
        for part in &listed {
            match self.asked_of(&part.lying)? {
                // It is taken off the list with the next plan, and due again.
                Some((_, Some(reply::OnTheTable::PackAnew))) => return Ok(None),
                Some((number, _)) => question = Some(number),
                None => {}
            }
        }
        let whereabouts: Vec<String> = parcels.iter().map(In::words).collect();
        let instead = match (listed.is_empty(), question) {
            (true, _) => self
                .has_lines_off(id)?
                .then(|| format!("what was left is called off; `dawnpack release {id}` takes it back")),
            (false, Some(number)) => {
                let answer = reply::OnTheTable::PackAnew;
                Some(format!(
                    "run `dawnpack answer {number} {answer}`, which takes the parcel off the list, and hold it then"
                ))
            }
            (false, None) => Some(format!(
                "to keep it back, run `dawnpack cancel {id}`, which takes the parcel off the list, then `dawnpack release \
                 {id}` and this again"
            )),
        };
        Ok(Some(NothingLeft { fact: format!("`{id}` {}", whereabouts.join(" and ")), instead }))
    }

    /// The parcels that hold something of it, cancelled ones left out, in the order they were listed.
    fn parcels_with(&self, id: &SendingId) -> Result<Vec<In>, LedgerError> {
        self.rows_of(
            "SELECT ref, listed_on, state, handed_over_on FROM parcels WHERE id IN (
                SELECT parcel_id FROM live_items WHERE (source = ?1 AND number = ?2) OR trade_id = ?3) ORDER BY id",
            columns_of(id),
            |row| {
                let listed = parsed("date", &row.get::<_, String>(1)?)?;
                let went: Option<String> = row.get(3)?;
                Ok(In {
                    lying: Lying { parcel: ParcelRef(row.get(0)?), listed },
                    state: parsed("parcel state", &row.get::<_, String>(2)?)?,
                    handed_over_on: went.map(|day| parsed("date", &day)).transpose()?,
                })
            },
        )
    }

    /// The latest question about what no longer holds in a parcel that lies on the table, and its answer.
    fn asked_of(&self, lying: &Lying) -> Result<Option<(QuestionId, Option<reply::OnTheTable>)>, LedgerError> {
        let asked =
            self.rows("SELECT id, doc, answer FROM questions WHERE kind = 'changed' ORDER BY id DESC", |row| {
                let question: Question = from_doc("question", &row.get::<_, String>(1)?)?;
                Ok((QuestionId(row.get(0)?), question.subject, row.get::<_, Option<String>>(2)?))
            })?;
        let about = asked
            .into_iter()
            .find(|(_, subject, _)| matches!(subject, Subject::OnTheTable { parcels, .. } if parcels.contains(lying)));
        let Some((number, _, answer)) = about else { return Ok(None) };
        Ok(Some((number, answer.map(|answer| parsed("answer", &answer)).transpose()?)))
    }

    fn has_lines_off(&self, id: &SendingId) -> Result<bool, LedgerError> {
        let (source, number, _) = columns_of(id);
        Ok(self.db.query_row(
            "SELECT EXISTS (SELECT 1 FROM order_lines WHERE source = ?1 AND number = ?2 AND off = 'cancelled')",
            params![source, number],
            |row| row.get(0),
        )?)
    }

    /// Of what lies in no parcel and is not due.
    fn why_in_none(&self, id: &SendingId) -> Result<NothingLeft, LedgerError> {
        let by_seller = || NothingLeft {
            fact: format!("`{id}` is cancelled"),
            instead: Some(format!("`dawnpack release {id}` takes that back, and then it can be held")),
        };
        let SendingId::Order(order) = id else { return Ok(by_seller()) };
        let (state, own, same_as): (String, bool, Option<String>) = self.db.query_row(
            "SELECT state, cancelled_from IS NOT NULL, same_as FROM orders WHERE source = ?1 AND number = ?2",
            params![order.source, order.number],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )?;
        if let Some(older) = same_as {
            let fact = format!("`{id}` is the same order as `{older}`, by your answer, and does not go for itself");
            return Ok(NothingLeft { fact, instead: Some(format!("hold `{older}`")) });
        }
        let state: OrderState = parsed("order state", &state)?;
        let fact = match state {
            OrderState::Cancelled if own => return Ok(by_seller()),
            OrderState::Cancelled | OrderState::Refunded => format!("`{id}` is {} by its source", state.word()),
            OrderState::Sent => format!("`{id}` is sent already, by its source"),
            OrderState::Unpaid | OrderState::Open | OrderState::PartRefunded => {
                format!("nothing of `{id}` is left to send")
            }
        };
        let takes_back = || format!("`dawnpack release {id}` takes back what you called off of it");
        Ok(NothingLeft { fact, instead: self.has_lines_off(id)?.then(takes_back) })
    }
}

impl In {
    /// `lies in parcel 1125-01, listed on 2026-11-25`.
    fn words(&self) -> String {
        let Self { lying: Lying { parcel, listed }, state, handed_over_on } = self;
        let on = handed_over_on.map(|day| format!(", handed over on {day}")).unwrap_or_default();
        match state {
            ParcelState::Listed => format!("lies in parcel {parcel}, listed on {listed} and not handed over"),
            ParcelState::HandedOver => format!("went in parcel {parcel}, listed on {listed}{on}"),
            ParcelState::Accepted
            | ParcelState::Closed
            | ParcelState::Cancelled
            | ParcelState::Returned
            | ParcelState::Lost => {
                format!("went in parcel {parcel}, listed on {listed}{on}, which is {}", state.word())
            }
        }
    }
}

/// Why a hold can't end on that day.
fn no_end_of_a_hold(until: Date, today: Date) -> Option<String> {
    let wrong = if until == today {
        "is today, and a hold ends on a day to come"
    } else if until < today {
        "is past, and a hold ends on a day to come"
    } else if calendar::is_a_slip(until, today) {
        "is more than two years ahead; look for a slip in the year"
    } else {
        return None;
    };
    Some(format!("`{until}` {wrong}; without a day it is held till you release it"))
}
