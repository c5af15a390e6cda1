//! Reads the tables of `data/`, and rate cards as a home holds them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use dawnpack::home::{self, Home};
use dawnpack::model::catalogue::Contents;
use dawnpack::model::length::{Length, Size};
use dawnpack::model::mass::{Estimate, Mass};
use dawnpack::model::money::Money;
use dawnpack::model::rates::RateCard;
use dawnpack::model::rules::PostageRules;
use dawnpack::model::scale::Confidence;
use dawnpack::plan::postage::{Ask, Quote, quote_exact};
use jiff::civil::Date;
use rust_decimal::Decimal;

pub(super) type Row = BTreeMap<String, String>;

pub(super) fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/standards/data").join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The rows of a CSV, by column.
pub(super) fn table(name: &str) -> Vec<Row> {
    let text = text(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

pub(super) fn toml(name: &str) -> toml::Table {
    text(name).parse().unwrap()
}

/// A number of a TOML table, to its last digit.
pub(super) fn decimal(value: &toml::Value) -> Decimal {
    value.to_string().parse().unwrap_or_else(|_| panic!("{value} is no number"))
}

/// A service of `rates/*.toml`, as text.
pub(super) fn service(code: &str, shape: &str, to: &str, unit: &str, rest: &str, tiers: &[String]) -> String {
    let tiers = tiers.join(",\n  ");
    format!(
        "[[service]]\ncode = \"{code}\"\nshape = \"{shape}\"\nfrom = \"US\"\nto = {to}\nunit = \"{unit}\"\n{rest}\n\
         tiers = [\n  {tiers}\n]\n"
    )
}

/// The rate card of these services, read from a home's files as any seller's would be.
pub(super) fn card(carrier: &str, currency: &str, valid_from: Date, services: &[String]) -> RateCard {
    let dir = tempfile::tempdir().unwrap();
    let root = dir.path().join("home");
    home::write_new(&root).unwrap();
    for entry in fs::read_dir(root.join("rates")).unwrap() {
        fs::remove_file(entry.unwrap().path()).unwrap();
    }
    let config = fs::read_to_string(root.join("dawnpack.toml")).unwrap();
    fs::write(root.join("dawnpack.toml"), config.replace("\"USD\"", &format!("\"{currency}\""))).unwrap();
    // A zone chart is not part of a price table: here the first digit of the code stands for the zone.
    let zones: Vec<String> = (1..=9).map(|zone| format!("{zone},{zone}")).collect();
    fs::write(root.join("rates/zones.csv"), format!("prefix,zone\n{}\n", zones.join("\n"))).unwrap();
    let head = format!("carrier = \"{carrier}\"\ncurrency = \"{currency}\"\nvalid_from = {valid_from}\n\n");
    fs::write(root.join("rates/published.toml"), head + &services.join("\n")).unwrap();
    let home = Home::load(&root).unwrap_or_else(|faults| panic!("{faults}"));
    home.cards.into_iter().next().unwrap()
}

/// What is asked of a rate card, from where it is posted, with defaults for all that a table doesn't speak of.
pub(super) struct Question<'a> {
    pub(super) to: &'a str,
    pub(super) postal_code: String,
    pub(super) pins: bool,
    pub(super) size: Size,
    pub(super) day: Date,
}

impl Question<'_> {
    pub(super) fn quote(&self, mass: Mass, card: &RateCard) -> Quote {
        self.quote_worth(mass, card, Money::zero(card.currency), &PostageRules::NONE)
    }

    /// The same with goods of a value, under a seller's rules.
    pub(super) fn quote_worth(&self, mass: Mass, card: &RateCard, value: Money, rules: &PostageRules) -> Quote {
        let none: BTreeSet<Contents> = BTreeSet::new();
        let ask = Ask {
            mass: Estimate { mean_g: 0.0, sd_g: 0.0 },
            size: self.size,
            pins: self.pins,
            contains: &none,
            from: card.services[0].from,
            to: self.to.parse().unwrap(),
            postal_code: &self.postal_code,
            value,
            day: self.day,
            declare_with: Confidence::USUAL,
            rules,
        };
        quote_exact(mass, &ask, std::slice::from_ref(card))
    }

    /// The price of one service, where it is lawful.
    pub(super) fn price(&self, mass: Mass, card: &RateCard, service: &str) -> Option<Decimal> {
        let quote = self.quote(mass, card);
        let offer = quote.offers.iter().find(|offer| offer.service == service).unwrap();
        offer.price.filter(|_| offer.lawful).map(|price| price.amount)
    }
}

pub(super) fn inches(a: Decimal, b: Decimal, thickness: Decimal) -> Size {
    Size::laid(Length::from_inches(a), Length::from_inches(b), Length::from_inches(thickness))
}

pub(super) fn mm(a: Decimal, b: Decimal, thickness: Decimal) -> Size {
    Size::laid(Length::from_mm(a), Length::from_mm(b), Length::from_mm(thickness))
}
