//! All that is known of one parcel, for a claim or a dispute.

use jiff::Timestamp;
use jiff::civil::Date;

use super::carrier::{Acceptance, PostageBought, ReceiptPicture};
use super::day::QuestionId;
use super::handoff::HandoffEntry;
use super::mass::Weight;
use super::money::Money;
use super::order::OrderId;
use super::parcel::{Parcel, ParcelState};
use super::sending::SendingId;
use super::trade::TradeId;

/// A file that was dropped and lies in the archive, unchanged.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct FileRef {
    /// Its name as dropped.
    pub name: String,
    /// When it was taken in.
    pub taken_at: Timestamp,
    /// BLAKE3 of its bytes, in hex.
    pub hash: String,
}

/// A row of a file about the parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct Told<T> {
    /// Which file.
    pub file: FileRef,
    /// What the row says, its line among it.
    pub row: T,
    /// What ties it to the parcel: `tracking`, `parcel`, `likeness`.
    pub by: Option<String>,
}

/// The files that an order or trade came in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct CameIn {
    /// Which.
    pub id: SendingId,
    /// Oldest first; none where it came before files were noted.
    pub files: Vec<FileRef>,
}

/// What the seller answered about the parcel, its orders or its trades.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Answered {
    /// Which question.
    pub id: QuestionId,
    /// The question.
    pub text: String,
    /// The answer.
    pub answer: String,
    /// When.
    pub at: Option<Timestamp>,
}

/// A hold of the seller's that still stands on an order or trade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HeldSince {
    /// Which order or trade.
    pub id: SendingId,
    /// When it was put on.
    pub at: Timestamp,
    /// The seller's words.
    pub note: Option<String>,
}

/// A partner's half.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TheirHalf {
    /// Which trade.
    pub trade: TradeId,
    /// Day it came.
    pub arrived_on: Option<Date>,
    /// In what state.
    pub condition: Option<String>,
}

/// The ledger's evidence of one parcel. What was never recorded is `None` or empty.
#[derive(Clone, PartialEq, Debug)]
pub struct Evidence {
    /// The parcel as planned and printed.
    pub parcel: Parcel,
    /// Day it was listed.
    pub listed_on: Date,
    /// Which list of that day.
    pub revision: u32,
    /// Other days on which a parcel of this ref was listed: refs come round every year.
    pub other_days: Vec<Date>,
    /// Where it stands.
    pub state: ParcelState,
    /// Day of hand-off.
    pub handed_over_on: Option<Date>,
    /// Why that is recorded, where the seller didn't record it.
    pub handed_over_why: Option<String>,
    /// Day of the first acceptance receipt.
    pub accepted_on: Option<Date>,
    /// Day of settling.
    pub closed_on: Option<Date>,
    /// Tracking number as it was recorded.
    pub tracking: Option<String>,
    /// What the seller says the postage cost.
    pub postage_paid: Option<Money>,
    /// Scale reading of the sealed parcel.
    pub scale: Option<Weight>,
    /// Where it was handed over.
    pub place: Option<String>,
    /// The seller's note.
    pub note: Option<String>,
    /// Rows of filled-in hand-off sheets.
    pub sheets: Vec<Told<HandoffEntry>>,
    /// Postage bought.
    pub postage: Vec<Told<PostageBought>>,
    /// Acceptance receipts.
    pub receipts: Vec<Told<Acceptance>>,
    /// Pictures of receipts: `by` is `name` or `day`.
    pub pictures: Vec<Told<ReceiptPicture>>,
    /// The files its orders and trades came in.
    pub came_in: Vec<CameIn>,
    /// Answers.
    pub answers: Vec<Answered>,
    /// Holds that stand.
    pub holds: Vec<HeldSince>,
    /// What sources told otherwise later, as order and what.
    pub changes: Vec<(OrderId, String)>,
    /// What partners sent.
    pub their_halves: Vec<TheirHalf>,
}

impl Evidence {
    /// All files that it rests on, each once, oldest first.
    #[must_use]
    pub fn files(&self) -> Vec<&FileRef> {
        let came_in = self.came_in.iter().flat_map(|came| &came.files);
        let sheets = self.sheets.iter().map(|told| &told.file);
        let postage = self.postage.iter().map(|told| &told.file);
        let receipts = self.receipts.iter().map(|told| &told.file);
        let pictures = self.pictures.iter().map(|told| &told.file);
        let mut files: Vec<&FileRef> = came_in.chain(sheets).chain(postage).chain(receipts).chain(pictures).collect();
        files.sort_by_key(|file| (file.taken_at, &file.name, &file.hash));
        files.dedup();
        files
    }
}
