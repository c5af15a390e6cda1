//! A packed parcel before it has its place in the day.
//!
//! Its ref and the numbers of its invoices are given out in the order of the whole day, once each, so that a parcel is
//! only made where they are known. Turned down: a parcel with an empty ref and a number of nought, filled in later.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{Packed, Packer, Unit, contents};
use crate::model::catalogue::Contents;
use crate::model::customs::Declaration;
use crate::model::day::TakenOff;
use crate::model::money::Money;
use crate::model::order::{Order, OrderId};
use crate::model::parcel::{Caution, Invoice, Item, MailerUsed, Paper, Parcel, ParcelRef, Rest};
use crate::model::scale::Confidence;
use crate::model::sending::SendingId;
use crate::plan::manifest::Today;
use crate::plan::manifest::clearance::{Clear, Deed};
use crate::plan::snapshot::Rules;
use crate::plan::weighing;

/// A parcel without its numbers.
pub(in crate::plan::manifest) struct Draft<'a> {
    /// By whom its recipient is written.
    first: &'a Clear,
    /// Whose items lie in it.
    deeds: Vec<&'a Clear>,
    /// Those of them that lie in no earlier part: their first papers go with it.
    beginning: Vec<&'a Clear>,
    /// The one with the nearest last day.
    soonest: &'a Clear,
    items: Vec<Item>,
    part: Option<(u32, u32)>,
    packed: Packed<'a>,
    customs: Option<Declaration>,
    refund_offer: Option<Money>,
    cautions: Vec<Caution>,
    why: Vec<String>,
    today: Today,
}

impl<'a> Draft<'a> {
    /// Of `units` as they were packed; `begun` are the orders and trades of which something lies in an earlier part.
    pub(super) fn of(
        table: &Packer<'a>,
        units: &[Unit<'_>],
        packed: Packed<'a>,
        part: Option<(u32, u32)>,
        begun: &mut BTreeSet<SendingId>,
    ) -> Self {
        let mut counts: BTreeMap<usize, u32> = BTreeMap::new();
        for unit in units {
            *counts.entry(unit.item).or_default() += 1;
        }
        let items: Vec<Item> = counts
            .into_iter()
            .filter_map(|(index, quantity)| table.items.get(index).map(|item| Item { quantity, ..(*item).clone() }))
            .collect();
        let here = |clear: &&Clear| items.iter().any(|item| item.for_.id() == clear.id());
        let deeds: Vec<&Clear> = table.group().iter().filter(here).collect();
        let beginning = deeds.iter().copied().filter(|clear| begun.insert(clear.id())).collect();
        let soonest = deeds.iter().min_by_key(|clear| clear.hand_over_by).copied().unwrap_or(table.first);
        let customs = table.declaration(&items, packed.mass, &packed.postage);
        let declare_with = table.rules.packing.declare_with;
        let mut why = why(&deeds, &table.shared.reasons, soonest, &packed, part, declare_with);
        why.extend(
            customs.iter().map(|declared| format!("customs: {}, as {}", declared.form.title(), declared.form_why)),
        );
        let mut cautions = cautions(&contents(units), customs.is_some(), &deeds, table.taken_off);
        cautions.extend(packed.worth.caution());
        cautions.extend(value_not_compared(packed.worth.known, table.rules));
        let refund_offer = refund_offer(table.group(), part);
        let (first, today) = (table.first, table.today);
        Self { first, deeds, beginning, soonest, items, part, packed, customs, refund_offer, cautions, why, today }
    }

    /// The parcel, with its ref; each invoice that is new takes the next number. `before` are the day's parcels so far,
    /// among them the earlier parts.
    pub(in crate::plan::manifest) fn numbered(
        self,
        r#ref: ParcelRef,
        next_invoice: &mut u32,
        before: &[Parcel],
    ) -> Parcel {
        let Self { first, deeds, beginning, soonest, packed, today, .. } = self;
        let invoices = beginning.iter().filter_map(|clear| clear.invoice(today.date, next_invoice)).collect();
        let begins = |clear: &Clear| beginning.iter().any(|first| first.id() == clear.id());
        let paper = |clear: &&Clear| if begins(clear) { clear.paper() } else { clear.later_paper() };
        let rest = |clear: &&Clear| if begins(clear) { clear.rest() } else { clear.later_rest(before) };
        let mailer = packed.choice.mailer;
        Parcel {
            r#ref,
            recipient: first.recipient.clone(),
            orders: deeds.iter().filter_map(|clear| clear.order_for_papers()).collect(),
            trades: deeds.iter().filter_map(|clear| clear.trade()).collect(),
            papers: deeds.iter().map(paper).collect::<BTreeSet<Paper>>().into_iter().collect(),
            invoices,
            rests: deeds.iter().filter_map(rest).collect(),
            owing: deeds.iter().filter_map(|clear| clear.owing()).collect(),
            items: self.items,
            part: self.part,
            rolls: packed.choice.rolls,
            mailer: MailerUsed { code: mailer.code.clone(), title: mailer.title.clone(), reused: mailer.reused },
            mass: packed.mass,
            size: packed.choice.size,
            postage: packed.postage,
            value: packed.worth.known,
            cautions: self.cautions,
            customs: self.customs,
            ship_by: soonest.ship_by,
            hand_over_by: (soonest.hand_over_by != soonest.ship_by).then_some(soonest.hand_over_by),
            late: soonest.hand_over_by < today.hand_off,
            refund_offer: self.refund_offer,
            why: self.why,
        }
    }
}

/// What buyers paid for postage beyond the largest charge for each parcel, where several orders share parcels: of one
/// parcel all but the largest, of three parts all but the three largest. It counts once, with the first part.
fn refund_offer(deeds: &[Clear], part: Option<(u32, u32)>) -> Option<Money> {
    let (this, parcels) = part.unwrap_or((1, 1));
    if this > 1 {
        return None;
    }
    // What was charged for an order counts with its first part, whichever day that went.
    let first_parts = deeds.iter().filter(|clear| clear.rest().is_none());
    let mut charged: Vec<Money> = first_parts.filter_map(|clear| clear.order()?.postage_charged).collect();
    charged.sort_by_key(|charge| Reverse(charge.amount));
    let currency = charged.first()?.currency;
    let parcels = usize::try_from(parcels).unwrap_or(usize::MAX);
    let twice = Money::sum(charged.iter().skip(parcels).copied(), currency).ok()?;
    (twice.amount > Decimal::ZERO).then_some(twice)
}

fn cautions(contains: &BTreeSet<Contents>, abroad: bool, deeds: &[&Clear], taken_off: &[TakenOff]) -> Vec<Caution> {
    let mut cautions: Vec<Caution> = contains
        .iter()
        .map(|contents| Caution {
            code: contents.code().to_owned(),
            text: match contents {
                Contents::ButtonCell => {
                    "holds a button cell: dangerous if swallowed, keep from children; carriers restrict batteries, \
                     check the carrier's current rules before posting"
                }
                Contents::Magnet => {
                    "holds a magnet: dangerous if swallowed, keep from children and pacemakers; carriers restrict \
                     magnets by air, check the carrier's current rules before posting"
                }
            }
            .to_owned(),
        })
        .collect();
    let formerly: BTreeSet<&String> = deeds.iter().flat_map(|clear| clear.formerly_in()).collect();
    if !formerly.is_empty() {
        let refs: Vec<&str> = formerly.into_iter().map(String::as_str).collect();
        cautions.push(Caution {
            code: "packed-anew".to_owned(),
            text: format!(
                "lay in {} before, which is cancelled: unpack that, and throw its card and papers away{}",
                refs.join(" and "),
                left_out(deeds, taken_off)
            ),
        });
    }
    if abroad {
        cautions.push(Caution {
            code: "customs".to_owned(),
            text: "goes abroad: check the declaration against the carrier's current rules and the law there; a sale \
                   is never declared a gift"
                .to_owned(),
        });
    }
    cautions
}

/// What lay beside `deeds` in the parcels that are unpacked for them, and isn't for this one.
fn left_out(deeds: &[&Clear], taken_off: &[TakenOff]) -> String {
    let here: BTreeSet<SendingId> = deeds.iter().map(|clear| clear.id()).collect();
    let unpacked = taken_off.iter().filter(|taken| taken.holds.iter().any(|id| here.contains(id)));
    let others: BTreeSet<&SendingId> =
        unpacked.flat_map(|taken| &taken.holds).filter(|id| !here.contains(*id)).collect();
    let others: Vec<String> = others.into_iter().map(ToString::to_string).collect();
    if others.is_empty() {
        String::new()
    } else {
        format!("; {} lay there too and is not for this one", others.join(", "))
    }
}

/// Signature and insurance aren't bought on a comparison that can't be made: the seller is told.
fn value_not_compared(value: Money, rules: &Rules<'_>) -> Option<Caution> {
    let limits = [rules.postage.signature_above, rules.postage.insure_above];
    let limit = limits.into_iter().flatten().find(|limit| limit.currency != value.currency)?;
    Some(Caution {
        code: "value-currency".to_owned(),
        text: format!(
            "worth {} {}, which can't be compared with your rules in {}: decide on a signature and insurance yourself",
            value.plain(),
            value.currency,
            limit.currency
        ),
    })
}

fn why(
    deeds: &[&Clear],
    reasons: &[String],
    soonest: &Clear,
    packed: &Packed<'_>,
    part: Option<(u32, u32)>,
    declare_with: Confidence,
) -> Vec<String> {
    let mut why = Vec::new();
    if let [_, _, ..] = deeds {
        let ids: Vec<String> = deeds.iter().map(|clear| clear.id().to_string()).collect();
        why.push(format!("together: {} are for one recipient", ids.join(", ")));
        why.extend(reasons.iter().cloned());
    }
    if let Some((part, of)) = part {
        why.push(format!("part {part} of {of}: one mailer or service doesn't take it all"));
    }
    why.extend(packed.why.iter().cloned());
    why.extend(weighing::tiers::why(packed.mass, &packed.postage, declare_with));
    why.extend(packed.postage.why.iter().cloned());
    why.push(soonest.ship_by_why.clone());
    for clear in deeds {
        why.extend(clear.wish.iter().map(|words| format!("{} by itself: the note says \"{words}\"", clear.id())));
        why.extend(clear.why.iter().cloned());
    }
    why
}

impl Clear {
    /// The order as its papers have it: an invoice that is printed again, as the parcel it lay in was unpacked, is of all
    /// its lines.
    fn order_for_papers(&self) -> Option<Order> {
        let order = self.order()?.clone();
        match &self.deed {
            Deed::Order(due) if due.lacks_invoice => Some(Order { lines: due.all_lines.clone(), ..order }),
            Deed::Order(_) | Deed::Trade(_) => Some(order),
        }
    }

    /// An order of which a part went before has its invoice already, unless that parcel was unpacked: its later part
    /// says which.
    pub(super) fn paper(&self) -> Paper {
        match &self.deed {
            Deed::Order(due) if due.order.gift => Paper::Gift,
            Deed::Order(due) if due.already_in.is_empty() || due.lacks_invoice => Paper::Invoice,
            Deed::Order(_) => Paper::Rest,
            Deed::Trade(_) => Paper::Note,
        }
    }

    /// What its order's later part belongs to, where a part of it went before.
    fn rest(&self) -> Option<Rest> {
        match &self.deed {
            Deed::Order(due) if !due.already_in.is_empty() && !due.lacks_invoice => {
                let (order, invoice, after) = (due.order.id.clone(), due.invoice.clone(), due.already_in.clone());
                Some(Rest { order, invoice, after, invoice_in: None })
            }
            Deed::Order(_) | Deed::Trade(_) => None,
        }
    }

    /// The paper of a parcel whose split holds something of it in an earlier part: whoever opens this one first sees
    /// what it is, and nothing is charged twice.
    fn later_paper(&self) -> Paper {
        match self.paper() {
            Paper::Invoice | Paper::Rest => Paper::Rest,
            paper @ (Paper::Gift | Paper::Note) => paper,
        }
    }

    /// What a later part of a split belongs to; the earlier parts are among `before`.
    fn later_rest(&self, before: &[Parcel]) -> Option<Rest> {
        let order = self.order()?.id.clone();
        let parts: Vec<&Parcel> =
            before.iter().filter(|parcel| parcel.orders.iter().any(|other| other.id == order)).collect();
        let with_invoice = parts.iter().find_map(|parcel| {
            let invoice = parcel.invoices.iter().find(|invoice| invoice.order == order)?;
            Some((invoice.clone(), parcel.part.map(|(part, _)| (part, parcel.r#ref.clone()))))
        });
        let (invoice, invoice_in) = match (with_invoice, self.rest()) {
            (Some((invoice, place)), _) => (Some(invoice), place),
            (None, rest) => (rest.and_then(|rest| rest.invoice), None),
        };
        let earlier = match &self.deed {
            Deed::Order(due) => due.already_in.as_slice(),
            Deed::Trade(_) => &[],
        };
        let after = earlier.iter().cloned().chain(parts.iter().map(|parcel| parcel.r#ref.0.clone())).collect();
        Some(Rest { order, invoice, after, invoice_in })
    }

    /// Its order, where something of it goes on another day.
    fn owing(&self) -> Option<OrderId> {
        let order = self.order()?;
        let goes: u32 = self.items.iter().map(|item| item.quantity).sum();
        let due: u32 = order.lines.iter().map(|line| line.quantity).sum();
        (goes < due).then(|| order.id.clone())
    }

    /// The invoice it has, or one with the next number: a number is given out once.
    fn invoice(&self, issued_on: Date, next: &mut u32) -> Option<Invoice> {
        match &self.deed {
            Deed::Order(due) if self.paper() == Paper::Invoice => {
                let new = || {
                    let number = *next;
                    *next += 1;
                    Invoice { number, order: due.order.id.clone(), issued_on }
                };
                Some(due.invoice.clone().unwrap_or_else(new))
            }
            Deed::Order(_) | Deed::Trade(_) => None,
        }
    }

    /// Cancelled parcels that it lay in.
    fn formerly_in(&self) -> &[String] {
        match &self.deed {
            Deed::Order(due) => &due.formerly_in,
            Deed::Trade(due) => &due.formerly_in,
        }
    }

    fn order(&self) -> Option<&Order> {
        match &self.deed {
            Deed::Order(due) => Some(&due.order),
            Deed::Trade(_) => None,
        }
    }

    fn trade(&self) -> Option<(crate::model::trade::TradeId, crate::model::trade::Trade)> {
        match &self.deed {
            Deed::Trade(due) => Some((due.id, due.trade.clone())),
            Deed::Order(_) => None,
        }
    }
}
