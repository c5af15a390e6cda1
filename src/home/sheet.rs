//! The home's own tables: catalogue, mailers, zones, holidays.
//!
//! Handed the text of a CSV file and the columns it must have; promises rows with the line each begins on, and
//! a fault for every column or cell that can't be read. UTF-8, with or without a byte order mark; comma,
//! semicolon or tab, whichever the header row uses, since a spreadsheet chooses that by the country it is set
//! to. Turned down: reading it as leniently as drops are read, as the seller can mend this file and should.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Display;
use std::str::FromStr;

use rust_decimal::Decimal;

use super::fault::{Fault, nearest};
use super::keys::{one_of, without_value};
use super::number;
use crate::model::bound::Bound;
use crate::model::length::Length;
use crate::model::mass::{Mass, Weight};
use crate::model::money::{Currency, Money};
use crate::model::text::one_line;

/// A row with its cells by column.
pub(super) struct Row<'t> {
    file: &'t str,
    /// Line on which it begins.
    pub(super) line: u64,
    cells: BTreeMap<&'static str, String>,
}

/// What a table does with columns it doesn't know.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Others {
    /// They are faults: a misspelt column would lose its cells in silence.
    Refused,
    /// They are the seller's own notes.
    Ignored,
}

/// The rows of a table that has all of `columns`; none where it lacks one.
pub(super) fn rows<'t>(
    file: &'t str,
    text: &str,
    columns: &[&'static str],
    others: Others,
    faults: &mut Vec<Fault>,
) -> Vec<Row<'t>> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter(text))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut records =
        reader.records().map_while(Result::ok).filter(|record| record.iter().any(|c| !c.trim().is_empty()));
    let Some(header) = records.next() else {
        faults.push(Fault::file(file, format!("is empty; begin it with the line {}", columns.join(","))));
        return Vec::new();
    };
    let mut lines = Lines::of(text);
    let header_line = lines.of_next(&header);
    let Some(places) = places(file, header_line, &header, columns, others, faults) else { return Vec::new() };
    let mut rows = Vec::new();
    for record in records {
        let line = lines.of_next(&record);
        if record.len() == header.len() {
            let cell =
                |(place, column): (&usize, &&'static str)| (*column, one_line(record.get(*place).unwrap_or_default()));
            rows.push(Row { file, line, cells: places.iter().map(cell).collect() });
        } else {
            let mend = format!(
                "has {} cells where the header row has {}; a delimiter or a quote is missing or too many",
                record.len(),
                header.len()
            );
            faults.push(Fault { line: Some(line), ..Fault::file(file, mend) });
        }
    }
    rows
}

/// The delimiter that the header row uses most; none of the home's column names holds any of them.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |delimiter: &u8| header.bytes().filter(|byte| byte == delimiter).count();
    [b'\t', b';', b','].into_iter().max_by_key(count).unwrap_or(b',')
}

/// Counts lines as records are read on, each byte once.
struct Lines<'t> {
    text: &'t str,
    /// Bytes that are counted.
    counted: usize,
    line: u64,
}

impl<'t> Lines<'t> {
    const fn of(text: &'t str) -> Self {
        Self { text, counted: 0, line: 1 }
    }

    /// The line on which the next record begins. The CSV reader's own is that of the blank lines before it, where there
    /// are any.
    fn of_next(&mut self, record: &csv::StringRecord) -> u64 {
        let start = record.position().and_then(|position| usize::try_from(position.byte()).ok()).unwrap_or_default();
        let rest = self.text.get(start..).unwrap_or_default();
        let begins = start + rest.len() - rest.trim_start_matches(['\n', '\r']).len();
        let passed = self.text.as_bytes().get(self.counted..begins).unwrap_or_default();
        self.line += passed.iter().map(|byte| u64::from(*byte == b'\n')).sum::<u64>();
        self.counted = self.counted.max(begins);
        self.line
    }
}

/// Which column stands at which place; `None` where one is missing.
fn places(
    file: &str,
    line: u64,
    header: &csv::StringRecord,
    columns: &[&'static str],
    others: Others,
    faults: &mut Vec<Fault>,
) -> Option<BTreeMap<usize, &'static str>> {
    let mut places = BTreeMap::new();
    let mut explained = BTreeSet::new();
    let mut fault = |column: &str, mend: String| {
        let what = format!("column `{column}`");
        faults.push(Fault { file: file.to_owned(), line: Some(line), what, value: None, mend });
    };
    let found: BTreeSet<&str> = header.iter().map(str::trim).collect();
    for (place, word) in header.iter().map(str::trim).enumerate() {
        match columns.iter().find(|column| **column == word) {
            Some(column) if places.values().any(|known| known == column) => {
                fault(column, "stands there twice; remove one".to_owned());
            }
            Some(column) => {
                places.insert(place, *column);
            }
            None => {
                let lacking = columns.iter().copied().filter(|column| !found.contains(column));
                match (nearest(word, lacking), others) {
                    (Some(near), _) => {
                        explained.insert(near);
                        fault(word, format!("is unknown; did you mean `{near}`?"));
                    }
                    (None, Others::Refused) => fault(word, "is unknown; remove it, or correct its name".to_owned()),
                    (None, Others::Ignored) => {}
                }
            }
        }
    }
    let missing: Vec<&str> = columns.iter().copied().filter(|column| !found.contains(column)).collect();
    for column in missing.iter().filter(|column| !explained.contains(*column)) {
        fault(column, "is missing; add it, its cells may be empty where nothing is known".to_owned());
    }
    missing.is_empty().then_some(places)
}

impl Row<'_> {
    /// The cell, without white space around it; empty for a column the table wasn't asked for.
    pub(super) fn cell(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// A fault of this cell, which the message quotes.
    pub(super) fn fault(&self, column: &str, mend: impl Into<String>) -> Fault {
        let cell = self.cell(column);
        Fault {
            file: self.file.to_owned(),
            line: Some(self.line),
            what: format!("column `{column}`"),
            value: (!cell.is_empty()).then(|| cell.to_owned()),
            mend: mend.into(),
        }
    }

    /// A cell that must be filled in.
    pub(super) fn must(&self, column: &str, faults: &mut Vec<Fault>) -> Option<&str> {
        let cell = self.cell(column);
        if cell.is_empty() {
            faults.push(self.fault(column, "is empty; fill it in"));
            return None;
        }
        Some(cell)
    }

    /// The cell read by `read`, `None` where it is empty or was told of in a fault.
    pub(super) fn read<T>(
        &self,
        column: &str,
        faults: &mut Vec<Fault>,
        read: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<T> {
        let cell = self.cell(column);
        if cell.is_empty() {
            return None;
        }
        read(cell).map_err(|mend| faults.push(self.fault(column, mend))).ok()
    }

    /// A decimal above zero.
    pub(super) fn positive(&self, column: &str, bound: Bound, faults: &mut Vec<Fault>) -> Option<Decimal> {
        self.read(column, faults, |cell| {
            let unknown = |mend| format!("{mend}; leave the cell empty where it isn't known");
            number::positive(number::decimal(cell, bound)?).map_err(unknown)
        })
    }

    /// A length in millimetres above zero.
    pub(super) fn mm(&self, column: &str, faults: &mut Vec<Fault>) -> Option<Length> {
        self.positive(column, Length::BOUND, faults).map(Length::from_mm)
    }

    /// A mass in grams above zero.
    pub(super) fn g(&self, column: &str, faults: &mut Vec<Fault>) -> Option<Mass> {
        self.positive(column, Weight::BOUND, faults).map(Mass::from_g)
    }

    /// An amount of at least nothing.
    pub(super) fn money(&self, column: &str, currency: Currency, faults: &mut Vec<Fault>) -> Option<Money> {
        self.not_negative(column, Money::BOUND, faults).map(|amount| Money::new(amount, currency))
    }

    /// A decimal that is at least zero.
    pub(super) fn not_negative(&self, column: &str, bound: Bound, faults: &mut Vec<Fault>) -> Option<Decimal> {
        self.read(column, faults, |cell| number::not_negative(number::decimal(cell, bound)?))
    }

    pub(super) fn whole(&self, column: &str, faults: &mut Vec<Fault>) -> Option<u32> {
        self.read(column, faults, number::whole)
    }

    /// A word of a type whose error message says what to write.
    pub(super) fn parsed<T>(&self, column: &str, faults: &mut Vec<Fault>) -> Option<T>
    where
        T: FromStr,
        T::Err: Display,
    {
        self.read(column, faults, |cell| {
            cell.parse().map_err(|error: T::Err| without_value(&error.to_string(), cell).to_owned())
        })
    }

    /// One of a few words.
    pub(super) fn word<T: Clone>(&self, column: &str, words: &[(&str, T)], faults: &mut Vec<Fault>) -> Option<T> {
        self.read(column, faults, |cell| {
            let found = words.iter().find(|(word, _)| *word == cell);
            found.map(|(_, value)| value.clone()).ok_or_else(|| {
                let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                one_of(&words)
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, others: Others) -> (Vec<(u64, String)>, Vec<String>) {
        let mut faults = Vec::new();
        let rows = rows("t.csv", text, &["code", "mass_g"], others, &mut faults);
        let rows = rows.iter().map(|row| (row.line, format!("{}={}", row.cell("code"), row.cell("mass_g")))).collect();
        (rows, faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn lines_are_those_of_the_file_as_it_lies() {
        let text = "code,mass_g\r\n\r\n\"A\nb\",1\r\n\r\nC,2\r\n,\r\nD,3";
        let expected = [(3, "A b=1".to_owned()), (6, "C=2".to_owned()), (8, "D=3".to_owned())];
        assert_eq!(read(text, Others::Refused), (expected.to_vec(), vec![]));
    }

    #[test]
    fn any_delimiter_and_order_of_columns_will_do() {
        for text in ["mass_g;code\n1;A\n", "mass_g\tcode\n1\tA\n", "\n mass_g , code \n 1 , A \n"] {
            let (rows, faults) = read(text, Others::Refused);
            assert_eq!((rows.iter().map(|row| row.1.as_str()).collect::<Vec<_>>(), faults), (vec!["A=1"], vec![]));
        }
    }

    #[test]
    fn columns_that_are_wrong_are_told_together() {
        let (rows, faults) = read("mas_g,colour,weight\n1,2,3\n", Others::Refused);
        assert_eq!(rows, []);
        assert_eq!(
            faults,
            [
                "t.csv, line 1, column `mas_g`: is unknown; did you mean `mass_g`?",
                "t.csv, line 1, column `colour`: is unknown; remove it, or correct its name",
                "t.csv, line 1, column `weight`: is unknown; remove it, or correct its name",
                "t.csv, line 1, column `code`: is missing; add it, its cells may be empty where nothing is known",
            ]
        );
        let (_, faults) = read("code,mass_g,code\nA,1,A\n", Others::Refused);
        assert_eq!(faults, ["t.csv, line 1, column `code`: stands there twice; remove one"]);
        let (rows, faults) = read("code,mass_g,my notes\nA,1,x\n", Others::Ignored);
        assert_eq!((rows.len(), faults), (1, vec![]));
    }

    #[test]
    fn a_row_that_is_too_short_or_long_is_told() {
        let (rows, faults) = read("code,mass_g\nA\nB,1,2\nC,3\n", Others::Refused);
        assert_eq!(rows, [(4, "C=3".to_owned())]);
        assert_eq!(
            faults,
            [
                "t.csv, line 2: has 1 cells where the header row has 2; a delimiter or a quote is missing or too many",
                "t.csv, line 3: has 3 cells where the header row has 2; a delimiter or a quote is missing or too many",
            ]
        );
    }

    /// Rows as of a whole country's postal codes: counted from the top for each, they took half a minute.
    #[test]
    fn lines_of_a_long_table_are_counted_once() {
        let text: String =
            std::iter::once("code,mass_g\n".to_owned()).chain((0..200_000).map(|row| format!("{row},1\n"))).collect();
        let started = std::time::Instant::now();
        let (rows, faults) = read(&text, Others::Refused);
        assert_eq!((rows.len(), rows.last().map(|row| row.0), faults.len()), (200_000, Some(200_001), 0));
        assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
    }

    #[test]
    fn an_empty_table_says_how_to_begin() {
        assert_eq!(read("", Others::Refused).1, ["t.csv: is empty; begin it with the line code,mass_g"]);
    }
}
