//! Which column holds the price of one, of a line, of the order.
//!
//! Handed the columns that may be one of them; promises the reading by which quantity times price is the line and
//! the lines are the order, and where the cells tell nothing, what the word means first in the trade. A column that
//! the sums speak against is not read. Turned down: trusting headers, of which "Total" is both.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::inbox::decode::Row;
use crate::inbox::habits::AMOUNTS;
use crate::inbox::{ReadRules, numbers, values};
use crate::model::drop::SalesField;
use crate::model::money::Currency;

use super::draft::Draft;
use super::grid::{Column, Grid};
use super::words::What;

/// Rows by order.
pub(super) type Orders<'t> = BTreeMap<String, Vec<&'t Row>>;

/// Reads amounts in the style of the table.
pub(super) struct Sums<'g, 't> {
    pub(super) grid: &'g Grid<'t>,
    pub(super) rules: &'g ReadRules<'g>,
    pub(super) decimal: char,
    pub(super) currency: Option<usize>,
}

/// What the rows say of a product or sum.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Tally {
    pub(super) holds: usize,
    pub(super) fails: usize,
    /// A row where it fails.
    pub(super) line: Option<u64>,
}

impl Tally {
    fn count(&mut self, holds: bool, row: &Row) {
        if holds {
            self.holds += 1;
        } else {
            self.fails += 1;
            self.line.get_or_insert(row.line);
        }
    }

    /// In most rows, and in one at least.
    pub(super) const fn is_borne_out(&self) -> bool {
        self.holds > self.fails
    }
}

/// What amounts of a row are in: its sign or code, its column of currencies, the home.
pub(super) fn currency_of(grid: &Grid<'_>, row: &Row, cell: &str, column: Option<usize>, home: Currency) -> Currency {
    let written = || Grid::cell(row, grid.columns.get(column?)?)?.parse().ok();
    numbers::currency_in(cell).or_else(written).unwrap_or(home)
}

impl<'t> Sums<'_, 't> {
    pub(super) fn amount(&self, row: &Row, column: &Column) -> Option<Decimal> {
        let cell = Grid::cell(row, column)?;
        // A spreadsheet's own number has a point.
        let decimal = if row.numbers.contains(&column.place) { '.' } else { self.decimal };
        let currency = currency_of(self.grid, row, &cell, self.currency, self.rules.currency);
        numbers::money(&cell, decimal, currency).ok().map(|money| money.amount)
    }

    fn quantity(row: &Row, column: &Column) -> Option<Decimal> {
        values::quantity(&Grid::cell(row, column)?).ok().map(Decimal::from)
    }

    /// Less than the smallest coin apart.
    pub(super) fn is_near(&self, one: Decimal, other: Decimal) -> bool {
        let coin = Decimal::new(1, self.rules.currency.minor_digits().min(4));
        (one - other).abs() < coin
    }

    /// In which rows quantity times price is the sum.
    pub(super) fn products(&self, quantity: &Column, price: &Column, sum: &Column) -> Tally {
        let mut tally = Tally::default();
        for row in &self.grid.rows {
            let all = (Self::quantity(row, quantity), self.amount(row, price), self.amount(row, sum));
            if let (Some(quantity), Some(price), Some(sum)) = all {
                tally.count(self.is_near(quantity * price, sum), row);
            }
        }
        tally
    }

    /// In which rows two amounts are the same.
    pub(super) fn equal(&self, one: &Column, other: &Column) -> Tally {
        let mut tally = Tally::default();
        for row in &self.grid.rows {
            if let (Some(one), Some(other)) = (self.amount(row, one), self.amount(row, other)) {
                tally.count(self.is_near(one, other), row);
            }
        }
        tally
    }

    /// Of the orders with several rows, in how many the amount is the same on all that have one.
    pub(super) fn once_an_order(&self, orders: &Orders<'t>, sum: &Column) -> Tally {
        let mut tally = Tally::default();
        for rows in orders.values().filter(|rows| rows.len() > 1) {
            let amounts: Vec<Decimal> = rows.iter().filter_map(|row| self.amount(row, sum)).collect();
            if let ([first, rest @ ..], [row, ..]) = (amounts.as_slice(), rows.as_slice()) {
                tally.count(rest.iter().all(|amount| amount == first), row);
            }
        }
        tally
    }

    /// In which orders the goods, with or without the tax, and postage and discount make the order's total. With
    /// `quantity`, prices are those of the piece.
    pub(super) fn totals(
        &self,
        orders: &Orders<'t>,
        quantity: Option<&Column>,
        price: &Column,
        extras: [Option<&Column>; 3],
        total: &Column,
        only: impl Fn(&[&Row]) -> bool,
    ) -> Tally {
        let mut tally = Tally::default();
        for rows in orders.values().filter(|rows| only(rows)) {
            let first = |column: &Column| rows.iter().find_map(|row| self.amount(row, column));
            let goods = rows.iter().map(|row| {
                let times = quantity.map_or(Some(Decimal::ONE), |column| Self::quantity(row, column));
                Some(times? * self.amount(row, price)?)
            });
            let (Some(goods), Some(total), [row, ..]) = (goods.sum::<Option<Decimal>>(), first(total), rows.as_slice())
            else {
                continue;
            };
            let [postage, tax, discount] = extras.map(|column| column.and_then(first).unwrap_or_default());
            let net = goods + postage - discount.abs();
            tally.count(self.is_near(net, total) || self.is_near(net + tax, total), row);
        }
        tally
    }

    /// Whether several pieces of something are in an order, so that the price of one isn't that of the line.
    pub(super) fn has_several(rows: &[&Row], quantity: &Column) -> bool {
        rows.iter().any(|row| Self::quantity(row, quantity).is_some_and(|count| count > Decimal::ONE))
    }
}

/// Leaves to each column of amounts the one meaning that its cells bear out.
pub(super) fn decide(grid: &mut Grid<'_>, draft: &Draft, orders: &Orders<'_>, decimal: char, rules: &ReadRules<'_>) {
    let currency = draft.chosen.get(&SalesField::Currency).copied();
    let decided: Vec<(usize, Vec<SalesField>)> = {
        let sums = Sums { grid, rules, decimal, currency };
        let open = grid.columns.iter().filter(|column| fields(column).len() > 1 || is_perhaps_a_line(column));
        open.map(|column| (column.place, meant(&sums, draft, orders, column).into_iter().collect())).collect()
    };
    for (place, meant) in decided {
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| match meaning.what {
                What::Field(field) if AMOUNTS.contains(&field) => meant.contains(&field),
                What::Field(_)
                | What::Tells(_)
                | What::FirstName
                | What::LastName
                | What::HouseNumber
                | What::Mass
                | What::Service
                | What::BoughtAt
                | What::AcceptedAt => true,
            });
        }
    }
}

fn fields(column: &Column) -> Vec<SalesField> {
    AMOUNTS.into_iter().filter(|field| column.means(What::Field(*field)).is_some()).collect()
}

/// A subtotal may be the line's or the order's, of which there is no field.
fn is_perhaps_a_line(column: &Column) -> bool {
    column.means(What::Field(SalesField::LineTotal)).is_some_and(|meaning| !meaning.plain)
}

/// What a column is that may be several amounts, or a line's total and nothing else.
fn meant(sums: &Sums<'_, '_>, draft: &Draft, orders: &Orders<'_>, column: &Column) -> Option<SalesField> {
    let grid = sums.grid;
    let may_be = fields(column);
    let others = |field| grid.of_meaning(What::Field(field)).filter(|(other, _)| other.place != column.place);
    let plain = |field| others(field).find(|(_, meaning)| meaning.plain).map(|(other, _)| other);
    let quantity = draft.column(grid, SalesField::Quantity);
    let several = |rows: &[&Row]| quantity.is_some_and(|quantity| Sums::has_several(rows, quantity));
    if may_be.contains(&SalesField::UnitPrice) {
        // `Price`: of one, unless the cells say that it is the line's.
        if let (Some(quantity), Some(unit)) = (quantity, plain(SalesField::UnitPrice)) {
            let line = sums.products(quantity, unit, column).is_borne_out();
            return line.then_some(SalesField::LineTotal).filter(|_| plain(SalesField::LineTotal).is_none());
        }
        if let (Some(quantity), Some(line)) = (quantity, plain(SalesField::LineTotal)) {
            let unit = sums.products(quantity, column, line).is_borne_out();
            return unit.then_some(SalesField::UnitPrice);
        }
        if let (Some(_), Some(total)) =
            (quantity, plain(SalesField::Total).or_else(|| others(SalesField::Total).next().map(|(c, _)| c)))
        {
            let extras = [SalesField::PostageCharged, SalesField::Tax, SalesField::Discount].map(plain);
            let by = |quantity| sums.totals(orders, quantity, column, extras, total, several);
            let (unit, line) = (by(quantity), by(None));
            if line.is_borne_out() && unit.holds == 0 {
                return Some(SalesField::LineTotal);
            }
        }
        return Some(SalesField::UnitPrice);
    }
    let unit = plain(SalesField::UnitPrice).or_else(|| others(SalesField::UnitPrice).next().map(|(other, _)| other));
    let is_line = match (quantity, unit) {
        (Some(quantity), Some(unit)) => sums.products(quantity, unit, column).is_borne_out(),
        _ => sums.once_an_order(orders, column).fails > 0 && plain(SalesField::Total).is_some(),
    };
    if is_line {
        return Some(SalesField::LineTotal).filter(|_| plain(SalesField::LineTotal).is_none());
    }
    let once = sums.once_an_order(orders, column);
    let is_total = may_be.contains(&SalesField::Total) && once.holds >= once.fails;
    is_total.then_some(SalesField::Total)
}
