//! How far two values of one field agree.
//!
//! Handed the values as [`Traits`] holds them; promises one [`Level`] for each two, the same whichever comes first.
//! Turned down: one likeness of strings for all fields, which takes 12 for 21 and "Tern St" for "Tern Ct".

use strsim::damerau_levenshtein;

use super::super::names;
use super::super::standard::{Agreement, Standard};
use super::Traits;

/// How two values of one field agree.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Level {
    /// Equal.
    Equal,
    /// Equal but for a slip of the pen.
    Slip,
    /// Neither has one.
    Neither,
    /// One has none.
    Missing,
    /// Too far apart for a slip, and not far enough to be surely another.
    Garbled,
    /// Two house numbers that are near one another, as those of neighbours are.
    Near,
    /// Different.
    Differs,
}

pub(super) fn units(a: &Standard, b: &Standard) -> Level {
    match (&a.unit, &b.unit) {
        (None, None) => Level::Neither,
        (Some(_), Some(_)) => match a.unit_agreement(b) {
            Agreement::Same => Level::Equal,
            Agreement::Silent => Level::Missing,
            Agreement::Differs => Level::Differs,
        },
        (None, Some(_)) | (Some(_), None) => Level::Missing,
    }
}

pub(super) fn option(a: Option<&String>, b: Option<&String>) -> Level {
    match (a, b) {
        (None, None) => Level::Neither,
        (None, Some(_)) | (Some(_), None) => Level::Missing,
        (Some(a), Some(b)) if a == b => Level::Equal,
        (Some(_), Some(_)) => Level::Differs,
    }
}

fn missing(a: &str, b: &str) -> Option<Level> {
    match (a.is_empty(), b.is_empty()) {
        (true, true) => Some(Level::Neither),
        (true, false) | (false, true) => Some(Level::Missing),
        (false, false) => None,
    }
}

/// Neighbours' numbers differ by this much at most.
const NEIGHBOURS: u64 = 10;

/// [`Level::Garbled`] where two digits are turned round; [`Level::Differs`] where one says that it has none.
pub(super) fn numbers(a: &Traits, b: &Traits) -> Level {
    let numberless = |of: &Traits, other: &Traits| of.numberless && !other.standard.number.is_empty();
    if numberless(a, b) || numberless(b, a) {
        return Level::Differs;
    }
    let (a, b) = (a.standard.number.as_str(), b.standard.number.as_str());
    if let Some(level) = missing(a, b) {
        return level;
    }
    if a == b {
        return Level::Equal;
    }
    let value = |text: &str| {
        let digits: String = text.chars().take_while(char::is_ascii_digit).collect();
        digits.parse::<u64>().ok()
    };
    if let (Some(x), Some(y)) = (value(a), value(b))
        && x.abs_diff(y) <= NEIGHBOURS
    {
        return Level::Near;
    }
    match damerau_levenshtein(a, b) {
        1 if a.len() == b.len() && sorted(a) == sorted(b) => Level::Garbled,
        1 => Level::Slip,
        _ => Level::Differs,
    }
}

pub(super) fn sorted(text: &str) -> Vec<char> {
    let mut letters: Vec<char> = text.chars().collect();
    letters.sort_unstable();
    letters
}

/// Postal codes. In a country whose codes name streets or doors any other code is another place's, [`Level::Near`]; and
/// so is one with another figure, or with its last two turned round, elsewhere but in Australia, where a locality has one
/// code (common practice, no source).
pub(super) fn codes(a: &Traits, b: &Traits) -> Level {
    let (x, y) = (a.standard.postal.as_str(), b.standard.postal.as_str());
    let country = a.country();
    missing(x, y).unwrap_or_else(|| match damerau_levenshtein(x, y) {
        0 => Level::Equal,
        1 if is_lawful_beside(x, y, country) => Level::Near,
        1 => Level::Slip,
        2 => Level::Garbled,
        _ => Level::Differs,
    })
}

/// Whether the one change between two codes makes another code of the same town.
fn is_lawful_beside(x: &str, y: &str, country: &str) -> bool {
    const FINE: [&str; 7] = ["GB", "NL", "CA", "IE", "PT", "BR", "JP"];
    let places = x.chars().zip(y.chars()).filter(|(x, y)| x != y).count();
    let last_two = x.chars().rev().zip(y.chars().rev()).skip(2).all(|(x, y)| x == y);
    FINE.contains(&country) || country != "AU" && x.len() == y.len() && (places == 1 || last_two)
}

/// Companies: one slip or two, and none in the digits.
pub(super) fn texts(a: &str, b: &str) -> Level {
    missing(a, b).unwrap_or_else(|| match damerau_levenshtein(a, b) {
        0 => Level::Equal,
        1 if a.len().max(b.len()) >= LONG => Level::Slip,
        _ => Level::Differs,
    })
}

/// Of so many letters a name may have a slip.
const LONG: usize = 4;

/// [`Level::Differs`] where one mailbox is named after a person whom the other recipient isn't; else
/// [`Level::Near`]: people have several.
pub(super) fn emails(a: &Traits, b: &Traits) -> Level {
    let (Some(x), Some(y)) = (&a.email, &b.email) else {
        return if a.email == b.email { Level::Neither } else { Level::Missing };
    };
    if x == y {
        return Level::Equal;
    }
    let other_person = |own: &str, other: &str| {
        let given = |email: &str| names::given_in(email.split('@').next().unwrap_or(email));
        let (own, other) = (given(own), given(other));
        !own.is_empty() && !other.is_empty() && own.is_disjoint(&other)
    };
    if other_person(x, y) { Level::Differs } else { Level::Near }
}
