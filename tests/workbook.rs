//! The hand-off sheet as a workbook: what is typed into it comes back as it was typed.

use std::collections::BTreeMap;

use calamine::{Reader, open_workbook_from_rs};
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use serde_json::Value;

use crate::desk::Desk;

/// The carrier's example number of 22 digits, which no spreadsheet holds as a number.
const TRACKING: &str = "9405511899223197428490";

#[test]
fn a_filled_in_workbook_records_the_hand_off_with_the_whole_tracking_number() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let bytes = std::fs::read(desk.path("outbox/2026-11-25/handoff.xlsx")).unwrap();
    let mut book: calamine::Xlsx<_> = open_workbook_from_rs(std::io::Cursor::new(bytes)).unwrap();
    let range = book.worksheet_range("handoff").unwrap();
    let header: Vec<String> = range.rows().next().unwrap().iter().map(ToString::to_string).collect();

    // As a spreadsheet saves it: text where the column is text, a number and a date where it takes them.
    let mut filled = Workbook::new();
    let sheet = filled.add_worksheet();
    let day = Format::new().set_num_format("yyyy-mm-dd");
    for (line, row) in (0_u32..).zip(range.rows()) {
        let first = row[1] == "1125-01";
        for ((at, cell), title) in (0_u16..).zip(row).zip(&header) {
            match (first, title.as_str()) {
                (true, "tracking") => sheet.write_string(line, at, TRACKING).unwrap(),
                (true, "scale") => sheet.write_number(line, at, 1.35).unwrap(),
                (true, "postage_paid") => sheet.write_number(line, at, 5.25).unwrap(),
                (true, "handed_over_on") => {
                    let date = ExcelDateTime::from_ymd(2026, 11, 25).unwrap();
                    sheet.write_datetime_with_format(line, at, &date, &day).unwrap()
                }
                _ => sheet.write_string(line, at, cell.to_string()).unwrap(),
            };
        }
    }
    desk.drop("handoff.xlsx", &filled.save_to_buffer().unwrap());
    desk.run_at("2026-11-25T18:00", &["take-in"]);
    let listed = desk.json(&["list", "parcels", "--json"]);
    let parcels: BTreeMap<&str, &Value> =
        listed["parcels"].as_array().unwrap().iter().map(|parcel| (parcel["ref"].as_str().unwrap(), parcel)).collect();
    assert_eq!(parcels["1125-01"]["state"], "handed-over", "{listed}");
    assert_eq!(parcels["1125-01"]["tracking"], TRACKING);
    assert_eq!(parcels["1125-01"]["handed_over_on"], "2026-11-25");
    assert_eq!(parcels["1125-02"]["state"], "listed");
}
