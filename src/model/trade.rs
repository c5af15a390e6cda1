//! Two sides' agreement: what I send, what I get.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::money::Money;
use super::recipient::Recipient;

/// The ledger's number for a trade, written `T-0007`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct TradeId(pub u32);

impl fmt::Display for TradeId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "T-{:04}", self.0)
    }
}

/// Not of the form `T-0007`.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a trade; write it as T-0007, the way the papers do")]
pub struct NotATrade(pub String);

impl FromStr for TradeId {
    type Err = NotATrade;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.strip_prefix("T-")
            .or_else(|| text.strip_prefix("t-"))
            .filter(|digits| !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit()))
            .and_then(|digits| digits.parse().ok())
            .map(Self)
            .ok_or_else(|| NotATrade(text.to_owned()))
    }
}

impl TryFrom<String> for TradeId {
    type Error = NotATrade;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<TradeId> for String {
    fn from(id: TradeId) -> Self {
        id.to_string()
    }
}

/// Who posts first.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum First {
    /// Both by the agreed day.
    #[default]
    Together,
    /// I do.
    Me,
    /// The partner does; my half waits for theirs.
    Them,
}

impl First {
    /// The word of confirmations.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Together => "together",
            Self::Me => "me",
            Self::Them => "them",
        }
    }
}

/// Who bears a loss in the post.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LossFallsOn {
    /// Each sender for what they sent.
    Sender,
    /// Each receiver for what they were to get.
    Receiver,
    /// It was not agreed.
    #[default]
    Unsaid,
}

impl LossFallsOn {
    /// The word of confirmations.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sender => "sender",
            Self::Receiver => "receiver",
            Self::Unsaid => "unsaid",
        }
    }
}

/// How many of what, in the confirmation's words: `2 × BELL-BUOY`.
impl fmt::Display for TradeItem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} × {}", self.quantity, self.what)?;
        match self.value {
            Some(value) => write!(f, " = {}", value.plain()),
            None => Ok(()),
        }
    }
}

/// An item of either side.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TradeItem {
    /// How many; at least 1.
    pub quantity: u32,
    /// Code or title as written.
    pub what: String,
    /// What both agreed it is worth, where they did.
    pub value: Option<Money>,
}

const fn first_of_day() -> u32 {
    1
}

/// A trade as its confirmation tells it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Trade {
    /// The partner; their name, the day agreed and `of_day` are the key by which a trade is known again.
    pub with: Recipient,
    /// Day of the agreement.
    pub agreed: Date,
    /// Which of the trades agreed with the partner on that day: 1, unless the confirmation says that it is another.
    #[serde(default = "first_of_day")]
    pub of_day: u32,
    /// Day both are to have posted by, where one was agreed.
    pub send_by: Option<Date>,
    /// Who posts first.
    pub first: First,
    /// Who bears a loss.
    pub loss: LossFallsOn,
    /// The partner wishes it in a parcel of its own.
    #[serde(default)]
    pub apart: bool,
    /// What I send; never empty.
    pub send: Vec<TradeItem>,
    /// What I get.
    pub get: Vec<TradeItem>,
    /// Anything else that was said.
    pub note: Option<String>,
}
