//! What is certain of a table's columns so far, and what is not.
//!
//! Filled in by the steps of matching; promises that a field stands in one of its lists at most. Turned down:
//! stopping at the first doubt, after which the proposed map would lack what is certain as well.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::day::DateAsked;
use crate::model::drop::{DateOrder, SalesField};
use crate::model::order::OrderState;

use super::grid::{Column, Grid};
use super::words::{Meaning, What};

/// A column that its header calls something that its cells aren't.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Unborne {
    pub(super) place: usize,
    pub(super) what: What,
    /// A cell that isn't.
    pub(super) sample: String,
}

/// A map on the way.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    /// Fields and the places of their columns.
    pub(super) chosen: BTreeMap<SalesField, usize>,
    /// Fields that could be any of these, or that can't be read from the one.
    pub(super) doubtful: BTreeMap<SalesField, Vec<usize>>,
    /// Why the file can't be read, each with what to do.
    pub(super) problems: Vec<String>,
    /// What the seller should know of a file that can.
    pub(super) asides: Vec<String>,
    pub(super) unborne: Vec<Unborne>,
    /// Columns that no field reads, but that were heeded.
    pub(super) heeded: Vec<usize>,
    pub(super) states: BTreeMap<String, OrderState>,
    /// The column of amounts paid, where the state is read from one.
    pub(super) amounts_paid: Option<usize>,
    /// Orders for which it is empty.
    pub(super) unpaid: BTreeSet<String>,
    /// Words that may be states, and the place of their column.
    pub(super) unknown_states: Vec<(String, usize)>,
    /// `None` where it isn't certain, with the reason among the problems.
    pub(super) decimal: Option<char>,
    /// As `decimal`.
    pub(super) dates: Option<DateOrder>,
    /// A day that could be two, and both: shown in the proposal.
    pub(super) dates_asked: Option<(DateAsked, [String; 2])>,
    /// Whether any column holds days.
    pub(super) has_days: bool,
}

/// Which column is a field.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Pick {
    None,
    One(usize),
    /// Nothing tells them apart.
    Many(Vec<usize>),
}

/// Of the columns that may be that, the one that is likelier than all others: by whose it is, then by how plainly
/// its header says so, then by being filled at all. Columns that are equal cell by cell are one.
pub(super) fn pick(grid: &Grid<'_>, what: What, allowed: impl Fn(&Column, Meaning) -> bool) -> Pick {
    let found: Vec<(&Column, Meaning)> =
        grid.of_meaning(what).filter(|(column, meaning)| allowed(column, *meaning)).collect();
    let is_filled = |column: &Column| grid.cells(column).next().is_some();
    let rank = |(column, meaning): &(&Column, Meaning)| (is_filled(column), meaning.whose, meaning.plain);
    let Some(best) = found.iter().map(rank).max() else { return Pick::None };
    let best: Vec<&Column> = found.iter().filter(|one| rank(one) == best).map(|(column, _)| *column).collect();
    match best.as_slice() {
        [] => Pick::None,
        [first, rest @ ..] if rest.iter().all(|other| grid.are_equal(first, other)) => Pick::One(first.place),
        all => Pick::Many(all.iter().map(|column| column.place).collect()),
    }
}

impl Draft {
    /// Notes the column of a field, or the doubt.
    pub(super) fn settle(&mut self, grid: &Grid<'_>, field: SalesField, pick: Pick) {
        match pick {
            Pick::None => {}
            Pick::One(place) => {
                self.chosen.insert(field, place);
            }
            Pick::Many(places) => {
                self.problems.push(format!(
                    "{} could each be `{}`; keep one of them",
                    grid.names(&places),
                    field.word()
                ));
                self.doubt(field, places);
            }
        }
    }

    /// A field that can't be read from these columns as they are.
    pub(super) fn doubt(&mut self, field: SalesField, places: Vec<usize>) {
        self.chosen.remove(&field);
        let known = self.doubtful.entry(field).or_default();
        known.extend(places);
        known.sort_unstable();
        known.dedup();
    }

    /// The column of a field, where it is certain.
    pub(super) fn column<'g>(&self, grid: &'g Grid<'_>, field: SalesField) -> Option<&'g Column> {
        self.chosen.get(&field).and_then(|place| grid.columns.get(*place))
    }
}
