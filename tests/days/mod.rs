//! Whole days. Each folder has a README with the numbers worked out by hand, and what is expected of the day.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::desk::{Desk, NOW};

fn expected(day: &str, file: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/days").join(day).join("expected").join(file);
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// The golden file holds only what was worked out by hand: everything it says must stand in the manifest.
fn holds(whole: &Value, part: &Value, place: &str) {
    match (whole, part) {
        (Value::Object(whole), Value::Object(part)) => {
            for (key, value) in part {
                holds(whole.get(key).unwrap_or(&Value::Null), value, &format!("{place}.{key}"));
            }
        }
        (Value::Array(whole), Value::Array(part)) => {
            assert_eq!(whole.len(), part.len(), "{place}: {whole:?}");
            for (index, (whole, part)) in whole.iter().zip(part).enumerate() {
                holds(whole, part, &format!("{place}[{index}]"));
            }
        }
        (whole, part) => assert_eq!(whole, part, "{place}"),
    }
}

#[test]
fn the_demo_is_what_a_careful_person_would_write_down() {
    let desk = Desk::with_sample_drops();
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    let manifest: Value = serde_json::from_str(&desk.read("outbox/2026-11-25/manifest.json")).unwrap();
    holds(&manifest, &expected("demo", "manifest.json"), "manifest");
    assert_eq!(desk.names("inbox"), Vec::<String>::new());
    assert_eq!(desk.names("archive/2026-11-25").len(), 5);
    assert_eq!(desk.names("refused/2026-11-25"), ["stall-week-48.csv.refused.csv"]);
    assert_eq!(desk.names("outbox/mail").len(), 1);
}

#[test]
fn a_second_run_changes_nothing_and_new_drops_make_a_second_revision() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let first: Vec<(String, Vec<u8>)> = outbox(&desk);
    let again = desk.run(&["morning"]);
    assert!(again.stdout.contains("Nothing new"), "{again:?}");
    assert_eq!(outbox(&desk), first);
    assert_eq!(desk.names("outbox/mail").len(), 1);

    // The refused row, mended and dropped again.
    let rows = desk.read("refused/2026-11-25/stall-week-48.csv.refused.csv").replace(",two,", ",2,");
    desk.drop("mended.csv", rows.as_bytes());
    desk.run_at("2026-11-25T09:00", &["morning"]);
    let second: Value = serde_json::from_str(&desk.read("outbox/2026-11-25/manifest-r2.json")).unwrap();
    assert_eq!(second["revision"], 2);
    assert_eq!(second["parcels"].as_array().unwrap().len(), 1);
    assert_eq!(second["parcels"][0]["ref"], "1125-09");
    assert_eq!(second["parcels"][0]["orders"], serde_json::json!(["stall:1009"]));
    assert_eq!(second["parcels"][0]["invoices"][0]["number"], 8);
    assert_eq!(desk.names("outbox/mail").len(), 2);
    // What was printed stays as printed.
    assert!(outbox(&desk).iter().filter(|(name, _)| !name.contains("-r2")).eq(&first));
}

fn outbox(desk: &Desk) -> Vec<(String, Vec<u8>)> {
    let read = |name: String| {
        let bytes = fs::read(desk.path("outbox/2026-11-25").join(&name)).unwrap();
        (name, bytes)
    };
    desk.names("outbox/2026-11-25").into_iter().map(read).collect()
}

/// Being on a manifest is not being sent: only the filled-in sheet is.
#[test]
fn a_parcel_stays_listed_earlier_until_its_hand_off_is_recorded() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let sheet = desk.read("outbox/2026-11-25/handoff.csv");
    let filled: Vec<String> = sheet
        .lines()
        .map(|line| {
            if line.contains("1125-01") {
                line.replace(",oz,,,,,", ",oz,,5.25,2026-11-25,counter,")
            } else {
                line.to_owned()
            }
        })
        .collect();
    desk.drop("handoff.csv", filled.join("\r\n").as_bytes());
    desk.run_at("2026-11-27T06:30", &["morning"]);
    let next: Value = serde_json::from_str(&desk.read("outbox/2026-11-27/manifest.json")).unwrap();
    assert_eq!(next["parcels"], serde_json::json!([]));
    let earlier: Vec<&str> =
        next["listed_earlier"].as_array().unwrap().iter().map(|parcel| parcel["ref"].as_str().unwrap()).collect();
    assert_eq!(earlier, ["1125-02", "1125-03", "1125-04", "1125-05", "1125-06", "1125-07", "1125-08"]);
    let parcels = desk.json(&["list", "parcels", "--json"]);
    assert_eq!(parcels["parcels"][0]["state"], "handed-over");
    // A day with nothing to send says so.
    let text = desk.read("outbox/2026-11-27/dispatch.txt");
    assert!(text.to_lowercase().contains("nothing"), "{text}");
}

#[test]
fn answers_and_arrivals_release_what_waited_for_them() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    assert_eq!(desk.run(&["arrived", "T-0001"]).code, Some(0));
    desk.edit("catalogue.csv", "Kittiwake,,pin", "Kittiwake,WHIMBREL,pin");
    desk.edit(
        "catalogue.csv",
        "OYSTERCATCHER,Oystercatcher,,pin,34,24,10,,,1",
        "OYSTERCATCHER,Oystercatcher,,pin,34,24,10,7.9,0.2,1",
    );
    let plan = desk.json(&["morning", "--dry-run", "--json"]);
    let sent: Vec<String> = plan["parcels"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|parcel| [parcel["orders"].clone(), parcel["trades"].clone()])
        .flat_map(|ids| ids.as_array().unwrap().clone())
        .map(|id| id.as_str().unwrap().to_owned())
        .collect();
    let mut sent = sent;
    sent.sort();
    assert_eq!(sent, ["T-0001", "stall:1008", "stall:1010"]);
    assert_eq!(plan["questions"], serde_json::json!([]));
}

/// An order called off takes its parcel off the list; the other order of that parcel is due again, under the
/// invoice it has: a number is given out once.
#[test]
fn what_shared_a_cancelled_parcel_goes_again_with_its_own_invoice() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    assert_eq!(desk.run(&["cancel", "stall:1001"]).code, Some(0));
    let said = desk.run_at("2026-11-25T09:00", &["morning"]);
    assert_ne!(said.code, Some(1), "{said:?}");
    let second: Value = serde_json::from_str(&desk.read("outbox/2026-11-25/manifest-r2.json")).unwrap();
    assert_eq!(second["parcels"].as_array().unwrap().len(), 1);
    let parcel = &second["parcels"][0];
    assert_eq!((&parcel["ref"], &parcel["orders"]), (&"1125-09".into(), &serde_json::json!(["stall:1005"])));
    assert_eq!(parcel["invoices"][0]["number"], 4);
    let states = desk.json(&["list", "parcels", "--json"]);
    assert_eq!(
        (&states["parcels"][2]["state"], &states["parcels"][8]["state"]),
        (&"cancelled".into(), &"listed".into())
    );
}

/// Refs come round every year: calling an order off takes off its own parcel and no other of that ref.
#[test]
fn a_parcel_of_last_year_is_not_cancelled_for_having_the_same_ref() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let ledger = rusqlite::Connection::open(desk.path("ledger.db")).unwrap();
    let last_year = "INSERT INTO parcels (manifest_id, ref, listed_on, name, mailer, state)
                     SELECT manifest_id, ref, '2025-11-25', name, mailer, state FROM parcels WHERE ref = '1125-03'";
    ledger.execute_batch(last_year).unwrap();
    desk.run(&["cancel", "stall:1001"]);
    let count = "SELECT count(*) FROM parcels WHERE ref = '1125-03' AND state = 'listed'";
    assert_eq!(ledger.query_row(count, [], |row| row.get::<_, i64>(0)).unwrap(), 1);
}

#[test]
fn a_dry_run_changes_nothing() {
    let desk = Desk::with_sample_drops();
    let plan = desk.json(&["morning", "--dry-run", "--json"]);
    assert_eq!(plan["totals"]["parcels"], 8);
    assert_eq!(desk.names("inbox").len(), 5);
    assert_eq!(desk.json(&["list", "parcels", "--json"])["parcels"], serde_json::json!([]));
    assert_eq!(desk.names("outbox"), Vec::<String>::new());
    // It foretells the real run.
    desk.run_at(NOW, &["morning"]);
    let manifest: Value = serde_json::from_str(&desk.read("outbox/2026-11-25/manifest.json")).unwrap();
    assert_eq!(manifest, plan);
}

/// A crash after the plan was recorded and before its papers were written: the next run writes just those.
#[test]
fn papers_lost_after_recording_are_written_again_byte_for_byte() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let first = outbox(&desk);
    let message = fs::read(desk.path("outbox/mail").join(&desk.names("outbox/mail")[0])).unwrap();
    fs::remove_dir_all(desk.path("outbox")).unwrap();
    let ledger = rusqlite::Connection::open(desk.path("ledger.db")).unwrap();
    ledger.execute_batch("DELETE FROM mail; UPDATE manifests SET written_at = NULL;").unwrap();
    drop(ledger);
    desk.run_at("2026-11-25T10:00", &["morning"]);
    assert_eq!(outbox(&desk), first);
    assert_eq!(fs::read(desk.path("outbox/mail").join(&desk.names("outbox/mail")[0])).unwrap(), message);
}
