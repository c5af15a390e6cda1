//! The inbox as a folder: what lies in it, when it has settled, and where it goes afterwards.
//!
//! Handed paths of the home; promises that a drop is either where it was or whole where it belongs, whenever the
//! program stops, that no file ever takes another's place, and that what is put away is what was read. Turned down: deleting what was taken in, since the
//! bytes as they were dropped are the only proof of what a source said.

use std::collections::BTreeMap;
use std::fs::{self, File, Metadata};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use crate::model::day::Waiting;

mod keep;

mod claim;

pub use claim::put_back;
pub use keep::{Moved, archive, find_archived, refuse, write_refused_rows, write_whole};

/// The largest drop that is read: a year of orders is a thousandth of it.
pub const MAX_DROP_BYTES: u64 = 64 * 1024 * 1024;

/// A file that lies in the inbox.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Found {
    /// Its name.
    pub name: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Bytes.
    pub size: u64,
    /// When it was last written.
    pub modified: SystemTime,
    /// Device and number of its inode: another file saved over the name has another. Zero where the system has none.
    pub inode: (u64, u64),
}

impl Found {
    fn new(name: String, path: PathBuf, metadata: &Metadata) -> Self {
        let modified = metadata.modified().unwrap_or(SystemTime::UNIX_EPOCH);
        Self { name, path, size: metadata.len(), modified, inode: inode(metadata) }
    }

    /// Whether the file there is the one found, and nobody has written to it since.
    fn is_still(&self, metadata: &Metadata) -> bool {
        *self == Self::new(self.name.clone(), self.path.clone(), metadata)
    }
}

#[cfg(unix)]
fn inode(metadata: &Metadata) -> (u64, u64) {
    use std::os::unix::fs::MetadataExt as _;
    (metadata.dev(), metadata.ino())
}

/// Size and time of writing have to do.
#[cfg(not(unix))]
const fn inode(_: &Metadata) -> (u64, u64) {
    (0, 0)
}

/// What lies in the inbox.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Entry {
    /// A file to take in.
    File(Found),
    /// Something that is told and left where it is.
    Odd(Waiting),
}

/// Everything in the inbox, oldest first, then by name. Names that programs use while they write (`.part`,
/// `.crdownload`, `.tmp`, `~$`, dotfiles) and files without a byte are left alone.
///
/// # Errors
/// Where the folder can't be listed.
pub fn scan(inbox: &Path) -> io::Result<Vec<Entry>> {
    let root = fs::canonicalize(inbox)?;
    let (mut files, mut odd) = (Vec::new(), Vec::new());
    for entry in fs::read_dir(inbox)? {
        let entry = entry?;
        let name = entry.file_name().display().to_string();
        if is_temporary(&name) {
            continue;
        }
        let path = entry.path();
        let mut wait = |why: &str| odd.push(Waiting::new(&name, why));
        // A file may be gone by now, or be a link that leads nowhere.
        let Ok(target) = fs::canonicalize(&path) else {
            if entry.file_type().is_ok_and(|kind| kind.is_symlink()) {
                wait("is a link that leads nowhere; drop the file itself");
            }
            continue;
        };
        if !target.starts_with(&root) {
            wait("is a link to outside the inbox; drop the file itself");
            continue;
        }
        if entry.file_type().is_ok_and(|kind| kind.is_symlink()) {
            wait("is a link to another drop, which is taken in by itself; remove the link");
            continue;
        }
        let Ok(metadata) = fs::metadata(&path) else { continue };
        if metadata.is_dir() {
            wait("is a folder; drop the files in it, one by one");
        } else if !metadata.is_file() {
            wait("is no ordinary file; drop a file");
        } else if metadata.len() > 0 {
            files.push(Found::new(name, path, &metadata));
        }
    }
    files.sort_by(|a, b| (a.modified, &a.name).cmp(&(b.modified, &b.name)));
    odd.sort();
    Ok(files.into_iter().map(Entry::File).chain(odd.into_iter().map(Entry::Odd)).collect())
}

fn is_temporary(name: &str) -> bool {
    let lower = name.to_lowercase();
    name.starts_with('.')
        || name.starts_with("~$")
        || [".part", ".crdownload", ".tmp"].iter().any(|ending| lower.ends_with(ending))
}

/// Why a file could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// Larger than any export.
    #[error("is {size} bytes, more than the {MAX_DROP_BYTES} that are read; export a shorter span of time")]
    TooLarge {
        /// Bytes.
        size: u64,
    },
    /// Taken away in the meantime.
    #[error("is gone")]
    Gone,
    /// Written to while it was read.
    #[error("is still being written; it is read at the next run")]
    Changing,
    /// The system said no.
    #[error("can't be read ({0}); check whose file it is")]
    Io(#[source] io::Error),
}

/// The bytes of a file, and the file as it was when they were read: only that one is put away.
///
/// # Errors
/// [`LoadError`].
pub fn load(found: &Found) -> Result<(Found, Vec<u8>), LoadError> {
    let mut file = File::open(&found.path).map_err(sorted)?;
    let as_of = |file: &File| {
        file.metadata().map(|metadata| Found::new(found.name.clone(), found.path.clone(), &metadata)).map_err(sorted)
    };
    let before = as_of(&file)?;
    if before.size > MAX_DROP_BYTES {
        return Err(LoadError::TooLarge { size: before.size });
    }
    let mut bytes = Vec::with_capacity(usize::try_from(before.size).unwrap_or_default());
    // It may be growing.
    let read = (&mut file).take(MAX_DROP_BYTES + 1).read_to_end(&mut bytes).map_err(sorted)? as u64;
    if read > MAX_DROP_BYTES {
        return Err(LoadError::TooLarge { size: read });
    }
    if before.size != read || as_of(&file)? != before {
        return Err(LoadError::Changing);
    }
    Ok((before, bytes))
}

fn sorted(error: io::Error) -> LoadError {
    if error.kind() == io::ErrorKind::NotFound { LoadError::Gone } else { LoadError::Io(error) }
}

/// Tells when files have stopped changing.
///
/// Turned down: the wall clock. A machine that slept through the copying of a file would wake to one that lay
/// unchanged for hours, and read its first half.
#[derive(Clone, Debug)]
pub struct Settling {
    quiet: Duration,
    seen: BTreeMap<String, (u64, SystemTime, Duration)>,
}

impl Settling {
    /// A file has settled once its size and time of writing stayed the same for `quiet`.
    #[must_use]
    pub fn new(quiet: Duration) -> Self {
        Self { quiet, seen: BTreeMap::new() }
    }

    /// Those of the files that have settled, as seen at `at`: time gone since any one moment, by a clock that only
    /// goes forward.
    pub fn settled(&mut self, found: &[Found], at: Duration) -> Vec<Found> {
        self.seen.retain(|name, _| found.iter().any(|file| file.name == *name));
        let mut settled = Vec::new();
        for file in found {
            let seen = self.seen.entry(file.name.clone()).or_insert((file.size, file.modified, at));
            if (seen.0, seen.1) != (file.size, file.modified) {
                *seen = (file.size, file.modified, at);
            }
            if at.saturating_sub(seen.2) >= self.quiet {
                settled.push(file.clone());
            }
        }
        settled
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(inbox: &Path) -> (Vec<String>, Vec<String>) {
        let (mut files, mut odd) = (Vec::new(), Vec::new());
        for entry in scan(inbox).unwrap() {
            match entry {
                Entry::File(found) => files.push(found.name),
                Entry::Odd(waiting) => odd.push(waiting.file),
            }
        }
        files.sort();
        (files, odd)
    }

    #[test]
    fn what_is_being_written_is_left_alone_and_what_is_odd_is_told() {
        let inbox = tempfile::tempdir().unwrap();
        let outside = tempfile::NamedTempFile::new().unwrap();
        for name in ["a.csv", "b.part", "c.crdownload", "~$d.xlsx", ".e"] {
            fs::write(inbox.path().join(name), "x").unwrap();
        }
        fs::write(inbox.path().join("empty.csv"), "").unwrap();
        fs::create_dir(inbox.path().join("folder")).unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(outside.path(), inbox.path().join("link.csv")).unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(inbox.path().join("a.csv"), inbox.path().join("inner.csv")).unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(inbox.path().join("nowhere"), inbox.path().join("lost.csv")).unwrap();
        let (files, odd) = names(inbox.path());
        assert_eq!(files, ["a.csv"]);
        assert_eq!(odd, ["folder", "inner.csv", "link.csv", "lost.csv"]);
    }

    #[test]
    fn a_file_settles_once_it_stays_the_same_for_long_enough() {
        let at = Duration::from_secs;
        let file =
            |size| Found { name: "a".into(), path: "a".into(), size, modified: SystemTime::UNIX_EPOCH, inode: (0, 0) };
        let mut settling = Settling::new(Duration::from_secs(3));
        assert!(settling.settled(&[file(1)], at(0)).is_empty());
        assert!(settling.settled(&[file(2)], at(2)).is_empty());
        assert!(settling.settled(&[file(2)], at(4)).is_empty());
        assert_eq!(settling.settled(&[file(2)], at(5)).len(), 1);
    }

    /// A file as a scan would find it.
    pub(super) fn dropped(home: &Path, name: &str, bytes: &[u8]) -> Found {
        let path = home.join(name);
        fs::write(&path, bytes).unwrap();
        let metadata = fs::metadata(&path).unwrap();
        Found::new(name.into(), path, &metadata)
    }

    #[test]
    fn what_is_too_large_is_never_read_and_what_is_gone_is_said() {
        let home = tempfile::tempdir().unwrap();
        let found = dropped(home.path(), "a.csv", b"x");
        assert_eq!(load(&found).unwrap(), (found.clone(), b"x".to_vec()));
        File::options().write(true).open(&found.path).unwrap().set_len(MAX_DROP_BYTES + 1).unwrap();
        assert!(matches!(load(&found), Err(LoadError::TooLarge { size }) if size == MAX_DROP_BYTES + 1));
        fs::remove_file(&found.path).unwrap();
        assert!(matches!(load(&found), Err(LoadError::Gone)));
    }
}
