//! What the ledger holds, as rows for a person and as JSON for a program.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::Result;
use serde_json::{Value, json};

use crate::model::trade::TradeId;
use crate::plan::likeness::groups::{self, Candidate};
use crate::plan::manifest;

use super::Desk;

/// What can be listed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
pub enum Listing {
    /// Parcels, in the order they were listed.
    Parcels,
    /// Orders.
    Orders,
    /// Trades.
    Trades,
    /// Recipients of open orders and trades.
    Recipients,
    /// What is held, and why.
    Held,
    /// Open questions.
    Questions,
    /// Masses of articles and mailers, and what sealed parcels say of them.
    Masses,
    /// Messages.
    Mail,
    /// Postage bought, and the parcel each row is tied to.
    Postage,
    /// Acceptance receipts, likewise.
    Receipts,
    /// Pictures of receipts, likewise.
    Pictures,
}

impl Listing {
    /// The key of the JSON document.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Parcels => "parcels",
            Self::Orders => "orders",
            Self::Trades => "trades",
            Self::Recipients => "recipients",
            Self::Held => "held",
            Self::Questions => "questions",
            Self::Masses => "masses",
            Self::Mail => "mail",
            Self::Postage => "postage",
            Self::Receipts => "receipts",
            Self::Pictures => "pictures",
        }
    }
}

/// The rows of a listing. What is held and asked is as the plan of today would have it.
///
/// # Errors
/// Where the ledger can't be read.
pub fn list(desk: &Desk, what: Listing) -> Result<Vec<Value>> {
    let ledger = &desk.ledger;
    Ok(match what {
        Listing::Parcels => rows(&ledger.list_parcels()?)?,
        Listing::Trades => standing(desk, rows(&ledger.list_trades()?)?)?,
        Listing::Orders => standing(desk, rows(&ledger.list_orders()?)?)?,
        Listing::Mail => rows(&ledger.list_mail()?)?,
        Listing::Postage => rows(&ledger.list_postage()?)?,
        Listing::Receipts => rows(&ledger.list_receipts()?)?,
        Listing::Pictures => rows(&ledger.list_pictures()?)?,
        Listing::Recipients => recipients(desk)?,
        Listing::Masses => masses(desk)?,
        Listing::Held => today(desk)?
            .held
            .iter()
            .map(|held| {
                json!({"id": held.id, "state": "held", "name": held.name, "reason": held.reason.word(),
                       "text": held.text, "until": held.until, "ship_by": held.ship_by})
            })
            .collect(),
        Listing::Questions => today(desk)?
            .questions
            .iter()
            .map(|question| {
                json!({"id": question.id, "state": "open", "kind": question.kind.word(), "about": question.about,
                       "text": question.text, "choices": question.choices})
            })
            .collect(),
    })
}

fn rows<T: serde::Serialize>(rows: &[T]) -> Result<Vec<Value>> {
    Ok(rows.iter().map(serde_json::to_value).collect::<Result<_, _>>()?)
}

/// The plan of today, with the files that waited when the last one was made: their questions are open still.
fn today(desk: &Desk) -> Result<crate::model::day::DayPlan> {
    let waiting = desk.ledger.waiting_lately()?;
    let snapshot = desk.ledger.snapshot(desk.today(), &desk.counts(), waiting)?;
    Ok(manifest::day(&snapshot, &desk.rules(), desk.today()))
}

/// An open order or trade is `due` or `held`: that is for the plan to say, not for the ledger.
fn standing(desk: &Desk, mut rows: Vec<Value>) -> Result<Vec<Value>> {
    let plan = today(desk)?;
    let held: BTreeMap<&str, &str> = plan.held.iter().map(|held| (held.id.as_str(), held.reason.word())).collect();
    for row in &mut rows {
        let Some(id) = row["id"].as_str() else { continue };
        if let Some(reason) = held.get(id) {
            row["reason"] = json!(reason);
            row["state"] = json!("held");
        } else if row["state"] == "open" {
            row["state"] = json!("due");
        }
    }
    Ok(rows)
}

/// Every article and mailer whose mass is known or was learnt, with those to put right marked.
fn masses(desk: &Desk) -> Result<Vec<Value>> {
    let days = desk.ledger.scale_days(desk.today())?;
    let learnt = manifest::learn_masses(&days, &desk.rules());
    let proposed: Vec<_> = learnt.proposals().map(|mass| &mass.thing).collect();
    let tenth = |grams: f64| (grams * 10.0).round() / 10.0;
    let row = |mass: &crate::model::scale::LearntMass| {
        let state = if proposed.contains(&&mass.thing) { "to-put-right" } else { "as-written" };
        json!({"id": mass.thing.to_string(), "state": state, "mass_g": tenth(mass.known.mean_g),
               "mass_sd_g": tenth(mass.known.sd_g), "learnt_g": tenth(mass.learnt.mean_g),
               "learnt_sd_g": tenth(mass.learnt.sd_g), "readings": mass.readings})
    };
    Ok(learnt.things.iter().map(row).collect())
}

/// Every open order and trade with whom it is for: held, due, or listed and not handed over.
fn recipients(desk: &Desk) -> Result<Vec<Value>> {
    let snapshot = desk.ledger.snapshot(desk.today(), &desk.counts(), Vec::new())?;
    let listed = desk.ledger.on_the_table()?;
    let due: BTreeSet<String> = snapshot
        .orders
        .iter()
        .map(|due| due.order.id.to_string())
        .chain(snapshot.trades.iter().map(|due| due.id.to_string()))
        .collect();
    let orders = snapshot.orders.iter().map(|due| Candidate { id: due.order.id.to_string(), to: &due.order.recipient });
    let trades = snapshot.trades.iter().map(|due| Candidate { id: due.id.to_string(), to: &due.trade.with });
    let on_the_table = listed
        .iter()
        .map(|(id, to)| Candidate { id: id.clone(), to })
        // Of an order in parts, the rest is due still.
        .filter(|candidate| !due.contains(&candidate.id));
    let all: Vec<Candidate<'_>> = orders.chain(trades).chain(on_the_table).collect();
    let trades: BTreeSet<String> =
        all.iter().map(|one| &one.id).filter(|id| id.parse::<TradeId>().is_ok()).cloned().collect();
    let groups = groups::group(&all, &snapshot.who).groups;
    Ok(groups
        .into_iter()
        .zip(1..)
        .map(|(group, number)| {
            let name = all.iter().find(|one| group.ids.contains(&one.id)).map(|one| &one.to.name);
            let (trades, orders): (Vec<String>, Vec<String>) =
                group.ids.into_iter().partition(|id| trades.contains(id));
            json!({"id": format!("R-{number:04}"), "state": "open", "name": name,
                   "orders": orders, "trades": trades, "reasons": group.reasons})
        })
        .collect())
}
