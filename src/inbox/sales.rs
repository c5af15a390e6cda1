//! A sales export, read by its column map, to orders.
//!
//! Rows of one order may stand anywhere in the file. Where one of them can't be read, all of that order are
//! refused: half an order is never sent. They come back together in `NAME.refused.csv`.

use std::collections::BTreeMap;
use std::str::FromStr;

use jiff::civil::Date;

use crate::model::address::Country;
use crate::model::day::Refused;
use crate::model::drop::{ColumnMap, Content, Reading, RefusedRow, Rows, SalesField};
use crate::model::money::{Currency, Money};
use crate::model::order::{Order, OrderId, OrderLine, OrderState};
use crate::model::recipient::Recipient;
use crate::model::text::one_line;

use super::ReadRules;
use super::columns::Header;
use super::decode::{Row, Table};
use super::values;

/// What is wrong with a cell.
struct Fault {
    field: Option<SalesField>,
    value: Option<String>,
    reason: String,
}

pub(super) fn read(file: &str, table: &Table, map: &ColumnMap, header: Header, rules: &ReadRules<'_>) -> Reading {
    let columns: BTreeMap<SalesField, usize> =
        map.sales.iter().filter_map(|(field, name)| Some((*field, header.column(name)?))).collect();
    let sheet = Sheet { file, map, columns, rules, width: header.names.len() };
    let mut rows = Rows::default();
    let mut refused = Vec::new();
    let mut orders: BTreeMap<String, Vec<(&Row, Order)>> = BTreeMap::new();
    let mut spoilt: BTreeMap<String, (u64, Vec<&Row>)> = BTreeMap::new();
    for (index, row) in table.rows.iter().enumerate() {
        if index == header.index {
            continue;
        }
        rows.read += 1;
        let repeated = row.cells.len() == header.names.len()
            && row.cells.iter().zip(&header.names).all(|(cell, name)| one_line(cell) == *name);
        if index < header.index || row.is_blank() || repeated {
            rows.skipped += 1;
            continue;
        }
        match sheet.order(row) {
            Ok(order) => orders.entry(order.id.number.clone()).or_default().push((row, order)),
            Err(fault) => {
                if let Ok(number) = sheet.number(row) {
                    spoilt.entry(number).or_insert((row.line, Vec::new())).1.push(row);
                }
                refused.push(sheet.refuse(row, fault));
            }
        }
    }
    let mut whole = Vec::new();
    for (number, parts) in orders {
        let bad_line = spoilt.get(&number).map(|(line, _)| *line);
        let joined = match bad_line {
            Some(line) => {
                Err(format!("belongs to an order of which line {line} can't be read; mend that and drop both"))
            }
            None => join(&parts),
        };
        match joined {
            Ok(order) => {
                rows.taken += parts.len() as u64;
                whole.push(order);
            }
            Err(reason) => {
                for (row, _) in parts {
                    let fault =
                        Fault { field: Some(SalesField::Order), value: Some(number.clone()), reason: reason.clone() };
                    refused.push(sheet.refuse(row, fault));
                }
            }
        }
    }
    refused.sort_by_key(|row| row.why.line);
    rows.refused = refused.len() as u64;
    Reading {
        content: Content::Sales(whole),
        source: Some(map.name.clone()),
        encoding: table.encoding.clone(),
        delimiter: table.delimiter,
        header_line: Some(header.line),
        rows,
        refused,
        headers: header.names,
    }
}

/// One order of its rows: what the first row that says it says; rows that name different recipients are two
/// orders under one number, and neither is guessed at.
fn join(parts: &[(&Row, Order)]) -> Result<Order, String> {
    let Some(((_, first), rest)) = parts.split_first() else { return Err("is empty".to_owned()) };
    let mut order = first.clone();
    for (row, part) in rest {
        let blank = part.recipient.name.is_empty() && part.recipient.lines.is_empty();
        if order.recipient.name.is_empty() && order.recipient.lines.is_empty() {
            order.recipient = part.recipient.clone();
        } else if !blank && part.recipient != order.recipient {
            return Err(format!(
                "has one recipient here and another on line {}; give them two order numbers, or the same address",
                row.line
            ));
        }
        order.state = order.state.max(part.state);
        order.placed_at = order.placed_at.or(part.placed_at);
        order.paid_at = order.paid_at.or(part.paid_at);
        order.buyer = order.buyer.or_else(|| part.buyer.clone());
        order.postage_charged = order.postage_charged.or(part.postage_charged);
        order.tax = order.tax.or(part.tax);
        order.discount = order.discount.or(part.discount);
        order.total = order.total.or(part.total);
        order.gift |= part.gift;
        order.gift_message = order.gift_message.or_else(|| part.gift_message.clone());
        order.note = order.note.or_else(|| part.note.clone());
        order.ship_by = order.ship_by.or(part.ship_by);
        order.lines.extend(part.lines.iter().cloned());
    }
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    for line in &mut order.lines {
        let times = seen.entry(line.line.clone()).or_default();
        *times += 1;
        if *times > 1 {
            line.line = format!("{}#{times}", line.line);
        }
    }
    Ok(order)
}

struct Sheet<'a> {
    file: &'a str,
    map: &'a ColumnMap,
    columns: BTreeMap<SalesField, usize>,
    rules: &'a ReadRules<'a>,
    width: usize,
}

impl Sheet<'_> {
    fn cell(&self, row: &Row, field: SalesField) -> Option<String> {
        let cell = row.cells.get(*self.columns.get(&field)?)?;
        Some(values::unwrapped(cell)).filter(|text| !text.is_empty())
    }

    fn refuse(&self, row: &Row, fault: Fault) -> RefusedRow {
        let column = fault.field.and_then(|field| self.map.sales.get(&field)).cloned();
        let file = self.file.to_owned();
        let why = Refused { file, line: Some(row.line), column, value: fault.value, reason: fault.reason };
        RefusedRow { why, cells: row.cells.clone() }
    }

    /// Reads a cell, if there is anything in it.
    fn read<T>(
        &self,
        row: &Row,
        field: SalesField,
        reader: impl FnOnce(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Fault> {
        let Some(text) = self.cell(row, field) else { return Ok(None) };
        reader(&text).map(Some).map_err(|reason| Fault { field: Some(field), value: Some(text), reason })
    }

    fn number(&self, row: &Row) -> Result<String, Fault> {
        let fault = |value, reason: &str| Fault { field: Some(SalesField::Order), value, reason: reason.to_owned() };
        let number = self
            .cell(row, SalesField::Order)
            .ok_or_else(|| fault(None, "has no order number; without one it can't be told from another order"))?;
        if values::is_spoilt(&number) {
            let reason = "is an order number that a spreadsheet has shortened; export the file again, unopened";
            return Err(fault(Some(number), reason));
        }
        Ok(number)
    }

    fn order(&self, row: &Row) -> Result<Order, Fault> {
        let extra = row.cells.iter().skip(self.width).any(|cell| !cell.trim().is_empty());
        if extra {
            let reason = format!(
                "has {} cells where the header has {}; is there a delimiter too many?",
                row.cells.len(),
                self.width
            );
            return Err(Fault { field: None, value: None, reason });
        }
        let number = self.number(row)?;
        let currency = self
            .read(row, SalesField::Currency, |text| Currency::from_str(text).map_err(|error| error.to_string()))?
            .unwrap_or(self.rules.currency);
        let money = |field| self.read(row, field, |text| values::money(text, self.map.decimal, currency));
        let day = |field| self.read(row, field, |text| values::date(text, self.map.dates, self.rules.time_zone));
        let paid_at = day(SalesField::PaidAt)?;
        let gift_message = self.cell(row, SalesField::GiftMessage);
        let gift = if self.columns.contains_key(&SalesField::Gift) {
            self.cell(row, SalesField::Gift).is_some_and(|text| values::is_yes(&text))
        } else {
            gift_message.is_some()
        };
        Ok(Order {
            id: OrderId { source: self.map.name.clone(), number },
            placed_at: day(SalesField::PlacedAt)?,
            paid_at,
            state: self.state(row, paid_at)?,
            buyer: self.cell(row, SalesField::Buyer),
            recipient: self.recipient(row),
            lines: vec![self.line(row, currency)?],
            postage_charged: money(SalesField::PostageCharged)?,
            tax: money(SalesField::Tax)?,
            discount: money(SalesField::Discount)?.map(|off| Money::new(off.amount.abs(), off.currency)),
            total: money(SalesField::Total)?,
            currency,
            gift,
            gift_message,
            note: self.cell(row, SalesField::Note),
            ship_by: day(SalesField::ShipBy)?,
        })
    }

    fn state(&self, row: &Row, paid_at: Option<Date>) -> Result<OrderState, Fault> {
        let read = self.read(row, SalesField::State, |text| {
            let theirs = self.map.states.iter().find(|(word, _)| word.trim().to_lowercase() == text.to_lowercase());
            theirs.map(|(_, state)| *state).or_else(|| text.to_lowercase().parse().ok()).ok_or_else(|| {
                let name = &self.map.name;
                format!("is a state that columns/{name}.toml doesn't know; add it to [states] there, and drop the file again")
            })
        })?;
        let paid_unknown = self.columns.contains_key(&SalesField::PaidAt) && paid_at.is_none();
        Ok(read.unwrap_or(if paid_unknown { OrderState::Unpaid } else { OrderState::Open }))
    }

    fn recipient(&self, row: &Row) -> Recipient {
        let text = |field| self.cell(row, field).unwrap_or_default();
        let written = self.cell(row, SalesField::Country);
        let country = written.as_deref().map_or(Some(self.rules.country), |text| Country::from_str(text).ok());
        let lines = [SalesField::Address1, SalesField::Address2, SalesField::Address3];
        Recipient {
            name: self.cell(row, SalesField::Name).or_else(|| self.cell(row, SalesField::Buyer)).unwrap_or_default(),
            company: self.cell(row, SalesField::Company),
            lines: lines.into_iter().filter_map(|field| self.cell(row, field)).collect(),
            city: text(SalesField::City),
            region: text(SalesField::Region),
            postal_code: text(SalesField::PostalCode),
            country_as_written: written.filter(|_| country.is_none()),
            country,
            email: self.cell(row, SalesField::Email),
        }
    }

    fn line(&self, row: &Row, currency: Currency) -> Result<OrderLine, Fault> {
        let code = self.cell(row, SalesField::Code);
        let title = self.cell(row, SalesField::Title).unwrap_or_default();
        if code.is_none() && title.is_empty() {
            let reason = "names no article; fill in its code or title".to_owned();
            return Err(Fault { field: Some(SalesField::Title), value: None, reason });
        }
        let options = self.cell(row, SalesField::Options);
        let quantity = self.read(row, SalesField::Quantity, values::quantity)?;
        let missing = self.columns.contains_key(&SalesField::Quantity) && quantity.is_none();
        if missing {
            let reason = "has no quantity; write a whole number such as 2".to_owned();
            return Err(Fault { field: Some(SalesField::Quantity), value: None, reason });
        }
        let quantity = quantity.unwrap_or(1);
        let price = |field| self.read(row, field, |text| values::money(text, self.map.decimal, currency));
        let line_total = price(SalesField::LineTotal)?;
        let unit_price = price(SalesField::UnitPrice)?
            .or_else(|| line_total.map(|sum| Money::new(sum.amount / rust_decimal::Decimal::from(quantity), currency)));
        let words: Vec<&str> = [code.as_deref(), Some(title.as_str()), options.as_deref()]
            .into_iter()
            .flatten()
            .filter(|word| !word.is_empty())
            .collect();
        Ok(OrderLine {
            line: self.cell(row, SalesField::Line).unwrap_or_else(|| words.join("|")),
            code,
            title,
            options,
            quantity,
            unit_price,
        })
    }
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;

    use super::*;
    use crate::inbox::{self, ReadError};
    use crate::model::drop::{DateOrder, MapKind};

    fn map() -> ColumnMap {
        let column = |field, name: &str| (field, name.to_owned());
        ColumnMap {
            name: "stall".into(),
            kind: MapKind::Sales,
            headers: vec!["Ref".into(), "Qty".into()],
            dates: DateOrder::Mdy,
            decimal: '.',
            sales: BTreeMap::from([
                column(SalesField::Order, "Ref"),
                column(SalesField::Name, "Ship name"),
                column(SalesField::Address1, "Street"),
                column(SalesField::Code, "Pin"),
                column(SalesField::Quantity, "Qty"),
                column(SalesField::UnitPrice, "Each"),
                column(SalesField::State, "State"),
            ]),
            entries: BTreeMap::new(),
            states: BTreeMap::from([("Storniert".into(), OrderState::Cancelled)]),
        }
    }

    fn read(text: &str) -> Reading {
        let maps = [map()];
        let zone = TimeZone::UTC;
        let rules =
            ReadRules { maps: &maps, time_zone: &zone, currency: Currency::USD, country: "US".parse().unwrap() };
        inbox::read("a.csv", text.as_bytes(), &rules).unwrap()
    }

    fn orders(reading: &Reading) -> &[Order] {
        let Content::Sales(orders) = &reading.content else { panic!("{reading:?}") };
        orders
    }

    const HEAD: &str = "Ref,Ship name,Street,Pin,Qty,Each,State\n";

    #[test]
    fn rows_of_one_order_are_joined_wherever_they_stand() {
        let reading = read(&format!(
            "{HEAD}1,Ines Okonjo,\"88 Tern\nStreet\",GULL,2,4.50,open\n2,Bo,1 Quay,TERN,1,5,Storniert\n1,,,GULL,1,4.50,\n"
        ));
        let [one, two] = orders(&reading) else { panic!("{reading:?}") };
        assert_eq!(one.recipient.lines, ["88 Tern Street"]);
        assert_eq!(
            one.lines.iter().map(|l| (l.line.as_str(), l.quantity)).collect::<Vec<_>>(),
            [("GULL", 2), ("GULL#2", 1)]
        );
        assert_eq!(two.state, OrderState::Cancelled);
        assert_eq!(reading.rows, Rows { read: 3, taken: 3, refused: 0, skipped: 0 });
    }

    #[test]
    fn a_bad_row_is_named_and_takes_its_order_with_it_but_nothing_else() {
        let reading = read(&format!(
            "{HEAD}1,A,1 Quay,GULL,two,4.50,open\n1,A,1 Quay,TERN,1,5,open\n2,B,2 Quay,TERN,1,5,open\n\n"
        ));
        assert_eq!(orders(&reading).len(), 1);
        let first = &reading.refused[0].why;
        assert_eq!((first.line, first.column.as_deref(), first.value.as_deref()), (Some(2), Some("Qty"), Some("two")));
        assert!(reading.refused[1].why.reason.contains("line 2"), "{:?}", reading.refused);
        assert_eq!(reading.rows.read, reading.rows.taken + reading.rows.refused + reading.rows.skipped);
    }

    #[test]
    fn mended_refusals_are_read_again() {
        let reading = read(&format!("{HEAD}1,A,1 Quay,GULL,two,4.50,open\n"));
        let csv = String::from_utf8(inbox::refused_rows(&reading).unwrap().1).unwrap();
        let again = read(&csv.replace("two", "2"));
        assert_eq!(orders(&again)[0].lines[0].quantity, 2, "{csv}");
    }

    #[test]
    fn one_number_for_two_recipients_is_refused() {
        let reading = read(&format!("{HEAD}1,A,1 Quay,GULL,1,4,open\n1,B,9 Quay,GULL,1,4,open\n"));
        assert!(orders(&reading).is_empty());
        assert_eq!(reading.refused.len(), 2);
    }

    #[test]
    fn a_table_that_no_map_fits_waits_and_names_its_headers() {
        let zone = TimeZone::UTC;
        let rules = ReadRules { maps: &[], time_zone: &zone, currency: Currency::USD, country: "US".parse().unwrap() };
        let error = inbox::read("a.csv", b"x,y\n1,2\n", &rules).unwrap_err();
        assert!(matches!(&error, ReadError::Waiting(waiting) if waiting.why.contains("x, y")), "{error:?}");
    }

    proptest::proptest! {
        #[test]
        fn no_bytes_panic(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..400)) {
            let maps = [map()];
            let zone = TimeZone::UTC;
            let rules = ReadRules { maps: &maps, time_zone: &zone, currency: Currency::USD, country: "US".parse().unwrap() };
            let _whatever = inbox::read("a", &bytes, &rules);
            let mut headed = HEAD.as_bytes().to_vec();
            headed.extend(bytes);
            if let Ok(reading) = inbox::read("a", &headed, &rules) {
                let rows = reading.rows;
                proptest::prop_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
            }
        }
    }
}
