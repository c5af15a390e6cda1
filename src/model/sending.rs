//! What is sent to somebody: an order or a trade, by one name.
//!
//! Whatever may concern either (a hold, a question, a parcel's contents) names it by [`SendingId`], which is written
//! in one way only: `t-7` and `T-0007` are the same trade. Turned down: text, by which a hold was put on `t-7` and
//! looked for under `T-0007`.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::order::OrderId;
use super::trade::TradeId;

/// An order or a trade. Written `stall:1001` or `T-0007`, in JSON too.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum SendingId {
    /// A sale.
    Order(OrderId),
    /// My half of a trade.
    Trade(TradeId),
}

impl fmt::Display for SendingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Order(order) => order.fmt(f),
            Self::Trade(trade) => trade.fmt(f),
        }
    }
}

/// In the order of how they are written, which is the order of every list of them.
impl Ord for SendingId {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self, other) {
            (Self::Trade(a), Self::Trade(b)) if a.0.max(b.0) < 10_000 => a.cmp(b),
            (Self::Order(a), Self::Order(b)) if a.source == b.source => a.number.cmp(&b.number),
            (Self::Order(_) | Self::Trade(_), Self::Order(_) | Self::Trade(_)) => {
                self.to_string().cmp(&other.to_string())
            }
        }
    }
}

impl PartialOrd for SendingId {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Neither `source:number` nor `T-0007`.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is neither an order nor a trade; write it as the papers do, such as stall:1001 or T-0007")]
pub struct NotASending(pub String);

impl FromStr for SendingId {
    type Err = NotASending;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim();
        // A trade's number has no colon, an order's always has one.
        let trade = text.parse().map(Self::Trade);
        trade.or_else(|_| text.parse().map(Self::Order)).map_err(|_| NotASending(text.to_owned()))
    }
}

impl TryFrom<String> for SendingId {
    type Error = NotASending;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<SendingId> for String {
    fn from(id: SendingId) -> Self {
        id.to_string()
    }
}

impl From<OrderId> for SendingId {
    fn from(id: OrderId) -> Self {
        Self::Order(id)
    }
}

impl From<TradeId> for SendingId {
    fn from(id: TradeId) -> Self {
        Self::Trade(id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sending_is_written_in_one_way() {
        for (given, written) in
            [("t-7", Ok("T-0007")), ("T-0007", Ok("T-0007")), ("stall:A 7", Ok("stall:A 7")), ("7", Err(()))]
        {
            let read = given.parse::<SendingId>().map(|id| id.to_string()).map_err(drop);
            assert_eq!(read, written.map(str::to_owned), "{given}");
        }
    }

    #[test]
    fn sendings_stand_in_the_order_of_their_writing() {
        let written = ["T-0009", "T-10000", "T-9999", "Zettel:1", "a-b:1", "a:1", "a:10", "a:2"];
        let mut ids: Vec<SendingId> = written.iter().rev().map(|id| id.parse().unwrap()).collect();
        ids.sort();
        assert_eq!(ids.iter().map(ToString::to_string).collect::<Vec<_>>(), written);
    }
}
