//! `[seller]` of `dawnpack.toml`: who sends.

use super::optional;
use crate::home::fault::Fault;
use crate::home::keys::{Item, Table};
use crate::home::tax;
use crate::mail;
use crate::model::address::Country;
use crate::model::rules::Seller;

/// The section's seller, whose papers have no language of their own yet.
pub(super) fn read(section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<Seller> {
    section.only(&["name", "address", "country", "email", "tax_id", "tax"], faults);
    let name = section.must("name", "write the name that papers carry", faults).and_then(|item| item.text(faults));
    let address = section.must("address", "write the lines of your address, in a list", faults).and_then(|item| {
        let lines = item.texts(faults)?;
        if lines.is_empty() {
            faults.push(item.fault("is empty; write the lines of your address"));
            return None;
        }
        Some(lines)
    });
    let country = section
        .must("country", "write your country's two-letter code, such as US", faults)
        .and_then(|item| item.parsed::<Country>(faults));
    let email = section
        .must("email", "write the address that the morning email comes from", faults)
        .and_then(|item| email(&item, faults));
    let tax_id = section.get("tax_id").map(|item| item.text(faults));
    let tax = section.get("tax").map(|item| item.table(faults).and_then(|section| tax::read(&section, faults)));
    Some(Seller {
        name: name?.to_owned(),
        address: address?,
        country: country?,
        email: email?,
        tax_id: optional(tax_id)?.map(str::to_owned),
        tax: optional(tax)?.unwrap_or_default(),
        language: None,
    })
}

/// By the one rule that messages are composed by, so that what passes here can be mailed to.
pub(super) fn email(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = item.text(faults)?;
    mail::address(text).map_err(|why| faults.push(item.fault(why.to_string()))).ok()?;
    Some(text.to_owned())
}
