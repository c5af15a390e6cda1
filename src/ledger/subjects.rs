//! Bringing the questions of an older ledger up to date: from a kind and a text to a [`Subject`].
//!
//! Runs once, after `migrations/05-subjects.sql`. The older texts joined an id and whatever else by spaces; they are
//! read here with the help of what the ledger knows besides (the order that a question is about, that order's lines),
//! so that nothing is cut at the wrong space. Promises that every answer goes on meaning what it meant, and that an
//! answer which never had its effect is asked for again. Turned down: dropping all answers, by which the seller would be
//! asked for ever who is who.

use rusqlite::{Transaction, params};
use rusqlite_migration::{HookError, HookResult};
use serde_json::Value;

use crate::model::catalogue::Code;
use crate::model::order::{OrderId, OrderLine, Portion};
use crate::model::parcel::ParcelRef;
use crate::model::sending::SendingId;
use crate::model::subject::Subject;

use super::LedgerError;

/// A question as an older ledger has it.
struct Old {
    id: i64,
    kind: String,
    key: String,
    doc: String,
}

pub(super) fn bring_up_to_date(tx: &Transaction<'_>) -> HookResult {
    questions(tx).and_then(|()| plans(tx)).map_err(|error| HookError::Hook(error.to_string()))
}

fn questions(tx: &Transaction<'_>) -> Result<(), LedgerError> {
    let mut statement = tx.prepare("SELECT id, kind, key, doc FROM questions ORDER BY id")?;
    let old = statement
        .query_map([], |row| Ok(Old { id: row.get(0)?, kind: row.get(1)?, key: row.get(2)?, doc: row.get(3)? }))?;
    for old in old.collect::<Result<Vec<_>, _>>()? {
        let doc: Value = super::from_doc("question", &old.doc)?;
        let about = doc["about"][0].as_str();
        let Some(subject) = subject(tx, &old.kind, &old.key, about)? else {
            // About nothing that can be told: it is asked anew where it still matters.
            tx.execute("DELETE FROM questions WHERE id = ?1", [old.id])?;
            continue;
        };
        tx.execute(
            "UPDATE questions SET key = ?2,
                doc = json_set(json_remove(doc, '$.kind', '$.key'), '$.subject', json(?2)) WHERE id = ?1",
            params![old.id, super::to_doc("subject", &subject)?],
        )?;
        if !has_had_its_effect(tx, &subject)? {
            tx.execute("UPDATE questions SET answer = NULL, answered_at = NULL WHERE id = ?1", [old.id])?;
        }
    }
    Ok(())
}

/// Recorded plans have the questions that they asked, each with the number it has in the table.
fn plans(tx: &Transaction<'_>) -> Result<(), LedgerError> {
    tx.execute(
        "UPDATE manifests SET plan = json_set(plan, '$.questions', (
            SELECT json_group_array(json_set(json_remove(asked.value, '$.kind', '$.key'), '$.subject', json(q.key))
                ORDER BY asked.key)
            FROM json_each(plan, '$.questions') asked
            JOIN questions q ON q.id = CAST(substr(asked.value ->> '$.id', 3) AS INTEGER)))
         WHERE json_array_length(plan, '$.questions') > 0",
        [],
    )?;
    Ok(())
}

/// Whether the ledger shows what an answer to it would have changed; where it changes nothing at once, always.
fn has_had_its_effect(tx: &Transaction<'_>, subject: &Subject) -> Result<bool, LedgerError> {
    let wanting = |sql: &str, params: &[&dyn rusqlite::ToSql]| tx.query_row(sql, params, |row| row.get::<_, bool>(0));
    Ok(match subject {
        Subject::ReusedNumber { order, mark } => wanting(
            "SELECT NOT EXISTS (SELECT 1 FROM reused_numbers
                WHERE source = ?1 AND number = ?2 AND mark = ?3 AND verdict IS NULL)",
            &[&order.source, &order.number, mark],
        )?,
        Subject::SameOrder { newer, older } => wanting(
            "SELECT NOT EXISTS (SELECT 1 FROM orders o JOIN questions q ON q.key = ?3 AND q.answer = 'same'
                WHERE o.source = ?1 AND o.number = ?2 AND o.same_as IS NOT ?4)",
            &[&newer.source, &newer.number, &super::to_doc("subject", subject)?, &older.to_string()],
        )?,
        Subject::Article { .. }
        | Subject::Mass { .. }
        | Subject::Address { .. }
        | Subject::SameRecipient { .. }
        | Subject::Customs { .. }
        | Subject::Changed { .. }
        | Subject::PartRefunded { .. }
        | Subject::Reworded { .. }
        | Subject::Wish { .. }
        | Subject::Before { .. }
        | Subject::Dates { .. }
        | Subject::OpenParcel { .. }
        | Subject::OnTheTable { .. }
        | Subject::Part { .. }
        | Subject::HandOff { .. }
        | Subject::ReceiptPicture { .. } => true,
    })
}

/// What an older text is about; nothing where that can't be told.
fn subject(tx: &Transaction<'_>, kind: &str, key: &str, about: Option<&str>) -> Result<Option<Subject>, LedgerError> {
    let whole = key.to_owned();
    let sending = about.and_then(|about| about.parse::<SendingId>().ok());
    let order = about.and_then(|about| about.parse::<OrderId>().ok());
    // All texts with an id begin with the one that the question is about, save an open parcel's, which ends with it.
    let rest = about.and_then(|about| key.strip_prefix(about)?.strip_prefix(' '));
    Ok(match (kind, sending, order, rest) {
        ("article", ..) => Some(Subject::Article { words: whole }),
        ("mass", ..) => Some(Subject::Mass { article: Code(whole) }),
        ("same-recipient", ..) => Some(Subject::SameRecipient { spellings: whole }),
        ("customs", ..) => Some(Subject::Customs { lacks: whole }),
        ("dates", ..) => Some(Subject::Dates { source: whole }),
        ("receipt-picture", ..) => Some(Subject::ReceiptPicture { hash: whole }),
        ("address", Some(of), _, Some(place)) => Some(Subject::Address { of, place: place.to_owned() }),
        ("reused-number", _, Some(order), Some(mark)) => Some(Subject::ReusedNumber { order, mark: mark.to_owned() }),
        ("same-order", _, Some(newer), Some(rest)) => {
            rest.parse().ok().map(|older| Subject::SameOrder { newer, older })
        }
        ("open-parcel", Some(with), ..) => open_parcel(key, with),
        ("changed", _, Some(order), Some(rest)) => {
            let lines = lines(tx, &order)?;
            Some(if let Some(goods) = rest.strip_prefix("part-refunded ") {
                let (told, untold) = two_lists(goods, &lines);
                Subject::PartRefunded { order, told, untold }
            } else {
                let added = list(rest, &lines, " ", &keyed).unwrap_or_else(|| as_it_stands(rest));
                Subject::Changed { order, added }
            })
        }
        ("part", _, Some(order), Some(goods)) => {
            let (here, owed) = two_lists(goods, &lines(tx, &order)?);
            Some(Subject::Part { order, here, owed })
        }
        (_, _, _, _) => None,
    })
}

/// `1125-01 2026-11-25 stall:7`.
fn open_parcel(key: &str, with: SendingId) -> Option<Subject> {
    let (parcel, rest) = key.split_once(' ')?;
    let (listed, _) = rest.split_once(' ')?;
    Some(Subject::OpenParcel { parcel: ParcelRef(parcel.to_owned()), listed: listed.parse().ok()?, with })
}

/// A line of an order, and how many pieces of it lie in parcels.
struct Line {
    line: OrderLine,
    packed: u32,
}

impl Line {
    fn portion(&self, quantity: u32) -> Portion {
        // With what lies in parcels it makes up the line, unless the line changed since.
        let of =
            if quantity + self.packed == self.line.quantity { self.line.quantity } else { quantity.max(self.packed) };
        Portion { line: self.line.line.clone(), what: self.line.words().to_owned(), quantity, of }
    }
}

fn lines(tx: &Transaction<'_>, order: &OrderId) -> Result<Vec<Line>, LedgerError> {
    let mut statement = tx.prepare(
        "SELECT l.doc, (
            SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
            WHERE i.source = l.source AND i.number = l.number AND i.line = l.line AND p.state <> 'cancelled')
         FROM order_lines l WHERE l.source = ?1 AND l.number = ?2 ORDER BY l.place, l.line",
    )?;
    let rows = statement.query_map([&order.source, &order.number], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let rows: Vec<(String, u32)> = rows.collect::<Result<_, _>>()?;
    rows.into_iter().map(|(doc, packed)| Ok(Line { line: super::from_doc("order line", &doc)?, packed })).collect()
}

/// `1 × PUFFIN / 1 × EIDER, 2 × GULL`, where titles may hold bars and commas too.
fn two_lists(text: &str, lines: &[Line]) -> (Vec<Portion>, Vec<Portion>) {
    let both = |(at, between): (usize, &str)| {
        let (one, other) = (text.get(..at)?, text.get(at + between.len()..)?);
        Some((list(one, lines, ", ", &counted)?, list(other, lines, ", ", &counted)?))
    };
    text.match_indices(" / ").find_map(both).unwrap_or_else(|| (as_it_stands(text), Vec::new()))
}

/// What no line reads like any more: kept, so that the answer stays on record, and like nothing that is asked.
fn as_it_stands(text: &str) -> Vec<Portion> {
    vec![Portion { line: text.to_owned(), what: text.to_owned(), quantity: 0, of: 0 }]
}

/// Reads the front of a text as so many of a line, and gives the rest of it.
type Front = dyn for<'t> Fn(&'t str, &OrderLine) -> Option<(u32, &'t str)>;

/// `2 × PUFFIN`.
fn counted<'t>(text: &'t str, line: &OrderLine) -> Option<(u32, &'t str)> {
    let (count, rest) = text.split_once(" × ")?;
    Some((count.parse().ok()?, rest.strip_prefix(line.words())?))
}

/// `PUFFIN=2`.
fn keyed<'t>(text: &'t str, line: &OrderLine) -> Option<(u32, &'t str)> {
    let rest = text.strip_prefix(line.line.as_str())?.strip_prefix('=')?;
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (count, rest) = rest.split_at_checked(end)?;
    Some((count.parse().ok()?, rest))
}

/// Some of an order's lines, in their order, as a text lists them.
fn list(text: &str, lines: &[Line], between: &str, front: &Front) -> Option<Vec<Portion>> {
    if text.is_empty() {
        return Some(Vec::new());
    }
    lines.iter().enumerate().find_map(|(at, line)| {
        let (quantity, rest) = front(text, &line.line)?;
        let others = if rest.is_empty() {
            Vec::new()
        } else {
            list(rest.strip_prefix(between)?, lines.get(at + 1..)?, between, front)?
        };
        Some(std::iter::once(line.portion(quantity)).chain(others).collect())
    })
}

#[cfg(test)]
mod tests {
    use rusqlite::Connection;

    use super::*;
    use crate::ledger::{Ledger, migrations};
    use crate::model::day::{DayPlan, QuestionId};
    use crate::model::reply::{self, Reply};
    use crate::plan::likeness::known::Known;

    const ORDER: &str = r#"{"id":"stall:A 7","placed_at":null,"paid_at":null,"state":"open","buyer":null,"recipient":
        {"name":"Ines","company":null,"lines":[],"city":"","region":"","postal_code":"","country":null,
        "country_as_written":null,"email":null},"lines":[],"postage_charged":null,"tax":null,"discount":null,
        "total":null,"currency":"USD","gift":false,"gift_message":null,"note":null,"ship_by":null}"#;

    /// Number, kind, text and answer as an older ledger has them; and what it is about since.
    type Asked = (u32, &'static str, &'static str, Option<&'static str>, Option<Subject>);

    fn asked() -> Vec<Asked> {
        let order: OrderId = "stall:A 7".parse().unwrap();
        let portion =
            |line: &str, what: &str, quantity, of| Portion { line: line.into(), what: what.into(), quantity, of };
        vec![
            (1, "article", "Gul", Some("GULL"), Some(Subject::Article { words: "Gul".into() })),
            (
                2,
                "same-recipient",
                "aa/bb",
                Some("together"),
                Some(Subject::SameRecipient { spellings: "aa/bb".into() }),
            ),
            (3, "dates", "stall", Some("day-first"), Some(Subject::Dates { source: "stall".into() })),
            (
                4,
                "part",
                "stall:A 7 1 × Auk / Tern, loose / 2 × GULL",
                Some("part"),
                Some(Subject::Part {
                    order: order.clone(),
                    here: vec![portion("1", "Auk / Tern, loose", 1, 1)],
                    owed: vec![portion("2 b", "GULL", 2, 2)],
                }),
            ),
            (
                5,
                "changed",
                "stall:A 7 1=1 2 b=2",
                Some("send"),
                Some(Subject::Changed {
                    order: order.clone(),
                    added: vec![portion("1", "Auk / Tern, loose", 1, 1), portion("2 b", "GULL", 2, 2)],
                }),
            ),
            (
                6,
                "changed",
                "stall:A 7 part-refunded  / 2 × GULL",
                Some("leave"),
                Some(Subject::PartRefunded {
                    order: order.clone(),
                    told: Vec::new(),
                    untold: vec![portion("2 b", "GULL", 2, 2)],
                }),
            ),
            (
                7,
                "open-parcel",
                "1125-01 2026-11-25 stall:A 7",
                Some("apart"),
                Some(Subject::OpenParcel {
                    parcel: ParcelRef("1125-01".into()),
                    listed: "2026-11-25".parse().unwrap(),
                    with: order.clone().into(),
                }),
            ),
            (
                8,
                "address",
                "stall:A 7 MA 0199",
                Some("01999"),
                Some(Subject::Address { of: order.clone().into(), place: "MA 0199".into() }),
            ),
            // Answered, and nothing came of it: asked again.
            (
                9,
                "reused-number",
                "stall:A 7 bo/quay",
                Some("another"),
                Some(Subject::ReusedNumber { order: order.clone(), mark: "bo/quay".into() }),
            ),
            (
                10,
                "same-order",
                "stall:A 7 quay:A 7",
                Some("same"),
                Some(Subject::SameOrder { newer: order.clone(), older: "quay:A 7".parse().unwrap() }),
            ),
            // Lines that are no longer there: on record, and like nothing that is asked.
            (
                11,
                "part",
                "stall:A 7 1 × WREN / 1 × OWL",
                Some("part"),
                Some(Subject::Part { order, here: as_it_stands("1 × WREN / 1 × OWL"), owed: Vec::new() }),
            ),
            (12, "part", "nobody's", None, None),
        ]
    }

    fn old_ledger() -> Connection {
        let mut db = Connection::open_in_memory().unwrap();
        migrations().to_version(&mut db, 4).unwrap();
        let order = "INSERT INTO orders (source, number, state, doc, same_as) VALUES (?1, ?2, 'open', ?3, ?4)";
        db.execute(order, params!["stall", "A 7", ORDER, None::<String>]).unwrap();
        db.execute(order, params!["stall", "A", ORDER.replace("A 7", "A"), "7 quay:A 7"]).unwrap();
        for (place, line, code, title, quantity) in
            [(0, "1", "null", "Auk / Tern, loose", 1), (1, "2 b", r#""GULL""#, "", 2)]
        {
            let doc = format!(
                r#"{{"line":"{line}","code":{code},"title":"{title}","options":null,"quantity":{quantity},"unit_price":null}}"#
            );
            db.execute(
                "INSERT INTO order_lines VALUES ('stall', 'A 7', ?1, ?2, ?3, ?4, 1)",
                params![line, place, quantity, doc],
            )
            .unwrap();
        }
        db.execute("INSERT INTO reused_numbers VALUES ('stall', 'A 7', 'bo/quay', ?1, NULL, NULL)", [ORDER]).unwrap();
        let mut docs = Vec::new();
        for (id, kind, key, answer, _) in asked() {
            let about = match kind {
                "same-recipient" | "article" => serde_json::json!(["stall:A 7", "T-0001"]),
                "dates" => serde_json::json!(["november.csv"]),
                _ if id == 12 => serde_json::json!([]),
                _ => serde_json::json!(["stall:A 7"]),
            };
            let doc = serde_json::json!({"id": QuestionId(id), "kind": kind, "key": key, "about": about, "text": "?",
                                         "choices": []});
            db.execute(
                "INSERT INTO questions VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![id, kind, key, doc.to_string(), answer, answer.map(|_| "2026-11-25T11:30:00Z")],
            )
            .unwrap();
            docs.push(doc);
        }
        docs.pop();
        let plan = serde_json::json!({
            "date": "2026-11-25", "revision": 1, "currency": "USD", "parcels": [], "listed_earlier": [], "held": [],
            "questions": docs, "refused": [], "waiting": [], "called_off": [["stall:A 7", "cancelled"]],
            "expected": [], "supplies_low": [],
            "totals": {"parcels": 0, "items": 0, "postage": {"amount": "0", "currency": "USD"}, "mass_g": 0.0}
        });
        db.execute(
            "INSERT INTO manifests VALUES (1, '2026-11-25', 1, '2026-11-25T11:30:00Z', ?1, NULL)",
            [plan.to_string()],
        )
        .unwrap();
        for held in ["t-7", "T-0008", "stall:A 7"] {
            db.execute("INSERT INTO holds (id, held_at, waits_for) VALUES (?1, '2026-11-25T11:30:00Z', 't-9')", [held])
                .unwrap();
        }
        db
    }

    #[test]
    fn answers_of_an_old_ledger_go_on_meaning_what_they_meant() {
        let ledger = Ledger::prepare(old_ledger(), "a").unwrap();
        let snapshot =
            ledger.snapshot("2026-11-26".parse().unwrap(), &crate::ledger::Counts::default(), Vec::new()).unwrap();
        let mut known = 0;
        for (id, _, key, _, subject) in asked() {
            let Some(subject) = subject else { continue };
            let asked = snapshot.asked.get(&subject);
            assert_eq!(asked.map(|asked| asked.id), Some(QuestionId(id)), "{key}: {:#?}", snapshot.asked);
            let without_effect = matches!(id, 9 | 10);
            assert_eq!(asked.is_none_or(|asked| asked.reply.is_none()), without_effect, "{key}");
            known += 1;
        }
        assert_eq!(snapshot.asked.len(), known);
        let dates = snapshot.asked.get(&Subject::Dates { source: "stall".into() }).unwrap();
        assert_eq!(dates.reply, Some(Reply::Dates(reply::Dates::DayFirst)));
        let mut who = Known::default();
        who.learn("aa/bb", &reply::SameRecipient::Together);
        assert_eq!(snapshot.who, who, "who is who is known for ever");
        let due: Vec<String> = snapshot.orders.iter().map(|due| due.order.id.to_string()).collect();
        assert_eq!(due, ["stall:A 7"], "an order without lines is not due, and none is another's by mistake");
        let held: Vec<String> = snapshot.holds.keys().map(ToString::to_string).collect();
        assert_eq!(held, ["T-0007", "T-0008", "stall:A 7"]);
        let same_as: Option<String> =
            ledger.db.query_row("SELECT same_as FROM orders WHERE number = 'A'", [], |row| row.get(0)).unwrap();
        assert_eq!(same_as, None);
    }

    #[test]
    fn plans_of_an_old_ledger_can_be_read() {
        let ledger = Ledger::prepare(old_ledger(), "a").unwrap();
        let plan: DayPlan = ledger.last_plan("2026-11-25".parse().unwrap()).unwrap().unwrap();
        let subjects: Vec<Subject> = plan.questions.into_iter().map(|question| question.subject).collect();
        assert_eq!(subjects, asked().into_iter().filter_map(|asked| asked.4).collect::<Vec<_>>());
    }
}
