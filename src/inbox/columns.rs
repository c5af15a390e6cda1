//! Which column map a table is read by.
//!
//! Handed a table and the home's maps; promises the one map whose telling headers all stand in one row, or the
//! reason why the file waits, or that no map has anything to do with it: then [`matching`] makes one of the table's
//! own headers. Turned down: the file's name, which says nothing about its columns.

mod check;
mod contacts;
mod draft;
mod fold;
mod grid;
mod matching;
mod proposal;
mod said;
mod shapes;
mod standing;
mod states;
mod style;
mod sums;
mod things;
mod words;

use std::collections::BTreeSet;

use crate::model::day::Waiting;
use crate::model::drop::{ColumnMap, MapKind, SalesField};
use crate::model::text::one_line;

use super::decode::{Row, Table};
use super::{REASON, ReadError};

pub(super) use matching::{NOTHING_FITS, of as matched};

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

    /// Where the columns of that name stand, without regard to case.
    fn places<'h>(&'h self, name: &str) -> impl Iterator<Item = usize> + use<'h> {
        let wanted = one_line(name).to_lowercase();
        let named = self.names.iter().enumerate().filter(move |(_, known)| known.to_lowercase() == wanted);
        named.map(|(place, _)| place)
    }

    /// Where the first column of that name stands.
    pub(super) fn column(&self, name: &str) -> Option<usize> {
        self.places(name).next()
    }

    /// Where the column stands that refused rows were given, if they were: the last one, named so.
    pub(super) fn reason(&self) -> Option<usize> {
        self.names
            .iter()
            .rposition(|name| !name.is_empty())
            .filter(|last| self.names.get(*last).is_some_and(|name| name == REASON))
    }

    /// How many columns a row fills: up to the last that has a name.
    pub(super) fn width(&self) -> usize {
        let end = self.reason().unwrap_or(self.names.len());
        let own = self.names.get(..end).unwrap_or_default();
        own.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1)
    }

    /// Whether a row has anything beyond its columns, the reason it was refused for aside.
    pub(super) fn is_overrun_by(&self, row: &Row) -> bool {
        let (width, reason) = (self.width(), self.reason());
        row.cells.iter().enumerate().skip(width).any(|(place, cell)| Some(place) != reason && !cell.trim().is_empty())
    }

    /// Names or cells without the reason of an earlier refusal, so that they get the new one and not one more.
    pub(super) fn without_reason(&self, mut cells: Vec<String>) -> Vec<String> {
        if let Some(place) = self.reason().filter(|place| *place < cells.len()) {
            cells.remove(place);
        }
        cells
    }

    /// Whether a row is this header again, as in files that were joined.
    pub(super) fn is_repeated_by(&self, row: &Row) -> bool {
        let cells = row.cells.iter().map(|cell| one_line(cell));
        cells.clone().any(|cell| !cell.is_empty())
            && cells.chain(std::iter::repeat(String::new())).zip(&self.names).all(|(cell, name)| cell == *name)
    }
}

/// A header may stand below a few lines that a source puts first.
const DEEPEST_HEADER: usize = 30;

/// The map whose headers all stand in a row of the table: the one that asks for most. `None` where none fits.
///
/// # Errors
/// Where a map fits that can't read it, or one would fit but for a header that tells it. Such a file is of that map's
/// source and no other's, so it is not matched: as another source's its orders would all be new ones.
pub(super) fn fitting<'m>(
    file: &str,
    table: &Table,
    maps: &'m [ColumnMap],
) -> Result<Option<(&'m ColumnMap, Header)>, ReadError> {
    let wait = |why: String| ReadError::Waiting(Box::new(Waiting::new(file, why)));
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
        (Some((map, header)), None) => match missing(map, &header) {
            None => Ok(Some((map, header))),
            Some(why) => Err(wait(why)),
        },
        (Some((one, _)), Some((other, _))) => Err(wait(format!(
            "columns/{}.toml and columns/{}.toml both fit it; add a header to one of them that the other lacks",
            one.name, other.name
        ))),
        (None, _) => renamed(table, maps).map_or(Ok(None), |why| Err(wait(why))),
    }
}

/// Fewer columns than these are shared by sources that have nothing to do with one another.
const FEWEST_SHARED: usize = 4;

/// Of a table that has some of the headers that tell a map, and mostly columns that it reads: that one was renamed.
fn renamed(table: &Table, maps: &[ColumnMap]) -> Option<String> {
    let headers = (0..table.rows.len().min(DEEPEST_HEADER)).filter_map(|index| Header::of(table, index));
    let near = headers.flat_map(|header| {
        let of_sales = maps.iter().filter(|map| map.kind == MapKind::Sales);
        of_sales.filter_map(|map| shared(&header, map)).collect::<Vec<_>>()
    });
    let (_, name, lacking) = near.max_by_key(|(shared, _, _)| *shared)?;
    Some(format!(
        "it has most columns of columns/{name}.toml, and lacks `{lacking}`, by which that knows its files; if the column was renamed, mend the map, and if the file is of another source, give that a map of its own"
    ))
}

/// How many columns of the map stand in the header, where they are most of it, its name, and a telling one it lacks.
fn shared<'m>(header: &Header, map: &'m ColumnMap) -> Option<(usize, &'m str, &'m str)> {
    let lacking = map.headers.iter().find(|name| header.column(name).is_none())?;
    let known: BTreeSet<String> =
        map.sales.values().chain(&map.headers).map(|name| one_line(name).to_lowercase()).collect();
    let named: Vec<String> =
        header.names.iter().filter(|name| !name.is_empty()).map(|name| name.to_lowercase()).collect();
    let shared = named.iter().filter(|name| known.contains(*name)).count();
    let tells = map.headers.iter().any(|name| header.column(name).is_some());
    (tells && shared >= FEWEST_SHARED && shared * 2 > named.len()).then_some((shared, &map.name, lacking))
}

/// Fields of postage and receipts without which a row can't be told from another.
const KNOWN_BY: [&str; 4] = ["tracking", "parcel", "bought_at", "accepted_at"];

/// What the table lacks to be read by the map: a column without which an order can't be known, or of which there
/// are two.
fn missing(map: &ColumnMap, header: &Header) -> Option<String> {
    let name = &map.name;
    let sales = map.sales.iter().map(|(field, column)| (field.word(), column));
    for (field, column) in sales.chain(map.entries.iter().map(|(field, column)| (field.as_str(), column))) {
        if header.places(column).nth(1).is_some() {
            return Some(format!(
                "it has two columns `{column}`, and columns/{name}.toml reads one as `{field}`; rename one of them"
            ));
        }
    }
    // By these a row is tied to its parcel, and its day is no news of another.
    let telling = map.entries.iter().filter(|(field, _)| KNOWN_BY.contains(&field.as_str()));
    if let Some((field, column)) = telling.into_iter().find(|(_, column)| header.column(column).is_none()) {
        return Some(format!(
            "columns/{name}.toml reads `{field}` from a column `{column}`, which it lacks; mend the map or export again with it"
        ));
    }
    let lacks = |field: &SalesField| map.sales.get(field).filter(|column| header.column(column).is_none());
    let needed = [SalesField::Order, SalesField::Name, SalesField::Quantity];
    let mut lacking: Vec<SalesField> = needed.into_iter().filter(|field| lacks(field).is_some()).collect();
    // Of code and title, one is enough.
    let items = [SalesField::Code, SalesField::Title];
    if items.iter().all(|field| map.sales.get(field).is_none_or(|column| header.column(column).is_none())) {
        lacking.extend(items.into_iter().filter(|field| lacks(field).is_some()));
    }
    // Without what tells paid from unpaid, every order would look paid, and be sent.
    let paid = [SalesField::State, SalesField::PaidAt];
    if paid.iter().any(|field| lacks(field).is_some())
        && paid.iter().all(|field| map.sales.get(field).is_none_or(|column| header.column(column).is_none()))
    {
        lacking.extend(paid.into_iter().filter(|field| lacks(field).is_some()));
    }
    let field = *lacking.first().filter(|_| map.kind == MapKind::Sales)?;
    let column = map.sales.get(&field)?;
    Some(format!(
        "columns/{name}.toml reads `{}` from a column `{column}`, which it lacks; mend the map or export again with it",
        field.word()
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::test_home::{self, order_book};

    fn waits(text: &str, maps: &[ColumnMap]) -> String {
        match test_home::read_with(text.as_bytes(), maps) {
            Err(ReadError::Waiting(waiting)) => waiting.why,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_table_that_no_map_fits_waits_and_names_its_headers() {
        let why = waits("x,y\n1,2\n", &[order_book()]);
        assert_eq!(why, "no column map fits its headers (x, y); add a columns/NAME.toml that names them");
    }

    #[test]
    fn of_two_maps_the_one_that_asks_for_more_is_used_and_a_tie_waits() {
        let named = |name: &str, headers: &[&str]| ColumnMap {
            name: name.into(),
            headers: headers.iter().map(|header| (*header).to_owned()).collect(),
            ..order_book()
        };
        let text = "Ref,Name,Pin,Qty\n1,Ines,GULL,1\n";
        let maps = [named("small", &["Ref"]), named("large", &["Ref", "Qty"])];
        assert_eq!(test_home::read_with(text.as_bytes(), &maps).unwrap().source.as_deref(), Some("large"));
        let why = waits(text, &[named("one", &["Ref", "Pin"]), named("two", &["Ref", "Qty"])]);
        assert!(why.starts_with("columns/one.toml and columns/two.toml both fit it"), "{why}");
    }

    #[test]
    fn without_a_column_that_tells_how_many_the_file_waits() {
        let map = ColumnMap { headers: vec!["Ref".into()], ..order_book() };
        let why = waits("Ref,Name,Pin,Number\n1,Ines,GULL,2\n", &[map]);
        assert!(why.contains("reads `quantity` from a column `Qty`"), "{why}");
    }

    #[test]
    fn a_file_of_a_known_source_that_renamed_a_telling_header_is_not_read_as_anothers() {
        let renamed = "Ref,Name,Street,Town,Title,Quantity\n1,Ines,1 Quay,Fogport,Gull,1\n";
        let why = waits(renamed, &[order_book()]);
        assert!(why.starts_with("it has most columns of columns/stall.toml, and lacks `Qty`"), "{why}");
        let few = waits("Ref,Name,Phone\n1,Ines,5\n", &[order_book()]);
        assert!(few.starts_with("no column map fits"), "{few}");
        // Another source shares a few names, or what any table may have.
        for other in [
            "Ref,Name,Road,City,Item,Quantity\n1,Ines,1 Quay,Fogport,Gull,1\n",
            "Order number,Name,Street,Town,Title,Quantity\n1,Ines,1 Quay,Fogport,Gull,1\n",
        ] {
            assert!(test_home::read_with(other.as_bytes(), &[order_book()]).is_ok_and(|read| read.matched.is_some()));
        }
    }

    #[test]
    fn two_columns_of_one_name_wait() {
        let why = waits("Ref,Name,Pin,qty,Qty\n1,Ines,GULL,2,3\n", &[order_book()]);
        assert!(why.contains("two columns `Qty`"), "{why}");
    }

    #[test]
    fn a_header_may_stand_below_a_preamble() {
        let text = "Saltmarsh order book\n\nRef,Name,Pin,Qty\n1,Ines,GULL,1\n";
        let reading = test_home::read_with(text.as_bytes(), &[order_book()]).unwrap();
        assert_eq!((reading.header_line, reading.rows.skipped, reading.rows.taken), (Some(3), 2, 1));
    }
}
