//! Delimited text to rows, each with the line it begins on.
//!
//! Handed text; promises rows as RFC 4180 has them (quoted line breaks, doubled quotes), in any of four delimiters,
//! with every line end there is: CR LF, LF or CR. Blank lines are rows without cells, so that they are counted.
//! Turned down: the line numbers of the CSV reader, which count line feeds only and put a row that follows a blank
//! line on the blank one.

use std::io::Read as _;

use crate::model::day::{Refused, Waiting};

use super::decode::{Row, Table, Text};
use super::{ReadError, unreadable};

/// Common practice, no source: the exports of a year are a hundredth of these. They bound what a file can cost.
const MOST_ROWS: usize = 200_000;
const MOST_CELLS: usize = 4_000_000;
const LONGEST_LINE: usize = 1 << 20;
/// A spreadsheet's cell holds 32,767 characters at most (common practice, no source): a longer one is a quote that
/// was never closed.
const LONGEST_CELL: usize = 32_767 * 4;

/// Put behind the text: it stands alone in the last row, unless the text ends inside a quoted cell.
const END: &str = "\n\u{1E}";

/// Rows of delimited text.
pub(super) fn table(file: &str, text: &Text<'_>, delimiter: char) -> Result<Table, ReadError> {
    let (_, skipped, body) = spreadsheet_note(&text.text);
    let at_line = |line: u64, reason: String| {
        ReadError::Unreadable(Refused { file: file.to_owned(), line: Some(line), column: None, value: None, reason })
    };
    let too_much = || {
        let reason = format!("has more than {MOST_ROWS} rows or {MOST_CELLS} cells; export a shorter span of time");
        unreadable(file, reason)
    };
    if let Some((place, _)) = (1..).zip(body.split(['\n', '\r'])).find(|(_, line)| line.len() > LONGEST_LINE) {
        let reason =
            format!("is longer than the {LONGEST_LINE} bytes that are read of one line; export the file again");
        return Err(at_line(place + skipped, reason));
    }
    // Counted beforehand: a single record may have them all.
    if body.matches([delimiter, '\n', '\r']).nth(MOST_CELLS).is_some() {
        return Err(too_much());
    }
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .escape(escapes_quotes(body, delimiter).then_some(b'\\'))
        .from_reader(body.as_bytes().chain(END.as_bytes()));
    let mut lines = Lines { text: body.as_bytes(), at: 0, line: 1 + skipped, begun: false };
    let mut rows: Vec<Row> = Vec::new();
    let mut whole = false;
    let mut record = csv::StringRecord::new();
    loop {
        let from = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        let read = reader.read_record(&mut record);
        if !read.map_err(|error| unreadable(file, format!("the table can't be read ({error}); export it again")))? {
            break;
        }
        rows.extend(lines.blank_before(from));
        if lines.at >= body.len() {
            whole = true;
            break;
        }
        if let Some(cell) = record.iter().find(|cell| cell.len() > LONGEST_CELL) {
            let start: String = cell.chars().take(40).collect();
            let reason =
                format!("has a cell longer than any spreadsheet's, `{start}…`; is a quote missing at its end?");
            return Err(at_line(lines.line, reason));
        }
        rows.push(Row { line: lines.line, cells: record.iter().map(str::to_owned).collect(), numbers: Vec::new() });
        if rows.len() > MOST_ROWS {
            return Err(too_much());
        }
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

/// A first line such as `sep=;` is a spreadsheet's note to itself: the delimiter, lines passed over, and the rest.
fn spreadsheet_note(text: &str) -> (Option<char>, u64, &str) {
    let end = text.find(['\r', '\n']).unwrap_or(text.len());
    let (first, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let named = first.trim_matches('"').get(..4).filter(|name| name.eq_ignore_ascii_case("sep="));
    let mut after = first.trim_matches('"').chars().skip(4);
    match (named, after.next(), after.next()) {
        (Some(_), Some(delimiter), None) if delimiter.is_ascii() => {
            (Some(delimiter), 1, rest.strip_prefix("\r\n").or_else(|| rest.get(1..)).unwrap_or(""))
        }
        _ => (None, 0, text),
    }
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

    /// Goes to the start of the record that the CSV reader began to look for at `from`; gives the blank lines
    /// before it.
    fn blank_before(&mut self, from: usize) -> Vec<Row> {
        let mut content_end = from.min(self.text.len());
        while content_end > self.at && self.is_break(content_end - 1) {
            content_end -= 1;
        }
        while self.at < content_end {
            self.step();
        }
        let mut blank = Vec::new();
        let mut ends_record = std::mem::replace(&mut self.begun, true);
        while self.is_break(self.at) {
            let line = self.line;
            self.step();
            if !std::mem::take(&mut ends_record) {
                blank.push(Row { line, ..Row::default() });
            }
        }
        blank
    }
}

/// The delimiters that may part the cells of a text, the likeliest first: the one it names itself; else those that
/// its first lines, outside quotes, hold most evenly and most often.
pub(super) fn delimiters(text: &Text<'_>) -> Vec<char> {
    let (noted, _, body) = spreadsheet_note(&text.text);
    if let Some(noted) = noted {
        return vec![noted];
    }
    let lines: Vec<&str> = body.split(['\n', '\r']).filter(|line| !line.trim().is_empty()).take(20).collect();
    let counted = [',', ';', '\t', '|'].map(|delimiter| {
        let counts: Vec<usize> = lines.iter().map(|line| count_outside_quotes(line, delimiter)).collect();
        let most = counts.iter().copied().max().unwrap_or(0);
        let alike = counts.iter().filter(|count| **count == most).count();
        (alike, most, delimiter)
    });
    let mut found: Vec<_> = counted.into_iter().filter(|(_, most, _)| *most > 0).collect();
    found.sort_by_key(|(alike, most, _)| std::cmp::Reverse((*alike, *most)));
    if found.is_empty() { vec![','] } else { found.into_iter().map(|(_, _, delimiter)| delimiter).collect() }
}

fn count_outside_quotes(line: &str, delimiter: char) -> usize {
    let mut quoted = false;
    line.chars()
        .take(10_000)
        .filter(|c| {
            quoted ^= *c == '"';
            !quoted && *c == delimiter
        })
        .count()
}

/// Whether quotes inside cells are written `\"`: then one is followed by more of its cell, which the closing quote
/// of RFC 4180 never is.
fn escapes_quotes(text: &str, delimiter: char) -> bool {
    text.match_indices("\\\"").any(|(place, pair)| {
        let next = text.get(place + pair.len()..).and_then(|rest| rest.chars().next());
        next.is_some_and(|c| c != delimiter && !matches!(c, '\r' | '\n' | '"'))
    })
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
        assert!(whole_file(&"a\n".repeat(MOST_ROWS + 1)).1.contains("shorter span"));
        assert!(whole_file(&"\n".repeat(MOST_CELLS + 1)).1.contains("shorter span"));
        assert!(whole_file(&format!("{}\n", ",".repeat(1000)).repeat(MOST_CELLS / 1000)).1.contains("shorter span"));
    }
}
