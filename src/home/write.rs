//! Writing a home: one to fill in, or the sample with its drops.
//!
//! Handed a directory that is new or empty; promises that nothing in it is ever overwritten. The files are compiled
//! in, so that one binary is all there is to install.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// A home that can't be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// Something lies there.
    #[error("`{0}` is not empty; name a new directory")]
    NotEmpty(PathBuf),
    /// The system said no.
    #[error("`{path}` can't be written: {why}; name a directory of your own")]
    Io {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
}

macro_rules! sample {
    ($($path:literal),* $(,)?) => {
        [$(($path, include_bytes!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/saltmarsh/", $path)).as_slice())),*]
    };
}

macro_rules! drops {
    ($($name:literal),* $(,)?) => {
        [$((concat!("inbox/", $name), include_bytes!(concat!(env!("CARGO_MANIFEST_DIR"), "/inbox/", $name)).as_slice())),*]
    };
}

const SAMPLE: [(&str, &[u8]); 10] = sample![
    "dawnpack.toml",
    "catalogue.csv",
    "mailers.csv",
    "rates/northline-2026-07.toml",
    "rates/northline-2026-12.toml",
    "rates/zones.csv",
    "columns/stall.toml",
    "columns/quay.toml",
    "columns/northline-labels.toml",
    "columns/northline-counter.toml",
];

const DROPS: [(&str, &[u8]); 5] =
    drops!["stall-week-48.csv", "quay-november.csv", "trade-okonjo.txt", "trade-brandvold.txt", "trade-brannigan.eml",];

/// Writes a commented home to fill in: the sample's files, without its drops.
///
/// # Errors
/// [`WriteError`].
pub fn write_new(dir: &Path) -> Result<(), WriteError> {
    write(dir, SAMPLE.iter())
}

/// Writes the sample home with its drops in the inbox.
///
/// # Errors
/// [`WriteError`].
pub fn write_sample(dir: &Path) -> Result<(), WriteError> {
    write(dir, SAMPLE.iter().chain(&DROPS))
}

fn write<'a>(dir: &Path, files: impl Iterator<Item = &'a (&'a str, &'a [u8])>) -> Result<(), WriteError> {
    let io = |path: &Path| {
        let path = path.to_owned();
        move |why| WriteError::Io { path, why }
    };
    fs::create_dir_all(dir).map_err(io(dir))?;
    if fs::read_dir(dir).map_err(io(dir))?.next().is_some() {
        return Err(WriteError::NotEmpty(dir.to_owned()));
    }
    for folder in ["inbox", "archive", "refused", "outbox", "rates", "columns", "templates"] {
        let path = dir.join(folder);
        fs::create_dir_all(&path).map_err(io(&path))?;
    }
    for (name, bytes) in files {
        let path = dir.join(name);
        fs::write(&path, bytes).map_err(io(&path))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::home::Home;

    #[test]
    fn what_is_written_loads() {
        let dir = tempfile::tempdir().unwrap();
        for (name, write, drops) in [("sample", write_sample as fn(&Path) -> _, DROPS.len()), ("new", write_new, 0)] {
            let root = dir.path().join("deeper").join(name);
            write(&root).unwrap();
            let home = Home::load(&root).unwrap();
            assert_eq!(home.catalogue.iter().count(), 25);
            assert_eq!((home.mailers.len(), home.cards.len(), home.maps.len()), (4, 2, 4));
            assert_eq!(fs::read_dir(home.inbox()).unwrap().count(), drops);
        }
    }

    #[test]
    fn nothing_is_written_over() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("mine.txt"), "mine").unwrap();
        for write in [write_new, write_sample] {
            let error = write(dir.path()).unwrap_err();
            assert!(error.to_string().ends_with("is not empty; name a new directory"), "{error}");
        }
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }
}
