//! Countries.
//!
//! Handed a word of an export or of an address; promises the one country of ISO 3166-1 that it names, or none. Turned
//! down: the nearest name, which makes Niger of a mistyped Nigeria.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

mod line;
mod names;

/// An ISO 3166-1 country.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Country(celes::Country);

impl Country {
    /// The two-letter code, upper case.
    #[must_use]
    #[expect(clippy::misnamed_getters, reason = "the library's own `code` is the three-digit number")]
    pub fn code(self) -> &'static str {
        self.0.alpha2
    }

    /// The English short name of the standard.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.0.long_name
    }

    /// All of them.
    fn all() -> impl Iterator<Item = Self> {
        celes::Country::get_countries().into_iter().map(Self)
    }
}

impl fmt::Debug for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// A word that is no country.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a country of ISO 3166-1; write its two-letter code, such as US or DE")]
pub struct UnknownCountry(pub String);

impl FromStr for Country {
    type Err = UnknownCountry;

    /// Reads a two- or three-letter code, the code of three digits, or a name in English, German, French, Spanish,
    /// Dutch, Italian, Polish, Portuguese, Japanese or the country's own languages, in any case, with or without
    /// accents. A name that several countries answer to is none; so is a number of other than three digits.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let word: String = text.trim().chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
        let by_code = match word.len() {
            2 => celes::Country::from_alpha2(&word).ok(),
            3 if word.bytes().all(|b| b.is_ascii_digit()) => {
                word.parse().ok().and_then(|number| celes::Country::from_value(number).ok())
            }
            3 => celes::Country::from_alpha3(&word).ok(),
            _ => None,
        };
        by_code.map(Self).or_else(|| names::named(text)).ok_or_else(|| UnknownCountry(text.to_owned()))
    }
}

impl TryFrom<String> for Country {
    type Error = UnknownCountry;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Country> for String {
    fn from(country: Country) -> Self {
        country.code().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(word: &str) -> Option<&'static str> {
        word.parse().ok().map(Country::code)
    }

    #[test]
    fn codes_and_names_are_read_in_any_case() {
        for word in ["de", "DEU", "Germany", "germany "] {
            assert_eq!(word.parse::<Country>().unwrap().code(), "DE", "{word}");
        }
        for (word, code) in [("UK", "GB"), ("u.k.", "GB"), ("U.S.A.", "US"), ("North Macedonia", "MK"), ("Wales", "GB")]
        {
            assert_eq!(word.parse::<Country>().unwrap().code(), code, "{word}");
        }
        assert_eq!("United Kingdom".parse::<Country>().unwrap().code(), "GB");
        assert_eq!("Atlantis".parse::<Country>(), Err(UnknownCountry("Atlantis".into())));
    }

    #[test]
    fn what_several_countries_answer_to_is_none_of_them() {
        for word in [
            "Congo",
            "Korea",
            "Virgin Islands",
            "Saint Martin",
            "84",
            "4",
            "0840",
            "000",
            "999",
            "",
            "Eastmere",
            "A",
            "Nigeri",
        ] {
            assert_eq!(code(word), None, "{word}");
        }
        let near = [("Niger", "NE"), ("Nigeria", "NG"), ("Guinea", "GN"), ("Guinea-Bissau", "GW"), ("Dominica", "DM")];
        for (word, expected) in near {
            assert_eq!(code(word), Some(expected), "{word}");
        }
        for (word, expected) in [("Samoa", "WS"), ("American Samoa", "AS"), ("DR Congo", "CD"), ("Jersey", "JE")] {
            assert_eq!(code(word), Some(expected), "{word}");
        }
    }

    #[test]
    fn every_country_answers_to_its_codes_and_to_its_own_name() {
        for country in Country::all() {
            assert_eq!(code(country.code()), Some(country.code()));
            assert_eq!(code(&country.code().to_lowercase()), Some(country.code()));
            assert_eq!(code(country.0.alpha3), Some(country.code()));
            assert_eq!(code(country.name()), Some(country.code()), "{}", country.name());
        }
    }
}
