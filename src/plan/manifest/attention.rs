//! What of a plan needs the seller, and what is late or due.
//!
//! Handed a plan; gives each thing that needs the seller once, the most urgent first, and what is late or due. The exit
//! code, the email's subject and its first lines all follow from here, so that they can't disagree; papers only words
//! it. Turned down: a flag in the recorded plan, which would go on saying what was thought of as urgent on its day.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::model::day::{About, CalledOff, Changed, DayPlan, Held, ListedEarlier, Question, Waiting};
use crate::model::parcel::{Parcel, ParcelRef};
use crate::model::scale::{Explanation, ScaleFinding};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;

/// How many days before its own a held order or trade is told among what is due: what holds it must be settled first.
const NOTICE: i64 = 2;

/// One thing that only the seller can decide or mend.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Need<'p> {
    /// An order that is called off or paid back went in parcels.
    Went(&'p CalledOff),
    /// One lies in parcels that have not gone, and no question asks about it: they must not go.
    Stop(&'p CalledOff),
    /// A question.
    Question(&'p Question),
    /// Something changed that lies in a parcel, and no question asks about it; or that went in one.
    Changed(&'p Changed, &'p ParcelRef),
    /// A sealed parcel weighs otherwise than planned; with the other where the two speak of each other.
    Weighed(&'p ScaleFinding, Option<&'p ScaleFinding>),
    /// A file waits in the inbox.
    Waiting(&'p Waiting),
    /// Something of a file was refused.
    Refused {
        /// Its name.
        file: &'p str,
        /// How many rows.
        rows: usize,
        /// All of the file.
        whole: bool,
    },
}

/// All that needs the seller. What is late needs them too, and is among what is [`due`].
#[must_use]
pub fn needs(plan: &DayPlan) -> Vec<Need<'_>> {
    let went = plan.called_off.iter().filter(|off| !off.went_in.is_empty()).map(Need::Went);
    let stop = plan
        .called_off
        .iter()
        .filter(|off| !off.listed_in.is_empty() && !is_asked(plan, &off.order.clone().into()))
        .map(Need::Stop);
    let questions = plan.questions.iter().map(Need::Question);
    let changed = plan.changed.iter().filter(|changed| changed.handed_over || !is_asked(plan, &changed.id));
    let changed = changed.filter_map(|changed| Some(Need::Changed(changed, changed.parcel.as_ref()?)));
    let waiting = plan.waiting.iter().map(Need::Waiting);
    let mut files: BTreeMap<&str, (usize, bool)> = BTreeMap::new();
    for row in &plan.refused {
        let (rows, whole) = files.entry(&row.file).or_default();
        *rows += 1;
        *whole |= row.line.is_none();
    }
    let refused = files.into_iter().map(|(file, (rows, whole))| Need::Refused { file, rows, whole });
    let weighed = weighed(&plan.scale).into_iter().map(|(finding, other)| Need::Weighed(finding, other));
    went.chain(stop).chain(questions).chain(changed).chain(weighed).chain(waiting).chain(refused).collect()
}

/// Whether a question settles what becomes of the parcels that something lies in.
fn is_asked(plan: &DayPlan, id: &SendingId) -> bool {
    let about = About::from(id.clone());
    plan.questions.iter().any(|question| match question.subject {
        Subject::OnTheTable { .. } => question.about.contains(&about),
        Subject::Article { .. }
        | Subject::Mass { .. }
        | Subject::Address { .. }
        | Subject::SameRecipient { .. }
        | Subject::Customs { .. }
        | Subject::Changed { .. }
        | Subject::PartRefunded { .. }
        | Subject::Dates { .. }
        | Subject::ReusedNumber { .. }
        | Subject::SameOrder { .. }
        | Subject::OpenParcel { .. }
        | Subject::Part { .. }
        | Subject::Reworded { .. }
        | Subject::Wish { .. }
        | Subject::Before { .. }
        | Subject::HandOff { .. }
        | Subject::ReceiptPicture { .. } => false,
    })
}

/// Whether a plan holds something that only the seller can mend or decide, or a parcel that is late.
#[must_use]
pub fn needs_seller(plan: &DayPlan) -> bool {
    !needs(plan).is_empty()
        || plan.parcels.iter().any(|parcel| parcel.late)
        || plan.listed_earlier.iter().any(|earlier| earlier.late)
}

/// What the scale says, by things to look at: two findings that speak of each other are one.
#[must_use]
pub fn weighed(findings: &[ScaleFinding]) -> Vec<(&ScaleFinding, Option<&ScaleFinding>)> {
    let mut pairs = Vec::new();
    let mut told: Vec<&ParcelRef> = Vec::new();
    for finding in findings {
        if told.contains(&&finding.parcel) {
            continue;
        }
        let other = findings.iter().find(|other| other.parcel > finding.parcel && speak_of_each_other(finding, other));
        told.extend(other.map(|other| &other.parcel));
        pairs.push((finding, other));
    }
    pairs
}

/// Whether an explanation of either names the other.
fn speak_of_each_other(a: &ScaleFinding, b: &ScaleFinding) -> bool {
    let ways = |one: &ScaleFinding, other: &ScaleFinding| {
        let names = |way: &Explanation| way.with.as_ref() == Some(&other.parcel);
        names(&one.likeliest) || one.also.iter().any(names)
    };
    ways(a, b) || ways(b, a)
}

/// What is late or due.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum DueThing<'p> {
    /// A parcel of the plan.
    Parcel(&'p Parcel),
    /// A parcel of an earlier day that has not gone.
    Earlier(&'p ListedEarlier),
    /// Something held.
    Held(&'p Held),
}

/// Something late or due, and its last day.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Due<'p> {
    /// What.
    pub thing: DueThing<'p>,
    /// Last day to hand it over.
    pub day: Date,
    /// That day can't be kept, or is past.
    pub late: bool,
}

/// Parcels that are late or due on the plan's day, new and listed earlier, and what is held with its day near; the late ones first.
#[must_use]
pub fn due(plan: &DayPlan) -> Vec<Due<'_>> {
    let near = plan.date.saturating_add(NOTICE.days());
    let parcels = plan.parcels.iter().map(|parcel| {
        let day = parcel.last_day();
        (parcel.late || day <= plan.date).then_some(Due { thing: DueThing::Parcel(parcel), day, late: parcel.late })
    });
    let earlier = plan.listed_earlier.iter().map(|earlier| {
        let day = earlier.last_day.filter(|day| earlier.late || *day <= plan.date)?;
        Some(Due { thing: DueThing::Earlier(earlier), day, late: earlier.late })
    });
    let held = plan.held.iter().map(|held| {
        let day = held.ship_by.filter(|day| *day <= near)?;
        Some(Due { thing: DueThing::Held(held), day, late: day < plan.date })
    });
    let mut due: Vec<Due<'_>> = parcels.chain(earlier).chain(held).flatten().collect();
    due.sort_by_key(|due| !due.late);
    due
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(held: &str) -> DayPlan {
        let json = format!(
            r#"{{"date": "2026-11-25", "revision": 1, "currency": "USD", "parcels": [], "listed_earlier": [],
            "held": {held}, "questions": [], "refused": [], "waiting": [], "called_off": [], "expected": [],
            "supplies_low": [],
            "totals": {{"parcels": 0, "items": 0, "postage": {{"amount": "0", "currency": "USD"}}, "mass_g": 0}}}}"#
        );
        serde_json::from_str(&json).unwrap()
    }

    #[test]
    fn what_is_held_is_due_two_days_ahead_and_the_late_ones_come_first() {
        let held = |id: &str, day: &str| {
            let day = if day.is_empty() { "null".to_owned() } else { format!("\"{day}\"") };
            format!(r#"{{"id": "{id}", "name": "", "reason": "stock", "text": "", "until": null, "ship_by": {day}}}"#)
        };
        let all = [
            held("a:1", "2026-11-28"),
            held("a:2", "2026-11-27"),
            held("a:3", ""),
            held("a:4", "2026-11-25"),
            held("a:5", "2026-11-24"),
        ];
        let plan = plan(&format!("[{}]", all.join(",")));
        let told: Vec<(String, bool)> = due(&plan)
            .into_iter()
            .filter_map(|due| match due.thing {
                DueThing::Held(held) => Some((held.id.to_string(), due.late)),
                DueThing::Parcel(_) | DueThing::Earlier(_) => None,
            })
            .collect();
        assert_eq!(told, [("a:5", true), ("a:2", false), ("a:4", false)].map(|(id, late)| (id.to_owned(), late)));
    }

    #[test]
    fn only_what_lies_in_a_parcel_or_can_be_mended_needs_the_seller() {
        let mut plan = plan("[]");
        let off = |listed_in: Vec<ParcelRef>| CalledOff {
            order: "stall:7".parse().unwrap(),
            name: "Nell Calloway".to_owned(),
            state: crate::model::order::OrderState::Cancelled,
            listed_in,
            went_in: Vec::new(),
        };
        plan.called_off = vec![off(Vec::new())];
        assert!(needs(&plan).is_empty() && !needs_seller(&plan));
        plan.called_off.push(off(vec![ParcelRef("1124-02".to_owned())]));
        assert_eq!(needs(&plan), [Need::Stop(&plan.called_off[1])]);
        assert!(needs_seller(&plan));
        plan.called_off.pop();
        plan.called_off[0].went_in = vec![(ParcelRef("1124-02".to_owned()), plan.date)];
        assert_eq!(needs(&plan), [Need::Went(&plan.called_off[0])]);
    }

    #[test]
    fn rows_refused_of_one_file_are_one_thing() {
        let mut plan = plan("[]");
        let row = |file: &str, line| crate::model::day::Refused {
            file: file.to_owned(),
            line,
            column: None,
            value: None,
            reason: String::new(),
        };
        plan.refused = vec![row("b.csv", Some(2)), row("a.csv", None), row("b.csv", Some(3))];
        let files = [
            Need::Refused { file: "a.csv", rows: 1, whole: true },
            Need::Refused { file: "b.csv", rows: 2, whole: false },
        ];
        assert_eq!(needs(&plan), files);
    }
}
