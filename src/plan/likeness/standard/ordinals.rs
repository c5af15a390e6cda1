//! Numbers that count: "5th", "Fifth", "3e", "3ème".
//!
//! Handed folded words; promises the figure that they stand for, so that a street or a floor written in words meets
//! the same in figures. Turned down: parting "Fifth Ave" from "5th Ave" because Publication 28, section 233, knows of
//! towns that have both: two such streets in one delivery area, with one house number and one buyer, are rarer by far
//! than one buyer who writes it both ways.

use super::units::is_digits;

const ONES: [&str; 20] = [
    "ZEROTH",
    "FIRST",
    "SECOND",
    "THIRD",
    "FOURTH",
    "FIFTH",
    "SIXTH",
    "SEVENTH",
    "EIGHTH",
    "NINTH",
    "TENTH",
    "ELEVENTH",
    "TWELFTH",
    "THIRTEENTH",
    "FOURTEENTH",
    "FIFTEENTH",
    "SIXTEENTH",
    "SEVENTEENTH",
    "EIGHTEENTH",
    "NINETEENTH",
];
/// Whole tens, as they stand alone and before a unit.
const TENS: [(&str, &str); 8] = [
    ("TWENTIETH", "TWENTY"),
    ("THIRTIETH", "THIRTY"),
    ("FORTIETH", "FORTY"),
    ("FIFTIETH", "FIFTY"),
    ("SIXTIETH", "SIXTY"),
    ("SEVENTIETH", "SEVENTY"),
    ("EIGHTIETH", "EIGHTY"),
    ("NINETIETH", "NINETY"),
];

/// What a number in figures ends with where it counts, in English, French and the Romance languages.
const ENDINGS: [&str; 8] = ["ST", "ND", "RD", "TH", "E", "ER", "ERE", "EME"];

/// The figures of one or two words that count in English: "FIFTH", "TWENTY FIRST".
pub(super) fn spelled<S: AsRef<str>>(words: &[S]) -> Option<String> {
    let unit = |word: &str| ONES.iter().skip(1).position(|one| *one == word).map(|place| place + 1);
    let number = match words {
        [one] => unit(one.as_ref())
            .or_else(|| TENS.iter().position(|(alone, _)| *alone == one.as_ref()).map(|place| (place + 2) * 10))?,
        [tens, one] => {
            let tens = TENS.iter().position(|(_, before)| *before == tens.as_ref())?;
            (tens + 2) * 10 + unit(one.as_ref()).filter(|unit| *unit < 10)?
        }
        _ => return None,
    };
    Some(number.to_string())
}

/// The figures of a floor: "2ND", "3E", "3EME", "SECOND", "2"; three at most, since a house number may stand there.
pub(super) fn level(word: &str) -> Option<String> {
    let digits: String = word.chars().take_while(char::is_ascii_digit).collect();
    let ending = word.get(digits.len()..).unwrap_or_default();
    let counts = ENDINGS.contains(&ending) || ending.is_empty() && digits.len() <= 3;
    if is_digits(&digits) && counts { Some(digits) } else { spelled(&[word]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_figures_meet() {
        for (words, figures) in [
            (&["FIFTH"][..], Some("5")),
            (&["TWENTIETH"], Some("20")),
            (&["FORTY", "SECOND"], Some("42")),
            (&["NINETEENTH"], Some("19")),
            (&["FORTY", "TENTH"], None),
            (&["FORTY"], None),
            (&["TERN"], None),
            (&["ZEROTH"], None),
        ] {
            assert_eq!(spelled(words).as_deref(), figures, "{words:?}");
        }
        for (word, figures) in [
            ("2ND", Some("2")),
            ("3EME", Some("3")),
            ("12", Some("12")),
            ("1200", None),
            ("3B", None),
            ("TENTH", Some("10")),
        ] {
            assert_eq!(level(word).as_deref(), figures, "{word}");
        }
    }
}
