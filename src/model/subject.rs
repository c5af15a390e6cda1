//! What makes a question the same question, whoever it next concerns.
//!
//! A question is asked once: its [`Subject`] is a value, compared as one and kept as one in the ledger. Turned down:
//! a key put together of words and taken apart again at the spaces, since numbers of orders and names of articles
//! hold spaces too.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::catalogue::Code;
use super::day::QuestionKind;
use super::order::{OrderId, Portion};
use super::parcel::ParcelRef;
use super::sending::SendingId;

/// A listed parcel: refs come round every year.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct Lying {
    /// What is written on it.
    pub parcel: ParcelRef,
    /// Day it was listed.
    pub listed: Date,
}

/// What a question asks, without its wording.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Subject {
    /// Which article the words of a line mean.
    Article {
        /// As the line has them.
        words: String,
    },
    /// What an article weighs or measures.
    Mass {
        /// Which.
        article: Code,
    },
    /// What is wrong with an address.
    Address {
        /// Whose it is.
        of: SendingId,
        /// Its state and postal code as they came.
        place: String,
    },
    /// Are these the same recipient?
    SameRecipient {
        /// Stands for their spellings: only `plan::likeness` makes and reads it.
        spellings: String,
    },
    /// What a customs declaration should say.
    Customs {
        /// What it lacks, in words.
        lacks: String,
    },
    /// Goes what was added to an order after it was listed?
    Changed {
        /// Which order.
        order: OrderId,
        /// What of it is in no parcel.
        added: Vec<Portion>,
    },
    /// What goes of an order that was paid back in part?
    PartRefunded {
        /// Which order.
        order: OrderId,
        /// What its latest export has.
        told: Vec<Portion>,
        /// What that left out.
        untold: Vec<Portion>,
    },
    /// Whether a source writes the day or the month first.
    Dates {
        /// Which.
        source: String,
    },
    /// Is an order whose number came before for somebody else that order, or another?
    ReusedNumber {
        /// The order as it was known.
        order: OrderId,
        /// Stands for the recipient it came for now.
        mark: String,
    },
    /// Are two orders of two sources the same order?
    SameOrder {
        /// The one that waits for the answer.
        newer: OrderId,
        /// The one it may be.
        older: OrderId,
    },
    /// Goes something with a parcel that is listed and not handed over?
    OpenParcel {
        /// What is written on it.
        parcel: ParcelRef,
        /// Day it was listed: refs come round every year.
        listed: Date,
        /// What would go with it.
        with: SendingId,
    },
    /// What becomes of listed parcels of which something no longer holds?
    OnTheTable {
        /// Which.
        parcels: Vec<Lying>,
        /// What no longer holds, in words: another change asks anew.
        because: Vec<String>,
    },
    /// Goes what is there of an order before the rest of it?
    Part {
        /// Which order.
        order: OrderId,
        /// What is there.
        here: Vec<Portion>,
        /// What is not, and is owed once the rest went.
        owed: Vec<Portion>,
    },
    /// Which of two or more wordings of an order's lines holds?
    Reworded {
        /// Which order.
        order: OrderId,
        /// What was told together, each never with any other.
        sides: Vec<Vec<Portion>>,
    },
    /// Does a buyer's note ask for a parcel of its own?
    Wish {
        /// Of which order.
        order: OrderId,
        /// The words in doubt.
        words: String,
    },
    /// Goes something before what is older and waits for more of the same?
    Before {
        /// What came later.
        younger: SendingId,
        /// For what the last pieces are kept.
        older: SendingId,
    },
    /// On which of the days that sheets say was a parcel handed over?
    HandOff {
        /// Which parcel.
        parcel: Lying,
        /// The days, earliest first: another day asks anew.
        days: Vec<Date>,
    },
    /// Of which day's hand-off is the picture of a receipt?
    ReceiptPicture {
        /// BLAKE3 of its bytes, in hex.
        hash: String,
    },
}

impl Subject {
    /// The kind of question, as papers and JSON have it.
    #[must_use]
    pub const fn kind(&self) -> QuestionKind {
        match self {
            Self::Article { .. } => QuestionKind::Article,
            Self::Mass { .. } => QuestionKind::Mass,
            Self::Address { .. } => QuestionKind::Address,
            Self::SameRecipient { .. } => QuestionKind::SameRecipient,
            Self::Customs { .. } => QuestionKind::Customs,
            Self::Changed { .. }
            | Self::PartRefunded { .. }
            | Self::OnTheTable { .. }
            | Self::Reworded { .. }
            | Self::Wish { .. }
            | Self::HandOff { .. } => QuestionKind::Changed,
            Self::Dates { .. } => QuestionKind::Dates,
            Self::ReusedNumber { .. } => QuestionKind::ReusedNumber,
            Self::SameOrder { .. } => QuestionKind::SameOrder,
            Self::OpenParcel { .. } => QuestionKind::OpenParcel,
            Self::Part { .. } | Self::Before { .. } => QuestionKind::Part,
            Self::ReceiptPicture { .. } => QuestionKind::ReceiptPicture,
        }
    }
}
