//! Numbers of the home's files: decimals with a point, exact to the last digit.
//!
//! Handed the text that stands in the file; promises the number it shows, or what to write instead. Turned down:
//! taking a decimal comma too, since `1,234` is then two different numbers.

use rust_decimal::Decimal;

use crate::model::bound::Bound;

/// Whole numbers are below this: nobody at a kitchen table has a million of anything.
const MOST: u32 = 1_000_000;

/// The decimal that `text` shows, within `bound`.
///
/// # Errors
/// What is wrong and how to write it.
pub(super) fn decimal(text: &str, bound: Bound) -> Result<Decimal, String> {
    if is_plain(text) {
        let number = Decimal::from_str_exact(text)
            .map_err(|_| "has more digits than can be reckoned with; round it".to_owned())?;
        return bound.check(number).map_err(|out| out.to_string());
    }
    let pointed = text.replace(',', ".");
    if is_plain(&pointed) {
        return Err(format!("is not a number; write it with a point, such as {pointed}"));
    }
    let bare = text.trim_matches(|c: char| !c.is_ascii_digit());
    if is_plain(bare) {
        return Err(format!("is not a number; write the number alone, such as {bare}"));
    }
    Err("is not a number; write it in digits with a point, such as 9.5".to_owned())
}

/// A decimal above zero.
///
/// # Errors
/// As [`decimal`]'s.
pub(super) fn positive(number: Decimal) -> Result<Decimal, String> {
    if number > Decimal::ZERO { Ok(number) } else { Err("is not above zero".to_owned()) }
}

/// A decimal that is at least zero.
///
/// # Errors
/// As [`decimal`]'s.
pub(super) fn not_negative(number: Decimal) -> Result<Decimal, String> {
    if number >= Decimal::ZERO { Ok(number) } else { Err("is below zero".to_owned()) }
}

/// The count that `text` shows, below a million.
///
/// # Errors
/// What is wrong and how to write it.
pub(super) fn whole(text: &str) -> Result<u32, String> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err("is not a whole number; write it in digits, such as 12".to_owned());
    }
    let count = text.parse().ok().filter(|count| *count < MOST);
    count.ok_or_else(|| format!("is too large; look for a slip, and write a number below {MOST}"))
}

/// A sign or none, digits, and at most one point with digits after it.
fn is_plain(text: &str) -> bool {
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let (before, after) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    digits(before) && digits(after)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::length::Length;
    use crate::model::money::Money;
    use rust_decimal::dec;

    fn decimal(text: &str) -> Result<Decimal, String> {
        super::decimal(text, Money::BOUND)
    }

    #[test]
    fn a_decimal_is_read_to_the_last_digit() {
        assert_eq!(decimal("9.50"), Ok(dec!(9.50)));
        assert_eq!(decimal("16777217.10000001"), Ok(dec!(16777217.10000001)));
        assert_eq!(decimal("-3"), Ok(dec!(-3)));
    }

    #[test]
    fn what_is_no_number_says_how_to_write_it() {
        let mend = |text: &str| decimal(text).unwrap_err();
        assert_eq!(mend("9,5"), "is not a number; write it with a point, such as 9.5");
        assert_eq!(mend("9.5 g"), "is not a number; write the number alone, such as 9.5");
        assert_eq!(mend("two"), "is not a number; write it in digits with a point, such as 9.5");
        assert_eq!(mend("1e3"), "is not a number; write it in digits with a point, such as 9.5");
        assert!(decimal("1_000").is_err() && decimal("").is_err() && decimal(".5").is_err() && decimal("5.").is_err());
        assert_eq!(mend(&"9".repeat(40)), "has more digits than can be reckoned with; round it");
    }

    #[test]
    fn what_is_beyond_its_bound_says_so() {
        let long = |text: &str| super::decimal(text, Length::BOUND);
        assert_eq!(long("99999.999999"), Ok(dec!(99999.999999)));
        let large = "is too large; look for a slip, and write a number below 100000";
        assert_eq!(long("4006381333931000").unwrap_err(), large);
        assert_eq!(long("-100000").unwrap_err(), large);
        assert_eq!(long("0.10000000000000000001").unwrap_err(), "has more than 6 places after the point; round it");
        let large = "is too large; look for a slip, and write a number below 1000000";
        assert_eq!(whole("1000000").unwrap_err(), large);
        assert_eq!(whole("99999999999").unwrap_err(), large);
    }

    #[test]
    fn a_count_has_no_sign_and_no_point() {
        assert_eq!(whole("12"), Ok(12));
        for text in ["-1", "1.0", "", "+4", "99999999999"] {
            assert!(whole(text).is_err(), "{text}");
        }
    }

    proptest::proptest! {
        /// Whatever stands there, it is a number within the bound or a mend.
        #[test]
        fn any_digits_are_within_the_bound_or_told(text in "-?[0-9]{1,40}(\\.[0-9]{1,40})?") {
            for bound in [Length::BOUND, Money::BOUND, Bound::FACTOR] {
                match super::decimal(&text, bound) {
                    Ok(number) => proptest::prop_assert_eq!(bound.check(number), Ok(number)),
                    Err(mend) => proptest::prop_assert!(!mend.is_empty()),
                }
            }
        }
    }
}
