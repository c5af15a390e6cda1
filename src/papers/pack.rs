//! The view model of the print pack: what `dispatch.typ` prints, in the order in which it is used.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::model::customs::{Category, Declaration};
use crate::model::day::DayPlan;
use crate::model::length::Length;
use crate::model::money::Money;
use crate::model::order::Order;
use crate::model::parcel::{For, Invoice, Item, Paper, Parcel, Roll};
use crate::model::trade::Trade;

use super::money::MoneyWords;
use super::words::{self, DateWords};
use super::{Look, Page};

/// Room for a roll's drawing on a packing card, mm.
const DRAWING_WIDTH: f64 = 58.0;
const DRAWING_LENGTH: f64 = 56.0;

/// The whole pack.
#[derive(Debug, Serialize)]
pub(super) struct Pack {
    title: String,
    page: Page,
    date: DateWords,
    revision: u32,
    seller: String,
    seller_address: Vec<String>,
    /// Tells the parcels in one line, or that there are none.
    summary: String,
    pick: Vec<Pick>,
    cards: Vec<Card>,
    papers: Vec<PaperSheet>,
    customs: Vec<CustomsPage>,
    checklist: Vec<Check>,
    earlier: Vec<Earlier>,
}

/// An article to take from the shelf.
#[derive(Debug, Serialize)]
struct Pick {
    place: String,
    code: String,
    title: String,
    count: u32,
    /// For which parcels, `2 for 1125-01`.
    split: Vec<String>,
}

/// A packing card.
#[derive(Debug, Serialize)]
struct Card {
    r#ref: String,
    part: Option<String>,
    name: String,
    address: Vec<String>,
    items: Vec<CardItem>,
    rolls: Vec<Drawing>,
    mailer: String,
    reused: bool,
    papers: Vec<&'static str>,
    expect: String,
    range: String,
    weigh_first: Option<String>,
    declared: String,
    service: String,
    price: String,
    ship_by: String,
    late: bool,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct CardItem {
    count: u32,
    code: String,
    title: String,
    how: &'static str,
    options: Option<String>,
    r#for: String,
}

/// A roll as it is drawn: all figures in mm on the paper, except those in words.
#[derive(Debug, Serialize)]
struct Drawing {
    name: String,
    cut: String,
    size: String,
    width: f64,
    height: f64,
    folds: Vec<f64>,
    pieces: Vec<DrawnPiece>,
}

#[derive(Debug, Serialize)]
struct DrawnPiece {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
    code: String,
}

/// A paper to wrap with the pins.
#[derive(Debug, Serialize)]
struct PaperSheet {
    kind: &'static str,
    r#ref: String,
    heading: String,
    name: String,
    address: Vec<String>,
    /// Fields under the heading, such as number and date.
    facts: Vec<(String, String)>,
    lines: Vec<PaperLine>,
    sums: Vec<(String, String)>,
    total: Option<(String, String)>,
    message: Option<String>,
    /// What is said at the end.
    closing: String,
}

#[derive(Debug, Serialize)]
struct PaperLine {
    count: u32,
    title: String,
    each: String,
    sum: String,
}

#[derive(Debug, Serialize)]
struct CustomsPage {
    r#ref: String,
    name: String,
    address: Vec<String>,
    category: &'static str,
    items: Vec<CustomsLine>,
    net: String,
    value: String,
}

#[derive(Debug, Serialize)]
struct CustomsLine {
    count: u32,
    description: String,
    net: String,
    value: String,
    hs_code: String,
    origin: String,
}

#[derive(Debug, Serialize)]
struct Check {
    r#ref: String,
    name: String,
    postal_code: String,
    service: String,
    declared: String,
}

#[derive(Debug, Serialize)]
struct Earlier {
    r#ref: String,
    name: String,
    listed: String,
}

/// The pack of a plan.
pub(super) fn view(plan: &DayPlan, look: &Look<'_>) -> Pack {
    let money = MoneyWords::english_in(look.seller.country);
    let pieces = usize::try_from(plan.totals.items).unwrap_or(usize::MAX);
    let summary = if plan.parcels.is_empty() {
        "Nothing to pack.".to_owned()
    } else {
        format!(
            "{}, {}, postage {}",
            words::count(plan.parcels.len(), "parcel", "parcels"),
            words::count(pieces, "piece", "pieces"),
            money.write(plan.totals.postage)
        )
    };
    Pack {
        title: format!("Dispatch {}, revision {}", plan.date, plan.revision),
        page: look.page,
        date: plan.date.into(),
        revision: plan.revision,
        seller: look.seller.name.clone(),
        seller_address: look.seller.address.clone(),
        summary,
        pick: pick(plan),
        cards: plan.parcels.iter().map(|parcel| card(parcel, look, &money)).collect(),
        papers: plan.parcels.iter().flat_map(|parcel| papers(parcel, look, &money)).collect(),
        customs: plan.parcels.iter().filter_map(|parcel| Some(customs(parcel, parcel.customs.as_ref()?, look, &money))).collect(),
        checklist: plan.parcels.iter().map(check).collect(),
        earlier: plan
            .listed_earlier
            .iter()
            .map(|earlier| Earlier {
                r#ref: earlier.r#ref.0.clone(),
                name: earlier.name.clone(),
                listed: DateWords::from(earlier.listed).short,
            })
            .collect(),
    }
}

fn pick(plan: &DayPlan) -> Vec<Pick> {
    let mut all: BTreeMap<(Vec<(String, u64)>, &str), Pick> = BTreeMap::new();
    for parcel in &plan.parcels {
        for item in &parcel.items {
            let key = (words::natural_key(&item.place), item.code.0.as_str());
            let pick = all.entry(key).or_insert_with(|| Pick {
                place: item.place.clone(),
                code: item.code.0.clone(),
                title: item.title.clone(),
                count: 0,
                split: Vec::new(),
            });
            pick.count += item.quantity;
            pick.split.push(format!("{} for {}", item.quantity, parcel.r#ref));
        }
    }
    all.into_values().collect()
}

fn card(parcel: &Parcel, look: &Look<'_>, money: &MoneyWords) -> Card {
    let postage = &parcel.postage;
    let unit = postage.declared.unit;
    Card {
        r#ref: parcel.r#ref.0.clone(),
        part: parcel.part.map(|(this, of)| format!("parcel {this} of {of}")),
        name: parcel.recipient.name.clone(),
        address: words::address(&parcel.recipient, look.seller.country),
        items: parcel.items.iter().map(card_item).collect(),
        rolls: (1..).zip(&parcel.rolls).map(|(number, roll)| drawing(number, parcel.rolls.len(), roll)).collect(),
        mailer: format!("{}: {}", parcel.mailer.code, parcel.mailer.title),
        reused: parcel.mailer.reused,
        papers: parcel.papers.iter().map(|paper| words::paper(*paper)).collect(),
        expect: words::expected(parcel.mass, unit),
        range: words::range(parcel.mass, unit),
        weigh_first: postage.edge.map(|edge| format!("Weigh before buying: the tier edge of {edge} lies within reach.")),
        declared: postage.declared.to_string(),
        service: postage.service_title.clone(),
        price: money.write(postage.price),
        ship_by: DateWords::from(parcel.ship_by).short,
        late: parcel.late,
        cautions: parcel.cautions.iter().map(|caution| caution.text.clone()).collect(),
    }
}

fn card_item(item: &Item) -> CardItem {
    CardItem {
        count: item.quantity,
        code: item.code.0.clone(),
        title: item.title.clone(),
        how: words::kind(item.kind),
        options: item.options.clone(),
        r#for: item.for_.id(),
    }
}

fn drawing(number: usize, of: usize, roll: &Roll) -> Drawing {
    let (width, length) = (roll.strip_width.as_f64(), roll.strip_length.as_f64());
    let scale = (DRAWING_WIDTH / width.max(1.0)).min(DRAWING_LENGTH / length.max(1.0)).min(0.5);
    let on_paper = |length: Length| (length.as_f64() * scale * 100.0).round() / 100.0;
    Drawing {
        name: if of == 1 { "Roll".to_owned() } else { format!("Roll {number} of {of}") },
        cut: format!("cut {} × {} mm", words::mm(roll.strip_width), words::mm(roll.strip_length)),
        size: format!("rolled {} × {} × {} mm", words::mm(roll.size.length), words::mm(roll.size.width), words::mm(roll.size.thickness)),
        width: on_paper(roll.strip_width),
        height: on_paper(roll.strip_length),
        folds: roll.folds.iter().map(|fold| on_paper(*fold)).collect(),
        pieces: roll
            .laid
            .iter()
            .map(|laid| DrawnPiece {
                x: on_paper(laid.x),
                y: on_paper(laid.y),
                width: on_paper(laid.width),
                height: on_paper(laid.height),
                code: laid.code.0.clone(),
            })
            .collect(),
    }
}

fn papers(parcel: &Parcel, look: &Look<'_>, money: &MoneyWords) -> Vec<PaperSheet> {
    let invoices = parcel.invoices.iter().filter_map(|invoice| {
        let order = parcel.orders.iter().find(|order| order.id == invoice.order)?;
        Some(invoice_sheet(parcel, order, invoice, look, money))
    });
    let gifts = parcel
        .orders
        .iter()
        .filter(|order| order.gift && parcel.papers.contains(&Paper::Gift))
        .map(|order| gift_sheet(parcel, order, look));
    let notes = parcel
        .trades
        .iter()
        .filter(|_| parcel.papers.contains(&Paper::Note))
        .map(|(id, trade)| note_sheet(parcel, &id.to_string(), trade, look));
    invoices.chain(gifts).chain(notes).collect()
}

/// The title that the catalogue has for what a line asked for, else the source's own words.
fn title_of(parcel: &Parcel, order: &Order, line: &str, written: &str) -> String {
    let is_line = |item: &&Item| match &item.for_ {
        For::Order { order: id, line: key } => *id == order.id && key == line,
        For::Trade { .. } => false,
    };
    parcel.items.iter().find(is_line).map_or_else(|| written.to_owned(), |item| item.title.clone())
}

fn invoice_sheet(parcel: &Parcel, order: &Order, invoice: &Invoice, look: &Look<'_>, money: &MoneyWords) -> PaperSheet {
    let mut goods = Money::zero(order.currency);
    let lines: Vec<PaperLine> = order
        .lines
        .iter()
        .map(|line| {
            let sum = line.unit_price.map(|price| price.times(line.quantity));
            goods = sum.and_then(|sum| goods.checked_add(sum)).unwrap_or(goods);
            let amount = |money_: Option<Money>| money_.map_or_else(|| "–".to_owned(), |it| money.write(it));
            let written = if line.title.is_empty() { line.code.clone().unwrap_or_default() } else { line.title.clone() };
            let mut title = title_of(parcel, order, &line.line, &written);
            if let Some(options) = &line.options {
                title = format!("{title} ({options})");
            }
            PaperLine { count: line.quantity, title, each: amount(line.unit_price), sum: amount(sum) }
        })
        .collect();
    let mut sums = vec![("Goods".to_owned(), money.write(goods))];
    let mut total = goods;
    let mut add = |label: &str, amount: Option<Money>, sign: i64| {
        if let Some(amount) = amount.filter(|amount| !amount.amount.is_zero()) {
            let signed = Money::new(amount.amount * rust_decimal::Decimal::from(sign), amount.currency);
            sums.push((label.to_owned(), money.write(signed)));
            total = total.checked_add(signed).unwrap_or(total);
        }
    };
    add("Discount", order.discount, -1);
    add("Postage and packing", order.postage_charged, 1);
    add("Tax", order.tax, 1);
    let mut facts = vec![
        ("Invoice".to_owned(), invoice.number.to_string()),
        ("Date".to_owned(), DateWords::from(invoice.issued_on).medium),
        ("Order".to_owned(), order.id.to_string()),
    ];
    facts.extend(order.placed_at.map(|day| ("Ordered".to_owned(), DateWords::from(day).medium)));
    facts.extend(look.seller.tax_id.clone().map(|id| ("Tax number".to_owned(), id)));
    PaperSheet {
        kind: "invoice",
        r#ref: parcel.r#ref.0.clone(),
        heading: "Invoice".to_owned(),
        name: order.buyer.clone().unwrap_or_else(|| parcel.recipient.name.clone()),
        address: words::address(&parcel.recipient, look.seller.country),
        facts,
        lines,
        sums,
        // What the buyer paid is the source's to say; without its word, the sum.
        total: Some(("Total".to_owned(), money.write(order.total.unwrap_or(total)))),
        message: None,
        closing: format!("Thank you for your order. {}", look.seller.name),
    }
}

fn gift_sheet(parcel: &Parcel, order: &Order, look: &Look<'_>) -> PaperSheet {
    let giver = order.buyer.clone().filter(|buyer| *buyer != parcel.recipient.name);
    PaperSheet {
        kind: "gift",
        r#ref: parcel.r#ref.0.clone(),
        heading: "A present for you".to_owned(),
        name: parcel.recipient.name.clone(),
        address: words::address(&parcel.recipient, look.seller.country),
        facts: Vec::new(),
        lines: plain_lines(parcel, &order.id.to_string()),
        sums: Vec::new(),
        total: None,
        message: order.gift_message.clone(),
        closing: match giver {
            Some(giver) => format!("From {giver}, packed by {}", look.seller.name),
            None => format!("Packed by {}", look.seller.name),
        },
    }
}

fn note_sheet(parcel: &Parcel, id: &str, trade: &Trade, look: &Look<'_>) -> PaperSheet {
    PaperSheet {
        kind: "note",
        r#ref: parcel.r#ref.0.clone(),
        heading: format!("Thank you, {}", trade.with.name),
        name: trade.with.name.clone(),
        address: words::address(&parcel.recipient, look.seller.country),
        facts: vec![("Trade".to_owned(), id.to_owned()), ("Agreed".to_owned(), DateWords::from(trade.agreed).medium)],
        lines: plain_lines(parcel, id),
        sums: Vec::new(),
        total: None,
        message: Some("Here is my half of our trade. I hope they find a good place on your board.".to_owned()),
        closing: look.seller.name.clone(),
    }
}

fn plain_lines(parcel: &Parcel, id: &str) -> Vec<PaperLine> {
    parcel
        .items
        .iter()
        .filter(|item| item.for_.id() == id)
        .map(|item| PaperLine { count: item.quantity, title: item.title.clone(), each: String::new(), sum: String::new() })
        .collect()
}

fn customs(parcel: &Parcel, declaration: &Declaration, look: &Look<'_>, money: &MoneyWords) -> CustomsPage {
    let kilograms = |grams: f64| format!("{:.3} kg", grams / 1000.0);
    CustomsPage {
        r#ref: parcel.r#ref.0.clone(),
        name: parcel.recipient.name.clone(),
        address: words::address(&parcel.recipient, look.seller.country),
        category: match declaration.category {
            Category::SaleOfGoods => "Sale of goods",
            Category::Other => "Other: exchange of goods",
        },
        items: declaration
            .items
            .iter()
            .map(|item| CustomsLine {
                count: item.quantity,
                description: item.description.clone(),
                net: kilograms(item.net_g),
                value: money.write(item.value),
                hs_code: item.hs_code.clone().unwrap_or_default(),
                origin: item.origin.clone().unwrap_or_default(),
            })
            .collect(),
        net: kilograms(declaration.net_g),
        value: money.write(declaration.value),
    }
}

fn check(parcel: &Parcel) -> Check {
    Check {
        r#ref: parcel.r#ref.0.clone(),
        name: words::shortened(&parcel.recipient.name, 40),
        postal_code: parcel.recipient.postal_code.clone(),
        service: parcel.postage.service_title.clone(),
        declared: parcel.postage.declared.to_string(),
    }
}
