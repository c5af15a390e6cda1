//! What tells apart the doors of one house: flat, suite, floor, building.
//!
//! Handed words; promises a unit as designator and value, taken off the end or the front of a line only where what
//! remains can still be a street. Turned down: taking any designator wherever it stands, which makes a unit of the
//! street in "8200 S Stop 11 Rd" and "88 Front St".

use super::ordinals::level;

/// A designator in its standard form, and whether it means nothing without a value.
pub(super) type Known = Option<(&'static str, bool)>;

/// Designator and value: `APT` and `4`; `REAR` and nothing; `#` and `4` where no designator is given.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Unit {
    pub(super) designator: String,
    pub(super) value: String,
}

impl Unit {
    pub(super) fn new(designator: &str, value: &str) -> Self {
        Self { designator: designator.to_owned(), value: value.to_owned() }
    }

    /// From the larger to the smaller, as on an envelope.
    fn rank(&self) -> u8 {
        match self.designator.as_str() {
            "BLDG" | "MZ" | "QUADRA" => 0,
            "STAIR" | "STROEN" | "PIER" | "LOT" | "STOP" => 1,
            "FL" | "BSMT" | "UPPR" | "LOWR" => 2,
            "#" => 4,
            _ => 3,
        }
    }
}

/// All units of an address in one text, in an order that doesn't depend on how they were written.
pub(super) fn written(mut units: Vec<Unit>) -> Option<String> {
    for unit in &mut units {
        unit.value = without_zeros(&unit.value).to_owned();
    }
    units.sort_by(|a, b| a.rank().cmp(&b.rank()).then_with(|| a.cmp(b)));
    units.dedup();
    // "Apt 4 #4" says 4 twice; "Bldg 4 #4" doesn't.
    let named: Vec<Unit> = units.iter().filter(|unit| unit.designator != "#").cloned().collect();
    let again = |unit: &Unit| {
        let same = |named: &Unit| named.value == unit.value && may_be_one("#", &named.designator);
        unit.designator == "#" && named.iter().any(same)
    };
    units.retain(|unit| !again(unit));
    let words: Vec<String> = units
        .into_iter()
        .map(|u| if u.value.is_empty() { u.designator } else { format!("{} {}", u.designator, u.value) })
        .collect();
    if words.is_empty() { None } else { Some(words.join(" ")) }
}

/// "04" is 4 on a door as on a box; "0" stays.
pub(super) fn without_zeros(value: &str) -> &str {
    let bare = value.trim_start_matches('0');
    if starts_with_digit(bare) { bare } else { value }
}

/// Whether two designators may be said of one door: `#` of any but of what holds several doors, UNIT of a flat or a suite.
pub(super) fn may_be_one(one: &str, other: &str) -> bool {
    const HOLDS_DOORS: [&str; 6] = ["BLDG", "FL", "STAIR", "STROEN", "MZ", "QUADRA"];
    let vague = |word: &str, said: &str| match word {
        "#" => !HOLDS_DOORS.contains(&said),
        "UNIT" => ["APT", "STE"].contains(&said),
        _ => false,
    };
    vague(one, other) || vague(other, one)
}

/// The units of a text made by [`written`].
pub(super) fn parts(text: &str) -> Vec<(&str, &str)> {
    let mut parts: Vec<(&str, &str)> = Vec::new();
    let mut words = text.split(' ').peekable();
    while let Some(designator) = words.next() {
        let value = words.next_if(|word| is_value(word) || designator == "#" || !is_known(word)).unwrap_or_default();
        parts.push((designator, value));
    }
    parts
}

fn is_known(word: &str) -> bool {
    word == "#" || super::us::designator(word).is_some() || super::habits::designator(word).is_some()
}

/// Holds a digit or is one letter.
pub(super) fn is_value(word: &str) -> bool {
    word.contains(|c: char| c.is_ascii_digit()) || word.chars().count() == 1 && word != "#"
}

pub(super) fn is_letter(word: &str) -> bool {
    word.len() == 1 && word.bytes().all(|b| b.is_ascii_alphabetic())
}

pub(super) fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

pub(super) fn starts_with_digit(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}

/// "5TH", "2ND": a number that counts and is no house number or unit.
pub(super) fn is_ordinal(word: &str) -> bool {
    let ending = word.trim_start_matches(|c: char| c.is_ascii_digit());
    ending.len() < word.len() && ["ST", "ND", "RD", "TH"].contains(&ending)
}

/// "4 B", "4-B" and "4B" are one value; "4-12" and "412" are two.
pub(super) fn compact(words: &[String]) -> String {
    let letters: Vec<char> = words.concat().chars().collect();
    let mut value = String::new();
    for (place, c) in letters.iter().enumerate() {
        let before = place.checked_sub(1).and_then(|place| letters.get(place));
        let after = letters.get(place + 1);
        let between = |test: fn(&char) -> bool| before.is_some_and(test) && after.is_some_and(test);
        if !['-', '/'].contains(c) || between(char::is_ascii_digit) {
            value.push(*c);
        }
    }
    value
}

/// Takes the unit off the end of `words`, if one stands there and `remains` holds of what is left.
pub(super) fn from_end(
    words: &mut Vec<String>,
    known: fn(&str) -> Known,
    remains: impl Fn(&[String]) -> bool,
) -> Option<Unit> {
    let (start, unit) = at_end(words, known)?;
    let left = words.get(..start)?;
    let of_any_word = unit.value.is_empty() || !unit.value.contains(|c: char| c.is_ascii_digit());
    // A designator alone, and a value that is only a word, are believed only behind a whole street or another unit.
    let remains =
        |left: &[String]| remains(left) || at_end(left, known).is_some_and(|(_, before)| before.designator != "#");
    let believed = start == 0 || if of_any_word && unit.designator != "#" { remains(left) } else { names(left) > 0 };
    if !believed {
        return None;
    }
    words.truncate(start);
    Some(unit)
}

/// How many words there are that may be a name; the number ahead is none.
fn names(words: &[String]) -> usize {
    let start = usize::from(words.first().is_some_and(|first| starts_with_digit(first)));
    words.iter().skip(start).filter(|word| super::us::direction(word).is_none()).count()
}

fn at_end(words: &[String], known: fn(&str) -> Known) -> Option<(usize, Unit)> {
    let count = words.len();
    let word = |back: usize| count.checked_sub(back).and_then(|place| words.get(place)).map_or("", String::as_str);
    let last = word(1);
    // A line that is only "# LEFT".
    if count == 2 && word(2) == "#" {
        return Some((0, Unit::new("#", &compact(&[last.to_owned()]))));
    }
    // "APT # 4", "APT NO 4", "# 4", "APT 4 B".
    for length in [1, 2] {
        let Some(start) = count.checked_sub(length) else { break };
        let values = words.get(start..)?;
        if !values.iter().all(|value| is_value(value)) || length == 2 && !a_letter_and_a_number(values) {
            continue;
        }
        let value = compact(values);
        let mut designator = start;
        let marked = ["#", "NO", "NR", "NUMBER"].contains(&word(length + 1));
        if marked {
            designator -= 1;
        }
        let before = designator.checked_sub(1).and_then(|place| words.get(place));
        if let Some((standard, _)) = before.and_then(|word| known(word)) {
            return Some((designator - 1, Unit::new(standard, &value)));
        }
        if marked && word(length + 1) == "#" {
            return Some((designator, Unit::new("#", &value)));
        }
    }
    // "2ND FLOOR", "SECOND FLOOR", "3EME ETAGE".
    if known(last).is_some_and(|(standard, _)| standard == "FL")
        && let Some(level) = level(word(2))
    {
        return Some((count - 2, Unit::new("FL", &level)));
    }
    // "3/F".
    if let Some(level) = last.strip_suffix("/F").filter(|level| level.bytes().all(|b| b.is_ascii_digit())) {
        return Some((count - 1, Unit::new("FL", level)));
    }
    // "3FL".
    if let Some(level) = last.strip_suffix("FL").filter(|level| is_counted(level)) {
        return Some((count - 1, Unit::new("FL", level)));
    }
    // "APT4".
    let stem = last.trim_end_matches(|c: char| c.is_ascii_digit());
    if stem.len() >= 2
        && stem.len() < last.len()
        && let Some((standard, _)) = known(stem)
    {
        return Some((count - 1, Unit::new(standard, last.get(stem.len()..)?)));
    }
    // "LOWER UNIT", "UNIT LOWER", "BASEMENT APT".
    let vague = |word: &str| ["UNIT", "APT", "APARTMENT", "LEVEL"].contains(&word);
    let alone = |word: &str| known(word).filter(|(_, needs_value)| !needs_value).map(|(standard, _)| standard);
    if let Some(standard) = alone(last).filter(|_| vague(word(2))).or_else(|| alone(word(2)).filter(|_| vague(last))) {
        return Some((count - 2, Unit::new(standard, "")));
    }
    // "REAR"; "APT LEFT".
    if let Some((standard, false)) = known(last) {
        return Some((count - 1, Unit::new(standard, "")));
    }
    let of_words = ["APT", "STE", "UNIT", "RM", "DOOR"];
    let (standard, _) = known(word(2)).filter(|(standard, _)| of_words.contains(standard))?;
    (known(last).is_none() && !is_known(last) && !super::us::is_suffix(last))
        .then(|| (count - 2, Unit::new(standard, last)))
}

/// Three digits or fewer, without a letter.
fn is_counted(word: &str) -> bool {
    (1..=3).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_digit())
}

pub(super) fn a_letter_and_a_number(values: &[String]) -> bool {
    let [a, b] = values else { return false };
    is_letter(a) && b.bytes().all(|c| c.is_ascii_digit()) || is_letter(b) && starts_with_digit(a)
}

/// Takes a unit off the front of `words` where a house number follows: "Apt 4 88 Tern St", "# 4 88 Tern St".
pub(super) fn from_front(words: &mut Vec<String>, known: fn(&str) -> Known) -> Option<Unit> {
    let first = words.first()?;
    let (standard, mut place) = match known(first) {
        Some((standard, _)) => (standard, 1),
        None if first == "#" => ("#", 0),
        None => return None,
    };
    if words.get(place).is_some_and(|word| ["#", "NO", "NR"].contains(&word.as_str())) {
        place += 1;
    }
    // "# 4-88 Tern St".
    if first == "#"
        && place == 1
        && let Some((unit, number)) = words.get(1).and_then(|both| both.split_once('-'))
        && is_digits(unit)
        && is_digits(number)
        && words.get(2).is_some_and(|next| !starts_with_digit(next))
    {
        let (unit, number) = (Unit::new(standard, unit), number.to_owned());
        words.splice(..2, [number]);
        return Some(unit);
    }
    let value = words.get(place).filter(|word| is_value(word))?;
    let next = words.get(place + 1).filter(|next| starts_with_digit(next) && !is_ordinal(next));
    next?;
    let unit = Unit::new(standard, &compact(std::slice::from_ref(value)));
    words.drain(..=place);
    Some(unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::likeness::standard::us::designator;

    fn end(text: &str) -> (String, Option<String>) {
        let mut words: Vec<String> = text.split(' ').map(str::to_owned).collect();
        let unit = from_end(&mut words, designator, |left| left.len() > 2);
        (words.join(" "), unit.and_then(|unit| written(vec![unit])))
    }

    #[test]
    fn a_unit_is_taken_in_every_way_of_writing_it() {
        let street = "88 TERN ST";
        for (written, unit) in [
            ("APT 4B", "APT 4B"),
            ("APARTMENT 4 B", "APT 4B"),
            ("APT # 4-B", "APT 4B"),
            ("# 4", "# 4"),
            ("STE100", "STE 100"),
            ("2ND FLOOR", "FL 2"),
            ("REAR", "REAR"),
            ("APT LEFT", "APT LEFT"),
        ] {
            assert_eq!(end(&format!("{street} {written}")), (street.to_owned(), Some(unit.to_owned())), "{written}");
        }
    }

    #[test]
    fn a_street_that_is_called_like_a_unit_stays_a_street() {
        for street in ["8200 S STOP 11 RD", "8200 S STOP 11", "88 FRONT", "88 UNIT RD", "88 KEY W"] {
            assert_eq!(end(street), (street.to_owned(), None));
        }
    }

    #[test]
    fn several_units_come_in_one_order_and_read_back() {
        let text = written(vec![Unit::new("APT", "4"), Unit::new("#", "4"), Unit::new("BLDG", "C")]);
        assert_eq!(text.as_deref(), Some("BLDG C APT 4"));
        assert_eq!(parts("BLDG C APT 4"), [("BLDG", "C"), ("APT", "4")]);
        assert_eq!(parts("REAR # 4"), [("REAR", ""), ("#", "4")]);
    }
}
