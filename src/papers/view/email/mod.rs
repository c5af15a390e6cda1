//! The morning email's view, in the order in which it is read: what only the seller can decide, what is late, what
//! to pack, and then the rest.
//!
//! Handed a plan; gives finished words, which three templates set. A part a file: `needs`, `parcels`, `told`,
//! `ahead`. Turned down: a view for each of the two bodies, which would soon tell different things.

use serde::Serialize;

use crate::model::day::DayPlan;
use crate::papers::Look;
use crate::papers::said;
use crate::papers::words::{self, DateWords};

use super::Desk;

mod ahead;
mod needs;
mod parcels;
mod scales;
mod told;

pub use ahead::{PostageAhead, SupplyLow, TotalView};
pub use needs::{DueView, QuestionView, nothing};
pub use parcels::ParcelView;
pub use told::{CalledOffView, ChangedView, EarlierView, HeldView, RefusedView, RemarkView, TakenOffView, WaitingView};

/// All that `dispatch.html.hbs`, `dispatch.txt.hbs` and `subject.txt.hbs` get.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Letter {
    /// Language of its words, BCP 47.
    pub lang: String,
    /// Day of dispatch.
    pub date: DateWords,
    /// `list 2 of the day, only what is new`, or nothing.
    pub revision: Option<String>,
    /// The seller's name.
    pub seller: String,
    /// `7 parcels`.
    pub parcels_words: String,
    /// `16 pieces`.
    pub pieces_words: String,
    /// Postage planned in all: `$41.20`.
    pub postage: String,
    /// `2 things need you`, or nothing.
    pub needs: Option<String>,
    /// `1 late`, or nothing.
    pub late_words: Option<String>,
    /// Why there is nothing to send, or nothing.
    pub nothing: Option<String>,
    /// Parcels that went, or must not go, a line each: what is in them is called off or paid back.
    pub stop: Vec<String>,
    /// What only the seller can decide.
    pub questions: Vec<QuestionView>,
    /// Other things that need the seller, a line each: files that wait, rows that were refused.
    pub chores: Vec<String>,
    /// How to answer, where there is a question.
    pub how_to_answer: Option<String>,
    /// Late, or due today.
    pub due: Vec<DueView>,
    /// Listed parcels that are taken off the list, to be unpacked.
    pub taken_off: Vec<TakenOffView>,
    /// Parcels in packing order.
    pub parcels: Vec<ParcelView>,
    /// What can't go yet.
    pub held: Vec<HeldView>,
    /// Orders told otherwise than before.
    pub changed: Vec<ChangedView>,
    /// Orders called off or paid back.
    pub called_off: Vec<CalledOffView>,
    /// What the seller said since the last email, a line each: `stall:1002: held until Fri 4 Dec`.
    pub said: Vec<String>,
    /// Rows and files that could not be read.
    pub refused: Vec<RefusedView>,
    /// Files that wait in the inbox.
    pub waiting: Vec<WaitingView>,
    /// Parcels of earlier days without a recorded hand-off.
    pub earlier: Vec<EarlierView>,
    /// Words that the print pack could not show, a line each.
    pub missing: Vec<String>,
    /// Sums, as label and value.
    pub totals: Vec<TotalView>,
    /// Mailers that run low.
    pub supplies: Vec<SupplyLow>,
    /// Masses to put right, a line each: `BELL-BUOY: 8.1 ± 0.1 g by 23 parcels, 7.4 g as it was written down`.
    pub masses: Vec<String>,
    /// Postage changes ahead.
    pub postage_ahead: Vec<PostageAhead>,
    /// What reading files chose or mended.
    pub remarks: Vec<RemarkView>,
    /// Names of the files that come with the email, and of those that lie beside them.
    pub attached: Vec<String>,
}

/// A paper that is too large to go with the email.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LeftOut {
    /// Its name.
    pub file: String,
    /// Its size.
    pub bytes: usize,
}

/// The view of `plan`'s email. `missing` are the words that the print pack could not show; `attached` the names of
/// the papers, in the order in which they are told.
#[must_use]
pub fn letter(
    plan: &DayPlan,
    look: &Look<'_>,
    missing: &[String],
    attached: Vec<String>,
    left_out: Option<&LeftOut>,
) -> Letter {
    let desk = Desk::of(look);
    let needs = needs::needs(plan, missing, left_out);
    let late = plan.parcels.iter().filter(|parcel| parcel.late).count()
        + plan.listed_earlier.iter().filter(|earlier| earlier.late).count();
    let pieces: usize = plan.parcels.iter().map(|parcel| parcel.pieces() as usize).sum();
    let count = needs.count();
    Letter {
        lang: "en".to_owned(),
        date: plan.date.into(),
        revision: super::print::revision(plan),
        seller: look.seller.name.clone(),
        parcels_words: words::count(plan.parcels.len(), "parcel", "parcels"),
        pieces_words: words::count(pieces, "piece", "pieces"),
        postage: desk.money(plan.totals.postage),
        needs: (count > 0).then(|| words::count(count, "thing needs you", "things need you")),
        late_words: (late > 0).then(|| format!("{late} late")),
        nothing: plan.parcels.is_empty().then(|| nothing(plan)),
        stop: needs.stop,
        questions: needs.questions,
        chores: needs.chores,
        how_to_answer: needs::how_to_answer(plan),
        due: needs::due(plan),
        taken_off: plan.taken_off.iter().map(|taken| told::taken_off(taken, plan)).collect(),
        parcels: plan.parcels.iter().map(|parcel| parcels::parcel(parcel, plan.date, &desk)).collect(),
        held: plan.held.iter().map(told::held).collect(),
        changed: plan.changed.iter().map(told::changed).collect(),
        called_off: plan.called_off.iter().map(told::called_off).collect(),
        said: plan.said.iter().map(|said| said::line(&said.what)).collect(),
        refused: plan.refused.iter().map(told::refused).collect(),
        waiting: plan.waiting.iter().map(|waiting| told::waiting(waiting, plan.revision)).collect(),
        earlier: plan.listed_earlier.iter().map(told::earlier).collect(),
        missing: missing.to_vec(),
        totals: ahead::totals(plan, pieces, &desk),
        supplies: ahead::supplies(plan),
        masses: plan.masses.iter().map(ToString::to_string).collect(),
        postage_ahead: ahead::postage_ahead(plan, &desk),
        remarks: plan.remarks.iter().map(told::remark).collect(),
        attached,
    }
}
