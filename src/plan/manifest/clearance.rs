//! Which orders and trades are clear to go, and what holds the others.
//!
//! Each due order or trade comes out once: as [`Clear`] with its articles found, or as [`Held`] with the first
//! reason that applies, in the order in which a person would look: is it paid, did I say wait, is the address
//! right, do I know the things, do I have them. An order goes whole or not at all: half a parcel sent on a
//! guess costs a second postage.

mod drawer;
mod partly;
mod reworded;

use jiff::civil::Date;

use crate::model::catalogue::{Article, Code, Kind, NoArticle};
use crate::model::day::{Held, HoldReason};
use crate::model::money::{Currency, Money};
use crate::model::order::{Order, OrderLine, OrderState};
use crate::model::parcel::{For, Item};
use crate::model::recipient::Recipient;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::model::trade::{First, Trade};
use crate::plan::calendar;
use crate::plan::likeness::standard;
use crate::plan::snapshot::{DueOrder, DueTrade, Rules, Snapshot};
use crate::plan::wishes;

use super::questions::Questions;
use super::{buyers, identity, table};
use drawer::Drawer;
use reworded::OneWording;

/// What is to be done for somebody.
pub(super) enum Deed {
    Order(Box<DueOrder>),
    Trade(Box<DueTrade>),
}

/// An order or trade that can go today.
pub(super) struct Clear {
    pub(super) deed: Deed,
    pub(super) recipient: Recipient,
    pub(super) items: Vec<Item>,
    pub(super) ship_by: Date,
    /// The last day on or before `ship_by` on which it can be handed over.
    pub(super) hand_over_by: Date,
    pub(super) ship_by_why: String,
    pub(super) currency: Currency,
    /// Who bought, where that is another than who receives it: their papers go in nobody else's parcel.
    pub(super) buyer: Option<String>,
    /// The words by which the buyer or partner wishes it to go by itself.
    pub(super) wish: Option<String>,
    /// What else to say of how this came about.
    pub(super) why: Vec<String>,
}

struct No {
    reason: HoldReason,
    text: String,
    until: Option<Date>,
}

impl No {
    fn new(reason: HoldReason, text: impl Into<String>) -> Self {
        Self { reason, text: text.into(), until: None }
    }
}

/// An item asked for: the words for it, how many, and what for.
struct Wanted<'a> {
    code: Option<&'a str>,
    title: &'a str,
    quantity: u32,
    for_: For,
    options: Option<&'a str>,
    unit_value: Option<Money>,
}

pub(super) fn clear<'a>(
    snapshot: &'a Snapshot,
    rules: &'a Rules<'a>,
    date: Date,
    questions: &mut Questions<'a>,
) -> (Vec<Clear>, Vec<Held>) {
    let mut desk = Desk { snapshot, rules, date, questions, rest: Vec::new(), left: Drawer::default() };
    let mut clear = Vec::new();
    let mut held = Vec::new();
    for deed in by_date(snapshot) {
        let (id, recipient, ship_by) = match deed {
            Due::Order(due) => {
                (SendingId::from(due.order.id.clone()), &due.order.recipient, desk.order_ship_by(&due.order).0)
            }
            Due::Trade(due) => (due.id.into(), &due.trade.with, desk.trade_ship_by(&due.trade).0),
        };
        let outcome = match deed {
            Due::Order(due) => desk.order(due),
            Due::Trade(due) => desk.trade(due),
        };
        match outcome {
            Ok(deed) => clear.push(deed),
            Err(no) => held.push(Held {
                id,
                name: recipient.name.clone(),
                reason: no.reason,
                text: no.text,
                until: no.until,
                ship_by: Some(ship_by),
            }),
        }
    }
    held.append(&mut desk.rest);
    (clear, held)
}

#[derive(Clone, Copy)]
enum Due<'a> {
    Order(&'a DueOrder),
    Trade(&'a DueTrade),
}

/// First come, first served: what is in the drawer goes to the oldest order or trade.
fn by_date(snapshot: &Snapshot) -> Vec<Due<'_>> {
    let orders = snapshot.orders.iter().map(|due| {
        let day = due.order.paid_at.or(due.order.placed_at).unwrap_or(Date::MAX);
        ((day, SendingId::from(due.order.id.clone())), Due::Order(due))
    });
    let trades = snapshot.trades.iter().map(|due| ((due.trade.agreed, due.id.into()), Due::Trade(due)));
    let mut all: Vec<((Date, SendingId), Due<'_>)> = orders.chain(trades).collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all.into_iter().map(|(_, due)| due).collect()
}

struct Desk<'a, 'q> {
    snapshot: &'a Snapshot,
    rules: &'a Rules<'a>,
    date: Date,
    questions: &'q mut Questions<'a>,
    /// What stays behind of orders of which a part goes.
    rest: Vec<Held>,
    /// What there is, and for whom it is kept.
    left: Drawer,
}

impl<'a> Desk<'a, '_> {
    fn order(&mut self, due: &DueOrder) -> Result<Clear, No> {
        let order = &due.order;
        let id = SendingId::from(order.id.clone());
        if order.state == OrderState::Unpaid {
            return Err(No::new(HoldReason::Unpaid, "not paid yet; goes once the source says it is"));
        }
        self.seller_hold(&id)?;
        self.identity(order)?;
        let OneWording { due, mut why } = self.one_wording(due)?;
        let (due, order) = (&due, &due.order);
        let recipient = self.address(&order.recipient, &id, "mend it at the source and drop the export again")?;
        let mut goes: Vec<&OrderLine> = order.lines.iter().collect();
        let without_added: Vec<OrderLine>;
        if order.state == OrderState::PartRefunded {
            goes = self.part_refunded(due)?;
        } else if !due.already_in.is_empty() && !due.never_listed.is_empty() && !self.is_rest(due) {
            without_added = self.changed(due)?;
            goes = without_added.iter().collect();
        }
        let wanted: Vec<Wanted<'_>> = goes
            .iter()
            .map(|line| Wanted {
                code: line.code.as_deref(),
                title: &line.title,
                quantity: line.quantity,
                for_: For::Order { order: order.id.clone(), line: line.line.clone() },
                options: line.options.as_deref(),
                unit_value: line.unit_price,
            })
            .collect();
        let (ship_by, promise) = self.order_ship_by(order);
        let (hand_over_by, ship_by_why) = self.hand_over_by(ship_by, promise);
        let wish = self.wish(order, hand_over_by, &mut why)?;
        let items = match self.items(&id, &wanted) {
            Err(no) if no.reason == HoldReason::Stock => {
                let items = self.part_of(due, &goes, &wanted, no);
                self.keep(&id, &wanted, items.as_deref().unwrap_or_default());
                items?
            }
            items => items?,
        };
        let buyer = order.buyer.clone().filter(|buyer| !buyers::is_one(buyer, &recipient.name));
        why.extend(buyer.iter().map(|buyer| format!("bought by {buyer}: shares no parcel with what others bought")));
        Ok(Clear {
            buyer,
            wish,
            why,
            recipient,
            items,
            ship_by,
            hand_over_by,
            ship_by_why,
            currency: order.currency,
            // What was paid back and doesn't go stands on no paper.
            deed: Deed::Order(Box::new(if order.state == OrderState::PartRefunded {
                let lines = goes.into_iter().cloned().collect();
                DueOrder { order: Order { lines, ..order.clone() }, ..due.clone() }
            } else {
                due.clone()
            })),
        })
    }

    fn trade(&mut self, due: &DueTrade) -> Result<Clear, No> {
        let id = SendingId::from(due.id);
        self.seller_hold(&id)?;
        match (due.trade.first, due.arrived_on) {
            (First::Them, None) => {
                return Err(No::new(
                    HoldReason::TheirsFirst,
                    "they post first; goes once their half is recorded as arrived in incoming.csv",
                ));
            }
            (First::Them, Some(_)) | (First::Me | First::Together, _) => {}
        }
        let recipient = self.address(&due.trade.with, &id, "mend the confirmation and drop it again")?;
        self.trade_as_it_lies(due)?;
        let wanted: Vec<Wanted<'_>> = due
            .trade
            .send
            .iter()
            .zip(&due.left)
            .zip(0..)
            .filter(|((_, left), _)| **left > 0)
            .map(|((item, left), place)| Wanted {
                code: None,
                title: &item.what,
                quantity: *left,
                for_: For::Trade { trade: due.id, item: place },
                options: None,
                unit_value: item.value,
            })
            .collect();
        let mut keeps = false;
        let items = self.items(&id, &wanted).inspect_err(|no| keeps = no.reason == HoldReason::Stock);
        if keeps {
            self.keep(&id, &wanted, &[]);
        }
        let items = items?;
        let wish = due.trade.note.as_deref().and_then(wishes::plain);
        let (ship_by, promise) = self.trade_ship_by(&due.trade);
        let (hand_over_by, ship_by_why) = self.hand_over_by(ship_by, promise);
        Ok(Clear {
            recipient,
            items,
            ship_by,
            hand_over_by,
            ship_by_why,
            currency: self.rules.currency,
            buyer: None,
            wish,
            why: Vec::new(),
            deed: Deed::Trade(Box::new(due.clone())),
        })
    }

    /// Of a trade whose parts lie in other parcels as it was confirmed before, nothing more goes till the seller has said
    /// what becomes of those.
    fn trade_as_it_lies(&self, due: &DueTrade) -> Result<(), No> {
        let lies_otherwise = self.snapshot.open_parcels.iter().find(|open| {
            let mut lying = open.parcel.trades.iter();
            lying.any(|(id, listed)| *id == due.id && listed.send != due.trade.send)
        });
        let Some(open) = lies_otherwise else { return Ok(()) };
        if table::is_settled(open, self.snapshot, self.questions) {
            return Ok(());
        }
        let text = format!("changed since a part of it was listed in {}; answer the question about that", open.r#ref);
        Err(No::new(HoldReason::Question, text))
    }

    /// The address, as it may be printed: as it came, or with the one mend that is possible, once the seller has said
    /// so.
    fn address(&mut self, to: &Recipient, id: &SendingId, mend: &str) -> Result<Recipient, No> {
        let Err(doubt) = standard::check(to) else { return Ok(to.clone()) };
        let held = |text: String| No::new(HoldReason::Address, text);
        let Some(proposal) = doubt.proposal else { return Err(held(format!("{}; {mend}", doubt.text))) };
        let subject = Subject::Address { of: id.clone(), place: format!("{} {}", to.region, to.postal_code) };
        if let Some(Reply::Address(reply)) = self.questions.reply(&subject) {
            return match reply {
                reply::Address::Leave => Err(held(format!("{}; {mend}", doubt.text))),
                reply::Address::Mended(place) => {
                    let mended = mended(to, place);
                    // One mend may show the next fault.
                    standard::check(&mended).map_err(|doubt| held(format!("{}; {mend}", doubt.text)))?;
                    Ok(mended)
                }
            };
        }
        let text = format!("{id} for {}: {}. Is it `{proposal}`?", to.name, doubt.text);
        let choices = [reply::Address::Mended(proposal.clone()), reply::Address::Leave];
        self.questions.ask(subject, id.clone().into(), text, choices.map(|choice| choice.to_string()).into());
        Err(held(format!("{}; answer the question, or {mend}", doubt.text)))
    }

    fn seller_hold(&self, id: &SendingId) -> Result<(), No> {
        let Some(hold) = self.snapshot.holds.get(id) else { return Ok(()) };
        if hold.until.is_some_and(|until| until <= self.date) {
            return Ok(());
        }
        let said = hold.note.as_ref().map_or_else(|| "you held it".to_owned(), |note| format!("you held it: {note}"));
        // Whether the other can go too shows once all are looked at.
        if hold.waits_for.is_some() && hold.until.is_none() {
            return Ok(());
        }
        let release = hold.until.map_or_else(
            || format!("`dawnpack release {id}` lets it go"),
            |until| format!("goes by itself on {until}"),
        );
        Err(No { reason: HoldReason::Seller, text: format!("{said}; {release}"), until: hold.until })
    }

    /// An order that may be another source's, or whose number came for somebody else, waits for the answer.
    fn identity(&mut self, order: &Order) -> Result<(), No> {
        let reused = self.snapshot.reused.iter().find(|reused| reused.order.id == order.id);
        if let Some(reused) = reused {
            return Err(No::new(HoldReason::Question, identity::reused_text(reused)));
        }
        let Some(earlier) = self.snapshot.twins.get(&order.id) else { return Ok(()) };
        identity::ask_twin(order, earlier, self.questions).map_err(|text| No::new(HoldReason::Question, text))
    }

    /// The articles for all that is wanted, with the pieces taken from what is left; nothing is taken where any
    /// of it can't go.
    fn items(&mut self, id: &SendingId, wanted: &[Wanted<'_>]) -> Result<Vec<Item>, No> {
        let mut found = Vec::new();
        let mut first_no = None;
        for want in wanted {
            // Every line is looked at, so that all questions about an order are asked on one morning.
            match self.article(id, want).and_then(|article| self.known(id, article)) {
                Ok(article) => found.push((want, article)),
                Err(no) => first_no = first_no.or(Some(no)),
            }
        }
        if let Some(no) = first_no {
            return Err(no);
        }
        self.take_stock(id, &found)?;
        Ok(found
            .into_iter()
            .map(|(want, article)| Item {
                code: article.code.clone(),
                title: article.title.clone(),
                quantity: want.quantity,
                kind: article.kind,
                place: article.place.clone(),
                for_: want.for_.clone(),
                options: want.options.map(str::to_owned),
                unit_value: want.unit_value.or(article.price),
            })
            .collect())
    }

    fn article(&mut self, id: &SendingId, want: &Wanted<'_>) -> Result<&'a Article, No> {
        let catalogue = self.rules.catalogue;
        let words = want.code.unwrap_or(want.title);
        let none = match catalogue.find(want.code, want.title) {
            Ok(article) => return Ok(article),
            Err(none) => none,
        };
        let subject = Subject::Article { words: words.to_owned() };
        if let Some(Reply::Article(code)) = self.questions.reply(&subject)
            && let Some(article) = catalogue.get(code)
        {
            return Ok(article);
        }
        let (text, choices) = match none {
            NoArticle::Unknown => match nearest(catalogue.iter(), words) {
                near if near.is_empty() => (
                    format!(
                        "`{words}` is not in the catalogue; add it to catalogue.csv, as an article or an alias of one"
                    ),
                    near,
                ),
                near => (format!("`{words}` is not in the catalogue; which article is it?"), near),
            },
            NoArticle::Several(codes) => (
                format!("`{words}` could be any of {} articles; which is it?", codes.len()),
                codes.into_iter().map(|code| code.0).collect(),
            ),
        };
        let mend = if choices.is_empty() {
            "add it to catalogue.csv"
        } else {
            "answer the question, or add it to catalogue.csv"
        };
        self.questions.ask(subject, id.clone().into(), text, choices);
        Err(No::new(HoldReason::Article, format!("`{words}` is no single article of the catalogue; {mend}")))
    }

    /// A missing mass or size is never zero: it is a question.
    fn known(&mut self, id: &SendingId, article: &'a Article) -> Result<&'a Article, No> {
        let mut missing = Vec::new();
        if article.mass.is_none() {
            missing.push("mass_g");
        }
        if article.face().is_none() {
            missing.push(if article.kind == Kind::Carded {
                "card_width_mm, card_height_mm"
            } else {
                "width_mm, height_mm"
            });
        }
        if article.thickness.is_none() {
            missing.push("thickness_mm");
        }
        if missing.is_empty() {
            return Ok(article);
        }
        let columns = missing.join(", ");
        let text = format!("`{}` ({}): {columns} not known; fill in catalogue.csv", article.code, article.title);
        let subject = Subject::Mass { article: article.code.clone() };
        self.questions.ask(subject, id.clone().into(), text, Vec::new());
        Err(No::new(HoldReason::Mass, format!("{columns} of `{}` unknown; fill in catalogue.csv", article.code)))
    }

    /// The buyer's wish that it goes by itself, in the buyer's words. What may be one is asked; on its own day it goes by
    /// itself, which harms nobody but the purse.
    fn wish(&mut self, order: &Order, own_day: Date, why: &mut Vec<String>) -> Result<Option<String>, No> {
        let Some(note) = order.note.as_deref().filter(|_| !order.apart) else { return Ok(None) };
        if let Some(words) = wishes::plain(note) {
            return Ok(Some(words));
        }
        let Some(words) = wishes::perhaps(note) else { return Ok(None) };
        let subject = Subject::Wish { order: order.id.clone(), words: words.clone() };
        if let Some(Reply::Wish(reply)) = self.questions.reply(&subject) {
            return Ok(match reply {
                reply::Wish::Apart => Some(words),
                reply::Wish::Together => None,
            });
        }
        if own_day <= super::hand_off_day(self.rules, self.date) {
            why.push("nobody said whether the buyer's words ask for it: it goes apart".to_owned());
            return Ok(Some(words));
        }
        let text = format!("{}: the buyer wrote \"{words}\". Does it go in a parcel of its own?", order.id);
        let held = format!("{text} goes apart on {own_day} if you don't say");
        self.questions.ask(subject, SendingId::from(order.id.clone()).into(), text, reply::Wish::choices());
        Err(No { until: Some(own_day), ..No::new(HoldReason::Question, held) })
    }

    fn order_ship_by(&self, order: &Order) -> (Date, String) {
        if let Some(day) = order.ship_by {
            return (day, format!("by {day}: promised at the source"));
        }
        let days = self.rules.handling_days;
        let (from, what) = match (order.paid_at, order.placed_at) {
            (Some(paid), _) => (paid, "payment"),
            (None, Some(placed)) => (placed, "the order"),
            (None, None) => (self.date, "today, as no date is given"),
        };
        let day = calendar::add_business_days(self.rules.calendar, from, days);
        (day, format!("by {day}: {days} working days after {what} ({from})"))
    }

    /// The last day on which what is to be posted by `ship_by` is taken, and the reason with `promise` in it.
    fn hand_over_by(&self, ship_by: Date, promise: String) -> (Date, String) {
        let day = calendar::on_or_before(&[self.rules.calendar, self.rules.post], ship_by);
        if day == ship_by {
            return (day, promise);
        }
        (day, format!("{promise}; the last day before on which parcels go is {day}"))
    }

    fn trade_ship_by(&self, trade: &Trade) -> (Date, String) {
        if let Some(day) = trade.send_by {
            return (day, format!("by {day}: agreed with {}", trade.with.name));
        }
        let days = self.rules.handling_days;
        let day = calendar::add_business_days(self.rules.calendar, trade.agreed, days);
        (day, format!("by {day}: {days} working days after the agreement ({})", trade.agreed))
    }
}

/// An address with its postal code, or where that is no code, its state put right.
fn mended(to: &Recipient, answer: &str) -> Recipient {
    if answer.contains(|c: char| c.is_ascii_digit()) {
        Recipient { postal_code: answer.to_owned(), ..to.clone() }
    } else {
        Recipient { region: answer.to_owned(), ..to.clone() }
    }
}

/// Up to three codes that read most like the words, by Jaro-Winkler similarity of at least 0.8: near enough to
/// be offered, never to be taken.
fn nearest<'a>(articles: impl Iterator<Item = &'a Article>, words: &str) -> Vec<String> {
    let folded = words.to_lowercase();
    let mut scored: Vec<(f64, &Code)> = articles
        .map(|article| {
            let by_code = strsim::jaro_winkler(&folded, &article.code.0.to_lowercase());
            let by_title = strsim::jaro_winkler(&folded, &article.title.to_lowercase());
            (by_code.max(by_title), &article.code)
        })
        .filter(|(score, _)| *score >= 0.8)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    scored.into_iter().take(3).map(|(_, code)| code.0.clone()).collect()
}
