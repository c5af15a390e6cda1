//! Taking a drop out of everybody's reach before it is put away.
//!
//! A file is read, recorded and only then moved, and meanwhile a newer export may be saved over its name, or a program
//! may add to it: moving what lies under the name would put bytes away that nobody read. So the file is first renamed
//! into a folder of its own inside the inbox, which is one step and on the same file system; what is saved under the
//! name from then on is another file. Then it is compared with what was read, by inode, size and time of writing. If it
//! is another it goes back, never over what has the name by now, and the next run reads it. Handed a file as it was read;
//! promises that only that one is put away, and that whatever a stop leaves behind is given back by [`put_back`].
//!
//! What remains: a program that opened the file before and writes to it after the comparison writes to the file that is
//! put away, and one that writes as many bytes as there were within the same tick of the file system's clock isn't
//! noticed. `proof` tells of such a file, since its bytes no longer have the hash that was recorded. Turned down: putting
//! away a copy of the bytes that were read and deleting the drop, which would lose what is written late without a trace.

use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::Found;

/// The folder inside the inbox; scans pass over names with a dot.
const TAKING: &str = ".taking";

/// A drop that nobody else gets at by its name. Dropped without having been put away, it goes back to the inbox.
pub(super) struct Claim {
    inbox: PathBuf,
    name: String,
    /// Where it lies for now.
    pub(super) path: PathBuf,
}

impl Claim {
    /// Claims a file; `None` where it is gone, or is no longer the one that was read.
    pub(super) fn of(read: &Found) -> io::Result<Option<Self>> {
        let Some(inbox) = read.path.parent() else { return Ok(None) };
        // What a stop left there is another drop, and not to be renamed over.
        put_back(inbox)?;
        let taking = inbox.join(TAKING);
        fs::create_dir_all(&taking)?;
        let claim = Self { inbox: inbox.to_owned(), name: read.name.clone(), path: taking.join(&read.name) };
        match fs::rename(&read.path, &claim.path) {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
            claimed => claimed?,
        }
        let same = read.is_still(&fs::symlink_metadata(&claim.path)?);
        Ok(same.then_some(claim))
    }
}

impl Drop for Claim {
    fn drop(&mut self) {
        // Put away, there is nothing to give back; what can't be given back now, the next run gives back.
        let _gone_or_later = give_back(&self.path, &self.inbox, &self.name);
        let _in_use = fs::remove_dir(self.inbox.join(TAKING));
    }
}

/// Gives back to the inbox what a stop left claimed. To be called by whoever has the home for himself, since what
/// another run has claimed looks the same.
///
/// # Errors
/// Where a file can't be moved.
pub fn put_back(inbox: &Path) -> io::Result<()> {
    let taking = inbox.join(TAKING);
    let claimed = match fs::read_dir(&taking) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        claimed => claimed?,
    };
    for entry in claimed {
        let entry = entry?;
        give_back(&entry.path(), inbox, &entry.file_name().display().to_string())?;
    }
    fs::remove_dir(taking)
}

/// Under its own name, or a numbered one where something else has that by now.
fn give_back(claimed: &Path, inbox: &Path, name: &str) -> io::Result<()> {
    let mut number = 2;
    let mut target = inbox.join(name);
    loop {
        // A second name for the file is never put over another, as renaming it would be.
        match fs::hard_link(claimed, &target) {
            Ok(()) => return fs::remove_file(claimed),
            Err(error) if error.kind() == ErrorKind::NotFound => return Err(error),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            // A file system without second names; between looking and renaming nothing can be done.
            Err(_) if fs::symlink_metadata(&target).is_err() => return fs::rename(claimed, &target),
            Err(_) => {}
        }
        target = inbox.join(super::keep::numbered(name, number));
        number += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::dropped;
    use super::super::{Entry, Moved, archive, load, scan};
    use super::*;
    use jiff::civil::{Date, date};

    const DAY: Date = date(2026, 11, 25);

    /// What lies in a folder: name and text.
    fn lying(dir: &Path) -> Vec<(String, String)> {
        let Ok(entries) = fs::read_dir(dir) else { return Vec::new() };
        let mut lying: Vec<_> = entries
            .map(|entry| entry.unwrap().path())
            .map(|path| (path.file_name().unwrap().display().to_string(), fs::read_to_string(&path).unwrap()))
            .collect();
        lying.sort();
        lying
    }

    fn pairs(of: &[(&str, &str)]) -> Vec<(String, String)> {
        of.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
    }

    /// A home with one drop that was read.
    fn read() -> (tempfile::TempDir, PathBuf, Found) {
        let home = tempfile::tempdir().unwrap();
        let inbox = home.path().join("inbox");
        fs::create_dir(&inbox).unwrap();
        let (read, bytes) = load(&dropped(&inbox, "a.csv", b"one")).unwrap();
        assert_eq!(bytes, b"one");
        (home, inbox, read)
    }

    #[test]
    fn what_was_read_is_put_away_and_leaves_nothing_behind() {
        let (home, inbox, read) = read();
        assert!(matches!(archive(home.path(), &read, DAY).unwrap(), Moved::To(_)));
        assert_eq!(lying(&home.path().join("archive/2026-11-25")), pairs(&[("a.csv", "one")]));
        assert_eq!(fs::read_dir(inbox).unwrap().count(), 0);
    }

    #[test]
    fn what_was_added_to_or_saved_over_in_between_stays_to_be_read() {
        type Meanwhile = fn(&Path);
        let ways: [(Meanwhile, &str); 3] = [
            (|path| fs::write(path, "one and more").unwrap(), "one and more"),
            (
                |path| {
                    let newer = path.with_extension("new");
                    fs::write(&newer, "two").unwrap();
                    // As long and as old as the one that was read: only the inode tells.
                    let modified = fs::metadata(path).unwrap().modified().unwrap();
                    fs::File::options().write(true).open(&newer).unwrap().set_modified(modified).unwrap();
                    fs::rename(newer, path).unwrap();
                },
                "two",
            ),
            (
                |path| {
                    let file = fs::File::options().write(true).open(path).unwrap();
                    io::Write::write_all(&mut &file, b"eno").unwrap();
                    file.set_modified(std::time::SystemTime::UNIX_EPOCH).unwrap();
                },
                "eno",
            ),
        ];
        for (meanwhile, now) in ways {
            let (home, inbox, read) = read();
            meanwhile(&read.path);
            assert_eq!(archive(home.path(), &read, DAY).unwrap(), Moved::Changed, "{now}");
            assert_eq!(lying(&home.path().join("archive/2026-11-25")), []);
            assert_eq!(lying(&inbox), pairs(&[("a.csv", now)]));
        }
    }

    #[test]
    fn what_is_gone_is_no_fault() {
        let (home, inbox, read) = read();
        fs::remove_file(&read.path).unwrap();
        assert_eq!(archive(home.path(), &read, DAY).unwrap(), Moved::Gone);
        assert_eq!(fs::read_dir(inbox).unwrap().count(), 0);
    }

    /// A stop between claiming and putting away, and a newer export under the name since.
    #[test]
    fn what_a_stop_left_claimed_is_given_back_and_takes_nobodys_place() {
        let (_home, inbox, read) = read();
        fs::create_dir(inbox.join(TAKING)).unwrap();
        fs::rename(&read.path, inbox.join(TAKING).join("a.csv")).unwrap();
        fs::write(inbox.join("a.csv"), "two").unwrap();
        assert!(scan(&inbox).unwrap().iter().all(|entry| matches!(entry, Entry::File(_))));
        put_back(&inbox).unwrap();
        assert_eq!(lying(&inbox), pairs(&[("a-2.csv", "one"), ("a.csv", "two")]));
    }
}
