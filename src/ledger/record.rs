//! Recording a plan, before anything is written or sent; and what is still to be done for recorded ones.

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, Transaction, params};

use crate::model::day::DayPlan;
use crate::model::mail::QueuedMail;
use crate::model::parcel::{For, Parcel, ParcelState};

use super::due::last_parcel;
use super::{Counts, Ledger, LedgerError, carrier, from_doc, mail, on_the_table, parsed, readings, rewording, to_doc};

/// A recorded plan whose papers are not all written or whose email is not queued.
#[derive(Clone, PartialEq, Debug)]
pub struct Recorded {
    /// The ledger's key.
    pub id: i64,
    /// The plan, as recorded.
    pub plan: DayPlan,
    /// When: the papers and the email carry this moment, so that writing them again gives the same bytes.
    pub at: Timestamp,
}

impl Ledger {
    /// Records a plan in one transaction: its parcels, invoices, questions, what it tells, and the counts it
    /// was made with.
    ///
    /// # Errors
    /// [`LedgerError`]; then nothing of it is recorded.
    pub fn record(&mut self, plan: &DayPlan, counts: &Counts, now: Timestamp) -> Result<(), LedgerError> {
        let tx = self.db.transaction()?;
        note_counts(&tx, counts)?;
        tx.execute(
            "INSERT INTO manifests (date, revision, recorded_at, plan) VALUES (?1, ?2, ?3, ?4)",
            params![plan.date.to_string(), plan.revision, now.to_string(), to_doc("plan", plan)?],
        )?;
        let manifest = tx.last_insert_rowid();
        on_the_table::take_off(&tx, &plan.taken_off)?;
        for parcel in &plan.parcels {
            record_parcel(&tx, manifest, plan, parcel)?;
        }
        for question in &plan.questions {
            tx.execute(
                "INSERT INTO questions (id, kind, key, doc) VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT (id) DO UPDATE SET doc = ?4",
                params![
                    question.id.0,
                    question.subject.kind().word(),
                    to_doc("subject", &question.subject)?,
                    to_doc("question", question)?
                ],
            )?;
        }
        tx.execute("UPDATE refusals SET manifest_id = ?1 WHERE manifest_id IS NULL", [manifest])?;
        tx.execute("UPDATE remarks SET manifest_id = ?1 WHERE manifest_id IS NULL", [manifest])?;
        carrier::note_told(&tx, manifest)?;
        tx.execute("UPDATE order_changes SET manifest_id = ?1 WHERE manifest_id IS NULL", [manifest])?;
        tx.execute("UPDATE trade_changes SET manifest_id = ?1 WHERE manifest_id IS NULL", [manifest])?;
        readings::told(&tx, manifest)?;
        tx.execute("UPDATE said SET manifest_id = ?1 WHERE manifest_id IS NULL", [manifest])?;
        for off in &plan.called_off {
            tx.execute(
                "UPDATE orders SET told_off = coalesce(told_off, ?1) WHERE source = ?2 AND number = ?3",
                params![manifest, off.order.source, off.order.number],
            )?;
        }
        tx.commit()?;
        Ok(())
    }

    /// Recorded plans that are not wholly acted on, oldest first.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn unfinished(&self) -> Result<Vec<Recorded>, LedgerError> {
        self.rows("SELECT id, plan, recorded_at FROM manifests WHERE written_at IS NULL ORDER BY id", |row| {
            Ok(Recorded {
                id: row.get(0)?,
                plan: from_doc("plan", &row.get::<_, String>(1)?)?,
                at: parsed("time", &row.get::<_, String>(2)?)?,
            })
        })
    }

    /// Whether a plan of `date` was recorded at that moment or later.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn is_recorded_since(&self, date: Date, at: Timestamp) -> Result<bool, LedgerError> {
        let recorded: Vec<Timestamp> =
            self.rows_of("SELECT recorded_at FROM manifests WHERE date = ?1", [date.to_string()], |row| {
                parsed("time", &row.get::<_, String>(0)?)
            })?;
        Ok(recorded.iter().any(|recorded| *recorded >= at))
    }

    /// Notes that a plan's papers lie in the outbox, and queues its email, in one step.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn finish(&mut self, recorded: &Recorded, letter: &QueuedMail, now: Timestamp) -> Result<(), LedgerError> {
        let tx = self.db.transaction()?;
        mail::queue(&tx, letter, Some(recorded.id), now)?;
        tx.execute("UPDATE manifests SET written_at = ?2 WHERE id = ?1", params![recorded.id, now.to_string()])?;
        tx.commit()?;
        Ok(())
    }
}

fn record_parcel(tx: &Transaction<'_>, manifest: i64, plan: &DayPlan, parcel: &Parcel) -> Result<(), LedgerError> {
    tx.execute(
        "INSERT INTO parcels (manifest_id, ref, listed_on, name, mailer, state) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![
            manifest,
            parcel.r#ref.0,
            plan.date.to_string(),
            parcel.recipient.name,
            parcel.mailer.code,
            ParcelState::Listed.word()
        ],
    )?;
    let id = tx.last_insert_rowid();
    for item in &parcel.items {
        let (source, number, line, trade, place) = match &item.for_ {
            For::Order { order, line } => (Some(&order.source), Some(&order.number), Some(line), None, None),
            For::Trade { trade, item } => (None, None, None, Some(trade.0), Some(*item)),
        };
        tx.execute(
            "INSERT INTO parcel_items (parcel_id, source, number, line, trade_id, item, code, quantity)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![id, source, number, line, trade, place, item.code.0, item.quantity],
        )?;
    }
    for order in &parcel.orders {
        rewording::note_instead(tx, &order.id, &order.lines)?;
    }
    for invoice in &parcel.invoices {
        tx.execute(
            // An order whose first parcel was cancelled goes again under the invoice it has.
            "INSERT INTO invoices (invoice, source, number, parcel_id, issued_on) SELECT ?1, ?2, ?3, ?4, ?5
             WHERE NOT EXISTS (SELECT 1 FROM invoices WHERE invoice = ?1 AND source = ?2 AND number = ?3)",
            params![invoice.number, invoice.order.source, invoice.order.number, id, invoice.issued_on.to_string()],
        )?;
    }
    Ok(())
}

/// A count that differs from the one noted is a new count: only what is listed from now on comes off it.
fn note_counts(db: &Connection, counts: &Counts) -> Result<(), LedgerError> {
    let last = last_parcel(db)?;
    let articles = counts.articles.iter().map(|(code, counted)| ("article", code.0.as_str(), counted));
    let mailers = counts.mailers.iter().map(|(code, counted)| ("mailer", code.as_str(), counted));
    for (kind, code, counted) in articles.chain(mailers) {
        db.execute(
            "INSERT INTO counts (kind, code, counted, last_parcel) VALUES (?1, ?2, ?3, ?4)
             ON CONFLICT (kind, code) DO UPDATE SET counted = ?3, last_parcel = ?4 WHERE counted <> ?3",
            params![kind, code, counted, last],
        )?;
    }
    Ok(())
}
