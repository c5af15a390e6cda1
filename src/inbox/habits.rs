//! What a table does throughout, which no single cell shows.
//!
//! Handed all rows that hold orders; promises how its days are written, which of its keys became amounts or lost
//! digits, and what its price column holds. Turned down: deciding row by row, by which the same table would be read in
//! two ways.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::drop::SalesField;

use super::cells::Cells;
use super::decode::Row;
use super::{dates, numbers, values};

/// Days.
pub(super) const DAYS: [SalesField; 3] = [SalesField::PlacedAt, SalesField::PaidAt, SalesField::ShipBy];

/// What is compared as text, and never reckoned with.
pub(super) const KEYS: [SalesField; 3] = [SalesField::Order, SalesField::Line, SalesField::Code];

/// Amounts of money.
pub(super) const AMOUNTS: [SalesField; 6] = [
    SalesField::UnitPrice,
    SalesField::LineTotal,
    SalesField::PostageCharged,
    SalesField::Tax,
    SalesField::Discount,
    SalesField::Total,
];

/// The habits of one table.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Habits {
    days: BTreeMap<SalesField, dates::Style>,
    /// Keys that were written as amounts: `1001.0` for `1001`.
    fractions: BTreeSet<SalesField>,
    /// Keys of which the long ones were rounded.
    rounded: BTreeSet<SalesField>,
    /// Keys that a spreadsheet takes for days: some still stand as they were.
    dated: BTreeSet<SalesField>,
    /// The price column holds the price of the whole line.
    pub(super) price_is_of_line: bool,
}

impl Habits {
    /// Of the rows that hold orders.
    pub(super) fn of(cells: &Cells<'_>, rows: &[&Row]) -> Self {
        let column = |field| rows.iter().filter_map(move |row| cells.get(row, field));
        let days = DAYS.map(|field| (field, dates::Style::of(column(field), cells.map.dates)));
        let keys =
            |is: &dyn Fn(Vec<String>) -> bool| KEYS.into_iter().filter(|field| is(column(*field).collect())).collect();
        Self {
            days: days.into(),
            fractions: keys(&|all| are_amounts(&all)),
            rounded: keys(&|all| values::are_rounded(all.iter().map(String::as_str))),
            dated: keys(&|all| all.iter().any(|cell| dates::may_become_a_day(cell))),
            price_is_of_line: price_is_of_line(cells, rows),
        }
    }

    /// How the days of a column are written.
    pub(super) fn day(&self, cells: &Cells<'_>, field: SalesField) -> dates::Style {
        self.days.get(&field).copied().unwrap_or_else(|| dates::Style::of([""; 0], cells.map.dates))
    }

    /// The cell as it was before a program took it for an amount.
    pub(super) fn key(&self, field: SalesField, cell: String) -> String {
        match values::without_fraction(&cell).filter(|_| self.fractions.contains(&field)) {
            Some(whole) => whole.to_owned(),
            None => cell,
        }
    }

    /// Whether the cell is a key that a spreadsheet took for a day: `Nov 02` among `11-01` and `11-03`. In a column
    /// where all are days, they may be what the source writes.
    pub(super) fn is_day(&self, field: SalesField, cell: &str) -> bool {
        self.dated.contains(&field) && dates::is_made_of_numbers(cell)
    }

    /// Whether the cell is a key that lost digits.
    pub(super) fn is_spoilt(&self, field: SalesField, cell: &str) -> bool {
        values::is_spoilt(cell) || (self.rounded.contains(&field) && values::is_long_number(cell))
    }
}

/// Some have a fraction of nothing, and none another: version 1.0 stands beside version 1.1.
fn are_amounts(all: &[String]) -> bool {
    let is_amount = |cell: &&String| {
        cell.contains(['.', ',']) && cell.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b','))
    };
    let mut amounts = all.iter().filter(is_amount).map(|cell| values::without_fraction(cell)).peekable();
    amounts.peek().is_some() && amounts.all(|whole| whole.is_some())
}

/// Where more than one was bought, the price is that of the line in every row.
fn price_is_of_line(cells: &Cells<'_>, rows: &[&Row]) -> bool {
    let amount = |row, field| numbers::amount(&cells.get(row, field)?, cells.map.decimal).filter(|sum| !sum.is_zero());
    let several = |row: &&&Row| {
        let count = cells.get(row, SalesField::Quantity).and_then(|cell| values::quantity(&cell).ok());
        count.is_some_and(|count| count > 1)
    };
    let prices = rows.iter().filter(several);
    let mut prices =
        prices.filter_map(|row| amount(row, SalesField::UnitPrice).zip(amount(row, SalesField::LineTotal))).peekable();
    prices.peek().is_some() && prices.all(|(one, line)| one == line)
}

#[cfg(test)]
mod tests {
    use crate::inbox::test_home::{orders, read, refused};
    use crate::model::drop::Reading;
    use crate::model::money::Money;

    fn numbers(reading: &Reading) -> Vec<&str> {
        orders(reading).iter().map(|order| order.id.number.as_str()).collect()
    }

    fn prices(reading: &Reading) -> Vec<String> {
        let lines = orders(reading).iter().flat_map(|order| &order.lines);
        lines.map(|line| line.unit_price.map(Money::plain).unwrap_or_default()).collect()
    }

    #[test]
    fn numbers_that_became_amounts_are_the_same_keys() {
        let reading = read("Ref,Name,Pin,Qty\n1001.0,A,7.0,1\n1001,A,8.0,1\n1002.00,B,A1.0,1\n");
        assert_eq!(numbers(&reading), ["1001", "1002"]);
        assert_eq!(orders(&reading)[0].lines[0].code.as_deref(), Some("7"));
        assert_eq!(orders(&reading)[1].lines[0].code.as_deref(), Some("A1.0"));
        let versions = read("Ref,Name,Pin,Qty\n1.0,A,X,1\n1.1,B,X,1\n");
        assert_eq!(numbers(&versions), ["1.0", "1.1"]);
    }

    #[test]
    fn rounded_numbers_are_refused_and_whole_ones_are_not() {
        let reading = read(
            "Ref,Name,Pin,Qty\n1234567890123450000,A,X,1\n1234567890123460000,B,X,1\n1001,C,X,1\n1.23E+11,D,X,1\n",
        );
        assert_eq!(numbers(&reading), ["1001"]);
        assert_eq!(refused(&reading).iter().map(|(line, _)| *line).collect::<Vec<_>>(), [2, 3, 5]);
        let whole = read("Ref,Name,Pin,Qty\n1234567890123450000,A,X,1\n1234567890123456789,B,X,1\n");
        assert_eq!(numbers(&whole).len(), 2);
    }

    #[test]
    fn keys_that_became_days_are_refused_where_others_show_what_they_were() {
        let reading = read("Ref,Name,Pin,Qty\n11-01,A,1-2,1\nNov 02,B,X,1\n2026-11-03,C,X,1\n13-04,D,2026-01-03,1\n");
        assert_eq!(numbers(&reading), ["11-01"]);
        let is_day = "is a number that a spreadsheet has turned into a day; write the number, or export the file again, unopened";
        assert_eq!(refused(&reading), [(3, is_day), (4, is_day), (5, is_day)]);
        assert_eq!(reading.refused[0].why.value.as_deref(), Some("Nov 02"));
        let all = read("Ref,Name,Pin,Qty\nNov 01,A,X,1\nNov 02,B,X,1\n2026-11-03,C,X,1\n1104,D,X,1\n");
        assert_eq!(all.refused, []);
    }

    #[test]
    fn a_spreadsheets_numbers_for_days_are_read_where_the_column_holds_no_others() {
        let all = read("Ref,Name,Pin,Qty,Taken on\n1,A,X,1,46351\n2,B,X,1,\n3,C,X,1,46352.5\nTotal,,,3,\n");
        let days: Vec<_> = orders(&all).iter().filter_map(|order| order.placed_at).map(|day| day.to_string()).collect();
        assert_eq!(days, ["2026-11-25", "2026-11-26"]);
        let mixed = read("Ref,Name,Pin,Qty,Taken on\n1,A,X,1,46351\n2,B,X,1,11/25/2026\n");
        assert_eq!(numbers(&mixed), ["2"]);
        assert!(refused(&mixed)[0].1.starts_with("is a spreadsheet's number for a day"), "{mixed:?}");
    }

    #[test]
    fn a_price_that_is_always_the_lines_is_the_lines() {
        let reading = read("Ref,Name,Pin,Qty,Each,Sum\n1,A,X,2,9.00,9.00\n2,B,X,1,4.50,4.50\n3,C,X,3,13.50,13.50\n");
        assert_eq!(prices(&reading), ["4.50", "4.50", "4.50"]);
        let remark = &reading.remarks[0];
        assert_eq!((remark.line, remark.column.as_deref()), (None, Some("Each")));
        assert!(remark.text.contains("price of the whole line"), "{remark:?}");
        // One row that says otherwise, and it is the price of one.
        let other = read("Ref,Name,Pin,Qty,Each,Sum\n1,A,X,2,9.00,9.00\n2,B,X,2,4.50,9.00\n");
        assert_eq!(prices(&other), ["9.00", "4.50"]);
    }
}
