//! A proof's view: what is known of one parcel, where each of it comes from, and what was never recorded.
//!
//! Handed the evidence and what became of the archived files; gives text that is ready to print. Whatever isn't known
//! has its own line that says so, since a gap in silence looks like something hidden. Turned down: one list of events
//! by time, in which nobody finds what a claim's form asks for.

mod carrier;

use jiff::Timestamp;
use serde::Serialize;

use crate::model::parcel::{Parcel, ParcelState};
use crate::model::proof::{Evidence, FileRef};
use crate::model::sending::SendingId;
use crate::model::trade::{First, LossFallsOn, Trade, TradeId, TradeItem};

use super::super::Look;
use super::super::proof::{Kept, Proof};
use super::super::words::{self, DateWords};
use crate::papers::phrases::Phrases;

use super::invoice::{self, InvoiceLine, Sum};
use super::{Desk, drawing, print};

/// All that `proof.typ` gets, as `data.json`.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ProofView {
    /// Title of the document.
    pub title: String,
    /// Language of its words, BCP 47.
    pub lang: String,
    /// Typst's name of the paper.
    pub paper: String,
    /// The day it is made.
    pub date: DateWords,
    /// Nothing: only lists have revisions.
    pub revision: Option<String>,
    /// Who sends.
    pub seller: print::SellerView,
    /// What is written on the parcel.
    pub r#ref: String,
    /// Other parcels with the same ref, where there are any.
    pub other_years: Option<String>,
    /// Where it stands, in a word or two.
    pub state: String,
    /// Recipient as printed.
    pub to: Vec<String>,
    /// What happened when.
    pub life: Vec<Fact>,
    /// Sales in it.
    pub orders: Vec<OrderView>,
    /// Trades in it.
    pub trades: Vec<TradeView>,
    /// How it was packed, and what it weighs.
    pub packing: Vec<Fact>,
    /// Postage and tracking.
    pub postage: Vec<Fact>,
    /// The carrier's receipts.
    pub receipts: Vec<Fact>,
    /// What was said about it since.
    pub said: Vec<Fact>,
    /// Pictures of receipts.
    pub pictures: Vec<PictureView>,
    /// The files that all this rests on.
    pub files: Vec<FileView>,
    /// How to check the files.
    pub how_to_check: String,
}

/// Something that is known, or that isn't.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Fact {
    /// What it is.
    pub label: String,
    /// What is known of it.
    pub value: String,
    /// Where that is from; nothing where it is this program's own record.
    pub source: Option<String>,
    /// Whether anything is recorded.
    pub known: bool,
}

impl Fact {
    fn known(label: &str, value: impl Into<String>) -> Self {
        Self { label: label.to_owned(), value: value.into(), source: None, known: true }
    }

    fn from(self, source: impl Into<String>) -> Self {
        Self { source: Some(source.into()), ..self }
    }

    fn unknown(label: &str, value: impl Into<String>) -> Self {
        Self { known: false, ..Self::known(label, value) }
    }
}

/// A sale in the parcel.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct OrderView {
    /// `stall:1001`.
    pub id: String,
    /// Number of its invoice, where one was issued.
    pub invoice: Option<String>,
    /// Who bought, where that is somebody else.
    pub buyer: Option<String>,
    /// What was bought.
    pub lines: Vec<InvoiceLine>,
    /// Goods, postage, discount, tax, total.
    pub sums: Vec<Sum>,
    /// What is still to be said of the sums, and of what isn't in this parcel.
    pub remark: Option<String>,
    /// The files it came in, as `file 1`.
    pub came_in: String,
}

/// A trade in the parcel.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TradeView {
    /// `T-0007`.
    pub id: String,
    /// The partner.
    pub with: String,
    /// What was agreed, a fact each.
    pub terms: Vec<Fact>,
    /// What I send.
    pub send: Vec<String>,
    /// What I get; empty for a present.
    pub get: Vec<String>,
    /// The lines of the confirmation as it came; empty where its file isn't kept.
    pub text: Vec<String>,
    /// The files it came in.
    pub came_in: String,
}

/// A picture of a receipt.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PictureView {
    /// Its name among the files of the page; nothing where it can't be shown.
    pub image: Option<String>,
    /// What it is and why it is here.
    pub caption: String,
    /// The picture in words, for those who can't see it.
    pub alt: String,
    /// Why it isn't shown.
    pub not_shown: Option<String>,
    /// Hash of its bytes.
    #[serde(skip)]
    pub hash: String,
}

/// An archived file.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct FileView {
    /// `1`.
    pub number: String,
    /// Its name as dropped.
    pub name: String,
    /// When it was taken in.
    pub taken: String,
    /// BLAKE3 of its bytes, in groups.
    pub hash: String,
    /// Where it lies, or that it doesn't.
    pub kept: String,
    /// Whether it lies there unchanged.
    pub sound: bool,
}

/// What all parts of the view need.
struct Maker<'a> {
    proof: &'a Proof<'a>,
    evidence: &'a Evidence,
    parcel: &'a Parcel,
    desk: Desk<'a>,
    phrases: &'a Phrases<'a>,
    files: Vec<&'a FileRef>,
}

/// The view of a proof.
#[must_use]
pub(in crate::papers) fn view(proof: &Proof<'_>, look: &Look<'_>, phrases: &Phrases<'_>) -> ProofView {
    let evidence = proof.evidence;
    let parcel = &evidence.parcel;
    let maker = Maker { proof, evidence, parcel, desk: Desk::of(look), phrases, files: evidence.files() };
    let date = DateWords::from(proof.made_on);
    let to = std::iter::once(parcel.recipient.name.clone()).chain(maker.desk.address(parcel)).collect();
    ProofView {
        title: format!("Proof of parcel {} of {}, {}", parcel.r#ref, evidence.listed_on, look.seller.name),
        lang: "en".to_owned(),
        paper: look.page.typst_name().to_owned(),
        revision: None,
        seller: print::seller(&maker.desk),
        r#ref: parcel.r#ref.0.clone(),
        other_years: other_years(evidence),
        state: state(evidence.state).to_owned(),
        to,
        life: maker.life(),
        orders: maker.orders(),
        trades: parcel.trades.iter().map(|(id, trade)| maker.trade(*id, trade)).collect(),
        packing: maker.packing(),
        postage: maker.postage(),
        receipts: maker.receipts(),
        said: maker.said(),
        pictures: maker.pictures(),
        files: maker.file_views(),
        how_to_check:
            "The hash is BLAKE3 of the file as it was dropped: the command b3sum gives the same figures for the same \
                       bytes."
                .to_owned(),
        date,
    }
}

fn other_years(evidence: &Evidence) -> Option<String> {
    let days: Vec<String> = evidence.other_days.iter().map(|day| DateWords::from(*day).medium).collect();
    (!days.is_empty()).then(|| {
        format!(
            "This is the parcel listed on {}. The same ref was also used on {}.",
            DateWords::from(evidence.listed_on).medium,
            words::and_list(&days)
        )
    })
}

const fn state(state: ParcelState) -> &'static str {
    match state {
        ParcelState::Listed => "listed, not recorded as sent",
        ParcelState::HandedOver => "handed over",
        ParcelState::Accepted => "accepted by the carrier",
        ParcelState::Closed => "closed",
        ParcelState::Cancelled => "cancelled",
        ParcelState::Returned => "returned",
        ParcelState::Lost => "lost",
    }
}

/// `BELL-BUOY`, `2 × Bell buoy = $12.00`.
fn trade_item(item: &TradeItem, desk: &Desk<'_>) -> String {
    let value = item.value.map(|value| format!(", agreed at {} each", desk.money(value))).unwrap_or_default();
    format!("{} × {}{value}", item.quantity, item.what)
}

impl Maker<'_> {
    /// `file 2`, by which the list at the end is meant.
    fn file(&self, file: &FileRef) -> String {
        let place = self.files.iter().position(|known| *known == file).map_or(0, |place| place + 1);
        format!("file {place}")
    }

    fn row(&self, file: &FileRef, line: u64) -> String {
        format!("{}, line {line}", self.file(file))
    }

    fn day(&self, at: Timestamp) -> DateWords {
        at.to_zoned_datetime(self.proof.time_zone.clone()).date().into()
    }

    fn came_in(&self, id: &SendingId) -> String {
        let files = self.evidence.came_in.iter().filter(|came| came.id == *id).flat_map(|came| &came.files);
        let files: Vec<String> = files.map(|file| self.file(file)).collect();
        if files.is_empty() {
            "the file it came in was not recorded".to_owned()
        } else {
            format!("came in {}", words::and_list(&files))
        }
    }

    fn life(&self) -> Vec<Fact> {
        let (evidence, parcel) = (self.evidence, self.parcel);
        let medium = |day: jiff::civil::Date| DateWords::from(day).medium;
        let mut life = Vec::new();
        for order in &parcel.orders {
            let of =
                |label: &str| if parcel.orders.len() > 1 { format!("{label} {}", order.id) } else { label.to_owned() };
            for (label, day, none) in [
                ("Ordered", order.placed_at, "day of the order not recorded"),
                ("Paid", order.paid_at, "day of payment not recorded"),
            ] {
                life.push(
                    day.map_or_else(|| Fact::unknown(&of(label), none), |day| Fact::known(&of(label), medium(day))),
                );
            }
        }
        for (id, trade) in &parcel.trades {
            life.push(Fact::known(&format!("Agreed {id}"), medium(trade.agreed)));
        }
        let list = if evidence.revision > 1 { format!(", list {}", evidence.revision) } else { String::new() };
        life.push(Fact::known(
            "Listed",
            format!("{}{list}, to go by {}", medium(evidence.listed_on), medium(parcel.ship_by)),
        ));
        let place = evidence.place.as_ref().map(|place| format!(", {place}")).unwrap_or_default();
        life.push(match (evidence.handed_over_on, &evidence.handed_over_why) {
            (Some(day), Some(why)) => Fact::known("Handed over", medium(day)).from(format!("by {why}")),
            (Some(day), None) => {
                let fact = Fact::known("Handed over", format!("{}{place}", medium(day)));
                let sheet = evidence.sheets.iter().rfind(|told| told.row.handed_over_on.is_some());
                match sheet {
                    Some(told) => fact.from(format!("hand-off sheet, {}", self.row(&told.file, told.row.line))),
                    None => fact.from("recorded by the seller; the sheet's file was not noted"),
                }
            }
            (None, _) => Fact::unknown("Handed over", "no hand-off recorded"),
        });
        life.push(match evidence.accepted_on {
            Some(day) => Fact::known("Accepted", medium(day)).from("the carrier's receipt, below"),
            None => Fact::unknown("Accepted", "no acceptance by the carrier recorded"),
        });
        life.push(match (evidence.closed_on, evidence.state) {
            (Some(day), _) => Fact::known("Closed", medium(day)),
            (None, ParcelState::Closed) => Fact::unknown("Closed", "closed; the day was not recorded"),
            (
                None,
                ParcelState::Listed
                | ParcelState::HandedOver
                | ParcelState::Accepted
                | ParcelState::Cancelled
                | ParcelState::Returned
                | ParcelState::Lost,
            ) => Fact::unknown("Closed", "not closed"),
        });
        life
    }

    fn orders(&self) -> Vec<OrderView> {
        let view = |order: &crate::model::order::Order| {
            let invoice = self.parcel.invoices.iter().find(|invoice| invoice.order == order.id);
            let told = invoice::told(self.parcel, order, self.desk.seller, self.phrases);
            let rest: Vec<String> =
                told.elsewhere.iter().map(|rest| format!("{} × {}", rest.count, rest.title)).collect();
            let follows = (!rest.is_empty()).then(|| format!("In another parcel: {}.", rest.join(", ")));
            let remarks: Vec<String> = told.remarks.into_iter().chain(follows).collect();
            OrderView {
                id: order.id.to_string(),
                invoice: invoice.map(|invoice| invoice.number.to_string()),
                buyer: order.buyer.clone().filter(|buyer| !buyer.is_empty() && *buyer != order.recipient.name),
                lines: told.lines,
                sums: told.sums,
                remark: (!remarks.is_empty()).then(|| remarks.join(" ")),
                came_in: self.came_in(&order.id.clone().into()),
            }
        };
        self.parcel.orders.iter().map(view).collect()
    }

    fn trade(&self, id: TradeId, trade: &Trade) -> TradeView {
        let mut terms = vec![
            Fact::known(
                "First to send",
                match trade.first {
                    First::Together => "both by the agreed day",
                    First::Me => "the seller",
                    First::Them => "the partner",
                },
            ),
            match trade.loss {
                LossFallsOn::Sender => Fact::known("A loss falls on", "each sender, for what they sent"),
                LossFallsOn::Receiver => Fact::known("A loss falls on", "each receiver, for what they were to get"),
                LossFallsOn::Unsaid => Fact::unknown("A loss falls on", "not agreed in the confirmation"),
            },
            trade.send_by.map_or_else(
                || Fact::unknown("To be posted by", "no day agreed"),
                |day| Fact::known("To be posted by", DateWords::from(day).medium),
            ),
        ];
        let half = self.evidence.their_halves.iter().find(|half| half.trade == id);
        terms.push(match half.and_then(|half| Some((half.arrived_on?, half))) {
            Some((day, half)) => {
                let came = format!("came on {}", DateWords::from(day).medium);
                let said = [Some(came), half.condition.clone(), half.note.clone()];
                Fact::known("Partner's half", said.into_iter().flatten().collect::<Vec<_>>().join(", "))
            }
            None if trade.get.is_empty() => Fact::known("Partner's half", "none: a present"),
            None => Fact::unknown("Partner's half", "no arrival recorded"),
        });
        terms.extend(trade.note.as_ref().map(|note| Fact::known("Note", note)));
        TradeView {
            id: id.to_string(),
            with: trade.with.name.clone(),
            terms,
            send: trade.send.iter().map(|item| trade_item(item, &self.desk)).collect(),
            get: trade.get.iter().map(|item| trade_item(item, &self.desk)).collect(),
            text: self.proof.letters.get(&id).cloned().unwrap_or_default(),
            came_in: self.came_in(&id.into()),
        }
    }

    fn packing(&self) -> Vec<Fact> {
        let parcel = self.parcel;
        let items = parcel.items.iter().map(|item| {
            let options = item.options.as_ref().map(|options| format!(" ({options})")).unwrap_or_default();
            format!("{} × {} {}{options}", item.quantity, item.code.0, item.title)
        });
        let mut facts = vec![Fact::known("Contents", items.collect::<Vec<_>>().join("; "))];
        let rolls = drawing::rolls(parcel);
        let roll = |roll: &drawing::RollView| format!("{}: {} rolled to {}", roll.title, roll.cut, roll.size);
        facts.push(if rolls.is_empty() {
            Fact::known("Wrap", "no rolls: nothing in it is rolled")
        } else {
            Fact::known("Wrap", rolls.iter().map(roll).collect::<Vec<_>>().join("; "))
        });
        let papers: Vec<String> = parcel.papers.iter().map(|paper| words::paper(*paper).to_owned()).collect();
        let papers = if papers.is_empty() { "no paper".to_owned() } else { words::and_list(&papers) };
        facts.push(Fact::known("Mailer", format!("{}, with {papers}", super::mailer(parcel))).from("as planned"));
        facts.extend(super::part(parcel).map(|part| Fact::known("Part", part)));
        let unit = parcel.postage.declared.unit;
        let expected = format!(
            "{}; 19 of 20 such parcels weigh {}",
            words::expected(parcel.mass, unit),
            words::range(parcel.mass, unit)
        );
        facts.push(Fact::known("Expected", expected).from("reckoned"));
        facts.push(match self.evidence.scale {
            Some(scale) => {
                let grams = words::grams(scale.mass().as_f64());
                let value = if scale.unit == crate::model::mass::MassUnit::Gram {
                    scale.to_string()
                } else {
                    format!("{scale} ({grams})")
                };
                let sheet = self.evidence.sheets.iter().rfind(|told| told.row.scale.is_some());
                let fact = Fact::known("On the scale", value);
                match sheet {
                    Some(told) => fact.from(format!("hand-off sheet, {}", self.row(&told.file, told.row.line))),
                    None => fact,
                }
            }
            None => Fact::unknown("On the scale", "no scale reading recorded"),
        });
        facts
    }

    fn said(&self) -> Vec<Fact> {
        let evidence = self.evidence;
        let (mut words, mut said) = (Vec::new(), Vec::new());
        for told in &evidence.sheets {
            let note = told.row.note.as_ref().map(|note| Fact::known("Note on the sheet", note));
            said.extend(note.map(|note| note.from(self.row(&told.file, told.row.line))));
        }
        if said.is_empty() {
            said.extend(evidence.note.as_ref().map(|note| Fact::known("Note on the sheet", note)));
        }
        for (id, what) in &evidence.changes {
            said.push(
                Fact::known(&format!("Changed, {id}"), what).from("told by its source after it was first taken in"),
            );
        }
        for answered in &evidence.answers {
            let on = answered.at.map(|at| format!("answered on {}", self.day(at).medium));
            let fact = Fact::known(&answered.id.to_string(), format!("{} — {}", answered.text, answered.answer));
            said.push(match on {
                Some(on) => fact.from(on),
                None => fact,
            });
        }
        for hold in &evidence.holds {
            let note = hold.note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
            said.push(Fact::known(&format!("Held, {}", hold.id), format!("since {}{note}", self.day(hold.at).medium)));
        }
        if said.is_empty() {
            said.push(Fact::unknown("Since then", "no note, answer, hold or change recorded"));
        }
        for order in &self.parcel.orders {
            words.extend(order.note.as_ref().map(|note| Fact::known(&format!("Buyer, {}", order.id), note)));
            words.extend(
                order.gift_message.as_ref().map(|words| Fact::known(&format!("Gift words, {}", order.id), words)),
            );
        }
        words.extend(said);
        words
    }

    fn file_views(&self) -> Vec<FileView> {
        let view = |(number, file): (usize, &&FileRef)| {
            let kept = self.proof.kept.get(&file.hash);
            // In groups, so that it is read against another, and that no line breaks within one.
            let letters: Vec<char> = file.hash.chars().collect();
            let groups: Vec<String> = letters.chunks(16).map(|group| group.iter().collect()).collect();
            FileView {
                number: number.to_string(),
                name: file.name.clone(),
                taken: self.day(file.taken_at).medium,
                hash: groups.join(" "),
                kept: match kept {
                    Some(Kept::At(place)) => format!("unchanged at {place}"),
                    Some(Kept::Gone) | None => "no file with these bytes lies in the archive any more".to_owned(),
                },
                sound: matches!(kept, Some(Kept::At(_))),
            }
        };
        (1..).zip(&self.files).map(view).collect()
    }
}
