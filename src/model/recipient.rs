//! One person at one address, as they wrote it.

use serde::{Deserialize, Serialize};

use super::address::Country;

/// One person at one address. Kept as it came, tidied only of control characters: what is printed is what they
/// wrote, and comparing is `plan::likeness`'s business.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Recipient {
    /// Whole name.
    pub name: String,
    /// Firm or club, where one is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub company: Option<String>,
    /// Street lines, without name, city and country.
    pub lines: Vec<String>,
    /// Town.
    pub city: String,
    /// State, province or region; empty where the country has none.
    pub region: String,
    /// Postal code; empty where the country has none.
    pub postal_code: String,
    /// Country as read, or `None` with `country_as_written` holding the word that no reading fits.
    pub country: Option<Country>,
    /// The word that stood for the country, where it could not be read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub country_as_written: Option<String>,
    /// For telling people apart and for carrier notices; never printed on a paper that travels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub email: Option<String>,
}
