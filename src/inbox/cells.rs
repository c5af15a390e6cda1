//! The cells of a sales export by our fields, through its column map.
//!
//! Handed rows as they were decoded; promises each cell unwrapped, `None` for an empty one, and a [`Fault`] that
//! names the field and what stood there. Turned down: rows turned into maps from header to value, which would lose
//! the line and the cells that no field reads, both needed to give a refused row back whole.

use std::collections::BTreeMap;

use crate::model::day::{Refused, Remark};
use crate::model::drop::{ColumnMap, RefusedRow, SalesField};

use super::columns::Header;
use super::decode::Row;
use super::habits::{self, Habits};
use super::{ReadRules, dates, mojibake, numbers, values};

/// What is wrong with a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Fault {
    pub(super) field: Option<SalesField>,
    pub(super) value: Option<String>,
    pub(super) reason: String,
}

pub(super) struct Cells<'a> {
    pub(super) file: &'a str,
    pub(super) map: &'a ColumnMap,
    pub(super) rules: &'a ReadRules<'a>,
    header: &'a Header,
    columns: BTreeMap<SalesField, usize>,
    /// What the table does throughout; nothing in particular until it is looked at.
    pub(super) habits: Habits,
    /// The map was made of the table itself, and may be made otherwise of a part of it.
    matched: bool,
}

/// Stands for a cell that a row lacked, in rows that are given back.
const MISSING: &str = "?missing?";

/// A cell that only the others of its column show to be wrong, in rows that are given back without those.
fn doubted(cell: &str) -> String {
    format!("?{cell}?")
}

fn is_doubted(cell: &str) -> bool {
    cell.strip_prefix('?').and_then(|rest| rest.strip_suffix('?')).is_some_and(|inner| !inner.is_empty())
}

const DOUBTED: &str = "was refused, and stands between question marks; write what is meant";

const IS_DAY: &str =
    "is a number that a spreadsheet has turned into a day; write the number, or export the file again, unopened";

/// Columns that may be missing at the end of a row: some spreadsheets leave out delimiters after the last cell that
/// holds anything (common practice, no source), and a row without one of these is still whole. Any other column that
/// is missing may as well mean that a delimiter got lost in the middle and that cells moved.
const MAY_BE_MISSING: [SalesField; 7] = [
    SalesField::Note,
    SalesField::Gift,
    SalesField::GiftMessage,
    SalesField::Company,
    SalesField::Email,
    SalesField::Discount,
    SalesField::Tax,
];

impl<'a> Cells<'a> {
    pub(super) fn new(file: &'a str, map: &'a ColumnMap, header: &'a Header, rules: &'a ReadRules<'a>) -> Self {
        let columns = map.sales.iter().filter_map(|(field, name)| Some((*field, header.column(name)?))).collect();
        let matched = !rules.maps.contains(map);
        Self { file, map, rules, header, columns, habits: Habits::default(), matched }
    }

    pub(super) fn has(&self, field: SalesField) -> bool {
        self.columns.contains_key(&field)
    }

    /// The header of a field's column.
    pub(super) fn column(&self, field: SalesField) -> Option<String> {
        self.map.sales.get(&field).cloned()
    }

    /// What the columns of that place are read as.
    pub(super) fn fields_at(&self, place: usize) -> impl Iterator<Item = SalesField> {
        self.columns.iter().filter(move |(_, at)| **at == place).map(|(field, _)| *field)
    }

    /// The cell as it lies.
    pub(super) fn raw<'r>(&self, row: &'r Row, field: SalesField) -> Option<&'r str> {
        row.cells.get(*self.columns.get(&field)?).map(String::as_str)
    }

    pub(super) fn get(&self, row: &Row, field: SalesField) -> Option<String> {
        let cell = values::unwrapped(self.raw(row, field)?);
        Some(self.habits.key(field, cell)).filter(|text| !text.is_empty())
    }

    /// The order number, without which a row belongs to nothing.
    pub(super) fn number(&self, row: &Row) -> Result<String, Fault> {
        let fault = |value, reason: &str| Fault { field: Some(SalesField::Order), value, reason: reason.to_owned() };
        let number = self
            .get(row, SalesField::Order)
            .ok_or_else(|| fault(None, "has no order number; without one it can't be told from another order"))?;
        if self.habits.is_spoilt(SalesField::Order, &number) {
            let reason = "is an order number that a spreadsheet has shortened; export the file again, unopened";
            return Err(fault(Some(number), reason));
        }
        if self.habits.is_day(SalesField::Order, &number) {
            return Err(fault(Some(number), IS_DAY));
        }
        if is_doubted(&number) {
            return Err(fault(Some(number), DOUBTED));
        }
        Ok(number)
    }

    /// What is wrong with a row whatever its cells should mean.
    pub(super) fn check(&self, row: &Row) -> Result<(), Fault> {
        let (count, width) = (row.cells.len(), self.header.width());
        let ragged = |sign: &str| Fault {
            field: None,
            value: None,
            reason: format!("has {count} cells where the header has {width}; is there a delimiter too {sign}?"),
        };
        if self.header.is_overrun_by(row) {
            return Err(ragged("many"));
        }
        if self.columns.iter().any(|(field, place)| *place >= count && !MAY_BE_MISSING.contains(field)) {
            return Err(ragged("few"));
        }
        for field in self.columns.keys() {
            let Some(value) = self.get(row, *field) else { continue };
            let reason = if values::is_error(&value) {
                "is a formula that failed; write what is meant"
            } else if mojibake::is_garbled(&value) {
                "holds letters that a program has garbled; write them as they should be, or export again as UTF-8"
            } else if value.contains(char::REPLACEMENT_CHARACTER) {
                "holds a sign for a letter that is lost; write the letter, or export again as UTF-8"
            } else if value == MISSING {
                "was missing when the file was read; write what belongs there"
            } else if matches!(field, SalesField::Line | SalesField::Code) && self.habits.is_day(*field, &value) {
                IS_DAY
            } else if matches!(field, SalesField::Line | SalesField::Code) && is_doubted(&value) {
                DOUBTED
            } else if matches!(field, SalesField::Line | SalesField::Code) && self.habits.is_spoilt(*field, &value) {
                "is a code that a spreadsheet has shortened; export the file again, unopened"
            } else {
                continue;
            };
            return Err(Fault { field: Some(*field), value: Some(value), reason: reason.to_owned() });
        }
        Ok(())
    }

    /// A remark on a cell of a row.
    pub(super) fn remark(&self, row: &Row, field: SalesField, text: String) -> Remark {
        Remark { file: self.file.to_owned(), line: Some(row.line), column: self.column(field), text }
    }

    pub(super) fn refuse(&self, row: &Row, fault: Fault) -> RefusedRow {
        let column = fault.field.and_then(|field| self.column(field));
        let file = self.file.to_owned();
        let why = Refused { file, line: Some(row.line), column, value: fault.value, reason: fault.reason };
        RefusedRow { why, cells: self.header.without_reason(self.given_back(row)) }
    }

    /// A row's cells so that, read again without the others of its table, they say what they said among them.
    fn given_back(&self, row: &Row) -> Vec<String> {
        let mut cells = row.cells.clone();
        let needed = |(field, place): (&SalesField, &usize)| (!MAY_BE_MISSING.contains(field)).then_some(*place);
        for place in self.columns.iter().filter_map(needed).filter(|place| *place >= row.cells.len()) {
            cells.resize(cells.len().max(place + 1), String::new());
            if let Some(cell) = cells.get_mut(place) {
                MISSING.clone_into(cell);
            }
        }
        for (field, place) in &self.columns {
            let written = self.get(row, *field).and_then(|cell| self.written_alone(*field, &cell));
            if let (Some(written), Some(cell)) = (written, cells.get_mut(*place)) {
                *cell = written;
            }
        }
        cells
    }

    /// How a cell must be written without the others of its column, where it can't stay as it is.
    fn written_alone(&self, field: SalesField, cell: &str) -> Option<String> {
        if habits::KEYS.contains(&field) {
            let shown = self.habits.is_day(field, cell) || self.habits.is_spoilt(field, cell);
            return Some(doubted(cell)).filter(|_| shown && !values::is_spoilt(cell));
        }
        if habits::DAYS.contains(&field) {
            let zone = self.rules.time_zone;
            if let Ok(day) = self.habits.day(self, field).date(cell, zone) {
                return Some(day.to_string()).filter(|_| self.matched);
            }
            let alone = dates::Style::of([cell], self.map.dates).date(cell, zone);
            return Some(doubted(cell)).filter(|_| alone.is_ok());
        }
        numbers::told_apart(cell, self.map.decimal).filter(|_| self.matched && habits::AMOUNTS.contains(&field))
    }
}

#[cfg(test)]
mod tests {
    use crate::inbox::test_home::{orders, read, refused};

    #[test]
    fn a_row_with_cells_too_many_or_too_few_is_refused_unless_they_are_empty_or_do_not_matter() {
        let reading = read(
            "Ref,Name,Pin,Qty,Street,Said\n1,Ines,GULL,1,1 Quay,hi,\n2,Ines,GULL,1,1 Quay\n3,Ines,GULL,1,1 Quay,hi,x\n\
             4,Ines,GULL,1\n",
        );
        assert_eq!(orders(&reading).iter().map(|order| order.id.number.as_str()).collect::<Vec<_>>(), ["1", "2"]);
        assert_eq!(
            refused(&reading),
            [
                (4, "has 7 cells where the header has 6; is there a delimiter too many?"),
                (5, "has 4 cells where the header has 6; is there a delimiter too few?"),
            ]
        );
    }

    #[test]
    fn failed_formulas_and_garbled_names_are_refused() {
        let reading = read("Ref,Name,Pin,Qty\n1,#N/A,GULL,1\n2,Zoë and ZoÃ«,GULL,1\n3,Zoë,GULL,1\n");
        let values: Vec<_> = reading.refused.iter().map(|row| row.why.value.as_deref()).collect();
        assert_eq!(values, [Some("#N/A"), Some("Zoë and ZoÃ«")]);
        assert_eq!(orders(&reading).len(), 1);
    }

    #[test]
    fn a_letter_that_is_lost_is_refused_where_it_is_read() {
        let reading = read("Ref,Name,Pin,Qty,More\n1,Zo\u{FFFD},GULL,1,\n2,Zoë,GULL,1,\u{FFFD}\n");
        assert_eq!(
            refused(&reading),
            [(2, "holds a sign for a letter that is lost; write the letter, or export again as UTF-8")]
        );
        assert_eq!(reading.refused[0].why.column.as_deref(), Some("Name"));
        assert_eq!(orders(&reading).len(), 1);
    }

    #[test]
    fn an_order_number_that_is_missing_or_shortened_is_refused() {
        let reading = read("Ref,Name,Pin,Qty\n,Ines,GULL,1\n1.23E+11,Ines,GULL,1\n=\"00123\",Ines,GULL,1\n");
        assert_eq!(reading.refused.len(), 2);
        assert_eq!(reading.refused[1].why.column.as_deref(), Some("Ref"));
        assert_eq!(orders(&reading)[0].id.number, "00123");
    }
}
