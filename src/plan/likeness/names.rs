//! How two names go together.
//!
//! Handed names as people wrote them; promises one [`Names`] for each two, the same whichever comes first. A name is
//! its parts in any order, without titles: which part is the surname is only ever guessed, and nothing is merged by
//! that guess. Turned down: a list of nicknames, which makes one person of a Bill and a William who share a house;
//! and reading given name and surname from their places, which exports swap.

mod given;
mod slips;
mod spelling;
mod surnames;

use strsim::{damerau_levenshtein, jaro_winkler};

use super::standard::{Digraphs, letters};
use surnames::Misspelt;

pub use given::given_in;
use given::{is_given, is_in_use, is_misspelt, is_umlaut};

/// Titles say nothing about who somebody is (common practice, no source).
const TITLES: [&str; 24] = [
    "MR", "MRS", "MS", "MISS", "MX", "DR", "PROF", "SIR", "DAME", "REV", "HERR", "FRAU", "HR", "FR", "DIPL", "ING",
    "MME", "MLLE", "MONSIEUR", "MADAME", "SIG", "SRA", "DHR", "MEVR",
];

/// Endings that tell a father from a son, and what they stand for.
const SUFFIXES: [(&str, &str); 8] = [
    ("JR", "JR"),
    ("JNR", "JR"),
    ("JUNIOR", "JR"),
    ("SR", "SR"),
    ("SNR", "SR"),
    ("SENIOR", "SR"),
    ("II", "II"),
    ("III", "III"),
];

/// What two names have to do with one another, from the most alike to the least.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Names {
    /// The same parts in any order, or the same letters parted elsewhere ("Mc Mellon").
    Same,
    /// The same parts but for slips of the pen: a letter more, less or wrong, or two in the wrong order.
    Slip,
    /// One given name written out, and a surname of which one form is surely a slip of the other; the rest agrees.
    SurnameSlip,
    /// All parts agree, some of them only as an initial.
    Initial,
    /// One is the other without what seems to be the surname.
    NoSurname,
    /// One has another part that the other lacks.
    Shorter,
    /// A part differs by one letter, and either form may be a name: "Kayla" and "Kaela".
    Close,
    /// A part differs by two letters.
    Garbled,
    /// What seems to be the surname agrees; another part doesn't.
    OtherGiven,
    /// Another part agrees; what seems to be the surname doesn't.
    OtherSurname,
    /// One is the elder or the younger, the other isn't said to be.
    OtherGeneration,
    /// Nothing agrees.
    Other,
}

/// A name made ready for comparing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Name {
    /// Its parts, upper case without diacritics, as they came; without titles.
    pub parts: Vec<String>,
    /// "JR", "SR", "II" or "III", where it is said.
    pub generation: Option<&'static str>,
}

impl Name {
    /// The name in `text`.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let folded = letters(text, Digraphs::Letters).replace(['\'', '’', '`'], "");
        let words: Vec<&str> = folded.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let mut parts: Vec<String> =
            words.iter().filter(|word| !TITLES.contains(*word)).map(|&word| word.to_owned()).collect();
        let mut generation = None;
        if parts.len() > 2
            && let Some(last) = parts.last()
            && let Some((_, known)) = SUFFIXES.iter().find(|(written, _)| written == last)
        {
            generation = Some(*known);
            parts.pop();
        }
        if parts.is_empty() {
            // Somebody whose name is a title: "Miss", "Dame".
            parts = words.into_iter().map(str::to_owned).collect();
        }
        Self { parts, generation }
    }

    /// The part that is likely the surname: the last, unless that is a given name and the first is none.
    #[must_use]
    pub fn surname(&self) -> Option<&str> {
        let (first, last) = (self.parts.first()?, self.parts.last()?);
        let turned = is_given(last) && !is_given(first) && first.chars().count() > 1;
        Some(if turned { first } else { last })
    }
}

/// What `a` and `b` have to do with one another.
#[must_use]
pub fn compare(a: &Name, b: &Name) -> Names {
    if a.parts.is_empty() || b.parts.is_empty() {
        return if a == b { Names::Same } else { Names::Shorter };
    }
    // Parts are paired greedily, so the two are put in one order first: the answer must not hang on which came first.
    let alike = if a.parts <= b.parts { parts(a, b) } else { parts(b, a) };
    if a.generation != b.generation && alike < Names::OtherGiven { Names::OtherGeneration } else { alike }
}

/// How two parts of names agree; the order is that of worth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Agree {
    Whole,
    Slip,
    Surname,
    Initial,
    Close,
    Garbled,
}

fn parts(a: &Name, b: &Name) -> Names {
    let mut open_a: Vec<&str> = a.parts.iter().map(String::as_str).collect();
    let mut open_b: Vec<&str> = b.parts.iter().map(String::as_str).collect();
    let mut found: Vec<(&str, &str, Agree)> = Vec::new();
    for level in [Agree::Whole, Agree::Slip, Agree::Surname, Agree::Initial, Agree::Close, Agree::Garbled] {
        let mut at = 0;
        while let Some(&part) = open_a.get(at) {
            let agrees = |other: &&str| agree(part, other, surnames(a, part, b, other)) == Some(level);
            if let Some(other) = open_b.iter().position(agrees) {
                found.push((part, open_b.remove(other), level));
                open_a.remove(at);
            } else {
                at += 1;
            }
        }
    }
    let all = open_a.is_empty() && open_b.is_empty();
    let worst = found.iter().map(|(_, _, level)| *level).max();
    match worst {
        Some(Agree::Whole) if all => return Names::Same,
        Some(Agree::Slip) if all => return Names::Slip,
        Some(Agree::Surname) if all && has_one_given(&found) => return Names::SurnameSlip,
        Some(_) | None => {}
    }
    let parted = parted_elsewhere(a, b);
    match parted {
        Some(0) => return Names::Same,
        Some(1) if a.parts.len() != b.parts.len() && !has_two_given(a, b) => return Names::Slip,
        Some(_) | None => {}
    }
    match worst {
        None => Names::Other,
        Some(_) if parted.is_some_and(|edits| edits < 4) && a.parts.len() != b.parts.len() => Names::Garbled,
        Some(Agree::Initial) if all => Names::Initial,
        Some(Agree::Surname | Agree::Close) if all => Names::Close,
        Some(Agree::Garbled) if all => Names::Garbled,
        Some(_) if found.iter().all(|(_, _, level)| *level == Agree::Initial) => Names::Other,
        Some(level) if open_b.is_empty() && lacks_surname(b, a, &open_a, level) => Names::NoSurname,
        Some(level) if open_a.is_empty() && lacks_surname(a, b, &open_b, level) => Names::NoSurname,
        Some(_) if open_a.is_empty() != open_b.is_empty() => Names::Shorter,
        Some(_) => one_agrees(a, b, &found),
    }
}

/// Whether two parts are taken for the surnames of their names, and how surely.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Surnames {
    /// One of them isn't.
    No,
    /// Last in one name, and in the other taken for a surname that came first: "George Okonjo", "Okonkjo George". The
    /// surname that both share may as well be the other part: "Green Tarnia", "Taalia Green".
    Turned,
    /// Last in both.
    Yes,
}

fn surnames(a: &Name, x: &str, b: &Name, y: &str) -> Surnames {
    let is_last = |name: &Name, part: &str| name.parts.last().is_some_and(|last| last == part);
    if a.surname() != Some(x) || b.surname() != Some(y) || a.parts.len() < 2 || b.parts.len() < 2 {
        return Surnames::No;
    }
    match (is_last(a, x), is_last(b, y)) {
        (true, true) => Surnames::Yes,
        (true, false) | (false, true) => Surnames::Turned,
        (false, false) => Surnames::No,
    }
}

/// Whether `short` is `whole` without the surname: a given name alone, which `whole` has too and not as its surname.
fn lacks_surname(short: &Name, whole: &Name, open: &[&str], level: Agree) -> bool {
    let given = |part: &String| is_given(part) && whole.surname() != Some(part);
    level == Agree::Whole
        && matches!(short.parts.as_slice(), [part] if given(part))
        && matches!((open, whole.surname()), ([left], Some(surname)) if *left == surname)
}

/// Whether what is beside the surname is one given name, and written out: no initial, no slip.
fn has_one_given(found: &[(&str, &str, Agree)]) -> bool {
    let beside = || found.iter().filter(|(_, _, level)| *level != Agree::Surname);
    beside().any(|(part, _, _)| part.chars().count() > 1) && beside().all(|(_, _, level)| *level == Agree::Whole)
}

/// Some part agrees, and on both sides something is left over.
fn one_agrees(a: &Name, b: &Name, found: &[(&str, &str, Agree)]) -> Names {
    let last = |name: &Name, part: &str| name.parts.last().is_some_and(|last| last == part);
    let is_surname = |(x, y, level): &(&str, &str, Agree)| {
        *level != Agree::Initial
            && match (last(a, x), last(b, y)) {
                // In the place of the surname on both sides, or on neither.
                (true, true) => true,
                (false, false) if a.parts.len() == 2 && b.parts.len() == 2 => false,
                (true, false) | (false, true | false) => a.surname() == Some(*x) || b.surname() == Some(*y),
            }
    };
    if found.iter().any(is_surname) { Names::OtherGiven } else { Names::OtherSurname }
}

fn agree(x: &str, y: &str, surnames: Surnames) -> Option<Agree> {
    if x == y {
        return Some(Agree::Whole);
    }
    let (long, short) = (x.chars().count().max(y.chars().count()), x.chars().count().min(y.chars().count()));
    if short == 1 {
        return (x.chars().next() == y.chars().next()).then_some(Agree::Initial);
    }
    // Two names in use are two names, however near: Julian and Juliana, Mario and Maria.
    if long - short > 2 || long < 3 || is_given(x) && is_given(y) && surnames != Surnames::Yes {
        return None;
    }
    let edits = damerau_levenshtein(x, y);
    // A surname a letter more or less is plain to see only where there are some; and where even that is a given name,
    // nobody can say which part is the surname.
    let is_surname = surnames != Surnames::No && long > 3 && !(is_given(x) && is_given(y));
    let misspelt = |edits: usize| match surnames::misspelt(x, y, edits)? {
        Misspelt::Anywhere => Some(Agree::Slip),
        Misspelt::AtOneDoor => Some(Agree::Surname),
    };
    match edits {
        1 if is_umlaut(x, y) => Some(Agree::Slip),
        1 if is_surname => Some(misspelt(1).unwrap_or(Agree::Close)),
        1 if surnames == Surnames::No && long > 3 && is_misspelt(x, y) => Some(Agree::Slip),
        1 => Some(Agree::Close),
        2 if is_surname && is_long_slip(x, y, long, short) => Some(misspelt(2).unwrap_or(Agree::Garbled)),
        2 if short >= 6 || long >= 4 && (begins_alike(x, y) || jaro_winkler(x, y) >= ALIKE) => Some(Agree::Garbled),
        3 if short >= 7 => Some(Agree::Garbled),
        _ => None,
    }
}

/// Jaro-Winkler similarity from which two short parts two edits apart may be one: "Sndl", "Snell".
const ALIKE: f64 = 0.8;

fn begins_alike(x: &str, y: &str) -> bool {
    x.chars().next() == y.chars().next()
}

/// Whether two edits may be a slip in a surname: in a long one, or in a middling one behind its first letter.
fn is_long_slip(x: &str, y: &str, long: usize, short: usize) -> bool {
    short >= 7 || long >= 6 && short >= 5 && begins_alike(x, y)
}

/// The edits between the letters of both names in a row, from whichever part the second is begun; where parts were
/// split or joined in typing this is small. An initial is never joined: "Julian A" is not "Juliana"; but a letter that
/// was broken off is: "Lil y Leslie", "India Ree s".
fn parted_elsewhere(a: &Name, b: &Name) -> Option<usize> {
    if a.parts.len() == b.parts.len() && a.parts.len() < 3 || has_initial(a) || has_initial(b) {
        return None;
    }
    let broken_off = |name: &Name| name.parts.iter().any(|part| part.chars().count() == 1);
    if (broken_off(a) || broken_off(b)) && a.parts.len().min(b.parts.len()) < 2 {
        return None;
    }
    let whole = a.parts.concat();
    if whole.chars().count() < 6 {
        return None;
    }
    (0..b.parts.len())
        .map(|start| {
            let (end, begin) = b.parts.split_at(start);
            begin.concat() + &end.concat()
        })
        .filter(|turned| turned.len().abs_diff(whole.len()) <= 2)
        .map(|turned| if turned == whole { 0 } else { damerau_levenshtein(&whole, &turned) })
        .min()
}

/// Whether a single letter among the parts may stand for a name: one that comes first, or behind a name in use.
fn has_initial(name: &Name) -> bool {
    let is_one = |part: &String| part.chars().count() == 1;
    let first = name.parts.first().is_some_and(is_one);
    first
        || name
            .parts
            .windows(2)
            .any(|two| matches!(two, [before, one] if is_one(one) && (is_one(before) || is_given(before))))
}

/// Whether two given names in use a letter apart stand against one another, whatever else was split: "Jan Van Dyk", "Jon
/// Vandyk".
fn has_two_given(a: &Name, b: &Name) -> bool {
    let only = |of: &Name, other: &Name| -> Vec<String> {
        of.parts.iter().filter(|part| is_in_use(part) && !other.parts.contains(part)).cloned().collect()
    };
    let (only_a, only_b) = (only(a, b), only(b, a));
    only_a.iter().any(|x| only_b.iter().any(|y| damerau_levenshtein(x, y) <= 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both(a: &str, b: &str) -> Names {
        let (a, b) = (Name::new(a), Name::new(b));
        assert_eq!(compare(&a, &b), compare(&b, &a));
        compare(&a, &b)
    }

    #[test]
    fn parts_come_in_any_order_without_titles() {
        assert_eq!(both("Dr. Ines Okonjo", "OKONJO, Ines"), Names::Same);
        assert_eq!(both("Ines O'Kanjo", "Ines OKanjo"), Names::Same);
        assert_eq!(both("Jürgen Groß", "Juergen Gross"), Names::Slip);
        assert_eq!(both("Michael Okonjo", "Michal Okonjo"), Names::OtherGiven);
        assert_eq!(both("Ines Mc Okonjo", "Ines McOkonjo"), Names::Same);
        assert_eq!(both("Julian A Okonjo", "Juliana Okonjo"), Names::OtherGiven);
    }

    #[test]
    fn a_letter_that_was_broken_off_is_no_initial() {
        assert_eq!(both("Lil y Leslie", "Lily Leslie"), Names::Same);
        assert_eq!(both("India Ree s", "Rees India"), Names::Same);
        assert_eq!(both("Gre n Ines", "Ines Green"), Names::Slip);
        for (a, b) in [
            // The letter may stand for a name.
            ("Mary A Okonjo", "Marya Okonjo"),
            ("Ines Okonjo", "I nes Okonjo"),
            ("Smith A", "Smitha"),
            // Two given names, and a surname that was split.
            ("Jan Van Dyk", "Jon Vandyk"),
        ] {
            assert!(both(a, b) > Names::Slip, "{a} {b}: {:?}", both(a, b));
        }
    }

    #[test]
    fn a_slip_is_no_other_name() {
        assert_eq!(both("Ines Okonjo", "Ines Okonkjo"), Names::Slip);
        assert_eq!(both("Benjamin Okonjo", "Benjmain Okonjo"), Names::Slip);
        assert_eq!(both("Benjamin Okonjo", "Benjamn Okonjo"), Names::Slip);
        for (a, b) in [("Jack", "Jadk"), ("Holly", "Hollh"), ("Nicholas", "Nichokas"), ("Lauren", "Laurdn")] {
            assert_eq!(both(&format!("{a} Okonjo"), &format!("{b} Okonjo")), Names::Slip, "{a} {b}");
        }
        assert_eq!(both("Green Tarnia", "Taalia Green"), Names::Garbled);
        assert_eq!(both("Green Talia", "Green Talya"), Names::Close);
        assert_eq!(both("Ines Pascoe", "Ines Pasode"), Names::SurnameSlip);
        // Whose surname is a given name in use.
        assert_eq!(both("Bailee George", "Bayley George"), Names::OtherGiven);
        assert_eq!(both("Barnaby Stanley", "Kobe Stanley"), Names::OtherGiven);
        assert_eq!(both("Stanley Okonjo", "Stanley Adler"), Names::OtherSurname);
        assert_eq!(both("Taalia George", "Talia George"), Names::Close);
        assert_eq!(both("George Okonjo", "Okonkjo George"), Names::Slip);
        for (a, b) in
            [("Julian", "Juliana"), ("Mario", "Maria"), ("Jan", "Jon"), ("Kaela", "Kaila"), ("Riley", "Briley")]
        {
            assert_eq!(both(&format!("{a} Okonjo"), &format!("{b} Okonjo")), Names::OtherGiven, "{a} {b}");
        }
        for (a, b) in [
            ("Daniel", "Danjel"),
            ("Xeira", "Xiera"),
            ("Taalia", "Talia"),
            ("Talyah", "Taylah"),
            ("Tiana", "Tiarna"),
            ("Mikayla", "Mikhayla"),
            ("Suresh", "Sudesh"),
        ] {
            assert_eq!(both(&format!("{a} Okonjo"), &format!("{b} Okonjo")), Names::Close, "{a} {b}");
        }
    }

    #[test]
    fn two_surnames_in_use_are_no_slip_of_one() {
        for (a, b) in [("Meyer", "Meier"), ("Hansen", "Hanson"), ("Smith", "Smyth"), ("Kowalski", "Kowalska")] {
            assert_eq!(both(&format!("Ines {a}"), &format!("Ines {b}")), Names::Close, "{a} {b}");
            assert!(both(&format!("Ines {a}"), &format!("{b} Ines")) > Names::SurnameSlip, "{a} {b}");
        }
        assert_eq!(both("Ines Johnson", "Ines Johansen"), Names::Garbled);
        // In either order, and however short.
        assert_eq!(both("Ines White", "White Ines"), Names::Same);
        assert_eq!(both("Ines Webb", "Webv Ines"), Names::Slip);
        // Less plain, so that it takes the given name in full, and the door.
        assert_eq!(both("Ines Asche", "Ines Adche"), Names::SurnameSlip);
        for (a, b) in
            [("I. Asche", "I. Adche"), ("Benjamin Asche", "Benjmain Adche"), ("George Talia", "George Taalia")]
        {
            assert_eq!(both(a, b), Names::Close, "{a} {b}");
        }
    }

    #[test]
    fn what_is_missing_or_other_is_told() {
        assert_eq!(both("I. Okonjo", "Ines Okonjo"), Names::Initial);
        assert_eq!(both("Ines", "Ines Okonjo"), Names::NoSurname);
        assert_eq!(both("Okonjo", "Ines Okonjo"), Names::Shorter);
        assert_eq!(both("Ines Okonjo", "Ines Maria Okonjo"), Names::Shorter);
        assert_eq!(both("Anna Jones", "Anna James"), Names::Garbled);
        assert_eq!(both("Tomas Okonjo", "Ines Okonjo"), Names::OtherGiven);
        assert_eq!(both("Ines Adler", "Ines Okonjo"), Names::OtherSurname);
        assert_eq!(both("Ivo Okonjo Jr", "Ivo Okonjo"), Names::OtherGeneration);
        assert_eq!(both("Bill Okonjo", "William Okonjo"), Names::OtherGiven);
        assert_eq!(both("Ivo Adler", "Ines Okonjo"), Names::Other);
        assert_eq!(both("Miss", "Miss"), Names::Same);
    }
}
