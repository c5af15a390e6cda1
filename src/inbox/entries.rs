//! Tables of the carrier's side, read by their column map: what [`postage`](super::postage) and
//! [`receipts`](super::receipts) have in common.
//!
//! Handed a table, the map that fits it and its header; promises every row in one place: taken, refused with its line,
//! column and value, or skipped as blank, preamble, repeated header, sum, note, or not accepted yet. How days are
//! written is told from the whole column, as in sales. Turned down: the cells of a sales export, whose fields and habits
//! (keys that became days, one order over several rows) these tables don't have.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use jiff::civil::Date;
use regex::Regex;
use rust_decimal::Decimal;

use crate::model::day::{Refused, Remark};
use crate::model::drop::{ColumnMap, Content, Reading, RefusedRow, Rows};
use crate::model::mass::{MassUnit, Weight};
use crate::model::money::Money;
use crate::model::parcel::ParcelRef;
use crate::plan::tracking;

use super::columns::Header;
use super::decode::{Row, Table};
use super::sales::beside;
use super::sheets::cells as sheet;
use super::{ReadRules, dates, mojibake, numbers, values};

/// What is wrong with a row.
#[derive(Debug)]
pub(super) struct Fault {
    field: Option<&'static str>,
    value: Option<String>,
    reason: String,
}

/// A table's columns by our fields.
struct Columns<'a> {
    map: &'a ColumnMap,
    rules: &'a ReadRules<'a>,
    header: &'a Header,
    /// The field of the table's day.
    day: &'static str,
    days: dates::Style,
}

/// A row by our fields.
pub(super) struct Cells<'a> {
    row: &'a Row,
    columns: &'a Columns<'a>,
}

impl Columns<'_> {
    fn place(&self, field: &str) -> Option<usize> {
        self.header.column(self.map.entries.get(field)?)
    }
}

impl Cells<'_> {
    /// Line of the row.
    pub(super) const fn line(&self) -> u64 {
        self.row.line
    }

    /// The cell unwrapped, `None` for an empty one.
    pub(super) fn text(&self, field: &str) -> Option<String> {
        let cell = self.row.cells.get(self.columns.place(field)?)?;
        Some(values::unwrapped(cell)).filter(|text| !text.is_empty())
    }

    fn read<T>(&self, field: &'static str, reader: impl FnOnce(&str) -> Result<T, String>) -> Result<Option<T>, Fault> {
        let Some(text) = self.text(field) else { return Ok(None) };
        reader(&text).map(Some).map_err(|reason| Fault { field: Some(field), value: Some(text), reason })
    }

    /// A tracking number as `plan::tracking` has it. One whose check digit doesn't hold is taken: the label may well
    /// be right and the table wrong.
    pub(super) fn tracking(&self) -> Result<Option<String>, Fault> {
        self.read("tracking", |text| {
            if values::is_spoilt(text) {
                return Err("is a number that a spreadsheet has shortened; export the file again, unopened".to_owned());
            }
            if sheet::is_rounded(text) {
                return Err("ends in zeros, as a spreadsheet leaves a number of more than 15 digits; export the file \
                            again, unopened"
                    .to_owned());
            }
            let found = tracking::identify(text);
            if found.number.is_empty() {
                return Err("is no tracking number; write the number on the label, or leave it empty".to_owned());
            }
            Ok(found.number)
        })
    }

    /// Our ref.
    pub(super) fn parcel(&self) -> Result<Option<ParcelRef>, Fault> {
        self.read("parcel", |text| sheet::parcel_ref(text).map(ParcelRef))
    }

    /// The table's day, and its cell where that says more.
    pub(super) fn day(&self) -> Result<(Option<Date>, Option<String>), Fault> {
        let columns = self.columns;
        let day = self.read(columns.day, |text| columns.days.date(text, columns.rules.time_zone))?;
        let written = self.text(columns.day).filter(|text| day.is_some_and(|day| *text != day.to_string()));
        Ok((day, written.filter(|text| text.contains(':'))))
    }

    /// An amount in the currency that the cell names, else in the map's, else in the home's.
    pub(super) fn price(&self) -> Result<Option<Money>, Fault> {
        let Columns { map, rules, .. } = self.columns;
        self.read("price", |text| {
            let own = numbers::currency_in(text).or(map.currency);
            numbers::money(text, map.decimal, own.unwrap_or(rules.currency))
        })
    }

    /// A mass with its unit, or a number in the map's.
    pub(super) fn mass(&self) -> Result<Option<Weight>, Fault> {
        let map = self.columns.map;
        self.read("mass", |text| {
            let (value, own) = match pounds_and_ounces(text, map.decimal) {
                Some(ounces) => (ounces, Some(MassUnit::Ounce)),
                None => sheet::scale(text, Some(map.decimal))
                    .map_err(|reason| reason.replace("the number the scale shows", "it as 113 g or 4 oz"))?,
            };
            let unit = own.or(map.mass_unit).ok_or_else(|| {
                format!(
                    "has no unit; write it as {value} g or {value} oz, or say in columns/{}.toml what the column is \
                     in: mass_unit = \"g\"",
                    map.name
                )
            })?;
            if sheet::is_too_heavy(value, unit) {
                return Err(format!("would be {value} {unit}, more than any parcel weighs; write the right mass"));
            }
            Ok(Weight::new(value, unit))
        })
    }
}

/// `0 lb 4.5 oz`, as scales with two units show it, in ounces.
fn pounds_and_ounces(text: &str, decimal: char) -> Option<Decimal> {
    static BOTH: LazyLock<Option<Regex>> =
        LazyLock::new(|| Regex::new(r"^(\d{1,3})\s*(\p{L}+\.?),?\s+(\d[\d.,]*)\s*(\p{L}+\.?)$").ok());
    let found = BOTH.as_ref()?.captures(text.trim())?;
    let unit = |group| found.get(group)?.as_str().parse::<MassUnit>().ok();
    if (unit(2)?, unit(4)?) != (MassUnit::Pound, MassUnit::Ounce) {
        return None;
    }
    let pounds: Decimal = found.get(1)?.as_str().parse().ok()?;
    let ounces = numbers::number(found.get(3)?.as_str(), decimal)?;
    let both = pounds * Decimal::from(16) + ounces;
    Some(both).filter(|both| *both > Decimal::ZERO)
}

/// How one of the two kinds of table is read.
pub(super) struct Kind<E> {
    /// The field of its day.
    pub(super) day: &'static str,
    /// Whether a row without a day, in a table that has a column for it, tells of something that has not happened yet.
    pub(super) waits_for_day: bool,
    /// A row to an entry.
    pub(super) entry: fn(&Cells<'_>) -> Result<E, Fault>,
    /// The number on an entry's label.
    pub(super) tracking: fn(&E) -> Option<&str>,
    /// An entry's price.
    pub(super) price: fn(&E) -> Option<Money>,
    /// All entries.
    pub(super) content: fn(Vec<E>) -> Content,
}

/// What a row is.
enum Outcome<E> {
    Entry(E),
    /// Blank, preamble, header, sums, note.
    Beside,
    NotYet,
}

/// Reads a table of that kind.
pub(super) fn read<E>(
    file: &str,
    table: &Table,
    map: &ColumnMap,
    header: &Header,
    rules: &ReadRules<'_>,
    kind: &Kind<E>,
) -> Reading {
    let mut columns = Columns { map, rules, header, day: kind.day, days: dates::Style::of([""; 0], map.dates) };
    let below = table.rows.iter().enumerate().filter(|(index, _)| *index > header.index).map(|(_, row)| row);
    let all: Vec<String> = below
        .filter(|row| !row.is_blank() && !header.is_repeated_by(row))
        .map(|row| Cells { row, columns: &columns })
        .filter(|cells| !is_beside(cells))
        .filter_map(|cells| cells.text(kind.day))
        .collect();
    columns.days = dates::Style::of(&all, map.dates);
    let (mut rows, mut refused, mut remarks) = (Rows::default(), Vec::new(), Vec::new());
    let (mut entries, mut not_yet) = (Vec::new(), 0_usize);
    for (index, row) in table.rows.iter().enumerate().filter(|(index, _)| *index != header.index) {
        rows.read += 1;
        let cells = Cells { row, columns: &columns };
        let outcome = if index < header.index { Ok(Outcome::Beside) } else { outcome(&cells, kind, &entries) };
        match outcome {
            Ok(Outcome::Entry(entry)) => {
                rows.taken += 1;
                let text = (kind.tracking)(&entry).and_then(wrong_check_digit);
                let column = map.entries.get("tracking").cloned();
                let file = file.to_owned();
                remarks.extend(text.map(|text| Remark { file, line: Some(row.line), column, text }));
                entries.push(entry);
            }
            Ok(Outcome::Beside) => rows.skipped += 1,
            Ok(Outcome::NotYet) => {
                rows.skipped += 1;
                not_yet += 1;
            }
            Err(fault) => {
                rows.refused += 1;
                refused.push(given_back(file, &cells, fault));
            }
        }
    }
    if not_yet > 0 {
        let many = if not_yet == 1 { "1 row has".to_owned() } else { format!("{not_yet} rows have") };
        let text = format!("{many} no day of acceptance, so the carrier has not taken those parcels yet: passed over");
        let column = map.entries.get(kind.day).cloned();
        remarks.insert(0, Remark { file: file.to_owned(), line: None, column, text });
    }
    Reading {
        content: (kind.content)(entries),
        source: Some(map.name.clone()),
        encoding: table.encoding.clone(),
        delimiter: table.delimiter,
        header_line: Some(header.line),
        rows,
        refused,
        remarks,
        matched: None,
        headers: header.without_reason(header.names.clone()),
        headers_again: beside::headers_again(table, header),
        sheet_rows: BTreeMap::new(),
    }
}

fn outcome<E>(cells: &Cells<'_>, kind: &Kind<E>, above: &[E]) -> Result<Outcome<E>, Fault> {
    let (row, columns) = (cells.row, cells.columns);
    if row.is_blank() || columns.header.is_repeated_by(row) || is_beside(cells) {
        return Ok(Outcome::Beside);
    }
    check(cells)?;
    let known = ["tracking", "parcel", kind.day].iter().any(|field| cells.text(field).is_some());
    if !known {
        if is_sum_of(cells, above.iter().filter_map(kind.price)) {
            return Ok(Outcome::Beside);
        }
        let reason = "has neither a tracking number nor a parcel's ref nor a day; write one of them";
        return Err(Fault { field: None, value: None, reason: reason.to_owned() });
    }
    let not_yet = kind.waits_for_day && columns.place(kind.day).is_some() && cells.text(kind.day).is_none();
    if not_yet {
        return Ok(Outcome::NotYet);
    }
    (kind.entry)(cells).map(Outcome::Entry)
}

/// Sums below the table, and a sentence alone in its row: "Exported on …". A day alone is a row that lost the rest.
fn is_beside(cells: &Cells<'_>) -> bool {
    let filled: Vec<(usize, &String)> =
        cells.row.cells.iter().enumerate().filter(|(_, cell)| !cell.trim().is_empty()).collect();
    match filled.as_slice() {
        [] => true,
        [(place, cell)] if Some(*place) != cells.columns.place(cells.columns.day) => {
            beside::is_sums(cell) || (cell.trim().contains(char::is_whitespace) && cell.contains(char::is_alphabetic))
        }
        [(_, first), ..] => {
            let number = cells.text("tracking");
            beside::is_sums(first) || number.is_some_and(|number| beside::is_sums(&number))
        }
    }
}

/// Whether a row holds nothing but the sum of the prices above it.
fn is_sum_of(cells: &Cells<'_>, mut prices: impl Iterator<Item = Money>) -> bool {
    let filled = cells.row.cells.iter().filter(|cell| !cell.trim().is_empty()).count();
    let (Ok(Some(own)), Some(first), 1) = (cells.price(), prices.next(), filled) else { return false };
    prices.try_fold(first, Money::checked_add).is_some_and(|sum| sum == own)
}

/// What is wrong with a row whatever its cells should mean.
fn check(cells: &Cells<'_>) -> Result<(), Fault> {
    let Columns { map, header, .. } = cells.columns;
    let (count, width) = (cells.row.cells.len(), header.width());
    if header.is_overrun_by(cells.row) {
        let reason = format!("has {count} cells where the header has {width}; is there a delimiter too many?");
        return Err(Fault { field: None, value: None, reason });
    }
    // A row may end after its last cell that holds anything; one that ends before the columns by which it is known
    // may as well have lost a delimiter in the middle.
    let lacks = KNOWN_BY.iter().filter_map(|field| cells.columns.place(field)).any(|place| place >= count);
    if lacks {
        let reason = format!("has {count} cells where the header has {width}; is there a delimiter too few?");
        return Err(Fault { field: None, value: None, reason });
    }
    for field in FIELDS.iter().copied().filter(|field| map.entries.contains_key(*field)) {
        let Some(value) = cells.text(field) else { continue };
        let reason = if values::is_error(&value) {
            "is a formula that failed; write what is meant"
        } else if mojibake::is_garbled(&value) {
            "holds letters that a program has garbled; write them as they should be, or export again as UTF-8"
        } else if value.contains(char::REPLACEMENT_CHARACTER) {
            "holds a sign for a letter that is lost; write the letter, or export again as UTF-8"
        } else {
            continue;
        };
        return Err(Fault { field: Some(field), value: Some(value), reason: reason.to_owned() });
    }
    Ok(())
}

/// Fields by which a row is known.
const KNOWN_BY: [&str; 4] = ["tracking", "parcel", "bought_at", "accepted_at"];

/// All fields of either kind.
const FIELDS: [&str; 10] =
    ["tracking", "parcel", "bought_at", "accepted_at", "price", "service", "mass", "place", "name", "postal_code"];

/// What to say of a number that looks like a carrier's and whose check digit doesn't hold.
pub(super) fn wrong_check_digit(number: &str) -> Option<String> {
    let found = tracking::identify(number);
    found.kind.filter(|_| !found.valid)?;
    Some(match found.fix {
        Some(fix) => format!(
            "`{number}` has a check digit that does not hold; `{fix}` is the one number that a single slip would \
             explain: look at the label"
        ),
        None => format!(
            "`{number}` has a check digit that does not hold, and no single slip explains it: look at the label"
        ),
    })
}

/// The refused row, so that, read again without the others of its table, it says what it said among them.
fn given_back(file: &str, cells: &Cells<'_>, fault: Fault) -> RefusedRow {
    let Columns { map, rules, header, day, days } = cells.columns;
    let column = fault.field.and_then(|field| map.entries.get(field).cloned());
    let why =
        Refused { file: file.to_owned(), line: Some(cells.row.line), column, value: fault.value, reason: fault.reason };
    let mut row = cells.row.cells.clone();
    // A day that only the others of its column show to be wrong.
    let alone = |text: &String| {
        let zone = rules.time_zone;
        days.date(text, zone).is_err() && dates::Style::of([text], map.dates).date(text, zone).is_ok()
    };
    let place = cells.columns.place(day);
    if let (Some(text), Some(cell)) = (cells.text(day).filter(alone), place.and_then(|place| row.get_mut(place))) {
        *cell = format!("?{text}?");
    }
    RefusedRow { why, cells: header.without_reason(row) }
}

/// A map's columns, for the tests of both kinds.
#[cfg(test)]
pub(super) fn map(kind: crate::model::drop::MapKind, columns: &[(&str, &str)]) -> ColumnMap {
    ColumnMap {
        name: "northline".into(),
        kind,
        headers: columns.iter().take(2).map(|(_, header)| (*header).to_owned()).collect(),
        dates: crate::model::drop::DateOrder::Mdy,
        decimal: '.',
        sales: BTreeMap::new(),
        entries: columns.iter().map(|(field, header)| ((*field).to_owned(), (*header).to_owned())).collect(),
        mass_unit: None,
        currency: None,
        states: BTreeMap::new(),
    }
}
