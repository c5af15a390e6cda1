//! What the seller says by answers, holds and sheets, and that it takes effect, through the real program.

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
    assert_eq!(held, ["stall:7", "T-0001"], "{manifest}");
    assert_eq!(desk.run(&["release", "t-01"]).code, Some(0));
    let said = desk.run(&["cancel", "t-1"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(desk.json(&["list", "trades", "--json"])["trades"][0]["state"], "cancelled");
    assert_eq!(desk.run(&["hold", "nonsense"]).code, Some(2));
    assert_eq!(desk.run(&["hold", "T-0009"]).code, Some(1));
}
