//! Delimited text to rows, each with the line it begins on.
//!
//! Handed text; promises rows as RFC 4180 has them (quoted line breaks, doubled quotes), in any of four delimiters,
//! with every line end there is: CR LF, LF or CR. Blank lines are rows without cells, so that they are counted.
//! Turned down: the line numbers of the CSV reader, which count line feeds only and put a row that follows a blank
//! line on the blank one.

use std::io::Read as _;

use crate::model::day::{Refused, Waiting};

use super::decode::space::{LONGEST_CELL, Space, TooMuch};
use super::decode::{Row, Table, Text};
use super::{ReadError, unreadable};

mod dialect;
#[cfg(test)]
mod reference;

pub(super) use dialect::delimiters;

/// More delimiters and line ends than there is room for cells ([`Space`]).
const MOST_CELLS: usize = 800_000;
const LONGEST_LINE: usize = 1 << 20;

/// Put behind the text: it stands alone in the last row, unless the text ends inside a quoted cell.
const END: &str = "\n\u{1E}";

/// Rows of delimited text.
pub(super) fn table(file: &str, text: &Text<'_>, delimiter: char) -> Result<Table, ReadError> {
    let (_, skipped, body) = dialect::spreadsheet_note(&text.text);
    let at_line = |line: u64, reason: String| {
        ReadError::Unreadable(Refused { file: file.to_owned(), line: Some(line), column: None, value: None, reason })
    };
    let too_much = |why: TooMuch| unreadable(file, why.to_string());
    if let Some((place, _)) = (1..).zip(body.split(['\n', '\r'])).find(|(_, line)| line.len() > LONGEST_LINE) {
        let reason =
            format!("is longer than the {LONGEST_LINE} bytes that are read of one line; export the file again");
        return Err(at_line(place + skipped, reason));
    }
    // Counted beforehand: a single record may have them all.
    if body.matches([delimiter, '\n', '\r']).nth(MOST_CELLS).is_some() {
        return Err(too_much(TooMuch::Table));
    }
    let escapes = dialect::escapes_quotes(body, delimiter);
    let body: &str = &dialect::without_spaces_round_quotes(body, delimiter, escapes);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .escape(escapes.then_some(b'\\'))
        .from_reader(body.as_bytes().chain(END.as_bytes()));
    let mut lines = Lines { text: body.as_bytes(), at: 0, line: 1 + skipped, begun: false };
    let mut rows: Vec<Row> = Vec::new();
    let mut space = Space::default();
    let mut whole = false;
    let mut record = csv::StringRecord::new();
    loop {
        let from = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        let read = reader.read_record(&mut record);
        if !read.map_err(|error| unreadable(file, format!("the table can't be read ({error}); export it again")))? {
            break;
        }
        lines.blank_before(from, &mut rows, &mut space).map_err(too_much)?;
        if lines.at >= body.len() {
            whole = true;
            break;
        }
        // One that is longer is a quote that was never closed.
        if let Some(cell) = record.iter().find(|cell| cell.len() > LONGEST_CELL) {
            let start: String = cell.chars().take(40).collect();
            let reason =
                format!("has a cell longer than any spreadsheet's, `{start}…`; is a quote missing at its end?");
            return Err(at_line(lines.line, reason));
        }
        space.row().map_err(too_much)?;
        record.iter().try_for_each(|cell| space.cell(cell.len())).map_err(too_much)?;
        rows.push(Row { line: lines.line, cells: record.iter().map(str::to_owned).collect(), numbers: Vec::new() });
    }
    if !whole {
        return Err(ReadError::Waiting(Box::new(Waiting::new(
            file,
            format!(
                "it ends inside a quoted cell of the row on line {} and looks cut off; it is taken once it is whole, or drop it again",
                rows.last().map_or(lines.line, |row| row.line)
            ),
        ))));
    }
    Ok(Table { rows, encoding: text.encoding.clone(), delimiter: Some(delimiter) })
}

/// Where in the text the reader stands, and on which line.
struct Lines<'t> {
    text: &'t [u8],
    at: usize,
    line: u64,
    /// Whether a record came before.
    begun: bool,
}

impl Lines<'_> {
    fn is_break(&self, at: usize) -> bool {
        self.text.get(at).is_some_and(|byte| matches!(byte, b'\r' | b'\n'))
    }

    /// Steps over one byte, or over CR LF; tells whether a line ended there.
    fn step(&mut self) -> bool {
        let ended = self.is_break(self.at);
        let pair = self.text.get(self.at..self.at + 2) == Some(b"\r\n");
        self.at += if pair { 2 } else { 1 };
        self.line += u64::from(ended);
        ended
    }

    /// Goes to the start of the record that the CSV reader began to look for at `from`; puts the blank lines before
    /// it to the rows.
    fn blank_before(&mut self, from: usize, rows: &mut Vec<Row>, space: &mut Space) -> Result<(), TooMuch> {
        let mut content_end = from.min(self.text.len());
        while content_end > self.at && self.is_break(content_end - 1) {
            content_end -= 1;
        }
        while self.at < content_end {
            self.step();
        }
        let mut ends_record = std::mem::replace(&mut self.begun, true);
        while self.is_break(self.at) {
            let line = self.line;
            self.step();
            if !std::mem::take(&mut ends_record) {
                space.row()?;
                rows.push(Row { line, ..Row::default() });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::borrow::Cow;

    use super::*;

    fn read(text: &str) -> Result<Table, ReadError> {
        let text = Text { text: Cow::Borrowed(text), encoding: "UTF-8".into(), lines: None };
        table("a.csv", &text, delimiters(&text)[0])
    }

    fn rows(text: &str) -> Vec<(u64, Vec<String>)> {
        read(text).unwrap().rows.into_iter().map(|row| (row.line, row.cells)).collect()
    }

    fn lines(text: &str) -> Vec<u64> {
        rows(text).into_iter().map(|(line, _)| line).collect()
    }

    #[test]
    fn every_delimiter_is_found_and_a_quoted_one_is_text() {
        for delimiter in [',', ';', '\t', '|'] {
            let rows = rows(&format!("a{delimiter}b\n\"x{delimiter}y\"{delimiter}2\n"));
            assert_eq!(rows[1].1, [format!("x{delimiter}y"), "2".to_owned()]);
        }
        // Decimal commas don't make a comma the delimiter, nor do commas in addresses.
        assert_eq!(read("a;b;c\n1,5;2,5;3,5\n1,5;2,5;3,5\n").unwrap().delimiter, Some(';'));
        assert_eq!(read("a;b\n1, Quay, Eastmere;2\n").unwrap().delimiter, Some(';'));
    }

    #[test]
    fn a_spreadsheets_note_names_the_delimiter() {
        for text in ["sep=;\na;b,c\n", "SEP=;\r\na;b,c\r\n", "\"sep=;\"\ra;b,c\r"] {
            assert_eq!(rows(text), [(2, vec!["a".to_owned(), "b,c".to_owned()])], "{text:?}");
        }
    }

    #[test]
    fn a_record_stands_on_its_first_line_whatever_ends_lines() {
        for end in ["\n", "\r\n", "\r"] {
            let text = "a,b\n\"one\ntwo\",3\n\n\n4,5\n6,\"seven\n\neight\"\n9,9".replace('\n', end);
            assert_eq!(lines(&text), [1, 2, 4, 5, 6, 7, 10], "{end:?}");
            assert_eq!(lines(&format!("{text}{end}")), [1, 2, 4, 5, 6, 7, 10], "{end:?}");
        }
    }

    #[test]
    fn blank_lines_are_rows_without_cells_wherever_they_stand() {
        let blank = |text| rows(text).into_iter().filter(|(_, cells)| cells.is_empty()).map(|(line, _)| line).collect();
        for (text, at) in
            [("\n\na,b\n\n1,2\n\n", vec![1, 2, 4, 6]), ("a,b\r\n1,2\r\n", vec![]), ("\r\ra,b", vec![1, 2])]
        {
            let found: Vec<u64> = blank(text);
            assert_eq!(found, at, "{text:?}");
        }
    }

    // RFC 4180, section 2, rules 5 to 7; and the backslash that some programs write instead.
    #[test]
    fn quotes_inside_cells_are_read_doubled_or_escaped() {
        assert_eq!(rows("a,\"say \"\"hi\"\", now\"\n")[0].1, ["a", "say \"hi\", now"]);
        assert_eq!(rows("a,\"say \\\"hi\\\", now\"\n")[0].1, ["a", "say \"hi\", now"]);
        assert_eq!(rows("a,\"C:\\\"\nb,c\n")[0].1, ["a", "C:\\"]);
        assert_eq!(rows("a,5\" pin\n")[0].1, ["a", "5\" pin"]);
    }

    #[test]
    fn what_is_cut_off_inside_a_quote_waits_and_names_the_row() {
        for text in ["a,b\n1,\"two", "a,b\n1,\"two\n", "a,b\n1,\"", "a,b\n1,\"two\"\"", "a,b\n1,\"x\ny\r\n\r\n"] {
            match read(text) {
                Err(ReadError::Waiting(waiting)) => assert!(waiting.why.contains("line 2"), "{}", waiting.why),
                other => panic!("{text:?} gave {other:?}"),
            }
        }
        for text in ["a,b\n1,\"two\"", "a,b\n1,two", "a,b\n1,\"\"", "a,b\n1,"] {
            assert_eq!(rows(text).len(), 2, "{text:?}");
        }
    }

    proptest::proptest! {
        /// RFC 4180: whatever the cells hold, they come back as they were written, on the line they were written on.
        #[test]
        fn what_is_written_quoted_reads_back(
            table in proptest::collection::vec(proptest::collection::vec("[a-z\",; \t|\n\réЖ灯]{0,5}", 1..5), 1..8),
            delimiter in proptest::sample::select(vec![',', ';', '\t', '|']),
            end in proptest::sample::select(vec!["\n", "\r\n", "\r"]),
            ended in proptest::bool::ANY,
        ) {
            let quoted = |row: &Vec<String>| -> String {
                let cells: Vec<String> = row.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\""))).collect();
                cells.join(&delimiter.to_string())
            };
            let mut text = table.iter().map(quoted).collect::<Vec<_>>().join(end);
            if ended {
                text.push_str(end);
            }
            let mut line = 1;
            let expected: Vec<(u64, Vec<String>)> = table
                .iter()
                .map(|row| {
                    let at = line;
                    line += quoted(row).replace("\r\n", "\n").matches(['\n', '\r']).count() as u64 + 1;
                    (at, row.clone())
                })
                .collect();
            let text = Text { text: Cow::Owned(text), encoding: "UTF-8".into(), lines: None };
            let read = super::table("a.csv", &text, delimiter).unwrap();
            let read: Vec<(u64, Vec<String>)> = read.rows.into_iter().map(|row| (row.line, row.cells)).collect();
            proptest::prop_assert_eq!(read, expected);
        }
    }

    #[test]
    fn no_size_of_line_cell_or_table_hurts() {
        let whole_file = |text: &str| match read(text) {
            Err(ReadError::Unreadable(why)) => (why.line, why.reason),
            other => panic!("{:?}", other.map(|table| table.rows.len())),
        };
        assert_eq!(whole_file(&format!("a,b\n{}", "x".repeat(LONGEST_LINE + 1))).0, Some(2));
        assert_eq!(whole_file(&format!("a\n\n\"{}\"", "x\n".repeat(LONGEST_CELL / 2 + 1))).0, Some(3));
        assert!(whole_file(&"a\n".repeat(25_001)).1.contains("shorter span"));
        assert!(whole_file(&"\n".repeat(MOST_CELLS + 2)).1.contains("shorter span"));
        assert!(whole_file(&format!("{}\n", ",".repeat(1000)).repeat(MOST_CELLS / 1000)).1.contains("shorter span"));
    }
}
