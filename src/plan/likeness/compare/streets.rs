//! How far two streets, towns or further lines agree, word by word.
//!
//! Handed folded words; promises a [`Level`] that is a slip only where the slip lies inside of a name: whatever tells
//! places apart by itself (a direction, a kind of street, a figure, a short word, a word more) is no slip of the pen,
//! since both ways of writing it are lawful. Turned down: counting edits over the whole line, in which "E E St" is a
//! slip from "E St" and "Av. des Mouettes" one from "Ch. des Mouettes".

use strsim::damerau_levenshtein;

use super::super::standard::{NAME, is_inflected, is_known, is_misspelt, parted, tells, tells_alone};
use super::levels::sorted;
use super::{Level, Traits, in_a_row};

/// From this many letters on there may be two slips: in "Tern Street" and "Heron Street" two make another street.
const LONG: usize = 14;

/// From this many letters on a name may have two.
const TWICE: usize = 9;

/// From this many letters on a line may be a street or a house's name, wherever it stands.
const LINE: usize = 5;

/// Of so many letters a line may have a slip anywhere.
const WHOLE: usize = 8;

/// A line that may be a street: in standard form, and as it was written.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Line {
    /// In standard form.
    pub words: Vec<String>,
    /// As written, folded, without house number.
    pub written: Vec<String>,
}

impl Line {
    /// How far two agree. A slip may have taken the kind of street itself ("Brooke Rstreet"), or the space before it:
    /// such a line has no kind any more, so that it is no lawful way of writing another street.
    fn compare(&self, other: &Self, country: &str) -> Level {
        let level = words(&self.words, &other.words, country);
        let kinds = |line: &Self| line.words.iter().any(|word| is_known(word, country) && word.len() > 1);
        let spoilt = kinds(self) != kinds(other);
        let written = whole(&self.written, &other.written);
        let counts = rows(&self.written) >= WHOLE && (written == Level::Equal || spoilt);
        if counts { level.min(written.max(Level::Slip)) } else { level }
    }
}

pub(super) fn streets(a: &Traits, b: &Traits) -> Level {
    let country = a.country();
    let (one, other) = (&a.line, &b.line);
    let level = match (one.words.is_empty(), other.words.is_empty()) {
        (true, true) => return rests(a, b),
        (true, false) | (false, true) => Level::Missing,
        (false, false) => one.compare(other, country),
    };
    if matches!(level, Level::Equal | Level::Slip) {
        return level;
    }
    // The street may stand in another line on one side.
    match turned(a, b).min(turned(b, a)) {
        Level::Equal | Level::Slip => Level::Slip,
        Level::Missing => level.min(Level::Missing),
        Level::Garbled => level.min(Level::Garbled),
        Level::Neither | Level::Near | Level::Differs => level,
    }
}

/// The street of `a` among the further lines of `b`, if what is the street of `b` is a line of `a` too, or no street.
fn turned(a: &Traits, b: &Traits) -> Level {
    let country = a.country();
    if a.street.chars().count() < LINE {
        return Level::Differs;
    }
    let best = |street: &Line, lines: &[Line]| {
        lines.iter().map(|line| street.compare(line, country)).min().unwrap_or(Level::Differs)
    };
    let there = best(&a.line, &b.further);
    let is_street = b.line.words.iter().any(|word| tells(word, country));
    // What is left where the street is found is a house's name or the like.
    let house = |line: &Line| b.line.compare(line, country).min(named(&b.line.written, &line.written, country));
    let back = if is_street { a.further.iter().map(house).min().unwrap_or(Level::Differs) } else { Level::Equal };
    // A house's name in place of the street, and nothing else: "17 Bluehills".
    let house = matches!(there, Level::Equal | Level::Slip) && a.further.is_empty();
    match a.line.words.iter().any(|word| is_known(word, country)) {
        false if house => there,
        // It may be a street of that name all the same.
        true if house => there.max(back).min(Level::Missing),
        false | true => there.max(back),
    }
}

/// Further lines.
pub(super) fn rests(a: &Traits, b: &Traits) -> Level {
    match (a.rest.is_empty(), b.rest.is_empty()) {
        (true, true) => Level::Neither,
        (true, false) | (false, true) => Level::Missing,
        (false, false) if a.rest == b.rest => Level::Equal,
        (false, false) => named(&split(&a.standard.rest), &split(&b.standard.rest), a.country()),
    }
}

/// Towns.
pub(super) fn towns(a: &Traits, b: &Traits) -> Level {
    match (a.city.is_empty(), b.city.is_empty()) {
        (true, true) => Level::Neither,
        (true, false) | (false, true) => Level::Missing,
        (false, false) if a.city == b.city => Level::Equal,
        (false, false) => {
            let of = |traits: &Traits| split(std::slice::from_ref(&traits.standard.city));
            whole(&of(a), &of(b))
        }
    }
}

/// What further lines say of the door: a third hand, a house's name where there is no number, one of several of a kind
/// ("Col. Centro", "Col. Norte"), a line with a figure that one side lacks. [`Level::Neither`] where nothing is said
/// that the other contradicts.
pub(super) fn doors(a: &Traits, b: &Traits) -> Level {
    let country = a.country();
    let of = |traits: &Traits, hand: bool| -> Vec<Vec<String>> {
        let lines = traits.standard.rest.iter().filter(|line| line.starts_with("C/O ") == hand);
        lines.map(|line| split(std::slice::from_ref(line))).collect()
    };
    if a.written == b.written {
        return Level::Neither;
    }
    let same = |x: &[String], y: &[String]| {
        let level =
            if x.first().is_some_and(|first| first == "C/O") { words(x, y, country) } else { named(x, y, country) };
        matches!(level, Level::Equal | Level::Slip)
    };
    let only = |own: &[Vec<String>], theirs: &[Vec<String>]| -> Vec<Vec<String>> {
        own.iter().filter(|x| !theirs.iter().any(|y| same(x, y))).cloned().collect()
    };
    let (mine, yours) = (of(a, true), of(b, true));
    if !only(&mine, &yours).is_empty() && !only(&yours, &mine).is_empty() {
        return Level::Differs;
    }
    let (mine, yours) = (of(a, false), of(b, false));
    let (mine, yours) = (only(&mine, &yours), only(&yours, &mine));
    let kin = |x: &[String], y: &[String]| x.len().min(y.len()) > 1 && (x.first() == y.first() || x.last() == y.last());
    if mine.iter().any(|x| yours.iter().any(|y| kin(x, y) && named(x, y, country) == Level::Differs)) {
        return Level::Differs;
    }
    let unnumbered = |traits: &Traits| traits.standard.number.is_empty() && traits.standard.box_.is_none();
    let figures = |lines: &[Vec<String>]| lines.concat().concat().contains(|c: char| c.is_ascii_digit());
    match (mine.is_empty(), yours.is_empty()) {
        (false, false) if unnumbered(a) && unnumbered(b) => Level::Differs,
        (true, false) | (false, true) if unnumbered(a) && unnumbered(b) || figures(&mine) || figures(&yours) => {
            Level::Missing
        }
        (true | false, true | false) => Level::Neither,
    }
}

/// A house's name or the like, with a slip anywhere where it is long enough.
fn named(a: &[String], b: &[String], country: &str) -> Level {
    let level = words(a, b, country);
    let long = rows(a).min(rows(b)) >= WHOLE;
    if long { level.min(whole(a, b)) } else { level }
}

/// "Highland S" is not "Highlands".
fn ends_in_direction(words: &[String]) -> [bool; 2] {
    [words.first(), words.last()].map(|word| word.is_some_and(|word| tells_alone(word)))
}

fn rows(words: &[String]) -> usize {
    words.iter().map(|word| word.chars().count()).sum()
}

/// Two lines letter by letter, wherever their spaces are, but with the same directions, figures and short words in both.
fn whole(a: &[String], b: &[String]) -> Level {
    let telling = |words: &[String]| -> Vec<String> {
        let own = |word: &&String| word.chars().count() < 3 || tells_alone(word);
        words.iter().filter(own).cloned().collect()
    };
    let (x, y) = (in_a_row(&a.concat()), in_a_row(&b.concat()));
    let figures = |words: &[String]| words.iter().any(|word| word.contains(|c: char| c.is_ascii_digit()));
    if x == y && !figures(a) && !figures(b) && ends_in_direction(a) == ends_in_direction(b) {
        return Level::Equal;
    }
    let long = x.chars().count().max(y.chars().count());
    let slips = if long < LONG { 1 } else { 2 };
    let apart = if a.len() == b.len() {
        telling(a) != telling(b)
    } else {
        figures(a) || figures(b) || ends_in_direction(a) != ends_in_direction(b)
    };
    if apart || long < 4 || x.len().abs_diff(y.len()) > 2 * slips || x.chars().next() != y.chars().next() {
        return Level::Differs;
    }
    match damerau_levenshtein(&x, &y) {
        edits if edits <= slips => Level::Slip,
        edits if edits <= 2 * slips => Level::Garbled,
        _ => Level::Differs,
    }
}

fn split(lines: &[String]) -> Vec<String> {
    lines.iter().flat_map(|line| line.split(' ')).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

/// Two lines, neither of them empty.
fn words(a: &[String], b: &[String], country: &str) -> Level {
    if a == b {
        return Level::Equal;
    }
    let ahead = a.iter().zip(b).take_while(|(x, y)| x == y).count();
    let left = a.len().min(b.len()) - ahead;
    let behind = a.iter().rev().zip(b.iter().rev()).take(left).take_while(|(x, y)| x == y).count();
    let middle = |words: &[String]| words.get(ahead..words.len() - behind).unwrap_or_default().to_vec();
    let (x, y) = (middle(a), middle(b));
    // A word more is a word that tells.
    if x.is_empty() || y.is_empty() {
        return Level::Differs;
    }
    let letters = a.concat().chars().count().max(b.concat().chars().count());
    let slips = if letters < TWICE { 1 } else { 2 };
    let (one, other) = (in_a_row(&x.concat()), in_a_row(&y.concat()));
    if one == other {
        // "Tern Gull Ct" and "Terngull Ct", not "5 12" and "51 2".
        let figures = x.iter().chain(&y).any(|word| word.contains(|c: char| c.is_ascii_digit()));
        return if figures || ends_in_direction(a) != ends_in_direction(b) { Level::Differs } else { Level::Equal };
    }
    let parts: Vec<(String, String)> = if x.len() == y.len() {
        x.into_iter().zip(y).filter(|(x, y)| x != y).collect()
    } else {
        // "Waterfiel D Pl" has a space too many, and no short word.
        let alone = |word: &String| {
            tells_alone(word)
                || word.len() > 1 && is_known(word, country)
                || word.contains(|c: char| c.is_ascii_digit())
        };
        if x.iter().chain(&y).any(alone) {
            return Level::Differs;
        }
        vec![(one, other)]
    };
    let mut all = Level::Equal;
    let mut edits = 0;
    for (one, other) in &parts {
        let (level, more) = word(one, other, country);
        all = all.max(level);
        edits += more;
    }
    if all <= Level::Slip && edits <= slips {
        Level::Slip
    } else if all <= Level::Garbled && edits <= 2 * slips {
        Level::Garbled
    } else {
        Level::Differs
    }
}

/// Two different words, and how many edits lie between them.
fn word(a: &str, b: &str, country: &str) -> (Level, usize) {
    if is_misspelt(a, b, country) || is_misspelt(b, a, country) {
        return (Level::Slip, 1);
    }
    let ((a, kind), (b, other_kind)) = (parted(a, country), parted(b, country));
    let edits = damerau_levenshtein(a, b);
    let figures = |word: &str| word.contains(|c: char| c.is_ascii_digit());
    if kind != other_kind || figures(a) || figures(b) {
        return (Level::Differs, edits);
    }
    let turned = edits == 1 && a.len() == b.len() && sorted(a) == sorted(b);
    if tells(a, country) || tells(b, country) {
        let short = a.chars().count().min(b.chars().count());
        // "Tren" may be Tern, and "Woos" Woods; and both may be others.
        let may_be = short > 3 && turned
            || short > 2 && edits == 1 && ![a, b].iter().any(|word| is_known(word, country) || tells_alone(word));
        return (if may_be { Level::Garbled } else { Level::Differs }, edits);
    }
    let long = a.chars().count().max(b.chars().count());
    let sound = long >= NAME && a.chars().next() == b.chars().next() && !is_inflected(a, b);
    let level = match edits {
        1 if sound => Level::Slip,
        2 if sound && long >= TWICE => Level::Slip,
        0..=2 => Level::Garbled,
        3 | 4 if long >= LONG => Level::Garbled,
        _ => Level::Differs,
    };
    (level, edits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::recipient::Recipient;

    fn level(country: &str, one: &[&str], other: &[&str]) -> Level {
        let of = |lines: &[&str]| {
            Traits::new(&Recipient {
                name: "Ines Okonjo".into(),
                company: None,
                lines: lines.iter().map(|line| (*line).to_owned()).collect(),
                city: "Gullhaven".into(),
                region: String::new(),
                postal_code: String::new(),
                country: country.parse().ok(),
                country_as_written: None,
                email: None,
            })
        };
        let (a, b) = (of(one), of(other));
        assert_eq!(streets(&a, &b), streets(&b, &a), "{one:?} {other:?}");
        streets(&a, &b)
    }

    #[test]
    fn a_slip_inside_of_a_name_is_one_wherever_its_line_stands() {
        for (one, other) in [
            (&["25 Guillemo T Place"][..], &["25 Guillemor Place"][..]),
            (&["18 Freda Gibso N Circuit"], &["18 Freda Gibson Circuit"]),
            // Street and house's name changed places; one of them has a slip.
            (&["42 Medical C entre", "Stone Place"], &["42 Stone Place", "Medical Centre"]),
            (&["279 Market Town Centre", "Marsden Street"], &["279 Marsden Street", "Market Towwn Centre"]),
            // A house's name in place of the street.
            (&["43 Koani"], &["43 Healy Street", "Koani"]),
            (&["17 Bluehills"], &["17 Reuther Street", "Blue Hills"]),
        ] {
            assert_eq!(level("AU", one, other), Level::Slip, "{one:?} {other:?}");
        }
    }

    #[test]
    fn what_tells_streets_apart_is_no_slip() {
        for (country, one, other) in [
            ("US", "88 E E St", "88 E St"),
            ("US", "88 Highland S", "88 Highlands"),
            ("US", "88 5th St", "88 6th St"),
            ("AU", "88 Gannet Court", "88 Gannet Close"),
            ("AU", "88 Gannet", "88 Gannet N"),
            ("FR", "88 avenue des Mouettes", "88 chemin des Mouettes"),
        ] {
            assert_eq!(level(country, &[one], &[other]), Level::Differs, "{one} {other}");
        }
        assert_eq!(level("AU", &["88 Tern Court", "Gull Street"], &["88 Gull Street", "Tern Close"]), Level::Differs);
    }

    #[test]
    fn a_short_name_a_letter_from_another_is_for_the_seller_to_tell() {
        for (one, other) in
            [("88 Tern Street", "88 Fern Street"), ("12 Tenison-Woods Circuit", "12 Tenison-Woos Circuit")]
        {
            assert_eq!(level("AU", &[one], &[other]), Level::Garbled, "{one} {other}");
        }
    }
}
