//! `handoff.xlsx`: the hand-off sheet as a workbook, for whoever fills it in with a spreadsheet.
//!
//! Handed the rows of `handoff.csv`; gives a workbook with the same header and cells. A spreadsheet that opens a CSV
//! takes a tracking number of 22 digits for a number and keeps 15 of them (Microsoft Learn, "Excel specifications and
//! limits": number precision 15 digits), and the zero off a postal code. Here every column says what it takes: text
//! but for what is weighed, paid and dated. A text cell is never a formula, whatever it begins with. Turned down:
//! giving up the CSV, which any program reads.

use jiff::civil::Date;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

use super::PapersError;

/// Takes whatever is typed as it is typed.
const TEXT: &str = "@";
const NUMBER: &str = "General";
/// ISO 8601, in the workbook's own words.
const DAY: &str = "yyyy-mm-dd";

/// What a column takes and how wide it is, in characters.
fn column(header: &str) -> (&'static str, f64) {
    match header {
        "scale" | "postage_paid" => (NUMBER, 12.0),
        "handed_over_on" => (DAY, 15.0),
        "to" | "tracking" | "note" => (TEXT, 28.0),
        "sheet" => (TEXT, 22.0),
        _ => (TEXT, 14.0),
    }
}

/// A workbook of one sheet. `day` is the only date in it: the same rows give the same bytes.
pub(super) fn sheet(name: &str, header: &[&str], rows: &[Vec<String>], day: Date) -> Result<Vec<u8>, PapersError> {
    written(name, header, rows, day).map_err(|error| PapersError::Sheet(error.to_string()))
}

fn written(name: &str, header: &[&str], rows: &[Vec<String>], day: Date) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    let (year, month, day) = (day.year().unsigned_abs(), day.month().unsigned_abs(), day.day().unsigned_abs());
    workbook.set_properties(
        &DocProperties::new().set_title(name).set_creation_datetime(&ExcelDateTime::from_ymd(year, month, day)?),
    );
    let sheet = workbook.add_worksheet();
    sheet.set_name(name)?.set_freeze_panes(1, 2)?.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(0, 0)?;
    let bold = Format::new().set_bold();
    for (at, title) in (0_u16..).zip(header) {
        let (takes, width) = column(title);
        let format = Format::new().set_num_format(takes);
        sheet.set_column_format(at, &format)?.set_column_width(at, width)?;
        sheet.write_string_with_format(0, at, *title, &bold)?;
        for (line, cell) in (1_u32..).zip(rows.iter().filter_map(|row| row.get(usize::from(at)))) {
            if cell.is_empty() {
                sheet.write_blank(line, at, &format)?;
            } else {
                sheet.write_string_with_format(line, at, cell, &format)?;
            }
        }
    }
    workbook.save_to_buffer()
}
