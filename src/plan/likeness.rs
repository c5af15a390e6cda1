//! Who is the same recipient, and whether an address can be one.
//!
//! Handed recipients as they were written; promises a key that is equal only where name and address are equal
//! once case, spacing, punctuation and compatibility forms are set aside. Turned down: comparing the printed
//! text, which parts "88 Tern St." from "88 tern st"; and folding diacritics away, which joins people whose
//! names differ by one.

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

/// Compatibility forms composed, lower case, punctuation to spaces, single spaces.
fn standard(text: &str) -> String {
    let folded: String = text.nfkc().flat_map(char::to_lowercase).collect();
    let spaced = folded.replace(['\'', '’'], "").replace(|c: char| !c.is_alphanumeric(), " ");
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a parcel could be addressed to them.
///
/// # Errors
/// A sentence that says what is wrong, and what may have happened to it. US ZIP codes have five digits or nine
/// (Publication 28, section 211).
pub fn check(recipient: &Recipient) -> Result<(), String> {
    let Some(country) = recipient.country else {
        return Err(match &recipient.country_as_written {
            Some(word) => format!("country `{word}` is not one that could be read; write its two-letter code"),
            None => "no country is given".to_owned(),
        });
    };
    if recipient.name.is_empty() {
        return Err("no name is given".to_owned());
    }
    if recipient.lines.is_empty() {
        return Err("no street is given".to_owned());
    }
    if recipient.city.is_empty() {
        return Err("no town is given".to_owned());
    }
    if country.code() == "US" {
        check_us(recipient)?;
    }
    Ok(())
}

fn check_us(recipient: &Recipient) -> Result<(), String> {
    let zip = recipient.postal_code.as_str();
    let digits = |text: &str, count: usize| text.len() == count && text.bytes().all(|b| b.is_ascii_digit());
    let whole = match zip.split_once('-') {
        Some((five, four)) => digits(five, 5) && digits(four, 4),
        None => digits(zip, 5),
    };
    if zip.is_empty() {
        return Err("no ZIP code is given".to_owned());
    }
    if !whole {
        let lost_zero = zip.len() < 5 && zip.bytes().all(|b| b.is_ascii_digit());
        return Err(if lost_zero {
            format!("postal code `{zip}` is too short for US; a leading zero may be lost")
        } else {
            format!("postal code `{zip}` is not a US ZIP code of five or nine digits")
        });
    }
    if recipient.region.is_empty() {
        return Err("no state is given".to_owned());
    }
    Ok(())
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

    #[test]
    fn another_flat_or_another_letter_is_another_recipient() {
        let next_door = Recipient { lines: vec!["88 Tern Street".into(), "Apt 5".into()], ..ines() };
        let accented = Recipient { name: "Inés Okonjo".into(), ..ines() };
        assert_ne!(key(&ines()), key(&next_door));
        assert_ne!(key(&ines()), key(&accented));
    }

    #[test]
    fn a_lost_zero_is_named() {
        let short = Recipient { postal_code: "0812".into(), ..ines() };
        assert_eq!(check(&short).unwrap_err(), "postal code `0812` is too short for US; a leading zero may be lost");
        assert_eq!(check(&ines()), Ok(()));
    }
}
