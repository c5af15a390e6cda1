//! Trade confirmations: a text form of keys and lists, generous in case, spacing and bullets.
//!
//! ```text
//! Trade with: Ines Okonjo
//! Address:
//!   88 Tern Street Apt 4
//!   Gullhaven, OR 97099
//! Agreed: 2026-11-20
//! I send:
//!   2 x BELL-BUOY
//! I get:
//!   1 x "Cape Fathom, night" = 12.00
//! ```
//!
//! A line that begins `Trade with:` begins a trade; several may follow one another. What can't be read refuses
//! the trade it stands in, with the line and the nearest key.

use std::str::FromStr;

use jiff::civil::Date;

use crate::model::address::Country;
use crate::model::day::Refused;
use crate::model::drop::{Content, DateOrder, Reading, RefusedRow, Rows};
use crate::model::recipient::Recipient;
use crate::model::text::one_line;
use crate::model::trade::{First, LossFallsOn, Trade, TradeItem};

use super::{ReadRules, values};

const KEYS: [&str; 10] = [
    "trade with",
    "address",
    "email",
    "agreed",
    "send by",
    "first to send",
    "loss falls on",
    "i send",
    "i get",
    "note",
];

/// Whether a text holds a trade confirmation.
pub(super) fn looks_like_one(text: &str) -> bool {
    text.lines().any(|line| key_of(line).is_some_and(|(key, _)| key == "trade with"))
}

pub(super) fn read(file: &str, text: &str, encoding: String, rules: &ReadRules<'_>) -> Reading {
    let lines: Vec<(u64, &str)> = (1..).zip(text.lines()).collect();
    let starts: Vec<usize> = lines
        .iter()
        .enumerate()
        .filter(|(_, (_, line))| key_of(line).is_some_and(|(key, _)| key == "trade with"))
        .map(|(index, _)| index)
        .collect();
    let mut rows = Rows { skipped: u64::from(starts.first().is_some_and(|first| *first > 0)), ..Rows::default() };
    let (mut trades, mut refused) = (Vec::new(), Vec::new());
    for (place, start) in starts.iter().enumerate() {
        let end = starts.get(place + 1).copied().unwrap_or(lines.len());
        let block = lines.get(*start..end).unwrap_or_default();
        match trade(block, rules) {
            Ok(trade) => trades.push(trade),
            Err((line, value, reason)) => refused.push(RefusedRow {
                why: Refused { file: file.to_owned(), line: Some(line), column: None, value: Some(value), reason },
                cells: block.iter().map(|(_, line)| (*line).to_owned()).collect(),
            }),
        }
    }
    rows.taken = trades.len() as u64;
    rows.refused = refused.len() as u64;
    rows.read = rows.taken + rows.refused + rows.skipped;
    Reading {
        content: Content::Trades(trades),
        source: None,
        encoding,
        delimiter: None,
        header_line: None,
        rows,
        refused,
        headers: Vec::new(),
    }
}

/// `Key: value`, with the key folded; `None` where the line has no key of ours or near one of ours.
fn key_of(line: &str) -> Option<(String, &str)> {
    let (key, value) = line.split_once(':')?;
    let key = key.trim_matches(|c: char| c.is_whitespace() || "*-•>#_".contains(c));
    let folded = one_line(key).to_lowercase();
    KEYS.contains(&folded.as_str()).then_some((folded, value.trim()))
}

type Fault = (u64, String, String);

fn trade(block: &[(u64, &str)], rules: &ReadRules<'_>) -> Result<Trade, Fault> {
    let mut form = Form::default();
    let mut key = String::new();
    for (line, text) in block {
        let at = |value: &str, reason: &str| (*line, value.to_owned(), reason.to_owned());
        if let Some((found, value)) = key_of(text) {
            key = found;
            if value.is_empty() {
                continue;
            }
            form.take(&key, value).map_err(|reason| at(value, &reason))?;
            continue;
        }
        let trimmed = text.trim();
        if trimmed.is_empty() {
            continue;
        }
        let in_list = matches!(key.as_str(), "address" | "i send" | "i get" | "note");
        // A key nobody knows is a slip; anything after a list that isn't indented or a bullet is a signature.
        if let Some((unknown, _)) = trimmed.split_once(':').filter(|_| key != "note" && key != "address") {
            let folded = one_line(unknown).to_lowercase();
            let near = KEYS
                .iter()
                .max_by(|a, b| strsim::jaro_winkler(a, &folded).total_cmp(&strsim::jaro_winkler(b, &folded)));
            let near = near.copied().unwrap_or("note");
            return Err(at(unknown, &format!("is not a key of a trade confirmation; did you mean `{near}`?")));
        }
        let belongs = text.starts_with([' ', '\t'])
            || trimmed.starts_with(['-', '*', '•'])
            || key != "address" && starts_with_count(trimmed);
        if in_list && (belongs || key == "address" && form.address.is_empty()) {
            form.take(&key, trimmed).map_err(|reason| at(trimmed, &reason))?;
        } else if form.send.is_empty() {
            return Err(at(trimmed, "stands under no key; indent it under `Address:`, `I send:` or `I get:`"));
        } else {
            break;
        }
    }
    let first = block.first().map_or(0, |(line, _)| *line);
    form.finish(rules).map_err(|reason| (first, one_line(block.first().map_or("", |(_, line)| line)), reason))
}

fn starts_with_count(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
}

#[derive(Default)]
struct Form {
    with: String,
    address: Vec<String>,
    email: Option<String>,
    agreed: Option<Date>,
    send_by: Option<Date>,
    first: First,
    loss: LossFallsOn,
    send: Vec<(u32, String, Option<String>)>,
    get: Vec<(u32, String, Option<String>)>,
    note: Vec<String>,
}

impl Form {
    fn take(&mut self, key: &str, value: &str) -> Result<(), String> {
        let day = |text: &str| {
            values::date(text, DateOrder::Ymd, &jiff::tz::TimeZone::UTC)
                .map_err(|_| "is not a date; write it as 2026-11-25".to_owned())
        };
        match key {
            "trade with" => self.with = one_line(value),
            "address" => self.address.extend(value.split(" / ").map(one_line).filter(|line| !line.is_empty())),
            "email" => self.email = Some(one_line(value)),
            "agreed" => self.agreed = Some(day(value)?),
            "send by" => self.send_by = Some(day(value)?),
            "first to send" => {
                self.first = match value.to_lowercase().as_str() {
                    "together" | "both" => First::Together,
                    "me" | "i" => First::Me,
                    "them" | "they" => First::Them,
                    _ => return Err("says who sends first; write together, me or them".to_owned()),
                };
            }
            "loss falls on" => {
                self.loss = match value.to_lowercase().as_str() {
                    "sender" => LossFallsOn::Sender,
                    "receiver" => LossFallsOn::Receiver,
                    "unsaid" => LossFallsOn::Unsaid,
                    _ => return Err("says who bears a loss; write sender, receiver or unsaid".to_owned()),
                };
            }
            "i send" => self.send.push(item(value)?),
            "i get" => self.get.push(item(value)?),
            "note" => self.note.push(one_line(value)),
            _ => {}
        }
        Ok(())
    }

    fn finish(self, rules: &ReadRules<'_>) -> Result<Trade, String> {
        let need = |what: &str| format!("has no `{what}`; add a line `{what}: …`");
        if self.with.is_empty() {
            return Err(need("Trade with"));
        }
        if self.send.is_empty() {
            return Err(need("I send"));
        }
        if self.address.is_empty() {
            return Err(need("Address"));
        }
        let agreed = self.agreed.ok_or_else(|| need("Agreed"))?;
        let with = recipient(self.with, &self.address, self.email, rules);
        let items = |list: Vec<(u32, String, Option<String>)>| -> Result<Vec<TradeItem>, String> {
            list.into_iter()
                .map(|(quantity, what, value)| {
                    let value = value
                        .map(|text| values::money(&text, '.', rules.currency).map_err(|why| format!("`{text}` {why}")))
                        .transpose()?;
                    Ok(TradeItem { quantity, what, value })
                })
                .collect()
        };
        Ok(Trade {
            with,
            agreed,
            send_by: self.send_by,
            first: self.first,
            loss: self.loss,
            send: items(self.send)?,
            get: items(self.get)?,
            note: Some(self.note.join(" ")).filter(|note| !note.is_empty()),
        })
    }
}

/// `2 x BELL-BUOY`, `1 × "Lightship No. 9" = 12.00`, with or without a bullet.
fn item(text: &str) -> Result<(u32, String, Option<String>), String> {
    let wrong = || "is not an item; write it as `2 x CODE` or `1 x \"Title\"`".to_owned();
    let text = text.trim_start_matches(|c: char| c.is_whitespace() || "-*•".contains(c));
    let digits: String = text.chars().take_while(char::is_ascii_digit).collect();
    let quantity = values::quantity(&digits).map_err(|_| wrong())?;
    let rest = text.get(digits.len()..).unwrap_or_default().trim_start();
    let rest = rest.strip_prefix(['x', 'X', '×', '*']).ok_or_else(wrong)?.trim();
    let (what, value) = if let Some(quoted) = rest.strip_prefix('"') {
        let (what, after) = quoted.split_once('"').ok_or_else(wrong)?;
        (what, after.trim().strip_prefix('='))
    } else {
        rest.split_once('=').map_or((rest, None), |(what, value)| (what, Some(value)))
    };
    let what = one_line(what);
    if what.is_empty() {
        return Err(wrong());
    }
    Ok((quantity, what, value.map(one_line).filter(|value| !value.is_empty())))
}

/// Street lines, then "Town, ST 12345" or "12345 Town", then a country on a line of its own where there is one.
fn recipient(name: String, address: &[String], email: Option<String>, rules: &ReadRules<'_>) -> Recipient {
    let mut lines = address.to_vec();
    let abroad = lines.last().filter(|_| lines.len() > 2).and_then(|last| Country::from_str(last).ok());
    if abroad.is_some() {
        lines.pop();
    }
    let country = abroad.unwrap_or(rules.country);
    let town = lines.pop().unwrap_or_default();
    let (city, region, postal_code) = town_line(&town);
    Recipient {
        name,
        company: None,
        lines,
        city,
        region,
        postal_code,
        country: Some(country),
        country_as_written: None,
        email,
    }
}

fn town_line(town: &str) -> (String, String, String) {
    let has_digit = |word: &str| word.bytes().any(|b| b.is_ascii_digit());
    if let Some((city, rest)) = town.rsplit_once(',') {
        let words: Vec<&str> = rest.split_whitespace().collect();
        let split = words.iter().position(|word| has_digit(word)).unwrap_or(words.len());
        let (region, code) = words.split_at(split);
        return (city.trim().to_owned(), region.join(" "), code.join(" "));
    }
    let words: Vec<&str> = town.split_whitespace().collect();
    let leading = words.iter().take_while(|word| has_digit(word)).count();
    if leading > 0 {
        let (code, city) = words.split_at(leading);
        return (city.join(" "), String::new(), code.join(" "));
    }
    let trailing = words.iter().position(|word| has_digit(word)).unwrap_or(words.len());
    let (city, code) = words.split_at(trailing);
    (city.join(" "), String::new(), code.join(" "))
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;
    use rust_decimal::dec;

    use super::*;
    use crate::model::money::Currency;

    const FORM: &str = "Trade with: Ines Okonjo
Address:
  88 Tern Street Apt 4
  Gullhaven, OR 97099
Email: ines@example.net
Agreed: 2026-11-20
Send by: 2026-11-27
First to send: them
Loss falls on: sender
I send:
  2 x BELL-BUOY
  1 x \"Lightship No. 9\"
I get:
  1 x \"Cape Fathom, night\" = 12.00
Note: mint backs please
";

    fn parse(text: &str) -> Reading {
        let zone = TimeZone::UTC;
        let rules = ReadRules { maps: &[], time_zone: &zone, currency: Currency::USD, country: "US".parse().unwrap() };
        super::super::read("t.txt", text.as_bytes(), &rules).unwrap()
    }

    fn trades(reading: &Reading) -> &[Trade] {
        let Content::Trades(trades) = &reading.content else { panic!("{reading:?}") };
        trades
    }

    #[test]
    fn the_form_is_read_whole() {
        let reading = parse(FORM);
        let [trade] = trades(&reading) else { panic!("{reading:?}") };
        assert_eq!(
            (trade.with.city.as_str(), trade.with.region.as_str(), trade.with.postal_code.as_str()),
            ("Gullhaven", "OR", "97099")
        );
        assert_eq!(trade.first, First::Them);
        assert_eq!(trade.send[1].what, "Lightship No. 9");
        assert_eq!(trade.get[0].value.map(|value| value.amount), Some(dec!(12.00)));
        assert_eq!(trade.note.as_deref(), Some("mint backs please"));
    }

    #[test]
    fn case_bullets_and_a_signature_do_not_matter() {
        let text =
            format!("Hello!\n\n{}\nBest,\nInes\n", FORM.replace("I send:", "  * i SEND :").replace("  2 x", "- 2 ×"));
        assert_eq!(trades(&parse(&text)), trades(&parse(FORM)));
    }

    #[test]
    fn a_slip_in_a_key_is_named_with_its_line() {
        let reading = parse(&FORM.replace("Agreed:", "Agred:"));
        let why = &reading.refused[0].why;
        assert_eq!(
            (why.line, why.reason.as_str()),
            (Some(6), "is not a key of a trade confirmation; did you mean `agreed`?")
        );
    }

    #[test]
    fn two_trades_may_share_a_file_and_one_bad_one_spares_the_other() {
        let reading = parse(&format!("{FORM}\n{}", FORM.replace("2 x BELL-BUOY", "some BELL-BUOY")));
        assert_eq!((trades(&reading).len(), reading.refused.len()), (1, 1));
    }

    #[test]
    fn a_saved_email_holds_it_too() {
        let body = FORM.replace('=', "=3D").replace('\n', "\r\n");
        let mail = format!(
            "From: Ines <ines@example.net>\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\nSubject: trade\r\nMIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n{body}"
        );
        assert_eq!(trades(&parse(&mail)), trades(&parse(FORM)));
    }
}
