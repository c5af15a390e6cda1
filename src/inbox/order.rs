//! The rows of one order to the order.
//!
//! Handed all rows that bear its number; promises the order whole, or what is wrong with which row. What belongs to
//! the order is taken from the first row that has it, so that a source may say it once or on every row; where rows
//! contradict one another in who gets it, its state or its currency, it is refused. Turned down: letting the last
//! row win, by which a shop's blank second row once more opens an order that is not paid.

use std::collections::BTreeMap;
use std::str::FromStr;

use crate::model::address::Country;
use crate::model::day::Remark;
use crate::model::drop::SalesField;
use crate::model::money::{Currency, Money};
use crate::model::order::{Order, OrderId, OrderState};
use crate::model::postal::{self, Fit};
use crate::model::recipient::Recipient;
use crate::model::text::has_invisible;

use super::cells::{Cells, Fault};
use super::decode::Row;
use super::habits::AMOUNTS;
use super::{numbers, values};

mod lines;

/// A row of the order, and which of several joined files it stands in.
#[derive(Clone, Copy)]
pub(super) struct Part<'t> {
    pub(super) row: &'t Row,
    pub(super) section: usize,
}

/// Faults by line.
pub(super) type Faults = BTreeMap<u64, Fault>;

/// What is shown to people and printed: what shows nothing in it was put there by a program or by somebody who means
/// to deceive.
const LABELS: [SalesField; 12] = [
    SalesField::Buyer,
    SalesField::Name,
    SalesField::Company,
    SalesField::Address1,
    SalesField::Address2,
    SalesField::Address3,
    SalesField::City,
    SalesField::Region,
    SalesField::Title,
    SalesField::Options,
    SalesField::Note,
    SalesField::GiftMessage,
];

const INVISIBLE: &str = "held characters that show nothing or turn letters round; they were taken out";

/// The order, and what was mended in it.
pub(super) fn read(cells: &Cells<'_>, number: &str, parts: &[Part<'_>]) -> Result<(Order, Vec<Remark>), Faults> {
    let mut rows = Rows { cells, parts, faults: Faults::new(), remarks: Vec::new() };
    for part in parts {
        rows.note(part.row.line, cells.check(part.row));
        let dirty = LABELS.iter().filter(|field| cells.raw(part.row, **field).is_some_and(has_invisible));
        rows.remarks.extend(dirty.map(|field| cells.remark(part.row, *field, INVISIBLE.to_owned())));
    }
    let currency = rows.currency();
    let day = |field| move |text: &str| cells.habits.day(cells, field).date(text, cells.rules.time_zone);
    let amount = |text: &str| numbers::money(text, cells.map.decimal, currency);
    let paid_at = rows.first(SalesField::PaidAt, day(SalesField::PaidAt));
    let state = rows.agreed(SalesField::State, |text| state(cells, text));
    let unpaid = cells.has(SalesField::PaidAt) && paid_at.is_none();
    let gift_message = rows.first_text(SalesField::GiftMessage);
    let gift = if cells.has(SalesField::Gift) {
        rows.all(SalesField::Gift, values::is_yes).into_iter().any(|(_, yes)| yes)
    } else {
        gift_message.is_some()
    };
    let order = Order {
        id: OrderId { source: cells.map.name.clone(), number: number.to_owned() },
        placed_at: rows.first(SalesField::PlacedAt, day(SalesField::PlacedAt)),
        paid_at,
        state: state.unwrap_or(if unpaid { OrderState::Unpaid } else { OrderState::Open }),
        state_told: state.is_some() || cells.has(SalesField::PaidAt),
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
        ship_by: rows.first(SalesField::ShipBy, day(SalesField::ShipBy)),
        apart: rows.all(SalesField::Apart, values::is_yes).into_iter().any(|(_, yes)| yes),
        lines: rows.lines(currency),
    };
    if rows.faults.is_empty() { Ok((order, rows.remarks)) } else { Err(rows.faults) }
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
    remarks: Vec<Remark>,
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
        // Where the source names countries and leaves this one out, the home's is a guess: no zero is put on it.
        let certain = country.filter(|_| written.is_some() || !self.cells.has(SalesField::Country));
        let postal_code = postal_code.map(|code| self.postal_code(code, certain));
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

    /// The code as it was before a spreadsheet took it for a number.
    fn postal_code(&mut self, code: String, country: Option<Country>) -> String {
        let Some(country) = country else { return code };
        if let Some(whole) = values::without_fraction(&code).filter(|whole| postal::fits(country, whole) == Fit::Yes) {
            return whole.to_owned();
        }
        let Some(mended) = postal::with_lost_zeros(country, &code) else { return code };
        let text = format!("postal code `{code}` read as `{mended}`: a spreadsheet took the zero away");
        let cells = self.cells;
        let part = self.parts.iter().find(|part| cells.get(part.row, SalesField::PostalCode).is_some());
        self.remarks.extend(part.map(|part| cells.remark(part.row, SalesField::PostalCode, text)));
        mended
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
        assert!(orders(&reading).iter().all(|order| order.state_told));
        let silent = read("Ref,Name,Pin,Qty\n1,Ines,GULL,1\n");
        assert_eq!((orders(&silent)[0].state, orders(&silent)[0].state_told), (OrderState::Open, false));
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

    fn told(reading: &Reading) -> Vec<(Option<u64>, Option<&str>, &str)> {
        reading.remarks.iter().map(|r| (r.line, r.column.as_deref(), r.text.as_str())).collect()
    }

    #[test]
    fn lost_zeros_of_postal_codes_come_back_and_are_told() {
        let codes = |reading: &Reading| -> Vec<String> {
            orders(reading).iter().map(|order| order.recipient.postal_code.clone()).collect()
        };
        let reading = read(
            "Ref,Name,Pin,Qty,ZIP,Land\n1,A,X,1,4999,US\n2,B,X,1,1067.0,Germany\n3,C,X,1,97099.0,US\n4,D,X,1,101,AT\n5,E,X,1,4999,\n6,F,X,1,4999,Atlantis\n7,G,X,1,8001,ES\n7,,Y,1,,\n",
        );
        assert_eq!(codes(&reading), ["04999", "01067", "97099", "101", "4999", "4999", "08001"]);
        let text = "postal code `4999` read as `04999`: a spreadsheet took the zero away";
        assert_eq!(told(&reading)[0], (Some(2), Some("ZIP"), text));
        assert_eq!(told(&reading).len(), 3);
        // A source that names no countries sells in the home's.
        assert_eq!(codes(&read("Ref,Name,Pin,Qty,ZIP\n1,A,X,1,4999\n")), ["04999"]);
    }

    #[test]
    fn what_shows_nothing_is_taken_out_of_labels_and_told_and_out_of_keys() {
        let reading = read(
            "Ref,Name,Street,Pin,Qty,Said\n1\u{200B}001,Ines\u{202E} Okonjo,1 Quay,GU\u{200D}LL,1,\n1001,,,TERN,1,hi\u{FEFF}\n2,می\u{200C}خواهم,2 Quay,X,1,\u{1F469}\u{200D}\u{1F467}\n",
        );
        let [one, two] = orders(&reading) else { panic!("{reading:?}") };
        assert_eq!((one.id.number.as_str(), one.recipient.name.as_str()), ("1001", "Ines Okonjo"));
        assert_eq!((one.lines[0].code.as_deref(), one.lines.len()), (Some("GULL"), 2));
        assert_eq!((two.recipient.name.chars().count(), two.note.as_deref()), (8, Some("\u{1F469}\u{200D}\u{1F467}")));
        assert_eq!(told(&reading), [(Some(2), Some("Name"), INVISIBLE), (Some(3), Some("Said"), INVISIBLE)]);
    }

    #[test]
    fn countries_are_read_in_the_languages_of_the_exports() {
        let reading =
            read("Ref,Name,Pin,Qty,Land\n1,A,X,1,Deutschland\n2,A,X,1,Pays-Bas\n3,A,X,1,日本\n4,A,X,1,Congo\n");
        let read: Vec<_> = orders(&reading).iter().map(|o| o.recipient.country.map(Country::code)).collect();
        assert_eq!(read, [Some("DE"), Some("NL"), Some("JP"), None]);
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
