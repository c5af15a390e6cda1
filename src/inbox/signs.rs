//! Signs of currencies.
//!
//! Handed the words that stand with an amount; promises every currency that such a sign may stand for. Turned down:
//! taking a shared sign for the seller's own currency, which turns a price in another dollar into one of theirs.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::model::money::Currency;

/// Signs that the ISO 4217 library lacks, or has for one of several currencies only; common practice, no source.
const MORE: [(&str, &[&str]); 33] = [
    ("US$", &["USD"]),
    ("$US", &["USD"]),
    ("CA$", &["CAD"]),
    ("C$", &["CAD", "NIO"]),
    ("CAN$", &["CAD"]),
    ("AU$", &["AUD"]),
    ("A$", &["AUD"]),
    ("NZ$", &["NZD"]),
    ("MX$", &["MXN"]),
    ("$", &["SGD", "HKD", "TWD"]),
    ("¥", &["JPY", "CNY"]),
    ("円", &["JPY"]),
    ("元", &["CNY", "TWD", "HKD"]),
    ("CN¥", &["CNY"]),
    ("JP¥", &["JPY"]),
    ("RMB", &["CNY"]),
    ("원", &["KRW"]),
    ("kr.", &["DKK", "NOK", "SEK", "ISK"]),
    ("Skr", &["SEK"]),
    ("Nkr", &["NOK"]),
    ("Dkr", &["DKK"]),
    ("Fr", &["CHF"]),
    ("Fr.", &["CHF"]),
    ("SFr", &["CHF"]),
    ("SFr.", &["CHF"]),
    ("zl", &["PLN"]),
    ("Kc", &["CZK"]),
    ("lei", &["RON"]),
    ("TL", &["TRY"]),
    ("Rs", &["INR", "PKR", "LKR", "NPR", "MUR"]),
    ("Rs.", &["INR", "PKR", "LKR", "NPR", "MUR"]),
    ("Euro", &["EUR"]),
    ("NT$", &["TWD"]),
];

/// By sign, in small letters.
static SIGNS: LazyLock<BTreeMap<String, Vec<Currency>>> = LazyLock::new(|| {
    let mut signs: BTreeMap<String, Vec<Currency>> = BTreeMap::new();
    let mut add = |sign: &str, currency: Currency| {
        let known = signs.entry(sign.to_lowercase()).or_default();
        if !known.contains(&currency) {
            known.push(currency);
        }
    };
    for currency in Currency::all() {
        add(&currency.sign(), currency);
    }
    for (sign, codes) in MORE {
        for currency in codes.iter().filter_map(|code| code.parse().ok()) {
            add(sign, currency);
        }
    }
    signs
});

/// All currencies that a sign or code may stand for; none for any other word. A code goes before a sign.
pub(super) fn of(word: &str) -> Vec<Currency> {
    match word.parse() {
        Ok(currency) => vec![currency],
        Err(_) => SIGNS.get(&word.to_lowercase()).cloned().unwrap_or_default(),
    }
}

/// The words of a text; a sign with a space in it (`US $`) is one.
pub(super) fn words(text: &str) -> Vec<String> {
    let joined: String = text.split_whitespace().collect();
    if of(&joined).is_empty() { text.split_whitespace().map(str::to_owned).collect() } else { vec![joined] }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(sign: &str) -> Vec<&'static str> {
        of(sign).into_iter().map(Currency::code).collect()
    }

    #[test]
    fn signs_stand_for_all_the_currencies_that_use_them() {
        for (sign, code) in [
            ("€", "EUR"),
            ("zł", "PLN"),
            ("ZŁ", "PLN"),
            ("Kč", "CZK"),
            ("Ft", "HUF"),
            ("CHF", "CHF"),
            ("R$", "BRL"),
            ("₹", "INR"),
            ("₩", "KRW"),
            ("円", "JPY"),
            ("US$", "USD"),
            ("fr.", "CHF"),
            ("eur", "EUR"),
            ("₺", "TRY"),
            ("₪", "ILS"),
            ("лв.", "BGN"),
            ("HK$", "HKD"),
            ("Nkr", "NOK"),
            ("lei", "RON"),
            ("R", "ZAR"),
        ] {
            assert!(codes(sign).contains(&code), "{sign} {:?}", codes(sign));
        }
        for (sign, least) in [("$", 10), ("kr", 4), ("£", 2), ("¥", 2), ("Rs", 3)] {
            assert!(codes(sign).len() >= least, "{sign} {:?}", codes(sign));
        }
        for word in ["", "pins", "x", "each", "ca.", "%"] {
            assert_eq!(codes(word), [""; 0], "{word}");
        }
    }

    #[test]
    fn a_sign_with_a_space_is_one_word() {
        assert_eq!(words("US $"), ["US$"]);
        assert_eq!(words("USD $"), ["USD", "$"]);
        assert_eq!(words(" "), [""; 0]);
    }

    /// Every sign of the ISO 4217 library stands for its currency.
    #[test]
    fn no_currency_is_lost() {
        assert!(Currency::all().count() > 150);
        for currency in Currency::all() {
            let sign = currency.sign();
            assert!(of(&sign).contains(&currency) || sign.parse::<Currency>().is_ok(), "{currency} {sign}");
        }
    }
}
