//! Whether a workbook that is a ZIP of XML parts (XLSX, ODS) fits into memory, before it is opened.
//!
//! Handed the archive; promises that every part, unpacked for counting only, keeps within bounds from which follows
//! that reading it does too: bytes, strings, styles, and the cells that repeated rows and columns stand for. Turned
//! down: the sizes that the archive and its parts declare, which whoever made them could have written freely.

use std::io::{BufRead as _, BufReader, Cursor, Read as _};

use zip::ZipArchive;

use super::markup::{self, Allowed, Kind, Tag};

/// Bytes of all parts, unpacked; common practice, no source: ten thousand rows of forty columns have half of it.
const LARGEST_UNPACKED: u64 = 40 << 20;
/// Bytes of a part that isn't read as a sheet: a picture, a drawing.
const LARGEST_OTHER: u64 = 8 << 20;
/// Bytes of the part that holds the texts of cells.
const LARGEST_TEXTS: u64 = 12 << 20;
/// Tags of that part; a text has two.
const MOST_TEXT_TAGS: u64 = 400_000;
/// Tags of all sheets; a cell has two or three.
const MOST_SHEET_TAGS: u64 = 1_250_000;
/// Tags of all other parts that are read whole: styles, names of sheets.
const MOST_OTHER_TAGS: u64 = 60_000;
/// Bytes of one cell with its text, or of a row's own tag.
const LONGEST_CELL: u64 = 512 << 10;
/// Cells that an ODS file stands for, the empty ones between them counted.
const MOST_REPEATED: u64 = 250_000;
/// Bytes of their texts, repeated ones counted as often; the reader writes each out three times.
const LARGEST_REPEATED: u64 = 8 << 20;

type Archive<'b> = ZipArchive<Cursor<&'b [u8]>>;

/// Why an XLSX file can't be opened, if it can't.
pub(super) fn check_xlsx(archive: &mut Archive<'_>) -> Result<(), String> {
    let mut sheets = MOST_SHEET_TAGS;
    let mut others = MOST_OTHER_TAGS;
    each_part(archive, |name, part, bytes| {
        if name.ends_with("sharedstrings.xml") {
            texts(part, bytes)
        } else if name.contains("/worksheets/") && !name.contains("/_rels/") {
            let mut cell = 0;
            counted(bytes, &mut sheets, |allowed| {
                markup::tags(part, allowed, |tag| within_a_cell(tag, &mut cell, &[b"c", b"row", b"sheetData"]))
            })
        } else {
            counted(bytes, &mut others, |allowed| markup::tags(part, allowed, |_| Ok(())))
        }
    })
}

/// Reads a part with what is left of bytes and of tags of its kind.
fn counted<T>(bytes: &mut u64, tags: &mut u64, read: impl FnOnce(&mut Allowed) -> T) -> T {
    let mut allowed = Allowed { bytes: *bytes, tags: *tags };
    let outcome = read(&mut allowed);
    (*bytes, *tags) = (allowed.bytes, allowed.tags);
    outcome
}

fn texts(part: &mut dyn std::io::Read, bytes: &mut u64) -> Result<(), String> {
    let mut cell = 0;
    let before = *bytes;
    let mut allowed = Allowed { bytes: before.min(LARGEST_TEXTS), tags: MOST_TEXT_TAGS };
    let first = allowed.bytes;
    markup::tags(part, &mut allowed, |tag| {
        // The reader makes room for as many texts as are claimed.
        let claimed = tag.attribute("uniqueCount").map(number).filter(|_| tag.local_name() == b"sst");
        if claimed.is_some_and(|claimed| claimed.is_none_or(|claimed| claimed > MOST_TEXT_TAGS / 2)) {
            return Err("it claims to have more texts than are read of one file".to_owned());
        }
        within_a_cell(tag, &mut cell, &[b"si"])
    })?;
    *bytes = before - (first - allowed.bytes);
    Ok(())
}

/// Why an ODS file can't be opened, if it can't.
pub(super) fn check_ods(archive: &mut Archive<'_>) -> Result<(), String> {
    let mut sheets = MOST_SHEET_TAGS;
    let mut others = MOST_OTHER_TAGS;
    each_part(archive, |name, part, bytes| {
        if name == "content.xml" {
            let mut extent = Extent::default();
            counted(bytes, &mut sheets, |allowed| markup::tags(part, allowed, |tag| extent.see(tag)))
        } else {
            counted(bytes, &mut others, |allowed| markup::tags(part, allowed, |_| Ok(())))
        }
    })
}

/// Unpacks every part for counting; those that are markup go to `each`, with their name in lower case.
fn each_part(
    archive: &mut Archive<'_>,
    mut each: impl FnMut(&str, &mut dyn std::io::Read, &mut u64) -> Result<(), String>,
) -> Result<(), String> {
    let mut left = LARGEST_UNPACKED;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|error| format!("it is damaged: {error}"))?;
        let name = part.name().map_err(|error| format!("it is damaged: {error}"))?.to_lowercase();
        if part.is_dir() {
            continue;
        }
        let mut part = BufReader::new(part);
        let start = part.fill_buf().map_err(|error| format!("`{name}` in it is damaged: {error}"))?;
        let is_markup = start.trim_ascii_start().starts_with(b"<") || start.starts_with(b"\xEF\xBB\xBF<");
        let is_named_so = matches!(name.rsplit_once('.'), Some((_, "xml" | "rels")));
        let outcome = if is_markup && is_named_so {
            each(&name, &mut part, &mut left)
        } else {
            let mut counted = part.take(LARGEST_OTHER.min(left) + 1);
            let read = std::io::copy(&mut counted, &mut std::io::sink()).map_err(|error| error.to_string());
            read.and_then(|read| {
                left = left.checked_sub(read).ok_or("it unpacks to more than is read of one file")?;
                if read > LARGEST_OTHER {
                    Err("it unpacks to more than is read of one file".to_owned())
                } else {
                    Ok(())
                }
            })
        };
        outcome.map_err(|why| format!("`{name}` in it: {why}"))?;
    }
    Ok(())
}

/// Bounds what stands between one cell's tag and the next.
fn within_a_cell(tag: &Tag<'_>, cell: &mut u64, cells: &[&[u8]]) -> Result<(), String> {
    if tag.at - *cell > LONGEST_CELL {
        return Err("it has a cell longer than any spreadsheet's".to_owned());
    }
    if cells.contains(&tag.local_name()) {
        *cell = tag.at;
    }
    Ok(())
}

fn number(written: &[u8]) -> Option<u64> {
    std::str::from_utf8(written).ok()?.trim().parse().ok()
}

/// How many cells the rows of an ODS file stand for, row by row as they come.
#[derive(Default)]
struct Extent {
    cell: u64,
    /// Cells so far, of all sheets.
    cells: u64,
    /// Rows of this sheet from its first that holds anything, with the empty ones that the next such row confirms.
    rows: u64,
    empty_rows: u64,
    /// Of this sheet, the place behind the last cell that holds anything.
    width: u64,
    /// Of this row.
    repeated: u64,
    columns: u64,
    filled: u64,
    /// Bytes of texts: of all, of this row, of this cell and how often it stands there.
    texts: u64,
    row_text: u64,
    cell_text: u64,
    cell_repeated: u64,
}

impl Extent {
    fn see(&mut self, tag: &Tag<'_>) -> Result<(), String> {
        within_a_cell(tag, &mut self.cell, &[b"table-cell", b"covered-table-cell", b"table-row", b"spreadsheet"])?;
        self.cell_text = self.cell_text.saturating_add(tag.text);
        match (tag.name, tag.kind) {
            (b"table:table", Kind::Open) => (self.rows, self.empty_rows, self.width) = (0, 0, 0),
            (b"table:table", Kind::Close) => {
                self.cells = self.cells.saturating_add(self.rows.saturating_mul(self.width));
                (self.rows, self.empty_rows, self.width, self.filled) = (0, 0, 0, 0);
            }
            (b"table:table-row", Kind::Open | Kind::Empty) => {
                self.repeated = repeats(tag, "table:number-rows-repeated")?;
                (self.columns, self.filled, self.row_text) = (0, 0, 0);
                if tag.kind == Kind::Empty {
                    self.end_row();
                }
            }
            (b"table:table-row", Kind::Close) => self.end_row(),
            (b"table:table-cell" | b"table:covered-table-cell", Kind::Open | Kind::Empty) => {
                let repeated = repeats(tag, "table:number-columns-repeated")?;
                self.columns = self.columns.saturating_add(repeated);
                if tag.kind == Kind::Open || tag.has_attribute_like("office:") || tag.has_attribute_like("formula") {
                    self.filled = self.columns;
                }
                self.cell_text = tag.attribute("office:string-value").map_or(0, |text| text.len() as u64);
                self.cell_repeated = repeated;
                if tag.kind == Kind::Empty {
                    self.end_cell();
                }
            }
            (b"table:table-cell" | b"table:covered-table-cell", Kind::Close) => self.end_cell(),
            (b"text:s", Kind::Open | Kind::Empty) => {
                self.cell_text = self.cell_text.saturating_add(repeats(tag, "text:c")?);
            }
            _ => {}
        }
        // The sheet that is being read counts too.
        let all = self.cells.saturating_add(self.rows.saturating_mul(self.width)).saturating_add(self.filled);
        if all > MOST_REPEATED {
            return Err(format!("it stands for more than the {MOST_REPEATED} cells that are read of one"));
        }
        if self.texts.saturating_add(self.row_text).saturating_add(self.cell_text) > LARGEST_REPEATED {
            return Err("it stands for more text than is read of one".to_owned());
        }
        Ok(())
    }

    fn end_cell(&mut self) {
        self.row_text = self.row_text.saturating_add(self.cell_text.saturating_mul(self.cell_repeated));
        self.cell_text = 0;
    }

    fn end_row(&mut self) {
        self.texts = self.texts.saturating_add(self.row_text.saturating_mul(self.repeated));
        self.row_text = 0;
        if self.filled > 0 {
            let before = if self.rows == 0 { 0 } else { self.empty_rows };
            self.rows = self.rows.saturating_add(before).saturating_add(self.repeated);
            self.width = self.width.max(self.filled);
            self.empty_rows = 0;
        } else {
            self.empty_rows = self.empty_rows.saturating_add(self.repeated);
        }
    }
}

fn repeats(tag: &Tag<'_>, attribute: &str) -> Result<u64, String> {
    match tag.attribute(attribute) {
        None => Ok(1),
        Some(written) => number(written).ok_or_else(|| format!("its `{attribute}` is not a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::decode::archive::tests::zipped;

    fn checked(check: fn(&mut Archive<'_>) -> Result<(), String>, part: &str, markup: &[u8]) -> Result<(), String> {
        let file = zipped(&[(part, markup)]);
        check(&mut ZipArchive::new(Cursor::new(&file[..])).unwrap())
    }

    fn ods(table: &str) -> Result<(), String> {
        let content = format!("<office:spreadsheet><table:table>{table}</table:table></office:spreadsheet>");
        checked(check_ods, "content.xml", content.as_bytes())
    }

    const CELL: &str = "<table:table-cell office:value=\"1\"/>";

    #[test]
    fn repeated_cells_count_up_to_the_last_that_holds_something() {
        // As every sheet ends, with the rest of the row and of the rows.
        let rest = "<table:table-cell table:number-columns-repeated=\"16383\"/>";
        let rows = "<table:table-row table:number-rows-repeated=\"1048575\"><table:table-cell/></table:table-row>";
        assert_eq!(ods(&format!("<table:table-row>{CELL}{rest}</table:table-row>{rows}")), Ok(()));
        let wide = "<table:table-cell office:value=\"1\" table:number-columns-repeated=\"16384\"/>";
        assert_eq!(ods(&format!("<table:table-row>{wide}</table:table-row>")), Ok(()));
        for bad in [
            format!("<table:table-row table:number-rows-repeated=\"20\">{wide}</table:table-row>"),
            format!("<table:table-row table:number-rows-repeated=\"1048576\">{CELL}</table:table-row>"),
            format!("<table:table-row>{CELL}</table:table-row>{rows}<table:table-row>{CELL}</table:table-row>"),
            format!("<table:table-row>{rest}{CELL}</table:table-row>").repeat(16),
        ] {
            assert!(ods(&bad).unwrap_err().contains("stands for more than"), "{bad:.200}");
        }
        let all = format!("<table:table-row table:number-rows-repeated=\"250000\">{CELL}</table:table-row>");
        assert_eq!(ods(&all.replace("250000", "249999")), Ok(()));
        assert!(ods(&all.replace("250000", "250001")).is_err());
        let two = format!("<table:table-row table:number-rows-repeated=\"130000\">{CELL}</table:table-row>");
        assert!(ods(&format!("{two}</table:table><table:table>{two}")).unwrap_err().contains("stands for more than"));
    }

    #[test]
    fn what_the_reader_would_write_out_or_wait_for_is_refused() {
        let repeated = |attribute: &str, text: &str| {
            format!(
                "<table:table-row table:number-rows-repeated=\"20\"><table:table-cell office:value-type=\"string\" \
                 table:number-columns-repeated=\"20\" {attribute}>{text}</table:table-cell></table:table-row>"
            )
            .replace("LONG", &"x".repeat(32_767))
        };
        for (table, why) in [
            (
                "<table:table-row><table:table-cell><text:s text:c=\"99999999\"/></table:table-cell></table:table-row>",
                "more text",
            ),
            (&repeated("office:string-value=\"LONG\"", ""), "more text"),
            (&repeated("", "<text:p>LONG</text:p>"), "more text"),
            ("<table:table-row table:number-rows-repeated=\"x\"/>", "not a number"),
            ("<table:table-row>", "balanced"),
        ] {
            assert!(ods(table).unwrap_err().contains(why), "{table}");
        }
        assert!(
            checked(check_ods, "content.xml", b"<office:spreadsheet><table:table>").unwrap_err().contains("cut off")
        );
    }

    #[test]
    fn texts_styles_and_cells_of_an_xlsx_file_are_bounded() {
        let texts = "xl/sharedStrings.xml";
        let many = |tag: &str, count: usize| format!("<a>{}</a>", tag.repeat(count));
        let (many_texts, many_styles) = (many("<si/>", 600_000), many("<xf/>", 100_000));
        let long = format!("<sst><si><t>{}</t></si></sst>", "x".repeat(1 << 20));
        for (part, markup, why) in [
            (texts, "<sst uniqueCount=\"99999999999\"/>", "claims"),
            (texts, "<sst uniqueCount=\"many\"/>", "claims"),
            (texts, many_texts.as_str(), "more tags"),
            (texts, long.as_str(), "longer than any"),
            ("xl/worksheets/sheet1.xml", long.as_str(), "longer than any"),
            ("xl/styles.xml", many_styles.as_str(), "more tags"),
        ] {
            assert!(checked(check_xlsx, part, markup.as_bytes()).unwrap_err().contains(why), "{part} {why}");
        }
        assert_eq!(checked(check_xlsx, texts, b"<sst uniqueCount=\"2\"><si><t>a</t></si></sst>"), Ok(()));
    }

    #[test]
    fn no_part_unpacks_to_more_than_is_read() {
        let mut bytes = 9;
        let mut tags = 9;
        let read = counted(&mut bytes, &mut tags, |allowed| markup::tags(&b"<a/><b/>"[..], allowed, |_| Ok(())));
        assert_eq!((read, bytes, tags), (Ok(()), 1, 7));
        let part = vec![b' '; 9 << 20];
        assert!(checked(check_xlsx, "xl/media/a.png", &part).unwrap_err().contains("unpacks to more"));
        assert_eq!(checked(check_xlsx, "xl/media/a.png", &part[..1 << 20]), Ok(()));
        let texts = [b"<sst>", &b"<si><t>some text or other, of a hundred letters or so, as the lines of an address or a note have them</t></si>".repeat(120_000)[..], b"</sst>"].concat();
        assert!(checked(check_xlsx, "xl/sharedStrings.xml", &texts).unwrap_err().contains("unpacks to more"));
    }
}
