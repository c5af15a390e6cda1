//! A day's plan: a value with its reasons. It is recorded whole before anything is written or sent, and all
//! papers and the email are made from the record.

use std::fmt;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::money::{Currency, Money};
use super::order::{OrderId, OrderState};
use super::parcel::{Parcel, ParcelRef};
use super::said::Said;
use super::scale::{LearntMass, ScaleFinding};
use super::sending::SendingId;
use super::subject::Subject;
use super::trade::{Trade, TradeId};

/// Why something can't go yet.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HoldReason {
    /// Not paid.
    Unpaid,
    /// A trade whose partner posts first.
    TheirsFirst,
    /// Not enough in the drawer.
    Stock,
    /// The address can't be right.
    Address,
    /// Not in the catalogue, or more than one thing in it.
    Article,
    /// An article's mass or size is unknown.
    Mass,
    /// No service of the rate cards, or no mailer, takes it.
    NoService,
    /// The seller said so.
    Seller,
    /// A question must be answered first.
    Question,
}

impl HoldReason {
    /// The word of `manifest.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unpaid => "unpaid",
            Self::TheirsFirst => "theirs-first",
            Self::Stock => "stock",
            Self::Address => "address",
            Self::Article => "article",
            Self::Mass => "mass",
            Self::NoService => "no-service",
            Self::Seller => "seller",
            Self::Question => "question",
        }
    }
}

/// An order or trade that is held.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Held {
    /// Which.
    pub id: SendingId,
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

/// The ledger's number for a question, written `Q-0003`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct QuestionId(pub u32);

impl fmt::Display for QuestionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Q-{:04}", self.0)
    }
}

impl From<QuestionId> for String {
    fn from(id: QuestionId) -> Self {
        id.to_string()
    }
}

/// Not of the form `Q-0003`.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a question; write it as Q-0003, the way the papers do")]
pub struct NotAQuestion(pub String);

impl std::str::FromStr for QuestionId {
    type Err = NotAQuestion;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.strip_prefix("Q-")
            .or_else(|| text.strip_prefix("q-"))
            .filter(|digits| !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit()))
            .and_then(|digits| digits.parse().ok())
            .map(Self)
            .ok_or_else(|| NotAQuestion(text.to_owned()))
    }
}

impl TryFrom<String> for QuestionId {
    type Error = NotAQuestion;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

/// What a question is about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum QuestionKind {
    /// Which article the words of a line mean.
    Article,
    /// What an article weighs or measures.
    Mass,
    /// What is wrong with an address.
    Address,
    /// Are these two the same recipient?
    SameRecipient,
    /// What a customs declaration should say.
    Customs,
    /// A source changed an order that is already in a parcel, called it off, or paid a part of it back; or a parcel's
    /// hand-off was told with two days.
    Changed,
    /// Whether a source writes the day or the month first.
    Dates,
    /// An order number came again with another recipient.
    ReusedNumber,
    /// Are these two orders of two sources the same order?
    SameOrder,
    /// Goes something with a parcel for the same recipient that is listed and not handed over?
    OpenParcel,
    /// Does what is there of an order go before the rest of it?
    Part,
    /// Of which day's hand-off is the picture of a receipt?
    ReceiptPicture,
}

impl QuestionKind {
    /// The word of `manifest.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Article => "article",
            Self::Mass => "mass",
            Self::Address => "address",
            Self::SameRecipient => "same-recipient",
            Self::Customs => "customs",
            Self::Changed => "changed",
            Self::Dates => "dates",
            Self::ReusedNumber => "reused-number",
            Self::SameOrder => "same-order",
            Self::OpenParcel => "open-parcel",
            Self::Part => "part",
            Self::ReceiptPicture => "receipt-picture",
        }
    }
}

/// What a question concerns. Written in the ledger as an order's or trade's own id, or `{"file": "a.csv"}`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(from = "AboutWritten", into = "AboutWritten")]
pub enum About {
    /// An order or trade.
    Sending(SendingId),
    /// A file, by the name it was dropped under.
    File(String),
}

impl From<SendingId> for About {
    fn from(id: SendingId) -> Self {
        Self::Sending(id)
    }
}

impl fmt::Display for About {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Sending(id) => id.fmt(f),
            Self::File(file) => f.write_str(file),
        }
    }
}

/// A file's name may read like an order's id, so it is marked. Older ledgers have it bare.
#[derive(Clone, Serialize, Deserialize)]
#[serde(untagged)]
enum AboutWritten {
    Sending(SendingId),
    File { file: String },
    Bare(String),
}

impl From<AboutWritten> for About {
    fn from(written: AboutWritten) -> Self {
        match written {
            AboutWritten::Sending(id) => Self::Sending(id),
            AboutWritten::File { file } | AboutWritten::Bare(file) => Self::File(file),
        }
    }
}

impl From<About> for AboutWritten {
    fn from(about: About) -> Self {
        match about {
            About::Sending(id) => Self::Sending(id),
            About::File(file) => Self::File { file },
        }
    }
}

/// One short question that only the seller can answer.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Question {
    /// The ledger's number.
    pub id: QuestionId,
    /// What makes it the same question whoever it next concerns: it is asked once.
    pub subject: Subject,
    /// What it concerns now.
    pub about: Vec<About>,
    /// The question.
    pub text: String,
    /// The answers it takes; empty where it is answered by mending a file of the home.
    pub choices: Vec<String>,
}

/// A row, or a whole file, that could not be read.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Refused {
    /// File name as dropped.
    pub file: String,
    /// First line of the record, counted from 1 in the file as it lies; `None` for the whole file.
    pub line: Option<u64>,
    /// Header of the column, where one is to blame.
    pub column: Option<String>,
    /// What stood there.
    pub value: Option<String>,
    /// What is wrong and what to do.
    pub reason: String,
}

/// Something that reading a file chose or mended, which the seller should know of.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Remark {
    /// File name as dropped.
    pub file: String,
    /// First line of the record, counted as in [`Refused`]; `None` for the whole file.
    pub line: Option<u64>,
    /// Header of the column, where it is about one.
    pub column: Option<String>,
    /// What was done, in words for the seller.
    pub text: String,
}

/// A column map that is proposed for a file that no map fits and that can't be read without one.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Proposal {
    /// Name of the source, and of the file in `columns/`, without its ending.
    pub name: String,
    /// The file, with sample values as comments, ready to be put into the home.
    pub toml: String,
}

/// A file that waits in the inbox.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Waiting {
    /// File name.
    pub file: String,
    /// Why, and what would let it in.
    pub why: String,
    /// A column map that would let it in, where one can be proposed.
    #[serde(default)]
    pub proposal: Option<Proposal>,
    /// A date of it that may be two days; an answer to which of day and month comes first in this source, asked
    /// under the source's name, lets it in.
    #[serde(default)]
    pub date_asked: Option<DateAsked>,
}

/// Days that a source writes in a way that could be read as two.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct DateAsked {
    /// Name of the source.
    pub source: String,
    /// Header of the column.
    pub column: String,
    /// One of its values.
    pub value: String,
}

impl Waiting {
    /// A file that waits, without a proposal.
    #[must_use]
    pub fn new(file: impl Into<String>, why: impl Into<String>) -> Self {
        Self { file: file.into(), why: why.into(), proposal: None, date_asked: None }
    }
}

/// An order or trade that was told otherwise than before.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Changed {
    /// Which.
    pub id: SendingId,
    /// To whom it goes.
    pub name: String,
    /// What is other than before, a line each, such as `address: 1 Quay, Fogport, was 2 Quay, Fogport`.
    pub what: Vec<String>,
    /// The parcel it is in, where it is in one.
    pub parcel: Option<ParcelRef>,
    /// Whether that parcel was handed over: too late to change anything by oneself.
    pub handed_over: bool,
}

/// An order called off or paid back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(from = "ToldOff")]
pub struct CalledOff {
    /// Which order.
    pub order: OrderId,
    /// The recipient's name; empty in plans recorded before it was told.
    pub name: String,
    /// `cancelled` or `refunded`.
    pub state: OrderState,
    /// Parcels that it lies in and that are not handed over, in the order they were listed: they must not go.
    pub listed_in: Vec<ParcelRef>,
    /// Parcels that it went in all the same, or went in before it was called off, and when.
    pub went_in: Vec<(ParcelRef, Date)>,
}

/// As plans have it that are recorded: older ones as id and words, `cancelled, and it is in parcel 1124-02: do not send
/// it`.
#[derive(Deserialize)]
#[serde(untagged)]
enum ToldOff {
    Now {
        order: OrderId,
        #[serde(default)]
        name: String,
        state: OrderState,
        listed_in: Vec<ParcelRef>,
        #[serde(default)]
        went_in: Vec<(ParcelRef, Date)>,
    },
    Before(OrderId, String),
}

impl From<ToldOff> for CalledOff {
    fn from(told: ToldOff) -> Self {
        match told {
            ToldOff::Now { order, name, state, listed_in, went_in } => Self { order, name, state, listed_in, went_in },
            ToldOff::Before(order, words) => {
                let state = if words.starts_with(OrderState::Refunded.word()) {
                    OrderState::Refunded
                } else {
                    OrderState::Cancelled
                };
                let parcel = words.split_once("in parcel ").and_then(|(_, rest)| rest.split_once(':'));
                Self {
                    order,
                    name: String::new(),
                    state,
                    listed_in: parcel.into_iter().map(|(parcel, _)| ParcelRef(parcel.into())).collect(),
                    went_in: Vec::new(),
                }
            }
        }
    }
}

/// A parcel of an earlier day without a recorded hand-off.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct ListedEarlier {
    /// Its old ref.
    pub r#ref: ParcelRef,
    /// When it was listed.
    pub listed: Date,
    /// To whom.
    pub name: String,
    /// Last day to hand over.
    #[serde(default)]
    pub ship_by: Option<Date>,
    /// The last day on or before it on which parcels are taken.
    #[serde(default)]
    pub last_day: Option<Date>,
    /// That day is past.
    #[serde(default)]
    pub late: bool,
    /// Why it doesn't go as it lies there, such as `do not send: see Q-0003`.
    #[serde(default)]
    pub heed: Option<String>,
}

/// A listed parcel that is taken off the list: it is unpacked, and what of it still goes is due again.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TakenOff {
    /// Its ref.
    pub r#ref: ParcelRef,
    /// When it was listed.
    pub listed: Date,
    /// To whom.
    pub name: String,
    /// Why, in a sentence.
    pub why: String,
    /// What lay in it.
    pub holds: Vec<SendingId>,
    /// What is packed together in its place, if it can go: what lay in it and still goes together, and what goes with
    /// that.
    pub together: Vec<SendingId>,
}

/// A partner's half that is on its way to the seller.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Expected {
    /// Which trade.
    pub id: TradeId,
    /// The trade.
    pub trade: Trade,
}

/// Supplies of one mailer, after this plan.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Supply {
    /// Mailer code.
    pub code: String,
    /// Mailer title.
    pub title: String,
    /// How many are left when this plan is packed.
    pub left: u32,
    /// First day on which there are too few, at the pace of late; `None` where the pace is unknown.
    #[serde(default)]
    pub runs_out_on: Option<Date>,
}

/// Sums over the parcels of the plan.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Totals {
    /// How many.
    pub parcels: u32,
    /// Pieces in them.
    pub items: u32,
    /// Postage.
    pub postage: Money,
    /// Expected mass, g.
    pub mass_g: f64,
}

/// The plan of a day, or of one later revision of it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct DayPlan {
    /// Day of dispatch.
    pub date: Date,
    /// 1, or more for what came later on the same day.
    pub revision: u32,
    /// What sums are in.
    pub currency: Currency,
    /// New parcels, in packing order.
    pub parcels: Vec<Parcel>,
    /// Parcels of earlier days without a recorded hand-off.
    pub listed_earlier: Vec<ListedEarlier>,
    /// Listed parcels that this plan takes off the list.
    #[serde(default)]
    pub taken_off: Vec<TakenOff>,
    /// All that is held now.
    pub held: Vec<Held>,
    /// All open questions.
    pub questions: Vec<Question>,
    /// Rows and files refused since the manifest before.
    pub refused: Vec<Refused>,
    /// Files that wait in the inbox.
    pub waiting: Vec<Waiting>,
    /// What reading files chose or mended since the manifest before.
    #[serde(default)]
    pub remarks: Vec<Remark>,
    /// Orders that were told otherwise since the manifest before.
    #[serde(default)]
    pub changed: Vec<Changed>,
    /// Orders called off or paid back since the manifest before, and those that lie in a parcel still.
    pub called_off: Vec<CalledOff>,
    /// What the seller said since the manifest before.
    #[serde(default)]
    pub said: Vec<Said>,
    /// Sealed parcels that weigh otherwise than planned, told once.
    #[serde(default)]
    pub scale: Vec<ScaleFinding>,
    /// Masses that sealed parcels say should be put right in the seller's files; told on a week's first working day.
    #[serde(default)]
    pub masses: Vec<LearntMass>,
    /// Halves that partners owe.
    pub expected: Vec<Expected>,
    /// Mailers that run low.
    pub supplies_low: Vec<Supply>,
    /// Sums.
    pub totals: Totals,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_called_off_in_an_older_plan_is_read() {
        let read = |json: &str| serde_json::from_str::<CalledOff>(json).unwrap();
        let off = |state, listed_in: &[&str]| CalledOff {
            order: OrderId { source: "stall".to_owned(), number: "7".to_owned() },
            name: String::new(),
            state,
            listed_in: listed_in.iter().map(|parcel| ParcelRef((*parcel).to_owned())).collect(),
            went_in: Vec::new(),
        };
        for (json, state, listed_in) in [
            (r#"["stall:7", "cancelled"]"#, OrderState::Cancelled, &[][..]),
            (r#"["stall:7", "refunded"]"#, OrderState::Refunded, &[]),
            (
                r#"["stall:7", "refunded, and it is in parcel 1124-02: do not send it"]"#,
                OrderState::Refunded,
                &["1124-02"],
            ),
        ] {
            assert_eq!(read(json), off(state, listed_in), "{json}");
        }
        let now = off(OrderState::Refunded, &["1124-02", "1125-01"]);
        assert_eq!(read(&serde_json::to_string(&now).unwrap()), now);
    }
}
