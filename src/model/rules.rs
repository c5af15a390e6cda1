//! The seller's own rules, as checked from `dawnpack.toml`.

use jiff::civil::Date;
use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};

use super::address::Country;
use super::language::Language;
use super::length::Length;
use super::money::Money;
use super::scale::{Confidence, Sheet};

/// `[seller]`: who sends.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Seller {
    /// Name as printed.
    pub name: String,
    /// Address lines as printed, without the country.
    pub address: Vec<String>,
    /// Where parcels are posted.
    pub country: Country,
    /// Sender of the morning email.
    pub email: String,
    /// Tax number printed on invoices, where there is one.
    pub tax_id: Option<String>,
    /// What invoices say of tax.
    #[serde(default)]
    pub tax: SellerTax,
    /// The language of all papers that travel; `None` for the recipient's.
    #[serde(default)]
    pub language: Option<Language>,
}

/// `[seller.tax]`: what invoices say of tax. It is the seller's own statement: nothing is derived from it, and the
/// amounts of tax are those that an order states.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct SellerTax {
    /// How sales are taxed.
    pub scheme: TaxScheme,
    /// Number for value added tax (Directive 2006/112/EC, article 226, point 3).
    pub vat_id: Option<String>,
    /// The sentence that an exemption needs (article 226, point 11), as the seller's law words it.
    pub exemption: Option<String>,
    /// The one rate of the seller's goods, per cent (point 9); printed where an order's tax agrees with it.
    pub rate: Option<Decimal>,
    /// Tax falls due when the buyer pays (point 7a).
    pub cash_accounting: bool,
}

/// `scheme`: how the seller's sales are taxed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TaxScheme {
    /// Nothing but what an order states.
    #[default]
    None,
    /// Exempt as a small business: no tax is charged, and invoices say why.
    SmallBusiness,
    /// Value added tax is charged.
    Vat,
}

/// `combine`: which orders may share a parcel.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Combine {
    /// All that goes to one recipient.
    SameRecipient,
    /// Every order and trade for itself.
    Never,
}

/// `[packing]`: how the seller wraps.
#[derive(Clone, PartialEq, Debug)]
pub struct PackingRules {
    /// Shares a roll holds at most.
    pub pins_per_roll: Decimal,
    /// Turns of wrap round a roll, after the double layer over the face.
    pub turns: u32,
    /// Thickness of one layer of wrap.
    pub wrap_layer: Length,
    /// Mass of wrap by area, g/m² (ISO 536 defines grammage so).
    pub wrap_g_per_m2: f64,
    /// How far the wrap reaches beyond every edge of a card.
    pub card_overhang: Length,
    /// Which orders share a parcel.
    pub combine: Combine,
    /// The sheet that papers inside are printed on.
    pub sheet: Sheet,
    /// How often the declared weight must hold before a parcel is weighed.
    pub declare_with: Confidence,
}

impl PackingRules {
    /// Turns that a strip may make; nobody rolls more, and its length is reckoned turn by turn.
    pub const MOST_TURNS: u32 = 20;

    /// Where the seller says nothing. Common practice, no source.
    pub const USUAL: Self = Self {
        pins_per_roll: dec!(5),
        turns: 2,
        wrap_layer: Length::from_mm(dec!(4)),
        wrap_g_per_m2: 60.0,
        card_overhang: Length::from_mm(dec!(25)),
        combine: Combine::SameRecipient,
        sheet: Sheet::A4,
        declare_with: Confidence::USUAL,
    };
}

/// `[postage]`: what the seller asks of a service beyond the lowest price. `None`: nothing.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PostageRules {
    /// Parcels worth more go tracked.
    pub tracked_above: Option<Money>,
    /// Parcels worth more go against a signature.
    pub signature_above: Option<Money>,
    /// Parcels worth more are insured for their whole value.
    pub insure_above: Option<Money>,
    /// Delivery days that a service within the seller's own country may take.
    pub max_days: Option<u32>,
    /// What a special drawing right is worth, for the limit between the customs forms.
    pub sdr: Option<SdrRate>,
}

impl PostageRules {
    /// The lowest price, and nothing else.
    pub const NONE: Self =
        Self { tracked_above: None, signature_above: None, insure_above: None, max_days: None, sdr: None };
}

/// The value of one special drawing right (International Monetary Fund), which moves daily.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SdrRate {
    /// One right, in the home's currency; above zero.
    pub one: Money,
    /// The day it was looked up.
    pub on: Date,
}
