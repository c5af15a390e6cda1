//! Surnames in use, and what is one of them misspelt.
//!
//! Handed two forms of what is taken for a surname, of two names with one given name; promises that two surnames in use
//! are never taken for one ("Meyer", "Meier"), nor two forms between which surnames lawfully vary ("Kowalski",
//! "Kowalska"), and that else one is only taken for a slip of the other where that is far likelier than that a second
//! person at the door is called so ([`Field`]). Turned down: edits counted alone, which make one person of Anna Hansen
//! and Anna Hanson; and a word on the list as a must, as no list holds a tenth of all people's surnames.

use std::collections::HashSet;
use std::sync::LazyLock;

use super::given;
use super::slips::{Field, Odds, SURE};

static LISTED: LazyLock<HashSet<&str>> = LazyLock::new(|| given::listed(include_str!("surnames.txt")).collect());

/// How sure a slip must be where given name and door are one. Two people at one door hardly ever have one given name, so
/// less will do than in a family: a seller has one person twice some ten times as often as two people, one given name is
/// that of a hundredth of all people, and one surname in fifty is misspelt (all by hand); of a thousand merges none may
/// be wrong. That is `1000 * 50 / (10 * 100)`, and ten times as much for doors behind which all come from one country
/// and have its few names.
const AT_ONE_DOOR: f64 = 512.0;

/// The census lists leave out 9.5 % of all people, and no surname that 0.0005 % have: theirs are rounded to nothing.
const ODDS: Odds = Odds { varied: 64.0, unlisted: 0.1, most: 5e-6 };

static FIELD: LazyLock<Field> = LazyLock::new(|| Field::new(ODDS, LISTED.iter().copied()));

/// Whether it is a name that anybody has: a surname, or a given name, which may stand in a surname's place.
pub(super) fn is_in_use(part: &str) -> bool {
    LISTED.contains(part) || given::is_in_use(part)
}

/// How surely two forms of a surname are one, one of them misspelt.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Misspelt {
    /// As surely as a given name must be: whatever else is in doubt, this isn't.
    Anywhere,
    /// If given name and door are one.
    AtOneDoor,
}

/// Whether two forms so many edits apart are one surname, one of them misspelt. Where neither is on the list, each must
/// be a slip of the other: which of them was meant nobody can say.
pub(super) fn misspelt(x: &str, y: &str, edits: usize) -> Option<Misspelt> {
    let is_slip = |meant: &str, written: &str, sure: f64| match edits {
        1 => FIELD.is_likelier(meant, written, sure),
        2 => FIELD.is_likelier_twice(meant, written, sure),
        _ => false,
    };
    let is_one = |sure: f64| match (is_in_use(x), is_in_use(y)) {
        (true, true) => false,
        (true, false) => is_slip(x, y, sure),
        (false, true) => is_slip(y, x, sure),
        (false, false) => is_slip(x, y, sure) && is_slip(y, x, sure),
    };
    // Where one is a given name as well, the surname may be the other part, and sisters are named alike: "George Talia",
    // "George Taalia".
    let may_be_given = (given::is_given(x) || given::is_given(y)) && !given::is_misspelt(x, y);
    if may_be_given || is_another_ending(x, y) || !is_one(AT_ONE_DOOR) {
        return None;
    }
    Some(if is_one(SURE) { Misspelt::Anywhere } else { Misspelt::AtOneDoor })
}

/// Endings by which surnames vary with who bears them or with the country, each in all its forms (common practice, no
/// source; the list is from memory): a wife's and a daughter's, a father's name with "son", a genitive.
const ENDINGS: [&[&str]; 13] = [
    &["SKI", "SKA", "SKY", "SKIJ", "SKYJ", "SKAYA", "SKAIA", "SKII", "SKYI", "SK"],
    &["CKI", "CKA", "CKY", "CKAYA"],
    &["ZKI", "ZKA", "ZKY"],
    &["OV", "OVA", "OFF", "OW", "OF", "OVE"],
    &["EV", "EVA", "EFF", "EW", "YEV", "YEVA"],
    &["IN", "INA", "INE", "YN", "YNA"],
    &["SON", "SEN", "SSON", "SSEN", "SOHN", "ZON", "ZEN", "SONS", "DOTTIR"],
    &["POULOS", "POULOU", "POULO"],
    &["IDIS", "IDOU", "IDES", "ADIS", "ADOU"],
    &["AKIS", "AKI", "AKOS", "AKOU"],
    &["AS", "IENE", "AITE", "IS", "YTE", "ITE", "US", "UTE"],
    &["VICH", "VIC", "VITCH", "WICZ", "VITS", "WITZ", "VITZ", "VICS"],
    &["YAN", "IAN", "JAN", "YANTS"],
];

/// Whether they differ in nothing but an ending: one of [`ENDINGS`], or the vowel, S, Z or N at the end ("Novotny",
/// "Novotna"; "Lopes", "Lopez"; "Robert", "Roberts").
fn is_another_ending(x: &str, y: &str) -> bool {
    let stems = |ending: &[&str]| {
        let stem = |name: &str| -> Vec<String> {
            let stems = ending.iter().filter_map(|ending| name.strip_suffix(ending));
            stems.filter(|stem| !stem.is_empty()).map(str::to_owned).collect()
        };
        let of_y = stem(y);
        stem(x).iter().any(|stem| of_y.contains(stem))
    };
    let light = |c: char| matches!(c, 'A' | 'E' | 'I' | 'O' | 'U' | 'Y' | 'J' | 'S' | 'Z' | 'N');
    let common = x.bytes().zip(y.bytes()).take_while(|(x, y)| x == y).count();
    let lasts = [x, y].map(|name| name.get(common..).unwrap_or(name));
    let alone = lasts.iter().all(|last| last.chars().count() < 2 && last.chars().all(light));
    alone || ENDINGS.into_iter().any(stems)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_told_from_a_surname() {
        for (meant, written) in [("CAMPBELL", "CAMPEBLL"), ("FITZPATRICK", "FITZPTARICK"), ("BLOCK", "BLOVK")] {
            assert_eq!(misspelt(meant, written, 1), Some(Misspelt::Anywhere), "{meant} {written}");
        }
        assert_eq!(misspelt("WINTERBOURNE", "WIMTERBOUENE", 2), Some(Misspelt::Anywhere));
        assert_eq!(misspelt("ASCHE", "ADCHE", 1), Some(Misspelt::AtOneDoor));
        // Neither is on the list; which is the slip isn't said.
        assert!(!is_in_use("OKONJO") && misspelt("OKONKJO", "OKONJO", 1).is_some());
        for (one, other) in [("MEYER", "MEIER"), ("HANSEN", "HANSON"), ("SMITH", "SMYTH"), ("BEATTIE", "BEATIE")] {
            assert_eq!(misspelt(one, other, 1), None, "{one} {other}");
        }
    }

    #[test]
    fn endings_are_no_slips() {
        for (one, other) in [
            ("KOWALSKI", "KOWALSKA"),
            ("PETROV", "PETROVA"),
            ("LARSEN", "LARSON"),
            ("LARSSON", "LARSON"),
            ("NOVOTNY", "NOVOTNA"),
            ("LOPES", "LOPEZ"),
            ("ROBERT", "ROBERTS"),
            ("PAPADOPOULOS", "PAPADOPOULOU"),
            ("PETROVIC", "PETROVICH"),
            ("SCHMIT", "SCHMITZ"),
        ] {
            assert!(is_another_ending(one, other) && is_another_ending(other, one), "{one} {other}");
        }
        for (one, other) in [("CAMPBELL", "CAMPEBLL"), ("BLOCK", "BLOVK"), ("SIMONSON", "SOMONSON"), ("GOLD", "GOLF")] {
            assert!(!is_another_ending(one, other), "{one} {other}");
        }
    }

    /// The file is as its script writes it: sorted, each once, A to Z.
    #[test]
    fn the_list_is_whole() {
        let all: Vec<&str> = given::listed(include_str!("surnames.txt")).collect();
        assert!(all.len() > 100_000 && all.is_sorted_by(|a, b| a < b));
        assert!(all.iter().all(|name| name.len() > 1 && name.bytes().all(|c| c.is_ascii_uppercase())));
    }
}
