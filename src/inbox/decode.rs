//! What kind of file it is, and its encoding: bytes to text or to the tables of a spreadsheet.
//!
//! Handed the bytes as they lie; promises text without NUL and every letter as its encoding has it, or the reason
//! why the file can't be read. Bytes that no encoding accounts for are refused and never replaced. Turned down:
//! trusting the name's ending, which says what somebody once hoped was in it.

use std::borrow::Cow;

use crate::model::address::Country;

use super::{ReadError, email, mojibake, unreadable, workbook};
use archive::Packed;

pub(super) mod archive;
mod encoding;
mod kinds;
mod letter;
pub(super) mod space;

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

/// Bytes that an export may have as UTF-8: ten times what one person sells in a year (common practice, no source).
const LARGEST_TEXT: usize = 12 << 20;

/// Bytes by whose text an email is known, a little more than its header lines may have.
const HEAD: usize = (256 << 10) + 4;

/// Added to the name of the encoding where [`mojibake`] was undone: what was read is not what the file holds.
pub(super) const ENCODED_TWICE: &str = ", encoded twice";

/// The text of a file, or the tables of a spreadsheet. `country` is where the file is likely to come from.
pub(super) fn decode<'b>(file: &str, bytes: &'b [u8], country: Country) -> Result<Decoded<'b>, ReadError> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        let sheets = |tables: Result<Vec<Table>, String>| tables.map(Decoded::Sheets);
        let read = match archive::open(bytes).map_err(|why| unreadable(file, why))? {
            Packed::Xlsx => sheets(workbook::xlsx(bytes)),
            Packed::Ods => sheets(workbook::ods(bytes)),
            Packed::Export(export) => return unpacked(file, export, country),
        };
        return read.map_err(|why| unreadable(file, why));
    }
    decode_unpacked(file, bytes, country)
}

/// An export that lay in a ZIP file, which is another kind of file then.
fn unpacked(file: &str, export: Vec<u8>, country: Country) -> Result<Decoded<'static>, ReadError> {
    if export.starts_with(b"PK\x03\x04") {
        let sheets = match archive::open(&export).map_err(|why| unreadable(file, why))? {
            Packed::Xlsx => workbook::xlsx(&export),
            Packed::Ods => workbook::ods(&export),
            Packed::Export(_) => {
                Err("the ZIP file has another one in it; unpack them and drop what is in it".to_owned())
            }
        };
        return sheets.map(Decoded::Sheets).map_err(|why| unreadable(file, why));
    }
    let mut kept = None;
    let owned = |text: Text<'_>, kept: &mut Option<(String, Option<Vec<u64>>, usize)>| match text.text {
        Cow::Owned(owned) => Some(Text { text: Cow::Owned(owned), encoding: text.encoding, lines: text.lines }),
        // The bytes are the text: they are kept as they are, not copied.
        Cow::Borrowed(borrowed) => {
            *kept = Some((text.encoding, text.lines, borrowed.len()));
            None
        }
    };
    let decoded = match decode_unpacked(file, &export, country)? {
        Decoded::Text(text) => owned(text, &mut kept).map(Decoded::Text),
        Decoded::Email(text) => owned(text, &mut kept).map(Decoded::Email),
        Decoded::Sheets(tables) => Some(Decoded::Sheets(tables)),
    };
    if let Some(decoded) = decoded {
        return Ok(decoded);
    }
    let (encoding, lines, length) = kept.unwrap_or_default();
    let mut text = String::from_utf8(export).unwrap_or_default();
    // What is before the text is a byte order mark, what is behind it an end mark.
    let start = if text.starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 };
    text.truncate(start + length);
    text.drain(..start);
    Ok(Decoded::Text(Text { text: Cow::Owned(text), encoding, lines }))
}

fn decode_unpacked<'b>(file: &str, bytes: &'b [u8], country: Country) -> Result<Decoded<'b>, ReadError> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(unreadable(file, "the file is empty; export it again"));
    }
    if workbook::is_xls(bytes) {
        return workbook::xls(bytes).map(Decoded::Sheets).map_err(|why| unreadable(file, why));
    }
    if let Some(why) = kinds::known_and_not_read(bytes) {
        return Err(unreadable(file, why));
    }
    // An email may carry pictures: only its head is looked at as text.
    let head = bytes.get(..bytes.len().min(HEAD)).unwrap_or_default();
    if email::is_one(&String::from_utf8_lossy(head)) {
        if let Some(why) = letter::too_much(bytes) {
            return Err(unreadable(file, why));
        }
        let encoding = encoding::of(head, country).map_or_else(|_| "UTF-8".to_owned(), |(_, name)| name);
        let body = email::body(bytes).ok_or_else(|| unreadable(file, "the saved email has no text in it"))?;
        return Ok(Decoded::Email(Text { text: Cow::Owned(body.text), encoding, lines: Some(body.lines) }));
    }
    let (text, encoding) = encoding::of(bytes, country).map_err(|why| unreadable(file, why))?;
    if let Some(why) = kinds::markup_and_not_read(&text) {
        return Err(unreadable(file, why));
    }
    if text.trim().is_empty() {
        return Err(unreadable(file, "the file is empty; export it again"));
    }
    let (text, encoding) = match mojibake::repaired(&text) {
        Some(repaired) => (Cow::Owned(repaired), format!("{encoding}{ENCODED_TWICE}")),
        None => (text, encoding),
    };
    Ok(Decoded::Text(Text { text, encoding, lines: None }))
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
