//! How large a number from outside may be, and how fine.
//!
//! An exact decimal holds 28 digits, and what is reckoned of it panics beyond them. So every quantity is bounded where
//! it is read (the home's files, drops, the command line), far above anything that is posted and far below what sums,
//! areas and volumes of it could overflow: behind the wall the operators of [`Length`](super::length::Length),
//! [`Mass`](super::mass::Mass) and [`Money`](super::money::Money) are total. Turned down: checked operators everywhere,
//! whose `None` means nothing to whoever packs a parcel; saturating ones, which would print a wrong number.

use rust_decimal::{Decimal, dec};

/// A bound, for either sign.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Bound {
    below: Decimal,
    places: u32,
}

impl Bound {
    /// What only multiplies: shares of a roll, ratios of sides, a grammage, litres. A million times anything bounded is
    /// within 28 digits, and no such number has more than six places.
    pub const FACTOR: Self = Self::new(dec!(1_000_000), 6);

    /// Absolute values below `below`, with at most `places` digits after the point.
    #[must_use]
    pub const fn new(below: Decimal, places: u32) -> Self {
        Self { below, places }
    }

    /// `number`, if it is within.
    ///
    /// # Errors
    /// [`OutOfBound`] where it is too large or too fine. Zeros at its end don't make it finer.
    pub fn check(self, number: Decimal) -> Result<Decimal, OutOfBound> {
        if number.abs() >= self.below {
            return Err(OutOfBound::TooLarge(self.below));
        }
        if number.normalize().scale() > self.places {
            return Err(OutOfBound::TooFine(self.places));
        }
        Ok(number)
    }
}

/// A number that nothing here is measured in; the message follows the number.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum OutOfBound {
    /// It, or its absolute value, is no less than this.
    #[error("is too large; look for a slip, and write a number below {0}")]
    TooLarge(Decimal),
    /// It has more places than this.
    #[error("has more than {0} places after the point; round it")]
    TooFine(u32),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_holds_for_either_sign_and_counts_no_zeros() {
        let bound = Bound::new(dec!(100), 2);
        for fits in [dec!(99.99), dec!(-99.99), dec!(0), dec!(1.2500)] {
            assert_eq!(bound.check(fits), Ok(fits));
        }
        for large in [dec!(100), dec!(-100), Decimal::MAX, Decimal::MIN] {
            assert_eq!(bound.check(large), Err(OutOfBound::TooLarge(dec!(100))));
        }
        assert_eq!(bound.check(dec!(1.255)), Err(OutOfBound::TooFine(2)));
    }

    #[test]
    fn messages_say_what_to_write() {
        assert_eq!(
            OutOfBound::TooLarge(dec!(100000)).to_string(),
            "is too large; look for a slip, and write a number below 100000"
        );
        assert_eq!(OutOfBound::TooFine(6).to_string(), "has more than 6 places after the point; round it");
    }
}
