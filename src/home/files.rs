//! Opening the home's files: what is there, what is not, and what is no text.

use std::io::ErrorKind;
use std::path::Path;

use super::fault::Fault;

/// No file that a person keeps by hand comes near this; what does was put there by mistake.
const LARGEST: u64 = 32 * 1024 * 1024;

/// A file that could not be read as text.
pub(super) struct Unread {
    /// Why.
    pub(super) fault: Fault,
    /// There is none of that name.
    pub(super) absent: bool,
}

/// The text of `file`, relative to `root`, without a byte order mark.
pub(super) fn text(root: &Path, file: &str) -> Result<String, Unread> {
    let path = root.join(file);
    let fault = |mend: String| Unread { fault: Fault::file(file, mend), absent: false };
    let about = std::fs::metadata(&path).map_err(|error| {
        if error.kind() != ErrorKind::NotFound {
            return fault(format!("can't be opened: {error}"));
        }
        if path.is_symlink() {
            return fault("is a link to a file that is not there; mend the link".to_owned());
        }
        Unread { absent: true, ..fault("is not there; `dawnpack new DIR` writes one to fill in".to_owned()) }
    })?;
    if about.is_dir() {
        return Err(fault("is a folder; a file is needed here".to_owned()));
    }
    // A pipe or a device would never end.
    if !about.is_file() {
        return Err(fault("is no plain file; put one here".to_owned()));
    }
    if about.len() > LARGEST {
        return Err(fault(format!("is larger than {} MB; this can't be meant", LARGEST / 1024 / 1024)));
    }
    let bytes = std::fs::read(&path).map_err(|error| fault(format!("can't be read: {error}")))?;
    let text = String::from_utf8(bytes).map(|text| match text.strip_prefix('\u{FEFF}') {
        Some(rest) => rest.to_owned(),
        None => text,
    });
    text.map_err(|error| {
        let before = error.as_bytes().get(..error.utf8_error().valid_up_to()).unwrap_or_default();
        let line = before.iter().fold(1, |line, byte| line + u64::from(*byte == b'\n'));
        let fault = Fault::file(file, "is not UTF-8 from here on; save it as UTF-8 text");
        Unread { fault: Fault { line: Some(line), ..fault }, absent: false }
    })
}

/// Files of `folder` with an `ending`, such as `toml`, relative to `root`, by name. Hidden files and the copies
/// that editors leave behind are left alone.
pub(super) fn listed(root: &Path, folder: &str, ending: &str) -> Result<Vec<String>, Unread> {
    let path = root.join(folder);
    let fault = |mend: String| Unread { fault: Fault::file(folder, mend), absent: false };
    let entries = std::fs::read_dir(&path).map_err(|error| {
        if error.kind() == ErrorKind::NotADirectory {
            return fault("is a file; a folder is needed here".to_owned());
        }
        if error.kind() != ErrorKind::NotFound {
            return fault(format!("can't be opened: {error}"));
        }
        if path.is_symlink() {
            return fault("is a link to a folder that is not there; mend the link".to_owned());
        }
        Unread { absent: true, ..fault(format!("is not there; make a folder {folder}/ in the home")) }
    })?;
    let mut files = Vec::new();
    for entry in entries {
        let name = entry.map_err(|error| fault(format!("can't be read: {error}")))?.file_name();
        let Some(name) = name.to_str() else {
            return Err(fault(format!("holds `{}`, whose name is not UTF-8; rename it", name.display())));
        };
        let wanted = Path::new(name).extension().is_some_and(|own| own.eq_ignore_ascii_case(ending));
        if wanted && !name.starts_with('.') {
            files.push(format!("{folder}/{name}"));
        }
    }
    files.sort();
    Ok(files)
}
