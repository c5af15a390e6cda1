//! What would this parcel cost: every service of the rate cards, lawful or why not.

use std::collections::BTreeSet;
use std::str::FromStr;

use anyhow::{Context, Result};
use rust_decimal::Decimal;

use crate::model::address::Country;
use crate::model::bound::Bound;
use crate::model::catalogue::Contents;
use crate::model::length::{Length, Size};
use crate::model::mass::{Estimate, Weight};
use crate::model::money::Money;
use crate::plan::postage;

use super::Desk;
use super::day::{self, Day};
use super::quoted::{Ahead, Asked, Quoted, Service};

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
    /// Something in it that needs care, which services may refuse or charge for
    #[arg(long, value_name = "THING")]
    holds: Vec<Care>,
    /// Where it goes: COUNTRY or COUNTRY:POSTAL
    #[arg(long)]
    to: Destination,
    /// What it is worth, in the home's currency
    #[arg(long)]
    value: Option<Worth>,
    /// The day of hand-off; else today
    #[arg(long, value_name = "DAY")]
    on: Option<Day>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
enum Inside {
    Pins,
    Paper,
}

/// Contents that carriers ask about.
#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
enum Care {
    ButtonCell,
    Magnet,
}

impl From<Care> for Contents {
    fn from(care: Care) -> Self {
        match care {
            Care::ButtonCell => Self::ButtonCell,
            Care::Magnet => Self::Magnet,
        }
    }
}

#[derive(Clone, Debug)]
struct Measure<T>(T);

impl FromStr for Measure<Weight> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let after = text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |last| last + 1);
        let (number, unit) = text.split_at_checked(after).unwrap_or((text, ""));
        let value: Decimal =
            number.trim().parse().map_err(|_| format!("`{text}` is no mass; write 113g, 4oz or 0.3lb"))?;
        if unit.trim().is_empty() {
            return Err(format!("`{text}` has no unit; write 113g, 4oz or 0.3lb"));
        }
        let unit = unit.trim().parse().map_err(|error: crate::model::mass::UnknownUnit| error.to_string())?;
        if value <= Decimal::ZERO {
            return Err(format!("`{text}` weighs nothing; write what the scale shows"));
        }
        Ok(Self(Weight::new(within(value, Weight::BOUND, text)?, unit)))
    }
}

impl FromStr for Measure<Size> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wrong = || format!("`{text}` is no size; write 180x110x22mm or 7x4.5x0.75in");
        let (numbers, unit) = split_unit(text);
        let length = |number: &str| -> Result<Length, String> {
            let value: Decimal = number.trim().parse().map_err(|_| wrong())?;
            if value <= Decimal::ZERO {
                return Err(wrong());
            }
            // Once as it stands, so that it can be turned into millimetres, and once as those.
            let value = within(value, Length::BOUND, text)?;
            let length = match unit {
                "mm" => Length::from_mm(value),
                "cm" => Length::from_mm(value * Decimal::TEN),
                "in" => Length::from_inches(value),
                _ => return Err(wrong()),
            };
            within(length.mm().round_dp(6), Length::BOUND, text)?;
            Ok(length)
        };
        let sides: Vec<&str> = numbers.split(['x', 'X', '×']).collect();
        let [a, b, thickness] = sides.as_slice() else { return Err(wrong()) };
        Ok(Self(Size::laid(length(a)?, length(b)?, length(thickness)?)))
    }
}

#[derive(Clone, Copy, Debug)]
struct Worth(Decimal);

impl FromStr for Worth {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let value: Option<Decimal> = text.trim().parse().ok().filter(|value| *value >= Decimal::ZERO);
        let value = value.ok_or_else(|| format!("`{text}` is no value; write an amount such as 24.00"))?;
        within(value, Money::BOUND, text).map(Self)
    }
}

fn within(value: Decimal, bound: Bound, text: &str) -> Result<Decimal, String> {
    bound.check(value).map_err(|out| format!("`{text}` {out}"))
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
/// Where there is neither a size nor a mailer to take one from.
pub fn quote(desk: &Desk, ask: &QuoteAsk) -> Result<Quoted> {
    let home = &desk.home;
    let contains: BTreeSet<Contents> = ask.holds.iter().copied().map(Contents::from).collect();
    let mass = ask.mass.0.mass();
    // Without a size, that of the smallest mailer: the least a parcel of pins can be.
    let smallest = home.mailers.iter().min_by_key(|mailer| mailer.inner_width.mm() * mailer.inner_length.mm());
    let of_mailer = smallest.map(|mailer| Size::laid(mailer.inner_width, mailer.inner_length, mailer.max_thickness));
    let given = ask.size.as_ref().map(|size| size.0);
    let size = given.or(of_mailer).context("mailers.csv is empty; give --size")?;
    let asked = postage::Ask {
        mass: Estimate { mean_g: mass.as_f64(), sd_g: 0.0 },
        size,
        pins: ask.contents == Inside::Pins,
        contains: &contains,
        from: home.seller.country,
        to: ask.to.country,
        postal_code: &ask.to.postal_code,
        value: Money::new(ask.value.map(|value| value.0).unwrap_or_default(), home.currency),
        day: day::meant(ask.on, desk.today())?,
        declare_with: home.packing.declare_with,
        rules: &home.postage,
    };
    let quote = postage::quote_exact(mass, &asked, &home.cards);
    let ahead = postage::change_ahead(mass, &asked, &home.cards, &quote);
    let chosen = quote.chosen.and_then(|index| quote.offers.get(index));
    Ok(Quoted {
        chosen: chosen.map(|offer| offer.service.clone()),
        chosen_carrier: chosen.map(|offer| offer.carrier.clone()),
        ahead: ahead.map(|(change, text)| Ahead {
            from: change.as_ref().map(|change| change.from),
            price: change.map(|change| change.price),
            text,
        }),
        asked: Asked {
            currency: home.currency.code(),
            holds: contains.iter().map(|contents| contents.code()).collect(),
            mass: ask.mass.0.to_string(),
            on: asked.day,
            postal_code: ask.to.postal_code.clone(),
            size_mm: [size.length, size.width, size.thickness].map(|side| side.mm().normalize().to_string()),
            size_of: smallest.filter(|_| given.is_none()).map(|mailer| mailer.code.clone()),
            to: ask.to.country.code(),
            value: asked.value,
        },
        services: quote.offers.into_iter().map(Service::from).collect(),
    })
}
