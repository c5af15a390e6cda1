//! What `quote` and `identify` tell, as types: one report for a program and for a person.
//!
//! Promises the documents of `quote --json` and `identify --json`, whose keys stand in the order of the alphabet, so do
//! the fields here. Turned down: a JSON value, out of which whoever prints it for a person would have to read numbers
//! again.

use jiff::civil::Date;
use serde::{Serialize, Serializer};

use crate::model::mass::{MassUnit, Weight};
use crate::model::money::Money;
use crate::plan::{postage, tracking};

/// What a parcel would cost.
#[derive(Clone, Debug, Serialize)]
pub struct Quoted {
    /// What a later rate card brings.
    pub ahead: Option<Ahead>,
    /// What was asked.
    pub asked: Asked,
    /// Code of the service chosen.
    pub chosen: Option<String>,
    /// Its carrier: two may have a service of one code.
    pub chosen_carrier: Option<String>,
    /// Every service of the rate cards in force.
    pub services: Vec<Service>,
}

impl Quoted {
    /// Whether this service is the one chosen.
    #[must_use]
    pub fn is_chosen(&self, service: &Service) -> bool {
        service.lawful
            && self.chosen.as_ref() == Some(&service.service)
            && self.chosen_carrier.as_ref() == Some(&service.carrier)
    }
}

/// What a later rate card brings for the service chosen.
#[derive(Clone, Debug, Serialize)]
pub struct Ahead {
    /// From when on, where it is another price.
    pub from: Option<Date>,
    /// The price then, likewise.
    #[serde(serialize_with = "plain")]
    pub price: Option<Money>,
    /// In a sentence.
    pub text: String,
}

/// What a quote was asked for.
#[derive(Clone, Debug, Serialize)]
pub struct Asked {
    /// ISO 4217.
    pub currency: &'static str,
    /// What is in it that needs care.
    pub holds: Vec<&'static str>,
    /// The mass, with its unit.
    pub mass: String,
    /// Day of hand-off.
    pub on: Date,
    /// Where it goes, within the country.
    pub postal_code: String,
    /// Length, width and thickness in millimetres.
    pub size_mm: [String; 3],
    /// The mailer whose size that is, where none was given.
    pub size_of: Option<String>,
    /// The country it goes to.
    pub to: &'static str,
    /// What it is worth; zero where that was not said.
    #[serde(serialize_with = "plainly")]
    pub value: Money,
}

/// What one service says.
#[derive(Clone, Debug, Serialize)]
pub struct Service {
    /// The tier's own part of the price.
    #[serde(serialize_with = "plain")]
    pub base: Option<Money>,
    /// What the price holds besides.
    pub bought: Vec<Bought>,
    /// Carrier.
    pub carrier: String,
    /// Delivery days promised at most.
    pub days: Option<u32>,
    /// Whether the parcel may go by it.
    pub lawful: bool,
    /// Price in all.
    #[serde(serialize_with = "plain")]
    pub price: Option<Money>,
    /// Service code.
    pub service: String,
    /// The tier's top.
    pub tier: Option<Tier>,
    /// Service title.
    pub title: String,
    /// Carries a tracking number.
    pub tracked: bool,
    /// Why this price, or why not lawful.
    pub why: Vec<String>,
    /// Zone, where prices have zones.
    pub zone: Option<String>,
}

/// Something paid on top.
#[derive(Clone, Debug, Serialize)]
pub struct Bought {
    /// The rate card's code.
    pub code: String,
    /// What it costs.
    #[serde(serialize_with = "plainly")]
    pub price: Money,
    /// Of insurance, the band's upper edge.
    #[serde(serialize_with = "plain")]
    pub up_to: Option<Money>,
    /// What sort of thing.
    pub what: &'static str,
}

/// The top of a tier.
#[derive(Clone, Debug, Serialize)]
pub struct Tier {
    /// In which unit.
    pub unit: MassUnit,
    /// How many of it.
    pub value: String,
}

impl From<Weight> for Tier {
    fn from(weight: Weight) -> Self {
        Self { unit: weight.unit, value: weight.value.to_string() }
    }
}

impl From<postage::Offer> for Service {
    fn from(offer: postage::Offer) -> Self {
        let bought = offer.bought.into_iter().map(|bought| Bought {
            code: bought.code,
            price: bought.price,
            up_to: bought.up_to,
            what: bought.what.word(),
        });
        Self {
            base: offer.base,
            bought: bought.collect(),
            carrier: offer.carrier,
            days: offer.days,
            lawful: offer.lawful,
            price: offer.price,
            service: offer.service,
            tier: offer.tier.map(Tier::from),
            title: offer.title,
            tracked: offer.tracked,
            why: offer.why,
            zone: offer.zone,
        }
    }
}

/// What tracking numbers are.
#[derive(Clone, Debug, Serialize)]
pub struct Numbers {
    /// In the order given.
    pub numbers: Vec<Number>,
}

/// What one number is.
#[derive(Clone, Debug, Serialize)]
pub struct Number {
    /// Its check digit alone holds.
    pub check_digit: bool,
    /// The one number that a single slip would explain.
    pub fix: Option<String>,
    /// As given.
    pub given: String,
    /// `upu-s10` or `us-package`.
    pub kind: Option<&'static str>,
    /// In a few words.
    pub meaning: String,
    /// Without what scanners and people put around it.
    pub number: String,
    /// Whether it holds.
    pub valid: bool,
}

impl From<tracking::Identified> for Number {
    fn from(found: tracking::Identified) -> Self {
        Self {
            check_digit: found.check_digit,
            meaning: found.meaning(),
            fix: found.fix,
            given: found.given,
            kind: found.kind.map(tracking::Kind::word),
            number: found.number,
            valid: found.valid,
        }
    }
}

/// Amounts are decimal strings in JSON; what they are of is said once.
fn plainly<S: Serializer>(money: &Money, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&money.plain())
}

#[expect(clippy::ref_option, reason = "serde hands it over like that")]
fn plain<S: Serializer>(money: &Option<Money>, to: S) -> Result<S::Ok, S::Error> {
    money.map(Money::plain).serialize(to)
}
