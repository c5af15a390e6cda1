//! The life of an order over the exports that tell of it, through the real program.

use serde_json::Value;

use crate::desk::{Desk, NOW};

const HEAD: &str =
    "Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Writes from,Pin code,How many,Each,In all\n";
const NEXT_DAY: &str = "2026-11-26T06:30";

/// A row of order 7: by default one puffin for Ines.
struct Row {
    standing: &'static str,
    name: &'static str,
    door: &'static str,
    code: &'static str,
    count: u32,
}

const INES: Row = Row { standing: "settled", name: "Ines Okonjo", door: "88 Tern Street", code: "PUFFIN", count: 1 };

fn export(rows: &[Row]) -> String {
    let row = |row: &Row| {
        format!(
            "7,11/23/2026,11/23/2026,{},{},{},Brackwater,MA,01999,US,,{},{},9.00,9.00\n",
            row.standing, row.name, row.door, row.code, row.count
        )
    };
    format!("{HEAD}{}", rows.iter().map(row).collect::<String>())
}

fn home() -> Desk {
    let desk = Desk::new();
    desk.edit(
        "columns/stall.toml",
        "\"owing\" = \"unpaid\"",
        "\"owing\" = \"unpaid\"\n\"part back\" = \"part-refunded\"\n\"gone\" = \"sent\"",
    );
    desk
}

fn refs(manifest: &Value) -> Vec<&str> {
    manifest["parcels"].as_array().unwrap().iter().map(|parcel| parcel["ref"].as_str().unwrap()).collect()
}

#[test]
fn what_changed_before_its_hand_off_is_told_the_next_day() {
    let desk = home();
    // Unpaid, so that it is in no parcel yet.
    desk.drop("a.csv", export(&[Row { standing: "owing", ..INES }]).as_bytes());
    assert_eq!(desk.morning(NOW)["changed"].as_array().unwrap().len(), 0);
    let rows = [Row { door: "90 Tern Street", count: 2, ..INES }, Row { code: "EIDER", ..INES }];
    desk.drop("b.csv", export(&rows).replace("88 Tern", "90 Tern").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    let changed = &manifest["changed"][0];
    assert_eq!((changed["id"].as_str(), changed["parcel"].as_str()), (Some("stall:7"), None));
    assert_eq!(
        changed["what"],
        serde_json::json!([
            "address: 90 Tern Street, Brackwater MA 01999, US, was 88 Tern Street, Brackwater MA 01999, US",
            "2 × PUFFIN, was 1",
            "also 1 × EIDER"
        ])
    );
    let text = desk.read("outbox/2026-11-26/dispatch.txt");
    assert!(text.contains("CHANGED SINCE THE LAST LIST") && text.contains("2 × PUFFIN, was 1"), "{text}");
    assert_eq!(refs(&manifest), ["1126-01"]);
    // Told once.
    desk.drop(
        "c.csv",
        export(&[Row { standing: "called off", name: "Bo", ..INES }]).replace("\n7,", "\n8,").as_bytes(),
    );
    assert!(!desk.read("outbox/2026-11-26/dispatch.txt").contains("stall:8"));
    assert_eq!(desk.morning("2026-11-27T06:30")["changed"].as_array().unwrap().len(), 0);
}

/// Whoever has not been told of an order has nothing to be told of its change.
#[test]
fn what_changed_before_the_first_list_is_no_change() {
    let desk = home();
    desk.drop("a.csv", export(&[INES]).as_bytes());
    desk.drop("b.csv", export(&[Row { count: 2, ..INES }]).as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(manifest["changed"], serde_json::json!([]));
    assert_eq!(manifest["totals"]["items"], 2);
}

/// A source that lists only what is still to go leaves out what is in a parcel; it was not called off.
#[test]
fn a_line_in_a_parcel_that_its_source_no_longer_lists_is_no_change() {
    let desk = home();
    desk.drop("a.csv", export(&[INES]).as_bytes());
    desk.morning(NOW);
    desk.drop("b.csv", export(&[Row { code: "EIDER", ..INES }]).as_bytes());
    assert_eq!(desk.morning(NEXT_DAY)["changed"][0]["what"], serde_json::json!(["also 1 × EIDER"]));
}

#[test]
fn what_changed_after_its_hand_off_is_an_alarm() {
    let desk = home();
    desk.drop("a.csv", export(&[INES]).as_bytes());
    assert_eq!(refs(&desk.morning(NOW)), ["1125-01"]);
    let sheet = desk.read("outbox/2026-11-25/handoff.csv");
    desk.drop("handoff.csv", sheet.replace(",oz,,,,,", ",oz,,5.25,2026-11-25,counter,").as_bytes());
    desk.drop("b.csv", export(&[Row { door: "90 Tern Street", ..INES }]).as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(manifest["changed"][0]["handed_over"], true, "{manifest}");
    assert_eq!(refs(&manifest), Vec::<&str>::new());
    let text = desk.read("outbox/2026-11-26/dispatch.txt");
    let first = text.split("\n\n").nth(1).unwrap();
    assert!(first.contains("YOURS TO DECIDE: 1 thing needs you"), "{text}");
    assert!(text.contains("stall:7 changed after parcel 1125-01 was handed over"), "{text}");
}

/// Shops that begin to count anew use their numbers twice.
#[test]
fn a_number_that_comes_for_somebody_else_is_asked_and_then_known() {
    for (answer, first, second) in [("another", "Ines Okonjo", Some("stall:7~2")), ("same", "Bo Lind", None)] {
        let desk = home();
        let bo = [Row { name: "Bo Lind", door: "2 Quay", code: "EIDER", ..INES }];
        desk.drop("a.csv", export(&[Row { standing: "owing", ..INES }]).as_bytes());
        desk.drop("b.csv", export(&bo).as_bytes());
        let manifest = desk.morning(NOW);
        assert_eq!(refs(&manifest), Vec::<&str>::new(), "{manifest}");
        let question = &manifest["questions"][0];
        assert_eq!(question["kind"], "reused-number");
        assert_eq!(
            question["text"],
            "stall:7 came again for Bo Lind, 2 Quay, Brackwater; it was for Ines Okonjo, 88 Tern Street, Brackwater. \
             Is it the same order with a new recipient, or another order?"
        );
        assert_eq!(desk.run(&["answer", question["id"].as_str().unwrap(), answer]).code, Some(0));
        // Both exports again, each with a blank line more so that they are other files.
        desk.drop("z2.csv", format!("{}\n", export(&[INES])).as_bytes());
        desk.drop("b2.csv", format!("{}\n", export(&bo)).as_bytes());
        let manifest = desk.morning(NEXT_DAY);
        // One order of a puffin and, in another export, of an eider may be of one thing: that is asked next.
        let asked: Vec<&Value> = manifest["questions"].as_array().unwrap().iter().map(|q| &q["kind"]).collect();
        assert_eq!(asked, vec!["changed"; usize::from(answer == "same")], "{manifest}");
        let orders = desk.json(&["list", "orders", "--json"]);
        let orders = orders["orders"].as_array().unwrap();
        assert_eq!((orders[0]["id"].as_str(), orders[0]["name"].as_str()), (Some("stall:7"), Some(first)));
        assert_eq!(orders.get(1).and_then(|order| order["id"].as_str()), second, "{orders:?}");
        // What was answered has had its effect.
        let turned = if answer == "same" { "another" } else { "same" };
        assert_eq!(desk.run(&["answer", "Q-0001", turned]).code, Some(1));
    }
}

#[test]
fn what_is_left_of_a_partly_refunded_order_is_asked() {
    for (answer, goods) in [("all", 3), ("still-listed", 2), ("leave", 0)] {
        let desk = home();
        let two = |standing| [Row { standing, count: 2, ..INES }, Row { standing, code: "EIDER", ..INES }];
        desk.drop("a.csv", export(&two("owing")).as_bytes());
        desk.morning(NOW);
        desk.drop("b.csv", export(&[Row { standing: "part back", count: 2, ..INES }]).as_bytes());
        let manifest = desk.morning(NEXT_DAY);
        assert_eq!(refs(&manifest), Vec::<&str>::new());
        let question = &manifest["questions"][0];
        assert_eq!(
            question["text"],
            "stall:7 was partly refunded: send 2 × PUFFIN, 1 × EIDER (its latest export has no 1 × EIDER)?"
        );
        assert_eq!(question["choices"], serde_json::json!(["all", "still-listed", "leave"]));
        assert_eq!(desk.run(&["answer", question["id"].as_str().unwrap(), answer]).code, Some(0));
        let manifest = desk.morning("2026-11-27T06:30");
        assert_eq!(manifest["totals"]["items"], goods, "{answer}: {manifest}");
    }
}

/// What a source has as sent is never packed, whoever sent it; what dawnpack has in a parcel stays there.
#[test]
fn what_is_sent_by_the_sources_word_is_not_packed() {
    let desk = home();
    desk.drop("a.csv", export(&[Row { standing: "gone", ..INES }]).as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!((refs(&manifest).len(), manifest["held"].as_array().unwrap().len()), (0, 0));
    assert_eq!(desk.json(&["list", "orders", "--json"])["orders"][0]["state"], "sent");
}

/// The same order told by two sources, such as an export read with a map and one read without.
#[test]
fn one_order_of_two_sources_is_asked_before_it_goes_twice() {
    for (answer, parcels) in [("same", 0), ("another", 1)] {
        let desk = home();
        desk.drop("a.csv", export(&[INES]).as_bytes());
        assert_eq!(refs(&desk.morning(NOW)), ["1125-01"]);
        let quay = "Zettel;Tag;Gezahlt am;Stand;Empfang;Weg;Ort;Gegend;Leitzahl;Land;Nadel;Stück;Stückpreis\n\
                    7;23.11.2026;23.11.2026;bezahlt;Okonjo, Ines;88 Tern St.;Brackwater;MA;01999;US;PUFFIN;1;9,00\n";
        desk.drop("q.csv", quay.as_bytes());
        let manifest = desk.morning(NEXT_DAY);
        assert_eq!(refs(&manifest), Vec::<&str>::new(), "{manifest}");
        assert_eq!(manifest["held"][0]["id"], "quay:7");
        assert_eq!(manifest["questions"][0]["kind"], "same-order");
        assert_eq!(desk.run(&["answer", "Q-0001", answer]).code, Some(0));
        let manifest = desk.morning("2026-11-27T06:30");
        assert_eq!(refs(&manifest).len(), parcels, "{manifest}");
        assert_eq!(manifest["held"].as_array().unwrap().len(), 0);
    }
}

/// A file that changed and of which a part was listed already sends nothing twice.
#[test]
fn a_changed_and_partly_shipped_order_never_ships_a_line_twice() {
    let desk = home();
    desk.drop("a.csv", export(&[INES]).as_bytes());
    desk.morning(NOW);
    desk.drop("b.csv", export(&[Row { count: 3, ..INES }]).as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(refs(&manifest), Vec::<&str>::new());
    assert_eq!(desk.run(&["answer", "Q-0001", "send"]).code, Some(0));
    let manifest = desk.morning("2026-11-27T06:30");
    assert_eq!(manifest["parcels"][0]["items"][0]["quantity"], 2, "{manifest}");
    assert_eq!(desk.json(&["list", "orders", "--json"])["orders"][0]["listed"], 3);
}

/// What is called off once it lies in parcels must not go: it stands first in the email, counts among what needs the
/// seller, and is told each day until it is taken out of all of them.
#[test]
fn what_is_called_off_in_a_parcel_stops_it() {
    let desk = home();
    desk.drop("a.csv", export(&[INES]).as_bytes());
    assert_eq!(refs(&desk.morning(NOW)), ["1125-01"]);
    desk.drop("b.csv", export(&[INES, Row { code: "EIDER", ..INES }]).as_bytes());
    desk.morning(NEXT_DAY);
    assert_eq!(desk.run(&["answer", "Q-0001", "send"]).code, Some(0));
    assert_eq!(refs(&desk.morning("2026-11-27T06:30")), ["1127-01"]);
    let off = |count| export(&[Row { standing: "called off", count, ..INES }]);
    desk.drop("c.csv", off(1).as_bytes());
    for day in ["2026-11-28", "2026-11-30"] {
        let said = desk.run_at(&format!("{day}T06:30"), &["morning"]);
        assert_eq!(said.code, Some(3), "{said:?}");
        let manifest: Value = serde_json::from_str(&desk.read(&format!("outbox/{day}/manifest.json"))).unwrap();
        assert_eq!(
            manifest["called_off"],
            serde_json::json!([{"id": "stall:7", "name": "Ines Okonjo", "state": "cancelled",
                                "listed_in": ["1125-01", "1127-01"], "went_in": []}])
        );
        let text = desk.read(&format!("outbox/{day}/dispatch.txt"));
        // As it is read, whatever lines it is broken into.
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            text.contains(
                "YOURS TO DECIDE: 1 thing needs you Q-0002 Do not send: 1125-01 and 1127-01 for Ines Okonjo hold \
                 stall:7, which was cancelled; nothing else lies there. Unpack them, or did they go already? (stall:7) \
                 [pack-anew or went]"
            ),
            "{text}"
        );
        let called_off = "stall:7 Ines Okonjo: cancelled, and it is in parcels 1125-01 and 1127-01: do not send it";
        assert!(text.contains(called_off), "{text}");
        // Run again, nothing is new.
        desk.run_at(&format!("{day}T09:00"), &["morning"]);
    }
    let subjects = desk.json(&["list", "mail", "--json"]);
    let subjects: Vec<&str> =
        subjects["mail"].as_array().unwrap().iter().filter_map(|mail| mail["subject"].as_str()).collect();
    assert_eq!(subjects.len(), 5, "{subjects:?}");
    assert!(subjects[4].contains("1 thing needs you"), "{subjects:?}");
    assert_eq!(desk.run(&["cancel", "stall:7"]).code, Some(0));
    let said = desk.run_at("2026-12-01T06:30", &["morning"]);
    assert_eq!(said.code, Some(0), "{said:?}");
}
