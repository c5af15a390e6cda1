//! Numbers and amounts of money as people and programs write them.
//!
//! Handed a cell and, where a map says it, the decimal sign; promises one reading or none. Grouping is taken
//! strictly (groups of three, one sign throughout), because `12,5` in a source that writes points is a mistake and
//! not 125. Turned down: reading whichever style fits the single cell, which makes 1.234 out of 1,234 in silence.

use rust_decimal::Decimal;

use crate::model::money::{Currency, Money};

/// Digits before and after the decimal sign that a cell may have: more is no price and no weight, and products of
/// such numbers would no longer be exact.
const MOST_DIGITS: (usize, usize) = (12, 8);

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn is_minus(c: char) -> bool {
    matches!(c, '-' | '\u{2212}')
}

/// A decimal number with `decimal` as its sign and, before it, groups of three set apart by the other sign, a
/// space or an apostrophe. Parentheses, and a minus on either side, make it negative.
pub(super) fn number(text: &str, decimal: char) -> Option<Decimal> {
    let text = text.trim();
    let inner = text.strip_prefix('(').and_then(|rest| rest.strip_suffix(')'));
    let minus = text.strip_prefix(is_minus).or_else(|| text.strip_suffix(is_minus));
    let (negative, figures) = match (inner, minus) {
        (Some(inner), _) => (true, inner),
        (None, Some(rest)) => (true, rest),
        (None, None) => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, fraction) = figures.rsplit_once(decimal).map_or((figures, None), |(a, b)| (a, Some(b)));
    let whole = ungrouped(whole.trim(), decimal)?;
    if fraction.is_some_and(|digits| !is_digits(digits) || digits.len() > MOST_DIGITS.1) || whole.len() > MOST_DIGITS.0
    {
        return None;
    }
    let value: Decimal = match fraction {
        Some(fraction) => format!("{whole}.{fraction}"),
        None => whole,
    }
    .parse()
    .ok()?;
    Some(if negative { -value } else { value })
}

fn ungrouped(whole: &str, decimal: char) -> Option<String> {
    let Some(mark) = whole.chars().find(|c| !c.is_ascii_digit()) else {
        return Some(whole.to_owned()).filter(|whole| is_digits(whole));
    };
    let known = [if decimal == ',' { '.' } else { ',' }, ' ', '\u{A0}', '\u{202F}', '\u{2009}', '\'', '\u{2019}'];
    let mut groups = whole.split(mark);
    let first = groups.next().filter(|first| is_digits(first) && first.len() <= 3)?;
    let rest: Vec<&str> = groups.collect();
    let fits = known.contains(&mark) && rest.iter().all(|group| is_digits(group) && group.len() == 3);
    fits.then(|| format!("{first}{}", rest.concat()))
}

/// A number whose decimal sign isn't known: only where one style reads it, or both alike.
pub(super) fn number_in_some_style(text: &str) -> Result<Decimal, String> {
    match (number(text, '.'), number(text, ',')) {
        (Some(one), Some(other)) if one != other => {
            Err(format!("could be {one} or {other}; write it without a sign between thousands"))
        }
        (Some(value), _) | (None, Some(value)) => Ok(value),
        (None, None) => Err("is not a number; write it as 12.50".to_owned()),
    }
}

/// An amount taken apart: the words before and after its figures, and the figures with their sign.
struct Parts<'t> {
    words: [&'t str; 2],
    figures: &'t str,
    negative: bool,
}

impl<'t> Parts<'t> {
    fn of(text: &'t str) -> Option<Self> {
        let text = text.trim();
        let first = text.find(|c: char| c.is_ascii_digit())?;
        let last = text.rfind(|c: char| c.is_ascii_digit())? + 1;
        let (mut before, mut after) = (text.get(..first)?.trim(), text.get(last..)?.trim());
        let mut negative = false;
        if let (Some(rest), Some(other)) = (before.strip_prefix('('), after.strip_suffix(')')) {
            (before, after, negative) = (rest.trim(), other.trim(), true);
        }
        let minus = [before.strip_prefix(is_minus), before.strip_suffix(is_minus)].into_iter().flatten().next();
        if let Some(rest) = minus.filter(|_| !negative) {
            (before, negative) = (rest.trim(), true);
        }
        let minus = [after.strip_prefix(is_minus), after.strip_suffix(is_minus)].into_iter().flatten().next();
        if let Some(rest) = minus.filter(|_| !negative) {
            (after, negative) = (rest.trim(), true);
        }
        Some(Self { words: [before, after], figures: text.get(first..last)?, negative })
    }

    fn words(&self) -> impl Iterator<Item = &'t str> {
        self.words.into_iter().filter(|word| !word.is_empty())
    }

    fn is_of(&self, currency: Currency) -> bool {
        self.words()
            .all(|word| word.eq_ignore_ascii_case(currency.code()) || codes_of_sign(word).contains(&currency.code()))
    }

    fn signed(&self, value: Decimal) -> Decimal {
        if self.negative { -value } else { value }
    }
}

/// An amount with its currency's sign or code on either side, which must be that of `currency`.
pub(super) fn money(text: &str, decimal: char, currency: Currency) -> Result<Money, String> {
    let wrong = || format!("is not an amount; this source writes 12{decimal}50, by `decimal` in its map");
    let parts = Parts::of(text).ok_or_else(wrong)?;
    if !parts.is_of(currency) {
        return Err(format!("is not an amount in {currency}; write it as 12{decimal}50"));
    }
    let value = number(parts.figures, decimal).ok_or_else(wrong)?;
    Ok(Money::new(parts.signed(value), currency))
}

/// As [`money`], where the decimal sign isn't known.
pub(super) fn money_in_some_style(text: &str, currency: Currency) -> Result<Money, String> {
    let parts = Parts::of(text).ok_or_else(|| "is not an amount; write it as 5.25".to_owned())?;
    if !parts.is_of(currency) {
        return Err(format!("is not an amount in {currency}; write it as 5.25"));
    }
    number_in_some_style(parts.figures).map(|value| Money::new(parts.signed(value), currency))
}

/// The one currency that the words of an amount name; `None` where they name none, or a sign that several share.
pub(super) fn currency_in(text: &str) -> Option<Currency> {
    Parts::of(text)?.words().find_map(|word| match codes_of_sign(word) {
        [code] => code.parse().ok(),
        [] => word.parse().ok(),
        [_, _, ..] => None,
    })
}

/// Currencies that a sign may stand for; common practice, no source.
fn codes_of_sign(sign: &str) -> &'static [&'static str] {
    match sign {
        "$" => &["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"],
        "US$" => &["USD"],
        "C$" | "CA$" => &["CAD"],
        "A$" | "AU$" => &["AUD"],
        "NZ$" => &["NZD"],
        "€" => &["EUR"],
        "£" => &["GBP"],
        "¥" | "￥" => &["JPY", "CNY"],
        "円" => &["JPY"],
        "zł" => &["PLN"],
        "kr" | "kr." => &["SEK", "NOK", "DKK"],
        "Fr." | "SFr." => &["CHF"],
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn numbers_are_read_in_the_style_of_the_source_and_in_no_other() {
        for (text, decimal, value) in [
            ("1.234,56", ',', dec!(1234.56)),
            ("1,234.56", '.', dec!(1234.56)),
            ("1 234,56", ',', dec!(1234.56)),
            ("1\u{A0}234,5", ',', dec!(1234.5)),
            ("1\u{202F}234\u{202F}567", ',', dec!(1234567)),
            ("1'234.50", '.', dec!(1234.50)),
            ("1\u{2019}234.50", '.', dec!(1234.50)),
            ("(4.10)", '.', dec!(-4.10)),
            ("4,10-", ',', dec!(-4.10)),
            ("\u{2212}4,10", ',', dec!(-4.10)),
            ("12", '.', dec!(12)),
        ] {
            assert_eq!(number(text, decimal), Some(value), "{text}");
        }
        let wrong = [
            ("12,5", '.'),
            ("1.23", ','),
            ("1,2345.00", '.'),
            ("1.234 567,00", ','),
            ("1,,234", '.'),
            ("--4", '.'),
            ("(-4)", '.'),
            ("4.", '.'),
            ("", '.'),
            ("abc", '.'),
            ("1234567890123", '.'),
            ("0.123456789", '.'),
        ];
        for (text, decimal) in wrong {
            assert_eq!(number(text, decimal), None, "{text}");
        }
    }

    #[test]
    fn a_number_of_unknown_style_is_only_read_where_both_styles_agree() {
        assert_eq!(number_in_some_style("1,9"), Ok(dec!(1.9)));
        assert_eq!(number_in_some_style("1.9"), Ok(dec!(1.9)));
        assert_eq!(number_in_some_style("12"), Ok(dec!(12)));
        assert_eq!(
            number_in_some_style("1,900").unwrap_err(),
            "could be 1900 or 1.900; write it without a sign between thousands"
        );
    }

    #[test]
    fn money_carries_its_own_currency_or_none() {
        let eur: Currency = "EUR".parse().unwrap();
        let usd = |text| money(text, '.', Currency::USD).map(|money| money.amount);
        assert_eq!(money("12,50 €", ',', eur).unwrap().amount, dec!(12.50));
        assert_eq!(money("EUR 12,50", ',', eur).unwrap().amount, dec!(12.50));
        assert_eq!(usd("$1,200.00"), Ok(dec!(1200)));
        assert_eq!(usd("$12 USD"), Ok(dec!(12)));
        for text in ["-$12.00", "$-12.00", "($12.00)", "12.00-", "12.00 USD-", "\u{2212}$12.00"] {
            assert_eq!(usd(text), Ok(dec!(-12)), "{text}");
        }
        for text in ["12.50 £", "12 USD 5", "C$ 12", "$", "", "two", "12 or so"] {
            assert!(usd(text).is_err(), "{text}");
        }
        assert_eq!(
            money("12.50", ',', eur).unwrap_err(),
            "is not an amount; this source writes 12,50, by `decimal` in its map"
        );
    }

    #[test]
    fn a_sign_that_several_currencies_share_names_none() {
        assert_eq!(currency_in("12,50 €").map(Currency::code), Some("EUR"));
        assert_eq!(currency_in("GBP 4").map(Currency::code), Some("GBP"));
        assert_eq!(currency_in("$4"), None);
        assert_eq!(currency_in("4"), None);
    }
}
