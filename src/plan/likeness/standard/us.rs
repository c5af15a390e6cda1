//! US addresses by Publication 28 ("Postal Addressing Standards"). Section numbers here are from memory; the tables
//! have their sources at their heads.
//!
//! Handed the lines as folded words; promises number, street, unit and box in standard form. Turned down: a grammar of
//! whole lines, which fails as a whole where one word is unknown.

use super::Parts;
use super::boxes::{put_in_order, take_box, take_route};
use super::highways::{counts_its_roads, is_box, standard_highway, wants_a_box};
use super::ordinals::spelled;
use super::tables::{DESIGNATORS, DIRECTIONS, STATES, SUFFIXES};
use super::units::{self, Known, Unit, compact, is_digits, is_letter, is_ordinal, is_value, starts_with_digit};

/// The standard designator of a word, if it is one. A private mailbox counts as one (section 285).
pub(super) fn designator(word: &str) -> Known {
    if word == "PMB" {
        return Some(("PMB", true));
    }
    DESIGNATORS.get(word).map(|known| (known.standard.as_str(), known.needs_value))
}

/// The directional's abbreviation, if the word is one.
pub(super) fn direction(word: &str) -> Option<&'static str> {
    DIRECTIONS.get(word).map(|(_, short)| short.as_str())
}

/// Whether a word is a spelling of a street suffix.
pub(super) fn is_suffix(word: &str) -> bool {
    SUFFIXES.contains_key(word)
}

/// The code of a state, territory or military region, by its code or its name.
pub(super) fn state(folded: &str) -> Option<&'static str> {
    STATES.get(folded).map(String::as_str)
}

/// Reads the lines of an address. `military`: the town is an APO, FPO or DPO.
pub(super) fn read(lines: Vec<Vec<String>>, military: bool) -> Parts {
    let mut parts = Parts::default();
    let mut streets: Vec<Vec<String>> = Vec::new();
    for mut words in whole(lines) {
        one_in_figures(&mut words);
        put_in_order(&mut words);
        if take_box(&mut words, &mut parts) || take_route(&mut words, &mut parts, military) {
            if !words.is_empty() {
                parts.rest.push(further(words));
            }
            continue;
        }
        if let Some(unit) = units::from_front(&mut words, designator).or_else(|| between(&mut words)) {
            parts.units.push(unit);
        }
        while let Some(unit) = units::from_end(&mut words, designator, is_whole_street) {
            parts.units.push(unit);
        }
        // "88 Tern St Apt": the value is lost.
        if words.len() > 3
            && words.last().is_some_and(|last| ["APT", "APARTMENT", "STE", "SUITE"].contains(&last.as_str()))
        {
            words.pop();
        }
        if !words.is_empty() {
            streets.push(words);
        }
    }
    let chosen = streets
        .iter()
        .position(|words| has_number(words) && is_whole_street(words))
        .or_else(|| streets.iter().position(|words| has_number(words)))
        .or_else(|| parts.box_.is_none().then(|| streets.iter().position(|words| is_whole_street(words)))?)
        .or_else(|| (parts.box_.is_none() && parts.street.is_empty() && !streets.is_empty()).then_some(0));
    if let Some(chosen) = chosen {
        let mut words = streets.remove(chosen);
        if let Some(unit) = bare_unit(&mut words) {
            parts.units.push(unit);
        }
        parts.number = number(&mut words);
        let mut street = street(words);
        street.append(&mut parts.street);
        parts.street = street;
    }
    for words in streets {
        match words.as_slice() {
            // A line of its own that is only "4B" or "No. 4".
            [value] if is_value(value) && !parts.number.is_empty() => {
                parts.units.push(Unit::new("#", &compact(&words)));
            }
            [mark, value]
                if ["NO", "NUMBER"].contains(&mark.as_str()) && is_value(value) && !parts.number.is_empty() =>
            {
                parts.units.push(Unit::new("#", &compact(std::slice::from_ref(value))));
            }
            [first, ..] if first == "URB" => {
                // Two streets of one name in a town of Puerto Rico differ by it (section 293).
                parts.street.push("URB".to_owned());
                parts.street.extend(words.into_iter().skip(1));
            }
            _ => parts.rest.push(further(words)),
        }
    }
    parts
}

/// A line that fits nothing; "Sta A" is Station A.
pub(super) fn further(mut words: Vec<String>) -> String {
    if let Some(first) = words.first_mut().filter(|first| ["STA", "STN"].contains(&first.as_str())) {
        "STATION".clone_into(first);
    }
    words.join(" ")
}

/// A unit between number and street: "88 Apt 4 Tern St".
fn between(words: &mut Vec<String>) -> Option<Unit> {
    let [number, word, value, street @ ..] = words.as_slice() else { return None };
    let (standard, _) = designator(word)?;
    if !starts_with_digit(number) || !starts_with_digit(value) || is_ordinal(value) || !is_whole_street(street) {
        return None;
    }
    let unit = Unit::new(standard, &compact(std::slice::from_ref(value)));
    words.drain(1..3);
    Some(unit)
}

/// Puerto Rico writes "Calle 4 #88 Urb. Las Gaviotas": the development apart from the street, the number ahead.
/// Its Spanish words are shortened as section 29 has them.
pub(super) fn puerto_rican(lines: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let short = |word: String| match word.as_str() {
        "AVENIDA" => "AVE".to_owned(),
        "URBANIZACION" => "URB".to_owned(),
        "CONDOMINIO" => "COND".to_owned(),
        "APTO" | "APARTAMENTO" => "APT".to_owned(),
        "EDIFICIO" | "EDIF" => "BLDG".to_owned(),
        "PISO" => "FL".to_owned(),
        "BARRIO" => "BO".to_owned(),
        _ => word,
    };
    let mut parted: Vec<Vec<String>> = Vec::new();
    for words in lines {
        let mut part: Vec<String> = Vec::new();
        for word in words.into_iter().map(short) {
            let begins = ["URB", "CALLE", "PASEO"].contains(&word.as_str());
            // "C-12 Calle 5" is house C12.
            if let [number] = part.as_mut_slice()
                && begins
                && is_lettered(number)
            {
                *number = compact(std::slice::from_ref(number));
            } else if begins && part.iter().any(|word| !starts_with_digit(word)) {
                parted.push(std::mem::take(&mut part));
            }
            part.push(word);
        }
        parted.push(part);
    }
    for words in &mut parted {
        if let [first, .., mark, number] = words.as_slice()
            && first == "CALLE"
            && starts_with_digit(number)
            && (mark == "#" || words.len() > 2)
        {
            let number = words.pop().unwrap_or_default();
            words.pop_if(|last| ["#", "NO", "NUM"].contains(&last.as_str()));
            words.insert(0, number);
        }
    }
    parted
}

/// "C-12", "C12".
fn is_lettered(word: &str) -> bool {
    word.split_at_checked(1).is_some_and(|(letter, rest)| is_letter(letter) && is_digits(rest.trim_start_matches('-')))
}

/// "One Tern Plaza" as "1 Tern Plaza"; of other numbers too many streets are made ("Two Rivers Rd").
fn one_in_figures(words: &mut [String]) {
    if let Some((first, street)) = words.split_first_mut()
        && first == "ONE"
        && is_whole_street(street)
    {
        "1".clone_into(first);
    }
}

/// "88" and "Tern St", parted by a comma, are one line again.
fn whole(lines: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let mut whole: Vec<Vec<String>> = Vec::new();
    for words in lines {
        let of_name = words.first().is_some_and(|first| ["JR", "SR", "JUNIOR", "SENIOR"].contains(&first.as_str()));
        let follows =
            words.first().is_some_and(|first| !starts_with_digit(first) && first != "#" && designator(first).is_none());
        match whole.last_mut() {
            // "King, Jr. Boulevard".
            Some(before) if of_name && words.len() > 1 => before.extend(words),
            // "Rt. 2, Box 152".
            Some(before) if wants_a_box(before) && words.first().is_some_and(|first| is_box(first)) => {
                before.extend(words);
            }
            Some(before) if follows && before.len() == 1 && before.iter().all(|word| is_house_number(word)) => {
                before.extend(words);
            }
            Some(_) | None => whole.push(words),
        }
    }
    whole
}

/// Digits first, or a grid number such as "N6W23001" (section 232).
fn is_house_number(word: &str) -> bool {
    let mut letters = word.chars();
    let grid = letters.next().is_some_and(|c| "NSEW".contains(c)) && letters.next().is_some_and(|c| c.is_ascii_digit());
    starts_with_digit(word) && !is_ordinal(word) || grid
}

fn has_number(words: &[String]) -> bool {
    words.len() > 1 && words.first().is_some_and(|first| is_house_number(first))
}

/// A name and a suffix behind it, with or without a directional.
fn is_whole_street(words: &[String]) -> bool {
    let start = usize::from(has_number(words));
    let names: Vec<&String> = words.iter().skip(start).filter(|word| direction(word).is_none()).collect();
    names.len() > 1 && names.last().is_some_and(|last| is_suffix(last))
}

/// A value behind a whole street, without designator: "88 Tern St 4". Not behind what counts its roads.
fn bare_unit(words: &mut Vec<String>) -> Option<Unit> {
    let last = words.last()?;
    let value = is_value(last) && !is_ordinal(last) && direction(last).is_none();
    let before = words.get(..words.len() - 1)?;
    let suffix = before.iter().rev().find(|word| direction(word).is_none())?;
    let counts = ["HWY", "RTE", "LOOP", "SPUR", "EXPY", "BYP"].contains(&standard_suffix(suffix)?);
    let numbered_road = counts_its_roads(before)
        || before.iter().any(|word| {
            [
                "COUNTY", "CNTY", "CTY", "STATE", "MARKET", "FM", "RANCH", "TOWNSHIP", "FOREST", "PRIVATE", "SERVICE",
                "US",
            ]
            .contains(&word.as_str())
        });
    if !value || counts || numbered_road || !has_number(words) || !is_whole_street(before) {
        return None;
    }
    let value = words.pop()?;
    Some(Unit::new("#", &compact(&[value])))
}

fn standard_suffix(word: &str) -> Option<&'static str> {
    SUFFIXES.get(word).map(|suffix| suffix.standard.as_str())
}

/// Takes the house number off the front, with its fraction or letter.
fn number(words: &mut Vec<String>) -> String {
    if !has_number(words) {
        return String::new();
    }
    let mut number = compact(&[words.remove(0)]);
    let fraction = |word: &String| word.split_once('/').is_some_and(|(a, b)| is_digits(a) && is_digits(b));
    let grid = |word: &String| !starts_with_digit(word) && is_house_number(word);
    if let Some((whole, part)) = number.split_once('-').filter(|(_, part)| fraction(&(*part).to_owned())) {
        // "12-1/2".
        number = format!("{whole} {part}");
    } else if grid(&number) && words.len() > 1 && words.first().is_some_and(grid) {
        // "N6 W23001".
        number.push_str(&words.remove(0));
    } else if words.len() > 1 && words.first().is_some_and(fraction) {
        number = format!("{number} {}", words.remove(0));
    } else if let [letter, next, _, ..] = words.as_slice()
        && number.bytes().all(|b| b.is_ascii_digit())
        && is_letter(letter)
        && direction(letter).is_none()
        && next.len() > 1
        && !is_suffix(next)
    {
        number.push_str(letter);
        words.remove(0);
    }
    number
}

/// The street's words: directionals abbreviated before and behind the name and spelled out inside of it, the suffix
/// in its standard form (sections 233 and 234). A name that is a directional stays as it is written: "North St" and
/// "N St" are two streets.
pub(super) fn street(words: Vec<String>) -> Vec<String> {
    let mut words = standard_highway(words);
    let behind = behind(&mut words);
    let ahead = ahead(&mut words);
    let suffix =
        words.pop_if(|last| is_suffix(last)).map(|last| standard_suffix(&last).map_or(last.clone(), str::to_owned));
    // "Forty-Second St" and "42 St" are "42nd St" (common practice, no source).
    if suffix.is_some()
        && let Some(figures) = spelled(&words)
    {
        words = vec![figures];
    }
    if let [only] = words.as_mut_slice()
        && suffix.is_some()
        && is_ordinal(only)
    {
        only.retain(|c| c.is_ascii_digit());
    }
    let mut street: Vec<String> = ahead.into_iter().collect();
    street.extend(names(words));
    street.extend(suffix);
    street.extend(behind);
    street
}

/// The words of a name, without its suffix and the directionals around it.
pub(super) fn names(words: Vec<String>) -> Vec<String> {
    let count = words.len();
    let mut names = Vec::with_capacity(count);
    let mut before_is_suffix = false;
    for (place, word) in words.into_iter().enumerate() {
        let (inside, is_suffix) = match SUFFIXES.get(&word) {
            Some(suffix) => (suffix.inside.clone(), true),
            None => (inside(&word, place > 0 && count > 1 && !before_is_suffix), false),
        };
        before_is_suffix = is_suffix;
        names.push(inside);
    }
    names
}

/// A word within a name: titles as they are usually shortened (common practice, no source).
fn inside(word: &str, spells_directions: bool) -> String {
    let short = match word {
        "SAINT" => "ST",
        "SAINTE" => "STE",
        "DOCTOR" => "DR",
        "JUNIOR" => "JR",
        "SENIOR" => "SR",
        _ => match DIRECTIONS.get(word) {
            Some((name, _)) if spells_directions => name,
            Some(_) | None => word,
        },
    };
    short.to_owned()
}

/// The two directionals that make one: "N W" is NW.
fn together(first: &str, second: &str) -> Option<&'static str> {
    let (first, second) = (direction(first)?, direction(second)?);
    let both = format!("{first}{second}");
    (first.len() == 1 && second.len() == 1).then(|| direction(&both))?
}

/// A name remains: some word that is no directional and not a suffix alone.
fn is_name(words: &[String]) -> bool {
    words.iter().any(|word| direction(word).is_none()) && !matches!(words, [only] if is_suffix(only))
}

/// Takes the directional off the end, where a name remains.
pub(super) fn behind(words: &mut Vec<String>) -> Option<String> {
    if let [left @ .., first, second] = words.as_slice()
        && let Some(both) = together(first, second)
        && is_name(left)
    {
        words.truncate(words.len() - 2);
        return Some(both.to_owned());
    }
    let (last, left) = words.split_last()?;
    let short = direction(last).filter(|_| is_name(left))?;
    words.pop();
    Some(short.to_owned())
}

/// Takes the directional off the front, where a name remains.
pub(super) fn ahead(words: &mut Vec<String>) -> Option<String> {
    if let [first, second, left @ ..] = words.as_slice()
        && let Some(both) = together(first, second)
        && is_name(left)
    {
        words.drain(..2);
        return Some(both.to_owned());
    }
    let (first, left) = words.split_first()?;
    let leaves_a_name = !left.is_empty() && !matches!(left, [only] if is_suffix(only));
    // "No. Tern St" and "So. Tern St"; before a figure it is the mark of a number.
    let old = match first.as_str() {
        "NO" => Some("N"),
        "SO" => Some("S"),
        _ => None,
    };
    let old = old.filter(|_| left.first().is_some_and(|next| next.bytes().all(|b| b.is_ascii_alphabetic())));
    let short = direction(first).or(old).filter(|_| leaves_a_name)?;
    words.remove(0);
    Some(short.to_owned())
}
