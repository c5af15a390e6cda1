//! Asking of which hand-off a picture of a receipt is.
//!
//! Handed pictures that nothing tells it of; promises one question each, with the days it may be of. Turned down: the
//! day it was dropped, which is often the day after.

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::model::day::About;
use crate::model::reply;
use crate::model::subject::Subject;
use crate::plan::snapshot::Snapshot;

use super::questions::Questions;

/// A receipt is dropped within three weeks, and eight days are as many as one looks through (common practice, no source).
const WEEKS: i64 = 3;
const MOST_DAYS: usize = 8;

/// Asks of each picture.
pub(super) fn ask(snapshot: &Snapshot, date: Date, questions: &mut Questions<'_>) {
    for picture in &snapshot.pictures {
        let subject = Subject::ReceiptPicture { hash: picture.hash.clone() };
        if questions.reply(&subject).is_some() {
            continue;
        }
        let from = picture.taken_on.checked_sub(WEEKS.weeks()).unwrap_or(picture.taken_on);
        let recent = snapshot.handoff_days.iter().filter(|day| **day >= from && **day <= date);
        let days = recent.take(MOST_DAYS).copied().map(reply::ReceiptPicture::Of);
        let text = format!(
            "of which day's hand-off is the receipt in the picture `{}`? Its name tells neither parcel nor day",
            picture.file
        );
        let choices = days.chain([reply::ReceiptPicture::None]).map(|choice| choice.to_string()).collect();
        questions.ask(subject, About::File(picture.file.clone()), text, choices);
    }
}
