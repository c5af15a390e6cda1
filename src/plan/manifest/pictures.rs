//! Asking of which hand-off a picture of a receipt is.
//!
//! Handed pictures that nothing tells it of; promises one question each, with the days it may be of. Turned down: the
//! day it was dropped, which is often the day after.

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::model::day::QuestionKind;
use crate::plan::snapshot::Snapshot;

use super::questions::Questions;

/// The answer by which a picture is of no hand-off.
pub const NONE: &str = "none";

/// A receipt is dropped within three weeks, and eight days are as many as one looks through (common practice, no source).
const WEEKS: i64 = 3;
const MOST_DAYS: usize = 8;

/// Asks of each picture.
pub(super) fn ask(snapshot: &Snapshot, date: Date, questions: &mut Questions<'_>) {
    for picture in &snapshot.pictures {
        if questions.answer(QuestionKind::ReceiptPicture, &picture.hash).is_some() {
            continue;
        }
        let from = picture.taken_on.checked_sub(WEEKS.weeks()).unwrap_or(picture.taken_on);
        let recent = snapshot.handoff_days.iter().filter(|day| **day >= from && **day <= date);
        let days = recent.take(MOST_DAYS).map(ToString::to_string);
        let text = format!(
            "of which day's hand-off is the receipt in the picture `{}`? Its name tells neither parcel nor day",
            picture.file
        );
        let choices = days.chain([NONE.to_owned()]).collect();
        questions.ask(QuestionKind::ReceiptPicture, &picture.hash, &picture.file, text, choices);
    }
}
