//! A sale and the items of it, as the source wrote them.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::money::{Currency, Money};
use super::recipient::Recipient;

/// Source and the source's own order number: the key by which the same order is known again. Written
/// `stall:1001`.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct OrderId {
    /// Name of the column map that the source is read with.
    pub source: String,
    /// The number as the source writes it.
    pub number: String,
}

impl fmt::Display for OrderId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.source, self.number)
    }
}

/// Not of the form `source:number`.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not an order; write it as source:number, such as stall:1001")]
pub struct NotAnOrder(pub String);

impl FromStr for OrderId {
    type Err = NotAnOrder;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.split_once(':') {
            Some((source, number)) if !source.is_empty() && !number.is_empty() => {
                Ok(Self { source: source.to_owned(), number: number.to_owned() })
            }
            Some(_) | None => Err(NotAnOrder(text.to_owned())),
        }
    }
}

impl TryFrom<String> for OrderId {
    type Error = NotAnOrder;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<OrderId> for String {
    fn from(id: OrderId) -> Self {
        id.to_string()
    }
}

/// How the source says an order stands. In rising order of finality: an older export dropped late never takes
/// an order back to an earlier state, whatever the order of drops.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OrderState {
    /// Not paid yet.
    Unpaid,
    /// Paid, to be sent.
    Open,
    /// A part was paid back: what of it still goes is asked.
    PartRefunded,
    /// The source has it as sent, by whatever hands: not to be sent again.
    Sent,
    /// Paid back: not to be sent.
    Refunded,
    /// Called off: not to be sent.
    Cancelled,
}

impl OrderState {
    /// The word of column maps and JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unpaid => "unpaid",
            Self::Open => "open",
            Self::PartRefunded => "part-refunded",
            Self::Sent => "sent",
            Self::Refunded => "refunded",
            Self::Cancelled => "cancelled",
        }
    }
}

/// A word that is no order state.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a state; write open, unpaid, cancelled, refunded, part-refunded or sent")]
pub struct UnknownState(pub String);

impl FromStr for OrderState {
    type Err = UnknownState;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text {
            "unpaid" => Ok(Self::Unpaid),
            "open" => Ok(Self::Open),
            "part-refunded" => Ok(Self::PartRefunded),
            "sent" => Ok(Self::Sent),
            "refunded" => Ok(Self::Refunded),
            "cancelled" => Ok(Self::Cancelled),
            _ => Err(UnknownState(text.to_owned())),
        }
    }
}

/// One item of a sale.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct OrderLine {
    /// Key within the order: the source's own where it has one, else the item's words and, for a repeat of
    /// them within one order, a count.
    pub line: String,
    /// Article code as written; `None` where the source has none.
    pub code: Option<String>,
    /// Title as written; empty where the source has none.
    pub title: String,
    /// Options as written, such as a backing or a colour.
    pub options: Option<String>,
    /// How many; at least 1.
    pub quantity: u32,
    /// Price of one.
    pub unit_price: Option<Money>,
}

impl OrderLine {
    /// The goods in the source's words: the code, or the title where there is none.
    #[must_use]
    pub fn words(&self) -> &str {
        self.code.as_deref().unwrap_or(&self.title)
    }
}

/// How many of what, in the source's words: `2 × BELL-BUOY`.
impl fmt::Display for OrderLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} × {}", self.quantity, self.words())
    }
}

/// Some pieces of a line.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Portion {
    /// The line's key within its order.
    pub line: String,
    /// The goods, in the source's words.
    pub what: String,
    /// How many of them.
    pub quantity: u32,
    /// How many the line has in all.
    pub of: u32,
}

impl Portion {
    /// What of a line is left, of so many in all.
    #[must_use]
    pub fn new(left: &OrderLine, of: u32) -> Self {
        Self { line: left.line.clone(), what: left.words().to_owned(), quantity: left.quantity, of }
    }
}

/// As a line is written: `2 × BELL-BUOY`.
impl fmt::Display for Portion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} × {}", self.quantity, self.what)
    }
}

const fn told() -> bool {
    true
}

/// A sale as its source tells it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Order {
    /// The key.
    pub id: OrderId,
    /// Day of the sale, in the seller's time zone.
    pub placed_at: Option<Date>,
    /// Day of payment, in the seller's time zone.
    pub paid_at: Option<Date>,
    /// How it stands; open where the source doesn't say.
    pub state: OrderState,
    /// Whether the source says how it stands: where it doesn't, what another telling says holds. Older ledgers don't
    /// have it, and all of theirs is taken as said.
    #[serde(default = "told", skip_serializing_if = "Clone::clone")]
    pub state_told: bool,
    /// Who bought, where that differs from who receives.
    pub buyer: Option<String>,
    /// To whom it goes.
    pub recipient: Recipient,
    /// What was bought; never empty.
    pub lines: Vec<OrderLine>,
    /// Postage the buyer paid.
    pub postage_charged: Option<Money>,
    /// Tax the buyer paid.
    pub tax: Option<Money>,
    /// Taken off, as a positive amount.
    pub discount: Option<Money>,
    /// What the buyer paid in all.
    pub total: Option<Money>,
    /// What prices are in.
    pub currency: Currency,
    /// Goes to somebody as a present: no prices in the parcel.
    pub gift: bool,
    /// What the giver wants said.
    pub gift_message: Option<String>,
    /// What the buyer wrote to the seller.
    pub note: Option<String>,
    /// Promised day of dispatch, where the source has one.
    pub ship_by: Option<Date>,
    /// The buyer wants it in a parcel of its own.
    #[serde(default)]
    pub apart: bool,
}
