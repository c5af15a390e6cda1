//! What the cells of a field look like, by which a header is believed or not.
//!
//! Handed a cell; promises whether it could be one of that field, in any style of writing. One cell in two must, or
//! the column isn't what it is called. Turned down: all of them, by which one slip of the pen would hide a whole
//! column instead of its row being refused.

use crate::inbox::{dates, numbers, values};
use crate::model::address::Country;
use crate::model::drop::{DateOrder, SalesField};
use crate::model::money::Currency;

use super::words::{Tells, What};
use crate::inbox::ReadRules;

/// Longest code or number of anything; common practice, no source.
const LONGEST_KEY: usize = 60;

/// Whether a cell could be that.
pub(super) fn suits(what: What, text: &str, rules: &ReadRules<'_>) -> bool {
    match what {
        What::Field(field) => suits_field(field, text, rules),
        // What an unknown word says of an order is asked, and not passed over.
        What::Tells(Tells::State | Tells::Payment | Tells::Dispatch | Tells::Cancelled | Tells::Refund) => true,
        What::Tells(Tells::Tracking) => is_key(text) && has_digit(text),
        What::FirstName | What::LastName | What::Service => has_letter(text) && !text.contains('@'),
        What::HouseNumber => text.chars().count() <= 10,
        What::Mass => has_digit(text) && text.chars().count() <= 15,
        What::BoughtAt | What::AcceptedAt => is_date(text, rules),
    }
}

fn suits_field(field: SalesField, text: &str, rules: &ReadRules<'_>) -> bool {
    match field {
        SalesField::Order => is_key(text) && !values::is_error(text) && has_letter_or_digit(text),
        SalesField::Line | SalesField::Code => is_key(text),
        SalesField::PlacedAt | SalesField::PaidAt | SalesField::ShipBy => {
            is_date(text, rules) || is_day_number(text, rules)
        }
        SalesField::State => true,
        SalesField::Buyer | SalesField::Name => has_letter(text) && !text.contains('@') && !is_date(text, rules),
        SalesField::Company | SalesField::Title => has_letter(text),
        // In Japan, a street line may be a block's numbers alone.
        SalesField::Address1 => has_letter_or_digit(text) && !text.contains('@') && !is_amount(text, rules),
        SalesField::Address2 | SalesField::Address3 => !text.contains('@') && !is_date(text, rules),
        SalesField::City | SalesField::Region => {
            has_letter(text) && !text.contains('@') && text.chars().count() <= LONGEST_KEY
        }
        SalesField::PostalCode => is_postal_code(text),
        SalesField::Country => {
            // Three digits may be a country's code, and in a column without a map are likelier anything else.
            has_letter(text) && (text.parse::<Country>().is_ok() || !has_digit(text) && text.chars().count() <= 40)
        }
        SalesField::Email => is_email(text),
        SalesField::Options | SalesField::Note | SalesField::GiftMessage => !is_date(text, rules),
        // `2; 3`, where a cell has several items.
        SalesField::Quantity => text.split([';', '|']).all(|part| values::quantity(part).is_ok()),
        SalesField::UnitPrice
        | SalesField::LineTotal
        | SalesField::PostageCharged
        | SalesField::Tax
        | SalesField::Discount
        | SalesField::Total => is_amount(text, rules),
        SalesField::Currency => text.parse::<Currency>().is_ok(),
        // A wish to go apart is read by a map only.
        SalesField::Gift | SalesField::Apart => text.chars().count() <= 10 && !is_date(text, rules),
    }
}

fn has_digit(text: &str) -> bool {
    text.chars().any(char::is_numeric)
}

fn has_letter(text: &str) -> bool {
    text.chars().any(char::is_alphabetic)
}

fn has_letter_or_digit(text: &str) -> bool {
    text.chars().any(char::is_alphanumeric)
}

/// A number or code by which something is known: short, no email.
fn is_key(text: &str) -> bool {
    text.chars().count() <= LONGEST_KEY && !text.contains('@')
}

/// A day in some order of day and month.
pub(super) fn is_date(text: &str, rules: &ReadRules<'_>) -> bool {
    // What is no date mostly shows at once, and reading one takes long.
    if !has_digit(text) || text.chars().count() > 50 {
        return false;
    }
    let reads = |order| dates::date(text, order, rules.time_zone).is_ok();
    reads(DateOrder::Dmy) || reads(DateOrder::Mdy) || reads(DateOrder::Ymd)
}

/// A spreadsheet's number of a day.
fn is_day_number(text: &str, rules: &ReadRules<'_>) -> bool {
    dates::Style::of([text], DateOrder::Ymd).date(text, rules.time_zone).is_ok()
}

/// An amount in either style, in the currency that stands with it.
fn is_amount(text: &str, rules: &ReadRules<'_>) -> bool {
    if !has_digit(text) || text.chars().count() > 40 {
        return false;
    }
    let currency = numbers::currency_in(text).unwrap_or(rules.currency);
    ['.', ','].into_iter().any(|decimal| numbers::money(text, decimal, currency).is_ok())
}

/// Two to twelve letters, digits, spaces and hyphens, among them a digit: no country's is otherwise (Universal
/// Postal Union addressing guides; from memory).
fn is_postal_code(text: &str) -> bool {
    // A spreadsheet may have made a number of it.
    let text = text.strip_suffix(".0").unwrap_or(text);
    let length = text.chars().count();
    (2..=12).contains(&length)
        && has_digit(text)
        && text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c.is_numeric() || matches!(c, ' ' | '-' | '〒' | '－' | 'ー'))
}

/// `local@domain.tld`, without white space.
pub(super) fn is_email(text: &str) -> bool {
    let Some((local, domain)) = text.split_once('@') else { return false };
    !local.is_empty()
        && !text.contains(char::is_whitespace)
        && !domain.contains('@')
        && domain.split_once('.').is_some_and(|(name, rest)| !name.is_empty() && !rest.is_empty())
}

/// Whether a word looks like an article's code rather than its title: one word, with digits or all in capitals.
pub(super) fn is_code(text: &str) -> bool {
    let one_word = !text.contains(char::is_whitespace) && is_key(text);
    let capitals = text.chars().filter(|c| c.is_alphabetic()).all(char::is_uppercase) && text.is_ascii();
    one_word && (has_digit(text) || capitals)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::test_home::rules;

    fn is(field: SalesField, text: &str) -> bool {
        suits_field(field, text, &rules(&[]))
    }

    #[test]
    fn cells_are_believed_by_what_they_look_like() {
        for (field, good, bad) in [
            (
                SalesField::Email,
                &["ines@example.net", "a.b+c@x.example.org"][..],
                &["ines", "a@b", "@x.y", "a b@x.y"][..],
            ),
            (SalesField::Quantity, &["2", "2x", "1.0", "3 pcs", "2; 3"], &["two", "1,5", "4.50", "0", "2026-11-25"]),
            (SalesField::UnitPrice, &["4.50", "4,50 €", "$4", "1.234,56", "(4.10)"], &["GULL", "", "4 or 5", "BELL-1"]),
            (
                SalesField::PlacedAt,
                &["25.11.2026", "11/25/26", "2026-11-25T08:00Z", "3 Nov 2026", "46351"],
                &["1001", "soon"],
            ),
            (
                SalesField::PostalCode,
                &["97099", "SA1 1AA", "1234 AB", "4999.0", "〒123-4567", "D-26999"],
                &["Eastmere", "a@b.c", "1"],
            ),
            (SalesField::Country, &["US", "Germany", "Deutschland", "日本"], &["26999", "a1"]),
            (SalesField::City, &["Eastmere", "Nebelhafen"], &["97099", "a@example.org"]),
            (SalesField::Name, &["Ines Okonjo", "山田花子", "R2 Badge Club"], &["1001", "i@example.org", "2026-11-25"]),
            (SalesField::Address1, &["88 Tern Street", "1-2-3"], &["12.50", "i@example.org"]),
            (SalesField::Currency, &["EUR", "usd"], &["€", "paid"]),
            (SalesField::Order, &["1001", "A-17", "1.23E+11"], &["a@example.org", "#N/A", "-"]),
            (SalesField::Gift, &["yes", "", "1"], &["with many greetings", "2026-11-25"]),
        ] {
            for text in good {
                assert!(is(field, text), "{field:?}: {text}");
            }
            for text in bad {
                assert!(!is(field, text), "{field:?}: {text}");
            }
        }
    }

    #[test]
    fn codes_are_told_from_titles() {
        assert!(["GULL", "BELL-BUOY", "p017", "A1"].into_iter().all(is_code));
        assert!(!["Bell buoy", "Lightship", "灯台"].into_iter().any(is_code));
    }
}
