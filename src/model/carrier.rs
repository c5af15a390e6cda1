//! What the carrier's side says of parcels: postage bought, acceptance receipts, and pictures of receipts.
//!
//! Tracking numbers stand without spaces, scanner prefixes and routing, as `plan::tracking` has them, so that the same
//! number is the same text wherever it came from. What a row doesn't say is `None`, never zero.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::mass::Weight;
use super::money::Money;
use super::parcel::ParcelRef;

/// A row of a table of postage bought.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PostageBought {
    /// First line of the row in the file.
    pub line: u64,
    /// Number on the label.
    pub tracking: Option<String>,
    /// Our ref, where the source lets one be written with the label.
    pub parcel: Option<ParcelRef>,
    /// Day it was bought, in the home's time zone.
    pub bought_at: Option<Date>,
    /// The cell of that day, where it says more than the day.
    pub bought_at_as_written: Option<String>,
    /// What it cost; negative where it was paid back.
    pub price: Option<Money>,
    /// Service, in the source's words.
    pub service: Option<String>,
    /// Weight it was bought for.
    pub mass: Option<Weight>,
    /// To whom.
    pub name: Option<String>,
    /// Where to.
    pub postal_code: Option<String>,
}

/// A row of a table of acceptance receipts.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Acceptance {
    /// First line of the row in the file.
    pub line: u64,
    /// Number on the label.
    pub tracking: Option<String>,
    /// Our ref, where the receipt has it.
    pub parcel: Option<ParcelRef>,
    /// Day the carrier took it, in the home's time zone; `None` where the source has no such column.
    pub accepted_at: Option<Date>,
    /// The cell of that day, where it says more than the day.
    pub accepted_at_as_written: Option<String>,
    /// Where.
    pub place: Option<String>,
    /// What was paid.
    pub price: Option<Money>,
    /// What the carrier's scale said.
    pub mass: Option<Weight>,
    /// Where to.
    pub postal_code: Option<String>,
}

/// What a picture of a receipt is, by its own bytes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PictureFormat {
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
    /// WebP.
    Webp,
    /// PDF.
    Pdf,
}

impl PictureFormat {
    /// The word of the ledger and of JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Jpeg => "jpeg",
            Self::Webp => "webp",
            Self::Pdf => "pdf",
        }
    }
}

/// A picture of a receipt. What is in it can't be read: which parcels it is for is told by its file's name, or asked.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct ReceiptPicture {
    /// What it is.
    pub format: PictureFormat,
    /// Width in pixels; of a PDF nothing.
    pub width: Option<u32>,
    /// Height in pixels; of a PDF nothing.
    pub height: Option<u32>,
    /// Pages of a PDF, else 1.
    pub pages: u32,
    /// Parcels that the file's name has.
    pub parcels: Vec<ParcelRef>,
    /// Tracking numbers that it has.
    pub tracking: Vec<String>,
    /// Month and day, where the name is just that: the hand-off of a day.
    pub day: Option<(i8, i8)>,
}
