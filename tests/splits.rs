//! What one mailer or one service doesn't take: the parcels it makes, their papers, and what becomes of each.

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const HEAD: &str = "Slip,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each,Post paid by buyer,A \
                    present,To say\n";
/// Thursday 26 November is a holiday: what is planned then is handed over on Friday.
const THURSDAY: &str = "2026-11-26T06:30";
const FRIDAY: &str = "2026-11-27T06:30";
const SATURDAY: &str = "2026-11-28T06:30";
const MONDAY: &str = "2026-11-30T06:30";

/// A row of an export: by default fourteen puffins for Ada.
#[derive(Clone, Copy)]
struct Row {
    number: u32,
    standing: &'static str,
    name: &'static str,
    door: &'static str,
    code: &'static str,
    count: u32,
    postage: &'static str,
    gift: &'static str,
}

const ADA: Row = Row {
    number: 1,
    standing: "settled",
    name: "Ada Wren",
    door: "12 Mill Lane",
    code: "PUFFIN",
    count: 14,
    postage: "4.50",
    gift: "",
};

/// A home with small mailers only, which take six puffins each.
fn home() -> Desk {
    let desk = Desk::new();
    let small: Vec<String> = desk.read("mailers.csv").lines().take(3).map(str::to_owned).collect();
    std::fs::write(desk.path("mailers.csv"), small.join("\n")).unwrap();
    desk
}

fn drop(desk: &Desk, name: &str, rows: &[Row]) {
    let row = |row: &Row| {
        let Row { number, standing, name, door, code, count, postage, gift } = row;
        format!(
            "{number},11/25/2026,{standing},{name},{door},Hartwell,OH,44001,US,{code},{count},9.00,{postage},{gift},\n"
        )
    };
    desk.drop(name, format!("{HEAD}{}", rows.iter().map(row).collect::<String>()).as_bytes());
}

fn trade(send: &str) -> String {
    format!(
        "Trade with: Ada Wren\nAddress:\n  12 Mill Lane\n  Hartwell, OH 44001\nAgreed: 2026-11-20\nSend by: \
         2026-11-28\nI send:\n{send}I get:\n  1 x \"Cape Fathom\"\n"
    )
}

fn parcels(manifest: &Value) -> &[Value] {
    manifest["parcels"].as_array().unwrap()
}

/// Pieces in each parcel.
fn counts(manifest: &Value) -> Vec<u64> {
    let pieces = |parcel: &Value| {
        parcel["items"].as_array().unwrap().iter().map(|item| item["quantity"].as_u64().unwrap()).sum()
    };
    parcels(manifest).iter().map(pieces).collect()
}

fn refs(manifest: &Value) -> Vec<&str> {
    parcels(manifest).iter().map(|parcel| parcel["ref"].as_str().unwrap()).collect()
}

fn papers(manifest: &Value) -> Vec<&Value> {
    parcels(manifest).iter().map(|parcel| &parcel["papers"]).collect()
}

fn cancel(desk: &Desk, id: &str) {
    let said = desk.run(&["cancel", id]);
    assert_eq!(said.code, Some(0), "{said:?}");
}

/// Hands parcels over by a hand-off sheet.
fn hand_over(desk: &Desk, name: &str, parcels: &[&str], day: &str) {
    let rows = parcels.iter().map(|parcel| format!("handoff 2026-11-25 r1,{parcel},,,,,,,,,{day},,\n"));
    let head = "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
    desk.drop(name, format!("{head}{}", rows.collect::<String>()).as_bytes());
}

fn row_of(desk: &Desk, list: &str, key: &str, id: &str) -> Value {
    let all = desk.json(&["list", list, "--json"]);
    all[list].as_array().unwrap().iter().find(|row| row[key] == id).unwrap_or_else(|| panic!("{id}: {all}")).clone()
}

#[test]
fn every_parcel_of_a_split_has_a_paper_and_the_invoice_counts_once() {
    let desk = home();
    drop(&desk, "a.csv", &[ADA]);
    let manifest = desk.morning(NOW);
    assert_eq!(counts(&manifest), [6, 6, 2]);
    assert_eq!(papers(&manifest), [&json!(["invoice"]), &json!(["rest"]), &json!(["rest"])]);
    let invoices: Vec<&Value> = parcels(&manifest).iter().map(|parcel| &parcel["invoices"]).collect();
    let first = json!([{"number": 1, "order": "stall:1", "issued_on": "2026-11-25"}]);
    assert_eq!(invoices, [&first, &json!([]), &json!([])]);
    let belongs: Vec<&Value> = parcels(&manifest).iter().map(|parcel| &parcel["belongs_to"]).collect();
    let after = |refs: Value| json!([{"order": "stall:1", "invoice": 1, "after": refs}]);
    assert_eq!(belongs, [&json!([]), &after(json!(["1125-01"])), &after(json!(["1125-01", "1125-02"]))]);
    // The next order's invoice is the next number.
    drop(&desk, "b.csv", &[Row { number: 2, name: "Bo Lind", count: 1, ..ADA }]);
    assert_eq!(parcels(&desk.morning(FRIDAY))[0]["invoices"][0]["number"], 2);
}

#[test]
fn a_split_gift_has_a_slip_in_each_parcel_and_a_split_trade_a_note() {
    let desk = home();
    drop(&desk, "a.csv", &[Row { gift: "yes", count: 8, ..ADA }]);
    let manifest = desk.morning(NOW);
    assert_eq!(papers(&manifest), [&json!(["gift"]), &json!(["gift"])]);
    assert!(parcels(&manifest).iter().all(|parcel| parcel["invoices"] == json!([])), "{manifest}");
    let desk = home();
    desk.drop("t.txt", trade("  8 x PUFFIN\n").as_bytes());
    assert_eq!(papers(&desk.morning(NOW)), [&json!(["note"]), &json!(["note"])]);
}

/// Two orders in two parcels paid for two parcels; of three, the smallest charge was paid too much.
#[test]
fn postage_is_offered_back_for_the_charges_beyond_the_parcels() {
    let charged = |postage: &[(u32, &'static str)]| {
        let desk = home();
        let rows: Vec<Row> =
            postage.iter().map(|(number, postage)| Row { number: *number, postage, count: 4, ..ADA }).collect();
        drop(&desk, "a.csv", &rows);
        let manifest = desk.morning(NOW);
        assert_eq!(parcels(&manifest).len(), 2, "{manifest}");
        parcels(&manifest).iter().map(|parcel| parcel["refund_offer"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(charged(&[(1, "4.50"), (2, "6.00")]), [Value::Null, Value::Null]);
    assert_eq!(charged(&[(1, "4.50"), (2, "6.00"), (3, "3.25")]), [json!("3.25"), Value::Null]);
}

/// Fourteen puffins of a trade go in three parcels; what shares the last is called off, and that is unpacked.
fn trade_of_which_a_part_came_back() -> Desk {
    let desk = home();
    desk.drop("t.txt", trade("  14 x PUFFIN\n").as_bytes());
    drop(&desk, "a.csv", &[Row { code: "EIDER", count: 1, ..ADA }]);
    let manifest = desk.morning(NOW);
    assert_eq!(counts(&manifest).iter().sum::<u64>(), 15, "{manifest}");
    desk
}

#[test]
fn what_came_back_of_a_split_trade_is_due_again() {
    let desk = trade_of_which_a_part_came_back();
    let parcels_of_order = row_of(&desk, "orders", "id", "stall:1")["parcels"].clone();
    let parcel = parcels_of_order[0].as_str().unwrap().to_owned();
    let before = row_of(&desk, "parcels", "ref", &parcel);
    assert_eq!(before["holds"], json!(["stall:1", "T-0001"]), "{before}");
    hand_over(&desk, "h.csv", &["1125-02"], "2026-11-25");
    cancel(&desk, "stall:1");
    assert_eq!(row_of(&desk, "trades", "id", "T-0001")["state"], "due");
    let manifest = desk.morning(FRIDAY);
    assert_eq!((refs(&manifest), counts(&manifest)), (vec!["1127-01"], vec![2]), "{manifest}");
    assert_eq!(papers(&manifest), [&json!(["note"])]);
    assert_eq!(parcels(&manifest)[0]["cautions"][0]["code"], "packed-anew");
    assert_eq!(row_of(&desk, "trades", "id", "T-0001")["state"], "listed");
    // It is due no second time, whatever is recorded of the others.
    hand_over(&desk, "h2.csv", &["1125-01"], "2026-11-28");
    desk.drop("t2.txt", format!("{}Note: as said\n", trade("  14 x PUFFIN\n")).as_bytes());
    assert_eq!(refs(&desk.morning(MONDAY)), Vec::<&str>::new());
}

/// What is agreed beyond what lay in a parcel is asked about, and what was called off goes no more till it is released.
#[test]
fn what_is_left_of_a_trade_can_be_called_off_and_taken_back() {
    let desk = trade_of_which_a_part_came_back();
    hand_over(&desk, "h.csv", &["1125-01"], "2026-11-25");
    desk.morning(THURSDAY);
    cancel(&desk, "T-0001");
    // The order that shared the last parcel goes alone.
    let manifest = desk.morning(FRIDAY);
    assert_eq!(parcels(&manifest)[0]["orders"], json!(["stall:1"]), "{manifest}");
    assert_eq!(counts(&manifest), [1], "{manifest}");
    assert_eq!(desk.run(&["release", "T-0001"]).code, Some(0));
    let manifest = desk.morning(SATURDAY);
    let pieces: u64 = counts(&manifest).iter().sum();
    assert_eq!((pieces, &manifest["held"]), (8, &json!([])), "{manifest}");
}

/// A trade that is told with more after it was listed in parts sends nothing more before the question is answered.
#[test]
fn a_changed_trade_of_which_a_part_came_back_waits_for_the_answer() {
    for (choice, pieces) in [("pack-anew", 15), ("leave", 2)] {
        let desk = trade_of_which_a_part_came_back();
        cancel(&desk, "stall:1");
        desk.drop("t2.txt", trade("  14 x PUFFIN\n  1 x EIDER\n").as_bytes());
        let manifest = desk.morning(THURSDAY);
        assert_eq!((refs(&manifest), &manifest["held"][0]["reason"]), (vec![], &json!("question")), "{manifest}");
        let question = manifest["questions"][0]["id"].as_str().unwrap();
        assert_eq!(desk.run(&["answer", question, choice]).code, Some(0));
        let manifest = desk.morning(FRIDAY);
        assert_eq!(counts(&manifest).iter().sum::<u64>(), pieces, "{choice}: {manifest}");
        assert_eq!(manifest["questions"], json!([]), "{choice}");
    }
}

/// Of an order in three parcels the middle one comes back: hand-offs told in any order and on several days change nothing.
#[test]
fn what_came_back_of_a_split_order_is_due_again_whatever_order_the_sheets_came_in() {
    for order in [["1125-01", "1125-03"], ["1125-03", "1125-01"]] {
        let desk = home();
        drop(&desk, "a.csv", &[ADA]);
        assert_eq!(counts(&desk.morning(NOW)), [6, 6, 2]);
        drop(&desk, "b.csv", &[Row { number: 2, code: "EIDER", count: 1, ..ADA }]);
        for (at, (parcel, day)) in order.iter().zip(["2026-11-25", "2026-11-26"]).enumerate() {
            hand_over(&desk, &format!("h{at}.csv"), &[parcel], day);
            assert!(matches!(desk.run_at(&format!("{day}T20:00"), &["take-in"]).code, Some(0)));
        }
        let manifest = desk.morning("2026-11-26T21:00");
        let asked = manifest["questions"][0]["id"].as_str().unwrap_or_else(|| panic!("{manifest}"));
        assert_eq!(desk.run(&["answer", asked, "with-it"]).code, Some(0));
        let manifest = desk.morning(SATURDAY);
        assert_eq!(counts(&manifest).iter().sum::<u64>(), 7, "{manifest}");
        let with_rest = parcels(&manifest).iter().find(|parcel| parcel["belongs_to"] != json!([])).unwrap();
        let belongs = json!([{"order": "stall:1", "invoice": 1, "after": ["1125-01", "1125-03"]}]);
        assert_eq!(with_rest["belongs_to"], belongs, "{manifest}");
        hand_over(&desk, "again.csv", &order, "2026-11-27");
        assert_eq!(refs(&desk.morning(MONDAY)), Vec::<&str>::new());
    }
}

/// One thing too large for any mailer holds its order, is named, and keeps nothing else back.
#[test]
fn what_no_mailer_takes_is_named() {
    let desk = home();
    let brick = "BRICK,Brick,,other,400,400,300,900,1,1,,,,9.00,1.00,5,A9,Toy,950300,US\nBELL-BUOY,";
    desk.edit("catalogue.csv", "BELL-BUOY,", brick);
    let both = [Row { number: 2, ..ADA }, Row { number: 2, code: "BRICK", count: 1, ..ADA }];
    drop(&desk, "a.csv", &[vec![ADA], both.to_vec()].concat());
    let manifest = desk.morning(NOW);
    assert_eq!(counts(&manifest), [6, 6, 2], "{manifest}");
    assert_eq!((&manifest["held"][0]["id"], &manifest["held"][0]["reason"]), (&json!("stall:2"), &json!("no-service")));
    let text = manifest["held"][0]["text"].as_str().unwrap();
    assert!(text.starts_with("no mailer on hand takes `BRICK`"), "{text}");
}

/// Each parcel of a split declares what is in it, and all of them together what the order is worth.
#[test]
fn the_customs_values_of_a_split_add_up_to_its_order() {
    let desk = home();
    drop(&desk, "a.csv", &[ADA]);
    let abroad = desk.read("inbox/a.csv").replace("Hartwell,OH,44001,US", "Nordhafen,,1010,AT");
    desk.drop("a.csv", abroad.as_bytes());
    let manifest = desk.morning(NOW);
    let declared: Vec<&Value> = parcels(&manifest).iter().map(|parcel| &parcel["customs"]["value"]).collect();
    // 14 at 9.00 are 126.00.
    assert_eq!(declared, [&json!("54.00"), &json!("54.00"), &json!("18.00")]);
    assert_eq!(parcels(&manifest)[2]["customs"]["items"][0]["quantity"], 2);
}
