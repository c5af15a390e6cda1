//! The morning email's view, in the order in which it is read: what only the seller can decide, what is late, what
//! to pack, and then the rest.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use crate::model::day::{Changed, DayPlan, Held, Proposal, Refused, Remark};
use crate::model::parcel::Parcel;

use super::super::words::{self, DateWords};
use super::super::{Look, file_name, proposed_file};
use super::Desk;
use super::card::answers;

/// How long before its day a held order is told among what is due.
const HELD_NOTICE: jiff::SignedDuration = jiff::SignedDuration::from_hours(48);

/// Titles told of a parcel; its card has them all.
const MOST_TITLES: usize = 8;

/// All that `dispatch.html.hbs`, `dispatch.txt.hbs` and `subject.txt.hbs` get.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Letter {
    /// Language of its words, BCP 47.
    pub lang: String,
    /// Day of dispatch.
    pub date: DateWords,
    /// `list 2 of the day, only what is new`, or nothing.
    pub revision: Option<String>,
    /// The seller's name.
    pub seller: String,
    /// `7 parcels`.
    pub parcels_words: String,
    /// `16 pieces`.
    pub pieces_words: String,
    /// Postage planned in all: `$41.20`.
    pub postage: String,
    /// `2 things need you`, or nothing.
    pub needs: Option<String>,
    /// `1 late`, or nothing.
    pub late_words: Option<String>,
    /// Why there is nothing to send, or nothing.
    pub nothing: Option<String>,
    /// What only the seller can decide.
    pub questions: Vec<QuestionView>,
    /// Other things that need the seller, a line each: files that wait, rows that were refused.
    pub chores: Vec<String>,
    /// How to answer, where there is a question.
    pub how_to_answer: Option<String>,
    /// Late, or due today.
    pub due: Vec<DueView>,
    /// Parcels in packing order.
    pub parcels: Vec<ParcelView>,
    /// What can't go yet.
    pub held: Vec<HeldView>,
    /// Rows and files that could not be read.
    pub refused: Vec<RefusedView>,
    /// Files that wait in the inbox.
    pub waiting: Vec<WaitingView>,
    /// Orders told otherwise than before.
    pub changed: Vec<ChangedView>,
    /// What reading files chose or mended.
    pub remarks: Vec<RemarkView>,
    /// Orders called off or paid back.
    pub called_off: Vec<CalledOffView>,
    /// Parcels of earlier days without a recorded hand-off.
    pub earlier: Vec<EarlierView>,
    /// Sums, as label and value.
    pub totals: Vec<TotalView>,
    /// Mailers that run low, a line each.
    pub supplies: Vec<String>,
    /// Postage changes ahead, a line each.
    pub price_changes: Vec<String>,
    /// Words that the print pack could not show, a line each.
    pub missing: Vec<String>,
    /// Names of the files that come with the email, and of those that lie beside them.
    pub attached: Vec<String>,
}

/// A question.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct QuestionView {
    /// `Q-0003`.
    pub id: String,
    /// The question.
    pub text: String,
    /// Orders and trades that wait for it.
    pub about: String,
    /// Answers it takes; empty where a file of the home is to be mended.
    pub choices: Vec<String>,
    /// The same as `together or apart`.
    pub choices_words: String,
}

/// Something late or due.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct DueView {
    /// Parcel ref, or the id of what is held.
    pub r#ref: String,
    /// For whom.
    pub name: String,
    /// `late since Tue 24 Nov`, `due today`; `, and held` where it is.
    pub words: String,
    /// It is late, not only due.
    pub late: bool,
}

/// A parcel, short.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct ParcelView {
    /// Ref.
    pub r#ref: String,
    /// `part 1 of 2`, or nothing.
    pub part: Option<String>,
    /// Recipient.
    pub name: String,
    /// `Gullhaven, OR`.
    pub town: String,
    /// `2 × Bell buoy; 1 × Lightship No. 9`.
    pub contents: String,
    /// `mailer A, 2 rolls, thank-you note`.
    pub packing: String,
    /// `Small parcel, declare 4 oz, $5.25`.
    pub postage: String,
    /// Last day to hand over.
    pub ship_by: DateWords,
    /// Orders and trades that it answers.
    pub answers: String,
    /// What to heed, a sentence each.
    pub heed: Vec<String>,
}

/// Something held.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct HeldView {
    /// `stall:1002`.
    pub id: String,
    /// For whom.
    pub name: String,
    /// Why, in a few words.
    pub reason: String,
    /// Why, in a sentence.
    pub text: String,
    /// When it is released by itself.
    pub until: Option<DateWords>,
}

/// A refused row or file.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct RefusedView {
    /// `stall.csv, line 17, column Qty: "two"`.
    pub r#where: String,
    /// What is wrong and what to do.
    pub reason: String,
}

/// A file that waits.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct WaitingView {
    /// Its name.
    pub file: String,
    /// Why, and what would let it in.
    pub why: String,
    /// What to do with the column map that comes with the email, where one is proposed.
    pub proposal: Option<String>,
}

/// An order told otherwise than before.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct ChangedView {
    /// `stall:1002`.
    pub id: String,
    /// To whom it goes.
    pub name: String,
    /// `in parcel 1124-02, which was handed over`, or nothing.
    pub parcel: Option<String>,
    /// What is other, a line each.
    pub what: Vec<String>,
}

/// What reading a file chose or mended.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct RemarkView {
    /// `stall.csv, line 17, column Qty`.
    pub r#where: String,
    /// What was done.
    pub text: String,
}

/// An order that was called off or paid back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct CalledOffView {
    /// `stall:1007`.
    pub id: String,
    /// `cancelled` or `refunded`.
    pub state: String,
}

/// A parcel of an earlier day.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct EarlierView {
    /// Its old ref.
    pub r#ref: String,
    /// For whom.
    pub name: String,
    /// When it was listed.
    pub listed: DateWords,
}

/// A sum.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct TotalView {
    /// What it is.
    pub label: String,
    /// How much.
    pub value: String,
}

/// The view of `plan`'s email. `missing` are the words that the print pack could not show; `attached` the names of
/// the papers, in the order in which they are told.
#[must_use]
pub fn letter(plan: &DayPlan, look: &Look<'_>, missing: &[String], attached: Vec<String>) -> Letter {
    let desk = Desk::of(look);
    let chores = chores(plan, missing);
    let late = plan.parcels.iter().filter(|parcel| parcel.late).count();
    let pieces: usize = plan.parcels.iter().map(|parcel| parcel.pieces() as usize).sum();
    let questions: Vec<QuestionView> = plan
        .questions
        .iter()
        .map(|question| QuestionView {
            id: question.id.to_string(),
            text: words::sentence(&question.text),
            about: question.about.join(", "),
            choices: question.choices.clone(),
            choices_words: question.choices.join(" or "),
        })
        .collect();
    let needs = questions.len() + chores.len();
    Letter {
        lang: "en".to_owned(),
        date: plan.date.into(),
        revision: super::print::revision(plan),
        seller: look.seller.name.clone(),
        parcels_words: words::count(plan.parcels.len(), "parcel", "parcels"),
        pieces_words: words::count(pieces, "piece", "pieces"),
        postage: desk.money(plan.totals.postage),
        needs: (needs > 0).then(|| words::count(needs, "thing needs you", "things need you")),
        late_words: (late > 0).then(|| format!("{late} late")),
        nothing: plan.parcels.is_empty().then(|| nothing(plan)),
        how_to_answer: how_to_answer(plan),
        questions,
        chores,
        due: due(plan),
        parcels: plan.parcels.iter().map(|parcel| parcel_view(parcel, &desk)).collect(),
        held: plan.held.iter().map(held).collect(),
        refused: plan.refused.iter().map(refused).collect(),
        waiting: plan
            .waiting
            .iter()
            .map(|waiting| WaitingView {
                file: waiting.file.clone(),
                why: waiting.why.clone(),
                proposal: waiting.proposal.as_ref().map(|proposal| proposal_words(proposal, plan.revision)),
            })
            .collect(),
        changed: plan.changed.iter().map(changed).collect(),
        remarks: plan.remarks.iter().map(remark).collect(),
        called_off: plan
            .called_off
            .iter()
            .map(|(id, state)| CalledOffView { id: id.clone(), state: state.clone() })
            .collect(),
        earlier: plan
            .listed_earlier
            .iter()
            .map(|earlier| EarlierView {
                r#ref: earlier.r#ref.0.clone(),
                name: earlier.name.clone(),
                listed: earlier.listed.into(),
            })
            .collect(),
        totals: totals(plan, pieces, &desk),
        supplies: supplies(plan),
        price_changes: price_changes(plan, &desk),
        missing: missing.to_vec(),
        attached,
    }
}

/// Why nothing is to be packed, in one sentence: a silent or unexplained morning is a fault.
#[must_use]
pub fn nothing(plan: &DayPlan) -> String {
    let mut reasons = Vec::new();
    let held = plan.held.len();
    if held > 0 {
        reasons.push(format!("{held} held"));
    }
    if !plan.questions.is_empty() {
        reasons.push(words::count(plan.questions.len(), "open question", "open questions"));
    }
    if !plan.waiting.is_empty() {
        reasons.push(words::count(plan.waiting.len(), "file waits in the inbox", "files wait in the inbox"));
    }
    if !plan.refused.is_empty() {
        reasons.push(words::count(plan.refused.len(), "row refused", "rows refused"));
    }
    if !plan.listed_earlier.is_empty() {
        let earlier = plan.listed_earlier.len();
        reasons.push(format!("{earlier} listed earlier without a recorded hand-off"));
    }
    if reasons.is_empty() {
        "Nothing to send: no order or trade is open.".to_owned()
    } else {
        format!("Nothing to send: {}.", words::and_list(&reasons))
    }
}

fn chores(plan: &DayPlan, missing: &[String]) -> Vec<String> {
    let mut refused: BTreeMap<&str, (usize, bool)> = BTreeMap::new();
    for row in &plan.refused {
        let entry = refused.entry(&row.file).or_default();
        entry.0 += 1;
        entry.1 |= row.line.is_none();
    }
    let waiting = plan.waiting.iter().map(|waiting| match &waiting.proposal {
        Some(proposal) => format!(
            "{} waits in the inbox for a column map; one is proposed as {}, to be completed: see below.",
            waiting.file,
            proposed_file(proposal, plan.revision)
        ),
        None => format!("{} waits in the inbox: {}", waiting.file, waiting.why),
    });
    let refused = refused.into_iter().map(|(file, (rows, whole))| {
        if whole {
            format!("{file} could not be read; why is below.")
        } else {
            format!("{file}: {} could not be read; mend and drop again.", words::count(rows, "row", "rows"))
        }
    });
    let missing = (!missing.is_empty()).then(|| {
        format!("{} of the print pack to complete by hand, see below.", words::count(missing.len(), "line", "lines"))
    });
    // What is on its way can't be changed here; what lies on the table can.
    let changed = plan.changed.iter().filter_map(|changed| {
        let parcel = changed.parcel.as_ref()?;
        Some(if changed.handed_over {
            format!("{} changed after parcel {parcel} was handed over; what changed is below.", changed.id)
        } else {
            format!("{} changed after it was listed as {parcel}; look it over before you hand it over.", changed.id)
        })
    });
    changed.chain(waiting).chain(refused).chain(missing).collect()
}

fn how_to_answer(plan: &DayPlan) -> Option<String> {
    let question = plan.questions.iter().find(|question| !question.choices.is_empty())?;
    let choice = question.choices.first()?;
    Some(format!(
        "Answer in {} of the day's papers and drop it in the inbox, or run: dawnpack answer {} {choice}",
        file_name("questions", "csv", plan.revision),
        question.id
    ))
}

fn due(plan: &DayPlan) -> Vec<DueView> {
    let say = |day: Date, late: bool| {
        let words = DateWords::from(day);
        match (late, day == plan.date) {
            (true, _) => format!("late since {}", words.short),
            (false, true) => "due today".to_owned(),
            (false, false) => format!("due {}", words.short),
        }
    };
    // A held one needs a day's notice: what holds it must be settled first.
    let near = plan.date.saturating_add(HELD_NOTICE);
    let parcels =
        plan.parcels.iter().filter(|parcel| parcel.late || parcel.ship_by <= plan.date).map(|parcel| DueView {
            r#ref: parcel.r#ref.0.clone(),
            name: parcel.recipient.name.clone(),
            words: say(parcel.ship_by, parcel.late),
            late: parcel.late,
        });
    let held = plan.held.iter().filter_map(|held| {
        let day = held.ship_by.filter(|day| *day <= near)?;
        let late = day < plan.date;
        let words = format!("{}, and held: {}", say(day, late), words::hold(held.reason));
        Some(DueView { r#ref: held.id.clone(), name: held.name.clone(), words, late })
    });
    let mut due: Vec<DueView> = parcels.chain(held).collect();
    due.sort_by_key(|due| !due.late);
    due
}

fn parcel_view(parcel: &Parcel, desk: &Desk<'_>) -> ParcelView {
    let mut packing = vec![format!("mailer {}", parcel.mailer.code)];
    if !parcel.rolls.is_empty() {
        packing.push(words::count(parcel.rolls.len(), "roll", "rolls"));
    }
    packing.extend(parcel.papers.iter().map(|paper| words::paper(*paper).to_owned()));
    let mut heed: Vec<String> = super::weigh_first(parcel).into_iter().collect();
    heed.extend(
        parcel
            .refund_offer
            .map(|offer| format!("Postage was paid more than once: {} could be offered back.", desk.money(offer))),
    );
    heed.extend(parcel.cautions.iter().map(|caution| words::sentence(&caution.text)));
    ParcelView {
        r#ref: parcel.r#ref.0.clone(),
        part: super::part(parcel),
        name: parcel.recipient.name.clone(),
        town: words::town(&parcel.recipient, desk.seller.country),
        contents: contents(parcel),
        packing: packing.join(", "),
        postage: format!(
            "{}, declare {}, {}",
            parcel.postage.service_title,
            parcel.postage.declared,
            desk.money(parcel.postage.price)
        ),
        ship_by: parcel.ship_by.into(),
        answers: answers(parcel).join(", "),
        heed,
    }
}

/// Titles with their counts, those alike summed; more than a short block holds are left to the card.
fn contents(parcel: &Parcel) -> String {
    let mut counts: Vec<(&str, u32)> = Vec::new();
    for item in &parcel.items {
        match counts.iter_mut().find(|(title, _)| *title == item.title) {
            Some((_, count)) => *count += item.quantity,
            None => counts.push((&item.title, item.quantity)),
        }
    }
    let mut words: Vec<String> = counts.iter().map(|(title, count)| format!("{count} × {title}")).collect();
    let more = words.len().saturating_sub(MOST_TITLES);
    if more > 0 {
        words.truncate(MOST_TITLES);
        words.push(format!("and {more} more, all on its card"));
    }
    words.join("; ")
}

fn held(held: &Held) -> HeldView {
    HeldView {
        id: held.id.clone(),
        name: held.name.clone(),
        reason: words::hold(held.reason).to_owned(),
        text: held.text.clone(),
        until: held.until.map(DateWords::from),
    }
}

fn proposal_words(proposal: &Proposal, revision: u32) -> String {
    format!(
        "A column map for it comes with this email: {}. Look it over, complete it, and save it as columns/{}.toml in \
         the home; the file is read then.",
        proposed_file(proposal, revision),
        proposal.name
    )
}

fn changed(changed: &Changed) -> ChangedView {
    let parcel = changed.parcel.as_ref().map(|parcel| {
        let stands = if changed.handed_over { "which was handed over" } else { "listed, not yet handed over" };
        format!("in parcel {parcel}, {stands}")
    });
    ChangedView { id: changed.id.clone(), name: changed.name.clone(), parcel, what: changed.what.clone() }
}

fn remark(remark: &Remark) -> RemarkView {
    RemarkView { r#where: place(&remark.file, remark.line, remark.column.as_deref()), text: remark.text.clone() }
}

/// `stall.csv, line 17, column Qty`.
fn place(file: &str, line: Option<u64>, column: Option<&str>) -> String {
    let line = line.map(|line| format!(", line {line}")).unwrap_or_default();
    let column = column.map(|column| format!(", column {column}")).unwrap_or_default();
    format!("{file}{line}{column}")
}

fn refused(refused: &Refused) -> RefusedView {
    let mut place = place(&refused.file, refused.line, refused.column.as_deref());
    if let Some(value) = &refused.value {
        place = format!("{place}: \"{}\"", words::shortened(value, 80));
    }
    RefusedView { r#where: place, reason: refused.reason.clone() }
}

fn totals(plan: &DayPlan, pieces: usize, desk: &Desk<'_>) -> Vec<TotalView> {
    if plan.parcels.is_empty() {
        return Vec::new();
    }
    let row = |label: &str, value: String| TotalView { label: label.to_owned(), value };
    vec![
        row("Parcels", plan.parcels.len().to_string()),
        row("Pieces", pieces.to_string()),
        row("Postage", desk.money(plan.totals.postage)),
        row("Mass", words::grams(plan.totals.mass_g)),
    ]
}

fn supplies(plan: &DayPlan) -> Vec<String> {
    plan.supplies_low
        .iter()
        .map(|supply| {
            let left = if supply.left == 0 { "none".to_owned() } else { supply.left.to_string() };
            format!("{} ({}): {left} left after today", supply.title, supply.code)
        })
        .collect()
}

/// One line for each different change, however many parcels it touches.
fn price_changes(plan: &DayPlan, desk: &Desk<'_>) -> Vec<String> {
    let changes: BTreeSet<(Date, String)> = plan
        .parcels
        .iter()
        .filter_map(|parcel| {
            let postage = &parcel.postage;
            let change = postage.change_ahead.as_ref().filter(|change| change.price != postage.price)?;
            let from = DateWords::from(change.from);
            Some((
                change.from,
                format!(
                    "From {}, {} {} up to {} costs {} instead of {}",
                    from.medium,
                    postage.carrier,
                    postage.service_title,
                    postage.declared,
                    desk.money(change.price),
                    desk.money(postage.price)
                ),
            ))
        })
        .collect();
    changes.into_iter().map(|(_, line)| line).collect()
}
