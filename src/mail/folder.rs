//! The folder transport: each message as an `.eml` file, for a mail client or another program to pick up.
//!
//! Handed a writer that puts a file there whole or not at all, the one by which the whole house writes; promises that a
//! message delivered again is the same file again.
//! Turned down: the Maildir layout, whose names come from the clock and the process, so that a message delivered
//! twice would be two.

use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::deliver::DeliverError;

/// File systems bound a name at 255 octets (POSIX `NAME_MAX`); room is left for the mark and the ending.
const LONGEST: usize = 200;

/// The file of a message: the part of its Message-ID before the `@`, which is unique within a home. Where that can't
/// be a file name as it stands, what stands in the way becomes `-`, and a mark of the whole id keeps two apart.
#[must_use]
pub fn file_name(message_id: &str) -> String {
    let local = message_id.split_once('@').map_or(message_id, |(local, _)| local);
    let safe: String = local
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '-' })
        .take(LONGEST)
        .collect();
    let safe = safe.trim_start_matches('.');
    if safe == local && !safe.is_empty() {
        format!("{safe}.eml")
    } else {
        format!("{safe}-{}.eml", blake3::hash(message_id.as_bytes()).to_hex().split_at(12).0)
    }
}

/// Writes a file of that name and these bytes into a folder, whole or not at all, over one of that name.
pub type WriteWhole = fn(dir: &Path, name: &str, bytes: &[u8]) -> io::Result<PathBuf>;

pub(super) fn write(dir: &Path, whole: WriteWhole, message_id: &str, message: &[u8]) -> Result<PathBuf, DeliverError> {
    whole(dir, &file_name(message_id), message).map_err(|error| sorted(dir, &error))
}

pub(super) fn probe(dir: &Path) -> Result<String, DeliverError> {
    fs::create_dir_all(dir)
        .and_then(|()| tempfile::tempfile_in(dir))
        .map(|_| format!("messages go to `{}`", dir.display()))
        .map_err(|error| sorted(dir, &error))
}

/// Rights and names don't mend themselves; a full disk or a drive that is away may.
fn sorted(dir: &Path, error: &io::Error) -> DeliverError {
    let said = format!("the mail folder `{}` can't be written: {error}", dir.display());
    if matches!(
        error.kind(),
        ErrorKind::PermissionDenied
            | ErrorKind::ReadOnlyFilesystem
            | ErrorKind::NotADirectory
            | ErrorKind::AlreadyExists
            | ErrorKind::IsADirectory
    ) {
        DeliverError::Permanent(format!("{said}; it has to be a folder that dawnpack may write"))
    } else {
        DeliverError::Transient(said)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn listed(dir: &Path) -> Vec<String> {
        let mut names: Vec<_> =
            fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn plainly(dir: &Path, name: &str, bytes: &[u8]) -> io::Result<PathBuf> {
        fs::create_dir_all(dir)?;
        fs::write(dir.join(name), bytes).map(|()| dir.join(name))
    }

    #[test]
    fn delivered_twice_is_one_file_with_the_bytes_of_the_last() {
        let home = tempfile::tempdir().unwrap();
        let dir = home.path().join("outbox/mail");
        write(&dir, plainly, "2026-11-25.r1.x@example.org", b"Subject: first\r\n").unwrap();
        let path = write(&dir, plainly, "2026-11-25.r1.x@example.org", b"Subject: x\r\n").unwrap();
        assert_eq!(listed(&dir), ["2026-11-25.r1.x.eml"]);
        assert_eq!(fs::read(path).unwrap(), b"Subject: x\r\n");
    }

    #[test]
    fn no_message_id_leaves_the_folder_and_no_two_share_a_file() {
        let ids = [
            "../../etc/x@a.example",
            "..-..-etc-x@a.example",
            "-..-etc-x@a.example",
            "a/b@a.example",
            "a-b@a.example",
            "",
            "@",
            "é@a.example",
            "ü@a.example",
        ];
        let long = [format!("{}a@a.example", "x".repeat(400)), format!("{}b@a.example", "x".repeat(400))];
        let names: BTreeSet<String> =
            ids.iter().copied().chain(long.iter().map(String::as_str)).map(file_name).collect();
        assert_eq!(names.len(), ids.len() + long.len(), "{names:?}");
        for name in names {
            assert!(!name.contains('/') && !name.starts_with('.') && name.len() <= 255, "{name}");
        }
    }

    #[test]
    fn a_folder_that_is_a_file_needs_the_seller() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("mail");
        fs::write(&file, "").unwrap();
        for error in [write(&file, plainly, "a@example.org", b"x").unwrap_err(), probe(&file).unwrap_err()] {
            assert!(
                matches!(&error, DeliverError::Permanent(said) if said.contains("has to be a folder")),
                "{error:?}"
            );
        }
    }

    #[test]
    fn a_probe_leaves_nothing_behind() {
        let home = tempfile::tempdir().unwrap();
        let dir = home.path().join("outbox/mail");
        assert!(probe(&dir).unwrap().starts_with("messages go to"));
        assert_eq!(listed(&dir), [""; 0]);
    }
}
