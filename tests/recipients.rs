//! Who is one recipient, and addresses that can't be right, through the real program.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const HEAD: &str = "Slip,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each\n";
/// A holiday: nothing is handed over, and nothing falls due before Saturday.
const THANKSGIVING: &str = "2026-11-26T06:30";
const SATURDAY: &str = "2026-11-28T06:30";

/// An order paid on the 25th, so that it may wait till Saturday the 28th.
fn row(number: u32, name: &str, address: &str) -> String {
    format!("{number},11/25/2026,settled,{name},{address},US,PUFFIN,1,9.00\n")
}

fn drop(desk: &Desk, name: &str, rows: &[String]) {
    desk.drop(name, format!("{HEAD}{}", rows.concat()).as_bytes());
}

fn parcels(manifest: &Value) -> Vec<&Value> {
    manifest["parcels"].as_array().unwrap().iter().map(|parcel| &parcel["orders"]).collect()
}

const INES: &str = "88 Tern Street Apt 4,Gullhaven,OR,97099";

#[test]
fn lawful_ways_of_writing_one_address_share_a_parcel_and_say_why() {
    let desk = Desk::new();
    drop(
        &desk,
        "a.csv",
        &[
            row(1, "Ines Okonjo", INES),
            row(2, "INES OKONJO", "\"88 Tern St., #4\",Gullhaven,Oregon,97099-1234"),
            row(3, "Okonjo Ines", "\"88 TERN ST APT 4\",GULLHAVEN,OR,97099"),
        ],
    );
    let manifest = desk.morning(NOW);
    assert_eq!(parcels(&manifest), [&json!(["stall:1", "stall:2", "stall:3"])], "{manifest}");
    let why: Vec<&str> =
        manifest["parcels"][0]["why"].as_array().unwrap().iter().map(|why| why.as_str().unwrap()).collect();
    assert!(why[0].starts_with("together: stall:1, stall:2, stall:3"), "{why:?}");
    // Being listed is not being sent: it is one recipient until the parcel is handed over.
    let recipients = desk.json(&["list", "recipients", "--json"]);
    assert_eq!(recipients["recipients"][0]["orders"], json!(["stall:1", "stall:2", "stall:3"]), "{recipients}");
    let sheet = desk.read("outbox/2026-11-25/handoff.csv").replace(",oz,,,,,", ",oz,,,2026-11-25,counter,");
    desk.drop("handoff.csv", sheet.as_bytes());
    assert_eq!(desk.run(&["take-in"]).code, Some(0));
    assert_eq!(desk.json(&["list", "recipients", "--json"])["recipients"], json!([]));
}

/// Never merged without an answer: another flat, another number, another surname or given name at one address.
#[test]
fn neighbours_and_housemates_never_share_a_parcel() {
    let desk = Desk::new();
    let rows = [
        row(1, "Ines Okonjo", INES),
        row(2, "Ines Okonjo", "88 Tern Street Apt 5,Gullhaven,OR,97099"),
        row(3, "Ines Okonjo", "90 Tern Street Apt 4,Gullhaven,OR,97099"),
        row(4, "Ines Lindqvist", INES),
        row(5, "Samuel Okonjo", INES),
        row(6, "Ines Okonjo", "88 Tern Street Apt 4,Fogport,ME,04999"),
    ];
    drop(&desk, "a.csv", &rows);
    desk.morning(NOW);
    let manifest = desk.morning(SATURDAY);
    let all: Vec<Value> = desk.json(&["list", "parcels", "--json"])["parcels"].as_array().unwrap().clone();
    assert!(all.iter().all(|parcel| parcel["holds"].as_array().unwrap().len() == 1), "{manifest}");
    let listed: BTreeSet<String> = all.iter().map(|parcel| parcel["holds"][0].as_str().unwrap().to_owned()).collect();
    assert_eq!(listed.len(), 6, "each went apart on its own day: {listed:?}");
}

#[test]
fn what_is_likely_one_person_is_asked_once_and_the_answer_holds_for_ever() {
    for (answer, groups) in [("together", 1), ("apart", 2)] {
        let desk = Desk::new();
        let two = |first: u32| {
            [row(first, "Ines Okonjo", INES), row(first + 1, "I. Okonjo", "88 Tern St Apt 4,Gullhaven,OR,97099")]
        };
        drop(&desk, "a.csv", &two(1));
        let manifest = desk.morning(NOW);
        assert_eq!(parcels(&manifest), Vec::<&Value>::new(), "{manifest}");
        let question = &manifest["questions"][0];
        assert_eq!(question["kind"], "same-recipient");
        assert_eq!(question["about"], json!(["stall:1", "stall:2"]));
        let text = question["text"].as_str().unwrap();
        assert!(text.contains("Ines Okonjo") && text.contains("I. Okonjo"), "{text}");
        assert_eq!(manifest["held"][0]["until"], "2026-11-28", "{manifest}");
        assert_eq!(desk.run(&["answer", question["id"].as_str().unwrap(), answer]).code, Some(0));
        // A later order of each, in one morning: nothing is asked again.
        drop(&desk, "b.csv", &two(3));
        let manifest = desk.morning(THANKSGIVING);
        assert_eq!(manifest["questions"], json!([]), "{manifest}");
        assert_eq!(parcels(&manifest).len(), groups, "{answer}: {manifest}");
        // Changed their mind: the other answer holds from now on.
        let other = if answer == "together" { "apart" } else { "together" };
        assert_eq!(desk.run(&["answer", "Q-0001", other]).code, Some(0));
        drop(&desk, "c.csv", &two(5));
        let recipients = desk.run_at(SATURDAY, &["take-in"]);
        assert_eq!(recipients.code, Some(0), "{recipients:?}");
        let recipients = desk.json(&["list", "recipients", "--json"]);
        assert_eq!(recipients["recipients"].as_array().unwrap().len(), 3 - groups, "{recipients}");
    }
}

/// Held or not, every open order is for exactly one recipient.
#[test]
fn every_open_order_has_one_recipient() {
    let desk = Desk::with_sample_drops();
    assert_eq!(desk.run(&["take-in"]).code, Some(3));
    let recipients = desk.json(&["list", "recipients", "--json"]);
    let mut ids: Vec<&str> = recipients["recipients"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|recipient| [&recipient["orders"], &recipient["trades"]])
        .flat_map(|ids| ids.as_array().unwrap())
        .map(|id| id.as_str().unwrap())
        .collect();
    let orders = desk.json(&["list", "orders", "--json"]);
    let trades = desk.json(&["list", "trades", "--json"]);
    let mut open: Vec<&str> = orders["orders"]
        .as_array()
        .unwrap()
        .iter()
        .chain(trades["trades"].as_array().unwrap())
        .filter(|row| row["state"] == "due" || row["state"] == "held")
        .map(|row| row["id"].as_str().unwrap())
        .collect();
    ids.sort_unstable();
    open.sort_unstable();
    assert_eq!(ids, open);
    assert!(open.len() > 5);
}

#[test]
fn an_address_with_one_possible_mend_is_asked_and_one_without_is_held() {
    let desk = Desk::new();
    let rows = [row(1, "Bo Lind", "2 Quay,Fogport,,04999"), row(2, "Ada Quist", "3 Quay,Fogport,OR,04999")];
    drop(&desk, "a.csv", &rows);
    let manifest = desk.morning(NOW);
    let held: Vec<(&str, &str)> = manifest["held"]
        .as_array()
        .unwrap()
        .iter()
        .map(|held| (held["reason"].as_str().unwrap(), held["text"].as_str().unwrap()))
        .collect();
    assert_eq!(held.len(), 2);
    assert!(held[0].1.starts_with("no state is given; postal code `04999` belongs to ME"), "{held:?}");
    assert!(held[1].1.starts_with("postal code `04999` belongs to ME, not to OR; mend it at the source"), "{held:?}");
    let question = &manifest["questions"][0];
    assert_eq!((question["kind"].as_str(), &question["choices"]), (Some("address"), &json!(["ME", "leave"])));
    assert_eq!(desk.run(&["answer", "Q-0001", "ME"]).code, Some(0));
    let manifest = desk.morning(THANKSGIVING);
    assert_eq!(parcels(&manifest), [&json!(["stall:1"])]);
    assert_eq!(manifest["parcels"][0]["recipient"]["region"], "ME");
}
