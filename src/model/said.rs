//! What the seller said, by command or by a filled-in sheet.
//!
//! It is told in the next email, so that a slip of the hand is seen the morning after and not at the week's end.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::day::QuestionId;
use super::sending::SendingId;
use super::trade::TradeId;

/// One thing said, and when it was taken in.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Said {
    /// When.
    pub at: Timestamp,
    /// What.
    pub what: Saying,
}

/// What can be said.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Saying {
    /// A question was answered.
    Answered {
        /// Which.
        question: QuestionId,
        /// What it asks.
        asked: String,
        /// The choice.
        choice: String,
    },
    /// An order or trade was held.
    Held {
        /// Which.
        id: SendingId,
        /// Till when, where it is for a time.
        until: Option<Date>,
        /// The order or trade it waits for.
        waits_for: Option<SendingId>,
        /// Why, in the seller's words.
        note: Option<String>,
    },
    /// The seller's hold was taken off.
    Released {
        /// Of which order or trade.
        id: SendingId,
    },
    /// An order or trade was called off.
    Cancelled {
        /// Which.
        id: SendingId,
        /// Refs of the listed parcels that were taken off with it.
        unpacked: Vec<String>,
    },
    /// A partner's half came.
    Arrived {
        /// Of which trade.
        trade: TradeId,
        /// The partner.
        with: String,
        /// The day.
        on: Date,
        /// How it came.
        condition: Option<String>,
    },
}
