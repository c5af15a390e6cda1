//! Cells of the program's own sheets, as a person filled them in and a spreadsheet left them.
//!
//! Handed rows and the style that the sheet as a whole tells; promises each cell read in one way, or what is wrong with
//! it in the seller's words. What a spreadsheet changed is changed back only where a single original is possible: a
//! parcel's ref that became a day of the twelfth century, a day that can't be before its parcel was listed. Turned
//! down: mending numbers whose digits are lost.

use std::str::FromStr;
use std::sync::LazyLock;

use jiff::civil::Date;
use regex::Regex;
use rust_decimal::{Decimal, dec};

use crate::model::drop::DateOrder;
use crate::model::mass::MassUnit;
use crate::model::money::Money;

use super::super::columns::Header;
use super::super::decode::{Row, Table};
use super::super::{ReadRules, dates, numbers, values};

/// Columns of days, of all sheets. `expected` is the program's own, and shows what a spreadsheet made of it.
const DAYS: [&str; 3] = ["handed_over_on", "arrived_on", "expected"];
/// Columns of numbers, of all sheets.
const NUMBERS: [&str; 2] = ["scale", "postage_paid"];

/// How the sheet writes dates and numbers, where that is certain.
pub(super) struct Style {
    dates: Option<DateOrder>,
    /// For days that lost their format and are a spreadsheet's numbers.
    numbered: dates::Style,
    decimal: Option<char>,
}

impl Style {
    pub(super) fn of(table: &Table, header: &Header, rules: &ReadRules<'_>) -> Self {
        let cells = |columns: &[&str], typed: bool| -> Vec<String> {
            let places: Vec<usize> = columns.iter().filter_map(|name| header.column(name)).collect();
            let rows = table.rows.iter().skip(header.index + 1).filter(|row| !header.is_repeated_by(row));
            let cells = rows.flat_map(|row| places.iter().map(move |place| (row, *place)));
            cells
                .filter(|(row, place)| typed || !row.numbers.contains(place))
                .filter_map(|(row, place)| row.cells.get(place).map(|cell| values::unwrapped(cell)))
                .filter(|cell| !cell.is_empty())
                .collect()
        };
        let days = cells(&DAYS, true);
        let figures = cells(&NUMBERS, false);
        let fits = |decimal| figures.iter().all(|cell| is_figure(cell, decimal, rules));
        let decimal = match (fits('.'), fits(',')) {
            (true, false) => Some('.'),
            (false, true) => Some(','),
            // Where commas part the cells and no number has one, points are its sign; the program itself writes so.
            (true, true) | (false, false) => {
                let comma = figures.iter().any(|cell| cell.contains(','));
                (table.delimiter == Some(',') && !comma).then_some('.')
            }
        };
        let numbered = dates::Style::of(&days, DateOrder::Ymd);
        Self { dates: dates::order_of(&days, rules.time_zone), numbered, decimal }
    }
}

fn is_figure(cell: &str, decimal: char, rules: &ReadRules<'_>) -> bool {
    scale(cell, Some(decimal)).is_ok() || numbers::money(cell, decimal, rules.currency).is_ok()
}

fn is_day(text: &str) -> bool {
    DAY.as_ref().is_some_and(|day| day.is_match(text))
}

const MADE_A_DAY: &str =
    "is a day that the spreadsheet made of a number; make the cell text, and type the number again";

/// A scale reading, with its unit where the seller wrote it there.
pub(in crate::inbox) fn scale(text: &str, decimal: Option<char>) -> Result<(Decimal, Option<MassUnit>), String> {
    if is_day(text) {
        return Err(MADE_A_DAY.to_owned());
    }
    let not_a_weight = || "is not a weight; write the number the scale shows".to_owned();
    let last = text.rfind(|c: char| c.is_ascii_digit()).ok_or_else(not_a_weight)?;
    let (figures, unit) = text.split_at_checked(last + 1).unwrap_or_default();
    let unit = Some(unit.trim()).filter(|unit| !unit.is_empty());
    let unit = unit.map(|unit| MassUnit::from_str(unit).map_err(|error| error.to_string())).transpose()?;
    let value = match decimal {
        Some(decimal) => numbers::number(figures, decimal).ok_or_else(not_a_weight)?,
        None => numbers::number_in_some_style(figures)?,
    };
    if value > Decimal::ZERO {
        Ok((value, unit))
    } else {
        Err("is no weight of a parcel; write the number the scale shows, or leave it empty".to_owned())
    }
}

pub(super) struct Fault {
    pub(super) column: &'static str,
    pub(super) value: String,
    pub(super) reason: String,
}

pub(super) fn fault(column: &'static str, reason: &str) -> Fault {
    Fault { column, value: String::new(), reason: reason.to_owned() }
}

pub(super) struct Cells<'a> {
    pub(super) row: &'a Row,
    pub(super) header: &'a Header,
    pub(super) style: &'a Style,
    pub(super) rules: &'a ReadRules<'a>,
}

impl Cells<'_> {
    pub(super) fn text(&self, column: &'static str) -> Option<String> {
        let cell = self.row.cells.get(self.header.column(column)?)?;
        Some(values::unwrapped(cell)).filter(|text| !text.is_empty())
    }

    pub(super) fn read<T>(
        &self,
        column: &'static str,
        reader: impl FnOnce(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Fault> {
        let Some(text) = self.text(column) else { return Ok(None) };
        reader(&text).map(Some).map_err(|reason| Fault { column, value: text, reason })
    }

    pub(super) fn parsed<T: FromStr<Err: std::fmt::Display>>(&self, column: &'static str) -> Result<Option<T>, Fault> {
        self.read(column, |text| text.parse().map_err(|error: T::Err| error.to_string()))
    }

    pub(super) fn day(&self, column: &'static str) -> Result<Option<Date>, Fault> {
        self.read(column, |text| self.day_of(text))
    }

    fn day_of(&self, text: &str) -> Result<Date, String> {
        if text.split('.').next().is_some_and(|days| days.len() == 5 && days.bytes().all(|b| b.is_ascii_digit())) {
            let wrong = "is a spreadsheet's number for a day, among days that are written out; write it as 2026-11-25";
            return self.style.numbered.date(text, self.rules.time_zone).map_err(|_| wrong.to_owned());
        }
        dates::date_in_some_order(text, self.style.dates, self.rules.time_zone)
    }

    /// The day a parcel was handed over, which is none before it was listed: where day and month could be either, that
    /// may tell which.
    pub(super) fn day_since(&self, column: &'static str, listed: Option<Date>) -> Result<Option<Date>, Fault> {
        self.read(column, |text| {
            let Some(listed) = listed else { return self.day_of(text) };
            let zone = self.rules.time_zone;
            let day = self.day_of(text).or_else(|asked| {
                let orders = [DateOrder::Dmy, DateOrder::Mdy];
                let read = orders.map(|order| dates::date_in_some_order(text, Some(order), zone).ok());
                match read.map(|day| day.filter(|day| *day >= listed)) {
                    [Some(day), None] | [None, Some(day)] => Ok(day),
                    [Some(_), Some(_)] | [None, None] => Err(asked),
                }
            })?;
            if day < listed {
                return Err(format!("is before {listed}, when the parcel was first listed; write the day it went"));
            }
            Ok(day)
        })
    }

    /// The decimal sign of a cell: a spreadsheet's own number has a point.
    pub(super) fn decimal(&self, column: &'static str) -> Option<char> {
        let is_number = self.header.column(column).is_some_and(|place| self.row.numbers.contains(&place));
        if is_number { Some('.') } else { self.style.decimal }
    }

    /// A parcel's ref, `1125-01`.
    pub(super) fn parcel(&self, column: &'static str) -> Result<Option<String>, Fault> {
        self.read(column, parcel_ref)
    }

    /// A tracking number, whole.
    pub(super) fn tracking(&self, column: &'static str) -> Result<Option<String>, Fault> {
        self.read(column, |text| {
            whole(text)?;
            if is_day(text) {
                return Err(MADE_A_DAY.to_owned());
            }
            if is_rounded(text) {
                return Err(format!("ends in zeros, as a spreadsheet leaves a number of more than 15 digits; {AGAIN}"));
            }
            Ok(text.to_owned())
        })
    }

    /// What the postage cost.
    pub(super) fn money(&self, column: &'static str) -> Result<Option<Money>, Fault> {
        let currency = self.rules.currency;
        self.read(column, |text| {
            if is_day(text) {
                return Err(MADE_A_DAY.to_owned());
            }
            match self.decimal(column) {
                Some(decimal) => numbers::money(text, decimal, currency)
                    .map_err(|_| format!("is not an amount in {currency}; write it as 5{decimal}25")),
                None => numbers::money_in_some_style(text, currency),
            }
        })
    }
}

/// A parcel's ref, `1125-01`, or what a spreadsheet made of it where that can be undone.
pub(in crate::inbox) fn parcel_ref(text: &str) -> Result<String, String> {
    whole(text)?;
    // A ref taken for a year and a month stands on the first of that month; no parcel was listed by year.
    if let Some(found) = TURNED.as_ref().and_then(|turned| turned.captures(text)) {
        let part = |place| found.get(place).map_or("", |part| part.as_str());
        return Ok(format!("{}{}-{}", part(1), part(2), part(3)));
    }
    if is_day(text) || MONTH.as_ref().is_some_and(|month| month.is_match(text)) {
        return Err(
            "is a day that the spreadsheet made of a parcel's ref; make the cell text, and type the ref again, \
                    such as 1125-01"
                .to_owned(),
        );
    }
    // Word processors' dashes, and spaces round them.
    let plain = |c: char| if matches!(c, '\u{2010}'..='\u{2015}' | '\u{2212}') { '-' } else { c };
    Ok(text.chars().filter(|c| !c.is_whitespace()).map(plain).collect())
}

/// The day a parcel was first listed: month and day by its ref, and the last such day that isn't after the sheet's.
pub(super) fn listed_on(sheet: &str, parcel: &str) -> Option<Date> {
    let written: Date = sheet.split_whitespace().find_map(|word| word.parse().ok())?;
    let figures = parcel.get(..4).filter(|figures| figures.bytes().all(|b| b.is_ascii_digit()))?;
    let (month, day) = (figures.get(..2)?.parse().ok()?, figures.get(2..)?.parse().ok()?);
    // Parcels of 29 February may be four years old, if never handed over.
    (0..=4).filter_map(|years| Date::new(written.year() - years, month, day).ok()).find(|day| *day <= written)
}

/// A ref that was taken for a year and a month.
static TURNED: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"^(0[1-9]|1[0-2])([0-3]\d)-(0[1-9]|1[0-2])-01(?:[ T]0?0:00(?::00)?)?$").ok());
/// One that was taken for a month and a day or a year.
static MONTH: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"^(?:\p{L}{3,5}\.?[- ]\d{2,4}|\d{1,4}[- ]\p{L}{3,5}\.?)$").ok());
/// What spreadsheets of countries with decimal commas make of `2.3`.
static DAY: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}(?:[ T].*)?$").ok());

const AGAIN: &str = "make the cell text before you type the number again, or put an apostrophe before it";

/// No number that lost its digits, nor a formula without a result.
fn whole(text: &str) -> Result<(), String> {
    if values::is_spoilt(text) {
        return Err(format!("is a number that the spreadsheet has shortened; {AGAIN}"));
    }
    if values::is_error(text) {
        return Err("is a formula that failed; type the number again".to_owned());
    }
    Ok(())
}

/// A number of 18 digits or more of which those beyond the fifteenth are zeros: a spreadsheet holds no more (IEEE 754
/// binary64). Of shorter numbers, one in a hundred ends so by itself.
pub(in crate::inbox) fn is_rounded(text: &str) -> bool {
    let digits: Vec<u8> = text.bytes().filter(|b| !b.is_ascii_whitespace()).collect();
    digits.len() >= 18 && digits.iter().all(u8::is_ascii_digit) && digits.iter().skip(15).all(|digit| *digit == b'0')
}

/// The heaviest a parcel may be said to weigh: carriers' limits are a third of it (from memory).
pub(in crate::inbox) fn is_too_heavy(value: Decimal, unit: MassUnit) -> bool {
    value.checked_mul(unit.grams()).is_none_or(|grams| grams > dec!(100000))
}
