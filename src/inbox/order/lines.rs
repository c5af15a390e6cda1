//! The lines of an order.
//!
//! Handed the order's rows; promises each item once, with a key that tells it from the others of the order, however
//! many of them a row holds and however often joined files repeat it. Turned down: merging equal items, by which a
//! line that was sent would grow when the next export has one more.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::model::drop::SalesField;
use crate::model::money::{Currency, Money};
use crate::model::order::OrderLine;

use super::super::cells::Fault;
use super::super::decode::Row;
use super::super::items::{self, Given, Item};
use super::super::{numbers, values};
use super::Rows;

impl Rows<'_> {
    /// The lines, those of joined files once.
    pub(super) fn lines(&mut self, currency: Currency) -> Vec<OrderLine> {
        let mut sections: BTreeMap<usize, Vec<(u64, OrderLine)>> = BTreeMap::new();
        for part in self.parts {
            let items = self.items(part.row, currency);
            let items = self.note(part.row.line, items).unwrap_or_default();
            let section = sections.entry(part.section).or_default();
            section.extend(items.into_iter().map(|line| (part.row.line, line)));
        }
        let mut lines: Vec<(u64, OrderLine)> = Vec::new();
        for section in sections.into_values() {
            let section = self.told_apart(section);
            let known = |line: &OrderLine| lines.iter().find(|(_, other)| other.line == line.line);
            let repeats = section.iter().filter(|(_, line)| known(line).is_some()).count();
            let same = section.iter().all(|(_, line)| known(line).is_some_and(|(_, other)| other == line));
            if repeats == 0 {
                // A printed page's header in the middle of an order.
                lines.extend(section);
            } else if !(same && section.len() == lines.len()) {
                // The same order in two exports that were joined, and it changed in between.
                for (place, line) in section {
                    let reason =
                        "stands twice in this file, with different items; drop the newer of the two exports alone";
                    let fault = Fault { field: Some(SalesField::Order), value: None, reason: reason.to_owned() };
                    self.faults.entry(place).or_insert(fault);
                    lines.push((place, line));
                }
            }
        }
        lines.into_iter().map(|(_, line)| line).collect()
    }

    /// Lines with a key each: the source's own, of which a repeat is the same line; else the item's words, of which
    /// a repeat is one more.
    fn told_apart(&mut self, section: Vec<(u64, OrderLine)>) -> Vec<(u64, OrderLine)> {
        let mut apart: Vec<(u64, OrderLine)> = Vec::new();
        let mut times: BTreeMap<String, u32> = BTreeMap::new();
        let own: Vec<u64> = self
            .parts
            .iter()
            .filter(|part| self.cells.get(part.row, SalesField::Line).is_some())
            .map(|part| part.row.line)
            .collect();
        for (place, mut line) in section {
            if own.contains(&place) {
                match apart.iter().find(|(_, other)| other.line == line.line) {
                    None => apart.push((place, line)),
                    Some((_, other)) if *other == line => {}
                    Some((first, _)) => self.contradiction(SalesField::Line, place, *first),
                }
                continue;
            }
            let count = times.entry(line.line.clone()).or_default();
            *count += 1;
            if *count > 1 {
                line.line = format!("{}#{count}", line.line);
            }
            apart.push((place, line));
        }
        apart
    }

    /// The items of one row: one, or those that its cells list.
    fn items(&mut self, row: &Row, currency: Currency) -> Result<Vec<OrderLine>, Fault> {
        let cells = self.cells;
        let shown = |field| cells.raw(row, field).map(values::unwrapped_lines).filter(|text| !text.is_empty());
        let [code, title, quantity] = [SalesField::Code, SalesField::Title, SalesField::Quantity].map(shown);
        let given = Given { code: code.as_deref(), title: title.as_deref(), quantity: quantity.as_deref() };
        let several = items::several(given).map_err(|reason| {
            let field = if code.is_some() { SalesField::Code } else { SalesField::Title };
            Fault { field: Some(field), value: cells.get(row, field), reason }
        })?;
        let items = match several {
            Some(items) => items,
            None => vec![self.item(row)?],
        };
        let all: u32 = items.iter().map(|item| item.quantity).sum();
        let price = self.price(row, currency, all)?.filter(|_| items.len() == 1);
        let own = cells.get(row, SalesField::Line);
        let options = cells.get(row, SalesField::Options);
        let count = items.len();
        let line = |(place, Item { code, title, quantity }): (usize, Item)| {
            let words = [code.as_deref(), Some(title.as_str()), options.as_deref()];
            let words: Vec<&str> = words.into_iter().flatten().filter(|word| !word.is_empty()).collect();
            let key = own.as_ref().map(|own| if count > 1 { format!("{own}/{}", place + 1) } else { own.clone() });
            let line = key.unwrap_or_else(|| words.join("|"));
            OrderLine { line, code, title, options: options.clone(), quantity, unit_price: price }
        };
        Ok(items.into_iter().enumerate().map(line).collect())
    }

    fn item(&self, row: &Row) -> Result<Item, Fault> {
        let cells = self.cells;
        let code = cells.get(row, SalesField::Code);
        let title = cells.get(row, SalesField::Title).unwrap_or_default();
        let fault = |field, value, reason: &str| Fault { field: Some(field), value, reason: reason.to_owned() };
        if code.is_none() && title.is_empty() {
            let field = if cells.has(SalesField::Code) { SalesField::Code } else { SalesField::Title };
            return Err(fault(field, None, "names no article; fill in its code or title"));
        }
        let quantity = match cells.get(row, SalesField::Quantity) {
            Some(text) => values::quantity(&text).map_err(|reason| fault(SalesField::Quantity, Some(text), &reason))?,
            None if cells.has(SalesField::Quantity) => {
                return Err(fault(SalesField::Quantity, None, "has no quantity; write a whole number such as 2"));
            }
            // A source without the column sells one by one.
            None => 1,
        };
        Ok(Item { code, title, quantity })
    }

    /// The price of one. Where the row has the line's total too and both don't agree, the price of one stands as it is
    /// written and the seller is told: a discount on the line is the usual reason, parcels don't depend on it, and
    /// refusing would keep back whole orders over a cent. A total alone is shared out, with as many digits as it takes
    /// for the line's sum to remain what was paid ([`Money::shared`]).
    fn price(&mut self, row: &Row, currency: Currency, quantity: u32) -> Result<Option<Money>, Fault> {
        let cells = self.cells;
        let read = |field| match cells.get(row, field) {
            Some(text) => numbers::money(&text, cells.map.decimal, currency)
                .map(|money| Some(money.amount))
                .map_err(|reason| Fault { field: Some(field), value: Some(text), reason }),
            None => Ok(None),
        };
        let (one, total) = (read(SalesField::UnitPrice)?, read(SalesField::LineTotal)?);
        let (off, tax) = (read(SalesField::Discount)?, read(SalesField::Tax)?);
        let count = Decimal::from(quantity);
        let share = |total: Decimal| Money::new(total, currency).shared(quantity);
        let (one, total) = match (one, total) {
            (Some(line), _) if cells.habits.price_is_of_line => return Ok(share(line)),
            (Some(one), Some(total)) => (one, total),
            (Some(one), None) => return Ok(Some(Money::new(one, currency))),
            (None, total) => return Ok(total.and_then(share)),
        };
        // A price of one may be a total that was shared out and rounded.
        let slack = Decimal::new(1, currency.minor_digits()) * count;
        let off = off.unwrap_or_default().abs();
        let tax = tax.unwrap_or_default();
        let full = one.checked_mul(count);
        let explained = [Decimal::ZERO, -off, tax, tax - off];
        let agrees = full.is_some_and(|full| explained.iter().any(|more| (full + more - total).abs() <= slack));
        if !agrees {
            let text =
                format!("the line's total {total} is not {quantity} × {one}; the price of one stands as written");
            self.remarks.push(cells.remark(row, SalesField::LineTotal, text));
        }
        Ok(Some(Money::new(one, currency)))
    }
}

#[cfg(test)]
mod tests {
    use crate::inbox::test_home::{orders, read, refused};
    use crate::model::drop::Reading;
    use crate::model::money::Money;

    type Line = (String, Option<String>, String, u32, Option<String>);

    fn lines(reading: &Reading) -> Vec<Line> {
        let lines = orders(reading).iter().flat_map(|order| &order.lines).cloned();
        lines.map(|l| (l.line, l.code, l.title, l.quantity, l.unit_price.map(Money::plain))).collect()
    }

    fn told(reading: &Reading) -> Vec<(Option<u64>, Option<&str>, &str)> {
        reading.remarks.iter().map(|r| (r.line, r.column.as_deref(), r.text.as_str())).collect()
    }

    #[test]
    fn several_items_of_a_cell_are_a_line_each_and_the_price_is_of_all() {
        let reading = read(
            "Ref,Name,Pin,Title,Qty,Sum\n1,A,2x GULL; 3 × TERN,\"Gull, red; Tern\",5,20.00\n2,B,,\"2x Gull\n1x Tern\",,9\n3,C,,3x Gull,,9.00\n",
        );
        let line = |key: &str, code: Option<&str>, title: &str, quantity, price: Option<&str>| -> Line {
            (key.into(), code.map(Into::into), title.into(), quantity, price.map(Into::into))
        };
        assert_eq!(
            lines(&reading),
            [
                line("GULL|Gull, red", Some("GULL"), "Gull, red", 2, None),
                line("TERN|Tern", Some("TERN"), "Tern", 3, None),
                line("Gull", None, "Gull", 2, None),
                line("Tern", None, "Tern", 1, None),
                line("Gull", None, "Gull", 3, Some("3.00")),
            ]
        );
        assert_eq!((reading.rows.read, reading.rows.taken), (3, 3));
    }

    #[test]
    fn listed_items_have_keys_of_their_own() {
        let reading = read("Ref,Row,Name,Pin,Qty\n1,7,A,GULL x2; TERN x1,3\n1,8,A,GULL,1\n");
        assert_eq!(lines(&reading).into_iter().map(|line| line.0).collect::<Vec<_>>(), ["7/1", "7/2", "8"]);
        let again = read("Ref,Name,Pin,Qty\n1,A,GULL; GULL,2\n1,A,GULL,4\n");
        let keys: Vec<_> = lines(&again).into_iter().map(|line| (line.0, line.3)).collect();
        assert_eq!(keys, [("GULL".into(), 1), ("GULL#2".into(), 1), ("GULL#3".into(), 4)]);
    }

    #[test]
    fn what_may_be_a_list_or_not_is_refused_with_its_cell() {
        let reading = read("Ref,Name,Title,Qty\n1,A,2x Gull; 3x Tern,4\n2,A,\"Cape Fathom, night\",2\n");
        assert_eq!(lines(&reading)[0].2, "Cape Fathom, night");
        assert!(refused(&reading)[0].1.starts_with("lists 5 pieces of 2 items"), "{reading:?}");
        let why = &reading.refused[0].why;
        assert_eq!((why.column.as_deref(), why.value.as_deref()), (Some("Title"), Some("2x Gull; 3x Tern")));
    }

    #[test]
    fn a_total_that_does_not_divide_evenly_stays_what_was_paid() {
        let reading = read("Ref,Name,Pin,Qty,Sum\n1,A,X,3,10.00\n");
        let line = &orders(&reading)[0].lines[0];
        assert_eq!(line.unit_price.map(Money::plain).as_deref(), Some("3.333"));
        assert_eq!(line.unit_price.map(|one| one.times(line.quantity).plain()).as_deref(), Some("10.00"));
    }

    #[test]
    fn a_total_that_is_not_the_price_times_the_quantity_is_told() {
        let reading = read(
            "Ref,Name,Pin,Qty,Each,Sum,Off\n1,A,X,2,4.50,8.10,\n2,A,X,2,4.50,9.00,\n3,A,X,3,3.33,10.00,\n4,A,X,2,4.50,8.00,-1.00\n5,A,X,1,4.50,,\n",
        );
        assert_eq!(
            told(&reading),
            [(Some(2), Some("Sum"), "the line's total 8.10 is not 2 × 4.50; the price of one stands as written")]
        );
        assert!(lines(&reading).iter().all(|line| line.4.as_deref().is_some_and(|price| price.len() == 4)));
    }
}
