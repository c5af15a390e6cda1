//! Questions about which order an order is, and which day a date.
//!
//! Handed the snapshot; promises each question once, in words that can be decided without looking anything up, and a
//! hold for what waits for it. Turned down: taking the likelier reading, which is right until the day it sends a
//! parcel to a stranger.

use crate::model::day::{About, Held, HoldReason};
use crate::model::order::{Order, OrderId};
use crate::model::recipient::Recipient;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::snapshot::{Reused, Snapshot};

use super::questions::Questions;

/// Asks, once a source, which of day and month comes first in its dates.
pub(super) fn ask_dates(snapshot: &Snapshot, questions: &mut Questions<'_>) {
    for waiting in &snapshot.waiting {
        let Some(asked) = &waiting.date_asked else { continue };
        let subject = Subject::Dates { source: asked.source.clone() };
        if questions.reply(&subject).is_some() {
            continue;
        }
        let text = format!(
            "`{}` in column `{}` of {}: does the day or the month come first?",
            asked.value, asked.column, waiting.file
        );
        questions.ask(subject, About::File(waiting.file.clone()), text, reply::Dates::choices());
    }
}

/// Asks about numbers that came again for somebody else; what came is held.
pub(super) fn ask_reused(snapshot: &Snapshot, questions: &mut Questions<'_>) -> Vec<Held> {
    let mut held = Vec::new();
    for reused in &snapshot.reused {
        let id = SendingId::from(reused.order.id.clone());
        let text = reused_text(reused);
        let subject = Subject::ReusedNumber { order: reused.order.id.clone(), mark: reused.mark.clone() };
        if questions.reply(&subject).is_none() {
            questions.ask(subject, id.clone().into(), text.clone(), reply::SameOrder::choices());
        }
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
    let subject = Subject::SameOrder { newer: order.id.clone(), older: earlier.clone() };
    if let Some(Reply::SameOrder(reply)) = questions.reply(&subject) {
        return match reply {
            reply::SameOrder::Another => Ok(()),
            // The ledger has it as the other then; it comes here only before that.
            reply::SameOrder::Same => Err(format!("it is {earlier}, you said")),
        };
    }
    let text =
        format!("{} and {earlier} have the same number, recipient and goods: the same order, or another?", order.id);
    let about = SendingId::from(order.id.clone()).into();
    questions.ask(subject, about, text.clone(), reply::SameOrder::choices());
    Err(text)
}
