//! All that the ledger holds of one parcel.
//!
//! Handed a ref, with or without its year; promises everything that was recorded of that parcel and where it came from.
//! Turned down: keeping a proof as it was made, which would lack whatever came after.

use jiff::civil::Date;
use rusqlite::OptionalExtension;
use serde::de::DeserializeOwned;

use crate::model::day::{About, DayPlan, Question, QuestionId};
use crate::model::order::OrderId;
use crate::model::parcel::Parcel;
use crate::model::proof::{Answered, CameIn, Evidence, FileRef, HeldSince, TheirHalf, Told};
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;

use super::{Ledger, LedgerError, columns_of, from_doc, parsed};

/// The ledger's own key of a parcel, its plan, and the others of its ref.
struct Found {
    id: i64,
    listed_on: Date,
    other_days: Vec<Date>,
}

impl Ledger {
    /// The evidence of a parcel: `1125-01` is the latest of that ref, `2026:1125-01` that of the year.
    ///
    /// # Errors
    /// [`LedgerError::NotThere`] where there is no such parcel.
    pub fn evidence(&self, parcel: &str) -> Result<Evidence, LedgerError> {
        let found = self.find(parcel)?;
        let row = |row: &rusqlite::Row<'_>| -> rusqlite::Result<[Option<String>; 13]> {
            let mut columns: [Option<String>; 13] = Default::default();
            for (place, column) in columns.iter_mut().enumerate() {
                *column = row.get(place)?;
            }
            Ok(columns)
        };
        let [plan, revision, name, state, handed_over, why, accepted, closed, tracking, paid, scale, place, note] =
            self.db.query_row(
                "SELECT m.plan, CAST(m.revision AS TEXT), p.ref, p.state, p.handed_over_on, p.handed_over_why,
                        p.accepted_on, p.closed_on, p.tracking, p.postage_paid, p.scale, p.place, p.note
                 FROM parcels p JOIN manifests m ON m.id = p.manifest_id WHERE p.id = ?1",
                [found.id],
                row,
            )?;
        let plan: DayPlan = from_doc("plan", &plan.unwrap_or_default())?;
        let name = name.unwrap_or_default();
        let planned = plan.parcels.into_iter().find(|planned| planned.r#ref.0 == name);
        let parcel = planned.ok_or_else(|| LedgerError::NotThere(name))?;
        let day = |text: Option<String>| text.map(|day| parsed::<Date>("date", &day)).transpose();
        let ids = ids_of(&parcel);
        let trades: Vec<TradeId> = parcel.trades.iter().map(|(id, _)| *id).collect();
        let handed_over_on = day(handed_over)?;
        Ok(Evidence {
            listed_on: found.listed_on,
            revision: parsed("revision", &revision.unwrap_or_default())?,
            other_days: found.other_days,
            state: parsed("parcel state", &state.unwrap_or_default())?,
            handed_over_why: why,
            accepted_on: day(accepted)?,
            closed_on: day(closed)?,
            tracking,
            postage_paid: paid.map(|paid| from_doc("postage", &paid)).transpose()?,
            scale: scale.map(|scale| from_doc("scale reading", &scale)).transpose()?,
            place,
            note,
            sheets: self.told(
                "SELECT r.doc, NULL, d.name, d.taken_at, d.hash FROM handoff_rows r
                 JOIN drops d ON d.id = r.drop_id WHERE r.parcel_id = ?1 ORDER BY d.id, r.line",
                found.id,
            )?,
            postage: self.told(
                "SELECT r.doc, r.tied_by, d.name, d.taken_at, d.hash FROM postage_bought r
                 JOIN drops d ON d.id = r.drop_id WHERE r.parcel_id = ?1 ORDER BY r.id",
                found.id,
            )?,
            receipts: self.told(
                "SELECT r.doc, r.tied_by, d.name, d.taken_at, d.hash FROM receipts r
                 JOIN drops d ON d.id = r.drop_id WHERE r.parcel_id = ?1 ORDER BY r.id",
                found.id,
            )?,
            pictures: self.told(
                "SELECT c.doc, CASE WHEN c.day IS NULL THEN 'name' ELSE 'day' END, d.name, d.taken_at, d.hash
                 FROM receipt_pictures c JOIN drops d ON d.id = c.drop_id WHERE
                    EXISTS (SELECT 1 FROM picture_parcels p WHERE p.drop_id = c.drop_id AND p.parcel_id = ?1)
                    OR c.day = (SELECT handed_over_on FROM parcels WHERE id = ?1) ORDER BY d.id",
                found.id,
            )?,
            came_in: self.came_in(&ids)?,
            answers: self.answers_about(&ids)?,
            holds: self.holds_on(&ids)?,
            changes: self.changes_of(&ids)?,
            their_halves: self.their_halves(&trades)?,
            handed_over_on,
            parcel,
        })
    }

    fn find(&self, given: &str) -> Result<Found, LedgerError> {
        let given = given.trim();
        let (year, name) = match given.split_once(':') {
            Some((year, name)) => (Some(year.trim()), name.trim()),
            None => (None, given),
        };
        let mut statement =
            self.db.prepare("SELECT id, listed_on FROM parcels WHERE ref = ?1 ORDER BY listed_on DESC")?;
        let rows = statement.query_map([name], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let mut days: Vec<(i64, Date)> = Vec::new();
        for row in rows {
            let (id, listed): (i64, String) = row?;
            days.push((id, parsed("date", &listed)?));
        }
        let wanted = |day: &Date| year.is_none_or(|year| day.year().to_string() == year);
        let chosen = days.iter().position(|(_, day)| wanted(day));
        let Some((id, listed_on)) = chosen.map(|place| days.remove(place)) else {
            return Err(LedgerError::NotThere(given.to_owned()));
        };
        Ok(Found { id, listed_on, other_days: days.into_iter().map(|(_, day)| day).collect() })
    }

    /// Rows of documents about a parcel, each with its file.
    fn told<T: DeserializeOwned>(&self, sql: &str, parcel: i64) -> Result<Vec<Told<T>>, LedgerError> {
        let mut statement = self.db.prepare(sql)?;
        let mut found = statement.query([parcel])?;
        let mut all = Vec::new();
        while let Some(row) = found.next()? {
            let doc: String = row.get(0)?;
            all.push(Told { row: from_doc("row of a file", &doc)?, by: row.get(1)?, file: file(row, 2)? });
        }
        Ok(all)
    }

    fn came_in(&self, ids: &[SendingId]) -> Result<Vec<CameIn>, LedgerError> {
        let mut statement = self.db.prepare(
            "SELECT d.name, d.taken_at, d.hash FROM tellings t JOIN drops d ON d.id = t.drop_id
             WHERE (t.source = ?1 AND t.number = ?2) OR t.trade_id = ?3 ORDER BY d.id",
        )?;
        let mut all = Vec::new();
        for id in ids {
            let mut found = statement.query(columns_of(id))?;
            let mut files = Vec::new();
            while let Some(row) = found.next()? {
                files.push(file(row, 0)?);
            }
            all.push(CameIn { id: id.clone(), files });
        }
        Ok(all)
    }

    fn answers_about(&self, ids: &[SendingId]) -> Result<Vec<Answered>, LedgerError> {
        let all = self.rows(
            "SELECT id, doc, answer, answered_at FROM questions WHERE answer IS NOT NULL ORDER BY answered_at, id",
            |row| {
                let question: Question = from_doc("question", &row.get::<_, String>(1)?)?;
                let at: Option<String> = row.get(3)?;
                let is_about = question.about.iter().any(|about| match about {
                    About::Sending(id) => ids.contains(id),
                    About::File(_) => false,
                });
                Ok((
                    is_about,
                    Answered {
                        id: QuestionId(row.get(0)?),
                        text: question.text,
                        answer: row.get(2)?,
                        at: at.map(|at| parsed("time", &at)).transpose()?,
                    },
                ))
            },
        )?;
        Ok(all.into_iter().filter(|(is_about, _)| *is_about).map(|(_, answered)| answered).collect())
    }

    fn holds_on(&self, ids: &[SendingId]) -> Result<Vec<HeldSince>, LedgerError> {
        let all = self.rows("SELECT id, held_at, note FROM holds ORDER BY held_at, id", |row| {
            let id = parsed("held id", &row.get::<_, String>(0)?)?;
            Ok(HeldSince { id, at: parsed("time", &row.get::<_, String>(1)?)?, note: row.get(2)? })
        })?;
        Ok(all.into_iter().filter(|hold| ids.contains(&hold.id)).collect())
    }

    fn changes_of(&self, ids: &[SendingId]) -> Result<Vec<(OrderId, String)>, LedgerError> {
        let all = self.rows("SELECT source, number, what FROM order_changes ORDER BY id", |row| {
            Ok((OrderId { source: row.get(0)?, number: row.get(1)? }, row.get(2)?))
        })?;
        let here = |(order, _): &(OrderId, String)| ids.contains(&SendingId::from(order.clone()));
        Ok(all.into_iter().filter(here).collect())
    }

    fn their_halves(&self, trades: &[TradeId]) -> Result<Vec<TheirHalf>, LedgerError> {
        let mut all = Vec::new();
        for trade in trades {
            let found: Option<(Option<String>, Option<String>)> = self
                .db
                .query_row("SELECT arrived_on, condition FROM trades WHERE id = ?1", [trade.0], |row| {
                    Ok((row.get(0)?, row.get(1)?))
                })
                .optional()?;
            let (arrived, condition) = found.unwrap_or_default();
            let arrived_on = arrived.map(|day| parsed("date", &day)).transpose()?;
            all.push(TheirHalf { trade: *trade, arrived_on, condition });
        }
        Ok(all)
    }
}

fn ids_of(parcel: &Parcel) -> Vec<SendingId> {
    let orders = parcel.orders.iter().map(|order| order.id.clone().into());
    orders.chain(parcel.trades.iter().map(|(id, _)| (*id).into())).collect()
}

/// Name, time and hash of a file, from that column on.
fn file(row: &rusqlite::Row<'_>, from: usize) -> Result<FileRef, LedgerError> {
    Ok(FileRef {
        name: row.get(from)?,
        taken_at: parsed("time", &row.get::<_, String>(from + 1)?)?,
        hash: row.get(from + 2)?,
    })
}
