//! What the ledger holds, row by row, for `dawnpack list`.

use jiff::civil::Date;
use serde::Serialize;

use crate::model::carrier::{Acceptance, PostageBought};
use crate::model::day::HoldReason;
use crate::model::mail::MailState;
use crate::model::money::Money;
use crate::model::order::{Order, OrderId, OrderState};
use crate::model::parcel::ParcelState;
use crate::model::recipient::Recipient;
use crate::model::sending::SendingId;
use crate::model::trade::{Trade, TradeId};

use super::carrier::CarrierRow;
use super::{Ledger, LedgerError, from_doc, parsed};

/// Where an order or trade stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(untagged)]
pub enum Standing {
    /// As its source says, and not wholly in parcels; of a trade, `open` or `cancelled`.
    Source(OrderState),
    /// Wholly in parcels: where the last of them stands.
    Parcel(ParcelState),
    /// Open: what today's plan makes of it.
    Plan(Planned),
}

impl Standing {
    /// The word of the listing.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Source(state) => state.word(),
            Self::Parcel(state) => state.word(),
            Self::Plan(Planned::Due) => "due",
            Self::Plan(Planned::Held) => "held",
        }
    }
}

/// What a plan makes of an open order or trade.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Planned {
    /// It goes in a parcel.
    Due,
    /// It is held.
    Held,
}

/// A parcel of the ledger.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct ParcelRow {
    /// What is written on it.
    pub r#ref: String,
    /// Where it stands.
    pub state: ParcelState,
    /// Day it was listed.
    pub listed: Date,
    /// To whom.
    pub name: String,
    /// Mailer code.
    pub mailer: String,
    /// Day it was handed over.
    pub handed_over_on: Option<Date>,
    /// Day of the carrier's receipt.
    pub accepted_on: Option<Date>,
    /// Tracking number.
    pub tracking: Option<String>,
    /// Orders and trades in it.
    pub holds: Vec<SendingId>,
}

/// An order of the ledger.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct OrderRow {
    /// Which.
    pub id: OrderId,
    /// Where it stands.
    pub state: Standing,
    /// Why it is held, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<HoldReason>,
    /// To whom.
    pub name: String,
    /// Day of the sale.
    pub placed_at: Option<Date>,
    /// Day of payment.
    pub paid_at: Option<Date>,
    /// Pieces ordered.
    pub pieces: u32,
    /// Pieces in parcels.
    pub listed: u32,
    /// Parcels it is in.
    pub parcels: Vec<String>,
}

/// A trade of the ledger.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct TradeRow {
    /// `T-0007`.
    pub id: TradeId,
    /// Where it stands.
    pub state: Standing,
    /// Why it is held, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<HoldReason>,
    /// The partner.
    pub with: String,
    /// Day of the agreement.
    pub agreed: Date,
    /// Day to post by.
    pub send_by: Option<Date>,
    /// Day their half came.
    pub arrived_on: Option<Date>,
    /// Parcels my half is in.
    pub parcels: Vec<String>,
}

/// Whether something of the carrier's is tied to a parcel.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Tie {
    /// To one or several.
    Tied,
    /// To none.
    Untied,
    /// A picture that the seller says is of no hand-off.
    None,
}

impl Tie {
    /// The word of the listing.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tied => "tied",
            Self::Untied => "untied",
            Self::None => "none",
        }
    }
}

/// A row of postage bought, an acceptance receipt, or a picture of one.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct TiedRow {
    /// The file, with the line where it is a row of a table.
    pub id: String,
    /// Whether it is tied to a parcel.
    pub state: Tie,
    /// File name as dropped.
    pub file: String,
    /// Line in the file.
    pub line: Option<u32>,
    /// Parcels it is tied to.
    pub parcels: Vec<String>,
    /// Day of the hand-off that a picture is of, where it is of all of them.
    pub day: Option<Date>,
    /// What ties it: `tracking`, `parcel`, `likeness`, `name`, `day`.
    pub by: Option<String>,
    /// Tracking number.
    pub tracking: Option<String>,
    /// Day bought or accepted.
    pub on: Option<Date>,
    /// Price, plain.
    pub price: Option<String>,
}

/// A message of the ledger.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct MailRow {
    /// Its Message-ID.
    pub id: String,
    /// Where it stands.
    pub state: MailState,
    /// Its subject.
    pub subject: String,
    /// Tries so far.
    pub attempts: u32,
    /// When it is tried again.
    pub next_try: Option<String>,
    /// What the last failed try said.
    pub last_error: Option<String>,
}

pub(super) fn split(list: Option<String>) -> Vec<String> {
    list.map(|list| list.split(',').map(str::to_owned).collect()).unwrap_or_default()
}

fn standing_of_parcel(state: Option<String>) -> Result<Option<Standing>, LedgerError> {
    Ok(state.map(|state| parsed("parcel state", &state)).transpose()?.map(Standing::Parcel))
}

impl Ledger {
    /// Orders and trades that lie in a parcel which is listed and not handed over, by id, with whom they are for.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn on_the_table(&self) -> Result<Vec<(SendingId, Recipient)>, LedgerError> {
        let mut all = self.rows(
            "SELECT DISTINCT o.source, o.number, o.doc FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
             JOIN orders o ON o.source = i.source AND o.number = i.number
             WHERE p.state = 'listed' ORDER BY o.source, o.number",
            |row| {
                let id = OrderId { source: row.get(0)?, number: row.get(1)? };
                let order: Order = from_doc("order", &row.get::<_, String>(2)?)?;
                Ok((SendingId::from(id), order.recipient))
            },
        )?;
        let trades = self.rows(
            "SELECT DISTINCT t.id, t.doc FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
             JOIN trades t ON t.id = i.trade_id WHERE p.state = 'listed' ORDER BY t.id",
            |row| {
                let trade: Trade = from_doc("trade", &row.get::<_, String>(1)?)?;
                Ok((SendingId::from(TradeId(row.get(0)?)), trade.with))
            },
        )?;
        all.extend(trades);
        Ok(all)
    }

    /// All parcels, in the order they were listed.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_parcels(&self) -> Result<Vec<ParcelRow>, LedgerError> {
        self.rows(
            "SELECT p.ref, p.state, p.listed_on, p.name, p.mailer, p.handed_over_on, p.tracking,
                    (SELECT json_group_array(DISTINCT coalesce(i.source || ':' || i.number,
                        printf('T-%04d', i.trade_id))) FROM parcel_items i WHERE i.parcel_id = p.id), p.accepted_on
             FROM parcels p ORDER BY p.id",
            |row| {
                let (handed_over, accepted): (Option<String>, Option<String>) = (row.get(5)?, row.get(8)?);
                Ok(ParcelRow {
                    r#ref: row.get(0)?,
                    state: parsed("parcel state", &row.get::<_, String>(1)?)?,
                    listed: parsed("date", &row.get::<_, String>(2)?)?,
                    name: row.get(3)?,
                    mailer: row.get(4)?,
                    handed_over_on: handed_over.map(|day| parsed("date", &day)).transpose()?,
                    accepted_on: accepted.map(|day| parsed("date", &day)).transpose()?,
                    tracking: row.get(6)?,
                    holds: from_doc("contents of a parcel", &row.get::<_, String>(7)?)?,
                })
            },
        )
    }

    /// All orders, by source and number.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_orders(&self) -> Result<Vec<OrderRow>, LedgerError> {
        self.rows(
            "SELECT o.source, o.state, o.doc,
                    (SELECT coalesce(sum(quantity), 0) FROM order_lines l
                     WHERE l.source = o.source AND l.number = o.number AND l.off IS NULL),
                    (SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                     WHERE i.source = o.source AND i.number = o.number AND p.state <> 'cancelled'),
                    (SELECT group_concat(DISTINCT p.ref) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                     WHERE i.source = o.source AND i.number = o.number AND p.state <> 'cancelled'),
                    (SELECT p.state FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                     WHERE i.source = o.source AND i.number = o.number AND p.state <> 'cancelled'
                     ORDER BY p.id DESC LIMIT 1), o.number
             FROM orders o ORDER BY o.source, o.number",
            |row| {
                let order: Order = from_doc("order", &row.get::<_, String>(2)?)?;
                let state: OrderState = parsed("order state", &row.get::<_, String>(1)?)?;
                let (pieces, listed): (u32, u32) = (row.get(3)?, row.get(4)?);
                // Of a line that was called off in part, what went still counts.
                let pieces = pieces.max(listed);
                let goes = match state {
                    OrderState::Unpaid | OrderState::Open | OrderState::PartRefunded => true,
                    OrderState::Sent | OrderState::Refunded | OrderState::Cancelled => false,
                };
                let parcel = standing_of_parcel(row.get(6)?)?.filter(|_| goes && listed >= pieces);
                Ok(OrderRow {
                    id: OrderId { source: row.get(0)?, number: row.get(7)? },
                    state: parcel.unwrap_or(Standing::Source(state)),
                    reason: None,
                    name: order.recipient.name,
                    placed_at: order.placed_at,
                    paid_at: order.paid_at,
                    pieces,
                    listed,
                    parcels: split(row.get(5)?),
                })
            },
        )
    }

    /// All trades, by number.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_trades(&self) -> Result<Vec<TradeRow>, LedgerError> {
        self.rows(
            "SELECT t.id, t.state, t.doc, t.arrived_on,
                    (SELECT group_concat(DISTINCT p.ref) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                     WHERE i.trade_id = t.id AND p.state <> 'cancelled'),
                    (SELECT p.state FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                     WHERE i.trade_id = t.id AND p.state <> 'cancelled'
                        AND NOT EXISTS (SELECT 1 FROM trade_items_due d WHERE d.trade_id = t.id)
                     ORDER BY p.id DESC LIMIT 1)
             FROM trades t ORDER BY t.id",
            |row| {
                let trade: Trade = from_doc("trade", &row.get::<_, String>(2)?)?;
                let arrived: Option<String> = row.get(3)?;
                let state: OrderState = parsed("trade state", &row.get::<_, String>(1)?)?;
                Ok(TradeRow {
                    id: TradeId(row.get(0)?),
                    state: standing_of_parcel(row.get(5)?)?.unwrap_or(Standing::Source(state)),
                    reason: None,
                    with: trade.with.name,
                    agreed: trade.agreed,
                    send_by: trade.send_by,
                    arrived_on: arrived.map(|day| parsed("date", &day)).transpose()?,
                    parcels: split(row.get(4)?),
                })
            },
        )
    }

    /// All postage bought, in the order it was taken in.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_postage(&self) -> Result<Vec<TiedRow>, LedgerError> {
        self.carrier_rows::<PostageBought>()
    }

    /// All acceptance receipts, in the order they were taken in.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_receipts(&self) -> Result<Vec<TiedRow>, LedgerError> {
        self.carrier_rows::<Acceptance>()
    }

    fn carrier_rows<R: CarrierRow>(&self) -> Result<Vec<TiedRow>, LedgerError> {
        let sql = format!(
            "SELECT r.doc, r.line, r.tied_by, d.name, p.ref FROM {} r JOIN drops d ON d.id = r.drop_id
             LEFT JOIN parcels p ON p.id = r.parcel_id ORDER BY r.id",
            R::TABLE
        );
        self.rows(&sql, |row| {
            let told: R = from_doc("carrier's row", &row.get::<_, String>(0)?)?;
            let (line, by, file): (u32, Option<String>, String) = (row.get(1)?, row.get(2)?, row.get(3)?);
            let parcel: Option<String> = row.get(4)?;
            Ok(TiedRow {
                id: format!("{file}:{line}"),
                state: if by.is_some() { Tie::Tied } else { Tie::Untied },
                line: Some(line),
                parcels: parcel.into_iter().collect(),
                day: None,
                tracking: told.tracking().map(str::to_owned),
                on: told.day(),
                price: told.price().map(Money::plain),
                file,
                by,
            })
        })
    }

    /// All pictures of receipts, in the order they were taken in.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_pictures(&self) -> Result<Vec<TiedRow>, LedgerError> {
        self.rows(
            "SELECT d.name, c.day, c.is_none, (SELECT group_concat(p.ref) FROM picture_parcels t
                JOIN parcels p ON p.id = t.parcel_id WHERE t.drop_id = c.drop_id)
             FROM receipt_pictures c JOIN drops d ON d.id = c.drop_id ORDER BY d.id",
            |row| {
                let (file, day, is_none): (String, Option<String>, bool) = (row.get(0)?, row.get(1)?, row.get(2)?);
                let parcels = split(row.get(3)?);
                let by = if day.is_some() { Some("day") } else { Some("name").filter(|_| !parcels.is_empty()) };
                let state = match by {
                    _ if is_none => Tie::None,
                    Some(_) => Tie::Tied,
                    None => Tie::Untied,
                };
                Ok(TiedRow {
                    id: file.clone(),
                    state,
                    line: None,
                    day: day.map(|day| parsed("date", &day)).transpose()?,
                    by: by.map(str::to_owned),
                    tracking: None,
                    on: None,
                    price: None,
                    parcels,
                    file,
                })
            },
        )
    }

    /// All messages, in the order they were queued.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn list_mail(&self) -> Result<Vec<MailRow>, LedgerError> {
        self.rows("SELECT message_id, state, subject, attempts, next_try, last_error FROM mail ORDER BY id", |row| {
            Ok(MailRow {
                id: row.get(0)?,
                state: parsed("state of a message", &row.get::<_, String>(1)?)?,
                subject: row.get(2)?,
                attempts: row.get(3)?,
                next_try: row.get(4)?,
                last_error: row.get(5)?,
            })
        })
    }
}
