//! The life of a trade over the confirmations that tell of it, through the real program.

use dawnpack::ledger::Ledger;
use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const NEXT_DAY: &str = "2026-11-26T06:30";
const THE_DAY_AFTER: &str = "2026-11-27T06:30";

fn confirmed(send: &str, rest: &str) -> String {
    format!(
        "Trade with: Ines\nAddress:\n  1 Quay\n  Eastmere, ME 04999\nAgreed: 2026-11-20\n{rest}I send:\n  {send}\n\
         I get:\n  1 x \"Cape Fathom\"\n"
    )
}

/// Trade, code and quantity of each parcel, which holds one item.
fn parcels(manifest: &Value) -> Vec<(String, String, u64)> {
    let row = |parcel: &Value| {
        let [item] = parcel["items"].as_array().unwrap().as_slice() else { panic!("{parcel}") };
        let [trade, code] = [&parcel["trades"][0], &item["code"]].map(|text| text.as_str().unwrap().to_owned());
        (trade, code, item["quantity"].as_u64().unwrap())
    };
    manifest["parcels"].as_array().unwrap().iter().map(row).collect()
}

fn one(trade: &str, code: &str, quantity: u64) -> Vec<(String, String, u64)> {
    vec![(trade.to_owned(), code.to_owned(), quantity)]
}

/// The one refusal of a morning: its value and reason.
fn refusal(manifest: &Value) -> String {
    let [refused] = manifest["refused"].as_array().unwrap().as_slice() else { panic!("{manifest}") };
    format!("{} {}", refused["value"].as_str().unwrap(), refused["reason"].as_str().unwrap())
}

#[test]
fn what_a_second_confirmation_says_otherwise_is_told() {
    let desk = Desk::new();
    desk.drop("a.txt", confirmed("1 x PUFFIN", "Note: as agreed\n").as_bytes());
    desk.drop("b.txt", confirmed("2 x PUFFIN\n  1 x EIDER", "Own parcel: yes\n").as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(
        manifest["changed"],
        json!([{"id": "T-0001", "name": "Ines", "parcel": null, "handed_over": false, "what": [
            "own parcel: yes, was no", "I send: 2 × PUFFIN, was 1 × PUFFIN", "I send: also 1 × EIDER",
            "note: none now, was as agreed"]}])
    );
    assert_eq!(manifest["totals"]["items"], 3);
    let text = desk.read("outbox/2026-11-25/dispatch.txt");
    assert!(text.contains("T-0001  Ines\n    own parcel: yes, was no\n"), "{text}");
    // Told once; the same again, in other words of the same file, is no change.
    desk.drop("c.txt", confirmed("2 x PUFFIN\n  1 x EIDER\n", "\nOwn parcel: yes\n").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!((&manifest["changed"], &manifest["refused"]), (&json!([]), &json!([])));
}

#[test]
fn two_trades_with_one_partner_on_one_day_both_go() {
    let desk = Desk::new();
    desk.drop("a.txt", confirmed("1 x PUFFIN", "").as_bytes());
    let other = confirmed("2 x EIDER", "Own parcel: yes\n").replace("Cape Fathom", "Grey Heron");
    desk.drop("b.txt", other.as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(
        refusal(&manifest),
        "Ines is agreed with on the same day, 2026-11-20, as in trade T-0001, and nothing in it is the same; if it is \
         another trade, write `Trade of that day: 2` into this confirmation and drop it again; if it takes the place of \
         T-0001, run `dawnpack cancel T-0001` too"
    );
    assert_eq!(parcels(&manifest), one("T-0001", "PUFFIN", 1));
    desk.drop("b.txt", other.replace("I send", "Trade of that day: 2\nI send").as_bytes());
    assert_eq!(parcels(&desk.morning(NEXT_DAY)), one("T-0002", "EIDER", 2));
    // In one file too.
    let both = [confirmed("1 x PUFFIN", "Trade of that day: 3\n"), confirmed("1 x EIDER", "Trade of that day: 4\n")];
    desk.drop("c.txt", both.concat().as_bytes());
    let manifest = desk.morning(THE_DAY_AFTER);
    assert_eq!((manifest["totals"]["items"].as_u64(), &manifest["refused"]), (Some(2), &json!([])), "{manifest}");
    desk.drop("d.txt", confirmed("1 x PUFFIN", "Trade of that day: two\n").as_bytes());
    let refused = refusal(&desk.morning("2026-11-28T06:30"));
    assert!(refused.contains("write 1, 2 and so on"), "{refused}");
}

#[test]
fn a_cancelled_trade_that_is_confirmed_again_is_told_and_goes_by_another_number() {
    let desk = Desk::new();
    desk.drop("a.txt", confirmed("1 x PUFFIN", "").as_bytes());
    desk.morning(NOW);
    assert_eq!(desk.run(&["cancel", "T-0001"]).code, Some(0));
    desk.drop("b.txt", confirmed("2 x PUFFIN", "").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(
        refusal(&manifest),
        "Ines is trade T-0001, agreed on 2026-11-20, which is cancelled; if it is on again, write `Trade of that day: \
         2` into this confirmation and drop it again"
    );
    assert_eq!((manifest["changed"].clone(), parcels(&manifest)), (json!([]), Vec::new()));
    desk.drop("b.txt", confirmed("2 x PUFFIN", "Trade of that day: 2\n").as_bytes());
    assert_eq!(parcels(&desk.morning(THE_DAY_AFTER)), one("T-0002", "PUFFIN", 2));
}

/// What lies in a parcel goes as it was confirmed first, unless the answer is to pack it anew; what else a later
/// confirmation says is taken and told.
#[test]
fn a_trade_that_changes_after_its_listing_is_asked_about() {
    let desk = Desk::new();
    desk.drop("a.txt", confirmed("1 x PUFFIN", "").as_bytes());
    desk.morning(NOW);
    desk.drop("b.txt", confirmed("1 x PUFFIN", "Send by: 2026-11-30\n").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(
        manifest["changed"],
        json!([{"id": "T-0001", "name": "Ines", "parcel": "1125-01", "handed_over": false,
                "what": ["send by: 2026-11-30"]}])
    );
    desk.drop("c.txt", confirmed("3 x PUFFIN", "").as_bytes());
    let manifest = desk.morning(THE_DAY_AFTER);
    let question = &manifest["questions"][0];
    assert_eq!(
        question["text"],
        "1125-01 for Ines holds T-0001, which changed since: I send: 3 × PUFFIN, was 1 × PUFFIN. Pack it anew, or leave \
         it as listed?"
    );
    assert_eq!(desk.run(&["answer", question["id"].as_str().unwrap(), "pack-anew"]).code, Some(0));
    assert_eq!(parcels(&desk.morning("2026-11-28T06:30")), one("T-0001", "PUFFIN", 3));
    let listed = desk.json(&["list", "parcels", "--json"]);
    assert_eq!(listed["parcels"][0]["state"], "cancelled");
}

/// What the seller wrote on the sheet of incoming trades stays, for the proof.
#[test]
fn what_is_written_of_an_arrival_is_kept() {
    let desk = Desk::new();
    desk.drop("a.txt", confirmed("1 x PUFFIN", "First to send: them\n").as_bytes());
    desk.morning(NOW);
    let head = "sheet,trade,from,expected,arrived_on,condition,note\n";
    let sheet = format!("{head}incoming 2026-11-25 r1,T-0001,,,2026-11-25,mint,in a reused box\n");
    desk.drop("incoming.csv", sheet.as_bytes());
    assert_eq!(parcels(&desk.morning(NEXT_DAY)), one("T-0001", "PUFFIN", 1));
    let evidence = Ledger::open_to_read(&desk.path("ledger.db")).unwrap().evidence("1126-01").unwrap();
    let half = &evidence.their_halves[0];
    assert_eq!((half.condition.as_deref(), half.note.as_deref()), (Some("mint"), Some("in a reused box")));
}
