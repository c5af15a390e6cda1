//! Where drops go: to the archive, or to the refused with the reason.
//!
//! Handed a drop and the day; promises its bytes unchanged under its own name, or a numbered one where another file
//! has that. Doing it twice is doing it once, so that a stop in between is made good by the next run. Turned down:
//! naming files by their hash, which nobody finds again.

use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use crate::model::day::Refused;

use super::Found;
use super::claim::Claim;

/// What became of a file that was to be put away.
#[derive(Clone, PartialEq, Eq, Debug)]
#[must_use]
pub enum Moved {
    /// It lies there.
    To(PathBuf),
    /// It is no longer the one that was read, and stays where it is.
    Changed,
    /// Somebody took it away.
    Gone,
}

impl Moved {
    /// Of a file that could not be claimed.
    fn not(read: &Found) -> Self {
        if read.path.exists() { Self::Changed } else { Self::Gone }
    }
}

/// Moves a file that was taken in to `archive/D/`, bytes unchanged. `read` is as [`load`](super::load) gave it.
///
/// # Errors
/// Where it can't be moved; then it lies in the inbox.
pub fn archive(home: &Path, read: &Found, day: Date) -> io::Result<Moved> {
    let Some(claim) = Claim::of(read)? else { return Ok(Moved::not(read)) };
    let dir = home.join("archive").join(day.to_string());
    let place = free_place(&dir, &read.name, &claim.path)?;
    put(&dir, &claim, place).map(Moved::To)
}

/// A file of the archive, dropped under that name, whose bytes are the ones looked for: its place in the home, and the
/// bytes. Another may have taken the name, and got a number.
///
/// # Errors
/// Where the archive can't be listed or a file of it can't be read.
pub fn find_archived(home: &Path, name: &str, is_it: impl Fn(&[u8]) -> bool) -> io::Result<Option<(String, Vec<u8>)>> {
    let archive = home.join("archive");
    let name = short(name);
    let stem = Path::new(&name).file_stem().map_or_else(|| name.clone(), |stem| stem.display().to_string());
    let mut days = match fs::read_dir(&archive) {
        Ok(days) => days.map(|day| day.map(|day| day.file_name())).collect::<io::Result<Vec<_>>>()?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    days.sort();
    for day in days {
        let dir = archive.join(&day);
        if !dir.is_dir() {
            continue;
        }
        let mut names = Vec::new();
        for entry in fs::read_dir(&dir)? {
            let own = entry?.file_name().display().to_string();
            if own.starts_with(&stem) {
                names.push(own);
            }
        }
        names.sort();
        for own in names {
            let bytes = fs::read(dir.join(&own))?;
            if is_it(&bytes) {
                return Ok(Some((format!("archive/{}/{own}", day.display()), bytes)));
            }
        }
    }
    Ok(None)
}

/// Moves a file that could not be read to `refused/D/`, with the reason beside it.
///
/// # Errors
/// Where it can't be moved or the reason can't be written; then it lies in the inbox.
pub fn refuse(home: &Path, read: &Found, day: Date, why: &Refused) -> io::Result<Moved> {
    let Some(claim) = Claim::of(read)? else { return Ok(Moved::not(read)) };
    let dir = home.join("refused").join(day.to_string());
    let place = free_place(&dir, &read.name, &claim.path)?;
    // The reason first: a file without one would be there for nobody knows what.
    write_whole(&dir, &format!("{}.why.txt", place.name), format!("{why}\n").as_bytes())?;
    put(&dir, &claim, place).map(Moved::To)
}

/// Writes what was refused of a file to `refused/D/NAME.refused.ENDING`. Another file of the same name, with other
/// rows, keeps its own.
///
/// # Errors
/// Where it can't be written.
pub fn write_refused_rows(home: &Path, name: &str, day: Date, ending: &str, rows: &[u8]) -> io::Result<PathBuf> {
    let dir = home.join("refused").join(day.to_string());
    let name = short(name);
    let mut target = format!("{name}.refused.{ending}");
    let mut number = 2;
    while fs::read(dir.join(&target)).is_ok_and(|there| there != rows) {
        target = format!("{name}-{number}.refused.{ending}");
        number += 1;
    }
    write_whole(&dir, &target, rows)
}

/// Bytes of a name that leave room for what is put behind it: file systems take 255 (POSIX `NAME_MAX`, common
/// practice).
const LONGEST_NAME: usize = 200;

/// The name, its middle cut out where it is too long.
fn short(name: &str) -> String {
    if name.len() <= LONGEST_NAME {
        return name.to_owned();
    }
    let (head, tail) = (name.floor_char_boundary(LONGEST_NAME - 30), name.ceil_char_boundary(name.len() - 20));
    format!("{}…{}", name.get(..head).unwrap_or_default(), name.get(tail..).unwrap_or_default())
}

/// Where a file goes: the name, and whether the very same bytes lie there already.
struct Place {
    name: String,
    taken_by_the_same: bool,
}

/// A file of the same name and bytes is the same file; with other bytes it gets a number.
fn free_place(dir: &Path, name: &str, file: &Path) -> io::Result<Place> {
    fs::create_dir_all(dir)?;
    let own = short(name);
    let mut name = own.clone();
    let mut number = 2;
    loop {
        match fs::symlink_metadata(dir.join(&name)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(Place { name, taken_by_the_same: false });
            }
            Err(error) => return Err(error),
            Ok(_) if are_same(&dir.join(&name), file)? => return Ok(Place { name, taken_by_the_same: true }),
            Ok(_) => name = numbered(&own, number),
        }
        number += 1;
    }
}

/// The name with a number before its ending.
pub(super) fn numbered(name: &str, number: u32) -> String {
    let path = Path::new(name);
    let stem = path.file_stem().map_or_else(|| name.to_owned(), |stem| stem.display().to_string());
    let ending = path.extension().map(|ending| format!(".{}", ending.display())).unwrap_or_default();
    format!("{stem}-{number}{ending}")
}

/// Compares piece by piece: what was too large to read is too large to compare whole.
fn are_same(one: &Path, other: &Path) -> io::Result<bool> {
    let (one, other) = (File::open(one)?, File::open(other)?);
    if one.metadata()?.len() != other.metadata()?.len() {
        return Ok(false);
    }
    let (mut a, mut b) = (Vec::new(), Vec::new());
    loop {
        a.clear();
        b.clear();
        let read = (&one).take(1 << 16).read_to_end(&mut a)?;
        (&other).take(1 << 16).read_to_end(&mut b)?;
        if a != b {
            return Ok(false);
        }
        if read == 0 {
            return Ok(true);
        }
    }
}

fn put(dir: &Path, claim: &Claim, place: Place) -> io::Result<PathBuf> {
    let target = dir.join(place.name);
    if place.taken_by_the_same {
        fs::remove_file(&claim.path)?;
        return Ok(target);
    }
    match fs::rename(&claim.path, &target) {
        // Another file system: copy whole, then take the drop away.
        Err(error) if error.kind() == io::ErrorKind::CrossesDevices => {
            let mut copy = part(dir)?;
            io::copy(&mut File::open(&claim.path)?, &mut copy)?;
            copy.as_file().sync_all()?;
            copy.persist(&target).map_err(|error| error.error)?;
            File::open(dir)?.sync_all()?;
            fs::remove_file(&claim.path)?;
        }
        moved => moved?,
    }
    File::open(dir)?.sync_all()?;
    Ok(target)
}

/// A file that is no file yet. A temporary one would be its owner's alone; what stays may also be the group's, where the
/// process's mask allows it, so that a mail client or a printer's account of that group gets at the papers. It is nobody
/// else's, whatever the mask allows: there are names and addresses in it.
fn part(dir: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".part-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o660));
    builder.tempfile_in(dir)
}

/// Writes a file whole or not at all: a reader never sees half of it.
///
/// # Errors
/// Where it can't be written.
pub fn write_whole(dir: &Path, name: &str, bytes: &[u8]) -> io::Result<PathBuf> {
    fs::create_dir_all(dir)?;
    let path = dir.join(name);
    let mut file = part(dir)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(&path).map_err(|error| error.error)?;
    File::open(dir)?.sync_all()?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::super::tests::dropped;
    use super::*;

    const DAY: Date = jiff::civil::date(2026, 11, 25);

    fn inbox(home: &tempfile::TempDir, name: &str, bytes: &[u8]) -> Found {
        let inbox = home.path().join("inbox");
        fs::create_dir_all(&inbox).unwrap();
        dropped(&inbox, name, bytes)
    }

    #[test]
    fn what_is_refused_lies_beside_its_reason_and_is_the_same_twice() {
        let home = tempfile::tempdir().unwrap();
        let why = Refused {
            file: "a.csv".into(),
            line: Some(4),
            column: Some("Qty".into()),
            value: Some("two".into()),
            reason: "is no number".into(),
        };
        for _ in 0..2 {
            assert!(matches!(refuse(home.path(), &inbox(&home, "a.csv", b"one"), DAY, &why).unwrap(), Moved::To(_)));
        }
        let dir = home.path().join("refused/2026-11-25");
        assert_eq!(fs::read_dir(&dir).unwrap().count(), 2);
        let text = fs::read_to_string(dir.join("a.csv.why.txt")).unwrap();
        assert_eq!(text, "a.csv, line 4, column `Qty`: `two`: is no number\n");
    }

    #[test]
    fn refused_rows_of_files_of_one_name_are_all_kept_and_written_once() {
        let home = tempfile::tempdir().unwrap();
        for rows in ["one", "two", "one", "two"] {
            write_refused_rows(home.path(), "a.csv", DAY, "csv", rows.as_bytes()).unwrap();
        }
        let dir = home.path().join("refused/2026-11-25");
        assert_eq!(fs::read_dir(&dir).unwrap().count(), 2);
        assert_eq!(fs::read_to_string(dir.join("a.csv-2.refused.csv")).unwrap(), "two");
    }

    #[test]
    fn the_longest_name_there_is_does_not_stop_anything() {
        let home = tempfile::tempdir().unwrap();
        let name = format!("{}.csv", "ü".repeat(125));
        let Moved::To(stored) = archive(home.path(), &inbox(&home, &name, b"x"), DAY).unwrap() else { panic!() };
        assert!(stored.display().to_string().ends_with("üü.csv"));
        let why = Refused { file: name.clone(), line: None, column: None, value: None, reason: "is no table".into() };
        assert!(matches!(refuse(home.path(), &inbox(&home, &name, b"x"), DAY, &why).unwrap(), Moved::To(_)));
        write_refused_rows(home.path(), &name, DAY, "csv", b"x").unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn what_is_written_is_nobodys_but_the_owners_and_the_groups() {
        use std::os::unix::fs::PermissionsExt as _;
        let home = tempfile::tempdir().unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let like = home.path().join("like");
        File::create(&like).unwrap();
        let path = write_whole(home.path(), "a.eml", b"x").unwrap();
        assert_eq!(mode(&path), mode(&like) & 0o660);
    }

    #[test]
    fn two_files_of_one_name_are_both_kept() {
        let home = tempfile::tempdir().unwrap();
        // They differ in their last byte only.
        let long = |last: u8| [vec![b'x'; 100_000], vec![last]].concat();
        for bytes in [long(1), long(2), long(1)] {
            assert!(matches!(archive(home.path(), &inbox(&home, "a.csv", &bytes), DAY).unwrap(), Moved::To(_)));
        }
        let mut kept: Vec<String> = fs::read_dir(home.path().join("archive/2026-11-25"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().display().to_string())
            .collect();
        kept.sort();
        assert_eq!(kept, ["a-2.csv", "a.csv"]);
    }
}
