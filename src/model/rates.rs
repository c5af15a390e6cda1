//! A carrier's dated price table and its conditions.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::address::Country;
use super::catalogue::Contents;
use super::customs::Form;
use super::length::{Length, Volume};
use super::mass::{Mass, Weight};
use super::money::{Currency, Money};

/// One `rates/*.toml`: what a carrier asks from a day on.
#[derive(Clone, PartialEq, Debug)]
pub struct RateCard {
    /// File name, for messages.
    pub file: String,
    /// Carrier's name.
    pub carrier: String,
    /// What prices are in.
    pub currency: Currency,
    /// First day it holds; the latest card of a carrier not after the day of hand-off holds.
    pub valid_from: Date,
    /// Services in the order of the file.
    pub services: Vec<Service>,
}

/// The processing category of a mailpiece.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Shape {
    /// Thin, flexible, uniform.
    Letter,
    /// Larger, flexible, uniform.
    Flat,
    /// Everything else; pins are always here.
    Parcel,
}

/// One service of a carrier.
#[derive(Clone, PartialEq, Debug)]
pub struct Service {
    /// The key within the card.
    pub code: String,
    /// Title as printed.
    pub title: String,
    /// Which shape it is for.
    pub shape: Shape,
    /// Where it is posted.
    pub from: Country,
    /// Where it goes.
    pub to: Destinations,
    /// Carries a tracking number.
    pub tracked: bool,
    /// Delivery days promised at most, where the card says.
    pub days: Option<u32>,
    /// Tiers, by rising edge.
    pub tiers: Vec<Tier>,
    /// Zone by longest matching postal prefix; empty where prices have no zones.
    pub zones: BTreeMap<String, String>,
    /// Size and mass limits.
    pub limits: Limits,
    /// Contents it doesn't carry.
    pub refuses: BTreeSet<Contents>,
    /// What is charged on top of the tier's price, wherever its conditions hold.
    pub surcharges: Vec<Surcharge>,
    /// Extras that can be bought with it.
    pub extras: Vec<Extra>,
    /// Insurance bands, by rising edge.
    pub insurance: Vec<InsuranceBand>,
    /// The customs form that the service asks for whatever the value.
    pub declaration: Option<Form>,
}

/// Countries a service goes to.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Destinations {
    /// Named countries.
    pub named: BTreeSet<Country>,
    /// `"*"`: every country that no other service of the card names.
    pub elsewhere: bool,
}

/// A price step: everything heavier than the edge below it, up to and including its own.
#[derive(Clone, PartialEq, Debug)]
pub struct Tier {
    /// Upper edge, inclusive, exact.
    pub up_to: Weight,
    /// Largest box, where the price goes by volume, inclusive.
    pub up_to_volume: Option<Volume>,
    /// What it costs.
    pub price: Price,
}

/// One price, or one for each zone.
#[derive(Clone, PartialEq, Debug)]
pub enum Price {
    /// The same everywhere.
    Flat(Money),
    /// By zone name.
    ByZone(BTreeMap<String, Money>),
}

/// Limits of a service; `None` where the card says nothing.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Limits {
    /// Shortest longest side.
    pub min_length: Option<Length>,
    /// Longest longest side.
    pub max_length: Option<Length>,
    /// Shortest middle side.
    pub min_width: Option<Length>,
    /// Longest middle side.
    pub max_width: Option<Length>,
    /// Least thickness.
    pub min_thickness: Option<Length>,
    /// Greatest thickness.
    pub max_thickness: Option<Length>,
    /// Greatest length plus twice width and thickness.
    pub max_length_plus_girth: Option<Length>,
    /// Greatest length plus width plus thickness.
    pub max_sum: Option<Length>,
    /// Heaviest, in any unit.
    pub max_mass: Option<Mass>,
    /// Dearest contents that it carries.
    pub max_value: Option<Money>,
}

/// Charged on top, unasked. Of several of one code only the first that applies is charged.
#[derive(Clone, PartialEq, Debug)]
pub struct Surcharge {
    /// The key, such as `nonmachinable`.
    pub code: String,
    /// What it costs.
    pub price: Money,
    /// When.
    pub when: When,
}

/// Conditions of a surcharge: all that are set must hold. None set: always.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct When {
    /// Longest side above this.
    pub over_length: Option<Length>,
    /// Middle side above this.
    pub over_width: Option<Length>,
    /// Shortest side above this.
    pub over_thickness: Option<Length>,
    /// Length plus girth above this.
    pub over_length_plus_girth: Option<Length>,
    /// Volume above this.
    pub over_volume: Option<Volume>,
    /// Mass above this.
    pub over_mass: Option<Mass>,
    /// Length by width below this.
    pub ratio_under: Option<Decimal>,
    /// Length by width above this.
    pub ratio_over: Option<Decimal>,
    /// Any of these is in it.
    pub contains: BTreeSet<Contents>,
    /// The postal code begins with any of these.
    pub prefixes: BTreeSet<String>,
    /// It goes to any of these.
    pub countries: BTreeSet<Country>,
    /// Handed over on this day or later.
    pub from: Option<Date>,
    /// Handed over on this day or earlier.
    pub to: Option<Date>,
}

/// Something bought on top.
#[derive(Clone, PartialEq, Debug)]
pub struct Extra {
    /// The key, such as `signature`.
    pub code: String,
    /// What it costs.
    pub price: Money,
    /// Bought without asking when the parcel's value is above this.
    pub above_value: Option<Money>,
}

/// Insurance up to a value.
#[derive(Clone, PartialEq, Debug)]
pub struct InsuranceBand {
    /// Value covered, inclusive.
    pub up_to: Money,
    /// What it costs.
    pub price: Money,
    /// Within it, what each started step above the band before costs more.
    pub steps: Option<Step>,
}

/// "1.50 for each further 100 or part of it".
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Step {
    /// The further value, above zero.
    pub each: Money,
    /// What one costs.
    pub price: Money,
}
