//! Exports that no column map fits, from the drop to the email, through the real program.

use serde_json::Value;

use crate::desk::{Desk, NOW};

const NEXT_DAY: &str = "2026-11-26T06:30";

fn orders(manifest: &Value) -> Vec<&str> {
    let parcels = manifest["parcels"].as_array().unwrap().iter();
    parcels.flat_map(|parcel| parcel["orders"].as_array().unwrap()).map(|id| id.as_str().unwrap()).collect()
}

const GERMAN: &str = "Bestellnummer;Bestelldatum;Empfänger;Straße;PLZ;Ort;Land;Artikelnummer;Menge;Einzelpreis;Status\n\
                      77;23.11.2026;Jörg Weißenau;Hafenstraße 8;26999;Nebelhafen;Deutschland;PUFFIN;2;9,00;bezahlt\n";

#[test]
fn an_unambiguous_match_is_used_and_named_in_the_email() {
    let desk = Desk::new();
    desk.drop("herbst.csv", GERMAN.as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), ["bestellnummer:77"], "{manifest}");
    let remark = &manifest["remarks"][0];
    assert_eq!(remark["file"], "herbst.csv");
    assert!(remark["text"].as_str().unwrap().contains("order = `Bestellnummer`"), "{remark}");
    let text = desk.read("outbox/2026-11-25/dispatch.txt");
    assert!(text.contains("HOW FILES WERE READ") && text.contains("Bestellnummer"), "{text}");
    // Told once.
    desk.drop("winter.csv", GERMAN.replace("77;", "78;").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(manifest["remarks"].as_array().unwrap().len(), 1, "{manifest}");
}

/// The proposal, finished by taking away a `#`, is a column map of the home, and the file is read by it.
#[test]
fn a_proposed_map_is_finished_put_into_the_home_and_reads_the_file() {
    let desk = Desk::new();
    // Two columns could be the recipient, and nothing tells which.
    let export = "Order no,Date,Recipient,Deliver to,Street,Town,State,ZIP,Country,Item code,Quantity,Price\n\
                  5,2026-11-23,Ines Okonjo,Bo Lind,2 Quay,Fogport,ME,04999,US,PUFFIN,1,9.00\n\
                  6,2026-11-23,Ada Quist,Cal Moe,3 Quay,Fogport,ME,04999,US,EIDER,1,8.50\n";
    desk.drop("two.csv", export.as_bytes());
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), Vec::<&str>::new(), "{manifest}");
    assert_eq!(desk.names("inbox"), ["two.csv"], "it waits");
    let name = manifest["waiting"][0]["proposal"].as_str().unwrap().to_owned();
    let proposal = desk.read(&format!("outbox/2026-11-25/columns-{name}.toml"));
    assert!(proposal.contains("Bo Lind") && proposal.contains("Ines Okonjo"), "samples of both:\n{proposal}");
    let text = desk.read("outbox/2026-11-25/dispatch.txt");
    assert!(text.contains(&format!("columns-{name}.toml")), "{text}");
    let mail = desk.names("outbox/mail");
    assert!(desk.read(&format!("outbox/mail/{}", mail[0])).contains(&format!("columns-{name}.toml")), "it is attached");
    // Unfinished as it stands, it says so; finished, it is whole.
    let line = proposal
        .lines()
        .find(|line| line.starts_with("# name = \"Deliver to\""))
        .unwrap_or_else(|| panic!("{proposal}"));
    let finished = proposal.replace(line, line.trim_start_matches("# "));
    std::fs::write(desk.path(&format!("columns/{name}.toml")), finished).unwrap();
    assert_eq!(desk.run(&["check"]).code, Some(0), "{:?}", desk.run(&["check"]));
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(orders(&manifest), [format!("{name}:6"), format!("{name}:5")], "by place on the shelf: {manifest}");
    assert_eq!(manifest["parcels"][1]["recipient"]["name"], "Bo Lind");
}

/// A map under the name of the match goes on where the match left off: nothing is sent twice.
#[test]
fn a_map_that_follows_a_match_knows_its_orders_again() {
    let desk = Desk::new();
    desk.drop("herbst.csv", GERMAN.as_bytes());
    assert_eq!(orders(&desk.morning(NOW)), ["bestellnummer:77"]);
    let map = "name = \"bestellnummer\"\nheaders = [\"Bestellnummer\", \"Empfänger\"]\ndates = \"dmy\"\ndecimal = \",\"\n\
               [columns]\norder = \"Bestellnummer\"\nname = \"Empfänger\"\naddress1 = \"Straße\"\npostal_code = \"PLZ\"\n\
               city = \"Ort\"\ncountry = \"Land\"\ncode = \"Artikelnummer\"\nquantity = \"Menge\"\nunit_price = \"Einzelpreis\"\n\
               state = \"Status\"\n[states]\n\"bezahlt\" = \"open\"\n";
    std::fs::write(desk.path("columns/bestellnummer.toml"), map).unwrap();
    desk.drop("winter.csv", format!("{GERMAN}\n").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(orders(&manifest), Vec::<&str>::new(), "{manifest}");
    assert_eq!(desk.json(&["list", "orders", "--json"])["orders"].as_array().unwrap().len(), 1);
}

/// 03/04 is two days: asked once a source, never decided row by row.
#[test]
fn days_that_could_be_two_are_one_question() {
    for (answer, placed) in [("day-first", "2026-11-03"), ("month-first", "2026-03-11")] {
        let desk = Desk::new();
        let export = |number: u32| {
            format!(
                "Order number,Order date,Ship to,Street,City,State,ZIP,Country,Item code,Quantity,Price\n\
                 {number},03/11/2026,Bo Lind,2 Quay,Fogport,ME,04999,US,PUFFIN,1,9.00\n\
                 {number}1,04/10/2026,Ada Quist,3 Quay,Fogport,ME,04999,US,EIDER,1,8.50\n"
            )
        };
        desk.drop("a.csv", export(1).as_bytes());
        let manifest = desk.morning(NOW);
        assert_eq!(orders(&manifest), Vec::<&str>::new(), "{manifest}");
        let questions = manifest["questions"].as_array().unwrap();
        assert_eq!(questions.len(), 1, "{manifest}");
        assert_eq!(questions[0]["choices"], serde_json::json!(["day-first", "month-first"]));
        assert_eq!(desk.json(&["list", "questions", "--json"])["questions"].as_array().unwrap().len(), 1);
        let said = desk.run(&["answer", questions[0]["id"].as_str().unwrap(), answer]);
        assert_eq!(said.code, Some(0), "{said:?}");
        // The answer holds for the source's later files too.
        desk.drop("b.csv", export(2).as_bytes());
        let manifest = desk.morning(NEXT_DAY);
        assert_eq!(orders(&manifest).len(), 4, "{manifest}");
        assert_eq!(desk.json(&["list", "orders", "--json"])["orders"][0]["placed_at"], placed);
    }
}

/// The answer and the file that waits for it lie in one inbox: the morning that takes the answer reads the file too.
#[test]
fn an_answer_dropped_back_lets_the_waiting_file_in_at_once() {
    let desk = Desk::new();
    let export = "Order number,Order date,Ship to,Street,City,State,ZIP,Country,Item code,Quantity,Price\n\
                  1,03/11/2026,Bo Lind,2 Quay,Fogport,ME,04999,US,PUFFIN,1,9.00\n";
    desk.drop("a.csv", export.as_bytes());
    desk.morning(NOW);
    let sheet = desk.read("outbox/2026-11-25/questions.csv");
    let filled: Vec<String> = sheet
        .lines()
        .map(|line| if line.contains("Q-0001") { format!("{}day-first", line.trim_end()) } else { line.to_owned() })
        .collect();
    desk.drop("questions.csv", filled.join("\r\n").as_bytes());
    let manifest = desk.morning(NEXT_DAY);
    assert_eq!(orders(&manifest), ["order-number:1"], "{manifest}");
}
