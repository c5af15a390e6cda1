//! The sheets to open in a spreadsheet: `manifest.csv` to look at; `handoff.csv`, `incoming.csv` and
//! `questions.csv` to fill in and drop again.
//!
//! Handed a plan; gives CSV in UTF-8 with a header row and CRLF (RFC 4180). A cell that a spreadsheet would take
//! for a formula gets a leading apostrophe (OWASP, "CSV Injection"). `handoff.xlsx` is the same as `handoff.csv`.
//! Turned down: a byte order mark, which some
//! readers keep as part of the first header.

use crate::model::day::DayPlan;
use crate::model::parcel::Parcel;
use crate::model::trade::Trade;

use super::{PapersError, workbook};

const HANDOFF: [&str; 13] = [
    "sheet",
    "parcel",
    "to",
    "postal_code",
    "service",
    "declared",
    "scale",
    "scale_unit",
    "tracking",
    "postage_paid",
    "handed_over_on",
    "place",
    "note",
];
const INCOMING: [&str; 7] = ["sheet", "trade", "from", "expected", "arrived_on", "condition", "note"];
const QUESTIONS: [&str; 6] = ["sheet", "question", "about", "asks", "choices", "answer"];
const MANIFEST: [&str; 25] = [
    "parcel",
    "part",
    "to",
    "company",
    "address",
    "city",
    "region",
    "postal_code",
    "country",
    "contents",
    "pieces",
    "rolls",
    "mailer",
    "papers",
    "mass_g",
    "carrier",
    "service",
    "declared",
    "weigh_first",
    "price",
    "value",
    "currency",
    "ship_by",
    "late",
    "for",
];

/// `manifest.csv`: one row a parcel.
pub(super) fn manifest(plan: &DayPlan) -> Result<Vec<u8>, PapersError> {
    table(&MANIFEST, plan.parcels.iter().map(manifest_row))
}

fn manifest_row(parcel: &Parcel) -> Vec<String> {
    let to = &parcel.recipient;
    let list = |words: Vec<String>| words.join("; ");
    vec![
        parcel.r#ref.0.clone(),
        parcel.part.map_or_else(String::new, |(this, of)| format!("{this} of {of}")),
        to.name.clone(),
        to.company.clone().unwrap_or_default(),
        to.lines.join(", "),
        to.city.clone(),
        to.region.clone(),
        to.postal_code.clone(),
        to.country.map_or_else(|| to.country_as_written.clone().unwrap_or_default(), |land| land.code().to_owned()),
        list(parcel.items.iter().map(|item| format!("{} x {}", item.quantity, item.code)).collect()),
        parcel.pieces().to_string(),
        parcel.rolls.len().to_string(),
        parcel.mailer.code.clone(),
        list(parcel.papers.iter().map(|paper| paper.word().to_owned()).collect()),
        format!("{:.1}", parcel.mass.mean_g),
        parcel.postage.carrier.clone(),
        parcel.postage.service.clone(),
        parcel.postage.declared.to_string(),
        yes_no(parcel.postage.weigh_first),
        parcel.postage.price.plain(),
        parcel.value.plain(),
        parcel.postage.price.currency.code().to_owned(),
        parcel.ship_by.to_string(),
        yes_no(parcel.late),
        list(
            parcel
                .orders
                .iter()
                .map(|order| order.id.to_string())
                .chain(parcel.trades.iter().map(|(id, _)| id.to_string()))
                .collect(),
        ),
    ]
}

/// `handoff.csv`: one row a parcel; those listed earlier without a recorded hand-off come last, with what is known.
pub(super) fn handoff(plan: &DayPlan) -> Result<Vec<u8>, PapersError> {
    table(&HANDOFF, handoff_rows(plan).into_iter())
}

/// `handoff.xlsx`: the same.
pub(super) fn handoff_workbook(plan: &DayPlan) -> Result<Vec<u8>, PapersError> {
    workbook::sheet("handoff", &HANDOFF, &handoff_rows(plan), plan.date)
}

fn handoff_rows(plan: &DayPlan) -> Vec<Vec<String>> {
    let sheet = sheet_name("handoff", plan);
    let today = plan.parcels.iter().map(|parcel| {
        let declared = parcel.postage.declared;
        let mut row = vec![
            sheet.clone(),
            parcel.r#ref.0.clone(),
            parcel.recipient.name.clone(),
            parcel.recipient.postal_code.clone(),
            parcel.postage.service.clone(),
            declared.to_string(),
            String::new(),
            declared.unit.symbol().to_owned(),
        ];
        row.resize(HANDOFF.len(), String::new());
        row
    });
    let earlier = plan.listed_earlier.iter().map(|earlier| {
        let mut row = vec![sheet.clone(), earlier.r#ref.0.clone(), earlier.name.clone()];
        row.resize(HANDOFF.len(), String::new());
        row
    });
    today.chain(earlier).collect()
}

/// `incoming.csv`: one row for each partner's half that is still to come.
pub(super) fn incoming(plan: &DayPlan) -> Result<Vec<u8>, PapersError> {
    let sheet = sheet_name("incoming", plan);
    table(
        &INCOMING,
        plan.expected.iter().map(|expected| {
            let mut row =
                vec![sheet.clone(), expected.id.to_string(), expected.trade.with.name.clone(), due(&expected.trade)];
            row.resize(INCOMING.len(), String::new());
            row
        }),
    )
}

fn due(trade: &Trade) -> String {
    trade.send_by.unwrap_or(trade.agreed).to_string()
}

/// `questions.csv`: one row a question.
pub(super) fn questions(plan: &DayPlan) -> Result<Vec<u8>, PapersError> {
    let sheet = sheet_name("questions", plan);
    table(
        &QUESTIONS,
        plan.questions.iter().map(|question| {
            vec![
                sheet.clone(),
                question.id.to_string(),
                question.about.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
                question.text.clone(),
                question.choices.join(" | "),
                String::new(),
            ]
        }),
    )
}

/// The first cell of a sheet's rows: which sheet, day and revision, so that a filled-in copy tells what it answers.
fn sheet_name(kind: &str, plan: &DayPlan) -> String {
    format!("{kind} {} r{}", plan.date, plan.revision)
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

fn table(header: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, PapersError> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(header).map_err(|error| PapersError::Sheet(error.to_string()))?;
    for row in rows {
        writer
            .write_record(row.iter().map(|cell| defused(cell)))
            .map_err(|error| PapersError::Sheet(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| PapersError::Sheet(error.to_string()))
}

/// The cell with a leading apostrophe where a spreadsheet would take it for a formula.
fn defused(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    fn rows(bytes: &[u8]) -> Vec<Vec<String>> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(bytes)
            .records()
            .map(|row| row.unwrap().iter().map(str::to_owned).collect())
            .collect()
    }

    #[test]
    fn the_handoff_sheet_has_todays_parcels_and_then_the_earlier_ones() {
        let (_, plan) = sample::day().unwrap();
        let rows = rows(&handoff(&plan).unwrap());
        assert_eq!(rows[0].join(","), HANDOFF.join(","));
        assert_eq!(rows.len(), 1 + plan.parcels.len() + plan.listed_earlier.len());
        assert_eq!(rows[1][0], format!("handoff {} r1", plan.date));
        assert_eq!(rows[1][1], plan.parcels[0].r#ref.0);
        assert_eq!(rows[1][7], "oz");
        assert_eq!(rows.last().unwrap()[1], plan.listed_earlier.last().unwrap().r#ref.0);
        assert!(rows[1][8..].iter().all(String::is_empty));
    }

    #[test]
    fn formulas_are_defused_wherever_they_stand() {
        let (_, mut plan) = sample::day().unwrap();
        for (n, evil) in ["=HYPERLINK(\"x\")", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"].into_iter().enumerate() {
            plan.parcels[n % 3].recipient.name = evil.to_owned();
            for sheet in [manifest(&plan), handoff(&plan)] {
                for cell in rows(&sheet.unwrap()).concat() {
                    assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell:?}");
                }
            }
        }
    }

    #[test]
    fn the_workbook_has_the_rows_of_the_csv_as_text_and_its_day_for_a_date() {
        use calamine::{Data, Reader, Xlsx};
        let (_, mut plan) = sample::day().unwrap();
        plan.parcels[0].recipient.name = "=HYPERLINK(\"x\")".to_owned();
        plan.parcels[1].recipient.postal_code = "01999".to_owned();
        let bytes = handoff_workbook(&plan).unwrap();
        let mut book: Xlsx<_> = Xlsx::new(std::io::Cursor::new(bytes.clone())).unwrap();
        let range = book.worksheet_range("handoff").unwrap();
        let cells: Vec<Vec<String>> = range
            .rows()
            .map(|row| {
                row.iter()
                    .map(|cell| {
                        assert!(matches!(cell, Data::String(_) | Data::Empty), "{cell:?} is no text");
                        cell.to_string()
                    })
                    .collect()
            })
            .collect();
        let mut csv = rows(&handoff(&plan).unwrap());
        csv[1][2].remove(0);
        assert_eq!(csv, cells);
        assert!(book.worksheet_formula("handoff").unwrap().is_empty());
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let core = std::io::read_to_string(zip.by_name("docProps/core.xml").unwrap()).unwrap();
        assert_eq!(core.matches(&plan.date.to_string()).count(), 2, "{core}");
    }

    #[test]
    fn a_question_is_asked_with_its_choices() {
        let (_, plan) = sample::day().unwrap();
        let rows = rows(&questions(&plan).unwrap());
        assert_eq!(rows[0].join(","), QUESTIONS.join(","));
        assert!(rows.iter().any(|row| row[4] == "together | apart" && row[5].is_empty()), "{rows:?}");
    }

    #[test]
    fn a_half_is_expected_by_the_agreed_day() {
        let (_, plan) = sample::day().unwrap();
        let rows = rows(&incoming(&plan).unwrap());
        assert_eq!(rows[0].join(","), INCOMING.join(","));
        assert_eq!(rows[1][3], due(&plan.expected[0].trade));
    }
}
