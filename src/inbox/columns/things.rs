//! What was sold, by columns whose header may mean something else as well.
//!
//! Handed a table whose order numbers and recipients are settled; promises that a bare `Name`, `Reference` or
//! `Article` counts for the article's title or code only where its cells and what stands beside it show that.
//! Turned down: deciding by the language of the header, which a table's other headers may not share.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::drop::SalesField;

use super::draft::{Draft, Pick, pick};
use super::grid::{Column, Grid};
use super::shapes;
use super::words::{Meaning, What, Whose};

const NAME: What = What::Field(SalesField::Name);
const CODE: What = What::Field(SalesField::Code);
const TITLE: What = What::Field(SalesField::Title);

/// How words for a reference begin in the languages that have one, accents off.
const REFERENCE: [&str; 2] = ["ref", "rif"];

/// Settles all of it.
pub(super) fn decide(grid: &mut Grid<'_>, draft: &Draft) {
    names(grid, draft);
    references(grid, draft);
}

/// `Article` may be a code or a title: what its cells look like.
pub(super) fn tell_codes_from_titles(grid: &mut Grid<'_>) {
    for place in 0..grid.columns.len() {
        let Some(column) = grid.columns.get(place) else { continue };
        if column.means(CODE).is_none() || column.means(TITLE).is_none() {
            continue;
        }
        let other = if are_codes(grid, column) { TITLE } else { CODE };
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| meaning.what != other);
        }
    }
}

fn are_codes(grid: &Grid<'_>, column: &Column) -> bool {
    let cells = grid.cells(column).count();
    grid.cells(column).filter(|cell| shapes::is_code(cell)).count() * 2 > cells
}

fn are_beside(one: &Column, other: &Column) -> bool {
    one.place.abs_diff(other.place) == 1
}

/// A bare `Name` beside the code or the quantity, where nothing else is a title and somebody else is the recipient.
fn names(grid: &mut Grid<'_>, draft: &Draft) {
    if grid.of_meaning(TITLE).next().is_some() {
        return;
    }
    let people = [SalesField::Name, SalesField::Buyer].map(|field| draft.column(grid, field));
    let things: Vec<usize> = grid
        .of_meaning(NAME)
        .filter(|(_, meaning)| meaning.whose == Whose::Unsaid && !meaning.plain)
        .map(|(column, _)| column)
        .filter(|column| people.iter().flatten().next().is_some_and(|person| person.place != column.place))
        .filter(|column| people.iter().flatten().all(|person| !share_a_cell(grid, column, person)))
        .filter(|column| {
            let kin = [CODE, What::Field(SalesField::Quantity)].into_iter().flat_map(|what| grid.of_meaning(what));
            kin.into_iter().any(|(kin, _)| are_beside(column, kin))
        })
        .map(|column| column.place)
        .collect();
    for place in things {
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings = vec![Meaning { what: TITLE, whose: Whose::Unsaid, plain: false }];
        }
    }
}

/// Whether two columns hold the same in some row.
fn share_a_cell(grid: &Grid<'_>, one: &Column, other: &Column) -> bool {
    let cell = |row, column| Grid::cell(row, column).map(|cell| cell.to_lowercase());
    grid.rows.iter().any(|row| cell(row, one).is_some() && cell(row, one) == cell(row, other))
}

/// A `Reference` that isn't the order's is the article's code, where there is no other and it goes with the title.
fn references(grid: &mut Grid<'_>, draft: &Draft) {
    let Some(order) = draft.column(grid, SalesField::Order) else { return };
    let Pick::One(title) = pick(grid, TITLE, |_, _| true) else { return };
    let Some(title) = grid.columns.get(title).filter(|_| grid.of_meaning(CODE).next().is_none()) else { return };
    let codes: Vec<usize> = grid
        .of_meaning(What::Field(SalesField::Order))
        .filter(|(column, meaning)| column.place != order.place && !meaning.plain)
        .map(|(column, _)| column)
        .filter(|column| column.folded.words.iter().any(|word| REFERENCE.iter().any(|stem| word.starts_with(stem))))
        .filter(|column| are_codes(grid, column) && goes_with(grid, column, title, order))
        .map(|column| column.place)
        .collect();
    for place in codes {
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings = vec![Meaning { what: CODE, whose: Whose::Unsaid, plain: false }];
        }
    }
}

/// Whether a thing always has the same code, and a code the same thing: as seen in several orders, or at least where
/// both stand side by side.
fn goes_with(grid: &Grid<'_>, code: &Column, title: &Column, order: &Column) -> bool {
    let options = grid.of_meaning(What::Field(SalesField::Options)).map(|(column, _)| column).next();
    let mut codes: BTreeMap<(String, Option<String>), BTreeSet<String>> = BTreeMap::new();
    let mut things: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut orders: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for row in &grid.rows {
        let (Some(code), Some(title)) = (Grid::cell(row, code), Grid::cell(row, title)) else { continue };
        let options = options.and_then(|options| Grid::cell(row, options));
        codes.entry((title.to_lowercase(), options)).or_default().insert(code.clone());
        things.entry(code.clone()).or_default().insert(title.to_lowercase());
        orders.entry(code).or_default().extend(Grid::cell(row, order));
    }
    let is_one_to_one = codes.values().all(|codes| codes.len() == 1) && things.values().all(|things| things.len() == 1);
    is_one_to_one && !codes.is_empty() && (are_beside(code, title) || orders.values().any(|orders| orders.len() > 1))
}
