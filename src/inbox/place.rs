//! Address lines as a person writes them to a recipient.
//!
//! Handed street, town and perhaps country lines; promises every word of them in one field or another. Which words
//! of the town line are region and code goes by the marks people use: a comma, capitals, digits. Turned down: a list
//! of the world's towns.

use std::str::FromStr;

use crate::model::address::Country;
use crate::model::recipient::Recipient;

/// Street lines, then "Town, ST 12345" or "12345 Town", then a country on a line of its own where there is one;
/// `home` where there is none.
pub(super) fn recipient(name: String, address: &[String], email: Option<String>, home: Country) -> Recipient {
    let mut lines = address.to_vec();
    // With two lines there is street and town at most.
    let written = lines.last().filter(|_| lines.len() > 2).and_then(|last| Country::from_str(last).ok());
    if written.is_some() {
        lines.pop();
    }
    let country = written.unwrap_or(home);
    let (mut city, region, postal_code) = town(&lines.pop().unwrap_or_default(), country);
    // A code on a line of its own stands below its town.
    if city.is_empty() && region.is_empty() && lines.len() > 1 {
        city = lines.pop().unwrap_or_default();
    }
    let country = Some(country);
    Recipient { name, company: None, lines, city, region, postal_code, country, country_as_written: None, email }
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
    fn further_lines_are_street_lines() {
        assert_eq!(read(&["Harbour Club", "88 Tern Street", "Apt 4", "Gullhaven, OR 97099"]).lines.len(), 3);
    }
}
