//! Spreadsheet files (XLSX, XLS, ODS) to tables.
//!
//! Handed the bytes; promises the sheets that hold anything, those that are shown before those that are hidden, with
//! rows numbered as the spreadsheet numbers them, and never more memory than their table needs. Dates come as ISO
//! 8601 and numbers with a point, marked as numbers, whatever the file's locale shows. Of merged cells the first
//! holds what they show, the others are empty. Turned down: the text that the spreadsheet would show, which is what
//! exports to CSV spoil; and filling merged cells, since a quantity that is shown once may be meant once.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{Data, Ods, Range, Reader, SheetType, SheetVisible, Xls, Xlsx};
use zip::ZipArchive;

use super::decode::Table;
use super::decode::space::Space;
use sheet::Sheet;

mod container;
mod markup;
mod parts;
mod records;
mod sheet;

/// A spreadsheet is packed; the cells of one that is larger than this may not fit into memory.
const LARGEST: usize = 8 << 20;

/// The sheets of an XLSX file that hold anything; at least one.
pub(super) fn xlsx(bytes: &[u8]) -> Result<Vec<Table>, String> {
    not_too_large(bytes.len())?;
    whole(|| {
        parts::check_xlsx(&mut ZipArchive::new(Cursor::new(bytes)).map_err(wrong)?).map_err(wrong)?;
        let mut book = Xlsx::new(Cursor::new(bytes)).map_err(wrong)?;
        let mut space = Space::default();
        let mut tables = Vec::new();
        for name in worksheets(&book) {
            let mut sheet = Sheet::default();
            let mut cells = book.worksheet_cells_reader(&name).map_err(wrong)?;
            while let Some(cell) = cells.next_cell().map_err(wrong)? {
                let (row, column) = cell.get_position();
                let data = Data::from(cell.get_value().clone());
                sheet.put(row, column, &data, &mut space).map_err(|why| format!("the spreadsheet {why}"))?;
            }
            tables.extend(sheet.table(&mut space).map_err(|why| format!("the spreadsheet {why}"))?);
        }
        Ok(tables)
    })
}

/// The sheets of an ODS file that hold anything; at least one.
pub(super) fn ods(bytes: &[u8]) -> Result<Vec<Table>, String> {
    not_too_large(bytes.len())?;
    whole(|| {
        parts::check_ods(&mut ZipArchive::new(Cursor::new(bytes)).map_err(wrong)?).map_err(wrong)?;
        let mut book = Ods::new(Cursor::new(bytes)).map_err(wrong)?;
        let mut space = Space::default();
        let mut tables = Vec::new();
        for name in worksheets(&book) {
            let range = book.worksheet_range(&name).map_err(wrong)?;
            tables.extend(in_range(&range, Sheet::default(), &mut space)?);
        }
        Ok(tables)
    })
}

/// Whether a file is one of the kind that XLS is.
pub(super) fn is_xls(bytes: &[u8]) -> bool {
    container::is_one(bytes)
}

/// The sheets of an XLS file that hold anything; at least one.
pub(super) fn xls(bytes: &[u8]) -> Result<Vec<Table>, String> {
    not_too_large(bytes.len())?;
    whole(|| {
        let stream = container::workbook(bytes)?;
        let checked = records::checked(&stream).map_err(wrong)?;
        drop(stream);
        let mut book = Xls::new(Cursor::new(container::around(&checked.stream))).map_err(wrong)?;
        let ranges: Vec<(String, Range<Data>)> = book.worksheets();
        let visible = worksheets(&book);
        drop(book);
        let mut space = Space::default();
        let mut tables = Vec::new();
        for name in visible {
            let Some((_, range)) = ranges.iter().find(|(known, _)| *known == name) else { continue };
            let mut sheet = Sheet::default();
            for copy in checked.copies.iter().filter(|copy| copy.sheet == name) {
                let origin = ranges.iter().find(|(known, _)| *known == copy.of_sheet);
                if let Some(data) = origin.and_then(|(_, range)| range.get_value(copy.of)) {
                    let (row, column) = copy.at;
                    sheet.put(row, column, data, &mut space).map_err(|why| format!("the spreadsheet {why}"))?;
                }
            }
            tables.extend(in_range(range, sheet, &mut space)?);
        }
        Ok(tables)
    })
}

fn in_range(range: &Range<Data>, mut sheet: Sheet, space: &mut Space) -> Result<Option<Table>, String> {
    let (first_row, first_column) = range.start().unwrap_or_default();
    for (row, column, data) in range.used_cells() {
        let place = |first: u32, place: usize| u32::try_from(place).unwrap_or(u32::MAX).saturating_add(first);
        let (row, column) = (place(first_row, row), place(first_column, column));
        sheet.put(row, column, data, space).map_err(|why| format!("the spreadsheet {why}"))?;
    }
    sheet.table(space).map_err(|why| format!("the spreadsheet {why}"))
}

/// Names of the sheets that hold cells, those that are shown first.
fn worksheets<R: std::io::Read + std::io::Seek>(book: &impl Reader<R>) -> Vec<String> {
    let all = book.sheets_metadata().iter().filter(|sheet| sheet.typ == SheetType::WorkSheet);
    let mut all: Vec<_> = all.map(|sheet| (sheet.visible != SheetVisible::Visible, sheet.name.clone())).collect();
    all.sort_by_key(|(hidden, _)| *hidden);
    all.into_iter().map(|(_, name)| name).collect()
}

fn not_too_large(size: usize) -> Result<(), String> {
    if size > LARGEST {
        return Err(format!(
            "the spreadsheet has {size} bytes, more than the {LARGEST} that are read of one; export it as CSV, or a shorter span of time"
        ));
    }
    Ok(())
}

fn wrong(why: impl std::fmt::Display) -> String {
    let why = why.to_string();
    // The readers have a word of their own for it, each another.
    if why.to_lowercase().contains("password") {
        return "the spreadsheet is locked with a password; save it without one".to_owned();
    }
    format!("the spreadsheet can't be opened ({why}); save it again, or export it as CSV")
}

/// Reads a workbook. The reader's code trusts what it reads here and there and stops the program over a damaged one.
fn whole(read: impl FnOnce() -> Result<Vec<Table>, String>) -> Result<Vec<Table>, String> {
    let tables =
        catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(|_| Err(wrong("its parts contradict one another")))?;
    if tables.is_empty() { Err("the spreadsheet is empty; export it again".to_owned()) } else { Ok(tables) }
}

#[cfg(test)]
mod tests {
    use super::records::tests::{book, cell, label, record, value};
    use super::*;
    use crate::inbox::decode::archive::tests::zipped;

    type Rows = Vec<(u64, Vec<String>, Vec<usize>)>;

    fn rows(tables: Result<Vec<Table>, String>) -> Vec<Rows> {
        let rows = |table: Table| table.rows.into_iter().map(|row| (row.line, row.cells, row.numbers)).collect();
        tables.unwrap().into_iter().map(rows).collect()
    }

    fn row(line: u64, cells: &[&str], numbers: &[usize]) -> (u64, Vec<String>, Vec<usize>) {
        (line, cells.iter().map(|cell| (*cell).to_owned()).collect(), numbers.to_vec())
    }

    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

    /// An XLSX file of sheets with those rows, of which the first is hidden; style 1 shows days.
    fn xlsx_of(texts: &str, sheets: &[&str]) -> Vec<u8> {
        let numbered = |each: fn(usize, &str) -> String| -> String {
            sheets.iter().enumerate().map(|(place, sheet)| each(place, sheet)).collect()
        };
        let book = numbered(|place, _| {
            let state = if place == 0 { "hidden" } else { "visible" };
            format!("<sheet name=\"s{place}\" sheetId=\"{place}\" state=\"{state}\" r:id=\"r{place}\"/>")
        });
        let relations = numbered(|place, _| {
            format!("<Relationship Id=\"r{place}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/s{place}.xml\"/>")
        });
        let parts: Vec<(String, String)> = [
            ("[Content_Types].xml".to_owned(), "<Types/>".to_owned()),
            (
                "_rels/.rels".to_owned(),
                format!("<Relationships><Relationship Id=\"r\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"),
            ),
            ("xl/workbook.xml".to_owned(), format!("<workbook><sheets>{book}</sheets></workbook>")),
            ("xl/_rels/workbook.xml.rels".to_owned(), format!("<Relationships>{relations}</Relationships>")),
            (
                "xl/styles.xml".to_owned(),
                "<styleSheet><cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>".to_owned(),
            ),
            ("xl/sharedStrings.xml".to_owned(), format!("<sst>{texts}</sst>")),
        ]
        .into_iter()
        .chain(sheets.iter().enumerate().map(|(place, sheet)| {
            let sheet = format!("<worksheet><sheetData>{sheet}</sheetData></worksheet>");
            (format!("xl/worksheets/s{place}.xml"), sheet)
        }))
        .collect();
        let parts: Vec<(&str, &[u8])> = parts.iter().map(|(name, part)| (name.as_str(), part.as_bytes())).collect();
        zipped(&parts)
    }

    #[test]
    fn an_xlsx_file_is_read_as_it_is_typed_and_shown_sheets_come_first() {
        let file = xlsx_of(
            "<si><t>Ref</t></si><si><r><t>Zo</t></r><r><t>ë</t></r></si>",
            &[
                "<row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c></row>",
                "<row r=\"3\"><c r=\"B3\" t=\"s\"><v>0</v></c><c r=\"C3\" t=\"inlineStr\"><is><t>Day</t></is></c></row>\
                 <row r=\"5\"><c r=\"B5\" t=\"s\"><v>1</v></c><c r=\"C5\" s=\"1\"><v>46351</v></c><c r=\"D5\"><v>9.5</v></c>\
                 <c r=\"E5\" t=\"b\"><v>1</v></c><c r=\"F5\" t=\"e\"><v>#N/A</v></c><c r=\"G5\" t=\"str\"><f>A1</f><v>ab</v></c></row>",
                "",
            ],
        );
        let shown = vec![
            row(3, &["Ref", "Day"], &[]),
            row(4, &[], &[]),
            row(5, &["Zoë", "2026-11-25", "9.5", "true", "#N/A", "ab"], &[2]),
        ];
        assert_eq!(rows(xlsx(&file)), [shown, vec![row(1, &["Ref"], &[])]]);
    }

    #[test]
    fn one_text_in_very_many_cells_is_too_much_and_not_written_out() {
        let cells: Vec<String> =
            (1..2000).map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\" t=\"s\"><v>0</v></c></row>")).collect();
        let text = format!("<si><t>{}</t></si>", "x".repeat(32_767));
        assert!(xlsx(&xlsx_of(&text, &[&cells.concat()])).unwrap_err().contains("MiB of cells"));
    }

    #[test]
    fn an_xls_file_is_read_as_it_is_typed_and_shown_sheets_come_first() {
        // Sections 2.5.122 and 2.5.217 of [MS-XLS]: whole numbers in thirty bits, with two marks below them.
        let rk = |value: i32| [&[0, 0][..], &(value << 2 | 2).to_le_bytes()].concat();
        let many = [rk(7), rk(8), vec![3, 0]].concat();
        let first = [
            label(2, 1, 0),
            label(2, 2, 1),
            label(4, 1, 1),
            value(4, 2, 1, 46_351.0),
            value(4, 3, 0, 9.5),
            cell(0x0205, 4, 4, 0, &[1, 0]),
            cell(0x0205, 4, 5, 0, &[0x2A, 1]),
            cell(0x0006, 4, 6, 0, &[0, 0, 0, 0, 0, 0, 0xFF, 0xFF, 0, 0, 0, 0, 0, 0, 9, 9]),
            record(0x0207, &[2, 0, 0, b'a', b'b']),
            record(0x00BD, &[&5_u16.to_le_bytes()[..], &2_u16.to_le_bytes(), &many].concat()),
        ];
        let stream = book(&["Ref", "Ines"], &[first.concat(), label(0, 0, 0)]);
        let shown = vec![
            row(3, &["Ref", "Ines"], &[]),
            row(4, &[], &[]),
            row(5, &["Ines", "2026-11-25", "9.5", "true", "#N/A", "ab"], &[2]),
            row(6, &["", "7", "8"], &[1, 2]),
        ];
        assert_eq!(rows(xls(&container::around(&stream))), [shown, vec![row(1, &["Ref"], &[])]]);
    }

    #[test]
    fn what_is_damaged_or_locked_says_what_to_do() {
        let stream = book(&["Ref"], &[label(0, 0, 0)]);
        let cut = xls(&container::around(&stream[..stream.len() - 4])).unwrap_err();
        assert_eq!(cut, "the spreadsheet can't be opened (it is cut off); save it again, or export it as CSV");
        let locked = [record(0x0809, &[0, 6, 5, 0]), record(0x002F, &[1, 0])].concat();
        let locked = xls(&container::around(&locked)).unwrap_err();
        assert_eq!(locked, "the spreadsheet is locked with a password; save it without one");
        let empty = xls(&container::around(&book(&[], &[]))).unwrap_err();
        assert_eq!(empty, "the spreadsheet is empty; export it again");
    }

    #[test]
    fn what_would_not_fit_into_memory_is_not_opened() {
        for read in [xlsx, ods, xls] {
            let why = read(&vec![0; LARGEST + 1]).unwrap_err();
            assert!(why.starts_with("the spreadsheet has 8388609 bytes"), "{why}");
        }
    }

    #[test]
    fn what_stops_the_reader_stops_nothing_else() {
        let why = whole(|| panic!("as a damaged file would")).unwrap_err();
        assert!(why.contains("contradict"), "{why}");
    }
}
