//! Rows that stand beside the orders of a table.
//!
//! Handed a table and its header; promises the rows that are of orders, and leaves out those that can't be: blank
//! ones, what stands before the header, the header again, sums, and notes on the page. Turned down: leaving out
//! whatever can't be read, which would lose an order with every slip.

use rust_decimal::Decimal;

use crate::model::drop::SalesField;

use super::super::cells::Cells;
use super::super::columns::Header;
use super::super::decode::{Row, Table};
use super::super::order::Part;
use super::super::{dates, habits, numbers};

/// The rows that hold orders, or try to.
pub(super) fn parts<'t>(cells: &Cells<'_>, table: &'t Table, header: &Header) -> Vec<Part<'t>> {
    let mut parts = Vec::new();
    let mut section = 0;
    let below = table.rows.get(header.index + 1..).unwrap_or_default();
    let mut kinds: Vec<Kind> = below.iter().map(|row| kind(cells, header, row)).collect();
    tell_wordless_sums(cells, below, &mut kinds);
    let spaced = below.iter().zip(&kinds).any(|(row, kind)| {
        *kind == Kind::Order && cells.get(row, SalesField::Order).is_some_and(|number| number.contains(' '))
    });
    for (place, (row, kind)) in below.iter().zip(&kinds).enumerate() {
        section += usize::from(*kind == Kind::Header);
        let is_order = match kind {
            Kind::Order => true,
            Kind::Blank | Kind::Header | Kind::Sums => false,
            Kind::Note => spaced || !ends_page(kinds.get(place + 1..).unwrap_or_default()),
        };
        if is_order {
            parts.push(Part { row, section });
        }
    }
    parts
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    Blank,
    Header,
    Sums,
    /// A sentence alone in its row.
    Note,
    Order,
}

fn kind(cells: &Cells<'_>, header: &Header, row: &Row) -> Kind {
    if row.is_blank() {
        Kind::Blank
    } else if header.is_repeated_by(row) {
        Kind::Header
    } else if is_total(cells, row) {
        Kind::Sums
    } else if is_note(cells, row) {
        Kind::Note
    } else {
        Kind::Order
    }
}

/// Whether no order follows, or a header before the next: in the middle of a table, a sentence alone may be the tail
/// of a row that was torn in two.
fn ends_page(following: &[Kind]) -> bool {
    let next = following.iter().find(|kind| !matches!(kind, Kind::Blank | Kind::Sums | Kind::Note));
    matches!(next, None | Some(Kind::Header))
}

/// "Exported on …", "Page 1 of 2": one cell with a sentence, in a column that no field is read from, or where order
/// numbers stand. A number alone in its row is an order that lost the rest. A sentence that has a delimiter in it
/// ("2 orders, printed 11/24/2026") is one too while it ends before any column of a recipient, an item or a quantity,
/// and no part of it is what its column holds.
fn is_note(cells: &Cells<'_>, row: &Row) -> bool {
    let is_sentence = |cell: &str| cell.trim().contains(char::is_whitespace) && cell.contains(char::is_alphabetic);
    let is_day = |cell: &str| dates::date_in_some_order(cell, Some(cells.map.dates), cells.rules.time_zone).is_ok();
    let beside = |place, torn: bool| {
        cells.fields_at(place).all(|field| field == SalesField::Order || (torn && habits::DAYS.contains(&field)))
    };
    let filled = |(_, cell): &(usize, &String)| !cell.trim().is_empty();
    let filled: Vec<(usize, &String)> = row.cells.iter().enumerate().filter(filled).collect();
    match filled.as_slice() {
        [] => false,
        [(place, cell)] => is_sentence(cell) && beside(*place, false),
        parts @ [(first, _), ..] => {
            let is_part = |(place, cell): &(usize, &String)| is_sentence(cell) && !is_day(cell) && beside(*place, true);
            *first == 0 && parts.len() == row.cells.len() && parts.iter().all(is_part)
        }
    }
}

/// Marks the last row as sums where it has numbers only, each exactly that of the cells above it, all of them or those
/// below the header's last repeat. A single number below a single row is no proof.
fn tell_wordless_sums(cells: &Cells<'_>, below: &[Row], kinds: &mut [Kind]) {
    let Some(last) = kinds.iter().rposition(|kind| *kind == Kind::Order) else { return };
    let Some((row, above)) = below.get(..=last).and_then(<[Row]>::split_last) else { return };
    let filled = |(_, cell): &(usize, &String)| !cell.trim().is_empty();
    let filled: Vec<(usize, &String)> = row.cells.iter().enumerate().filter(filled).collect();
    let page = kinds.get(..last).and_then(|kinds| kinds.iter().rposition(|kind| *kind == Kind::Header)).unwrap_or(0);
    let are_sums_from = |from: usize| {
        let summed: Vec<&Row> = above
            .iter()
            .zip(&*kinds)
            .skip(from)
            .filter(|(_, kind)| **kind == Kind::Order)
            .map(|(row, _)| row)
            .collect();
        filled.len() + summed.len() > 2
            && !filled.is_empty()
            && filled.iter().all(|(place, cell)| {
                let is_summed = cells
                    .fields_at(*place)
                    .all(|field| field == SalesField::Quantity || habits::AMOUNTS.contains(&field));
                let sum = sum(cells, *place, &summed);
                is_summed && sum.is_some() && numbers::number(cell, cells.map.decimal) == sum
            })
    };
    let are_sums = are_sums_from(0) || are_sums_from(page);
    if let Some(kind) = kinds.get_mut(last).filter(|_| are_sums) {
        *kind = Kind::Sums;
    }
}

/// The sum of a column; `None` where a cell is no number, or none has any.
fn sum(cells: &Cells<'_>, place: usize, rows: &[&Row]) -> Option<Decimal> {
    let filled = rows.iter().filter_map(|row| row.cells.get(place)).filter(|cell| !cell.trim().is_empty());
    let mut amounts = filled.map(|cell| numbers::amount(cell, cells.map.decimal)).peekable();
    amounts.peek()?;
    amounts.try_fold(Decimal::ZERO, |sum, amount| sum.checked_add(amount?))
}

/// Lines where the header stands again.
pub(in crate::inbox) fn headers_again(table: &Table, header: &Header) -> Vec<u64> {
    let below = table.rows.get(header.index + 1..).unwrap_or_default();
    below.iter().filter(|row| header.is_repeated_by(row)).map(|row| row.line).collect()
}

/// Words that begin a row of sums; common practice, no source.
const SUMS: [&str; 25] = [
    "total",
    "totals",
    "grand total",
    "sum",
    "subtotal",
    "sub-total",
    "summe",
    "gesamt",
    "gesamtsumme",
    "zwischensumme",
    "totaal",
    "subtotaal",
    "totale",
    "subtotale",
    "suma",
    "razem",
    "łącznie",
    "ogółem",
    "total général",
    "sous-total",
    "somme",
    "total general",
    "合計",
    "小計",
    "総計",
];

/// A row of sums below a table: it begins with a word for it, or has one for an order number, and has neither
/// recipient nor item.
fn is_total(cells: &Cells<'_>, row: &Row) -> bool {
    let first = row.cells.iter().find(|cell| !cell.trim().is_empty()).cloned();
    let number = cells.get(row, SalesField::Order);
    let order = [SalesField::Name, SalesField::Address1, SalesField::Code, SalesField::Title, SalesField::PostalCode];
    first.into_iter().chain(number).any(|word| is_sums(&word))
        && order.iter().filter_map(|field| cells.get(row, *field)).all(|cell| is_sums(&cell))
}

/// Whether a cell is a word that begins a row of sums.
pub(in crate::inbox) fn is_sums(cell: &str) -> bool {
    SUMS.contains(&cell.trim().trim_end_matches([':', '：', ' ']).to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use crate::inbox::test_home::{orders, read};
    use crate::model::drop::Rows;

    #[test]
    fn notes_below_the_table_are_skipped() {
        let reading = read("Ref,Name,Pin,Qty\n1,A,X,2\n\nTotal,,,2\nExported on 25 November 2026,,,\nPage 1 of 2\n");
        assert_eq!(reading.rows, Rows { read: 5, taken: 1, refused: 0, skipped: 4 });
        // At the end of a page, and below a column that nothing is read from.
        let paged = read(
            "Ref,Name,Pin,Qty,More\n1,A,X,2,\nPage 1 of 2,,,,\n\nRef,Name,Pin,Qty,More\n2,B,X,2,\n,,,,the end of it\n",
        );
        assert_eq!(paged.rows, Rows { read: 6, taken: 2, refused: 0, skipped: 4 });
    }

    #[test]
    fn what_may_be_of_an_order_is_never_skipped() {
        for row in [
            // The tail of a row that was torn in two, with an order after it.
            "see you there,,,\n3,C,X,1",
            // An order that lost the rest, a recipient, an item, a quantity, two cells.
            "3,,,",
            ",Ines Okonjo of Fogport,,",
            ",,Bell buoy pin,",
            ",,,2 pcs",
            "Exported on,25 November,,",
            // Two cells that are an order's, the rest of which is lost.
            "Order 3,11/25/2026",
            // One sum of one row may be a second item.
            ",,,2",
        ] {
            let reading = read(&format!("Ref,Name,Pin,Qty\n1,A,X,2\n{row}\n"));
            assert_eq!((reading.rows.refused, reading.rows.skipped), (1, 0), "{row}");
        }
        // Order numbers with spaces: a sentence could be one.
        let reading = read("Ref,Name,Pin,Qty\nOrder 1,A,X,2\nOrder 2,,,\n");
        assert_eq!((reading.rows.refused, orders(&reading).len()), (1, 1));
    }

    #[test]
    fn sentences_with_a_delimiter_in_them_are_notes_too() {
        let head = "Ref,Taken on,Name,Pin,Qty\n1,11/25/2026,A,X,2\n";
        let rows = |tail: &str| read(&format!("{head}{tail}\n")).rows;
        let all = "All prices in US dollars.\n2 orders, printed 11/24/2026\n* Tax is paid by the buyer.";
        assert_eq!(rows(all), Rows { read: 4, taken: 1, refused: 0, skipped: 3 });
        for tail in [
            "Order 3,11/25/2026",
            "Order 3,25 November 2026",
            "Order 3, printed today,Ines Okonjo",
            "Order 3, printed today,,,2",
            "Order 3, printed",
            "3, printed today",
            "Order 3, printed today,,,",
            "Order 3, printed today\n2,11/25/2026,A,X,2",
        ] {
            assert_eq!((rows(tail).refused, rows(tail).skipped), (1, 0), "{tail}");
        }
    }

    #[test]
    fn sums_without_a_word_are_known_by_what_they_add_up_to() {
        let head = "Ref,Name,Pin,Qty,Each,Sum,More\n1,A,X,2,4.50,9.00,7\n2,B,X,1,12.00,12.00,\n";
        let rows = |tail: &str| read(&format!("{head}{tail}\n")).rows;
        for sums in [",,,3,,21.00,", ",,,3,,21.00", ",,,3,,,", ",,,3,16.50,21,7", "\n,,,3.0,,\"21\",\n\nPage 1 of 1"] {
            assert_eq!((rows(sums).taken, rows(sums).refused), (2, 0), "{sums}");
        }
        for other in [
            ",,,3,,21.01,",
            ",,,2,,21.00,",
            "3,,,3,,21.00,",
            ",C,,3,,21.00,",
            ",,Y,3,,21.00,",
            ",,,3,,21.00,8",
            ",,,3,,21.00,thanks",
            ",,,3,,21.00,\n3,C,X,1,1.00,1.00,",
        ] {
            assert_eq!(rows(other).refused, 1, "{other}");
        }
        // Of the last page only; and a number that is of no column.
        let again = "Ref,Name,Pin,Qty,Each,Sum,More\n3,C,X,1,1.00,1.00,\n,,,1,,1.00,";
        assert_eq!((rows(again).taken, rows(again).refused), (3, 0));
        let all = again.replace(",,,1,,1.00", ",,,4,,22.00");
        assert_eq!((rows(&all).taken, rows(&all).refused), (3, 0));
        assert_eq!(read("Ref,Name,Pin,Qty\n1,A,X,1\n2,B,X,many\n,,,1\n").rows.refused, 2);
    }

    #[test]
    fn sums_are_known_by_their_word() {
        for word in ["TOTAL:", "Gesamtsumme", "Razem", "Total général", "合計：", "Subtotaal :"] {
            let reading = read(&format!("Ref,Name,Pin,Qty\n1,A,X,2\n{word},,,2\n"));
            assert_eq!(reading.rows, Rows { read: 2, taken: 1, refused: 0, skipped: 1 }, "{word}");
        }
    }
}
