//! Bad input: each gets its clear line, and nothing else is disturbed.

use std::fs;

use crate::desk::Desk;

#[test]
fn everything_wrong_with_a_home_is_told_at_once() {
    let desk = Desk::new();
    desk.edit("dawnpack.toml", "morning = \"06:30\"", "mornin = \"06:30\"");
    desk.edit("catalogue.csv", "BELL-BUOY,Bell buoy,,pin,22,34,10,7.4", "BELL-BUOY,Bell buoy,,pin,22,34,10,\"7,4\"");
    desk.edit("rates/northline-2026-07.toml", "price = \"5.25\"", "price = \"five\"");
    desk.edit("columns/stall.toml", "postal_code = \"ZIP\"", "postcode = \"ZIP\"");
    let said = desk.run(&["check"]);
    assert_eq!(said.code, Some(1));
    for line in [
        "dawnpack.toml, line 14, key `day.mornin`: is unknown; did you mean `morning`?",
        "catalogue.csv, line 2, column `mass_g`: `7,4` is not a number; write it with a point, such as 7.4",
        "rates/northline-2026-07.toml, line 29, key `service[2].tiers[1].price`: `five` is not a number",
        "columns/stall.toml, line 19, key `columns.postcode`: `ZIP` stands for an unknown field; did you mean `postal_code`?",
    ] {
        assert!(said.stderr.contains(line), "no `{line}` in:\n{}", said.stderr);
    }
}

/// A barcode in the column of a size, a mass with a digit too many: what no pin, mailer or price is measured in is a fault
/// of its cell, in the home as on the command line, and never an overflow.
#[test]
fn numbers_that_nothing_is_measured_in_are_told() {
    let desk = Desk::new();
    let mailers = desk.read("mailers.csv");
    let row = mailers.lines().nth(1).unwrap();
    let mut cells: Vec<&str> = row.split(',').collect();
    cells[2] = "4006381333931000";
    desk.edit("mailers.csv", row, &cells.join(","));
    desk.edit("rates/northline-2026-07.toml", "price = \"5.25\"", "price = \"9999999999999999999999999999\"");
    desk.edit(
        "rates/northline-2026-07.toml",
        "code = \"small-parcel\"\n",
        "code = \"small-parcel\"\nmax_mass = 9999999999999999999999999999\n",
    );
    desk.edit("dawnpack.toml", "turns = 2", "turns = 4000000000");
    let said = desk.run(&["check"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    for line in [
        "dawnpack.toml, line 26, key `packing.turns`: `4000000000` is too large; look for a slip, and write a number below",
        "mailers.csv, line 2, column `inner_width_mm`: `4006381333931000` is too large; look for a slip, and write a \
         number below 100000",
        "`9999999999999999999999999999` is too large; look for a slip, and write a number below 1000000000000",
        "max_mass`: `9999999999999999999999999999` is too large; look for a slip, and write a number below 10000000",
    ] {
        assert!(said.stderr.contains(line), "no `{line}` in:\n{}", said.stderr);
    }
    let desk = Desk::new();
    for ask in [
        ["--mass", "79228162514264337593543950335oz", "--value", "1"],
        ["--mass", "4oz", "--value", "79228162514264337593543950335"],
        ["--mass", "4oz", "--size", "79228162514264337593543950335x1x1in"],
        ["--mass", "4oz", "--size", "9999x1x1in"],
    ] {
        let said = desk.run(&[&["quote", "--to", "US"], ask.as_slice()].concat());
        assert_eq!(said.code, Some(2), "{ask:?}: {said:?}");
        assert!(said.stderr.contains("is too large; look for a slip"), "{ask:?}: {}", said.stderr);
    }
}

#[test]
fn a_sound_home_passes_its_check() {
    let said = Desk::new().run(&["check", "--mail"]);
    assert_eq!(said.code, Some(0), "{said:?}");
}

#[test]
fn odd_drops_get_their_line_and_disturb_nothing() {
    let desk = Desk::with_sample_drops();
    desk.drop("picture.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x01");
    desk.drop("empty.csv", b"");
    desk.drop("blank.csv", b" \n");
    desk.drop("cut.csv", b"Slip,For whom,Pin code,How many\n1,\"Ines");
    desk.drop("stranger.csv", b"one,two\n1,2\n");
    fs::create_dir(desk.path("inbox/folder")).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("/etc/hostname", desk.path("inbox/link.csv")).unwrap();
    let huge = fs::File::create(desk.path("inbox/huge.csv")).unwrap();
    huge.set_len(200 * 1024 * 1024).unwrap();
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    let left = ["cut.csv", "empty.csv", "folder", "link.csv", "stranger.csv"];
    assert_eq!(desk.names("inbox"), left);
    let refused = desk.names("refused/2026-11-25");
    for name in ["picture.csv", "picture.csv.why.txt", "blank.csv.why.txt", "huge.csv.why.txt"] {
        assert!(refused.contains(&name.to_owned()), "{name} not in {refused:?}");
    }
    let text = desk.read("outbox/2026-11-25/dispatch.txt");
    for name in ["picture.csv", "blank.csv", "huge.csv", "cut.csv", "stranger.csv", "folder", "link.csv"] {
        assert!(text.contains(name), "{name} is not told in:\n{text}");
    }
    assert!(text.contains("8 parcels"), "{text}");
}

/// Two files of one name on one day: the rows refused of each stay to be mended.
#[test]
fn what_was_refused_is_never_written_over() {
    let desk = Desk::new();
    for quantity in ["two", "many"] {
        let row = format!("Slip,Standing,For whom,Pin code,How many\n1,settled,Ines,PUFFIN,{quantity}\n");
        desk.drop("a.csv", row.as_bytes());
        desk.run(&["take-in"]);
    }
    let confirmation =
        "Trade with: Ines\nAddress:\n  1 Quay\n  Eastmere, ME 04999\nAgred: 2026-11-20\nI send:\n  1 x PUFFIN\n";
    desk.drop("t.txt", confirmation.as_bytes());
    desk.run(&["take-in"]);
    assert_eq!(desk.names("refused/2026-11-25"), ["a.csv-2.refused.csv", "a.csv.refused.csv", "t.txt.refused.txt"]);
    let mended = desk.read("refused/2026-11-25/t.txt.refused.txt").replace("Agred", "Agreed");
    desk.drop("t.txt", mended.as_bytes());
    assert_eq!(desk.run(&["take-in"]).code, Some(0));
    assert_eq!(desk.json(&["list", "trades", "--json"])["trades"][0]["with"], "Ines");
}

/// An export without the columns that tell paid from unpaid would have every order sent.
#[test]
fn an_export_that_does_not_say_what_is_paid_waits() {
    let desk = Desk::new();
    desk.drop("a.csv", b"Slip,For whom,Pin code,How many\n1,Ines,PUFFIN,1\n");
    let taken = desk.json(&["take-in", "--json"]);
    assert!(taken["waiting"][0]["why"].as_str().unwrap().contains("`Standing`"), "{taken}");
    assert_eq!(desk.names("inbox"), ["a.csv"]);
}

#[test]
fn a_template_that_is_wrong_is_told_and_nothing_is_lost() {
    let desk = Desk::with_sample_drops();
    fs::write(desk.path("templates/dispatch.txt.hbs"), "Hello\n{{nosuchthing}}\n").unwrap();
    assert_eq!(desk.run(&["check"]).code, Some(1));
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(1));
    assert!(said.stderr.contains("dispatch.txt.hbs"), "{said:?}");
    fs::remove_file(desk.path("templates/dispatch.txt.hbs")).unwrap();
    assert_eq!(desk.run(&["morning"]).code, Some(3));
    assert_eq!(desk.names("outbox/mail").len(), 1);
}

#[test]
fn what_can_not_be_asked_is_said() {
    let desk = Desk::with_sample_drops();
    assert_eq!(desk.run(&["frobnicate"]).code, Some(2));
    assert_eq!(desk.run(&["hold", "stall:none"]).code, Some(1));
    let nowhere = crate::desk::program().args(["-C", "no-such-home", "check"]).output().unwrap();
    assert_eq!(nowhere.status.code(), Some(1));
    assert!(String::from_utf8(nowhere.stderr).unwrap().contains("dawnpack new"));
}

/// A reader that has seen enough is no fault.
#[test]
fn a_closed_pipe_ends_the_listing_quietly() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    for args in [&["list", "parcels"][..], &["list", "orders", "--json"], &["check"]] {
        let mut child = crate::desk::program()
            .arg("-C")
            .arg(desk.home())
            .args(["--now", crate::desk::NOW])
            .args(args)
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let said = child.wait_with_output().unwrap();
        let told = String::from_utf8_lossy(&said.stderr);
        assert!(said.status.success() && !told.contains("panicked"), "{args:?}: {told}");
    }
}
