//! Columns without a map: headers matched to fields and borne out by the cells.
//!
//! Handed a table that no map fits; promises a column map of its own where every field that is needed, and every
//! field that is there, can be one column only, and says which it took; else the file waits, with a map proposed as
//! far as it is certain. Turned down: taking the likeliest reading, which sends parcels to the wrong people on the
//! day it is wrong.
//!
//! The source's name, the first half of its orders' ids, is made of the header of the order numbers: letters and
//! digits of any script in small letters, words set apart by hyphens (`Order number` is `order-number`, `注文番号`
//! stays so). The same export with columns moved, added or dropped remains the same source, and a map proposed under
//! that name continues it.

use std::collections::{BTreeMap, BTreeSet};

use crate::inbox::decode::{Row, Table};
use crate::inbox::habits::AMOUNTS;
use crate::inbox::{ReadError, ReadRules, numbers};
use crate::model::day::{DateAsked, Remark, Waiting};
use crate::model::drop::{ColumnMap, DateOrder, MapKind, SalesField};

use super::draft::{Draft, Pick, Unborne, pick};
use super::grid::{Column, Grid};
use super::style::{self, Days, Decimal};
use super::sums::{self, Orders, Sums};
use super::words::{Meaning, Tells, What};
use super::{Header, check, contacts, fold, proposal, said, shapes, standing, things};

/// A map made of a table's own headers.
#[derive(Clone, PartialEq, Debug)]
pub(in crate::inbox) struct Match {
    pub(in crate::inbox) map: ColumnMap,
    pub(in crate::inbox) header: Header,
    /// Our field and their header, in the order of the fields.
    pub(in crate::inbox) matched: Vec<(SalesField, String)>,
    /// Orders that a column of amounts paid is empty for, which no word of a map can say.
    pub(in crate::inbox) unpaid: BTreeSet<String>,
    /// What was chosen, in words for the seller.
    pub(in crate::inbox) remark: Remark,
}

/// Matches a table, or says why it waits.
pub(in crate::inbox) fn of(file: &str, table: &Table, rules: &ReadRules<'_>) -> Result<Match, ReadError> {
    let waits = |waiting| ReadError::Waiting(Box::new(waiting));
    let Some(mut grid) = Grid::of(table) else { return Err(waits(nothing_known(file, table))) };
    let mut draft = Draft::default();
    if is_postage(&grid) {
        let why = "it looks like postage bought or receipts and holds no items of orders; it is read once a columns/NAME.toml of that kind names its columns";
        let proposal = Some(proposal::of_entries(file, &grid, rules));
        return Err(waits(Waiting { proposal, ..Waiting::new(file, why) }));
    }
    if !is_of_orders(&grid) {
        return Err(waits(nothing_known(file, table)));
    }
    standing::decide(&mut grid, rules);
    leave_out_unborne(&mut grid, &mut draft, rules);
    things::tell_codes_from_titles(&mut grid);
    let orders = orders(&grid, &mut draft);
    contacts::settle(&mut grid, &mut draft);
    things::decide(&mut grid, &draft);
    let source = source(&grid, &draft);
    decide_style(&mut grid, &mut draft, rules);
    items(&mut grid, &mut draft, &orders, rules);
    rest(&grid, &mut draft);
    days(&grid, &mut draft, rules, &source);
    standing::settle(&grid, &mut draft, &orders, rules);
    check::settled(&grid, &mut draft, &orders, rules);
    let (Some(decimal), Some(dates), true) = (draft.decimal, draft.dates, draft.problems.is_empty()) else {
        standing::keep_amounts_out(&grid, &mut draft);
        let why = said::why(&draft);
        let proposal = Some(proposal::of_sales(file, &grid, &draft, &source));
        // Answered, the question lets the file in only if nothing else is in doubt.
        let date_asked = draft.dates_asked.take().map(|(asked, _)| asked).filter(|_| draft.problems.len() == 1);
        return Err(waits(Waiting { proposal, date_asked, ..Waiting::new(file, why) }));
    };
    let matched: Vec<(SalesField, String)> = draft
        .chosen
        .iter()
        .filter_map(|(field, place)| Some((*field, grid.columns.get(*place)?.header.clone())))
        .collect();
    let text = said::remark(&grid, &draft, &matched, decimal, dates);
    let map = ColumnMap {
        name: source,
        kind: MapKind::Sales,
        headers: matched.iter().map(|(_, header)| header.clone()).collect(),
        dates,
        decimal,
        sales: matched.iter().cloned().collect(),
        entries: BTreeMap::new(),
        mass_unit: None,
        currency: None,
        states: draft.states,
    };
    let remark = Remark { file: file.to_owned(), line: None, column: None, text };
    Ok(Match { map, header: grid.header, matched, unpaid: draft.unpaid, remark })
}

/// How a sentence begins that says of a table that nothing in it is known.
pub(in crate::inbox) const NOTHING_FITS: &str = "no column map fits its headers";

fn nothing_known(file: &str, table: &Table) -> Waiting {
    let shown = table.rows.iter().find(|row| row.cells.len() > 1 && !row.is_blank());
    let names: Vec<String> = shown
        .map(|row| row.cells.iter().take(40).map(|cell| crate::model::text::one_line(cell)).collect())
        .unwrap_or_default();
    let seen: String = names.join(", ").chars().take(300).collect();
    Waiting::new(file, format!("{NOTHING_FITS} ({seen}); add a columns/NAME.toml that names them"))
}

/// Parcels' numbers with masses, services or days of acceptance, and nothing that was sold.
fn is_postage(grid: &Grid<'_>) -> bool {
    let has = |what| grid.of_meaning(what).next().is_some();
    let sold = [SalesField::Quantity, SalesField::Code, SalesField::Title].into_iter().any(|field| grid.has(field));
    has(What::Tells(Tells::Tracking))
        && [What::Mass, What::Service, What::BoughtAt, What::AcceptedAt].into_iter().any(has)
        && !sold
}

/// At least two of: an order's number, somebody it goes to, something that goes.
fn is_of_orders(grid: &Grid<'_>) -> bool {
    let has = |fields: &[SalesField]| fields.iter().any(|field| grid.has(*field));
    let order = has(&[SalesField::Order]);
    let recipient = has(&[SalesField::Name, SalesField::Address1, SalesField::PostalCode, SalesField::City]);
    let item = has(&[SalesField::Code, SalesField::Title, SalesField::Quantity]);
    usize::from(order) + usize::from(recipient) + usize::from(item) > 1
}

/// Takes from each column the meanings that most of its cells aren't.
fn leave_out_unborne(grid: &mut Grid<'_>, draft: &mut Draft, rules: &ReadRules<'_>) {
    for place in 0..grid.columns.len() {
        let Some(column) = grid.columns.get(place).filter(|column| !column.meanings.is_empty()) else { continue };
        let mut unborne: Vec<Unborne> = Vec::new();
        for meaning in &column.meanings {
            let (mut filled, mut wrong, mut sample) = (0_usize, 0_usize, None);
            for cell in grid.cells(column) {
                filled += 1;
                if !shapes::suits(meaning.what, &cell, rules) {
                    wrong += 1;
                    sample.get_or_insert(cell);
                }
            }
            if let Some(sample) = sample.filter(|_| wrong * 2 > filled) {
                unborne.push(Unborne { place, what: meaning.what, sample });
            }
        }
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| unborne.iter().all(|unborne| unborne.what != meaning.what));
        }
        draft.unborne.append(&mut unborne);
    }
}

/// Settles the order number and gives the rows by it.
fn orders<'t>(grid: &Grid<'t>, draft: &mut Draft) -> Orders<'t> {
    let what = What::Field(SalesField::Order);
    let found = pick(grid, what, |column, meaning| {
        let cells = grid.cells(column).count();
        let digits = grid.cells(column).filter(|cell| cell.chars().any(char::is_numeric)).count();
        (meaning.plain || digits * 2 > cells) && is_of_one_recipient_each(grid, column)
    });
    draft.settle(grid, SalesField::Order, found);
    let order = draft.column(grid, SalesField::Order);
    let mut orders = Orders::new();
    let mut unnumbered = None;
    for row in &grid.rows {
        let number = match order {
            Some(order) => Grid::cell(row, order),
            // Without it every row stands for itself.
            None => Some(row.line.to_string()),
        };
        match number {
            Some(number) => orders.entry(number).or_default().push(*row),
            None => {
                unnumbered.get_or_insert(row.line);
            }
        }
    }
    if let (Some(line), Some(order)) = (unnumbered, order) {
        draft.problems.push(format!(
            "`{}` is empty on line {line}, so that it can't be told whose that row is; fill it in on every row",
            order.header
        ));
    }
    orders
}

/// Whether rows that share a number mostly share who gets them.
fn is_of_one_recipient_each(grid: &Grid<'_>, order: &Column) -> bool {
    let who = [SalesField::PostalCode, SalesField::Address1, SalesField::Email];
    let who: Vec<&Column> =
        who.into_iter().flat_map(|field| grid.of_meaning(What::Field(field))).map(|(c, _)| c).collect();
    let mut rows: BTreeMap<String, Vec<&Row>> = BTreeMap::new();
    for row in &grid.rows {
        if let Some(number) = Grid::cell(row, order) {
            rows.entry(number).or_default().push(row);
        }
    }
    let several: Vec<&Vec<&Row>> = rows.values().filter(|rows| rows.len() > 1).collect();
    let differ = several.iter().filter(|rows| {
        who.iter().any(|column| {
            let mut cells = rows.iter().filter_map(|row| Grid::cell(row, column)).map(|cell| cell.to_lowercase());
            let first = cells.next();
            cells.any(|cell| Some(cell) != first)
        })
    });
    differ.count() * 2 <= several.len()
}

/// A name for the source; that of a column that may be the order number where none is.
fn source(grid: &Grid<'_>, draft: &Draft) -> String {
    let doubtful = || draft.doubtful.get(&SalesField::Order).and_then(|places| grid.columns.get(*places.first()?));
    let column = draft.column(grid, SalesField::Order).or_else(doubtful);
    column.map(|column| fold::slug(&column.header)).filter(|name| !name.is_empty()).unwrap_or_else(|| "shop".to_owned())
}

/// The decimal sign, told from all columns that may hold amounts; those in another currency than they can be read
/// in are left out.
fn decide_style(grid: &mut Grid<'_>, draft: &mut Draft, rules: &ReadRules<'_>) {
    let currency = pick(grid, What::Field(SalesField::Currency), |_, _| true);
    draft.settle(grid, SalesField::Currency, currency);
    let named = draft.chosen.get(&SalesField::Currency).copied();
    let is_amount = |meaning: &Meaning| AMOUNTS.iter().any(|field| meaning.what == What::Field(*field));
    for place in 0..grid.columns.len() {
        let Some(column) = grid.columns.get(place) else { continue };
        let other = column.folded.currency.filter(|code| *code != rules.currency && named.is_none());
        let says = |cell: String| numbers::currency_in(&cell).is_some();
        let Some(other) = other.filter(|_| column.meanings.iter().any(is_amount) && !grid.cells(column).all(says))
        else {
            continue;
        };
        draft.asides.push(format!(
            "{} is in {other} and not read, since nothing in the rows says so and the home counts in {}",
            grid.name(column),
            rules.currency
        ));
        draft.heeded.push(place);
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| !is_amount(meaning));
        }
    }
    let columns: Vec<&Column> = grid.columns.iter().filter(|column| column.meanings.iter().any(is_amount)).collect();
    let written = grid.rows.iter().flat_map(|row| columns.iter().map(move |column| (row, *column)));
    let cells = written.filter(|(row, column)| !row.numbers.contains(&column.place)).filter_map(|(row, column)| {
        let cell = Grid::cell(row, column)?;
        let currency = sums::currency_of(grid, row, &cell, named, rules.currency);
        Some((cell, currency))
    });
    match style::decimal(cells) {
        Decimal::Is(sign) => draft.decimal = Some(sign),
        Decimal::Unsaid(cell) => draft
            .problems
            .push(format!("`{cell}` could be thousands or a fraction; say in the map which sign is `decimal`")),
        Decimal::Both(point, comma) => draft
            .problems
            .push(format!("amounts are written in two ways, `{point}` and `{comma}`; export the file again, unopened")),
    }
}

/// What was sold, how many of it, and for how much.
fn items(grid: &mut Grid<'_>, draft: &mut Draft, orders: &Orders<'_>, rules: &ReadRules<'_>) {
    let decimal = draft.decimal.unwrap_or('.');
    let currency = draft.chosen.get(&SalesField::Currency).copied();
    let found = quantity(grid, &Sums { grid, rules, decimal, currency });
    draft.settle(grid, SalesField::Quantity, found);
    for field in [SalesField::Code, SalesField::Title, SalesField::Options] {
        let found = pick(grid, What::Field(field), |_, _| true);
        draft.settle(grid, field, found);
    }
    let line = pick(grid, What::Field(SalesField::Line), |column, _| is_key_of_lines(orders, column));
    draft.settle(grid, SalesField::Line, line);
    sums::decide(grid, draft, orders, decimal, rules);
    for field in AMOUNTS {
        let found = pick(grid, What::Field(field), |_, _| true);
        draft.settle(grid, field, found);
    }
}

/// Of two columns that may say how many, the one by which price and total agree.
fn quantity(grid: &Grid<'_>, sums: &Sums<'_, '_>) -> Pick {
    let what = What::Field(SalesField::Quantity);
    let found = pick(grid, what, |_, _| true);
    let Pick::Many(places) = &found else { return found };
    let amount = |field| pick(grid, What::Field(field), |_, meaning| meaning.plain);
    let (Pick::One(price), Pick::One(total)) = (amount(SalesField::UnitPrice), amount(SalesField::LineTotal)) else {
        return found;
    };
    let (Some(price), Some(total)) = (grid.columns.get(price), grid.columns.get(total)) else { return found };
    let agree = places
        .iter()
        .filter(|place| grid.columns.get(**place).is_some_and(|column| sums.products(column, price, total).fails == 0));
    match agree.collect::<Vec<_>>().as_slice() {
        [one] => Pick::One(**one),
        _ => found,
    }
}

/// Whether no two rows of one order have the same key.
fn is_key_of_lines(orders: &Orders<'_>, column: &Column) -> bool {
    orders.values().all(|rows| {
        let keys: Vec<String> = rows.iter().filter_map(|row| Grid::cell(row, column)).collect();
        let different: BTreeSet<&String> = keys.iter().collect();
        keys.len() == different.len()
    })
}

/// Fields that stand for themselves.
fn rest(grid: &Grid<'_>, draft: &mut Draft) {
    for field in [
        SalesField::PlacedAt,
        SalesField::PaidAt,
        SalesField::ShipBy,
        SalesField::Note,
        SalesField::Gift,
        SalesField::GiftMessage,
    ] {
        let found = pick(grid, What::Field(field), |_, _| true);
        draft.settle(grid, field, found);
    }
}

/// The order of day and month, told from all columns of days together, else by the seller's answer.
fn days(grid: &Grid<'_>, draft: &mut Draft, rules: &ReadRules<'_>, source: &str) {
    let fields = [SalesField::PlacedAt, SalesField::PaidAt, SalesField::ShipBy];
    let columns: Vec<&Column> = fields.into_iter().filter_map(|field| draft.column(grid, field)).collect();
    draft.has_days = !columns.is_empty();
    let cells = grid.rows.iter().flat_map(|row| columns.iter().filter_map(move |column| Grid::cell(row, column)));
    match style::days(cells, rules) {
        Days::Is(order) => draft.dates = Some(order),
        Days::Both(one, other) => draft
            .problems
            .push(format!("days are written in two ways, `{one}` and `{other}`; export the file again, unopened")),
        Days::Unsaid { cell, day_first, month_first } => {
            let answered = rules.dates.get(source).filter(|order| matches!(order, DateOrder::Dmy | DateOrder::Mdy));
            if let Some(order) = answered {
                draft.dates = Some(*order);
                return;
            }
            let holds = |column: &&&Column| grid.cells(column).any(|other| other == cell);
            let column = columns.iter().find(holds).map(|column| column.header.clone()).unwrap_or_default();
            draft.problems.push(format!(
                "`{cell}` in `{column}` is {day_first} or {month_first}; say in the map, or in answer to the question, which of day and month comes first"
            ));
            let asked = DateAsked { source: source.to_owned(), column, value: cell };
            draft.dates_asked = Some((asked, [day_first.to_string(), month_first.to_string()]));
        }
    }
}

#[cfg(test)]
mod doubts;
#[cfg(test)]
mod headers;
#[cfg(test)]
mod tests;
