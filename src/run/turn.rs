//! Who may do what with a home at once.
//!
//! Two locks, of the kernel, which go with the process however it ends. The turn is held while a home is changed: two
//! runs at once would number parcels alike. The delivery is held from reading what is queued until its outcome is noted,
//! so that no two processes send the same message; the turn isn't held meanwhile, since a mail server may take minutes
//! over each step. Whoever only reads needs neither. Turned down: the ledger's own lock for both, which holds for one
//! transaction and knows nothing of files and mail.

use std::fs::{File, TryLockError};
use std::io;
use std::path::Path;
use std::thread;
use std::time::Duration;

use anyhow::{Context, Result};
use tracing::warn;

use super::service;

/// While it waits, it looks this often.
const LOOK: Duration = Duration::from_millis(100);

/// Held while a home is changed.
#[derive(Debug)]
pub(super) struct Turn {
    _file: File,
}

impl Turn {
    /// Waits for another run on the home to end, and says so. The service manager hears meanwhile that all is well.
    pub(super) fn take(root: &Path) -> Result<Self> {
        let file = open(root, ".dawnpack.turn")?;
        if !locked(&file, root)? {
            warn!("waits for another dawnpack on this home");
            while !locked(&file, root)? {
                service::watchdog();
                thread::sleep(LOOK);
            }
        }
        Ok(Self { _file: file })
    }
}

/// Held while messages are delivered.
#[derive(Debug)]
pub(super) struct Delivery {
    _file: File,
}

impl Delivery {
    /// `None` while another run delivers.
    pub(super) fn try_take(root: &Path) -> Result<Option<Self>> {
        let file = open(root, ".dawnpack.post")?;
        Ok(locked(&file, root)?.then_some(Self { _file: file }))
    }
}

fn open(root: &Path, name: &str) -> Result<File> {
    File::create(root.join(name)).with_context(|| unwritable(root))
}

fn locked(file: &File, root: &Path) -> Result<bool> {
    match file.try_lock() {
        Ok(()) => Ok(true),
        Err(TryLockError::WouldBlock) => Ok(false),
        // A signal came in between: the next look will tell.
        Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Interrupted => Ok(false),
        Err(TryLockError::Error(error)) => Err(error).with_context(|| unwritable(root)),
    }
}

fn unwritable(root: &Path) -> String {
    format!("`{}` can't be written; is the disk full, or the folder another user's?", root.display())
}
