//! Exact lengths.

use std::iter::Sum;
use std::ops::{Add, Mul, Sub};

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};

use super::bound::Bound;

/// An exact length in millimetres. Sizes come as decimals (an inch is 25.4 mm exactly) and are compared with
/// limits to the last digit, so they are decimals here too. Whatever is within [`Length::BOUND`] can be added,
/// multiplied by counts and made an area or a volume of without overflow.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Length(#[serde(with = "rust_decimal::serde::str")] Decimal);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// Of millimetres read from outside: below a hundred metres, when no carrier takes anything longer than a few, and to
    /// the nanometre, when no ruler shows less than a tenth of a millimetre. An area of such, in the square thousandths
    /// that packing reckons in, is below 10^16 and so fits the search's whole numbers; a volume is below 10^15 mm³.
    pub const BOUND: Bound = Bound::new(dec!(100_000), 6);

    /// `millimetres` long.
    #[must_use]
    pub const fn from_mm(millimetres: Decimal) -> Self {
        Self(millimetres)
    }

    /// `inches` long; 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    #[must_use]
    pub fn from_inches(inches: Decimal) -> Self {
        Self(inches * dec!(25.4))
    }

    /// In millimetres.
    #[must_use]
    pub const fn mm(self) -> Decimal {
        self.0
    }

    /// In millimetres, for geometry.
    #[must_use]
    pub fn as_f64(self) -> f64 {
        self.0.to_f64().unwrap_or(f64::MAX)
    }
}

impl Add for Length {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul<u32> for Length {
    type Output = Self;

    fn mul(self, times: u32) -> Self {
        Self(self.0 * Decimal::from(times))
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// Length, width and thickness of something flat that is laid on the table, in that order.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub struct Size {
    /// The longer side.
    pub length: Length,
    /// The shorter side.
    pub width: Length,
    /// Height above the table.
    pub thickness: Length,
}

impl Size {
    /// Sorts the two sides so that `length` is the longer.
    #[must_use]
    pub fn laid(a: Length, b: Length, thickness: Length) -> Self {
        Self { length: a.max(b), width: a.min(b), thickness }
    }
}

/// An exact volume in cubic millimetres.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Volume(Decimal);

impl Volume {
    /// `litres` large: a litre is a cubic decimetre.
    #[must_use]
    pub fn from_litres(litres: Decimal) -> Self {
        Self(litres * dec!(1000000))
    }

    /// `feet` cubic feet large; 1 ft = 304.8 mm exactly (international yard and pound agreement, 1959).
    #[must_use]
    pub fn from_cubic_feet(feet: Decimal) -> Self {
        Self(feet * dec!(28316846.592))
    }

    /// In litres.
    #[must_use]
    pub fn litres(self) -> Decimal {
        self.0 / dec!(1000000)
    }
}

impl Size {
    /// Of the box that it fills.
    #[must_use]
    pub fn volume(self) -> Volume {
        Volume(self.length.0 * self.width.0 * self.thickness.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_foot_is_exact() {
        let foot = Length::from_inches(dec!(12));
        assert_eq!(Size::laid(foot, foot, foot).volume(), Volume::from_cubic_feet(Decimal::ONE));
        assert_eq!(Volume::from_cubic_feet(Decimal::ONE).litres(), dec!(28.316846592));
    }

    #[test]
    fn an_inch_is_exact() {
        assert_eq!(Length::from_inches(dec!(0.25)), Length::from_mm(dec!(6.35)));
    }

    #[test]
    fn laid_sorts_the_sides() {
        let size = Size::laid(Length::from_mm(dec!(3)), Length::from_mm(dec!(9)), Length::from_mm(dec!(1)));
        assert_eq!(size.length.mm(), dec!(9));
    }
}
