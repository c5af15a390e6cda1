//! A table that no map fits, by columns: what each is called, what it may mean, and what stands in it.
//!
//! Handed a table and a row that may be its header; promises the rows that can hold items, and each column's cells
//! as they will be read. Turned down: copying the cells out column by column, which takes the memory of the file
//! once more.

use std::collections::BTreeSet;

use crate::inbox::decode::{Row, Table};
use crate::inbox::values;
use crate::model::drop::SalesField;

use super::fold::{Folded, fold};
use super::words::{Meaning, What, Whose, meanings};
use super::{DEEPEST_HEADER, Header};

/// A column by its header.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Its place in the row.
    pub(super) place: usize,
    /// Its name, tidied.
    pub(super) header: String,
    /// Its name, folded.
    pub(super) folded: Folded,
    /// What it may mean, by its header; less what its cells don't bear out.
    pub(super) meanings: Vec<Meaning>,
}

impl Column {
    /// How it may mean that, if it may.
    pub(super) fn means(&self, what: What) -> Option<Meaning> {
        self.meanings.iter().find(|meaning| meaning.what == what).copied()
    }

    /// `C`, as spreadsheets call it.
    pub(super) fn letter(&self) -> String {
        let mut letters = Vec::new();
        let mut rest = self.place + 1;
        while rest > 0 {
            rest -= 1;
            letters.push(char::from(b'A' + u8::try_from(rest % 26).unwrap_or_default()));
            rest /= 26;
        }
        letters.into_iter().rev().collect()
    }
}

/// A table by its columns.
#[derive(Clone, Debug)]
pub(super) struct Grid<'t> {
    pub(super) header: Header,
    pub(super) columns: Vec<Column>,
    /// Rows that hold something: not blank, no header again, no sum, no footnote.
    pub(super) rows: Vec<&'t Row>,
}

impl<'t> Grid<'t> {
    /// By the row whose cells mean the most different things; `None` where none means two.
    pub(super) fn of(table: &'t Table) -> Option<Self> {
        let mut best: Option<(usize, usize)> = None;
        for (index, row) in table.rows.iter().take(DEEPEST_HEADER).enumerate() {
            let known = row.cells.iter().flat_map(|cell| meanings(&fold(cell)));
            let count = known.map(|meaning| (meaning.what, meaning.whose)).collect::<BTreeSet<(What, Whose)>>().len();
            if count > best.map_or(1, |(most, _)| most) {
                best = Some((count, index));
            }
        }
        let header = Header::of(table, best?.1)?;
        let reason = header.reason();
        let named = header.names.iter().enumerate().filter(|(place, _)| Some(*place) != reason);
        let columns = named.map(|(place, name)| {
            let folded = fold(name);
            Column { place, header: name.clone(), meanings: meanings(&folded), folded }
        });
        let columns = columns.collect();
        let rows = table.rows.iter().skip(header.index + 1);
        let rows = rows.filter(|row| holds_something(row) && !header.is_repeated_by(row)).collect();
        Some(Self { header, columns, rows })
    }

    /// What stands in a cell, unwrapped; `None` where nothing does.
    pub(super) fn cell(row: &Row, column: &Column) -> Option<String> {
        let cell = row.cells.get(column.place).filter(|cell| !cell.trim().is_empty())?;
        Some(values::unwrapped(cell)).filter(|text| !text.is_empty())
    }

    /// What stands in a column.
    pub(super) fn cells<'g>(&'g self, column: &'g Column) -> impl Iterator<Item = String> + use<'g, 't> {
        self.rows.iter().filter_map(|row| Self::cell(row, column))
    }

    /// The columns that may mean that.
    pub(super) fn of_meaning(&self, what: What) -> impl Iterator<Item = (&Column, Meaning)> {
        self.columns.iter().filter_map(move |column| Some((column, column.means(what)?)))
    }

    /// Whether a column may be that field.
    pub(super) fn has(&self, field: SalesField) -> bool {
        self.of_meaning(What::Field(field)).next().is_some()
    }

    /// Up to three different values of a column, shortened.
    pub(super) fn samples(&self, column: &Column) -> Vec<String> {
        let mut seen: Vec<String> = Vec::new();
        for cell in self.cells(column).take(200) {
            if !seen.contains(&cell) {
                seen.push(cell);
            }
            if seen.len() == 3 {
                break;
            }
        }
        let short = |text: String| {
            let start: String = text.chars().take(40).collect();
            if start.len() < text.len() { format!("{start}…") } else { start }
        };
        seen.into_iter().map(short).collect()
    }

    /// Columns in words: by header, and by letter where it has none or shares it.
    pub(super) fn names(&self, places: &[usize]) -> String {
        let columns = places.iter().filter_map(|place| self.columns.get(*place));
        let names: Vec<String> = columns.map(|column| self.name(column)).collect();
        match names.as_slice() {
            [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
            all => all.concat(),
        }
    }

    /// A column in words.
    pub(super) fn name(&self, column: &Column) -> String {
        match (column.header.as_str(), self.is_alone(column)) {
            ("", _) => format!("column {}", column.letter()),
            (header, true) => format!("`{header}`"),
            (header, false) => format!("`{header}` (column {})", column.letter()),
        }
    }

    /// Whether no other column has that header.
    pub(super) fn is_alone(&self, column: &Column) -> bool {
        let header = column.header.to_lowercase();
        self.columns.iter().filter(|other| other.header.to_lowercase() == header).count() == 1
    }

    /// Whether two columns hold the same in every row.
    pub(super) fn are_equal(&self, one: &Column, other: &Column) -> bool {
        self.rows.iter().all(|row| Self::cell(row, one) == Self::cell(row, other))
    }
}

/// A row with two cells or more that begins with no word for a sum.
fn holds_something(row: &Row) -> bool {
    let mut filled = row.cells.iter().map(|cell| cell.trim()).filter(|cell| !cell.is_empty());
    let first = filled.next().unwrap_or_default();
    filled.next().is_some() && !is_sum_word(first)
}

fn is_sum_word(cell: &str) -> bool {
    let may_be = cell.len() <= 30 && !cell.bytes().any(|b| b.is_ascii_digit());
    let sum = |meaning: &Meaning| {
        matches!(meaning.what, What::Field(SalesField::Total | SalesField::LineTotal)) && meaning.whose == Whose::Unsaid
    };
    may_be && meanings(&fold(cell)).iter().any(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        let rows = (1..).zip(text.lines()).map(|(line, text)| Row {
            line,
            cells: text.split(',').map(str::to_owned).collect(),
            numbers: Vec::new(),
        });
        Table { rows: rows.collect(), encoding: "UTF-8".into(), delimiter: Some(',') }
    }

    #[test]
    fn the_header_is_the_row_that_means_most_and_rows_that_hold_nothing_are_left_out() {
        let table = table(
            "Orders of the week\nName,,\nOrder no,Recipient,Qty\n1001,Ines,2\n,,\nOrder no,Recipient,Qty\n1002,Bo,1\n\
             Total,,3\nPrinted on Friday,,\n",
        );
        let grid = Grid::of(&table).unwrap();
        assert_eq!(grid.header.line, 3);
        assert_eq!(grid.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [4, 7]);
        assert_eq!(grid.samples(&grid.columns[0]), ["1001", "1002"]);
    }

    #[test]
    fn a_table_of_unknown_words_has_no_header() {
        assert!(Grid::of(&table("x,y\n1,2\n")).is_none());
        assert!(Grid::of(&table("Name,y\n1,2\n")).is_none());
    }

    #[test]
    fn columns_are_lettered_as_spreadsheets_do() {
        let letter =
            |place| Column { place, header: String::new(), folded: Folded::default(), meanings: Vec::new() }.letter();
        assert_eq!([0, 25, 26, 51, 52, 701, 702].map(letter), ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
