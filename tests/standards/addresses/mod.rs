//! Addresses in standard form against Publication 28's tables, ZIP prefixes, and pairs written by hand.
//!
//! Sources: `data/street_suffixes.csv`, `data/unit_designators.csv`, `data/directionals.csv` (USPS Publication 28,
//! appendices C1 and C2 and section 233), `data/states.csv`, `data/zip3_state.csv`, `data/postal_code_patterns.csv`,
//! `data/address_pairs.csv` and `data/countries.csv`, each with its own at its head. All places are invented, and a
//! postal code only has the shape of one.

mod countries;
mod laws;
mod pairs;
mod postal;
mod tables;

use dawnpack::model::address::Country;
use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::standard::{Standard, standard};

/// "US|88 Tern Street~Apt 4|Gullhaven|OR|97099": country, lines, town, region, postal code.
fn to(text: &str) -> Recipient {
    let mut fields = text.split('|').map(str::trim);
    let mut next = || fields.next().unwrap_or_default().to_owned();
    let country: Option<Country> = next().parse().ok();
    assert!(country.is_some(), "{text}");
    Recipient {
        name: "Ines Okonjo".into(),
        company: None,
        lines: next().split('~').map(|line| line.trim().to_owned()).collect(),
        city: next(),
        region: next(),
        postal_code: next(),
        country,
        country_as_written: None,
        email: None,
    }
}

fn read(text: &str) -> Standard {
    standard(&to(text))
}

fn tern(street: &str) -> Standard {
    read(&format!("US|{street}|Gullhaven|OR|97099"))
}
