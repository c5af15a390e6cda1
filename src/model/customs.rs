//! What a customs declaration says, in the order of the UPU's forms CN 22 and CN 23.

use serde::{Deserialize, Serialize};

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
    /// Harmonized System heading.
    pub hs_code: Option<String>,
    /// Country of origin, two letters.
    pub origin: Option<String>,
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
