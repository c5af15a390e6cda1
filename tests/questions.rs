//! What the seller says by answers, holds and sheets, and that it takes effect, through the real program.

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const HEAD: &str = "Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each\n";
const NEXT_DAY: &str = "2026-11-26T06:30";

fn drop(desk: &Desk, name: &str, rows: &[(&str, &str, &str)]) {
    let row = |(number, name, code): &(&str, &str, &str)| {
        format!("{number},11/25/2026,11/25/2026,settled,{name},88 Tern Street,Brackwater,MA,01999,US,{code},1,9.00\n")
    };
    desk.drop(name, format!("{HEAD}{}", rows.iter().map(row).collect::<String>()).as_bytes());
}

/// A number with a space in it is one number.
#[test]
fn an_order_number_with_a_space_is_answered_like_any_other() {
    for (answer, orders) in
        [("another", vec!["stall:A", "stall:A 7", "stall:A 7~2"]), ("same", vec!["stall:A", "stall:A 7"])]
    {
        let desk = Desk::new();
        drop(&desk, "a.csv", &[("A 7", "Ines Okonjo", "PUFFIN"), ("A", "Ines Okonjo", "GULL-SET")]);
        drop(&desk, "b.csv", &[("A 7", "Bo Lind", "EIDER")]);
        desk.edit("inbox/b.csv", "88 Tern Street,Brackwater", "2 Quay,Fogport");
        assert_eq!(desk.morning(NOW)["questions"][0]["kind"], "reused-number");
        let said = desk.run(&["answer", "Q-0001", answer]);
        assert_eq!(said.code, Some(0), "{said:?}");
        let manifest = desk.morning(NEXT_DAY);
        let asks = manifest["questions"].as_array().unwrap().iter().filter(|asked| asked["kind"] == "reused-number");
        assert_eq!(asks.count(), 0, "{manifest}");
        let listed = desk.json(&["list", "orders", "--json"]);
        let ids: Vec<&str> =
            listed["orders"].as_array().unwrap().iter().map(|row| row["id"].as_str().unwrap()).collect();
        assert_eq!(ids, orders);
    }
}

/// The same, of two sources: that `A 7` is the same as another's says nothing of `A`.
#[test]
fn the_same_order_of_two_sources_is_that_order_and_no_other() {
    let desk = Desk::new();
    drop(&desk, "a.csv", &[("A 7", "Ines Okonjo", "PUFFIN")]);
    desk.morning(NOW);
    let quay = "Zettel;Tag;Gezahlt am;Stand;Empfang;Weg;Ort;Gegend;Leitzahl;Land;Nadel;Stück;Stückpreis\n\
                A 7;23.11.2026;23.11.2026;bezahlt;Okonjo, Ines;88 Tern St.;Brackwater;MA;01999;US;PUFFIN;1;9,00\n\
                A;23.11.2026;23.11.2026;bezahlt;Bo Lind;2 Quay;Fogport;ME;04997;US;EIDER;1;9,00\n";
    desk.drop("q.csv", quay.as_bytes());
    // Only `A 7` is asked about; `A` goes.
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(manifest["questions"][0]["kind"], "same-order", "{manifest}");
    assert_eq!(manifest["parcels"][0]["orders"], serde_json::json!(["quay:A"]));
    assert_eq!(desk.run(&["answer", "Q-0001", "same"]).code, Some(0));
    let manifest = desk.morning("2026-11-27T06:30");
    assert_eq!(
        (&manifest["questions"], &manifest["held"]),
        (&serde_json::json!([]), &serde_json::json!([])),
        "{manifest}"
    );
    assert_eq!(manifest["parcels"], serde_json::json!([]));
}

/// However a trade is written, it is the same trade.
#[test]
fn a_trade_is_held_and_cancelled_however_it_is_written() {
    let desk = Desk::new();
    drop(&desk, "a.csv", &[("7", "Bo Lind", "EIDER")]);
    let trade = "Trade with: Ines Okonjo\nAddress:\n  88 Tern Street\n  Brackwater, MA 01999\nAgreed: 2026-11-20\n\
                 Send by: 2026-11-28\nI send:\n  1 x PUFFIN\n";
    desk.drop("trade.txt", trade.as_bytes());
    assert_eq!(desk.run(&["take-in"]).code, Some(0));
    let said = desk.run(&["hold", "t-1"]);
    assert!(said.code == Some(0) && said.stdout.contains("T-0001 is held"), "{said:?}");
    assert_eq!(desk.run(&["hold", "stall:7", "--with", "t-0001"]).code, Some(0));
    let manifest = desk.morning(NOW);
    let held: Vec<&str> =
        manifest["held"].as_array().unwrap().iter().map(|held| held["id"].as_str().unwrap()).collect();
    assert_eq!(held, ["T-0001", "stall:7"], "{manifest}");
    assert_eq!(desk.run(&["release", "t-01"]).code, Some(0));
    let said = desk.run(&["cancel", "t-1"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(desk.json(&["list", "trades", "--json"])["trades"][0]["state"], "cancelled");
    assert_eq!(desk.run(&["hold", "nonsense"]).code, Some(2));
    assert_eq!(desk.run(&["hold", "T-0009"]).code, Some(1));
}

/// What `take-in` says of the rows of a sheet dropped under that name.
fn taken(desk: &Desk, name: &str, sheet: &str) -> Value {
    desk.drop(name, sheet.as_bytes());
    let said = desk.run(&["take-in", "--json"]);
    serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{error}: {said:?}"))
}

fn answers(rows: &[(&str, &str)]) -> String {
    let row = |(question, answer): &(&str, &str)| format!("2026-11-26,{question},,,,{answer}\n");
    format!("sheet,question,about,asks,choices,answer\n{}", rows.iter().map(row).collect::<String>())
}

/// Order 7 in parcel 1125-01 on the table, and the question whether order 8 goes with it.
fn asked_about_a_parcel_on_the_table() -> Desk {
    let desk = Desk::new();
    drop(&desk, "a.csv", &[("7", "Ines Okonjo", "PUFFIN")]);
    desk.morning(NOW);
    drop(&desk, "b.csv", &[("8", "Ines Okonjo", "EIDER"), ("9", "Bo Lind", "PUFFINN")]);
    let manifest = desk.morning(NEXT_DAY);
    let asks: Vec<&str> =
        manifest["questions"].as_array().unwrap().iter().map(|asked| asked["kind"].as_str().unwrap()).collect();
    assert!(asks.contains(&"open-parcel") && asks.contains(&"article"), "{manifest}");
    desk
}

fn number(desk: &Desk, kind: &str) -> String {
    let listed = desk.json(&["list", "questions", "--json"]);
    let asked = listed["questions"].as_array().unwrap().iter().find(|asked| asked["kind"] == kind).unwrap();
    asked["id"].as_str().unwrap().to_owned()
}

fn state(desk: &Desk, parcel: &str) -> String {
    let listed = desk.json(&["list", "parcels", "--json"]);
    let row = listed["parcels"].as_array().unwrap().iter().find(|row| row["ref"] == parcel).unwrap();
    row["state"].as_str().unwrap().to_owned()
}

fn handed_over(desk: &Desk) -> String {
    desk.read("outbox/2026-11-25/handoff.csv").replace(",oz,,,,,", ",oz,,5.25,2026-11-25,counter,")
}

/// A sheet is filled in bit by bit and dropped each time.
#[test]
fn an_answer_given_twice_is_taken_twice() {
    let desk = asked_about_a_parcel_on_the_table();
    let (open, article) = (number(&desk, "open-parcel"), number(&desk, "article"));
    let said = taken(&desk, "questions.csv", &answers(&[(&open, "with-it")]));
    assert_eq!(said["files"][0]["rows"]["taken"], 1, "{said}");
    let said = taken(&desk, "questions.csv", &answers(&[(&open, "With-It"), (&article, "PUFFIN")]));
    assert_eq!(said["files"][0]["rows"], json!({"read": 2, "taken": 2, "refused": 0, "skipped": 0}), "{said}");
    // Another answer does come too late once the parcel has gone.
    assert_eq!(desk.run(&["answer", &open, "apart"]).code, Some(0));
    taken(&desk, "handoff.csv", &handed_over(&desk));
    assert_eq!(desk.run(&["answer", &open, "with-it"]).code, Some(1));
}

/// The sheets are taken in by name, `questions.csv` maybe first: that a parcel went is a fact all the same.
#[test]
fn a_cancelled_parcel_that_did_go_is_handed_over() {
    let desk = asked_about_a_parcel_on_the_table();
    let open = number(&desk, "open-parcel");
    taken(&desk, "questions.csv", &answers(&[(&open, "with-it")]));
    assert_eq!(state(&desk, "1125-01"), "listed");
    let said = taken(&desk, "handoff.csv", &handed_over(&desk));
    assert_eq!(said["files"][0]["rows"]["refused"], 0, "{said}");
    assert_eq!(state(&desk, "1125-01"), "handed-over");
    let manifest = desk.morning("2026-11-28T06:30");
    assert_eq!(manifest["parcels"][0]["orders"], json!(["stall:8"]), "{manifest}");
    assert_eq!(manifest["parcels"].as_array().unwrap().len(), 1, "{manifest}");
}

/// What was packed anew can't have gone in the old parcel too: what to do is said, and works.
#[test]
fn a_cancelled_parcel_whose_goods_lie_in_another_is_refused_with_a_way() {
    let desk = asked_about_a_parcel_on_the_table();
    let open = number(&desk, "open-parcel");
    taken(&desk, "questions.csv", &answers(&[(&open, "with-it")]));
    let manifest = desk.morning("2026-11-28T06:30");
    assert_eq!(manifest["parcels"][0]["orders"], json!(["stall:7", "stall:8"]), "{manifest}");
    let sheet = handed_over(&desk);
    let said = taken(&desk, "handoff.csv", &sheet);
    let reason = said["refused"][0]["reason"].as_str().unwrap();
    assert_eq!(
        reason,
        "parcel 1125-01 was cancelled, and stall:7 is packed anew in 1128-01; if 1125-01 did go, keep 1128-01 back: run \
         `dawnpack cancel stall:7`, then drop this row again"
    );
    assert_eq!(state(&desk, "1125-01"), "cancelled");
    assert_eq!(desk.run(&["cancel", "stall:7"]).code, Some(0));
    let said = taken(&desk, "handoff.csv", &format!("{sheet}\n"));
    assert_eq!(said["files"][0]["rows"]["refused"], 0, "{said}");
    assert_eq!((state(&desk, "1125-01").as_str(), state(&desk, "1128-01").as_str()), ("handed-over", "cancelled"));
}
