//! Spreadsheet files (XLSX, XLS, ODS) to tables.
//!
//! Handed the bytes; promises the sheets that hold anything, in their order, with rows numbered as the spreadsheet
//! numbers them. Dates come as ISO 8601 and numbers with a point, marked as numbers, whatever the file's locale
//! shows. Turned down: the text that the spreadsheet would show, which is what exports to CSV spoil.

use std::io::Cursor;

use calamine::{Data, Reader as _};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive as _;

use super::decode::{Row, Table};

/// A spreadsheet is packed; the cells of one that is larger than this may not fit into memory. Some 200,000 rows do.
const LARGEST: usize = 8 << 20;

/// The sheets that hold anything; at least one.
pub(super) fn tables(bytes: &[u8]) -> Result<Vec<Table>, String> {
    if bytes.len() > LARGEST {
        return Err(format!(
            "the spreadsheet has {} bytes, more than the {LARGEST} that are read of one; export it as CSV, or a shorter span of time",
            bytes.len()
        ));
    }
    let wrong = |why: &dyn std::fmt::Display| {
        format!("the spreadsheet can't be opened ({why}); save it again, or export it as CSV")
    };
    let mut book = calamine::open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(|error| wrong(&error))?;
    let mut tables = Vec::new();
    for name in book.sheet_names() {
        let range = book.worksheet_range(&name).map_err(|error| wrong(&error))?;
        let first = range.start().map_or(1, |(row, _)| u64::from(row) + 1);
        let rows: Vec<Row> = range.rows().zip(first..).map(|(cells, line)| row(cells, line)).collect();
        if rows.iter().any(|row| !row.is_blank()) {
            tables.push(Table { rows, encoding: "spreadsheet".to_owned(), delimiter: None });
        }
    }
    if tables.is_empty() { Err("the spreadsheet is empty; export it again".to_owned()) } else { Ok(tables) }
}

fn row(cells: &[Data], line: u64) -> Row {
    let is_number = |cell: &&(usize, &Data)| matches!(cell.1, Data::Int(_) | Data::Float(_));
    let numbers = cells.iter().enumerate().collect::<Vec<_>>();
    let numbers = numbers.iter().filter(is_number).map(|(place, _)| *place).collect();
    Row { line, cells: cells.iter().map(cell).collect(), numbers }
}

/// A spreadsheet's number holds 15 digits (IEEE 754 binary64): what is longer has lost some.
const FIRST_SPOILT: f64 = 1e15;

fn cell(data: &Data) -> String {
    match data {
        Data::Empty => String::new(),
        Data::DateTime(at) if at.is_duration() => at.as_f64().to_string(),
        Data::DateTime(at) => at
            .as_datetime()
            .map_or_else(|| at.as_f64().to_string(), |at| at.to_string().trim_end_matches(" 00:00:00").to_owned()),
        Data::Float(value) if value.abs() >= FIRST_SPOILT => format!("{value:.14E}").replace('E', "E+"),
        // The decimal nearest to what was typed, without the tail of its binary fraction.
        Data::Float(value) => {
            Decimal::from_f64(*value).map_or_else(|| value.to_string(), |value| value.normalize().to_string())
        }
        Data::Int(value) => value.to_string(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => text.clone(),
        Data::Bool(value) => value.to_string(),
        Data::Error(error) => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use calamine::CellErrorType;

    use super::*;

    #[test]
    fn cells_are_written_as_they_are_and_not_as_they_look() {
        assert_eq!(cell(&Data::Float(9.5)), "9.5");
        assert_eq!(cell(&Data::Float(0.1 + 0.2)), "0.3");
        assert_eq!(cell(&Data::Float(1001.0)), "1001");
        assert_eq!(cell(&Data::Float(123_456_789_012_345.0)), "123456789012345");
        assert_eq!(cell(&Data::Float(9.405_511_899e21)), "9.40551189900000E+21");
        assert_eq!(cell(&Data::Bool(true)), "true");
        assert!(crate::inbox::values::is_error(&cell(&Data::Error(CellErrorType::NA))));
    }

    #[test]
    fn what_would_not_fit_into_memory_is_not_opened() {
        let why = tables(&vec![0; LARGEST + 1]).unwrap_err();
        assert!(why.starts_with("the spreadsheet has 8388609 bytes"), "{why}");
    }

    #[test]
    fn numbers_are_known_from_texts_that_look_like_them() {
        let row = row(&[Data::String("00123".into()), Data::Float(9.5), Data::Empty], 7);
        assert_eq!((row.line, row.numbers), (7, vec![1]));
    }
}
