//! Cells as exports and people write them, and the day or the question that each is.

use jiff::civil::date as day;

use super::*;

#[test]
fn a_date_is_read_in_the_order_of_its_source() {
    let all = [
        ("25.11.2026", DateOrder::Dmy),
        ("25.11.26", DateOrder::Dmy),
        ("25/11/2026 08:15", DateOrder::Dmy),
        ("11/25/2026", DateOrder::Mdy),
        ("11/25/26 8:15 PM", DateOrder::Mdy),
        ("2026-11-25", DateOrder::Dmy),
        ("2026/11/25", DateOrder::Mdy),
        ("2026.11.25 23:59:59.999", DateOrder::Ymd),
        ("25 Nov 2026", DateOrder::Ymd),
        ("Nov 25, 2026, 11:59 p.m.", DateOrder::Ymd),
        ("Wednesday, November 25th, 2026", DateOrder::Dmy),
        ("25-Nov-2026", DateOrder::Mdy),
        ("Wed, 25 Nov 2026 10:00:00 -0500", DateOrder::Dmy),
        ("2026-11-25T08:15:00-05:00[America/New_York]", DateOrder::Dmy),
    ];
    let zone = TimeZone::get("America/New_York").unwrap();
    for (text, order) in all {
        assert_eq!(date(text, order, &zone), Ok(day(2026, 11, 25)), "{text}");
    }
}

#[test]
fn a_day_that_is_the_same_in_either_order_is_read_whatever_the_source_writes() {
    let read = |text: &str| date(text, DateOrder::Ymd, &TimeZone::UTC);
    assert_eq!(read("03/03/2026"), Ok(day(2026, 3, 3)));
    assert_eq!(read("3.03.2026 10:15"), Ok(day(2026, 3, 3)));
    for text in ["03/04/2026", "13/13/2026", "11/11/26", "03/03/0026"] {
        assert_eq!(read(text), Err("is not a date; this source writes year-month-day".to_owned()), "{text}");
    }
}

#[test]
fn what_a_spreadsheet_makes_of_two_numbers_is_known_and_what_it_makes_it_of() {
    for text in ["Nov 02", "02. Nov", "2-nov-26", "Nov-26", "mrt-03", "2026-11-02", "2026-11-02 00:00:00"] {
        assert!(is_made_of_numbers(text), "{text}");
    }
    for text in ["11-02", "1102", "Nov", "NOV-02-A", "Ines 02", "Nov 02 Nov", "2026/11/02", "Nov 20261", ""] {
        assert!(!is_made_of_numbers(text), "{text}");
    }
    for text in ["11-01", "1/2", "11.01", "11-01-26", "11-2026", "13-99"] {
        assert!(may_become_a_day(text), "{text}");
    }
    for text in ["1101", "11-A1", "2026-11", "111-01", "11-01/26", "11-", "-11", "1-1-1-1", "11-20261", ""] {
        assert!(!may_become_a_day(text), "{text}");
    }
}

#[test]
fn days_are_read_in_the_languages_of_the_exports() {
    for text in [
        "25. November 2026",
        "Mi., 25. Nov. 2026, 10:15 Uhr",
        "Mittwoch, den 25. November 2026 um 10:15",
        "25 novembre 2026 à 10h15",
        "mer. 25 nov. 2026",
        "25 de noviembre de 2026, 3:15 p. m.",
        "miércoles, 25 de noviembre de 2026",
        "25 nov 2026 10:15",
        "woensdag 25 november 2026 om 10:15 uur",
        "mercoledì 25 novembre 2026 alle ore 10.15",
        "25 listopada 2026 r. o godz. 10:15",
        "śr., 25 listopada 2026",
        "2026年11月25日",
        "2026年11月25日（水） 10時15分",
        "２０２６年１１月２５日 午後3時15分30秒",
        "2026/11/25(水) 10:15",
        "25. 11. 2026",
        "25.11.2026, Mi, 10:15",
        "Wed 25/11/2026 - 10:15",
        "20261125",
        "２５．１１．２０２６",
        "Nov\u{A0}25\u{202F}2026\u{202F}3:15\u{202F}PM",
    ] {
        assert_eq!(date(text, DateOrder::Dmy, &TimeZone::UTC), Ok(day(2026, 11, 25)), "{text}");
    }
    for (text, month, of) in [
        ("mar. 1er décembre 2026", 12, 1),
        ("3 mar 2026", 3, 3),
        ("1º marzo 2026", 3, 1),
        ("5. März 2026", 3, 5),
        ("5 sierpnia 2026", 8, 5),
        ("5 août 2026", 8, 5),
        ("5 mei 2026", 5, 5),
        ("sob. 5 grudnia 2026", 12, 5),
        ("So 6.12.2026", 12, 6),
    ] {
        let read = date(text, DateOrder::Dmy, &TimeZone::UTC);
        assert_eq!(read, Ok(day(2026, month, of)), "{text}");
    }
    // Twice a word that may be a month.
    assert!(date("mar 3 mar 2026", DateOrder::Dmy, &TimeZone::UTC).is_err());
}

#[test]
fn a_weekday_that_another_day_has_is_no_reading() {
    for text in ["Tue, 25 Nov 2026", "Di, 25.11.2026", "2026年11月25日(火)", "Tue, 25 Nov 2026 10:00:00 -0500"] {
        assert!(date(text, DateOrder::Dmy, &TimeZone::UTC).is_err(), "{text}");
    }
}

// ECMA-376 part 1, section 18.17.4.1 (1900 date system; from memory): 46351 is 2026-11-25 + 0, 36526 is 2000-01-01.
#[test]
fn a_spreadsheets_numbers_are_days_only_where_no_other_date_is_written_out() {
    let read = |cells: &[&str]| -> Vec<_> {
        let style = Style::of(cells, DateOrder::Dmy);
        cells.iter().filter(|cell| !cell.trim().is_empty()).map(|cell| style.date(cell, &TimeZone::UTC)).collect()
    };
    assert_eq!(
        read(&["46351", "", "46351.34", "46352,999"]),
        [Ok(day(2026, 11, 25)), Ok(day(2026, 11, 25)), Ok(day(2026, 11, 26))]
    );
    assert_eq!(read(&["46351", "2026-11-26 10:00:00"]), [Ok(day(2026, 11, 25)), Ok(day(2026, 11, 26))]);
    assert_eq!(read(&["36526", "73050"]), [Ok(day(2000, 1, 1)), Ok(day(2099, 12, 31))]);
    let mixed = read(&["46351", "25/11/2026"]);
    assert!(mixed[0].as_ref().unwrap_err().starts_with("is a spreadsheet's number for a day"), "{mixed:?}");
    assert_eq!(mixed[1], Ok(day(2026, 11, 25)));
    for cell in ["36525", "73051", "4635", "463511", "-46351", "46351.", "46351x"] {
        assert!(read(&[cell])[0].is_err(), "{cell}");
    }
}

#[test]
fn the_order_is_that_of_all_cells_together() {
    let of = |cells: &[&str]| order_of(cells, &TimeZone::UTC);
    for (cells, order) in [
        (&["", "03/04/2026", " ", "25/11/2026"][..], Some(DateOrder::Dmy)),
        (&["03/04/2026 10:00", "11/25/2026 3:15 PM"], Some(DateOrder::Mdy)),
        (&["03/04/2026", "2026-11-25"], None),
        (&["03/04/2026", "04/03/2026"], None),
        (&["25/11/2026", "11/25/2026"], None),
        (&["03.04.2026", "05.06.2026 10:00"], Some(DateOrder::Dmy)),
        (&["03.04.2026", "05/06/2026"], None),
        (&["03.03.2026", "5/5/2026"], Some(DateOrder::Dmy)),
        (&["46351", "46352.5"], Some(DateOrder::Ymd)),
        (&["46351", "03/04/2026"], None),
        (&["", " "], None),
        (&[], None),
        (&["25/11/2026", "soon"], None),
        (&["04/03/2026 10:00 +0100", "25/03/2026 10:00 +0100"], Some(DateOrder::Dmy)),
    ] {
        assert_eq!(of(cells), order, "{cells:?}");
    }
    // All read alike in either order: any order does.
    for cells in [&["2026-11-25", "2026-11-26T10:00:00Z"][..], &["25 Nov 2026"], &["2026年11月25日"]] {
        assert!(of(cells).is_some(), "{cells:?}");
    }
}

proptest::proptest! {
    /// Every day in every form reads back, in its order and no other.
    #[test]
    fn days_read_back(number in 0_i32..36_524, form in 0_usize..8) {
        let at = day(2000, 1, 1).checked_add(number.days()).unwrap();
        let (y, m, d) = (at.year(), at.month(), at.day());
        let text = match form {
            0 => format!("{d}.{m}.{y}"),
            1 => format!("{d:02}/{m:02}/{y}"),
            2 => format!("{d:02}-{m:02}-{:02}", y % 100),
            3 => format!("{y}-{m:02}-{d:02} 23:59:59"),
            4 => format!("{y}年{m}月{d}日"),
            5 => at.strftime("%A, %B %d, %Y").to_string(),
            6 => at.strftime("%a %d %b %Y 08:15").to_string(),
            _ => at.strftime("%Y%m%d").to_string(),
        };
        proptest::prop_assert_eq!(date(&text, DateOrder::Dmy, &TimeZone::UTC), Ok(at), "{}", text);
        if form < 3 && d > 12 {
            proptest::prop_assert!(date(&text, DateOrder::Mdy, &TimeZone::UTC).is_err());
        }
        let serial = (36_526 + number).to_string();
        proptest::prop_assert_eq!(Style::of([&serial], DateOrder::Mdy).date(&serial, &TimeZone::UTC), Ok(at));
    }

    #[test]
    fn no_text_panics(text in ".{0,30}", other in "[0-9年月日時分午後 :/.,T+-apmz]{0,24}") {
        for text in [&text, &other] {
            let _any = date_in_some_order(text, None, &TimeZone::UTC);
        }
    }
}

#[test]
fn what_is_no_date_in_that_order_is_refused() {
    let all = [
        ("25/11/2026", DateOrder::Mdy),
        ("11/25/2026", DateOrder::Dmy),
        ("26-11-25", DateOrder::Ymd),
        ("31.11.2026", DateOrder::Dmy),
        ("25.11.2026 soon", DateOrder::Dmy),
        ("25.11.2026 25:00", DateOrder::Dmy),
        ("25.11.2026 10:00 XYZ", DateOrder::Dmy),
        ("25.11/2026", DateOrder::Dmy),
        ("25.11.0026", DateOrder::Dmy),
        ("25.11.2126", DateOrder::Dmy),
        ("46351", DateOrder::Dmy),
        ("Nov 2026", DateOrder::Dmy),
        ("", DateOrder::Dmy),
    ];
    for (text, order) in all {
        assert!(date(text, order, &TimeZone::UTC).is_err(), "{text}");
    }
}

#[test]
fn a_moment_counts_in_the_sellers_zone() {
    let zone = TimeZone::get("America/New_York").unwrap();
    for text in [
        "2026-11-25T03:00:00Z",
        "2026-11-25 03:00:00 +0000",
        "2026-11-25 03:00 UTC",
        "2026-11-25 04:00 GMT+1",
        "11/24/2026 7:00 PM PST",
    ] {
        assert_eq!(date(text, DateOrder::Mdy, &zone), Ok(day(2026, 11, 24)), "{text}");
    }
    assert_eq!(date("11/24/2026 10:00 PM PST", DateOrder::Mdy, &zone), Ok(day(2026, 11, 25)));
}

#[test]
fn day_and_month_that_can_not_be_told_apart_are_asked() {
    let read = |text, known| date_in_some_order(text, known, &TimeZone::UTC);
    assert_eq!(read("25/11/2026", None), Ok(day(2026, 11, 25)));
    assert_eq!(read("3/3/2026", None), Ok(day(2026, 3, 3)));
    assert_eq!(read("03.04.2026", None), Ok(day(2026, 4, 3)));
    assert_eq!(read("03/04/2026", Some(DateOrder::Mdy)), Ok(day(2026, 3, 4)));
    assert_eq!(
        read("03/04/2026", None).unwrap_err(),
        "is 2026-04-03 or 2026-03-04; write the one that is meant, in that form"
    );
    let column = ["03/04/2026", "2026-11-25", "25/11/2026"];
    assert_eq!(order_of(&column, &TimeZone::UTC), Some(DateOrder::Dmy));
    assert_eq!(order_of(&["03/04/2026"], &TimeZone::UTC), None);
}
