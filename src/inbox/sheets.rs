//! The program's own sheets, filled in and dropped back: hand-off, questions, incoming trades.
//!
//! Handed a table with one of their header rows; promises what was filled in, with its line, and passes over rows
//! that nobody touched. They may have been through a spreadsheet, which changes delimiters, quoting, dates and
//! decimal signs: how dates and numbers are written is told from all cells of the sheet together, and where that
//! doesn't tell, the row is refused with both readings. Turned down: a hidden column that says what style the sheet
//! was written in, since it is the spreadsheet that changes it.

pub(super) mod cells;

use std::collections::BTreeMap;

use crate::model::day::{QuestionId, Refused, Remark};
use crate::model::drop::{Content, Reading, RefusedRow, Rows};
use crate::model::handoff::{Answer, Arrival, HandoffEntry};
use crate::model::mass::{MassUnit, Weight};
use crate::model::parcel::ParcelRef;
use crate::model::trade::TradeId;

use super::ReadRules;
use super::columns::Header;
use super::decode::{Row, Table};
use super::entries::wrong_check_digit;
use cells::{Cells, Fault, Style, fault, is_too_heavy, listed_on};

/// Which of the three.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Sheet {
    Handoff,
    Questions,
    Incoming,
}

/// Columns that only that sheet has.
const KNOWN_BY: [(Sheet, &[&str]); 3] = [
    (Sheet::Handoff, &["sheet", "parcel", "handed_over_on", "tracking"]),
    (Sheet::Questions, &["sheet", "question", "choices", "answer"]),
    (Sheet::Incoming, &["sheet", "trade", "arrived_on", "condition"]),
];

/// The sheet that a table is, if it is one.
pub(super) fn find(table: &Table) -> Option<(Sheet, Header)> {
    (0..table.rows.len().min(10)).find_map(|index| {
        let header = Header::of(table, index)?;
        let known = KNOWN_BY.iter().find(|(_, columns)| columns.iter().all(|name| header.column(name).is_some()));
        known.map(|(sheet, _)| (*sheet, header))
    })
}

fn handoff(cells: &Cells<'_>) -> Result<Option<HandoffEntry>, Fault> {
    let filled = ["scale", "tracking", "postage_paid", "handed_over_on", "place", "note"];
    if filled.iter().all(|column| cells.text(column).is_none()) {
        return Ok(None);
    }
    let sheet = cells.text("sheet").unwrap_or_default();
    let parcel = cells.parcel("parcel")?.ok_or_else(|| fault("parcel", "is empty; write the parcel's ref"))?;
    let listed = listed_on(&sheet, &parcel);
    Ok(Some(HandoffEntry {
        line: cells.row.line,
        scale: weight(cells)?,
        tracking: cells.tracking("tracking")?,
        postage_paid: cells.money("postage_paid")?,
        handed_over_on: cells.day_since("handed_over_on", listed)?,
        place: cells.text("place"),
        note: cells.text("note"),
        sheet,
        parcel: ParcelRef(parcel),
    }))
}

fn weight(cells: &Cells<'_>) -> Result<Option<Weight>, Fault> {
    let unit = cells.parsed::<MassUnit>("scale_unit")?;
    let read = cells.read("scale", |text| cells::scale(text, cells.decimal("scale")))?;
    let Some((value, own)) = read else { return Ok(None) };
    let unit = own.or(unit).ok_or_else(|| fault("scale_unit", "is empty; write g, kg, oz or lb"))?;
    if is_too_heavy(value, unit) {
        let reason = format!("would be {value} {unit}, more than any parcel weighs; write the number the scale shows");
        return Err(Fault { column: "scale", value: cells.text("scale").unwrap_or_default(), reason });
    }
    Ok(Some(Weight::new(value, unit)))
}

fn answer(cells: &Cells<'_>) -> Result<Option<Answer>, Fault> {
    let Some(choice) = cells.text("answer") else { return Ok(None) };
    let question: Option<QuestionId> = cells.parsed("question")?;
    let question = question.ok_or_else(|| fault("question", "is empty; write its number, such as Q-0003"))?;
    Ok(Some(Answer { line: cells.row.line, question, choice }))
}

fn arrival(cells: &Cells<'_>) -> Result<Option<Arrival>, Fault> {
    let told = ["condition", "note"].into_iter().find(|column| cells.text(column).is_some());
    let Some(arrived_on) = cells.day("arrived_on")? else {
        // What was written about it says that it came, but not when.
        return match told {
            Some(_) => Err(fault("arrived_on", "is empty; write the day it came, or leave the row empty")),
            None => Ok(None),
        };
    };
    let trade: Option<TradeId> = cells.parsed("trade")?;
    let trade = trade.ok_or_else(|| fault("trade", "is empty; write its number, such as T-0007"))?;
    let (condition, note) = (cells.text("condition"), cells.text("note"));
    Ok(Some(Arrival { line: cells.row.line, trade, arrived_on, condition, note }))
}

/// What was filled in on a row.
enum Entry {
    Handoff(HandoffEntry),
    Answer(Answer),
    Arrival(Arrival),
}

impl Entry {
    fn of(sheet: Sheet, cells: &Cells<'_>) -> Result<Option<Self>, Fault> {
        Ok(match sheet {
            Sheet::Handoff => handoff(cells)?.map(Self::Handoff),
            Sheet::Questions => answer(cells)?.map(Self::Answer),
            Sheet::Incoming => arrival(cells)?.map(Self::Arrival),
        })
    }

    /// The column that says what it is about, and the parcel, question or trade.
    fn about(&self) -> (&'static str, String) {
        match self {
            Self::Handoff(entry) => ("parcel", entry.parcel.to_string()),
            Self::Answer(entry) => ("question", entry.question.to_string()),
            Self::Arrival(entry) => ("trade", entry.trade.to_string()),
        }
    }

    /// Whether both say the same, on whichever line.
    fn says(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Handoff(one), Self::Handoff(two)) => *one == HandoffEntry { line: one.line, ..two.clone() },
            (Self::Answer(one), Self::Answer(two)) => *one == Answer { line: one.line, ..two.clone() },
            (Self::Arrival(one), Self::Arrival(two)) => *one == Arrival { line: one.line, ..two.clone() },
            (Self::Handoff(_) | Self::Answer(_) | Self::Arrival(_), _) => false,
        }
    }
}

/// A row, and what came of it: `None` where nothing was filled in.
type Outcome<'t> = (&'t Row, Result<Option<Entry>, Fault>);

/// Two rows of one sheet about the same thing: one of them is passed over where they agree, else both are refused,
/// since the later one on the page isn't the later one in time.
fn refuse_twins(read: &mut [Outcome<'_>], header: &Header, remarks: &mut Vec<(u64, String)>) {
    let mut seen: BTreeMap<(String, String), usize> = BTreeMap::new();
    for place in 0..read.len() {
        let Some((row, Ok(Some(entry)))) = read.get(place) else { continue };
        let (column, about) = entry.about();
        let sheet = header.column("sheet").and_then(|column| row.cells.get(column)).cloned().unwrap_or_default();
        let first = *seen.entry((sheet, about.clone())).or_insert(place);
        let line = row.line;
        let Some((other, outcome)) = read.get(first).filter(|_| first != place) else { continue };
        let first_line = other.line;
        if outcome.as_ref().is_ok_and(|other| other.as_ref().is_some_and(|other| other.says(entry))) {
            remarks.push((line, format!("`{about}` stands on line {first_line} too, filled in alike: taken once")));
            if let Some((_, outcome)) = read.get_mut(place) {
                *outcome = Ok(None);
            }
            continue;
        }
        for (place, other) in [(first, line), (place, first_line)] {
            let reason = format!("is filled in otherwise on line {other}; leave the row that holds");
            if let Some((_, outcome @ Ok(_))) = read.get_mut(place) {
                *outcome = Err(Fault { column, value: about.clone(), reason });
            }
        }
    }
}

pub(super) fn read(file: &str, table: &Table, sheet: Sheet, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let style = Style::of(table, header, rules);
    let mut rows = Rows::default();
    let mut remarks = Vec::new();
    let mut read: Vec<Outcome<'_>> = Vec::new();
    for (index, row) in table.rows.iter().enumerate().filter(|(index, _)| *index != header.index) {
        rows.read += 1;
        if index < header.index || row.is_blank() || header.is_repeated_by(row) {
            rows.skipped += 1;
            continue;
        }
        let cells = Cells { row, header, style: &style, rules };
        let overrun = header.is_overrun_by(row);
        // In a spreadsheet's own file no cell moved: somebody wrote beside the table.
        if overrun && table.delimiter.is_none() {
            remarks.push((row.line, "has words to the right of the last column, which are passed over".to_owned()));
        } else if overrun {
            let reason = "begins a row with more cells than the header; is a comma in a number or note not in quotes?";
            read.push((row, Err(fault("sheet", reason))));
            continue;
        }
        let entry = Entry::of(sheet, &cells);
        if let Ok(Some(Entry::Handoff(HandoffEntry { parcel, tracking, .. }))) = &entry {
            let written = cells.text("parcel").filter(|written| *written != parcel.0);
            remarks.extend(written.map(|written| (row.line, format!("`{written}` is read as parcel {parcel}"))));
            // It is kept: the parcel went, whatever was typed of its number.
            let wrong = tracking.as_deref().and_then(wrong_check_digit);
            remarks.extend(wrong.map(|wrong| (row.line, format!("{parcel}: {wrong}"))));
        }
        read.push((row, entry));
    }
    refuse_twins(&mut read, header, &mut remarks);
    remarks.sort();
    let mut refused = Vec::new();
    let mut sheet_rows = BTreeMap::new();
    let (mut handoffs, mut answers, mut arrivals) = (Vec::new(), Vec::new(), Vec::new());
    for (row, outcome) in read {
        match outcome {
            Ok(Some(entry)) => {
                rows.taken += 1;
                sheet_rows.insert(row.line, header.without_reason(row.cells.clone()));
                match entry {
                    Entry::Handoff(entry) => handoffs.push(entry),
                    Entry::Answer(entry) => answers.push(entry),
                    Entry::Arrival(entry) => arrivals.push(entry),
                }
            }
            Ok(None) => rows.skipped += 1,
            Err(fault) => {
                rows.refused += 1;
                let why = Refused {
                    file: file.to_owned(),
                    line: Some(row.line),
                    column: Some(fault.column.to_owned()),
                    value: Some(fault.value).filter(|value| !value.is_empty()),
                    reason: fault.reason,
                };
                refused.push(RefusedRow { why, cells: header.without_reason(row.cells.clone()) });
            }
        }
    }
    let remark = |(line, text)| Remark { file: file.to_owned(), line: Some(line), column: None, text };
    Reading {
        content: match sheet {
            Sheet::Handoff => Content::Handoff(handoffs),
            Sheet::Questions => Content::Answers(answers),
            Sheet::Incoming => Content::Arrivals(arrivals),
        },
        source: None,
        encoding: table.encoding.clone(),
        delimiter: table.delimiter,
        header_line: Some(header.line),
        rows,
        remarks: remarks.into_iter().map(remark).collect(),
        matched: None,
        refused,
        headers: header.without_reason(header.names.clone()),
        headers_again: Vec::new(),
        sheet_rows,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};
    use rust_decimal::dec;

    use super::*;
    use crate::inbox::refused_rows;
    use crate::inbox::test_home::{read, refused};

    const HANDOFF: &str = "sheet,parcel,to,postal_code,service,declared,scale,scale_unit,tracking,postage_paid,handed_over_on,place,note\n";
    const INCOMING: &str = "sheet,trade,from,expected,arrived_on,condition,note\n";

    fn handoffs(reading: &Reading) -> &[HandoffEntry] {
        let Content::Handoff(entries) = &reading.content else { panic!("{reading:?}") };
        entries
    }

    fn arrivals(reading: &Reading) -> Vec<Date> {
        let Content::Arrivals(entries) = &reading.content else { panic!("{reading:?}") };
        entries.iter().map(|entry| entry.arrived_on).collect()
    }

    #[test]
    fn a_handoff_sheet_survives_a_spreadsheet() {
        let point = format!(
            "{HANDOFF}h,1125-01,Ines,97099,small,4 oz,1.9,oz,,5.25,2026-11-25,,\n,,,,,,,,,,,,\nh,1125-02,Bo,04999,small,4 oz,,oz,,,,,\n"
        );
        let comma = point
            .replace(',', ";")
            .replace("1.9", "1,9")
            .replace("5.25", "\"5,25\"")
            .replace("2026-11-25", "25.11.2026");
        let tabs = point.replace(',', "\t").replace("2026-11-25", "11/25/26").replace("5.25", "$5.25");
        for text in [point, comma, tabs] {
            let reading = read(&text);
            let [entry] = handoffs(&reading) else { panic!("{reading:?}") };
            assert_eq!(entry.handed_over_on, Some(date(2026, 11, 25)));
            assert_eq!(entry.scale, Some(Weight::new(dec!(1.9), MassUnit::Ounce)));
            assert_eq!(entry.postage_paid.map(|paid| paid.amount), Some(dec!(5.25)));
            assert_eq!(reading.rows, Rows { read: 3, taken: 1, refused: 0, skipped: 2 });
        }
    }

    #[test]
    fn the_style_of_numbers_is_told_from_the_sheet_and_else_asked() {
        let row = |(number, scale): (usize, &&str)| format!("h;{number};;;;;{scale};g;;;;;\n");
        let sheet = |rows: &[&str]| {
            let rows: String = rows.iter().enumerate().map(row).collect();
            read(&format!("{}{rows}", HANDOFF.replace(',', ";")))
        };
        let scales = |reading: &Reading| -> Vec<_> {
            handoffs(reading).iter().filter_map(|entry| entry.scale.map(|scale| scale.value)).collect()
        };
        assert_eq!(scales(&sheet(&["1,234", "36,9"])), [dec!(1.234), dec!(36.9)]);
        assert_eq!(scales(&sheet(&["1,234", "36.9"])), [dec!(1234), dec!(36.9)]);
        let unsure = sheet(&["1,234"]);
        assert_eq!(refused(&unsure), [(2, "could be 1234 or 1.234; write it without a sign between thousands")]);
        let own = read(&format!("{HANDOFF}h,1,,,,,1.234,kg,,,,,\n"));
        assert_eq!(scales(&own), [dec!(1.234)]);
        assert_eq!(
            handoffs(&read(&format!("{HANDOFF}h,1,,,,,36.9 g,oz,,,,,\n")))[0].scale.map(|s| s.unit),
            Some(MassUnit::Gram)
        );
    }

    #[test]
    fn a_date_that_could_be_two_days_is_asked_unless_the_column_tells() {
        let one = read(&format!("{INCOMING}x,T-0001,Bo,,03/04/2026,,\n"));
        assert!(refused(&one)[0].1.starts_with("is 2026-04-03 or 2026-03-04"), "{one:?}");
        let told = read(&format!("{INCOMING}x,T-0001,Bo,28/11/2026,03/12/2026,,\n"));
        assert_eq!(arrivals(&told), [date(2026, 12, 3)]);
    }

    #[test]
    fn what_can_not_be_read_names_its_column() {
        for (row, column, reason) in [
            ("h,1,,,,,heavy,g,,,,,", "scale", "is not a weight"),
            ("h,1,,,,,0,g,,,,,", "scale", "is no weight of a parcel"),
            ("h,1,,,,,36,,,,,,", "scale_unit", "is empty"),
            ("h,1,,,,,36,stone,,,,,", "scale_unit", "is not a unit of mass"),
            ("h,,,,,,36,g,,,,,", "parcel", "is empty"),
            ("h,1,,,,,,,9.40551E+21,,,,", "tracking", "has shortened; make the cell text"),
            ("h,1,,,,,,,,five,,,", "postage_paid", "is not an amount in USD"),
            ("h,1,,,,,,,,,soon,,", "handed_over_on", "is not a date"),
            ("h,1,,,,,1,9,oz,,5.25,2026-11-25,,", "scale_unit", "is not a unit of mass"),
            ("h,1,,,,,36,g,,5,25,2026-11-25,,hi", "sheet", "more cells than the header"),
        ] {
            let reading = read(&format!("{HANDOFF}{row}\n"));
            let why = &reading.refused[0].why;
            assert_eq!(why.column.as_deref(), Some(column), "{row}: {why:?}");
            assert!(why.reason.contains(reason), "{row}: {why:?}");
        }
        let undated = read(&format!("{INCOMING}x,T-0001,Bo,,,mint,\n"));
        assert_eq!(undated.refused[0].why.column.as_deref(), Some("arrived_on"));
    }

    const LISTED: &str = "handoff 2026-12-02 r1";

    #[test]
    fn a_hand_off_is_not_before_its_parcel_was_listed_which_may_tell_day_and_month() {
        let one = |parcel: &str, day: &str| read(&format!("{HANDOFF}{LISTED},{parcel},,,,,,,,,{day},,\n"));
        let days =
            |reading: &Reading| -> Vec<_> { handoffs(reading).iter().map(|entry| entry.handed_over_on).collect() };
        assert_eq!(days(&one("1202-01", "03/12/2026")), [Some(date(2026, 12, 3))]);
        assert_eq!(days(&one("1202-01", "12/03/2026")), [Some(date(2026, 12, 3))]);
        // Listed the day before the turn of the year, on a sheet of the next.
        let next = read(&format!("{HANDOFF}handoff 2027-01-02 r1,1231-01,,,,,,,,,01/02/2027,,\n"));
        assert!(refused(&next)[0].1.starts_with("is 2027-02-01 or 2027-01-02"), "{next:?}");
        let early = one("1202-01", "2026-12-01");
        let why = "is before 2026-12-02, when the parcel was first listed; write the day it went";
        assert_eq!(refused(&early), [(2, why)]);
        // One that was listed earlier may have gone before the day of the sheet.
        assert_eq!(days(&one("1130-04", "2026-12-01")), [Some(date(2026, 12, 1))]);
        assert_eq!(days(&one("1", "2025-12-01")), [Some(date(2025, 12, 1))]);
    }

    #[test]
    fn what_a_spreadsheet_made_of_a_ref_is_undone_only_where_one_ref_is_possible() {
        let one = |parcel: &str| read(&format!("{HANDOFF}h,{parcel},,,,,,,,,2026-12-03,,\n"));
        for (written, parcel) in [
            ("1125-01-01", "1125-01"),
            ("1231-12-01 00:00:00", "1231-12"),
            ("1125–01", "1125-01"),
            (" 1125 - 01", "1125-01"),
            ("1125-101", "1125-101"),
        ] {
            assert_eq!(handoffs(&one(written))[0].parcel.0, parcel, "{written}");
        }
        assert_eq!(one("1125-01-01").remarks[0].text, "`1125-01-01` is read as parcel 1125-01");
        for written in ["Nov-25", "25 nov.", "2025-11-01", "11/25/2026", "1125-01-02", "1.1E+05"] {
            assert_eq!(one(written).refused[0].why.column.as_deref(), Some("parcel"), "{written}");
        }
    }

    #[test]
    fn a_tracking_number_that_lost_digits_is_refused_and_any_other_kept() {
        let one = |number: &str| read(&format!("{HANDOFF}h,1,,,,,,,{number},,,,\n"));
        for number in ["9.4055118992232E+021", "9405511899223190000000", "9405 5118 9922 3190 0000 00", "25.11.2026"] {
            assert_eq!(one(number).refused[0].why.column.as_deref(), Some("tracking"), "{number}");
        }
        for number in ["9400100000000000000017", "LX123456785DE", "1234567890120000", "'0012345"] {
            let expected = number.trim_start_matches('\'');
            assert_eq!(handoffs(&one(number))[0].tracking.as_deref(), Some(expected));
        }
    }

    #[test]
    fn numbers_that_became_days_or_tons_are_refused() {
        for (row, column) in [
            ("h,1,,,,,02.03.2026,oz,,,,,", "scale"),
            ("h,1,,,,,,,,2026-05-25,,,", "postage_paid"),
            ("h,1,,,,,1234,kg,,,,,", "scale"),
            ("h,1,,,,,\"1,234\",kg,,,,,", "scale"),
        ] {
            assert_eq!(read(&format!("{HANDOFF}{row}\n")).refused[0].why.column.as_deref(), Some(column), "{row}");
        }
    }

    #[test]
    fn two_rows_about_one_parcel_are_one_where_they_agree_and_else_refused() {
        let row = |weight: &str| format!("h,1125-01,,,,,{weight},g,,,,,\n");
        let alike = read(&format!("{HANDOFF}{}{}", row("36"), row("36")));
        assert_eq!((handoffs(&alike).len(), alike.rows.skipped, alike.remarks.len()), (1, 1, 1));
        let unlike = read(&format!("{HANDOFF}{}{}h,1125-02,,,,,9,g,,,,,\n", row("36"), row("37")));
        assert_eq!(handoffs(&unlike).len(), 1);
        assert_eq!(refused(&unlike).iter().map(|(line, _)| *line).collect::<Vec<_>>(), [2, 3]);
        assert!(refused(&unlike)[0].1.starts_with("is filled in otherwise on line 3"));
        // The same parcel on the sheets of two days.
        let days = read(&format!("{HANDOFF}{}{}", row("36"), row("37").replacen('h', "i", 1)));
        assert_eq!(handoffs(&days).len(), 2);
    }

    #[test]
    fn answers_are_taken_and_empty_ones_skipped() {
        let reading = read("sheet,question,about,asks,choices,answer\nx,Q-0001,a,b,c,GULL\nx,Q-0002,a,b,c,\n");
        let Content::Answers(answers) = &reading.content else { panic!("{reading:?}") };
        assert_eq!(answers, &[Answer { line: 2, question: QuestionId(1), choice: "GULL".into() }]);
    }

    #[test]
    fn a_refused_row_is_mended_and_read_again() {
        let reading = read(&format!("{HANDOFF}h,1,,,,,heavy,g,,,,,\nh,2,,,,,36,g,,,,,\n"));
        let text = String::from_utf8(refused_rows(&reading).unwrap().1).unwrap();
        let again = read(&text.replace("heavy", "light"));
        assert_eq!(again.headers.len(), 13);
        assert_eq!(handoffs(&read(&text.replace("heavy", "35.5"))).len(), 1);
    }
}
