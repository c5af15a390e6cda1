//! What goes to one recipient in one mailer.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::catalogue::{Code, Kind};
use super::customs::{Declaration, Form};
use super::length::{Length, Size};
use super::mass::{Estimate, Mass, Weight};
use super::money::Money;
use super::order::{Order, OrderId};
use super::recipient::Recipient;
use super::sending::SendingId;
use super::trade::{Trade, TradeId};

/// What is written on a parcel: month and day it was first listed, and a running number, `1125-01`.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ParcelRef(pub String);

impl ParcelRef {
    /// The `number`-th parcel listed on `day`.
    #[must_use]
    pub fn new(day: Date, number: u32) -> Self {
        Self(format!("{:02}{:02}-{number:02}", day.month(), day.day()))
    }
}

impl fmt::Display for ParcelRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Where a parcel stands. `due` and `held` have no parcel yet: those are states of orders and trades.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ParcelState {
    /// On a manifest; not sent.
    Listed,
    /// Given to the carrier, by the seller's own record.
    HandedOver,
    /// The carrier says it has it.
    Accepted,
    /// Settled.
    Closed,
    /// Taken off the list before it went.
    Cancelled,
    /// Came back.
    Returned,
    /// Didn't arrive.
    Lost,
}

impl ParcelState {
    /// All of them, in the order of a parcel's life.
    pub const ALL: [Self; 7] =
        [Self::Listed, Self::HandedOver, Self::Accepted, Self::Closed, Self::Cancelled, Self::Returned, Self::Lost];

    /// The word of the ledger and of JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Listed => "listed",
            Self::HandedOver => "handed-over",
            Self::Accepted => "accepted",
            Self::Closed => "closed",
            Self::Cancelled => "cancelled",
            Self::Returned => "returned",
            Self::Lost => "lost",
        }
    }

    /// Where a parcel stands once the carrier's receipt says that it has it. What is settled or came back stays so, and
    /// what was cancelled is for the seller to look at: a receipt alone undoes no cancelling.
    #[must_use]
    pub const fn once_accepted(self) -> Self {
        match self {
            Self::Listed | Self::HandedOver | Self::Accepted => Self::Accepted,
            Self::Closed | Self::Cancelled | Self::Returned | Self::Lost => self,
        }
    }
}

/// No word of [`ParcelState`].
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a state of a parcel")]
pub struct UnknownParcelState(pub String);

impl FromStr for ParcelState {
    type Err = UnknownParcelState;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL.into_iter().find(|state| state.word() == text).ok_or_else(|| UnknownParcelState(text.to_owned()))
    }
}

/// What an item is sent for: a line of an order, or of my half of a trade.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum For {
    /// The order and the key of its line.
    Order {
        /// Which order.
        order: OrderId,
        /// Which line of it.
        line: String,
    },
    /// The trade and the place of the item in `I send`, from 0.
    Trade {
        /// Which trade.
        trade: TradeId,
        /// Which item of it.
        item: u32,
    },
}

impl For {
    /// The order or trade.
    #[must_use]
    pub fn id(&self) -> SendingId {
        match self {
            Self::Order { order, .. } => order.clone().into(),
            Self::Trade { trade, .. } => (*trade).into(),
        }
    }
}

/// An article in a parcel, with all that the papers say of it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Item {
    /// Which article.
    pub code: Code,
    /// Title as the catalogue has it.
    pub title: String,
    /// How many.
    pub quantity: u32,
    /// How it is wrapped.
    pub kind: Kind,
    /// Shelf or drawer.
    pub place: String,
    /// What it goes for.
    pub for_: For,
    /// Options the buyer chose.
    pub options: Option<String>,
    /// Price of one, or agreed value of one, where it is known.
    pub unit_value: Option<Money>,
}

/// One piece on a strip, as it lies: its middle, from the strip's left edge and from its start.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Laid {
    /// Which article.
    pub code: Code,
    /// Left edge to the piece's left edge.
    pub x: Length,
    /// Start of the strip to the piece's near edge.
    pub y: Length,
    /// Width as it lies (card or face).
    pub width: Length,
    /// Height as it lies, along the strip.
    pub height: Length,
}

/// One strip of bubble wrap with what is rolled in it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Roll {
    /// What lies on it, in order from the left.
    pub laid: Vec<Laid>,
    /// Width of the strip to cut: across the roll.
    pub strip_width: Length,
    /// Length of the strip to cut: along the turns.
    pub strip_length: Length,
    /// Where the wrap is folded over the face: distances from the start of the strip.
    pub folds: Vec<Length>,
    /// Outside of the finished roll.
    pub size: Size,
}

/// Which paper goes inside.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// A sale's invoice.
    Invoice,
    /// A trade's thank-you note.
    Note,
    /// A gift's slip, without prices and with the giver's message.
    Gift,
    /// What says of an order's later part, or of a later parcel of a split, which invoice it belongs to.
    Rest,
}

impl Paper {
    /// The word of `manifest.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Invoice => "invoice",
            Self::Note => "note",
            Self::Gift => "gift",
            Self::Rest => "rest",
        }
    }
}

/// A mailer as the papers name it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct MailerUsed {
    /// Its code.
    pub code: String,
    /// Its title.
    pub title: String,
    /// Tape the whole flap and cover old labels.
    pub reused: bool,
}

/// The postage planned for a parcel.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Postage {
    /// Carrier.
    pub carrier: String,
    /// Service code.
    pub service: String,
    /// Service title.
    pub service_title: String,
    /// Weight to buy postage for: the tier's top edge.
    pub declared: Weight,
    /// Price with the extras that are bought.
    pub price: Money,
    /// Zone, where prices have zones.
    pub zone: Option<String>,
    /// The tier edges the estimate's interval straddles make weighing worth it.
    pub weigh_first: bool,
    /// The tier edge that lies inside the estimate's interval, where one does.
    pub edge: Option<Weight>,
    /// The runner-up, where there is one.
    pub next_best: Option<NextBest>,
    /// A price change known ahead for the same parcel: from when, and the new price.
    pub change_ahead: Option<ChangeAhead>,
    /// The part of the price that is the tier's, without what is bought with it.
    #[serde(default)]
    pub base: Option<Money>,
    /// What the price holds besides, and what comes with it for nothing.
    #[serde(default)]
    pub bought: Vec<Bought>,
    /// How the price came about, the runner-up, and why others are out, in short lines.
    #[serde(default)]
    pub why: Vec<String>,
    /// The customs form that the service asks for whatever the value.
    #[serde(default)]
    pub customs_form: Option<Form>,
}

/// What is paid on top of a tier's price.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Bought {
    /// What sort of thing.
    pub what: BoughtKind,
    /// The rate card's code; `insurance` for insurance.
    pub code: String,
    /// What it costs.
    pub price: Money,
    /// Of insurance: the band's upper edge. What it covers is the carrier's to say.
    pub up_to: Option<Money>,
}

/// A sort of thing on top.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoughtKind {
    /// Charged by the carrier, unasked.
    Surcharge,
    /// Bought, such as a signature.
    Extra,
    /// Bought, or part of the service where it costs nothing.
    Insurance,
}

impl BoughtKind {
    /// The word of `manifest.json` and `quote --json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Surcharge => "surcharge",
            Self::Extra => "extra",
            Self::Insurance => "insurance",
        }
    }
}

/// The next cheapest lawful service.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct NextBest {
    /// Service code.
    pub service: String,
    /// Its price.
    pub price: Money,
}

/// A later rate card's price for the same parcel.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct ChangeAhead {
    /// First day of the new price.
    pub from: Date,
    /// The new price.
    pub price: Money,
}

/// The usual caution for contents that need care.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Caution {
    /// Short key, such as `button-cell`, `customs`.
    pub code: String,
    /// The sentence to read.
    pub text: String,
}

/// A numbered invoice: one for each order, ever.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Invoice {
    /// Runs without gaps from 1.
    pub number: u32,
    /// Of which order.
    pub order: OrderId,
    /// Day of issue.
    pub issued_on: Date,
}

/// A later part of an order: other pieces of it went before, or go in an earlier parcel of the same split.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Rest {
    /// Of which order.
    pub order: OrderId,
    /// The invoice that came with an earlier part, where one did.
    pub invoice: Option<Invoice>,
    /// Refs of the parcels that earlier parts went in, oldest first.
    pub after: Vec<String>,
    /// Of a split: the parcel with the invoice, and which part that is. `None` where the invoice went on another day.
    #[serde(default)]
    pub invoice_in: Option<(u32, ParcelRef)>,
}

/// A parcel as planned: all that papers and mail need, so that they can be written from the record alone.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Parcel {
    /// What is written on it.
    pub r#ref: ParcelRef,
    /// To whom it goes.
    pub recipient: Recipient,
    /// The orders it answers, whole, for their papers.
    pub orders: Vec<Order>,
    /// The trades it answers, whole, for their papers.
    pub trades: Vec<(TradeId, Trade)>,
    /// What is in it.
    pub items: Vec<Item>,
    /// "1 of 2": which part of a recipient's goods this is, where they don't fit one parcel.
    pub part: Option<(u32, u32)>,
    /// How the pins are rolled.
    pub rolls: Vec<Roll>,
    /// What it goes in.
    pub mailer: MailerUsed,
    /// Papers that go inside.
    pub papers: Vec<Paper>,
    /// Invoices issued with it.
    pub invoices: Vec<Invoice>,
    /// Orders of which it holds a later part.
    #[serde(default)]
    pub rests: Vec<Rest>,
    /// Orders of which something stays behind for another day.
    #[serde(default)]
    pub owing: Vec<OrderId>,
    /// What it should weigh.
    pub mass: Estimate,
    /// Outside of the packed mailer, as reckoned.
    pub size: Size,
    /// Postage.
    pub postage: Postage,
    /// Value of the goods.
    pub value: Money,
    /// For parcels abroad.
    pub customs: Option<Declaration>,
    /// Last day to hand over.
    pub ship_by: Date,
    /// The last day before it on which parcels are taken, where none are on that day itself.
    #[serde(default)]
    pub hand_over_by: Option<Date>,
    /// That day is past.
    pub late: bool,
    /// Postage that buyers paid more than once for what goes in one parcel: all that was charged less the largest
    /// charge, to be offered back; `None` where there is nothing to offer.
    #[serde(default)]
    pub refund_offer: Option<Money>,
    /// What to heed.
    pub cautions: Vec<Caution>,
    /// How this came about, in short lines.
    pub why: Vec<String>,
}

impl Parcel {
    /// The last day on which it can be handed over in time.
    #[must_use]
    pub fn last_day(&self) -> Date {
        self.hand_over_by.unwrap_or(self.ship_by)
    }

    /// Pieces in it.
    #[must_use]
    pub fn pieces(&self) -> u32 {
        self.items.iter().map(|item| item.quantity).sum()
    }
}

/// A piece that has to be wrapped: an article with its sizes known.
#[derive(Clone, PartialEq, Debug)]
pub struct Piece {
    /// Which article.
    pub code: Code,
    /// How it is wrapped.
    pub kind: Kind,
    /// Width of what is wrapped: the card of a carded pin, else the face.
    pub width: Length,
    /// Height of what is wrapped.
    pub height: Length,
    /// Thickness with post and clutch.
    pub thickness: Length,
    /// Places it takes on a roll.
    pub share: Decimal,
    /// Mass of one.
    pub mass: Mass,
    /// How well that is known.
    pub mass_sd: Mass,
}
