//! A sales export, read by its column map, to orders.
//!
//! Handed a table, the map that fits it and its header; promises every row in one place: in an order, refused, or
//! skipped as blank, preamble, repeated header or total. Rows of one order may stand anywhere. Where one of them
//! can't be read, all of that order are refused: half an order is never sent, and they come back together in
//! `NAME.refused.csv`. Turned down: sending what could be read, and asking for the rest later.

use std::collections::BTreeMap;

use crate::model::drop::{ColumnMap, Content, Reading, Rows, SalesField};

use super::ReadRules;
use super::cells::{Cells, Fault};
use super::columns::Header;
use super::decode::{Row, Table};
use super::order::{self, Part};

pub(super) fn read(file: &str, table: &Table, map: &ColumnMap, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let cells = Cells::new(file, map, header, rules);
    let mut rows = Rows::default();
    let mut refused = Vec::new();
    let mut orders: BTreeMap<String, Vec<Part<'_>>> = BTreeMap::new();
    let mut section = 0;
    for (index, row) in table.rows.iter().enumerate() {
        if index == header.index {
            continue;
        }
        rows.read += 1;
        let repeated = header.is_repeated_by(row);
        section += usize::from(repeated);
        if index < header.index || row.is_blank() || repeated || is_total(&cells, row) {
            rows.skipped += 1;
            continue;
        }
        match cells.number(row) {
            Ok(number) => orders.entry(number).or_default().push(Part { row, section }),
            Err(fault) => refused.push(cells.refuse(row, fault)),
        }
    }
    let mut whole = Vec::new();
    for (number, parts) in orders {
        match order::read(&cells, &number, &parts) {
            Ok(order) => {
                rows.taken += parts.len() as u64;
                whole.push(order);
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
    let headers = header.without_reason(header.names.clone());
    Reading {
        content: Content::Sales(whole),
        source: Some(map.name.clone()),
        encoding: table.encoding.clone(),
        delimiter: table.delimiter,
        header_line: Some(header.line),
        rows,
        remarks: Vec::new(),
        matched: None,
        refused,
        headers,
    }
}

/// Words that begin a row of sums; common practice, no source.
const SUMS: [&str; 10] = ["total", "totals", "sum", "subtotal", "summe", "gesamt", "totaal", "totale", "suma", "合計"];

/// A row of sums below a table: it begins with a word for it, and has neither recipient nor item nor quantity.
fn is_total(cells: &Cells<'_>, row: &Row) -> bool {
    let first = row.cells.iter().map(|cell| cell.trim()).find(|cell| !cell.is_empty()).unwrap_or_default();
    let first = first.trim_end_matches(':').to_lowercase();
    let order = [SalesField::Name, SalesField::Address1, SalesField::Code, SalesField::Title, SalesField::PostalCode];
    SUMS.contains(&first.as_str())
        && order.iter().filter(|field| cells.get(row, **field).is_some_and(|cell| cell.to_lowercase() != first)).count()
            == 0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inbox::test_home::{self, order_book, orders, read};
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
