//! What is due: the snapshot that a plan is made from.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rusqlite::{OptionalExtension, Row, params};

use crate::model::catalogue::Code;
use crate::model::day::{DayPlan, Expected, Question, QuestionId, QuestionKind, TakenOff, Waiting};
use crate::model::drop::DateOrder;
use crate::model::order::{Order, OrderId, OrderLine, OrderState};
use crate::model::parcel::Invoice;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::model::trade::{Trade, TradeId};
use crate::plan::identity;
use crate::plan::likeness::known::Known;
use crate::plan::snapshot::{Asked, DueOrder, DueTrade, Next, Reused, SellerHold, Snapshot};

use super::lists::split;
use super::{Counts, Ledger, LedgerError, from_doc, on_the_table, orders, parsed, since_count, to_u32};

/// What of an order is due.
#[derive(Default)]
struct DueLines {
    lines: Vec<OrderLine>,
    already_in: Vec<String>,
    formerly_in: Vec<String>,
    untold: Vec<String>,
    ordered: BTreeMap<String, u32>,
    never_listed: Vec<OrderLine>,
    all: Vec<OrderLine>,
}

impl Ledger {
    /// The state of things for the plan of `date`.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn snapshot(&self, date: Date, counts: &Counts, waiting: Vec<Waiting>) -> Result<Snapshot, LedgerError> {
        self.snapshot_without(date, counts, waiting, Vec::new())
    }

    /// The same, as if these parcels had been cancelled: what of them still goes is due. Nothing is changed.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn snapshot_without(
        &self,
        date: Date,
        counts: &Counts,
        waiting: Vec<Waiting>,
        taken_off: Vec<TakenOff>,
    ) -> Result<Snapshot, LedgerError> {
        // Never committed: it is rolled back when it goes.
        let _as_if = self.db.unchecked_transaction()?;
        on_the_table::take_off(&self.db, &taken_off)?;
        Ok(Snapshot {
            taken_off,
            orders: self.due_orders()?,
            trades: self.due_trades()?,
            holds: self.holds()?,
            asked: self.asked()?,
            promised: self.promised(counts)?,
            mailers_taken: self.mailers_taken(counts)?,
            expected: self.expected()?,
            refused: self.untold_refusals()?,
            waiting,
            remarks: self.untold_remarks()?,
            changed: self.untold_changes()?,
            who: self.who_is_who()?,
            open_parcels: self.open_parcels()?,
            reused: self.reused_numbers()?,
            twins: self.twins()?,
            pictures: self.untied_pictures()?,
            handoff_days: self.handoff_days()?,
            told_twice: self.told_twice()?,
            called_off: self.called_off()?,
            said: self.untold_said()?,
            scale_days: self.scale_days(date)?,
            mailers_by_day: self.mailers_by_day(date)?,
            next: Next {
                revision: 1 + self.number("SELECT coalesce(max(revision), 0) FROM manifests WHERE date = ?1", date)?,
                parcel: 1 + self.number("SELECT count(*) FROM parcels WHERE listed_on = ?1", date)?,
                invoice: 1 + self.top("SELECT coalesce(max(invoice), 0) FROM invoices")?,
                question: 1 + self.top("SELECT coalesce(max(id), 0) FROM questions")?,
            },
        })
    }

    /// The latest plan recorded for a date.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn last_plan(&self, date: Date) -> Result<Option<DayPlan>, LedgerError> {
        let plan: Option<String> = self
            .db
            .query_row(
                "SELECT plan FROM manifests WHERE date = ?1 ORDER BY revision DESC LIMIT 1",
                [date.to_string()],
                |row| row.get(0),
            )
            .optional()?;
        plan.map(|plan| from_doc("plan", &plan)).transpose()
    }

    fn number(&self, sql: &str, date: Date) -> Result<u32, LedgerError> {
        Ok(to_u32(self.db.query_row(sql, [date.to_string()], |row| row.get(0))?))
    }

    fn top(&self, sql: &str) -> Result<u32, LedgerError> {
        Ok(to_u32(self.db.query_row(sql, [], |row| row.get(0))?))
    }

    /// Rows of a query, each made by `make`.
    pub(super) fn rows<T>(
        &self,
        sql: &str,
        make: impl FnMut(&Row<'_>) -> Result<T, LedgerError>,
    ) -> Result<Vec<T>, LedgerError> {
        self.rows_of(sql, [], make)
    }

    /// Rows of a query with parameters, each made by `make`.
    pub(super) fn rows_of<T>(
        &self,
        sql: &str,
        params: impl rusqlite::Params,
        mut make: impl FnMut(&Row<'_>) -> Result<T, LedgerError>,
    ) -> Result<Vec<T>, LedgerError> {
        let mut statement = self.db.prepare(sql)?;
        let mut found = statement.query(params)?;
        let mut all = Vec::new();
        while let Some(row) = found.next()? {
            all.push(make(row)?);
        }
        Ok(all)
    }

    pub(super) fn due_orders(&self) -> Result<Vec<DueOrder>, LedgerError> {
        let mut lines: BTreeMap<OrderId, DueLines> = BTreeMap::new();
        let tellings = self.tellings_of_lines()?;
        self.rows(
            "SELECT l.source, l.number, l.doc,
                    coalesce(sum(CASE WHEN p.state <> 'cancelled' THEN i.quantity END), 0),
                    group_concat(DISTINCT CASE WHEN p.state <> 'cancelled' THEN p.ref END), l.told,
                    group_concat(DISTINCT CASE WHEN p.state = 'cancelled' THEN p.ref END), l.listed, l.off IS NOT NULL
             FROM order_lines l
             LEFT JOIN parcel_items i ON i.source = l.source AND i.number = l.number AND i.line = l.line
             LEFT JOIN parcels p ON p.id = i.parcel_id
             GROUP BY l.source, l.number, l.line ORDER BY l.source, l.number, l.place, l.line",
            |row| {
                let id = OrderId { source: row.get(0)?, number: row.get(1)? };
                let line: OrderLine = from_doc("order line", &row.get::<_, String>(2)?)?;
                let sent = to_u32(row.get(3)?);
                let refs: Option<String> = row.get(4)?;
                let due = lines.entry(id).or_default();
                let off: bool = row.get(8)?;
                let quantity = if off { 0 } else { line.quantity.saturating_sub(sent) };
                if !off {
                    due.all.push(line.clone());
                }
                if quantity > 0 {
                    let new = quantity.min(line.quantity.saturating_sub(to_u32(row.get(7)?)));
                    if new > 0 {
                        due.never_listed.push(OrderLine { quantity: new, ..line.clone() });
                    }
                    if !row.get::<_, bool>(5)? {
                        due.untold.push(line.line.clone());
                    }
                    due.ordered.insert(line.line.clone(), line.quantity);
                    due.lines.push(OrderLine { quantity, ..line });
                }
                let formerly: Option<String> = row.get(6)?;
                for (refs, all) in
                    [(refs, &mut due.already_in), (formerly.filter(|_| quantity > 0), &mut due.formerly_in)]
                {
                    for parcel in refs.iter().flat_map(|refs| refs.split(',')) {
                        if !all.iter().any(|known| known == parcel) {
                            all.push(parcel.to_owned());
                        }
                    }
                }
                Ok(())
            },
        )?;
        let orders = self.rows(
            "SELECT doc, state FROM orders
             WHERE state IN ('open', 'unpaid', 'part-refunded') AND same_as IS NULL ORDER BY source, number",
            |row| {
                let order: Order = from_doc("order", &row.get::<_, String>(0)?)?;
                Ok(Order { state: parsed::<OrderState>("order state", &row.get::<_, String>(1)?)?, ..order })
            },
        )?;
        let mut invoices = self.invoices()?;
        let mut all = Vec::new();
        for order in orders {
            let due = lines.remove(&order.id).unwrap_or_default();
            let invoice = invoices.remove(&order.id);
            if due.lines.is_empty() {
                continue;
            }
            let unpacked = invoice.is_some() && !due.already_in.is_empty() && !due.formerly_in.is_empty();
            let rivals = tellings.get(&order.id).map(|told| never_together(&due.lines, told)).unwrap_or_default();
            all.push(DueOrder {
                lacks_invoice: unpacked && !self.has_its_invoice(&order.id)?,
                order: Order { lines: due.lines, ..order },
                never_listed: due.never_listed,
                all_lines: due.all,
                ordered: due.ordered,
                already_in: due.already_in,
                untold: due.untold,
                rivals,
                formerly_in: due.formerly_in,
                invoice,
            });
        }
        Ok(all)
    }

    fn invoices(&self) -> Result<BTreeMap<OrderId, Invoice>, LedgerError> {
        let rows = self.rows("SELECT source, number, invoice, issued_on FROM invoices", |row| {
            let order = OrderId { source: row.get(0)?, number: row.get(1)? };
            let issued_on = parsed("date", &row.get::<_, String>(3)?)?;
            Ok((order.clone(), Invoice { number: row.get(2)?, order, issued_on }))
        })?;
        Ok(rows.into_iter().collect())
    }

    pub(super) fn due_trades(&self) -> Result<Vec<DueTrade>, LedgerError> {
        self.rows(
            "SELECT id, doc, arrived_on, (
                SELECT group_concat(DISTINCT p.ref) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                WHERE i.trade_id = t.id AND p.state = 'cancelled'), (
                SELECT json_group_object(item, left) FROM trade_items_due d WHERE d.trade_id = t.id)
             FROM trades t
             WHERE state = 'open' AND EXISTS (SELECT 1 FROM trade_items_due d WHERE d.trade_id = t.id) ORDER BY id",
            |row| {
                let arrived: Option<String> = row.get(2)?;
                let trade: Trade = from_doc("trade", &row.get::<_, String>(1)?)?;
                let due: BTreeMap<u32, u32> = from_doc("what is due of a trade", &row.get::<_, String>(4)?)?;
                Ok(DueTrade {
                    id: TradeId(row.get(0)?),
                    left: (0..).zip(&trade.send).map(|(item, _)| due.get(&item).copied().unwrap_or(0)).collect(),
                    trade,
                    arrived_on: arrived.map(|day| parsed("date", &day)).transpose()?,
                    formerly_in: split(row.get(3)?),
                })
            },
        )
    }

    fn holds(&self) -> Result<BTreeMap<SendingId, SellerHold>, LedgerError> {
        let rows = self.rows("SELECT id, until, note, waits_for FROM holds", |row| {
            let until: Option<String> = row.get(1)?;
            let until = until.map(|day| parsed("date", &day)).transpose()?;
            let id = parsed("held id", &row.get::<_, String>(0)?)?;
            let waits_for: Option<String> = row.get(3)?;
            let waits_for = waits_for.map(|other| parsed("held id", &other)).transpose()?;
            Ok((id, SellerHold { until, note: row.get(2)?, waits_for }))
        })?;
        Ok(rows.into_iter().collect())
    }

    fn asked(&self) -> Result<BTreeMap<Subject, Asked>, LedgerError> {
        let rows = self.rows("SELECT id, doc, answer FROM questions", |row| {
            let question: Question = from_doc("question", &row.get::<_, String>(1)?)?;
            let answer: Option<String> = row.get(2)?;
            let reply = answer.map(|answer| read_reply(&question.subject, &answer)).transpose()?;
            Ok((question.subject, Asked { id: QuestionId(row.get(0)?), reply }))
        })?;
        Ok(rows.into_iter().collect())
    }

    /// Answers to questions of one kind, in the order they were given.
    fn replies(&self, kind: QuestionKind) -> Result<Vec<(Subject, Reply)>, LedgerError> {
        self.rows_of(
            "SELECT doc, answer FROM questions WHERE kind = ?1 AND answer IS NOT NULL ORDER BY answered_at, id",
            [kind.word()],
            |row| {
                let question: Question = from_doc("question", &row.get::<_, String>(0)?)?;
                let reply = read_reply(&question.subject, &row.get::<_, String>(1)?)?;
                Ok((question.subject, reply))
            },
        )
    }

    fn promised(&self, counts: &Counts) -> Result<BTreeMap<Code, u32>, LedgerError> {
        let sql = "SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                   WHERE i.code = ?1 AND p.id > ?2 AND p.state <> 'cancelled'";
        let counted = |(code, counted): (&Code, &u32)| {
            since_count(&self.db, "article", &code.0, *counted, sql).map(|taken| (code.clone(), taken))
        };
        counts.articles.iter().map(counted).collect()
    }

    fn mailers_taken(&self, counts: &Counts) -> Result<BTreeMap<String, u32>, LedgerError> {
        let sql = "SELECT count(*) FROM parcels WHERE mailer = ?1 AND id > ?2 AND state <> 'cancelled'";
        let counted = |(code, counted): (&String, &u32)| {
            since_count(&self.db, "mailer", code, *counted, sql).map(|taken| (code.clone(), taken))
        };
        counts.mailers.iter().map(counted).collect()
    }

    fn expected(&self) -> Result<Vec<Expected>, LedgerError> {
        let rows =
            self.rows("SELECT id, doc FROM trades WHERE state = 'open' AND arrived_on IS NULL ORDER BY id", |row| {
                let trade: Trade = from_doc("trade", &row.get::<_, String>(1)?)?;
                Ok(Expected { id: TradeId(row.get(0)?), trade })
            })?;
        Ok(rows.into_iter().filter(|expected| !expected.trade.get.is_empty()).collect())
    }

    /// Answers in the order they were given: the last word on two recipients holds.
    fn who_is_who(&self) -> Result<Known, LedgerError> {
        let mut known = Known::default();
        for answered in self.replies(QuestionKind::SameRecipient)? {
            if let (Subject::SameRecipient { spellings }, Reply::SameRecipient(said)) = answered {
                known.learn(&spellings, &said);
            }
        }
        Ok(known)
    }

    fn reused_numbers(&self) -> Result<Vec<Reused>, LedgerError> {
        self.rows(
            "SELECT r.doc, r.mark, o.doc FROM reused_numbers r
             JOIN orders o ON o.source = r.source AND o.number = r.number
             WHERE r.verdict IS NULL ORDER BY r.source, r.number, r.mark",
            |row| {
                let order: Order = from_doc("order", &row.get::<_, String>(0)?)?;
                let before: Order = from_doc("order", &row.get::<_, String>(2)?)?;
                Ok(Reused { order, mark: row.get(1)?, before: before.recipient })
            },
        )
    }

    /// Orders that another source has under the same number, for what may be the same recipient, and the same goods:
    /// the one to ask about, and the other, which is the one in a parcel if one is; so that the order of drops changes
    /// nothing.
    fn twins(&self) -> Result<BTreeMap<OrderId, OrderId>, LedgerError> {
        let rows = self.rows(
            "SELECT source, number, doc FROM orders o
             WHERE same_as IS NULL AND state NOT IN ('refunded', 'cancelled') AND EXISTS (
                SELECT 1 FROM orders p WHERE p.number = o.number AND p.source <> o.source)
             ORDER BY NOT EXISTS (
                SELECT 1 FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
                WHERE i.source = o.source AND i.number = o.number AND p.state <> 'cancelled'), source, number",
            |row| {
                let order: Order = from_doc("order", &row.get::<_, String>(2)?)?;
                Ok((OrderId { source: row.get(0)?, number: row.get(1)? }, order.recipient))
            },
        )?;
        let goods: Vec<Vec<OrderLine>> =
            rows.iter().map(|(id, _)| orders::goods_of(&self.db, id)).collect::<Result<_, _>>()?;
        let told: Vec<_> = rows.iter().zip(&goods).collect();
        let mut twins = BTreeMap::new();
        for (place, ((id, to), goods)) in told.iter().enumerate() {
            for ((older, other), theirs) in told.iter().take(place).filter(|((older, _), _)| older.number == id.number)
            {
                let alike = !identity::is_another_recipient(to, other) && identity::same_goods(goods, theirs);
                if alike && !twins.contains_key(older) {
                    twins.entry(id.clone()).or_insert_with(|| older.clone());
                }
            }
        }
        Ok(twins)
    }

    /// By source, the order of day and month in its dates, as the seller answered.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn date_orders(&self) -> Result<BTreeMap<String, DateOrder>, LedgerError> {
        let mut orders = BTreeMap::new();
        for answered in self.replies(QuestionKind::Dates)? {
            if let (Subject::Dates { source }, Reply::Dates(said)) = answered {
                let order = match said {
                    reply::Dates::DayFirst => DateOrder::Dmy,
                    reply::Dates::MonthFirst => DateOrder::Mdy,
                };
                orders.insert(source, order);
            }
        }
        Ok(orders)
    }
}

/// Any two of the lines that none of the files' sets of keys holds both of.
fn never_together(lines: &[OrderLine], told: &[BTreeSet<String>]) -> Vec<(String, String)> {
    let mut rivals = Vec::new();
    for (place, one) in lines.iter().enumerate() {
        for other in lines.iter().skip(place + 1) {
            if !told.iter().any(|set| set.contains(&one.line) && set.contains(&other.line)) {
                rivals.push((one.line.clone(), other.line.clone()));
            }
        }
    }
    rivals
}

/// An answer as it was kept: it was one of the question's choices.
fn read_reply(subject: &Subject, answer: &str) -> Result<Reply, LedgerError> {
    Reply::read(subject, answer).map_err(|error| LedgerError::Record { what: "answer", why: error.to_string() })
}

/// The ledger's own key of the latest parcel: counts that are noted now stand after it.
pub(super) fn last_parcel(db: &rusqlite::Connection) -> Result<i64, LedgerError> {
    Ok(db.query_row("SELECT coalesce(max(id), 0) FROM parcels", params![], |row| row.get(0))?)
}
