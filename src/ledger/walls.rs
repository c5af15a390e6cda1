//! What the schema itself refuses, whatever the code above it does: each wall is run against here.

use jiff::Timestamp;
use rusqlite::{Connection, params};

use super::{Ledger, LedgerError, Recorded};
use crate::model::mail::{MailState, QueuedMail};

/// An order line of two pieces, a trade of two items (three and one), and four parcels without anything in them.
fn ledger() -> Ledger {
    let ledger = Ledger::prepare(Connection::open_in_memory().unwrap(), "a").unwrap();
    ledger
        .db
        .execute_batch(
            r#"INSERT INTO orders (source, number, state, doc) VALUES ('stall', '7', 'open', '{}');
            INSERT INTO order_lines (source, number, line, place, quantity, doc) VALUES ('stall', '7', 'A', 0, 2, '{}');
            INSERT INTO trades (partner, agreed, doc) VALUES ('ines', '2026-11-20',
                '{"send": [{"quantity": 3, "what": "A"}, {"quantity": 1, "what": "B"}]}');
            INSERT INTO manifests (date, revision, recorded_at, plan) VALUES ('2026-11-25', 1, '', '{}');
            INSERT INTO parcels (manifest_id, ref, listed_on, name, mailer, state) VALUES
                (1, '1125-01', '2026-11-25', '', 'A', 'listed'), (1, '1125-02', '2026-11-25', '', 'A', 'listed'),
                (1, '1125-03', '2026-11-25', '', 'A', 'cancelled'), (1, '1125-04', '2026-11-25', '', 'A', 'cancelled');"#,
        )
        .unwrap();
    ledger
}

fn put_line(ledger: &Ledger, parcel: u32, quantity: u32) -> rusqlite::Result<usize> {
    ledger.db.execute(
        "INSERT INTO parcel_items (parcel_id, source, number, line, code, quantity)
         VALUES (?1, 'stall', '7', 'A', 'A', ?2)",
        [parcel, quantity],
    )
}

fn put_trade(ledger: &Ledger, parcel: u32, item: u32, quantity: u32) -> rusqlite::Result<usize> {
    ledger.db.execute(
        "INSERT INTO parcel_items (parcel_id, trade_id, item, code, quantity) VALUES (?1, 1, ?2, 'A', ?3)",
        [parcel, item, quantity],
    )
}

fn refused(result: rusqlite::Result<usize>) -> bool {
    result.is_err_and(|error| error.to_string().contains("would be sent twice"))
}

#[test]
fn no_line_is_on_live_parcels_for_more_than_was_ordered() {
    let ledger = ledger();
    assert!(refused(put_line(&ledger, 1, 3)));
    put_line(&ledger, 1, 1).unwrap();
    put_line(&ledger, 2, 1).unwrap();
    put_line(&ledger, 3, 2).unwrap();
    assert!(refused(ledger.db.execute("UPDATE parcel_items SET quantity = 2 WHERE parcel_id = 1", [])));
    assert!(refused(ledger.db.execute("UPDATE parcels SET state = 'listed' WHERE id = 3", [])));
}

#[test]
fn no_trade_item_is_on_live_parcels_for_more_than_was_agreed() {
    let ledger = ledger();
    put_trade(&ledger, 1, 0, 2).unwrap();
    put_trade(&ledger, 2, 0, 1).unwrap();
    put_trade(&ledger, 1, 1, 1).unwrap();
    assert!(refused(put_trade(&ledger, 2, 1, 1)));
    assert!(refused(put_trade(&ledger, 2, 2, 1)), "an item that was not agreed");
    assert!(refused(ledger.db.execute("UPDATE parcel_items SET quantity = 2 WHERE parcel_id = 2", [])));
    assert!(refused(ledger.db.execute("UPDATE parcel_items SET item = 1 WHERE parcel_id = 2", [])));
}

#[test]
fn a_cancelled_parcel_comes_back_only_where_nothing_of_it_went_again() {
    let ledger = ledger();
    put_line(&ledger, 3, 2).unwrap();
    put_trade(&ledger, 4, 1, 1).unwrap();
    let back = |parcel: u32| ledger.db.execute("UPDATE parcels SET state = 'listed' WHERE id = ?1", [parcel]);
    back(3).unwrap();
    back(4).unwrap();
    ledger.db.execute("UPDATE parcels SET state = 'cancelled' WHERE id IN (3, 4)", []).unwrap();
    put_line(&ledger, 1, 1).unwrap();
    put_trade(&ledger, 2, 1, 1).unwrap();
    assert!(refused(back(3)));
    assert!(refused(back(4)));
}

/// The source may tell an order smaller once it is in a parcel: that is told, and no reason to stop what goes on.
#[test]
fn an_order_told_smaller_after_its_listing_still_goes_its_way() {
    let ledger = ledger();
    put_line(&ledger, 1, 2).unwrap();
    put_trade(&ledger, 1, 1, 1).unwrap();
    ledger.db.execute("UPDATE order_lines SET quantity = 1", []).unwrap();
    let sent = "UPDATE parcels SET state = 'handed-over', handed_over_on = '2026-11-25' WHERE id = 1";
    assert_eq!(ledger.db.execute(sent, []), Ok(1));
    assert_eq!(ledger.db.execute("UPDATE parcel_items SET code = 'B' WHERE trade_id = 1", []), Ok(1));
}

/// A message that can't be queued stops its plan from counting as written: else the morning would be silent.
#[test]
fn a_message_that_breaks_a_rule_is_an_error_and_its_plan_stays_unfinished() {
    let mut ledger = ledger();
    let plan = r#"{"date": "2026-11-26", "revision": 1, "currency": "USD", "parcels": [], "listed_earlier": [],
        "held": [], "questions": [], "refused": [], "waiting": [], "called_off": [], "expected": [],
        "supplies_low": [], "totals": {"parcels": 0, "items": 0, "postage": {"amount": "0", "currency": "USD"}, "mass_g": 0.0}}"#;
    let recorded = Recorded { id: 1, plan: serde_json::from_str(plan).unwrap(), at: Timestamp::UNIX_EPOCH };
    let letter = |state| QueuedMail {
        id: 0,
        message_id: "a@b".to_owned(),
        subject: String::new(),
        envelope_from: String::new(),
        envelope_to: Vec::new(),
        state,
        attempts: 0,
        next_try: None,
        last_error: None,
        message: Vec::new(),
    };
    let finish = |ledger: &mut Ledger, state| ledger.finish(&recorded, &letter(state), Timestamp::UNIX_EPOCH);
    // Sent, and without the time at which it was.
    assert!(matches!(finish(&mut ledger, MailState::Sent), Err(LedgerError::Sql(_))));
    let count = |ledger: &Ledger, sql: &str| -> u32 { ledger.db.query_row(sql, params![], |row| row.get(0)).unwrap() };
    assert_eq!(count(&ledger, "SELECT count(*) FROM manifests WHERE written_at IS NOT NULL"), 0);
    finish(&mut ledger, MailState::Queued).unwrap();
    finish(&mut ledger, MailState::Queued).unwrap();
    assert_eq!(count(&ledger, "SELECT count(*) FROM mail"), 1);
}
