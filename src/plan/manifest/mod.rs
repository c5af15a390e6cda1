//! The day: the ledger's state, the seller's rules and a date make a plan with its reasons.
//!
//! Handed a [`Snapshot`] and [`Rules`]; promises that every line of every due order and trade is either in one
//! parcel of the plan or held with a reason, that no quantity is in two, and that the same input gives the same
//! plan. It decides; recording and acting are others' business. Turned down: planning parcel by parcel against
//! the database, where a crash leaves half a plan.

mod attention;
mod buyers;
mod clearance;
mod identity;
mod low;
mod packing;
mod pictures;
mod questions;
mod scales;
mod sharing;
mod table;
mod told_twice;

use std::collections::{BTreeMap, VecDeque};

use jiff::civil::Date;

use crate::model::day::{DayPlan, Held, HoldReason, TakenOff, Totals};
use crate::model::money::Money;
use crate::model::parcel::{Parcel, ParcelRef};
use crate::model::sending::SendingId;
use crate::plan::calendar;
use crate::plan::snapshot::{Rules, Snapshot};

pub use attention::{Due, DueThing, Need, due, needs, needs_seller, weighed};
use clearance::{Clear, Deed};
use questions::Questions;
use sharing::Shared;

pub use scales::learn as learn_masses;
pub use table::beside::to_take_off;

/// The plan of `date`.
#[must_use]
pub fn day<'a>(snapshot: &'a Snapshot, rules: &'a Rules<'a>, date: Date) -> DayPlan {
    let mut questions = Questions::new(&snapshot.asked, snapshot.next.question);
    identity::ask_dates(snapshot, &mut questions);
    let listed_earlier = table::ask(snapshot, rules, date, &mut questions);
    pictures::ask(snapshot, date, &mut questions);
    told_twice::ask(snapshot, &mut questions);
    let mut held = identity::ask_reused(snapshot, &mut questions);
    let (clear, not_clear) = clearance::clear(snapshot, rules, date, &mut questions);
    held.extend(not_clear);
    let (clear, away) = sharing::unless_away(clear, rules, date);
    let (clear, waiting) = sharing::wait_for_others(clear, snapshot, rules, date);
    let (clear, asked) = table::beside::ask(clear, snapshot, rules, date, &mut questions);
    let (clear, who, doubtful) = sharing::ask_who(clear, snapshot, rules, date, &mut questions);
    held.extend(away.into_iter().chain(waiting).chain(asked).chain(doubtful));
    let (mut clear, waiting) = sharing::wait_for_others(clear, snapshot, rules, date);
    held.extend(waiting);
    let today = Today { date, hand_off: hand_off_day(rules, date) };
    let round = Round { rules, today, taken_off: &snapshot.taken_off };
    let anew = table::beside::anew(snapshot);
    let (parcels, taken) = loop {
        let groups = sharing::in_packing_order(clear, &who, rules, &anew);
        let mut packed = pack(groups, round, snapshot, &mut questions);
        held.append(&mut packed.held);
        // What no parcel takes may be what another waits for: then the table is packed anew without that.
        let (left, waiting) = sharing::wait_for_others(packed.deeds, snapshot, rules, date);
        if waiting.is_empty() {
            break (packed.parcels, packed.taken);
        }
        held.extend(waiting);
        clear = left;
    };
    let scales = scales::read(&snapshot.scale_days, rules, date);
    held.sort_by(|a, b| (a.ship_by, &a.id).cmp(&(b.ship_by, &b.id)));
    DayPlan {
        date,
        revision: snapshot.next.revision,
        currency: rules.currency,
        totals: totals(&parcels, rules),
        supplies_low: low::low(snapshot, rules, &taken, date),
        parcels,
        listed_earlier,
        taken_off: snapshot.taken_off.clone(),
        held,
        questions: questions.open(),
        refused: snapshot.refused.clone(),
        waiting: snapshot.waiting.clone(),
        remarks: snapshot.remarks.clone(),
        changed: snapshot.changed.clone(),
        called_off: snapshot.called_off.clone(),
        said: snapshot.said.clone(),
        scale: scales.findings,
        masses: scales.masses,
        expected: snapshot.expected.clone(),
    }
}

/// What a round of packing goes by.
#[derive(Clone, Copy)]
struct Round<'a> {
    rules: &'a Rules<'a>,
    today: Today,
    /// Parcels that are unpacked today.
    taken_off: &'a [TakenOff],
}

/// What one round of packing came to.
struct Packed {
    /// With their refs and their invoices' numbers, in packing order.
    parcels: Vec<Parcel>,
    /// What is in them.
    deeds: Vec<Clear>,
    /// What no parcel takes.
    held: Vec<Held>,
    /// Mailers gone, these among them.
    taken: BTreeMap<String, u32>,
}

fn pack(groups: Vec<Shared>, round: Round<'_>, snapshot: &Snapshot, questions: &mut Questions<'_>) -> Packed {
    let (parcels, deeds, held) = (Vec::new(), Vec::new(), Vec::new());
    let mut packed = Packed { parcels, deeds, held, taken: snapshot.mailers_taken.clone() };
    let mut invoice = snapshot.next.invoice;
    let mut groups = VecDeque::from(groups);
    while let Some(group) = groups.pop_front() {
        let no = match packing::pack(&group, round, &mut packed.taken, questions) {
            Ok(drafts) => {
                for draft in drafts {
                    let number = snapshot.next.parcel + u32::try_from(packed.parcels.len()).unwrap_or(u32::MAX);
                    let r#ref = ParcelRef::new(round.today.date, number);
                    packed.parcels.push(draft.numbered(r#ref, &mut invoice, &packed.parcels));
                }
                None
            }
            Err(no) => Some(no),
        };
        let Some(no) = no else {
            packed.deeds.extend(group.deeds);
            continue;
        };
        let (smaller, held) = packing::without_what_can_not_go(group, &no, round, &packed.taken, questions);
        packed.held.extend(held);
        smaller.into_iter().rev().for_each(|group| groups.push_front(group));
    }
    packed
}

/// Whether a plan says anything that the last manifest of its day didn't.
#[must_use]
pub fn is_news(plan: &DayPlan, last: Option<&DayPlan>) -> bool {
    let Some(last) = last else { return true };
    !plan.parcels.is_empty()
        || !plan.refused.is_empty()
        // What lies in a parcel is told until it is taken out.
        || plan.called_off.iter().any(|off| !last.called_off.contains(off))
        || !plan.remarks.is_empty()
        || !plan.changed.is_empty()
        || !plan.scale.is_empty()
        || !plan.taken_off.is_empty()
        || plan.held != last.held
        || plan.questions != last.questions
        || plan.waiting != last.waiting
}

fn totals(parcels: &[Parcel], rules: &Rules<'_>) -> Totals {
    // Packing lets through no postage in another currency.
    let postage = parcels.iter().map(|parcel| parcel.postage.price.amount).sum();
    Totals {
        parcels: u32::try_from(parcels.len()).unwrap_or(u32::MAX),
        items: parcels.iter().map(Parcel::pieces).sum(),
        postage: Money::new(postage, rules.currency),
        // The sum of no numbers is -0.0.
        mass_g: parcels.iter().map(|parcel| parcel.mass.mean_g).sum::<f64>() + 0.0,
    }
}

/// Why a group of clear orders can't be made into parcels.
struct NoParcel {
    reason: HoldReason,
    text: String,
}

impl Clear {
    fn held(&self, reason: HoldReason, text: String) -> Held {
        Held {
            id: self.id(),
            name: self.recipient.name.clone(),
            reason,
            text,
            until: None,
            ship_by: Some(self.ship_by),
        }
    }

    fn id(&self) -> SendingId {
        match &self.deed {
            Deed::Order(due) => due.order.id.clone().into(),
            Deed::Trade(due) => due.id.into(),
        }
    }

    /// Whether the buyer or partner wished it to go by itself, in a field of its own or in words.
    const fn is_wished_apart(&self) -> bool {
        self.wish.is_some()
            || match &self.deed {
                Deed::Order(due) => due.order.apart,
                Deed::Trade(due) => due.trade.apart,
            }
    }

    fn is_gift(&self) -> bool {
        match &self.deed {
            Deed::Order(due) => due.order.gift,
            Deed::Trade(_) => false,
        }
    }
}

/// The day of a plan, and the day on which what it packs is handed over.
#[derive(Clone, Copy)]
struct Today {
    date: Date,
    hand_off: Date,
}

/// The day a plan's parcels are handed over: its own, or the next day on which the seller works and the post takes
/// parcels; the one after, once the day's cut-off hour is past.
fn hand_off_day(rules: &Rules<'_>, date: Date) -> Date {
    let from = if rules.past_cut_off == Some(date) { date.tomorrow().unwrap_or(date) } else { date };
    calendar::on_or_after(&[rules.calendar, rules.post], from)
}
