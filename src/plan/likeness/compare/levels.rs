//! How far two values of one field agree.
//!
//! Handed the values as [`Traits`] holds them; promises one [`Level`] for each two, the same whichever comes first.
//! Turned down: one likeness of strings for all fields, which takes 12 for 21 and "Tern St" for "Tern Ct".

use strsim::damerau_levenshtein;

use super::super::names;
use super::super::standard::{Agreement, Standard};
use super::{Traits, in_a_row};

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
        (Some(a), Some(b)) if in_a_row(a) == in_a_row(b) => Level::Equal,
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

/// [`Level::Garbled`] where two digits are turned round.
pub(super) fn numbers(a: &str, b: &str) -> Level {
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

fn sorted(text: &str) -> Vec<char> {
    let mut letters: Vec<char> = text.chars().collect();
    letters.sort_unstable();
    letters
}

pub(super) fn codes(a: &str, b: &str) -> Level {
    missing(a, b).unwrap_or_else(|| match damerau_levenshtein(a, b) {
        0 => Level::Equal,
        1 => Level::Slip,
        2 => Level::Garbled,
        _ => Level::Differs,
    })
}

/// From this many letters on there may be two slips: in "Tern Street" and "Heron Street" two make another street.
const LONG: usize = 14;

/// One slip or two, and none in the digits: "1st" is not "2nd".
pub(super) fn texts(a: &str, b: &str) -> Level {
    missing(a, b).unwrap_or_else(|| if a == b { Level::Equal } else { slip(a, b) })
}

fn slip(a: &str, b: &str) -> Level {
    let long = a.len().max(b.len());
    let allowed = if long < LONG { 1 } else { 2 };
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    if long < 4 || a.len().abs_diff(b.len()) > 2 * allowed || digits(a) != digits(b) {
        return Level::Differs;
    }
    match damerau_levenshtein(a, b) {
        edits if edits <= allowed => Level::Slip,
        edits if edits <= 2 * allowed => Level::Garbled,
        _ => Level::Differs,
    }
}

pub(super) fn streets(a: &Traits, b: &Traits) -> Level {
    let level = match missing(&a.street, &b.street) {
        Some(Level::Neither) => return texts(&a.rest, &b.rest),
        Some(level) => level,
        None if a.street == b.street => return Level::Equal,
        // Tern St and Tern Ct are two streets, and so are W Tern St and E Tern St.
        None if differ_in_a_short_word(&a.standard.street, &b.standard.street) => {
            return if is_misspelt_type(a, b) { Level::Slip } else { Level::Differs };
        }
        None => slip(&a.street, &b.street),
    };
    if level == Level::Slip {
        return level;
    }
    // The street may stand in another line on one side, or be written so that it could not be standardised.
    let written = |x: Option<&String>, y: Option<&String>| match (x, y) {
        (Some(x), Some(y)) if x.len().min(y.len()) >= 8 => texts(x, y),
        (Some(_) | None, _) => Level::Differs,
    };
    let turned = |street: &str, rest: &str| {
        if street.len() >= 6 && !rest.is_empty() { texts(street, rest) } else { Level::Differs }
    };
    let (a1, b1) = (a.lines.first(), b.lines.first());
    let best = [
        written(a1, b1),
        written(a1, b.lines.get(1)),
        written(a.lines.get(1), b1),
        turned(&a.street, &b.rest),
        turned(&b.street, &a.rest),
    ];
    let best = best.into_iter().min().unwrap_or(level);
    match best {
        Level::Equal | Level::Slip => Level::Slip,
        Level::Garbled => level.min(best),
        Level::Neither | Level::Missing | Level::Near | Level::Differs => level,
    }
}

/// Whether one has a known word where the other has that word with one slip, so that only one could be shortened:
/// "Tern Place", "Tern Plce".
fn is_misspelt_type(a: &Traits, b: &Traits) -> bool {
    let as_written = |of: &Traits| of.lines.first().is_some_and(|line| *line == of.street);
    match (a.lines.first(), b.lines.first()) {
        (Some(x), Some(y)) => as_written(a) != as_written(b) && damerau_levenshtein(x, y) == 1,
        (None, _) | (_, None) => false,
    }
}

fn differ_in_a_short_word(a: &[String], b: &[String]) -> bool {
    let other: Vec<(&String, &String)> = a.iter().zip(b).filter(|(x, y)| x != y).collect();
    a.len() == b.len() && matches!(other.as_slice(), [(x, y)] if x.len() <= 4 && y.len() <= 4)
}

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
