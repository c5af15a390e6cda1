//! What matching did or lacks, in sentences for the seller.
//!
//! Handed a draft; promises one sentence for the email. Turned down: a table of columns there, which is what the
//! proposed map is for.

use crate::model::drop::{DateOrder, SalesField};

use super::draft::Draft;
use super::grid::Grid;

/// More than these are counted.
const MOST_NAMED: usize = 12;
const MOST_PROBLEMS: usize = 4;

/// Why the file waits.
pub(super) fn why(draft: &Draft) -> String {
    let told: Vec<&str> = draft.problems.iter().take(MOST_PROBLEMS).map(String::as_str).collect();
    let more = draft.problems.len() - told.len();
    let more = if more == 0 { String::new() } else { format!(" (and {more} more)") };
    format!(
        "no column map fits it, and its columns can't be told for certain: {}{more}. A map is proposed: complete it, and put it into columns/",
        told.join("; ")
    )
}

/// How the file was read.
pub(super) fn remark(
    grid: &Grid<'_>,
    draft: &Draft,
    matched: &[(SalesField, String)],
    decimal: char,
    dates: DateOrder,
) -> String {
    let pairs: Vec<String> = matched.iter().map(|(field, header)| format!("{} = `{header}`", field.word())).collect();
    let mut text = format!("read without a column map: {}", pairs.join(", "));
    if draft.has_days {
        text.push_str(match dates {
            DateOrder::Dmy => "; dates day first",
            DateOrder::Mdy => "; dates month first",
            DateOrder::Ymd => "; dates year first",
        });
    }
    if decimal == ',' {
        text.push_str("; decimal comma");
    }
    if !draft.chosen.contains_key(&SalesField::Quantity) {
        text.push_str("; how many is told by the item's words or prices, and else one a row");
    }
    if !draft.chosen.contains_key(&SalesField::State) && !draft.chosen.contains_key(&SalesField::PaidAt) {
        text.push_str("; no column says what is paid, so all of it counts as paid");
    }
    for aside in &draft.asides {
        text.push_str("; ");
        text.push_str(aside);
    }
    let read = |place: &usize| draft.chosen.values().any(|chosen| chosen == place) || draft.heeded.contains(place);
    let unread: Vec<usize> = grid
        .columns
        .iter()
        .filter(|column| !column.header.is_empty())
        .map(|column| column.place)
        .filter(|place| !read(place))
        .collect();
    if !unread.is_empty() {
        let named = unread.get(..MOST_NAMED).unwrap_or(&unread);
        text.push_str("; not read: ");
        text.push_str(&grid.names(named));
        if unread.len() > named.len() {
            text.push_str(" and more");
        }
    }
    text
}
