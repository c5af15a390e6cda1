//! The queue of messages: composed once, kept whole, tried until they are gone.

use jiff::Timestamp;
use rusqlite::{Connection, Row, params};

use crate::model::mail::{MailState, QueuedMail};

use super::{Ledger, LedgerError, from_doc, parsed, to_doc};

const COLUMNS: &str = "id, message_id, subject, sender, recipients, state, attempts, next_try, last_error, message";

/// Queues a composed message; one with a Message-ID that is queued or sent already stays as it is.
pub(super) fn queue(
    db: &Connection,
    letter: &QueuedMail,
    manifest: Option<i64>,
    now: Timestamp,
) -> Result<(), LedgerError> {
    db.execute(
        "INSERT INTO mail (message_id, manifest_id, subject, sender, recipients, message, state, queued_at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) ON CONFLICT (message_id) DO NOTHING",
        params![
            letter.message_id,
            manifest,
            letter.subject,
            letter.envelope_from,
            to_doc("envelope", &letter.envelope_to)?,
            letter.message,
            letter.state.word(),
            now.to_string()
        ],
    )?;
    Ok(())
}

impl Ledger {
    /// Messages to be tried now, oldest first. With `hurry`, those that wait for a later try too.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn mail_due(&self, now: Timestamp, hurry: bool) -> Result<Vec<QueuedMail>, LedgerError> {
        let sql = format!("SELECT {COLUMNS} FROM mail WHERE state = 'queued' ORDER BY id");
        let queued = self.rows(&sql, queued_mail)?;
        Ok(queued.into_iter().filter(|mail| hurry || mail.next_try.is_none_or(|next| next <= now)).collect())
    }

    /// Notes that a message is gone.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn mail_sent(&mut self, id: u32, now: Timestamp) -> Result<(), LedgerError> {
        self.db.execute(
            "UPDATE mail SET state = ?2, sent_at = ?3, attempts = attempts + 1, last_error = NULL, next_try = NULL
             WHERE id = ?1",
            params![id, MailState::Sent.word(), now.to_string()],
        )?;
        Ok(())
    }

    /// Notes that a try failed, and when the next one is due.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn mail_failed(&mut self, id: u32, error: &str, next_try: Timestamp) -> Result<(), LedgerError> {
        self.db.execute(
            "UPDATE mail SET attempts = attempts + 1, last_error = ?2, next_try = ?3 WHERE id = ?1",
            params![id, error, next_try.to_string()],
        )?;
        Ok(())
    }
}

fn queued_mail(row: &Row<'_>) -> Result<QueuedMail, LedgerError> {
    let next_try: Option<String> = row.get(7)?;
    Ok(QueuedMail {
        id: row.get(0)?,
        message_id: row.get(1)?,
        subject: row.get(2)?,
        envelope_from: row.get(3)?,
        envelope_to: from_doc("envelope", &row.get::<_, String>(4)?)?,
        state: parsed("state of a message", &row.get::<_, String>(5)?)?,
        attempts: row.get(6)?,
        next_try: next_try.map(|at| parsed("time", &at)).transpose()?,
        last_error: row.get(8)?,
        message: row.get(9)?,
    })
}
