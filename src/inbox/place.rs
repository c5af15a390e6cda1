//! Address lines as a person writes them to a recipient.
//!
//! Handed street, town and perhaps country lines; promises every word of them in one field or another. Which words
//! of the town line are region and code goes by the marks people use: a comma, capitals, digits. Turned down: a list
//! of the world's towns.

use std::str::FromStr;

use crate::model::address::Country;
use crate::model::recipient::Recipient;

/// Street lines, then "Town, ST 12345" or "12345 Town", then a country on a line of its own where there is one;
/// `home` where there is none. All of it may stand on one line, parted by commas, and below the name once more.
pub(super) fn recipient(name: String, address: &[String], email: Option<String>, home: Country) -> Recipient {
    let mut lines = match address {
        [only] => parted(only),
        several => several.to_vec(),
    };
    let folded = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    if lines.len() > 2 && lines.first().is_some_and(|first| folded(first.trim_end_matches(',')) == folded(&name)) {
        lines.remove(0);
    }
    let last = lines.last().filter(|_| lines.len() > 2);
    let above = lines.len().checked_sub(2).and_then(|place| lines.get(place));
    let written = last.and_then(|last| Country::on_last_line(last, above.map_or("", String::as_str), home));
    // A line without figures below one with a postal code is a country, in whatever language; or, where it would be
    // one that the code can't be of, a region of the home's.
    let below_code = last.filter(|last| !has_digit(last) && above.is_some_and(|line| has_code(line)));
    let below_code = below_code.filter(|_| written.is_none()).cloned();
    if written.is_some() || below_code.is_some() {
        lines.pop();
    }
    let is_region = below_code.as_ref().is_some_and(|line| Country::from_str(line.trim_end_matches('.')).is_ok());
    let (own_region, unread) = if is_region { (below_code, None) } else { (None, below_code) };
    let country = written.unwrap_or(home);
    let (mut city, region, postal_code) = town(&lines.pop().unwrap_or_default(), country);
    let region = own_region.filter(|_| region.is_empty()).unwrap_or(region);
    // A code on a line of its own stands below its town.
    if city.is_empty() && region.is_empty() && lines.len() > 1 {
        city = lines.pop().unwrap_or_default();
    }
    let country = Some(country).filter(|_| unread.is_none());
    Recipient { name, company: None, lines, city, region, postal_code, country, country_as_written: unread, email }
}

/// Whether a line looks like a town with its postal code: four digits or more in a row, at its beginning or its end,
/// and words besides them.
fn has_code(line: &str) -> bool {
    let is_code = |word: &&str| word.len() >= 4 && word.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let words: Vec<&str> = line.split_whitespace().collect();
    words.len() > 1 && (words.first().is_some_and(is_code) || words.last().is_some_and(is_code))
}

/// An address on one line: each part between commas is a line, but for a region and code, which stay with their town.
fn parted(line: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in line.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let is_region = |word: &str| (2..=3).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_uppercase());
        let of_town = part.split_once(' ').is_some_and(|(region, code)| is_region(region) && has_digit(code));
        match parts.last_mut().filter(|_| of_town) {
            Some(town) => *town = format!("{town}, {part}"),
            None => parts.push(part.to_owned()),
        }
    }
    parts
}

fn has_digit(word: &str) -> bool {
    word.bytes().any(|b| b.is_ascii_digit())
}

/// Town, region and code of a line.
fn town(line: &str, country: Country) -> (String, String, String) {
    if let Some((city, rest)) = line.rsplit_once(',') {
        let words: Vec<&str> = rest.split_whitespace().collect();
        let split = words.iter().position(|word| has_digit(word)).unwrap_or(words.len());
        let (region, code) = words.split_at_checked(split).unwrap_or_default();
        return (city.trim().to_owned(), region.join(" "), code.join(" "));
    }
    let words: Vec<&str> = line.split_whitespace().collect();
    let is_capitals = |word: &&str| word.len() == 2 && word.bytes().all(|b| b.is_ascii_uppercase());
    let mut leading = words.iter().take_while(|word| has_digit(word)).count();
    // "1234 AB Town": two letters are the second half of a Dutch code (UPU addressing guide, NLD; from memory).
    if leading == 1 && country.code() == "NL" && words.get(1).is_some_and(is_capitals) {
        leading = 2;
    }
    if leading > 0 {
        let (code, city) = words.split_at_checked(leading).unwrap_or_default();
        return (city.join(" "), String::new(), code.join(" "));
    }
    let trailing = words.iter().position(|word| has_digit(word)).unwrap_or(words.len());
    let (mut city, code) = words.split_at_checked(trailing).unwrap_or_default();
    // "Eastmere ME 04999": countries whose region is two or three capitals before the code (libaddressinput formats
    // "%C %S %Z" of US, CA and AU).
    let mut region = "";
    if let ("US" | "CA" | "AU", [town @ .., last]) = (country.code(), city) {
        let is_region = (2..=3).contains(&last.len()) && last.bytes().all(|b| b.is_ascii_uppercase());
        if is_region && !town.is_empty() {
            (city, region) = (town, last);
        }
    }
    (city.join(" "), region.to_owned(), code.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(lines: &[&str]) -> Recipient {
        let lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        recipient("Ines".into(), &lines, None, "US".parse().unwrap())
    }

    #[test]
    fn town_lines_are_taken_apart_as_people_write_them() {
        for (lines, city, region, code, country) in [
            (&["88 Tern Street", "Gullhaven, OR 97099"][..], "Gullhaven", "OR", "97099", "US"),
            (&["88 Tern Street", "Gullhaven OR 97099-1234"], "Gullhaven", "OR", "97099-1234", "US"),
            (&["88 Tern Street", "New Gull Haven 97099"], "New Gull Haven", "", "97099", "US"),
            (&["1 Kai", "26999 Nebelhafen", "Germany"], "Nebelhafen", "", "26999", "DE"),
            (&["1 Kade", "1234 AB Nevelhaven", "NL"], "Nevelhaven", "", "1234 AB", "NL"),
            (&["1 Quay", "Fogport", "SA1 1AA", "United Kingdom"], "Fogport", "", "SA1 1AA", "GB"),
            (&["1 Quay", "Fogport SA1 1AA", "UK"], "Fogport", "", "SA1 1AA", "GB"),
            (&["1 Quay", "Fogport, ON K1A 0B1", "Canada"], "Fogport", "ON", "K1A 0B1", "CA"),
            (&["1 Quay", "Fogport"], "Fogport", "", "", "US"),
            (&["1 Quay", "Fogport 31999", "Georgia"], "Fogport", "Georgia", "31999", "US"),
            (&["1 Quay", "Fogport 04999", "Norway"], "Fogport", "Norway", "04999", "US"),
            (&["1 Quay", "0999 Fogport", "Norway"], "Fogport", "", "0999", "NO"),
        ] {
            let to = read(lines);
            assert_eq!(
                (to.city.as_str(), to.region.as_str(), to.postal_code.as_str(), to.country.map(Country::code)),
                (city, region, code, Some(country)),
                "{lines:?}"
            );
            assert_eq!(to.lines, [lines[0]], "{lines:?}");
        }
    }

    #[test]
    fn an_address_may_stand_on_one_line() {
        for (line, street, city, region, code, country) in [
            ("88 Tern Street, Gullhaven, OR 97099", "88 Tern Street", "Gullhaven", "OR", "97099", "US"),
            ("1 Kai, 26999 Nebelhafen, Germany", "1 Kai", "Nebelhafen", "", "26999", "DE"),
            ("1 Quay, Fogport, SA1 1AA, UK", "1 Quay", "Fogport", "", "SA1 1AA", "GB"),
            ("1 Quay, Fogport SA1 1AA, UK", "1 Quay", "Fogport", "", "SA1 1AA", "GB"),
        ] {
            let to = read(&[line]);
            assert_eq!(
                (to.city.as_str(), to.region.as_str(), to.postal_code.as_str(), to.country.map(Country::code)),
                (city, region, code, Some(country)),
                "{line}"
            );
            assert_eq!(to.lines, [street], "{line}");
        }
        assert_eq!(read(&["88 Tern Street, Apt 4, Gullhaven, OR 97099"]).lines, ["88 Tern Street", "Apt 4"]);
    }

    #[test]
    fn a_country_that_no_list_has_is_kept_as_written() {
        let to = read(&["1 Kai", "26999 Nebelhafen", "Deutschlant"]);
        assert_eq!((to.country, to.country_as_written.as_deref()), (None, Some("Deutschlant")));
        assert_eq!((to.city.as_str(), to.postal_code.as_str()), ("Nebelhafen", "26999"));
        let to = read(&["12 Main Street", "Unit 7", "Eastmere"]);
        assert_eq!((to.city.as_str(), to.country_as_written), ("Eastmere", None));
    }

    #[test]
    fn a_name_above_the_street_is_not_printed_twice() {
        assert_eq!(read(&["INES", "88 Tern Street", "Gullhaven, OR 97099"]).lines, ["88 Tern Street"]);
        assert_eq!(read(&["Ines", "Gullhaven, OR 97099"]).lines, ["Ines"]);
    }

    #[test]
    fn further_lines_are_street_lines() {
        assert_eq!(read(&["Harbour Club", "88 Tern Street", "Apt 4", "Gullhaven, OR 97099"]).lines.len(), 3);
    }
}
