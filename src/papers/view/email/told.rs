//! What the email tells after the parcels: held, changed, refused, waiting, listed earlier, and how files were read.

use serde::Serialize;

use crate::model::day::{
    CalledOff, Changed, DayPlan, Held, ListedEarlier, Proposal, Refused, Remark, TakenOff, Waiting,
};
use crate::model::parcel::{Parcel, ParcelRef};
use crate::papers::proposed_file;
use crate::papers::words::{self, DateWords};

/// Something held.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HeldView {
    /// `stall:1002`.
    pub id: String,
    /// For whom.
    pub name: String,
    /// Why, in a few words.
    pub reason: String,
    /// Why, in a sentence.
    pub text: String,
    /// When it is released by itself.
    pub until: Option<DateWords>,
}

/// A refused row or file.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct RefusedView {
    /// `stall.csv, line 17, column “Qty”: “two”`.
    pub r#where: String,
    /// What is wrong and what to do.
    pub reason: String,
}

/// A file that waits.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct WaitingView {
    /// Its name.
    pub file: String,
    /// Why, and what would let it in.
    pub why: String,
    /// What to do with the column map that comes with the email, where one is proposed.
    pub proposal: Option<String>,
}

/// An order told otherwise than before.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ChangedView {
    /// `stall:1002`.
    pub id: String,
    /// To whom it goes.
    pub name: String,
    /// `in parcel 1124-02, which was handed over`, or nothing.
    pub parcel: Option<String>,
    /// What is other, a line each.
    pub what: Vec<String>,
}

/// What reading a file chose or mended.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct RemarkView {
    /// `stall.csv, line 17, column “Qty”`.
    pub r#where: String,
    /// What was done.
    pub text: String,
}

/// An order that was called off or paid back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CalledOffView {
    /// `stall:1007`.
    pub id: String,
    /// The recipient's name.
    pub name: String,
    /// `cancelled` or `refunded`, and the parcels that it is in.
    pub state: String,
}

/// A parcel of an earlier day.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct EarlierView {
    /// Its old ref.
    pub r#ref: String,
    /// For whom.
    pub name: String,
    /// When it was listed.
    pub listed: DateWords,
    /// Why it doesn't go as it lies there, such as `do not send: see Q-0003`; nothing where it does.
    pub heed: Option<String>,
}

/// A listed parcel that is taken off the list.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TakenOffView {
    /// Its ref.
    pub r#ref: String,
    /// For whom it was.
    pub name: String,
    /// Why, and what becomes of what lay in it.
    pub text: String,
}

pub(super) fn held(held: &Held) -> HeldView {
    HeldView {
        id: held.id.to_string(),
        name: held.name.clone(),
        reason: words::hold(held.reason).to_owned(),
        text: words::quoted(&held.text),
        until: held.until.map(DateWords::from),
    }
}

pub(super) fn waiting(waiting: &Waiting, revision: u32) -> WaitingView {
    WaitingView {
        file: waiting.file.clone(),
        why: words::quoted(&waiting.why),
        proposal: waiting.proposal.as_ref().map(|proposal| proposal_words(proposal, revision)),
    }
}

pub(super) fn called_off(off: &CalledOff) -> CalledOffView {
    let state = off.state.word();
    let state = match off.listed_in.as_slice() {
        [] if !off.went_in.is_empty() => {
            let went: Vec<ParcelRef> = off.went_in.iter().map(|(parcel, _)| parcel.clone()).collect();
            format!("{state}, and it went in {}", words::parcels(&went))
        }
        [] => state.to_owned(),
        parcels => format!("{state}, and it is in {}: do not send it", words::parcels(parcels)),
    };
    CalledOffView { id: off.order.to_string(), name: off.name.clone(), state }
}

pub(super) fn earlier(earlier: &ListedEarlier) -> EarlierView {
    EarlierView {
        r#ref: earlier.r#ref.0.clone(),
        name: earlier.name.clone(),
        listed: earlier.listed.into(),
        heed: earlier.heed.clone(),
    }
}

/// Of each thing that lay in it, where it is now.
pub(super) fn taken_off(taken: &TakenOff, plan: &DayPlan) -> TakenOffView {
    let whereabouts = taken.holds.iter().map(|id| {
        let holds = |parcel: &&Parcel| parcel.items.iter().any(|item| item.for_.id() == *id);
        let parcels: Vec<String> = plan.parcels.iter().filter(holds).map(|parcel| parcel.r#ref.0.clone()).collect();
        if !parcels.is_empty() {
            format!("{id} goes in {}", words::and_list(&parcels))
        } else if plan.held.iter().any(|held| held.id == *id) {
            format!("{id} is held")
        } else {
            format!("{id} does not go")
        }
    });
    let whereabouts: Vec<String> = whereabouts.collect();
    TakenOffView {
        r#ref: taken.r#ref.0.clone(),
        name: taken.name.clone(),
        text: format!("{}. Unpack it: {}.", words::quoted(&taken.why), words::and_list(&whereabouts)),
    }
}

fn proposal_words(proposal: &Proposal, revision: u32) -> String {
    format!(
        "A column map for it comes with this email: {}. Look it over, complete it, and save it as columns/{}.toml in \
         the home; the file is read then.",
        proposed_file(proposal, revision),
        proposal.name
    )
}

pub(super) fn changed(changed: &Changed) -> ChangedView {
    let parcel = changed.parcel.as_ref().map(|parcel| {
        let stands = if changed.handed_over { "which was handed over" } else { "listed, not yet handed over" };
        format!("in parcel {parcel}, {stands}")
    });
    // A buyer's note is told in the buyer's words, days and all.
    let is_theirs = |what: &str| what.starts_with("note:") || what.starts_with("gift message:");
    let worded = |what: &String| if is_theirs(what) { what.clone() } else { words::with_days(what) };
    ChangedView {
        id: changed.id.to_string(),
        name: changed.name.clone(),
        parcel,
        what: changed.what.iter().map(worded).collect(),
    }
}

pub(super) fn remark(remark: &Remark) -> RemarkView {
    RemarkView { r#where: words::quoted(&remark.place().to_string()), text: words::quoted(&remark.text) }
}

pub(super) fn refused(refused: &Refused) -> RefusedView {
    let mut place = words::quoted(&refused.place().to_string());
    if let Some(value) = &refused.value {
        place = format!("{place}: “{}”", words::shortened(value, 80));
    }
    RefusedView { r#where: place, reason: words::quoted(&refused.reason) }
}
