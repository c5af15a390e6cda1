//! What must be there, and be borne out, for a sale to be sent.
//!
//! Handed a draft in which every step had its say; promises a problem for all that is missing or contradicts itself.
//! Turned down: checking orders one by one as they are read, which refuses rows for a fault of the match.

use crate::inbox::decode::Row;
use crate::inbox::items::{self, Given};
use crate::inbox::{ReadRules, values};
use crate::model::drop::SalesField;

use super::draft::{Draft, Unborne};
use super::grid::{Column, Grid};
use super::sums::{Orders, Sums};
use super::words::{self, What};

/// Adds to the draft what is missing.
pub(super) fn settled(grid: &Grid<'_>, draft: &mut Draft, orders: &Orders<'_>, rules: &ReadRules<'_>) {
    missing(grid, draft, &[SalesField::Order], "the order number");
    missing(grid, draft, &[SalesField::Name], "the recipient's name");
    missing(grid, draft, &[SalesField::Address1], "the street");
    missing(grid, draft, &[SalesField::City], "the town");
    missing(grid, draft, &[SalesField::Code, SalesField::Title], "what was sold");
    let told = is_counted_in_words(grid, draft) || is_one_each(grid, draft, orders, rules);
    if lacks(draft, SalesField::Quantity) && !told {
        missing(grid, draft, &[SalesField::Quantity], "how many were sold");
    }
    for field in [SalesField::Order, SalesField::Name, SalesField::Address1, SalesField::City, SalesField::Quantity] {
        let Some(column) = draft.column(grid, field) else { continue };
        if !grid.rows.is_empty() && grid.cells(column).next().is_none() {
            let (name, place) = (grid.name(column), column.place);
            draft.problems.push(format!("{name} is empty on every row; export again with it"));
            draft.doubt(field, vec![place]);
        }
    }
    products(grid, draft, rules);
    quantities(grid, draft);
    hidden(grid, draft);
    pass_over(grid, draft);
}

fn lacks(draft: &Draft, field: SalesField) -> bool {
    !draft.chosen.contains_key(&field) && !draft.doubtful.contains_key(&field)
}

/// One of the fields must be there.
fn missing(grid: &Grid<'_>, draft: &mut Draft, fields: &[SalesField], what: &str) {
    if !fields.iter().all(|field| lacks(draft, *field)) {
        return;
    }
    let called = |unborne: &&Unborne| fields.iter().any(|field| unborne.what == What::Field(*field));
    let called = draft.unborne.iter().find(called);
    let called = called.and_then(|unborne| Some((grid.columns.get(unborne.place)?, unborne.sample.clone())));
    draft.problems.push(match called {
        Some((column, sample)) => {
            draft.heeded.push(column.place);
            format!(
                "no column holds {what}: {} is called so, and `{sample}` is none; name the right one in the map",
                grid.name(column)
            )
        }
        None => format!("no column is known to hold {what}; name it in the map"),
    });
}

/// The reading finds a column by its header, the first of that name.
fn hidden(grid: &Grid<'_>, draft: &mut Draft) {
    let hidden: Vec<(SalesField, usize)> = draft
        .chosen
        .iter()
        .filter_map(|(field, place)| {
            let column = grid.columns.get(*place)?;
            let first = grid.columns.get(grid.header.column(&column.header)?)?;
            (first.place != *place && !grid.are_equal(first, column)).then_some((*field, *place))
        })
        .collect();
    for (field, place) in hidden {
        draft.problems.push(format!(
            "{} is `{}`, and a column before it has the same header; rename one of them",
            grid.names(&[place]),
            field.word()
        ));
        draft.doubt(field, vec![place]);
    }
}

/// What may be left unread where its cells aren't what it is called: what is sent, and to whom, doesn't hang on it.
const MAY_BE_UNREAD: [SalesField; 11] = [
    SalesField::Line,
    SalesField::PlacedAt,
    SalesField::ShipBy,
    SalesField::Email,
    SalesField::Note,
    SalesField::UnitPrice,
    SalesField::LineTotal,
    SalesField::PostageCharged,
    SalesField::Tax,
    SalesField::Discount,
    SalesField::Total,
];

/// Tells of columns whose cells aren't what they are called.
fn pass_over(grid: &Grid<'_>, draft: &mut Draft) {
    for unborne in draft.unborne.clone() {
        let What::Field(field) = unborne.what else { continue };
        let chosen = |draft: &Draft| draft.chosen.contains_key(&field) || draft.doubtful.contains_key(&field);
        let column = grid.columns.get(unborne.place).filter(|column| column.meanings.is_empty());
        let Some(column) = column.filter(|column| !draft.heeded.contains(&column.place)) else { continue };
        let text = format!("for `{}` is not what it is called", unborne.sample);
        if MAY_BE_UNREAD.contains(&field) || chosen(draft) {
            draft.asides.push(format!("{} is not read, {text}", grid.name(column)));
            draft.heeded.push(unborne.place);
        } else {
            draft.problems.push(format!("{} can't be read, {text}; say in the map what it is", grid.name(column)));
            draft.doubt(field, vec![unborne.place]);
        }
    }
}

/// Quantity times price is the line's total where all three are there, or one of them isn't what it is called.
fn products(grid: &Grid<'_>, draft: &mut Draft, rules: &ReadRules<'_>) {
    let column = |field| draft.column(grid, field);
    let all = (column(SalesField::Quantity), column(SalesField::UnitPrice), column(SalesField::LineTotal));
    let ((Some(quantity), Some(price), Some(total)), Some(decimal)) = (all, draft.decimal) else { return };
    let currency = draft.chosen.get(&SalesField::Currency).copied();
    let tally = Sums { grid, rules, decimal, currency }.products(quantity, price, total);
    if let Some(line) = tally.line.filter(|_| !tally.is_borne_out()) {
        let places = [quantity.place, price.place, total.place];
        draft.problems.push(format!(
            "`{}` times `{}` is not `{}` on line {line} and most others; say in the map what they are",
            quantity.header, price.header, total.header
        ));
        let fields = [SalesField::Quantity, SalesField::UnitPrice, SalesField::LineTotal];
        for (field, place) in fields.into_iter().zip(places) {
            draft.doubt(field, vec![place]);
        }
    }
}

/// How many a cell says, `0` among it; `None` where it says no number.
fn counted(cell: &str) -> Option<u32> {
    if cell.bytes().all(|b| b == b'0') { Some(0) } else { values::quantity(cell).ok() }
}

/// A column of numbers that is called a quantity among other things, and that no meaning is known of: what is left to
/// send, or how many are in a pack. Where it says the same as the quantity it changes nothing.
fn quantities(grid: &Grid<'_>, draft: &mut Draft) {
    let Some(quantity) = draft.column(grid, SalesField::Quantity) else { return };
    let differing = |column: &Column| {
        if !grid.cells(column).all(|cell| counted(&cell).is_some()) {
            return None;
        }
        grid.rows.iter().find_map(|row| {
            let (other, count) = (counted(&Grid::cell(row, column)?)?, counted(&Grid::cell(row, quantity)?)?);
            (other != count).then_some((row.line, other, count))
        })
    };
    let unknown = grid.columns.iter().filter(|column| {
        column.place != quantity.place && column.meanings.is_empty() && words::speaks_of_quantity(&column.folded)
    });
    let asked: Vec<(usize, String)> = unknown
        .filter_map(|column| {
            let (line, other, count) = differing(column)?;
            let (header, name) = (grid.name(quantity), grid.name(column));
            Some((
                column.place,
                format!("{header} is {count} and {name} is {other} on line {line}; say in the map how many to send"),
            ))
        })
        .collect();
    let place = quantity.place;
    for (other, problem) in asked {
        draft.problems.push(problem);
        draft.doubt(SalesField::Quantity, vec![place, other]);
    }
}

/// Whether every row says in its item's cell how many of it there are: `2x A; 3 × B`.
fn is_counted_in_words(grid: &Grid<'_>, draft: &Draft) -> bool {
    let raw = |row: &'_ Row, field| {
        let cell = row.cells.get(draft.column(grid, field)?.place)?.trim();
        Some(cell.to_owned()).filter(|cell| !cell.is_empty())
    };
    let counted = |row: &&Row| {
        let (code, title) = (raw(row, SalesField::Code), raw(row, SalesField::Title));
        let given = Given { code: code.as_deref(), title: title.as_deref(), quantity: None };
        items::several(given).is_ok_and(|items| items.is_some())
    };
    !grid.rows.is_empty() && grid.rows.iter().all(counted)
}

/// Whether every row is one piece, as shown by prices: each is its line's total, or together they are the order's.
fn is_one_each(grid: &Grid<'_>, draft: &Draft, orders: &Orders<'_>, rules: &ReadRules<'_>) -> bool {
    let column = |field| draft.column(grid, field);
    let (Some(price), Some(decimal)) = (column(SalesField::UnitPrice), draft.decimal) else { return false };
    let several = |column: &Column| grid.cells(column).any(|cell| names_several(&cell));
    if [SalesField::Title, SalesField::Code, SalesField::Options].into_iter().filter_map(column).any(several) {
        return false;
    }
    let currency = draft.chosen.get(&SalesField::Currency).copied();
    let sums = Sums { grid, rules, decimal, currency };
    if let Some(total) = column(SalesField::LineTotal) {
        let tally = sums.equal(price, total);
        return tally.fails == 0 && tally.holds == grid.rows.len() && tally.holds > 0;
    }
    let Some(total) = column(SalesField::Total) else { return false };
    let extras = [SalesField::PostageCharged, SalesField::Tax, SalesField::Discount].map(column);
    let tally = sums.totals(orders, None, price, extras, total, |_| true);
    tally.fails == 0 && tally.holds == orders.len() && tally.holds > 0
}

/// Words such as `2x Gull` or `Gull (3 pcs)`, by which a row may be more than one piece.
fn names_several(text: &str) -> bool {
    let words = text.split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ';' | ','));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let is_count = |word: &str| word.bytes().any(|b| b.is_ascii_digit()) && values::quantity(word).is_ok();
    words.iter().any(|word| is_count(word) && !word.bytes().all(|b| b.is_ascii_digit()))
        || words
            .windows(2)
            .any(|pair| pair.first().is_some_and(|word| is_count(word)) && values::quantity(&pair.concat()).is_ok())
}
