//! Taking a reading in: one transaction a file.
//!
//! Promises that the same file and a renamed copy of it change nothing. Turned down: a transaction for all files of
//! the inbox, where one that can't be recorded would keep the others out.

use std::collections::BTreeSet;

use jiff::{Timestamp, ZonedDateTime};
use rusqlite::{OptionalExtension, Transaction, params};

use crate::model::day::Refused;
use crate::model::drop::{Content, Reading, Rows};

use super::said::Misfit;
use super::{Ledger, LedgerError, carrier, handoff, orders, pictures, said, standing, to_doc, trades};

/// What taking a file in changed.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Taken {
    /// Orders and trades the ledger didn't know.
    pub new: u32,
    /// Those it knew and that changed.
    pub changed: u32,
    /// Those it knew just so.
    pub same: u32,
}

/// The key by which a file is known again, whatever its name: BLAKE3 of its bytes, in hex.
#[must_use]
pub fn hash(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

pub(super) enum Change {
    New,
    Changed,
    Same,
}

impl Ledger {
    /// Whether a file with this hash was taken in whole: taking it again could change nothing. One with refused
    /// rows is read again, as the home may have been mended since.
    ///
    /// # Errors
    /// [`LedgerError::Sql`].
    pub fn knows(&self, hash: &str) -> Result<bool, LedgerError> {
        let found: Option<i64> = self
            .db
            .query_row("SELECT refused FROM drops WHERE hash = ?1 AND kind <> 'unreadable'", [hash], |row| row.get(0))
            .optional()?;
        Ok(found == Some(0))
    }

    /// Takes a reading in. What fits nothing in the ledger is given back in the reading, among what is refused.
    ///
    /// # Errors
    /// [`LedgerError`]; then nothing of the file went in.
    pub fn take(
        &mut self,
        file: &str,
        hash: &str,
        reading: &mut Reading,
        now: &ZonedDateTime,
    ) -> Result<Taken, LedgerError> {
        let (at, today) = (now.timestamp(), now.date());
        let tx = self.db.transaction()?;
        let kind = reading.content.kind();
        let drop = note_drop(&tx, file, hash, kind, reading.source.as_deref(), at)?;
        let mut taken = Taken::default();
        let mut misfits: Vec<(Option<u64>, Misfit)> = Vec::new();
        let mut told_of: BTreeSet<i64> = BTreeSet::new();
        let source = reading.source.as_deref().unwrap_or_default();
        match &reading.content {
            Content::Sales(orders) => {
                for order in orders {
                    taken.count(&orders::take(&tx, order)?);
                    orders::note_telling(&tx, drop, order)?;
                }
            }
            Content::Trades(confirmed) => {
                for trade in confirmed {
                    match trades::take(&tx, trade)? {
                        Ok(change) => {
                            taken.count(&change);
                            trades::note_telling(&tx, drop, trade)?;
                        }
                        Err(misfit) => misfits.push((None, misfit)),
                    }
                }
            }
            Content::Handoff(entries) => {
                for entry in entries {
                    match handoff::take(&tx, drop, entry, today)? {
                        Ok(parcel) => {
                            told_of.insert(parcel);
                        }
                        Err(misfit) => misfits.push((Some(entry.line), misfit)),
                    }
                }
            }
            Content::Postage(rows) => taken.count_all(&carrier::take(&tx, drop, source, rows, &reading.headers_again)?),
            Content::Receipts(rows) => {
                taken.count_all(&carrier::take(&tx, drop, source, rows, &reading.headers_again)?);
            }
            Content::ReceiptPicture(picture) => taken.count(&pictures::take(&tx, drop, picture)?),
            Content::Answers(answers) => {
                for answer in answers {
                    if let Err(misfit) = said::answered(&tx, answer.question, &answer.choice, now)? {
                        misfits.push((Some(answer.line), misfit));
                    }
                }
            }
            Content::Arrivals(arrivals) => {
                for arrival in arrivals {
                    if let Err(misfit) = said::arrived(&tx, arrival, now)? {
                        misfits.push((Some(arrival.line), misfit));
                    }
                }
            }
        }
        for (line, misfit) in misfits {
            reading.give_back(misfit.refused(file, line));
        }
        for refused in &reading.refused {
            note_refusal(&tx, drop, &refused.why)?;
        }
        note_rows(&tx, drop, reading.rows)?;
        // The numbers that sheets say tie the carrier's rows, and those say the rest of where a parcel stands.
        standing::settle(&tx, &told_of)?;
        standing::settle(&tx, &carrier::tie(&tx)?)?;
        pictures::tie(&tx)?;
        let disagreements = standing::remarks(&tx, drop, file, &told_of)?;
        for remark in reading.remarks.iter().chain(&disagreements) {
            tx.execute(
                "INSERT INTO remarks (drop_id, doc) VALUES (?1, ?2) ON CONFLICT (drop_id, doc) DO NOTHING",
                params![drop, to_doc("remark", remark)?],
            )?;
        }
        tx.commit()?;
        Ok(taken)
    }

    /// Notes a file that could not be read at all.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn refuse(&mut self, file: &str, hash: &str, why: &Refused, now: Timestamp) -> Result<(), LedgerError> {
        let tx = self.db.transaction()?;
        let drop = note_drop(&tx, file, hash, "unreadable", None, now)?;
        note_refusal(&tx, drop, why)?;
        tx.commit()?;
        Ok(())
    }
}

impl Taken {
    fn count_all(&mut self, changes: &[Change]) {
        for change in changes {
            self.count(change);
        }
    }

    const fn count(&mut self, change: &Change) {
        match change {
            Change::New => self.new += 1,
            Change::Changed => self.changed += 1,
            Change::Same => self.same += 1,
        }
    }
}

fn note_drop(
    tx: &Transaction<'_>,
    file: &str,
    hash: &str,
    kind: &str,
    source: Option<&str>,
    now: Timestamp,
) -> Result<i64, LedgerError> {
    Ok(tx.query_row(
        "INSERT INTO drops (hash, name, kind, source, taken_at, read, taken, refused, skipped)
         VALUES (?1, ?2, ?3, ?4, ?5, 0, 0, 0, 0)
         ON CONFLICT (hash) DO UPDATE SET kind = ?3, source = ?4 RETURNING id",
        params![hash, file, kind, source, now.to_string()],
        |row| row.get(0),
    )?)
}

fn note_rows(tx: &Transaction<'_>, drop: i64, rows: Rows) -> Result<(), LedgerError> {
    let [read, taken, refused, skipped] = [rows.read, rows.taken, rows.refused, rows.skipped].map(u64::cast_signed);
    tx.execute(
        "UPDATE drops SET read = ?2, taken = ?3, refused = ?4, skipped = ?5 WHERE id = ?1",
        [drop, read, taken, refused, skipped],
    )?;
    Ok(())
}

fn note_refusal(tx: &Transaction<'_>, drop: i64, refused: &Refused) -> Result<(), LedgerError> {
    // Refused once more, as after a mend that was not enough, it is told once more.
    tx.execute(
        "INSERT INTO refusals (drop_id, line, doc) VALUES (?1, ?2, ?3)
         ON CONFLICT (drop_id, doc) DO UPDATE SET manifest_id = NULL",
        params![drop, refused.line.map(u64::cast_signed), to_doc("refusal", refused)?],
    )?;
    Ok(())
}
