//! Acceptance receipts, read by their column map.
//!
//! Handed a table as [`entries`](super::entries) has it; promises each row that tells of a parcel the carrier took. Where
//! the table has a column for the day of acceptance, a row with none tells of a label that lies unused: it is passed
//! over, and told. Turned down: taking such a row as a receipt, which would call a parcel accepted that nobody has seen.

use crate::model::carrier::Acceptance;
use crate::model::drop::{ColumnMap, Content, Reading};

use super::ReadRules;
use super::columns::Header;
use super::decode::Table;
use super::entries::{self, Cells, Fault, Kind};

pub(super) fn read(file: &str, table: &Table, map: &ColumnMap, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let kind = Kind {
        day: "accepted_at",
        waits_for_day: true,
        entry,
        tracking: |entry| entry.tracking.as_deref(),
        price: |entry| entry.price,
        content: Content::Receipts,
    };
    entries::read(file, table, map, header, rules, &kind)
}

fn entry(cells: &Cells<'_>) -> Result<Acceptance, Fault> {
    let tracking = cells.tracking()?;
    let (accepted_at, accepted_at_as_written) = cells.day()?;
    Ok(Acceptance {
        line: cells.line(),
        tracking,
        parcel: cells.parcel()?,
        accepted_at,
        accepted_at_as_written,
        place: cells.text("place"),
        price: cells.price()?,
        mass: cells.mass()?,
        postal_code: cells.text("postal_code"),
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::inbox::test_home::read_with;
    use crate::model::drop::{DateOrder, MapKind, Rows};
    use crate::model::money::Money;

    fn map() -> ColumnMap {
        let columns = [
            ("tracking", "Sendung"),
            ("accepted_at", "Angenommen"),
            ("place", "Filiale"),
            ("price", "Porto"),
            ("mass", "Gewicht"),
        ];
        ColumnMap { dates: DateOrder::Dmy, decimal: ',', ..entries::map(MapKind::Receipts, &columns) }
    }

    fn read(rows: &str) -> Reading {
        let text = format!("Sendung;Angenommen;Filiale;Porto;Gewicht\n{rows}");
        read_with(text.as_bytes(), &[map()]).unwrap()
    }

    fn accepted(reading: &Reading) -> &[Acceptance] {
        let Content::Receipts(entries) = &reading.content else { panic!("{reading:?}") };
        entries
    }

    #[test]
    fn a_receipt_is_read_in_the_sources_style() {
        let reading = read("RB123456785GB;24.11.2026 16:05;Eastmere;5,25;0,113 kg\n");
        let [row] = accepted(&reading) else { panic!("{reading:?}") };
        assert_eq!(row.accepted_at, Some(date(2026, 11, 24)));
        assert_eq!(row.accepted_at_as_written.as_deref(), Some("24.11.2026 16:05"));
        assert_eq!((row.place.as_deref(), row.price.map(Money::plain)), (Some("Eastmere"), Some("5.25".to_owned())));
        assert_eq!(row.mass.map(|mass| mass.to_string()).as_deref(), Some("0.113 kg"));
    }

    #[test]
    fn a_label_that_was_not_accepted_is_no_receipt_and_is_told() {
        let reading = read("RB123456785GB;24.11.2026;;5,25;\nA2;;;6,10;\n");
        assert_eq!(reading.rows, Rows { read: 2, taken: 1, refused: 0, skipped: 1 });
        assert_eq!(
            reading.remarks[0].text,
            "1 row has no day of acceptance, so the carrier has not taken those parcels yet: passed over"
        );
        // A source without such a column tells of acceptance by its rows.
        let mut bare = map();
        bare.entries.remove("accepted_at");
        bare.headers = vec!["Sendung".into()];
        let reading = read_with(b"Sendung;Filiale;Porto;Gewicht\nA2;Eastmere;6,10;\n", &[bare]).unwrap();
        assert_eq!(accepted(&reading)[0].accepted_at, None);
    }

    #[test]
    fn joined_files_tell_where_the_header_stands_again() {
        let reading = read("A1;24.11.2026;;5,25;\nSendung;Angenommen;Filiale;Porto;Gewicht\nA1;24.11.2026;;5,25;\n");
        assert_eq!((reading.rows.taken, reading.headers_again.as_slice()), (2, &[3][..]));
    }
}
