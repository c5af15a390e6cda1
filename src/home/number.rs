//! Numbers of the home's files: decimals with a point, exact to the last digit.
//!
//! Handed the text that stands in the file; promises the number it shows, or what to write instead. Turned down:
//! taking a decimal comma too, since `1,234` is then two different numbers.

use rust_decimal::Decimal;

/// The decimal that `text` shows.
///
/// # Errors
/// What is wrong and how to write it.
pub(super) fn decimal(text: &str) -> Result<Decimal, String> {
    if is_plain(text) {
        return Decimal::from_str_exact(text)
            .map_err(|_| "has more digits than can be reckoned with; round it".to_owned());
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

/// The count that `text` shows.
///
/// # Errors
/// What is wrong and how to write it.
pub(super) fn whole(text: &str) -> Result<u32, String> {
    let digits = text.bytes().all(|b| b.is_ascii_digit()) && !text.is_empty();
    digits
        .then(|| text.parse().ok())
        .flatten()
        .ok_or_else(|| "is not a whole number; write it in digits, such as 12".to_owned())
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
    use rust_decimal::dec;

    #[test]
    fn a_decimal_is_read_to_the_last_digit() {
        assert_eq!(decimal("9.50"), Ok(dec!(9.50)));
        assert_eq!(decimal("0.10000000000000000001"), Ok(dec!(0.10000000000000000001)));
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
    fn a_count_has_no_sign_and_no_point() {
        assert_eq!(whole("12"), Ok(12));
        for text in ["-1", "1.0", "", "+4", "99999999999"] {
            assert!(whole(text).is_err(), "{text}");
        }
    }
}
