//! Papers that travel inside a parcel: invoice, thank-you note, gift slip. Each says whose it is, so that nobody's
//! paper goes into another's parcel.

use serde::Serialize;

use crate::model::money::Money;
use crate::model::order::{Order, OrderLine};
use crate::model::parcel::{For, Invoice, Item, Paper, Parcel};
use crate::model::trade::{Trade, TradeId, TradeItem};

use super::super::words::{self, DateWords};
use super::Desk;

/// One paper.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Slip {
    /// Of a sale.
    Invoice(InvoiceView),
    /// Of a trade.
    Note(NoteView),
    /// Of a gift.
    Gift(GiftView),
}

/// A numbered invoice, with what article 226 of Directive 2006/112/EC lists as far as the order tells it.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct InvoiceView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// Sequential number.
    pub number: String,
    /// Day of issue, which is the day of supply.
    pub issued: DateWords,
    /// The order in the source's number.
    pub order: String,
    /// Where it was ordered, the source's name.
    pub source: String,
    /// Day of the order.
    pub placed: Option<DateWords>,
    /// Who bought: name, and address where it is also sent there.
    pub sold_to: Vec<String>,
    /// Where it goes, if somebody else receives it.
    pub sent_to: Option<Vec<String>>,
    /// What was bought.
    pub lines: Vec<InvoiceLine>,
    /// Goods, postage, discount, tax, total.
    pub sums: Vec<Sum>,
    /// What is still to be said of the sums.
    pub remark: Option<String>,
}

/// A line of an invoice.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct InvoiceLine {
    /// How many.
    pub count: u32,
    /// Title as the buyer saw it, or the code where there was none.
    pub title: String,
    /// Options chosen.
    pub options: Option<String>,
    /// Price of one; empty where the source has none.
    pub unit: String,
    /// Price of the line; empty where the source has none.
    pub total: String,
}

/// A sum below the lines.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Sum {
    /// What it is.
    pub label: String,
    /// How much.
    pub amount: String,
    /// The last line: what was paid.
    pub total: bool,
}

/// A thank-you note.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct NoteView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// Number of the trade.
    pub trade: String,
    /// The partner.
    pub name: String,
    /// Day of the agreement.
    pub agreed: DateWords,
    /// What is in the parcel.
    pub sent: Vec<Counted>,
    /// What is expected in return; empty for a present.
    pub awaited: Vec<Counted>,
}

/// A gift's slip: no prices.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct GiftView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// The order in the source's number.
    pub order: String,
    /// For whom.
    pub name: String,
    /// Who gives, where that is known.
    pub from: Option<String>,
    /// What the giver wants said.
    pub message: Option<String>,
    /// What is in it.
    pub lines: Vec<Counted>,
}

/// A thing and how many.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Counted {
    /// How many.
    pub count: u32,
    /// What it is.
    pub title: String,
}

/// The papers of `parcel`, in the order of its `papers`.
#[must_use]
pub fn slips(parcel: &Parcel, desk: &Desk<'_>) -> Vec<Slip> {
    let mut kinds: Vec<Paper> = parcel.papers.clone();
    kinds.dedup();
    kinds
        .into_iter()
        .flat_map(|paper| match paper {
            Paper::Invoice => parcel
                .invoices
                .iter()
                .filter_map(|invoice| {
                    parcel.orders.iter().find(|order| order.id == invoice.order).map(|o| (invoice, o))
                })
                .map(|(invoice, order)| Slip::Invoice(invoice_view(parcel, invoice, order, desk)))
                .collect::<Vec<_>>(),
            Paper::Note => parcel.trades.iter().map(|(id, trade)| Slip::Note(note(parcel, *id, trade))).collect(),
            Paper::Gift => {
                parcel.orders.iter().filter(|order| order.gift).map(|order| Slip::Gift(gift(parcel, order))).collect()
            }
        })
        .collect()
}

fn invoice_view(parcel: &Parcel, invoice: &Invoice, order: &Order, desk: &Desk<'_>) -> InvoiceView {
    let address = words::address(&order.recipient, desk.seller.country);
    let receiver: Vec<String> = std::iter::once(order.recipient.name.clone()).chain(address).collect();
    let other = order.buyer.clone().filter(|buyer| !buyer.is_empty() && *buyer != order.recipient.name);
    let lines: Vec<InvoiceLine> = order.lines.iter().map(|line| invoice_line(line, desk)).collect();
    let (sums, remark) = sums(order, desk);
    InvoiceView {
        r#ref: parcel.r#ref.0.clone(),
        short: lines.len() <= 4
            && receiver.len() <= 6
            && brief(receiver.iter().chain(lines.iter().flat_map(|line| line.options.iter().chain([&line.title])))),
        number: invoice.number.to_string(),
        issued: invoice.issued_on.into(),
        order: order.id.number.clone(),
        source: order.id.source.clone(),
        placed: order.placed_at.map(DateWords::from),
        sent_to: other.is_some().then(|| receiver.clone()),
        sold_to: other.map_or(receiver, |buyer| vec![buyer]),
        lines,
        sums,
        remark: match (remark, follows(parcel, order)) {
            (Some(remark), Some(follows)) => Some(format!("{remark} {follows}")),
            (remark, follows) => remark.or(follows),
        },
    }
}

/// What of the order is not in this parcel, so that its buyer doesn't look for it.
pub(super) fn follows(parcel: &Parcel, order: &Order) -> Option<String> {
    let here = |line: &OrderLine| -> u32 {
        let is_it = |item: &&Item| matches!(&item.for_, For::Order { order: id, line: key } if *id == order.id && *key == line.line);
        parcel.items.iter().filter(is_it).map(|item| item.quantity).sum()
    };
    let rest: Vec<String> = order
        .lines
        .iter()
        .map(|line| (line.quantity.saturating_sub(here(line)), line))
        .filter(|(count, _)| *count > 0)
        .map(|(count, line)| format!("{count} × {}", title(line)))
        .collect();
    (!rest.is_empty()).then(|| format!("In another parcel: {}.", rest.join(", ")))
}

pub(super) fn invoice_line(line: &OrderLine, desk: &Desk<'_>) -> InvoiceLine {
    InvoiceLine {
        count: line.quantity,
        title: title(line),
        options: line.options.clone(),
        unit: line.unit_price.map_or_else(String::new, |price| desk.money(price)),
        total: line.unit_price.map_or_else(String::new, |price| desk.money(price.times(line.quantity))),
    }
}

fn title(line: &OrderLine) -> String {
    if line.title.is_empty() { line.code.clone().unwrap_or_default() } else { line.title.clone() }
}

/// The sums, and a remark where they can't say all. What the order doesn't tell is not made up: a total that the
/// parts don't give is printed as the order has it, with the difference on a line of its own.
pub(super) fn sums(order: &Order, desk: &Desk<'_>) -> (Vec<Sum>, Option<String>) {
    let zero = Money::zero(order.currency);
    let goods: Option<Money> = order
        .lines
        .iter()
        .try_fold(zero, |sum, line| line.unit_price.and_then(|price| sum.checked_add(price.times(line.quantity))));
    let row = |label: &str, amount: Money| Sum { label: label.to_owned(), amount: desk.money(amount), total: false };
    let charged = |amount: Option<Money>| amount.filter(|money| !money.amount.is_zero());
    let less = |amount: Money| Money { amount: -amount.amount, ..amount };
    let mut sums: Vec<Sum> = goods.into_iter().map(|goods| row("Goods", goods)).collect();
    sums.extend(charged(order.discount).map(|off| row("Discount", less(off))));
    sums.extend(charged(order.postage_charged).map(|postage| row("Postage", postage)));
    let before_tax = goods
        .and_then(|goods| goods.checked_add(order.postage_charged.unwrap_or(zero)))
        .and_then(|sum| sum.checked_add(less(order.discount.unwrap_or(zero))));
    let with_tax = before_tax.and_then(|sum| sum.checked_add(order.tax.unwrap_or(zero)));
    let tax = charged(order.tax);
    let total = order.total.or(with_tax);
    let included = tax.is_some() && total.is_some() && total == before_tax;
    if !included {
        sums.extend(tax.map(|tax| row("Tax", tax)));
        let differs = total.zip(with_tax).and_then(|(total, parts)| total.checked_add(less(parts)));
        sums.extend(charged(differs).map(|difference| row("Other, as the order states", difference)));
    }
    sums.extend(total.map(|total| Sum { label: "Total".to_owned(), amount: desk.money(total), total: true }));
    let remark = match (included, tax, total) {
        (true, Some(tax), Some(_)) => Some(format!("Tax of {} is included in the total.", desk.money(tax))),
        (_, _, None) => Some("The order came without prices.".to_owned()),
        (_, _, Some(_)) => None,
    };
    (sums, remark)
}

fn note(parcel: &Parcel, id: TradeId, trade: &Trade) -> NoteView {
    let sent: Vec<Counted> = trade
        .send
        .iter()
        .enumerate()
        .map(|(at, item)| Counted {
            count: item.quantity,
            title: own_title(parcel, id, at).unwrap_or(&item.what).to_owned(),
        })
        .collect();
    let awaited: Vec<Counted> = trade.get.iter().map(counted).collect();
    NoteView {
        r#ref: parcel.r#ref.0.clone(),
        short: sent.len() + awaited.len() <= 8
            && brief(sent.iter().chain(&awaited).map(|thing| &thing.title).chain([&trade.with.name])),
        trade: id.to_string(),
        name: trade.with.name.clone(),
        agreed: trade.agreed.into(),
        sent,
        awaited,
    }
}

/// The catalogue's title of the trade's item, where that item is in this parcel.
fn own_title(parcel: &Parcel, id: TradeId, at: usize) -> Option<&str> {
    use crate::model::parcel::For;
    parcel.items.iter().find_map(|item| match &item.for_ {
        For::Trade { trade, item: place } if *trade == id && *place as usize == at => Some(item.title.as_str()),
        For::Trade { .. } | For::Order { .. } => None,
    })
}

fn counted(item: &TradeItem) -> Counted {
    Counted { count: item.quantity, title: item.what.clone() }
}

fn gift(parcel: &Parcel, order: &Order) -> GiftView {
    let lines: Vec<Counted> =
        order.lines.iter().map(|line| Counted { count: line.quantity, title: title(line) }).collect();
    let message = order.gift_message.clone().filter(|message| !message.trim().is_empty());
    let name = order.recipient.name.clone();
    GiftView {
        r#ref: parcel.r#ref.0.clone(),
        short: lines.len() <= 6 && brief(lines.iter().map(|thing| &thing.title).chain(&message).chain([&name])),
        order: order.id.number.clone(),
        from: order.buyer.clone().filter(|buyer| !buyer.is_empty() && *buyer != name),
        name,
        message,
        lines,
    }
}

/// Few enough characters that each text takes a line or two of half a sheet.
fn brief<'a>(texts: impl Iterator<Item = &'a String>) -> bool {
    texts.map(|text| text.chars().count()).sum::<usize>() <= 400
}

#[cfg(test)]
mod tests {
    use super::super::super::sample;
    use super::*;
    use rust_decimal::dec;

    fn labels(sums: &[Sum]) -> Vec<(&str, &str)> {
        sums.iter().map(|sum| (sum.label.as_str(), sum.amount.as_str())).collect()
    }

    fn order() -> Order {
        let (_, plan) = sample::day().unwrap();
        let mut order = plan.parcels.iter().flat_map(|parcel| &parcel.orders).next().unwrap().clone();
        order.lines.truncate(1);
        let money = |amount| Some(Money::new(amount, order.currency));
        order.lines[0].quantity = 2;
        order.lines[0].unit_price = money(dec!(12.00));
        (order.postage_charged, order.tax, order.discount) = (money(dec!(4.50)), money(dec!(1.50)), money(dec!(2.00)));
        order
    }

    fn written(order: &Order) -> (Vec<Sum>, Option<String>) {
        let (seller, _) = sample::day().unwrap();
        let templates = super::super::super::Templates::built_in();
        let look =
            super::super::super::Look { seller: &seller, page: super::super::super::Page::A4, templates: &templates };
        sums(order, &Desk::of(&look))
    }

    #[test]
    fn what_of_an_order_goes_another_way_is_said_on_its_invoice() {
        let (_, plan) = crate::papers::sample::day().unwrap();
        let parcel = plan.parcels.iter().find(|parcel| !parcel.orders.is_empty()).unwrap();
        let order = &parcel.orders[0];
        assert_eq!(follows(parcel, order), None);
        let mut more = order.clone();
        more.lines[0].quantity += 2;
        let title = title(&more.lines[0]);
        assert_eq!(follows(parcel, &more), Some(format!("In another parcel: 2 × {title}.")));
    }

    #[test]
    fn parts_add_up_to_a_total_that_the_order_leaves_out() {
        let mut order = order();
        order.total = None;
        let (sums, remark) = written(&order);
        let expected =
            [("Goods", "$24.00"), ("Discount", "-$2.00"), ("Postage", "$4.50"), ("Tax", "$1.50"), ("Total", "$28.00")];
        assert_eq!(labels(&sums), expected);
        assert_eq!(remark, None);
    }

    #[test]
    fn a_tax_within_the_total_is_said_and_not_added() {
        let mut order = order();
        order.total = Some(Money::new(dec!(26.50), order.currency));
        let (sums, remark) = written(&order);
        assert_eq!(labels(&sums)[3], ("Total", "$26.50"));
        assert_eq!(remark.as_deref(), Some("Tax of $1.50 is included in the total."));
    }

    #[test]
    fn a_total_that_the_parts_do_not_give_shows_the_difference() {
        let mut order = order();
        order.total = Some(Money::new(dec!(27.00), order.currency));
        let (sums, _) = written(&order);
        assert_eq!(labels(&sums)[4..], [("Other, as the order states", "-$1.00"), ("Total", "$27.00")]);
    }

    #[test]
    fn a_gift_carries_no_price() {
        let (seller, plan) = sample::day().unwrap();
        let templates = super::super::super::Templates::built_in();
        let look =
            super::super::super::Look { seller: &seller, page: super::super::super::Page::A4, templates: &templates };
        let parcel = plan.parcels.iter().find(|parcel| parcel.papers.contains(&Paper::Gift)).unwrap();
        let json = serde_json::to_string(&slips(parcel, &Desk::of(&look))).unwrap();
        assert!(json.contains("\"kind\":\"gift\"") && !json.contains('$'), "{json}");
    }
}
