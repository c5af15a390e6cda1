//! Papers that travel inside a parcel: invoice, thank-you note, gift slip, each in the recipient's language. Each says
//! whose it is, so that nobody's paper goes into another's parcel.

use serde::Serialize;

use crate::model::language::Language;
use crate::model::order::Order;
use crate::model::parcel::{Paper, Parcel};
use crate::model::trade::{Trade, TradeId, TradeItem};

use super::super::language;
use super::super::phrases::{GiftWords, NoteWords, Phrases, Tongues, fill};
use super::super::words::DateWords;
use super::Desk;
use super::invoice::{self, InvoiceView, title};

/// One paper.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Slip {
    /// Of a sale.
    Invoice(Box<InvoiceView>),
    /// Of a trade.
    Note(NoteView),
    /// Of a gift.
    Gift(GiftView),
}

impl Slip {
    /// The parcel that it goes into.
    #[must_use]
    pub fn parcel(&self) -> &str {
        match self {
            Self::Invoice(invoice) => &invoice.r#ref,
            Self::Note(note) => &note.r#ref,
            Self::Gift(gift) => &gift.r#ref,
        }
    }

    /// Code of the language that it is in.
    #[must_use]
    pub fn lang(&self) -> &str {
        match self {
            Self::Invoice(invoice) => &invoice.lang,
            Self::Note(note) => &note.lang,
            Self::Gift(gift) => &gift.lang,
        }
    }
}

/// A thank-you note.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct NoteView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// Language of its words.
    pub lang: String,
    /// Its words, filled in.
    pub words: NoteWords,
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
    /// What of my half is not in this parcel, so that the partner doesn't look for it.
    pub elsewhere: Vec<Counted>,
}

/// A gift's slip: no prices.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct GiftView {
    /// Parcel that it goes into.
    pub r#ref: String,
    /// Little enough that half a sheet surely holds it: the template need not measure it first.
    pub short: bool,
    /// Language of its words.
    pub lang: String,
    /// Its words, filled in.
    pub words: GiftWords,
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
    /// What of the present is in another parcel.
    pub elsewhere: Vec<Counted>,
}

/// A thing and how many.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Counted {
    /// How many.
    pub count: u32,
    /// What it is.
    pub title: String,
}

/// The papers of `parcel`, in the order of its `papers`.
#[must_use]
pub(in crate::papers) fn slips(parcel: &Parcel, desk: &Desk<'_>, tongues: &Tongues) -> Vec<Slip> {
    let mut kinds: Vec<Paper> = parcel.papers.clone();
    kinds.dedup();
    let phrases = phrases(parcel, desk, tongues);
    kinds
        .into_iter()
        .flat_map(|paper| match paper {
            Paper::Invoice => parcel
                .invoices
                .iter()
                .filter_map(|invoice| {
                    parcel.orders.iter().find(|order| order.id == invoice.order).map(|o| (invoice, o))
                })
                .map(|(invoice, order)| invoice::view(parcel, invoice, order, desk.seller, &phrases))
                .map(|invoice| Slip::Invoice(Box::new(invoice)))
                .collect::<Vec<_>>(),
            Paper::Note => {
                parcel.trades.iter().map(|(id, trade)| Slip::Note(note(parcel, *id, trade, &phrases))).collect()
            }
            Paper::Rest => parcel
                .rests
                .iter()
                .filter_map(|rest| parcel.orders.iter().find(|order| order.id == rest.order).map(|o| (rest, o)))
                .filter(|(_, order)| !order.gift)
                .map(|(rest, order)| invoice::rest(parcel, rest, order, desk.seller, &phrases))
                .map(|rest| Slip::Invoice(Box::new(rest)))
                .collect(),
            Paper::Gift => parcel
                .orders
                .iter()
                .filter(|order| order.gift)
                .map(|order| Slip::Gift(gift(parcel, order, desk, &phrases)))
                .collect(),
        })
        .collect()
}

fn phrases<'t>(parcel: &Parcel, desk: &Desk<'_>, tongues: &'t Tongues) -> Phrases<'t> {
    let language: Language = desk.seller.language.unwrap_or_else(|| language::of(&parcel.recipient));
    tongues.phrases(language, parcel.recipient.country, desk.seller.country)
}

fn note(parcel: &Parcel, id: TradeId, trade: &Trade, phrases: &Phrases<'_>) -> NoteView {
    let halves = trade.send.iter().zip(0..).map(|(item, at)| {
        let (here, title) = own(parcel, id, at).unwrap_or((0, &item.what));
        let counted = |count| Counted { count, title: title.to_owned() };
        (counted(here), counted(item.quantity.saturating_sub(here)))
    });
    let (mut sent, mut elsewhere): (Vec<Counted>, Vec<Counted>) = halves.unzip();
    sent.retain(|thing| thing.count > 0);
    elsewhere.retain(|thing| thing.count > 0);
    let awaited: Vec<Counted> = trade.get.iter().map(counted).collect();
    let agreed = phrases.date(trade.agreed);
    let words = &phrases.words.note;
    NoteView {
        r#ref: parcel.r#ref.0.clone(),
        short: sent.len() + awaited.len() + elsewhere.len() <= 8
            && brief(sent.iter().chain(&awaited).chain(&elsewhere).map(|thing| &thing.title).chain([&trade.with.name])),
        lang: phrases.language.code().to_owned(),
        words: NoteWords {
            thanks: fill(&words.thanks, &[("name", &trade.with.name)]),
            opening: fill(&words.opening, &[("date", &agreed.long)]),
            part: if elsewhere.is_empty() { String::new() } else { parcel_of(parcel, &words.part) },
            ..words.clone()
        },
        trade: id.to_string(),
        name: trade.with.name.clone(),
        agreed,
        sent,
        awaited,
        elsewhere,
    }
}

/// How many of the trade's item are in this parcel, where any is, with the catalogue's title of it.
fn own(parcel: &Parcel, id: TradeId, at: u32) -> Option<(u32, &str)> {
    use crate::model::parcel::For;
    parcel.items.iter().find_map(|item| match &item.for_ {
        For::Trade { trade, item: place } if *trade == id && *place == at => Some((item.quantity, item.title.as_str())),
        For::Trade { .. } | For::Order { .. } => None,
    })
}

/// `pattern` with which of how many parcels this is; nothing where it is the only one of its day.
pub(super) fn parcel_of(parcel: &Parcel, pattern: &str) -> String {
    let filled = |(part, of): (u32, u32)| fill(pattern, &[("part", &part.to_string()), ("of", &of.to_string())]);
    parcel.part.map(filled).unwrap_or_default()
}

fn counted(item: &TradeItem) -> Counted {
    Counted { count: item.quantity, title: item.what.clone() }
}

fn gift(parcel: &Parcel, order: &Order, desk: &Desk<'_>, phrases: &Phrases<'_>) -> GiftView {
    let lines =
        order.lines.iter().map(|line| Counted { count: invoice::here(parcel, order, line), title: title(line) });
    let lines: Vec<Counted> = lines.filter(|thing| thing.count > 0).collect();
    let elsewhere = invoice::elsewhere(parcel, order);
    let message = order.gift_message.clone().filter(|message| !message.trim().is_empty());
    let name = order.recipient.name.clone();
    let from = order.buyer.clone().filter(|buyer| !buyer.is_empty() && *buyer != name);
    let words = &phrases.words.gift;
    GiftView {
        r#ref: parcel.r#ref.0.clone(),
        short: lines.len() + elsewhere.len() <= 6
            && brief(lines.iter().chain(&elsewhere).map(|thing| &thing.title).chain(&message).chain([&name])),
        lang: phrases.language.code().to_owned(),
        words: GiftWords {
            from: from.as_ref().map_or_else(String::new, |from| fill(&words.from, &[("name", from)])),
            packed_by: fill(&words.packed_by, &[("name", &desk.seller.name)]),
            order: fill(&words.order, &[("number", &order.id.number)]),
            part: if elsewhere.is_empty() { String::new() } else { parcel_of(parcel, &words.part) },
            ..words.clone()
        },
        order: order.id.number.clone(),
        from,
        name,
        message,
        lines,
        elsewhere,
    }
}

/// Few enough characters that each text takes a line or two of half a sheet.
pub(super) fn brief<'a>(texts: impl Iterator<Item = &'a String>) -> bool {
    texts.map(|text| text.chars().count()).sum::<usize>() <= 400
}

#[cfg(test)]
mod tests {
    use super::super::super::{Look, Templates, sample};
    use super::*;
    use crate::model::day::DayPlan;
    use crate::model::order::OrderLine;
    use crate::model::parcel::{For, Item, ParcelRef, Rest};
    use crate::model::rules::Seller;
    use crate::model::scale::Sheet;

    fn all(seller: &Seller, plan: &DayPlan) -> Vec<Slip> {
        let templates = Templates::built_in();
        let look = Look { seller, page: Sheet::A4, templates: &templates };
        let tongues = Tongues::of(&templates).unwrap();
        plan.parcels.iter().flat_map(|parcel| slips(parcel, &Desk::of(&look), &tongues)).collect()
    }

    #[test]
    fn a_gift_carries_no_price() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.parcels.retain(|parcel| parcel.papers.contains(&Paper::Gift));
        let json = serde_json::to_string(&all(&seller, &plan)).unwrap();
        assert!(json.contains("\"kind\":\"gift\"") && !json.contains('$'), "{json}");
    }

    /// What of the sample this paper is of, as two parts of three: its first item, and the rest.
    fn split(paper: Paper) -> (Seller, DayPlan) {
        let (seller, mut plan) = sample::day().unwrap();
        let at = plan.parcels.iter().position(|parcel| parcel.papers.contains(&paper)).unwrap();
        let mut whole = plan.parcels.remove(at);
        whole.items.retain(|item| matches!(item.for_, For::Trade { .. }) == (paper == Paper::Note));
        if whole.items.len() == 1 {
            let line = OrderLine { line: "more".into(), ..whole.orders[0].lines[0].clone() };
            let for_ = For::Order { order: whole.orders[0].id.clone(), line: line.line.clone() };
            whole.items.push(Item { for_, ..whole.items[0].clone() });
            whole.orders[0].lines.push(line);
        }
        let items = whole.items.split_off(1);
        whole.papers = vec![paper];
        let mut later = Parcel { part: Some((2, 3)), r#ref: ParcelRef("1125-77".into()), items, ..whole.clone() };
        if let Some(invoice) = whole.invoices.first().filter(|_| paper == Paper::Invoice) {
            later.papers = vec![Paper::Rest];
            later.rests = vec![Rest {
                order: invoice.order.clone(),
                invoice: Some(invoice.clone()),
                after: vec![whole.r#ref.0.clone()],
                invoice_in: Some((1, whole.r#ref.clone())),
            }];
            later.invoices.clear();
        }
        plan.parcels = vec![Parcel { part: Some((1, 3)), ..whole }, later];
        (seller, plan)
    }

    fn pieces(things: &[Counted]) -> u32 {
        things.iter().map(|thing| thing.count).sum()
    }

    /// Whoever opens the second parcel first sees what it is, and what is in it; the sums are on the invoice alone.
    #[test]
    fn a_later_parcel_of_a_split_says_what_it_is_in_every_language() {
        let (mut seller, plan) = split(Paper::Invoice);
        let number = plan.parcels[0].invoices[0].number;
        let order = plan.parcels[0].orders[0].id.number.clone();
        let first = &plan.parcels[0].r#ref;
        for (language, title, says) in [
            (
                Language::En,
                format!("Parcel 2 of 3 of order {order}"),
                format!("Invoice {number} is in parcel 1 ({first}); nothing more is to be paid."),
            ),
            (
                Language::De,
                format!("Paket 2 von 3 zur Bestellung {order}"),
                format!("Die Rechnung {number} liegt in Paket 1 ({first}); es ist nichts mehr zu zahlen."),
            ),
            (
                Language::Fr,
                format!("Colis 2 sur 3 de la commande {order}"),
                format!("La facture {number} se trouve dans le colis 1 ({first}) ; il n’y a plus rien à payer."),
            ),
            (
                Language::Es,
                format!("Paquete 2 de 3 del pedido {order}"),
                format!("La factura {number} va en el paquete 1 ({first}); no hay nada más que pagar."),
            ),
            (
                Language::Ja,
                format!("注文 {order}：3 個口のうち 2 個目"),
                format!("請求書 {number} は 1 個目の小包（{first}）に入っています。追加のお支払いはございません。"),
            ),
        ] {
            seller.language = Some(language);
            let slips = all(&seller, &plan);
            let [Slip::Invoice(invoice), Slip::Invoice(later)] = slips.as_slice() else { panic!("{slips:?}") };
            assert_eq!((&later.words.title, &later.remarks), (&title, &vec![says]));
            assert!(later.sums.is_empty() && later.lines.iter().all(|line| line.total.is_empty()), "{later:?}");
            let here: u32 = later.lines.iter().map(|line| line.count).sum();
            assert_eq!(here, plan.parcels[1].pieces(), "{later:?}");
            // The invoice is of the whole order.
            let elsewhere: u32 = invoice.elsewhere.iter().map(|thing| thing.count).sum();
            assert_eq!(elsewhere, here);
        }
    }

    /// By hand: what the invoice calls elsewhere is in no parcel of this day.
    #[test]
    fn what_stays_behind_is_said_beside_which_parcel_this_is() {
        let (mut seller, mut plan) = split(Paper::Invoice);
        seller.language = Some(Language::En);
        let order = plan.parcels[0].orders[0].id.clone();
        plan.parcels.iter_mut().for_each(|parcel| parcel.owing = vec![order.clone()]);
        let follows = "First part: the rest of the order follows.".to_owned();
        for slip in all(&seller, &plan) {
            let Slip::Invoice(invoice) = slip else { panic!("{slip:?}") };
            assert!(invoice.remarks.contains(&follows), "{invoice:?}");
        }
    }

    #[test]
    fn notes_and_gift_slips_of_a_split_hold_what_lies_in_their_parcel() {
        for paper in [Paper::Note, Paper::Gift] {
            let (mut seller, plan) = split(paper);
            seller.language = Some(Language::En);
            let slips = all(&seller, &plan);
            let told: Vec<(u32, u32, &str)> = slips
                .iter()
                .map(|slip| match slip {
                    Slip::Note(note) => (pieces(&note.sent), pieces(&note.elsewhere), note.words.part.as_str()),
                    Slip::Gift(gift) => (pieces(&gift.lines), pieces(&gift.elsewhere), gift.words.part.as_str()),
                    Slip::Invoice(invoice) => panic!("{invoice:?}"),
                })
                .collect();
            let [here, later] = [0, 1].map(|at| plan.parcels[at].pieces());
            assert_eq!(told, [(here, later, "Parcel 1 of 3."), (later, here, "Parcel 2 of 3.")]);
            assert!(!serde_json::to_string(&slips).unwrap().contains('$'));
        }
    }

    #[test]
    fn papers_are_in_the_recipients_language_unless_one_is_pinned() {
        let (mut seller, mut plan) = sample::day().unwrap();
        plan.parcels.retain(|parcel| parcel.papers.contains(&Paper::Note));
        plan.parcels[0].recipient.country = "FR".parse().ok();
        let thanks = |slips: &[Slip]| {
            slips.iter().find_map(|slip| match slip {
                Slip::Note(note) => Some((note.lang.clone(), note.words.thanks.clone())),
                Slip::Invoice(_) | Slip::Gift(_) => None,
            })
        };
        let name = plan.parcels[0].trades[0].1.with.name.clone();
        assert_eq!(thanks(&all(&seller, &plan)), Some(("fr".to_owned(), format!("Merci, {name} !"))));
        seller.language = Some(Language::De);
        assert_eq!(thanks(&all(&seller, &plan)), Some(("de".to_owned(), format!("Vielen Dank, {name}!"))));
    }
}
