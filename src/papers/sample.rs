//! A day with every kind of parcel and paper, on which templates are tried.
//!
//! Handed nothing; gives `templates/sample.json`, which stands in the record's own form and lies beside the
//! templates, so that whoever overrides one can see what it is tried on.

use jiff::civil::date;
use serde::Deserialize;

use crate::model::day::DayPlan;
use crate::model::money::Money;
use crate::model::rules::Seller;

use super::view::email::{self, Letter, PostageAhead};
use super::{Look, PapersError};

const SAMPLE: &str = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/templates/sample.json"));

#[derive(Deserialize)]
struct Sample {
    seller: Seller,
    plan: DayPlan,
}

/// The sample's seller and plan.
///
/// # Errors
/// Where `templates/sample.json` doesn't fit the model.
pub(super) fn day() -> Result<(Seller, DayPlan), PapersError> {
    let sample: Sample = serde_json::from_str(SAMPLE).map_err(PapersError::view)?;
    Ok((sample.seller, sample.plan))
}

/// The letter of the sample, with what a plan tells only on some days: when a mailer is used up, and what the new
/// postage would come to.
pub(super) fn letter(plan: &DayPlan, look: &Look<'_>) -> Letter {
    let attached = vec!["dispatch.pdf".to_owned(), "handoff.csv".to_owned(), "handoff.xlsx".to_owned()];
    let missing = ["1125-02, name: 山田 太郎".to_owned()];
    let mut letter = email::letter(plan, look, &missing, attached, None);
    letter.postage_ahead.push(PostageAhead {
        from: date(2026, 12, 7).into(),
        text: "Small parcel costs $0.35 more: this morning's 3 parcels would cost $1.05 more".to_owned(),
    });
    letter
}

/// The second list of the day.
pub(super) fn later(plan: &DayPlan) -> DayPlan {
    DayPlan { revision: 2, ..plan.clone() }
}

/// The same day with nothing to send and nothing to tell.
pub(super) fn empty(plan: &DayPlan) -> DayPlan {
    let mut empty = plan.clone();
    empty.parcels.clear();
    empty.listed_earlier.clear();
    empty.taken_off.clear();
    empty.held.clear();
    empty.questions.clear();
    empty.refused.clear();
    empty.waiting.clear();
    empty.remarks.clear();
    empty.changed.clear();
    empty.called_off.clear();
    empty.said.clear();
    empty.scale.clear();
    empty.masses.clear();
    empty.expected.clear();
    empty.supplies_low.clear();
    empty.totals.parcels = 0;
    empty.totals.items = 0;
    empty.totals.postage = Money::zero(plan.currency);
    empty.totals.mass_g = 0.0;
    empty
}
