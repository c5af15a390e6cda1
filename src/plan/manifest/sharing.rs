//! What shares a parcel, and what waits to share one.
//!
//! Handed what is clear to go; promises that only what one person bought for one recipient, in one currency, shares a
//! parcel, that a gift and what was wished apart go alone, that what takes the place of a listed parcel goes with nothing
//! that was wished apart from it, and that nothing waits for another past its own day. Turned down: one parcel a recipient
//! whatever was said, by which a neighbour's answer counted for more than one's own.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::model::day::{Held, HoldReason};
use crate::model::rules::Combine;
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::likeness::groups::{self, Candidate, Grouping};
use crate::plan::snapshot::{Rules, Snapshot};

use super::clearance::Clear;
use super::questions::Questions;
use super::{buyers, hand_off_day};

/// What may share a parcel: one recipient, one currency, and all or nothing of what takes the place of a parcel that is
/// taken off the list; a gift goes by itself, and so does everything where the seller never combines.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Together {
    recipient: usize,
    buyer: usize,
    currency: &'static str,
    anew: Option<usize>,
    alone: Option<SendingId>,
}

/// What goes in one parcel, if one mailer and one service take it.
pub(super) struct Shared {
    pub(super) deeds: Vec<Clear>,
    /// Why they are for one recipient, where they are written otherwise.
    pub(super) reasons: Vec<String>,
}

/// Groups that may share a parcel: earliest deadline first, then by place on the shelf, so that the table is
/// packed in one walk along it; then by name.
///
/// `anew` numbers what is packed together in place of parcels that are taken off.
pub(super) fn in_packing_order(
    clear: Vec<Clear>,
    who: &Grouping,
    rules: &Rules<'_>,
    anew: &BTreeMap<SendingId, usize>,
) -> Vec<Shared> {
    let homes = homes(who);
    let mut groups: BTreeMap<Together, Vec<Clear>> = BTreeMap::new();
    let mut known = buyers::Buyers::default();
    for deed in clear {
        let id = deed.id();
        let recipient = homes.get(id.to_string().as_str()).copied().unwrap_or(usize::MAX);
        let anew = anew.get(&id).copied();
        let alone = (goes_alone(&deed, rules) || recipient == usize::MAX).then_some(id);
        let buyer = known.place(&deed);
        groups
            .entry(Together { recipient, buyer, currency: deed.currency.code(), anew, alone })
            .or_default()
            .push(deed);
    }
    let mut groups: Vec<Shared> = groups
        .into_iter()
        .map(|(together, deeds)| {
            let reasons = who.groups.get(together.recipient).filter(|_| deeds.len() > 1);
            Shared { reasons: reasons.map(|group| group.reasons.clone()).unwrap_or_default(), deeds }
        })
        .collect();
    groups.sort_by_cached_key(|group| {
        let last_day = group.deeds.iter().map(|clear| clear.hand_over_by).min();
        let place = group.deeds.iter().flat_map(|clear| &clear.items).map(|item| item.place.clone()).min();
        let id = group.deeds.iter().map(Clear::id).min();
        (last_day, place, group.deeds.first().map(|clear| clear.recipient.name.clone()), id)
    });
    groups
}

/// The place of each id's group.
pub(super) fn homes(who: &Grouping) -> BTreeMap<&str, usize> {
    who.groups.iter().enumerate().flat_map(|(at, group)| group.ids.iter().map(move |id| (id.as_str(), at))).collect()
}

pub(super) fn goes_alone(clear: &Clear, rules: &Rules<'_>) -> bool {
    rules.packing.combine == Combine::Never || clear.is_gift() || clear.is_wished_apart()
}

/// Who is one recipient among what goes today. What may be another's too waits for the answer till its own day, then
/// goes apart.
pub(super) fn ask_who(
    clear: Vec<Clear>,
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
    questions: &mut Questions<'_>,
) -> (Vec<Clear>, Grouping, Vec<Held>) {
    let candidates: Vec<Candidate<'_>> = clear
        .iter()
        .filter(|clear| !goes_alone(clear, rules))
        .map(|clear| Candidate { id: clear.id().to_string(), to: &clear.recipient })
        .collect();
    let who = groups::group(&candidates, &snapshot.who);
    let ids: BTreeMap<String, SendingId> = clear.iter().map(|clear| (clear.id().to_string(), clear.id())).collect();
    let mut waits: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for question in &who.questions {
        let subject = Subject::SameRecipient { spellings: question.key.clone() };
        for (name, id) in question.ids.iter().flatten().filter_map(|name| ids.get_key_value(name)) {
            questions.ask(subject.clone(), id.clone().into(), question.text.clone(), question.choices.clone());
            waits.entry(name.clone()).or_default().extend(question.ids.concat());
        }
    }
    let (go, held) = held_back(clear, |clear| {
        let id = clear.id().to_string();
        let others = waits.get(&id).filter(|_| clear.hand_over_by > hand_off_day(rules, date))?;
        let others: Vec<&str> = others.iter().filter(|other| **other != id).map(String::as_str).collect();
        let text = format!(
            "may be for the same person as {}; goes apart on {} if you don't say",
            others.join(", "),
            clear.hand_over_by
        );
        Some(Held { until: Some(clear.hand_over_by), ..clear.held(HoldReason::Question, text) })
    });
    (go, who, held)
}

/// What goes, and what `why` holds back.
pub(super) fn held_back(clear: Vec<Clear>, mut why: impl FnMut(&Clear) -> Option<Held>) -> (Vec<Clear>, Vec<Held>) {
    let mut held = Vec::new();
    let go = clear.into_iter().filter(|clear| {
        let held_back = why(clear);
        let goes = held_back.is_none();
        held.extend(held_back);
        goes
    });
    (go.collect(), held)
}

/// Everything where the seller is away on the day.
pub(super) fn unless_away(clear: Vec<Clear>, rules: &Rules<'_>, date: Date) -> (Vec<Clear>, Vec<Held>) {
    let back = hand_off_day(rules, date);
    let text = format!("you are away; goes on {back}");
    let held = |clear: &Clear| Held { until: Some(back), ..clear.held(HoldReason::Seller, text.clone()) };
    held_back(clear, |clear| rules.calendar.is_away(date).then(|| held(clear)))
}

/// What the seller wants to go together with something else waits for that, unless its own day has come, or the
/// other goes nowhere any more; and whoever waits for one that waits, waits too. To be asked again after whatever holds
/// something else.
pub(super) fn wait_for_others(
    mut clear: Vec<Clear>,
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
) -> (Vec<Clear>, Vec<Held>) {
    let orders = snapshot.orders.iter().map(|due| SendingId::from(due.order.id.clone()));
    let due: BTreeSet<SendingId> = orders.chain(snapshot.trades.iter().map(|due| due.id.into())).collect();
    let mut waiting = Vec::new();
    loop {
        let ready: BTreeSet<SendingId> = clear.iter().map(Clear::id).collect();
        let (go, held) = held_back(clear, |clear| {
            let waits_for = snapshot.holds.get(&clear.id())?.waits_for.as_ref();
            let other = waits_for.filter(|other| due.contains(*other) && !ready.contains(*other))?;
            if clear.hand_over_by <= hand_off_day(rules, date) {
                return None;
            }
            let text = format!("waits for {other}, as you said; goes with it, or by {} without it", clear.hand_over_by);
            Some(Held { until: Some(clear.hand_over_by), ..clear.held(HoldReason::Seller, text) })
        });
        clear = go;
        if held.is_empty() {
            return (clear, waiting);
        }
        waiting.extend(held);
    }
}
