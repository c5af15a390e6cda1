//! Countries at the foot of an address.
//!
//! Handed the last line of an address, the line above it and the home's country; promises the country that the line
//! names, and none where it is as well a region or town of the home's. Turned down: reading any name of a country as
//! one, which sends a parcel for Georgia, by Alabama, to the Caucasus.

use super::super::postal::{self, Fit};
use super::Country;

/// Letters that are a region of the country and the code of another one (Publication 28 of the USPS, appendix B, and
/// ISO 3166-2 for Canada and Australia; from memory).
const REGIONS: [(&str, &[&str]); 3] = [
    (
        "US",
        &[
            "AL", "AR", "AZ", "CA", "CO", "DE", "GA", "ID", "IL", "IN", "KY", "LA", "MA", "MD", "ME", "MN", "MO", "MS",
            "MT", "NC", "NE", "PA", "SC", "SD", "TN", "VA",
        ],
    ),
    ("CA", &["NL", "NU", "PE", "SK", "YT"]),
    ("AU", &["SA"]),
];

impl Country {
    /// The country that the last line of an address names, below a line that has the town and perhaps its code. Where
    /// the code is one of the home's and can't be one of the country's, the line names a place of the home's.
    #[must_use]
    pub fn on_last_line(last: &str, above: &str, home: Self) -> Option<Self> {
        // Three digits are a code in a column; on an address they are anything else.
        let named: Self = Some(last)
            .filter(|last| last.contains(char::is_alphabetic))?
            .trim()
            .trim_end_matches(['.', ','])
            .parse()
            .ok()?;
        if named == home {
            return Some(named);
        }
        let is_region = is_region(last, home);
        match (fit(above, named), fit(above, home)) {
            // With the code first, the line is of no country that writes its regions in letters.
            (Fit::Yes, Fit::Yes) if is_region => Some(named).filter(|_| begins_with_code(above)),
            (Fit::Yes, _) => Some(named),
            (Fit::No, Fit::Yes) => None,
            (Fit::No | Fit::NoPattern, _) => Some(named).filter(|_| !is_region),
        }
    }
}

/// Whether a line is as well a region of the home's.
fn is_region(line: &str, home: Country) -> bool {
    let letters: String = line.chars().filter(|c| c.is_alphabetic()).collect::<String>().to_uppercase();
    let known = REGIONS.iter().find(|(country, _)| *country == home.code());
    known.is_some_and(|(_, regions)| regions.contains(&letters.as_str()))
        || (home.code() == "US" && letters == "GEORGIA")
}

fn begins_with_code(line: &str) -> bool {
    line.trim_start().starts_with(|c: char| c.is_ascii_digit())
}

/// Whether one or two words at either end of a line are a code of the country.
fn fit(line: &str, country: Country) -> Fit {
    let words: Vec<&str> = line.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let ends = [1, 2]
        .into_iter()
        .flat_map(|count| [words.get(..count), words.len().checked_sub(count).and_then(|from| words.get(from..))]);
    let with_digit =
        ends.flatten().map(|words| words.join(" ")).filter(|code| code.contains(|c: char| c.is_ascii_digit()));
    let fits: Vec<Fit> = with_digit.map(|code| postal::fits(country, &code)).collect();
    match fits.as_slice() {
        [] => Fit::No,
        some if some.contains(&Fit::Yes) => Fit::Yes,
        [first, ..] => *first,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_code_above_tells_a_country_from_a_place_of_the_homes() {
        for (above, last, home, country) in [
            ("26999 Nebelhafen", "Germany", "US", Some("DE")),
            ("26999 Nebelhafen", "DE", "US", Some("DE")),
            ("1234 AB Nevelhaven", "Niederlande", "DE", Some("NL")),
            ("Fogport SA1 1AA", "UK", "US", Some("GB")),
            ("Fogport, ON K1A 0B1", "Canada.", "US", Some("CA")),
            ("0101 Fogport", "Georgia", "US", Some("GE")),
            ("Eastmere, ME 04999", "USA", "US", Some("US")),
            ("Fogport", "Portugal", "US", Some("PT")),
            ("Fogport", "IE", "US", Some("IE")),
            ("Fogport JE1 1AA", "Jersey", "GB", Some("JE")),
            ("Dubai", "United Arab Emirates", "US", Some("AE")),
            // Places of the home's.
            ("Fogport 30301", "Georgia", "US", None),
            ("Fogport", "Georgia", "US", None),
            ("Fogport 04268", "Norway", "US", None),
            ("Eastmere", "ME", "US", None),
            ("Fogport 19901", "DE", "US", None),
            ("Fogport SA1 1AA", "Jersey", "GB", None),
            ("Fogport", "NL", "CA", None),
            // No country at all.
            ("88 Tern Street", "Gullhaven", "US", None),
            ("88 Tern Street", "276", "US", None),
            ("", "", "US", None),
        ] {
            let read = Country::on_last_line(last, above, home.parse().unwrap());
            assert_eq!(read.map(Country::code), country, "{above} / {last}");
        }
    }
}
