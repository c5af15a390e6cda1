//! Postage bought, read by its column map.
//!
//! Handed a table as [`entries`](super::entries) has it; promises each row with what it says and no more. A price below
//! zero is postage that was paid back. Turned down: leaving out rows without our ref or a number, since what was paid
//! for them is part of the week's account.

use crate::model::carrier::PostageBought;
use crate::model::drop::{ColumnMap, Content, Reading};

use super::ReadRules;
use super::columns::Header;
use super::decode::Table;
use super::entries::{self, Cells, Fault, Kind};

pub(super) fn read(file: &str, table: &Table, map: &ColumnMap, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let kind = Kind {
        day: "bought_at",
        waits_for_day: false,
        entry,
        tracking: |entry| entry.tracking.as_deref(),
        price: |entry| entry.price,
        content: Content::Postage,
    };
    entries::read(file, table, map, header, rules, &kind)
}

fn entry(cells: &Cells<'_>) -> Result<PostageBought, Fault> {
    let tracking = cells.tracking()?;
    let (bought_at, bought_at_as_written) = cells.day()?;
    Ok(PostageBought {
        line: cells.line(),
        tracking,
        parcel: cells.parcel()?,
        bought_at,
        bought_at_as_written,
        price: cells.price()?,
        service: cells.text("service"),
        mass: cells.mass()?,
        name: cells.text("name"),
        postal_code: cells.text("postal_code"),
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::dec;

    use super::*;
    use crate::inbox::refused_rows;
    use crate::inbox::test_home::{read_with, refused};
    use crate::model::drop::{MapKind, Rows};
    use crate::model::mass::{MassUnit, Weight};
    use crate::model::money::Money;

    const HEAD: &str = "Label,Ours,Day,Paid,Kind,Weight,For,Code\n";

    fn map() -> ColumnMap {
        entries::map(
            MapKind::Postage,
            &[
                ("tracking", "Label"),
                ("parcel", "Ours"),
                ("bought_at", "Day"),
                ("price", "Paid"),
                ("service", "Kind"),
                ("mass", "Weight"),
                ("name", "For"),
                ("postal_code", "Code"),
            ],
        )
    }

    fn read(rows: &str) -> Reading {
        read_with(format!("{HEAD}{rows}").as_bytes(), &[map()]).unwrap()
    }

    fn bought(reading: &Reading) -> &[PostageBought] {
        let Content::Postage(entries) = &reading.content else { panic!("{reading:?}") };
        entries
    }

    // RB123456785GB: check digit worked out by hand with the weights of UPU S10.
    #[test]
    fn a_row_is_read_with_all_it_says() {
        let reading = read("RB 1234 5678 5 GB,1125-01,11/24/2026 16:05,$5.25,Small parcel,4 oz,Ines Okonjo,97099\n");
        let [row] = bought(&reading) else { panic!("{reading:?}") };
        assert_eq!(row.tracking.as_deref(), Some("RB123456785GB"));
        assert_eq!(row.parcel.as_ref().map(|parcel| parcel.0.as_str()), Some("1125-01"));
        assert_eq!(
            (row.bought_at, row.bought_at_as_written.as_deref()),
            (Some(date(2026, 11, 24)), Some("11/24/2026 16:05"))
        );
        assert_eq!(row.price.map(Money::plain).as_deref(), Some("5.25"));
        assert_eq!(row.mass, Some(Weight::new(dec!(4), MassUnit::Ounce)));
        assert_eq!(reading.remarks, []);
    }

    #[test]
    fn every_row_is_taken_refused_or_skipped() {
        let reading = read(
            "RB123456785GB,,11/24/2026,5.25,,,,\n,,,,,,,\nA1,,45/24/2026,5.25,,,,\nA2,,11/24/2026,five,,,,\n\
             A3,,11/24/2026,5.25,,113,,\n,,,9.00,,,Bo,\nA4,,11/24/2026,-5.25,,,,\nTotal,,,0.00,,,,\nExported on Friday,,,,,,,\n",
        );
        assert_eq!(reading.rows, Rows { read: 9, taken: 2, refused: 4, skipped: 3 });
        assert_eq!(
            refused(&reading),
            [
                (4, "is not a date; this source writes month/day/year"),
                (5, "is not an amount; this source writes 12.50"),
                (
                    6,
                    "has no unit; write it as 113 g or 113 oz, or say in columns/northline.toml what the column is in: \
                     mass_unit = \"g\""
                ),
                (7, "has neither a tracking number nor a parcel's ref nor a day; write one of them"),
            ]
        );
        assert_eq!(bought(&reading)[1].price.map(Money::plain).as_deref(), Some("-5.25"));
        let columns: Vec<_> = reading.refused.iter().map(|row| row.why.column.as_deref()).collect();
        assert_eq!(columns, [Some("Day"), Some("Paid"), Some("Weight"), None]);
        // Mended and dropped again, they are taken.
        let back = String::from_utf8(refused_rows(&reading).unwrap().1).unwrap();
        let back = back.replacen("45/24", "11/24", 1).replacen(",five,", ",5.25,", 1);
        let again = read_with(back.as_bytes(), &[map()]).unwrap();
        assert_eq!((again.rows.taken, again.rows.refused), (2, 2));
    }

    #[test]
    fn a_bare_sum_below_the_rows_is_skipped_and_any_other_number_is_not() {
        let rows = "A1,,11/24/2026,5.25,,,,\nA2,,11/24/2026,6.10,,,,\n";
        assert_eq!(read(&format!("{rows},,,11.35,,,,\n")).rows.skipped, 1);
        assert_eq!(read(&format!("{rows},,,11.36,,,,\n")).rows.refused, 1);
    }

    #[test]
    fn a_mass_is_in_the_cells_unit_or_the_maps() {
        let of = |text: &str, unit| {
            let map = ColumnMap { mass_unit: unit, ..map() };
            let reading = read_with(format!("{HEAD}A1,,,,,{text},,\n").as_bytes(), &[map]).unwrap();
            bought(&reading).first().and_then(|row| row.mass)
        };
        assert_eq!(of("113", Some(MassUnit::Gram)), Some(Weight::new(dec!(113), MassUnit::Gram)));
        assert_eq!(of("0.25 lb", Some(MassUnit::Gram)), Some(Weight::new(dec!(0.25), MassUnit::Pound)));
        assert_eq!(of("1 lb 2.5 oz", None), Some(Weight::new(dec!(18.5), MassUnit::Ounce)));
        assert_eq!(of("1 pound 2.5 ounces", None), Some(Weight::new(dec!(18.5), MassUnit::Ounce)));
        assert_eq!(of("1 kg 2.5 oz", None), None);
        assert_eq!(
            [of("0", Some(MassUnit::Gram)), of("0 lb 0 oz", None), of("-4 oz", None), of("999 kg", None)],
            [None; 4]
        );
    }

    #[test]
    fn an_amount_names_its_currency_or_has_the_maps() {
        let map = ColumnMap { currency: "EUR".parse().ok(), ..map() };
        let text = format!("{HEAD}A1,,,5.25,,,,\nA2,,,5.25 GBP,,,,\nA3,,,5.25 EUR,,,,\n");
        let reading = read_with(text.as_bytes(), &[map]).unwrap();
        let currencies: Vec<_> =
            bought(&reading).iter().filter_map(|row| row.price).map(|price| price.currency.code()).collect();
        assert_eq!(currencies, ["EUR", "GBP", "EUR"]);
    }

    #[test]
    fn a_wrong_check_digit_is_taken_with_the_one_fix() {
        // Two neighbouring digits swapped.
        let reading = read(
            "RB123546785GB,,11/24/2026,5.25,,,,\nRB123456780GB,,11/24/2026,5.25,,,,\nS10-LIKE-1,,11/24/2026,5.25,,,,\n",
        );
        assert_eq!(reading.rows.taken, 3);
        let told: Vec<_> = reading.remarks.iter().map(|remark| (remark.line, remark.column.as_deref())).collect();
        assert_eq!(told, [(Some(2), Some("Label")), (Some(3), Some("Label"))]);
        assert!(reading.remarks[0].text.contains("`RB123456785GB` is the one number"), "{:?}", reading.remarks);
        assert_eq!(bought(&reading)[2].tracking.as_deref(), Some("S10LIKE1"));
    }

    #[test]
    fn numbers_that_lost_their_digits_are_refused() {
        let reading = read("9.40011E+21,,11/24/2026,5.25,,,,\n9400110000000000000000,,11/24/2026,5.25,,,,\n");
        assert_eq!(reading.rows.refused, 2, "{reading:?}");
    }

    #[test]
    fn days_that_a_spreadsheet_made_numbers_among_written_ones_are_refused_again() {
        let reading = read("A1,,11/24/2026,5.25,,,,\nA2,,46351,5.25,,,,\n");
        assert_eq!(reading.rows.refused, 1, "{reading:?}");
        let back = refused_rows(&reading).unwrap().1;
        assert_eq!(read_with(&back, &[map()]).unwrap().rows.refused, 1);
        assert_eq!(read("A1,,46350,5.25,,,,\nA2,,46351,5.25,,,,\n").rows.taken, 2);
    }

    #[test]
    fn a_table_without_a_column_by_which_rows_are_known_waits() {
        let text = "Label,Ours,Paid\nA1,1125-01,5.25\n";
        let waits = read_with(text.as_bytes(), &[map()]);
        let Err(crate::inbox::ReadError::Waiting(waiting)) = waits else { panic!("{waits:?}") };
        assert!(waiting.why.contains("reads `bought_at` from a column `Day`"), "{}", waiting.why);
        let twice = read_with("Label,Ours,Day,Day\nA1,1125-01,,\n".as_bytes(), &[map()]);
        assert!(
            matches!(twice, Err(crate::inbox::ReadError::Waiting(waiting)) if waiting.why.contains("two columns `Day`"))
        );
    }
}
