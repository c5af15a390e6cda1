//! Which column is read for how an order stands.
//!
//! Handed the columns that tell of it; promises one, or none, by which every order is read as all of them together
//! say it is, and all their words known; else the file waits. Turned down: a column of its own for each, which a map
//! doesn't have: it names one.

use std::collections::{BTreeMap, BTreeSet};

use crate::inbox::ReadRules;
use crate::inbox::decode::Row;
use crate::model::drop::SalesField;
use crate::model::order::OrderState;

use super::draft::Draft;
use super::grid::{Column, Grid};
use super::states::{self, Said, Together, Word};
use super::sums::{Orders, Sums};
use super::words::{Meaning, Tells, What, Whose};

/// More different words than these are no states.
const MOST_STATES: usize = 40;

/// Leaves to columns that may tell of orders the one meaning that their cells bear out, and finds those whose header
/// doesn't say so.
pub(super) fn decide(grid: &mut Grid<'_>, rules: &ReadRules<'_>) {
    let places: Vec<usize> = grid.columns.iter().map(|column| column.place).collect();
    for place in places {
        let Some(column) = grid.columns.get(place) else { continue };
        let Some(meanings) = decided(grid, column, rules) else { continue };
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings = meanings;
        }
    }
}

fn tells(column: &Column) -> Option<Tells> {
    column.meanings.iter().find_map(|meaning| match meaning.what {
        What::Tells(tells) => Some(tells),
        What::Field(_)
        | What::FirstName
        | What::LastName
        | What::HouseNumber
        | What::Mass
        | What::Service
        | What::BoughtAt
        | What::AcceptedAt => None,
    })
}

fn decided(grid: &Grid<'_>, column: &Column, rules: &ReadRules<'_>) -> Option<Vec<Meaning>> {
    let only = |what| Some(vec![Meaning { what, whose: Whose::Unsaid, plain: true }]);
    let filled = grid.cells(column).count();
    let count = |is: &dyn Fn(&str) -> bool| grid.cells(column).filter(|cell| is(cell)).count();
    match tells(column) {
        None if column.meanings.is_empty() => {
            // Most notes and phone numbers show at once that they are no words of orders.
            let few = grid.cells(column).take(20).any(|cell| states::is_of_orders(&cell));
            (few && count(&states::is_of_orders) * 2 > filled).then(|| only(What::Tells(Tells::State)))?
        }
        Some(Tells::State) if column.meanings.len() > 1 => {
            let of_orders =
                |cell: &str| states::is_of_orders(cell) || states::word(cell) == Some(Word::AskedBelowAHeader);
            if count(&of_orders) > 0 {
                return only(What::Tells(Tells::State));
            }
            let country = What::Field(SalesField::Country);
            let is_country = |cell: &str| cell.parse::<crate::model::address::Country>().is_ok();
            if column.means(country).is_some() && count(&is_country) * 2 > filled {
                return only(country);
            }
            // The state of an address: two or three capitals, or beside town and code.
            let capitals = |cell: &str| matches!(cell.len(), 2 | 3) && cell.bytes().all(|b| b.is_ascii_uppercase());
            let beside = [column.place.checked_sub(1), Some(column.place + 1)].into_iter().flatten().any(|place| {
                let near = grid.columns.get(place);
                let is = |field| near.is_some_and(|near| near.means(What::Field(field)).is_some());
                is(SalesField::City) || is(SalesField::PostalCode)
            });
            let region = What::Field(SalesField::Region);
            let is_region = column.means(region).is_some() && (beside || count(&capitals) * 2 > filled);
            only(if is_region { region } else { What::Tells(Tells::State) })
        }
        Some(Tells::Payment) => {
            let is_how = |cell: &str| states::word(cell) == Some(Word::How);
            let perhaps = column.meanings.iter().all(|meaning| !meaning.plain);
            if perhaps && filled > 0 && count(&is_how) == filled {
                return Some(Vec::new());
            }
            let is_day = |cell: &str| super::shapes::is_date(cell, rules);
            (count(&is_day) * 2 > filled).then(|| only(What::Field(SalesField::PaidAt)))?
        }
        // Called a day of payment and no day: it may tell of payment all the same.
        None if column.means(What::Field(SalesField::PaidAt)).is_some() => {
            let is_day = |cell: &str| super::shapes::is_date(cell, rules);
            (filled > 0 && count(&is_day) * 2 <= filled).then(|| only(What::Tells(Tells::Payment)))?
        }
        Some(Tells::State | Tells::Dispatch | Tells::Cancelled | Tells::Refund | Tells::Tracking) | None => None,
    }
}

/// A column that tells of orders.
#[derive(Clone, Copy)]
struct Teller<'g> {
    column: &'g Column,
    tells: Tells,
    /// Whether its cells are what was paid, and always all that was owed.
    is_amount: bool,
}

impl Teller<'_> {
    fn said(&self, cell: &str, rules: &ReadRules<'_>) -> Said {
        if self.is_amount {
            let paid = cell.chars().any(|c| c.is_numeric() && c.to_digit(10) != Some(0));
            return Said::Is(if paid { OrderState::Open } else { OrderState::Unpaid });
        }
        states::said(self.tells, cell, rules)
    }

    /// What it says of an order.
    fn said_of(&self, rows: &[&Row], rules: &ReadRules<'_>) -> Vec<Said> {
        let cells = rows.iter().filter_map(|row| Grid::cell(row, self.column));
        let mut all: Vec<Said> = cells.map(|cell| self.said(&cell, rules)).collect();
        // A payment that is not told of is none.
        if all.is_empty() && self.tells == Tells::Payment {
            all.push(Said::Is(OrderState::Unpaid));
        }
        all
    }
}

/// Whether a column of payments holds amounts, each nothing or the total of its order: then none is paid in part.
fn is_total_paid(grid: &Grid<'_>, draft: &Draft, orders: &Orders<'_>, paid: &Column, rules: &ReadRules<'_>) -> bool {
    let (Some(total), Some(decimal)) = (draft.column(grid, SalesField::Total), draft.decimal) else { return false };
    let currency = draft.chosen.get(&SalesField::Currency).copied();
    let sums = Sums { grid, rules, decimal, currency };
    for rows in orders.values() {
        let owed = rows.iter().find_map(|row| sums.amount(row, total));
        for row in rows.iter().filter(|row| Grid::cell(row, paid).is_some_and(|cell| cell != "-")) {
            match (sums.amount(row, paid), owed) {
                (Some(paid), _) if paid.is_zero() => {}
                (Some(paid), Some(owed)) if sums.is_near(paid, owed) => {}
                (Some(_) | None, _) => return false,
            }
        }
    }
    true
}

/// Takes the amounts out of a draft that becomes a map: the next export has others.
pub(super) fn keep_amounts_out(grid: &Grid<'_>, draft: &mut Draft) {
    let Some(column) = draft.amounts_paid.and_then(|place| grid.columns.get(place)) else { return };
    draft.problems.push(format!(
        "{} tells what is paid by amounts, for which a map has no words; export only what is paid, or with a column that says it",
        grid.name(column)
    ));
    draft.states.clear();
    draft.doubt(SalesField::State, vec![column.place]);
}

/// A column that could be read for the state, with our word for each of its.
struct Reader<'g> {
    teller: Teller<'g>,
    words: BTreeMap<String, OrderState>,
}

impl Reader<'_> {
    fn read(&self, rows: &[&Row]) -> Option<OrderState> {
        rows.iter().find_map(|row| self.words.get(&Grid::cell(row, self.teller.column)?).copied())
    }

    /// Whether it has a word for every order, so that an empty cell says nothing, rather than no.
    const fn speaks(&self) -> bool {
        matches!(self.teller.tells, Tells::State | Tells::Payment) && !self.teller.is_amount
    }
}

fn reader<'g>(grid: &'g Grid<'_>, teller: Teller<'g>, rules: &ReadRules<'_>) -> Option<Reader<'g>> {
    let mut words = BTreeMap::new();
    for cell in grid.cells(teller.column) {
        if words.contains_key(&cell) {
            continue;
        }
        // Days and parcels' numbers are another in every row, and no words to put into a map; how many pieces were
        // sent doesn't say whether that is all of them.
        let is_flag = teller.tells == Tells::Payment && matches!(cell.as_str(), "0" | "1" | "-");
        if states::word(&cell).is_none() && !is_flag && !teller.is_amount {
            return None;
        }
        let state = match teller.said(&cell, rules) {
            Said::Is(state) => state,
            Said::Nothing => OrderState::Open,
            Said::PaidBack | Said::Unknown => return None,
        };
        words.insert(cell, state);
        if words.len() > MOST_STATES && !teller.is_amount {
            return None;
        }
    }
    Some(Reader { teller, words })
}

/// Settles the state, once orders and days of payment are.
pub(super) fn settle(grid: &Grid<'_>, draft: &mut Draft, orders: &Orders<'_>, rules: &ReadRules<'_>) {
    let teller = |column| {
        let tells = tells(column)?;
        let is_amount = tells == Tells::Payment && is_total_paid(grid, draft, orders, column, rules);
        Some(Teller { column, tells, is_amount })
    };
    let tellers: Vec<Teller<'_>> = grid.columns.iter().filter_map(teller).collect();
    let mut unknown = Vec::new();
    for teller in &tellers {
        let column = teller.column;
        let cells: BTreeSet<String> = grid.cells(column).collect();
        let words = cells.into_iter().filter(|cell| teller.said(cell, rules) == Said::Unknown);
        let words: BTreeSet<String> = words.take(1000).collect();
        if words.is_empty() {
            continue;
        }
        unknown.push(column.place);
        let some: Vec<String> = words.iter().take(6).map(|word| format!("`{word}`")).collect();
        draft.problems.push(format!(
            "{} may say how orders stand, and what it means by {} is not known; say so under [states] of the map",
            grid.name(column),
            some.join(", ")
        ));
        draft.unknown_states.extend(words.into_iter().take(MOST_STATES).map(|word| (word, column.place)));
    }
    if !unknown.is_empty() {
        for teller in tellers.iter().filter(|teller| unknown.contains(&teller.column.place)) {
            let said = grid.cells(teller.column).map(|cell| (teller.said(&cell, rules), cell));
            let known = said.filter_map(|(said, cell)| match said {
                Said::Is(state) => Some((cell, state)),
                Said::Nothing | Said::PaidBack | Said::Unknown => None,
            });
            draft.states.extend(known.take(MOST_STATES));
        }
        match unknown.as_slice() {
            [one] if tellers.len() == 1 => {
                draft.chosen.insert(SalesField::State, *one);
            }
            _ => draft.doubt(SalesField::State, tellers.iter().map(|teller| teller.column.place).collect()),
        }
        return;
    }
    choose(grid, draft, orders, &tellers, rules);
}

fn choose(grid: &Grid<'_>, draft: &mut Draft, orders: &Orders<'_>, tellers: &[Teller<'_>], rules: &ReadRules<'_>) {
    let paid_at = draft.column(grid, SalesField::PaidAt);
    let paid = |rows: &[&Row]| match paid_at {
        Some(column) if rows.iter().all(|row| Grid::cell(row, column).is_none()) => OrderState::Unpaid,
        Some(_) | None => OrderState::Open,
    };
    let together: BTreeMap<&String, Together> = orders
        .iter()
        .map(|(number, rows)| {
            let mut together = Together::default();
            together.add(Said::Is(paid(rows)));
            for said in tellers.iter().flat_map(|teller| teller.said_of(rows, rules)) {
                together.add(said);
            }
            (number, together)
        })
        .collect();
    let readers: Vec<Reader<'_>> = tellers.iter().filter_map(|teller| reader(grid, *teller, rules)).collect();
    let read = |reader: Option<&Reader<'_>>, rows: &[&Row]| {
        let nothing = reader.filter(|reader| reader.teller.is_amount).map(|_| OrderState::Unpaid);
        reader.and_then(|reader| reader.read(rows)).or(nothing)
    };
    // An order of which the column says nothing would count as open.
    let silent = |reader: &Reader<'_>| {
        let mut silent =
            orders.iter().filter(|(_, rows)| reader.speaks() && paid_at.is_none() && reader.read(rows).is_none());
        silent.next().map(|(number, _)| number.clone())
    };
    let exact = |reader: Option<&Reader<'_>>| {
        let all = orders.iter().filter_map(|(number, rows)| {
            Some((read(reader, rows).unwrap_or_else(|| paid(rows)), together.get(number)?))
        });
        all.filter(|(state, together)| *state == together.state()).count()
    };
    let other = |reader: Option<&Reader<'_>>| {
        let mut wrong = orders.iter().filter(|(number, rows)| {
            let state = read(reader, rows).unwrap_or_else(|| paid(rows));
            together.get(number).is_some_and(|together| !together.allows(state))
        });
        wrong.next().map(|(number, _)| number.clone())
    };
    let candidates: Vec<&Reader<'_>> = readers.iter().filter(|reader| !reader.words.is_empty()).collect();
    let fitting = candidates.iter().filter(|reader| other(Some(reader)).is_none() && silent(reader).is_none());
    // The first of those that say the same of every order.
    let best = fitting.rev().max_by_key(|reader| exact(Some(reader)));
    match best {
        Some(reader) => {
            let column = reader.teller.column;
            draft.chosen.insert(SalesField::State, column.place);
            draft.states.clone_from(&reader.words);
            if reader.teller.is_amount {
                draft.amounts_paid = Some(column.place);
                // A spreadsheet's numbers will be written in the style of the table.
                let others = reader.words.iter().map(|(cell, state)| (cell.replacen('.', ",", 1), *state));
                let others: BTreeMap<String, OrderState> = others.collect();
                draft.states = others.into_iter().chain(reader.words.clone()).collect();
                let unpaid = orders.iter().filter(|(_, rows)| reader.read(rows).is_none());
                draft.unpaid = unpaid.map(|(number, _)| number.clone()).collect();
            }
            let heeded = tellers.iter().map(|teller| teller.column.place).filter(|place| *place != column.place);
            draft.heeded.extend(heeded);
        }
        None if other(None).is_none() && candidates.iter().all(|reader| silent(reader).is_none()) => {
            draft.heeded.extend(tellers.iter().map(|teller| teller.column.place));
        }
        None => {
            let places: Vec<usize> = tellers.iter().map(|teller| teller.column.place).collect();
            let silent = candidates.iter().find_map(|reader| Some((reader, silent(reader)?)));
            draft.problems.push(match (silent, other(None)) {
                (Some((reader, number)), _) if candidates.len() == 1 => format!(
                    "{} says nothing of order `{number}`; fill it in, or export only what is to be sent",
                    grid.name(reader.teller.column)
                ),
                (_, number) => format!(
                    "no column alone tells how every order stands, such as `{}` by {}; export only what is to be sent, or with one column that tells it",
                    number.unwrap_or_default(),
                    grid.names(&places)
                ),
            });
            draft.doubt(SalesField::State, places);
        }
    }
}
