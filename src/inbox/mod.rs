//! Bytes to model, with line-numbered refusals. Pure but for [`folder`].
//!
//! Handed the bytes of one file and what the home says of its sources; promises that every record is taken,
//! refused with its line, column, value and a mend, or skipped as no record at all. A file is known by what is in
//! it, never by its name. Turned down: mending what looks wrong on the way in, which would be guessing in silence.

mod cells;
mod columns;
mod dates;
mod decode;
mod delimited;
mod email;
pub mod folder;
mod mojibake;
mod numbers;
mod order;
mod place;
mod quoted;
mod sales;
mod sheets;
#[cfg(test)]
mod test_home;
mod trade_form;
mod trades;
mod values;
mod workbook;

use std::collections::BTreeMap;

use jiff::tz::TimeZone;

use crate::model::address::Country;
use crate::model::day::{Refused, Waiting};
use crate::model::drop::{ColumnMap, Content, DateOrder, MapKind, Reading};
use crate::model::money::Currency;

use decode::{Decoded, Table, Text};

/// What reading needs of the home.
#[derive(Clone, Copy, Debug)]
pub struct ReadRules<'a> {
    /// The column maps.
    pub maps: &'a [ColumnMap],
    /// Where a day begins.
    pub time_zone: &'a TimeZone,
    /// What prices are in where the source doesn't say.
    pub currency: Currency,
    /// Where recipients live where the source doesn't say.
    pub country: Country,
    /// By a source's name, the order of day and month in its dates, as the seller answered.
    pub dates: &'a BTreeMap<String, DateOrder>,
}

/// Why a file as a whole could not be taken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ReadError {
    /// Never readable as it stands.
    Unreadable(Refused),
    /// May become readable: stays in the inbox.
    Waiting(Box<Waiting>),
}

fn unreadable(file: &str, reason: impl Into<String>) -> ReadError {
    let reason = reason.into();
    ReadError::Unreadable(Refused { file: file.to_owned(), line: None, column: None, value: None, reason })
}

/// Reads one file.
///
/// # Errors
/// [`ReadError`] where the file as a whole can't be taken.
pub fn read(file: &str, bytes: &[u8], rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    match decode::decode(file, bytes, rules.country)? {
        Decoded::Text(text) => read_text(file, &text, rules),
        Decoded::Email(text) if trades::looks_like_one(&text.text) => read_letter(file, &text, rules),
        Decoded::Email(text) => Err(unreadable(file, no_trade(&text.text, "the saved email"))),
        Decoded::Sheets(tables) => first_that_fits(file, tables, rules),
    }
}

/// A table if a map or one of the program's own sheets fits it, else a trade confirmation if it holds one: the note
/// of an order may well speak of a trade.
fn read_text(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    let mut first_error = None;
    // Whether a delimiter is the right one shows in the headers it makes.
    for delimiter in delimited::delimiters(text) {
        let table = delimited::table(file, text, delimiter);
        // A text without a delimiter is no table, and no map could make it one.
        let is_table = table.as_ref().map_or(true, |table| table.rows.iter().any(|row| row.cells.len() > 1));
        match table.and_then(|table| read_table(file, table, rules)) {
            Ok(reading) => return Ok(reading),
            Err(error) if is_table => first_error = first_error.or(Some(error)),
            Err(_) => {}
        }
    }
    if trades::looks_like_one(&text.text) {
        return read_letter(file, text, rules);
    }
    Err(first_error.unwrap_or_else(|| unreadable(file, no_trade(&text.text, "this text"))))
}

fn read_letter(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    if text.text.len() > trades::LONGEST_LETTER {
        return Err(unreadable(file, "is too long for a trade confirmation; save the one message that holds it"));
    }
    Ok(trades::read(file, text, rules))
}

fn no_trade(text: &str, what: &str) -> String {
    let hint = trades::nearly_one(text).map_or_else(String::new, |line| format!(" (`{line}` is not it)"));
    format!(
        "{what} holds no trade confirmation, which begins with a line `Trade with: NAME`{hint}; mend it, or drop the export itself"
    )
}

fn first_that_fits(file: &str, tables: Vec<Table>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    let mut first_error = None;
    for table in tables {
        match read_table(file, table, rules) {
            Ok(reading) => return Ok(reading),
            Err(error) => first_error = first_error.or(Some(error)),
        }
    }
    Err(first_error.unwrap_or_else(|| unreadable(file, "the spreadsheet is empty; export it again")))
}

fn read_table(file: &str, mut table: Table, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    if let Some((sheet, header)) = sheets::find(&table) {
        return Ok(sheets::read(file, &table, sheet, &header, rules));
    }
    let (map, header) = columns::fitting(file, &table, rules.maps)?;
    table.write_numbers_with(map.decimal);
    match map.kind {
        MapKind::Sales => Ok(sales::read(file, &table, map, &header, rules)),
        MapKind::Postage | MapKind::Receipts => Err(ReadError::Waiting(Box::new(Waiting::new(
            file,
            format!("it is {:?} by columns/{}.toml, which is kept for the week's account", map.kind, map.name)
                .to_lowercase(),
        )))),
    }
}

/// Header of the column that refused rows get, which is passed over when they are read again.
const REASON: &str = "reason";

/// What was refused, as it stood, to be mended and dropped again: ending of its name, and bytes. `None` where
/// nothing was.
///
/// Rows of a table become `NAME.refused.csv`, with their reason in a last column, which the map passes over when it
/// reads them again; trade confirmations become `NAME.refused.txt`, each below its reason.
#[must_use]
pub fn refused_rows(reading: &Reading) -> Option<(&'static str, Vec<u8>)> {
    if reading.refused.is_empty() {
        return None;
    }
    if let Content::Trades(_) = reading.content {
        let block = |row: &crate::model::drop::RefusedRow| {
            let line = row.why.line.map(|line| format!("line {line}: ")).unwrap_or_default();
            let value = row.why.value.as_ref().map(|value| format!("`{value}` ")).unwrap_or_default();
            format!("# {line}{value}{}\n{}\n", row.why.reason, row.cells.join("\n"))
        };
        let blocks: Vec<String> = reading.refused.iter().map(block).collect();
        return Some(("txt", blocks.join("\n").into_bytes()));
    }
    let mut csv = csv::WriterBuilder::new()
        .delimiter(reading.delimiter.and_then(|c| u8::try_from(c).ok()).unwrap_or(b','))
        .from_writer(Vec::new());
    // A row with a cell too many keeps it, in a column without a name.
    let longest = reading.refused.iter().map(|row| row.cells.len()).max().unwrap_or(0);
    let width = reading.headers.len().max(longest);
    let mut write = |cells: &[String], last: &str| {
        let padded = (0..width).map(|i| cells.get(i).map_or("", String::as_str));
        // Writing to memory doesn't fail.
        csv.write_record(padded.chain([last])).is_ok()
    };
    let mut written = write(&reading.headers, REASON);
    for row in &reading.refused {
        written &= write(&row.cells, &row.why.reason);
    }
    csv.into_inner().ok().filter(|_| written).map(|bytes| ("csv", bytes))
}
