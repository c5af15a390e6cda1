//! Postage bought, acceptance receipts and pictures of them, and the proof of a parcel, through the real program.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use crate::desk::{Desk, NOW, Said};

const EVENING: &str = "2026-11-25T18:00";
const NEXT_DAY: &str = "2026-11-27T06:30";
const HANDOFF: &str =
    "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
const RECEIPTS: &str = "Label number,Taken over,Post office,Postage,Weighed (oz),ZIP\n";
const LABELS: &str = "Label number,Own reference,Bought,Paid,Kind of post,Bought for,Addressee,ZIP\n";

fn sample(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("inbox").join(name)).unwrap()
}

/// The sample's day, its eight parcels listed.
fn listed() -> Desk {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    desk
}

fn take(desk: &Desk, files: &[(&str, &[u8])]) -> Value {
    for (name, bytes) in files {
        desk.drop(name, bytes);
    }
    let said = desk.run_at(EVENING, &["take-in", "--json"]);
    serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{error}: {said:?}"))
}

fn list(desk: &Desk, what: &str) -> Vec<Value> {
    desk.json(&["list", what, "--json"])[what].as_array().unwrap().clone()
}

fn parcel(desk: &Desk, name: &str) -> Value {
    list(desk, "parcels").into_iter().find(|parcel| parcel["ref"] == name).unwrap()
}

fn prove(desk: &Desk, args: &[&str]) -> (Said, Value) {
    let said = desk.run_at(EVENING, &[&["proof"], args, &["--json"]].concat());
    let proved = serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{error}: {said:?}"));
    (said, proved)
}

fn handoff(rows: &str) -> Vec<u8> {
    format!("{HANDOFF}{rows}").into_bytes()
}

/// From exports to hand-off sheet, postage, receipts, picture and proof.
#[test]
fn the_whole_way_of_a_parcel_ends_in_its_proof() {
    let desk = listed();
    let sheet = handoff(
        "handoff 2026-11-25 r1,1125-04,Zoë Brannigan,02999,small-parcel,4 oz,1.5,oz,,5.25,2026-11-25,Eastmere counter,asked for a stamp\n",
    );
    let (labels, counter, picture) =
        (sample("northline-labels.csv"), sample("northline-counter.csv"), sample("1125 counter.png"));
    // The receipts come before the postage that has their numbers' refs.
    let taken = take(&desk, &[("counter.csv", &counter)]);
    assert_eq!(taken["files"][0]["kind"], "receipts");
    assert_eq!(taken["files"][0]["rows"], json!({"read": 7, "taken": 6, "refused": 0, "skipped": 1}));
    assert!(list(&desk, "receipts").iter().all(|row| row["state"] == "untied"));
    let taken = take(&desk, &[("sheet.csv", &sheet), ("labels.csv", &labels), ("1125 counter.png", &picture)]);
    assert_eq!(taken["refused"], json!([]));

    let four = parcel(&desk, "1125-04");
    assert_eq!((&four["state"], &four["accepted_on"]), (&json!("accepted"), &json!("2026-11-25")));
    assert_eq!(four["tracking"], "LN402011744US");
    let tied: Vec<Value> = list(&desk, "receipts").iter().map(|row| row["parcels"].clone()).collect();
    assert_eq!(
        tied,
        ["1125-01", "1125-02", "1125-03", "1125-04", "1125-05", ""]
            .map(|name| { if name.is_empty() { json!([]) } else { json!([name]) } })
    );
    assert_eq!(list(&desk, "pictures")[0]["day"], "2026-11-25");

    let (said, proved) = prove(&desk, &["1125-04"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(proved["evidence"], json!({"sheets": 1, "postage": 1, "receipts": 1, "pictures": 1}));
    let names: Vec<&str> =
        proved["files"].as_array().unwrap().iter().map(|file| file["name"].as_str().unwrap()).collect();
    // In the order they were taken in, those of one moment by name.
    assert_eq!(
        names,
        ["quay-november.csv", "trade-brannigan.eml", "1125 counter.png", "counter.csv", "labels.csv", "sheet.csv"]
    );
    let pdf = fs::read(desk.path("outbox/proof-2026-1125-04.pdf")).unwrap();
    assert_eq!(proved["hash"], blake3::hash(&pdf).to_hex().to_string());
    let has = |words: &str| pdf.windows(words.len()).any(|bytes| bytes == words.as_bytes());
    assert!(has("pdfuaid") && has("pdfaid") && has("/Subtype/Image"));
    // Made again, the same bytes.
    assert_eq!(prove(&desk, &["1125-04"]).1["hash"], proved["hash"]);
    // The picture lies in the archive as it was dropped.
    assert_eq!(fs::read(desk.path("archive/2026-11-25/1125 counter.png")).unwrap(), picture);
}

#[test]
fn of_a_parcel_with_nothing_recorded_there_is_a_proof_too() {
    let desk = listed();
    let (said, proved) = prove(&desk, &["1125-07"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(proved["state"], "listed");
    assert_eq!(proved["evidence"], json!({"sheets": 0, "postage": 0, "receipts": 0, "pictures": 0}));
    assert!(desk.path("outbox/proof-2026-1125-07.pdf").exists());
    let none = desk.run(&["proof", "1125-99"]);
    assert_eq!(none.code, Some(1));
    assert!(none.stderr.contains("there is no `1125-99` in the ledger"), "{none:?}");
    assert_eq!(desk.run(&["proof", "2025:1125-07"]).code, Some(1));
    assert_eq!(desk.run(&["proof", "2026:1125-07"]).code, Some(0));
}

#[test]
fn evidence_that_is_gone_or_changed_is_said() {
    let desk = listed();
    fs::write(desk.path("archive/2026-11-25/trade-okonjo.txt"), "Trade with: Somebody Else\n").unwrap();
    let (said, proved) = prove(&desk, &["1125-05"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    assert_eq!(proved["files"][0]["kept"], Value::Null);
    let said = desk.run(&["proof", "1125-05"]);
    assert!(said.stderr.contains("no file with the bytes of `trade-okonjo.txt` lies in archive/"), "{said:?}");
}

#[test]
fn the_same_row_in_an_overlapping_export_is_the_same_row() {
    let desk = listed();
    let counted = |taken: &Value| (taken["files"][0]["new"].clone(), taken["files"][0]["same"].clone());
    let tuesday = "LN402011713US,11/25/2026 16:01,Eastmere,5.25,2.1,32999\n,11/25/2026,Eastmere,5.25,2.0,23999\n,11/25/2026,Eastmere,5.25,2.0,23999\n";
    let first = take(&desk, &[("a.csv", format!("{RECEIPTS}{tuesday}").as_bytes())]);
    assert_eq!(counted(&first), (json!(3), json!(0)));
    // A row more, the order of the others changed, a price written otherwise, and the header in between.
    let second = format!(
        "{RECEIPTS},11/25/2026,Eastmere,$5.25,2.00,23999\n,11/25/2026,Eastmere,5.25,2.0,23999\n{RECEIPTS},11/25/2026,Eastmere,5.25,2.0,23999\n\
         LN402011713US,11/25/2026 16:01:30,Eastmere,5.25,2.1,32999\nLN402011758US,11/27/2026,Eastmere,5.25,1.9,97099\n"
    );
    let second = take(&desk, &[("b.csv", second.as_bytes())]);
    assert_eq!(counted(&second), (json!(1), json!(4)));
    assert_eq!(list(&desk, "receipts").len(), 4);
}

#[test]
fn a_receipt_for_an_unknown_parcel_stays_and_is_told_once() {
    let desk = listed();
    take(&desk, &[("a.csv", format!("{RECEIPTS}LN402011775US,11/25/2026,Eastmere,5.25,0.9,23999\n").as_bytes())]);
    desk.morning(NEXT_DAY);
    let told = "1 receipt row is kept, and not tied to a parcel: neither number nor ref is known here";
    let email = desk.read("outbox/2026-11-27/dispatch.txt").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(email.contains(told), "{email}");
    assert!(desk.run(&["list", "receipts"]).stdout.contains("1 row is kept, and not tied to a parcel"));
    desk.morning("2026-11-28T06:30");
    assert!(!desk.read("outbox/2026-11-28/dispatch.txt").contains("not tied"));
    // The number becomes known: the row is tied, and its parcel accepted.
    let sheet = handoff("handoff 2026-11-25 r1,1125-07,,,,,,,LN 402 011 775 US,,2026-11-25,,\n");
    take(&desk, &[("sheet.csv", &sheet)]);
    assert_eq!(list(&desk, "receipts")[0]["by"], "tracking");
    assert_eq!(parcel(&desk, "1125-07")["state"], "accepted");
}

#[test]
fn a_receipt_records_a_hand_off_that_nobody_did_and_the_sheet_puts_its_own_day_in_its_place() {
    let desk = listed();
    let labels = format!("{LABELS}LN402011713US,1125-01,11/25/2026,5.25,Small parcel,4 oz,Amadou Keïta,32999\n");
    let receipts = format!("{RECEIPTS}LN402011713US,11/27/2026,Eastmere,5.25,2.1,32999\n");
    take(&desk, &[("labels.csv", labels.as_bytes()), ("receipts.csv", receipts.as_bytes())]);
    let one = parcel(&desk, "1125-01");
    assert_eq!((&one["state"], &one["handed_over_on"]), (&json!("accepted"), &json!("2026-11-27")));
    let listed_earlier = desk.morning(NEXT_DAY)["listed_earlier"].clone();
    assert!(listed_earlier.as_array().unwrap().iter().all(|parcel| parcel["ref"] != "1125-01"), "{listed_earlier}");
    take(&desk, &[("sheet.csv", &handoff("handoff 2026-11-25 r1,1125-01,,,,,,,,,2026-11-25,,\n"))]);
    let one = parcel(&desk, "1125-01");
    assert_eq!((&one["state"], &one["handed_over_on"]), (&json!("accepted"), &json!("2026-11-25")));
}

#[test]
fn a_receipt_for_a_cancelled_parcel_changes_nothing_and_is_an_alarm() {
    let desk = listed();
    assert_eq!(desk.run(&["cancel", "stall:1007"]).code, Some(0));
    let labels = format!("{LABELS}LN402011775US,1125-07,11/25/2026,5.25,Small parcel,4 oz,Hollis Marchetti,23999\n");
    let receipts = format!("{RECEIPTS}LN402011775US,11/25/2026,Eastmere,5.25,0.9,23999\n");
    take(&desk, &[("labels.csv", labels.as_bytes()), ("receipts.csv", receipts.as_bytes())]);
    assert_eq!(parcel(&desk, "1125-07")["state"], "cancelled");
    desk.morning(NEXT_DAY);
    let email = desk.read("outbox/2026-11-27/dispatch.txt").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(email.contains("the carrier accepted parcel 1125-07, which is cancelled here"), "{email}");
}

#[test]
fn a_row_that_says_two_parcels_is_tied_to_neither_and_one_of_another_year_to_none() {
    let desk = listed();
    take(&desk, &[("sheet.csv", &handoff("handoff 2026-11-25 r1,1125-01,,,,,,,LN402011713US,,2026-11-25,,\n"))]);
    let labels = format!(
        "{LABELS}LN402011713US,1125-02,11/25/2026,5.25,,,,\nLN402011727US,1125-02,11/25/2027,14.50,,,,\n\
         LN402011735US,1125-03,11/24/2026,5.25,,,,\n"
    );
    take(&desk, &[("labels.csv", labels.as_bytes())]);
    assert!(list(&desk, "postage").iter().all(|row| row["state"] == "untied"), "{:?}", list(&desk, "postage"));
}

#[test]
fn a_picture_whose_name_tells_nothing_is_asked_about_once_and_remembered() {
    let desk = listed();
    let picture = sample("1125 counter.png");
    take(
        &desk,
        &[("sheet.csv", &handoff("handoff 2026-11-25 r1,1125-01,,,,,,,,,2026-11-25,,\n")), ("IMG_1125.png", &picture)],
    );
    assert_eq!(list(&desk, "pictures")[0]["state"], "untied");
    let manifest = desk.morning(NEXT_DAY);
    let asked =
        manifest["questions"].as_array().unwrap().iter().find(|asked| asked["kind"] == "receipt-picture").unwrap();
    assert_eq!((&asked["about"], &asked["choices"]), (&json!(["IMG_1125.png"]), &json!(["2026-11-25", "none"])));
    assert_eq!(prove(&desk, &["1125-01"]).1["evidence"]["pictures"], 0);
    let id = asked["id"].as_str().unwrap();
    assert_eq!(desk.run(&["answer", id, "2026-11-24"]).code, Some(1));
    assert_eq!(desk.run(&["answer", id, "2026-11-25"]).code, Some(0));
    assert_eq!(prove(&desk, &["1125-01"]).1["evidence"]["pictures"], 1);
    // Of a parcel that was not handed over that day it is no evidence.
    assert_eq!(prove(&desk, &["1125-02"]).1["evidence"]["pictures"], 0);
    take(&desk, &[("copy.png", &picture)]);
    let manifest = desk.morning("2026-11-28T06:30");
    assert!(manifest["questions"].as_array().unwrap().iter().all(|asked| asked["kind"] != "receipt-picture"));
}

#[test]
fn a_picture_named_by_refs_is_those_parcels_and_a_damaged_one_is_refused() {
    let desk = listed();
    let picture = sample("1125 counter.png");
    let taken = take(&desk, &[("1125-02 1125-03.png", &picture), ("cut.png", &picture[..picture.len() / 2])]);
    assert_eq!(list(&desk, "pictures")[0]["parcels"], json!(["1125-02", "1125-03"]));
    let why = taken["refused"][0]["reason"].as_str().unwrap();
    assert!(why.contains("damaged"), "{why}");
    assert_eq!(desk.names("refused/2026-11-25"), ["cut.png", "cut.png.why.txt", "stall-week-48.csv.refused.csv"]);
    let counts = ["1125-01", "1125-02", "1125-03"].map(|name| prove(&desk, &[name]).1["evidence"]["pictures"].clone());
    assert_eq!(counts, [0, 1, 1]);
}
