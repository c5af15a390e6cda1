//! Orders of which only a part goes: what was added after it was listed, what is left of a part refund, what is there
//! while something isn't.
//!
//! Handed a due order; promises that a part goes only by an answer of the seller's, and that what stays behind is held
//! and asked about no second time. Turned down: sending what is there unasked, which pays a second postage that nobody
//! may want.

use crate::model::day::{Held, HoldReason};
use crate::model::order::{OrderId, OrderLine, Portion};
use crate::model::parcel::Item;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::snapshot::DueOrder;

use super::{Desk, No, Wanted};

/// `2 × BELL-BUOY, 1 × GULL`.
fn goods(portions: &[Portion]) -> String {
    portions.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

impl Desk<'_, '_> {
    /// Lines that turned up after other lines of the order were put in a parcel may be new goods, or the same
    /// goods under another name: sending them unasked could send them twice.
    pub(super) fn changed(&mut self, due: &DueOrder) -> Result<(), No> {
        let order = &due.order.id;
        let added: Vec<Portion> = due.order.lines.iter().map(|line| due.portion(line)).collect();
        let text = format!(
            "{order} changed after it was listed as {}: now also {}. Send that too?",
            due.already_in.join(", "),
            goods(&added)
        );
        let subject = Subject::Changed { order: order.clone(), added };
        if let Some(Reply::Changed(reply)) = self.questions.reply(&subject) {
            return match reply {
                reply::Changed::Send => Ok(()),
                reply::Changed::Leave => {
                    Err(No::new(HoldReason::Seller, "you said not to send what was added after it was listed"))
                }
            };
        }
        self.ask(subject, order, text.clone(), reply::Changed::choices());
        Err(No::new(HoldReason::Question, text))
    }

    /// The lines that go of an order that was paid back in part: which part, only the seller knows.
    pub(super) fn part_refunded<'d>(&mut self, due: &'d DueOrder) -> Result<Vec<&'d OrderLine>, No> {
        let (order, lines) = (&due.order.id, &due.order.lines);
        let is_told = |line: &&OrderLine| !due.untold.contains(&line.line);
        let portions = |lines: &[&OrderLine]| lines.iter().map(|line| due.portion(line)).collect::<Vec<_>>();
        let (told, untold): (Vec<&OrderLine>, Vec<&OrderLine>) = lines.iter().partition(is_told);
        let all = goods(&portions(&lines.iter().collect::<Vec<_>>()));
        let gone = portions(&untold);
        let subject = Subject::PartRefunded { order: order.clone(), told: portions(&told), untold: gone.clone() };
        if let Some(Reply::PartRefunded(reply)) = self.questions.reply(&subject) {
            return match reply {
                reply::PartRefunded::All => Ok(lines.iter().collect()),
                reply::PartRefunded::StillListed => Ok(told),
                reply::PartRefunded::Leave => {
                    Err(No::new(HoldReason::Seller, "you said not to send what is left of it"))
                }
            };
        }
        let can_be_said = |reply: &&reply::PartRefunded| match reply {
            reply::PartRefunded::All | reply::PartRefunded::Leave => true,
            reply::PartRefunded::StillListed => !untold.is_empty() && !told.is_empty(),
        };
        let choices = reply::PartRefunded::ALL.iter().filter(can_be_said).map(ToString::to_string).collect();
        let gone =
            if gone.is_empty() { String::new() } else { format!(" (its latest export has no {})", goods(&gone)) };
        let text = format!("{order} was partly refunded: send {all}{gone}?");
        self.ask(subject, order, text.clone(), choices);
        Err(No::new(HoldReason::Question, text))
    }

    /// What is there of an order of which something isn't, where the seller lets that go before the rest; the question
    /// whether to is asked once.
    pub(super) fn part_of(
        &mut self,
        due: &DueOrder,
        lines: &[&OrderLine],
        wanted: &[Wanted<'_>],
        no: No,
    ) -> Result<Vec<Item>, No> {
        let order = &due.order.id;
        let id = order.clone().into();
        let (mut here, mut owed) = (Vec::new(), Vec::new());
        let before = self.left.clone();
        let mut items = Vec::new();
        for (line, want) in lines.iter().copied().zip(wanted) {
            match self.items(&id, std::slice::from_ref(want)) {
                Ok(found) => {
                    items.extend(found);
                    here.push(due.portion(line));
                }
                Err(_) => owed.push(due.portion(line)),
            }
        }
        if here.is_empty() {
            return Err(no);
        }
        let (there, missing) = (goods(&here), goods(&owed));
        let subject = Subject::Part { order: order.clone(), here, owed };
        let reply = self.questions.reply(&subject);
        if reply == Some(&Reply::Part(reply::Part::Part)) {
            self.rest.push(Held {
                id,
                name: due.order.recipient.name.clone(),
                reason: HoldReason::Stock,
                text: format!("the rest of it, {missing}: {}", no.text),
                until: None,
                ship_by: Some(self.order_ship_by(&due.order).0),
            });
            return Ok(items);
        }
        // Nothing goes, so nothing is taken from the drawer.
        self.left = before;
        if reply.is_none() {
            let text = format!("{order}: {there} is there, {missing} is not: send that part now, or wait for all?");
            self.ask(subject, order, text, reply::Part::choices());
        }
        Err(no)
    }

    /// Whether what is due of an order is just what was left behind when a part of it went before: of the same lines,
    /// each as long as it was then. So what is owed is used up once it lies in a parcel: only a parcel that is called
    /// off makes it due again, and a line under another key, or with more pieces than it had, is asked about.
    pub(super) fn is_rest(&self, due: &DueOrder) -> bool {
        let owed: Vec<&Portion> = self
            .questions
            .replies()
            .filter(|(_, reply)| **reply == Reply::Part(reply::Part::Part))
            .filter_map(|(subject, _)| owed_of(subject, &due.order.id))
            .flatten()
            .collect();
        due.order
            .lines
            .iter()
            .map(|line| due.portion(line))
            .all(|left| owed.iter().any(|owed| owed.line == left.line && owed.what == left.what && owed.of == left.of))
    }

    fn ask(&mut self, subject: Subject, order: &OrderId, text: String, choices: Vec<String>) {
        self.questions.ask(subject, SendingId::from(order.clone()).into(), text, choices);
    }
}

/// What a question about a part of this order leaves behind.
fn owed_of<'s>(subject: &'s Subject, order: &OrderId) -> Option<&'s [Portion]> {
    if let Subject::Part { order: of, owed, .. } = subject {
        return (of == order).then_some(owed.as_slice());
    }
    None
}
