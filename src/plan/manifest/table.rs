//! What lies on the table: listed parcels that are not handed over, and what of them no longer holds.
//!
//! A listed parcel is owed as it was printed. What may change while it lies there: something in it is called off, or
//! its source or partner tells it otherwise, or two in it are to go apart by a later answer; that is one question,
//! [`Subject::OnTheTable`], asked every morning till it is settled. Or something new is to go with it, which
//! [`beside`] asks. Either answer has its effect when the next day is planned: the last one given holds, and what was
//! handed over meanwhile stays so. Handed a snapshot; promises that nothing is taken off the table without an answer.
//! Turned down: cancelling a parcel at the answer, by which no slip could be taken back, and the second order for one
//! parcel came too late.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::model::day::{ListedEarlier, QuestionId};
use crate::model::order::OrderState;
use crate::model::recipient::Recipient;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::{Lying, Subject};
use crate::plan::identity;
use crate::plan::snapshot::{OpenParcel, Rules, Snapshot};

use super::hand_off_day;
use super::questions::Questions;

pub(super) mod beside;

/// Why something in a parcel no longer goes as it was listed.
struct Outdated {
    ids: BTreeSet<SendingId>,
    /// What it is and what became of it: `stall:1, which was cancelled`.
    text: String,
    /// It is called off: it isn't to go at all.
    off: bool,
}

/// Parcels that are asked about together, as they hold the same thing.
struct Case<'a> {
    parcels: Vec<&'a OpenParcel>,
    outdated: Vec<Outdated>,
}

/// Asks about all parcels of which something no longer holds, and gives those of earlier days, marked.
pub(super) fn ask(
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
    questions: &mut Questions<'_>,
) -> Vec<ListedEarlier> {
    let mut marks: Vec<(Lying, String)> = Vec::new();
    for case in cases(snapshot, questions) {
        let (subject, text, choices) = case.question();
        if questions.reply(&subject).is_some() {
            continue;
        }
        let mut number = None;
        for id in case.ids() {
            number = Some(questions.ask(subject.clone(), id.into(), text.clone(), choices.clone()));
        }
        if let Some(number) = number {
            marks.extend(case.parcels.iter().map(|open| (open.lying(), case.mark(number))));
        }
    }
    let earlier = snapshot.open_parcels.iter().filter(|open| open.listed < date);
    earlier
        .map(|open| ListedEarlier {
            r#ref: open.r#ref.clone(),
            listed: open.listed,
            name: open.parcel.recipient.name.clone(),
            ship_by: Some(open.parcel.ship_by),
            last_day: Some(open.parcel.last_day()),
            late: open.parcel.last_day() < hand_off_day(rules, date),
            heed: marks.iter().find(|(lying, _)| *lying == open.lying()).map(|(_, mark)| mark.clone()),
        })
        .collect()
}

/// Whether nothing is open about what no longer holds in `open`.
pub(super) fn is_settled(open: &OpenParcel, snapshot: &Snapshot, questions: &Questions<'_>) -> bool {
    cases(snapshot, questions)
        .iter()
        .filter(|case| case.parcels.iter().any(|asked| asked.lying() == open.lying()))
        .all(|case| questions.reply(&case.subject()).is_some())
}

fn cases<'a>(snapshot: &'a Snapshot, questions: &Questions<'_>) -> Vec<Case<'a>> {
    let mut cases: Vec<Case<'a>> = Vec::new();
    for open in &snapshot.open_parcels {
        let outdated = outdated(open, snapshot, questions);
        if outdated.is_empty() {
            continue;
        }
        let mut case = Case { parcels: vec![open], outdated };
        let ids = case.ids();
        let (same, others): (Vec<_>, Vec<_>) = cases.into_iter().partition(|known| !known.ids().is_disjoint(&ids));
        cases = others;
        for known in same.into_iter().rev() {
            case.parcels.splice(0..0, known.parcels);
            case.outdated.extend(known.outdated);
        }
        case.outdated.sort_by(|a, b| a.text.cmp(&b.text));
        case.outdated.dedup_by(|a, b| a.text == b.text);
        cases.push(case);
    }
    cases
}

fn outdated(open: &OpenParcel, snapshot: &Snapshot, questions: &Questions<'_>) -> Vec<Outdated> {
    let mut all = Vec::new();
    for now in &open.orders {
        let id = SendingId::from(now.order.id.clone());
        let listed = open.parcel.orders.iter().find(|order| order.id == now.order.id);
        let one = |text: String, off: bool| Outdated { ids: BTreeSet::from([id.clone()]), text, off };
        match now.order.state {
            OrderState::Cancelled | OrderState::Refunded => {
                all.push(one(format!("{id}, which was {}", now.order.state.word()), true));
            }
            OrderState::Unpaid | OrderState::Open | OrderState::PartRefunded | OrderState::Sent => {
                let mut what = listed.map(|listed| identity::packed_otherwise(listed, &now.order)).unwrap_or_default();
                what.extend(now.too_many.iter().map(|(line, lie)| format!("{line}, was {lie}")));
                if !what.is_empty() {
                    all.push(one(format!("{id}, which changed since: {}", what.join("; ")), false));
                }
            }
        }
    }
    for (id, now) in &open.trades {
        let listed = open.parcel.trades.iter().find(|(known, _)| known == id);
        let what = listed.map(|(_, listed)| identity::trade_packed_otherwise(listed, now)).unwrap_or_default();
        if !what.is_empty() {
            let ids = BTreeSet::from([SendingId::from(*id)]);
            all.push(Outdated { ids, text: format!("{id}, which changed since: {}", what.join("; ")), off: false });
        }
    }
    all.extend(apart(open, snapshot, questions));
    all
}

/// Two in a parcel that were put together by an answer which was taken back since.
fn apart(open: &OpenParcel, snapshot: &Snapshot, questions: &Questions<'_>) -> Vec<Outdated> {
    let to = recipients(open);
    let mut pairs: BTreeSet<[&SendingId; 2]> = BTreeSet::new();
    for (place, (one, a)) in to.iter().enumerate() {
        for (other, b) in to.iter().skip(place + 1) {
            let by_recipient = snapshot.who.are_said_apart(a, b);
            if by_recipient || is_apart_from(open, one, other, questions) || is_apart_from(open, other, one, questions)
            {
                pairs.insert([one, other]);
            }
        }
    }
    let outdated = |[one, other]: [&SendingId; 2]| Outdated {
        ids: BTreeSet::from([one.clone(), other.clone()]),
        text: format!("{one} and {other}, which go apart by your later answer"),
        off: false,
    };
    pairs.into_iter().map(outdated).collect()
}

/// Whether `one` is to go apart from what lay in a parcel that `other` lay in before.
fn is_apart_from(open: &OpenParcel, one: &SendingId, other: &SendingId, questions: &Questions<'_>) -> bool {
    let lay_in = open.formerly.get(other);
    lay_in.into_iter().flatten().any(|Lying { parcel, listed }| {
        let subject = Subject::OpenParcel { parcel: parcel.clone(), listed: *listed, with: one.clone() };
        questions.reply(&subject) == Some(&Reply::OpenParcel(reply::OpenParcel::Apart))
    })
}

/// What lies in a parcel, and to whom it was listed.
fn recipients(open: &OpenParcel) -> Vec<(SendingId, &Recipient)> {
    let orders = open.parcel.orders.iter().map(|order| (SendingId::from(order.id.clone()), &order.recipient));
    orders.chain(open.parcel.trades.iter().map(|(id, trade)| (SendingId::from(*id), &trade.with))).collect()
}

impl Case<'_> {
    fn is_off(&self) -> bool {
        self.outdated.iter().any(|outdated| outdated.off)
    }

    fn ids(&self) -> BTreeSet<SendingId> {
        self.outdated.iter().flat_map(|outdated| outdated.ids.clone()).collect()
    }

    /// What lies in the parcels and still goes.
    fn rest(&self) -> Vec<String> {
        let off = self.outdated.iter().filter(|outdated| outdated.off);
        let off: BTreeSet<&SendingId> = off.flat_map(|outdated| &outdated.ids).collect();
        let all: BTreeSet<SendingId> = self.parcels.iter().flat_map(|open| open.holds()).collect();
        all.iter().filter(|id| !off.contains(id)).map(ToString::to_string).collect()
    }

    fn because(&self) -> Vec<String> {
        self.outdated.iter().map(|outdated| outdated.text.clone()).collect()
    }

    fn subject(&self) -> Subject {
        Subject::OnTheTable { parcels: self.parcels.iter().map(|open| open.lying()).collect(), because: self.because() }
    }

    /// The question, its text and its choices.
    fn question(&self) -> (Subject, String, Vec<String>) {
        let refs: Vec<String> = self.parcels.iter().map(|open| open.r#ref.to_string()).collect();
        let names: BTreeSet<&String> = self.parcels.iter().map(|open| &open.parcel.recipient.name).collect();
        let names: Vec<String> = names.into_iter().cloned().collect();
        let because = self.because().join("; ");
        let one = self.parcels.len() == 1;
        let holds = if one { "holds" } else { "hold" };
        let what = format!("{} for {} {holds} {because}", listed(&refs), listed(&names));
        let (text, other) = if self.is_off() {
            let rest = self.rest();
            let anew = if rest.is_empty() {
                "nothing else lies there. Unpack".to_owned()
            } else if rest.len() == 1 {
                format!("{} still goes. Pack", listed(&rest))
            } else {
                format!("{} still go. Pack", listed(&rest))
            };
            let (it, they) = if one { ("it", "it") } else { ("them", "they") };
            let how = if rest.is_empty() { "" } else { " anew without it" };
            (format!("do not send: {what}; {anew} {it}{how}, or did {they} go already?"), reply::OnTheTable::Went)
        } else {
            let it = if one { "it" } else { "them" };
            (format!("{what}. Pack {it} anew, or leave {it} as listed?"), reply::OnTheTable::Leave)
        };
        let choices = [reply::OnTheTable::PackAnew, other].map(|choice| choice.to_string()).to_vec();
        (self.subject(), text, choices)
    }

    /// What stands beside each of the parcels till the question is answered.
    fn mark(&self, question: QuestionId) -> String {
        if self.is_off() { format!("do not send: see {question}") } else { format!("before it goes: see {question}") }
    }
}

/// `a, b and c`.
fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}
