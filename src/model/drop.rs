//! What was read from one file of the inbox, and the column map it was read with.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::carrier::{Acceptance, PostageBought, ReceiptPicture};
use super::day::{Refused, Remark};
use super::handoff::{Answer, Arrival, HandoffEntry};
use super::mass::MassUnit;
use super::money::Currency;
use super::order::{Order, OrderState};
use super::trade::Trade;

/// What kind of drop a column map reads.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MapKind {
    /// Orders.
    Sales,
    /// Postage bought.
    Postage,
    /// Acceptance receipts.
    Receipts,
}

/// Order of day, month and year in a source's dates.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DateOrder {
    /// 25.11.2026
    Dmy,
    /// 11/25/2026
    Mdy,
    /// 2026-11-25
    Ymd,
}

/// A field of a sales export that a column can stand for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SalesField {
    /// Order number.
    Order,
    /// Key of the line within its order.
    Line,
    /// Day of the sale.
    PlacedAt,
    /// Day of payment.
    PaidAt,
    /// How the order stands, in the source's word.
    State,
    /// Who bought.
    Buyer,
    /// To whom it goes.
    Name,
    /// Firm or club.
    Company,
    /// First street line.
    Address1,
    /// Second street line.
    Address2,
    /// Third street line.
    Address3,
    /// Town.
    City,
    /// State or province.
    Region,
    /// Postal code.
    PostalCode,
    /// Country, code or name.
    Country,
    /// Email.
    Email,
    /// Article code.
    Code,
    /// Article title.
    Title,
    /// Options chosen.
    Options,
    /// How many.
    Quantity,
    /// Price of one.
    UnitPrice,
    /// Price of the line.
    LineTotal,
    /// Postage the buyer paid.
    PostageCharged,
    /// Tax the buyer paid.
    Tax,
    /// Taken off.
    Discount,
    /// What the buyer paid in all.
    Total,
    /// ISO 4217 code.
    Currency,
    /// The buyer's words to the seller.
    Note,
    /// Is it a present: yes, true, 1, x, or anything that is not no.
    Gift,
    /// What the giver wants said.
    GiftMessage,
    /// Promised day of dispatch.
    ShipBy,
    /// Is it to go in a parcel of its own: as `Gift`.
    Apart,
}

impl SalesField {
    /// All, in the order in which a map would name them.
    pub const ALL: [Self; 32] = [
        Self::Order,
        Self::Line,
        Self::PlacedAt,
        Self::PaidAt,
        Self::State,
        Self::Buyer,
        Self::Name,
        Self::Company,
        Self::Address1,
        Self::Address2,
        Self::Address3,
        Self::City,
        Self::Region,
        Self::PostalCode,
        Self::Country,
        Self::Email,
        Self::Code,
        Self::Title,
        Self::Options,
        Self::Quantity,
        Self::UnitPrice,
        Self::LineTotal,
        Self::PostageCharged,
        Self::Tax,
        Self::Discount,
        Self::Total,
        Self::Currency,
        Self::Note,
        Self::Gift,
        Self::GiftMessage,
        Self::ShipBy,
        Self::Apart,
    ];

    /// The word of column maps.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Order => "order",
            Self::Line => "line",
            Self::PlacedAt => "placed_at",
            Self::PaidAt => "paid_at",
            Self::State => "state",
            Self::Buyer => "buyer",
            Self::Name => "name",
            Self::Company => "company",
            Self::Address1 => "address1",
            Self::Address2 => "address2",
            Self::Address3 => "address3",
            Self::City => "city",
            Self::Region => "region",
            Self::PostalCode => "postal_code",
            Self::Country => "country",
            Self::Email => "email",
            Self::Code => "code",
            Self::Title => "title",
            Self::Options => "options",
            Self::Quantity => "quantity",
            Self::UnitPrice => "unit_price",
            Self::LineTotal => "line_total",
            Self::PostageCharged => "postage_charged",
            Self::Tax => "tax",
            Self::Discount => "discount",
            Self::Total => "total",
            Self::Currency => "currency",
            Self::Note => "note",
            Self::Gift => "gift",
            Self::GiftMessage => "gift_message",
            Self::ShipBy => "ship_by",
            Self::Apart => "apart",
        }
    }
}

/// One `columns/NAME.toml`, checked.
#[derive(Clone, PartialEq, Debug)]
pub struct ColumnMap {
    /// Name of the source; the first half of its order ids.
    pub name: String,
    /// What it reads.
    pub kind: MapKind,
    /// Headers that tell this source: all must stand in a table's header row.
    pub headers: Vec<String>,
    /// Order of day, month and year.
    pub dates: DateOrder,
    /// Decimal sign, `.` or `,`.
    pub decimal: char,
    /// Our field = their header, for sales.
    pub sales: BTreeMap<SalesField, String>,
    /// Our field = their header, for postage and receipts.
    pub entries: BTreeMap<String, String>,
    /// What a mass without a unit is in, for postage and receipts.
    pub mass_unit: Option<MassUnit>,
    /// What prices are in, for postage and receipts; without it the home's currency.
    pub currency: Option<Currency>,
    /// Their word = ours.
    pub states: BTreeMap<String, OrderState>,
}

/// What was read.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Content {
    /// Orders of a sales export.
    Sales(Vec<Order>),
    /// Trade confirmations.
    Trades(Vec<Trade>),
    /// A filled-in hand-off sheet.
    Handoff(Vec<HandoffEntry>),
    /// A filled-in questions sheet.
    Answers(Vec<Answer>),
    /// A filled-in sheet of incoming trades.
    Arrivals(Vec<Arrival>),
    /// Postage bought.
    Postage(Vec<PostageBought>),
    /// Acceptance receipts.
    Receipts(Vec<Acceptance>),
    /// A picture of a receipt.
    ReceiptPicture(ReceiptPicture),
}

impl Content {
    /// The word of `read --json`.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Sales(_) => "sales",
            Self::Trades(_) => "trade",
            Self::Handoff(_) => "handoff",
            Self::Answers(_) => "questions",
            Self::Arrivals(_) => "incoming",
            Self::Postage(_) => "postage",
            Self::Receipts(_) => "receipts",
            Self::ReceiptPicture(_) => "receipt-picture",
        }
    }
}

/// Rows counted; `read = taken + refused + skipped`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct Rows {
    /// All records after decoding, the header not among them.
    pub read: u64,
    /// Those that went in.
    pub taken: u64,
    /// Those that could not be read.
    pub refused: u64,
    /// Blank rows, repeated headers, preambles, totals.
    pub skipped: u64,
}

/// How a file was read, and what it held.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// What it held.
    pub content: Content,
    /// Name of the column map, for tables.
    pub source: Option<String>,
    /// Character encoding, by its WHATWG name.
    pub encoding: String,
    /// Delimiter, for delimited tables.
    pub delimiter: Option<char>,
    /// Line of the header row, for tables.
    pub header_line: Option<u64>,
    /// Rows counted.
    pub rows: Rows,
    /// What was refused, in order of line; by the ledger too, once it was taken there.
    pub refused: Vec<RefusedRow>,
    /// What was chosen or mended on the way, in order of line.
    pub remarks: Vec<Remark>,
    /// Our field and their header, where no column map was there and both were matched.
    pub matched: Option<Vec<(SalesField, String)>>,
    /// Header row as it stands, so that refused rows can be mended and dropped again.
    pub headers: Vec<String>,
    /// Lines where it stands again, as in files that were joined: the same order on both sides of one is told twice,
    /// and on one side it is bought twice.
    pub headers_again: Vec<u64>,
    /// The cells of each row that was taken from a filled-in sheet, by line: what turns out to fit nothing in the ledger
    /// goes back to the seller with them.
    pub sheet_rows: BTreeMap<u64, Vec<String>>,
}

impl Reading {
    /// Turns what was taken into what is refused: a row of a sheet with its cells, anything else with its reason
    /// alone.
    pub fn give_back(&mut self, why: Refused) {
        self.rows.taken = self.rows.taken.saturating_sub(1);
        self.rows.refused += 1;
        let cells = why.line.and_then(|line| self.sheet_rows.remove(&line)).unwrap_or_default();
        let place = self.refused.partition_point(|row| row.why.line <= why.line);
        self.refused.insert(place, RefusedRow { why, cells });
    }
}

/// A refused row with its cells.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RefusedRow {
    /// What is wrong, with file, line and column.
    pub why: Refused,
    /// The row as it stood, but for what it takes to say the same alone. Of a sales export, a cell that it lacked and
    /// a field needs is `?missing?`, and a cell that only the others of its column show to be wrong stands between
    /// question marks, neither of which is ever read as a value. Empty for a confirmation that the ledger refused. Where no column map was there, days that could be
    /// read are written year first, and amounts that could be two so that they are one: the rest of the column, which
    /// told day from month and thousands from fractions, isn't given back with them.
    pub cells: Vec<String>,
}
