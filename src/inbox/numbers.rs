//! Numbers and amounts of money as people and programs write them.
//!
//! Handed a cell and, where a map says it, the decimal sign; promises one reading or none. Grouping is taken
//! strictly (groups of three, one sign throughout), because `12,5` in a source that writes points is a mistake and
//! not 125. Turned down: reading whichever style fits the single cell, which makes 1.234 out of 1,234 in silence.

use rust_decimal::Decimal;

use crate::model::money::{Currency, Money};
use crate::model::text::narrow;

use super::signs;

/// Digits before and after the decimal sign that a cell may have: more is no price and no weight, and products of
/// such numbers would no longer be exact. What is read is so within [`Money::BOUND`].
const MOST_DIGITS: (usize, usize) = (12, 8);

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

/// Hyphen-minus, minus, and what word processors and fonts make of them (Unicode Standard, section 6.2, dashes).
pub(super) fn is_minus(c: char) -> bool {
    matches!(c, '-' | '\u{2010}'..='\u{2013}' | '\u{2212}' | '\u{207B}')
}

/// A decimal number with `decimal` as its sign and, before it, groups of three set apart by the other sign, a
/// space or an apostrophe. Parentheses, and a minus on either side, make it negative.
pub(super) fn number(text: &str, decimal: char) -> Option<Decimal> {
    let text = narrow(text);
    let text = text.trim();
    let inner = text.strip_prefix('(').and_then(|rest| rest.strip_suffix(')'));
    let minus = text.strip_prefix(is_minus).or_else(|| text.strip_suffix(is_minus));
    let (negative, figures) = match (inner, minus) {
        (Some(inner), _) => (true, inner),
        (None, Some(rest)) => (true, rest),
        (None, None) => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let value = unsigned(figures.trim(), decimal)?;
    Some(if negative { -value } else { value })
}

fn unsigned(figures: &str, decimal: char) -> Option<Decimal> {
    let (whole, fraction) = figures.rsplit_once(decimal).map_or((figures, None), |(a, b)| (a, Some(b)));
    // `.50` is written for what is less than one.
    let whole = if whole.is_empty() && fraction.is_some() { "0".to_owned() } else { ungrouped(whole, decimal)? };
    if fraction.is_some_and(|digits| !is_digits(digits) || digits.len() > MOST_DIGITS.1) || whole.len() > MOST_DIGITS.0
    {
        return None;
    }
    match fraction {
        Some(fraction) => format!("{whole}.{fraction}"),
        None => whole,
    }
    .parse()
    .ok()
}

/// What stands between thousands, besides the sign that isn't the decimal one: a space of any kind, or an apostrophe
/// of any kind, as in Switzerland.
const GROUP_MARKS: [char; 5] = [' ', '\'', '\u{2019}', '\u{02BC}', '\u{2032}'];

fn ungrouped(whole: &str, decimal: char) -> Option<String> {
    let Some(mark) = whole.chars().find(|c| !c.is_ascii_digit()) else {
        return Some(whole.to_owned()).filter(|whole| is_digits(whole));
    };
    let known = mark == if decimal == ',' { '.' } else { ',' } || GROUP_MARKS.contains(&mark);
    let groups: Vec<&str> = whole.split(mark).collect();
    let [first, middle @ .., last] = groups.as_slice() else { return None };
    let sized = |group: &&str, size: usize| is_digits(group) && group.len() == size;
    let by_three = (1..=3).contains(&first.len()) && middle.iter().all(|group| sized(group, 3));
    // 12,34,567.00: India sets lakhs and crores apart (CLDR, en-IN `#,##,##0.###`).
    let by_two = mark == ',' && (1..=2).contains(&first.len()) && middle.iter().all(|group| sized(group, 2));
    let fits = known && is_digits(first) && sized(last, 3) && (by_three || by_two);
    fits.then(|| groups.concat())
}

/// A number whose decimal sign isn't known: only where one style reads it, or both alike.
pub(super) fn number_in_some_style(text: &str) -> Result<Decimal, String> {
    in_some_style(|decimal| number(text, decimal))
}

fn in_some_style(read: impl Fn(char) -> Option<Decimal>) -> Result<Decimal, String> {
    match (read('.'), read(',')) {
        (Some(one), Some(other)) if one != other => {
            Err(format!("could be {one} or {other}; write it without a sign between thousands"))
        }
        (Some(value), _) | (None, Some(value)) => Ok(value),
        (None, None) => Err("is not a number; write it as 12.50".to_owned()),
    }
}

/// An amount taken apart: the words before and after its figures, and the figures without their sign.
struct Parts {
    words: [String; 2],
    figures: String,
    negative: bool,
    /// The decimal sign of `12,-`, which has no cents.
    whole_by: Option<char>,
}

impl Parts {
    fn of(text: &str) -> Option<Self> {
        let text = narrow(text);
        let first = text.find(|c: char| c.is_ascii_digit())?;
        let last = text.rfind(|c: char| c.is_ascii_digit())? + 1;
        let (before, after) = (text.get(..first)?.trim(), text.get(last..)?.trim());
        // `.50`, but not the point of `Fr.50`.
        let pointed = before.strip_suffix(['.', ',']);
        let (before, begins) = match pointed.filter(|rest| !rest.ends_with(char::is_alphabetic)) {
            Some(rest) => (rest.trim(), first - 1),
            None => (before, first),
        };
        let (mut before, mut after) = (before.to_owned(), after.to_owned());
        let mut negative = before.contains('(') && after.contains(')');
        if negative {
            (before, after) = (before.replacen('(', "", 1), after.replacen(')', "", 1));
        }
        let mut whole_by = None;
        if let Some(mark) = after.chars().next().filter(|c| matches!(c, '.' | ',')) {
            let rest = after.get(1..)?;
            let bare = rest.trim_start_matches(|c| is_minus(c) || c == '\u{2014}');
            if bare.len() < rest.len() {
                (whole_by, after) = (Some(mark), bare.to_owned());
            }
        }
        // One sign at most: a second stays among the words, and is none of theirs.
        let mut signed = negative;
        let words = [before, after].map(|words| {
            let bare = words.trim();
            let minus = bare.strip_prefix(is_minus).or_else(|| bare.strip_suffix(is_minus));
            let plus = bare.strip_prefix('+').or_else(|| bare.strip_suffix('+'));
            let Some(rest) = minus.or(plus).filter(|_| !signed) else { return bare.to_owned() };
            (signed, negative) = (true, negative || minus.is_some());
            rest.trim().to_owned()
        });
        Some(Self { words, figures: text.get(begins..last)?.to_owned(), negative, whole_by })
    }

    fn value(&self, decimal: char) -> Option<Decimal> {
        let fits = self.whole_by.is_none_or(|mark| mark == decimal && !self.figures.contains(mark));
        let value = unsigned(&self.figures, decimal).filter(|_| fits)?;
        Some(if self.negative { -value } else { value })
    }

    /// The words that stand with the figures, each a sign or a code or something else.
    fn words(&self) -> impl Iterator<Item = String> {
        self.words.iter().flat_map(|words| signs::words(words))
    }

    fn is_of(&self, currency: Currency) -> bool {
        self.words().all(|word| signs::of(&word).contains(&currency))
    }
}

/// An amount with its currency's sign or code on either side, which must be that of `currency`.
pub(super) fn money(text: &str, decimal: char, currency: Currency) -> Result<Money, String> {
    let wrong = || format!("is not an amount; this source writes 12{decimal}50");
    let parts = Parts::of(text).ok_or_else(wrong)?;
    if !parts.is_of(currency) {
        return Err(format!("is not an amount in {currency}; write it as 12{decimal}50"));
    }
    parts.value(decimal).map(|value| Money::new(value, currency)).ok_or_else(wrong)
}

/// An amount that each decimal sign reads otherwise, written so that only `decimal` reads it: `1.250` as `1250,00` or
/// `1.25`. `None` where it says so already.
pub(super) fn told_apart(text: &str, decimal: char) -> Option<String> {
    let parts = Parts::of(text)?;
    let (point, comma) = (parts.value('.')?, parts.value(',')?);
    let value = if decimal == ',' { comma } else { point };
    let mut plain = value.abs().normalize();
    // Three digits would be thousands once more.
    plain.rescale(if plain.scale() == 3 { 4 } else { plain.scale().max(2) });
    let figures = plain.to_string().replace('.', decimal.encode_utf8(&mut [0; 4]));
    Some(narrow(text).replacen(&parts.figures, &figures, 1)).filter(|_| point != comma)
}

/// The amount of a cell, of whatever currency.
pub(super) fn amount(text: &str, decimal: char) -> Option<Decimal> {
    Parts::of(text)?.value(decimal)
}

/// As [`money`], where the decimal sign isn't known.
pub(super) fn money_in_some_style(text: &str, currency: Currency) -> Result<Money, String> {
    let parts = Parts::of(text).ok_or_else(|| "is not an amount; write it as 5.25".to_owned())?;
    if !parts.is_of(currency) {
        return Err(format!("is not an amount in {currency}; write it as 5.25"));
    }
    in_some_style(|decimal| parts.value(decimal)).map(|value| Money::new(value, currency))
}

/// The one currency that the words of an amount name; `None` where they name none, or a sign that several share.
pub(super) fn currency_in(text: &str) -> Option<Currency> {
    // A letter alone is a sign only where the currency is known: `M` is no reason to think of Lesotho.
    let parts = Parts::of(text)?;
    let words = parts.words().filter(|word| word.chars().nth(1).is_some() || !word.starts_with(char::is_alphabetic));
    words.map(|word| signs::of(&word)).find_map(|all| match all.as_slice() {
        [currency] => Some(*currency),
        [] | [_, _, ..] => None,
    })
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
            (".50", '.', dec!(0.50)),
            ("1\u{2007}234\u{2009}567,5", ',', dec!(1234567.5)),
            ("1\u{3000}234", '.', dec!(1234)),
            ("1\u{2BC}234.5", '.', dec!(1234.5)),
            ("１，２３４．５０", '.', dec!(1234.50)),
            ("－４，１０", ',', dec!(-4.10)),
            ("\u{2013}4.10", '.', dec!(-4.10)),
            ("1,23,456.00", '.', dec!(123456)),
            ("12,34,56,789", '.', dec!(123456789)),
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
            ("5²", '.'),
            ("½", '.'),
            ("1,23,45.00", '.'),
            ("123,45,678", '.'),
            ("1.23.456", ','),
            ("1,234,56", '.'),
            ("1 234.567 890", '.'),
            ("1'234,567", '.'),
            (",234.5", '.'),
            ("1.2E+3", '.'),
            ("٤٢", '.'),
            (".", '.'),
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
        for text in ["-$1,200", "$(1,200)", "(1,200 $)", "USD (1,200)", "US $ 1,200-", "USD -1,200", "−１，２００ ＄"]
        {
            assert_eq!(usd(text), Ok(dec!(-1200)), "{text}");
        }
        for (text, value) in [("$.50", dec!(0.5)), ("+5", dec!(5)), ("$ 5.-", dec!(5)), ("USD $5", dec!(5))] {
            assert_eq!(usd(text), Ok(value), "{text}");
        }
        for text in [
            "-12-",
            "+12-",
            "(-12)",
            "-(12)",
            "((12))",
            "(12",
            "12)",
            "12,-",
            "1.5.-",
            "12 - 13",
            "12.",
            "12/13",
            "$12 €",
            "USD EUR 4",
            "12 pcs",
            "1.234,-",
            "5%",
            "12.00 CR",
        ] {
            assert!(usd(text).is_err(), "{text}");
        }
        for text in ["12.50 £", "12 USD 5", "C$ 12", "$", "", "two", "12 or so"] {
            assert!(usd(text).is_err(), "{text}");
        }
        assert_eq!(money("12.50", ',', eur).unwrap_err(), "is not an amount; this source writes 12,50");
    }

    // Signs: the ISO 4217 library's and common practice.
    #[test]
    fn a_sign_or_code_stands_on_either_side() {
        for (text, decimal, code, value) in [
            ("1 234,50 kr", ',', "SEK", dec!(1234.50)),
            ("kr. 1.234,50", ',', "DKK", dec!(1234.50)),
            ("12,50 zł", ',', "PLN", dec!(12.50)),
            ("1 234,50 Kč", ',', "CZK", dec!(1234.50)),
            ("1 234 Ft", ',', "HUF", dec!(1234)),
            ("CHF 1'234.50", '.', "CHF", dec!(1234.50)),
            ("Fr. 12.\u{2013}", '.', "CHF", dec!(12)),
            ("SFr.12.50", '.', "CHF", dec!(12.50)),
            ("R$ 1.234,50", ',', "BRL", dec!(1234.50)),
            ("₹1,23,456.50", '.', "INR", dec!(123456.50)),
            ("₩12,000", '.', "KRW", dec!(12000)),
            ("￥１，２００", '.', "JPY", dec!(1200)),
            ("1,200円", '.', "JPY", dec!(1200)),
            ("€ 12,-", ',', "EUR", dec!(12)),
            ("12,50 Euro", ',', "EUR", dec!(12.50)),
            ("R 120.00", '.', "ZAR", dec!(120)),
            ("EUR-12,50", ',', "EUR", dec!(-12.50)),
            ("12,50- EUR", ',', "EUR", dec!(-12.50)),
            ("NT$300", '.', "TWD", dec!(300)),
        ] {
            let currency: Currency = code.parse().unwrap();
            assert_eq!(money(text, decimal, currency), Ok(Money::new(value, currency)), "{text}");
            assert!(money(text, decimal, "BHD".parse().unwrap()).is_err(), "{text}");
        }
        assert_eq!(money_in_some_style("12,-", Currency::USD), Ok(Money::new(dec!(12), Currency::USD)));
        assert_eq!(money_in_some_style("1.234,-", Currency::USD), Ok(Money::new(dec!(1234), Currency::USD)));
        assert!(money_in_some_style("1,234", Currency::USD).is_err());
    }

    proptest::proptest! {
        /// Any amount, in any style of the trade, reads as it was; in the other style as nothing, or where it has no
        /// sign at all as the same.
        #[test]
        fn amounts_read_back_in_every_style_and_are_never_two(
            cents in -99_999_999_i64..99_999_999,
            decimal in proptest::sample::select(vec!['.', ',']),
            group in proptest::sample::select(vec!["", "x", " ", "\u{A0}", "\u{202F}", "'", "\u{2019}"]),
            minus in proptest::sample::select(vec!["-n", "n-", "(n)", "\u{2212}n", "- n"]),
            sign in proptest::sample::select(vec!["n", "€n", "€ n", "n €", "n\u{A0}EUR", "EUR n"]),
        ) {
            let eur: Currency = "EUR".parse().unwrap();
            let mark = if group == "x" { if decimal == ',' { "." } else { "," } } else { group };
            let whole = (cents.abs() / 100).to_string();
            let groups: Vec<String> = whole.as_bytes().rchunks(3).rev().map(|g| String::from_utf8_lossy(g).into()).collect();
            let plain = format!("{}{decimal}{:02}", groups.join(mark), cents.abs() % 100);
            let plain = sign.replace('n', &plain);
            let text = if cents < 0 { minus.replace('n', &plain) } else { plain };
            let value = Decimal::new(cents, 2);
            proptest::prop_assert_eq!(money(&text, decimal, eur), Ok(Money::new(value, eur)), "{}", text);
            let other = if decimal == '.' { ',' } else { '.' };
            proptest::prop_assert!(money(&text, other, eur).is_err(), "{}", text);
            proptest::prop_assert_eq!(money_in_some_style(&text, eur).map(|m| m.amount), Ok(value));
        }

        #[test]
        fn no_text_panics(text in ".{0,20}", figures in "[-+0-9., '()€$]{0,12}") {
            for text in [&text, &figures] {
                let _any = (money_in_some_style(text, Currency::USD), number_in_some_style(text), currency_in(text));
            }
        }
    }

    #[test]
    fn an_amount_that_could_be_two_is_written_so_that_it_is_one() {
        for (text, decimal, written) in [
            ("1.250", ',', "1250,00"),
            ("1.250", '.', "1.25"),
            ("(€ 1,234)", '.', "(€ 1234.00)"),
            ("-1,2345 EUR", ',', ""),
            ("12,345- EUR", ',', "12,3450- EUR"),
            ("1.250,00", ',', ""),
            ("1250", ',', ""),
            ("two", ',', ""),
        ] {
            let told = told_apart(text, decimal);
            assert_eq!(told.as_deref().unwrap_or_default(), written, "{text}");
            if let Some(told) = &told {
                assert_eq!(amount(told, decimal), amount(text, decimal), "{told}");
                assert!(amount(told, if decimal == ',' { '.' } else { ',' }).is_none(), "{told}");
            }
        }
    }

    #[test]
    fn a_sign_that_several_currencies_share_names_none() {
        assert_eq!(currency_in("12,50 €").map(Currency::code), Some("EUR"));
        assert_eq!(currency_in("GBP 4").map(Currency::code), Some("GBP"));
        assert_eq!(currency_in("$4"), None);
        assert_eq!(currency_in("4"), None);
    }
}
