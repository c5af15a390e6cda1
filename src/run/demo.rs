//! The sample home and its morning, at a moment that never changes.
//!
//! It is a show, and ends well, exit code 0, where it could be shown: what its morning needs the seller for was put there
//! to be seen. Turned down: the morning's own exit code 3, which is for whoever watches over a home; of a first look it
//! would say that it failed.

use std::path::Path;

use anyhow::{Result, anyhow};

use crate::home;

use super::{Desk, Morning, When, morning};

/// The morning that the sample's drops are made for: the day before Thanksgiving.
const NOW: &str = "2026-11-25T06:30:00-05:00[America/New_York]";

/// Writes the sample home to `dir` and runs its morning. Run again on the same home, it changes nothing.
///
/// # Errors
/// Where `dir` holds something else, or can't be written.
pub fn demo(dir: &Path) -> Result<Morning> {
    if !dir.join("dawnpack.toml").is_file() {
        home::write_sample(dir)?;
    }
    let when: When = NOW.parse().map_err(|why| anyhow!("the sample's moment: {why}"))?;
    let mut desk = Desk::open(dir, &when)?;
    let today = desk.today();
    morning(&mut desk, today)
}
