//! What no manifest has told yet, and what the latest one told of the inbox.

use rusqlite::OptionalExtension;

use crate::model::carrier::{Acceptance, PostageBought};
use crate::model::day::{CalledOff, Changed, DayPlan, Refused, Remark, Waiting};
use crate::model::order::OrderId;
use crate::model::parcel::ParcelRef;
use crate::model::said::Said;
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;

use super::lists::split;
use super::{Ledger, LedgerError, carrier, from_doc, parsed};

impl Ledger {
    pub(super) fn untold_refusals(&self) -> Result<Vec<Refused>, LedgerError> {
        self.rows("SELECT doc FROM refusals WHERE manifest_id IS NULL ORDER BY drop_id, line, id", |row| {
            from_doc("refusal", &row.get::<_, String>(0)?)
        })
    }

    pub(super) fn untold_remarks(&self) -> Result<Vec<Remark>, LedgerError> {
        let mut remarks = self
            .rows("SELECT doc FROM remarks WHERE manifest_id IS NULL ORDER BY drop_id, id", |row| {
                from_doc("remark", &row.get::<_, String>(0)?)
            })?;
        remarks.extend(carrier::untold::<PostageBought>(&self.db)?);
        remarks.extend(carrier::untold::<Acceptance>(&self.db)?);
        remarks.extend(carrier::untold_odd(&self.db)?);
        Ok(remarks)
    }

    /// Changes by order and trade; of one that goes nowhere any more there is nothing to tell.
    pub(super) fn untold_changes(&self) -> Result<Vec<Changed>, LedgerError> {
        let mut changes = self.changes(
            "SELECT c.source, c.number, NULL, c.what, o.doc ->> '$.recipient.name', p.ref,
                    p.handed_over_on IS NOT NULL
             FROM order_changes c JOIN orders o ON o.source = c.source AND o.number = c.number
             LEFT JOIN parcels p ON p.id = (
                SELECT max(parcel_id) FROM live_items i WHERE i.source = c.source AND i.number = c.number)
             WHERE c.manifest_id IS NULL AND o.state NOT IN ('refunded', 'cancelled') AND o.same_as IS NULL
             ORDER BY c.source || ':' || c.number, c.id",
        )?;
        changes.extend(self.changes(
            "SELECT NULL, NULL, t.id, c.what, t.doc ->> '$.with.name', p.ref, p.handed_over_on IS NOT NULL
             FROM trade_changes c JOIN trades t ON t.id = c.trade_id
             LEFT JOIN parcels p ON p.id = (SELECT max(parcel_id) FROM live_items i WHERE i.trade_id = t.id)
             WHERE c.manifest_id IS NULL AND t.state <> 'cancelled' ORDER BY t.id, c.id",
        )?);
        Ok(changes)
    }

    /// Rows of source, number or else trade, what is other, name, ref and whether that parcel went; those of one order
    /// or trade follow one another.
    fn changes(&self, sql: &str) -> Result<Vec<Changed>, LedgerError> {
        let mut changes: Vec<Changed> = Vec::new();
        self.rows(sql, |row| {
            let trade: Option<u32> = row.get(2)?;
            let id = match trade {
                Some(trade) => SendingId::from(TradeId(trade)),
                None => SendingId::from(OrderId { source: row.get(0)?, number: row.get(1)? }),
            };
            let what: String = row.get(3)?;
            if let Some(known) = changes.last_mut().filter(|known| known.id == id) {
                known.what.push(what);
                return Ok(());
            }
            let parcel: Option<String> = row.get(5)?;
            changes.push(Changed {
                id,
                name: row.get(4)?,
                what: vec![what],
                parcel: parcel.map(ParcelRef),
                handed_over: row.get(6)?,
            });
            Ok(())
        })?;
        Ok(changes)
    }

    /// Of what lies in a parcel that is not handed over it is told each day: it must not go. What goes all the same is
    /// told anew.
    pub(super) fn called_off(&self) -> Result<Vec<CalledOff>, LedgerError> {
        let all = self.rows(
            "SELECT o.source, o.number, o.state, o.told_off IS NULL, (
                SELECT group_concat(ref) FROM (
                    SELECT ref FROM live_items i WHERE i.source = o.source AND i.number = o.number AND i.state = 'listed'
                    GROUP BY parcel_id ORDER BY parcel_id)), (
                SELECT json_group_array(json_array(ref, handed_over_on)) FROM (
                    SELECT ref, handed_over_on FROM live_items i
                    WHERE i.source = o.source AND i.number = o.number AND i.handed_over_on IS NOT NULL
                    GROUP BY parcel_id ORDER BY parcel_id)), o.doc ->> '$.recipient.name'
             FROM orders o WHERE o.state IN ('cancelled', 'refunded') ORDER BY o.source, o.number",
            |row| {
                let order = OrderId { source: row.get(0)?, number: row.get(1)? };
                let state = parsed("order state", &row.get::<_, String>(2)?)?;
                let listed_in: Vec<ParcelRef> = split(row.get(4)?).into_iter().map(ParcelRef).collect();
                let is_news: bool = row.get(3)?;
                // What went is told once.
                let went_in = if is_news { from_doc("parcels that went", &row.get::<_, String>(5)?)? } else { Vec::new() };
                let off = CalledOff { order, name: row.get(6)?, state, listed_in, went_in };
                Ok((is_news || !off.listed_in.is_empty()).then_some(off))
            },
        )?;
        Ok(all.into_iter().flatten().collect())
    }

    pub(super) fn untold_said(&self) -> Result<Vec<Said>, LedgerError> {
        self.rows("SELECT doc FROM said WHERE manifest_id IS NULL ORDER BY id", |row| {
            from_doc("thing said", &row.get::<_, String>(0)?)
        })
    }

    /// Files that waited in the inbox when the latest plan was recorded.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn waiting_lately(&self) -> Result<Vec<Waiting>, LedgerError> {
        let plan: Option<String> = self
            .db
            .query_row("SELECT plan FROM manifests ORDER BY id DESC LIMIT 1", [], |row| row.get(0))
            .optional()?;
        let plan: Option<DayPlan> = plan.map(|plan| from_doc("plan", &plan)).transpose()?;
        Ok(plan.map(|plan| plan.waiting).unwrap_or_default())
    }
}
