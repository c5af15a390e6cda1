//! A day with every kind of parcel and paper, on which templates are tried.
//!
//! Handed nothing; gives `templates/sample.json`, which stands in the record's own form and lies beside the
//! templates, so that whoever overrides one can see what it is tried on.

use serde::Deserialize;

use crate::model::day::DayPlan;
use crate::model::money::Money;
use crate::model::rules::Seller;

use super::PapersError;

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

/// The same day with nothing to send and nothing to tell.
pub(super) fn empty(plan: &DayPlan) -> DayPlan {
    let mut empty = plan.clone();
    empty.parcels.clear();
    empty.listed_earlier.clear();
    empty.held.clear();
    empty.questions.clear();
    empty.refused.clear();
    empty.waiting.clear();
    empty.remarks.clear();
    empty.changed.clear();
    empty.called_off.clear();
    empty.expected.clear();
    empty.supplies_low.clear();
    empty.totals.parcels = 0;
    empty.totals.items = 0;
    empty.totals.postage = Money::zero(plan.currency);
    empty.totals.mass_g = 0.0;
    empty
}
