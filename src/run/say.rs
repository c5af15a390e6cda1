//! Questions that change nothing: how would this file be read, what is this number.

use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use crate::inbox::{self, folder};
use crate::plan::tracking;

use super::Desk;
use super::quoted::Numbers;
use super::reading::{self, FileRead};

/// Reads files as the inbox would, and changes nothing.
///
/// # Errors
/// Where a file can't be opened at all.
pub fn read(desk: &Desk, files: &[PathBuf]) -> Result<Vec<FileRead>> {
    let rules = desk.read_rules();
    files
        .iter()
        .map(|path| {
            let size = fs::metadata(path).with_context(|| format!("`{}` can't be read", path.display()))?.len();
            if size > folder::MAX_DROP_BYTES {
                bail!("`{}` {}", path.display(), folder::LoadError::TooLarge { size });
            }
            let bytes = fs::read(path).with_context(|| format!("`{}` can't be read", path.display()))?;
            let name = path.file_name().map_or_else(|| path.display().to_string(), |name| name.display().to_string());
            Ok(reading::document(&name, &inbox::read(&name, &bytes, &rules)))
        })
        .collect()
}

/// What tracking numbers are, as `identify --json` tells it.
#[must_use]
pub fn identify(numbers: &[String]) -> Numbers {
    Numbers { numbers: numbers.iter().map(|given| tracking::identify(given).into()).collect() }
}
