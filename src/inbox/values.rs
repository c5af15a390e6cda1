//! Values of cells: money, quantities, dates, order numbers. Each either reads in one way or says why not.

use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use rust_decimal::Decimal;

use crate::model::drop::DateOrder;
use crate::model::money::{Currency, Money};
use crate::model::text::one_line;

/// A cell with the wrappings off that spreadsheets put round text: `="00123"`, a leading `'`.
pub(super) fn unwrapped(cell: &str) -> String {
    let cell = one_line(cell);
    let inner = cell.strip_prefix("=\"").and_then(|rest| rest.strip_suffix('"'));
    inner.or_else(|| cell.strip_prefix('\'')).unwrap_or(&cell).to_owned()
}

/// A decimal number with `decimal` as its sign and, before it, groups of three set apart by the other sign, a
/// space or an apostrophe.
pub(super) fn number(text: &str, decimal: char) -> Option<Decimal> {
    let text = text.trim();
    let (negative, text) =
        match (text.strip_prefix('(').and_then(|t| t.strip_suffix(')')), text.strip_prefix(['-', '−'])) {
            (Some(inner), _) => (true, inner),
            (None, Some(rest)) => (true, rest),
            (None, None) => text.strip_suffix(['-', '−']).map_or((false, text), |rest| (true, rest)),
        };
    let (whole, fraction) = match text.rsplit_once(decimal) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (text, None),
    };
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if fraction.is_some_and(|fraction| !is_digits(fraction)) {
        return None;
    }
    let other = if decimal == ',' { '.' } else { ',' };
    let groups: Vec<&str> = whole.split([other, ' ', '\u{A0}', '\u{202F}', '\u{2009}', '\'', '’']).collect();
    let grouped = match groups.as_slice() {
        [one] => is_digits(one),
        [first, rest @ ..] => {
            is_digits(first) && first.len() <= 3 && rest.iter().all(|group| is_digits(group) && group.len() == 3)
        }
        [] => false,
    };
    if !grouped {
        return None;
    }
    let plain = format!("{}.{}", groups.concat(), fraction.unwrap_or("0"));
    let value: Decimal = plain.parse().ok()?;
    let value = if fraction.is_none() { value.trunc() } else { value };
    Some(if negative { -value } else { value })
}

/// An amount with its currency's sign or code on either side, which must be that of `currency`.
pub(super) fn money(text: &str, decimal: char, currency: Currency) -> Result<Money, String> {
    let text = text.trim();
    let is_figure = |c: char| c.is_ascii_digit() || "().,-−'’".contains(c) || c.is_whitespace();
    let figures: String = text.chars().filter(|c| is_figure(*c)).collect();
    let word: String = text.chars().filter(|c| !is_figure(*c)).collect();
    // Only the same word throughout: "12 USD", "$12", but never "12 USD 5".
    let in_place = text.starts_with(&word) || text.ends_with(&word);
    let fits = word.is_empty()
        || word.eq_ignore_ascii_case(currency.code())
        || currency_sign(&word).is_some_and(|codes| codes.contains(&currency.code()));
    if !fits || !in_place {
        return Err(format!("is not an amount in {currency}; write it as {}", example(decimal)));
    }
    number(&figures, decimal)
        .map(|amount| Money::new(amount, currency))
        .ok_or_else(|| format!("is not an amount; this source writes {}, by `decimal` in its map", example(decimal)))
}

fn example(decimal: char) -> String {
    format!("12{decimal}50")
}

/// Currencies that a sign may stand for.
fn currency_sign(sign: &str) -> Option<&'static [&'static str]> {
    match sign {
        "$" => Some(&["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"]),
        "€" => Some(&["EUR"]),
        "£" => Some(&["GBP"]),
        "¥" | "円" => Some(&["JPY", "CNY"]),
        "zł" => Some(&["PLN"]),
        "kr" => Some(&["SEK", "NOK", "DKK"]),
        _ => None,
    }
}

/// A whole number of things, at least 1: "2", "2.0", "2x", "2 pcs".
pub(super) fn quantity(text: &str) -> Result<u32, String> {
    let plain = text.trim();
    let word = |c: char| c.is_alphabetic() || "×. ".contains(c);
    let digits = plain.trim_end_matches(word);
    let unit = plain.get(digits.len()..).unwrap_or_default().trim().to_lowercase();
    let known =
        ["", "x", "×", "pc", "pcs", "pcs.", "st", "stk", "stk.", "pièces", "szt", "szt."].contains(&unit.as_str());
    let value = number(digits, '.').or_else(|| number(digits, ','));
    match value
        .filter(|value| known && value.fract().is_zero())
        .and_then(|value| u32::try_from(value.trunc().mantissa()).ok())
    {
        Some(count @ 1..=9999) => Ok(count),
        Some(_) | None => Err("is not a quantity; write a whole number such as 2".to_owned()),
    }
}

/// A day in the order the source writes it, or as ISO 8601; a time of day with an offset counts in `zone`.
pub(super) fn date(text: &str, order: DateOrder, zone: &TimeZone) -> Result<Date, String> {
    let text = text.trim();
    let local = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    if let Ok(zoned) = text.parse::<ZonedDateTime>() {
        return Ok(local(zoned.timestamp()));
    }
    if let Ok(at) = text.parse::<Timestamp>() {
        return Ok(local(at));
    }
    if let Ok(at) = text.parse::<DateTime>() {
        return Ok(at.date());
    }
    let day = text.split([' ', 'T']).next().unwrap_or_default().trim_end_matches(',');
    let parts: Vec<&str> = day.split(['/', '.', '-']).map(str::trim).collect();
    let wrong = || {
        let form = match order {
            DateOrder::Dmy => "day.month.year",
            DateOrder::Mdy => "month/day/year",
            DateOrder::Ymd => "year-month-day",
        };
        format!("is not a date; this source writes {form}, by `dates` in its map")
    };
    let [a, b, c] = parts.as_slice() else { return Err(wrong()) };
    let (year, month, day) = match order {
        DateOrder::Dmy => (c, b, a),
        DateOrder::Mdy => (c, a, b),
        DateOrder::Ymd => (a, b, c),
    };
    let number = |text: &str| text.parse::<i16>().ok();
    let year = match (year.len(), number(year)) {
        (4, Some(year)) => Some(year),
        (2, Some(year)) => Some(2000 + year),
        _ => None,
    };
    year.zip(number(month).zip(number(day)))
        .and_then(|(year, (month, day))| Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok())
        .ok_or_else(wrong)
}

/// A number that a spreadsheet shortened, such as `1.23E+11`, has lost digits: it names no order any more.
pub(super) fn is_spoilt(text: &str) -> bool {
    let Some((mantissa, exponent)) = text.split_once(['E', 'e']) else { return false };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    digits(mantissa) && exponent.strip_prefix('+').is_some_and(digits)
}

/// Yes, unless the cell is empty or says no.
pub(super) fn is_yes(text: &str) -> bool {
    !["", "no", "n", "false", "0", "nein", "non", "nee", "nie"].contains(&text.trim().to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date as day;
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn numbers_are_read_in_the_style_of_the_source_and_in_no_other() {
        for (text, decimal, value) in [
            ("1.234,56", ',', dec!(1234.56)),
            ("1,234.56", '.', dec!(1234.56)),
            ("1\u{A0}234,5", ',', dec!(1234.5)),
            ("1'234.50", '.', dec!(1234.50)),
            ("(4.10)", '.', dec!(-4.10)),
            ("4,10-", ',', dec!(-4.10)),
            ("12", '.', dec!(12)),
        ] {
            assert_eq!(number(text, decimal), Some(value), "{text}");
        }
        for (text, decimal) in [("12,5", '.'), ("1.23", ','), ("1,2345.00", '.'), ("", '.'), ("abc", '.')] {
            assert_eq!(number(text, decimal), None, "{text}");
        }
    }

    #[test]
    fn money_carries_its_own_currency_or_none() {
        let eur: Currency = "EUR".parse().unwrap();
        assert_eq!(money("12,50 €", ',', eur).unwrap().amount, dec!(12.50));
        assert_eq!(money("$1,200.00", '.', Currency::USD).unwrap().amount, dec!(1200));
        assert!(money("12,50 £", ',', eur).is_err());
        assert!(money("12 USD 5", '.', Currency::USD).is_err());
    }

    #[test]
    fn quantities_are_small_whole_numbers() {
        for (text, count) in [("2", 2), ("2.0", 2), ("2x", 2), ("3 pcs", 3)] {
            assert_eq!(quantity(text), Ok(count), "{text}");
        }
        for text in ["two", "0", "-1", "1.5", "2 kg", "99999999"] {
            assert!(quantity(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_moment_counts_in_the_sellers_zone() {
        let zone = TimeZone::get("America/New_York").unwrap();
        assert_eq!(date("2026-11-25T03:00:00Z", DateOrder::Mdy, &zone), Ok(day(2026, 11, 24)));
        assert_eq!(date("25.11.2026 08:15", DateOrder::Dmy, &zone), Ok(day(2026, 11, 25)));
        assert_eq!(date("11/25/2026", DateOrder::Mdy, &zone), Ok(day(2026, 11, 25)));
        assert!(date("25/11/2026", DateOrder::Mdy, &zone).is_err());
    }

    #[test]
    fn a_shortened_number_is_known_for_one() {
        assert!(is_spoilt("1.23E+11"));
        assert!(!is_spoilt("E-1001"));
        assert_eq!(unwrapped("=\"00123\""), "00123");
        assert_eq!(unwrapped("'007"), "007");
    }
}
