//! Orders of which only a part goes: what was added after it was listed, what is left of a part refund, what is there
//! while something isn't.
//!
//! Handed a due order; promises that a part goes only by an answer of the seller's, and that what stays behind is held
//! and asked about no second time. Turned down: sending what is there unasked, which pays a second postage that nobody
//! may want.

use crate::model::day::{Held, HoldReason, QuestionKind};
use crate::model::order::{Order, OrderLine};
use crate::model::parcel::Item;
use crate::plan::snapshot::DueOrder;

use super::{Desk, LEAVE, No, Wanted};

/// Answers to what is to be sent of an order that was paid back in part.
const ALL: &str = "all";
const STILL_LISTED: &str = "still-listed";
/// Answers to whether a part goes before the rest.
const PART: &str = "part";
const WAIT: &str = "wait";

/// `2 × BELL-BUOY, 1 × GULL`.
fn goods<'l>(lines: impl IntoIterator<Item = &'l OrderLine>) -> String {
    lines.into_iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

impl Desk<'_, '_> {
    /// Lines that turned up after other lines of the order were put in a parcel may be new goods, or the same
    /// goods under another name: sending them unasked could send them twice.
    pub(super) fn changed(&mut self, due: &DueOrder, id: &str) -> Result<(), No> {
        let lines: Vec<String> =
            due.order.lines.iter().map(|line| format!("{}={}", line.line, line.quantity)).collect();
        let key = format!("{id} {}", lines.join(" "));
        match self.questions.answer(QuestionKind::Changed, &key) {
            Some("send") => Ok(()),
            Some(_) => Err(No::new(HoldReason::Seller, "you said not to send what was added after it was listed")),
            None => {
                let text = format!(
                    "{id} changed after it was listed as {}: now also {}. Send that too?",
                    due.already_in.join(", "),
                    goods(&due.order.lines)
                );
                let choices = vec!["send".to_owned(), LEAVE.to_owned()];
                self.questions.ask(QuestionKind::Changed, &key, id, text.clone(), choices);
                Err(No::new(HoldReason::Question, text))
            }
        }
    }

    /// The lines that go of an order that was paid back in part: which part, only the seller knows.
    pub(super) fn part_refunded<'d>(&mut self, due: &'d DueOrder, id: &str) -> Result<Vec<&'d OrderLine>, No> {
        let lines = &due.order.lines;
        let (untold, told): (Vec<&OrderLine>, Vec<&OrderLine>) =
            lines.iter().partition(|line| due.untold.contains(&line.line));
        let key = format!("{id} part-refunded {} / {}", goods(told.iter().copied()), goods(untold.iter().copied()));
        match self.questions.answer(QuestionKind::Changed, &key) {
            Some(ALL) => Ok(lines.iter().collect()),
            Some(STILL_LISTED) => Ok(told),
            Some(_) => Err(No::new(HoldReason::Seller, "you said not to send what is left of it")),
            None => {
                let mut choices = vec![ALL.to_owned(), LEAVE.to_owned()];
                let gone = if untold.is_empty() {
                    String::new()
                } else {
                    if !told.is_empty() {
                        choices.insert(1, STILL_LISTED.to_owned());
                    }
                    format!(" (its latest export has no {})", goods(untold))
                };
                let text = format!("{id} was partly refunded: send {}{gone}?", goods(lines));
                self.questions.ask(QuestionKind::Changed, &key, id, text.clone(), choices);
                Err(No::new(HoldReason::Question, text))
            }
        }
    }

    /// What is there of an order of which something isn't, where the seller lets that go before the rest; the question
    /// whether to is asked once.
    pub(super) fn part_of(
        &mut self,
        order: &Order,
        lines: &[&OrderLine],
        wanted: &[Wanted<'_>],
        no: No,
    ) -> Result<Vec<Item>, No> {
        let id = &order.id.to_string();
        let (mut here, mut missing) = (Vec::new(), Vec::new());
        let before = self.left.clone();
        let mut items = Vec::new();
        for (line, want) in lines.iter().copied().zip(wanted) {
            match self.items(id, std::slice::from_ref(want)) {
                Ok(found) => {
                    items.extend(found);
                    here.push(line);
                }
                Err(_) => missing.push(line),
            }
        }
        if here.is_empty() {
            return Err(no);
        }
        let key = format!("{id} {} / {}", goods(here.iter().copied()), goods(missing.iter().copied()));
        let answer = self.questions.answer(QuestionKind::Part, &key);
        if answer == Some(PART) {
            self.rest.push(Held {
                id: id.clone(),
                name: order.recipient.name.clone(),
                reason: HoldReason::Stock,
                text: format!("the rest of it, {}: {}", goods(missing), no.text),
                until: None,
                ship_by: Some(self.order_ship_by(order).0),
            });
            return Ok(items);
        }
        // Nothing goes, so nothing is taken from the drawer.
        self.left = before;
        if answer.is_none() {
            let text = format!(
                "{id}: {} is there, {} is not: send that part now, or wait for all?",
                goods(here),
                goods(missing)
            );
            self.questions.ask(QuestionKind::Part, &key, id, text, vec![PART.to_owned(), WAIT.to_owned()]);
        }
        Err(no)
    }

    /// Whether what is due of an order is just what was left behind when a part of it went before.
    pub(super) fn is_rest(&self, due: &DueOrder, id: &str) -> bool {
        let rest = format!(" / {}", goods(&due.order.lines));
        self.snapshot.asked.iter().any(|((kind, key), asked)| {
            *kind == QuestionKind::Part
                && asked.answer.as_deref() == Some(PART)
                && key.strip_prefix(id).is_some_and(|key| key.starts_with(' ') && key.ends_with(&rest))
        })
    }
}
