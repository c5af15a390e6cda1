//! What the seller says on the command line, and could say by dropping a sheet: one step into the ledger each.

use anyhow::Result;
use clap::Subcommand;
use jiff::civil::Date;

use crate::ledger::{Cancelled, Released};
use crate::model::day::QuestionId;
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;

use super::Desk;

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
        /// Released by itself on this day
        #[arg(long)]
        until: Option<Date>,
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
        /// The day it came; else today
        #[arg(long)]
        on: Option<Date>,
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
            ledger.hold(id, *until, with.as_ref(), note.as_deref(), now)?;
            format!("{id} is held.")
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
            let on = on.unwrap_or_else(|| moment.date());
            ledger.arrived(*trade, on, &moment)?;
            format!("{trade}: their half came on {on}.")
        }
    })
}
