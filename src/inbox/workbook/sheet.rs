//! The cells of one sheet, as they come, to rows.
//!
//! Handed cells with their places in any order; promises rows in theirs, numbered as the spreadsheet numbers them,
//! each as long as its last cell needs. Dates come as ISO 8601 and numbers with a point. Turned down: the rectangle
//! around all cells, which one stray cell at the far end of the sheet makes as large as the sheet can be.

use std::collections::BTreeMap;

use calamine::Data;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive as _;

use crate::inbox::decode::space::{Space, TooMuch};
use crate::inbox::decode::{Row, Table};

/// Empty rows between two that hold something are rows too, unless there are more: then something was left lying
/// far below the table.
const LONGEST_GAP: u32 = 1_000;

/// A sheet that is being read.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    rows: BTreeMap<u32, Row>,
    first_column: Option<usize>,
}

impl Sheet {
    /// Takes the cell in that row and column, both counted from 0.
    pub(super) fn put(&mut self, row: u32, column: u32, data: &Data, space: &mut Space) -> Result<(), TooMuch> {
        if matches!(data, Data::Empty) {
            return Ok(());
        }
        let text = text(data);
        if text.is_empty() {
            return Ok(());
        }
        let column = usize::try_from(column).map_err(|_| TooMuch::Table)?;
        if !self.rows.contains_key(&row) {
            space.row()?;
        }
        space.cell(text.len())?;
        let row = self.rows.entry(row).or_insert_with(|| Row { line: u64::from(row) + 1, ..Row::default() });
        if row.cells.len() <= column {
            space.empty_cells(column - row.cells.len())?;
            row.cells.resize(column + 1, String::new());
        }
        if let Some(cell) = row.cells.get_mut(column) {
            *cell = text;
        }
        if matches!(data, Data::Int(_) | Data::Float(_)) {
            space.empty_cells(1)?;
            row.numbers.push(column);
        }
        self.first_column = Some(self.first_column.map_or(column, |first| first.min(column)));
        Ok(())
    }

    /// The table, from the first column that holds anything; `None` where nothing does.
    pub(super) fn table(self, space: &mut Space) -> Result<Option<Table>, TooMuch> {
        let Some(first_column) = self.first_column else { return Ok(None) };
        let mut rows: Vec<Row> = Vec::with_capacity(self.rows.len());
        for (place, mut row) in self.rows {
            row.cells.drain(..first_column.min(row.cells.len()));
            row.numbers.sort_unstable();
            row.numbers.dedup();
            row.numbers.iter_mut().for_each(|column| *column -= first_column);
            let gap_from = rows.last().map_or(u64::from(place) + 1, |last| last.line + 1);
            if row.line - gap_from <= u64::from(LONGEST_GAP) {
                for line in gap_from..row.line {
                    space.row()?;
                    rows.push(Row { line, ..Row::default() });
                }
            }
            rows.push(row);
        }
        Ok(Some(Table { rows, encoding: "spreadsheet".to_owned(), delimiter: None }))
    }
}

/// A spreadsheet's number holds 15 digits (IEEE 754 binary64): what is longer has lost some.
const FIRST_SPOILT: f64 = 1e15;

fn text(data: &Data) -> String {
    match data {
        Data::Empty => String::new(),
        Data::DateTime(at) if at.is_duration() => time(at.as_f64()).unwrap_or_else(|| at.as_f64().to_string()),
        // A time of no day: what is before the first day is none.
        Data::DateTime(at) if (0.0..1.0).contains(&at.as_f64()) => {
            time(at.as_f64()).unwrap_or_else(|| at.as_f64().to_string())
        }
        Data::DateTime(at) => at
            .as_datetime()
            .map_or_else(|| at.as_f64().to_string(), |at| at.to_string().trim_end_matches(" 00:00:00").to_owned()),
        Data::Float(value) if value.abs() >= FIRST_SPOILT => format!("{value:.14E}").replace('E', "E+"),
        // The decimal nearest to what was typed, without the tail of its binary fraction.
        Data::Float(value) => {
            Decimal::from_f64(*value).map_or_else(|| value.to_string(), |value| value.normalize().to_string())
        }
        Data::Int(value) => value.to_string(),
        Data::String(text) => text.clone(),
        Data::DateTimeIso(text) => text.trim_end_matches("T00:00:00").replacen('T', " ", 1),
        Data::DurationIso(text) => clock(text).unwrap_or_else(|| text.clone()),
        Data::Bool(value) => value.to_string(),
        Data::Error(error) => error.to_string(),
    }
}

/// A part of a day, or several, as hours, minutes and seconds.
fn time(days: f64) -> Option<String> {
    let seconds = Decimal::from_f64(days)?.checked_mul(Decimal::from(86_400))?.round();
    let seconds = u64::try_from(seconds).ok()?;
    Some(format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60))
}

/// ODF 1.2, part 1, section 18.2, `duration`, as spreadsheets write times: `PT10H30M00S`.
fn clock(text: &str) -> Option<String> {
    let (hours, rest) = text.strip_prefix("PT")?.split_once('H')?;
    let (minutes, rest) = rest.split_once('M')?;
    let seconds = rest.strip_suffix('S')?.split(['.', ',']).next()?;
    let part = |part: &str| part.parse::<u32>().ok();
    Some(format!("{:02}:{:02}:{:02}", part(hours)?, part(minutes)?, part(seconds)?))
}

#[cfg(test)]
mod tests {
    use calamine::{CellErrorType, ExcelDateTime, ExcelDateTimeType};

    use super::*;

    fn at(value: f64, kind: ExcelDateTimeType) -> String {
        text(&Data::DateTime(ExcelDateTime::new(value, kind, false)))
    }

    #[test]
    fn cells_are_written_as_they_are_and_not_as_they_look() {
        assert_eq!(text(&Data::Float(9.5)), "9.5");
        assert_eq!(text(&Data::Float(0.1 + 0.2)), "0.3");
        assert_eq!(text(&Data::Float(1001.0)), "1001");
        assert_eq!(text(&Data::Float(123_456_789_012_345.0)), "123456789012345");
        assert_eq!(text(&Data::Float(9.405_511_899e21)), "9.40551189900000E+21");
        assert_eq!(text(&Data::Bool(true)), "true");
        assert!(crate::inbox::values::is_error(&text(&Data::Error(CellErrorType::NA))));
    }

    #[test]
    fn days_and_times_are_written_as_iso_8601_has_them() {
        assert_eq!(at(46_351.0, ExcelDateTimeType::DateTime), "2026-11-25");
        assert_eq!(at(46_351.437_5, ExcelDateTimeType::DateTime), "2026-11-25 10:30:00");
        assert_eq!(at(0.4375, ExcelDateTimeType::DateTime), "10:30:00");
        assert_eq!(at(1.5, ExcelDateTimeType::TimeDelta), "36:00:00");
        assert_eq!(text(&Data::DateTimeIso("2026-11-25".into())), "2026-11-25");
        assert_eq!(text(&Data::DateTimeIso("2026-11-25T00:00:00".into())), "2026-11-25");
        assert_eq!(text(&Data::DateTimeIso("2026-11-25T10:30:00".into())), "2026-11-25 10:30:00");
        assert_eq!(text(&Data::DurationIso("PT10H30M00S".into())), "10:30:00");
        assert_eq!(text(&Data::DurationIso("PT36H00M01.5S".into())), "36:00:01");
        assert_eq!(text(&Data::DurationIso("P1D".into())), "P1D");
    }

    fn table(cells: &[(u32, u32, Data)]) -> Option<Table> {
        let (mut sheet, mut space) = (Sheet::default(), Space::default());
        for (row, column, data) in cells {
            sheet.put(*row, *column, data, &mut space).unwrap();
        }
        sheet.table(&mut space).unwrap()
    }

    #[test]
    fn rows_keep_their_numbers_and_lose_empty_columns_before_the_table() {
        let string = |text: &str| Data::String(text.into());
        let table =
            table(&[(4, 3, Data::Float(9.5)), (2, 2, string("Ref")), (4, 2, string("00123")), (4, 9, Data::Empty)]);
        let rows: Vec<_> = table.unwrap().rows.into_iter().map(|row| (row.line, row.cells, row.numbers)).collect();
        let cells = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
        assert_eq!(rows, [(3, cells(&["Ref"]), vec![]), (4, vec![], vec![]), (5, cells(&["00123", "9.5"]), vec![1])]);
    }

    #[test]
    fn a_cell_at_the_far_end_of_the_sheet_costs_one_row() {
        let far = table(&[(0, 0, Data::Int(1)), (1_048_575, 16_383, Data::Int(2))]).unwrap();
        assert_eq!(
            far.rows.iter().map(|row| (row.line, row.cells.len())).collect::<Vec<_>>(),
            [(1, 1), (1_048_576, 16_384)]
        );
        assert_eq!(table(&[(0, 0, Data::String(String::new()))]), None);
    }

    #[test]
    fn a_sheet_that_would_not_fit_is_too_much() {
        let (mut sheet, mut space) = (Sheet::default(), Space::default());
        let all = (0..100).try_for_each(|row| sheet.put(row, 16_383, &Data::Int(1), &mut space));
        assert_eq!(all, Err(TooMuch::Table));
    }
}
