//! Pictures of receipts: whose they are by their name, or by what the seller answered.
//!
//! Handed pictures as the inbox knows them; promises that each is tied to parcels or to a day's hand-off, or asked about
//! until it is. A picture is evidence: it records no hand-off, which only the sheet or the carrier's own table does.
//! Turned down: a picture's own date, which says when it was taken and not of what.

use jiff::civil::Date;
use rusqlite::{Connection, Transaction, params};

use crate::model::carrier::ReceiptPicture;
use crate::plan::snapshot::UntiedPicture;

use super::take::Change;
use super::{Ledger, LedgerError, carrier, from_doc, parsed, to_doc};

/// Records a picture.
pub(super) fn take(tx: &Transaction<'_>, drop: i64, picture: &ReceiptPicture) -> Result<Change, LedgerError> {
    let day = match picture.day {
        Some(day) => carrier::day_named(tx, day)?,
        None => None,
    };
    let new = tx.execute(
        "INSERT INTO receipt_pictures (drop_id, doc, day) VALUES (?1, ?2, ?3) ON CONFLICT (drop_id) DO NOTHING",
        params![drop, to_doc("picture", picture)?, day],
    )?;
    Ok(if new == 0 { Change::Same } else { Change::New })
}

/// Ties pictures whose names mean parcels; a number may have become known since.
pub(super) fn tie(tx: &Transaction<'_>) -> Result<(), LedgerError> {
    let mut statement = tx.prepare(
        "SELECT drop_id, doc FROM receipt_pictures c
         WHERE day IS NULL AND is_none = 0 AND NOT EXISTS (SELECT 1 FROM picture_parcels p WHERE p.drop_id = c.drop_id)",
    )?;
    let untied: Vec<(i64, String)> =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    for (drop, doc) in untied {
        let picture: ReceiptPicture = from_doc("picture", &doc)?;
        for parcel in carrier::parcels_named(tx, &picture.parcels, &picture.tracking)? {
            tx.execute("INSERT INTO picture_parcels (drop_id, parcel_id) VALUES (?1, ?2)", [drop, parcel])?;
        }
    }
    Ok(())
}

/// What the seller said of a picture: the day of its hand-off, or that it is of none. Gives how many there were of
/// that hash.
pub(super) fn answered(db: &Connection, hash: &str, day: Option<Date>) -> Result<usize, LedgerError> {
    Ok(db.execute(
        "UPDATE receipt_pictures SET day = ?2, is_none = ?3 WHERE drop_id = (SELECT id FROM drops WHERE hash = ?1)",
        params![hash, day.map(|day| day.to_string()), day.is_none()],
    )?)
}

impl Ledger {
    /// Pictures that nothing tells the hand-off of, oldest first.
    pub(super) fn untied_pictures(&self) -> Result<Vec<UntiedPicture>, LedgerError> {
        self.rows(
            "SELECT d.hash, d.name, d.taken_at FROM receipt_pictures c JOIN drops d ON d.id = c.drop_id
             WHERE c.day IS NULL AND c.is_none = 0
               AND NOT EXISTS (SELECT 1 FROM picture_parcels p WHERE p.drop_id = c.drop_id) ORDER BY d.id",
            |row| {
                let taken_at: String = row.get(2)?;
                Ok(UntiedPicture {
                    hash: row.get(0)?,
                    file: row.get(1)?,
                    taken_on: parsed("date", taken_at.get(..10).unwrap_or_default())?,
                })
            },
        )
    }

    /// Days on which parcels were handed over, or were listed and may have been: the latest first.
    pub(super) fn handoff_days(&self) -> Result<Vec<Date>, LedgerError> {
        self.rows(
            "SELECT handed_over_on AS day FROM parcels WHERE handed_over_on IS NOT NULL
             UNION SELECT listed_on FROM parcels WHERE state = 'listed' ORDER BY day DESC",
            |row| parsed("date", &row.get::<_, String>(0)?),
        )
    }
}
