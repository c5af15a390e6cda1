//! Exact amounts of money with their currency.
//!
//! Amounts are decimals, never floats: a price list is printed in decimals, and an invoice must add up to the
//! last digit. Turned down: integer minor units, which would need a second type for unit prices and rates with
//! more digits than the currency has.

use std::fmt;
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy, dec};
use serde::{Deserialize, Serialize};

use super::bound::Bound;

/// An ISO 4217 currency.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Currency(iso_currency::Currency);

impl Currency {
    /// The US dollar.
    pub const USD: Self = Self(iso_currency::Currency::USD);

    /// Digits after the point, by ISO 4217: 2 for USD, 0 for JPY. A currency without one counts as 0.
    #[must_use]
    pub fn minor_digits(self) -> u32 {
        self.0.exponent().map_or(0, u32::from)
    }

    /// The three-letter code, upper case.
    #[must_use]
    pub fn code(self) -> &'static str {
        self.0.code()
    }

    /// Its usual sign, which other currencies may share: `$`, `kr`. The code, where it has none.
    #[must_use]
    pub fn sign(self) -> String {
        Some(self.0.symbol().symbol).filter(|sign| sign != "¤").unwrap_or_else(|| self.code().to_owned())
    }

    /// All of the standard, by its numbers, which have three digits.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..1000).filter_map(|number| iso_currency::Currency::from_numeric(number).map(Self))
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// A word that is no ISO 4217 code.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not an ISO 4217 currency code; write three letters such as USD or EUR")]
pub struct UnknownCurrency(pub String);

impl FromStr for Currency {
    type Err = UnknownCurrency;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        iso_currency::Currency::from_code(&text.trim().to_ascii_uppercase())
            .map(Self)
            .ok_or_else(|| UnknownCurrency(text.to_owned()))
    }
}

impl TryFrom<String> for Currency {
    type Error = UnknownCurrency;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Currency> for String {
    fn from(currency: Currency) -> Self {
        currency.code().to_owned()
    }
}

/// An amount that a sum of another currency can't hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{} {} is no amount in {sum}, and nothing is converted", .amount.plain(), .amount.currency)]
pub struct OtherCurrency {
    /// The amount.
    pub amount: Money,
    /// What the sum is in.
    pub sum: Currency,
}

/// Enough for the price of one of a billion, in any currency.
const MOST_DIGITS_OF_A_SHARE: u32 = 14;

/// An exact amount in one currency.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub struct Money {
    /// The amount in major units, with as many digits as it was given with.
    pub amount: Decimal,
    /// What the amount is of.
    pub currency: Currency,
}

impl Money {
    /// Of an amount read from outside: below a million million, since a thing of a hundred dollars is millions in some
    /// currencies (a dollar was some 26,000 dong and 16,000 rupiah in 2026; from memory), and with at most eight places,
    /// since prices of one have more than the currency (see [`Money::shared`]). Four thousand million times such an
    /// amount is below 10^22: any list of them can be summed.
    pub const BOUND: Bound = Bound::new(dec!(1_000_000_000_000), 8);

    /// An amount of `currency`.
    #[must_use]
    pub const fn new(amount: Decimal, currency: Currency) -> Self {
        Self { amount, currency }
    }

    /// Nothing, in `currency`.
    #[must_use]
    pub const fn zero(currency: Currency) -> Self {
        Self { amount: Decimal::ZERO, currency }
    }

    /// The sum, or `None` where the currencies differ: dawnpack never converts.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        (self.currency == other.currency)
            .then(|| self.amount.checked_add(other.amount))
            .flatten()
            .map(|amount| Self { amount, ..self })
    }

    /// The sum of `amounts`, which are all in `currency`; nothing, where there are none.
    ///
    /// # Errors
    /// The first amount in another currency: it is neither converted nor left out.
    pub fn sum(amounts: impl IntoIterator<Item = Self>, currency: Currency) -> Result<Self, OtherCurrency> {
        amounts.into_iter().try_fold(Self::zero(currency), |sum, amount| {
            sum.checked_add(amount).ok_or(OtherCurrency { amount, sum: currency })
        })
    }

    /// The amount for `quantity` of them, rounded to the currency's own digits: what is paid and printed is whole
    /// coins, and sums are of such amounts, so that a list adds up to what stands below it.
    #[must_use]
    pub fn times(self, quantity: u32) -> Self {
        Self { amount: self.amount * Decimal::from(quantity), ..self }.rounded()
    }

    /// The price of one, of a total for `quantity` of them: with the fewest digits, from the currency's own on, of
    /// which [`Money::times`] gives the total again. Three for 10.00 are 3.333 each, which make 10.00 and not 9.99.
    /// Turned down: no price of one, which would take the total off the invoice, and one in whole coins, which would
    /// print a sum that nobody paid. `None` for none of them.
    #[must_use]
    pub fn shared(self, quantity: u32) -> Option<Self> {
        let one = self.amount.checked_div(Decimal::from(quantity))?.normalize();
        let with = |digits| Self { amount: one.round_dp(digits), ..self };
        let total = self.rounded();
        let mut digits = self.currency.minor_digits()..=MOST_DIGITS_OF_A_SHARE;
        let one = digits.find(|digits| with(*digits).times(quantity).amount == total.amount).map(with);
        Some(one.unwrap_or_else(|| with(MOST_DIGITS_OF_A_SHARE)))
    }

    /// Rounded half to even to the currency's own digits.
    #[must_use]
    pub fn rounded(self) -> Self {
        let digits = self.currency.minor_digits();
        Self { amount: self.amount.round_dp_with_strategy(digits, RoundingStrategy::MidpointNearestEven), ..self }
    }

    /// The plain decimal string of JSON and CSV: at least the currency's digits, no grouping ("4.10").
    #[must_use]
    pub fn plain(self) -> String {
        let digits = self.currency.minor_digits();
        let mut amount = self.amount.normalize();
        if amount.scale() < digits {
            amount.rescale(digits);
        }
        amount.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_keeps_the_currency_digits_and_no_fewer() {
        let jpy: Currency = "jpy".parse().unwrap();
        assert_eq!(Money::new(dec!(4.1), Currency::USD).plain(), "4.10");
        assert_eq!(Money::new(dec!(4.125), Currency::USD).plain(), "4.125");
        assert_eq!(Money::new(dec!(-120.00), jpy).plain(), "-120");
    }

    #[test]
    fn a_share_of_a_total_makes_the_total_again() {
        let jpy: Currency = "JPY".parse().unwrap();
        for (total, quantity, one) in [
            ("10.00", 3, "3.333"),
            ("9.00", 2, "4.50"),
            ("9.00", 8, "1.125"),
            ("0.01", 9999, "0.000001"),
            ("0", 3, "0.00"),
        ] {
            let total = Money::new(total.parse().unwrap(), Currency::USD);
            let share = total.shared(quantity).unwrap();
            assert_eq!((share.plain().as_str(), share.times(quantity).plain()), (one, total.plain()));
        }
        assert_eq!(Money::new(dec!(1000), jpy).shared(3).map(Money::plain).as_deref(), Some("333.3"));
        assert_eq!(Money::new(dec!(1), jpy).shared(0), None);
        // Lines of whole coins add up to what stands below them.
        assert_eq!(Money::new(dec!(0.125), Currency::USD).times(3).amount, dec!(0.38));
    }

    #[test]
    fn unlike_currencies_do_not_add() {
        let eur: Currency = "EUR".parse().unwrap();
        let one = Money::new(dec!(1), Currency::USD);
        assert_eq!(one.checked_add(Money::new(dec!(1), eur)), None);
        assert_eq!(one.checked_add(one).map(Money::plain).as_deref(), Some("2.00"));
    }

    #[test]
    fn a_sum_leaves_nothing_out() {
        let eur: Currency = "EUR".parse().unwrap();
        let (one, other) = (Money::new(dec!(1.10), Currency::USD), Money::new(dec!(2), eur));
        assert_eq!(Money::sum([one, one], Currency::USD), Ok(Money::new(dec!(2.20), Currency::USD)));
        assert_eq!(Money::sum([], eur), Ok(Money::zero(eur)));
        let error = Money::sum([one, other], Currency::USD).unwrap_err();
        assert_eq!(error.to_string(), "2.00 EUR is no amount in USD, and nothing is converted");
    }

    #[test]
    fn an_unknown_code_says_what_to_write() {
        let error = "dollar".parse::<Currency>().unwrap_err();
        assert_eq!(
            error.to_string(),
            "`dollar` is not an ISO 4217 currency code; write three letters such as USD or EUR"
        );
    }
}
