//! The program's own sheets, filled in and dropped back: hand-off, questions, incoming trades.
//!
//! Known by their header row. They may have been through a spreadsheet, which changes delimiters, quoting, dates
//! and decimal signs; each column is read for what it must be. Rows nobody filled in are skipped.

use std::str::FromStr;

use jiff::civil::Date;

use crate::model::day::{QuestionId, Refused};
use crate::model::drop::{Content, DateOrder, Reading, RefusedRow, Rows};
use crate::model::handoff::{Answer, Arrival, HandoffEntry};
use crate::model::mass::{MassUnit, Weight};
use crate::model::parcel::ParcelRef;
use crate::model::trade::TradeId;

use super::ReadRules;
use super::columns::Header;
use super::decode::{Row, Table};
use super::values;

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

struct Fault {
    column: &'static str,
    value: String,
    reason: String,
}

struct Cells<'a> {
    row: &'a Row,
    header: &'a Header,
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

    fn day(&self, column: &'static str, rules: &ReadRules<'_>) -> Result<Option<Date>, Fault> {
        self.read(column, |text| sheet_date(text, rules))
    }
}

/// Dates as the sheet had them, or as a spreadsheet turned them. Where day and month can't be told apart it says
/// so: month first is only read where the day is beyond 12.
fn sheet_date(text: &str, rules: &ReadRules<'_>) -> Result<Date, String> {
    let read = |order| values::date(text, order, rules.time_zone).ok();
    if let Some(day) = read(DateOrder::Ymd) {
        return Ok(day);
    }
    match (read(DateOrder::Dmy), read(DateOrder::Mdy)) {
        (Some(day), None) | (None, Some(day)) => Ok(day),
        (Some(one), Some(other)) if one == other => Ok(one),
        (Some(one), Some(other)) => Err(format!("is {one} or {other}; write it as {one} or {other}")),
        (None, None) => Err("is not a date; write it as 2026-11-25".to_owned()),
    }
}

fn either_decimal<T>(reader: impl Fn(char) -> Option<T>, wrong: &str) -> Result<T, String> {
    reader('.').or_else(|| reader(',')).ok_or_else(|| wrong.to_owned())
}

fn handoff(cells: &Cells<'_>, rules: &ReadRules<'_>) -> Result<Option<HandoffEntry>, Fault> {
    let filled = ["scale", "tracking", "postage_paid", "handed_over_on", "place", "note"];
    if filled.iter().all(|column| cells.text(column).is_none()) {
        return Ok(None);
    }
    let need = |column, reason: &str| Fault { column, value: String::new(), reason: reason.to_owned() };
    let parcel = cells.text("parcel").ok_or_else(|| need("parcel", "is empty; write the parcel's ref"))?;
    let unit = cells.read("scale_unit", |text| MassUnit::from_str(text).map_err(|error| error.to_string()))?;
    let scale = cells.read("scale", |text| {
        either_decimal(|decimal| values::number(text, decimal), "is not a weight; write the number the scale shows")
    })?;
    let scale = match (scale, unit) {
        (Some(value), Some(unit)) => Some(Weight::new(value, unit)),
        (Some(_), None) => return Err(need("scale_unit", "is empty; write g, kg, oz or lb")),
        (None, _) => None,
    };
    Ok(Some(HandoffEntry {
        line: cells.row.line,
        sheet: cells.text("sheet").unwrap_or_default(),
        parcel: ParcelRef(parcel),
        scale,
        tracking: cells.text("tracking"),
        postage_paid: cells.read("postage_paid", |text| {
            let money = |decimal| values::money(text, decimal, rules.currency).ok();
            either_decimal(money, "is not an amount; write it as 5.25")
        })?,
        handed_over_on: cells.day("handed_over_on", rules)?,
        place: cells.text("place"),
        note: cells.text("note"),
    }))
}

fn answer(cells: &Cells<'_>) -> Result<Option<Answer>, Fault> {
    let Some(choice) = cells.text("answer") else { return Ok(None) };
    let question = cells.read("question", |text| QuestionId::from_str(text).map_err(|error| error.to_string()))?;
    let missing = || Fault {
        column: "question",
        value: String::new(),
        reason: "is empty; write its number, such as Q-0003".to_owned(),
    };
    Ok(Some(Answer { line: cells.row.line, question: question.ok_or_else(missing)?, choice }))
}

fn arrival(cells: &Cells<'_>, rules: &ReadRules<'_>) -> Result<Option<Arrival>, Fault> {
    let Some(arrived_on) = cells.day("arrived_on", rules)? else { return Ok(None) };
    let trade = cells.read("trade", |text| TradeId::from_str(text).map_err(|error| error.to_string()))?;
    let missing = || Fault {
        column: "trade",
        value: String::new(),
        reason: "is empty; write its number, such as T-0007".to_owned(),
    };
    Ok(Some(Arrival {
        line: cells.row.line,
        trade: trade.ok_or_else(missing)?,
        arrived_on,
        condition: cells.text("condition"),
        note: cells.text("note"),
    }))
}

pub(super) fn read(file: &str, table: &Table, sheet: Sheet, header: Header, rules: &ReadRules<'_>) -> Reading {
    let mut rows = Rows::default();
    let mut refused = Vec::new();
    let (mut handoffs, mut answers, mut arrivals) = (Vec::new(), Vec::new(), Vec::new());
    for (index, row) in table.rows.iter().enumerate() {
        if index == header.index {
            continue;
        }
        rows.read += 1;
        if index < header.index || row.is_blank() {
            rows.skipped += 1;
            continue;
        }
        let cells = Cells { row, header: &header };
        let read = match sheet {
            Sheet::Handoff => handoff(&cells, rules).map(|entry| entry.map(|entry| handoffs.push(entry))),
            Sheet::Questions => answer(&cells).map(|entry| entry.map(|entry| answers.push(entry))),
            Sheet::Incoming => arrival(&cells, rules).map(|entry| entry.map(|entry| arrivals.push(entry))),
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
                refused.push(RefusedRow { why, cells: row.cells.clone() });
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
        refused,
        headers: header.names,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use jiff::tz::TimeZone;
    use rust_decimal::dec;

    use super::*;
    use crate::model::money::Currency;

    fn parse(text: &str) -> Reading {
        let zone = TimeZone::UTC;
        let rules = ReadRules { maps: &[], time_zone: &zone, currency: Currency::USD, country: "US".parse().unwrap() };
        super::super::read("s.csv", text.as_bytes(), &rules).unwrap()
    }

    #[test]
    fn a_handoff_sheet_survives_a_spreadsheet() {
        let reading = parse(
            "sheet;parcel;to;postal_code;service;declared;scale;scale_unit;tracking;postage_paid;handed_over_on;place;note\n\
             handoff 2026-11-25 r1;1125-01;Ines;97099;small;4 oz;1,9;oz;;5,25;25.11.2026;;\n\
             handoff 2026-11-25 r1;1125-02;Bo;04999;small;4 oz;;oz;;;;;\n",
        );
        let Content::Handoff(entries) = &reading.content else { panic!("{reading:?}") };
        let [entry] = entries.as_slice() else { panic!("{entries:?}") };
        assert_eq!(entry.handed_over_on, Some(date(2026, 11, 25)));
        assert_eq!(entry.scale.map(|scale| scale.value), Some(dec!(1.9)));
        assert_eq!(entry.postage_paid.map(|paid| paid.amount), Some(dec!(5.25)));
        assert_eq!(reading.rows, Rows { read: 2, taken: 1, refused: 0, skipped: 1 });
    }

    #[test]
    fn a_date_that_could_be_two_days_is_refused() {
        let reading = parse("sheet,trade,from,expected,arrived_on,condition,note\nx,T-0001,Bo,,03/04/2026,,\n");
        assert!(reading.refused[0].why.reason.contains("2026-04-03 or 2026-03-04"), "{:?}", reading.refused);
    }

    #[test]
    fn answers_are_taken_and_empty_ones_skipped() {
        let reading = parse("sheet,question,about,asks,choices,answer\nx,Q-0001,a,b,c,GULL\nx,Q-0002,a,b,c,\n");
        let Content::Answers(answers) = &reading.content else { panic!("{reading:?}") };
        assert_eq!(answers, &[Answer { line: 2, question: QuestionId(1), choice: "GULL".into() }]);
    }
}
