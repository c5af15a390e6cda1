//! Who is the same recipient.
//!
//! [`mod@standard`] puts an address into the form in which two ways of writing one place are equal, and says what an
//! address can't be; [`groups`] puts together who is one, by a comparison whose weights are written down
//! ([`weights`]), and asks where that leaves doubt; [`known`] remembers the answers. The key here is equal only where
//! name and address are equal once case, spacing, punctuation and compatibility forms are set aside: answers are kept
//! by it, as it hangs on no table. Turned down: the key alone, which parts "88 Tern St" from "88 Tern Street"; and
//! folding diacritics away in it, which joins people whose names differ by one.

pub mod blocking;
pub mod compare;
pub mod groups;
pub mod known;
pub mod names;
pub mod questions;
mod sets;
pub mod standard;
pub mod weights;
mod words;

use unicode_normalization::UnicodeNormalization;

use crate::model::recipient::Recipient;

/// Equal for two recipients exactly where their standardised name and address are equal.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct RecipientKey(String);

/// The key of a recipient. A ZIP+4 counts as its ZIP: the four digits come and go between exports of one buyer.
#[must_use]
pub fn key(recipient: &Recipient) -> RecipientKey {
    let country = recipient.country.map_or("", |country| country.code());
    let postal_code = match (country, recipient.postal_code.split_once('-')) {
        ("US", Some((zip, _))) => zip,
        (_, Some(_) | None) => &recipient.postal_code,
    };
    let company = recipient.company.as_deref().unwrap_or("");
    let street = recipient.lines.join(" ");
    let parts = [&recipient.name, company, &street, &recipient.city, &recipient.region, postal_code, country];
    RecipientKey(parts.map(standard).join("\n"))
}

/// The words of a text as [`folded`], and apostrophes left out: `O'Kanjo` is `OKanjo`.
fn standard(text: &str) -> String {
    words_of(&lower(text).replace(['\'', '’'], ""))
}

/// Compatibility forms composed, lower case, every sign to a space, single spaces.
pub(super) fn folded(text: &str) -> String {
    words_of(&lower(text))
}

fn lower(text: &str) -> String {
    text.nfkc().flat_map(char::to_lowercase).collect()
}

fn words_of(text: &str) -> String {
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ines() -> Recipient {
        Recipient {
            name: "Ines Okonjo".into(),
            company: None,
            lines: vec!["88 Tern Street".into(), "Apt 4".into()],
            city: "Gullhaven".into(),
            region: "OR".into(),
            postal_code: "97099".into(),
            country: "US".parse().ok(),
            country_as_written: None,
            email: None,
        }
    }

    #[test]
    fn case_spacing_punctuation_and_zip_plus_four_set_nobody_apart() {
        let shouted = Recipient {
            name: "INES  OKONJO".into(),
            lines: vec!["88 Tern Street, Apt. 4".into()],
            postal_code: "97099-1234".into(),
            email: Some("ines@example.net".into()),
            ..ines()
        };
        assert_eq!(key(&ines()), key(&shouted));
    }

    /// Answers and used numbers are kept by these: they may never come to mean another recipient.
    #[test]
    fn what_is_kept_by_a_spelling_is_found_again() {
        let ines = Recipient { name: "Inés O’Kanjo".into(), company: Some("Gull-Club".into()), ..ines() };
        assert_eq!(known::Fingerprint::of(&ines).to_string(), "7af932d0cc0eb9d4");
        assert_eq!(crate::plan::identity::mark(&ines), "inés o kanjo/88 tern street apt 4/gullhaven/or/97099/us");
    }

    #[test]
    fn another_flat_or_another_letter_is_another_recipient() {
        let next_door = Recipient { lines: vec!["88 Tern Street".into(), "Apt 5".into()], ..ines() };
        let accented = Recipient { name: "Inés Okonjo".into(), ..ines() };
        assert_ne!(key(&ines()), key(&next_door));
        assert_ne!(key(&ines()), key(&accented));
    }
}
