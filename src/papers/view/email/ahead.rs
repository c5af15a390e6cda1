//! The foot of the email: sums, supplies that run low, and postage that changes soon.
//!
//! What a plan knows of the days to come becomes words in [`supplies`] and [`postage_ahead`] and nowhere else, so
//! that a forecast which the plan makes is filled in here. Turned down: finished lines as the view, which would
//! leave a template no way to set the day apart.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::Serialize;

use crate::model::day::DayPlan;
use crate::papers::words::{self, DateWords};

use super::super::Desk;

/// A sum.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TotalView {
    /// What it is.
    pub label: String,
    /// How much.
    pub value: String,
}

/// A mailer that runs low.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct SupplyLow {
    /// `Padded mailer, small (A)`.
    pub title: String,
    /// `3 left after today`.
    pub on_hand: String,
    /// The first day on which there are too few, at the pace of late; nothing where the pace is unknown.
    pub runs_out: Option<DateWords>,
}

/// A change of postage that is known beforehand.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PostageAhead {
    /// First day of the new price.
    pub from: DateWords,
    /// What it is: `Northline Post Small parcel up to 4 oz costs $5.60 instead of $5.25`.
    pub text: String,
}

/// Sums of the day's parcels; none on a day without.
pub(super) fn totals(plan: &DayPlan, pieces: usize, desk: &Desk<'_>) -> Vec<TotalView> {
    if plan.parcels.is_empty() {
        return Vec::new();
    }
    let row = |label: &str, value: String| TotalView { label: label.to_owned(), value };
    vec![
        row("Parcels", plan.parcels.len().to_string()),
        row("Pieces", pieces.to_string()),
        row("Postage", desk.money(plan.totals.postage)),
        row("Mass", words::grams(plan.totals.mass_g)),
    ]
}

/// Mailers that run low, as the plan counts them.
pub(super) fn supplies(plan: &DayPlan) -> Vec<SupplyLow> {
    plan.supplies_low
        .iter()
        .map(|supply| {
            let left = if supply.left == 0 { "none".to_owned() } else { supply.left.to_string() };
            SupplyLow {
                title: format!("{} ({})", supply.title, supply.code),
                on_hand: format!("{left} left after today"),
                runs_out: supply.runs_out_on.map(DateWords::from),
            }
        })
        .collect()
}

/// Changes that the parcels' postage knows of, each once however many parcels it touches.
pub(super) fn postage_ahead(plan: &DayPlan, desk: &Desk<'_>) -> Vec<PostageAhead> {
    let changes: BTreeSet<(Date, String)> = plan
        .parcels
        .iter()
        .filter_map(|parcel| {
            let postage = &parcel.postage;
            let change = postage.change_ahead.as_ref().filter(|change| change.price != postage.price)?;
            let text = format!(
                "{} {} up to {} costs {} instead of {}",
                postage.carrier,
                postage.service_title,
                postage.declared,
                desk.money(change.price),
                desk.money(postage.price)
            );
            Some((change.from, text))
        })
        .collect();
    changes.into_iter().map(|(from, text)| PostageAhead { from: from.into(), text }).collect()
}
