//! Questions that change nothing: how would this file be read, what would this parcel cost, what is this number.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use std::str::FromStr;

use anyhow::{Context, Result, bail};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::inbox::{self, folder};
use crate::model::address::Country;
use crate::model::length::{Length, Size};
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::plan::{postage, tracking};

use super::Desk;
use super::reading::{self, FileRead};

/// Reads files as the inbox would, and changes nothing.
///
/// # Errors
/// Where a file can't be opened at all.
pub fn read(desk: &Desk, files: &[PathBuf]) -> Result<Vec<FileRead>> {
    let rules = desk.read_rules();
    files
        .iter()
        .map(|path| {
            let size = fs::metadata(path).with_context(|| format!("`{}` can't be read", path.display()))?.len();
            if size > folder::MAX_DROP_BYTES {
                bail!("`{}` {}", path.display(), folder::LoadError::TooLarge { size });
            }
            let bytes = fs::read(path).with_context(|| format!("`{}` can't be read", path.display()))?;
            let name = path.file_name().map_or_else(|| path.display().to_string(), |name| name.display().to_string());
            Ok(reading::document(&name, &inbox::read(&name, &bytes, &rules)))
        })
        .collect()
}

/// What a quote is asked for.
#[derive(Clone, Debug, clap::Args)]
pub struct QuoteAsk {
    /// What the parcel weighs, such as 113g, 4oz, 0.3lb
    #[arg(long)]
    mass: Measure<Weight>,
    /// Its outside, such as 180x110x22mm or 7x4.5x0.75in
    #[arg(long)]
    size: Option<Measure<Size>>,
    /// What is in it: pins make it a parcel, paper may be a letter or flat
    #[arg(long, value_enum, default_value_t = Inside::Pins)]
    contents: Inside,
    /// Where it goes: COUNTRY or COUNTRY:POSTAL
    #[arg(long)]
    to: Destination,
    /// What it is worth, in the home's currency
    #[arg(long)]
    value: Option<Decimal>,
    /// The day of hand-off; else today
    #[arg(long)]
    on: Option<Date>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
enum Inside {
    Pins,
    Paper,
}

#[derive(Clone, Debug)]
struct Measure<T>(T);

impl FromStr for Measure<Weight> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (number, unit) = split_unit(text);
        let value: Decimal = number.parse().map_err(|_| format!("`{text}` is no mass; write 113g, 4oz or 0.3lb"))?;
        let unit = unit.parse().map_err(|error: crate::model::mass::UnknownUnit| error.to_string())?;
        if value <= Decimal::ZERO {
            return Err(format!("`{text}` weighs nothing; write what the scale shows"));
        }
        Ok(Self(Weight::new(value, unit)))
    }
}

impl FromStr for Measure<Size> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wrong = || format!("`{text}` is no size; write 180x110x22mm or 7x4.5x0.75in");
        let (numbers, unit) = split_unit(text);
        let length = |number: &str| -> Result<Length, String> {
            let value: Decimal = number.trim().parse().map_err(|_| wrong())?;
            match unit {
                "mm" => Ok(Length::from_mm(value)),
                "cm" => Ok(Length::from_mm(value * Decimal::TEN)),
                "in" => Ok(Length::from_inches(value)),
                _ => Err(wrong()),
            }
        };
        let sides: Vec<&str> = numbers.split('x').collect();
        let [a, b, thickness] = sides.as_slice() else { return Err(wrong()) };
        Ok(Self(Size::laid(length(a)?, length(b)?, length(thickness)?)))
    }
}

fn split_unit(text: &str) -> (&str, &str) {
    let text = text.trim();
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    (digits.trim_end(), text.get(digits.len()..).unwrap_or_default())
}

#[derive(Clone, Debug)]
struct Destination {
    country: Country,
    postal_code: String,
}

impl FromStr for Destination {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (country, postal_code) = text.split_once(':').unwrap_or((text, ""));
        let country = country.parse().map_err(|error: crate::model::address::UnknownCountry| error.to_string())?;
        Ok(Self { country, postal_code: postal_code.trim().to_owned() })
    }
}

/// What a parcel would cost, as `quote --json` tells it.
///
/// # Errors
/// None of its own; the home was checked when the desk was opened.
pub fn quote(desk: &Desk, ask: &QuoteAsk) -> Result<Value> {
    let home = &desk.home;
    let contains = BTreeSet::new();
    let mass = ask.mass.0.mass();
    // Without a size, that of the smallest mailer: the least a parcel of pins can be.
    let smallest = home.mailers.iter().min_by_key(|mailer| mailer.inner_width.mm() * mailer.inner_length.mm());
    let size =
        ask.size.as_ref().map(|size| size.0).or_else(|| {
            smallest.map(|mailer| Size::laid(mailer.inner_width, mailer.inner_length, mailer.max_thickness))
        });
    let size = size.context("mailers.csv is empty; give --size")?;
    let asked = postage::Ask {
        mass: crate::model::mass::Estimate { mean_g: mass.as_f64(), sd_g: 0.0 },
        size,
        pins: ask.contents == Inside::Pins,
        contains: &contains,
        to: ask.to.country,
        postal_code: &ask.to.postal_code,
        value: Money::new(ask.value.unwrap_or_default(), home.currency),
        day: ask.on.unwrap_or_else(|| desk.today()),
        declare_with: home.packing.declare_with,
    };
    let quote = postage::quote_exact(mass, &asked, &home.cards);
    let services: Vec<Value> = quote
        .offers
        .iter()
        .map(|offer| {
            json!({
                "carrier": offer.carrier, "service": offer.service, "lawful": offer.lawful,
                "price": offer.price.map(Money::plain),
                "tier": offer.tier.map(|tier| json!({"value": tier.value.to_string(), "unit": tier.unit})),
                "zone": offer.zone, "why": offer.why
            })
        })
        .collect();
    let chosen = quote.chosen.and_then(|index| quote.offers.get(index)).map(|offer| offer.service.as_str());
    Ok(json!({"chosen": chosen, "services": services}))
}

/// What tracking numbers are, as `identify --json` tells it.
#[must_use]
pub fn identify(numbers: &[String]) -> Value {
    let numbers: Vec<Value> = numbers
        .iter()
        .map(|given| {
            let found = tracking::identify(given);
            json!({"given": found.given, "kind": found.kind.map(tracking::Kind::word), "number": found.number,
                   "valid": found.valid, "fix": found.fix})
        })
        .collect();
    json!({"numbers": numbers})
}
