//! Encoding, delimiter, spreadsheet files: bytes to rows of text.

use std::io::Cursor;

use calamine::{Data, Reader as _};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use mail_parser::MessageParser;

use crate::model::day::{Refused, Waiting};

use super::ReadError;

/// A row of a table with the line it begins on, the file's first being 1.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Row {
    pub(super) line: u64,
    pub(super) cells: Vec<String>,
}

impl Row {
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// A table of any kind of file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Table {
    pub(super) rows: Vec<Row>,
    pub(super) encoding: String,
    pub(super) delimiter: Option<char>,
}

pub(super) enum Decoded {
    Text { text: String, encoding: String },
    Table(Table),
}

/// The text of a file, or the table of a spreadsheet.
pub(super) fn decode(file: &str, bytes: &[u8]) -> Result<Decoded, ReadError> {
    let unreadable = |reason: &str| {
        let reason = reason.to_owned();
        ReadError::Unreadable(Refused { file: file.to_owned(), line: None, column: None, value: None, reason })
    };
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(unreadable("the file is empty; export it again"));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return workbook(bytes).map(Decoded::Table).map_err(|why| unreadable(&why));
    }
    let (text, encoding) = text(bytes).ok_or_else(|| {
        unreadable("this is not text, nor a spreadsheet or saved email; export it as CSV and drop that")
    })?;
    if is_email(&text) {
        let body = email_body(bytes).ok_or_else(|| unreadable("the saved email has no text in it"))?;
        return Ok(Decoded::Text { text: body, encoding });
    }
    Ok(Decoded::Text { text, encoding })
}

/// By byte order mark, by the zero bytes that UTF-16 has in every Latin letter, as UTF-8, else by detection.
fn text(bytes: &[u8]) -> Option<(String, String)> {
    let strict = |encoding: &'static Encoding, bytes: &[u8]| {
        let text = encoding.decode_without_bom_handling_and_without_replacement(bytes)?;
        Some((text.into_owned(), encoding.name().to_owned())).filter(|(text, _)| !text.contains('\0'))
    };
    if let Some((encoding, length)) = Encoding::for_bom(bytes) {
        return strict(encoding, bytes.get(length..)?);
    }
    if bytes.contains(&0) {
        let zeros = |offset: usize| bytes.iter().skip(offset).step_by(2).filter(|byte| **byte == 0).count();
        let guess = if zeros(1) > zeros(0) { UTF_16LE } else { UTF_16BE };
        // In text of a Latin script, one byte in two is zero; in anything else, zeros mean that it is no text.
        return if (zeros(0) + zeros(1)) * 4 >= bytes.len() { strict(guess, bytes) } else { None };
    }
    if let Some(utf8) = strict(UTF_8, bytes) {
        return Some(utf8).filter(|(text, _)| is_printable(text));
    }
    let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    strict(detector.guess(None, chardetng::Utf8Detection::Deny), bytes).filter(|(text, _)| is_printable(text))
}

/// Text has few control characters besides tabs and line ends.
fn is_printable(text: &str) -> bool {
    let odd = text.chars().filter(|c| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{0C}')).count();
    odd * 100 <= text.chars().count()
}

/// Header lines as RFC 5322 has them, before the first blank line, with at least a sender and a date.
fn is_email(text: &str) -> bool {
    let head = text.lines().take_while(|line| !line.trim().is_empty());
    let (mut from, mut date, mut all) = (false, false, true);
    for line in head {
        let name = line.split_once(':').map(|(name, _)| name);
        let folded = line.starts_with([' ', '\t']);
        from |= name.is_some_and(|name| name.eq_ignore_ascii_case("from"));
        date |= name.is_some_and(|name| name.eq_ignore_ascii_case("date"));
        all &= folded || name.is_some_and(|name| !name.is_empty() && !name.contains(char::is_whitespace));
    }
    from && date && all
}

fn email_body(bytes: &[u8]) -> Option<String> {
    let message = MessageParser::default().parse(bytes)?;
    message.body_text(0).map(std::borrow::Cow::into_owned).filter(|body| !body.trim().is_empty())
}

fn workbook(bytes: &[u8]) -> Result<Table, String> {
    let wrong = |why: &dyn std::fmt::Display| {
        format!("the spreadsheet can't be opened ({why}); save it again, or export it as CSV")
    };
    let mut book = calamine::open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(|error| wrong(&error))?;
    for name in book.sheet_names() {
        let range = book.worksheet_range(&name).map_err(|error| wrong(&error))?;
        let first = range.start().map_or(1, |(row, _)| u64::from(row) + 1);
        let rows: Vec<Row> = range
            .rows()
            .zip(first..)
            .map(|(cells, line)| Row { line, cells: cells.iter().map(cell).collect() })
            .collect();
        if rows.iter().any(|row| !row.is_blank()) {
            return Ok(Table { rows, encoding: "spreadsheet".to_owned(), delimiter: None });
        }
    }
    Err("the spreadsheet is empty; export it again".to_owned())
}

fn cell(data: &Data) -> String {
    match data {
        Data::Empty | Data::Error(_) => String::new(),
        Data::DateTime(at) => at.as_datetime().map_or_else(|| at.as_f64().to_string(), |at| at.date().to_string()),
        Data::DateTimeIso(text) => text.clone(),
        Data::Int(_) | Data::Float(_) | Data::String(_) | Data::Bool(_) | Data::DurationIso(_) => data.to_string(),
    }
}

/// Rows of delimited text.
pub(super) fn delimited(file: &str, text: &str, encoding: String) -> Result<Table, ReadError> {
    // A first line such as `sep=;` is a spreadsheet's note to itself.
    let (noted, skipped, body) = match text.split_once('\n') {
        Some((first, rest))
            if first.trim_end().len() == 5 && first.get(..4).is_some_and(|s| s.eq_ignore_ascii_case("sep=")) =>
        {
            (first.chars().nth(4), 1, rest)
        }
        Some(_) | None => (None, 0, text),
    };
    let delimiter = noted.or_else(|| likely_delimiter(body)).unwrap_or(',');
    if ends_inside_quotes(body, delimiter) {
        return Err(ReadError::Waiting(Waiting {
            file: file.to_owned(),
            why: "it ends inside a quoted cell and looks cut off; it is taken once it is whole, or drop it again"
                .to_owned(),
        }));
    }
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(body.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let line = error.position().map(|position| position.line() + skipped);
            let reason = format!("the table can't be read here ({error}); export it again");
            ReadError::Unreadable(Refused { file: file.to_owned(), line, column: None, value: None, reason })
        })?;
        let line = record.position().map_or(0, csv::Position::line) + skipped;
        rows.push(Row { line, cells: record.iter().map(str::to_owned).collect() });
    }
    Ok(Table { rows, encoding, delimiter: Some(delimiter) })
}

/// The delimiter that the first lines, outside quotes, hold most often and most evenly.
fn likely_delimiter(text: &str) -> Option<char> {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(20).collect();
    [',', ';', '\t', '|']
        .into_iter()
        .map(|delimiter| {
            let most = lines.iter().map(|line| count_outside_quotes(line, delimiter)).max().unwrap_or(0);
            let alike = lines.iter().filter(|line| most > 0 && count_outside_quotes(line, delimiter) == most).count();
            (alike, most, delimiter)
        })
        .filter(|(_, most, _)| *most > 0)
        .max_by_key(|(alike, most, _)| (*alike, *most))
        .map(|(_, _, delimiter)| delimiter)
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

/// RFC 4180: a cell that begins with a quote ends with one, and a doubled one inside is a character.
fn ends_inside_quotes(text: &str, delimiter: char) -> bool {
    let (mut quoted, mut at_start) = (false, true);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if quoted {
            if c == '"' && chars.next_if_eq(&'"').is_none() {
                quoted = false;
            }
        } else if c == '"' && at_start {
            quoted = true;
        }
        at_start = !quoted && (c == delimiter || c == '\n' || c == '\r');
    }
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(bytes: &[u8]) -> Table {
        match decode("a.csv", bytes).unwrap() {
            Decoded::Text { text, encoding } => delimited("a.csv", &text, encoding).unwrap(),
            Decoded::Table(table) => table,
        }
    }

    fn utf16(text: &str, big: bool, bom: bool) -> Vec<u8> {
        let units = bom.then_some(0xFEFF).into_iter().chain(text.encode_utf16());
        units.flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect()
    }

    #[test]
    fn every_encoding_gives_the_same_cells() {
        let text = "Ref;Name\n1;Zoë Größe\n2;Jörg\n";
        let (windows, _, _) = encoding_rs::WINDOWS_1252.encode(text);
        let mut with_bom = vec![0xEF, 0xBB, 0xBF];
        with_bom.extend(text.as_bytes());
        let all = [
            text.as_bytes().to_vec(),
            with_bom,
            windows.into_owned(),
            utf16(text, false, true),
            utf16(text, true, true),
            utf16(text, false, false),
            utf16(text, true, false),
        ];
        for bytes in all {
            let table = table(&bytes);
            assert_eq!(table.rows[1].cells, ["1", "Zoë Größe"], "{}", table.encoding);
            assert_eq!(table.delimiter, Some(';'));
        }
    }

    #[test]
    fn every_delimiter_is_found_and_a_quoted_one_is_text() {
        for delimiter in [',', ';', '\t', '|'] {
            let text = format!("a{delimiter}b\n\"x{delimiter}y\"{delimiter}2\n");
            let rows = table(text.as_bytes()).rows;
            assert_eq!(rows[1].cells, [format!("x{delimiter}y"), "2".to_owned()]);
        }
        assert_eq!(table(b"sep=;\na;b,c\n").rows[0], Row { line: 2, cells: vec!["a".into(), "b,c".into()] });
    }

    #[test]
    fn a_record_begins_on_its_first_line() {
        let rows = table(b"a,b\n\"one\ntwo\",3\n4,5\n").rows;
        assert_eq!(rows.iter().map(|row| row.line).collect::<Vec<_>>(), [1, 2, 4]);
    }

    #[test]
    fn what_is_cut_off_waits_and_what_is_no_text_is_refused() {
        let cut = delimited("a.csv", "a,b\n1,\"two", "UTF-8".into());
        assert!(matches!(cut, Err(ReadError::Waiting(_))));
        for bytes in [&b""[..], b" \n", b"\x7FELF\x02\x01\x01\x00\x00", &[0xFF, 0x00, 0x9C, 0x01, 0x07]] {
            assert!(matches!(decode("x", bytes), Err(ReadError::Unreadable(_))), "{bytes:?}");
        }
    }
}
