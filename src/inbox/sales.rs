//! A sales export, read by its column map, to orders.
//!
//! Handed a table, the map that fits it and its header; promises every row in one place: in an order, refused, or
//! skipped as blank, preamble, repeated header, total or footnote. Rows of one order may stand anywhere. Where one of
//! them can't be read, all of that order are refused: half an order is never sent, and they come back together in
//! `NAME.refused.csv`. Turned down: sending what could be read, and asking for the rest later.

use std::collections::BTreeMap;

use crate::model::day::Remark;
use crate::model::drop::{ColumnMap, Content, Reading, Rows, SalesField};
use crate::model::order::{Order, OrderState};

use super::ReadRules;
use super::cells::{Cells, Fault};
use super::columns::Header;
use super::decode::Table;
use super::habits::Habits;
use super::order::{self, Part};

pub(super) mod beside;
#[cfg(test)]
mod written;

pub(super) fn read(file: &str, table: &Table, map: &ColumnMap, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let mut cells = Cells::new(file, map, header, rules);
    let mut rows = Rows::default();
    let mut refused = Vec::new();
    let mut remarks = Vec::new();
    let parts = beside::parts(&cells, table, header);
    cells.habits = Habits::of(&cells, &parts.iter().map(|part| part.row).collect::<Vec<_>>());
    rows.read = table.rows.len().saturating_sub(1) as u64;
    rows.skipped = rows.read.saturating_sub(parts.len() as u64);
    let mut orders: BTreeMap<String, Vec<Part<'_>>> = BTreeMap::new();
    for part in parts {
        match cells.number(part.row) {
            Ok(number) => orders.entry(number).or_default().push(part),
            Err(fault) => refused.push(cells.refuse(part.row, fault)),
        }
    }
    let mut whole = Vec::new();
    for (number, parts) in orders {
        match order::read(&cells, &number, &parts) {
            Ok((order, mended)) => {
                rows.taken += parts.len() as u64;
                whole.push(order);
                remarks.extend(mended);
            }
            Err(mut faults) => {
                let first = faults.keys().next().copied().unwrap_or_default();
                for part in parts {
                    let fault = faults.remove(&part.row.line).unwrap_or_else(|| Fault {
                        field: Some(SalesField::Order),
                        value: Some(number.clone()),
                        reason: format!(
                            "belongs to an order of which line {first} can't be read; mend that and drop both"
                        ),
                    });
                    refused.push(cells.refuse(part.row, fault));
                }
            }
        }
    }
    refused.sort_by_key(|row| row.why.line);
    rows.refused = refused.len() as u64;
    debug_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
    let headers = header.without_reason(header.names.clone());
    Reading {
        remarks: said_once(of_whole(&cells, &whole), remarks),
        content: Content::Sales(whole),
        source: Some(map.name.clone()),
        encoding: table.encoding.clone(),
        delimiter: table.delimiter,
        header_line: Some(header.line),
        rows,
        matched: None,
        refused,
        headers,
        headers_again: beside::headers_again(table, header),
        sheet_rows: BTreeMap::new(),
    }
}

/// What is to be said of the file as a whole.
fn of_whole(cells: &Cells<'_>, orders: &[Order]) -> Vec<Remark> {
    let remark = |field, text| Remark { file: cells.file.to_owned(), line: None, column: cells.column(field), text };
    let mut remarks = Vec::new();
    if cells.habits.price_is_of_line {
        let text = "is the same as the line's total wherever more than one was bought, so it is read as the price of the whole line";
        remarks.push(remark(SalesField::UnitPrice, text.to_owned()));
    }
    let sent = orders.iter().filter(|order| order.state == OrderState::Sent).count();
    if sent > 0 {
        let text = match sent {
            1 => "1 order is sent already, by its source; it is not packed".to_owned(),
            _ => format!("{sent} orders are sent already, by their source; they are not packed"),
        };
        remarks.push(remark(SalesField::State, text));
    }
    remarks
}

/// How often the same remark on the same column is told line by line.
const TOLD_APART: usize = 3;

/// In order of line; what would be said of many lines is said of the first, with their number.
fn said_once(whole: Vec<Remark>, mut of_lines: Vec<Remark>) -> Vec<Remark> {
    of_lines.sort();
    of_lines.dedup();
    let mut times: BTreeMap<(Option<String>, String), usize> = BTreeMap::new();
    // The same sentence about other figures is the same remark.
    let sentence =
        |text: &str| text.split('`').step_by(2).flat_map(str::chars).filter(|c| !c.is_ascii_digit()).collect();
    let key = |remark: &Remark| -> (Option<String>, String) { (remark.column.clone(), sentence(&remark.text)) };
    for remark in &of_lines {
        *times.entry(key(remark)).or_default() += 1;
    }
    let mut remarks = whole;
    for mut remark in of_lines {
        // The first of many speaks for them all, and is taken out so that the others find none.
        match times.get(&key(&remark)) {
            None => continue,
            Some(count) if *count > TOLD_APART => {
                let more = *count - 1;
                times.remove(&key(&remark));
                remark.text = format!("{}; likewise in {more} more lines", remark.text);
            }
            Some(_) => {}
        }
        remarks.push(remark);
    }
    remarks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::decode::Row;
    use crate::inbox::test_home::{self, order_book, orders, read, refused};
    use crate::inbox::{ReadError, refused_rows};

    const HEAD: &str = "Ref,Name,Street,Pin,Qty,Each,State\n";

    #[test]
    fn rows_of_one_order_are_joined_wherever_they_stand() {
        let reading = read(&format!(
            "{HEAD}1,Ines Okonjo,\"88 Tern\nStreet\",GULL,2,4.50,open\n2,Bo,1 Quay,TERN,1,5,Storniert\n1,,,GULL,1,4.50,\n"
        ));
        let [one, two] = orders(&reading) else { panic!("{reading:?}") };
        assert_eq!(one.recipient.lines, ["88 Tern Street"]);
        assert_eq!((one.lines.len(), two.lines.len()), (2, 1));
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
        assert_eq!(reading.rows, Rows { read: 4, taken: 1, refused: 2, skipped: 1 });
    }

    #[test]
    fn sums_below_the_table_are_skipped_and_orders_called_so_are_not() {
        let reading = read("Ref,Name,Pin,Qty,Each\n1,A,X,2,9.00\n,,,,\nTotal:,,,2,18.00\nTotal,Ines,X,1,9.00\n");
        assert_eq!(reading.rows, Rows { read: 4, taken: 2, refused: 0, skipped: 2 });
        assert_eq!(orders(&reading).len(), 2);
    }

    #[test]
    fn what_is_sent_already_is_counted_and_what_is_said_often_is_said_once() {
        let book = || ColumnMap { states: [("gone".to_owned(), OrderState::Sent)].into(), ..test_home::telling_book() };
        let read = |text: &str| test_home::read_with(text.as_bytes(), &[book()]).unwrap();
        let one = read(&format!("{HEAD}1,A,1 Quay,X,1,4.50,gone\n2,B,1 Quay,X,1,4.50,open\n"));
        let said = |reading: &Reading| {
            let said = reading.remarks.iter().map(|r| (r.line, r.column.clone(), r.text.clone()));
            said.collect::<Vec<_>>()
        };
        let state = Some("State".to_owned());
        assert_eq!(
            said(&one),
            [(None, state.clone(), "1 order is sent already, by its source; it is not packed".into())]
        );
        let rows: Vec<String> = (1..=5).map(|n| format!("{n},A\u{200E},1 Quay,X,1,4.50,gone")).collect();
        let many = read(&format!("{HEAD}{}", rows.join("\n")));
        let texts = said(&many);
        assert_eq!(texts[0], (None, state, "5 orders are sent already, by their source; they are not packed".into()));
        let [_, (line, column, text)] = texts.as_slice() else { panic!("{texts:?}") };
        assert_eq!((*line, column.as_deref()), (Some(2), Some("Name")));
        assert!(text.ends_with("; likewise in 4 more lines"), "{text}");
        let rows: Vec<String> = (1..=5).map(|n| format!("{n},A,X,1,{}", 4990 + n)).collect();
        let zeros = test_home::read(&format!("Ref,Name,Pin,Qty,ZIP\n{}", rows.join("\n")));
        assert_eq!(said(&zeros).len(), 1, "{zeros:?}");
        let few = read(&format!("{HEAD}1,A\u{200E},1 Quay,X,1,4.50,open\n2,B\u{200E},1 Quay,X,1,4.50,open\n"));
        assert_eq!(said(&few).len(), 2);
    }

    fn mended(reading: &Reading, from: &str, to: &str) -> Reading {
        let (ending, bytes) = refused_rows(reading).unwrap();
        assert_eq!(ending, "csv");
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.contains(from), "{text}");
        read(&text.replacen(from, to, 1))
    }

    #[test]
    fn refused_rows_are_mended_and_read_again_as_often_as_it_takes() {
        let reading = read(&format!("{HEAD}1,A,\"1, Quay\",GULL,two,4.50,open\n1,,,TERN,many,4.50,open\n"));
        let again = mended(&reading, "two", "2");
        assert_eq!((orders(&again).len(), again.refused.len()), (0, 2));
        assert_eq!(again.headers, ["Ref", "Name", "Street", "Pin", "Qty", "Each", "State"]);
        let whole = mended(&again, "many", "3");
        assert_eq!(orders(&whole)[0].lines.iter().map(|line| line.quantity).collect::<Vec<_>>(), [2, 3]);
        assert_eq!(orders(&whole)[0].recipient.lines, ["1, Quay"]);
    }

    #[test]
    fn unmended_rows_of_joined_files_are_refused_again() {
        let head = "Ref,Name,Pin,Qty\n";
        let reading = read(&format!("{head}1,A,X,1\n2,B,X,1\n{head}1,A,X,3\n{head}2,B,X,1\n3,C,X,many\n"));
        assert_eq!((orders(&reading).len(), reading.refused.len()), (1, 3));
        let (_, bytes) = refused_rows(&reading).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        assert_eq!(text.lines().filter(|line| *line == "Ref,Name,Pin,Qty,reason").count(), 3, "{text}");
        let again = read(&text);
        assert_eq!((orders(&again).len(), again.refused.len(), again.rows.skipped), (0, 3, 2));
        let back = refused_rows(&again).map(|(_, bytes)| String::from_utf8(bytes).unwrap());
        assert_eq!(back, Some(text.replace("which line 5", "which line 4")));
    }

    #[test]
    fn a_row_without_its_last_cells_is_not_made_whole_by_giving_it_back() {
        let reading = read("Ref,Name,Pin,Qty,Each,Said\n1,A,X,1\n2,B,X,1,9.00\n");
        assert_eq!((orders(&reading).len(), reading.refused.len()), (1, 1));
        let text = String::from_utf8(refused_rows(&reading).unwrap().1).unwrap();
        assert!(text.contains("\n1,A,X,1,?missing?,,"), "{text}");
        let again = read(&text);
        assert_eq!(refused(&again), [(2, "was missing when the file was read; write what belongs there")]);
        assert_eq!(again.refused[0].why.column.as_deref(), Some("Each"));
        for (mend, price) in [("9.00", Some("9.00")), ("", None)] {
            let whole = mended(&again, "?missing?", mend);
            let line = &orders(&whole)[0].lines[0];
            assert_eq!(line.unit_price.map(crate::model::money::Money::plain).as_deref(), price);
        }
    }

    #[test]
    fn days_of_a_file_without_a_map_are_given_back_as_they_were_read() {
        let text = "Order number,Order date,Status,Recipient,Street,City,Postal code,Item,Quantity,Price\n\
                    1,23/11/2026,paid,Ines Okonjo,88 Tern Street,Gullhaven,97099,Bell buoy,2,4.50\n\
                    2,03/11/2026,paid,Bo Vik,1 Quay,Eastmere,04999,Puffin,two,12.00\n\
                    3,the 3rd,paid,Ada Brandvold,2 Quay,Eastmere,04999,Tern,1,9.00\n\
                    4,24/11/2026,paid,Tove Lind,3 Quay,Eastmere,04999,Tern,1,9.00\n";
        let reading = test_home::read_with(text.as_bytes(), &[]).unwrap();
        let days = |reading: &Reading| reading.refused.iter().map(|row| row.cells[1].clone()).collect::<Vec<_>>();
        assert_eq!(days(&reading), ["2026-11-03", "the 3rd"]);
        let back = String::from_utf8(refused_rows(&reading).unwrap().1).unwrap();
        let back = back.replacen("two", "2", 1).replacen("the 3rd", "2026-11-03", 1);
        let again = test_home::read_with(back.as_bytes(), &[]).unwrap();
        let placed: Vec<_> = orders(&again).iter().map(|order| order.placed_at.unwrap().to_string()).collect();
        assert_eq!(placed, ["2026-11-03", "2026-11-03"]);
        // What a map says holds for every row alone.
        let mapped = read("Ref,Name,Pin,Qty,Taken on\n1,A,X,two,11/3/2026\n");
        assert_eq!(mapped.refused[0].cells[4], "11/3/2026");
    }

    #[test]
    fn what_only_the_rest_of_its_column_shows_is_refused_again_without_it() {
        for text in [
            "Ref,Name,Pin,Qty\n11-01,A,X,1\nNov 02,B,X,1\n",
            "Ref,Name,Pin,Qty\n1,A,10-12,1\n2,B,Nov 02,1\n",
            "Ref,Name,Pin,Qty,Taken on\n1,A,X,1,46351\n2,B,X,1,11/25/2026\n",
            "Ref,Name,Pin,Qty\n123456789012340,A,X,1\n1234567890123450,B,X,1\n1234567890123460,C,X,1\n1234567890123470,D,X,1\n",
        ] {
            let reading = read(text);
            assert_eq!(orders(&reading).len(), 1, "{text}");
            let mut one = reading.clone();
            one.refused.truncate(1);
            let back = String::from_utf8(refused_rows(&one).unwrap().1).unwrap();
            assert_eq!(back.matches('?').count(), 2, "{back}");
            let again = read(&back);
            assert_eq!(again.refused.len(), 1, "{back}");
            assert_eq!(again.refused[0].cells, one.refused[0].cells);
            assert_eq!(again.refused[0].why.column, one.refused[0].why.column);
        }
        let head = "Bestellnummer;Zahlungsstatus;Empfänger;Straße;PLZ;Ort;Artikel;Menge;Einzelpreis\n";
        let row =
            |n, count, each| format!("{n};bezahlt;Änne Öhlers;Grüner Weg 1;26999;Nebelhafen;Brücke;{count};{each}\n");
        let text = format!("{head}{}{}", row(1, "1", "12,50"), row(2, "zwei", "1.250"));
        let reading = test_home::read_with(text.as_bytes(), &[]).unwrap();
        assert_eq!(reading.refused[0].cells.last().map(String::as_str), Some("1250,00"), "{reading:?}");
    }

    #[test]
    fn a_cell_too_many_is_given_back_too() {
        let reading = read("Ref,Name,Pin,Qty\n1,Okonjo, Ines,GULL,1\n2,B,GULL,many\n");
        let text = String::from_utf8(refused_rows(&reading).unwrap().1).unwrap();
        assert!(text.starts_with("Ref,Name,Pin,Qty,,reason\n1,Okonjo, Ines,GULL,1,has 5 cells"), "{text}");
        let again = mended(&reading, "1,Okonjo, Ines,GULL,1,", "1,Ines Okonjo,GULL,1,,");
        assert_eq!((orders(&again).len(), again.refused.len()), (1, 1));
    }

    #[test]
    fn a_spreadsheets_numbers_are_read_whatever_the_map_writes() {
        let cells = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
        let row = |line, texts: &[&str], numbers| Row { line, cells: cells(texts), numbers };
        let mut table = Table {
            rows: vec![
                row(1, &["Ref", "Name", "Pin", "Qty", "Each"], vec![]),
                row(2, &["1001", "A", "X", "2", "9.5"], vec![0, 3, 4]),
                row(3, &["1002", "B", "X", "2", "9,50"], vec![0, 3]),
                row(4, &["1003", "C", "X", "2.5", "9,50"], vec![0, 3]),
            ],
            encoding: "spreadsheet".into(),
            delimiter: None,
        };
        let map = ColumnMap { decimal: ',', ..order_book() };
        table.write_numbers_with(map.decimal);
        let header = Header::of(&table, 0).unwrap();
        let zone = jiff::tz::TimeZone::UTC;
        let rules = ReadRules {
            maps: &[],
            time_zone: &zone,
            currency: crate::model::money::Currency::USD,
            country: "US".parse().unwrap(),
            dates: &test_home::NO_DATES,
        };
        let reading = super::read("a.xlsx", &table, &map, &header, &rules);
        let prices: Vec<_> = orders(&reading)
            .iter()
            .map(|o| o.lines[0].unit_price.map(crate::model::money::Money::plain).unwrap())
            .collect();
        assert_eq!(prices, ["9.50", "9.50"]);
        assert_eq!(reading.refused[0].why.value.as_deref(), Some("2,5"));
    }

    proptest::proptest! {
        #[test]
        fn no_bytes_panic_and_every_row_is_somewhere(
            bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..400),
        ) {
            let maps = [order_book()];
            let _whatever = test_home::read_with(&bytes, &maps);
            let mut headed = HEAD.as_bytes().to_vec();
            headed.extend(bytes);
            if let Ok(reading) = test_home::read_with(&headed, &maps) {
                let rows = reading.rows;
                proptest::prop_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
            }
        }

        #[test]
        fn no_table_panics_and_every_row_is_somewhere(
            cells in proptest::collection::vec("[0-9a-zé\" ,;.'=#+E€$\n\r-]{0,6}", 0..60),
            ends in proptest::collection::vec(0_u8..9, 60),
        ) {
            let mut text = HEAD.to_owned();
            for (cell, end) in cells.iter().zip(ends) {
                text.push_str(cell);
                text.push(if end == 0 { '\n' } else { ',' });
            }
            match test_home::read_with(text.as_bytes(), &[order_book()]) {
                Ok(reading) => {
                    let rows = reading.rows;
                    proptest::prop_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
                    let given_back = reading.refused.len() as u64;
                    proptest::prop_assert_eq!(given_back, rows.refused);
                    if let Some((_, bytes)) = refused_rows(&reading) {
                        let again = test_home::read_with(&bytes, &[order_book()]).unwrap();
                        proptest::prop_assert_eq!(again.rows.read, given_back);
                        proptest::prop_assert!(again.headers == reading.headers || again.headers.len() > 7);
                    }
                }
                Err(ReadError::Waiting(_)) => {}
                Err(ReadError::Unreadable(why)) => proptest::prop_assert!(false, "{:?}", why),
            }
        }
    }
}
