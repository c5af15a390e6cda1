//! Which column map a table is read by.

use crate::model::day::Waiting;
use crate::model::drop::ColumnMap;
use crate::model::text::one_line;

use super::ReadError;
use super::decode::Table;

/// A header row: where it stands and what each column is called.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Header {
    /// Its place among the rows.
    pub(super) index: usize,
    /// Its line in the file.
    pub(super) line: u64,
    /// Names, tidied.
    pub(super) names: Vec<String>,
}

impl Header {
    pub(super) fn of(table: &Table, index: usize) -> Option<Self> {
        let row = table.rows.get(index)?;
        Some(Self { index, line: row.line, names: row.cells.iter().map(|cell| one_line(cell)).collect() })
    }

    /// Where the column of that name stands, without regard to case.
    pub(super) fn column(&self, name: &str) -> Option<usize> {
        let wanted = one_line(name).to_lowercase();
        self.names.iter().position(|known| known.to_lowercase() == wanted)
    }
}

/// A header may stand below a few lines that a source puts first.
const DEEPEST_HEADER: usize = 30;

/// The map whose headers all stand in a row of the table: the one that asks for most.
pub(super) fn fitting<'m>(
    file: &str,
    table: &Table,
    maps: &'m [ColumnMap],
) -> Result<(&'m ColumnMap, Header), ReadError> {
    let wait = |why: String| ReadError::Waiting(Waiting { file: file.to_owned(), why });
    let mut fits: Vec<(&ColumnMap, Header)> = Vec::new();
    for index in 0..table.rows.len().min(DEEPEST_HEADER) {
        let Some(header) = Header::of(table, index) else { continue };
        for map in maps {
            let all = map.headers.iter().all(|name| header.column(name).is_some());
            if all && fits.iter().all(|(known, _)| known.name != map.name) {
                fits.push((map, header.clone()));
            }
        }
    }
    let most = fits.iter().map(|(map, _)| map.headers.len()).max();
    let mut best = fits.into_iter().filter(|(map, _)| Some(map.headers.len()) == most);
    match (best.next(), best.next()) {
        (Some(found), None) => Ok(found),
        (Some((one, _)), Some((other, _))) => Err(wait(format!(
            "columns/{}.toml and columns/{}.toml both fit it; add a header to one of them that the other lacks",
            one.name, other.name
        ))),
        (None, _) => {
            let names: Vec<String> = table
                .rows
                .iter()
                .find(|row| row.cells.len() > 1 && !row.is_blank())
                .map(|row| row.cells.iter().take(40).map(|cell| one_line(cell)).collect())
                .unwrap_or_default();
            let seen: String = names.join(", ").chars().take(300).collect();
            Err(wait(format!("no column map fits its headers ({seen}); add a columns/NAME.toml that names them")))
        }
    }
}
