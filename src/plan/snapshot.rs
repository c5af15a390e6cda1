//! What a plan is made from: the ledger's state at one moment, and the seller's rules.
//!
//! Handed in whole, so that planning never asks anything back. Turned down: a trait that the planner queries,
//! which would hide from the reader what a plan depends on.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::model::address::Country;
use crate::model::calendar::WorkCalendar;
use crate::model::catalogue::{Catalogue, Code};
use crate::model::day::{CalledOff, Changed, Expected, QuestionId, Refused, Remark, TakenOff, Waiting};
use crate::model::mailer::Mailer;
use crate::model::mass::Weight;
use crate::model::money::Currency;
use crate::model::order::{Order, OrderId, OrderLine, Portion};
use crate::model::parcel::{Invoice, Parcel, ParcelRef};
use crate::model::rates::RateCard;
use crate::model::recipient::Recipient;
use crate::model::reply::Reply;
use crate::model::rules::{PackingRules, PostageRules};
use crate::model::said::Said;
use crate::model::sending::SendingId;
use crate::model::subject::{Lying, Subject};
use crate::model::trade::{Trade, TradeId};
use crate::plan::likeness::known::Known;

/// A parcel that went, by its sheets on several days.
#[derive(Clone, PartialEq, Debug)]
pub struct ToldTwice {
    /// Which.
    pub parcel: Lying,
    /// To whom.
    pub name: String,
    /// What went in it.
    pub holds: Vec<SendingId>,
    /// The days, earliest first.
    pub days: Vec<Date>,
}

/// An order that is not wholly in parcels yet.
#[derive(Clone, PartialEq, Debug)]
pub struct DueOrder {
    /// The order with only those lines, and of them only those quantities, that are in no parcel.
    pub order: Order,
    /// What of those lines never lay in a parcel: the rest was cleared before, and is due again.
    pub never_listed: Vec<OrderLine>,
    /// Whether its invoice lies in none of the parcels that other lines are in, though one was issued.
    pub lacks_invoice: bool,
    /// All its lines, for that invoice.
    pub all_lines: Vec<OrderLine>,
    /// How many pieces each of those lines has in all, by its key.
    pub ordered: BTreeMap<String, u32>,
    /// The parcels that other lines of it are in, oldest first.
    pub already_in: Vec<String>,
    /// Keys of those of its lines that the latest telling of it left out.
    pub untold: Vec<String>,
    /// Keys of any two of its lines that no file ever told of together: they may be one line in two wordings.
    pub rivals: Vec<(String, String)>,
    /// Cancelled parcels that it lay in: they are unpacked before it is packed anew.
    pub formerly_in: Vec<String>,
    /// The invoice it has, where one was issued with a parcel that was cancelled since.
    pub invoice: Option<Invoice>,
}

impl DueOrder {
    /// What of it lay in a parcel that was taken off the list since.
    #[must_use]
    pub fn listed_before(&self) -> Vec<OrderLine> {
        let new =
            |line: &OrderLine| self.never_listed.iter().find(|new| new.line == line.line).map_or(0, |new| new.quantity);
        let rest = self
            .order
            .lines
            .iter()
            .map(|line| OrderLine { quantity: line.quantity.saturating_sub(new(line)), ..line.clone() });
        rest.filter(|line| line.quantity > 0).collect()
    }

    /// What of a line of it is due, and of how many.
    #[must_use]
    pub fn portion(&self, due: &OrderLine) -> Portion {
        Portion::new(due, self.ordered.get(&due.line).copied().unwrap_or(due.quantity))
    }
}

/// An order whose number came before for somebody else, put aside until the seller says what it is.
#[derive(Clone, PartialEq, Debug)]
pub struct Reused {
    /// The order as it came now.
    pub order: Order,
    /// Stands for its recipient.
    pub mark: String,
    /// To whom the number went before.
    pub before: Recipient,
}

/// A trade of which something of my half is in no parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct DueTrade {
    /// The ledger's number.
    pub id: TradeId,
    /// The trade, whole.
    pub trade: Trade,
    /// How many pieces of each item of `send` are due, by its place: all of them, or what lay in parcels that were
    /// taken off the list since.
    pub left: Vec<u32>,
    /// Day the partner's half came.
    pub arrived_on: Option<Date>,
    /// Cancelled parcels that my half lay in.
    pub formerly_in: Vec<String>,
}

/// A hold the seller put on an order or trade.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SellerHold {
    /// Released by itself on this day.
    pub until: Option<Date>,
    /// The seller's words.
    pub note: Option<String>,
    /// The order or trade it waits for, to go with it.
    pub waits_for: Option<SendingId>,
}

/// A parcel that is listed and whose hand-off isn't recorded.
#[derive(Clone, PartialEq, Debug)]
pub struct OpenParcel {
    /// Its ref.
    pub r#ref: ParcelRef,
    /// Day it was listed.
    pub listed: Date,
    /// As it was planned.
    pub parcel: Parcel,
    /// The orders in it, as they stand now.
    pub orders: Vec<LyingOrder>,
    /// The trades in it, as they were confirmed last.
    pub trades: Vec<(TradeId, Trade)>,
    /// Cancelled parcels that what is in it lay in before.
    pub formerly: BTreeMap<SendingId, Vec<Lying>>,
}

/// An order in a listed parcel.
#[derive(Clone, PartialEq, Debug)]
pub struct LyingOrder {
    /// As it stands now.
    pub order: Order,
    /// Its lines in the parcel of which more lies in parcels than is ordered now, and how many do.
    pub too_many: Vec<(OrderLine, u32)>,
}

impl OpenParcel {
    /// By what a question knows it.
    #[must_use]
    pub fn lying(&self) -> Lying {
        Lying { parcel: self.r#ref.clone(), listed: self.listed }
    }

    /// Orders and trades in it.
    #[must_use]
    pub fn holds(&self) -> Vec<SendingId> {
        let orders = self.parcel.orders.iter().map(|order| order.id.clone().into());
        orders.chain(self.parcel.trades.iter().map(|(id, _)| (*id).into())).collect()
    }

    /// Whether nothing else may go in it: a present, or something that was wished in a parcel of its own.
    #[must_use]
    pub fn goes_alone(&self) -> bool {
        let parcel = &self.parcel;
        parcel.orders.iter().any(|order| order.gift || order.apart)
            || parcel.trades.iter().any(|(_, trade)| trade.apart)
    }
}

/// A picture of a receipt that nothing tells the hand-off of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct UntiedPicture {
    /// Hash of its bytes, by which it is known whatever its name.
    pub hash: String,
    /// Its file's name.
    pub file: String,
    /// Day it was taken in.
    pub taken_on: Date,
}

/// A question the ledger knows, open or answered.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Asked {
    /// Its number.
    pub id: QuestionId,
    /// The answer, once given.
    pub reply: Option<Reply>,
}

/// The next numbers to give out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Next {
    /// Revision of the day's manifest.
    pub revision: u32,
    /// Parcel of the day.
    pub parcel: u32,
    /// Invoice.
    pub invoice: u32,
    /// Question.
    pub question: u32,
}

/// A listed parcel and what the scale showed of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Shown {
    /// As it was planned.
    pub parcel: Parcel,
    /// As the scale showed it sealed, where it was weighed.
    pub scale: Option<Weight>,
    /// Whether a manifest has told what that says.
    pub told: bool,
}

/// The parcels of one day, of which some were weighed.
#[derive(Clone, PartialEq, Debug)]
pub struct ScaleDay {
    /// Day they were listed.
    pub listed: Date,
    /// All of them, in packing order.
    pub parcels: Vec<Shown>,
}

/// The ledger's state at one moment.
#[derive(Clone, PartialEq, Debug)]
pub struct Snapshot {
    /// Orders with something to send.
    pub orders: Vec<DueOrder>,
    /// Trades with something to send.
    pub trades: Vec<DueTrade>,
    /// Holds, by order or trade.
    pub holds: BTreeMap<SendingId, SellerHold>,
    /// Questions by what they are about.
    pub asked: BTreeMap<Subject, Asked>,
    /// Pieces that were put on parcels since an article was last counted.
    pub promised: BTreeMap<Code, u32>,
    /// Mailers that were put on parcels since they were last counted.
    pub mailers_taken: BTreeMap<String, u32>,
    /// Listed parcels that this plan takes off the list: all else is as if they were cancelled.
    pub taken_off: Vec<TakenOff>,
    /// Partners' halves that have not come.
    pub expected: Vec<Expected>,
    /// Refusals that no manifest has told yet.
    pub refused: Vec<Refused>,
    /// Files that wait in the inbox.
    pub waiting: Vec<Waiting>,
    /// What reading files chose or mended that no manifest has told yet.
    pub remarks: Vec<Remark>,
    /// Orders that were told otherwise and that no manifest has told of yet.
    pub changed: Vec<Changed>,
    /// What the seller has said of who is who.
    pub who: Known,
    /// Parcels that are listed and not handed over, by day and ref.
    pub open_parcels: Vec<OpenParcel>,
    /// Orders whose number came before for somebody else.
    pub reused: Vec<Reused>,
    /// Orders that another source had before them under the same number, with the same recipient and goods: this
    /// one, and the earlier.
    pub twins: BTreeMap<OrderId, OrderId>,
    /// Pictures of receipts to be asked about.
    pub pictures: Vec<UntiedPicture>,
    /// Days on which parcels were handed over, or were listed and may have been: the latest first.
    pub handoff_days: Vec<Date>,
    /// Parcels whose sheets say several days of hand-off.
    pub told_twice: Vec<ToldTwice>,
    /// Orders called off or paid back that no manifest has told yet, and those that lie in a parcel still.
    pub called_off: Vec<CalledOff>,
    /// What the seller said since the manifest before.
    pub said: Vec<Said>,
    /// Days of which parcels were weighed, oldest first.
    pub scale_days: Vec<ScaleDay>,
    /// Mailers that went on earlier days, by day and code.
    pub mailers_by_day: BTreeMap<Date, BTreeMap<String, u32>>,
    /// Numbers to give out.
    pub next: Next,
}

/// The seller's rules, borrowed from the home.
#[derive(Clone, Copy, Debug)]
pub struct Rules<'a> {
    /// What can be sent.
    pub catalogue: &'a Catalogue,
    /// What it can be sent in.
    pub mailers: &'a [Mailer],
    /// What postage costs.
    pub cards: &'a [RateCard],
    /// How it is wrapped.
    pub packing: &'a PackingRules,
    /// What is asked of a service beyond the lowest price.
    pub postage: &'a PostageRules,
    /// Days on which the seller works.
    pub calendar: &'a WorkCalendar,
    /// Days on which the post takes parcels.
    pub post: &'a WorkCalendar,
    /// Working days from payment to hand-off.
    pub handling_days: u32,
    /// The day whose cut-off hour is past, where one is: what is planned for it now is handed over on the next
    /// working day.
    pub past_cut_off: Option<Date>,
    /// What sums are in.
    pub currency: Currency,
    /// Where parcels are posted.
    pub country: Country,
}
