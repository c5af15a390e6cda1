//! Dates, masses, lengths and counts as people read them.
//!
//! Handed values of the model; gives short English text. Everything that a template prints was turned into text
//! here or in `money`, so that no template rounds, adds or formats.

use std::sync::LazyLock;

use jiff::civil::Date;
use regex::{Captures, Regex};
use serde::Serialize;

use crate::model::address::Country;
use crate::model::catalogue::Kind;
use crate::model::day::HoldReason;
use crate::model::length::Length;
use crate::model::mass::{Estimate, MassUnit};
use crate::model::parcel::{Paper, ParcelRef};
use crate::model::recipient::Recipient;

/// A day in the forms that templates want.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct DateWords {
    /// `2026-11-25`.
    pub iso: String,
    /// `Wed 25 Nov`.
    pub short: String,
    /// `Wed 25 Nov 2026`.
    pub medium: String,
    /// `Wednesday 25 November 2026`.
    pub long: String,
}

impl From<Date> for DateWords {
    fn from(date: Date) -> Self {
        let form = |pattern: &str| date.strftime(pattern).to_string();
        Self {
            iso: date.to_string(),
            short: form("%a %-d %b"),
            medium: form("%a %-d %b %Y"),
            long: form("%A %-d %B %Y"),
        }
    }
}

/// A day as it stands in a sentence that says nothing of its year: `Wed 25 Nov 2026`.
pub fn day(date: Date) -> String {
    DateWords::from(date).medium
}

/// `parcel 1124-02`, `parcels 1124-02 and 1125-01`.
pub fn parcels(refs: &[ParcelRef]) -> String {
    let named: Vec<String> = refs.iter().map(ToString::to_string).collect();
    format!("{} {}", if refs.len() == 1 { "parcel" } else { "parcels" }, and_list(&named))
}

/// `1 parcel`, `7 parcels`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `a, b and c`.
pub fn and_list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

/// Whole millimetres, as a ruler shows them.
pub fn mm(length: Length) -> String {
    length.mm().round_dp(0).normalize().to_string()
}

/// Grams to the whole gram, a kitchen scale's step.
pub fn grams(grams: f64) -> String {
    format!("{grams:.0} g")
}

/// A mass in the unit that the postage is sold by, with the digits a kitchen scale shows in it.
pub fn in_unit(grams: f64, unit: MassUnit) -> String {
    use rust_decimal::prelude::ToPrimitive;
    let value = grams / unit.grams().to_f64().unwrap_or(1.0);
    match unit {
        MassUnit::Gram => format!("{value:.0} g"),
        MassUnit::Ounce => format!("{value:.2} oz"),
        MassUnit::Kilogram => format!("{value:.3} kg"),
        MassUnit::Pound => format!("{value:.3} lb"),
    }
}

/// What to expect on the scale, in the unit it is bought in and in grams where that differs.
pub fn expected(mass: Estimate, unit: MassUnit) -> String {
    match unit {
        MassUnit::Gram => in_unit(mass.mean_g, unit),
        MassUnit::Ounce | MassUnit::Kilogram | MassUnit::Pound => {
            format!("{} ({})", in_unit(mass.mean_g, unit), grams(mass.mean_g))
        }
    }
}

/// Two standard deviations either way: where 19 of 20 such parcels lie.
pub fn range(mass: Estimate, unit: MassUnit) -> String {
    let low = (mass.mean_g - 2.0 * mass.sd_g).max(0.0);
    let high = mass.mean_g + 2.0 * mass.sd_g;
    format!("{} to {}", in_unit(low, unit), in_unit(high, unit))
}

/// How a thing is wrapped, in two words.
pub const fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Pin => "loose pin",
        Kind::Carded => "on card",
        Kind::Flat => "lies flat",
        Kind::Other => "wrap alone",
    }
}

/// A paper by the name that is on it.
pub const fn paper(paper: Paper) -> &'static str {
    match paper {
        Paper::Invoice => "invoice",
        Paper::Note => "thank-you note",
        Paper::Gift => "gift slip",
        Paper::Rest => "slip for the later part",
    }
}

/// Why something is held, in a few words.
pub const fn hold(reason: HoldReason) -> &'static str {
    match reason {
        HoldReason::Unpaid => "not paid",
        HoldReason::TheirsFirst => "their half first",
        HoldReason::Stock => "not enough on hand",
        HoldReason::Address => "address",
        HoldReason::Article => "unknown article",
        HoldReason::Mass => "unknown mass or size",
        HoldReason::NoService => "no mailer or service takes it",
        HoldReason::Seller => "held by you",
        HoldReason::Question => "waits for your answer",
    }
}

/// The address below the name, line by line; the country only where it isn't the seller's. Town and code stand
/// in the order of the country where it is known (from memory), else code first.
pub fn address(to: &Recipient, home: Country) -> Vec<String> {
    let mut lines: Vec<String> = to.company.iter().chain(&to.lines).cloned().collect();
    let join = |parts: &[&str], between: &str| {
        parts.iter().filter(|part| !part.is_empty()).copied().collect::<Vec<_>>().join(between)
    };
    match to.country.map(Country::code) {
        Some("US" | "CA" | "AU") => {
            let region = join(&[&to.region, &to.postal_code], " ");
            lines.push(join(&[&to.city, &region], ", "));
        }
        Some("GB" | "IE") => lines.extend([to.city.clone(), to.region.clone(), to.postal_code.clone()]),
        Some(_) | None => lines.extend([join(&[&to.postal_code, &to.city], " "), to.region.clone()]),
    }
    match (to.country, &to.country_as_written) {
        (Some(land), _) if land == home => {}
        (Some(abroad), _) => lines.push(country(abroad).to_uppercase()),
        (None, Some(word)) => lines.push(word.clone()),
        (None, None) => {}
    }
    lines.retain(|line| !line.trim().is_empty());
    lines
}

/// A country's English name as it stands in a sentence.
pub fn country(country: Country) -> String {
    let name = country.name();
    name.strip_prefix("The ")
        .unwrap_or(name)
        .replace(" Of ", " of ")
        .replace(" And ", " and ")
        .replace(" The ", " the ")
}

/// Where it goes, short: `Gullhaven, OR` at home, `Bremen, Germany` abroad.
pub fn town(to: &Recipient, home: Country) -> String {
    let far = match to.country {
        Some(land) if land == home => to.region.clone(),
        Some(abroad) => country(abroad),
        None => to.country_as_written.clone().unwrap_or_default(),
    };
    [to.city.clone(), far].into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(", ")
}

/// With a capital, as it stands alone.
pub fn sentence(text: &str) -> String {
    // An order's id is written as its source writes it, letter for letter.
    if text.split_whitespace().next().is_some_and(|first| first.trim_end_matches(':').contains(':')) {
        return text.to_owned();
    }
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

/// A sentence of ours with its days in words: `2026-11-25` as `Wed 25 Nov 2026`. What stands in backticks or quotation
/// marks is a value, a command or somebody's own words, and stays as it is; so does a day within a longer word, such as
/// a file's name.
pub fn with_days(text: &str) -> String {
    static PARTS: LazyLock<Option<Regex>> = LazyLock::new(|| Regex::new(r#"`[^`]*`|"[^"]*"|“[^”]*”|[^\s`"“”]+"#).ok());
    let Some(parts) = PARTS.as_ref() else { return text.to_owned() };
    let worded = parts.replace_all(text, |part: &Captures<'_>| {
        let part = part.get(0).map_or("", |part| part.as_str());
        let core = part.trim_start_matches('(').trim_end_matches([')', '.', ',', ';', ':', '?']);
        match core.parse::<Date>() {
            Ok(date) if date.to_string() == core => part.replacen(core, &day(date), 1),
            Ok(_) | Err(_) => part.to_owned(),
        }
    });
    worded.into_owned()
}

/// As [`sentence`], with [`quoted`] names.
pub fn said(text: &str) -> String {
    quoted(&sentence(text))
}

/// What our own sentences name in backticks, in the quotation marks that a letter has, and their days in words. A text
/// whose backticks don't pair holds somebody else's, and stays as it is.
pub fn quoted(text: &str) -> String {
    if text.matches('`').count() % 2 == 1 {
        return text.to_owned();
    }
    let text = with_days(text);
    let mut parts = text.split('`');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.zip(['“', '”'].into_iter().cycle()).fold(first, |mut said, (part, mark)| {
        said.push(mark);
        said.push_str(part);
        said
    })
}

/// At most `most` characters, the cut marked, for places where the whole stands elsewhere.
pub fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let head: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", head.trim_end())
}

/// Digits compare as numbers: place `A2` comes before `A10`.
pub fn natural_key(text: &str) -> Vec<(String, u64)> {
    let mut key = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let letters = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
        let (word, tail) = rest.split_at(letters);
        let digits = tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len());
        let (number, after) = tail.split_at(digits);
        key.push((word.to_lowercase(), number.parse().unwrap_or(0)));
        rest = after;
    }
    key
}

#[cfg(test)]
mod tests {
    use super::*;

    fn to(country: &str) -> Recipient {
        Recipient {
            name: "Ines Okonjo".into(),
            company: None,
            lines: vec!["88 Tern Street Apt 4".into()],
            city: "Gullhaven".into(),
            region: "OR".into(),
            postal_code: "97099".into(),
            country: country.parse().ok(),
            country_as_written: None,
            email: None,
        }
    }

    #[test]
    fn the_town_line_follows_the_country() {
        let us: Country = "US".parse().unwrap();
        assert_eq!(address(&to("US"), us), ["88 Tern Street Apt 4", "Gullhaven, OR 97099"]);
        let mut german = to("DE");
        german.region = String::new();
        assert_eq!(address(&german, us), ["88 Tern Street Apt 4", "97099 Gullhaven", "GERMANY"]);
    }

    #[test]
    fn places_sort_as_a_person_reads_them() {
        let mut places = ["B1", "A10", "a2", ""];
        places.sort_by_key(|place| natural_key(place));
        assert_eq!(places, ["", "a2", "A10", "B1"]);
    }

    #[test]
    fn what_is_named_stands_in_quotation_marks() {
        assert_eq!(said("`two` is no number; write `2`"), "“two” is no number; write “2”");
        assert_eq!(said("stray ` stays"), "Stray ` stays");
        assert_eq!(quoted(""), "");
    }

    #[test]
    fn days_in_our_sentences_are_words() {
        assert_eq!(
            with_days("by 2026-11-27: 2 working days after the order (2026-11-24), or 2026-12-01."),
            "by Fri 27 Nov 2026: 2 working days after the order (Tue 24 Nov 2026), or Tue 1 Dec 2026."
        );
        for kept in [
            "a-2026-11-25.csv",
            "outbox/2026-11-25",
            "stall:2026-11-25",
            "`2026-11-25`",
            "\"by 2026-11-25\"",
            "2026-02-30",
            "“not 2026-11-25”",
            "20261125",
        ] {
            assert_eq!(with_days(kept), kept);
        }
        assert_eq!(quoted("write `2026-11-25`; today is 2026-11-26"), "write “2026-11-25”; today is Thu 26 Nov 2026");
    }

    #[test]
    fn a_scale_reads_ounces_and_grams() {
        let mass = Estimate { mean_g: 38.4, sd_g: 1.9 };
        assert_eq!(expected(mass, MassUnit::Ounce), "1.35 oz (38 g)");
        assert_eq!(range(mass, MassUnit::Gram), "35 g to 42 g");
    }

    #[test]
    fn dates_are_short_and_long() {
        let words = DateWords::from(jiff::civil::date(2026, 11, 5));
        assert_eq!((words.short.as_str(), words.long.as_str()), ("Thu 5 Nov", "Thursday 5 November 2026"));
    }
}
