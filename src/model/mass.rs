//! Exact masses, the units postage is sold by, and the estimate of a mass that has not been weighed.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Mul};
use std::str::FromStr;

use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};

use super::bound::Bound;

/// An exact mass in grams. Whatever is of a [`Weight::BOUND`] can be added and multiplied by counts without overflow.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Mass(#[serde(with = "rust_decimal::serde::str")] Decimal);

impl Mass {
    /// No mass. Never stands for an unknown one: that is `Option::None`.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// A mass of `grams`.
    #[must_use]
    pub const fn from_g(grams: Decimal) -> Self {
        Self(grams)
    }

    /// In grams.
    #[must_use]
    pub const fn g(self) -> Decimal {
        self.0
    }

    /// In grams, for the reckoning of spreads, where a float is exact enough.
    #[must_use]
    pub fn as_f64(self) -> f64 {
        use rust_decimal::prelude::ToPrimitive;
        self.0.to_f64().unwrap_or(f64::MAX)
    }
}

impl Add for Mass {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Mul<u32> for Mass {
    type Output = Self;

    fn mul(self, times: u32) -> Self {
        Self(self.0 * Decimal::from(times))
    }
}

impl Sum for Mass {
    fn sum<I: Iterator<Item = Self>>(masses: I) -> Self {
        masses.fold(Self::ZERO, Add::add)
    }
}

/// A unit that postage is sold by.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum MassUnit {
    /// Gram.
    #[serde(rename = "g")]
    Gram,
    /// Kilogram.
    #[serde(rename = "kg")]
    Kilogram,
    /// Avoirdupois ounce.
    #[serde(rename = "oz")]
    Ounce,
    /// Avoirdupois pound.
    #[serde(rename = "lb")]
    Pound,
}

impl MassUnit {
    /// Grams in one of the unit, exact: the international pound is 453.59237 g (international yard and pound
    /// agreement, 1959), an ounce is a sixteenth of it.
    #[must_use]
    pub const fn grams(self) -> Decimal {
        match self {
            Self::Gram => Decimal::ONE,
            Self::Kilogram => dec!(1000),
            Self::Ounce => dec!(28.349523125),
            Self::Pound => dec!(453.59237),
        }
    }

    /// The symbol: `g`, `kg`, `oz`, `lb`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Ounce => "oz",
            Self::Pound => "lb",
        }
    }
}

impl fmt::Display for MassUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A word that is no unit of mass.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a unit of mass; write g, kg, oz or lb")]
pub struct UnknownUnit(pub String);

/// How people write the units. Left out is what stands for another mass somewhere: `gr`, which is a grain too, and the
/// pounds of other tongues, which are half a kilogram.
const SPELLINGS: [(MassUnit, &[&str]); 4] = [
    (MassUnit::Gram, &["g", "gs", "gm", "gms", "gram", "grams", "gramme", "grammes", "gramm"]),
    (
        MassUnit::Kilogram,
        &["kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes", "kilogramm"],
    ),
    (MassUnit::Ounce, &["oz", "ozs", "ounce", "ounces"]),
    (MassUnit::Pound, &["lb", "lbs", "pound", "pounds"]),
];

/// In the words that people use for it, whatever their case: `lbs`, `Ounces`, `oz.`
impl FromStr for MassUnit {
    type Err = UnknownUnit;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let word = text.trim().to_lowercase();
        SPELLINGS
            .iter()
            .find(|(_, spellings)| spellings.contains(&word.strip_suffix('.').unwrap_or(&word)))
            .map(|(unit, _)| *unit)
            .ok_or_else(|| UnknownUnit(text.to_owned()))
    }
}

/// A weight in the unit it is declared or read in, exact.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub struct Weight {
    /// How many of the unit; a decimal string in JSON.
    #[serde(with = "rust_decimal::serde::str")]
    pub value: Decimal,
    /// The unit.
    pub unit: MassUnit,
}

impl Weight {
    /// Of a value read from outside, in any unit: below ten million, which is ten tonnes in grams, when carriers of
    /// parcels take some thirty kilograms, and to twelve places, as an ounce in kilograms has. In grams that is below
    /// 5 × 10^9 with its last places rounded to 28 digits, and so are sums and counts of it.
    pub const BOUND: Bound = Bound::new(dec!(10_000_000), 12);

    /// `value` of `unit`; trailing zeros are dropped, so that `4.0` and `4` are one weight.
    #[must_use]
    pub fn new(value: Decimal, unit: MassUnit) -> Self {
        Self { value: value.normalize(), unit }
    }

    /// As a mass, exact.
    #[must_use]
    pub fn mass(self) -> Mass {
        Mass(self.value * self.unit.grams())
    }
}

impl fmt::Display for Weight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

/// What a sealed parcel should weigh: mean and standard deviation in grams.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Estimate {
    /// Expected mass, g.
    pub mean_g: f64,
    /// Standard deviation, g.
    pub sd_g: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_ounces_are_a_pound_exactly() {
        let ounces = Weight::new(dec!(16), MassUnit::Ounce).mass();
        assert_eq!(ounces, Weight::new(dec!(1.0), MassUnit::Pound).mass());
    }

    #[test]
    fn a_unit_is_read_as_people_write_it() {
        for (words, unit) in [
            ("g gm gms gram grams Gramm gramme grammes G g.", MassUnit::Gram),
            ("kg KG kgs kg. kilo kilos Kilogram kilograms kilogramme kilogrammes Kilogramm", MassUnit::Kilogram),
            ("oz OZ oz. ozs ounce ounces Ounces", MassUnit::Ounce),
            ("lb lbs LBS lbs. lb. pound pounds Pounds", MassUnit::Pound),
        ] {
            for word in words.split(' ') {
                assert_eq!(word.parse(), Ok(unit), "{word}");
                assert_eq!(format!(" {word} ").parse(), Ok(unit), "{word}");
            }
        }
        // Of more than one mass, or of none.
        for word in ["gr", "Pfund", "livre", "t", "", ".", "g..", "floz"] {
            assert_eq!(word.parse::<MassUnit>(), Err(UnknownUnit(word.to_owned())));
        }
    }

    #[test]
    fn a_weight_is_written_without_trailing_zeros() {
        assert_eq!(Weight::new(dec!(4.00), MassUnit::Ounce).to_string(), "4 oz");
        assert_eq!(Weight::new(dec!(15.999), MassUnit::Ounce).to_string(), "15.999 oz");
    }
}
