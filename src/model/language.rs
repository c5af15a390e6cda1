//! The languages that papers which travel are written in.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A language of the papers that go into parcels; a code of ISO 639-1.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// German.
    De,
    /// English.
    En,
    /// Spanish.
    Es,
    /// French.
    Fr,
    /// Japanese.
    Ja,
}

impl Language {
    /// All of them, by code.
    pub const ALL: [Self; 5] = [Self::De, Self::En, Self::Es, Self::Fr, Self::Ja];

    /// Its code.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::De => "de",
            Self::En => "en",
            Self::Es => "es",
            Self::Fr => "fr",
            Self::Ja => "ja",
        }
    }

    /// Its English name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::De => "German",
            Self::En => "English",
            Self::Es => "Spanish",
            Self::Fr => "French",
            Self::Ja => "Japanese",
        }
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// No code of [`Language`].
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is no language that papers are written in; write de, en, es, fr or ja")]
pub struct UnknownLanguage(pub String);

impl FromStr for Language {
    type Err = UnknownLanguage;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL.into_iter().find(|language| language.code() == text).ok_or_else(|| UnknownLanguage(text.to_owned()))
    }
}
