//! What the seller calls off, and takes back.
//!
//! Promises that a calling-off can be taken back as long as it is the seller's own: what the source called off only the
//! source knows to be due. Turned down: deleting what is left of an order, by which the next overlapping export would
//! bring it again.

use rusqlite::{Connection, params};

use crate::model::sending::SendingId;

use super::LedgerError;

/// Calls all of an order or trade off.
pub(super) fn whole(db: &Connection, id: &SendingId) -> Result<(), LedgerError> {
    match id {
        SendingId::Trade(trade) => db.execute("UPDATE trades SET state = 'cancelled' WHERE id = ?1", [trade.0])?,
        SendingId::Order(order) => db.execute(
            "UPDATE orders SET cancelled_from = state, state = 'cancelled'
             WHERE source = ?1 AND number = ?2 AND state NOT IN ('refunded', 'cancelled')",
            params![order.source, order.number],
        )?,
    };
    Ok(())
}

/// Calls off what of an order or trade is in no parcel; says of how many lines or items.
pub(super) fn rest(db: &Connection, id: &SendingId) -> Result<usize, LedgerError> {
    let order = match id {
        SendingId::Trade(trade) => {
            return Ok(db.execute(
                "UPDATE trade_items SET off = 1 WHERE trade_id = ?1 AND item IN (
                    SELECT item FROM trade_items_due d WHERE d.trade_id = ?1)",
                [trade.0],
            )?);
        }
        SendingId::Order(order) => order,
    };
    Ok(db.execute(
        "UPDATE order_lines AS l SET off = 'cancelled'
         WHERE source = ?1 AND number = ?2 AND off IS NULL AND quantity > (
            SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
            WHERE i.source = l.source AND i.number = l.number AND i.line = l.line AND p.state <> 'cancelled')",
        params![order.source, order.number],
    )?)
}

/// Takes back what the seller called off; says whether there was anything.
pub(super) fn take_back(db: &Connection, id: &SendingId) -> Result<usize, LedgerError> {
    let order = match id {
        SendingId::Trade(trade) => {
            let whole =
                db.execute("UPDATE trades SET state = 'open' WHERE id = ?1 AND state = 'cancelled'", [trade.0])?;
            let items = db.execute("UPDATE trade_items SET off = 0 WHERE trade_id = ?1 AND off = 1", [trade.0])?;
            return Ok(whole + items);
        }
        SendingId::Order(order) => order,
    };
    let key = params![order.source, order.number];
    let whole = db.execute(
        "UPDATE orders SET state = cancelled_from, cancelled_from = NULL, told_off = NULL
         WHERE source = ?1 AND number = ?2 AND cancelled_from IS NOT NULL",
        key,
    )?;
    let lines =
        db.execute("UPDATE order_lines SET off = NULL WHERE source = ?1 AND number = ?2 AND off = 'cancelled'", key)?;
    Ok(whole + lines)
}
