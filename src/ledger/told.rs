//! What no manifest has told yet, and what the latest one told of the inbox.

use rusqlite::OptionalExtension;

use crate::model::carrier::{Acceptance, PostageBought};
use crate::model::day::{Changed, DayPlan, Refused, Remark, Waiting};
use crate::model::order::OrderId;
use crate::model::parcel::ParcelRef;

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
        Ok(remarks)
    }

    /// Changes by order and trade; of one that goes nowhere any more there is nothing to tell.
    pub(super) fn untold_changes(&self) -> Result<Vec<Changed>, LedgerError> {
        let mut changes = self.changes(
            "SELECT c.source || ':' || c.number, c.what, o.doc ->> '$.recipient.name', p.ref,
                    p.handed_over_on IS NOT NULL
             FROM order_changes c JOIN orders o ON o.source = c.source AND o.number = c.number
             LEFT JOIN parcels p ON p.id = (
                SELECT max(parcel_id) FROM live_items i WHERE i.source = c.source AND i.number = c.number)
             WHERE c.manifest_id IS NULL AND o.state NOT IN ('refunded', 'cancelled') AND o.same_as IS NULL
             ORDER BY 1, c.id",
        )?;
        changes.extend(self.changes(
            "SELECT printf('T-%04d', t.id), c.what, t.doc ->> '$.with.name', p.ref, p.handed_over_on IS NOT NULL
             FROM trade_changes c JOIN trades t ON t.id = c.trade_id
             LEFT JOIN parcels p ON p.id = (SELECT max(parcel_id) FROM live_items i WHERE i.trade_id = t.id)
             WHERE c.manifest_id IS NULL AND t.state <> 'cancelled' ORDER BY t.id, c.id",
        )?);
        Ok(changes)
    }

    /// Rows of id, what is other, name, ref and whether that parcel went; those of one id follow one another.
    fn changes(&self, sql: &str) -> Result<Vec<Changed>, LedgerError> {
        let mut changes: Vec<Changed> = Vec::new();
        self.rows(sql, |row| {
            let id = parsed("changed id", &row.get::<_, String>(0)?)?;
            let what = row.get(1)?;
            if let Some(known) = changes.last_mut().filter(|known| known.id == id) {
                known.what.push(what);
                return Ok(());
            }
            let parcel: Option<String> = row.get(3)?;
            changes.push(Changed {
                id,
                name: row.get(2)?,
                what: vec![what],
                parcel: parcel.map(ParcelRef),
                handed_over: row.get(4)?,
            });
            Ok(())
        })?;
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
