//! What the seller says on the command line, and could say by dropping a sheet: one step into the ledger each.

use anyhow::Result;
use clap::Subcommand;

use crate::ledger::{Cancelled, Released};
use crate::model::day::QuestionId;
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;
use crate::papers::words;

use super::{Day, Desk};

/// Something the seller says.
#[derive(Clone, Debug, Subcommand)]
pub enum Statement {
    /// Answer a question
    Answer {
        /// Which one, such as Q-0003
        question: QuestionId,
        /// One of its choices
        choice: String,
    },
    /// Hold an order or trade
    Hold {
        /// Its id, such as stall:1001 or T-0003
        id: SendingId,
        /// Released by itself on this day, which is to come
        #[arg(long, value_name = "DAY")]
        until: Option<Day>,
        /// Released once this order or trade can go with it, or when its own day comes
        #[arg(long, value_name = "OTHER")]
        with: Option<SendingId>,
        /// Why, for yourself
        #[arg(long)]
        note: Option<String>,
    },
    /// Take your hold, or your calling off, back from an order or trade
    Release {
        /// Its id, such as stall:1001 or T-0003
        id: SendingId,
    },
    /// Call an order or trade off, or what is left of it
    Cancel {
        /// Its id, such as stall:1001 or T-0003
        id: SendingId,
    },
    /// Record that a trade partner's half came
    Arrived {
        /// Which one, such as T-0003
        trade: TradeId,
        /// The day it came, not before it was agreed; else today
        #[arg(long, value_name = "DAY")]
        on: Option<Day>,
    },
}

/// Records it, and gives the sentence that confirms it.
///
/// # Errors
/// Where there is no such thing, or it can't be said of a thing that stands as it does.
pub fn said(desk: &mut Desk, saying: &Statement) -> Result<String> {
    desk.take_turn()?;
    let (moment, now) = (desk.now.clone(), desk.now.timestamp());
    let ledger = &mut desk.ledger;
    Ok(match saying {
        Statement::Answer { question, choice } => {
            ledger.answer(*question, choice, &moment)?;
            format!("{question}: {choice}. The next morning goes by it.")
        }
        Statement::Hold { id, until, with, note } => {
            let until = until.map(|Day(day)| day);
            let beside = ledger.hold(id, until, with.as_ref(), note.as_deref(), &moment)?;
            let end = match (until, with) {
                (Some(day), _) => format!(" until {}", words::day(day)),
                (None, Some(other)) => format!(" till {other} can go with it"),
                (None, None) => String::new(),
            };
            if beside.is_empty() {
                format!("{id} is held{end}.")
            } else {
                format!("What is left of {id} is held{end}; what is in {} is not.", words::parcels(&beside))
            }
        }
        Statement::Release { id } => {
            let what = match ledger.release(id, now)? {
                Released::Hold => "is no longer held by you",
                Released::DueAgain => "is due again, as far as it is in no parcel",
            };
            format!("{id} {what}.")
        }
        Statement::Cancel { id } => {
            let Cancelled { unpack, gone } = ledger.cancel(id, now)?;
            let what = if gone.is_empty() {
                format!("{id} is cancelled.")
            } else {
                format!("What was left of {id} is cancelled; what went in {} stays gone.", gone.join(", "))
            };
            let with = if unpack.is_empty() { String::new() } else { format!(" Unpack {}.", unpack.join(", ")) };
            format!("{what}{with} `dawnpack release {id}` takes it back.")
        }
        Statement::Arrived { trade, on } => {
            let on = on.map_or_else(|| moment.date(), |Day(day)| day);
            ledger.arrived(*trade, on, &moment)?;
            format!("{trade}: their half came on {}.", words::day(on))
        }
    })
}
