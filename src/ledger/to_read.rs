//! A ledger that is only read.
//!
//! Promises to make no ledger where there is none, to bring none up to date, and to wait for nobody who writes: in WAL
//! mode a reader sees what was last committed. Turned down: always a copy in memory, which would take the longer the more
//! messages the ledger keeps.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::{Ledger, LedgerError, migrations};

impl Ledger {
    /// Opens the ledger at `path` for reading. Where there is none it is an empty one, and one of an earlier dawnpack is
    /// brought up to date in a copy in memory.
    ///
    /// # Errors
    /// [`LedgerError`] where the file is no ledger, or of a newer dawnpack.
    pub fn open_to_read(path: &Path) -> Result<Self, LedgerError> {
        if !path.exists() {
            return Self::prepare(Connection::open_in_memory()?, "none");
        }
        // A connection that may not write the file could not take its own shared memory away again, either.
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let db = Connection::open_with_flags(path, flags)?;
        db.pragma_update(None, "query_only", true)?;
        db.busy_timeout(Duration::from_secs(10))?;
        let pending = migrations().pending_migrations(&db)?;
        let ledger = Self { db };
        if pending == 0 { Ok(ledger) } else { ledger.scratch_copy() }
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;

    #[test]
    fn where_there_is_none_it_is_empty_and_none_is_made() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("ledger.db");
        assert_eq!(Ledger::open_to_read(&path).unwrap().list_parcels().unwrap().len(), 0);
        assert!(!path.exists());
    }

    #[test]
    fn an_old_one_is_read_as_a_new_one_and_stays_old() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("ledger.db");
        let version = || migrations().current_version(&Connection::open(&path).unwrap()).unwrap();
        migrations().to_version(&mut Connection::open(&path).unwrap(), 1).unwrap();
        let before = version();
        assert_eq!(Ledger::open_to_read(&path).unwrap().list_postage().unwrap().len(), 0);
        assert_eq!(version(), before);
    }

    #[test]
    fn it_is_read_while_another_writes_and_is_not_written() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("ledger.db");
        let mut ledger = Ledger::open(&path, Timestamp::UNIX_EPOCH).unwrap();
        let writes = ledger.db.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate).unwrap();
        let mut read = Ledger::open_to_read(&path).unwrap();
        assert_eq!(read.list_mail().unwrap().len(), 0);
        drop(writes);
        assert!(read.mail_sent(1, Timestamp::UNIX_EPOCH).is_err(), "it was written");
    }
}
