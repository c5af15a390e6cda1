//! Post office boxes of the US, and the boxes on rural and military routes.
//!
//! Handed the words of a line; promises the box in one form however it is spelled, taken out of the line only where
//! the words can't be a street ("512 Box St"). Publication 28, sections 24, 25, 28 and 38, from memory. Turned down:
//! one pattern for all spellings, which nobody could read.

use super::Parts;
use super::highways::{is_box, route};
use super::units::{a_letter_and_a_number, compact, is_digits, is_value, without_zeros};

/// "RR2 Box 5" and "Box 5 RR 2" as "RR 2 Box 5".
pub(super) fn put_in_order(words: &mut Vec<String>) {
    if let [mark, _, ..] = words.as_slice()
        && ["BOX", "BX"].contains(&mark.as_str())
    {
        let mut turned = words.split_off(2);
        if route(&turned, false).is_some_and(|(used, _)| used == turned.len()) {
            turned.append(words);
        }
        words.append(&mut turned);
    }
    private_mailbox(words);
    let Some(first) = words.first() else { return };
    let stem: String = first.chars().take_while(char::is_ascii_alphabetic).collect();
    // "RR2" and "HC-01".
    let number = first.get(stem.len()..).unwrap_or_default().trim_start_matches('-').to_owned();
    if ["RR", "RFD", "HC", "HCR", "PSC", "CMR"].contains(&stem.as_str()) && is_digits(&number) {
        words.splice(..1, [stem, number]);
    }
}

/// "Private Mail Box 10" as "PMB 10".
fn private_mailbox(words: &mut Vec<String>) {
    let Some(start) = words.iter().position(|word| word == "PRIVATE") else { return };
    let is = |place: usize, name: &str| words.get(start + place).is_some_and(|word| word == name);
    let used = if is(1, "MAILBOX") {
        2
    } else if is(1, "MAIL") && is(2, "BOX") {
        3
    } else {
        return;
    };
    words.splice(start..start + used, ["PMB".to_owned()]);
}

/// Takes a post office box out of the line; true where nothing but the box and its route stood in it.
pub(super) fn take_box(words: &mut Vec<String>, parts: &mut Parts) -> bool {
    let alone = box_at(words, 0, true).filter(|(end, _)| *end == words.len());
    let found = alone
        .map(|found| (0, found))
        .or_else(|| (0..words.len()).find_map(|start| box_at(words, start, false).map(|found| (start, found))));
    let Some((start, (end, value))) = found else { return false };
    parts.box_ = Some(value);
    words.drain(start..end);
    words.is_empty()
}

/// A box from `start`: "PO BOX 5", "P O BOX 5", "POB 5", "POST OFFICE DRAWER G" anywhere; without the post office
/// before it ("BOX 5", "CALLER 5", "BIN 5", "LOCKBOX 5") only where the line is nothing else (section 281).
fn box_at(words: &[String], start: usize, alone: bool) -> Option<(usize, String)> {
    let word = |place: usize| words.get(place).map_or("", String::as_str);
    let office = match (word(start), word(start + 1)) {
        ("P", "O") | ("POST", "OFFICE") => 2,
        ("PO" | "P/O" | "POSTAL", _) => 1,
        _ => 0,
    };
    if office == 2 && word(start + 2) == "B" && is_value(word(start + 3)) {
        return Some((start + 4, compact(&[word(start + 3).to_owned()])));
    }
    let mut place = start + office;
    let mut said = office > 0;
    let holders = ["BOX", "BX", "DRAWER", "LOCKBOX", "CALLER", "BIN"];
    let glued = ["POBOX", "POB", "BOX"].iter().find_map(|head| {
        let value = word(place).strip_prefix(head)?;
        (is_digits(value) && (*head != "BOX" || said || alone)).then(|| value.to_owned())
    });
    if let Some(value) = glued {
        return Some((place + 1, value));
    }
    if ["LOCK", "FIRM"].contains(&word(place)) && holders.contains(&word(place + 1)) {
        place += 1;
    }
    if holders.contains(&word(place)) {
        place += 1 + usize::from(word(place) == "CALLER" && word(place + 1) == "SERVICE");
    } else if ["POBOX", "POB"].contains(&word(place)) {
        place += 1;
        said = true;
    } else if !(alone && said) {
        return None;
    }
    if !(said || alone) {
        return None;
    }
    while ["#", "NO", "NUMBER"].contains(&word(place)) {
        place += 1;
    }
    let (used, value) = box_value(words.get(place..)?, said)?;
    Some((place + used, value))
}

/// What a box is numbered with: "152", "19 A" and "A B" where the line ends so, and, where `said` to be a post office's,
/// a word of up to three letters that the line ends with.
fn box_value(words: &[String], said: bool) -> Option<(usize, String)> {
    let lettered = |words: &[String]| words.iter().all(|word| word.len() == 1 && !is_digits(word));
    let used = match words {
        [_, _] if a_letter_and_a_number(words) => 2,
        [_, _] | [_, _, _] if lettered(words) => words.len(),
        [only] if said && only.len() <= 3 && only.bytes().all(|b| b.is_ascii_alphabetic()) => 1,
        [first, ..] if is_value(first) => 1,
        _ => return None,
    };
    let value = compact(words.get(..used)?);
    Some((used, without_zeros(&value).to_owned()))
}

/// Takes a rural route, a highway contract route, a military unit or general delivery off the front, with its box.
pub(super) fn take_route(words: &mut Vec<String>, parts: &mut Parts, military: bool) -> bool {
    let Some((used, route)) = route(words, military) else { return false };
    parts.street = route;
    words.drain(..used);
    let mark = words.first().map_or("", String::as_str);
    if is_box(mark) || mark == "#" {
        let start = 1 + usize::from(words.get(1).is_some_and(|word| ["#", "NO", "NUMBER"].contains(&word.as_str())));
        if let Some((used, value)) = box_value(words.get(start..).unwrap_or_default(), false) {
            parts.box_ = Some(value);
            words.drain(..start + used);
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    fn boxed(text: &str) -> (Option<String>, String) {
        let mut words: Vec<String> = text.split(' ').map(str::to_owned).collect();
        let mut parts = Parts::default();
        take_box(&mut words, &mut parts);
        (parts.box_, words.join(" "))
    }

    #[test]
    fn a_box_is_known_in_every_spelling_and_a_street_is_none() {
        for text in [
            "PO BOX 5",
            "P O BOX 5",
            "POB 5",
            "POBOX5",
            "P O B 5",
            "POST OFFICE BOX 5",
            "PO 5",
            "BOX 5",
            "BOX NO 5",
            "CALLER 5",
            "FIRM CALLER 5",
            "LOCKBOX 5",
            "PO DRAWER 5",
            "BIN 5",
            "BOX5",
            "P/O BOX 5",
            "CALLER SERVICE 5",
            "PO BOX 05",
        ] {
            assert_eq!(boxed(text), (Some("5".to_owned()), String::new()), "{text}");
        }
        assert_eq!(boxed("88 TERN ST PO BOX 5"), (Some("5".to_owned()), "88 TERN ST".to_owned()));
        for text in ["512 BOX ST", "88 TERN ST BOX 5", "PO BOX", "88 BIN RD", "BOX 5 TERN RD"] {
            assert_eq!(boxed(text), (None, text.to_owned()));
        }
    }
}
