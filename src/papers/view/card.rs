//! A parcel's packing card: all that is needed to pack it, in the order of the hands.

use serde::Serialize;

use crate::model::parcel::{Invoice, Parcel};

use super::super::language;
use super::super::scan::{self, ScanCode};
use super::super::words::{self, DateWords};
use super::Desk;
use super::drawing::{self, RollView};
use super::invoice;

/// A packing card.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Card {
    /// What is written on the parcel.
    pub r#ref: String,
    /// The ref to scan.
    pub code: Option<ScanCode>,
    /// Language that the recipient's name and address are in, as far as letters are shaped by it.
    pub lang: String,
    /// `part 1 of 2`, or nothing.
    pub part: Option<String>,
    /// Recipient.
    pub name: String,
    /// Address below the name.
    pub address: Vec<String>,
    /// What goes in.
    pub contents: Vec<Content>,
    /// `4 pieces`.
    pub pieces: String,
    /// How to wrap it.
    pub rolls: Vec<RollView>,
    /// Things that aren't rolled: `Items 3 and 4 lie flat against the wall of the mailer.`
    pub flats: Option<String>,
    /// `Padded mailer, small (A)`.
    pub mailer: String,
    /// How to close a mailer that was used before.
    pub tape: Option<String>,
    /// Papers that go in: `invoice`, `thank-you note`, `gift slip`.
    pub papers: Vec<String>,
    /// `invoice and thank-you note`, or `none`.
    pub papers_words: String,
    /// Service as the carrier titles it.
    pub service: String,
    /// Carrier.
    pub carrier: String,
    /// Weight to declare: `4 oz`.
    pub declared: String,
    /// Postage: `$5.25`.
    pub price: String,
    /// What to expect on the scale: `1.35 oz (38 g)`.
    pub expect: String,
    /// Where 19 of 20 such parcels lie: `1.22 oz to 1.49 oz`.
    pub range: String,
    /// To weigh before the postage is bought, and why.
    pub weigh_first: Option<String>,
    /// Last day to hand over.
    pub ship_by: DateWords,
    /// That day is past.
    pub late: bool,
    /// Orders and trades it answers: `stall:1001, T-0007`.
    pub answers: String,
    /// What buyers wrote to the seller.
    pub notes: Vec<String>,
    /// What to heed, a sentence each.
    pub cautions: Vec<String>,
    /// How this came about.
    pub why: Vec<String>,
    /// Little enough that a page surely holds it: the template need not measure it first.
    pub short: bool,
    /// No typeface has all letters of this parcel's words: what to do. Known only once the typefaces are chosen.
    pub unshown: Option<String>,
}

/// An item of a card.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Content {
    /// The number that its pieces have in the drawings.
    pub number: String,
    /// How many.
    pub count: u32,
    /// Article code.
    pub code: String,
    /// Title.
    pub title: String,
    /// Options the buyer chose.
    pub options: Option<String>,
    /// Shelf or drawer.
    pub place: String,
    /// `loose pin`, `on card`, `lies flat`, `wrap alone`.
    pub kind: String,
    /// What it goes for: `stall:1001`.
    pub r#for: String,
}

/// The card of `parcel`.
#[must_use]
pub fn card(parcel: &Parcel, desk: &Desk<'_>) -> Card {
    let numbers = drawing::numbers(parcel);
    let contents: Vec<Content> = parcel
        .items
        .iter()
        .map(|item| Content {
            number: numbers.get(&item.code).map_or_else(String::new, ToString::to_string),
            count: item.quantity,
            code: item.code.0.clone(),
            title: item.title.clone(),
            options: item.options.clone(),
            place: item.place.clone(),
            kind: words::kind(item.kind).to_owned(),
            r#for: item.for_.id().to_string(),
        })
        .collect();
    let papers: Vec<String> = parcel.papers.iter().map(|paper| words::paper(*paper).to_owned()).collect();
    let unit = parcel.postage.declared.unit;
    Card {
        r#ref: parcel.r#ref.0.clone(),
        code: scan::code(&parcel.r#ref.0),
        lang: language::shaping(&parcel.recipient).to_owned(),
        part: super::part(parcel),
        name: parcel.recipient.name.clone(),
        address: desk.address(parcel),
        pieces: words::count(parcel.pieces() as usize, "piece", "pieces"),
        flats: flats(parcel),
        rolls: drawing::rolls(parcel),
        mailer: super::mailer(parcel),
        tape: parcel.mailer.reused.then(|| {
            "Used before: tape the whole flap, edge to edge, and cover every old label and barcode.".to_owned()
        }),
        papers_words: if papers.is_empty() { "none".to_owned() } else { words::and_list(&papers) },
        papers,
        service: parcel.postage.service_title.clone(),
        carrier: parcel.postage.carrier.clone(),
        declared: parcel.postage.declared.to_string(),
        price: desk.money(parcel.postage.price),
        expect: words::expected(parcel.mass, unit),
        range: words::range(parcel.mass, unit),
        weigh_first: super::weigh_first(parcel),
        ship_by: parcel.last_day().into(),
        late: parcel.late,
        answers: answers(parcel).join(", "),
        notes: notes(parcel),
        cautions: parcel
            .cautions
            .iter()
            .map(|caution| caution.text.clone())
            .chain(doubts(parcel, desk))
            .map(|text| words::sentence(&text))
            .collect(),
        why: parcel.why.iter().map(|why| words::with_days(why)).collect(),
        short: short(parcel),
        contents,
        unshown: None,
    }
}

/// Invoices on which the order's tax and the seller's own statement don't go together.
fn doubts(parcel: &Parcel, desk: &Desk<'_>) -> Vec<String> {
    let order_of = |invoice: &Invoice| parcel.orders.iter().find(|order| order.id == invoice.order);
    let doubt = |invoice| order_of(invoice).and_then(|order| invoice::doubt(order, invoice.number, &desk.seller.tax));
    parcel.invoices.iter().filter_map(doubt).collect()
}

/// Orders and trades that a parcel answers.
#[must_use]
pub fn answers(parcel: &Parcel) -> Vec<String> {
    let orders = parcel.orders.iter().map(|order| order.id.to_string());
    orders.chain(parcel.trades.iter().map(|(id, _)| id.to_string())).collect()
}

/// What buyers and partners wrote to the seller.
pub(super) fn notes(parcel: &Parcel) -> Vec<String> {
    let orders = parcel.orders.iter().filter_map(|order| order.note.clone());
    orders.chain(parcel.trades.iter().filter_map(|(_, trade)| trade.note.clone())).collect()
}

fn flats(parcel: &Parcel) -> Option<String> {
    use crate::model::catalogue::Kind;
    let numbers = drawing::numbers(parcel);
    let mut flat: Vec<usize> = parcel
        .items
        .iter()
        .filter(|item| item.kind == Kind::Flat)
        .filter_map(|item| numbers.get(&item.code).copied())
        .collect();
    flat.dedup();
    let words: Vec<String> = flat.iter().map(ToString::to_string).collect();
    match words.as_slice() {
        [] => None,
        [one] => Some(format!("Item {one} lies flat against the wall of the mailer.")),
        several => Some(format!("Items {} lie flat against the wall of the mailer.", words::and_list(several))),
    }
}

/// Measuring a card lays it out twice. These bounds are well inside of what a page holds, so that only unusual
/// cards are measured.
fn short(parcel: &Parcel) -> bool {
    let to = &parcel.recipient;
    let address = [&to.name, &to.city, &to.region].into_iter().chain(&to.lines).chain(&to.company);
    // It has half of a card's width, in larger letters.
    let addressed: usize = address.clone().map(|text| text.chars().count()).sum();
    let texts = address.chain(parcel.cautions.iter().map(|caution| &caution.text));
    let titles = parcel.items.iter().flat_map(|item| std::iter::once(&item.title).chain(&item.options));
    let said = notes(parcel).iter().map(|note| note.chars().count()).sum::<usize>();
    let characters: usize = texts.chain(titles).map(|text| text.chars().count()).sum();
    addressed <= 400
        && parcel.items.len() <= 10
        && parcel.rolls.len() <= 3
        && to.lines.len() <= 13
        && characters + said <= 1500
}
