//! Given names in use, and what is one of them misspelt.
//!
//! Handed parts of names; promises that two names in use are never taken for one another, and that what is no name in
//! use is only taken for a slip of one where that is far likelier than that somebody is called so ([`Field`]). Turned
//! down: edits counted alone, which make one person of the sisters Talia and Taalia.

use std::collections::{BTreeSet, HashSet};
use std::sync::LazyLock;

use super::super::standard::{Digraphs, letters};
use super::slips::{Edit, Field, Odds, SURE};

static COMMON: LazyLock<HashSet<&str>> = LazyLock::new(|| listed(include_str!("given_names.txt")).collect());

static RARE: LazyLock<HashSet<&str>> = LazyLock::new(|| listed(include_str!("rare_given_names.txt")).collect());

/// On no list are the names of 0.1 % by the lists' own source, a hundredfold for whom that source doesn't see (by hand);
/// what 500 of the 348 million children have that were counted is on one.
const ODDS: Odds = Odds { varied: 64.0, unlisted: 0.1, most: 500.0 / 348e6 };

static FIELD: LazyLock<Field> = LazyLock::new(|| Field::new(ODDS, COMMON.iter().chain(RARE.iter()).copied()));

pub(super) fn listed(file: &'static str) -> impl Iterator<Item = &'static str> {
    file.lines().filter(|line| !line.starts_with('#'))
}

/// Whether it is among the common given names.
pub(super) fn is_given(part: &str) -> bool {
    COMMON.contains(part)
}

/// Whether it is among the given names that anybody has.
pub(super) fn is_in_use(part: &str) -> bool {
    COMMON.contains(part) || RARE.contains(part)
}

/// The given names in the first half of an email address, where they stand as words of their own.
#[must_use]
pub fn given_in(local: &str) -> BTreeSet<String> {
    let words = local.to_uppercase();
    let words = words.split(|c: char| !c.is_alphabetic());
    words.filter(|word| word.len() > 2 && is_given(word)).map(str::to_owned).collect()
}

/// Whether two parts one edit apart are one given name, one of them misspelt.
///
/// One must be a name in use, the other none, and the odds must be for a slip ([`Field::is_likelier`]): "Jadk", "Hollh",
/// "Nichokas", but not "Aluce", "Taalia", "Tiarna". Where neither is known, only two letters turned round are a slip
/// ("Emiily", "Emiliy"), as [`Edit::turns_round_a_consonant`] has it.
pub(super) fn is_misspelt(x: &str, y: &str) -> bool {
    match (is_in_use(x), is_in_use(y)) {
        (true, false) => FIELD.is_likelier(x, y, SURE),
        (false, true) => FIELD.is_likelier(y, x, SURE),
        (false, false) => Edit::between(x, y).turns_round_a_consonant(),
        (true, true) => false,
    }
}

/// Whether they are spellings of one name with an umlaut: "Jürgen", "Juergen". Not å, which would make one of "Talia"
/// and "Taalia".
pub(super) fn is_umlaut(x: &str, y: &str) -> bool {
    let doubled = |text: &str| text.contains("AA");
    letters(x, Digraphs::Umlauts) == letters(y, Digraphs::Umlauts) && !doubled(x) && !doubled(y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_told_from_a_name() {
        for (meant, written) in [
            ("JACK", "JADK"),
            ("HOLLY", "HOLLH"),
            ("NICHOLAS", "NICHOKAS"),
            ("DOMINIC", "DOMINCI"),
            ("BENJAMIN", "BENJAYMIN"),
            ("CHARLOTTE", "CHAROTTE"),
            ("LAUREN", "LAURDN"),
        ] {
            assert!(FIELD.is_likelier(meant, written, SURE), "{meant} {written}");
        }
        for (meant, written) in [
            ("ALICE", "ALUCE"),
            ("TALIA", "TAALIA"),
            ("DANIEL", "DANJEL"),
            ("SARAH", "SAAH"),
            ("MARY", "MHARY"),
            ("INDIANA", "INDYANA"),
            ("KYLE", "KYLEH"),
            ("TAHLIA", "TAALIA"),
            ("ZOE", "ZO"),
            ("ZOE", "ZOH"),
        ] {
            assert!(!FIELD.is_likelier(meant, written, SURE), "{meant} {written}");
        }
    }
}
