//! Orders that are told again in other words, with other columns, or with a wish; what is left of them, and what is taken
//! back: through the real program.

use serde_json::{Value, json};

use crate::desk::{Desk, NOW};

const THURSDAY: &str = "2026-11-26T06:30";
const FRIDAY: &str = "2026-11-27T06:30";

const HEAD: [&str; 21] = [
    "Order", "Placed", "Paid", "State", "Buyer", "Name", "Company", "A1", "A2", "City", "Region", "ZIP", "Email",
    "Code", "Title", "Opt", "Qty", "Each", "Post", "Total", "Note",
];

const MAP: &str = r#"name = "my"
kind = "sales"
headers = ["Order", "Paid", "A1"]
dates = "ymd"
decimal = "."
[columns]
order = "Order"
placed_at = "Placed"
paid_at = "Paid"
state = "State"
buyer = "Buyer"
name = "Name"
company = "Company"
address1 = "A1"
address2 = "A2"
city = "City"
region = "Region"
postal_code = "ZIP"
email = "Email"
code = "Code"
title = "Title"
options = "Opt"
quantity = "Qty"
unit_price = "Each"
postage_charged = "Post"
total = "Total"
note = "Note"
gift = "Gift"
ship_by = "ShipBy"
apart = "Apart"
[states]
"paid" = "open"
"#;

/// A row: Ada's order 1 for one puffin, but for what is said otherwise.
fn row(other: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut cells: Vec<(String, String)> = HEAD.iter().map(|head| ((*head).to_owned(), String::new())).collect();
    let usual = [
        ("Order", "1"),
        ("Placed", "2026-11-25"),
        ("Paid", "2026-11-25"),
        ("State", "paid"),
        ("Name", "Ada Wren"),
        ("A1", "12 Mill Lane"),
        ("City", "Hartwell"),
        ("Region", "OH"),
        ("ZIP", "44001"),
        ("Code", "PUFFIN"),
        ("Qty", "1"),
        ("Each", "9.00"),
        ("Post", "5.00"),
    ];
    for (head, value) in usual.iter().chain(other) {
        match cells.iter_mut().find(|(known, _)| known == head) {
            Some(cell) => (*value).clone_into(&mut cell.1),
            None => cells.push(((*head).to_owned(), (*value).to_owned())),
        }
    }
    cells
}

/// An export of rows with the same columns.
fn export(rows: &[&[(&str, &str)]]) -> String {
    let rows: Vec<Vec<(String, String)>> = rows.iter().map(|other| row(other)).collect();
    let head: Vec<&str> = rows[0].iter().map(|(head, _)| head.as_str()).collect();
    let mut text = head.join(",");
    for row in &rows {
        let cells: Vec<String> = row.iter().map(|(_, cell)| format!("\"{cell}\"")).collect();
        text = format!("{text}\n{}", cells.join(","));
    }
    format!("{text}\n")
}

fn home() -> Desk {
    let desk = Desk::new();
    std::fs::write(desk.path("columns/my.toml"), MAP).unwrap();
    desk
}

/// Takes the exports in, one after the other, and runs the morning.
fn told(desk: &Desk, now: &str, exports: &[String]) -> Value {
    for (number, export) in exports.iter().enumerate() {
        desk.drop(&format!("{}-{number}.csv", &now[..10]), export.as_bytes());
        let _taken = desk.run_at(now, &["take-in"]);
    }
    desk.morning(now)
}

fn packed(manifest: &Value) -> Vec<(String, u64)> {
    let parcels = manifest["parcels"].as_array().unwrap().iter();
    let items = parcels.flat_map(|parcel| parcel["items"].as_array().unwrap().clone());
    items.map(|item| (item["code"].as_str().unwrap().to_owned(), item["quantity"].as_u64().unwrap())).collect()
}

fn one(code: &str) -> Vec<(String, u64)> {
    vec![(code.to_owned(), 1)]
}

fn answer(desk: &Desk, manifest: &Value, choice: &str) {
    let question = manifest["questions"][0]["id"].as_str().unwrap_or_else(|| panic!("{manifest}"));
    let said = desk.run(&["answer", question, choice]);
    assert_eq!(said.code, Some(0), "{said:?}");
}

fn held(manifest: &Value, id: &str) -> String {
    let held = manifest["held"].as_array().unwrap().iter().find(|held| held["id"] == id);
    held.unwrap_or_else(|| panic!("{id} is not held: {manifest}"))["text"].as_str().unwrap().to_owned()
}

fn hand_over(desk: &Desk, day: &str, file: &str) {
    let sheet = desk.read(&format!("outbox/{day}/{file}"));
    let handed = format!(",oz,,5.25,{day},counter,");
    let sheet: Vec<String> = sheet.lines().map(|line| line.replace(",oz,,,,,", &handed)).collect();
    desk.drop(&format!("back-{day}.csv"), sheet.join("\n").as_bytes());
}

/// Letters' case, signs, a code beside the title or not: whichever comes first, it is one line.
#[test]
fn a_line_in_another_wording_is_the_line_it_was() {
    let wordings: [[&[(&str, &str)]; 2]; 3] = [
        [&[], &[("Code", "puffin ")]],
        [&[("Title", "Puffin")], &[("Code", ""), ("Title", "puffin")]],
        [&[("Opt", "Mint back")], &[("Opt", "mint-back")]],
    ];
    for [a, b] in wordings {
        let (a, b) = (export(&[a]), export(&[b]));
        for exports in [[a.clone(), b.clone(), a.clone() + "\n"], [b.clone(), a.clone(), b + "\n"]] {
            let desk = home();
            assert_eq!(packed(&told(&desk, NOW, &exports)), one("PUFFIN"), "{exports:?}");
            // Nor does it go again once it is listed.
            let manifest = told(&desk, THURSDAY, &[a.clone() + "\n\n\n"]);
            assert_eq!(
                (packed(&manifest).len(), manifest["questions"].as_array().unwrap().len()),
                (0, 0),
                "{manifest}"
            );
        }
    }
}

/// Other goods in a later export are asked about, whichever came first; the answer holds for good.
#[test]
fn other_goods_of_one_order_never_both_go_unasked() {
    let others: [&[(&str, &str)]; 4] = [
        &[("Code", "EIDER")],
        &[("Title", "Atlantic puffin")],
        &[("Opt", "red")],
        &[("Code", "EIDER"), ("Total", "14.00")],
    ];
    for other in others {
        let (a, b) = (export(&[&[]]), export(&[other]));
        for exports in [[a.clone(), b.clone()], [b.clone(), a.clone()]] {
            let desk = home();
            let manifest = told(&desk, NOW, &exports);
            assert_eq!(packed(&manifest), [], "{manifest}");
            assert!(held(&manifest, "my:1").contains("which holds?"), "{manifest}");
            let choice = manifest["questions"][0]["choices"][0].as_str().unwrap().to_owned();
            answer(&desk, &manifest, &choice);
            let manifest = told(&desk, THURSDAY, &[]);
            assert_eq!(packed(&manifest).iter().map(|(_, count)| count).sum::<u64>(), 1, "{manifest}");
            // The old exports once more change nothing.
            let manifest = told(&desk, FRIDAY, &[a.clone() + "\n", b.clone() + "\n"]);
            assert_eq!((packed(&manifest).len(), manifest["held"].as_array().unwrap().len()), (0, 0), "{manifest}");
        }
    }
    let desk = home();
    let manifest = told(&desk, NOW, &[export(&[&[]]), export(&[&[("Code", "EIDER")]])]);
    assert_eq!(manifest["questions"][0]["text"], "my:1 was told with 1 × PUFFIN, now with 1 × EIDER: which holds?");
    assert_eq!(manifest["questions"][0]["choices"], json!(["EIDER", "PUFFIN", "both"]));
    answer(&desk, &manifest, "both");
    assert_eq!(packed(&told(&desk, THURSDAY, &[])).len(), 2);
}

/// A code that no article has, mended at the source as the email advises.
#[test]
fn a_code_mended_at_its_source_goes_once() {
    let (wrong, right) = (export(&[&[("Code", "PUFIN"), ("Total", "14.00")]]), export(&[&[("Total", "14.00")]]));
    let desk = home();
    assert_eq!(packed(&told(&desk, NOW, std::slice::from_ref(&wrong))), []);
    assert_eq!(packed(&told(&desk, THURSDAY, &[right])), one("PUFFIN"));
    let manifest = told(&desk, FRIDAY, &[wrong + "\n"]);
    assert_eq!((packed(&manifest).len(), manifest["held"].as_array().unwrap().len()), (0, 0), "{manifest}");
}

/// One order's lines over two files, as its total says.
#[test]
fn an_order_split_over_two_files_goes_whole() {
    let (a, b) = (export(&[&[("Total", "23.00")]]), export(&[&[("Code", "EIDER"), ("Total", "23.00")]]));
    for exports in [[a.clone(), b.clone()], [b, a]] {
        let manifest = told(&home(), NOW, &exports);
        assert_eq!((packed(&manifest).len(), manifest["questions"].as_array().unwrap().len()), (2, 0), "{manifest}");
    }
    // Different in number and price, nothing speaks for one line.
    let (a, b) = (export(&[&[("Qty", "2")]]), export(&[&[("Code", "EIDER"), ("Each", "4.00")]]));
    assert_eq!(packed(&told(&home(), NOW, &[a, b])).len(), 2);
}

/// A field that an export doesn't have takes nothing back.
#[test]
fn an_export_without_a_column_unsays_nothing() {
    let full = export(&[&[
        ("Apart", "yes"),
        ("A2", "Apt 4"),
        ("Company", "Wren & Co"),
        ("Email", "ada@example.org"),
        ("Note", "hello"),
        ("Gift", "no"),
        ("ShipBy", "2026-12-01"),
        ("Buyer", "A. Wren"),
    ]]);
    let bare = "Order,Paid,State,Name,A1,City,Region,ZIP,Code,Qty\n1,2026-11-25,paid,Ada Wren,12 Mill Lane,Hartwell,OH,44001,PUFFIN,1\n";
    let second = "2,2026-11-25,paid,Ada Wren,12 Mill Lane,Hartwell,OH,44001,EIDER,1\n";
    let desk = home();
    desk.drop("0.csv", full.as_bytes());
    desk.run(&["take-in"]);
    let manifest = told(&desk, NOW, &[format!("{bare}{second}")]);
    let parcels = manifest["parcels"].as_array().unwrap();
    assert_eq!(parcels.len(), 2, "{manifest}");
    let ada = parcels.iter().find(|parcel| parcel["orders"] == json!(["my:1"])).unwrap();
    assert_eq!(ada["recipient"]["lines"], json!(["12 Mill Lane", "Apt 4"]));
    assert_eq!(ada["ship_by"], "2026-12-01");
    let card = ada["recipient"].to_string();
    assert!(card.contains("Wren & Co"), "{card}");
}

/// An export that says nothing of how an order stands pays for nothing, whichever came first.
#[test]
fn an_export_without_a_state_makes_no_unpaid_order_open() {
    let bare = |state: Option<&str>| {
        let (head, cell) = state.map_or(("", String::new()), |state| (",Status", format!(",{state}")));
        format!(
            "Order number,Order date,Ship to name,Street,City,State,Postal code,SKU,Quantity{head}\n\
             1,2026-11-24,Ada Wren,12 Mill Lane,Hartwell,OH,44001,PUFFIN,1{cell}\n\
             2,2026-11-24,Bo Tern,9 Salt Row,Hartwell,OH,44001,EIDER,1{cell}\n"
        )
    };
    let (unpaid, silent, paid) = (bare(Some("unpaid")), bare(None), bare(Some("paid")));
    for files in [[&unpaid, &silent], [&silent, &unpaid]] {
        let desk = Desk::new();
        let manifest = told(&desk, NOW, &files.map(Clone::clone));
        assert_eq!(packed(&manifest), [], "{manifest}");
        let reasons: Vec<&Value> = manifest["held"].as_array().unwrap().iter().map(|held| &held["reason"]).collect();
        assert_eq!(reasons, ["unpaid", "unpaid"], "{manifest}");
        assert_eq!(packed(&told(&desk, THURSDAY, std::slice::from_ref(&paid))).len(), 2);
    }
    // With nothing said at all, and called off and taken back in between.
    assert_eq!(packed(&told(&Desk::new(), NOW, std::slice::from_ref(&silent))).len(), 2);
    for files in [[&unpaid, &silent], [&silent, &unpaid]] {
        let desk = Desk::new();
        desk.drop("a.csv", files[0].as_bytes());
        desk.run(&["take-in"]);
        let id = desk.json(&["list", "orders", "--json"])["orders"][0]["id"].as_str().unwrap().to_owned();
        assert_eq!(desk.run(&["cancel", &id]).code, Some(0));
        desk.drop("b.csv", files[1].as_bytes());
        desk.run(&["take-in"]);
        assert_eq!(desk.run(&["release", &id]).code, Some(0));
        assert!(held(&desk.morning(NOW), &id).starts_with("not paid yet"));
    }
}

#[test]
fn a_gift_that_is_neither_yes_nor_no_is_refused() {
    for (said, refused, papers) in [
        ("maybe", 1, json!(null)),
        ("n/a", 0, json!(["invoice"])),
        ("not a gift", 0, json!(["invoice"])),
        ("none", 0, json!(["invoice"])),
        ("Ja", 0, json!(["gift"])),
    ] {
        let manifest = told(&home(), NOW, &[export(&[&[("Gift", said)]])]);
        assert_eq!(manifest["refused"].as_array().unwrap().len(), refused, "{said}: {manifest}");
        assert_eq!(manifest["parcels"][0]["papers"], papers, "{said}: {manifest}");
    }
}

/// What the buyer wrote decides, and stands in the email.
#[test]
fn a_wish_in_the_note_is_heeded() {
    for (note, parcels) in
        [("please SHIP SEPARATELY", 2), ("bitte getrennt versenden", 2), ("no need to ship separately", 1), ("hi", 1)]
    {
        let desk = home();
        let manifest =
            told(&desk, NOW, &[export(&[&[("Note", note)], &[("Order", "2"), ("Code", "EIDER"), ("Note", "to two")]])]);
        assert_eq!(manifest["parcels"].as_array().unwrap().len(), parcels, "{note}: {manifest}");
        let why = manifest["parcels"].to_string();
        assert_eq!(why.contains("by itself: the note says"), parcels == 2, "{note}: {why}");
        let text = desk.read("outbox/2026-11-25/dispatch.txt");
        assert!(text.contains(&format!("Note: {note}")) && text.contains("Note: to two"), "{text}");
    }
    let desk = home();
    let manifest = told(&desk, NOW, &[export(&[&[("Note", "keep these separate please")]])]);
    assert!(held(&manifest, "my:1").contains("in a parcel of its own?"), "{manifest}");
    answer(&desk, &manifest, "together");
    assert_eq!(packed(&told(&desk, THURSDAY, &[])), one("PUFFIN"));
}

#[test]
fn what_another_bought_goes_in_a_parcel_of_its_own() {
    for (buyer, parcels) in [("Bo Wu", 2), ("", 1), ("A. Wren", 1), ("Wren, Ada", 1)] {
        let desk = home();
        let manifest = told(&desk, NOW, &[export(&[&[], &[("Order", "2"), ("Code", "EIDER"), ("Buyer", buyer)]])]);
        let all = manifest["parcels"].as_array().unwrap();
        assert_eq!(all.len(), parcels, "{buyer}: {manifest}");
        let offered = all.iter().filter(|parcel| !parcel["refund_offer"].is_null()).count();
        assert_eq!(offered, usize::from(parcels == 1), "{buyer}: {manifest}");
    }
}

fn counted(desk: &Desk, code: &str, on_hand: u32) {
    let text = desk.read("catalogue.csv");
    let mut lines = text.lines();
    let head = lines.next().unwrap();
    let at = head.split(',').position(|name| name == "on_hand").unwrap();
    let mut all = csv::Writer::from_writer(Vec::new());
    all.write_record(head.split(',')).unwrap();
    for record in csv::Reader::from_reader(text.as_bytes()).records() {
        let record = record.unwrap();
        let is_it = record[0] == *code;
        let cells = record.iter().enumerate();
        let on_hand = on_hand.to_string();
        all.write_record(cells.map(|(place, cell)| if is_it && place == at { on_hand.as_str() } else { cell }))
            .unwrap();
    }
    std::fs::write(desk.path("catalogue.csv"), all.into_inner().unwrap()).unwrap();
}

/// The last piece is kept for the order that waits for more.
#[test]
fn the_last_piece_goes_by_date() {
    let rows = export(&[
        &[("Qty", "2"), ("Paid", "2026-11-20")],
        &[("Order", "2"), ("Name", "Bo Wu"), ("A1", "1 Quay"), ("Paid", "2026-11-25")],
    ]);
    let desk = home();
    counted(&desk, "PUFFIN", 1);
    let manifest = told(&desk, NOW, &[rows]);
    assert_eq!(packed(&manifest), [], "{manifest}");
    assert!(held(&manifest, "my:2").contains("kept for my:1"), "{manifest}");
    let about: Vec<&Value> = manifest["questions"].as_array().unwrap().iter().map(|q| &q["about"][0]).collect();
    assert_eq!(about, [&json!("my:2")]);
    answer(&desk, &manifest, "send");
    assert_eq!(packed(&told(&desk, THURSDAY, &[])), one("PUFFIN"));
}

/// A desk whose order 1 went in part: the puffin went, the eider is not there.
fn part_went() -> Desk {
    let desk = home();
    counted(&desk, "EIDER", 0);
    let manifest = told(&desk, NOW, &[export(&[&[], &[("Code", "EIDER")]])]);
    answer(&desk, &manifest, "part");
    let manifest = told(&desk, THURSDAY, &[]);
    assert_eq!(packed(&manifest), one("PUFFIN"), "{manifest}");
    hand_over(&desk, "2026-11-26", "handoff.csv");
    desk.run_at(FRIDAY, &["take-in"]);
    desk
}

#[test]
fn the_rest_carries_a_paper_that_says_what_it_belongs_to() {
    let desk = part_went();
    counted(&desk, "EIDER", 5);
    let manifest = told(&desk, FRIDAY, &[]);
    assert_eq!(packed(&manifest), one("EIDER"));
    let parcel = &manifest["parcels"][0];
    assert_eq!((&parcel["papers"], &parcel["refund_offer"]), (&json!(["rest"]), &json!(null)));
    assert_eq!(parcel["belongs_to"], json!([{"order": "my:1", "invoice": 1, "after": ["1126-01"]}]));
    assert_eq!(parcel["invoices"], json!([]));
}

#[test]
fn what_is_left_is_called_off_and_taken_back() {
    let desk = part_went();
    let said = desk.run_at(FRIDAY, &["cancel", "my:1"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert!(said.stderr.contains("1126-01 stays gone") || said.stdout.contains("1126-01 stays gone"), "{said:?}");
    counted(&desk, "EIDER", 5);
    let manifest = told(&desk, FRIDAY, &[]);
    assert_eq!((packed(&manifest).len(), manifest["held"].as_array().unwrap().len()), (0, 0), "{manifest}");
    assert_eq!(desk.run_at(FRIDAY, &["cancel", "my:1"]).code, Some(1));
    assert_eq!(desk.run_at(FRIDAY, &["release", "my:1"]).code, Some(0));
    assert_eq!(packed(&told(&desk, "2026-11-28T06:30", &[])), one("EIDER"));
}

/// Only what the seller called off is the seller's to take back.
#[test]
fn a_calling_off_by_mistake_is_taken_back() {
    let desk = home();
    desk.drop("a.csv", export(&[&[]]).as_bytes());
    desk.run(&["take-in"]);
    assert_eq!(desk.run(&["cancel", "my:1"]).code, Some(0));
    assert_eq!(desk.run(&["release", "my:1"]).code, Some(0));
    assert_eq!(desk.run(&["release", "my:1"]).code, Some(1));
    assert_eq!(packed(&told(&desk, NOW, &[])), one("PUFFIN"));
    let desk = home();
    desk.drop("a.csv", export(&[&[("State", "cancelled")]]).as_bytes());
    desk.run(&["take-in"]);
    assert_eq!(desk.run(&["release", "my:1"]).code, Some(1));
}
