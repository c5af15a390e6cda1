//! Where a parcel stands, by all that was recorded of it.
//!
//! Handed the rows of filled-in sheets, the carrier's receipts and the postage that are tied to one parcel; promises
//! the same answer in whatever order they came in. Of two sheets, the one that was written later holds, cell by cell,
//! and of one sheet dropped twice the later drop, which corrects it. Only of two days of hand-off the earlier holds till
//! the seller says which: what is reckoned from it, such as when claims close, is warned of early then, not late. The first day of a receipt is the day of
//! acceptance, and stands for the hand-off where no sheet has one. Turned down: changing the parcel row by row as files
//! are taken, by which the same files left one parcel handed over and another accepted.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::model::carrier::{Acceptance, PostageBought};
use crate::model::handoff::HandoffEntry;
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::model::parcel::ParcelState;

/// A row of a hand-off sheet that is about the parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct SheetRow {
    /// What it says.
    pub entry: HandoffEntry,
    /// Day the file was taken in: the sheet's age where it doesn't say one.
    pub taken_on: Date,
    /// Which of all files, counted as they were taken in.
    pub drop: i64,
}

impl SheetRow {
    /// The later, the newer.
    fn age(&self) -> (Date, u32, i64, u64) {
        let (date, revision) = self.entry.written().unwrap_or((self.taken_on, 0));
        (date, revision, self.drop, self.entry.line)
    }
}

/// A receipt that is tied to the parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct ReceiptRow {
    /// Name of its file.
    pub file: String,
    /// What it says.
    pub row: Acceptance,
}

/// All that was recorded of a parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct Facts {
    /// Where it stood: what was cancelled, settled, came back or was lost stays so.
    pub state: ParcelState,
    /// Day on which the seller answered that it went.
    pub said_gone_on: Option<Date>,
    /// Days that sheets said, and which of them the seller says it was.
    pub said_days: Vec<(Vec<Date>, Date)>,
    /// Rows of sheets.
    pub sheets: Vec<SheetRow>,
    /// Receipts.
    pub receipts: Vec<ReceiptRow>,
    /// Postage bought for it.
    pub postage: Vec<PostageBought>,
}

/// What follows from it.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// Where it stands.
    pub state: ParcelState,
    /// Day of hand-off.
    pub handed_over_on: Option<Date>,
    /// Why that is so, where no sheet says it.
    pub handed_over_why: Option<String>,
    /// Day of the first acceptance receipt.
    pub accepted_on: Option<Date>,
    /// Tracking number that the sheets say.
    pub sheet_tracking: Option<String>,
    /// Its tracking number: the sheets', else that of the label bought last.
    pub tracking: Option<String>,
    /// What the postage cost, by the sheets.
    pub postage_paid: Option<Money>,
    /// Scale reading.
    pub scale: Option<Weight>,
    /// Where it was handed over.
    pub place: Option<String>,
    /// The seller's note.
    pub note: Option<String>,
}

/// Where a parcel stands.
#[must_use]
pub fn standing(facts: &Facts) -> Standing {
    let rows = newest_first(&facts.sheets);
    let typed = said(&rows, |entry| entry.tracking.clone());
    let label = facts.postage.iter().filter(|row| row.price.is_none_or(|price| !price.amount.is_sign_negative()));
    let label = label.filter_map(|row| Some((row.bought_at, row.tracking.as_ref()?))).max();
    let first = facts.receipts.iter().filter_map(|receipt| Some((receipt.row.accepted_at?, receipt)));
    let first = first.min_by_key(|(day, receipt)| (*day, &receipt.file, receipt.row.line));
    // What the carrier accepted of a cancelled parcel is for the seller to look at: it undoes no cancelling.
    let by_receipt = first.filter(|_| facts.state != ParcelState::Cancelled);
    let (handed_over_on, handed_over_why) = match (handed_over(facts), by_receipt) {
        (Some(day), _) => (Some(day), None),
        (None, Some((day, receipt))) => {
            let (file, line) = (&receipt.file, receipt.row.line);
            (Some(day), Some(format!("the carrier's receipt, {file} line {line}: no hand-off was recorded")))
        }
        // The day of the word stands for that of the hand-off, which it doesn't say.
        (None, None) => (facts.said_gone_on, facts.said_gone_on.map(|_| "you said that it went".to_owned())),
    };
    Standing {
        state: state(facts, handed_over_on.is_some()),
        handed_over_on,
        handed_over_why,
        accepted_on: by_receipt.map(|(day, _)| day),
        tracking: typed.clone().or_else(|| label.map(|(_, number)| number.clone())),
        sheet_tracking: typed,
        postage_paid: said(&rows, |entry| entry.postage_paid),
        scale: said(&rows, |entry| entry.scale),
        place: said(&rows, |entry| entry.place.clone()),
        note: said(&rows, |entry| entry.note.clone()),
    }
}

fn state(facts: &Facts, is_handed_over: bool) -> ParcelState {
    let by_sheets = match facts.state {
        ParcelState::Listed | ParcelState::HandedOver | ParcelState::Accepted if is_handed_over => {
            ParcelState::HandedOver
        }
        ParcelState::Listed | ParcelState::HandedOver | ParcelState::Accepted => ParcelState::Listed,
        ParcelState::Closed | ParcelState::Cancelled | ParcelState::Returned | ParcelState::Lost => facts.state,
    };
    // Accepted on a day that no receipt says: its hand-off is for the seller to record.
    if facts.receipts.is_empty() || by_sheets == ParcelState::Listed { by_sheets } else { by_sheets.once_accepted() }
}

/// The days of hand-off that sheets say, earliest first; one dropped again says the day of its latest drop.
#[must_use]
pub fn days_told(rows: &[SheetRow]) -> Vec<Date> {
    let mut days: BTreeMap<&str, Date> = BTreeMap::new();
    for row in newest_first(rows) {
        if let Some(day) = row.entry.handed_over_on {
            days.entry(&row.entry.sheet).or_insert(day);
        }
    }
    days.into_values().collect::<BTreeSet<_>>().into_iter().collect()
}

/// The day of hand-off by the sheets: where they say several, the one that the seller says, else the earliest.
fn handed_over(facts: &Facts) -> Option<Date> {
    let days = days_told(&facts.sheets);
    let said = facts.said_days.iter().find(|(about, _)| *about == days).map(|(_, day)| *day);
    said.or_else(|| days.first().copied())
}

fn newest_first(rows: &[SheetRow]) -> Vec<&SheetRow> {
    let mut rows: Vec<&SheetRow> = rows.iter().collect();
    rows.sort_by_key(|row| Reverse(row.age()));
    rows
}

/// The newest word on one cell.
fn said<T>(rows: &[&SheetRow], cell: impl Fn(&HandoffEntry) -> Option<T>) -> Option<T> {
    rows.iter().find_map(|row| cell(&row.entry))
}

/// A cell of which one file has another word than another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Disagreement {
    /// Line of the row in that file.
    pub line: u64,
    /// Header of the column.
    pub column: &'static str,
    /// What it says, what another sheet says, and which holds.
    pub text: String,
}

/// What the rows of one file say otherwise than others of the same parcel. Whichever came first, it is told; two sheets'
/// days of hand-off are asked about instead.
#[must_use]
pub fn disagreements(rows: &[SheetRow], drop: i64) -> Vec<Disagreement> {
    type Cell = (&'static str, fn(&HandoffEntry) -> Option<String>);
    let cells: [Cell; 3] = [
        ("handed_over_on", |entry| entry.handed_over_on.map(|day| day.to_string())),
        ("tracking", |entry| entry.tracking.clone()),
        ("postage_paid", |entry| entry.postage_paid.map(Money::plain)),
    ];
    let newest = newest_first(rows);
    let mut all = Vec::new();
    for (column, cell) in cells {
        for row in rows.iter().filter(|row| row.drop == drop) {
            let Some(here) = cell(&row.entry) else { continue };
            let is_asked = |other: &SheetRow| column == "handed_over_on" && other.entry.sheet != row.entry.sheet;
            let others = newest.iter().filter(|other| other.drop != drop && !is_asked(other));
            let there = others.filter_map(|other| cell(&other.entry)).find(|there| *there != here);
            let (Some(there), Some(holds)) = (there, said(&newest, cell)) else { continue };
            let text = format!(
                "parcel {}: {here} here, {there} as another sheet was dropped; {holds} holds, by the sheet that was \
                 written later",
                row.entry.parcel
            );
            all.push(Disagreement { line: row.entry.line, column, text });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn row(sheet: &str, drop: i64, day: Option<i8>) -> SheetRow {
        let entry = HandoffEntry {
            line: 2,
            sheet: sheet.to_owned(),
            parcel: crate::model::parcel::ParcelRef("1125-01".to_owned()),
            scale: None,
            tracking: None,
            postage_paid: None,
            handed_over_on: day.map(|day| date(2026, 11, day)),
            place: None,
            note: None,
        };
        SheetRow { entry, taken_on: date(2026, 11, 30), drop }
    }

    fn receipt(file: &str, day: Option<i8>) -> ReceiptRow {
        let row = Acceptance {
            line: 2,
            tracking: None,
            parcel: None,
            accepted_at: day.map(|day| date(2026, 11, day)),
            accepted_at_as_written: None,
            place: None,
            price: None,
            mass: None,
            postal_code: None,
        };
        ReceiptRow { file: file.to_owned(), row }
    }

    fn of(state: ParcelState, sheets: &[SheetRow], receipts: &[ReceiptRow]) -> Standing {
        standing(&Facts {
            state,
            said_gone_on: None,
            said_days: Vec::new(),
            sheets: sheets.to_vec(),
            receipts: receipts.to_vec(),
            postage: Vec::new(),
        })
    }

    #[test]
    fn a_receipt_without_a_day_accepts_what_a_sheet_handed_over() {
        let listed = of(ParcelState::Listed, &[], &[receipt("a", None)]);
        assert_eq!((listed.state, listed.handed_over_on), (ParcelState::Listed, None));
        let both = of(listed.state, &[row("handoff 2026-11-25 r1", 2, Some(26))], &[receipt("a", None)]);
        assert_eq!((both.state, both.handed_over_on), (ParcelState::Accepted, Some(date(2026, 11, 26))));
        assert_eq!(both.accepted_on, None);
    }

    #[test]
    fn the_first_receipt_is_the_day_whichever_came_first() {
        let (early, late) = (receipt("b", Some(26)), receipt("a", Some(27)));
        let one = of(ParcelState::Listed, &[], &[early.clone(), late.clone()]);
        assert_eq!(one, of(ParcelState::Accepted, &[], &[late, early]));
        assert_eq!((one.handed_over_on, one.accepted_on), (Some(date(2026, 11, 26)), Some(date(2026, 11, 26))));
        assert!(one.handed_over_why.is_some_and(|why| why.contains("b line 2")));
    }

    #[test]
    fn the_later_sheet_holds_and_of_one_sheet_the_later_drop() {
        for (older, newer) in [
            (row("handoff 2026-11-25 r1", 9, Some(25)), row("handoff 2026-11-26 r1", 1, Some(26))),
            (row("handoff 2026-11-25 r1", 9, Some(25)), row("handoff 2026-11-25 r2", 1, Some(26))),
            (row("handoff 2026-11-25 r1", 1, Some(25)), row("", 9, Some(26))),
        ] {
            let rows = [newer.clone(), older.clone()];
            let days = [25, 26].map(|day| date(2026, 11, day));
            assert_eq!(days_told(&rows), days);
            assert_eq!(of(ParcelState::Listed, &rows, &[]).handed_over_on, Some(days[0]));
            assert_eq!((disagreements(&rows, older.drop), disagreements(&rows, newer.drop)), (vec![], vec![]));
            for (about, is) in [(days.to_vec(), days[1]), (vec![days[1]], days[0])] {
                let said_days = vec![(about, days[1])];
                let (state, receipts, postage) = (ParcelState::Listed, Vec::new(), Vec::new());
                let facts = Facts { state, said_gone_on: None, said_days, sheets: rows.to_vec(), receipts, postage };
                assert_eq!(standing(&facts).handed_over_on, Some(is));
            }
        }
        for (older, newer) in [(row("handoff 2026-11-25 r1", 1, Some(25)), row("handoff 2026-11-25 r1", 9, Some(26)))] {
            let rows = [newer.clone(), older.clone()];
            let stands = of(ParcelState::Listed, &rows, &[]);
            assert_eq!((stands.state, stands.handed_over_on), (ParcelState::HandedOver, Some(date(2026, 11, 26))));
            for drop in [older.drop, newer.drop] {
                let [told] = &disagreements(&rows, drop)[..] else { panic!("{rows:?}") };
                assert!(told.text.contains("2026-11-26 holds") && told.column == "handed_over_on", "{told:?}");
            }
        }
        let silent = [row("handoff 2026-11-25 r1", 1, Some(25)), row("handoff 2026-11-26 r1", 2, None)];
        assert_eq!(of(ParcelState::Listed, &silent, &[]).handed_over_on, Some(date(2026, 11, 25)));
        assert_eq!(disagreements(&silent, 2), []);
    }

    #[test]
    fn what_was_decided_stays() {
        let accepted = [receipt("a", Some(26))];
        let cancelled = of(ParcelState::Cancelled, &[], &accepted);
        assert_eq!((cancelled.state, cancelled.handed_over_on), (ParcelState::Cancelled, None));
        for state in [ParcelState::Closed, ParcelState::Returned, ParcelState::Lost] {
            assert_eq!(of(state, &[row("", 1, Some(25))], &accepted).state, state);
        }
    }
}
