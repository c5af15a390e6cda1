//! Whether what a source tells again is what it told before, and what is other about it.
//!
//! Handed two tellings; promises that a correction (a new street, a name spelt otherwise) is known as one, and that
//! a number used again for somebody else is never taken for one. Turned down: the number alone, as shops that begin
//! to count anew use theirs twice, and the later buyer would get the earlier one's pins.

use std::collections::BTreeMap;

use crate::model::money::Money;
use crate::model::order::{Order, OrderLine, OrderState};
use crate::model::recipient::Recipient;
use crate::model::trade::{Trade, TradeItem};

use super::likeness::folded;
use super::likeness::standard::standard;

/// Stands for a recipient of a number that was used again: equal for two tellings that are written alike but for
/// case, spacing and signs. Not [`super::likeness::known::Fingerprint`], which leaves out apostrophes and a ZIP code's
/// last four digits and has the company: what is kept by either must go on meaning what it meant.
#[must_use]
pub fn mark(to: &Recipient) -> String {
    let country = to.country.map_or_else(|| to.country_as_written.clone(), |country| Some(country.code().to_owned()));
    let street = to.lines.join(" ");
    let parts = [&to.name, &street, &to.city, &to.region, &to.postal_code, &country.unwrap_or_default()];
    parts.map(|part| folded(part)).join("/")
}

/// Likeness of names, by Jaro-Winkler, from which one may be the other misspelt; from memory of common practice in
/// record linkage, and only used beside another address.
const MISSPELT: f64 = 0.85;

/// Whether two tellings of one number are for two recipients: neither a word of the name, nor the email, nor the
/// address is the same.
#[must_use]
pub fn is_another_recipient(before: &Recipient, after: &Recipient) -> bool {
    let (one, other) = (name_words(before), name_words(after));
    let shares_name = one.iter().any(|word| other.contains(word))
        || strsim::jaro_winkler(&one.join(" "), &other.join(" ")) >= MISSPELT;
    let shares_email = match (&before.email, &after.email) {
        (Some(one), Some(other)) => one.eq_ignore_ascii_case(other),
        (Some(_) | None, _) => false,
    };
    !shares_name && !shares_email && !is_one_place(before, after)
}

/// Words of a name that could tell two people apart: initials can't.
fn name_words(to: &Recipient) -> Vec<String> {
    let folded = folded(&to.name);
    folded.split(' ').filter(|word| word.chars().count() > 1).map(str::to_owned).collect()
}

fn is_one_place(one: &Recipient, other: &Recipient) -> bool {
    standard(one).same_place(&standard(other))
}

/// Whether two orders are for the same goods: the same words of the same articles, as often.
#[must_use]
pub fn same_goods(one: &[OrderLine], other: &[OrderLine]) -> bool {
    fn counted(lines: &[OrderLine]) -> BTreeMap<String, u32> {
        let mut counts = BTreeMap::new();
        for line in lines {
            let words = line.code.as_deref().unwrap_or(&line.title);
            *counts.entry(folded(words)).or_default() += line.quantity;
        }
        counts
    }
    counted(one) == counted(other)
}

/// What is other about an order than before, lines aside, a short text each. What money came when is no news here,
/// nor is an order's being called off, which is told by itself.
#[must_use]
pub fn differences(before: &Order, after: &Order) -> Vec<String> {
    let mut what = Vec::new();
    let mut note = |label: &str, was: String, is: String| what.extend(other(label, &was, &is));
    note("name", before.recipient.name.clone(), after.recipient.name.clone());
    if !is_one_place(&before.recipient, &after.recipient) {
        note("address", address(&before.recipient), address(&after.recipient));
    }
    let money = |money: Option<Money>| money.map(Money::plain).unwrap_or_default();
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    note("currency", before.currency.code().to_owned(), after.currency.code().to_owned());
    note("promised for", day(before.ship_by), day(after.ship_by));
    // What was unknown before and is told now is no change of what was paid.
    if before.total.is_some() && after.total.is_some() {
        note("total", money(before.total), money(after.total));
    }
    note("gift", yes(before.gift), yes(after.gift));
    note("gift message", text(&before.gift_message), text(&after.gift_message));
    note("note", text(&before.note), text(&after.note));
    if after.state == OrderState::PartRefunded && before.state < after.state {
        what.push("partly refunded".to_owned());
    }
    what
}

/// What is told of a value that is other than before.
fn other(label: &str, was: &str, is: &str) -> Option<String> {
    (was != is).then(|| match (was.is_empty(), is.is_empty()) {
        (true, _) => format!("{label}: {is}"),
        (false, true) => format!("{label}: none now, was {was}"),
        (false, false) => format!("{label}: {is}, was {was}"),
    })
}

fn day(day: Option<jiff::civil::Date>) -> String {
    day.map(|day| day.to_string()).unwrap_or_default()
}

fn yes(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

/// Whether two confirmations, agreed with one partner on one day, are for two trades as far as can be told: nothing
/// that either side sends is in both.
#[must_use]
pub fn is_another_trade(before: &Trade, after: &Trade) -> bool {
    let shares =
        |one: &[TradeItem], other: &[TradeItem]| one.iter().any(|item| other.iter().any(|also| same(item, also)));
    !shares(&before.send, &after.send) && !shares(&before.get, &after.get)
}

fn same(one: &TradeItem, other: &TradeItem) -> bool {
    folded(&one.what) == folded(&other.what)
}

/// What a later confirmation of a trade says otherwise, a short text each, under the keys of the confirmation.
#[must_use]
pub fn trade_differences(before: &Trade, after: &Trade) -> Vec<String> {
    let mut what = Vec::new();
    let mut note = |label: &str, was: &str, is: &str| what.extend(other(label, was, is));
    note("name", &before.with.name, &after.with.name);
    if !is_one_place(&before.with, &after.with) {
        note("address", &address(&before.with), &address(&after.with));
    }
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    note("email", &text(&before.with.email), &text(&after.with.email));
    note("send by", &day(before.send_by), &day(after.send_by));
    note("first to send", before.first.word(), after.first.word());
    note("loss falls on", before.loss.word(), after.loss.word());
    note("own parcel", &yes(before.apart), &yes(after.apart));
    what.extend(item_differences("I send", &before.send, &after.send));
    what.extend(item_differences("I get", &before.get, &after.get));
    what.extend(other("note", &text(&before.note), &text(&after.note)));
    what
}

fn item_differences(label: &str, was: &[TradeItem], is: &[TradeItem]) -> Vec<String> {
    let mut what = Vec::new();
    let mut rest: Vec<&TradeItem> = was.iter().collect();
    for item in is {
        match rest.iter().position(|known| same(known, item)).map(|place| rest.remove(place)) {
            None => what.push(format!("{label}: also {item}")),
            Some(known) if (known.quantity, known.value) == (item.quantity, item.value) => {}
            Some(known) => what.push(format!("{label}: {item}, was {known}")),
        }
    }
    what.extend(rest.into_iter().map(|gone| format!("{label}: no longer {gone}")));
    what
}

/// What of an order that lies in a parcel makes it another parcel now: where it goes, whether it is a present, whether
/// it goes by itself, and what was paid back. Of its lines the ledger knows more.
#[must_use]
pub fn packed_otherwise(listed: &Order, now: &Order) -> Vec<String> {
    let mut what = sent_elsewhere(&listed.recipient, &now.recipient);
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    what.extend(other("gift", &yes(listed.gift), &yes(now.gift)));
    what.extend(other("gift message", &text(&listed.gift_message), &text(&now.gift_message)));
    what.extend(other("own parcel", &yes(listed.apart), &yes(now.apart)));
    if now.state == OrderState::PartRefunded && listed.state < now.state {
        what.push("partly refunded".to_owned());
    }
    what
}

/// The same of my half of a trade.
#[must_use]
pub fn trade_packed_otherwise(listed: &Trade, now: &Trade) -> Vec<String> {
    let mut what = sent_elsewhere(&listed.with, &now.with);
    what.extend(other("own parcel", &yes(listed.apart), &yes(now.apart)));
    what.extend(item_differences("I send", &listed.send, &now.send));
    what
}

fn sent_elsewhere(listed: &Recipient, now: &Recipient) -> Vec<String> {
    let mut what: Vec<String> = other("name", &listed.name, &now.name).into_iter().collect();
    if !is_one_place(listed, now) {
        what.extend(other("address", &address(listed), &address(now)));
    }
    what
}

fn address(to: &Recipient) -> String {
    let country = to.country.map(|country| country.code().to_owned()).or_else(|| to.country_as_written.clone());
    let parts = to.company.iter().chain(&to.lines).cloned();
    let town = [&to.city, &to.region, &to.postal_code].into_iter().filter(|part| !part.is_empty()).cloned();
    let all: Vec<String> = parts.chain(std::iter::once(town.collect::<Vec<_>>().join(" "))).chain(country).collect();
    all.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn to(name: &str, street: &str, email: Option<&str>) -> Recipient {
        Recipient {
            name: name.into(),
            company: None,
            lines: vec![street.into()],
            city: "Gullhaven".into(),
            region: "OR".into(),
            postal_code: "97099".into(),
            country: "US".parse().ok(),
            country_as_written: None,
            email: email.map(str::to_owned),
        }
    }

    #[test]
    fn another_recipient_shares_neither_name_nor_email_nor_address() {
        let ines = to("Ines Okonjo", "88 Tern Street", Some("ines@example.net"));
        for (name, street, email, another) in [
            ("Bo Lind", "2 Quay", None, true),
            ("Bo Lind", "2 Quay", Some("bo@example.org"), true),
            ("Bo Lind", "2 Quay", Some("INES@example.net"), false),
            ("Bo Lind", "88 tern street", None, false),
            ("Okonjo, I.", "2 Quay", None, false),
            ("Inez Okonyo", "2 Quay", None, false),
            ("I. K. Lind", "2 Quay", None, true),
        ] {
            assert_eq!(is_another_recipient(&ines, &to(name, street, email)), another, "{name}, {street}");
            assert_eq!(is_another_recipient(&to(name, street, email), &ines), another, "{name}, {street}, turned");
        }
    }

    fn order(currency: &str, total: &str) -> Order {
        let doc = format!(
            r#"{{"id":"stall:7","placed_at":null,"paid_at":null,"state":"open","buyer":null,"recipient":{},"lines":[],
            "postage_charged":null,"tax":null,"discount":null,"total":{{"amount":"{total}","currency":"{currency}"}},
            "currency":"{currency}","gift":false,"gift_message":null,"note":null,"ship_by":null}}"#,
            serde_json::to_string(&to("Ines Okonjo", "88 Tern Street", None)).unwrap()
        );
        serde_json::from_str(&doc).unwrap()
    }

    #[test]
    fn another_currency_is_a_change() {
        let before = order("USD", "9.00");
        assert_eq!(differences(&before, &before), Vec::<String>::new());
        assert_eq!(differences(&before, &order("EUR", "9.00")), ["currency: EUR, was USD"]);
        assert_eq!(differences(&before, &order("EUR", "8.00")), ["currency: EUR, was USD", "total: 8.00, was 9.00"]);
    }
}
