//! The day: the ledger's state, the seller's rules and a date make a plan with its reasons.
//!
//! Handed a [`Snapshot`] and [`Rules`]; promises that every line of every due order and trade is either in one
//! parcel of the plan or held with a reason, that no quantity is in two, and that the same input gives the same
//! plan. It decides; recording and acting are others' business. Turned down: planning parcel by parcel against
//! the database, where a crash leaves half a plan.

mod buyers;
mod clearance;
mod identity;
mod low;
mod packing;
mod pictures;
mod questions;
mod scales;
mod sharing;

use jiff::civil::Date;

use crate::model::day::{DayPlan, Held, HoldReason, Totals};
use crate::model::money::Money;
use crate::model::parcel::{Parcel, ParcelRef};
use crate::model::sending::SendingId;
use crate::plan::calendar;
use crate::plan::snapshot::{Rules, Snapshot};

use clearance::{Clear, Deed};
use questions::Questions;

pub use scales::learn as learn_masses;

/// The plan of `date`.
#[must_use]
pub fn day<'a>(snapshot: &'a Snapshot, rules: &'a Rules<'a>, date: Date) -> DayPlan {
    let mut questions = Questions::new(&snapshot.asked, snapshot.next.question);
    identity::ask_dates(snapshot, &mut questions);
    pictures::ask(snapshot, date, &mut questions);
    let mut held = identity::ask_reused(snapshot, &mut questions);
    let (clear, not_clear) = clearance::clear(snapshot, rules, date, &mut questions);
    held.extend(not_clear);
    let (clear, away) = sharing::unless_away(clear, rules, date);
    let (clear, waiting) = sharing::wait_for_others(clear, snapshot, rules, date);
    let (clear, asked) = sharing::ask_open_parcels(clear, snapshot, rules, date, &mut questions);
    let (clear, who, doubtful) = sharing::ask_who(clear, snapshot, rules, date, &mut questions);
    held.extend(away.into_iter().chain(waiting).chain(asked).chain(doubtful));
    let mut taken = snapshot.mailers_taken.clone();
    let mut parcels = Vec::new();
    let mut invoice = snapshot.next.invoice;
    for group in sharing::in_packing_order(clear, &who, rules) {
        match packing::pack(&group, rules, date, &mut taken, &mut questions) {
            Ok(drafts) => {
                for mut parcel in drafts {
                    let number = snapshot.next.parcel + u32::try_from(parcels.len()).unwrap_or(u32::MAX);
                    parcel.r#ref = ParcelRef::new(date, number);
                    for new in parcel.invoices.iter_mut().filter(|issued| issued.number == packing::UNNUMBERED) {
                        new.number = invoice;
                        invoice += 1;
                    }
                    parcels.push(parcel);
                }
            }
            Err(no) => held.extend(group.deeds.iter().map(|clear| clear.held(no.reason, no.text.clone()))),
        }
    }
    let scales = scales::read(&snapshot.scale_days, rules, date);
    held.sort_by(|a, b| (a.ship_by, &a.id).cmp(&(b.ship_by, &b.id)));
    DayPlan {
        date,
        revision: snapshot.next.revision,
        currency: rules.currency,
        totals: totals(&parcels, rules),
        supplies_low: low::low(snapshot, rules, &taken, date),
        parcels,
        listed_earlier: snapshot.listed_earlier.clone(),
        held,
        questions: questions.open(),
        refused: snapshot.refused.clone(),
        waiting: snapshot.waiting.clone(),
        remarks: snapshot.remarks.clone(),
        changed: snapshot.changed.clone(),
        called_off: snapshot.called_off.clone(),
        scale: scales.findings,
        masses: scales.masses,
        expected: snapshot.expected.clone(),
    }
}

/// Whether a plan says anything that the last manifest of its day didn't.
#[must_use]
pub fn is_news(plan: &DayPlan, last: Option<&DayPlan>) -> bool {
    let Some(last) = last else { return true };
    !plan.parcels.is_empty()
        || !plan.refused.is_empty()
        || !plan.called_off.is_empty()
        || !plan.remarks.is_empty()
        || !plan.changed.is_empty()
        || !plan.scale.is_empty()
        || plan.held != last.held
        || plan.questions != last.questions
        || plan.waiting != last.waiting
}

fn totals(parcels: &[Parcel], rules: &Rules<'_>) -> Totals {
    let postage = parcels
        .iter()
        .map(|parcel| parcel.postage.price)
        .fold(Money::zero(rules.currency), |sum, price| sum.checked_add(price).unwrap_or(sum));
    Totals {
        parcels: u32::try_from(parcels.len()).unwrap_or(u32::MAX),
        items: parcels.iter().map(Parcel::pieces).sum(),
        postage,
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

/// Whether a plan holds something that only the seller can mend or decide, or that is late.
#[must_use]
pub fn needs_seller(plan: &DayPlan) -> bool {
    !plan.refused.is_empty()
        || !plan.questions.is_empty()
        || !plan.waiting.is_empty()
        || !plan.scale.is_empty()
        || plan.changed.iter().any(|changed| changed.parcel.is_some())
        || plan.parcels.iter().any(|parcel| parcel.late)
}

/// The day a plan's parcels are handed over: its own, or the next day on which the seller works and the post takes
/// parcels; the one after, once the day's cut-off hour is past.
fn hand_off_day(rules: &Rules<'_>, date: Date) -> Date {
    let from = if rules.past_cut_off == Some(date) { date.tomorrow().unwrap_or(date) } else { date };
    calendar::on_or_after(&[rules.calendar, rules.post], from)
}
