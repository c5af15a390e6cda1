//! Addresses outside of the US, by the habits of their country.
//!
//! Handed the lines as folded words and a [`Habit`]; promises number, street, unit and box. Where the number stands
//! is told by the line itself, and only where both ends could be one by the habit ("Straße des 17. Juni 135", "12
//! rue du 8 Mai"). Turned down: a grammar for each country, of which there would be two hundred.

mod numbers;

use super::Parts;
use super::doors::{are_doors, door, floor_and_door, in_short, is_door, strokes};
use super::habits::{self, Habit, Number, Stroke};
use super::units::{self, Unit, compact, is_digits, is_value, starts_with_digit, without_zeros};
use super::us;
use numbers::{MARKS, counts, is_mark, is_type, number_at, unmark, unnumber};

pub(super) use numbers::says_no_number;

/// Words of boxes, in the languages that write another than PO BOX. Common practice, no source.
const BOXES: [&[&str]; 30] = [
    &["PO", "BOX"],
    &["P", "O", "BOX"],
    &["POST", "OFFICE", "BOX"],
    &["POBOX"],
    &["GPO", "BOX"],
    &["LOCKED", "BAG"],
    &["PRIVATE", "BAG"],
    &["POSTFACH"],
    &["POSTBUS"],
    &["POSTBOKS"],
    &["BOITE", "POSTALE"],
    &["CASE", "POSTALE"],
    &["CASELLA", "POSTALE"],
    &["CAIXA", "POSTAL"],
    &["APARTADO", "DE", "CORREOS"],
    &["APARTADO", "POSTAL"],
    &["APARTADO"],
    &["APDO"],
    &["SKRYTKA", "POCZTOWA"],
    &["SKR", "POCZT"],
    &["BP"],
    &["CS"],
    &["TSA"],
    &["PB"],
    &["ABONENCKI", "IASHCHIK"],
    &["ABONENCKA", "SKRINKA"],
    &["TTH"],
    &["T", "TH"],
    &["CP"],
    &["BOX"],
];

/// Boxes that are counted apart from post office boxes, so that the kind is part of the number.
const APART: [&str; 4] = ["LOCKED BAG", "PRIVATE BAG", "CS", "TSA"];

/// Reads the lines of an address.
pub(super) fn read(lines: Vec<Vec<String>>, habit: &Habit) -> Parts {
    let mut parts = Parts::default();
    let mut streets: Vec<Vec<String>> = Vec::new();
    for mut words in whole(lines, habit) {
        in_short(&mut words);
        if habit.english
            && let Some(route) = rural_route(&words)
        {
            parts.units.push(Unit::new("#", &route));
            continue;
        }
        unnumber(&mut words);
        take_box(&mut words, &mut parts);
        unmark(&mut words, habit);
        // "Calle Gaviota #12": where the number stands behind, the first one marked so is the house's.
        let marked =
            words.iter().position(|word| word == "#").filter(|place| *place > 0 && habit.number != Number::Ahead);
        if let Some(place) = marked
            && !words.iter().take(place).any(|word| starts_with_digit(word) || habits::designator(word).is_some())
        {
            words.remove(place);
        }
        stroke_ahead(&mut words, habit);
        while let Some(unit) =
            units::from_front(&mut words, habits::designator).or_else(|| ahead_of_name(&mut words, habit))
        {
            parts.units.push(unit);
        }
        while let Some(unit) = units::from_end(&mut words, habits::designator, |left| left.len() > 1) {
            parts.units.push(unit);
        }
        if !words.is_empty() {
            streets.push(words);
        }
    }
    let numbered = |words: &Vec<String>| number_at(words, habit).is_some();
    let typed = |words: &Vec<String>| names_a_street(words, habit);
    let chosen = streets
        .iter()
        .position(|words| numbered(words) && typed(words))
        .or_else(|| streets.iter().position(numbered))
        .or_else(|| streets.iter().position(typed))
        .or_else(|| (parts.box_.is_none() && !streets.is_empty()).then_some(0));
    if let Some(chosen) = chosen {
        let words = streets.remove(chosen);
        take_street(words, habit, &mut parts);
    }
    for words in streets {
        // "2. th", "3º B", "4B" on its own or behind a comma.
        if !parts.number.is_empty() && are_doors(&words) {
            parts.units.push(door(&words));
        } else if habit.number == Number::First && !parts.number.is_empty() {
            take_building(words, &mut parts);
        } else {
            parts.rest.push(further(words, habit));
        }
    }
    if habit.floor_and_door {
        floor_and_door(&mut parts.units);
    }
    parts
}

/// "Unit 4/88 Tern St" and "U4/88 Tern St" as unit 4 and number 88.
fn stroke_ahead(words: &mut Vec<String>, habit: &Habit) {
    if habit.stroke == Stroke::UnitFirst {
        glued(words);
    }
    let place = usize::from(words.first().is_some_and(|first| habits::designator(first).is_some()));
    let Some(first) = words.get(place) else { return };
    let bare = if place == 0 { first.strip_prefix('U') } else { Some(first.as_str()) };
    let Some((unit, number)) = bare.and_then(|bare| bare.split_once('/')) else { return };
    let named = words.get(place + 1).is_some_and(|next| !starts_with_digit(next));
    if named && starts_with_digit(unit) && starts_with_digit(number) {
        let parted = ["UNIT".to_owned(), unit.to_owned(), number.to_owned()];
        let parted = parted.into_iter().skip(place);
        words.splice(place..=place, parted);
    }
}

/// A line that is only a route of rural delivery: "RR 2" in Canada, "R.D. No. 2" in New Zealand.
fn rural_route(words: &[String]) -> Option<String> {
    let [kind @ .., number] = words else { return None };
    let kind = kind.strip_suffix(&["#".to_owned()]).or_else(|| kind.strip_suffix(&["NO".to_owned()])).unwrap_or(kind);
    let kind = kind.concat();
    (["RR", "RD"].contains(&kind.as_str()) && starts_with_digit(number)).then(|| format!("{kind}{number}"))
}

/// "U4 88 Tern St" and "L3" as unit 4 and level 3.
fn glued(words: &mut Vec<String>) {
    let Some(first) = words.first() else { return };
    let Some((letter, number)) = first.split_at_checked(1) else { return };
    let word = match letter {
        "U" => "UNIT",
        "L" => "LEVEL",
        _ => return,
    };
    if starts_with_digit(number) && !number.contains('/') && words.get(1).is_none_or(|next| starts_with_digit(next)) {
        words.splice(..1, [word.to_owned(), number.to_owned()]);
    }
}

/// "Flat 4 Tern House": the unit before the name of a house or of an estate.
fn ahead_of_name(words: &mut Vec<String>, habit: &Habit) -> Option<Unit> {
    let [word, value, name, ..] = words.as_slice() else { return None };
    let (standard, _) = habits::designator(word).filter(|_| habit.english)?;
    if !starts_with_digit(value)
        || !name.contains(char::is_alphabetic)
        || are_doors(words.get(2..)?)
        || us::is_suffix(name)
    {
        return None;
    }
    let unit = Unit::new(standard, &compact(std::slice::from_ref(value)));
    words.drain(..2);
    Some(unit)
}

/// "88" and "rue des Sternes", parted by a comma, are one line again; so are "Ternstraße" and "88".
fn whole(lines: Vec<Vec<String>>, habit: &Habit) -> Vec<Vec<String>> {
    let mut whole: Vec<Vec<String>> = Vec::new();
    let only_number = |words: &[String]| {
        let value = if words.first().is_some_and(|first| is_mark(first, habit)) { words.get(1..) } else { Some(words) };
        value.is_some_and(|value| {
            value.first().is_some_and(|first| starts_with_digit(first) && !first.ends_with("/F"))
                && value.iter().skip(1).all(|word| is_door(word))
        })
    };
    for words in lines {
        let first_is_word = words
            .first()
            .is_some_and(|first| !starts_with_digit(first) || counts(first) && is_type_behind(&words, habit));
        match whole.last_mut() {
            Some(before)
                if only_number(before) && first_is_word && !only_number(&words) && units_only(&words).is_none()
                    || only_number(&words)
                        && before.iter().all(|word| !starts_with_digit(word))
                        && units_only(before).is_none() =>
            {
                before.extend(words);
            }
            Some(_) | None => whole.push(words),
        }
    }
    whole
}

/// "3e Avenue" is a street, "3e étage" none.
fn is_type_behind(words: &[String], habit: &Habit) -> bool {
    words.get(1).is_some_and(|next| is_type(next, habit) || habit.english && us::is_suffix(next))
}

fn units_only(words: &[String]) -> Option<()> {
    words.first().filter(|first| habits::designator(first).is_some() || *first == "#").map(|_| ())
}

/// Takes a post office box out of the line.
fn take_box(words: &mut Vec<String>, parts: &mut Parts) {
    let found = (0..words.len()).find_map(|start| {
        let rest = words.get(start..)?;
        let head = BOXES.iter().find(|head| head.len() < rest.len() && head.iter().zip(rest).all(|(a, b)| a == b))?;
        // The short ones are words of streets and towns too.
        let short = ["BP", "CP", "BOX", "APARTADO", "CS", "TSA", "PB", "TTH", "T"];
        if short.contains(head.first()?) && start > 0 {
            return None;
        }
        let kind = head.join(" ");
        let mut end = start + head.len();
        let mut value = String::new();
        while words.get(end).is_some_and(|word| MARKS.contains(&word.as_str()) || word == "#") {
            end += 1;
        }
        // "Postfach 12 34 56".
        while let Some(digits) = words.get(end).filter(|word| is_value(word)) {
            value.push_str(digits);
            end += 1;
        }
        let value = without_zeros(&value).to_owned();
        let value = if APART.contains(&kind.as_str()) { format!("{kind} {value}") } else { value };
        (end > start + head.len() && !value.is_empty()).then_some((start, end, value))
    });
    if let Some((start, end, value)) = found {
        parts.box_ = Some(value);
        words.drain(start..end);
    }
}

fn names_a_street(words: &[String], habit: &Habit) -> bool {
    let last = words.iter().rev().find(|word| !starts_with_digit(word) && us::direction(word).is_none());
    let english = habit.english
        && words.len() > 1
        && last.is_some_and(|last| us::is_suffix(last) || habits::english_suffix(last).is_some());
    let first = words.iter().find(|word| !starts_with_digit(word));
    english
        || habit.languages.iter().any(|language| {
            let begins = |word: &String| language.first.iter().any(|(short, long)| word == short || word == long);
            let ends = |word: &String| {
                language.last.iter().any(|(long, short)| {
                    word.ends_with(long) || word == short || short.len() > 2 && word.ends_with(short)
                })
            };
            words.len() > 1 && first.is_some_and(begins) || last.is_some_and(ends)
        })
}

fn take_street(mut words: Vec<String>, habit: &Habit, parts: &mut Parts) {
    if let Some((start, end)) = number_at(&words, habit) {
        let behind: Vec<String> = words.drain(end..).collect();
        let number: Vec<String> = words.drain(start..).collect();
        let mut number = number;
        if start == 0 {
            words = behind;
        } else if habit.stroke == Stroke::Addition && are_doors(&behind) {
            // "12 II", "12-II", "12 hs", "12-huis".
            let plain = number.concat().replace('/', "-");
            let digits = plain.find(|c: char| !c.is_ascii_digit()).unwrap_or(plain.len());
            let (house, addition) = plain.split_at(digits);
            let addition = addition.trim_start_matches('-');
            let added: Vec<String> =
                Some(addition.to_owned()).filter(|a| !a.is_empty()).into_iter().chain(behind).collect();
            number = vec![if added.is_empty() { house.to_owned() } else { format!("{house}-{}", door(&added).value) }];
        } else if are_doors(&behind) {
            parts.units.extend((!behind.is_empty()).then(|| door(&behind)));
        } else {
            take_building(behind, parts);
        }
        if !habit.english {
            for number in &mut number {
                without_thousands(number);
            }
        }
        let (number, unit) = strokes(&number, habit, start == 0);
        parts.number = number;
        parts.units.extend(unit);
    }
    parts.street = street_of(words, habit);
}

/// A street's words in their form, without number and unit.
pub(super) fn street_of(words: Vec<String>, habit: &Habit) -> Vec<String> {
    if habit.english && !french(&words, habit) { english(words) } else { street(words, habit) }
}

/// "1.200" is number 1200 where the point parts thousands.
fn without_thousands(number: &mut String) {
    if let Some((thousands, rest)) = number.split_once('.')
        && thousands.len() <= 3
        && rest.len() == 3
        && is_digits(thousands)
        && is_digits(rest)
    {
        *number = format!("{thousands}{rest}");
    }
}

/// "カモメビル 501" behind the number: a building, and a room in it.
fn take_building(mut words: Vec<String>, parts: &mut Parts) {
    if let Some(room) = words.pop_if(|last| starts_with_digit(last)) {
        parts.units.push(Unit::new("#", &compact(&[room])));
    }
    parts.rest.push(words.join(" "));
}

/// Whether the street is a French one in a country that writes both.
fn french(words: &[String], habit: &Habit) -> bool {
    let starts = |word: &String| {
        habit.languages.iter().any(|language| language.first.iter().any(|(short, long)| word == long || word == short))
    };
    words.len() > 1 && words.first().is_some_and(starts) && !words.iter().skip(1).any(|word| us::is_suffix(word))
}

/// A street of an English-speaking country: Publication 28's form, with the endings that it lacks or means otherwise.
fn english(words: Vec<String>) -> Vec<String> {
    let mut name = words.clone();
    let behind = us::behind(&mut name);
    let Some(own) = name.pop().filter(|_| !name.is_empty()).and_then(|last| habits::english_suffix(&last)) else {
        return us::street(words);
    };
    let ahead = us::ahead(&mut name);
    let own = own.to_owned();
    ahead.into_iter().chain(us::names(name)).chain([own]).chain(behind).collect()
}

/// A line that fits nothing, with its words in their usual form.
pub(super) fn further(words: Vec<String>, habit: &Habit) -> String {
    let mut words = begun(words, habit);
    if habit.english {
        words = us::names(words);
        // A post office's station, "succursale" in French.
        for word in words.iter_mut().filter(|word| ["SUCC", "SUCCURSALE"].contains(&word.as_str())) {
            "STA".clone_into(word);
        }
    }
    words.join(" ")
}

/// The words with what they begin with spelled out, and in front where it stands behind.
fn begun(mut words: Vec<String>, habit: &Habit) -> Vec<String> {
    for language in habit.languages {
        let known = |head: &str| {
            language.first.iter().find(|(short, long)| *short == head || !long.is_empty() && *long == head)
        };
        let head = |words: &[String]| {
            [2, 1].into_iter().find_map(|length| {
                let head = words.get(..length)?.join(" ");
                known(&head).map(|(_, long)| (length, *long))
            })
        };
        if language.turns && words.len() > 1 {
            // English for it: at the end it can't be a station.
            if let Some(last) = words.last_mut().filter(|last| *last == "ST") {
                "STREET".clone_into(last);
            }
        }
        if language.turns && head(&words).is_none() && words.len() > 1 {
            let turned = [2, 1].into_iter().find_map(|length| {
                let start = words.len().checked_sub(length).filter(|start| *start > 0)?;
                known(&words.get(start..)?.join(" ")).map(|_| start)
            });
            words.rotate_left(turned.unwrap_or(0));
        }
        if let Some((length, long)) = head(&words) {
            words.splice(..length, long.split(' ').filter(|word| !word.is_empty()).map(str::to_owned));
            break;
        }
    }
    words
}

fn street(words: Vec<String>, habit: &Habit) -> Vec<String> {
    let mut words = begun(words, habit);
    // "boul. des Sternes Ouest".
    if habit.english
        && words.len() > 2
        && let Some(last) = words.last_mut()
    {
        let short = match last.as_str() {
            "O" | "OUEST" => "W",
            "EST" => "E",
            "NORD" => "N",
            "SUD" => "S",
            other => us::direction(other).unwrap_or(other),
        };
        *last = short.to_owned();
    }
    for language in habit.languages {
        for word in &mut words {
            if let Some((_, short)) = language.anywhere.iter().find(|(long, _)| long == word) {
                (*short).clone_into(word);
            }
        }
    }
    if let Some(last) = words.last().cloned() {
        let ended = habit.languages.iter().flat_map(|language| language.last).find_map(|(long, short)| {
            let stem = last
                .strip_suffix(long)
                .or_else(|| (last == *short || short.len() > 2).then(|| last.strip_suffix(short))?)?;
            Some((stem.to_owned(), *short))
        });
        if let Some((stem, short)) = ended {
            words.pop();
            // "Tern Straße", "Tern-Str." and "Ternstraße" are one.
            let stem = if stem.is_empty() { words.pop().unwrap_or_default() } else { stem };
            words.push(format!("{stem}{short}"));
        }
    }
    words
}
