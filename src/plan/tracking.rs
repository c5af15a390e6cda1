//! Carrier identifiers and their check digits.
//!
//! UPU S10 (two letters, eight digits, check digit, country) and the US package identifiers of 20, 22, 26, 30 and
//! 34 digits, whose check digit is GS1's modulo 10. Handed a number as typed or scanned; promises what it is,
//! whether its check digit holds, and the one number that a single slip would explain, where there is just one.

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
    /// Its check digit holds.
    pub valid: bool,
    /// The one number that a single slip would explain.
    pub fix: Option<String>,
}

/// What `given` is.
#[must_use]
pub fn identify(given: &str) -> Identified {
    let number: String = given.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase();
    let (kind, number) = recognise(&number);
    let valid = kind.is_some_and(|kind| holds(kind, &number));
    let fix = kind.filter(|_| !valid).and_then(|kind| only_slip(kind, &number));
    Identified { given: given.to_owned(), kind, number, valid, fix }
}

fn recognise(number: &str) -> (Option<Kind>, String) {
    let bytes = number.as_bytes();
    let s10 = bytes.len() == 13
        && bytes
            .iter()
            .enumerate()
            .all(|(i, b)| if (2..11).contains(&i) { b.is_ascii_digit() } else { b.is_ascii_uppercase() });
    if s10 {
        return (Some(Kind::UpuS10), number.to_owned());
    }
    if !bytes.iter().all(u8::is_ascii_digit) {
        return (None, number.to_owned());
    }
    // 420 and a ZIP of five or nine digits stand before the identifier in a scan (GS1 application identifier 420).
    let routed = number.strip_prefix("420").and_then(|rest| match rest.len() {
        27 => rest.get(5..),
        31 => rest.get(9..),
        _ => None,
    });
    let routed = routed.filter(|identifier| identifier.starts_with('9'));
    match (routed, number.len()) {
        (Some(identifier), _) => (Some(Kind::UsPackage), identifier.to_owned()),
        (None, 20 | 22 | 26 | 30 | 34) => (Some(Kind::UsPackage), number.to_owned()),
        (None, _) => (None, number.to_owned()),
    }
}

fn holds(kind: Kind, number: &str) -> bool {
    match kind {
        Kind::UpuS10 => {
            let digits: Vec<u32> = number.chars().filter_map(|c| c.to_digit(10)).collect();
            digits.split_last().is_some_and(|(check, serial)| s10_check(serial) == *check)
        }
        Kind::UsPackage => {
            let digits: Vec<u32> = number.chars().filter_map(|c| c.to_digit(10)).collect();
            let plain = digits.split_last().is_some_and(|(check, rest)| gs1_check(rest) == *check);
            // The older 20 digits are printed without the 91 that some of their check digits count.
            let legacy: Vec<u32> = [9, 1].into_iter().chain(digits.iter().copied()).collect();
            let with_91 = || legacy.split_last().is_some_and(|(check, rest)| gs1_check(rest) == *check);
            plain || (number.len() == 20 && with_91())
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
fn gs1_check(rest: &[u32]) -> u32 {
    let sum: u32 = rest.iter().rev().zip([3, 1].into_iter().cycle()).map(|(digit, weight)| digit * weight).sum();
    (10 - sum % 10) % 10
}

/// A wrong digit can be mended at almost any place, so it is only named where two neighbours were swapped and
/// just one such swap makes the number right.
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
    fixes.all(|other| other == fix).then_some(fix)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the UPU's standard S10, RB123456785GB (also in its published descriptions).
    #[test]
    fn the_standards_own_example_holds() {
        let found = identify("RB 123 456 785 GB");
        assert_eq!((found.kind, found.valid), (Some(Kind::UpuS10), true));
        assert!(!identify("RB123456784GB").valid);
    }

    /// Two remainders share the check digit 5, so a number that ends in it can hide a slip from the other; any
    /// other number can't. EE473124829US is the worked example in published descriptions of S10.
    #[test]
    fn every_single_wrong_digit_of_an_s10_number_is_caught() {
        for place in 2..11 {
            for digit in '0'..='9' {
                let mut number: Vec<char> = "EE473124829US".chars().collect();
                let right = number[place] == digit;
                number[place] = digit;
                let number: String = number.into_iter().collect();
                assert_eq!(identify(&number).valid, right, "{number}");
            }
        }
    }

    #[test]
    fn what_is_neither_is_said_to_be_neither() {
        assert_eq!(identify("hello").kind, None);
        assert_eq!(identify("12345").kind, None);
    }
}
