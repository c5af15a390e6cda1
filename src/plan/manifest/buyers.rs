//! Who bought what goes to one recipient: nobody's paper ever goes into another's parcel.
//!
//! Handed what is clear to go; promises that what different people bought is told apart, and that one buyer in two ways
//! of writing is one. An order that names no buyer was bought by its recipient, and so was one whose buyer's name is the
//! recipient's. Turned down: letters alone, by which "A. Wren" would not be "Ada Wren".

use crate::plan::likeness::names::{self, Name, Names};
use crate::plan::snapshot::OpenParcel;

use super::Clear;

/// The buyers that have come up, by place.
#[derive(Default)]
pub(super) struct Buyers(Vec<String>);

impl Buyers {
    /// The place of who bought this: the same for the same buyer.
    pub(super) fn place(&mut self, clear: &Clear) -> usize {
        // Recipients are told apart by more than their names.
        let Some(buyer) = &clear.buyer else { return 0 };
        let known = self.0.iter().position(|known| is_one(known, buyer));
        1 + known.unwrap_or_else(|| {
            self.0.push(buyer.clone());
            self.0.len() - 1
        })
    }
}

/// Whether two names of buyers are one person's.
pub(super) fn is_one(one: &str, other: &str) -> bool {
    if one.trim().eq_ignore_ascii_case(other.trim()) {
        return true;
    }
    match names::compare(&Name::new(one), &Name::new(other)) {
        Names::Same | Names::Slip | Names::SurnameSlip | Names::Initial => true,
        Names::NoSurname
        | Names::Shorter
        | Names::Close
        | Names::Garbled
        | Names::OtherGiven
        | Names::OtherSurname
        | Names::OtherGeneration
        | Names::Other => false,
    }
}

/// Whether what lies in an open parcel was bought by whoever bought this.
pub(super) fn may_share(clear: &Clear, open: &OpenParcel) -> bool {
    let parcel = &open.parcel;
    let theirs = parcel.orders.iter().find_map(|order| order.buyer.as_deref());
    let theirs = theirs.filter(|buyer| !is_one(buyer, &parcel.recipient.name));
    match (clear.buyer.as_deref(), theirs) {
        (None, None) => true,
        (Some(mine), Some(theirs)) => is_one(mine, theirs),
        (Some(_), None) | (None, Some(_)) => false,
    }
}
