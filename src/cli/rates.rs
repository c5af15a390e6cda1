//! What `quote` and `identify` print for a person: short lines within 80 columns.

use anyhow::Result;
use rust_decimal::Decimal;

use crate::model::money::Money;
use crate::papers;
use crate::run::{Number, Numbers, Quoted, Service};

use super::Done;
use super::out::say;
use super::show::document;

const COLUMNS: usize = 80;
/// Where the reasons of a service begin.
const INDENT: usize = 11;

pub(super) fn quote(quote: &Quoted, as_json: bool) -> Result<Done> {
    if as_json {
        document(quote)?;
    } else {
        for line in quoted(quote) {
            say!("{line}");
        }
    }
    Ok(Done::All)
}

pub(super) fn identify(numbers: &Numbers, as_json: bool) -> Result<Done> {
    if as_json {
        document(numbers)?;
    } else {
        for number in &numbers.numbers {
            for line in folded(&identified(number), 2) {
                say!("{line}");
            }
        }
    }
    Ok(Done::All)
}

/// What was asked; then the service chosen, the others that are lawful from the cheapest on, and those that are not.
fn quoted(quote: &Quoted) -> Vec<String> {
    let asked = &quote.asked;
    let mut to = format!("{} {}", asked.to, asked.postal_code);
    to.truncate(to.trim_end().len());
    let size_of = asked.size_of.as_ref().map_or_else(String::new, |code| format!(" (mailer {code})"));
    // Without a value there is none to tell, and no rule that asks for more above one.
    let worth = if asked.value.amount.is_zero() {
        String::new()
    } else {
        format!(", worth {} {}", asked.value.plain(), asked.currency)
    };
    let question = format!(
        "{} to {to}, {} mm{size_of}{worth}, handed over on {}",
        asked.mass,
        asked.size_mm.join(" x "),
        asked.on
    );
    let mut lines = folded(&question, 0);
    let mut services: Vec<&Service> = quote.services.iter().collect();
    let price = |service: &Service| service.price.map_or(Decimal::ZERO, |price| price.amount);
    services.sort_by_key(|service| (!quote.is_chosen(service), !service.lawful, price(service)));
    for service in services {
        let sign = if quote.is_chosen(service) { "▸" } else { " " };
        let price = service.price.filter(|_| service.lawful).map_or_else(|| "no".to_owned(), Money::plain);
        let head = format!("{sign} {price:>7}  {}, {}", service.service, service.carrier);
        lines.extend(folded(&head, INDENT));
        let why = service.why.iter();
        lines.extend(why.flat_map(|why| folded(&format!("{:INDENT$}{why}", ""), INDENT + 2)));
    }
    if quote.services.is_empty() {
        lines.push("no rate card holds on that day; add one to rates/".to_owned());
    } else if quote.chosen.is_none() {
        lines.push("No service takes it.".to_owned());
    }
    if !asked.holds.is_empty() {
        lines.push("Button cells and magnets: check the carrier's current rules before posting.".to_owned());
    }
    lines.extend(quote.ahead.iter().flat_map(|ahead| folded(&ahead.text, 0)));
    lines
}

fn identified(number: &Number) -> String {
    let (given, meaning) = (&number.number, &number.meaning);
    if number.kind.is_none() {
        return format!("{}: {meaning}", number.given);
    }
    let check = if number.check_digit { "check digit holds" } else { "wrong check digit" };
    let fix = number.fix.as_ref().map_or_else(String::new, |fix| format!("; perhaps {fix}"));
    format!("{given}: {meaning}; {check}{fix}")
}

/// `line` folded at spaces, with what runs over `hang` further in; a word that is too long stands alone.
fn folded(line: &str, hang: usize) -> Vec<String> {
    let indent = line.chars().take_while(|c| *c == ' ').count();
    papers::wrap::folded(line.trim_start().split(' '), indent, hang, COLUMNS)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::dec;

    use crate::model::money::Currency;
    use crate::run::Asked;

    use super::*;

    #[test]
    fn a_line_is_folded_within_80_columns_and_no_word_is_lost() {
        let words = "lorem ipsum dolor ".repeat(20);
        for indent in [0, 11] {
            let line = format!("{}{}", " ".repeat(indent), words.trim());
            let lines = folded(&line, indent + 2);
            assert!(lines.len() > 1 && lines.iter().all(|line| line.chars().count() <= COLUMNS), "{lines:?}");
            let hang = " ".repeat(indent + 2);
            assert!(lines.iter().skip(1).all(|line| line.starts_with(&hang) && !line[hang.len()..].starts_with(' ')));
            let joined: Vec<&str> = lines.iter().flat_map(|line| line.split_whitespace()).collect();
            assert_eq!(joined, words.split_whitespace().collect::<Vec<_>>());
        }
        assert_eq!(folded(&"x".repeat(90), 2), ["x".repeat(90)]);
    }

    /// Two carriers with a service of one code: the one that was chosen is marked.
    #[test]
    fn the_chosen_service_is_marked_and_the_others_follow_by_price() {
        let usd = |amount| Money::new(amount, Currency::USD);
        let service = |carrier: &str, code: &str, price: Option<Decimal>| Service {
            base: None,
            bought: Vec::new(),
            carrier: carrier.into(),
            days: None,
            lawful: price.is_some(),
            price: price.map(usd),
            service: code.into(),
            tier: None,
            title: String::new(),
            tracked: true,
            why: vec!["because".into()],
            zone: None,
        };
        let quote = Quoted {
            ahead: None,
            asked: Asked {
                currency: "USD",
                holds: Vec::new(),
                mass: "4 oz".into(),
                on: date(2026, 11, 25),
                postal_code: String::new(),
                size_mm: ["1", "2", "3"].map(str::to_owned),
                size_of: None,
                to: "US",
                value: usd(Decimal::ZERO),
            },
            chosen: Some("small".into()),
            chosen_carrier: Some("North".into()),
            services: vec![
                service("South", "out", None),
                service("South", "big", Some(dec!(10.00))),
                service("South", "small", Some(dec!(9.00))),
                service("North", "small", Some(dec!(5.25))),
            ],
        };
        let heads: Vec<String> = quoted(&quote).into_iter().filter(|line| line.contains(", ")).skip(1).collect();
        assert_eq!(
            heads,
            ["▸    5.25  small, North", "     9.00  small, South", "    10.00  big, South", "       no  out, South"]
        );
    }
}
