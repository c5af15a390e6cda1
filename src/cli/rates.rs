//! What `quote` and `identify` print for a person: short lines within 80 columns.

use anyhow::Result;
use serde_json::Value;

use crate::papers;

use super::Done;
use super::out::say;
use super::show::document;

const COLUMNS: usize = 80;
/// Where the reasons of a service begin.
const INDENT: usize = 11;

pub(super) fn quote(quote: &Value, as_json: bool) -> Result<Done> {
    if as_json {
        document(quote)?;
    } else {
        for line in quoted(quote) {
            say!("{line}");
        }
    }
    Ok(Done::All)
}

pub(super) fn identify(numbers: &Value, as_json: bool) -> Result<Done> {
    if as_json {
        document(numbers)?;
    } else {
        for number in numbers["numbers"].as_array().into_iter().flatten() {
            for line in folded(&identified(number), 2) {
                say!("{line}");
            }
        }
    }
    Ok(Done::All)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// What was asked; then the service chosen, the others that are lawful from the cheapest on, and those that are not.
fn quoted(quote: &Value) -> Vec<String> {
    let asked = &quote["asked"];
    let sides: Vec<&str> = asked["size_mm"].as_array().into_iter().flatten().map(text).collect();
    let mut to = format!("{} {}", text(&asked["to"]), text(&asked["postal_code"]));
    to.truncate(to.trim_end().len());
    let size_of = asked["size_of"].as_str().map_or_else(String::new, |code| format!(" (mailer {code})"));
    // Without a value there is none to tell, and no rule that asks for more above one.
    let no_value = text(&asked["value"]).chars().all(|c| "0.".contains(c));
    let worth = if no_value {
        String::new()
    } else {
        format!(", worth {} {}", text(&asked["value"]), text(&asked["currency"]))
    };
    let question = format!(
        "{} to {to}, {} mm{size_of}{worth}, handed over on {}",
        text(&asked["mass"]),
        sides.join(" x "),
        text(&asked["on"])
    );
    let mut lines = folded(&question, 0);
    let mut services: Vec<&Value> = quote["services"].as_array().into_iter().flatten().collect();
    let price = |service: &Value| text(&service["price"]).parse::<rust_decimal::Decimal>().unwrap_or_default();
    services.sort_by_key(|service| (!is_chosen(quote, service), service["lawful"] != true, price(service)));
    for service in services {
        let sign = if is_chosen(quote, service) { "▸" } else { " " };
        let price = if service["lawful"] == true { text(&service["price"]) } else { "no" };
        let head = format!("{sign} {price:>7}  {}, {}", text(&service["service"]), text(&service["carrier"]));
        lines.extend(folded(&head, INDENT));
        let why = service["why"].as_array().into_iter().flatten();
        lines.extend(why.flat_map(|why| folded(&format!("{:INDENT$}{}", "", text(why)), INDENT + 2)));
    }
    if quote["services"].as_array().is_none_or(Vec::is_empty) {
        lines.push("no rate card holds on that day; add one to rates/".to_owned());
    } else if quote["chosen"].is_null() {
        lines.push("No service takes it.".to_owned());
    }
    if asked["holds"].as_array().is_some_and(|holds| !holds.is_empty()) {
        lines.push("Button cells and magnets: check the carrier's current rules before posting.".to_owned());
    }
    lines.extend(quote["ahead"]["text"].as_str().into_iter().flat_map(|ahead| folded(ahead, 0)));
    lines
}

/// Two carriers may have a service of one code.
fn is_chosen(quote: &Value, service: &Value) -> bool {
    service["lawful"] == true && service["service"] == quote["chosen"] && service["carrier"] == quote["chosen_carrier"]
}

fn identified(number: &Value) -> String {
    let (given, meaning) = (text(&number["number"]), text(&number["meaning"]));
    if number["kind"].is_null() {
        return format!("{}: {meaning}", text(&number["given"]));
    }
    let check = if number["check_digit"] == true { "check digit holds" } else { "wrong check digit" };
    let fix = number["fix"].as_str().map_or_else(String::new, |fix| format!("; perhaps {fix}"));
    format!("{given}: {meaning}; {check}{fix}")
}

/// `line` folded at spaces, with what runs over `hang` further in; a word that is too long stands alone.
fn folded(line: &str, hang: usize) -> Vec<String> {
    let indent = line.chars().take_while(|c| *c == ' ').count();
    papers::wrap::folded(line.trim_start().split(' '), indent, hang, COLUMNS)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

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
        let service = |carrier: &str, code: &str, price: Option<&str>| json!({"carrier": carrier, "service": code, "lawful": price.is_some(), "price": price, "why": ["because"]});
        let quote = json!({
            "chosen": "small", "chosen_carrier": "North",
            "services": [service("South", "out", None), service("South", "big", Some("10.00")),
                         service("South", "small", Some("9.00")), service("North", "small", Some("5.25"))],
            "ahead": null, "asked": {"mass": "4 oz", "size_mm": ["1", "2", "3"], "to": "US", "holds": []},
        });
        let heads: Vec<String> = quoted(&quote).into_iter().filter(|line| line.contains(", ")).skip(1).collect();
        assert_eq!(
            heads,
            ["▸    5.25  small, North", "     9.00  small, South", "    10.00  big, South", "       no  out, South"]
        );
    }
}
