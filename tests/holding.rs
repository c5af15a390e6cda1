//! What can be held, till when, and what is said of the rest: through the real program.

use serde_json::json;

use crate::desk::{Desk, NOW, Said};

const HEAD: &str =
    "Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Writes from,Pin code,How many,Each,In all\n";
const SHEET: &str =
    "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
const THURSDAY: &str = "2026-11-26T06:30";
const FRIDAY: &str = "2026-11-27T06:30";

fn drop(desk: &Desk, name: &str, rows: &[(u32, &str, &str, u32)]) {
    let rows = rows.iter().map(|(order, standing, code, count)| {
        format!(
            "{order},11/23/2026,11/23/2026,{standing},Buyer {order}a,{order}1 Tern Street,Brackwater,MA,01999,US,,{code},\
             {count},9.00,9.00\n"
        )
    });
    desk.drop(name, format!("{HEAD}{}", rows.collect::<String>()).as_bytes());
}

/// A home in which these were listed, each in a parcel of its own.
fn listed(rows: &[(u32, &str, &str, u32)]) -> Desk {
    let desk = Desk::new();
    drop(&desk, "a.csv", rows);
    desk.morning(NOW);
    desk
}

/// What is wrong is told, and nothing is held.
fn refused(desk: &Desk, said: &Said, words: &[&str]) {
    assert_eq!((said.code, said.stdout.as_str()), (Some(1), ""), "{said:?}");
    assert_eq!(said.stderr.trim_end().lines().count(), 1, "{said:?}");
    for word in words {
        assert!(said.stderr.contains(word), "no `{word}`: {said:?}");
    }
    let held = desk.json(&["list", "held", "--json"]);
    assert!(!held.to_string().contains("\"seller\""), "{held}");
}

#[test]
fn what_lies_in_a_listed_parcel_is_not_held_and_the_way_to_hold_it_works() {
    let desk = listed(&[(7, "settled", "PUFFIN", 1)]);
    let said = desk.run(&["hold", "stall:7"]);
    refused(
        &desk,
        &said,
        &[
            "`stall:7` lies in parcel 1125-01, listed on Wed 25 Nov 2026",
            "`dawnpack cancel stall:7`",
            "`dawnpack release stall:7`",
        ],
    );
    for command in ["cancel", "release", "hold"] {
        assert_eq!(desk.run(&[command, "stall:7"]).code, Some(0), "{command}");
    }
    let manifest = desk.morning(THURSDAY);
    assert_eq!(manifest["held"][0]["reason"], "seller", "{manifest}");
    assert_eq!((&manifest["parcels"], &manifest["listed_earlier"]), (&json!([]), &json!([])), "{manifest}");
}

#[test]
fn a_listed_parcel_that_is_asked_about_is_held_by_the_answer() {
    let desk = listed(&[(7, "settled", "PUFFIN", 1)]);
    drop(&desk, "b.csv", &[(7, "settled", "PUFFIN", 1)]);
    let mended = desk.read("archive/2026-11-25/a.csv").replace("71 Tern", "72 Tern");
    desk.drop("c.csv", mended.as_bytes());
    let manifest = desk.morning(THURSDAY);
    let question = manifest["questions"][0]["id"].as_str().unwrap();
    let hold = || desk.run_at(THURSDAY, &["hold", "stall:7"]);
    refused(&desk, &hold(), &["parcel 1125-01", &format!("`dawnpack answer {question} pack-anew`")]);
    assert_eq!(desk.run_at(THURSDAY, &["answer", question, "pack-anew"]).code, Some(0));
    assert_eq!(hold().code, Some(0));
    let manifest = desk.morning(FRIDAY);
    assert_eq!(manifest["held"][0]["reason"], "seller", "{manifest}");
    assert_eq!(manifest["taken_off"][0]["ref"], "1125-01", "{manifest}");
}

#[test]
fn what_went_is_not_held() {
    let desk = listed(&[(7, "settled", "PUFFIN", 1)]);
    desk.drop("h.csv", format!("{SHEET}handoff 2026-11-25 r1,1125-01,,,,,,,,,2026-11-26,,\n").as_bytes());
    desk.run_at(FRIDAY, &["take-in"]);
    let words = ["went in parcel 1125-01, listed on Wed 25 Nov 2026, handed over on Thu 26 Nov 2026"];
    refused(&desk, &desk.run_at(FRIDAY, &["hold", "stall:7"]), &words);
    drop(&desk, "b.csv", &[(8, "settled", "EIDER", 1)]);
    desk.run_at(FRIDAY, &["take-in"]);
    refused(
        &desk,
        &desk.run_at(FRIDAY, &["hold", "stall:8", "--with", "stall:7"]),
        &["`stall:8` would wait for nothing"],
    );
}

#[test]
fn what_is_called_off_is_not_held() {
    let desk = Desk::new();
    drop(&desk, "a.csv", &[(7, "settled", "PUFFIN", 1), (8, "called off", "PUFFIN", 1)]);
    desk.drop(
        "t.txt",
        b"Trade with: Ines\nAddress:\n  1 Quay\n  Eastmere, ME 04999\nAgreed: 2026-11-20\nI send:\n  1 x PUFFIN\n",
    );
    desk.run(&["take-in"]);
    refused(&desk, &desk.run(&["hold", "stall:8"]), &["`stall:8` is cancelled by its source"]);
    for id in ["stall:7", "T-0001"] {
        assert_eq!(desk.run(&["cancel", id]).code, Some(0));
        refused(
            &desk,
            &desk.run(&["hold", id]),
            &[&format!("`{id}` is cancelled,"), &format!("`dawnpack release {id}`")],
        );
        assert_eq!(desk.run(&["release", id]).code, Some(0));
        let held = desk.run(&["hold", id, "--until", "2026-12-04"]);
        assert_eq!(held.stdout, format!("{id} is held until Fri 4 Dec 2026.\n"), "{held:?}");
        assert_eq!(desk.run(&["release", id]).code, Some(0));
    }
}

/// Of an order that went in part, what is left can be held, and is said to be all that is.
#[test]
fn what_is_left_is_held() {
    let desk = Desk::new();
    let line = desk.read("catalogue.csv").lines().find(|line| line.starts_with("EIDER,")).unwrap().to_owned();
    let header = desk.read("catalogue.csv");
    let place = header.lines().next().unwrap().split(',').position(|column| column == "on_hand").unwrap();
    let mut cells: Vec<&str> = line.split(',').collect();
    cells[place] = "0";
    desk.edit("catalogue.csv", &line, &cells.join(","));
    drop(&desk, "a.csv", &[(7, "settled", "PUFFIN", 1), (7, "settled", "EIDER", 1)]);
    let manifest = desk.morning(NOW);
    let question = manifest["questions"][0]["id"].as_str().unwrap_or_else(|| panic!("{manifest}"));
    assert_eq!(desk.run(&["answer", question, "part"]).code, Some(0));
    assert_eq!(desk.morning(THURSDAY)["parcels"][0]["ref"], "1126-01");
    let said = desk.run(&["hold", "stall:7"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(said.stdout, "What is left of stall:7 is held; what is in parcel 1126-01 is not.\n");
}

#[test]
fn a_hold_ends_on_a_day_to_come() {
    let desk = Desk::new();
    drop(&desk, "a.csv", &[(7, "settled", "PUFFIN", 1)]);
    desk.run(&["take-in"]);
    for (day, why) in [
        ("2026-11-25", "`2026-11-25` is today"),
        ("2026-11-24", "`2026-11-24` is past"),
        ("2062-11-30", "`2062-11-30` is more than two years ahead"),
    ] {
        refused(&desk, &desk.run(&["hold", "stall:7", "--until", day]), &[why, "held till you release it"]);
    }
    assert_eq!(desk.run(&["hold", "stall:7", "--until", "2026-11-26"]).code, Some(0));
}

#[test]
fn a_half_came_on_no_day_before_it_was_agreed() {
    let desk = Desk::new();
    desk.drop(
        "t.txt",
        b"Trade with: Ines\nAddress:\n  1 Quay\n  Eastmere, ME 04999\nAgreed: 2026-11-20\nI send:\n  1 x PUFFIN\n",
    );
    desk.run(&["take-in"]);
    let said = desk.run(&["arrived", "T-0001", "--on", "2025-11-24"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.stderr.contains("trade T-0001 was only agreed on Fri 20 Nov 2026"), "{said:?}");
    let row = "sheet,trade,from,expected,arrived_on,condition,note\n2026-11-25,T-0001,,,2025-11-24,,\n";
    desk.drop("incoming.csv", row.as_bytes());
    assert_eq!(desk.json(&["take-in", "--json"])["refused"][0]["column"], "arrived_on");
    let said = desk.run(&["arrived", "T-0001", "--on", "2026-11-20"]);
    assert_eq!((said.code, said.stdout.as_str()), (Some(0), "T-0001: their half came on Fri 20 Nov 2026.\n"));
}

#[test]
fn a_morning_is_of_today_or_soon() {
    let desk = Desk::new();
    for more in [&["--dry-run"][..], &[]] {
        let said = desk.run(&[&["morning", "--date", "2062-11-25"], more].concat());
        assert_eq!(said.code, Some(1), "{said:?}");
        assert!(said.stderr.contains("`2062-11-25` is more than two years ahead"), "{said:?}");
    }
    assert_eq!(desk.names("outbox"), Vec::<String>::new());
    // A morning that was missed, and one before a day off.
    for day in ["2026-11-24", "2026-12-26"] {
        assert_eq!(desk.run(&["morning", "--date", day, "--dry-run"]).code, Some(0), "{day}");
    }
    let quote = |day: &str| desk.run(&["quote", "--mass", "4oz", "--to", "US", "--on", day]);
    assert!(
        quote("2062-11-25").stderr.contains("`2062-11-25` is more than two years ahead"),
        "{:?}",
        quote("2062-11-25")
    );
    assert_eq!(quote("2026-08-01").code, Some(0));
}

#[test]
fn a_day_that_is_none_is_told_in_one_line() {
    let desk = Desk::new();
    for (args, option) in [
        (&["hold", "stall:7", "--until"][..], "--until"),
        (&["arrived", "T-0001", "--on"], "--on"),
        (&["morning", "--date"], "--date"),
        (&["quote", "--mass", "4oz", "--to", "US", "--on"], "--on"),
    ] {
        for day in ["tomorrow", "30.11.2026", "2026-02-30", "11/30/2026", "2026-11-30T10:00", "2026-1-5", ""] {
            let said = desk.run(&[args, &[day]].concat());
            let line = format!("dawnpack: {option}: `{day}` is no day; write it as `2026-11-30`\n");
            assert_eq!((said.code, said.stderr), (Some(2), line), "{args:?}");
        }
    }
    let said = desk.run_at("soon", &["check"]);
    assert_eq!((said.code, said.stderr.lines().count()), (Some(2), 1), "{said:?}");
}
