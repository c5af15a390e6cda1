//! Days, as sources and people write them.
//!
//! Handed a cell and, where a map says it, the order of day and month; promises one reading or none. A year written
//! with four digits first, a month written as a word and a moment with its offset read alike everywhere. Turned
//! down: deciding the order from a single cell, where 3/4 is two days.

mod clock;
mod words;

use jiff::civil::{Date, date as day_of};
use jiff::fmt::rfc2822;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _, ZonedDateTime};

use crate::model::drop::DateOrder;
use crate::model::text::narrow;

use words::Word;

/// How a column's days are read: decided from all of its cells, and the same for each.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Style {
    order: DateOrder,
    /// Whether the column holds a spreadsheet's day numbers.
    numbered: bool,
}

impl Style {
    /// Of all cells of a column, in a source with that order.
    pub(super) fn of<C: AsRef<str>>(cells: impl IntoIterator<Item = C>, order: DateOrder) -> Self {
        let mut numbered = false;
        for cell in cells {
            let cell = narrow(cell.as_ref());
            match cell.trim() {
                "" => {}
                cell if serial(cell).is_some() => numbered = true,
                cell if is_typed(cell) => {}
                _ => return Self { order, numbered: false },
            }
        }
        Self { order, numbered }
    }

    /// A day; a time of day with an offset counts in `zone`.
    pub(super) fn date(self, text: &str, zone: &TimeZone) -> Result<Date, String> {
        match serial(narrow(text).trim()) {
            Some(day) if self.numbered => Ok(day),
            // What a spreadsheet took for days of its own country became numbers, with day and month changed over
            // where both are below 13; the rest stayed as it was. Nobody can tell any more.
            Some(_) => Err("is a spreadsheet's number for a day, in a column where other days are written out; \
                            export the file again and drop it unopened"
                .to_owned()),
            None => date(text, self.order, zone),
        }
    }
}

/// A day in the order the source writes it; a time of day with an offset counts in `zone`.
pub(super) fn date(text: &str, order: DateOrder, zone: &TimeZone) -> Result<Date, String> {
    read(text, order, zone).ok_or_else(|| {
        let form = match order {
            DateOrder::Dmy => "day.month.year",
            DateOrder::Mdy => "month/day/year",
            DateOrder::Ymd => "year-month-day",
        };
        format!("is not a date; this source writes {form}")
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
    let text = joined_points(&narrow(text));
    text.trim().bytes().take_while(|b| !b.is_ascii_whitespace()).all(|b| b.is_ascii_digit() || b == b'.')
}

/// The order in which all of the cells that hold anything are dates, where there is just one; any order where all of
/// them say the same day in each, as with spreadsheet's numbers for days and years that come first.
pub(super) fn order_of(cells: &[impl AsRef<str>], zone: &TimeZone) -> Option<DateOrder> {
    let cells: Vec<&str> = cells.iter().map(|cell| cell.as_ref().trim()).filter(|cell| !cell.is_empty()).collect();
    if cells.is_empty() {
        return None;
    }
    if Style::of(&cells, DateOrder::Ymd).numbered {
        return Some(DateOrder::Ymd);
    }
    let fits = |order| cells.iter().all(|cell| read(cell, order, zone).is_some());
    let alike = |cell: &&str| read(cell, DateOrder::Dmy, zone) == read(cell, DateOrder::Mdy, zone) || is_dotted(cell);
    match (fits(DateOrder::Dmy), fits(DateOrder::Mdy)) {
        (true, false) => Some(DateOrder::Dmy),
        (false, true) => Some(DateOrder::Mdy),
        (true, true) if cells.iter().all(alike) => Some(DateOrder::Dmy),
        (true, true) | (false, false) => None,
    }
}

/// Whether it is what a spreadsheet made of two or three numbers with a mark between them, `11-02`: a day as the file
/// holds it, `2026-11-02 00:00:00`, or as the sheet shows it, `Nov 02`, `2. Nov`, `Nov 26`, `2-Nov-26`.
pub(super) fn is_made_of_numbers(text: &str) -> bool {
    let text = narrow(text);
    let text = text.trim();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_month = |word: &&&str| matches!(words::word(word), Some(Word::Month(_) | Word::Either(..)));
    let is_number = |word: &&&str| word.len() <= 4 && word.bytes().all(|b| b.is_ascii_digit());
    let numbers = words.iter().filter(is_number).count();
    let as_shown = (1..=2).contains(&numbers) && words.iter().filter(is_month).count() == 1;
    is_typed(text) || (as_shown && words.len() == numbers + 1)
}

/// Whether a spreadsheet may take it for a day: two or three numbers with one mark between them.
pub(super) fn may_become_a_day(text: &str) -> bool {
    let Some(mark) = text.chars().find(|c| !c.is_ascii_digit()).filter(|c| matches!(c, '-' | '/' | '.')) else {
        return false;
    };
    let parts: Vec<&str> = text.split(mark).collect();
    let sized = |part: &str, most: usize| (1..=most).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    match parts.as_slice() {
        [one, other] => sized(one, 2) && sized(other, 4),
        [one, other, last] => sized(one, 2) && sized(other, 2) && sized(last, 4),
        [] | [_] | [_, _, _, _, ..] => false,
    }
}

/// The day of a spreadsheet's number for it, with a time of day as a fraction: days since 30 December 1899 (ECMA-376
/// part 1, section 18.17.4.1, and `OpenDocument` 1.2 part 1, `table:null-date`; from memory). Sheets that count from
/// 1904 are as good as gone, and their days of this century would read as days of the one before.
fn serial(text: &str) -> Option<Date> {
    let (days, fraction) = text.split_once(['.', ',']).unwrap_or((text, "0"));
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let days = days.parse::<i32>().ok().filter(|_| days.len() == 5 && is_digits(days) && is_digits(fraction))?;
    day_of(1899, 12, 30).checked_add(days.days()).ok().filter(|day| is_likely(*day))
}

/// `2026-11-25`, alone or with a time of day, which is how a spreadsheet file's typed days come.
fn is_typed(text: &str) -> bool {
    let day = text.get(..10).and_then(|day| figures(day, DateOrder::Ymd));
    day.is_some() && text.as_bytes().get(4) == Some(&b'-')
}

fn read(text: &str, order: DateOrder, zone: &TimeZone) -> Option<Date> {
    let text = clock::spelt_out(&joined_points(&narrow(text)));
    let text = text.trim();
    let local = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    let moment = text.parse::<Timestamp>().ok();
    let moment = moment.or_else(|| text.parse::<ZonedDateTime>().ok().map(|at| at.timestamp()));
    if let Some(at) = moment.or_else(|| rfc2822::parse(text).ok().map(|at| at.timestamp())) {
        return Some(local(at)).filter(|day| is_likely(*day));
    }
    let (day, rest) = figures(past_weekday(text), order).or_else(|| in_words(text))?;
    if !is_on_its_weekday(day, text) {
        return None;
    }
    let rest = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ',' | '-' | 'T'));
    let rest = past_weekday(rest);
    if rest.is_empty() {
        return Some(day);
    }
    let (time, offset) = clock::time_of_day(rest)?;
    let Some(offset) = offset else { return Some(day) };
    let at = TimeZone::fixed(offset).to_timestamp(day.to_datetime(time)).ok()?;
    Some(local(at)).filter(|day| is_likely(*day))
}

/// `25. 11. 2026` and `3:15 p. m.`, as some languages set them, without the spaces.
fn joined_points(text: &str) -> String {
    text.replace(". ", ".")
}

/// A shop of this century. A year beyond it is a slip of the pen, and would never come due.
fn is_likely(day: Date) -> bool {
    (2000..2100).contains(&day.year())
}

/// What follows a weekday at the start, in parentheses or not.
fn past_weekday(text: &str) -> &str {
    let bare = text.trim_start_matches(['(', ' ']);
    let end = bare.find(|c: char| !c.is_alphabetic()).unwrap_or(bare.len());
    let is_weekday =
        bare.get(..end).and_then(words::word).is_some_and(|word| matches!(word, Word::Weekday(_) | Word::Either(..)));
    match bare.get(end..) {
        Some(rest) if is_weekday => {
            rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '.' | ',' | ')'))
        }
        Some(_) | None => text,
    }
}

/// A weekday that another day has was written of another day.
fn is_on_its_weekday(day: Date, text: &str) -> bool {
    let place = usize::try_from(day.weekday().to_monday_zero_offset()).ok();
    words::words(text).iter().all(|word| match word {
        Word::Weekday(all) => place.is_some_and(|place| all.contains(&place)),
        Word::Month(_) | Word::Either(..) | Word::Filler => true,
    })
}

/// `25.11.2026`, `11/25/26`, `2026-11-25`, `20261125`, and what follows.
fn figures(text: &str, order: DateOrder) -> Option<(Date, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '/' | '.' | '-')).unwrap_or(text.len());
    let (day, rest) = text.split_at_checked(end)?;
    let Some(mark) = day.chars().find(|c| !c.is_ascii_digit()) else {
        // ISO 8601, section 4.1.2.2 of the edition of 2004: the basic format.
        let whole = day.len() == 8 && day.starts_with("20");
        let part = |from: usize, to: usize| day.get(from..to)?.parse::<i8>().ok();
        let at = Date::new(day.get(..4)?.parse().ok()?, part(4, 6)?, part(6, 8)?).ok();
        return at.filter(|_| whole).map(|day| (day, rest));
    };
    let day = day.strip_suffix('.').unwrap_or(day);
    let parts: Vec<&str> = day.split(mark).collect();
    let [a, b, c] = parts.as_slice() else { return None };
    let is_year = |part: &str| part.len() == 4;
    let order = match order {
        // Nobody writes year, day, month.
        _ if is_year(a) => DateOrder::Ymd,
        // With the year last, and day and month the same number, there is nothing to be told apart.
        DateOrder::Ymd if is_year(c) && a.parse::<i8>() == b.parse::<i8>() => DateOrder::Dmy,
        DateOrder::Ymd | DateOrder::Dmy | DateOrder::Mdy => order,
    };
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

/// Endings of a day's number, in English, French, Italian and Spanish.
const ORDINALS: [&str; 7] = ["st", "nd", "rd", "th", "er", "º", "°"];

/// `25 Nov 2026`, `Wed, November 25th, 2026`, `25 de noviembre de 2026`, and what follows.
fn in_words(text: &str) -> Option<(Date, &str)> {
    let certain = words::has_month(text);
    let (mut year, mut month, mut day) = (None, None, None);
    let mut rest = text;
    while year.is_none() || month.is_none() || day.is_none() {
        rest = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ',' | '.' | '-' | '/' | '(' | ')'));
        let end = rest.find(|c: char| !c.is_alphanumeric() && c != '°').unwrap_or(rest.len());
        let (word, after) = rest.split_at_checked(end)?;
        rest = after;
        let plain = ORDINALS.iter().find_map(|ending| word.strip_suffix(ending)).unwrap_or(word);
        if word.len() == 4 && year.is_none() && word.bytes().all(|b| b.is_ascii_digit()) {
            year = word.parse::<i16>().ok();
        } else if plain.len() <= 2 && day.is_none() && plain.bytes().all(|b| b.is_ascii_digit()) {
            day = Some(plain.parse::<i8>().ok()?);
        } else {
            match words::word(word)? {
                Word::Either(..) if certain => {}
                Word::Month(number) | Word::Either(number, _) => {
                    month = Some(number).filter(|_| month.is_none());
                    month?;
                }
                Word::Weekday(_) | Word::Filler => {}
            }
        }
    }
    let day = Date::new(year?, month?, day?).ok().filter(|day| is_likely(*day))?;
    // Poland's `r.` is short for year.
    let rest = rest.strip_prefix(" r.").or_else(|| rest.strip_prefix(" roku")).unwrap_or(rest);
    Some((day, rest.strip_prefix('.').unwrap_or(rest)))
}

#[cfg(test)]
mod tests;
