//! Where a parcel stands once sheets, receipts and pictures came, in whatever order: through the real program.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const NEXT_DAY: &str = "2026-11-27T18:00";
const HANDOFF: &str =
    "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
const NUMBER: &str = "LN402011744US";

/// The sample's day, its eight parcels listed.
fn listed() -> Desk {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    desk
}

fn sheet(day: &str, number: &str, handed_over: &str) -> String {
    format!("{HANDOFF}handoff {day} r1,1125-04,,,,,,,{number},,{handed_over},,\n")
}

fn receipt(day: &str) -> String {
    format!("Label number,Taken over,Post office,Postage,Weighed (oz),ZIP\n{NUMBER},{day},Eastmere,5.25,,\n")
}

fn take(desk: &Desk, files: &[(&str, &str)]) {
    for (name, text) in files {
        desk.drop(name, text.as_bytes());
        let said = desk.run_at(NEXT_DAY, &["take-in"]);
        assert_eq!(said.code, Some(0), "{said:?}");
    }
}

/// State, days of hand-off and acceptance, and number of the parcel.
fn stands(desk: &Desk) -> [Value; 4] {
    let listed = desk.json(&["list", "parcels", "--json"]);
    let parcel = listed["parcels"].as_array().unwrap().iter().find(|parcel| parcel["ref"] == "1125-04").unwrap();
    ["state", "handed_over_on", "accepted_on", "tracking"].map(|field| parcel[field].clone())
}

/// Each way round, and what both must come to.
fn both_ways(home: fn() -> Desk, files: [(&str, &str); 3], wanted: &[Value; 4]) {
    let [a, b, c] = files;
    for order in [[a, b, c], [c, b, a], [b, c, a]] {
        let desk = home();
        take(&desk, &order.into_iter().filter(|(_, text)| !text.is_empty()).collect::<Vec<_>>());
        assert_eq!(stands(&desk), *wanted, "{order:?}");
    }
}

#[test]
fn the_first_receipt_is_the_hand_off_where_no_sheet_is() {
    let (late, early) = (receipt("11/27/2026 10:00"), receipt("11/26/2026 10:00"));
    both_ways(
        listed,
        [("sheet.csv", &sheet("2026-11-25", NUMBER, "")), ("a.csv", &late), ("b.csv", &early)],
        &[json!("accepted"), json!("2026-11-26"), json!("2026-11-26"), json!(NUMBER)],
    );
}

#[test]
fn two_sheets_with_two_days_are_asked_about_and_the_earlier_holds_meanwhile() {
    let (older, newer) = (sheet("2026-11-25", NUMBER, "2026-11-25"), sheet("2026-11-26", "", "2026-11-26"));
    both_ways(
        listed,
        [("a.csv", &older), ("b.csv", &newer), ("none", "")],
        &[json!("handed-over"), json!("2026-11-25"), Value::Null, json!(NUMBER)],
    );
    let desk = listed();
    take(&desk, &[("b.csv", &newer), ("a.csv", &older)]);
    let manifest = desk.morning("2026-11-28T06:30");
    let asked = manifest["questions"].as_array().unwrap().iter();
    let question = asked.clone().find(|asked| asked["choices"] == json!(["2026-11-25", "2026-11-26"])).unwrap();
    assert!(question["text"].as_str().unwrap().starts_with("1125-04 for "), "{question}");
    assert!(!manifest["remarks"].to_string().contains("handed_over_on"), "{manifest}");
    let email = desk.read("outbox/2026-11-28/dispatch.txt").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        email.contains("was handed over on Wed 25 Nov 2026 by one sheet, and on Thu 26 Nov 2026 by another"),
        "{email}"
    );
    let number = question["id"].as_str().unwrap();
    let is_asked = |now: &str| desk.morning(now)["questions"].to_string().contains(number);
    assert!(is_asked("2026-11-30T06:30"));
    // The answer holds at once, the last one given; and the question is settled.
    for day in ["2026-11-25", "2026-11-26"] {
        assert_eq!(desk.run_at("2026-11-30T09:00", &["answer", number, day]).code, Some(0));
        assert_eq!(stands(&desk)[1], json!(day));
    }
    assert!(!is_asked("2026-12-01T06:30"));
    // A sheet that is dropped again, put right, contradicts nothing any more.
    take(&desk, &[("c.csv", &older.replace("2026-11-25,,\n", "2026-11-26,,\n"))]);
    assert_eq!(stands(&desk)[1], json!("2026-11-26"));
}

/// The carrier's receipts say no day there.
fn without_days() -> Desk {
    let desk = listed();
    desk.edit("columns/northline-counter.toml", "accepted_at = \"Taken over\"\n", "");
    desk
}

/// A receipt that says no day accepts what the sheet handed over; without a sheet it is told, once.
#[test]
fn a_receipt_without_a_day_waits_for_the_sheet() {
    let receipt = receipt("");
    let sheet = sheet("2026-11-25", NUMBER, "2026-11-25");
    both_ways(
        without_days,
        [("sheet.csv", &sheet), ("a.csv", &receipt), ("none", "")],
        &[json!("accepted"), json!("2026-11-25"), Value::Null, json!(NUMBER)],
    );
    let desk = without_days();
    take(&desk, &[("a.csv", &receipt), ("numbers.csv", &self::sheet("2026-11-25", NUMBER, ""))]);
    assert_eq!(stands(&desk)[0], "listed");
    let remarks = |now: &str| -> Vec<String> {
        let manifest = desk.morning(now);
        let remarks = manifest["remarks"].as_array().unwrap().clone();
        remarks.iter().map(|remark| remark["text"].as_str().unwrap().to_owned()).collect()
    };
    let told = remarks("2026-11-28T06:30");
    assert!(told.iter().any(|text| text.contains("on a day that the receipt does not say")), "{told:?}");
    assert_eq!(remarks("2026-11-30T06:30"), Vec::<String>::new());
}

/// A picture named by the day of a hand-off that is recorded only later is tied then, and asked about no more.
#[test]
fn a_picture_waits_for_the_day_it_is_named_by() {
    let desk = listed();
    let picture = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("inbox/1125 counter.png")).unwrap();
    desk.drop("1126 counter.png", &picture);
    desk.run_at(NEXT_DAY, &["take-in"]);
    let pictures = || desk.json(&["list", "pictures", "--json"])["pictures"][0].clone();
    assert_eq!(pictures()["state"], "untied");
    take(&desk, &[("sheet.csv", &sheet("2026-11-25", NUMBER, "2026-11-26"))]);
    assert_eq!([&pictures()["state"], &pictures()["day"]], [&json!("tied"), &json!("2026-11-26")]);
    let asked = desk.morning("2026-11-28T06:30")["questions"].to_string();
    assert!(!asked.contains("counter.png"), "{asked}");
}

/// Two parcels on whose rows the same number was written: neither is accepted by its receipt until that is put right.
#[test]
fn a_number_written_for_two_parcels_accepts_neither_until_it_is_put_right() {
    let desk = listed();
    let other = sheet("2026-11-25", NUMBER, "2026-11-25").replace("1125-04", "1125-05");
    take(&desk, &[("a.csv", &sheet("2026-11-25", NUMBER, "2026-11-25")), ("r.csv", &receipt("11/26/2026 10:00"))]);
    assert_eq!(stands(&desk)[0], "accepted");
    take(&desk, &[("b.csv", &other)]);
    assert_eq!(stands(&desk)[0], "handed-over");
    take(&desk, &[("c.csv", &other.replace(NUMBER, "LN402011758US"))]);
    assert_eq!(stands(&desk), [json!("accepted"), json!("2026-11-25"), json!("2026-11-26"), json!(NUMBER)]);
}
