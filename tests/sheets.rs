//! Filled-in sheets whose rows fit nothing in the ledger: refused like what can't be read, never half taken.

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const THEIRS_FIRST: &str = "Trade with: Ines\nAddress:\n  1 Quay\n  Eastmere, ME 04999\nAgreed: 2026-11-20\n\
                            First to send: them\nI send:\n  1 x PUFFIN\n";

/// What `take-in` says of a sheet dropped under that name.
fn taken(desk: &Desk, name: &str, sheet: &str) -> Value {
    desk.drop(name, sheet.as_bytes());
    let said = desk.run(&["take-in", "--json"]);
    serde_json::from_str(&said.stdout).unwrap()
}

#[test]
fn what_has_not_come_yet_releases_nothing() {
    let desk = Desk::new();
    desk.drop("t.txt", THEIRS_FIRST.as_bytes());
    assert_eq!(desk.morning(NOW)["held"][0]["reason"], "theirs-first");
    let by_command = desk.run(&["arrived", "T-0001", "--on", "2026-11-26"]);
    assert_eq!(by_command.code, Some(1));
    assert!(by_command.stderr.contains("still to come, as today is Wed 25 Nov 2026"), "{by_command:?}");
    let row = |day: &str| format!("sheet,trade,from,expected,arrived_on,condition,note\n2026-11-25,T-0001,,,{day},,\n");
    let said = taken(&desk, "incoming.csv", &row("2027-11-24"));
    let refused = &said["refused"][0];
    assert_eq!(
        [&refused["line"], &refused["column"], &refused["value"]],
        [&json!(2), &json!("arrived_on"), &json!("2027-11-24")]
    );
    assert_eq!(said["files"][0]["rows"], json!({"read": 1, "taken": 0, "refused": 1, "skipped": 0}));
    let manifest = desk.morning("2026-11-25T09:00");
    assert_eq!(manifest["held"][0]["reason"], "theirs-first", "{manifest}");
    // The row comes back to be mended, and then goes in.
    let back = desk.read("refused/2026-11-25/incoming.csv.refused.csv");
    taken(&desk, "mended.csv", &back.replace("2027-11-24", "2026-11-24"));
    let manifest = desk.morning("2026-11-27T06:30");
    assert_eq!(manifest["parcels"][0]["trades"], json!(["T-0001"]), "{manifest}");
}

#[test]
fn what_is_to_be_handed_over_is_not_handed_over() {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    let sheet = desk.read("outbox/2026-11-25/handoff.csv");
    let header = sheet.lines().next().unwrap();
    let column = header.split(',').position(|name| name == "handed_over_on").unwrap();
    let mut cells = vec![""; header.split(',').count()];
    cells[0] = "2026-11-25";
    cells[1] = "1125-01";
    cells[column] = "2026-12-25";
    let said = taken(&desk, "handoff.csv", &format!("{header}\n{}\n", cells.join(",")));
    assert_eq!(said["refused"][0]["column"], "handed_over_on", "{said}");
    assert_eq!(desk.json(&["list", "parcels", "--json"])["parcels"][0]["state"], "listed");
}

/// A sheet of which a row was refused is read again when it is dropped again: by then the question may be there.
#[test]
fn an_answer_that_fits_no_question_is_refused_and_counted_so() {
    let desk = Desk::new();
    let sheet = "sheet,question,about,asks,choices,answer\n2026-11-25,Q-0009,,,,together\n";
    for name in ["questions.csv", "again.csv"] {
        let said = taken(&desk, name, sheet);
        assert_eq!(said["files"][0]["outcome"], "taken");
        assert_eq!(said["files"][0]["rows"], json!({"read": 1, "taken": 0, "refused": 1, "skipped": 0}));
        assert_eq!(said["refused"][0]["column"], "question");
    }
    let back = desk.read("refused/2026-11-25/questions.csv.refused.csv");
    assert!(back.contains("Q-0009") && back.contains("there is no question `Q-0009`"), "{back}");
}

const HANDOFF: &str =
    "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";

/// RR123456785US is right by UPU S10 (8·1 + 6·2 + 4·3 + 2·4 + 3·5 + 5·6 + 9·7 + 7·8 = 204, and 11 − 204 mod 11 = 5).
#[test]
fn a_number_typed_wrong_or_twice_is_told_at_once() {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    let row = |parcel: &str, number: &str| format!("2026-11-25,{parcel},,,,,,,{number},,2026-11-25,,\n");
    let said = taken(&desk, "a.csv", &format!("{HANDOFF}{}", row("1125-01", "RR123456786US")));
    assert_eq!(said["refused"], json!([]));
    desk.drop("b.csv", format!("{HANDOFF}{}", row("1125-02", "RR123456786US")).as_bytes());
    let manifest = desk.morning("2026-11-27T06:30");
    let remark = manifest["remarks"].to_string();
    assert!(remark.contains("1125-01: `RR123456786US` has a check digit that does not hold"), "{remark}");
    assert!(remark.contains("`RR123456786US` was written for parcel 1125-01 too"), "{remark}");
}

#[test]
fn nothing_is_handed_over_before_it_was_listed() {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    let said = taken(&desk, "a.csv", &format!("{HANDOFF},1125-01,,,,,,,,,2026-10-01,,\n"));
    assert_eq!(said["refused"][0]["column"], "handed_over_on", "{said}");
}

/// By command or by sheet, what was said stands in the next email, once.
#[test]
fn what_was_said_is_told_in_the_next_email() {
    let desk = Desk::with_sample_drops();
    desk.morning(NOW);
    desk.run(&["hold", "stall:1002", "--until", "2026-12-04", "--note", "asked about the colour"]);
    desk.run(&["arrived", "T-0001", "--on", "2026-11-24"]);
    taken(&desk, "incoming.csv", "sheet,trade,from,expected,arrived_on,condition,note\n,T-0001,,,2026-11-24,,\n");
    desk.run(&["cancel", "stall:1008"]);
    let manifest = desk.morning("2026-11-27T06:30");
    let said: Vec<&str> =
        manifest["said"].as_array().unwrap().iter().map(|said| said["text"].as_str().unwrap()).collect();
    assert_eq!(
        said,
        [
            "stall:1002: held until Fri 4 Dec: “asked about the colour”",
            "T-0001: Casper Brandvold’s half came on Tue 24 Nov",
            "stall:1008: called off",
        ]
    );
    let email = desk.read("outbox/2026-11-27/dispatch.txt");
    assert!(email.contains("YOU SAID SINCE THE LAST EMAIL\n  stall:1002: held until"), "{email}");
    assert_eq!(desk.morning("2026-11-28T06:30")["said"], json!([]));
}

/// Dropped again after a mend that was not enough, the same file is refused again, and the email says so again.
#[test]
fn what_is_refused_again_is_told_again() {
    let desk = Desk::new();
    let sheet = "sheet,question,about,asks,choices,answer\n2026-11-25,Q-0009,,,,together\n";
    let told = |now: &str| desk.morning(now)["refused"].as_array().unwrap().len();
    desk.drop("questions.csv", sheet.as_bytes());
    assert_eq!(told(NOW), 1);
    assert_eq!(told("2026-11-26T06:30"), 0);
    desk.drop("questions.csv", sheet.as_bytes());
    assert_eq!(told("2026-11-27T06:30"), 1);
    assert!(desk.read("outbox/2026-11-27/dispatch.txt").contains("questions.csv"));
}
