//! `quote` and `identify` as a person and as another program see them, and the seller's rules through the whole program.

use serde_json::{Value, json};

use crate::desk::Desk;

const ASK: [&str; 7] = ["quote", "--mass", "113g", "--size", "180x110x22mm", "--to", "US:97099"];

fn quote(desk: &Desk, more: &[&str]) -> Value {
    desk.json(&[&ASK, more, &["--json"]].concat())
}

fn service<'q>(quote: &'q Value, code: &str) -> &'q Value {
    quote["services"].as_array().unwrap().iter().find(|service| service["service"] == code).unwrap()
}

/// By hand, from the sample's card of July: 113 g are under 4 oz (113.398 g): 5.25; by zone 97099 is far: 9.60 to a pound.
/// From December the first costs 5.60.
#[test]
fn every_service_is_shown_with_its_price_or_why_not() {
    let desk = Desk::new();
    let quote = quote(&desk, &[]);
    assert_eq!(quote["chosen"], "small-parcel");
    let codes: Vec<&str> =
        quote["services"].as_array().unwrap().iter().map(|service| service["service"].as_str().unwrap()).collect();
    assert_eq!(codes, ["letter", "small-parcel", "parcel-plus", "parcel-abroad"]);
    let small = service(&quote, "small-parcel");
    assert_eq!((&small["lawful"], &small["price"], &small["base"]), (&json!(true), &json!("5.25"), &json!("5.25")));
    assert_eq!(small["tier"], json!({"value": "4", "unit": "oz"}));
    assert_eq!(small["why"][0], "up to 4 oz: 5.25");
    let plus = service(&quote, "parcel-plus");
    assert_eq!((&plus["price"], &plus["zone"]), (&json!("9.60"), &json!("far")));
    assert_eq!(plus["why"], json!(["up to 1 lb, zone far: 9.60", "4.35 dearer than `small-parcel`"]));
    let letter = service(&quote, "letter");
    assert_eq!((&letter["lawful"], &letter["price"]), (&json!(false), &Value::Null));
    assert_eq!(letter["why"].as_array().unwrap().len(), 3, "{letter}");
    assert_eq!(service(&quote, "parcel-abroad")["why"], json!(["does not go to US"]));
    assert_eq!(quote["ahead"]["from"], "2026-12-01");
    assert_eq!(quote["ahead"]["text"], "from 2026-12-01 it costs 0.35 more: 5.60");
    // On the day itself it is the price.
    let later = self::quote(&desk, &["--on", "2026-12-01"]);
    assert_eq!((&service(&later, "small-parcel")["price"], &later["ahead"]), (&json!("5.60"), &Value::Null));
}

/// The same parcel in other units is the same parcel.
#[test]
fn units_of_the_question_change_nothing() {
    let desk = Desk::new();
    let ask = |mass: &str, size: &str| {
        let quote = desk.json(&["quote", "--mass", mass, "--size", size, "--to", "US:97099", "--json"]);
        quote["services"].clone()
    };
    let edge = ask("4oz", "7x4.5x0.75in");
    for (mass, size) in [
        ("0.25lb", "7x4.5x0.75in"),
        ("113.3980925g", "177.8x114.3x19.05mm"),
        ("0.1133980925kg", "17.78x11.43x1.905cm"),
        ("4 oz", "4.5x7x0.75 in"),
    ] {
        assert_eq!(ask(mass, size), edge, "{mass}, {size}");
    }
    let above = ask("113.3980926g", "7x4.5x0.75in");
    assert_eq!(above[1]["tier"]["value"], "8");
}

#[test]
fn a_question_that_cannot_be_one_is_wrong_usage() {
    let desk = Desk::new();
    for (key, value) in [
        ("--mass", "0g"),
        ("--mass", "-4oz"),
        ("--mass", "heavy"),
        ("--size", "0x10x10mm"),
        ("--size", "10x10mm"),
        ("--size", "10x10x-1mm"),
        ("--to", "Atlantis"),
        ("--value", "-1"),
        ("--holds", "feathers"),
    ] {
        let mut args: Vec<String> = ASK.iter().map(|arg| (*arg).to_owned()).collect();
        args.retain(|arg| !(key == "--size" && arg == "180x110x22mm") && arg != key);
        args.push(format!("{key}={value}"));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        assert_eq!(desk.run(&args).code, Some(2), "{key} {value}");
    }
}

#[test]
fn what_a_person_reads_fits_80_columns() {
    let desk = Desk::new();
    for more in [&[] as &[&str], &["--value", "160"], &["--holds", "magnet"], &["--contents", "paper"]] {
        let said = desk.run(&[&ASK, more].concat());
        assert_eq!(said.code, Some(0), "{said:?}");
        assert!(said.stdout.lines().all(|line| line.chars().count() <= 80), "{}", said.stdout);
        assert!(said.stdout.contains("▸    5.25  small-parcel, Northline Post") || !more.is_empty(), "{}", said.stdout);
    }
    let cells = desk.run(&["quote", "--mass", "40g", "--to", "DE", "--holds", "button-cell"]);
    assert!(cells.stdout.contains("does not carry button-cell"), "{}", cells.stdout);
    assert!(cells.stdout.contains("No service takes it."), "{}", cells.stdout);
    assert!(cells.stdout.contains("check the carrier's current rules"), "{}", cells.stdout);
}

/// The rules of `[postage]`, worked out by hand on the sample's card: signature 3.95, insurance to 200 for 4.60.
#[test]
fn the_sellers_rules_choose_and_buy() {
    let desk = Desk::new();
    desk.edit("dawnpack.toml", "# signature_above = \"250.00\"", "signature_above = \"120\"");
    desk.edit("dawnpack.toml", "# insure_above = \"100.00\"", "insure_above = \"100\"");
    let worth = |value: &str| quote(&desk, &["--value", value]);
    let small = |value: &str| service(&worth(value), "small-parcel")["price"].clone();
    assert_eq!(
        (small("100"), small("100.01"), small("120"), small("120.01")),
        ("5.25".into(), "9.85".into(), "9.85".into(), "13.80".into())
    );
    let bought: Vec<Value> = service(&worth("121"), "small-parcel")["bought"].as_array().unwrap().clone();
    let codes: Vec<&str> = bought.iter().map(|bought| bought["code"].as_str().unwrap()).collect();
    assert_eq!(codes, ["signature", "insurance"]);
    // The other service offers neither, and says so; above the last band none takes it.
    let plus = service(&worth("121"), "parcel-plus").clone();
    assert_eq!((&plus["lawful"], plus["why"].as_array().unwrap().len()), (&json!(false), 2));
    assert_eq!(worth("200.01")["chosen"], Value::Null);
    desk.edit("dawnpack.toml", "# max_days = 5", "max_days = 4");
    assert_eq!(worth("20")["chosen"], "parcel-plus");
    let why = service(&worth("20"), "small-parcel")["why"].clone();
    assert_eq!(why, json!(["takes up to 5 days, and your rule asks for at most 4"]));
}

/// A card of services that are posted elsewhere is no offer, however cheap.
#[test]
fn what_is_posted_in_another_country_is_not_offered() {
    let desk = Desk::new();
    let card = "carrier = \"Faraway Post\"\ncurrency = \"USD\"\nvalid_from = 2026-01-01\n[[service]]\ncode = \"cheap\"\n\
                shape = \"parcel\"\nfrom = \"GB\"\nto = [\"US\"]\nunit = \"g\"\ntiers = [ { up_to = 2000, price = \"0.10\" } ]\n";
    std::fs::write(desk.path("rates/faraway.toml"), card).unwrap();
    let quote = quote(&desk, &[]);
    assert_eq!(quote["chosen"], "small-parcel");
    assert_eq!(service(&quote, "cheap")["why"], json!(["is posted in GB, and you post in US"]));
}

/// The number's own vectors stand in `tests/standards`; here what is said of them.
#[test]
fn a_number_is_told_in_one_line_with_its_mend() {
    let desk = Desk::new();
    let said = desk.run(&["identify", "RR 473 124 829 GB", "RR473214829GB", "926129O336128704042634", "12345"]);
    assert_eq!(
        said.stdout.lines().collect::<Vec<_>>(),
        [
            "RR473124829GB: UPU S10, registered letter post, posted in GB; check digit holds",
            "RR473214829GB: UPU S10, registered letter post, posted in GB; wrong check digit;",
            "  perhaps RR473124829GB",
            "926129O336128704042634: US package identifier, 22 digits; wrong check digit;",
            "  perhaps 9261290336128704042634",
            "12345: no tracking number that is known here",
        ]
    );
    let json = desk.json(&["identify", "RR473214829GB", "--json"]);
    assert_eq!(json["numbers"][0]["fix"], "RR473124829GB");
    assert_eq!((&json["numbers"][0]["valid"], &json["numbers"][0]["kind"]), (&json!(false), &json!("upu-s10")));
}

/// The sample's parcels, through a morning: the line on the postage, and the form of the one that goes abroad.
#[test]
fn the_manifest_says_how_each_price_came_about() {
    let desk = Desk::with_sample_drops();
    let plan = desk.json(&["morning", "--dry-run", "--json"]);
    let mut abroad = 0;
    for parcel in plan["parcels"].as_array().unwrap() {
        let why: Vec<&str> = parcel["why"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
        let (service, price) =
            (parcel["postage"]["service"].as_str().unwrap(), parcel["postage"]["price"].as_str().unwrap());
        let line = why.iter().find(|line| line.starts_with("postage: ")).unwrap();
        assert!(line.contains(service) && line.contains(price), "{line}");
        if let Some(change) = parcel["postage"]["change_ahead"].as_object() {
            let more = change["difference"].as_str().unwrap();
            assert!(why.iter().any(|line| line.contains(&format!("it costs {more} more"))), "{why:?}");
        }
        if let Some(customs) = parcel["customs"].as_object() {
            abroad += 1;
            assert_eq!(customs["form"], "cn22", "{customs:?}");
            assert!(why.iter().any(|line| line.starts_with("customs: CN 22, as ")), "{why:?}");
            assert_eq!(customs["postal_charges"], parcel["postage"]["price"]);
            assert_eq!(customs["gross_g"], parcel["mass"]["mean_g"]);
        }
    }
    assert!(abroad > 0, "{plan}");
    // Without a rate the larger form is taken, and says why.
    desk.edit("dawnpack.toml", "sdr_rate = ", "# sdr_rate = ");
    desk.edit("dawnpack.toml", "sdr_rate_on = ", "# sdr_rate_on = ");
    let plan = desk.json(&["morning", "--dry-run", "--json"]);
    let customs: Vec<&Value> =
        plan["parcels"].as_array().unwrap().iter().map(|parcel| &parcel["customs"]).filter(|c| c.is_object()).collect();
    assert!(customs.iter().all(|customs| customs["form"] == "cn23"), "{customs:?}");
    assert!(
        customs.iter().all(|customs| customs["form_why"].as_str().unwrap().contains("no sdr_rate in dawnpack.toml"))
    );
}

/// The plan of one pin sold for 9.00.
fn order_of(desk: &Desk, coin: &str) -> Value {
    desk.edit("columns/stall.toml", "total = \"In all\"", "total = \"In all\"\ncurrency = \"Coin\"");
    let table = format!(
        "Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,Pin,How many,Each,Coin\n\
         7,11/23/2026,11/23/2026,settled,Maren Oduya,17 Heron Way,Brackwater,MA,01999,US,PUFFIN,Puffin,1,9.00,{coin}\n"
    );
    desk.drop("a.csv", table.as_bytes());
    desk.json(&["morning", "--dry-run", "--json"])
}

/// Nothing is bought, and nothing is left unsaid, on a comparison of two currencies.
#[test]
fn a_value_in_another_currency_than_the_rules_is_a_caution() {
    for (coin, cautions) in [("USD", 0), ("EUR", 1)] {
        let desk = Desk::new();
        desk.edit("dawnpack.toml", "# signature_above = \"250.00\"", "signature_above = \"5\"");
        let plan = order_of(&desk, coin);
        let parcel = &plan["parcels"][0];
        let codes: Vec<&str> =
            parcel["cautions"].as_array().unwrap().iter().map(|caution| caution["code"].as_str().unwrap()).collect();
        assert_eq!(codes.iter().filter(|code| **code == "value-currency").count(), cautions, "{plan}");
        let signed = parcel["postage"]["bought"].as_array().unwrap().iter().any(|bought| bought["code"] == "signature");
        assert_eq!(signed, coin == "USD", "{parcel}");
    }
}

/// A rule that no service meets holds the order and says which rule it is.
#[test]
fn a_rule_that_no_service_meets_holds_the_order() {
    let desk = Desk::new();
    desk.edit("dawnpack.toml", "# max_days = 5", "max_days = 2");
    let plan = order_of(&desk, "USD");
    assert_eq!(plan["parcels"], json!([]));
    let held = &plan["held"][0];
    assert_eq!(held["reason"], "no-service");
    assert!(held["text"].as_str().unwrap().contains("your rule asks for at most 2"), "{held}");
}
