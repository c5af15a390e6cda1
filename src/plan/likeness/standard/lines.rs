//! The lines of an address, parted into what stands for itself.
//!
//! Handed a recipient; promises the parts of its lines as folded words, without those that only say the name, the
//! town, the region, the postal code or the country again, and the lines for a third hand ("c/o") apart. Turned
//! down: taking lines as they come, which makes other addresses of "88 Tern St, Apt 4" and two lines of the same.

use super::fold::{letters, words};
use super::habits::Habit;
use super::{regions, wide};
use crate::model::address::Country;
use crate::model::recipient::Recipient;

/// What the fields beside the lines say, in standard form.
pub(super) struct Known<'a> {
    pub(super) country: Option<Country>,
    pub(super) region: &'a str,
    pub(super) city: &'a str,
    pub(super) postal: &'a str,
}

impl Known<'_> {
    fn code(&self) -> &'static str {
        self.country.map_or("", Country::code)
    }
}

/// A text's folded words by the country's habit.
pub(super) fn folded(text: &str, country: &str, habit: &Habit) -> Vec<String> {
    let text = letters(text, habit.digraphs);
    let words = if habit.elides { words(&text.replace('\'', " ")) } else { words(&text) };
    let mut words = if wide::writes(country) { wide::readable(words) } else { words };
    if country == "SG" {
        // "Blk 88 Gull Street": the block's number is the house's.
        words.retain(|word| !["BLK", "BLOCK"].contains(&word.as_str()));
    }
    words
}

/// The parts of the lines, and the lines for a third hand.
pub(super) fn parted(to: &Recipient, habit: &Habit, known: &Known) -> (Vec<Vec<String>>, Vec<String>) {
    let fold = |text: &str| folded(text, known.code(), habit);
    let mut parts: Vec<Vec<String>> = Vec::new();
    let mut third: Vec<String> = Vec::new();
    let said: Vec<String> =
        [to.name.as_str(), to.company.as_deref().unwrap_or_default()].iter().map(|text| fold(text).join(" ")).collect();
    for line in &to.lines {
        for part in line.split([',', ';', '\n', '，', '、']).flat_map(dashes) {
            let mut words = fold(part);
            if part.trim_start().starts_with('%') {
                words.insert(0, "C/O".to_owned());
            }
            if let Some((start, taken)) = care_of(&words) {
                let hand = words.split_off(start);
                third.push(
                    std::iter::once("C/O".to_owned()).chain(hand.into_iter().skip(taken)).collect::<Vec<_>>().join(" "),
                );
            }
            let joined = words.join(" ");
            if !words.is_empty() && !said.contains(&joined) && !repeats(words.clone(), known) {
                parts.push(words);
            }
        }
    }
    // The country's name last; reading names is dear, so only there.
    let named = |words: &mut Vec<String>| {
        let plain = words.len() < 5 && !words.iter().any(|word| word.contains(|c: char| c.is_ascii_digit()));
        plain && known.country.is_some() && words.join(" ").parse().ok() == known.country
    };
    if parts.len() > 1 {
        parts.pop_if(named);
    }
    // A street called like the person or the town is still a street.
    if parts.is_empty() && third.is_empty() {
        parts.extend(to.lines.iter().map(|line| fold(line)).filter(|words| !words.is_empty()));
    }
    (parts, third)
}

/// "123 - Apto 45" in two; "12 - 14" is one.
fn dashes(part: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut rest = part;
    let mut from = 0;
    while let Some(found) = rest.get(from..).and_then(|text| text.find(" - ")) {
        let place = from + found;
        let (Some(before), Some(after)) = (rest.get(..place), rest.get(place + 3..)) else { break };
        let digits = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        if digits(before.trim_end().chars().next_back()) && digits(after.trim_start().chars().next()) {
            from = place + 3;
        } else {
            parts.push(before);
            rest = after;
            from = 0;
        }
    }
    parts.push(rest);
    parts
}

/// Where the words name a third hand, and how many words say so.
fn care_of(words: &[String]) -> Option<(usize, usize)> {
    (0..words.len()).find_map(|start| {
        let word = |place: usize| words.get(start + place).map_or("", String::as_str);
        let taken = match (word(0), word(1)) {
            ("C/O", _) => 1,
            ("CARE", "OF") => 2,
            ("C", "O") | ("ATTN" | "ATTENTION" | "ATT", _) if start == 0 => {
                if word(0) == "C" {
                    2
                } else {
                    1
                }
            }
            _ => return None,
        };
        (start + taken < words.len()).then_some((start, taken))
    })
}

/// A part that only says town, region or postal code again.
fn repeats(mut words: Vec<String>, known: &Known) -> bool {
    let said = words.len();
    if !words.iter().any(|word| word.contains(|c: char| c.is_ascii_digit())) && said < 4 {
        let joined = words.join(" ");
        if joined == known.city {
            return true;
        }
    }
    let code = |words: &[String]| words.concat().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    for length in [1, 2] {
        let last = words.len().checked_sub(length).and_then(|start| words.get(start..)).map(code);
        // A ZIP+4 too.
        let same = last.is_some_and(|last| {
            !known.postal.is_empty()
                && (last == known.postal || known.code() == "US" && last.len() == 9 && last.starts_with(known.postal))
        });
        if same && words.len() >= length {
            words.truncate(words.len() - length);
            break;
        }
    }
    let without_code = words.len();
    // "C.P. 02860".
    if without_code < said && matches!(words.as_slice(), [mark] if mark == "CP") {
        return true;
    }
    for length in 1..=3 {
        let last = words.len().checked_sub(length).and_then(|start| words.get(start..)).map(|words| words.join(" "));
        if last.is_some_and(|last| !known.region.is_empty() && regions::standard(known.code(), &last) == known.region) {
            words.truncate(words.len() - length);
            break;
        }
    }
    // A number alone may be the house's.
    let left = words.join(" ");
    if left.is_empty() { without_code > 0 } else { words.len() < said && left == known.city }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dash_with_spaces_parts_words_and_joins_numbers() {
        assert_eq!(dashes("123 - Apto 45 - Bloco B"), ["123", "Apto 45", "Bloco B"]);
        assert_eq!(dashes("12 - 14 Tern Close"), ["12 - 14 Tern Close"]);
        assert_eq!(dashes(" - "), ["", ""]);
    }

    #[test]
    fn what_the_other_fields_say_is_no_part() {
        let known = Known { country: "US".parse().ok(), region: "OR", city: "GULLHAVEN", postal: "97099" };
        let again = |text: &str| repeats(text.split(' ').map(str::to_owned).collect(), &known);
        for text in
            ["GULLHAVEN OR 97099", "GULLHAVEN OREGON", "OR 97099", "GULLHAVEN", "OREGON", "GULLHAVEN 97099-1234"]
        {
            assert!(again(text), "{text}");
        }
        for text in ["88 TERN ST", "97099", "97099 TERN ST", "GULLHAVEN ST", "APT OR"] {
            assert!(!again(text), "{text}");
        }
    }
}
