//! The lines of an address, parted into what stands for itself.
//!
//! Handed a recipient; promises the parts of its lines as folded words, without those that only say the name, the
//! town, the region, the postal code or the country again, and the lines for a third hand ("c/o") apart. Turned
//! down: taking lines as they come, which makes other addresses of "88 Tern St, Apt 4" and two lines of the same.

use super::fold::{letters, words};
use super::habits::Habit;
use super::units::starts_with_digit;
use super::{regions, script, wide};
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
    let text = script::romanised(letters(text, habit.digraphs), country);
    let text = if country == "JP" { wide::figures(&text) } else { text };
    let words = if habit.elides { words(&text.replace('\'', " ")) } else { words(&text) };
    let mut words = if wide::writes(country) { wide::readable(words) } else { words };
    match country {
        // "Blk 88 Gull Street": the block's number is the house's.
        "SG" => words.retain(|word| !["BLK", "BLOCK"].contains(&word.as_str())),
        // One letter is a word only behind a number: "12 b 4", "12 D:5", "12 к. 2".
        "BE" => spell_behind_number(&mut words, "B", "BUS"),
        "TR" => spell_behind_number(&mut words, "D", "DAIRE"),
        "RU" => spell_behind_number(&mut words, "K", "KORP"),
        "HU" => turn_floor_and_door(&mut words),
        _ => {}
    }
    words
}

fn spell_behind_number(words: &mut [String], letter: &str, word: &str) {
    for place in 1..words.len() {
        let numbers = [place - 1, place + 1].map(|place| words.get(place).is_some_and(|word| starts_with_digit(word)));
        if numbers == [true, true]
            && let Some(here) = words.get_mut(place).filter(|here| *here == letter)
        {
            word.clone_into(here);
        }
    }
}

/// "III. em. 4. ajtó" and "3. em. 4." as "em 3 ajtó 4".
fn turn_floor_and_door(words: &mut Vec<String>) {
    const ROMAN: [&str; 10] = ["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X"];
    let Some(place) = words.iter().position(|word| ["EM", "EMELET"].contains(&word.as_str())) else { return };
    let Some(floor) = place.checked_sub(1).and_then(|before| words.get_mut(before)) else { return };
    if let Some(number) = ROMAN.iter().position(|roman| roman == floor) {
        *floor = (number + 1).to_string();
    }
    if starts_with_digit(floor) {
        words.swap(place - 1, place);
        if words.get(place + 1).is_some_and(|door| starts_with_digit(door)) {
            words.retain(|word| word != "AJTO");
            words.insert(place + 1, "AJTO".to_owned());
        }
    }
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
            if let Some((start, taken)) = care_of(&words, known.code()) {
                let hand = words.split_off(start);
                third.push(
                    std::iter::once("C/O".to_owned()).chain(hand.into_iter().skip(taken)).collect::<Vec<_>>().join(" "),
                );
            }
            if wide::writes(known.code()) {
                unprefix(&mut words, known);
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
        // "12 - 3º Esq": a floor.
        let counts = after
            .trim_start()
            .trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')
            .starts_with(['º', 'ª', '°']);
        if !counts && digits(before.trim_end().chars().next_back()) && digits(after.trim_start().chars().next()) {
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
fn care_of(words: &[String], country: &str) -> Option<(usize, usize)> {
    (0..words.len()).find_map(|start| {
        let word = |place: usize| words.get(start + place).map_or("", String::as_str);
        let taken = match (word(0), word(1), word(2)) {
            ("IN", "CARE", "OF") => 3,
            ("CARE", "OF", _) => 2,
            ("C/O", _, _) => 1,
            // Short words only where the line begins with them.
            ("C", "O", _) | ("Z", "HD", _) if start == 0 => 2,
            ("ATTN" | "ATTENTION" | "ATT" | "ATN" | "FAO", _, _) if start == 0 => 1,
            (own, _, _) if start == 0 && care_word(country).contains(&own) => 1,
            _ => return None,
        };
        (start + taken < words.len()).then_some((start, taken))
    })
}

/// What the country's language says for "c/o" (common practice, no source).
fn care_word(country: &str) -> &'static [&'static str] {
    match country {
        "DE" | "AT" | "LI" => &["BEI"],
        "CH" => &["BEI", "CHEZ", "PRESSO"],
        "FR" | "LU" | "MC" | "CA" => &["CHEZ"],
        "BE" => &["CHEZ", "P/A"],
        "NL" => &["P/A"],
        "IT" | "SM" | "VA" => &["PRESSO"],
        "PT" | "BR" => &["A/C"],
        "ES" | "MX" | "AR" | "CL" => &["A/A"],
        _ => &[],
    }
}

/// "東京都霧港市カモメ町" without the region and the town that the fields say.
fn unprefix(words: &mut [String], known: &Known) {
    for said in [known.region, known.city] {
        if let Some(first) = words.first_mut()
            && let Some(bare) = first.strip_prefix(said).filter(|bare| !bare.is_empty() && !said.is_empty())
        {
            *first = bare.to_owned();
        }
    }
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
    // A ZIP+4 too.
    let is_code = |words: &[String]| {
        let code = code(words);
        !known.postal.is_empty()
            && (code == known.postal || known.code() == "US" && code.len() == 9 && code.starts_with(known.postal))
    };
    for length in [1, 2] {
        let Some(start) = words.len().checked_sub(length) else { break };
        if words.get(start..).is_some_and(is_code) {
            words.truncate(start);
            break;
        }
        // "26133 Nebelhafen".
        if words.get(..length).is_some_and(is_code) {
            words.drain(..length);
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
        assert_eq!(dashes("Gaivota 12 - 3.º Esq"), ["Gaivota 12", "3.º Esq"]);
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
