//! What the email begins with: what only the seller can decide, and what is late or due.
//!
//! Handed a plan; gives one line for each thing. Turned down: telling up here why each row of a file was refused,
//! since the first screen of a phone holds a handful of lines.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use super::{LeftOut, scales};
use crate::model::day::{DayPlan, Question};
use crate::papers::words::{self, DateWords};
use crate::papers::{file_name, proposed_file};

/// How long before its day a held order is told among what is due.
const HELD_NOTICE: jiff::SignedDuration = jiff::SignedDuration::from_hours(48);

/// Letters of a name up here; it stands whole below.
const MOST_NAME: usize = 60;

/// A question.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct QuestionView {
    /// Its number: `Q-0003`.
    pub id: String,
    /// The question.
    pub text: String,
    /// Orders and trades that wait for it: `stall:1003, stall:0991`; may be empty.
    pub about: String,
    /// Answers it takes; empty where a file of the home is to be mended.
    pub choices: Vec<String>,
    /// The same as `together or apart`.
    pub choices_words: String,
}

/// Something late or due.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct DueView {
    /// Parcel ref, or the id of what is held.
    pub r#ref: String,
    /// For whom; a very long name is shortened.
    pub name: String,
    /// `late since Tue 24 Nov`, `due today`; `, and held` with the reason where it is.
    pub words: String,
    /// It is late, not only due.
    pub late: bool,
    /// It is held: `ref` is no parcel's.
    pub held: bool,
}

pub(super) fn question(question: &Question) -> QuestionView {
    QuestionView {
        id: question.id.to_string(),
        text: words::said(&question.text),
        about: question.about.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        choices: question.choices.clone(),
        choices_words: question.choices.join(" or "),
    }
}

/// What needs the seller besides the questions.
pub(super) fn chores(plan: &DayPlan, missing: &[String], left_out: Option<&LeftOut>) -> Vec<String> {
    let mut refused: BTreeMap<&str, (usize, bool)> = BTreeMap::new();
    for row in &plan.refused {
        let entry = refused.entry(&row.file).or_default();
        entry.0 += 1;
        entry.1 |= row.line.is_none();
    }
    let waiting = plan.waiting.iter().map(|waiting| match &waiting.proposal {
        Some(proposal) => format!(
            "{} waits in the inbox for a column map; one is proposed as {}, to be completed: see below.",
            waiting.file,
            proposed_file(proposal, plan.revision)
        ),
        None => format!("{} waits in the inbox: {}", waiting.file, words::quoted(&waiting.why)),
    });
    let refused = refused.into_iter().map(|(file, (rows, whole))| {
        if whole {
            format!("{file} could not be read; why is below.")
        } else {
            format!("{file}: {} could not be read; mend and drop again.", words::count(rows, "row", "rows"))
        }
    });
    let missing = (!missing.is_empty()).then(|| {
        format!("{} of the print pack to complete by hand, see below.", words::count(missing.len(), "line", "lines"))
    });
    // What is on its way can't be changed here; what lies on the table can.
    let changed = plan.changed.iter().filter_map(|changed| {
        let parcel = changed.parcel.as_ref()?;
        Some(if changed.handed_over {
            format!("{} changed after parcel {parcel} was handed over; what changed is below.", changed.id)
        } else {
            format!("{} changed after it was listed as {parcel}; look it over before you hand it over.", changed.id)
        })
    });
    let weighed = scales::lines(&plan.scale);
    let left_out = left_out.map(|paper| {
        let size = paper.bytes.div_ceil(1_000_000);
        format!("{} is too large to send ({size} MB): print it from outbox/{}.", paper.file, plan.date)
    });
    changed.chain(weighed).chain(waiting).chain(refused).chain(missing).chain(left_out).collect()
}

/// How to answer, where a question takes an answer.
pub(super) fn how_to_answer(plan: &DayPlan) -> Option<String> {
    let question = plan.questions.iter().find(|question| !question.choices.is_empty())?;
    let choice = question.choices.first()?;
    Some(format!(
        "Answer in {} of the day's papers and drop it in the inbox, or run: dawnpack answer {} {choice}",
        file_name("questions", "csv", plan.revision),
        question.id
    ))
}

/// What is late or due today, and what is held with its day near; the late ones first.
pub(super) fn due(plan: &DayPlan) -> Vec<DueView> {
    // A held one needs a day's notice: what holds it must be settled first.
    let near = plan.date.saturating_add(HELD_NOTICE);
    let parcels =
        plan.parcels.iter().filter(|parcel| parcel.late || parcel.last_day() <= plan.date).map(|parcel| DueView {
            r#ref: parcel.r#ref.0.clone(),
            name: words::shortened(&parcel.recipient.name, MOST_NAME),
            words: by_when(parcel.last_day(), parcel.late, plan.date),
            late: parcel.late,
            held: false,
        });
    let held = plan.held.iter().filter_map(|held| {
        let day = held.ship_by.filter(|day| *day <= near)?;
        let late = day < plan.date;
        let words = format!("{}, and held: {}", by_when(day, late, plan.date), words::hold(held.reason));
        Some(DueView {
            r#ref: held.id.to_string(),
            name: words::shortened(&held.name, MOST_NAME),
            words,
            late,
            held: true,
        })
    });
    let mut due: Vec<DueView> = parcels.chain(held).collect();
    due.sort_by_key(|due| !due.late);
    due
}

/// `late since Tue 24 Nov`, `due today`, `due Fri 27 Nov`.
pub(super) fn by_when(day: Date, late: bool, today: Date) -> String {
    let words = DateWords::from(day);
    match (late, day == today) {
        (true, _) => format!("late since {}", words.short),
        (false, true) => "due today".to_owned(),
        (false, false) => format!("due {}", words.short),
    }
}

/// Why nothing is to be packed, in one sentence: a silent or unexplained morning is a fault.
#[must_use]
pub fn nothing(plan: &DayPlan) -> String {
    let mut reasons = Vec::new();
    let held = plan.held.len();
    if held > 0 {
        reasons.push(format!("{held} held"));
    }
    if !plan.questions.is_empty() {
        reasons.push(words::count(plan.questions.len(), "open question", "open questions"));
    }
    if !plan.waiting.is_empty() {
        reasons.push(words::count(plan.waiting.len(), "file waits in the inbox", "files wait in the inbox"));
    }
    if !plan.refused.is_empty() {
        reasons.push(words::count(plan.refused.len(), "row refused", "rows refused"));
    }
    if !plan.listed_earlier.is_empty() {
        let earlier = plan.listed_earlier.len();
        reasons.push(format!("{earlier} listed earlier without a recorded hand-off"));
    }
    if reasons.is_empty() {
        "Nothing to send: no order or trade is open.".to_owned()
    } else {
        format!("Nothing to send: {}.", words::and_list(&reasons))
    }
}
