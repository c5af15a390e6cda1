//! A carrier's dated price table and its conditions.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::address::Country;
use super::catalogue::Contents;
use super::length::Length;
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
    /// Extras that can be bought with it.
    pub extras: Vec<Extra>,
    /// Insurance bands, by rising edge.
    pub insurance: Vec<InsuranceBand>,
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
    /// Greatest thickness.
    pub max_thickness: Option<Length>,
    /// Greatest length plus twice width and thickness.
    pub max_length_plus_girth: Option<Length>,
    /// Greatest length plus width plus thickness.
    pub max_sum: Option<Length>,
    /// Heaviest, in any unit.
    pub max_mass: Option<Mass>,
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
}
