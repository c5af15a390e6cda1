//! Trying the home out: everything a morning needs, without running one.

use std::fs;

use anyhow::Result;
use serde::Serialize;

use crate::mail;
use crate::papers::{self, Templates};

use super::{Desk, post};

/// What was tried and how it went, line by line.
#[derive(Debug, Default, Serialize)]
pub struct Checked {
    /// What is well.
    pub well: Vec<String>,
    /// What is not, and the mend.
    pub faults: Vec<String>,
}

/// Tries configuration, catalogue, rate cards, templates and folders, and with `mail` the mail transport. The
/// home itself was checked when the desk was opened.
///
/// # Errors
/// Where the ledger can't be read.
pub fn check(desk: &Desk, mail: bool) -> Result<Checked> {
    let home = &desk.home;
    let mut checked = Checked::default();
    checked.well.push(format!(
        "home: {} articles, {} mailers, {} rate cards, {} column maps",
        home.catalogue.iter().count(),
        home.mailers.len(),
        home.cards.len(),
        home.maps.len()
    ));
    checked.well.push(format!("ledger: {} parcels", desk.ledger.list_parcels()?.len()));
    match Templates::with_overrides(home.templates.clone()).map_err(|fault| vec![fault]).and_then(|all| all.check()) {
        Ok(()) => checked.well.push(format!("templates: {} of your own, all render", home.templates.len())),
        Err(faults) => checked.faults.extend(faults.iter().map(ToString::to_string)),
    }
    checked.well.extend(papers::typefaces(&home.fonts()).iter().map(|line| format!("typefaces: {line}")));
    for dir in [home.inbox(), home.root.join("archive"), home.root.join("refused"), home.root.join("outbox")] {
        match fs::create_dir_all(&dir).and_then(|()| tempfile::tempfile_in(&dir)) {
            Ok(_) => checked.well.push(format!("folder: `{}` can be written", dir.display())),
            Err(error) => checked.faults.push(format!("folder: `{}` can't be written: {error}", dir.display())),
        }
    }
    let today = desk.today();
    if crate::plan::postage::cards_in_force(&home.cards, today).is_empty() {
        checked.faults.push(format!("rates/: no rate card holds on {today}; add one with valid_from not after it"));
    }
    if mail {
        let tried = post::transport(desk)
            .and_then(|transport| mail::test_connection(&transport).map_err(|error| error.to_string()));
        match tried {
            Ok(how) => checked.well.push(format!("mail: {how}")),
            Err(why) => checked.faults.push(format!("mail: {why}")),
        }
    }
    Ok(checked)
}
