//! What a customs declaration says.

use serde::{Deserialize, Serialize};

use super::money::Money;

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
    /// Why it is sent.
    pub category: Category,
    /// Article by article.
    pub items: Vec<DeclaredItem>,
    /// Sum of the articles' net masses, g.
    pub net_g: f64,
    /// Sum of the articles' values.
    pub value: Money,
}
