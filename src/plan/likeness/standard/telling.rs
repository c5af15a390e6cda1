//! Words that tell two streets or towns apart, whatever stands beside them.
//!
//! Handed folded words of one country; promises whether a word may hold a slip of the pen at all: a direction, a kind
//! of street, a figure or a short word may not, since another one of them is lawful there and names another place.
//! Turned down: counting letters over the whole street, in which "N Tern St" and "Tern St" are a slip apart.

use strsim::damerau_levenshtein;

use super::fold::is_wide;
use super::habits::{self, Number};
use super::languages::Language;
use super::{tables, us};

/// From so many letters on, a word that is a letter from another is more likely that word than another name: of shorter
/// ones too many are a letter apart (common practice, no source).
pub(in crate::plan::likeness) const NAME: usize = 6;

/// Words that set a place apart from its neighbour of that name. Common practice, no source.
const APART: [&str; 51] = [
    "UPPER", "LOWER", "INNER", "OUTER", "GREAT", "LITTLE", "MIDDLE", "CENTRAL", "NORD", "OUEST", "NORTE", "OESTE",
    "NOORD", "NOORDER", "ZUIDER", "WESTER", "OOSTER", "OBERE", "UNTERE", "OBERER", "UNTERER", "OBERES", "UNTERES",
    "KLEINE", "KLEINER", "GROSSE", "GROSSER", "VORDERE", "HINTERE", "INNERE", "AUSSERE", "NEUER", "ALTER", "PETIT",
    "PETITE", "GRAND", "GRANDE", "VIEUX", "VIEILLE", "NOUVEAU", "NOUVELLE", "NUEVA", "NUEVO", "VIEJA", "VIEJO",
    "VECCHIA", "VECCHIO", "NUOVA", "NUOVO", "HEIGHTS", "PALACE",
];

/// Whether a word tells streets apart by itself: known for a direction or for a kind of street, with a figure, in a
/// script whose every sign is a word, or short.
pub(in crate::plan::likeness) fn tells(word: &str, country: &str) -> bool {
    word.chars().count() <= SHORT
        || word.contains(|c: char| c.is_ascii_digit() || is_wide(c))
        || is_known(word, country)
}

/// Directions, kinds, ordinals and saints of so many letters or fewer are too many to list.
const SHORT: usize = 4;

/// Whether a word is one of directions, kinds of streets or the like.
pub(in crate::plan::likeness) fn is_known(word: &str, country: &str) -> bool {
    let habit = habits::of(country);
    let begins = |language: &&Language| {
        language.first.iter().any(|(short, long)| *short == word || *long == word)
            || language.anywhere.iter().any(|(long, short)| *short == word || *long == word)
    };
    us::direction(word).is_some()
        || APART.contains(&word)
        || super::ordinals::level(word).is_some()
        || habit.english && (us::is_suffix(word) || habits::english_suffix(word).is_some())
        || country == "US" && us::is_suffix(word)
        || habit.languages.iter().any(begins)
}

/// Whether `other` is `known` with a slip: "STREUT" of "ST", "AVENDIA" of "AVENIDA". Only long kinds are told from
/// names by that.
pub(in crate::plan::likeness) fn is_misspelt(known: &str, other: &str, country: &str) -> bool {
    let slipped =
        |full: &str| full.len() > SHORT && !is_inflected(full, other) && damerau_levenshtein(full, other) == 1;
    let habit = habits::of(country);
    !is_known(other, country)
        && us::direction(known).is_none()
        && (is_known(known, country) && slipped(known)
            || (habit.english || country == "US") && tables::spellings_of(known).any(slipped))
}

/// Whether a word sets a place apart whatever the language: a direction, a figure, a sign that is a word.
pub(in crate::plan::likeness) fn tells_alone(word: &str) -> bool {
    word.contains(|c: char| c.is_ascii_digit() || is_wide(c)) || us::direction(word).is_some() || APART.contains(&word)
}

/// Whether one is the other with an ending that makes another word of it: "Tern", "Terns"; "Hawthorn", "Hawthorne".
pub(in crate::plan::likeness) fn is_inflected(a: &str, b: &str) -> bool {
    let (short, long) = if a.len() < b.len() { (a, b) } else { (b, a) };
    long.strip_prefix(short).is_some_and(|ending| ["S", "ES", "E", "N", "EN", "R", "ER"].contains(&ending))
}

/// The last word of a street in two where the kind is joined to the name: "LOKKI" and "T" of "Lokkitie".
pub(in crate::plan::likeness) fn parted<'w>(word: &'w str, country: &str) -> (&'w str, &'static str) {
    let endings = habits::of(country).languages.iter().flat_map(|language| language.last);
    endings
        .flat_map(|(long, short)| [*long, *short])
        .filter_map(|ending| Some((word.strip_suffix(ending)?, ending)))
        .min_by_key(|(stem, _)| stem.len())
        .unwrap_or((word, ""))
}

/// A further line's words as those of a street, without a house number: it may be the street of another writing.
pub(in crate::plan::likeness) fn as_street(line: &str, country: &str) -> Vec<String> {
    let words: Vec<String> = line.split(' ').filter(|word| !word.is_empty()).map(str::to_owned).collect();
    if country == "US" {
        return us::street(words);
    }
    let habit = habits::of(country);
    if habit.number == Number::First { words } else { super::abroad::street_of(words, &habit) }
}

/// Whether a line says that the house has no number: "Calle Gaviota s/n".
pub(in crate::plan::likeness) fn is_numberless(lines: &[String], country: &str) -> bool {
    let habit = habits::of(country);
    country != "US"
        && lines
            .iter()
            .flat_map(|line| line.split([',', ';']))
            .any(|part| super::abroad::says_no_number(&super::lines::folded(part, country, &habit)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_kinds_figures_and_short_words_hold_no_slip() {
        for (word, country) in [
            ("NORTH", "US"),
            ("N", "US"),
            ("PARKWAY", "US"),
            ("5TH", "US"),
            ("FIFTH", "US"),
            ("TERN", "US"),
            ("CRESCENT", "GB"),
            ("AVENUE", "FR"),
            ("VIALE", "IT"),
            ("カモメカモメ町", "JP"),
            ("GROSSE", "DE"),
        ] {
            assert!(tells(word, country), "{word}");
        }
        for (word, country) in [("GANNET", "US"), ("MOWENSTR", "DE"), ("PARKWAY", "DE"), ("GAVIOTA", "ES")] {
            assert!(!tells(word, country), "{word}");
        }
    }

    #[test]
    fn a_kind_with_a_slip_is_that_kind_and_no_other() {
        assert!(is_misspelt("ST", "STREUT", "US") && is_misspelt("AVENIDA", "AVENDIA", "ES"));
        assert!(is_misspelt("PL", "PLCE", "AU"));
        for (known, other) in [("ST", "CT"), ("LN", "LAND"), ("N", "NOTH"), ("ST", "STREETS"), ("PL", "PALACE")] {
            assert!(!is_misspelt(known, other, "US"), "{other}");
        }
    }

    #[test]
    fn a_kind_joined_to_the_name_is_parted_from_it() {
        assert_eq!(parted("LOKKIT", "FI"), ("LOKKI", "T"));
        assert_eq!(parted("MOWENSTR", "DE"), ("MOWEN", "STR"));
        assert_eq!(parted("GANNET", "US"), ("GANNET", ""));
    }
}
