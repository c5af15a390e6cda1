//! Lines of an order that come in another wording.
//!
//! Handed what is told and what is known; promises that what surely is a known line keeps its key, so that it never goes
//! twice, and that of all other lines it stays known which were ever told together: two that never were may be one.
//! Turned down: a key of folded words, by which every line of an older ledger would come again under a new one.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, params};

use crate::model::order::{OrderId, OrderLine};
use crate::plan::wording::{agree, is_one_line};

use super::orders::KnownLine;
use super::{Ledger, LedgerError};

/// The told lines, each under the key of the known line it surely is; what it leaves out is as it was.
pub(super) fn under_known_keys(told: &[OrderLine], known: &[KnownLine]) -> Vec<OrderLine> {
    let find = |key: &str| known.iter().map(|known| &known.line).find(|line| line.line == key);
    let mut taken: BTreeSet<&str> = told.iter().map(|line| line.line.as_str()).collect();
    told.iter()
        .map(|line| {
            let reworded = || {
                known
                    .iter()
                    .map(|known| &known.line)
                    .find(|other| !taken.contains(other.line.as_str()) && is_one_line(other, line))
            };
            let Some(before) = find(&line.line).or_else(reworded) else { return line.clone() };
            taken.insert(&before.line);
            if !agree(before, line) {
                // A row of the source's own number, with other goods in it.
                return OrderLine { line: before.line.clone(), ..line.clone() };
            }
            OrderLine {
                line: before.line.clone(),
                code: line.code.clone().or_else(|| before.code.clone()),
                title: if line.title.is_empty() { before.title.clone() } else { line.title.clone() },
                options: line.options.clone().or_else(|| before.options.clone()),
                quantity: line.quantity,
                unit_price: line.unit_price.or(before.unit_price),
            }
        })
        .collect()
}

/// Notes that one file told of these lines.
pub(super) fn note_together(db: &Connection, id: &OrderId, lines: &[OrderLine]) -> Result<(), LedgerError> {
    let keys: BTreeSet<&str> = lines.iter().map(|line| line.line.as_str()).collect();
    let all: Vec<&str> = keys.iter().copied().collect();
    let telling = blake3::hash(all.join("\n").as_bytes()).to_hex();
    for key in keys {
        db.execute(
            "INSERT OR IGNORE INTO line_tellings (source, number, telling, line) VALUES (?1, ?2, ?3, ?4)",
            params![id.source, id.number, &telling[..16], key],
        )?;
    }
    Ok(())
}

/// A line instead of which another went is back once a file tells of it together with all that go.
pub(super) fn put_back(db: &Connection, id: &OrderId) -> Result<(), LedgerError> {
    db.execute(
        "UPDATE order_lines AS l SET off = NULL
         WHERE source = ?1 AND number = ?2 AND off = 'instead' AND told = 1 AND NOT EXISTS (
            SELECT 1 FROM order_lines o
            WHERE o.source = ?1 AND o.number = ?2 AND o.off IS NOT 'instead' AND NOT EXISTS (
                SELECT 1 FROM line_tellings a JOIN line_tellings b
                    ON b.source = a.source AND b.number = a.number AND b.telling = a.telling
                WHERE a.source = ?1 AND a.number = ?2 AND a.line = l.line AND b.line = o.line))",
        params![id.source, id.number],
    )?;
    Ok(())
}

/// Notes, of an order that is listed, which of its lines don't go: others go instead of them, or the seller left them
/// out.
pub(super) fn note_instead(db: &Connection, id: &OrderId, goes: &[OrderLine]) -> Result<(), LedgerError> {
    let mut statement = db.prepare(
        "SELECT l.line FROM order_lines l WHERE l.source = ?1 AND l.number = ?2 AND l.off IS NULL AND NOT EXISTS (
            SELECT 1 FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
            WHERE i.source = l.source AND i.number = l.number AND i.line = l.line AND p.state <> 'cancelled')",
    )?;
    let keys: Vec<String> =
        statement.query_map(params![id.source, id.number], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for key in keys.iter().filter(|key| !goes.iter().any(|line| line.line == **key)) {
        db.execute(
            "UPDATE order_lines SET off = 'instead' WHERE source = ?1 AND number = ?2 AND line = ?3",
            params![id.source, id.number, key],
        )?;
    }
    Ok(())
}

impl Ledger {
    /// By order, the files' sets of line keys, where they differ.
    pub(super) fn tellings_of_lines(&self) -> Result<BTreeMap<OrderId, Vec<BTreeSet<String>>>, LedgerError> {
        let mut sets: BTreeMap<(OrderId, String), BTreeSet<String>> = BTreeMap::new();
        self.rows(
            "SELECT t.source, t.number, t.telling, t.line FROM line_tellings t WHERE EXISTS (
                SELECT 1 FROM line_tellings o
                WHERE o.source = t.source AND o.number = t.number AND o.telling <> t.telling)",
            |row| {
                let id = OrderId { source: row.get(0)?, number: row.get(1)? };
                sets.entry((id, row.get(2)?)).or_default().insert(row.get(3)?);
                Ok(())
            },
        )?;
        let mut all: BTreeMap<OrderId, Vec<BTreeSet<String>>> = BTreeMap::new();
        for ((id, _), set) in sets {
            all.entry(id).or_default().push(set);
        }
        Ok(all)
    }
}
