//! Money as a reader of English in the seller's country writes it: the only place that turns amounts into text
//! for people.
//!
//! Handed amounts; gives text by the rules of CLDR, so `$1,234.50` in the United States and `1.234,50 €` in
//! Germany. Amounts are rounded half to even to the currency's own digits first. Turned down: a table of symbols
//! of our own, which would be wrong for the first seller outside the four countries that its author knew.

use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_experimental::dimension::currency::CurrencyType;
use icu_experimental::dimension::currency::formatter::CurrencyFormatter;
use icu_experimental::dimension::currency::options::CurrencyFormatterOptions;
use icu_locale_core::Locale;

use crate::model::address::Country;
use crate::model::language::Language;
use crate::model::money::Money;

/// How amounts are written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MoneyWords {
    locale: Locale,
}

impl MoneyWords {
    /// For papers in English from a seller in `country`: CLDR's locale `en-COUNTRY`, which has English words and
    /// the country's own signs. CLDR's international English stands in for a country that it doesn't list.
    #[must_use]
    pub fn english_in(country: Country) -> Self {
        Self::new(&format!("en-{}", country.code()))
    }

    /// For papers in `language` to somebody in `country`: CLDR's locale of the two, such as `de-AT`.
    #[must_use]
    pub fn in_language(language: Language, country: Country) -> Self {
        Self::new(&format!("{language}-{}", country.code()))
    }

    /// By a BCP 47 tag; a tag that can't be read counts as unspecified.
    fn new(tag: &str) -> Self {
        Self { locale: tag.parse().unwrap_or(Locale::UNKNOWN) }
    }

    /// The amount with its sign, such as `$1,234.50`. Where the locale's data can't be had, code and plain
    /// amount: `USD 1234.50`.
    #[must_use]
    pub fn write(&self, money: Money) -> String {
        let money = money.rounded();
        self.by_cldr(money).unwrap_or_else(|| format!("{} {}", money.currency, money.plain()))
    }

    fn by_cldr(&self, money: Money) -> Option<String> {
        let currency = CurrencyType::try_from_str(&money.currency.code().to_ascii_lowercase()).ok()?;
        let formatter: CurrencyFormatter<DecimalFormatter> =
            CurrencyFormatter::try_new_symbol((&self.locale).into(), currency, CurrencyFormatterOptions::default())
                .ok()?;
        let amount: Decimal = money.plain().parse().ok()?;
        Some(formatter.format_fixed_decimal(&amount).to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unicode CLDR, as computed by Babel 2.18.0; the file's head says how.
    const VECTORS: &str =
        include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/standards/data/currency_format_vectors.csv"));

    /// Where the data of CLDR and what Babel makes of it differ, CLDR holds.
    fn by_cldr(currency: &str, locale: &str, babel: &str) -> String {
        match (currency, locale) {
            // UTS 35, part 3, section 2.5.1, `currencySpacing`: a no-break space parts a code that ends in a letter
            // from the digits. Babel leaves that out.
            ("KWD", "en_US") => babel.replace("KWD", "KWD\u{a0}"),
            // CLDR's `minusSign` of Swedish is U+2212; Babel writes the pattern's hyphen.
            (_, "sv_SE") => babel.replace('-', "\u{2212}"),
            // CLDR 48 has the plain apostrophe as `group` of Swiss German; Babel carries the older curved one.
            (_, "de_CH") => babel.replace('\u{2019}', "'"),
            (_, _) => babel.to_owned(),
        }
    }

    #[test]
    fn amounts_are_written_as_cldr_has_them() {
        let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(VECTORS.as_bytes());
        let mut wrong = Vec::new();
        let mut read = 0;
        for row in rows.records() {
            let row = row.unwrap();
            let money = Money::new(row[2].parse().unwrap(), row[0].parse().unwrap());
            let written = MoneyWords::new(&row[1].replace('_', "-")).write(money);
            let expected = by_cldr(&row[0], &row[1], &row[4]);
            read += 1;
            if written != expected {
                wrong.push(format!("{} {} {}: {written:?}, not {expected:?}", &row[0], &row[1], &row[2]));
            }
        }
        assert_eq!(read, 75);
        assert_eq!(wrong, Vec::<String>::new());
    }

    #[test]
    fn english_takes_the_sellers_signs() {
        let money = |text: &str, code: &str| Money::new(text.parse().unwrap(), code.parse().unwrap());
        let german = MoneyWords::english_in("DE".parse().unwrap());
        assert_eq!(german.write(money("1234.5", "EUR")), "1.234,50\u{a0}€");
        let american = MoneyWords::english_in("US".parse().unwrap());
        assert_eq!(american.write(money("41.2", "USD")), "$41.20");
        assert_eq!(american.write(money("41.2", "CAD")), "CA$41.20");
    }
}
