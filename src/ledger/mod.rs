//! The database of all that was taken in, planned, said and sent: the only user of `SQLite`.
//!
//! Handed model types, hands model types back; SQL stays inside. Every change is one transaction, and what the
//! two promises rest on (no line on two parcels, invoices without gaps) is held by the schema too, so that a
//! mistake in the code above it fails loudly instead of sending something twice. WAL with `synchronous = FULL`:
//! what was recorded survives the power going out. Turned down: a file a day, which can't be changed in one step.

mod called_off;
mod carrier;
mod due;
mod evidence;
mod handoff;
mod holding;
mod lists;
mod mail;
mod on_the_table;
mod orders;
mod pictures;
mod readings;
mod record;
mod rewording;
mod said;
mod standing;
mod subjects;
mod take;
mod to_read;
mod told;
mod trades;

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, params};
use rusqlite_migration::{M, Migrations};
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::model::catalogue::Code;
use crate::model::sending::SendingId;

pub use lists::{MailRow, OrderRow, ParcelRow, Planned, Standing, Tie, TiedRow, TradeRow};
pub use record::Recorded;
pub use said::{Cancelled, Released};
pub use take::{Taken, hash};

/// What can go wrong with the ledger.
#[derive(Debug, thiserror::Error)]
pub enum LedgerError {
    /// `SQLite` said no.
    #[error("the ledger could not be used: {0}")]
    Sql(#[from] rusqlite::Error),
    /// The schema could not be brought up to date.
    #[error("the ledger could not be brought up to date: {0}; was it written by a newer dawnpack?")]
    Migration(#[from] rusqlite_migration::Error),
    /// A record doesn't read back as what was put in.
    #[error("the ledger holds a record that can't be read ({what}): {why}; restore `ledger.db` from a backup")]
    Record {
        /// Which kind of record.
        what: &'static str,
        /// What the reader said.
        why: String,
    },
    /// A number or word that the ledger has no record of.
    #[error("there is no `{0}` in the ledger; `dawnpack list parcels` and the like show what there is")]
    NotThere(String),
    /// What was asked can't be done to a thing that stands as it does.
    #[error("{0}")]
    NotNow(String),
}

/// The seller's own counts from the home, `None` where not counted.
#[derive(Clone, Debug, Default)]
pub struct Counts {
    /// By article code.
    pub articles: BTreeMap<Code, u32>,
    /// By mailer code.
    pub mailers: BTreeMap<String, u32>,
}

/// An open ledger.
#[derive(Debug)]
pub struct Ledger {
    db: Connection,
}

fn migrations() -> Migrations<'static> {
    Migrations::new(vec![
        M::up(include_str!("migrations/01-the-first.sql")),
        M::up(include_str!("migrations/02-order-life.sql")).foreign_key_check(),
        M::up(include_str!("migrations/03-receipts.sql")).foreign_key_check(),
        M::up(include_str!("migrations/04-scale.sql")),
        M::up(include_str!("migrations/05-trades.sql")).foreign_key_check(),
        M::up(include_str!("migrations/06-last-wall.sql")),
        M::up(include_str!("migrations/07-said.sql")),
        M::up_with_hook(include_str!("migrations/08-subjects.sql"), subjects::bring_up_to_date),
        M::up(include_str!("migrations/09-standing.sql")),
        M::up(include_str!("migrations/10-on-the-table.sql")),
        M::up(include_str!("migrations/11-lines-told-again.sql")),
        M::up(include_str!("migrations/12-parts-of-trades.sql")),
    ])
}

impl Ledger {
    /// Opens, or makes, the ledger at `path` and brings its schema up to date. `now` becomes part of the name
    /// of a ledger that is made.
    ///
    /// # Errors
    /// [`LedgerError`] where the file is no ledger, is of a newer dawnpack, or can't be written.
    pub fn open(path: &Path, now: Timestamp) -> Result<Self, LedgerError> {
        let db = Connection::open(path)?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        Self::prepare(db, &format!("{} {now}", path.display()))
    }

    fn prepare(mut db: Connection, name: &str) -> Result<Self, LedgerError> {
        db.busy_timeout(Duration::from_secs(10))?;
        db.pragma_update(None, "synchronous", "FULL")?;
        // A migration that makes a table anew may do so only while nothing is checked against it.
        db.pragma_update(None, "foreign_keys", false)?;
        migrations().to_latest(&mut db)?;
        db.pragma_update(None, "foreign_keys", true)?;
        let id = blake3::hash(name.as_bytes()).to_hex();
        db.execute("INSERT INTO meta (key, value) VALUES ('id', ?1) ON CONFLICT (key) DO NOTHING", [&id[..16]])?;
        Ok(Self { db })
    }

    /// A copy in memory, to try things on: a dry run takes in and plans there.
    ///
    /// # Errors
    /// [`LedgerError::Sql`] where the ledger can't be read.
    pub fn scratch_copy(&self) -> Result<Self, LedgerError> {
        let mut copy = Connection::open_in_memory()?;
        rusqlite::backup::Backup::new(&self.db, &mut copy)?.run_to_completion(1000, Duration::ZERO, None)?;
        Self::prepare(copy, "scratch")
    }

    /// The name of this ledger among all: part of every Message-ID.
    ///
    /// # Errors
    /// [`LedgerError::Sql`].
    pub fn id(&self) -> Result<String, LedgerError> {
        Ok(self.db.query_row("SELECT value FROM meta WHERE key = 'id'", [], |row| row.get(0))?)
    }
}

/// A counter that may have to be in the schema's signed integers.
fn to_u32(value: i64) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

fn to_doc<T: Serialize>(what: &'static str, value: &T) -> Result<String, LedgerError> {
    serde_json::to_string(value).map_err(|error| LedgerError::Record { what, why: error.to_string() })
}

fn from_doc<T: DeserializeOwned>(what: &'static str, doc: &str) -> Result<T, LedgerError> {
    serde_json::from_str(doc).map_err(|error| LedgerError::Record { what, why: error.to_string() })
}

/// An order's or trade's id as the columns have it: source, number, trade.
fn columns_of(id: &SendingId) -> (Option<&str>, Option<&str>, Option<u32>) {
    match id {
        SendingId::Order(order) => (Some(&order.source), Some(&order.number), None),
        SendingId::Trade(trade) => (None, None, Some(trade.0)),
    }
}

/// Reads a value that a column stores as text: a date, a state, a number of ours.
fn parsed<T>(what: &'static str, text: &str) -> Result<T, LedgerError>
where
    T: std::str::FromStr,
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|error: T::Err| LedgerError::Record { what, why: error.to_string() })
}

/// How many of a counted thing were put on parcels since it was counted: none where the count is new.
fn since_count(db: &Connection, kind: &str, code: &str, counted: u32, sql: &str) -> Result<u32, LedgerError> {
    let last: Option<i64> = db
        .query_row(
            "SELECT last_parcel FROM counts WHERE kind = ?1 AND code = ?2 AND counted = ?3",
            params![kind, code, counted],
            |row| row.get(0),
        )
        .optional()?;
    match last {
        Some(last) => Ok(to_u32(db.query_row(sql, params![code, last], |row| row.get(0))?)),
        None => Ok(0),
    }
}

#[cfg(test)]
mod walls;

#[cfg(test)]
mod tests {
    use super::*;

    /// A ledger of an earlier dawnpack keeps all it held, and its tables still answer to one another.
    #[test]
    fn an_old_ledger_is_brought_up_to_date_with_all_it_held() {
        let mut db = Connection::open_in_memory().unwrap();
        migrations().to_version(&mut db, 1).unwrap();
        let order = r#"{"id":"stall:7","placed_at":null,"paid_at":null,"state":"open","buyer":null,"recipient":
            {"name":"Ines","company":null,"lines":[],"city":"","region":"","postal_code":"","country":null,
            "country_as_written":null,"email":null},"lines":[],"postage_charged":null,"tax":null,"discount":null,
            "total":null,"currency":"USD","gift":false,"gift_message":null,"note":null,"ship_by":null}"#;
        let line = r#"{"line":"A","code":"A","title":"","options":null,"quantity":2,"unit_price":null}"#;
        db.execute("INSERT INTO orders (source, number, state, doc) VALUES ('stall', '7', 'open', ?1)", [order])
            .unwrap();
        db.execute("INSERT INTO order_lines VALUES ('stall', '7', 'A', 0, 2, ?1)", [line]).unwrap();
        db.execute("INSERT INTO questions (id, kind, key, doc, answer) VALUES (3, 'article', 'Gul', '{}', 'GULL')", [])
            .unwrap();
        let ledger = Ledger::prepare(db, "a").unwrap();
        assert_eq!(ledger.due_orders().unwrap()[0].order.lines[0].quantity, 2);
        let answer: String =
            ledger.db.query_row("SELECT answer FROM questions WHERE id = 3", [], |row| row.get(0)).unwrap();
        assert_eq!(answer, "GULL");
        // The lines still belong to the orders: one without its order is refused.
        let stray =
            "INSERT INTO order_lines (source, number, line, place, quantity, doc) VALUES ('x', '1', 'A', 0, 1, '{}')";
        assert!(ledger.db.execute(stray, []).is_err());
        let gone = ledger.db.execute("DELETE FROM orders", []);
        assert!(gone.is_err(), "an order with lines can't go");
    }

    /// By hand: of 14 and 1, two lay in the parcel that was taken off, which were packed in no other. Of the second item,
    /// packed anew since, nothing is due.
    #[test]
    fn what_came_back_of_an_old_ledgers_trade_is_due() {
        let mut db = Connection::open_in_memory().unwrap();
        migrations().to_version(&mut db, 11).unwrap();
        db.execute_batch(
            r#"INSERT INTO trades (partner, agreed, doc) VALUES ('ines', '2026-11-20',
                '{"send": [{"quantity": 14, "what": "A"}, {"quantity": 1, "what": "B"}]}');
            INSERT INTO manifests (date, revision, recorded_at, plan) VALUES ('2026-11-25', 1, '', '{}'),
                ('2026-11-26', 1, '', '{}');
            INSERT INTO parcels (manifest_id, ref, listed_on, name, mailer, state) VALUES
                (1, '1125-01', '2026-11-25', '', 'A', 'listed'), (1, '1125-02', '2026-11-25', '', 'A', 'cancelled'),
                (2, '1126-01', '2026-11-26', '', 'A', 'listed');
            INSERT INTO parcel_items (parcel_id, trade_id, item, code, quantity) VALUES
                (1, 1, 0, 'A', 12), (2, 1, 0, 'A', 2), (2, 1, 1, 'B', 1), (3, 1, 1, 'B', 1);"#,
        )
        .unwrap();
        let ledger = Ledger::prepare(db, "a").unwrap();
        let due = ledger
            .rows("SELECT item, left FROM trade_items_due", |row| Ok((row.get::<_, u32>(0)?, row.get::<_, u32>(1)?)))
            .unwrap();
        assert_eq!(due, [(0, 2)]);
    }

    /// The third migration makes the table of drops anew: what hangs on it hangs on it still.
    #[test]
    fn files_of_an_old_ledger_keep_their_refusals_and_may_be_of_new_kinds() {
        let mut db = Connection::open_in_memory().unwrap();
        migrations().to_version(&mut db, 2).unwrap();
        let hash = "a".repeat(64);
        db.execute(
            "INSERT INTO drops VALUES (7, ?1, 'a.csv', 'sales', 'stall', '2026-11-25T11:30:00Z', 2, 1, 1, 0)",
            [&hash],
        )
        .unwrap();
        db.execute("INSERT INTO refusals (drop_id, line, doc) VALUES (7, 2, '{}')", []).unwrap();
        db.execute("INSERT INTO questions (id, kind, key, doc) VALUES (3, 'part', 'x', '{}')", []).unwrap();
        let ledger = Ledger::prepare(db, "a").unwrap();
        let held: (String, i64) = ledger
            .db
            .query_row("SELECT d.hash, r.line FROM refusals r JOIN drops d ON d.id = r.drop_id", [], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })
            .unwrap();
        assert_eq!(held, (hash, 2));
        let insert = |kind: &str, hash: &str| {
            ledger.db.execute(
                "INSERT INTO drops (hash, name, kind, taken_at, read, taken, refused, skipped)
                 VALUES (?1, 'b', ?2, '', 0, 0, 0, 0)",
                [hash, kind],
            )
        };
        assert!(insert("receipts", &"b".repeat(64)).is_ok());
        assert!(insert("nonsense", &"c".repeat(64)).is_err());
        assert!(ledger.db.execute("DELETE FROM drops WHERE id = 7", []).is_err(), "a file with refusals can't go");
        // A row is tied to a parcel that is there, by something.
        let row = "INSERT INTO receipts (drop_id, line, source, key, doc, parcel_id, tied_by) VALUES (8, 2, 'x', 'k', '{}', ?1, ?2)";
        assert!(ledger.db.execute(row, params![1, "tracking"]).is_err());
        assert!(ledger.db.execute(row, params![None::<i64>, "tracking"]).is_err());
        assert!(ledger.db.execute(row, params![None::<i64>, None::<String>]).is_ok());
    }
}
