//! Flats abroad that are written as part of the house number, or as a few words behind it.
//!
//! Handed the words of a number or of a short line; promises the house's number and a unit. A unit that no designator
//! names is one word behind `#`, so that "2. OG links" is not "2. OG rechts", whatever it means. Turned down: leaving
//! such words among the lines that fit nothing, where two flats would look like one address with and without a firm.

use super::habits::{Habit, Stroke, designator};
use super::units::{Unit, compact, is_value};

/// Words of doors and floors. Common practice, no source.
const WORDS: [&str; 62] = [
    "BIS",
    "TER",
    "QUATER",
    "TH",
    "TV",
    "MF",
    "STUEN",
    "SAL",
    "TR",
    "IZQ",
    "IZDA",
    "IZQUIERDA",
    "DCHA",
    "DER",
    "DERECHA",
    "ESQ",
    "DTO",
    "DRT",
    "DIR",
    "BAJO",
    "BAJOS",
    "ATICO",
    "ENTRESUELO",
    "PRAL",
    "LINKS",
    "RECHTS",
    "MITTE",
    "HINTERHAUS",
    "VORDERHAUS",
    "SEITENFLUGEL",
    "UG",
    "DG",
    "OG",
    "HS",
    "HTS",
    "BSMT",
    "BASEMENT",
    "GARDEN",
    "GROUND",
    "FIRST",
    "SECOND",
    "THIRD",
    "FOURTH",
    "TOP",
    "UPPER",
    "LOWER",
    "MAISONETTE",
    "FLOOR",
    "FLAT",
    "REAR",
    "FRONT",
    "LEFT",
    "RIGHT",
    "GAUCHE",
    "DROITE",
    "SX",
    "DX",
    "ANNEX",
    "ANNEXE",
    "PH",
    "LITERA",
    "ЛИТЕРА",
];

/// Whether a word may follow a house number and belong to a flat.
pub(super) fn is_door(word: &str) -> bool {
    is_value(word) || WORDS.contains(&word)
}

/// Whether all the words of a line tell a door.
pub(super) fn are_doors(words: &[String]) -> bool {
    words.len() < 6
        && words
            .iter()
            .all(|word| is_door(word) || word.chars().count() <= 2 || designator(word).is_some() || is_counted(word))
}

/// "1ER", "2EME", "3RD".
fn is_counted(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}

/// The unit that such words name: "2. th" is `# 2TH`, "3º B" `# 3B`.
pub(super) fn door(words: &[String]) -> Unit {
    let mut plain: Vec<String> = Vec::new();
    for (place, word) in words.iter().enumerate() {
        // "1. sal th" is "1. th".
        if ["SAL", "NO", "#"].contains(&word.as_str()) {
            continue;
        }
        // NFKC makes letters of the ordinal marks of Spanish and Portuguese: "3O B", "3OB".
        let digits = word.chars().take_while(char::is_ascii_digit).count();
        let ordinal = digits > 0 && word.get(digits..digits + 1) == Some("O");
        let more = place + 1 < words.len() || word.len() > digits + 1;
        match (word.get(..digits), word.get(digits + 1..)) {
            (Some(level), Some(rest)) if ordinal && more => plain.push(format!("{level}{rest}")),
            (Some(_) | None, _) => plain.push(word.clone()),
        }
    }
    // A dash stays between digits only: "3 2" is not "32".
    Unit::new("#", &compact(&[plain.join("-")]))
}

/// Floor and door as one unit, where "piso 3 puerta B" and "3º B" are the same.
pub(super) fn floor_and_door(units: &mut Vec<Unit>) {
    let place =
        |names: &[&str], units: &[Unit]| units.iter().position(|unit| names.contains(&unit.designator.as_str()));
    if let Some(floor) = place(&["FL"], units)
        && let Some(door) = place(&["DOOR", "APT"], units)
    {
        let value =
            format!("{}-{}", units.get(floor).map_or("", |u| &u.value), units.get(door).map_or("", |u| &u.value));
        let mut at = 0;
        units.retain(|_| {
            at += 1;
            at - 1 != floor && at - 1 != door
        });
        units.push(Unit::new("#", &compact(&[value])));
    }
}

/// Number and unit of "4/88", "88/4", "12/2/5", "4-88" and "5A12", by the country's habit.
pub(super) fn strokes(number: &[String], habit: &Habit, ahead: bool) -> (String, Option<Unit>) {
    let [one] = number else { return (compact(number), None) };
    if habit.stroke == Stroke::Staircase
        && let Some((number, flat)) = staircase(one)
    {
        return (number, Some(Unit::new("#", &flat)));
    }
    let digits = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let parted = match habit.stroke {
        Stroke::UnitFirst if ahead => one.rsplit_once('/').map(|(unit, number)| (number, unit)),
        Stroke::UnitDash if ahead => one.split_once('-').map(|(unit, number)| (number, unit)),
        Stroke::UnitLast => one.split_once('/'),
        Stroke::UnitFirst | Stroke::UnitDash | Stroke::OneNumber | Stroke::Staircase => None,
    };
    match parted.filter(|(number, unit)| digits(number) && (digits(unit) || habit.stroke == Stroke::UnitFirst)) {
        Some((number, unit)) => (compact(&[number.to_owned()]), Some(Unit::new("#", &compact(&[unit.to_owned()])))),
        None => (compact(std::slice::from_ref(one)), None),
    }
}

/// "5A12": house 5, staircase A, flat 12.
fn staircase(word: &str) -> Option<(String, String)> {
    let letter = word.find(|c: char| c.is_ascii_alphabetic())?;
    let (number, flat) = word.split_at_checked(letter + 1)?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    (digits(number.get(..letter)?) && digits(flat)).then(|| (number.to_owned(), flat.to_owned()))
}
