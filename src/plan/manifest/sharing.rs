//! What shares a parcel, what waits to share one, and what lies on the table already.
//!
//! Handed what is clear to go; promises that only what goes to one recipient, in one currency, shares a parcel, that
//! a gift and what was wished apart go alone, that nothing waits for another past its own day, and that nothing is
//! added to a parcel that is listed without an answer. Turned down: adding to it in silence, as it may be sealed.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::model::day::{Held, HoldReason, QuestionKind};
use crate::model::rules::Combine;
use crate::plan::likeness::{self, RecipientKey};
use crate::plan::snapshot::{OpenParcel, Rules, Snapshot};

use super::clearance::Clear;
use super::questions::Questions;
use super::{APART, WITH_IT, hand_off_day};

/// What may share a parcel: one recipient, one currency; a gift goes by itself, and so does everything where the
/// seller never combines.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Together {
    recipient: RecipientKey,
    currency: &'static str,
    alone: Option<String>,
}

/// Groups that may share a parcel: earliest deadline first, then by place on the shelf, so that the table is
/// packed in one walk along it; then by name.
pub(super) fn in_packing_order(clear: Vec<Clear>, rules: &Rules<'_>) -> Vec<Vec<Clear>> {
    let mut groups: BTreeMap<Together, Vec<Clear>> = BTreeMap::new();
    for deed in clear {
        let together = Together {
            recipient: likeness::key(&deed.recipient),
            currency: deed.currency.code(),
            alone: goes_alone(&deed, rules).then(|| deed.id()),
        };
        groups.entry(together).or_default().push(deed);
    }
    let mut groups: Vec<Vec<Clear>> = groups.into_values().collect();
    groups.sort_by_cached_key(|group| {
        let ship_by = group.iter().map(|clear| clear.ship_by).min();
        let place = group.iter().flat_map(|clear| &clear.items).map(|item| item.place.clone()).min();
        let id = group.iter().map(Clear::id).min();
        (ship_by, place, group.first().map(|clear| clear.recipient.name.clone()), id)
    });
    groups
}

fn goes_alone(clear: &Clear, rules: &Rules<'_>) -> bool {
    rules.packing.combine == Combine::Never || clear.is_gift() || clear.is_wished_apart()
}

/// Everything where the seller is away on the day.
pub(super) fn unless_away(clear: Vec<Clear>, rules: &Rules<'_>, date: Date) -> (Vec<Clear>, Vec<Held>) {
    if !rules.calendar.is_away(date) {
        return (clear, Vec::new());
    }
    let back = hand_off_day(rules, date);
    let held = |clear: &Clear| Held {
        until: Some(back),
        ..clear.held(HoldReason::Seller, format!("you are away; goes on {back}"))
    };
    (Vec::new(), clear.iter().map(held).collect())
}

/// What the seller wants to go together with something else waits for that, unless its own day has come, or the
/// other goes nowhere any more.
pub(super) fn wait_for_others(
    clear: Vec<Clear>,
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
) -> (Vec<Clear>, Vec<Held>) {
    let due: BTreeSet<String> = snapshot
        .orders
        .iter()
        .map(|due| due.order.id.to_string())
        .chain(snapshot.trades.iter().map(|due| due.id.to_string()))
        .collect();
    let ready: BTreeSet<String> = clear.iter().map(Clear::id).collect();
    let mut held = Vec::new();
    let go = clear.into_iter().filter(|clear| {
        let waits_for = snapshot.holds.get(&clear.id()).and_then(|hold| hold.waits_for.as_ref());
        let Some(other) = waits_for.filter(|other| due.contains(*other) && !ready.contains(*other)) else {
            return true;
        };
        if clear.ship_by <= hand_off_day(rules, date) {
            return true;
        }
        let text = format!("waits for {other}, as you said; goes with it, or by {} without it", clear.ship_by);
        held.push(Held { until: Some(clear.ship_by), ..clear.held(HoldReason::Seller, text) });
        false
    });
    let go = go.collect();
    (go, held)
}

/// Asks about what could go with a parcel that lies on the table. It waits for the answer till its own day, then goes
/// apart.
pub(super) fn ask_open_parcels(
    clear: Vec<Clear>,
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
    questions: &mut Questions<'_>,
) -> (Vec<Clear>, Vec<Held>) {
    let mut held = Vec::new();
    let go = clear.into_iter().filter(|clear| {
        if goes_alone(clear, rules) || clear.ship_by <= hand_off_day(rules, date) {
            return true;
        }
        let key = likeness::key(&clear.recipient);
        let fits = |open: &&OpenParcel| !open.gift && likeness::key(&open.recipient) == key;
        // The latest is the likeliest to lie there still.
        let Some(open) = snapshot.open_parcels.iter().rev().find(fits) else { return true };
        let id = clear.id();
        let asked = format!("{} {} {id}", open.r#ref, open.listed);
        if questions.answer(QuestionKind::OpenParcel, &asked).is_some() {
            return true;
        }
        let text = format!(
            "{} for {} is listed and not handed over: is it still unsealed, to pack {id} with it, or does that go apart?",
            open.r#ref, open.recipient.name
        );
        let choices = vec![WITH_IT.to_owned(), APART.to_owned()];
        questions.ask(QuestionKind::OpenParcel, &asked, &id, text.clone(), choices);
        let text = format!("{text} goes apart on {} if you don't say", clear.ship_by);
        held.push(Held { until: Some(clear.ship_by), ..clear.held(HoldReason::Question, text) });
        false
    });
    let go = go.collect();
    (go, held)
}
