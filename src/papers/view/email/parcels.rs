//! The parcels of the email, a short block each; the whole of a parcel is on its card.

use jiff::civil::Date;
use serde::Serialize;

use crate::model::parcel::Parcel;
use crate::model::text::one_line;
use crate::papers::words::{self, DateWords};

use super::super::card::{answers, notes};
use super::super::{Desk, part, weigh_first};
use super::needs::by_when;

/// Titles told of a parcel; its card has them all.
const MOST_TITLES: usize = 8;

/// A parcel, short.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
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
    /// `Mailer A, 2 rolls, thank-you note`.
    pub packing: String,
    /// `Small parcel, declare 4 oz, $5.25`.
    pub postage: String,
    /// Last day to hand over.
    pub ship_by: DateWords,
    /// The same in words: `late since Tue 24 Nov`, `due today`, `due Fri 27 Nov`.
    pub by: String,
    /// That day is past.
    pub late: bool,
    /// Orders and trades that it answers.
    pub answers: String,
    /// What buyers and partners wrote to the seller.
    pub notes: Vec<String>,
    /// What to heed, a sentence each.
    pub heed: Vec<String>,
}

pub(super) fn parcel(parcel: &Parcel, today: Date, desk: &Desk<'_>) -> ParcelView {
    let mut packing = vec![format!("Mailer {}", parcel.mailer.code)];
    if !parcel.rolls.is_empty() {
        packing.push(words::count(parcel.rolls.len(), "roll", "rolls"));
    }
    packing.extend(parcel.papers.iter().map(|paper| words::paper(*paper).to_owned()));
    let mut heed: Vec<String> = weigh_first(parcel).into_iter().collect();
    heed.extend(
        parcel
            .refund_offer
            .map(|offer| format!("Postage was paid more than once: {} could be offered back.", desk.money(offer))),
    );
    heed.extend(parcel.cautions.iter().map(|caution| words::said(&caution.text)));
    ParcelView {
        r#ref: parcel.r#ref.0.clone(),
        part: part(parcel),
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
        ship_by: parcel.last_day().into(),
        by: by_when(parcel.last_day(), parcel.late, today),
        late: parcel.late,
        answers: answers(parcel).join(", "),
        notes: notes(parcel).iter().map(|note| one_line(note)).collect(),
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
