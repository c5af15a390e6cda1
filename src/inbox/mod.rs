//! Bytes to model, with line-numbered refusals. Pure but for [`folder`].
//!
//! Handed the bytes of one file and what the home says of its sources; promises that every record is taken,
//! refused with its line, column, value and a mend, or skipped as no record at all. A file is known by what is in
//! it, never by its name. Turned down: mending what looks wrong on the way in, which would be guessing in silence.

mod columns;
mod decode;
pub mod folder;
mod sales;
mod sheets;
mod trades;
mod values;

use jiff::tz::TimeZone;

use crate::model::address::Country;
use crate::model::day::{Refused, Waiting};
use crate::model::drop::{ColumnMap, Content, MapKind, Reading};
use crate::model::money::Currency;

use decode::{Decoded, Table};

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
}

/// Why a file as a whole could not be taken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ReadError {
    /// Never readable as it stands.
    Unreadable(Refused),
    /// May become readable: stays in the inbox.
    Waiting(Waiting),
}

/// Reads one file.
///
/// # Errors
/// [`ReadError`] where the file as a whole can't be taken.
pub fn read(file: &str, bytes: &[u8], rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    match decode::decode(file, bytes)? {
        Decoded::Text { text, encoding } if trades::looks_like_one(&text) => {
            Ok(trades::read(file, &text, encoding, rules))
        }
        Decoded::Text { text, encoding } => read_table(file, &decode::delimited(file, &text, encoding)?, rules),
        Decoded::Table(table) => read_table(file, &table, rules),
    }
}

fn read_table(file: &str, table: &Table, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    if let Some((sheet, header)) = sheets::find(table) {
        return Ok(sheets::read(file, table, sheet, header, rules));
    }
    let (map, header) = columns::fitting(file, table, rules.maps)?;
    match map.kind {
        MapKind::Sales => Ok(sales::read(file, table, map, header, rules)),
        MapKind::Postage | MapKind::Receipts => Err(ReadError::Waiting(Waiting {
            file: file.to_owned(),
            why: format!("it is {:?} by columns/{}.toml, which is kept for the week's account", map.kind, map.name)
                .to_lowercase(),
        })),
    }
}

/// What was refused, as it stood, to be mended and dropped again: ending of its name, and bytes. `None` where
/// nothing was.
///
/// Rows of a table become `NAME.refused.csv`, with their reason in a last column, which the map passes over when it
/// reads them again; trade confirmations become `NAME.refused.txt`.
#[must_use]
pub fn refused_rows(reading: &Reading) -> Option<(&'static str, Vec<u8>)> {
    if reading.refused.is_empty() {
        return None;
    }
    if let Content::Trades(_) = reading.content {
        let blocks: Vec<String> = reading.refused.iter().map(|block| block.cells.join("\n")).collect();
        return Some(("txt", format!("{}\n", blocks.join("\n")).into_bytes()));
    }
    let mut csv = csv::WriterBuilder::new()
        .flexible(true)
        .delimiter(reading.delimiter.and_then(|c| u8::try_from(c).ok()).unwrap_or(b','))
        .from_writer(Vec::new());
    let width = reading.headers.len();
    let mut write = |cells: &[String], last: &str| {
        let padded = (0..width).map(|i| cells.get(i).map_or("", String::as_str));
        // Writing to memory doesn't fail.
        csv.write_record(padded.chain([last])).is_ok()
    };
    let mut written = write(&reading.headers, "reason");
    for row in &reading.refused {
        written &= write(&row.cells, &row.why.reason);
    }
    csv.into_inner().ok().filter(|_| written).map(|bytes| ("csv", bytes))
}
