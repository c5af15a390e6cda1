//! The life of an order over the exports that tell of it.
//!
//! Promises that the same order in an overlapping export changes nothing; that an order is joined line by line,
//! never replaced, so that what a shorter export leaves out is not lost; that a line in another wording is the line it
//! was ([`rewording`]), and what may be one is told to the plan, which asks; and that its state only ever moves on
//! (unpaid, open, partly refunded, sent, refunded, cancelled): an old export dropped late brings no cancelled order
//! back, and one that says nothing of it changes none. What is told otherwise than before is noted for the next email;
//! a number that comes for another recipient is put aside until the seller says what it is. Turned down: the last
//! telling as the truth, by which the same files dropped in another order would give another ledger.

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::model::order::{Order, OrderId, OrderLine, OrderState};
use crate::model::recipient::Recipient;
use crate::model::reply;
use crate::plan::{identity, wording};

use super::take::Change;
use super::{LedgerError, from_doc, parsed, rewording, to_doc};

/// Notes that a file told of an order. Of a number that came for somebody else, it told of another.
pub(super) fn note_telling(tx: &Transaction<'_>, drop: i64, order: &Order) -> Result<(), LedgerError> {
    let known = known(tx, &order.id)?;
    if known.is_some_and(|known| !identity::is_another_recipient(&known.recipient, &order.recipient)) {
        tx.execute(
            "INSERT INTO tellings (drop_id, source, number) VALUES (?1, ?2, ?3)
             ON CONFLICT (drop_id, source, number) DO NOTHING",
            params![drop, order.id.source, order.id.number],
        )?;
    }
    Ok(())
}

/// Takes an order in, or puts it aside where its number came for somebody else before.
pub(super) fn take(tx: &Transaction<'_>, order: &Order) -> Result<Change, LedgerError> {
    let Some(before) = known(tx, &order.id)? else { return insert(tx, order) };
    if !identity::is_another_recipient(&before.recipient, &order.recipient) {
        return join(tx, &before, order);
    }
    match verdict(tx, order)? {
        Some(Verdict::Another(number)) => {
            let own = Order { id: OrderId { source: order.id.source.clone(), number }, ..order.clone() };
            match known(tx, &own.id)? {
                Some(before) => join(tx, &before, &own),
                None => insert(tx, &own),
            }
        }
        // To whom it goes now was said since; the rest of an older telling may still be news.
        Some(Verdict::Old) => join(tx, &before, &Order { recipient: before.recipient.clone(), ..order.clone() }),
        Some(Verdict::Same) => join(tx, &before, order),
        None => put_aside(tx, order),
    }
}

/// What the seller said of a number's other recipient.
enum Verdict {
    Same,
    Old,
    Another(String),
}

fn verdict(tx: &Transaction<'_>, order: &Order) -> Result<Option<Verdict>, LedgerError> {
    let found: Option<(Option<String>, Option<String>)> = tx
        .query_row(
            "SELECT verdict, own_number FROM reused_numbers WHERE source = ?1 AND number = ?2 AND mark = ?3",
            params![order.id.source, order.id.number, identity::mark(&order.recipient)],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    Ok(match found {
        Some((Some(verdict), Some(number))) if verdict == "another" => Some(Verdict::Another(number)),
        Some((Some(verdict), _)) if verdict == "old" => Some(Verdict::Old),
        Some((Some(_), _)) => Some(Verdict::Same),
        Some((None, _)) | None => None,
    })
}

fn put_aside(tx: &Transaction<'_>, order: &Order) -> Result<Change, LedgerError> {
    let id = &order.id;
    let mark = identity::mark(&order.recipient);
    let doc = to_doc("order", order)?;
    let key = params![id.source, id.number, mark];
    let before: Option<String> = tx
        .query_row("SELECT doc FROM reused_numbers WHERE source = ?1 AND number = ?2 AND mark = ?3", key, |row| {
            row.get(0)
        })
        .optional()?;
    tx.execute(
        "INSERT INTO reused_numbers (source, number, mark, doc) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT (source, number, mark) DO UPDATE SET doc = ?4",
        params![id.source, id.number, mark, doc],
    )?;
    Ok(match before {
        None => Change::New,
        Some(before) if before == doc => Change::Same,
        Some(_) => Change::Changed,
    })
}

/// Records what the seller says of the number's other recipient with that mark. The sentence is for an answer that
/// was given before and has had its effect, or that is about nothing the ledger has.
pub(super) fn said_of_reused(
    db: &Connection,
    id: &OrderId,
    mark: &str,
    said: reply::SameOrder,
) -> Result<Result<(), String>, LedgerError> {
    let found: Option<(String, Option<String>)> = db
        .query_row(
            "SELECT doc, verdict FROM reused_numbers WHERE source = ?1 AND number = ?2 AND mark = ?3",
            params![id.source, id.number, mark],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let (Some((doc, verdict)), Some(before)) = (found, known(db, id)?) else {
        return Ok(Err(format!("is about {id}, of which the ledger no longer has two tellings")));
    };
    let wanted = said.word();
    match verdict.as_deref() {
        None => {}
        Some(verdict) if verdict == wanted => return Ok(Ok(())),
        Some(verdict) => {
            return Ok(Err(format!(
                "was answered `{verdict}` and has had its effect; `dawnpack cancel` takes an order off the list"
            )));
        }
    }
    let order: Order = from_doc("order", &doc)?;
    let own_number = match said {
        reply::SameOrder::Same => None,
        reply::SameOrder::Another => Some(free_number(db, id)?),
    };
    db.execute(
        "UPDATE reused_numbers SET verdict = ?4, own_number = ?5 WHERE source = ?1 AND number = ?2 AND mark = ?3",
        params![id.source, id.number, mark, wanted, own_number],
    )?;
    if let Some(number) = own_number {
        insert(db, &Order { id: OrderId { source: id.source.clone(), number }, ..order })?;
    } else {
        db.execute(
            "INSERT INTO reused_numbers (source, number, mark, doc, verdict) VALUES (?1, ?2, ?3, ?4, 'old')
             ON CONFLICT (source, number, mark) DO NOTHING",
            params![id.source, id.number, identity::mark(&before.recipient), to_doc("order", &before)?],
        )?;
        join(db, &before, &order)?;
    }
    Ok(Ok(()))
}

/// The first of `1001~2`, `1001~3` … that no order has.
fn free_number(db: &Connection, id: &OrderId) -> Result<String, LedgerError> {
    let mut count = 2;
    loop {
        let number = format!("{}~{count}", id.number);
        let own = OrderId { source: id.source.clone(), number };
        if known(db, &own)?.is_none() {
            return Ok(own.number);
        }
        count += 1;
    }
}

/// The order as the ledger has it, without lines.
pub(super) fn known(db: &Connection, id: &OrderId) -> Result<Option<Order>, LedgerError> {
    let found: Option<(String, String)> = db
        .query_row(
            "SELECT state, doc FROM orders WHERE source = ?1 AND number = ?2",
            params![id.source, id.number],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let Some((state, doc)) = found else { return Ok(None) };
    let order: Order = from_doc("order", &doc)?;
    Ok(Some(Order { state: parsed::<OrderState>("order state", &state)?, ..order }))
}

fn insert(db: &Connection, order: &Order) -> Result<Change, LedgerError> {
    let head = Order { lines: Vec::new(), ..order.clone() };
    db.execute(
        "INSERT INTO orders (source, number, state, doc, after_manifest)
         VALUES (?1, ?2, ?3, ?4, (SELECT coalesce(max(id), 0) FROM manifests))",
        params![order.id.source, order.id.number, order.state.word(), to_doc("order", &head)?],
    )?;
    for (line, place) in order.lines.iter().zip(0..) {
        put_line(db, &order.id, line, place)?;
    }
    rewording::note_together(db, &order.id, &order.lines)?;
    Ok(Change::New)
}

fn put_line(db: &Connection, id: &OrderId, line: &OrderLine, place: i64) -> Result<(), LedgerError> {
    db.execute(
        "INSERT INTO order_lines (source, number, line, place, quantity, doc) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
         ON CONFLICT (source, number, line) DO UPDATE SET quantity = ?5, doc = ?6, told = 1",
        params![id.source, id.number, line.line, place, line.quantity, to_doc("order line", line)?],
    )?;
    Ok(())
}

/// Joins a telling of an order to what is known of it, and notes what is other.
fn join(db: &Connection, before: &Order, told: &Order) -> Result<Change, LedgerError> {
    let head = joined(before, Order { lines: Vec::new(), ..told.clone() });
    let mut what = identity::differences(before, &head);
    let mut same = *before == head;
    if !same {
        db.execute(
            "UPDATE orders SET state = ?3, doc = ?4 WHERE source = ?1 AND number = ?2",
            params![head.id.source, head.id.number, head.state.word(), to_doc("order", &head)?],
        )?;
    }
    note_whose_cancelling(db, before, told)?;
    let known = lines(db, &head.id)?;
    let told_lines = rewording::under_known_keys(&told.lines, &known);
    for (line, place) in told_lines.iter().zip(0..) {
        match known.iter().find(|known| known.line.line == line.line) {
            None => what.push(format!("also {line}")),
            Some(known) if known.line == *line && known.told => continue,
            Some(known) if known.line.quantity != line.quantity => {
                what.push(format!("{line}, was {}", known.line.quantity));
            }
            Some(known) if !known.told && !known.in_parcels => what.push(format!("{line} again")),
            // A row of the source's own number, with other goods in it.
            Some(known) if !wording::agree(&known.line, line) => {
                what.push(format!("{line}, was {}", known.line.words()));
            }
            Some(_) => {}
        }
        same = false;
        put_line(db, &head.id, line, place)?;
    }
    for gone in known.iter().filter(|known| known.told && !told_lines.iter().any(|line| line.line == known.line.line)) {
        same = false;
        if !gone.in_parcels && !gone.instead {
            what.push(format!("no word of {} in its latest export", gone.line));
        }
        db.execute(
            "UPDATE order_lines SET told = 0 WHERE source = ?1 AND number = ?2 AND line = ?3",
            params![head.id.source, head.id.number, gone.line.line],
        )?;
    }
    rewording::note_together(db, &head.id, &told_lines)?;
    rewording::put_back(db, &head.id)?;
    for what in what {
        // What changed before any manifest told of the order is no change to whoever reads them.
        db.execute(
            "INSERT INTO order_changes (source, number, what) SELECT source, number, ?3 FROM orders
             WHERE source = ?1 AND number = ?2 AND after_manifest < (SELECT coalesce(max(id), 0) FROM manifests)",
            params![head.id.source, head.id.number, what],
        )?;
    }
    Ok(if same { Change::Same } else { Change::Changed })
}

pub(super) struct KnownLine {
    pub(super) line: OrderLine,
    /// Whether the latest telling had it.
    told: bool,
    /// Whether all of it is in parcels: a source that lists only what is still to go leaves such a line out.
    in_parcels: bool,
    /// Whether another goes instead of it.
    instead: bool,
}

fn lines(db: &Connection, id: &OrderId) -> Result<Vec<KnownLine>, LedgerError> {
    let mut statement = db.prepare(
        "SELECT l.doc, l.told, l.quantity <= (
            SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
            WHERE i.source = l.source AND i.number = l.number AND i.line = l.line AND p.state <> 'cancelled'),
            l.off IS 'instead'
         FROM order_lines l WHERE l.source = ?1 AND l.number = ?2 ORDER BY l.place, l.line",
    )?;
    let rows = statement
        .query_map(params![id.source, id.number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let rows: Vec<(String, bool, bool, bool)> = rows.collect::<Result<_, _>>()?;
    let line = |(doc, told, in_parcels, instead): (String, bool, bool, bool)| {
        Ok(KnownLine { line: from_doc("order line", &doc)?, told, in_parcels, instead })
    };
    rows.into_iter().map(line).collect()
}

/// That the source itself calls off what the seller did already: then only the source can take it back.
fn note_whose_cancelling(db: &Connection, before: &Order, told: &Order) -> Result<(), LedgerError> {
    if !told.state_told {
        return Ok(());
    }
    let state = told.state.word();
    let off = matches!(told.state, OrderState::Refunded | OrderState::Cancelled);
    db.execute(
        "UPDATE orders SET cancelled_from = CASE
            WHEN ?3 THEN NULL
            WHEN cancelled_from = 'sent' OR (cancelled_from = 'part-refunded' AND ?4 <> 'sent')
              OR (cancelled_from = 'open' AND ?4 = 'unpaid' AND ?5) THEN cancelled_from
            ELSE ?4 END
         WHERE source = ?1 AND number = ?2 AND cancelled_from IS NOT NULL",
        params![told.id.source, told.id.number, off, state, before.state_told],
    )?;
    Ok(())
}

/// What the later telling says, and where it is silent, what the earlier one said: a source's export need not have all
/// its columns every time, and a field that is not there unsays nothing.
fn joined(before: &Order, after: Order) -> Order {
    let before = before.clone();
    let state = match (before.state_told, after.state_told) {
        (true, false) => before.state,
        // Open only for want of a word.
        (false, true) if before.state == OrderState::Open => after.state,
        (true | false, true) | (false, false) => before.state.max(after.state),
    };
    Order {
        state,
        state_told: before.state_told || after.state_told,
        recipient: joined_recipient(before.recipient, after.recipient),
        apart: after.apart || before.apart,
        placed_at: after.placed_at.or(before.placed_at),
        paid_at: after.paid_at.or(before.paid_at),
        buyer: after.buyer.or(before.buyer),
        postage_charged: after.postage_charged.or(before.postage_charged),
        tax: after.tax.or(before.tax),
        discount: after.discount.or(before.discount),
        total: after.total.or(before.total),
        gift: after.gift || before.gift,
        gift_message: after.gift_message.or(before.gift_message),
        note: after.note.or(before.note),
        ship_by: after.ship_by.or(before.ship_by),
        ..after
    }
}

/// As [`joined`]. What stood below a street stays only with that street: a new address is taken as it is written.
fn joined_recipient(before: Recipient, after: Recipient) -> Recipient {
    fn or(after: String, before: &str) -> String {
        if after.is_empty() { before.to_owned() } else { after }
    }
    let email = after.email.clone().or_else(|| before.email.clone());
    let name = or(after.name.clone(), &before.name);
    let same = |one: &str, other: &str| one.is_empty() || one.eq_ignore_ascii_case(other);
    let left_out = after.lines.len() < before.lines.len()
        && after.lines.iter().zip(&before.lines).all(|(one, other)| same(one, other));
    let same_street = left_out
        || after.lines.iter().map(|line| line.to_lowercase()).eq(before.lines.iter().map(|line| line.to_lowercase()));
    let same_town = same(&after.city, &before.city)
        && same(&after.region, &before.region)
        && same(&after.postal_code, &before.postal_code);
    if !(same_street && same_town) {
        return Recipient { name, email, ..after };
    }
    let names_country = after.country.is_some() || after.country_as_written.is_some();
    Recipient {
        name,
        email,
        company: after.company.or(before.company),
        lines: if left_out { before.lines } else { after.lines },
        city: or(after.city, &before.city),
        region: or(after.region, &before.region),
        postal_code: or(after.postal_code, &before.postal_code),
        country: if names_country { after.country } else { before.country },
        country_as_written: if names_country { after.country_as_written } else { before.country_as_written },
    }
}

/// The goods of an order: of lines that go instead of one another, those that go.
pub(super) fn goods_of(db: &Connection, id: &OrderId) -> Result<Vec<OrderLine>, LedgerError> {
    Ok(lines(db, id)?.into_iter().filter(|known| !known.instead).map(|known| known.line).collect())
}
