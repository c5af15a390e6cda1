//! The records of an XLS workbook ([MS-XLS], Excel Binary File Format), before a reader that trusts them gets them.
//!
//! Handed the workbook's stream; promises one that holds only what cells need (dates, formats, texts, values), in
//! records of sound length, and whose sheets span no more cells than are read. A text that many cells share is left
//! in the first of them and told of the others, since the reader would write it out for each. Turned down: a reader
//! of one's own, where a maintained one knows every version and format.

use std::collections::BTreeMap;

/// Cells that the sheets span, the empty ones counted.
const MOST_CELLS: u64 = 250_000;
const LARGEST_STREAM: usize = 6 << 20;
/// Bytes of the table of shared texts: an empty one takes three, and twenty-four once it is read.
const LARGEST_TEXTS: usize = 3 << 20;
const MOST_SHEETS: usize = 100;

/// Sections 2.4 of [MS-XLS]: numbers of records.
mod number {
    pub(super) const FORMULA: u16 = 0x0006;
    pub(super) const END: u16 = 0x000A;
    pub(super) const DATE_MODE: u16 = 0x0022;
    pub(super) const FILE_PASS: u16 = 0x002F;
    pub(super) const CONTINUE: u16 = 0x003C;
    pub(super) const CODE_PAGE: u16 = 0x0042;
    pub(super) const BOUND_SHEET: u16 = 0x0085;
    pub(super) const MULTIPLE_RK: u16 = 0x00BD;
    pub(super) const RICH_STRING: u16 = 0x00D6;
    pub(super) const EXTENDED_FORMAT: u16 = 0x00E0;
    pub(super) const SHARED_STRINGS: u16 = 0x00FC;
    pub(super) const LABEL_SST: u16 = 0x00FD;
    pub(super) const NUMBER: u16 = 0x0203;
    pub(super) const LABEL: u16 = 0x0204;
    pub(super) const BOOL_OR_ERROR: u16 = 0x0205;
    pub(super) const STRING: u16 = 0x0207;
    pub(super) const RK: u16 = 0x027E;
    pub(super) const FORMAT: u16 = 0x041E;
    pub(super) const BEGINNING: u16 = 0x0809;
}

/// A cell that shows the text of another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Copied {
    pub(super) sheet: String,
    /// Row and column, from 0.
    pub(super) at: (u32, u32),
    pub(super) of_sheet: String,
    pub(super) of: (u32, u32),
}

#[derive(Debug, Default)]
pub(super) struct Checked {
    pub(super) stream: Vec<u8>,
    pub(super) copies: Vec<Copied>,
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..at + 2)?.try_into().ok().map(u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4)?.try_into().ok().map(u32::from_le_bytes)
}

/// The records from a place on, up to the first that is cut off.
fn records(stream: &[u8]) -> impl Iterator<Item = (u16, &[u8])> {
    let mut rest = stream;
    std::iter::from_fn(move || {
        let (number, length) = (u16_at(rest, 0)?, usize::from(u16_at(rest, 2)?));
        let data = rest.get(4..4 + length)?;
        rest = rest.get(4 + length..)?;
        Some((number, data))
    })
}

fn write(stream: &mut Vec<u8>, number: u16, data: &[u8]) -> Result<(), String> {
    if stream.len() + data.len() > LARGEST_STREAM {
        return Err("it has more records than are read of one file".to_owned());
    }
    stream.extend(number.to_le_bytes());
    stream.extend(u16::try_from(data.len()).unwrap_or(0).to_le_bytes());
    stream.extend(data);
    Ok(())
}

const CUT_OFF: &str = "it is cut off";

/// The stream with what cells need, and the cells whose text another one has.
pub(super) fn checked(stream: &[u8]) -> Result<Checked, String> {
    let mut checked = Checked::default();
    let mut sheets = Vec::new();
    let mut wide_names = false;
    let mut texts = 0;
    let mut in_texts = false;
    let mut ended = false;
    for (number, data) in records(stream) {
        let continues = number == number::CONTINUE && in_texts;
        in_texts = number == number::SHARED_STRINGS || continues;
        match number {
            number::BEGINNING => {
                let version = u16_at(data, 0).filter(|version| matches!(version, 0x0500 | 0x0600));
                wide_names = version.ok_or("it is of a version that is too old")? == 0x0600;
                write(&mut checked.stream, number, data)?;
            }
            number::FILE_PASS => return Err("it has a password".to_owned()),
            number::CODE_PAGE | number::DATE_MODE if data.len() >= 2 => write(&mut checked.stream, number, data)?,
            number::FORMAT | number::EXTENDED_FORMAT => write(&mut checked.stream, number, data)?,
            number::SHARED_STRINGS | number::CONTINUE if in_texts => {
                texts += data.len();
                if texts > LARGEST_TEXTS {
                    return Err("it has more texts than are read of one file".to_owned());
                }
                write(&mut checked.stream, number, data)?;
            }
            number::BOUND_SHEET => {
                let at = u32_at(data, 0).ok_or(CUT_OFF)?;
                let (hidden, kind) = (data.get(4).ok_or(CUT_OFF)? & 0x3F, *data.get(5).ok_or(CUT_OFF)?);
                if kind == 0 {
                    sheets.push((at, hidden.min(2)));
                }
            }
            number::END => {
                ended = true;
                break;
            }
            _ => {}
        }
    }
    if !ended || sheets.len() > MOST_SHEETS {
        return Err(if ended { "it has more sheets than are read of one file" } else { CUT_OFF }.to_owned());
    }
    // Names of their own, so that no two are alike.
    let named: Vec<String> = (0..sheets.len()).map(|place| format!("s{place}")).collect();
    let mut at_places = Vec::new();
    for ((_, hidden), name) in sheets.iter().zip(&named) {
        let mut data = vec![0, 0, 0, 0, *hidden, 0, u8::try_from(name.len()).unwrap_or(0)];
        if wide_names {
            data.push(0);
        }
        data.extend(name.bytes());
        at_places.push(checked.stream.len() + 4);
        write(&mut checked.stream, number::BOUND_SHEET, &data)?;
    }
    write(&mut checked.stream, number::END, &[])?;
    let mut cells = Cells::default();
    for (((at, _), name), place) in sheets.into_iter().zip(&named).zip(at_places) {
        let begins = u32::try_from(checked.stream.len()).unwrap_or(0).to_le_bytes();
        if let Some(field) = checked.stream.get_mut(place..place + 4) {
            field.copy_from_slice(&begins);
        }
        let from = usize::try_from(at).ok().and_then(|at| stream.get(at..)).ok_or(CUT_OFF)?;
        cells.sheet(from, name, &mut checked)?;
    }
    Ok(checked)
}

/// What is known of the cells so far, of all sheets.
#[derive(Default)]
struct Cells {
    spanned: u64,
    /// By its number, where each shared text was seen first.
    texts: BTreeMap<u32, (String, (u32, u32))>,
}

/// First and last row and column.
type Span = Option<((u32, u32), (u32, u32))>;

impl Cells {
    fn sheet(&mut self, from: &[u8], name: &str, checked: &mut Checked) -> Result<(), String> {
        let mut span: Span = None;
        let mut depth = 0_u32;
        for (number, data) in records(from) {
            match (number, depth) {
                (number::BEGINNING, 0) => {
                    depth = 1;
                    write(&mut checked.stream, number, data.get(..4).ok_or(CUT_OFF)?)?;
                }
                // A chart within the sheet is a stream within its stream.
                (number::BEGINNING, _) => depth = depth.saturating_add(1),
                (number::END, 0 | 1) => {
                    self.spanned = self.spanned.saturating_add(cells_of(span));
                    return write(&mut checked.stream, number::END, &[]);
                }
                (number::END, _) => depth -= 1,
                (_, 1) => {
                    self.cell(number, data, name, &mut span, checked)?;
                    if self.spanned.saturating_add(cells_of(span)) > MOST_CELLS {
                        return Err(format!("it stands for more than the {MOST_CELLS} cells that are read of one"));
                    }
                }
                _ => {}
            }
        }
        Err(CUT_OFF.to_owned())
    }

    fn cell(
        &mut self,
        number: u16,
        data: &[u8],
        sheet: &str,
        span: &mut Span,
        checked: &mut Checked,
    ) -> Result<(), String> {
        // Section 2.4: at least so long, and what is kept of it.
        let kept = match number {
            number::NUMBER => data.get(..14),
            number::BOOL_OR_ERROR => data.get(..8),
            number::RK | number::LABEL_SST => data.get(..10),
            number::FORMULA => data.get(..20),
            number::LABEL | number::RICH_STRING => Some(data).filter(|data| data.len() >= 8),
            number::MULTIPLE_RK => Some(data).filter(|data| {
                let last = data.len().checked_sub(2).and_then(|at| u16_at(data, at));
                let columns = last.zip(u16_at(data, 2)).and_then(|(last, first)| last.checked_sub(first));
                columns.is_some_and(|columns| data.len() == 12 + 6 * usize::from(columns))
            }),
            // The value of the formula before it.
            number::STRING => return write(&mut checked.stream, number, data),
            _ => return Ok(()),
        };
        let data = kept.ok_or("a cell of it is damaged")?;
        let at = place(data).ok_or(CUT_OFF)?;
        widen(span, at);
        if number == number::MULTIPLE_RK {
            let last = data.len().checked_sub(2).and_then(|at| u16_at(data, at)).ok_or(CUT_OFF)?;
            widen(span, (at.0, u32::from(last)));
        }
        if number == number::LABEL_SST {
            let text = u32_at(data, 6).ok_or(CUT_OFF)?;
            if let Some((of_sheet, of)) = self.texts.get(&text) {
                let (sheet, of_sheet, of) = (sheet.to_owned(), of_sheet.clone(), *of);
                checked.copies.push(Copied { sheet, at, of_sheet, of });
                return Ok(());
            }
            self.texts.insert(text, (sheet.to_owned(), at));
        }
        if number == number::FORMULA {
            // What it came to, and in place of the formula, which is nobody's business here, `0`.
            return write(&mut checked.stream, number, &[data, &[3, 0, 0x1E, 0, 0]].concat());
        }
        write(&mut checked.stream, number, data)
    }
}

/// Row and column, which every cell's record begins with.
fn place(data: &[u8]) -> Option<(u32, u32)> {
    Some((u16_at(data, 0)?.into(), u16_at(data, 2)?.into()))
}

fn widen(span: &mut Span, at: (u32, u32)) {
    let (first, last) = span.unwrap_or((at, at));
    *span = Some(((first.0.min(at.0), first.1.min(at.1)), (last.0.max(at.0), last.1.max(at.1))));
}

fn cells_of(span: Span) -> u64 {
    let size = |first: u32, last: u32| u64::from(last - first) + 1;
    span.map_or(0, |(first, last)| size(first.0, last.0).saturating_mul(size(first.1, last.1)))
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub(in super::super) fn record(number: u16, data: &[u8]) -> Vec<u8> {
        let mut stream = Vec::new();
        write(&mut stream, number, data).unwrap();
        stream
    }

    /// Row, column and format of a cell, and what follows.
    pub(in super::super) fn cell(number: u16, row: u16, column: u16, format: u16, value: &[u8]) -> Vec<u8> {
        let head: Vec<u8> = [row, column, format].into_iter().flat_map(u16::to_le_bytes).collect();
        record(number, &[&head, value].concat())
    }

    const BEGINNING: [u8; 8] = [0, 6, 0x10, 0, 0, 0, 0, 0];

    /// A workbook of sheets with those cells, of which the second is hidden; format 1 shows days.
    pub(in super::super) fn book(texts: &[&str], sheets: &[Vec<u8>]) -> Vec<u8> {
        let mut shared = vec![0; 8];
        for text in texts {
            shared.extend(u16::try_from(text.len()).unwrap().to_le_bytes());
            shared.push(0);
            shared.extend(text.bytes());
        }
        let format = |shows: u16| record(number::EXTENDED_FORMAT, &[[0, 0], shows.to_le_bytes()].concat());
        let globals =
            [record(number::BEGINNING, &BEGINNING), format(0), format(14), record(number::SHARED_STRINGS, &shared)];
        let bound = |at: usize, place: usize| {
            let at = u32::try_from(at).unwrap().to_le_bytes();
            record(number::BOUND_SHEET, &[&at[..], &[u8::from(place == 1), 0, 1, 0, b'a']].concat())
        };
        let mut stream = globals.concat();
        let mut at = stream.len() + sheets.len() * bound(0, 0).len() + 4;
        let streams: Vec<Vec<u8>> = sheets
            .iter()
            .map(|cells| [&record(number::BEGINNING, &BEGINNING), &cells[..], &record(number::END, &[])].concat())
            .collect();
        for (place, sheet) in streams.iter().enumerate() {
            stream.extend(bound(at, place));
            at += sheet.len();
        }
        stream.extend(record(number::END, &[]));
        stream.extend(streams.concat());
        stream
    }

    pub(in super::super) fn label(row: u16, column: u16, text: u32) -> Vec<u8> {
        cell(number::LABEL_SST, row, column, 0, &text.to_le_bytes())
    }

    pub(in super::super) fn value(row: u16, column: u16, format: u16, value: f64) -> Vec<u8> {
        cell(number::NUMBER, row, column, format, &value.to_le_bytes())
    }

    #[test]
    fn a_text_that_cells_share_is_left_in_the_first() {
        let book = book(&["Ref"], &[[label(0, 0, 0), label(9, 1, 0)].concat(), label(2, 0, 0)]);
        let copies = checked(&book).unwrap().copies;
        let shown = |sheet: &str, at| Copied { sheet: sheet.into(), at, of_sheet: "s0".into(), of: (0, 0) };
        assert_eq!(copies, [shown("s0", (9, 1)), shown("s1", (2, 0))]);
    }

    #[test]
    fn what_the_reader_would_trust_is_refused() {
        let far = [value(0, 0, 0, 1.0), value(65_535, 255, 0, 1.0)].concat();
        let whole = book(&[], &[value(0, 0, 0, 1.0)]);
        let wide = cell(number::MULTIPLE_RK, 0, 5, 0, &[0, 0, 0, 0, 1, 0]);
        for (stream, why) in [
            (book(&[], &[far]), "stands for more than"),
            (book(&[], &[wide]), "a cell of it is damaged"),
            (book(&[], &[cell(number::NUMBER, 0, 0, 0, &[1])]), "a cell of it is damaged"),
            (whole[..whole.len() - 4].to_vec(), "cut off"),
            (whole[..20].to_vec(), "cut off"),
            (record(number::BEGINNING, &[2, 0]), "too old"),
            ([record(number::BEGINNING, &BEGINNING), record(number::FILE_PASS, &[1, 0])].concat(), "password"),
            (book(&[], &vec![Vec::new(); MOST_SHEETS + 1]), "more sheets"),
        ] {
            assert!(checked(&stream).unwrap_err().contains(why), "{why}");
        }
    }

    #[test]
    fn what_no_cell_needs_is_left_out() {
        let dimensions = record(0x0200, &[0xFF; 14]);
        let chart =
            [record(number::BEGINNING, &BEGINNING), value(65_000, 200, 0, 1.0), record(number::END, &[])].concat();
        let cells = [dimensions, value(0, 0, 0, 1.0), chart, value(1, 0, 0, 2.0)].concat();
        let checked = checked(&book(&[], &[cells])).unwrap();
        let kept = records(&checked.stream).filter(|(number, _)| matches!(*number, 0x0200 | number::NUMBER)).count();
        assert_eq!(kept, 2);
    }
}
