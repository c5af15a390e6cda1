//! `[seller.tax]`: what the seller's invoices say of tax.
//!
//! Handed the section; promises that a scheme has all that its invoices must carry. Whether it is the right scheme is
//! the seller's and their adviser's to know: nothing here reckons a tax. Turned down: rates by country, which change
//! more often than this program, and which an order that charged tax has reckoned already.

use rust_decimal::{Decimal, dec};

use super::fault::Fault;
use super::keys::{Item, Table};
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
    let rate = item.decimal(faults)?;
    if rate < dec!(0) || rate > dec!(50) {
        faults.push(item.fault("is no rate of tax; write per cent, such as 19"));
        return None;
    }
    Some(rate)
}
