//! Flats abroad that are written as part of the house number, or as a few words behind it.
//!
//! Handed the words of a number or of a short line; promises the house's number and a unit. A unit that no designator
//! names is one word behind `#`, so that "2. OG links" is not "2. OG rechts", whatever it means. Turned down: leaving
//! such words among the lines that fit nothing, where two flats would look like one address with and without a firm.

use super::habits::{Habit, Stroke, designator};
use super::units::{Unit, compact, is_digits, is_value};

/// Other ways of writing words of doors, and the one that stands for them. Common practice, no source.
const FORMS: [(&str, &str); 63] = [
    ("R/C", "RC"),
    ("HINTERHS", "HINTERHAUS"),
    ("HTHS", "HINTERHAUS"),
    ("HHS", "HINTERHAUS"),
    ("HH", "HINTERHAUS"),
    ("VORDERHS", "VORDERHAUS"),
    ("VDHS", "VORDERHAUS"),
    ("VHS", "VORDERHAUS"),
    ("VH", "VORDERHAUS"),
    ("SFL", "SEITENFLUGEL"),
    ("ERDGESCHOSS", "EG"),
    ("ERDGESCHOSZ", "EG"),
    ("PARTERRE", "EG"),
    ("OBERGESCHOSS", "OG"),
    ("STOCK", "OG"),
    ("DACHGESCHOSS", "DG"),
    ("UNTERGESCHOSS", "UG"),
    ("RE", "RECHTS"),
    ("LI", "LINKS"),
    ("MI", "MITTE"),
    ("IZQUIERDA", "IZQ"),
    ("IZDA", "IZQ"),
    ("IZQDA", "IZQ"),
    ("IZDO", "IZQ"),
    ("DERECHA", "DCHA"),
    ("DER", "DCHA"),
    ("DCH", "DCHA"),
    ("BJO", "BAJO"),
    ("BJ", "BAJO"),
    ("BAJOS", "BAJO"),
    ("ENTLO", "ENTRESUELO"),
    ("ENTL", "ENTRESUELO"),
    ("PRINCIPAL", "PRAL"),
    ("PPAL", "PRAL"),
    ("AT", "ATICO"),
    ("ATC", "ATICO"),
    ("DIREITO", "DTO"),
    ("DRT", "DTO"),
    ("DIR", "DTO"),
    ("ESQUERDO", "ESQ"),
    ("FRENTE", "FTE"),
    ("FRT", "FTE"),
    ("FDS", "FUNDOS"),
    ("STUEN", "ST"),
    ("STUN", "ST"),
    ("KALDER", "KL"),
    ("KAELDER", "KL"),
    ("TRAPPOR", "TR"),
    ("TRP", "TR"),
    ("HUIS", "HS"),
    ("HOOG", "HG"),
    ("GCHE", "GAUCHE"),
    ("GAU", "GAUCHE"),
    ("DTE", "DROITE"),
    ("DRTE", "DROITE"),
    ("SINISTRA", "SX"),
    ("DESTRA", "DX"),
    ("FIRST", "1"),
    ("SECOND", "2"),
    ("THIRD", "3"),
    ("FOURTH", "4"),
    ("1ST", "1"),
    ("2ND", "2"),
];

/// Several words of which one stands for all. Common practice, no source.
const PHRASES: [(&[&str], &str); 5] = [
    (&["RES", "DO", "CHAO"], "RC"),
    (&["REZ", "DE", "CHAUSSEE"], "RDC"),
    (&["PLANTA", "BAJA"], "BAJO"),
    (&["ROADSIDE", "MAIL", "BOX"], "RMB"),
    (&["ROADSIDE", "DELIVERY"], "RSD"),
];

/// The words with the one that stands for several.
pub(super) fn in_short(words: &mut Vec<String>) {
    for (phrase, short) in PHRASES {
        let is_here =
            |start: &usize| words.iter().skip(*start).zip(phrase).filter(|(a, b)| a == b).count() == phrase.len();
        if let Some(start) = (0..words.len()).find(is_here) {
            words.splice(start..start + phrase.len(), [short.to_owned()]);
        }
    }
}

/// A word of doors in the one form for all of its spellings.
fn one_form(word: &str) -> &str {
    FORMS.iter().find(|(other, _)| *other == word).map_or(word, |(_, one)| one)
}

/// Words of doors and floors. Common practice, no source.
const WORDS: [&str; 56] = [
    "RC",
    "FUNDOS",
    "EG",
    "KL",
    "HG",
    "FTE",
    "BIS",
    "TER",
    "QUATER",
    "TH",
    "TV",
    "MF",
    "SAL",
    "TR",
    "IZQ",
    "DCHA",
    "ESQ",
    "DTO",
    "BAJO",
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
    "LIT",
];

/// Whether a word may follow a house number and belong to a flat.
pub(super) fn is_door(word: &str) -> bool {
    is_value(word) || WORDS.contains(&word) || FORMS.iter().any(|(other, _)| *other == word)
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
            (Some(_) | None, _) => plain.push(one_form(word).to_owned()),
        }
    }
    // A dash stays between digits only: "3 2" is not "32".
    Unit::new("#", &compact(&[plain.join("-")]))
}

/// Floor and door as one unit, where "piso 3 puerta B" and "3º B" are the same.
pub(super) fn floor_and_door(units: &mut Vec<Unit>) {
    for unit in units.iter_mut().filter(|unit| unit.designator == "DOOR") {
        unit.value = one_form(&unit.value).to_owned();
    }
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

/// Number and units of "4/88", "88/4", "12/2/5", "4-88" and "5A12", by the country's habit.
pub(super) fn strokes(number: &[String], habit: &Habit, ahead: bool) -> (String, Vec<Unit>) {
    let [one] = number else { return (compact(number), Vec::new()) };
    if habit.stroke == Stroke::Staircase
        && let Some((number, flat)) = staircase(one)
    {
        return (number, vec![Unit::new("#", &flat)]);
    }
    if habit.stroke == Stroke::RoomFourth {
        // The first three count blocks and houses.
        let room = one.rsplit_once('-').filter(|(house, room)| house.matches('-').count() == 2 && is_digits(room));
        return match room {
            Some((house, room)) => (compact(&[house.to_owned()]), vec![Unit::new("#", room)]),
            None => (compact(std::slice::from_ref(one)), Vec::new()),
        };
    }
    if habit.stroke == Stroke::StairLast {
        let parts: Vec<&str> = one.split('/').collect();
        let units: &[(&str, &str)] = match parts.as_slice() {
            [_, stair, floor, door] => &[("STAIR", *stair), ("FL", *floor), ("#", *door)],
            [_, stair, door] => &[("STAIR", *stair), ("#", *door)],
            [_, door] => &[("#", *door)],
            _ => &[],
        };
        if let (Some(number), true) = (parts.first(), units.iter().all(|(_, value)| is_value(value))) {
            let units = units.iter().map(|(designator, value)| Unit::new(designator, &compact(&[(*value).to_owned()])));
            return (compact(&[(*number).to_owned()]), units.collect());
        }
    }
    let digits = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let parted = match habit.stroke {
        Stroke::UnitFirst if ahead => one.rsplit_once('/').map(|(unit, number)| (number, unit)),
        Stroke::UnitDash if ahead => one.split_once('-').map(|(unit, number)| (number, unit)),
        Stroke::UnitLast => one.split_once('/'),
        Stroke::DashLast => one.split_once('-'),
        Stroke::UnitFirst
        | Stroke::UnitDash
        | Stroke::OneNumber
        | Stroke::Staircase
        | Stroke::StairLast
        | Stroke::Addition
        | Stroke::RoomFourth => None,
    };
    match parted.filter(|(number, unit)| digits(number) && (digits(unit) || habit.stroke == Stroke::UnitFirst)) {
        Some((number, unit)) => (compact(&[number.to_owned()]), vec![Unit::new("#", &compact(&[unit.to_owned()]))]),
        None => (compact(std::slice::from_ref(one)), Vec::new()),
    }
}

/// "5A12": house 5, staircase A, flat 12.
fn staircase(word: &str) -> Option<(String, String)> {
    let letter = word.find(|c: char| c.is_ascii_alphabetic())?;
    let (number, flat) = word.split_at_checked(letter + 1)?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    (digits(number.get(..letter)?) && digits(flat)).then(|| (number.to_owned(), flat.to_owned()))
}
