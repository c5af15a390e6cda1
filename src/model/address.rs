//! Countries.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

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

/// Names that people write and the library lacks, without spaces and points; UK is reserved for it by ISO 3166-1.
const SHORT_NAMES: [(&str, &str); 6] = [
    ("UK", "GB"),
    ("Wales", "GB"),
    ("RepublicofIreland", "IE"),
    ("NorthMacedonia", "MK"),
    ("EastTimor", "TL"),
    ("Côted'Ivoire", "CI"),
];

impl FromStr for Country {
    type Err = UnknownCountry;

    /// Reads a two- or three-letter code, an English name or a common alias, in any case.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let word = text.trim();
        // The library also takes the three-digit codes; in a cell, a number is a mistake and no country.
        if word.is_empty() || word.bytes().all(|b| b.is_ascii_digit()) {
            return Err(UnknownCountry(text.to_owned()));
        }
        let joined: String = word.chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
        let short = SHORT_NAMES.iter().find(|(name, _)| name.eq_ignore_ascii_case(&joined));
        celes::Country::from_str(short.map_or(word, |(_, code)| code))
            .or_else(|_| celes::Country::from_str(&joined))
            .map(Self)
            .map_err(|_| UnknownCountry(text.to_owned()))
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
}
