//! What the ledger holds, as rows for a person and as JSON for a program.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::Result;
use jiff::civil::Date;
use serde::Serialize;

use crate::ledger::{MailRow, OrderRow, ParcelRow, Planned, Standing, TiedRow, TradeRow};
use crate::model::day::{DayPlan, Held, HoldReason, Question, QuestionId, QuestionKind};
use crate::model::order::{OrderId, OrderState};
use crate::model::recipient::Recipient;
use crate::model::scale::{LearntMass, Thing};
use crate::model::sending::SendingId;
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

/// The rows of a listing: `{"parcels": [...]}` as JSON.
#[derive(Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Listed {
    /// Parcels.
    Parcels(Vec<ParcelRow>),
    /// Orders.
    Orders(Vec<OrderRow>),
    /// Trades.
    Trades(Vec<TradeRow>),
    /// Recipients.
    Recipients(Vec<RecipientRow>),
    /// What is held.
    Held(Vec<HeldRow>),
    /// Open questions.
    Questions(Vec<QuestionRow>),
    /// Masses.
    Masses(Vec<MassRow>),
    /// Messages.
    Mail(Vec<MailRow>),
    /// Postage bought.
    Postage(Vec<TiedRow>),
    /// Acceptance receipts.
    Receipts(Vec<TiedRow>),
    /// Pictures of receipts.
    Pictures(Vec<TiedRow>),
}

/// One recipient with all that is open for them.
#[derive(Debug, Serialize)]
pub struct RecipientRow {
    /// `R-0001`: a number of this listing only.
    pub id: String,
    /// `open`.
    pub state: &'static str,
    /// Their name, as the first of their orders has it.
    pub name: String,
    /// Orders.
    pub orders: Vec<OrderId>,
    /// Trades.
    pub trades: Vec<TradeId>,
    /// Why they are one recipient, where they are not written alike.
    pub reasons: Vec<String>,
}

/// An order or trade that is held.
#[derive(Debug, Serialize)]
pub struct HeldRow {
    /// Its id.
    pub id: SendingId,
    /// `held`.
    pub state: Planned,
    /// For whom.
    pub name: String,
    /// Why.
    pub reason: HoldReason,
    /// Why in a sentence, and what would release it.
    pub text: String,
    /// When it is released by itself, where it is.
    pub until: Option<Date>,
    /// Last day to hand over, where it is known.
    pub ship_by: Option<Date>,
}

/// An open question.
#[derive(Debug, Serialize)]
pub struct QuestionRow {
    /// Its id.
    pub id: QuestionId,
    /// `open`.
    pub state: &'static str,
    /// What it is about.
    pub kind: QuestionKind,
    /// The orders and trades it concerns.
    pub about: Vec<String>,
    /// The question.
    pub text: String,
    /// The answers it takes.
    pub choices: Vec<String>,
}

/// The mass of an article or mailer, as written and as learnt; in grams, to a tenth.
#[derive(Debug, Serialize)]
pub struct MassRow {
    /// Which.
    pub id: String,
    /// Whether the file should be put right.
    pub state: MassState,
    /// As the home has it.
    pub mass_g: f64,
    /// Its spread.
    pub mass_sd_g: f64,
    /// As sealed parcels have it.
    pub learnt_g: f64,
    /// Its spread.
    pub learnt_sd_g: f64,
    /// Parcels that taught it.
    pub readings: u32,
}

/// Whether a mass should be put right in the home.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MassState {
    /// It holds.
    AsWritten,
    /// It should.
    ToPutRight,
}

/// What a listing shows. What is held and asked is as the plan of today would have it.
///
/// # Errors
/// Where the ledger can't be read.
pub fn list(desk: &Desk, what: Listing) -> Result<Listed> {
    let ledger = &desk.ledger;
    Ok(match what {
        Listing::Parcels => Listed::Parcels(ledger.list_parcels()?),
        Listing::Trades => Listed::Trades(trades(desk)?),
        Listing::Orders => Listed::Orders(orders(desk)?),
        Listing::Mail => Listed::Mail(ledger.list_mail()?),
        Listing::Postage => Listed::Postage(ledger.list_postage()?),
        Listing::Receipts => Listed::Receipts(ledger.list_receipts()?),
        Listing::Pictures => Listed::Pictures(ledger.list_pictures()?),
        Listing::Recipients => Listed::Recipients(recipients(desk)?),
        Listing::Masses => Listed::Masses(masses(desk)?),
        Listing::Held => Listed::Held(today(desk)?.held.into_iter().map(HeldRow::from).collect()),
        Listing::Questions => Listed::Questions(today(desk)?.questions.into_iter().map(QuestionRow::from).collect()),
    })
}

impl From<Held> for HeldRow {
    fn from(held: Held) -> Self {
        let Held { id, name, reason, text, until, ship_by } = held;
        Self { id, state: Planned::Held, name, reason, text, until, ship_by }
    }
}

impl From<Question> for QuestionRow {
    fn from(question: Question) -> Self {
        let Question { id, subject, about, text, choices } = question;
        Self {
            id,
            state: "open",
            kind: subject.kind(),
            about: about.iter().map(ToString::to_string).collect(),
            text,
            choices,
        }
    }
}

/// The plan of today, with the files that waited when the last one was made: their questions are open still.
fn today(desk: &Desk) -> Result<DayPlan> {
    let waiting = desk.ledger.waiting_lately()?;
    let snapshot = desk.ledger.snapshot(desk.today(), &desk.counts(), waiting)?;
    Ok(manifest::day(&snapshot, &desk.rules(), desk.today()))
}

/// What today's plan makes of an open order or trade: that is for the plan to say, not for the ledger.
fn planned(plan: &DayPlan, id: &SendingId, standing: &mut Standing) -> Option<HoldReason> {
    let held = plan.held.iter().find(|held| held.id == *id);
    if held.is_some() {
        *standing = Standing::Plan(Planned::Held);
    } else if *standing == Standing::Source(OrderState::Open) {
        *standing = Standing::Plan(Planned::Due);
    }
    held.map(|held| held.reason)
}

fn orders(desk: &Desk) -> Result<Vec<OrderRow>> {
    let plan = today(desk)?;
    let mut rows = desk.ledger.list_orders()?;
    for row in &mut rows {
        row.reason = planned(&plan, &row.id.clone().into(), &mut row.state);
    }
    Ok(rows)
}

fn trades(desk: &Desk) -> Result<Vec<TradeRow>> {
    let plan = today(desk)?;
    let mut rows = desk.ledger.list_trades()?;
    for row in &mut rows {
        row.reason = planned(&plan, &row.id.into(), &mut row.state);
    }
    Ok(rows)
}

/// Every article and mailer whose mass is known or was learnt, with those to put right marked.
fn masses(desk: &Desk) -> Result<Vec<MassRow>> {
    let days = desk.ledger.scale_days(desk.today())?;
    let learnt = manifest::learn_masses(&days, &desk.rules());
    let proposed: Vec<&Thing> = learnt.proposals().map(|mass| &mass.thing).collect();
    let tenth = |grams: f64| (grams * 10.0).round() / 10.0;
    let row = |mass: &LearntMass| MassRow {
        id: mass.thing.to_string(),
        state: if proposed.contains(&&mass.thing) { MassState::ToPutRight } else { MassState::AsWritten },
        mass_g: tenth(mass.known.mean_g),
        mass_sd_g: tenth(mass.known.sd_g),
        learnt_g: tenth(mass.learnt.mean_g),
        learnt_sd_g: tenth(mass.learnt.sd_g),
        readings: mass.readings,
    };
    Ok(learnt.things.iter().map(row).collect())
}

/// Every open order and trade with whom it is for: held, due, or listed and not handed over.
fn recipients(desk: &Desk) -> Result<Vec<RecipientRow>> {
    let snapshot = desk.ledger.snapshot(desk.today(), &desk.counts(), Vec::new())?;
    let listed = desk.ledger.on_the_table()?;
    let orders = snapshot.orders.iter().map(|due| (SendingId::from(due.order.id.clone()), &due.order.recipient));
    let trades = snapshot.trades.iter().map(|due| (due.id.into(), &due.trade.with));
    let mut open: Vec<(SendingId, &Recipient)> = orders.chain(trades).collect();
    let due: BTreeSet<SendingId> = open.iter().map(|(id, _)| id.clone()).collect();
    // Of an order in parts, the rest is due still.
    open.extend(listed.iter().filter(|(id, _)| !due.contains(id)).map(|(id, to)| (id.clone(), to)));
    let by_name: BTreeMap<String, &SendingId> = open.iter().map(|(id, _)| (id.to_string(), id)).collect();
    let all: Vec<Candidate<'_>> = open.iter().map(|(id, to)| Candidate { id: id.to_string(), to }).collect();
    let groups = groups::group(&all, &snapshot.who).groups;
    Ok(groups
        .into_iter()
        .zip(1..)
        .map(|(group, number)| {
            let first = all.iter().find(|one| group.ids.contains(&one.id));
            let name = first.map(|one| one.to.name.clone()).unwrap_or_default();
            let (mut orders, mut trades) = (Vec::new(), Vec::new());
            for id in group.ids.iter().filter_map(|id| by_name.get(id)) {
                match id {
                    SendingId::Order(order) => orders.push(order.clone()),
                    SendingId::Trade(trade) => trades.push(*trade),
                }
            }
            let id = format!("R-{number:04}");
            RecipientRow { id, state: "open", name, orders, trades, reasons: group.reasons }
        })
        .collect())
}
