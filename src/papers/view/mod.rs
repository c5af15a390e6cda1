//! View models: all that templates get. Everything in them is text that is ready to print, a flag that chooses a
//! branch, or a measure of a drawing; nothing is left to be added, rounded or looked up.
//!
//! Handed a plan; gives one view for the print pack and one for the email. Turned down: giving templates the model
//! itself, which would put formats, and in the end sums, into templates that a seller may override.

pub mod card;
pub mod customs;
pub mod drawing;
pub mod email;
pub mod invoice;
pub mod print;
pub mod proof;
pub mod slips;

use crate::model::money::Money;
use crate::model::parcel::Parcel;
use crate::model::rules::Seller;

use super::Look;
use super::money::MoneyWords;
use super::words;

/// What every view needs beside the plan.
pub struct Desk<'a> {
    /// Who sends.
    pub seller: &'a Seller,
    money: MoneyWords,
}

impl<'a> Desk<'a> {
    /// The seller's desk.
    #[must_use]
    pub fn of(look: &Look<'a>) -> Self {
        Self { seller: look.seller, money: MoneyWords::english_in(look.seller.country) }
    }

    /// An amount with its sign.
    #[must_use]
    pub fn money(&self, money: Money) -> String {
        self.money.write(money)
    }

    /// The address lines below the recipient's name.
    #[must_use]
    pub fn address(&self, parcel: &Parcel) -> Vec<String> {
        words::address(&parcel.recipient, self.seller.country)
    }
}

/// `part 1 of 2`, where a recipient's goods don't fit one parcel.
fn part(parcel: &Parcel) -> Option<String> {
    parcel.part.map(|(this, of)| format!("part {this} of {of}"))
}

/// `Padded mailer, small (A)`.
fn mailer(parcel: &Parcel) -> String {
    let mailer = &parcel.mailer;
    if mailer.title.is_empty() { mailer.code.clone() } else { format!("{} ({})", mailer.title, mailer.code) }
}

/// `weigh before buying: 4 oz lies within what it may weigh`.
fn weigh_first(parcel: &Parcel) -> Option<String> {
    parcel.postage.weigh_first.then(|| match parcel.postage.edge {
        Some(edge) => format!("Weigh before buying: the tier edge {edge} lies within what it may weigh."),
        None => "Weigh before buying: a tier edge lies within what it may weigh.".to_owned(),
    })
}
