//! The inbox as a folder: what lies in it, when it has settled, and where it goes afterwards.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use crate::model::day::{Refused, Waiting};

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
        let mut wait = |why: &str| odd.push(Waiting { file: name.clone(), why: why.to_owned() });
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
        let Ok(metadata) = fs::metadata(&path) else { continue };
        if metadata.is_dir() {
            wait("is a folder; drop the files in it, one by one");
        } else if !metadata.is_file() {
            wait("is no ordinary file; drop a file");
        } else if metadata.len() > 0 {
            let modified = metadata.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            files.push(Found { name, path, size: metadata.len(), modified });
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
    /// The system said no.
    #[error("can't be read ({0}); check whose file it is")]
    Io(#[source] io::Error),
}

/// The bytes of a file.
///
/// # Errors
/// [`LoadError`].
pub fn load(found: &Found) -> Result<Vec<u8>, LoadError> {
    let size = fs::metadata(&found.path).map_err(sorted)?.len();
    if size > MAX_DROP_BYTES {
        return Err(LoadError::TooLarge { size });
    }
    fs::read(&found.path).map_err(sorted)
}

fn sorted(error: io::Error) -> LoadError {
    if error.kind() == io::ErrorKind::NotFound { LoadError::Gone } else { LoadError::Io(error) }
}

/// Tells when files have stopped changing.
#[derive(Clone, Debug)]
pub struct Settling {
    quiet: SignedDuration,
    seen: BTreeMap<String, (u64, SystemTime, Timestamp)>,
}

impl Settling {
    /// A file has settled once its size and time of writing stayed the same for `quiet`.
    #[must_use]
    pub fn new(quiet: Duration) -> Self {
        Self { quiet: SignedDuration::try_from(quiet).unwrap_or(SignedDuration::MAX), seen: BTreeMap::new() }
    }

    /// Those of the files that have settled, as seen at `at`.
    pub fn settled(&mut self, found: &[Found], at: Timestamp) -> Vec<Found> {
        self.seen.retain(|name, _| found.iter().any(|file| file.name == *name));
        let mut settled = Vec::new();
        for file in found {
            let seen = self.seen.entry(file.name.clone()).or_insert((file.size, file.modified, at));
            if (seen.0, seen.1) != (file.size, file.modified) {
                *seen = (file.size, file.modified, at);
            }
            if at.duration_since(seen.2) >= self.quiet {
                settled.push(file.clone());
            }
        }
        settled
    }
}

/// Moves a file that was taken in to `archive/D/`, bytes unchanged.
///
/// # Errors
/// Where it can't be moved.
pub fn archive(home: &Path, found: &Found, day: Date) -> io::Result<PathBuf> {
    store(&home.join("archive").join(day.to_string()), found)
}

/// Moves a file that could not be read to `refused/D/`, with the reason beside it.
///
/// # Errors
/// Where it can't be moved or the reason can't be written.
pub fn refuse(home: &Path, found: &Found, day: Date, why: &Refused) -> io::Result<PathBuf> {
    let dir = home.join("refused").join(day.to_string());
    let stored = store(&dir, found)?;
    let name = stored.file_name().map_or_else(|| found.name.clone(), |name| name.display().to_string());
    let place = why.line.map(|line| format!(", line {line}")).unwrap_or_default();
    write_whole(&dir, &format!("{name}.why.txt"), format!("{}{place}: {}\n", why.file, why.reason).as_bytes())?;
    Ok(stored)
}

/// Writes what was refused of a file to `refused/D/NAME.refused.ENDING`. Another file of the same name, with other
/// rows, keeps its own.
///
/// # Errors
/// Where it can't be written.
pub fn write_refused_rows(home: &Path, name: &str, day: Date, ending: &str, rows: &[u8]) -> io::Result<PathBuf> {
    let dir = home.join("refused").join(day.to_string());
    let mut target = format!("{name}.refused.{ending}");
    let mut number = 2;
    while fs::read(dir.join(&target)).is_ok_and(|there| there != rows) {
        target = format!("{name}-{number}.refused.{ending}");
        number += 1;
    }
    write_whole(&dir, &target, rows)
}

/// A file of the same name and bytes is the same file; with other bytes it gets a number.
fn store(dir: &Path, found: &Found) -> io::Result<PathBuf> {
    fs::create_dir_all(dir)?;
    let path = Path::new(&found.name);
    let stem = path.file_stem().map_or_else(|| found.name.clone(), |stem| stem.display().to_string());
    let ending = path.extension().map(|ending| format!(".{}", ending.display())).unwrap_or_default();
    let mut target = dir.join(&found.name);
    let mut number = 2;
    while target.exists() {
        if fs::read(&target)? == fs::read(&found.path)? {
            fs::remove_file(&found.path)?;
            return Ok(target);
        }
        target = dir.join(format!("{stem}-{number}{ending}"));
        number += 1;
    }
    match fs::rename(&found.path, &target) {
        // Another file system: copy, make sure of it, then take the drop away.
        Err(error) if error.kind() == io::ErrorKind::CrossesDevices => {
            fs::copy(&found.path, &target)?;
            File::open(&target)?.sync_all()?;
            fs::remove_file(&found.path)?;
        }
        moved => moved?,
    }
    File::open(dir)?.sync_all()?;
    Ok(target)
}

fn write_whole(dir: &Path, name: &str, bytes: &[u8]) -> io::Result<PathBuf> {
    fs::create_dir_all(dir)?;
    let path = dir.join(name);
    let mut file = tempfile::Builder::new().prefix(".part-").tempfile_in(dir)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(&path).map_err(|error| error.error)?;
    File::open(dir)?.sync_all()?;
    Ok(path)
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
        let (files, odd) = names(inbox.path());
        assert_eq!(files, ["a.csv"]);
        assert_eq!(odd, ["folder", "link.csv"]);
    }

    #[test]
    fn a_file_settles_once_it_stays_the_same_for_long_enough() {
        let at = |second: i64| Timestamp::from_second(1_000_000 + second).unwrap();
        let file = |size| Found { name: "a".into(), path: "a".into(), size, modified: SystemTime::UNIX_EPOCH };
        let mut settling = Settling::new(Duration::from_secs(3));
        assert!(settling.settled(&[file(1)], at(0)).is_empty());
        assert!(settling.settled(&[file(2)], at(2)).is_empty());
        assert!(settling.settled(&[file(2)], at(4)).is_empty());
        assert_eq!(settling.settled(&[file(2)], at(5)).len(), 1);
    }

    #[test]
    fn two_files_of_one_name_are_both_kept() {
        let home = tempfile::tempdir().unwrap();
        let day = jiff::civil::date(2026, 11, 25);
        let drop = |text: &str| {
            let path = home.path().join("a.csv");
            fs::write(&path, text).unwrap();
            Found { name: "a.csv".into(), path, size: 1, modified: SystemTime::UNIX_EPOCH }
        };
        for text in ["one", "two", "one"] {
            archive(home.path(), &drop(text), day).unwrap();
        }
        let mut kept: Vec<String> = fs::read_dir(home.path().join("archive/2026-11-25"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().display().to_string())
            .collect();
        kept.sort();
        assert_eq!(kept, ["a-2.csv", "a.csv"]);
    }
}
