//! What the email begins with: what only the seller can decide, and what is late or due.
//!
//! Handed a plan; gives one line for each thing that [`manifest::needs`] and [`manifest::due`] say. Turned down: telling up here why each row of a file was refused,
//! since the first screen of a phone holds a handful of lines.

use jiff::civil::Date;
use serde::Serialize;

use super::{LeftOut, scales};
use crate::model::day::{CalledOff, DayPlan, Question};
use crate::model::parcel::ParcelRef;
use crate::papers::words::{self, DateWords};
use crate::papers::{file_name, proposed_file};
use crate::plan::manifest::{self, Due, DueThing, Need};

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

fn question(question: &Question) -> QuestionView {
    QuestionView {
        id: question.id.to_string(),
        text: words::said(&question.text),
        about: question.about.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        choices: question.choices.clone(),
        choices_words: question.choices.join(" or "),
    }
}

/// What needs the seller, in words.
#[derive(Default)]
pub(super) struct Needs {
    /// Parcels that must not go, or went and should not have.
    pub(super) stop: Vec<String>,
    /// Questions.
    pub(super) questions: Vec<QuestionView>,
    /// Anything else.
    pub(super) chores: Vec<String>,
}

impl Needs {
    /// How many things it is.
    pub(super) const fn count(&self) -> usize {
        self.stop.len() + self.questions.len() + self.chores.len()
    }
}

/// What a plan needs the seller for, and what its papers do: words to complete by hand, a paper that is too large.
pub(super) fn needs(plan: &DayPlan, missing: &[String], left_out: Option<&LeftOut>) -> Needs {
    let mut needs = Needs::default();
    for need in manifest::needs(plan) {
        match need {
            Need::Went(off) => needs.stop.extend(off.went_in.iter().map(|(parcel, on)| went(off, parcel, *on))),
            Need::Stop(off) => needs.stop.push(stop(off)),
            Need::Question(question) => needs.questions.push(self::question(question)),
            // What is on its way can't be changed here; what lies on the table can.
            Need::Changed(changed, parcel) => needs.chores.push(if changed.handed_over {
                format!("{} changed after parcel {parcel} was handed over; what changed is below.", changed.id)
            } else {
                format!("{} changed after it was listed as {parcel}; look it over before you hand it over.", changed.id)
            }),
            Need::Weighed(finding, other) => needs.chores.push(scales::line(finding, other)),
            Need::Waiting(waiting) => needs.chores.push(match &waiting.proposal {
                Some(proposal) => format!(
                    "{} waits in the inbox for a column map; one is proposed as {}, to be completed: see below.",
                    waiting.file,
                    proposed_file(proposal, plan.revision)
                ),
                None => format!("{} waits in the inbox: {}", waiting.file, words::quoted(&waiting.why)),
            }),
            Need::Refused { file, whole: true, .. } => {
                needs.chores.push(format!("{file} could not be read; why is below."));
            }
            Need::Refused { file, rows, whole: false } => needs
                .chores
                .push(format!("{file}: {} could not be read; mend and drop again.", words::count(rows, "row", "rows"))),
        }
    }
    let missing = (!missing.is_empty()).then(|| {
        format!("{} of the print pack to complete by hand, see below.", words::count(missing.len(), "line", "lines"))
    });
    let left_out = left_out.map(|paper| {
        let size = paper.bytes.div_ceil(1_000_000);
        format!("{} is too large to send ({size} MB): print it from outbox/{}.", paper.file, plan.date)
    });
    needs.chores.extend(missing.into_iter().chain(left_out));
    needs
}

/// What can still be done where a parcel went that should not have, or that nobody wants any more.
fn went(off: &CalledOff, parcel: &ParcelRef, on: Date) -> String {
    format!(
        "{} was {}; it went on {} in {parcel}: ask the carrier whether it can be called back, tell the buyer, and agree \
         on its return before anything is paid back twice.",
        off.order,
        off.state.word(),
        DateWords::from(on).short
    )
}

/// The morning's most urgent line.
fn stop(off: &CalledOff) -> String {
    let (state, order) = (off.state.word(), &off.order);
    let (lies, them) = if off.listed_in.len() == 1 { ("lies in it", "it") } else { ("lies in them", "them") };
    format!(
        "Do not send {}: {order}, which {lies}, is {state}. To take {them} off the list and pack what else is in {them} \
         anew, run: dawnpack cancel {order}",
        words::parcels(&off.listed_in)
    )
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

/// What is late or due, in words.
pub(super) fn due(plan: &DayPlan) -> Vec<DueView> {
    let view = |due: Due<'_>| {
        let words = by_when(due.day, due.late, plan.date);
        match due.thing {
            DueThing::Parcel(parcel) => DueView {
                r#ref: parcel.r#ref.0.clone(),
                name: words::shortened(&parcel.recipient.name, MOST_NAME),
                words,
                late: due.late,
                held: false,
            },
            DueThing::Earlier(earlier) => DueView {
                r#ref: earlier.r#ref.0.clone(),
                name: words::shortened(&earlier.name, MOST_NAME),
                words: format!("{words}, listed {}, hand-off not recorded", DateWords::from(earlier.listed).short),
                late: due.late,
                held: false,
            },
            DueThing::Held(held) => DueView {
                r#ref: held.id.to_string(),
                name: words::shortened(&held.name, MOST_NAME),
                words: format!("{words}, and held: {}", words::hold(held.reason)),
                late: due.late,
                held: true,
            },
        }
    };
    manifest::due(plan).into_iter().map(view).collect()
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
