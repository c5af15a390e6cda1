//! Values of cells that are neither numbers nor dates: wrappings, quantities, order numbers, yes and no.

use std::collections::BTreeSet;

use crate::model::text::{narrow, one_line};

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

/// As [`unwrapped`], with the line breaks inside the cell as they are.
pub(super) fn unwrapped_lines(cell: &str) -> String {
    let lines: Vec<String> = cell.split(['\n', '\r']).map(one_line).filter(|line| !line.is_empty()).collect();
    match lines.as_slice() {
        [_, _, ..] => lines.join("\n"),
        [] | [_] => unwrapped(cell),
    }
}

/// Words for a piece; common practice, no source.
const PIECES: [&str; 44] = [
    "x", "×", "*", "pc", "pcs", "pc.", "pcs.", "piece", "pieces", "ea", "ea.", "each", "unit", "units", "st", "st.",
    "stk", "stk.", "stück", "stücke", "stueck", "pce", "pces", "pièce", "pièces", "piece(s)", "pz", "pz.", "pezzo",
    "pezzi", "ud", "uds", "ud.", "uds.", "unidad", "unidades", "stuk", "stuks", "szt", "szt.", "sztuka", "sztuki",
    "sztuk", "個",
];

/// Whether a word, in small letters, says no more than that things are counted.
pub(super) fn is_piece(word: &str) -> bool {
    PIECES.contains(&word) || matches!(word, "点" | "枚" | "本")
}

/// A whole number of things, from 1 to 9999: "2", "2.0", "2x", "x2", "2 pcs". Grouped thousands are refused: `2,000`
/// is two pieces as likely as two thousand.
pub(super) fn quantity(text: &str) -> Result<u32, String> {
    let text = narrow(text).trim().to_lowercase();
    let signed = text.strip_prefix(['x', '×', '*']);
    let figures = signed.unwrap_or(&text).trim_start();
    let end = figures.find(|c: char| !c.is_ascii_digit()).unwrap_or(figures.len());
    let (whole, rest) = figures.split_at_checked(end).unwrap_or_default();
    let zeros = [".00", ",00", ".0", ",0"].iter().find_map(|zeros| rest.strip_prefix(zeros));
    let rest = zeros.filter(|rest| !rest.starts_with(|c: char| c.is_ascii_digit())).unwrap_or(rest).trim();
    match whole.parse() {
        Ok(count @ 1..=9999) if rest.is_empty() || (signed.is_none() && is_piece(rest)) => Ok(count),
        Ok(_) | Err(_) => Err("is not a quantity; write a whole number such as 2".to_owned()),
    }
}

/// A number that a spreadsheet shortened, such as `1.23E+11`, has lost digits: it names no order any more.
pub(super) fn is_spoilt(text: &str) -> bool {
    let Some((mantissa, exponent)) = text.split_once(['E', 'e']) else { return false };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    digits(mantissa) && exponent.strip_prefix('+').is_some_and(digits)
}

/// Digits that a spreadsheet's number keeps (IEEE 754 binary64; ECMA-376 part 1, section 18.3.1.96, leaves it to the
/// program, and those in use keep 15; common practice, no source): of a longer number, the rest became zeros.
const KEPT_DIGITS: usize = 15;

/// Whether long numbers of a column were rounded: each has zeros only behind the 15th digit, and there are zeros
/// enough, over all of them, that it can't be chance.
pub(super) fn are_rounded<'c>(cells: impl IntoIterator<Item = &'c str>) -> bool {
    let is_long = |cell: &&str| cell.len() > KEPT_DIGITS && cell.bytes().all(|b| b.is_ascii_digit());
    let long: BTreeSet<&str> = cells.into_iter().filter(is_long).collect();
    let zeros = |cell: &&str| cell.get(KEPT_DIGITS..).filter(|tail| tail.bytes().all(|b| b == b'0')).map(str::len);
    // One chance in a thousand, were they numbers as they should be.
    long.iter().map(zeros).sum::<Option<usize>>().is_some_and(|zeros| zeros >= 3)
}

/// Whether such a number is one of those that [`are_rounded`] speaks of.
pub(super) fn is_long_number(text: &str) -> bool {
    text.len() > KEPT_DIGITS && text.bytes().all(|b| b.is_ascii_digit())
}

/// `1001` of `1001.0`, which is what a program made of it that took a column of numbers for amounts.
pub(super) fn without_fraction(text: &str) -> Option<&str> {
    let whole = text.strip_suffix(".0").or_else(|| text.strip_suffix(",0")).or_else(|| text.strip_suffix(".00"))?;
    Some(whole).filter(|whole| !whole.is_empty() && whole.bytes().all(|b| b.is_ascii_digit()))
}

/// What a spreadsheet shows where a formula failed (`OpenDocument` 1.2 part 2, section 5.12; and `#NULL!`, from memory).
pub(super) fn is_error(text: &str) -> bool {
    ["#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!"].contains(&text.trim())
}

/// Words for yes in the languages of the exports, and for what a column of presents is about; common practice, no
/// source.
const YES: [&str; 46] = [
    "yes",
    "y",
    "true",
    "on",
    "1",
    "x",
    "✓",
    "✔",
    "✅",
    "☑",
    "☒",
    "ok",
    "ja",
    "j",
    "wahr",
    "oui",
    "o",
    "vrai",
    "sí",
    "si",
    "s",
    "sì",
    "sim",
    "verdadero",
    "verdadeiro",
    "vero",
    "tak",
    "t",
    "prawda",
    "waar",
    "sant",
    "はい",
    "是",
    "有",
    "gift",
    "a gift",
    "present",
    "a present",
    "geschenk",
    "cadeau",
    "regalo",
    "presente",
    "prezent",
    "gåva",
    "separate",
    "apart",
];

/// Words for no.
const NO: [&str; 49] = [
    "no",
    "n",
    "none",
    "false",
    "off",
    "0",
    "0.00",
    "0,00",
    "-",
    "--",
    "–",
    "—",
    "/",
    "n/a",
    "n.a",
    "na",
    "n.a.",
    "n. a.",
    "nil",
    "null",
    "nein",
    "falsch",
    "keins",
    "keine",
    "non",
    "faux",
    "aucun",
    "ninguno",
    "falso",
    "nessuno",
    "não",
    "nao",
    "nee",
    "onwaar",
    "geen",
    "nie",
    "brak",
    "fałsz",
    "nej",
    "いいえ",
    "なし",
    "否",
    "無",
    "✗",
    "✘",
    "❌",
    "☐",
    "not",
    "together",
];

/// Words that turn the word for a present round: `not a gift`, `kein Geschenk`.
const NOT_A: [&str; 14] = [
    "not a ",
    "no ",
    "not ",
    "isn't a ",
    "kein ",
    "keine ",
    "pas un ",
    "pas de ",
    "sin ",
    "no es ",
    "non è un ",
    "geen ",
    "nie ",
    "não é ",
];

/// Yes or no. What is neither is refused: a gift parcel carries no prices, so that a wrong yes costs little and a wrong
/// no shows a present's price to whoever gets it; and as nobody can tell which `maybe` is, the seller says.
pub(super) fn is_yes(text: &str) -> Result<bool, String> {
    let word = narrow(text).trim().trim_end_matches(['.', '!']).to_lowercase();
    let word = word.as_str();
    if word.is_empty() || NO.contains(&word) {
        return Ok(false);
    }
    if YES.contains(&word) {
        return Ok(true);
    }
    if NOT_A.iter().filter_map(|not| word.strip_prefix(not)).any(|rest| YES.contains(&rest)) {
        return Ok(false);
    }
    Err("is neither yes nor no; write yes or no".to_owned())
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
            ("２", 2),
            ("2 ×", 2),
            ("× 2", 2),
            ("2,0 Stk.", 2),
            ("2 uds.", 2),
            ("3 sztuki", 3),
            ("２個", 2),
            ("1.00 pcs", 1),
            ("002", 2),
        ] {
            assert_eq!(quantity(text), Ok(count), "{text}");
        }
        for text in [
            "two",
            "0",
            "-1",
            "1.5",
            "2 kg",
            "10000",
            "99999999999",
            "1,000",
            "1.000",
            "",
            "x",
            "2 x A",
            "#N/A",
            "2.01",
            "2,000",
            "2.05 pcs",
            "x2x",
            "-2",
            "(2)",
            "2-3",
            "2+1",
            "½",
            "2²",
            "0.0",
            "00",
        ] {
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
    fn long_numbers_are_rounded_where_all_of_them_end_in_zeros() {
        assert!(are_rounded(["1234567890123450000", "1001"]));
        assert!(are_rounded(["1234567890123450", "1234567890123460", "1234567890123470"]));
        // One zero may be chance, the same number again is no more proof, and one without zeros proves the contrary.
        assert!(!are_rounded(["1234567890123450", "1234567890123450", "1234567890123450"]));
        assert!(!are_rounded(["1234567890123450000", "1234567890123456789"]));
        assert!(!are_rounded(["100000000000000", "A234567890123450000"]));
        assert!(!are_rounded([]));
    }

    #[test]
    fn a_fraction_of_nothing_comes_off() {
        assert_eq!(
            ["1001.0", "1001,0", "1001.00", "1001.5", "A1.0", ".0", "1.2.0"].map(without_fraction),
            [Some("1001"), Some("1001"), Some("1001"), None, None, None, None]
        );
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
    fn yes_and_no_are_known_words_and_nothing_else() {
        for yes in ["yes", "1", "x", "Ja", "TRUE", "Gift", "oui", "Sí", "Yes!", "✓"] {
            assert_eq!(is_yes(yes), Ok(true), "{yes}");
        }
        for no in
            ["", "No", "0", "FALSE", "nein", "-", "none", "n/a", "N/A", "not a gift", "kein Geschenk", "なし", "n.a."]
        {
            assert_eq!(is_yes(no), Ok(false), "{no}");
        }
        for neither in ["maybe", "?", "2", "ask her", "yes or no"] {
            assert!(is_yes(neither).is_err(), "{neither}");
        }
    }
}
