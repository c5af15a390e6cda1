//! The program's own sheets, filled in and dropped back: hand-off, questions, incoming trades.
//!
//! Handed a table with one of their header rows; promises what was filled in, with its line, and passes over rows
//! that nobody touched. They may have been through a spreadsheet, which changes delimiters, quoting, dates and
//! decimal signs: how dates and numbers are written is told from all cells of the sheet together, and where that
//! doesn't tell, the row is refused with both readings. Turned down: a hidden column that says what style the sheet
//! was written in, since it is the spreadsheet that changes it.

use std::str::FromStr;

use jiff::civil::Date;

use crate::model::day::{QuestionId, Refused};
use crate::model::drop::{Content, DateOrder, Reading, RefusedRow, Rows};
use crate::model::handoff::{Answer, Arrival, HandoffEntry};
use crate::model::mass::{MassUnit, Weight};
use crate::model::parcel::ParcelRef;
use crate::model::trade::TradeId;

use super::columns::Header;
use super::decode::{Row, Table};
use super::{ReadRules, dates, numbers, values};

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

/// Columns of days, of all sheets. `expected` is the program's own, and shows what a spreadsheet made of it.
const DAYS: [&str; 3] = ["handed_over_on", "arrived_on", "expected"];
/// Columns of numbers, of all sheets.
const NUMBERS: [&str; 2] = ["scale", "postage_paid"];

/// The sheet that a table is, if it is one.
pub(super) fn find(table: &Table) -> Option<(Sheet, Header)> {
    (0..table.rows.len().min(10)).find_map(|index| {
        let header = Header::of(table, index)?;
        let known = KNOWN_BY.iter().find(|(_, columns)| columns.iter().all(|name| header.column(name).is_some()));
        known.map(|(sheet, _)| (*sheet, header))
    })
}

/// How the sheet writes dates and numbers, where that is certain.
struct Style {
    dates: Option<DateOrder>,
    decimal: Option<char>,
}

impl Style {
    fn of(table: &Table, header: &Header, rules: &ReadRules<'_>) -> Self {
        let cells = |columns: &[&str], typed: bool| -> Vec<String> {
            let places: Vec<usize> = columns.iter().filter_map(|name| header.column(name)).collect();
            let rows = table.rows.iter().skip(header.index + 1).filter(|row| !header.is_repeated_by(row));
            let cells = rows.flat_map(|row| places.iter().map(move |place| (row, *place)));
            cells
                .filter(|(row, place)| typed || !row.numbers.contains(place))
                .filter_map(|(row, place)| row.cells.get(place).map(|cell| values::unwrapped(cell)))
                .filter(|cell| !cell.is_empty())
                .collect()
        };
        let days = cells(&DAYS, true);
        let figures = cells(&NUMBERS, false);
        let fits = |decimal| figures.iter().all(|cell| is_figure(cell, decimal, rules));
        let decimal = match (fits('.'), fits(',')) {
            (true, false) => Some('.'),
            (false, true) => Some(','),
            // Where commas part the cells, they don't part a number; the program itself writes so.
            (true, true) | (false, false) => (table.delimiter == Some(',')).then_some('.'),
        };
        Self { dates: dates::order_of(&days, rules.time_zone), decimal }
    }
}

fn is_figure(cell: &str, decimal: char, rules: &ReadRules<'_>) -> bool {
    scale(cell, Some(decimal)).is_ok() || numbers::money(cell, decimal, rules.currency).is_ok()
}

/// A scale reading, with its unit where the seller wrote it there.
fn scale(text: &str, decimal: Option<char>) -> Result<(rust_decimal::Decimal, Option<MassUnit>), String> {
    let not_a_weight = || "is not a weight; write the number the scale shows".to_owned();
    let last = text.rfind(|c: char| c.is_ascii_digit()).ok_or_else(not_a_weight)?;
    let (figures, unit) = text.split_at_checked(last + 1).unwrap_or_default();
    let unit = Some(unit.trim()).filter(|unit| !unit.is_empty());
    let unit = unit.map(|unit| MassUnit::from_str(unit).map_err(|error| error.to_string())).transpose()?;
    let value = match decimal {
        Some(decimal) => numbers::number(figures, decimal).ok_or_else(not_a_weight)?,
        None => numbers::number_in_some_style(figures)?,
    };
    if value > rust_decimal::Decimal::ZERO {
        Ok((value, unit))
    } else {
        Err("is no weight of a parcel; write the number the scale shows, or leave it empty".to_owned())
    }
}

struct Fault {
    column: &'static str,
    value: String,
    reason: String,
}

fn fault(column: &'static str, reason: &str) -> Fault {
    Fault { column, value: String::new(), reason: reason.to_owned() }
}

struct Cells<'a> {
    row: &'a Row,
    header: &'a Header,
    style: &'a Style,
    rules: &'a ReadRules<'a>,
}

impl Cells<'_> {
    fn text(&self, column: &'static str) -> Option<String> {
        let cell = self.row.cells.get(self.header.column(column)?)?;
        Some(values::unwrapped(cell)).filter(|text| !text.is_empty())
    }

    fn read<T>(
        &self,
        column: &'static str,
        reader: impl FnOnce(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Fault> {
        let Some(text) = self.text(column) else { return Ok(None) };
        reader(&text).map(Some).map_err(|reason| Fault { column, value: text, reason })
    }

    fn parsed<T: FromStr<Err: std::fmt::Display>>(&self, column: &'static str) -> Result<Option<T>, Fault> {
        self.read(column, |text| text.parse().map_err(|error: T::Err| error.to_string()))
    }

    fn day(&self, column: &'static str) -> Result<Option<Date>, Fault> {
        self.read(column, |text| dates::date_in_some_order(text, self.style.dates, self.rules.time_zone))
    }

    /// The decimal sign of a cell: a spreadsheet's own number has a point.
    fn decimal(&self, column: &'static str) -> Option<char> {
        let is_number = self.header.column(column).is_some_and(|place| self.row.numbers.contains(&place));
        if is_number { Some('.') } else { self.style.decimal }
    }

    /// A parcel's ref or tracking number, whole.
    fn number(&self, column: &'static str) -> Result<Option<String>, Fault> {
        self.read(column, |text| {
            if values::is_spoilt(text) {
                Err("is a number that the spreadsheet has shortened; make the column text, and type it again"
                    .to_owned())
            } else if values::is_error(text) {
                Err("is a formula that failed; type the number again".to_owned())
            } else {
                Ok(text.to_owned())
            }
        })
    }
}

fn handoff(cells: &Cells<'_>) -> Result<Option<HandoffEntry>, Fault> {
    let filled = ["scale", "tracking", "postage_paid", "handed_over_on", "place", "note"];
    if filled.iter().all(|column| cells.text(column).is_none()) {
        return Ok(None);
    }
    let parcel = cells.number("parcel")?.ok_or_else(|| fault("parcel", "is empty; write the parcel's ref"))?;
    let unit = cells.parsed::<MassUnit>("scale_unit")?;
    let scale = match cells.read("scale", |text| scale(text, cells.decimal("scale")))? {
        Some((value, own)) => {
            let unit = own.or(unit).ok_or_else(|| fault("scale_unit", "is empty; write g, kg, oz or lb"))?;
            Some(Weight::new(value, unit))
        }
        None => None,
    };
    Ok(Some(HandoffEntry {
        line: cells.row.line,
        sheet: cells.text("sheet").unwrap_or_default(),
        parcel: ParcelRef(parcel),
        scale,
        tracking: cells.number("tracking")?,
        postage_paid: cells.read("postage_paid", |text| match cells.decimal("postage_paid") {
            Some(decimal) => numbers::money(text, decimal, cells.rules.currency)
                .map_err(|_| format!("is not an amount in {}; write it as 5{decimal}25", cells.rules.currency)),
            None => numbers::money_in_some_style(text, cells.rules.currency),
        })?,
        handed_over_on: cells.day("handed_over_on")?,
        place: cells.text("place"),
        note: cells.text("note"),
    }))
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

pub(super) fn read(file: &str, table: &Table, sheet: Sheet, header: &Header, rules: &ReadRules<'_>) -> Reading {
    let style = Style::of(table, header, rules);
    let mut rows = Rows::default();
    let mut refused = Vec::new();
    let (mut handoffs, mut answers, mut arrivals) = (Vec::new(), Vec::new(), Vec::new());
    for (index, row) in table.rows.iter().enumerate() {
        if index == header.index {
            continue;
        }
        rows.read += 1;
        if index < header.index || row.is_blank() || header.is_repeated_by(row) {
            rows.skipped += 1;
            continue;
        }
        let cells = Cells { row, header, style: &style, rules };
        let read = if header.is_overrun_by(row) {
            Err(fault(
                "sheet",
                "begins a row with more cells than the header; is a comma in a number or note not in quotes?",
            ))
        } else {
            match sheet {
                Sheet::Handoff => handoff(&cells).map(|entry| entry.map(|entry| handoffs.push(entry))),
                Sheet::Questions => answer(&cells).map(|entry| entry.map(|entry| answers.push(entry))),
                Sheet::Incoming => arrival(&cells).map(|entry| entry.map(|entry| arrivals.push(entry))),
            }
        };
        match read {
            Ok(Some(())) => rows.taken += 1,
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
        remarks: Vec::new(),
        matched: None,
        refused,
        headers: header.without_reason(header.names.clone()),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
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
        let row = |scale: &str| format!("h;1;;;;;{scale};g;;;;;\n");
        let sheet = |rows: &[&str]| {
            let rows: String = rows.iter().map(|scale| row(scale)).collect();
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
            ("h,1,,,,,,,9.40551E+21,,,,", "tracking", "has shortened"),
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
