//! Questions about which order an order is, and which day a date.
//!
//! Handed the snapshot; promises each question once, in words that can be decided without looking anything up, and a
//! hold for what waits for it. Turned down: taking the likelier reading, which is right until the day it sends a
//! parcel to a stranger.

use crate::model::day::{Held, HoldReason, QuestionKind};
use crate::model::order::{Order, OrderId};
use crate::model::recipient::Recipient;
use crate::plan::snapshot::{Reused, Snapshot};

use super::questions::Questions;
use super::{ANOTHER, DAY_FIRST, MONTH_FIRST, SAME};

/// Asks, once a source, which of day and month comes first in its dates.
pub(super) fn ask_dates(snapshot: &Snapshot, questions: &mut Questions<'_>) {
    for waiting in &snapshot.waiting {
        let Some(asked) = &waiting.date_asked else { continue };
        if questions.answer(QuestionKind::Dates, &asked.source).is_some() {
            continue;
        }
        let text = format!(
            "`{}` in column `{}` of {}: does the day or the month come first?",
            asked.value, asked.column, waiting.file
        );
        let choices = vec![DAY_FIRST.to_owned(), MONTH_FIRST.to_owned()];
        questions.ask(QuestionKind::Dates, &asked.source, &waiting.file, text, choices);
    }
}

/// Asks about numbers that came again for somebody else; what came is held.
pub(super) fn ask_reused(snapshot: &Snapshot, questions: &mut Questions<'_>) -> Vec<Held> {
    let mut held = Vec::new();
    for reused in &snapshot.reused {
        let id = reused.order.id.to_string();
        let text = reused_text(reused);
        let choices = vec![SAME.to_owned(), ANOTHER.to_owned()];
        questions.ask(QuestionKind::ReusedNumber, &format!("{id} {}", reused.mark), &id, text.clone(), choices);
        held.push(Held {
            id,
            name: reused.order.recipient.name.clone(),
            reason: HoldReason::Question,
            text,
            until: None,
            ship_by: reused.order.ship_by,
        });
    }
    held
}

pub(super) fn reused_text(reused: &Reused) -> String {
    format!(
        "{} came again for {}; it was for {}. Is it the same order with a new recipient, or another order?",
        reused.order.id,
        whereabouts(&reused.order.recipient),
        whereabouts(&reused.before)
    )
}

fn whereabouts(to: &Recipient) -> String {
    let parts = std::iter::once(&to.name).chain(to.lines.first()).chain([&to.city]);
    parts.filter(|part| !part.is_empty()).map(String::as_str).collect::<Vec<_>>().join(", ")
}

/// Whether an order goes that may be `earlier`, of another source; the sentence is for one that waits for the answer.
pub(super) fn ask_twin(order: &Order, earlier: &OrderId, questions: &mut Questions<'_>) -> Result<(), String> {
    let key = format!("{} {earlier}", order.id);
    if questions.answer(QuestionKind::SameOrder, &key) == Some(ANOTHER) {
        return Ok(());
    }
    let text =
        format!("{} and {earlier} have the same number, recipient and goods: the same order, or another?", order.id);
    let id = order.id.to_string();
    questions.ask(QuestionKind::SameOrder, &key, &id, text.clone(), vec![SAME.to_owned(), ANOTHER.to_owned()]);
    Err(text)
}
