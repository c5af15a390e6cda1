//! What kind of file it is, and its encoding: bytes to text or to the tables of a spreadsheet.
//!
//! Handed the bytes as they lie; promises text without NUL and every letter as its encoding has it, or the reason
//! why the file can't be read. Bytes that no encoding accounts for are refused and never replaced. Turned down:
//! trusting the name's ending, which says what somebody once hoped was in it.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

use crate::model::address::Country;

use super::{ReadError, email, mojibake, unreadable, workbook};

/// A row of a table with the line it begins on, the file's first being 1.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Row {
    pub(super) line: u64,
    pub(super) cells: Vec<String>,
    /// Places of the cells that a spreadsheet holds as numbers, written here with a point.
    pub(super) numbers: Vec<usize>,
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

impl Table {
    /// Rewrites what a spreadsheet holds as numbers in the style its texts are read in, so that one reading, and what
    /// is written back of refused rows, holds for both.
    pub(super) fn write_numbers_with(&mut self, decimal: char) {
        let rows = self.rows.iter_mut().filter(|_| decimal != '.');
        for row in rows {
            for place in &row.numbers {
                if let Some(cell) = row.cells.get_mut(*place) {
                    *cell = cell.replacen('.', &decimal.to_string(), 1);
                }
            }
        }
    }
}

/// Text with the lines of the file that its lines come from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Text<'b> {
    pub(super) text: Cow<'b, str>,
    pub(super) encoding: String,
    /// For the body of an email, the file's line of each line; `None` where the text is the file.
    pub(super) lines: Option<Vec<u64>>,
}

impl Text<'_> {
    /// The file's line of the text's line with that index.
    pub(super) fn line(&self, index: usize) -> u64 {
        let as_it_lies = u64::try_from(index).unwrap_or(u64::MAX).saturating_add(1);
        match &self.lines {
            Some(lines) => lines.get(index).or(lines.last()).copied().unwrap_or(as_it_lies),
            None => as_it_lies,
        }
    }
}

pub(super) enum Decoded<'b> {
    Text(Text<'b>),
    /// The body of a saved email.
    Email(Text<'b>),
    /// The sheets of a spreadsheet that hold anything.
    Sheets(Vec<Table>),
}

/// The text of a file, or the tables of a spreadsheet. `country` is where the file is likely to come from.
pub(super) fn decode<'b>(file: &str, bytes: &'b [u8], country: Country) -> Result<Decoded<'b>, ReadError> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(unreadable(file, "the file is empty; export it again"));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return workbook::tables(bytes).map(Decoded::Sheets).map_err(|why| unreadable(file, why));
    }
    let (text, encoding) = text(bytes, country).ok_or_else(|| {
        unreadable(file, "this is not text, nor a spreadsheet or saved email; export it as CSV and drop that")
    })?;
    if email::is_one(&text) {
        let body = email::body(bytes).ok_or_else(|| unreadable(file, "the saved email has no text in it"))?;
        return Ok(Decoded::Email(Text { text: Cow::Owned(body.text), encoding, lines: Some(body.lines) }));
    }
    let start: String = text.trim_start().chars().take(15).collect::<String>().to_lowercase();
    if start.starts_with("<!doctype html") || start.starts_with("<html") {
        return Err(unreadable(file, "this is a web page and no export; sign in at the source and export again"));
    }
    let (text, encoding) = match mojibake::repaired(&text) {
        Some(repaired) => (Cow::Owned(repaired), format!("{encoding}, encoded twice")),
        None => (text, encoding),
    };
    Ok(Decoded::Text(Text { text, encoding, lines: None }))
}

/// By byte order mark, by the zero bytes that UTF-16 has in every Latin letter, as UTF-8, else by detection.
fn text(bytes: &[u8], country: Country) -> Option<(Cow<'_, str>, String)> {
    if let Some((encoding, length)) = Encoding::for_bom(bytes) {
        return strict(encoding, bytes.get(length..)?);
    }
    if bytes.contains(&0) {
        let zeros = |offset: usize| bytes.iter().skip(offset).step_by(2).filter(|byte| **byte == 0).count();
        let (even, odd) = (zeros(0), zeros(1));
        let guess = if odd > even { UTF_16LE } else { UTF_16BE };
        // In text of a Latin script, one byte in two is zero; in anything else, zeros mean that it is no text.
        return if (even + odd) * 4 >= bytes.len() { strict(guess, bytes) } else { None };
    }
    if let Some(utf8) = strict(UTF_8, bytes) {
        return Some(utf8).filter(|(text, _)| is_printable(text));
    }
    let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    let code = country.code().to_ascii_lowercase();
    let domain = if code == "gb" { "uk" } else { code.as_str() };
    let guess = detector.guess(Some(domain.as_bytes()), chardetng::Utf8Detection::Deny);
    strict(guess, bytes).filter(|(text, _)| is_printable(text))
}

fn strict<'b>(encoding: &'static Encoding, bytes: &'b [u8]) -> Option<(Cow<'b, str>, String)> {
    let text = encoding.decode_without_bom_handling_and_without_replacement(bytes)?;
    (!text.contains('\0')).then(|| (text, encoding.name().to_owned()))
}

/// Text has few control characters besides tabs and line ends.
fn is_printable(text: &str) -> bool {
    let odd = text.chars().filter(|c| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{0C}')).count();
    odd * 100 <= text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn us() -> Country {
        "US".parse().unwrap()
    }

    fn read(bytes: &[u8], country: &str) -> (String, String) {
        match decode("a.csv", bytes, country.parse().unwrap()).unwrap() {
            Decoded::Text(text) | Decoded::Email(text) => (text.text.into_owned(), text.encoding),
            Decoded::Sheets(_) => panic!("no text"),
        }
    }

    fn utf16(text: &str, big: bool, bom: bool) -> Vec<u8> {
        let units = bom.then_some(0xFEFF).into_iter().chain(text.encode_utf16());
        units.flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect()
    }

    #[test]
    fn every_encoding_gives_the_same_letters() {
        let text = "Ref;Name\n1;Zoë Größe\n2;Jörg Weißenau\n";
        let (windows, _, _) = encoding_rs::WINDOWS_1252.encode(text);
        let mut with_bom = vec![0xEF, 0xBB, 0xBF];
        with_bom.extend(text.as_bytes());
        for (bytes, name) in [
            (text.as_bytes().to_vec(), "UTF-8"),
            (with_bom, "UTF-8"),
            (windows.into_owned(), "windows-1252"),
            (utf16(text, false, true), "UTF-16LE"),
            (utf16(text, true, true), "UTF-16BE"),
            (utf16(text, false, false), "UTF-16LE"),
            (utf16(text, true, false), "UTF-16BE"),
        ] {
            assert_eq!(read(&bytes, "US"), (text.to_owned(), name.to_owned()));
        }
    }

    #[test]
    fn the_home_country_helps_to_tell_old_encodings_apart() {
        let polish = "Numer;Odbiorca;Miasto\n1;Łucja Żółkiewska;Świętosław\n2;Stanisław Gąska;Łąka Mała\n";
        let (bytes, _, _) = encoding_rs::ISO_8859_2.encode(polish);
        assert_eq!(read(&bytes, "PL").0, polish);
        let japanese = "番号,宛名,数量\n1,灯台守の山田花子,2\n2,港町の鈴木,1\n";
        let (bytes, _, _) = encoding_rs::SHIFT_JIS.encode(japanese);
        assert_eq!(read(&bytes, "JP"), (japanese.to_owned(), "Shift_JIS".to_owned()));
        assert_eq!(read(&bytes, "US").0, japanese);
    }

    #[test]
    fn letters_encoded_twice_are_read_as_they_were() {
        let (text, encoding) = read("Ref,Name\n1,ZoÃ« GrÃ¶ÃŸe\n".as_bytes(), "US");
        assert_eq!((text.as_str(), encoding.as_str()), ("Ref,Name\n1,Zoë Größe\n", "UTF-8, encoded twice"));
    }

    #[test]
    fn what_is_no_text_is_refused() {
        let all: [&[u8]; 7] = [
            b"",
            b" \r\n\t",
            b"\x7FELF\x02\x01\x01\x00\x00",
            &[0xFF, 0x00, 0x9C, 0x01, 0x07],
            b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x01",
            b"PK\x03\x04 no spreadsheet",
            b"<!DOCTYPE html><html><body>Please sign in</body></html>",
        ];
        for bytes in all {
            assert!(matches!(decode("x", bytes, us()), Err(ReadError::Unreadable(_))), "{bytes:?}");
        }
    }
}
