//! What lies on the table, listed and not handed over: what may change meanwhile, through the real program.

use serde_json::Value;

use crate::desk::{Desk, NOW};

const HEAD: &str =
    "Slip,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each,By itself,A present\n";
/// Thursday 26 November is a holiday: what is planned then is handed over on Friday.
const THURSDAY: &str = "2026-11-26T06:30";
const FRIDAY: &str = "2026-11-27T06:30";
const SATURDAY: &str = "2026-11-28T06:30";

/// A row of an export: by default one puffin for Ada, paid on the first day.
#[derive(Clone, Copy)]
struct Row {
    number: u32,
    paid: &'static str,
    standing: &'static str,
    name: &'static str,
    door: &'static str,
    code: &'static str,
    count: u32,
    apart: &'static str,
}

const ADA: Row = Row {
    number: 1,
    paid: "11/25/2026",
    standing: "settled",
    name: "Ada Wren",
    door: "12 Mill Lane",
    code: "PUFFIN",
    count: 1,
    apart: "",
};

/// Two orders that share a parcel.
const BOTH: [Row; 2] = [ADA, Row { number: 2, code: "EIDER", ..ADA }];

fn home() -> Desk {
    let desk = Desk::new();
    desk.edit("columns/stall.toml", "note = \"Said\"", "note = \"Said\"\napart = \"By itself\"");
    desk.edit("columns/stall.toml", "\"owing\" = \"unpaid\"", "\"owing\" = \"unpaid\"\n\"paid back\" = \"refunded\"");
    desk
}

fn drop(desk: &Desk, name: &str, rows: &[Row]) {
    let row = |row: &Row| {
        let Row { number, paid, standing, name, door, code, count, apart } = row;
        format!("{number},{paid},{standing},{name},{door},Hartwell,OH,44001,US,{code},{count},9.00,{apart},\n")
    };
    desk.drop(name, format!("{HEAD}{}", rows.iter().map(row).collect::<String>()).as_bytes());
}

/// A home in which these were listed on the first morning.
fn listed(rows: &[Row]) -> (Desk, Value) {
    let desk = home();
    drop(&desk, "a.csv", rows);
    let manifest = desk.morning(NOW);
    (desk, manifest)
}

/// `1125-01 stall:1 stall:2` for each parcel.
fn parcels(manifest: &Value) -> Vec<String> {
    let parcel = |parcel: &Value| {
        let ids = parcel["orders"].as_array().unwrap().iter().chain(parcel["trades"].as_array().unwrap());
        let ids: Vec<&str> = ids.map(|id| id.as_str().unwrap()).collect();
        format!("{} {}", parcel["ref"].as_str().unwrap(), ids.join(" "))
    };
    manifest["parcels"].as_array().unwrap().iter().map(parcel).collect()
}

/// What is asked: id, text and choices.
fn asked(manifest: &Value) -> Vec<(&str, &str, Vec<&str>)> {
    let questions = manifest["questions"].as_array().unwrap().iter();
    questions
        .map(|asked| {
            let choices = asked["choices"].as_array().unwrap().iter().map(|choice| choice.as_str().unwrap());
            (asked["id"].as_str().unwrap(), asked["text"].as_str().unwrap(), choices.collect())
        })
        .collect()
}

/// Answers the one open question, of a manifest.
fn answer(desk: &Desk, manifest: &Value, choice: &str, now: &str) {
    let asked = asked(manifest);
    assert_eq!(asked.len(), 1, "{asked:?}");
    say(desk, asked[0].0, choice, now);
}

fn say(desk: &Desk, question: &str, choice: &str, now: &str) {
    let said = desk.run_at(now, &["answer", question, choice]);
    assert_eq!(said.code, Some(0), "{question} {choice}: {said:?}");
}

fn state(desk: &Desk, parcel: &str) -> String {
    let all = desk.json(&["list", "parcels", "--json"]);
    let found = all["parcels"].as_array().unwrap().iter().find(|row| row["ref"] == parcel);
    found.unwrap_or_else(|| panic!("{parcel}: {all}"))["state"].as_str().unwrap().to_owned()
}

/// Hands parcels over by the hand-off sheet.
fn hand_over(desk: &Desk, name: &str, sheet: &str, parcels: &[&str], day: &str) {
    let rows = parcels.iter().map(|parcel| format!("handoff {sheet} r1,{parcel},,,,,,,,,{day},,\n"));
    let head = "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
    desk.drop(name, format!("{head}{}", rows.collect::<String>()).as_bytes());
}

fn text(desk: &Desk, day: &str) -> String {
    // Lines are folded at a width; what is said is not.
    desk.read(&format!("outbox/{day}/dispatch.txt")).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_was_called_off_in_a_listed_parcel_stays_in_front_till_it_is_settled() {
    for (standing, choice) in [("called off", "pack-anew"), ("paid back", "went")] {
        let (desk, manifest) = listed(&BOTH);
        assert_eq!(parcels(&manifest), ["1125-01 stall:1 stall:2"]);
        drop(&desk, "b.csv", &[Row { standing, ..ADA }]);
        for morning in [THURSDAY, FRIDAY] {
            let manifest = desk.morning(morning);
            let asked = asked(&manifest);
            assert_eq!(asked.len(), 1, "{morning}: {manifest}");
            assert!(asked[0].1.starts_with("do not send: 1125-01 for Ada Wren holds stall:1, which was "), "{asked:?}");
            assert!(asked[0].1.contains("stall:2"), "{asked:?}");
            assert_eq!(asked[0].2, ["pack-anew", "went"]);
            assert_eq!(manifest["questions"][0]["about"], serde_json::json!(["stall:1"]));
            let day = &morning[..10];
            assert!(text(&desk, day).contains(asked[0].0), "{day}");
            let sheet = desk.read(&format!("outbox/{day}/handoff.csv"));
            let row = sheet.lines().find(|line| line.contains("1125-01")).unwrap();
            assert!(row.contains(&format!("do not send: see {}", asked[0].0)), "{row}");
            assert!(manifest["listed_earlier"][0]["heed"].as_str().unwrap().contains(asked[0].0), "{manifest}");
        }
        say(&desk, "Q-0001", choice, FRIDAY);
        let manifest = desk.morning(SATURDAY);
        assert_eq!(asked(&manifest), [], "{choice}");
        if choice == "pack-anew" {
            assert_eq!(parcels(&manifest), ["1128-01 stall:2"]);
            let caution = &manifest["parcels"][0]["cautions"][0];
            assert_eq!(caution["code"], "packed-anew");
            let said = caution["text"].as_str().unwrap();
            assert!(said.starts_with("lay in 1125-01 before") && said.contains("stall:1"), "{said}");
            assert_eq!(state(&desk, "1125-01"), "cancelled");
            assert_eq!(manifest["taken_off"][0]["ref"], "1125-01");
        } else {
            assert_eq!(parcels(&manifest), Vec::<String>::new());
            assert_eq!(state(&desk, "1125-01"), "handed-over");
            let text = text(&desk, "2026-11-28");
            assert!(text.contains("stall:1 was refunded; it went on Fri 27 Nov in 1125-01:"), "{text}");
        }
    }
}

#[test]
fn a_parcel_of_which_all_was_called_off_is_taken_off_and_nothing_is_packed() {
    let (desk, _) = listed(&[ADA]);
    drop(&desk, "b.csv", &[Row { standing: "called off", ..ADA }]);
    answer(&desk, &desk.morning(THURSDAY), "pack-anew", THURSDAY);
    let said = desk.run_at(FRIDAY, &["morning"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    let manifest: Value = serde_json::from_str(&desk.read("outbox/2026-11-27/manifest.json")).unwrap();
    assert_eq!((parcels(&manifest).len(), manifest["listed_earlier"].as_array().unwrap().len()), (0, 0));
    assert_eq!(state(&desk, "1125-01"), "cancelled");
    let text = text(&desk, "2026-11-27");
    assert!(text.contains("TAKEN OFF THE LIST 1125-01 Ada Wren") && text.contains("stall:1"), "{text}");
    // Run again, nothing is new.
    assert_eq!(desk.morning(FRIDAY)["revision"], 1);
}

/// All parcels of an order are named, and one answer settles them.
#[test]
fn one_question_names_all_parcels_of_what_was_called_off() {
    let desk = small_mailers();
    drop(&desk, "a.csv", &[Row { count: 14, ..ADA }]);
    assert_eq!(parcels(&desk.morning(NOW)).len(), 3);
    drop(&desk, "b.csv", &[Row { count: 14, standing: "called off", ..ADA }]);
    let manifest = desk.morning(THURSDAY);
    let said = asked(&manifest)[0].1.to_owned();
    assert!(["1125-01", "1125-02", "1125-03"].iter().all(|parcel| said.contains(parcel)), "{said}");
    assert!(manifest["called_off"].to_string().contains("1125-03"), "{manifest}");
    answer(&desk, &manifest, "pack-anew", THURSDAY);
    let manifest = desk.morning(FRIDAY);
    assert_eq!((parcels(&manifest).len(), asked(&manifest).len()), (0, 0), "{manifest}");
    for parcel in ["1125-01", "1125-02", "1125-03"] {
        assert_eq!(state(&desk, parcel), "cancelled");
    }
}

/// A home with small mailers only, which take six puffins each.
fn small_mailers() -> Desk {
    let desk = home();
    let small: Vec<String> = desk.read("mailers.csv").lines().take(3).map(str::to_owned).collect();
    std::fs::write(desk.path("mailers.csv"), small.join("\n")).unwrap();
    desk
}

#[test]
fn what_was_called_off_and_went_is_an_alarm() {
    // Handed over after it was called off.
    let (desk, _) = listed(&BOTH);
    drop(&desk, "b.csv", &[Row { standing: "called off", ..ADA }]);
    desk.morning(THURSDAY);
    hand_over(&desk, "h.csv", "2026-11-25", &["1125-01"], "2026-11-26");
    let alarm = "stall:1 was cancelled; it went on Thu 26 Nov in 1125-01:";
    let said = desk.run_at(FRIDAY, &["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    let told = text(&desk, "2026-11-27");
    assert!(told.contains("YOURS TO DECIDE: 1 thing needs you") && told.contains(alarm), "{told}");
    // Told once.
    assert_eq!(desk.run_at(SATURDAY, &["morning"]).code, Some(0));
    assert!(!text(&desk, "2026-11-28").contains("cancelled"));
    // Called off after it was handed over.
    let (desk, _) = listed(&BOTH);
    hand_over(&desk, "h.csv", "2026-11-25", &["1125-01"], "2026-11-26");
    desk.morning(THURSDAY);
    drop(&desk, "b.csv", &[Row { standing: "called off", ..ADA }]);
    let said = desk.run_at(FRIDAY, &["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    let told = text(&desk, "2026-11-27");
    assert!(told.contains("YOURS TO DECIDE: 1 thing needs you") && told.contains(alarm), "{told}");
}

#[test]
fn a_new_address_of_a_listed_order_is_packed_anew_or_left() {
    for choice in ["pack-anew", "leave"] {
        let (desk, _) = listed(&[ADA]);
        drop(&desk, "b.csv", &[Row { door: "90 Gill Lane", ..ADA }]);
        let manifest = desk.morning(THURSDAY);
        let said = asked(&manifest)[0].1;
        assert!(
            said.starts_with("1125-01 for Ada Wren holds stall:1, which changed since: address: 90 Gill Lane"),
            "{said}"
        );
        assert_eq!(asked(&manifest)[0].2, ["pack-anew", "leave"]);
        assert!(text(&desk, "2026-11-26").contains("YOURS TO DECIDE: 1 thing needs you"));
        answer(&desk, &manifest, choice, THURSDAY);
        let manifest = desk.morning(FRIDAY);
        assert_eq!(asked(&manifest), [], "{choice}");
        if choice == "pack-anew" {
            assert_eq!(parcels(&manifest), ["1127-01 stall:1"]);
            assert_eq!(manifest["parcels"][0]["recipient"]["lines"][0], "90 Gill Lane");
            assert_eq!(state(&desk, "1125-01"), "cancelled");
        } else {
            assert_eq!(parcels(&manifest), Vec::<String>::new());
            assert_eq!(state(&desk, "1125-01"), "listed");
            // What was left is asked about again only once it changes again.
            drop(&desk, "c.csv", &[Row { door: "7 Dill Lane", ..ADA }]);
            assert_eq!(asked(&desk.morning(SATURDAY)).len(), 1);
        }
    }
}

#[test]
fn fewer_pieces_than_were_listed_are_asked_about_too() {
    let (desk, _) = listed(&[Row { count: 3, ..ADA }]);
    drop(&desk, "b.csv", &[ADA]);
    let manifest = desk.morning(THURSDAY);
    assert!(asked(&manifest)[0].1.contains("1 × PUFFIN, was 3"), "{manifest}");
    answer(&desk, &manifest, "pack-anew", THURSDAY);
    let manifest = desk.morning(FRIDAY);
    assert_eq!((parcels(&manifest), &manifest["totals"]["items"]), (vec!["1127-01 stall:1".to_owned()], &1.into()));
}

#[test]
fn a_listed_trade_that_changed_is_packed_anew_or_left() {
    let trade = |more: &str| {
        format!(
            "Trade with: Ines Okonjo\nAddress:\n  88 Tern Street\n  Brackwater, MA 01999\nAgreed: 2026-11-20\n\
             Send by: 2026-11-28\nI send:\n  1 x PUFFIN\n{more}"
        )
    };
    for choice in ["pack-anew", "leave"] {
        let desk = home();
        desk.drop("t.txt", trade("").as_bytes());
        assert_eq!(parcels(&desk.morning(NOW)), ["1125-01 T-0001"]);
        desk.drop("t2.txt", trade("  1 x EIDER\n").as_bytes());
        let manifest = desk.morning(THURSDAY);
        let said = asked(&manifest);
        assert_eq!(said.len(), 1, "{manifest}");
        assert!(said[0].1.starts_with("1125-01 for Ines Okonjo holds T-0001, which changed since"), "{said:?}");
        assert_eq!(said[0].2, ["pack-anew", "leave"]);
        answer(&desk, &manifest, choice, THURSDAY);
        let manifest = desk.morning(FRIDAY);
        assert_eq!(asked(&manifest), [], "{choice}");
        if choice == "pack-anew" {
            assert_eq!(parcels(&manifest), ["1127-01 T-0001"]);
            assert_eq!(manifest["totals"]["items"], 2);
        } else {
            assert_eq!((parcels(&manifest).len(), state(&desk, "1125-01").as_str()), (0, "listed"));
        }
    }
}

/// What is left of an order in several parcels, where one of them is packed anew, is no news.
#[test]
fn the_rest_of_a_split_order_is_packed_anew_unasked() {
    for by_answer in [true, false] {
        let desk = small_mailers();
        let other = Row { number: 2, code: "EIDER", ..ADA };
        if by_answer {
            drop(&desk, "a.csv", &[Row { count: 14, ..ADA }]);
        } else {
            drop(&desk, "a.csv", &[Row { count: 14, ..ADA }, other]);
        }
        assert_eq!(parcels(&desk.morning(NOW)).len(), 3);
        let manifest = if by_answer {
            drop(&desk, "b.csv", &[other]);
            let manifest = desk.morning(THURSDAY);
            assert!(asked(&manifest)[0].1.starts_with("1125-03 for Ada Wren is listed"), "{manifest}");
            answer(&desk, &manifest, "with-it", THURSDAY);
            desk.morning(FRIDAY)
        } else {
            assert_eq!(desk.run(&["cancel", "stall:2"]).code, Some(0));
            desk.morning(FRIDAY)
        };
        assert_eq!(asked(&manifest), [], "{manifest}");
        let parcel = if by_answer { "1127-01 stall:1 stall:2" } else { "1127-01 stall:1" };
        assert_eq!(parcels(&manifest), [parcel]);
        let orders = desk.json(&["list", "orders", "--json"]);
        assert_eq!(orders["orders"][0]["listed"], 14, "{orders}");
    }
}

/// What the buyer adds to a split order is news still.
#[test]
fn what_was_added_to_a_split_order_is_still_asked_about() {
    let desk = small_mailers();
    drop(&desk, "a.csv", &[Row { count: 14, ..ADA }]);
    desk.morning(NOW);
    drop(&desk, "b.csv", &[Row { count: 16, ..ADA }]);
    let manifest = desk.morning(THURSDAY);
    assert!(asked(&manifest)[0].1.contains("now also 2 × PUFFIN"), "{manifest}");
}

#[test]
fn with_it_is_honoured_whatever_else_lies_there() {
    let desk = home();
    let row = |number, paid| Row { number, paid, ..ADA };
    drop(&desk, "a.csv", &[row(1, "11/23/2026")]);
    assert_eq!(parcels(&desk.morning("2026-11-24T06:30")), ["1124-01 stall:1"]);
    drop(&desk, "b.csv", &[row(2, "11/24/2026")]);
    answer(&desk, &desk.morning(NOW), "apart", NOW);
    // The second list of the day.
    assert_eq!(desk.run(&["morning"]).code, Some(0));
    assert_eq!(state(&desk, "1125-01"), "listed");
    drop(&desk, "c.csv", &[row(3, "11/25/2026")]);
    let manifest = desk.morning(THURSDAY);
    assert!(asked(&manifest)[0].1.starts_with("1125-01 for Ada Wren is listed"), "{manifest}");
    answer(&desk, &manifest, "with-it", THURSDAY);
    let manifest = desk.morning(FRIDAY);
    assert_eq!((parcels(&manifest), asked(&manifest)), (vec!["1127-01 stall:2 stall:3".to_owned()], vec![]));
    assert_eq!(state(&desk, "1124-01"), "listed");
}

/// Two new orders, and a parcel that lies there: each goes as was said of it.
#[test]
fn each_of_two_new_orders_goes_as_was_said_of_it() {
    for (second, third, packed) in [
        ("with-it", "apart", vec!["stall:1 stall:2", "stall:3"]),
        ("apart", "with-it", vec!["stall:1 stall:3", "stall:2"]),
        ("with-it", "with-it", vec!["stall:1 stall:2 stall:3"]),
        ("apart", "apart", vec!["stall:2 stall:3"]),
    ] {
        let (desk, _) = listed(&[ADA]);
        drop(&desk, "b.csv", &[Row { number: 2, code: "EIDER", ..ADA }, Row { number: 3, code: "GANNET", ..ADA }]);
        let manifest = desk.morning(THURSDAY);
        assert_eq!(asked(&manifest).len(), 2, "{manifest}");
        for (asked, choice) in asked(&manifest).iter().zip([second, third]) {
            say(&desk, asked.0, choice, THURSDAY);
        }
        let manifest = desk.morning(FRIDAY);
        let mut together: Vec<String> = parcels(&manifest).iter().map(|parcel| parcel[8..].to_owned()).collect();
        together.sort();
        assert_eq!(
            (together, asked(&manifest).len()),
            (packed.into_iter().map(str::to_owned).collect(), 0),
            "{second}, {third}"
        );
    }
}

#[test]
fn the_last_answer_holds_until_the_day_is_planned() {
    let (desk, _) = listed(&[ADA]);
    drop(&desk, "b.csv", &[Row { number: 2, ..ADA }]);
    let manifest = desk.morning(THURSDAY);
    answer(&desk, &manifest, "with-it", THURSDAY);
    answer(&desk, &manifest, "apart", THURSDAY);
    assert_eq!(parcels(&desk.morning(FRIDAY)), ["1127-01 stall:2"]);
    assert_eq!(state(&desk, "1125-01"), "listed");
}

/// What lies in one parcel by an answer, and is to go apart by a later one, is asked about; once it went, it is too late.
#[test]
fn an_answer_taken_back_after_the_listing_is_asked_about() {
    for by in ["open-parcel", "same-recipient"] {
        let (desk, day) = if by == "open-parcel" {
            let (desk, _) = listed(&[ADA]);
            drop(&desk, "b.csv", &[Row { number: 2, ..ADA }]);
            answer(&desk, &desk.morning(THURSDAY), "with-it", THURSDAY);
            assert_eq!(parcels(&desk.morning(FRIDAY)), ["1127-01 stall:1 stall:2"]);
            (desk, "2026-11-27")
        } else {
            let (desk, manifest) = listed(&[ADA, Row { number: 2, name: "Adah Wrenn", ..ADA }]);
            answer(&desk, &manifest, "together", NOW);
            assert_eq!(parcels(&desk.morning(THURSDAY)), ["1126-01 stall:1 stall:2"]);
            (desk, "2026-11-26")
        };
        let parcel = format!("{}-01", day[5..].replace('-', ""));
        say(&desk, "Q-0001", "apart", FRIDAY);
        let manifest = desk.morning(SATURDAY);
        let said = asked(&manifest);
        assert_eq!(said.len(), 1, "{manifest}");
        assert!(said[0].1.contains(&parcel) && said[0].1.contains("go apart"), "{said:?}");
        assert_eq!(said[0].2, ["pack-anew", "leave"]);
        answer(&desk, &manifest, "pack-anew", SATURDAY);
        let manifest = desk.morning("2026-11-30T06:30");
        assert_eq!(parcels(&manifest), ["1130-01 stall:1", "1130-02 stall:2"], "{manifest}");
        assert_eq!(asked(&manifest), []);
    }
    let (desk, _) = listed(&[ADA]);
    drop(&desk, "b.csv", &[Row { number: 2, ..ADA }]);
    answer(&desk, &desk.morning(THURSDAY), "with-it", THURSDAY);
    desk.morning(FRIDAY);
    hand_over(&desk, "h.csv", "2026-11-27", &["1127-01"], "2026-11-27");
    desk.run_at(FRIDAY, &["take-in"]);
    let said = desk.run_at(SATURDAY, &["answer", "Q-0001", "apart"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.stderr.contains("comes too late") && said.stderr.contains("1127-01"), "{said:?}");
}

#[test]
fn nothing_is_offered_to_go_with_what_was_wished_apart() {
    let (desk, _) = listed(&[Row { apart: "yes", ..ADA }]);
    drop(&desk, "b.csv", &[Row { number: 2, ..ADA }]);
    let manifest = desk.morning(THURSDAY);
    assert_eq!((parcels(&manifest), asked(&manifest)), (vec!["1126-01 stall:2".to_owned()], vec![]));
}

#[test]
fn a_listed_parcel_whose_day_is_past_is_late() {
    let (desk, _) = listed(&[Row { paid: "11/23/2026", ..ADA }]);
    let said = desk.run_at("2026-12-05T06:30", &["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    let manifest: Value = serde_json::from_str(&desk.read("outbox/2026-12-05/manifest.json")).unwrap();
    let earlier = &manifest["listed_earlier"][0];
    assert_eq!((&earlier["ship_by"], &earlier["late"]), (&"2026-11-25".into(), &true.into()), "{manifest}");
    let text = text(&desk, "2026-12-05");
    assert!(text.contains("LATE OR DUE 1125-01 Ada Wren: late since Wed 25 Nov"), "{text}");
}

#[test]
fn a_listed_parcel_in_time_is_neither_late_nor_a_matter_for_the_exit_code() {
    let (desk, _) = listed(&[ADA]);
    let said = desk.run_at(FRIDAY, &["morning"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    let manifest: Value = serde_json::from_str(&desk.read("outbox/2026-11-27/manifest.json")).unwrap();
    assert_eq!(manifest["listed_earlier"][0]["late"], false);
}
