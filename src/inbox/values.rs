//! Values of cells that are neither numbers nor dates: wrappings, quantities, order numbers, yes and no.

use crate::model::text::one_line;

/// A cell with the wrappings off that spreadsheets put round text: `="00123"`, a `'` before what would otherwise be
/// a number or a formula. An apostrophe before a letter is part of a name.
pub(super) fn unwrapped(cell: &str) -> String {
    let cell = one_line(cell);
    if let Some(inner) = cell.strip_prefix("=\"").and_then(|rest| rest.strip_suffix('"')) {
        return inner.to_owned();
    }
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit() || "=+-@".contains(c)) => rest.to_owned(),
        Some(_) | None => cell,
    }
}

/// Words for a piece; common practice, no source.
const PIECES: [&str; 24] = [
    "", "x", "×", "pc", "pcs", "pc.", "pcs.", "piece", "pieces", "ea", "each", "st", "st.", "stk", "stk.", "stück",
    "pièce", "pièces", "pz", "uds", "stuk", "stuks", "szt", "szt.",
];

/// A whole number of things, from 1 to 9999: "2", "2.0", "2x", "x2", "2 pcs". Grouped thousands are refused: `2,000`
/// is two pieces as likely as two thousand.
pub(super) fn quantity(text: &str) -> Result<u32, String> {
    let text = text.trim().to_lowercase();
    let figures = text.strip_prefix(['x', '×']).unwrap_or(&text).trim_start();
    let end = figures.find(|c: char| !c.is_ascii_digit()).unwrap_or(figures.len());
    let (whole, rest) = figures.split_at_checked(end).unwrap_or_default();
    let rest = [".00", ",00", ".0", ",0"].iter().find_map(|zeros| rest.strip_prefix(zeros)).unwrap_or(rest);
    match whole.parse() {
        Ok(count @ 1..=9999) if PIECES.contains(&rest.trim()) => Ok(count),
        Ok(_) | Err(_) => Err("is not a quantity; write a whole number such as 2".to_owned()),
    }
}

/// A number that a spreadsheet shortened, such as `1.23E+11`, has lost digits: it names no order any more.
pub(super) fn is_spoilt(text: &str) -> bool {
    let Some((mantissa, exponent)) = text.split_once(['E', 'e']) else { return false };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    digits(mantissa) && exponent.strip_prefix('+').is_some_and(digits)
}

/// What a spreadsheet shows where a formula failed (`OpenDocument` 1.2 part 2, section 5.12; and `#NULL!`, from memory).
pub(super) fn is_error(text: &str) -> bool {
    ["#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!"].contains(&text.trim())
}

/// Yes, unless the cell is empty or says no.
pub(super) fn is_yes(text: &str) -> bool {
    let no = ["", "-", "no", "n", "none", "false", "off", "0", "nein", "falsch", "non", "faux", "nee", "nie", "falso"];
    !no.contains(&text.trim().to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_small_whole_numbers() {
        for (text, count) in [
            ("2", 2),
            (" 2 ", 2),
            ("2.0", 2),
            ("2,00", 2),
            ("2x", 2),
            ("2 X", 2),
            ("x2", 2),
            ("×2", 2),
            ("3 pcs", 3),
            ("3 Stück", 3),
            ("9999", 9999),
        ] {
            assert_eq!(quantity(text), Ok(count), "{text}");
        }
        for text in
            ["two", "0", "-1", "1.5", "2 kg", "10000", "99999999999", "1,000", "1.000", "", "x", "2 x A", "#N/A"]
        {
            assert!(quantity(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_shortened_number_is_known_for_one() {
        for text in ["1.23E+11", "1,23e+11", "9E+21"] {
            assert!(is_spoilt(text), "{text}");
        }
        for text in ["E-1001", "1001", "2E5", "A1E+4", "1001E"] {
            assert!(!is_spoilt(text), "{text}");
        }
    }

    #[test]
    fn wrappings_come_off_and_names_keep_their_apostrophe() {
        assert_eq!(unwrapped("=\"00123\""), "00123");
        assert_eq!(unwrapped("'007"), "007");
        assert_eq!(unwrapped("'=1+1"), "=1+1");
        assert_eq!(unwrapped("'s-Hertogenbosch"), "'s-Hertogenbosch");
        assert_eq!(unwrapped("'t Veld\u{200B}"), "'t Veld");
    }

    #[test]
    fn a_gift_is_whatever_is_not_said_to_be_none() {
        assert!(["yes", "1", "x", "Ja", "TRUE"].into_iter().all(is_yes));
        assert!(!["", "No", "0", "FALSE", "nein", "-"].into_iter().any(is_yes));
    }
}
