//! Check digits: whether one holds, and the one swap of neighbours that would make it hold.
//!
//! What a check digit can't do, by its own arithmetic:
//!
//! - S10 takes the sum of the weighted digits modulo 11 and writes 11 less the remainder, but that has eleven outcomes and
//!   a digit ten: 10 (remainder 1) is written 0, which no other remainder is, and 11 (remainder 0) is written 5, which is
//!   remainder 6's own. A wrong digit is off by d, and moves the remainder by d times its weight, never by nothing, since
//!   11 is prime. So it passes only where the check digit is 5 and d times the weight is 6 or 5 modulo 11, the way from
//!   the one remainder to the other.
//! - GS1's weights 3 and 1 share no factor with 10, so that every single wrong digit is caught. Neighbours swapped move
//!   the sum by twice their difference: two that differ by 5 go unseen.
//! - The US identifiers of 20 digits are checked either as printed or with the 91 that stands before them elsewhere, so
//!   one wrong digit in nine passes.

use crate::model::address::Country;

use super::Kind;

/// Whether the number is right: its check digit, and the country of an S10 number.
pub(super) fn holds(kind: Kind, number: &str) -> bool {
    let country = || number.get(11..).is_some_and(|letters| letters.parse::<Country>().is_ok());
    digit_holds(kind, number)
        && match kind {
            Kind::UpuS10 => country(),
            Kind::UsPackage => true,
        }
}

/// Whether the check digit fits the others.
pub(super) fn digit_holds(kind: Kind, number: &str) -> bool {
    let digits: Vec<u32> = number.chars().filter_map(|c| c.to_digit(10)).collect();
    let Some((check, data)) = digits.split_last() else { return false };
    match kind {
        Kind::UpuS10 => s10_check(data) == *check,
        // The older 20 digits are printed without the 91 that some of their check digits count.
        Kind::UsPackage => {
            gs1_check(data) == *check || (digits.len() == 20 && gs1_check(&[&[9, 1], data].concat()) == *check)
        }
    }
}

/// UPU S10: weights 8 6 4 2 3 5 9 7, eleven less the sum modulo eleven; ten becomes 0, eleven becomes 5.
fn s10_check(serial: &[u32]) -> u32 {
    let sum: u32 = serial.iter().zip([8, 6, 4, 2, 3, 5, 9, 7]).map(|(digit, weight)| digit * weight).sum();
    match 11 - sum % 11 {
        10 => 0,
        11 => 5,
        check => check,
    }
}

/// GS1 General Specifications, modulo 10: from the right, weights 3 and 1 in turn.
fn gs1_check(data: &[u32]) -> u32 {
    let sum: u32 = data.iter().rev().zip([3, 1].into_iter().cycle()).map(|(digit, weight)| digit * weight).sum();
    (10 - sum % 10) % 10
}

/// A wrong digit can be mended at almost any place, so a number is only named where two neighbours were swapped
/// and just one such swap makes it right.
pub(super) fn only_swap(kind: Kind, number: &str) -> Option<String> {
    let digits: Vec<char> = number.chars().collect();
    let mut fixes = (1..digits.len()).filter_map(|i| {
        let (a, b) = (digits.get(i - 1)?, digits.get(i)?);
        if a == b || !a.is_ascii_digit() || !b.is_ascii_digit() {
            return None;
        }
        let mut swapped = digits.clone();
        swapped.swap(i - 1, i);
        let swapped: String = swapped.into_iter().collect();
        holds(kind, &swapped).then_some(swapped)
    });
    let fix = fixes.next()?;
    fixes.next().is_none().then_some(fix)
}
