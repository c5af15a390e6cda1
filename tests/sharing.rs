//! What shares a parcel, what waits, and what goes in parts, through the real program.

use serde_json::Value;

use crate::desk::{Desk, NOW};

const HEAD: &str =
    "Slip,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each,Post paid by buyer\n";
/// Thursday 26 November is a holiday: what is planned then is handed over on Friday.
const THANKSGIVING: &str = "2026-11-26T06:30";
const SATURDAY: &str = "2026-11-28T06:30";

fn row(number: u32, paid: &str, standing: &str, code: &str, postage: &str) -> String {
    format!("{number},{paid},{standing},Ines Okonjo,88 Tern Street,Brackwater,MA,01999,US,{code},1,9.00,{postage}\n")
}

fn drop(desk: &Desk, name: &str, rows: &[String]) {
    desk.drop(name, format!("{HEAD}{}", rows.concat()).as_bytes());
}

fn orders(manifest: &Value) -> Vec<Vec<&str>> {
    manifest["parcels"]
        .as_array()
        .unwrap()
        .iter()
        .map(|parcel| parcel["orders"].as_array().unwrap().iter().map(|id| id.as_str().unwrap()).collect())
        .collect()
}

fn held(manifest: &Value) -> Vec<(&str, &str, Option<&str>)> {
    manifest["held"]
        .as_array()
        .unwrap()
        .iter()
        .map(|held| (held["id"].as_str().unwrap(), held["reason"].as_str().unwrap(), held["until"].as_str()))
        .collect()
}

#[test]
fn nothing_is_added_to_a_parcel_on_the_table_without_an_answer() {
    for answer in [Some("with-it"), Some("apart"), None] {
        let desk = Desk::new();
        drop(&desk, "a.csv", &[row(7, "11/23/2026", "settled", "PUFFIN", "4.50")]);
        assert_eq!(orders(&desk.morning(NOW)), [["stall:7"]]);
        drop(&desk, "b.csv", &[row(8, "11/25/2026", "settled", "PUFFIN", "4.50")]);
        let manifest = desk.morning(THANKSGIVING);
        assert_eq!(orders(&manifest), Vec::<Vec<&str>>::new());
        assert_eq!(held(&manifest), [("stall:8", "question", Some("2026-11-28"))]);
        let asks = manifest["questions"][0]["text"].as_str().unwrap();
        assert!(asks.starts_with("1125-01 for Ines Okonjo is listed and not handed over"), "{asks}");
        if let Some(answer) = answer {
            assert_eq!(desk.run(&["answer", "Q-0001", answer]).code, Some(0));
        }
        let manifest = desk.morning(SATURDAY);
        let listed = desk.json(&["list", "parcels", "--json"])["parcels"][0]["state"].clone();
        if answer == Some("with-it") {
            assert_eq!(orders(&manifest), [["stall:7", "stall:8"]]);
            assert_eq!(manifest["parcels"][0]["cautions"][0]["code"], "packed-anew", "{manifest}");
            let text = manifest["parcels"][0]["cautions"][0]["text"].as_str().unwrap();
            assert!(text.starts_with("lay in 1125-01 before"), "{text}");
            assert_eq!(manifest["parcels"][0]["invoices"][0]["number"], 1, "the first order keeps its invoice");
            assert_eq!(listed, "cancelled");
        } else {
            assert_eq!(orders(&manifest), [["stall:8"]], "{answer:?}");
            assert_eq!(listed, "listed");
        }
    }
}

#[test]
fn postage_paid_twice_is_reckoned_for_one_parcel_and_never_for_two() {
    let desk = Desk::new();
    let rows =
        [("4.50", 7), ("6.00", 8), ("6.00", 9)].map(|(paid, id)| row(id, "11/23/2026", "settled", "PUFFIN", paid));
    drop(&desk, "a.csv", &rows);
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), [["stall:7", "stall:8", "stall:9"]]);
    // 4.50 + 6.00 + 6.00 less the largest of them.
    assert_eq!(manifest["parcels"][0]["refund_offer"], "10.50");
    assert!(desk.read("outbox/2026-11-25/dispatch.txt").contains("$10.50 could be offered back"));
    let apart = Desk::new();
    apart.edit("dawnpack.toml", "combine = \"same-recipient\"", "combine = \"never\"");
    drop(&apart, "a.csv", &rows);
    let manifest = apart.morning(NOW);
    assert_eq!(orders(&manifest).len(), 3);
    assert_eq!(manifest["parcels"][0]["refund_offer"], Value::Null);
}

#[test]
fn what_waits_for_another_goes_with_it_or_on_its_own_day() {
    for other_is_paid in [true, false] {
        let desk = Desk::new();
        let both = |standing: &str| {
            [row(7, "11/25/2026", "settled", "PUFFIN", ""), row(8, "11/25/2026", standing, "EIDER", "")]
        };
        drop(&desk, "a.csv", &both("owing"));
        assert_eq!(desk.run(&["take-in"]).code, Some(0));
        assert_eq!(desk.run(&["hold", "stall:7", "--with", "stall:7"]).code, Some(1));
        assert_eq!(desk.run(&["hold", "stall:7", "--with", "stall:8"]).code, Some(0));
        let manifest = desk.morning(NOW);
        assert_eq!(held(&manifest)[0], ("stall:7", "seller", Some("2026-11-28")), "{manifest}");
        if other_is_paid {
            drop(&desk, "b.csv", &both("settled"));
            assert_eq!(orders(&desk.morning(THANKSGIVING)), [["stall:7", "stall:8"]]);
        } else {
            assert_eq!(orders(&desk.morning(THANKSGIVING)), Vec::<Vec<&str>>::new());
            assert_eq!(orders(&desk.morning(SATURDAY)), [["stall:7"]], "its own day has come");
        }
    }
}

#[test]
fn while_the_seller_is_away_nothing_goes_and_no_day_counts() {
    let desk = Desk::new();
    desk.edit(
        "dawnpack.toml",
        "handling_days = 2",
        "handling_days = 2\naway = [ { from = 2026-11-24, to = 2026-11-27 } ]",
    );
    drop(&desk, "a.csv", &[row(7, "11/23/2026", "settled", "PUFFIN", "")]);
    let manifest = desk.morning(NOW);
    assert_eq!(held(&manifest), [("stall:7", "seller", Some("2026-11-28"))]);
    let manifest = desk.morning(SATURDAY);
    // Two working days after Monday the 23rd, the days away left out: Saturday and the next Monday.
    assert_eq!(manifest["parcels"][0]["ship_by"], "2026-11-30", "{manifest}");
    desk.edit("dawnpack.toml", "to = 2026-11-27", "to = 2026-11-20");
    let said = desk.run(&["check"]);
    assert!(said.stderr.contains("ends before it begins"), "{said:?}");
}

/// Due on Saturday, but the post takes nothing from Thanksgiving to Sunday: Wednesday is the last day.
#[test]
fn what_is_due_when_the_post_is_closed_goes_the_last_day_before() {
    for (morning, late) in [(NOW, false), (THANKSGIVING, true)] {
        let desk = Desk::new();
        desk.edit(
            "dawnpack.toml",
            "handling_days = 2",
            "handling_days = 2\npost_days = [\"mon\", \"tue\", \"wed\", \"thu\"]",
        );
        drop(&desk, "a.csv", &[row(7, "11/25/2026", "settled", "PUFFIN", "")]);
        let manifest = desk.morning(morning);
        let parcel = &manifest["parcels"][0];
        assert_eq!((&parcel["ship_by"], &parcel["late"]), (&"2026-11-28".into(), &late.into()), "{manifest}");
        let why = "by 2026-11-28: 2 working days after payment (2026-11-25); the last day before on which parcels go is \
                   2026-11-25";
        assert!(parcel["why"].as_array().unwrap().contains(&why.into()), "{parcel}");
    }
}

#[test]
fn a_trade_wished_in_its_own_parcel_goes_by_itself() {
    for (own, parcels) in [("", 1), ("Own parcel: no\n", 1), ("own parcel: Yes\n", 2)] {
        let desk = Desk::new();
        drop(&desk, "a.csv", &[row(7, "11/24/2026", "settled", "PUFFIN", "")]);
        let trade = format!(
            "Trade with: Ines Okonjo\nAddress:\n  88 Tern Street\n  Brackwater, MA 01999\nAgreed: 2026-11-20\n\
             Send by: 2026-11-25\n{own}I send:\n  1 x PUFFIN\n"
        );
        desk.drop("trade.txt", trade.as_bytes());
        let manifest = desk.morning(NOW);
        assert_eq!(manifest["totals"]["parcels"], parcels, "{own}: {manifest}");
    }
}

#[test]
fn past_the_cut_off_hour_what_is_due_today_is_late() {
    for (cut_off, late) in [("\"16:00\"", true), ("\"18:00\"", false)] {
        let desk = Desk::new();
        desk.edit("dawnpack.toml", "handling_days = 2", &format!("handling_days = 2\ncut_off = {cut_off}"));
        drop(&desk, "a.csv", &[row(7, "11/23/2026", "settled", "PUFFIN", "")]);
        let manifest = desk.morning("2026-11-25T17:00");
        assert_eq!(
            (&manifest["parcels"][0]["ship_by"], &manifest["parcels"][0]["late"]),
            (&"2026-11-25".into(), &late.into()),
            "{cut_off}"
        );
    }
}

#[test]
fn a_part_goes_before_the_rest_only_where_the_seller_says_so() {
    for answer in ["part", "wait"] {
        let desk = Desk::new();
        desk.edit("catalogue.csv", "1.90,20,B2", "1.90,0,B2");
        drop(
            &desk,
            "a.csv",
            &[row(7, "11/25/2026", "settled", "PUFFIN", ""), row(7, "11/25/2026", "settled", "EIDER", "")],
        );
        let manifest = desk.morning(NOW);
        assert_eq!(held(&manifest)[0].1, "stock");
        let question = &manifest["questions"][0];
        assert_eq!(
            question["text"],
            "stall:7: 1 × PUFFIN is there, 1 × EIDER is not: send that part now, or wait for all?"
        );
        assert_eq!(desk.run(&["answer", "Q-0001", answer]).code, Some(0));
        let manifest = desk.morning(THANKSGIVING);
        assert_eq!(manifest["totals"]["items"], u32::from(answer == "part"), "{manifest}");
        assert_eq!(held(&manifest)[0], ("stall:7", "stock", None));
        desk.edit("catalogue.csv", "1.90,0,B2", "1.90,20,B2");
        let manifest = desk.morning(SATURDAY);
        // The rest was known when the part went: no question about it.
        assert_eq!(manifest["questions"], serde_json::json!([]), "{answer}");
        assert_eq!(manifest["totals"]["items"], if answer == "part" { 1 } else { 2 }, "{manifest}");
    }
}

/// The last puffin goes to whom all is there for, not to an order that waits for an eider.
#[test]
fn what_waits_for_the_rest_takes_nothing_from_the_drawer() {
    let desk = Desk::new();
    desk.edit("catalogue.csv", "1.90,20,B2", "1.90,0,B2");
    desk.edit("catalogue.csv", "2.10,50,B4", "2.10,1,B4");
    let bo = row(8, "11/25/2026", "settled", "PUFFIN", "").replace("Ines Okonjo", "Bo Lind");
    let ines = ["PUFFIN", "EIDER"].map(|code| row(7, "11/24/2026", "settled", code, ""));
    drop(&desk, "a.csv", &[ines.concat(), bo]);
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), [["stall:8"]], "{manifest}");
    assert_eq!(held(&manifest), [("stall:7", "stock", None)]);
}

/// A buyer who wants an order for itself gets it so, and what is asked of others isn't asked of it.
#[test]
fn what_is_wished_apart_goes_apart() {
    let desk = Desk::new();
    desk.edit("columns/stall.toml", "note = \"Said\"", "note = \"Said\"\napart = \"By itself\"");
    let rows = [(7, "yes"), (8, "no"), (9, "")]
        .map(|(number, wish)| row(number, "11/25/2026", "settled", "PUFFIN", "").replace('\n', &format!(",{wish}\n")));
    desk.drop("a.csv", format!("{},By itself\n{}", HEAD.trim_end(), rows.concat()).as_bytes());
    let manifest = desk.morning(NOW);
    let mut together = orders(&manifest);
    together.sort();
    assert_eq!(together, [vec!["stall:7"], vec!["stall:8", "stall:9"]], "{manifest}");
}

/// 68 pins, 17 of them on cards, are more than any mailer takes: they go in parts, and each pin lies in one of them and on one roll.
#[test]
fn what_no_parcel_takes_goes_in_parts_and_no_pin_is_lost() {
    let desk = Desk::new();
    let ordered = [("PUFFIN", 40), ("RAZORBILL", 8), ("PETREL-DANGLE", 3), ("LIGHTSHIP-9", 17)];
    let rows: Vec<String> = ordered
        .iter()
        .map(|(code, count)| {
            let one = row(7, "11/23/2026", "settled", code, "4.50");
            one.replace(&format!(",{code},1,"), &format!(",{code},{count},"))
        })
        .collect();
    drop(&desk, "a.csv", &rows);
    let manifest = desk.morning(NOW);
    let parcels = manifest["parcels"].as_array().unwrap();
    assert!(parcels.len() > 2, "{manifest}");
    for (code, count) in ordered {
        let items = parcels.iter().flat_map(|parcel| parcel["items"].as_array().unwrap());
        let sent: u64 = items.filter(|item| item["code"] == code).map(|item| item["quantity"].as_u64().unwrap()).sum();
        let rolls = parcels.iter().flat_map(|parcel| parcel["rolls"].as_array().unwrap());
        let rolled = rolls.flat_map(|roll| roll["codes"].as_array().unwrap()).filter(|rolled| **rolled == code).count();
        assert_eq!((sent, rolled), (count, usize::try_from(count).unwrap()), "{code}");
    }
    for (place, parcel) in (1..).zip(parcels) {
        let why = parcel["why"].to_string();
        assert!(why.contains(&format!("part {place} of {}", parcels.len())), "{why}");
    }
}

/// Abroad no service takes a button cell: the order with the lamp is held alone, and the other goes on its day.
#[test]
fn what_can_not_go_keeps_nothing_else_back() {
    let desk = Desk::new();
    let abroad = |number: u32, code: &str| {
        row(number, "11/23/2026", "settled", code, "14.00").replace("Brackwater,MA,01999,US", "Nordhafen,,1010,AT")
    };
    drop(&desk, "a.csv", &[abroad(7, "PUFFIN"), abroad(8, "HARBOUR-LAMP")]);
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), [["stall:7"]]);
    assert_eq!(held(&manifest), [("stall:8", "no-service", None)]);
    let text = manifest["held"][0]["text"].as_str().unwrap();
    assert!(text.contains("button-cell"), "{text}");
}

/// A promise for a Sunday: the post takes nothing then, so every paper says Saturday.
#[test]
fn the_day_on_the_papers_is_one_on_which_the_post_takes_parcels() {
    let desk = Desk::new();
    let promised = format!("{},Promised for\n", HEAD.trim_end());
    let one = format!("{},2026-11-29\n", row(7, "11/27/2026", "settled", "PUFFIN", "4.50").trim_end());
    desk.edit("columns/stall.toml", "[columns]", "[columns]\nship_by = \"Promised for\"");
    desk.drop("a.csv", format!("{promised}{one}").as_bytes());
    let said = desk.run_at(SATURDAY, &["morning"]);
    assert!(said.stdout.contains("by Sat 28 Nov"), "{said:?}");
    let email = desk.read("outbox/2026-11-28/dispatch.txt");
    assert!(!email.contains("Sun 29 Nov"), "{email}");
}

/// What was left behind goes once: the same goods under another key are the same, and more of them are asked about.
#[test]
fn what_is_owed_of_an_order_is_used_up_once_it_lies_in_a_parcel() {
    for (key, count) in [("5", 1), ("2", 2)] {
        let desk = Desk::new();
        desk.edit("columns/stall.toml", "order = \"Slip\"", "order = \"Slip\"\nline = \"Row\"");
        desk.edit("catalogue.csv", "1.90,20,B2", "1.90,0,B2");
        let export = |key: &str, count: u32| {
            let eider = row(7, "11/25/2026", "settled", "EIDER", "").replace(",EIDER,1,", &format!(",EIDER,{count},"));
            let puffin = row(7, "11/25/2026", "settled", "PUFFIN", "");
            let rows = [(puffin, "1"), (eider, key)].map(|(row, key)| row.replace('\n', &format!(",{key}\n")));
            format!("{},Row\n{}", HEAD.trim_end(), rows.concat())
        };
        desk.drop("a.csv", export("2", 1).as_bytes());
        desk.morning(NOW);
        assert_eq!(desk.run(&["answer", "Q-0001", "part"]).code, Some(0));
        assert_eq!(desk.morning(THANKSGIVING)["totals"]["items"], 1);
        desk.edit("catalogue.csv", "1.90,0,B2", "1.90,20,B2");
        let manifest = desk.morning(SATURDAY);
        assert_eq!((&manifest["totals"]["items"], &manifest["questions"]), (&1.into(), &serde_json::json!([])));
        desk.drop("b.csv", export(key, count).as_bytes());
        let manifest = desk.morning("2026-11-30T06:30");
        assert_eq!(orders(&manifest), Vec::<Vec<&str>>::new(), "{key}, {count}: {manifest}");
        // The same line under another key is the same line; more of it is news.
        let asked: Vec<&str> =
            manifest["questions"].as_array().unwrap().iter().map(|asked| asked["kind"].as_str().unwrap()).collect();
        assert_eq!(asked, if count > 1 { vec!["changed"] } else { vec![] }, "{manifest}");
    }
}

/// Whoever waits for one that waits, waits too.
#[test]
fn a_chain_of_those_who_wait_for_one_another_waits_for_its_last() {
    let desk = Desk::new();
    let rows = |standing: &str| {
        [(7, "settled"), (8, "settled"), (9, standing)]
            .map(|(number, standing)| row(number, "11/25/2026", standing, "PUFFIN", ""))
    };
    drop(&desk, "a.csv", &rows("owing"));
    assert_eq!(desk.run(&["take-in"]).code, Some(0));
    assert_eq!(desk.run(&["hold", "stall:7", "--with", "stall:8"]).code, Some(0));
    assert_eq!(desk.run(&["hold", "stall:8", "--with", "stall:9"]).code, Some(0));
    let manifest = desk.morning(NOW);
    assert_eq!(orders(&manifest), Vec::<Vec<&str>>::new(), "{manifest}");
    assert_eq!(held(&manifest).iter().map(|held| held.1).collect::<Vec<_>>(), ["seller", "seller", "unpaid"]);
    drop(&desk, "b.csv", &rows("settled"));
    assert_eq!(orders(&desk.morning(THANKSGIVING)), [["stall:7", "stall:8", "stall:9"]]);
}

/// What another waits for may be held late in the day's reckoning: by a question, or as no parcel takes it.
#[test]
fn what_waits_for_another_waits_whatever_holds_that() {
    let bo = |row: String| row.replace("Ines Okonjo,88 Tern Street", "Bo Lind,2 Quay");
    for (code, reason) in [("EIDER", "question"), ("BRICK", "no-service")] {
        let desk = Desk::new();
        let brick = "BRICK,Brick,,other,400,400,300,900,1,1,,,,9.00,1.00,5,A9,Toy,950300,US\nBELL-BUOY,";
        desk.edit("catalogue.csv", "BELL-BUOY,", brick);
        drop(&desk, "a.csv", &[bo(row(5, "11/23/2026", "settled", "PUFFIN", ""))]);
        assert_eq!(orders(&desk.morning(NOW)), [["stall:5"]]);
        if code == "BRICK" {
            let sheet = desk.read("outbox/2026-11-25/handoff.csv");
            desk.drop("handoff.csv", sheet.replace(",oz,,,,,", ",oz,,5.25,2026-11-25,counter,").as_bytes());
        }
        let new = [row(7, "11/25/2026", "settled", "PUFFIN", ""), bo(row(8, "11/25/2026", "settled", code, ""))];
        drop(&desk, "b.csv", &new);
        assert!(matches!(desk.run(&["take-in"]).code, Some(0)));
        assert_eq!(desk.run(&["hold", "stall:7", "--with", "stall:8"]).code, Some(0));
        let manifest = desk.morning(THANKSGIVING);
        assert_eq!(orders(&manifest), Vec::<Vec<&str>>::new(), "{code}: {manifest}");
        let held: Vec<(&str, &str)> = held(&manifest).iter().map(|(id, reason, _)| (*id, *reason)).collect();
        assert_eq!(held, [("stall:7", "seller"), ("stall:8", reason)], "{manifest}");
    }
}
