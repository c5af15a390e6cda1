//! Parcels that are listed and not handed over: how what is in them stands now, and how they leave the table.
//!
//! Handed what the plan or the seller says of them; promises that only a listed parcel is taken off, and that what was
//! said to have gone counts as handed over. Turned down: noting what changed in a parcel when it changes, which a
//! change back would have to take away again.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, params};

use crate::model::day::{DayPlan, TakenOff};
use crate::model::order::{Order, OrderId, OrderLine};
use crate::model::parcel::{For, Parcel, ParcelRef, ParcelState};
use crate::model::sending::SendingId;
use crate::model::subject::Lying;
use crate::model::trade::Trade;
use crate::plan::snapshot::{LyingOrder, OpenParcel};

use super::{Ledger, LedgerError, columns_of, from_doc, orders, parsed, standing, to_u32};

/// Cancels parcels that lie on the table.
pub(super) fn take_off(db: &Connection, parcels: &[TakenOff]) -> Result<(), LedgerError> {
    for taken in parcels {
        db.execute(
            "UPDATE parcels SET state = 'cancelled' WHERE ref = ?1 AND listed_on = ?2 AND state = 'listed'",
            params![taken.r#ref.0, taken.listed.to_string()],
        )?;
    }
    Ok(())
}

/// Records that parcels went, by the seller's word and without a day: that of the word stands for it, till a sheet or a
/// receipt says another.
pub(super) fn went(db: &Connection, parcels: &[Lying], today: Date) -> Result<(), LedgerError> {
    let mut gone = BTreeSet::new();
    for Lying { parcel, listed } in parcels {
        gone.insert(db.query_row(
            "UPDATE parcels SET said_gone_on = ?3 WHERE ref = ?1 AND listed_on = ?2 RETURNING id",
            params![parcel.0, listed.to_string(), today.to_string()],
            |row| row.get(0),
        )?);
    }
    standing::settle(db, &gone)
}

/// Where a parcel stands.
pub(super) fn state(db: &Connection, lying: &Lying) -> Result<Option<ParcelState>, LedgerError> {
    let state: Option<String> = db
        .query_row(
            "SELECT state FROM parcels WHERE ref = ?1 AND listed_on = ?2",
            params![lying.parcel.0, lying.listed.to_string()],
            |row| row.get(0),
        )
        .optional()?;
    state.map(|state| parsed("parcel state", &state)).transpose()
}

/// The latest parcel that something lies in together with what lay in `lying` before, and where it stands.
pub(super) fn packed_with(
    db: &Connection,
    lying: &Lying,
    id: &SendingId,
) -> Result<Option<(ParcelRef, ParcelState)>, LedgerError> {
    let (source, number, trade) = columns_of(id);
    let found: Option<(String, String)> = db
        .query_row(
            "SELECT mine.ref, mine.state FROM live_items mine
             JOIN live_items beside ON beside.parcel_id = mine.parcel_id
             JOIN parcel_items before ON before.source IS beside.source AND before.number IS beside.number
                AND before.trade_id IS beside.trade_id
             JOIN parcels p ON p.id = before.parcel_id
             WHERE ((mine.source = ?1 AND mine.number = ?2) OR mine.trade_id = ?3)
               AND NOT (beside.source IS ?1 AND beside.number IS ?2 AND beside.trade_id IS ?3)
               AND p.ref = ?4 AND p.listed_on = ?5 AND p.state = 'cancelled'
             ORDER BY mine.parcel_id DESC LIMIT 1",
            params![source, number, trade, lying.parcel.0, lying.listed.to_string()],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    found.map(|(parcel, state)| Ok((ParcelRef(parcel), parsed("parcel state", &state)?))).transpose()
}

impl Ledger {
    /// As the plans that listed them have them, oldest first: a parcel's row knows only the name.
    pub(super) fn open_parcels(&self) -> Result<Vec<OpenParcel>, LedgerError> {
        let open = self.rows(
            "SELECT p.manifest_id, p.ref, p.listed_on FROM parcels p WHERE p.state = 'listed' ORDER BY p.id",
            |row| {
                let listed = parsed::<Date>("date", &row.get::<_, String>(2)?)?;
                Ok((row.get::<_, i64>(0)?, ParcelRef(row.get(1)?), listed))
            },
        )?;
        let mut plans: BTreeMap<i64, DayPlan> = BTreeMap::new();
        let mut parcels = Vec::new();
        for (manifest, r#ref, listed) in open {
            let plan = match plans.entry(manifest) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(new) => {
                    let plan: String =
                        self.db.query_row("SELECT plan FROM manifests WHERE id = ?1", [manifest], |row| row.get(0))?;
                    new.insert(from_doc("plan", &plan)?)
                }
            };
            if let Some(parcel) = plan.parcels.iter().find(|parcel| parcel.r#ref == r#ref) {
                parcels.push(self.open_parcel(parcel.clone(), listed)?);
            }
        }
        Ok(parcels)
    }

    fn open_parcel(&self, parcel: Parcel, listed: Date) -> Result<OpenParcel, LedgerError> {
        let mut orders = Vec::new();
        for order in &parcel.orders {
            let Some(now) = orders::known(&self.db, &order.id)? else { continue };
            let lines = orders::goods_of(&self.db, &order.id)?;
            let too_many = self.too_many(&order.id, &lines, &parcel)?;
            orders.push(LyingOrder { order: Order { lines, ..now }, too_many });
        }
        let mut trades = Vec::new();
        for (id, _) in &parcel.trades {
            let doc: String = self.db.query_row("SELECT doc FROM trades WHERE id = ?1", [id.0], |row| row.get(0))?;
            trades.push((*id, from_doc::<Trade>("trade", &doc)?));
        }
        let mut open =
            OpenParcel { r#ref: parcel.r#ref.clone(), listed, parcel, orders, trades, formerly: BTreeMap::new() };
        for id in open.holds() {
            let lay_in = self.lay_in(&id)?;
            if !lay_in.is_empty() {
                open.formerly.insert(id, lay_in);
            }
        }
        Ok(open)
    }

    /// Lines in the parcel of which more lies in parcels than is ordered now, and how many do.
    fn too_many(
        &self,
        order: &OrderId,
        lines: &[OrderLine],
        parcel: &Parcel,
    ) -> Result<Vec<(OrderLine, u32)>, LedgerError> {
        let mut all = Vec::new();
        for line in lines {
            let lies_here = parcel
                .items
                .iter()
                .any(|item| item.for_ == For::Order { order: order.clone(), line: line.line.clone() });
            let lie: i64 = self.db.query_row(
                "SELECT coalesce(sum(quantity), 0) FROM live_items WHERE source = ?1 AND number = ?2 AND line = ?3",
                params![order.source, order.number, line.line],
                |row| row.get(0),
            )?;
            if lies_here && to_u32(lie) > line.quantity {
                all.push((line.clone(), to_u32(lie)));
            }
        }
        Ok(all)
    }

    /// Cancelled parcels that something lay in.
    fn lay_in(&self, id: &SendingId) -> Result<Vec<Lying>, LedgerError> {
        self.rows_of(
            "SELECT DISTINCT p.ref, p.listed_on FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
             WHERE ((i.source = ?1 AND i.number = ?2) OR i.trade_id = ?3) AND p.state = 'cancelled' ORDER BY p.id",
            columns_of(id),
            |row| {
                let listed = parsed("date", &row.get::<_, String>(1)?)?;
                Ok(Lying { parcel: ParcelRef(row.get(0)?), listed })
            },
        )
    }

    /// Whether one of the live parcels of an order carries its invoice, as the plans that listed them have it.
    pub(super) fn has_its_invoice(&self, order: &OrderId) -> Result<bool, LedgerError> {
        Ok(self.db.query_row(
            "SELECT EXISTS (
                SELECT 1 FROM live_items i JOIN parcels p ON p.id = i.parcel_id JOIN manifests m ON m.id = p.manifest_id,
                    json_each(m.plan, '$.parcels') planned, json_each(planned.value, '$.invoices') invoice
                WHERE i.source = ?1 AND i.number = ?2 AND planned.value ->> '$.ref' = p.ref
                  AND invoice.value ->> '$.order' = ?3)",
            params![order.source, order.number, order.to_string()],
            |row| row.get(0),
        )?)
    }
}
