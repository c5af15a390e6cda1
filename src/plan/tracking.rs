//! Carrier identifiers and their check digits.
//!
//! UPU S10 (two letters, eight digits, check digit, country) and the US package identifiers of 20 to 34 digits,
//! whose check digit is GS1's modulo 10. Handed a number as typed or scanned; promises what it is, whether its
//! check digit holds, and the one number that a single slip would explain, where there is just one.
//!
//! Turned down: asking a carrier over the network, which this room can't and an unattended morning shouldn't.

use crate::model::address::Country;

use check::{digit_holds, holds, only_swap};

mod check;
mod indicators;

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
    /// Its check digit alone holds.
    pub check_digit: bool,
    /// The one number that a single slip would explain: two neighbouring digits swapped, or a letter written for the
    /// digit that it looks like.
    pub fix: Option<String>,
}

impl Identified {
    /// What it is, in a few words, without regard to the check digit.
    #[must_use]
    pub fn meaning(&self) -> String {
        match self.kind {
            None => "no tracking number that is known here".to_owned(),
            Some(Kind::UsPackage) => format!("US package identifier, {} digits", self.number.len()),
            Some(Kind::UpuS10) => {
                let letters = |part: Option<&str>| part.unwrap_or_default().to_owned();
                let country = letters(self.number.get(11..));
                let service = indicators::meaning(&letters(self.number.get(..2)));
                match country.parse::<Country>() {
                    Ok(country) => format!("UPU S10, {service}, posted in {country}"),
                    Err(_) => format!("UPU S10, {service}, no country `{country}`"),
                }
            }
        }
    }
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
    let given = given.to_owned();
    let Some(known) = kind else {
        let Some((kind, fix)) = with_a_digit_for_a_letter(&bare) else {
            return Identified { given, kind, number, valid: false, check_digit: false, fix: None };
        };
        return Identified { given, kind: Some(kind), number, valid: false, check_digit: false, fix: Some(fix) };
    };
    let valid = holds(known, &number);
    let fix = if valid { None } else { only_swap(known, &number) };
    let check_digit = digit_holds(known, &number);
    Identified { given, kind, number, valid, check_digit, fix }
}

/// Digits that letters are written for. Common practice, no source.
const LOOK_ALIKES: [(char, char); 7] =
    [('O', '0'), ('Q', '0'), ('I', '1'), ('L', '1'), ('Z', '2'), ('S', '5'), ('B', '8')];

/// The number that `bare` is with one letter turned into the digit it looks like, where its check digit then holds.
fn with_a_digit_for_a_letter(bare: &str) -> Option<(Kind, String)> {
    let mended = bare.char_indices().filter_map(|(place, letter)| {
        let (_, digit) = LOOK_ALIKES.iter().find(|(look, _)| *look == letter)?;
        let mut mended = bare.to_owned();
        mended.replace_range(place..=place, &digit.to_string());
        let (kind, number) = recognise(&mended);
        kind.filter(|kind| holds(*kind, &number)).map(|kind| (kind, number))
    });
    let found: Vec<(Kind, String)> = mended.collect();
    match found.as_slice() {
        [only] => Some(only.clone()),
        [] | [_, _, ..] => None,
    }
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

#[cfg(test)]
mod tests;
