//! What goes with a parcel that lies on the table, and which parcels are packed anew.
//!
//! Handed what is clear to go; promises that nothing is added to a listed parcel without an answer, that each thing
//! goes as was last said of it and not as was said of its neighbour, and that what is packed anew is asked about no
//! second time. Turned down: adding to a parcel in silence, as it may be sealed.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::model::day::{Held, HoldReason, TakenOff};
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::likeness::groups::{self, Candidate};
use crate::plan::manifest::clearance::{self, Clear};
use crate::plan::manifest::questions::Questions;
use crate::plan::manifest::{buyers, hand_off_day, sharing};
use crate::plan::snapshot::{OpenParcel, Rules, Snapshot};

use super::{Case, cases, is_apart_from};

/// Listed parcels that are packed anew with the plan of `date`, by the seller's answers: those of which something no
/// longer holds, and those that something goes with that can go today.
#[must_use]
pub fn to_take_off<'a>(snapshot: &'a Snapshot, rules: &'a Rules<'a>, date: Date) -> Vec<TakenOff> {
    // Asked here for the answers only: the plan asks for itself.
    let mut questions = Questions::new(&snapshot.asked, snapshot.next.question);
    let (clear, _) = clearance::clear(snapshot, rules, date, &mut questions);
    let (clear, _) = sharing::unless_away(clear, rules, date);
    let (clear, _) = sharing::wait_for_others(clear, snapshot, rules, date);
    let (clear, _, _) = sharing::ask_who(clear, snapshot, rules, date, &mut questions);
    let (clear, _) = sharing::wait_for_others(clear, snapshot, rules, date);
    let fits = fits(&clear, snapshot, rules);
    let mut off: BTreeMap<usize, TakenOff> = BTreeMap::new();
    let cases = cases(snapshot, &questions);
    for (place, open) in snapshot.open_parcels.iter().enumerate() {
        if is_packed_anew(open, &questions) {
            let case = cases.iter().find(|case| case.parcels.iter().any(|asked| asked.lying() == open.lying()));
            let why = case.map_or_else(|| "you said to pack it anew".to_owned(), why);
            off.insert(place, taken_off(open, why, &questions));
        }
    }
    for (id, places) in &fits {
        let with_it =
            places.iter().find(|place| said(snapshot, **place, id, &questions) == Some(reply::OpenParcel::WithIt));
        let Some((place, open)) = with_it.and_then(|place| Some((*place, snapshot.open_parcels.get(*place)?))) else {
            continue;
        };
        let taken = off.entry(place).or_insert_with(|| taken_off(open, format!("{id} goes with it"), &questions));
        taken.together.push(id.clone());
    }
    // Beside a parcel that is open anyway, nothing needs an answer: it was asked only as that may be sealed.
    for (id, places) in &fits {
        if off.values().any(|taken| taken.together.contains(id)) {
            continue;
        }
        let beside = places.iter().find(|place| {
            off.contains_key(place) && said(snapshot, **place, id, &questions) != Some(reply::OpenParcel::Apart)
        });
        if let Some(taken) = beside.and_then(|place| off.get_mut(place)) {
            taken.together.push(id.clone());
        }
    }
    off.into_values().collect()
}

fn why(case: &Case<'_>) -> String {
    format!("holds {}", case.because().join("; "))
}

fn is_packed_anew(open: &OpenParcel, questions: &Questions<'_>) -> bool {
    questions.replies().any(|(subject, reply)| {
        *reply == Reply::OnTheTable(reply::OnTheTable::PackAnew)
            && if let Subject::OnTheTable { parcels, .. } = subject { parcels.contains(&open.lying()) } else { false }
    })
}

fn taken_off(open: &OpenParcel, why: String, questions: &Questions<'_>) -> TakenOff {
    let holds = open.holds();
    let goes_apart =
        |one: &SendingId| holds.iter().any(|other| other != one && is_apart_from(open, one, other, questions));
    TakenOff {
        r#ref: open.r#ref.clone(),
        listed: open.listed,
        name: open.parcel.recipient.name.clone(),
        why,
        together: holds.iter().filter(|id| !goes_apart(id)).cloned().collect(),
        holds,
    }
}

/// What the seller said last of whether something goes with an open parcel.
fn said(snapshot: &Snapshot, place: usize, id: &SendingId, questions: &Questions<'_>) -> Option<reply::OpenParcel> {
    match questions.reply(&subject(snapshot.open_parcels.get(place)?, id))? {
        Reply::OpenParcel(said) => Some(*said),
        Reply::Article(_)
        | Reply::Address(_)
        | Reply::SameRecipient(_)
        | Reply::Changed(_)
        | Reply::PartRefunded(_)
        | Reply::Dates(_)
        | Reply::ReusedNumber(_)
        | Reply::SameOrder(_)
        | Reply::Part(_)
        | Reply::Reworded(_)
        | Reply::Wish(_)
        | Reply::Before(_)
        | Reply::OnTheTable(_)
        | Reply::HandOff(_)
        | Reply::ReceiptPicture(_) => None,
    }
}

fn subject(open: &OpenParcel, id: &SendingId) -> Subject {
    Subject::OpenParcel { parcel: open.r#ref.clone(), listed: open.listed, with: id.clone() }
}

/// For all that could go with an open parcel, the places of those parcels, the latest first: it is the likeliest to lie
/// there still.
fn fits(clear: &[Clear], snapshot: &Snapshot, rules: &Rules<'_>) -> BTreeMap<SendingId, Vec<usize>> {
    let new = clear.iter().map(|clear| Candidate { id: clear.id().to_string(), to: &clear.recipient });
    let open = snapshot.open_parcels.iter().filter(|open| !open.goes_alone());
    let open = open.map(|open| Candidate { id: name(open), to: &open.parcel.recipient });
    let who = groups::group(&new.chain(open).collect::<Vec<_>>(), &snapshot.who);
    let homes = sharing::homes(&who);
    let beside = |clear: &Clear| {
        let id = clear.id();
        let home = homes.get(id.to_string().as_str())?;
        let fits = |open: &OpenParcel| {
            !open.goes_alone()
                && homes.get(name(open).as_str()) == Some(home)
                && open.parcel.value.currency == clear.currency
                && buyers::may_share(clear, open)
                // It was split, as one parcel didn't take it.
                && !open.holds().contains(&id)
        };
        let open = snapshot.open_parcels.iter().enumerate().rev();
        let places: Vec<usize> = open.filter(|(_, open)| fits(open)).map(|(place, _)| place).collect();
        (!sharing::goes_alone(clear, rules) && !places.is_empty()).then_some((id, places))
    };
    clear.iter().filter_map(beside).collect()
}

/// A parcel's name among orders and trades: a ref comes round again every year.
fn name(open: &OpenParcel) -> String {
    format!("{} {}", open.r#ref, open.listed)
}

/// Asks about what could go with a parcel that lies on the table. It waits for the answer till its own day, then goes
/// apart. What is packed anew with this plan goes as it was packed before, and so it is not asked about.
pub(in crate::plan::manifest) fn ask(
    clear: Vec<Clear>,
    snapshot: &Snapshot,
    rules: &Rules<'_>,
    date: Date,
    questions: &mut Questions<'_>,
) -> (Vec<Clear>, Vec<Held>) {
    let fits = fits(&clear, snapshot, rules);
    let anew: BTreeSet<&SendingId> =
        snapshot.taken_off.iter().flat_map(|taken| taken.holds.iter().chain(&taken.together)).collect();
    sharing::held_back(clear, |clear| {
        let id = clear.id();
        if clear.hand_over_by <= hand_off_day(rules, date) || anew.contains(&id) {
            return None;
        }
        let places = fits.get(&id)?;
        let open = snapshot.open_parcels.get(*places.first()?)?;
        if said(snapshot, *places.first()?, &id, questions).is_some() {
            return None;
        }
        let text = format!(
            "{} for {} is listed and not handed over: is it still unsealed, to pack {id} with it, or does that go apart?",
            open.r#ref, open.parcel.recipient.name
        );
        questions.ask(subject(open, &id), id.into(), text.clone(), reply::OpenParcel::choices());
        let text = format!("{text} goes apart on {} if you don't say", clear.hand_over_by);
        Some(Held { until: Some(clear.hand_over_by), ..clear.held(HoldReason::Question, text) })
    })
}

/// What is packed together in place of parcels that are taken off, by a number for each: no neighbour that was wished
/// apart from it goes with it.
pub(in crate::plan::manifest) fn anew(snapshot: &Snapshot) -> BTreeMap<SendingId, usize> {
    let mut sets: Vec<BTreeSet<SendingId>> = Vec::new();
    for taken in &snapshot.taken_off {
        let mut all: BTreeSet<SendingId> = taken.together.iter().cloned().collect();
        let (same, others): (Vec<_>, Vec<_>) = sets.into_iter().partition(|known| !known.is_disjoint(&all));
        all.extend(same.into_iter().flatten());
        sets = others;
        sets.push(all);
    }
    sets.into_iter().enumerate().flat_map(|(number, ids)| ids.into_iter().map(move |id| (id, number))).collect()
}
