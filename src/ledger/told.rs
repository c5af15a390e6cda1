//! What no manifest has told yet, and what the latest one told of the inbox.

use rusqlite::OptionalExtension;

use crate::model::carrier::{Acceptance, PostageBought};
use crate::model::day::{Changed, DayPlan, Refused, Remark, Waiting};
use crate::model::order::{Order, OrderId};
use crate::model::parcel::ParcelRef;

use super::{Ledger, LedgerError, carrier, from_doc};

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
        Ok(remarks)
    }

    /// Changes by order; of one that goes nowhere any more there is nothing to tell.
    pub(super) fn untold_changes(&self) -> Result<Vec<Changed>, LedgerError> {
        let mut changes: Vec<Changed> = Vec::new();
        self.rows(
            "SELECT c.source, c.number, c.what, o.doc, p.ref, p.handed_over_on IS NOT NULL
             FROM order_changes c JOIN orders o ON o.source = c.source AND o.number = c.number
             LEFT JOIN parcels p ON p.id = (
                SELECT max(p.id) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                WHERE i.source = c.source AND i.number = c.number AND p.state <> 'cancelled')
             WHERE c.manifest_id IS NULL AND o.state NOT IN ('refunded', 'cancelled') AND o.same_as IS NULL
             ORDER BY c.source || ':' || c.number, c.id",
            |row| {
                let (id, what) = (OrderId { source: row.get(0)?, number: row.get(1)? }, row.get(2)?);
                if let Some(known) = changes.iter_mut().find(|known| known.id == id) {
                    known.what.push(what);
                    return Ok(());
                }
                let order: Order = from_doc("order", &row.get::<_, String>(3)?)?;
                let parcel: Option<String> = row.get(4)?;
                changes.push(Changed {
                    id,
                    name: order.recipient.name,
                    what: vec![what],
                    parcel: parcel.map(ParcelRef),
                    handed_over: row.get(5)?,
                });
                Ok(())
            },
        )?;
        Ok(changes)
    }

    pub(super) fn untold_called_off(&self) -> Result<Vec<(OrderId, String)>, LedgerError> {
        self.rows(
            "SELECT o.source, o.number, o.state, (
                SELECT p.ref FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                WHERE i.source = o.source AND i.number = o.number AND p.state = 'listed' LIMIT 1)
             FROM orders o WHERE o.state IN ('cancelled', 'refunded') AND o.told_off IS NULL
             ORDER BY o.source || ':' || o.number",
            |row| {
                let state: String = row.get(2)?;
                let listed: Option<String> = row.get(3)?;
                let text = match listed {
                    Some(parcel) => format!("{state}, and it is in parcel {parcel}: do not send it"),
                    None => state,
                };
                Ok((OrderId { source: row.get(0)?, number: row.get(1)? }, text))
            },
        )
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
