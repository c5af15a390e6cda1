//! Items of a trade: how many of what, and what both agreed it is worth.
//!
//! Handed the text of a line; promises each item with its count, or what is wrong. The count is always asked for,
//! in figures and set apart by a sign, before or behind: `2 x A`, `2x A`, `x2 A`, `A x 2`. Turned down: a bare
//! number, since `3 gulls` may be three of one pin or one pin of three gulls, and numbers in words.

use std::sync::LazyLock;

use regex::Regex;

use crate::model::text::one_line;
use crate::model::trade::TradeItem;

use super::super::{ReadRules, numbers, values};
use super::{BULLETS, unnumbered};

/// Quotes as they open, and how they may close: English, German, Polish, French, Japanese and plain ones.
const QUOTES: [(char, &str); 12] = [
    ('"', "\""),
    ('“', "”“\""),
    ('„', "“”\""),
    ('”', "”"),
    ('‟', "”"),
    ('«', "»"),
    ('»', "«"),
    ('‹', "›"),
    ('‘', "’"),
    ('\'', "'"),
    ('「', "」"),
    ('『', "』"),
];

fn closings(open: char) -> Option<&'static str> {
    QUOTES.iter().find(|(quote, _)| *quote == open).map(|(_, closings)| *closings)
}

/// What closes the quote that an item's title begins with, if it does.
fn opened(text: &str) -> Option<(&'static str, &str)> {
    let mut letters = text.chars();
    let closings = letters.next().and_then(closings)?;
    Some((closings, letters.as_str()))
}

/// Where a quoted title ends: at the last of its closing quotes that only a value follows.
fn closed<'t>(text: &'t str, closings: &str) -> Option<(&'t str, &'t str)> {
    let ends = |rest: &str| rest.is_empty() || rest.starts_with(['=', '＝']) || behind(rest).is_some();
    let places = text.char_indices().rev().filter(|(_, c)| closings.contains(*c));
    let pairs = places.map(|(place, c)| {
        (text.get(..place).unwrap_or_default(), text.get(place + c.len_utf8()..).unwrap_or_default().trim())
    });
    pairs.into_iter().find(|(_, rest)| ends(rest))
}

/// Whether the quotes of the last item of a line are still open at its end, as where a mail program broke it.
pub(in super::super) fn has_open_quote(line: &str) -> bool {
    let parts = parted(line);
    let title = parts.last().map(|part| counted(part).map_or_else(|| bare(part), |(_, rest)| rest));
    title.and_then(opened).is_some_and(|(closings, rest)| !rest.contains(|c| closings.contains(c)))
}

/// Whether a line holds a count as an item does.
pub(in super::super) fn is_item(text: &str) -> bool {
    counted(text).is_some() || behind(bare(text)).is_some_and(|(_, what, _)| !what.is_empty())
}

/// A line without its bullet or number.
fn bare(text: &str) -> &str {
    let text = text.trim_start_matches(|c: char| c.is_whitespace() || BULLETS.contains(c));
    unnumbered(text).trim_start_matches(|c: char| c.is_whitespace() || BULLETS.contains(c))
}

/// A count before what is counted: `2 x`, `2×`, `2x`, `x2`. A letter must stand apart from what follows, or
/// `2 xylophone` would be two ylophones.
static BEFORE: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let apart = "[\\s\"“„”‟«»‹‘'「『]";
    Regex::new(&format!(
        "^(?:([0-9０-９]+)\\s*(?:[x×X✕ｘ*](?:\\s|$)|[×✕*]|[xXｘ](?:{apart}))|[x×X✕ｘ]\\s?([0-9０-９]+)(?:\\s|$))"
    ))
    .ok()
});
/// A count behind it: `A x 2`, `A ×2`.
static BEHIND: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new("(?:^|\\s)[x×X✕ｘ*]\\s?([0-9０-９]+)(?:\\s*([=＝].*))?$").ok());

fn count(digits: &str) -> Option<u32> {
    let plain = |c: char| match c {
        '０'..='９' => char::from_u32(u32::from(c) - u32::from('０') + u32::from('0')),
        _ => Some(c),
    };
    values::quantity(&digits.chars().filter_map(plain).collect::<String>()).ok()
}

/// The count at the beginning of an item, and the rest.
fn counted(text: &str) -> Option<(u32, &str)> {
    let text = bare(text);
    let found = BEFORE.as_ref()?.captures(text)?;
    let digits = found.get(1).or(found.get(2))?;
    let end = found.get(0)?.end();
    // A quote that told the letter from a word is of the title.
    let quote = text.get(..end)?.chars().next_back().filter(|c| closings(*c).is_some()).map_or(0, char::len_utf8);
    Some((count(digits.as_str())?, text.get(end - quote..)?.trim()))
}

/// The count behind what is counted, what stands before it, and the value.
fn behind(text: &str) -> Option<(u32, &str, &str)> {
    let found = BEHIND.as_ref()?.captures(text)?;
    let start = found.get(0)?.start();
    let value = found.get(2).map_or("", |value| value.as_str());
    Some((count(found.get(1)?.as_str())?, text.get(..start)?.trim(), value))
}

/// The items of one line: `2 x A; 1 x B` are two, and so are `2 x A and 1 x B`.
fn parted(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut start = 0;
    let mut quote: Option<&str> = None;
    for (place, c) in text.char_indices() {
        if let Some(closings) = quote {
            if closings.contains(c) {
                quote = None;
            }
            continue;
        }
        let before = text.get(..place).unwrap_or_default();
        // Inside a word it is an apostrophe.
        if let Some(closings) =
            closings(c).filter(|_| !before.ends_with(char::is_alphanumeric) || c != '\'' && c != '’')
        {
            quote = Some(closings);
            continue;
        }
        let rest = text.get(place..).unwrap_or_default();
        let joint = [";", ",", "；", "、", " and ", " & ", " + "].into_iter().find(|joint| rest.starts_with(joint));
        let Some(joint) = joint else { continue };
        if place >= start && counted(rest.get(joint.len()..).unwrap_or_default()).is_some() {
            parts.extend(text.get(start..place).filter(|part| !part.trim().is_empty()));
            start = place + joint.len();
        }
    }
    parts.extend(text.get(start..));
    parts
}

pub(super) fn items(text: &str, rules: &ReadRules<'_>) -> Result<Vec<TradeItem>, String> {
    parted(text).into_iter().map(|part| item(part, rules)).collect()
}

const IN_WORDS: [&str; 11] = ["a", "an", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];

fn wrong(text: &str) -> String {
    let first = text.split_whitespace().next().unwrap_or_default().to_lowercase();
    let figures = first.starts_with(|c: char| c.is_ascii_digit()) && first.len() < 5;
    let why = if IN_WORDS.contains(&first.as_str()) {
        "is not an item, whose number is written in figures"
    } else if figures {
        "is not an item: a sign belongs between its number and its name"
    } else {
        "is not an item"
    };
    format!("{why}; write it as `2 x CODE` or `1 x \"Title\"`, with ` = 12.00` for its value")
}

/// `2 x BELL-BUOY`, `1 × "Lightship No. 9" = 12.00`, `BELL-BUOY x 2`.
fn item(text: &str, rules: &ReadRules<'_>) -> Result<TradeItem, String> {
    let text = bare(text).trim_end_matches(|c: char| c.is_whitespace() || ",;；、".contains(c));
    let fault = || wrong(text);
    let (leading, rest) = counted(text).map_or((None, text), |(count, rest)| (Some(count), rest));
    let (what, after) = match opened(rest) {
        Some((closings, title)) => closed(title, closings).ok_or_else(fault)?,
        None => rest
            .split_once(['=', '＝'])
            .map_or((rest, ""), |(what, _)| (what, rest.get(what.len()..).unwrap_or_default())),
    };
    // With a count before it, a number behind it is of its title.
    let (quantity, what, value) = match (leading, behind(after), behind(what.trim())) {
        (Some(count), None, _) => (count, what, after),
        (None, Some((count, "", value)), _) => (count, what, value),
        (None, None, Some((count, what, ""))) if !what.is_empty() && opened(rest).is_none() => (count, what, after),
        _ => return Err(fault()),
    };
    let what = one_line(what);
    if what.is_empty() {
        return Err(fault());
    }
    let value = match value.strip_prefix(['=', '＝']) {
        Some(value) => Some(amount(&one_line(value), rules)?),
        None => None,
    };
    Ok(TradeItem { quantity, what, value })
}

/// The value of one, with or without a word that says so.
fn amount(text: &str, rules: &ReadRules<'_>) -> Result<crate::model::money::Money, String> {
    let each = [" each", " apiece", " ea", " ea."].into_iter().find_map(|word| text.strip_suffix(word));
    numbers::money_in_some_style(each.unwrap_or(text), rules.currency)
        .map_err(|why| format!("has a value, `{text}`, that {why}"))
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;
    use rust_decimal::dec;

    use super::*;
    use crate::model::money::Currency;

    fn read(text: &str) -> Result<Vec<(u32, String, Option<rust_decimal::Decimal>)>, String> {
        let zone = TimeZone::UTC;
        let rules = ReadRules {
            maps: &[],
            time_zone: &zone,
            currency: Currency::USD,
            country: "US".parse().unwrap(),
            dates: &crate::inbox::test_home::NO_DATES,
        };
        let items = items(text, &rules)?;
        Ok(items.into_iter().map(|item| (item.quantity, item.what, item.value.map(|value| value.amount))).collect())
    }

    #[test]
    fn items_are_read_as_people_write_them() {
        let one = |text, quantity, what: &str, value| {
            assert_eq!(read(text), Ok(vec![(quantity, what.to_owned(), value)]), "{text}");
        };
        one("2 x BELL-BUOY", 2, "BELL-BUOY", None);
        one(" - 2X BELL-BUOY", 2, "BELL-BUOY", None);
        one("• 2×BELL-BUOY", 2, "BELL-BUOY", None);
        one("1 x\"Cape Fathom, night\"=12.00", 1, "Cape Fathom, night", Some(dec!(12.00)));
        one("1 x “Lightship No. 9” = $12", 1, "Lightship No. 9", Some(dec!(12)));
        one("1 x Cape Fathom, night = 12,50", 1, "Cape Fathom, night", Some(dec!(12.50)));
        one("1 x xylophone", 1, "xylophone", None);
        one("1. 2 x BELL-BUOY", 2, "BELL-BUOY", None);
        one("3) ‣ 2x BELL-BUOY", 2, "BELL-BUOY", None);
        one("x2 BELL-BUOY", 2, "BELL-BUOY", None);
        one("×2 BELL-BUOY = 9", 2, "BELL-BUOY", Some(dec!(9)));
        one("BELL-BUOY x 2", 2, "BELL-BUOY", None);
        one("– BELL-BUOY ×2 = $4.50", 2, "BELL-BUOY", Some(dec!(4.50)));
        one("\"Lightship No. 9\" x2", 2, "Lightship No. 9", None);
        one("\"Lightship No. 9\" x 2 = 4", 2, "Lightship No. 9", Some(dec!(4)));
        one("2 x Tern x 3", 2, "Tern x 3", None);
        one("２ｘ「灯台」＝１".trim_end_matches("＝１"), 2, "灯台", None);
        one("1 x 'Skipper's mate' = 5.00 each", 1, "Skipper's mate", Some(dec!(5.00)));
        one("1 x Skipper’s mate, large", 1, "Skipper’s mate, large", None);
        one("1 x «Phare bleu»", 1, "Phare bleu", None);
        one("1 x „Blauer Leuchtturm“ = 5", 1, "Blauer Leuchtturm", Some(dec!(5)));
        one("1 x ”Blå fyr”", 1, "Blå fyr", None);
        one("1 x \"The \"Big\" gull\" = 5", 1, "The \"Big\" gull", Some(dec!(5)));
        one("2 x\tBELL-BUOY", 2, "BELL-BUOY", None);
        one("2\u{A0}x\u{A0}BELL-BUOY", 2, "BELL-BUOY", None);
    }

    #[test]
    fn several_items_may_share_a_line() {
        let two = read("2 x BELL-BUOY, 1 x \"Gull, 3 x red\"; 1 x TERN = 9.00").unwrap();
        assert_eq!(two.iter().map(|item| item.1.as_str()).collect::<Vec<_>>(), ["BELL-BUOY", "Gull, 3 x red", "TERN"]);
        let two = read("2 x Salt and pepper and 1 x TERN").unwrap();
        assert_eq!(two.iter().map(|item| item.1.as_str()).collect::<Vec<_>>(), ["Salt and pepper", "TERN"]);
        assert_eq!(read("2 x A;").unwrap()[0].1, "A");
    }

    #[test]
    fn an_open_quote_is_seen() {
        assert!(has_open_quote("1 x \"Lightship"));
        assert!(has_open_quote("2 x A, 1 x „Blauer"));
        assert!(!has_open_quote("1 x \"Lightship\" = 2"));
        assert!(!has_open_quote("1 x 5\" pin"));
    }

    #[test]
    fn what_is_no_item_is_refused_whole() {
        for text in [
            "some BELL-BUOY",
            "2 xylophone",
            "BELL-BUOY",
            "0 x BELL-BUOY",
            "1 x",
            "1 x \"Lightship",
            "1 x \"Lightship\" (mint)",
            "1 x A = twelve",
            "1 x A = 1,200",
            "1 x A = £12",
            "two BELL-BUOY",
            "2 BELL-BUOY",
            "2x",
            "1. BELL-BUOY",
            "\"Lightship\"",
            "x 2",
            "2 x A = ",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
