//! How a table writes its numbers and days, told from all cells of its columns together.
//!
//! Handed the cells; promises a style that every one of them allows and that at least one demands, or where none
//! does, says so. Turned down: the style of most cells, by which the others would be read as something else.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::inbox::{dates, numbers};
use crate::model::drop::DateOrder;
use crate::model::money::Currency;

use crate::inbox::ReadRules;

/// What the cells say of the decimal sign.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Decimal {
    /// This one: some cell demands it, or they read alike by both.
    Is(char),
    /// They read by both, and not alike: such a cell.
    Unsaid(String),
    /// One cell demands the point, the other the comma.
    Both(String, String),
}

/// The decimal sign of amounts, each with its currency. A cell demands one where by the other it is no number: `4.50`
/// and `1,250.00`. `1.250` alone is both; only with its currency beside it, or in one without smaller coins, can it
/// be no fraction of a coin (ISO 4217, minor unit).
pub(super) fn decimal(cells: impl Iterator<Item = (String, Currency)>) -> Decimal {
    let mut demanded: BTreeMap<char, String> = BTreeMap::new();
    let mut open = None;
    for (text, currency) in cells {
        // Nobody groups behind a zero: `0.125` is less than one.
        let is_grouped_zero = |decimal: char| {
            let mut figures = text.chars().skip_while(|c| !c.is_ascii_digit());
            figures.next() == Some('0') && figures.next().is_some_and(|c| matches!(c, '.' | ',') && c != decimal)
        };
        let read = |decimal| {
            let money = numbers::money(&text, decimal, currency).ok()?;
            Some(money.amount).filter(|_| !is_grouped_zero(decimal))
        };
        let digits = currency.minor_digits();
        let is_coin = |amount: rust_decimal::Decimal| amount.scale() <= digits;
        // Money as money is written has no fraction of a coin; a bare number may.
        let is_money = digits == 0 || names_money(&text);
        let demands = match (read('.'), read(',')) {
            (Some(_), None) => Some('.'),
            (None, Some(_)) => Some(','),
            (Some(one), Some(other)) if one != other => match (is_coin(one), is_coin(other)) {
                (true, false) if is_money => Some('.'),
                (false, true) if is_money => Some(','),
                (true | false, true | false) => {
                    open.get_or_insert_with(|| text.clone());
                    None
                }
            },
            (Some(_), Some(_)) | (None, None) => None,
        };
        if let Some(sign) = demands {
            demanded.entry(sign).or_insert(text);
        }
    }
    match (demanded.remove(&'.'), demanded.remove(&','), open) {
        (Some(point), Some(comma), _) => Decimal::Both(point, comma),
        (Some(_), None, _) | (None, None, None) => Decimal::Is('.'),
        (None, Some(_), _) => Decimal::Is(','),
        (None, None, Some(text)) => Decimal::Unsaid(text),
    }
}

/// Whether anything stands in the cell beside figures and what may stand between and around them: a sign, a code.
fn names_money(text: &str) -> bool {
    text.chars().any(|c| c.is_alphabetic() || c == '$' || !(c.is_ascii() || c.is_whitespace() || is_mark(c)))
}

/// A minus, or a mark between groups, in other letters than ASCII's.
fn is_mark(c: char) -> bool {
    numbers::is_minus(c) || matches!(c, '’' | '，' | '．') || c.is_numeric()
}

/// What the cells say of the order of day, month and year.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Days {
    /// This one: some cell demands it, or they read alike by all.
    Is(DateOrder),
    /// Every cell reads with the day first and with the month first, and this one as two days.
    Unsaid { cell: String, day_first: Date, month_first: Date },
    /// One cell demands the day first, the other the month.
    Both(String, String),
}

/// The order of day and month in days. Cells that are no day in any order demand nothing: their rows are refused.
pub(super) fn days(cells: impl Iterator<Item = String>, rules: &ReadRules<'_>) -> Days {
    let mut unsaid = None;
    let (mut day_first, mut month_first) = (None, None);
    let mut otherwise = DateOrder::Ymd;
    for cell in cells {
        let read = |order| dates::date(&cell, order, rules.time_zone).ok();
        match (read(DateOrder::Dmy), read(DateOrder::Mdy)) {
            (Some(one), Some(other)) if one == other => {
                // `3/3/2026` has no year in front, and is the same day by both others.
                if read(DateOrder::Ymd) != Some(one) {
                    otherwise = DateOrder::Dmy;
                }
            }
            // Points stand between day and month only where the day comes first.
            (Some(_), Some(_)) if is_dotted(&cell) => {
                day_first.get_or_insert(cell);
            }
            (Some(one), Some(other)) => {
                unsaid.get_or_insert((cell, one, other));
            }
            (Some(_), None) => {
                day_first.get_or_insert(cell);
            }
            (None, Some(_)) => {
                month_first.get_or_insert(cell);
            }
            (None, None) => {}
        }
    }
    match (day_first, month_first, unsaid) {
        (Some(one), Some(other), _) => Days::Both(one, other),
        (Some(_), None, _) => Days::Is(DateOrder::Dmy),
        (None, Some(_), _) => Days::Is(DateOrder::Mdy),
        (None, None, Some((cell, day_first, month_first))) => Days::Unsaid { cell, day_first, month_first },
        (None, None, None) => Days::Is(otherwise),
    }
}

/// Points alone between the figures of the day (CLDR, short date formats; from memory).
fn is_dotted(text: &str) -> bool {
    let day = text.split_whitespace().next().unwrap_or_default();
    day.matches('.').count() >= 2 && day.bytes().all(|b| b.is_ascii_digit() || b == b'.')
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::inbox::test_home::rules;

    fn sign(code: &str, cells: &[&str]) -> Decimal {
        let currency: Currency = code.parse().unwrap();
        decimal(cells.iter().map(|cell| ((*cell).to_owned(), currency)))
    }

    // Minor units: ISO 4217, through the iso_currency crate.
    #[test]
    fn a_cell_decides_the_sign_only_where_the_other_reading_has_no_such_coin() {
        for (code, cells, sign_is) in [
            ("USD", &["4.50", "12"][..], '.'),
            ("USD", &["1,234", "12.5"], '.'),
            ("USD", &["$1,234", "12"], '.'),
            ("USD", &["1.250", "1,250.00"], '.'),
            ("USD", &["1,234,567"], '.'),
            ("EUR", &["4,50"], ','),
            ("EUR", &["1.234 €"], ','),
            ("EUR", &["1.234", "7,5"], ','),
            ("EUR", &["1.234,56 €", "12"], ','),
            ("EUR", &["1'234.50"], '.'),
            ("EUR", &["1 234,5"], ','),
            ("JPY", &["1,200"], '.'),
            ("JPY", &["1.200"], ','),
            ("USD", &["12", "7"], '.'),
            ("USD", &["0.125"], '.'),
            ("USD", &[], '.'),
        ] {
            assert_eq!(sign(code, cells), Decimal::Is(sign_is), "{code} {cells:?}");
        }
        // One group of three behind one sign: a thousand and more, or one and a fraction.
        for (code, cells) in [("USD", &["1.250", "1.500"][..]), ("USD", &["12", "1,234"]), ("EUR", &["1.234"])] {
            assert!(matches!(sign(code, cells), Decimal::Unsaid(_)), "{code} {cells:?}");
        }
        // A dinar has a thousand fils.
        assert_eq!(sign("KWD", &["1,234"]), Decimal::Unsaid("1,234".into()));
        assert_eq!(sign("KWD", &["1,234", "2.500,000"]), Decimal::Is(','));
        assert_eq!(sign("USD", &["4.50", "12", "4,50"]), Decimal::Both("4.50".into(), "4,50".into()));
    }

    fn order(cells: &[&str]) -> Days {
        days(cells.iter().map(|cell| (*cell).to_owned()), &rules(&[]))
    }

    #[test]
    fn days_are_decided_by_all_cells_together() {
        for (cells, is) in [
            (&["25/11/2026", "03/04/2026"][..], DateOrder::Dmy),
            (&["03/04/2026", "11/25/2026"], DateOrder::Mdy),
            (&["2026-11-25", "2026/01/02"], DateOrder::Ymd),
            (&["03.04.2026"], DateOrder::Dmy),
            // The same day by any order that can read it.
            (&["03/03/2026", "11/11/2026"], DateOrder::Ymd),
            (&["03/03/26", "11/11/2026"], DateOrder::Dmy),
            (&["3/3/26", "2026-11-25"], DateOrder::Dmy),
            (&["3/3/2026", "11/25/2026"], DateOrder::Mdy),
            (&["25 Nov 2026", "2026-11-25T08:00:00Z"], DateOrder::Ymd),
            (&["25 Nov 2026", "11/25/26"], DateOrder::Mdy),
            (&["25/11/2026", "soon"], DateOrder::Dmy),
            (&[], DateOrder::Ymd),
        ] {
            assert_eq!(order(cells), Days::Is(is), "{cells:?}");
        }
        let (day_first, month_first) = (date(2026, 4, 3), date(2026, 3, 4));
        assert_eq!(
            order(&["3/3/2026", "03/04/2026", "2026-11-25"]),
            Days::Unsaid { cell: "03/04/2026".into(), day_first, month_first }
        );
        assert_eq!(order(&["25/11/2026", "11/25/2026"]), Days::Both("25/11/2026".into(), "11/25/2026".into()));
    }
}
