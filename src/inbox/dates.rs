//! Days, as sources and people write them.
//!
//! Handed a cell and, where a map says it, the order of day and month; promises one reading or none. A year written
//! with four digits first, a month written as a word and a moment with its offset read alike everywhere. Turned
//! down: deciding the order from a single cell, where 3/4 is two days.

use jiff::civil::{Date, Time};
use jiff::fmt::rfc2822;
use jiff::tz::{Offset, TimeZone};
use jiff::{Timestamp, ZonedDateTime};

use crate::model::drop::DateOrder;

/// A day in the order the source writes it; a time of day with an offset counts in `zone`.
pub(super) fn date(text: &str, order: DateOrder, zone: &TimeZone) -> Result<Date, String> {
    read(text, order, zone).ok_or_else(|| {
        let form = match order {
            DateOrder::Dmy => "day.month.year",
            DateOrder::Mdy => "month/day/year",
            DateOrder::Ymd => "year-month-day",
        };
        format!("is not a date; this source writes {form}, by `dates` in its map")
    })
}

/// A day that a person typed or a spreadsheet turned. Where `known` doesn't say which comes first and day and month
/// could be either, it says so.
pub(super) fn date_in_some_order(text: &str, known: Option<DateOrder>, zone: &TimeZone) -> Result<Date, String> {
    if let Some(order) = known {
        return read(text, order, zone).ok_or_else(not_a_date);
    }
    match (read(text, DateOrder::Dmy, zone), read(text, DateOrder::Mdy, zone)) {
        (Some(one), Some(other)) if one == other || is_dotted(text) => Ok(one),
        (Some(one), Some(other)) => Err(format!("is {one} or {other}; write the one that is meant, in that form")),
        (Some(day), None) | (None, Some(day)) => Ok(day),
        (None, None) => Err(not_a_date()),
    }
}

fn not_a_date() -> String {
    "is not a date; write it as 2026-11-25".to_owned()
}

/// Points stand between day and month only where the day comes first (CLDR, short date formats; from memory).
fn is_dotted(text: &str) -> bool {
    text.trim().bytes().take_while(|b| !b.is_ascii_whitespace()).all(|b| b.is_ascii_digit() || b == b'.')
}

/// The order in which all of the cells are dates, where there is just one.
pub(super) fn order_of(cells: &[impl AsRef<str>], zone: &TimeZone) -> Option<DateOrder> {
    let fits = |order| cells.iter().all(|cell| read(cell.as_ref(), order, zone).is_some());
    match (fits(DateOrder::Dmy), fits(DateOrder::Mdy)) {
        (true, false) => Some(DateOrder::Dmy),
        (false, true) => Some(DateOrder::Mdy),
        (true, true) | (false, false) => None,
    }
}

fn read(text: &str, order: DateOrder, zone: &TimeZone) -> Option<Date> {
    let text = text.trim();
    let local = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    let moment = text.parse::<Timestamp>().ok();
    let moment = moment.or_else(|| text.parse::<ZonedDateTime>().ok().map(|at| at.timestamp()));
    if let Some(at) = moment.or_else(|| rfc2822::parse(text).ok().map(|at| at.timestamp())) {
        return Some(local(at)).filter(|day| is_likely(*day));
    }
    let (day, rest) = figures(text, order).or_else(|| words(text))?;
    let rest = rest.trim_start_matches(|c: char| c.is_whitespace() || c == ',' || c == 'T');
    if rest.is_empty() {
        return Some(day);
    }
    let (time, offset) = time_of_day(rest)?;
    let Some(offset) = offset else { return Some(day) };
    let at = TimeZone::fixed(offset).to_timestamp(day.to_datetime(time)).ok()?;
    Some(local(at)).filter(|day| is_likely(*day))
}

/// A shop of this century. A year beyond it is a slip of the pen, and would never come due.
fn is_likely(day: Date) -> bool {
    (2000..2100).contains(&day.year())
}

/// `25.11.2026`, `11/25/26`, `2026-11-25`, and what follows.
fn figures(text: &str, order: DateOrder) -> Option<(Date, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '/' | '.' | '-')).unwrap_or(text.len());
    let (day, rest) = text.split_at_checked(end)?;
    let mark = day.chars().find(|c| !c.is_ascii_digit())?;
    let parts: Vec<&str> = day.split(mark).collect();
    let [a, b, c] = parts.as_slice() else { return None };
    // Nobody writes year, day, month.
    let order = if a.len() == 4 { DateOrder::Ymd } else { order };
    let (year, month, day) = match order {
        DateOrder::Dmy => (c, b, a),
        DateOrder::Mdy => (c, a, b),
        DateOrder::Ymd => (a, b, c),
    };
    let year: i16 = match (order, year.len()) {
        (DateOrder::Dmy | DateOrder::Mdy | DateOrder::Ymd, 4) => year.parse().ok()?,
        // With the year last, two digits of it are common; with the year first they'd look like a day.
        (DateOrder::Dmy | DateOrder::Mdy, 2) => 2000 + year.parse::<i16>().ok()?,
        (DateOrder::Dmy | DateOrder::Mdy | DateOrder::Ymd, _) => return None,
    };
    let day = Date::new(year, month.parse().ok()?, day.parse().ok()?).ok().filter(|day| is_likely(*day))?;
    Some((day, rest))
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];
const DAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// `25 Nov 2026`, `Wed, November 25th, 2026`, and what follows.
fn words(text: &str) -> Option<(Date, &str)> {
    let (mut year, mut month, mut day) = (None, None, None);
    let mut rest = text;
    while year.is_none() || month.is_none() || day.is_none() {
        rest = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ',' | '.' | '-' | '/'));
        let end = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
        let (word, after) = rest.split_at_checked(end)?;
        let word = word.to_lowercase();
        let begins = |names: &[&str]| names.iter().position(|name| word.len() >= 3 && name.starts_with(word.as_str()));
        let plain = ["st", "nd", "rd", "th"].iter().find_map(|ending| word.strip_suffix(ending)).unwrap_or(&word);
        if let Some(place) = begins(&MONTHS).or_else(|| (word == "sept").then_some(8)) {
            month = i8::try_from(place + 1).ok().filter(|_| month.is_none());
            month?;
        } else if word.len() == 4 && year.is_none() && word.bytes().all(|b| b.is_ascii_digit()) {
            year = word.parse::<i16>().ok();
        } else if plain.len() <= 2 && day.is_none() {
            day = Some(plain.parse::<i8>().ok()?);
        } else if begins(&DAYS).is_none() {
            return None;
        }
        rest = after;
    }
    let day = Date::new(year?, month?, day?).ok().filter(|day| is_likely(*day))?;
    Some((day, rest))
}

/// `08:15`, `8:15:30.5 PM`, with or without an offset; nothing may follow.
fn time_of_day(text: &str) -> Option<(Time, Option<Offset>)> {
    let text = text.strip_prefix("at ").unwrap_or(text);
    let end = text.find(|c: char| !c.is_ascii_digit() && c != ':' && c != '.').unwrap_or(text.len());
    let (clock, rest) = text.split_at_checked(end)?;
    let mut parts = clock.split(':');
    let (hour, minute) = (parts.next()?.parse::<i8>().ok()?, parts.next()?.parse::<i8>().ok()?);
    // A fraction of a second changes no day.
    let second = parts.next().map_or(Some(0), |second| second.split('.').next()?.parse::<i8>().ok())?;
    if parts.next().is_some() {
        return None;
    }
    let rest = rest.trim().to_lowercase();
    let half = [("am", 0), ("a.m.", 0), ("pm", 12), ("p.m.", 12)];
    let half = half.iter().find_map(|(word, hours)| Some((rest.strip_prefix(word)?.trim(), *hours)));
    let (hour, rest) = match half {
        Some((rest, hours)) if (1..=12).contains(&hour) => (hour % 12 + hours, rest),
        Some(_) => return None,
        None => (hour, rest.strip_prefix("uhr").unwrap_or(&rest).trim()),
    };
    let time = Time::new(hour, minute, second.min(59), 0).ok()?;
    if rest.is_empty() { Some((time, None)) } else { Some((time, Some(offset(rest)?))) }
}

/// `z`, `utc`, `+01:00`, `-0500`, `utc+1`, and the names that RFC 5322, section 4.3, gives a meaning. Other names
/// mean different things in different places.
fn offset(text: &str) -> Option<Offset> {
    let named = [
        ("z", 0),
        ("ut", 0),
        ("utc", 0),
        ("gmt", 0),
        ("est", -5),
        ("edt", -4),
        ("cst", -6),
        ("cdt", -5),
        ("mst", -7),
        ("mdt", -6),
        ("pst", -8),
        ("pdt", -7),
    ];
    if let Some((_, hours)) = named.iter().find(|(name, _)| *name == text) {
        return Offset::from_hours(*hours).ok();
    }
    let text = ["utc", "gmt"].iter().find_map(|name| text.strip_prefix(name)).unwrap_or(text);
    let (sign, figures) = match (text.strip_prefix('+'), text.strip_prefix(['-', '\u{2212}'])) {
        (Some(rest), _) => (1, rest),
        (None, Some(rest)) => (-1, rest),
        (None, None) => return None,
    };
    let (hours, minutes) = match figures.split_once(':') {
        Some(parts) => parts,
        None => figures.split_at_checked(if figures.len() > 2 { figures.len() - 2 } else { figures.len() })?,
    };
    let minutes = if minutes.is_empty() { 0 } else { minutes.parse::<i32>().ok().filter(|m| (0..60).contains(m))? };
    Offset::from_seconds(sign * (hours.parse::<i32>().ok().filter(|h| (0..=14).contains(h))? * 60 + minutes) * 60).ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date as day;

    use super::*;

    #[test]
    fn a_date_is_read_in_the_order_of_its_source() {
        let all = [
            ("25.11.2026", DateOrder::Dmy),
            ("25.11.26", DateOrder::Dmy),
            ("25/11/2026 08:15", DateOrder::Dmy),
            ("11/25/2026", DateOrder::Mdy),
            ("11/25/26 8:15 PM", DateOrder::Mdy),
            ("2026-11-25", DateOrder::Dmy),
            ("2026/11/25", DateOrder::Mdy),
            ("2026.11.25 23:59:59.999", DateOrder::Ymd),
            ("25 Nov 2026", DateOrder::Ymd),
            ("Nov 25, 2026, 11:59 p.m.", DateOrder::Ymd),
            ("Wednesday, November 25th, 2026", DateOrder::Dmy),
            ("25-Nov-2026", DateOrder::Mdy),
            ("Wed, 25 Nov 2026 10:00:00 -0500", DateOrder::Dmy),
            ("2026-11-25T08:15:00-05:00[America/New_York]", DateOrder::Dmy),
        ];
        let zone = TimeZone::get("America/New_York").unwrap();
        for (text, order) in all {
            assert_eq!(date(text, order, &zone), Ok(day(2026, 11, 25)), "{text}");
        }
    }

    #[test]
    fn what_is_no_date_in_that_order_is_refused() {
        let all = [
            ("25/11/2026", DateOrder::Mdy),
            ("11/25/2026", DateOrder::Dmy),
            ("26-11-25", DateOrder::Ymd),
            ("31.11.2026", DateOrder::Dmy),
            ("25.11.2026 soon", DateOrder::Dmy),
            ("25.11.2026 25:00", DateOrder::Dmy),
            ("25.11.2026 10:00 XYZ", DateOrder::Dmy),
            ("25.11/2026", DateOrder::Dmy),
            ("25.11.0026", DateOrder::Dmy),
            ("25.11.2126", DateOrder::Dmy),
            ("46351", DateOrder::Dmy),
            ("Nov 2026", DateOrder::Dmy),
            ("", DateOrder::Dmy),
        ];
        for (text, order) in all {
            assert!(date(text, order, &TimeZone::UTC).is_err(), "{text}");
        }
    }

    #[test]
    fn a_moment_counts_in_the_sellers_zone() {
        let zone = TimeZone::get("America/New_York").unwrap();
        for text in [
            "2026-11-25T03:00:00Z",
            "2026-11-25 03:00:00 +0000",
            "2026-11-25 03:00 UTC",
            "2026-11-25 04:00 GMT+1",
            "11/24/2026 7:00 PM PST",
        ] {
            assert_eq!(date(text, DateOrder::Mdy, &zone), Ok(day(2026, 11, 24)), "{text}");
        }
        assert_eq!(date("11/24/2026 10:00 PM PST", DateOrder::Mdy, &zone), Ok(day(2026, 11, 25)));
    }

    #[test]
    fn day_and_month_that_can_not_be_told_apart_are_asked() {
        let read = |text, known| date_in_some_order(text, known, &TimeZone::UTC);
        assert_eq!(read("25/11/2026", None), Ok(day(2026, 11, 25)));
        assert_eq!(read("3/3/2026", None), Ok(day(2026, 3, 3)));
        assert_eq!(read("03.04.2026", None), Ok(day(2026, 4, 3)));
        assert_eq!(read("03/04/2026", Some(DateOrder::Mdy)), Ok(day(2026, 3, 4)));
        assert_eq!(
            read("03/04/2026", None).unwrap_err(),
            "is 2026-04-03 or 2026-03-04; write the one that is meant, in that form"
        );
        let column = ["03/04/2026", "2026-11-25", "25/11/2026"];
        assert_eq!(order_of(&column, &TimeZone::UTC), Some(DateOrder::Dmy));
        assert_eq!(order_of(&["03/04/2026"], &TimeZone::UTC), None);
    }
}
