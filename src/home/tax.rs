//! `[seller.tax]`: what the seller's invoices say of tax.
//!
//! Handed the section; promises that a scheme has all that its invoices must carry. Whether it is the right scheme is
//! the seller's and their adviser's to know: nothing here reckons a tax. Turned down: rates by country, which change
//! more often than this program, and which an order that charged tax has reckoned already.

use rust_decimal::{Decimal, dec};

use super::fault::Fault;
use super::keys::{Item, Table};
use crate::model::bound::Bound;
use crate::model::rules::{SellerTax, TaxScheme};

/// Longest number for value added tax with its country's letters: common practice of the Union (12 to 14), with
/// room for the dots and words of others.
const LONGEST_ID: usize = 24;

/// Reads the section.
pub(super) fn read(section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<SellerTax> {
    section.only(&["scheme", "vat_id", "exemption", "rate", "cash_accounting"], faults);
    let before = faults.len();
    let scheme = section
        .must("scheme", "write none, small-business or vat", faults)
        .and_then(|item| item.word::<TaxScheme>(&["none", "small-business", "vat"], faults));
    let vat_id = section.get("vat_id").and_then(|item| vat_id(&item, faults));
    let exemption = section.get("exemption").and_then(|item| item.text(faults)).map(str::to_owned);
    let rate = section.get("rate").and_then(|item| rate(&item, faults));
    let cash_accounting = section.get("cash_accounting").and_then(|item| item.flag(faults)).unwrap_or(false);
    let tax = SellerTax { scheme: scheme?, vat_id, exemption, rate, cash_accounting };
    // What could not be read was told; only what isn't there at all is asked for.
    match tax.scheme {
        TaxScheme::None => {}
        TaxScheme::SmallBusiness => {
            let mend = "write the sentence that your law wants on invoices without tax";
            section.must("exemption", mend, faults);
        }
        TaxScheme::Vat => {
            section.must("vat_id", "write your number for value added tax; invoices must carry it", faults);
        }
    }
    (faults.len() == before).then_some(tax)
}

fn vat_id(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = item.text(faults)?.trim();
    let signs = text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '-' | '/' | '+' | '*'));
    let digits = text.chars().filter(char::is_ascii_digit).count();
    if !signs || digits < 2 || text.len() > LONGEST_ID {
        faults.push(
            item.fault("is no number for value added tax; write it with its country's letters, such as DE123456789"),
        );
        return None;
    }
    Some(text.to_owned())
}

fn rate(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Decimal> {
    let rate = item.decimal(Bound::FACTOR, faults)?;
    if rate < dec!(0) || rate > dec!(50) {
        faults.push(item.fault("is no rate of tax; write per cent, such as 19"));
        return None;
    }
    Some(rate)
}

#[cfg(test)]
mod tests {
    use super::super::config::read as read_config;
    use super::super::fault::Fault;
    use super::*;
    use crate::model::language::Language;
    use crate::model::rules::Seller;

    fn read(tax: &str, papers: &str) -> (Option<Seller>, Vec<String>) {
        let text = format!(
            "[seller]\nname = \"N\"\naddress = [\"A\"]\ncountry = \"DE\"\nemail = \"a@example.org\"\n{tax}\
             [day]\ntime_zone = \"Europe/Berlin\"\n[money]\ncurrency = \"EUR\"\n{papers}"
        );
        let mut faults = Vec::new();
        let config = read_config(std::path::Path::new("/home"), &text, &mut faults);
        (config.map(|config| config.seller), faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn a_scheme_has_what_its_invoices_must_carry() {
        let (seller, faults) = read("", "");
        assert_eq!((seller.unwrap().tax, faults.len()), (SellerTax::default(), 0));
        let (seller, faults) = read("[seller.tax]\nscheme = \"vat\"\nvat_id = \"DE 123456789\"\nrate = 19\n", "");
        assert_eq!(faults, [] as [&str; 0]);
        let tax = seller.unwrap().tax;
        assert_eq!((tax.scheme, tax.rate), (TaxScheme::Vat, Some(dec!(19))));
        assert_eq!(tax.vat_id.as_deref(), Some("DE 123456789"));
        let (_, faults) = read("[seller.tax]\nscheme = \"vat\"\n", "");
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 6, key `seller.tax.vat_id`: is missing; write your number for value added tax; invoices \
              must carry it"
            ]
        );
        let (_, faults) = read("[seller.tax]\nscheme = \"small-business\"\n", "");
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 6, key `seller.tax.exemption`: is missing; write the sentence that your law wants on \
              invoices without tax"
            ]
        );
    }

    #[test]
    fn what_can_not_be_meant_is_told() {
        let (seller, faults) = read(
            "[seller.tax]\nscheme = \"flat\"\nvat_id = \"none\"\nrate = 190\nrates = 1\n",
            "[papers]\nlanguage = \"nl\"\n",
        );
        assert!(seller.is_none());
        assert_eq!(
            faults,
            [
                "dawnpack.toml, line 10, key `seller.tax.rates`: is unknown; did you mean `rate`?",
                "dawnpack.toml, line 7, key `seller.tax.scheme`: `flat` is none of the words that can stand here; write \
                 none, small-business or vat",
                "dawnpack.toml, line 8, key `seller.tax.vat_id`: `none` is no number for value added tax; write it with \
                 its country's letters, such as DE123456789",
                "dawnpack.toml, line 9, key `seller.tax.rate`: `190` is no rate of tax; write per cent, such as 19",
                "dawnpack.toml, line 16, key `papers.language`: `nl` is none of the words that can stand here; write \
                 recipient, de, en, es, fr or ja",
            ]
        );
    }

    #[test]
    fn a_language_is_pinned_or_the_recipients() {
        let pinned = |papers| read("", papers).0.unwrap().language;
        assert_eq!(pinned("[papers]\nlanguage = \"en\"\n"), Some(Language::En));
        assert_eq!(pinned("[papers]\nlanguage = \"recipient\"\n"), None);
        assert_eq!(pinned(""), None);
    }
}
