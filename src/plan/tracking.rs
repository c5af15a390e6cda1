//! Carrier identifiers and their check digits.
//!
//! UPU S10 (two letters, eight digits, check digit, country) and the US package identifiers of 20 to 34 digits,
//! whose check digit is GS1's modulo 10. Handed a number as typed or scanned; promises what it is, whether its
//! check digit holds, and the one number that a single slip would explain, where there is just one.
//!
//! What a check digit can't do: S10 writes 5 for the remainders 0 and 6 alike, so where the check digit is 5, a
//! wrong digit that moves the sum from one to the other goes unseen; and the 20-digit US identifiers are checked
//! either as printed or with the 91 that stands before them elsewhere, so one wrong digit in nine passes. Turned
//! down: asking a carrier over the network, which this room can't and an unattended morning shouldn't.

use crate::model::address::Country;

/// A kind of identifier.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// UPU S10.
    UpuS10,
    /// US package identifier.
    UsPackage,
}

impl Kind {
    /// The word of `identify --json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::UpuS10 => "upu-s10",
            Self::UsPackage => "us-package",
        }
    }
}

/// What a number is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Identified {
    /// As given.
    pub given: String,
    /// What it looks like, where it looks like anything.
    pub kind: Option<Kind>,
    /// Without spaces, scanner prefixes and routing.
    pub number: String,
    /// Its check digit holds, and an S10 number's country exists.
    pub valid: bool,
    /// The one number that a single slip would explain: two neighbouring digits swapped.
    pub fix: Option<String>,
}

/// What `given` is.
#[must_use]
pub fn identify(given: &str) -> Identified {
    let bare: String = without_symbology(given.trim())
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect::<String>()
        .to_ascii_uppercase();
    let (kind, number) = recognise(&bare);
    let valid = kind.is_some_and(|kind| holds(kind, &number));
    let fix = kind.filter(|_| !valid).and_then(|kind| only_slip(kind, &number));
    Identified { given: given.to_owned(), kind, number, valid, fix }
}

/// Scanners may put a symbology identifier first: `]`, a letter and a digit (ISO/IEC 15424), such as `]C1`.
fn without_symbology(given: &str) -> &str {
    let mut chars = given.chars();
    match (chars.next(), chars.next(), chars.next()) {
        (Some(']'), Some(letter), Some(modifier))
            if letter.is_ascii_alphabetic() && modifier.is_ascii_alphanumeric() =>
        {
            chars.as_str()
        }
        _ => given,
    }
}

fn recognise(number: &str) -> (Option<Kind>, String) {
    let s10 = number.len() == 13
        && number
            .bytes()
            .enumerate()
            .all(|(i, b)| if (2..11).contains(&i) { b.is_ascii_digit() } else { b.is_ascii_uppercase() });
    if s10 {
        return (Some(Kind::UpuS10), number.to_owned());
    }
    if !number.bytes().all(|b| b.is_ascii_digit()) {
        return (None, number.to_owned());
    }
    if let Some(identifier) = without_routing(number) {
        return (Some(Kind::UsPackage), identifier.to_owned());
    }
    let kind = matches!(number.len(), 20 | 22 | 26 | 30 | 34).then_some(Kind::UsPackage);
    (kind, number.to_owned())
}

/// In a scan, 420 (the GS1 application identifier) and a ZIP of five or nine digits stand before the identifier.
/// 34 and 38 digits can be read with either ZIP: the reading whose check digit holds counts, else the one with
/// the usual 22 digits.
fn without_routing(number: &str) -> Option<&str> {
    let rest = number.strip_prefix("420")?;
    let readings: Vec<&str> = [9, 5]
        .into_iter()
        .filter_map(|zip| rest.get(zip..))
        .filter(|identifier| matches!(identifier.len(), 22 | 26 | 30 | 34) && identifier.starts_with('9'))
        .collect();
    readings.iter().find(|identifier| holds(Kind::UsPackage, identifier)).or_else(|| readings.first()).copied()
}

fn holds(kind: Kind, number: &str) -> bool {
    let digits: Vec<u32> = number.chars().filter_map(|c| c.to_digit(10)).collect();
    let Some((check, data)) = digits.split_last() else { return false };
    match kind {
        Kind::UpuS10 => {
            let country = number.get(11..).and_then(|letters| letters.parse::<Country>().ok());
            s10_check(data) == *check && country.is_some()
        }
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
fn only_slip(kind: Kind, number: &str) -> Option<String> {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the UPU's standard S10 as its published descriptions print it.
    #[test]
    fn the_standards_own_example_holds() {
        let found = identify("RR 473 124 829 GB");
        assert_eq!((found.kind, found.valid), (Some(Kind::UpuS10), true));
        assert!(!identify("RR473124828GB").valid);
        assert!(!identify("RR473124829XX").valid, "no such country");
    }

    /// 4731 2482 9: the sum is 200, the remainder 2, so no wrong digit can hide behind the doubled check digit 5.
    #[test]
    fn every_single_wrong_digit_of_an_s10_number_is_caught() {
        for place in 2..11 {
            for digit in '0'..='9' {
                let mut number: Vec<char> = "RR473124829GB".chars().collect();
                let right = number[place] == digit;
                number[place] = digit;
                let number: String = number.into_iter().collect();
                assert_eq!(identify(&number).valid, right, "{number}");
            }
        }
    }

    /// Not a fault here but the standard's: both sums, 204 and 220, leave a remainder that is written 5.
    #[test]
    fn s10_itself_cannot_tell_remainder_0_from_6() {
        assert!(identify("RB123456785GB").valid && identify("RB323456785GB").valid);
    }

    #[test]
    fn scanner_prefix_brackets_and_routing_are_taken_off() {
        for given in [
            "9261290336128704042634",
            "9261 2903 3612 8704 0426 34",
            "(420)90245(92)61290336128704042634",
            "]C1420902459261290336128704042634",
            "]C1\u{1d}420902451234\u{1d}9261290336128704042634",
        ] {
            let found = identify(given);
            assert_eq!((found.number.as_str(), found.valid), ("9261290336128704042634", true), "{given}");
        }
    }

    /// 47312482 9 with 1 and 2 swapped, which no other swap explains; and with its last two swapped, which swapping
    /// 8 and 9 mends as well as swapping them back, so that nothing is named.
    #[test]
    fn swapped_neighbours_are_named_where_only_one_swap_explains() {
        let found = identify("RR473214829GB");
        assert_eq!((found.valid, found.fix.as_deref()), (false, Some("RR473124829GB")));
        let twofold = identify("RR473124892GB");
        assert_eq!((twofold.valid, twofold.fix), (false, None));
        assert_eq!(identify("RR473124829GB").fix, None);
    }

    #[test]
    fn what_is_neither_is_said_to_be_neither() {
        for given in ["", "hello", "12345", "RB12345678GB", "RB1234567850GB", "]C", "４２０"] {
            assert_eq!(identify(given).kind, None, "{given}");
        }
    }
}
