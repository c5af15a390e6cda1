//! Where the house number stands in a line, and what marks it or says that there is none.
//!
//! Handed folded words of one line and the country's [`Habit`]; promises the place of the number, or none where it can't
//! be told. Turned down: the first figure of the line, which in "Plein 1944 88" is a year.

use super::super::doors::are_doors;
use super::super::habits::{self, Habit, Number};
use super::super::languages::Language;
use super::super::units::{is_letter, starts_with_digit};
use super::super::us;

/// Marks that stand before a number and say nothing; more of them in [`Language::marks`].
pub(super) const MARKS: [&str; 9] = ["NO", "NR", "N", "NUM", "NUMERO", "NUMMER", "HAUSNUMMER", "HAUSNR", "HNR"];

/// Words by which an address says that the house has no number.
const NUMBERLESS: [&[&str]; 11] = [
    &["SENZA", "NUMERO", "CIVICO"],
    &["SENZA", "NUMERO"],
    &["SIN", "NUMERO"],
    &["SIN", "NUM"],
    &["SEM", "NUMERO"],
    &["SANS", "NUMERO"],
    &["S", "NO"],
    &["S/NO"],
    &["S/N"],
    &["SN"],
    &["SNC"],
];

/// Leaves out what says that there is no number, where it ends a line: "s/n", "senza numero civico".
pub(super) fn unnumber(words: &mut Vec<String>) {
    let ends =
        |head: &&&[&str]| words.len() >= head.len() && words.iter().rev().zip(head.iter().rev()).all(|(a, b)| a == b);
    if let Some(head) = NUMBERLESS.iter().find(ends) {
        words.truncate(words.len() - head.len());
    }
}

/// Whether the words say that the house has no number.
pub(in crate::plan::likeness::standard) fn says_no_number(words: &[String]) -> bool {
    let mut left = words.to_vec();
    unnumber(&mut left);
    left.len() < words.len()
}

pub(super) fn is_mark(word: &str, habit: &Habit) -> bool {
    MARKS.contains(&word) || habit.languages.iter().any(|language| language.marks.contains(&word))
}

/// Leaves out "No", "Nr" and the like before digits.
pub(super) fn unmark(words: &mut Vec<String>, habit: &Habit) {
    // "H. No. 88", "House No. 88".
    if habit.english
        && let [house, no, number, ..] = words.as_slice()
        && ["H", "HOUSE", "DOOR", "D"].contains(&house.as_str())
        && no == "NO"
        && starts_with_digit(number)
    {
        words.drain(..2);
    }
    // "nº12" is "no12" in compatibility form.
    for word in words.iter_mut().skip(1) {
        let bare = ["NO", "NR"].iter().find_map(|mark| word.strip_prefix(mark)).filter(|bare| starts_with_digit(bare));
        if let Some(bare) = bare {
            *word = bare.to_owned();
        }
    }
    let mut place = 0;
    while place + 1 < words.len() {
        let before = place.checked_sub(1).and_then(|before| words.get(before));
        // Behind a number one letter is a staircase: "5 N 12".
        let belongs = before.is_some_and(|before| {
            habits::designator(before).is_some()
                || starts_with_digit(before) && words.get(place).is_some_and(|word| is_letter(word))
        });
        let marked = words.get(place).is_some_and(|word| is_mark(word, habit)) && !belongs;
        let numbers = words.get(place + 1).is_some_and(|next| {
            // "Núm. Ext. 12, Núm. Int. 5".
            starts_with_digit(next) || ["EXT", "EXTERIOR", "INT", "INTERIOR"].contains(&next.as_str())
        });
        if marked && numbers {
            words.remove(place);
        } else {
            place += 1;
        }
    }
}

/// Where the house number stands in the words: its start and its end.
pub(super) fn number_at(words: &[String], habit: &Habit) -> Option<(usize, usize)> {
    let belongs = |word: &String| ["BIS", "TER", "QUATER"].contains(&word.as_str());
    let ahead = words.first().filter(|first| starts_with_digit(first) && !counts(first)).and_then(|first| {
        let next = words.get(1)?;
        // Not the "R" of "12 R. du 8 mai".
        let street = habit.languages.iter().any(|language| language.first.iter().any(|(short, _)| short == next));
        let typed = street && !words.get(2).is_some_and(|after| is_type(after, habit));
        let plain = first.bytes().all(|b| b.is_ascii_digit());
        let letter =
            plain && is_letter(next) && words.len() > 2 && !typed && !(habit.english && us::direction(next).is_some());
        let end = if belongs(next) || letter { 2 } else { 1 };
        (end < words.len()).then_some((0, end))
    });
    let behind = (1..words.len())
        .find(|place| {
            let here = words.get(*place).is_some_and(|word| starts_with_digit(word) && !counts(word));
            let behind = words.get(place + 1..).unwrap_or_default();
            let year = is_year(words.get(*place).map_or("", String::as_str))
                && behind.first().is_some_and(|next| starts_with_digit(next));
            here && !year && (habit.number == Number::First || are_doors(behind))
        })
        .map(|start| {
            let joins = words.get(start + 1).is_some_and(|next| belongs(next) || is_letter(next));
            let plain = words.get(start).is_some_and(|word| word.bytes().all(|b| b.is_ascii_digit()));
            (start, if joins && plain { start + 2 } else { start + 1 })
        });
    if habit.number == Number::Ahead { ahead.or(behind) } else { behind.or(ahead) }
}

/// "1944" of "Plein 1944 88" belongs to the name.
fn is_year(word: &str) -> bool {
    word.len() == 4
        && ["18", "19", "20"].iter().any(|century| word.starts_with(century))
        && word.bytes().all(|b| b.is_ascii_digit())
}

/// A word that begins streets, short or long.
pub(super) fn is_type(word: &str, habit: &Habit) -> bool {
    let names = |language: &&Language| language.first.iter().any(|(short, long)| word == *short || word == *long);
    habit.languages.iter().any(names)
}

/// "1ER", "2EME", "17TH": counts something and is no house number.
pub(super) fn counts(word: &str) -> bool {
    let ending = word.trim_start_matches(|c: char| c.is_ascii_digit());
    ["E", "ER", "EME", "ERE", "RE", "ST", "ND", "RD", "TH"].contains(&ending)
}
