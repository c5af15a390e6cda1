//! What a customs declaration says, in the order of the UPU's forms CN 22 and CN 23.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::address::Country;
use super::money::Money;

/// Which of the UPU's forms the parcel needs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// The smaller: a sticker on the parcel.
    Cn22,
    /// The larger: sheets in a pouch, taken wherever the smaller is. What is recorded without a form counts as it.
    #[default]
    Cn23,
}

impl Form {
    /// The word of `manifest.json` and of rate cards.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cn22 => "cn22",
            Self::Cn23 => "cn23",
        }
    }

    /// As the form is titled.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Cn22 => "CN 22",
            Self::Cn23 => "CN 23",
        }
    }
}

/// A subheading of the Harmonized System, digits only: six that all countries share (World Customs Organization, "What is
/// the Harmonized System (HS)?": a six-digit code system), and up to six more that one country adds. Fewer than six name a
/// whole chapter or heading, which no declaration takes.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct HsCode(String);

impl HsCode {
    /// The digits.
    #[must_use]
    pub fn digits(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for HsCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A word that is no subheading.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is no subheading of the Harmonized System; write 6 to 12 digits, such as 711719")]
pub struct NoHsCode(pub String);

impl FromStr for HsCode {
    type Err = NoHsCode;

    /// Points and spaces between the digits only help the eye.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digits: String = text.chars().filter(|c| !matches!(c, '.' | ' ')).collect();
        let fits = (6..=12).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
        if fits { Ok(Self(digits)) } else { Err(NoHsCode(text.to_owned())) }
    }
}

impl TryFrom<String> for HsCode {
    type Error = NoHsCode;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<HsCode> for String {
    fn from(code: HsCode) -> Self {
        code.0
    }
}

/// The reason for sending, in the words of the UPU's form CN 22.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Category {
    /// Something was sold. Never "gift", whoever it is for.
    SaleOfGoods,
    /// Something is swapped: goods for goods, "other" on the form.
    Other,
}

/// One article of a declaration.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct DeclaredItem {
    /// Detailed description.
    pub description: String,
    /// How many.
    pub quantity: u32,
    /// Net mass of all of them, g.
    pub net_g: f64,
    /// Value of all of them.
    pub value: Money,
    /// Harmonized System subheading.
    pub hs_code: Option<HsCode>,
    /// Country of origin.
    pub origin: Option<Country>,
}

/// All that a parcel abroad declares.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Declaration {
    /// Which form it is to be written on.
    #[serde(default)]
    pub form: Form,
    /// Why that form, in one line.
    #[serde(default)]
    pub form_why: String,
    /// Why it is sent.
    pub category: Category,
    /// What the form asks for beside "other", and for what a sale's parcel holds besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explanation: Option<String>,
    /// Article by article.
    pub items: Vec<DeclaredItem>,
    /// Sum of the articles' net masses, g.
    pub net_g: f64,
    /// Sum of the articles' values.
    pub value: Money,
    /// Expected mass of the sealed parcel, g: CN 23 asks for it beside the net mass. The scale's reading is the truth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gross_g: Option<f64>,
    /// Postage and what is bought with it, which CN 23 asks for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postal_charges: Option<Money>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fewer digits than six are a chapter (71) or a heading (7117) of the nomenclature.
    #[test]
    fn a_subheading_has_six_digits_or_more() {
        for (text, digits) in [("711719", "711719"), ("7117.19.9000", "7117199000"), ("71 17 19", "711719")] {
            assert_eq!(text.parse::<HsCode>().map(String::from).as_deref(), Ok(digits));
        }
        for text in ["", "7117", "71.17", "7117-19", "71171", "1234567890123", "pins"] {
            assert_eq!(text.parse::<HsCode>(), Err(NoHsCode(text.to_owned())));
        }
        let code: HsCode = "711719".parse().unwrap();
        assert_eq!(serde_json::to_string(&code).unwrap(), "\"711719\"");
    }
}
