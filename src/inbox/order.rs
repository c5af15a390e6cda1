//! The rows of one order to the order.
//!
//! Handed all rows that bear its number; promises the order whole, or what is wrong with which row. What belongs to
//! the order is taken from the first row that has it, so that a source may say it once or on every row; where rows
//! contradict one another in who gets it, its state or its currency, it is refused. Turned down: letting the last
//! row win, by which a shop's blank second row once more opens an order that is not paid.

use std::collections::BTreeMap;
use std::str::FromStr;

use rust_decimal::Decimal;

use crate::model::address::Country;
use crate::model::drop::SalesField;
use crate::model::money::{Currency, Money};
use crate::model::order::{Order, OrderId, OrderLine, OrderState};
use crate::model::recipient::Recipient;

use super::cells::{Cells, Fault};
use super::decode::Row;
use super::{dates, numbers, values};

/// A row of the order, and which of several joined files it stands in.
#[derive(Clone, Copy)]
pub(super) struct Part<'t> {
    pub(super) row: &'t Row,
    pub(super) section: usize,
}

/// Faults by line.
pub(super) type Faults = BTreeMap<u64, Fault>;

const AMOUNTS: [SalesField; 6] = [
    SalesField::UnitPrice,
    SalesField::LineTotal,
    SalesField::PostageCharged,
    SalesField::Tax,
    SalesField::Discount,
    SalesField::Total,
];

pub(super) fn read(cells: &Cells<'_>, number: &str, parts: &[Part<'_>]) -> Result<Order, Faults> {
    let mut rows = Rows { cells, parts, faults: Faults::new() };
    for part in parts {
        rows.note(part.row.line, cells.check(part.row));
    }
    let currency = rows.currency();
    let zone = cells.rules.time_zone;
    let day = |text: &str| dates::date(text, cells.map.dates, zone);
    let amount = |text: &str| numbers::money(text, cells.map.decimal, currency);
    let paid_at = rows.first(SalesField::PaidAt, day);
    let state = rows.agreed(SalesField::State, |text| state(cells, text));
    let unpaid = cells.has(SalesField::PaidAt) && paid_at.is_none();
    let gift_message = rows.first_text(SalesField::GiftMessage);
    let gift = if cells.has(SalesField::Gift) {
        rows.all(SalesField::Gift, |text| Ok(values::is_yes(text))).into_iter().any(|(_, yes)| yes)
    } else {
        gift_message.is_some()
    };
    let order = Order {
        id: OrderId { source: cells.map.name.clone(), number: number.to_owned() },
        placed_at: rows.first(SalesField::PlacedAt, day),
        paid_at,
        state: state.unwrap_or(if unpaid { OrderState::Unpaid } else { OrderState::Open }),
        buyer: rows.first_text(SalesField::Buyer),
        recipient: rows.recipient(),
        postage_charged: rows.first(SalesField::PostageCharged, amount),
        tax: rows.first(SalesField::Tax, amount),
        discount: rows.first(SalesField::Discount, amount).map(|off| Money::new(off.amount.abs(), off.currency)),
        total: rows.first(SalesField::Total, amount),
        currency,
        gift,
        gift_message,
        note: rows.first_text(SalesField::Note),
        ship_by: rows.first(SalesField::ShipBy, day),
        apart: false,
        lines: rows.lines(currency),
    };
    if rows.faults.is_empty() { Ok(order) } else { Err(rows.faults) }
}

fn state(cells: &Cells<'_>, text: &str) -> Result<OrderState, String> {
    let word = text.to_lowercase();
    let theirs = cells.map.states.iter().find(|(known, _)| known.trim().to_lowercase() == word);
    theirs.map(|(_, state)| *state).or_else(|| word.parse().ok()).ok_or_else(|| {
        let known: Vec<&str> = cells.map.states.keys().map(String::as_str).collect();
        let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
        format!(
            "is a state that columns/{}.toml doesn't know (it knows {known}); add it to [states] there, and drop the file again",
            cells.map.name
        )
    })
}

struct Rows<'a> {
    cells: &'a Cells<'a>,
    parts: &'a [Part<'a>],
    faults: Faults,
}

impl Rows<'_> {
    /// The first fault of a row is told; the others show once it is mended.
    fn note<T>(&mut self, line: u64, read: Result<T, Fault>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(fault) => {
                self.faults.entry(line).or_insert(fault);
                None
            }
        }
    }

    /// What all rows say, with their lines.
    fn all<T>(&mut self, field: SalesField, read: impl Fn(&str) -> Result<T, String>) -> Vec<(u64, T)> {
        let mut all = Vec::new();
        for part in self.parts {
            let Some(text) = self.cells.get(part.row, field) else { continue };
            let value = read(&text).map_err(|reason| Fault { field: Some(field), value: Some(text), reason });
            all.extend(self.note(part.row.line, value).map(|value| (part.row.line, value)));
        }
        all
    }

    fn first<T>(&mut self, field: SalesField, read: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        self.all(field, read).into_iter().next().map(|(_, value)| value)
    }

    fn first_text(&mut self, field: SalesField) -> Option<String> {
        self.first(field, |text| Ok(text.to_owned()))
    }

    /// What the rows that say anything say alike.
    fn agreed<T: PartialEq>(&mut self, field: SalesField, read: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        let mut all = self.all(field, read).into_iter();
        let (first_line, first) = all.next()?;
        for (line, value) in all {
            if value != first {
                self.contradiction(field, line, first_line);
            }
        }
        Some(first)
    }

    fn contradiction(&mut self, field: SalesField, line: u64, first_line: u64) {
        let value =
            self.parts.iter().find(|part| part.row.line == line).and_then(|part| self.cells.get(part.row, field));
        let reason = format!(
            "is another than line {first_line} of the same order has; make them alike, or give them two order numbers"
        );
        self.faults.entry(line).or_insert(Fault { field: Some(field), value, reason });
    }

    /// Of its column; else of the sign or code that stands with its amounts; else the home's.
    fn currency(&mut self) -> Currency {
        let read = |text: &str| Currency::from_str(text).map_err(|error| error.to_string());
        if let Some(currency) = self.agreed(SalesField::Currency, read) {
            return currency;
        }
        let (cells, parts) = (self.cells, self.parts);
        let amounts = parts.iter().flat_map(|part| AMOUNTS.iter().filter_map(|field| cells.get(part.row, *field)));
        let mut named: Vec<Currency> = amounts.filter_map(|text| numbers::currency_in(&text)).collect();
        named.sort();
        named.dedup();
        // Where two are named, the amounts in the other are refused as they are read.
        named.first().copied().unwrap_or(self.cells.rules.currency)
    }

    fn recipient(&mut self) -> Recipient {
        // Letters' case doesn't make another recipient; anything else does.
        let mut alike = |field| {
            let _same = self.agreed(field, |text| Ok(text.to_lowercase()));
            self.first_text(field)
        };
        let name = alike(SalesField::Name);
        let company = alike(SalesField::Company);
        let lines = [SalesField::Address1, SalesField::Address2, SalesField::Address3].map(&mut alike);
        let city = alike(SalesField::City);
        let region = alike(SalesField::Region);
        let postal_code = alike(SalesField::PostalCode);
        let written = alike(SalesField::Country);
        let country = match &written {
            Some(text) => Country::from_str(text).ok(),
            None => Some(self.cells.rules.country),
        };
        Recipient {
            name: name.or_else(|| self.first_text(SalesField::Buyer)).unwrap_or_default(),
            company,
            lines: lines.into_iter().flatten().collect(),
            city: city.unwrap_or_default(),
            region: region.unwrap_or_default(),
            postal_code: postal_code.unwrap_or_default(),
            country_as_written: written.filter(|_| country.is_none()),
            country,
            email: self.first_text(SalesField::Email),
        }
    }

    /// The lines, those of joined files once.
    fn lines(&mut self, currency: Currency) -> Vec<OrderLine> {
        let mut sections: BTreeMap<usize, Vec<(u64, OrderLine)>> = BTreeMap::new();
        for part in self.parts {
            let line = self.line(part.row, currency);
            if let Some(line) = self.note(part.row.line, line) {
                sections.entry(part.section).or_default().push((part.row.line, line));
            }
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

    fn line(&self, row: &Row, currency: Currency) -> Result<OrderLine, Fault> {
        let cells = self.cells;
        let code = cells.get(row, SalesField::Code);
        let title = cells.get(row, SalesField::Title).unwrap_or_default();
        let fault = |field, value, reason: &str| Fault { field: Some(field), value, reason: reason.to_owned() };
        if code.is_none() && title.is_empty() {
            let field = if cells.has(SalesField::Code) { SalesField::Code } else { SalesField::Title };
            return Err(fault(field, None, "names no article; fill in its code or title"));
        }
        let options = cells.get(row, SalesField::Options);
        let quantity = match cells.get(row, SalesField::Quantity) {
            Some(text) => values::quantity(&text).map_err(|reason| fault(SalesField::Quantity, Some(text), &reason))?,
            None if cells.has(SalesField::Quantity) => {
                return Err(fault(SalesField::Quantity, None, "has no quantity; write a whole number such as 2"));
            }
            // A source without the column sells one by one.
            None => 1,
        };
        let price = |field| match cells.get(row, field) {
            Some(text) => numbers::money(&text, cells.map.decimal, currency)
                .map(Some)
                .map_err(|reason| fault(field, Some(text), &reason)),
            None => Ok(None),
        };
        let line_total = price(SalesField::LineTotal)?;
        let unit_price = price(SalesField::UnitPrice)?
            .or_else(|| line_total.map(|sum| Money::new(sum.amount / Decimal::from(quantity), currency)));
        let words = [code.as_deref(), Some(title.as_str()), options.as_deref()];
        let words: Vec<&str> = words.into_iter().flatten().filter(|word| !word.is_empty()).collect();
        Ok(OrderLine {
            line: cells.get(row, SalesField::Line).unwrap_or_else(|| words.join("|")),
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
    use super::*;
    use crate::inbox::test_home::{orders, read, refused};
    use crate::model::drop::Reading;

    fn lines(reading: &Reading) -> Vec<(&str, u32)> {
        orders(reading)[0].lines.iter().map(|line| (line.line.as_str(), line.quantity)).collect()
    }

    #[test]
    fn what_stands_on_the_first_row_only_holds_for_the_order() {
        let reading = read(
            "Ref,Name,Street,Pin,Qty,Each,State,Currency\n1,Ines Okonjo,88 Tern Street,GULL,2,4.50,owing,EUR\n1,,,TERN,1,5,,\n",
        );
        let [order] = orders(&reading) else { panic!("{reading:?}") };
        assert_eq!((order.state, order.currency.code()), (OrderState::Unpaid, "EUR"));
        assert_eq!(order.recipient.lines, ["88 Tern Street"]);
        assert!(order.lines.iter().all(|line| line.unit_price.is_some_and(|price| price.currency.code() == "EUR")));
    }

    #[test]
    fn rows_that_contradict_one_another_are_refused_together() {
        for (column, one, other) in
            [("State", "settled", "Storniert"), ("Town", "Eastmere", "Gullhaven"), ("Currency", "EUR", "USD")]
        {
            let reading = read(&format!("Ref,Name,Pin,Qty,{column}\n1,Ines,GULL,1,{one}\n1,Ines,TERN,1,{other}\n"));
            assert!(orders(&reading).is_empty(), "{column}");
            assert_eq!(
                refused(&reading),
                [
                    (2, "belongs to an order of which line 3 can't be read; mend that and drop both"),
                    (
                        3,
                        "is another than line 2 of the same order has; make them alike, or give them two order numbers"
                    ),
                ],
            );
            let why = &reading.refused[1].why;
            assert_eq!((why.column.as_deref(), why.value.as_deref()), (Some(column), Some(other)));
        }
        assert_eq!(orders(&read("Ref,Name,Pin,Qty\n1,Ines,GULL,1\n1,INES,TERN,1\n")).len(), 1);
    }

    #[test]
    fn without_a_state_the_day_of_payment_tells() {
        let reading = read("Ref,Name,Pin,Qty,Paid on\n1,Ines,GULL,1,\n2,Bo,GULL,1,11/23/2026\n");
        assert_eq!(
            orders(&reading).iter().map(|o| o.state).collect::<Vec<_>>(),
            [OrderState::Unpaid, OrderState::Open]
        );
        assert_eq!(orders(&read("Ref,Name,Pin,Qty\n1,Ines,GULL,1\n"))[0].state, OrderState::Open);
    }

    #[test]
    fn a_state_is_read_in_the_sources_words_or_ours() {
        let reading = read("Ref,Name,Pin,Qty,State\n1,A,X,1,STORNIERT\n2,A,X,1,refunded\n3,A,X,1,posted\n");
        assert_eq!(
            orders(&reading).iter().map(|o| o.state).collect::<Vec<_>>(),
            [OrderState::Cancelled, OrderState::Refunded]
        );
        assert!(
            reading.refused[0].why.reason.contains("(it knows Storniert, owing, settled)"),
            "{:?}",
            reading.refused
        );
    }

    #[test]
    fn amounts_may_name_their_currency() {
        let reading =
            read("Ref,Name,Pin,Qty,Each,Total\n1,A,X,1,9.00,€ 9.00\n2,A,X,1,9.00,$9.00\n3,A,X,1,€9.00,£9.00\n");
        let currencies: Vec<&str> = orders(&reading).iter().map(|order| order.currency.code()).collect();
        assert_eq!(currencies, ["EUR", "USD"]);
        assert_eq!(refused(&reading), [(4, "is not an amount in EUR; write it as 12.50")]);
    }

    #[test]
    fn a_repeat_of_the_same_words_is_one_more_and_of_the_same_key_the_same() {
        assert_eq!(lines(&read("Ref,Name,Pin,Qty\n1,A,X,1\n1,A,X,1\n")), [("X", 1), ("X#2", 1)]);
        assert_eq!(lines(&read("Ref,Name,Pin,Title,Options,Qty\n1,A,X,Gull,red,1\n")), [("X|Gull|red", 1)]);
        let keyed = read("Ref,Row,Name,Pin,Qty\n1,7,A,X,1\n1,7,A,X,1\n1,8,A,X,1\n");
        assert_eq!(lines(&keyed), [("7", 1), ("8", 1)]);
        assert_eq!(keyed.rows.taken, 3);
        let other = read("Ref,Row,Name,Pin,Qty\n1,7,A,X,1\n1,7,A,X,2\n");
        assert_eq!(refused(&other)[1].0, 3);
        assert!(orders(&other).is_empty());
    }

    #[test]
    fn files_that_were_joined_double_nothing() {
        let head = "Ref,Name,Pin,Qty\n";
        let twice = read(&format!("{head}1,A,X,1\n2,B,X,1\n{head}1,A,X,1\n3,C,X,1\n"));
        assert_eq!(lines(&twice), [("X", 1)]);
        assert_eq!((orders(&twice).len(), twice.rows.taken, twice.rows.skipped), (3, 4, 1));
        let paged = read(&format!("{head}1,A,X,1\n{head}1,A,Y,1\n"));
        assert_eq!(lines(&paged), [("X", 1), ("Y", 1)]);
        let changed = read(&format!("{head}1,A,X,1\n{head}1,A,X,2\n"));
        assert!(orders(&changed).is_empty());
        assert_eq!(changed.refused.len(), 2);
    }

    #[test]
    fn a_line_total_gives_the_price_of_one() {
        let reading = read("Ref,Name,Pin,Qty,Sum,Off\n1,A,X,2,9.00,-1.50\n");
        let order = &orders(&reading)[0];
        assert_eq!(order.lines[0].unit_price.map(Money::plain).as_deref(), Some("4.50"));
        assert_eq!(order.discount.map(Money::plain).as_deref(), Some("1.50"));
    }

    #[test]
    fn a_country_that_can_not_be_read_is_kept_as_written() {
        let reading = read("Ref,Name,Pin,Qty,Land\n1,A,X,1,Atlantis\n2,A,X,1,germany\n3,A,X,1,\n");
        let countries: Vec<_> = orders(&reading)
            .iter()
            .map(|o| (o.recipient.country.map(Country::code), o.recipient.country_as_written.as_deref()))
            .collect();
        assert_eq!(countries, [(None, Some("Atlantis")), (Some("DE"), None), (Some("US"), None)]);
    }

    #[test]
    fn a_message_for_the_giver_makes_a_gift_only_where_no_column_says() {
        assert!(orders(&read("Ref,Name,Pin,Qty,Words\n1,A,X,1,Many returns\n"))[0].gift);
        assert!(!orders(&read("Ref,Name,Pin,Qty,Words,Gift\n1,A,X,1,Many returns,no\n"))[0].gift);
        assert!(orders(&read("Ref,Name,Pin,Qty,Gift\n1,A,X,1,\n1,A,Y,1,yes\n"))[0].gift);
    }

    #[test]
    fn what_can_not_be_read_is_named_with_column_and_value() {
        let reading = read(
            "Ref,Name,Pin,Qty,Each,Taken on\n1,A,,1,9.00,\n2,A,X,two,9.00,\n3,A,X,,9.00,\n4,A,X,1,\"9,00\",\n5,A,X,1,9.00,25/11/2026\n",
        );
        let whys: Vec<_> =
            reading.refused.iter().map(|r| (r.why.line, r.why.column.as_deref(), r.why.value.as_deref())).collect();
        assert_eq!(
            whys,
            [
                (Some(2), Some("Pin"), None),
                (Some(3), Some("Qty"), Some("two")),
                (Some(4), Some("Qty"), None),
                (Some(5), Some("Each"), Some("9,00")),
                (Some(6), Some("Taken on"), Some("25/11/2026")),
            ]
        );
    }
}
