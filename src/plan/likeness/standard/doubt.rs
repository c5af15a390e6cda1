//! What can't be right with an address.
//!
//! Handed a recipient; promises one precise sentence, with the mend where only one is possible. A lawful address is
//! never refused: what a country leaves out is not asked for, and a unit never is. Turned down: asking a service
//! whether the address exists, which gives a stranger's address away.

use super::fold::{Digraphs, letters, words};
use super::{country_of, regions, tables};
use crate::model::postal::{self, Fit};
use crate::model::recipient::Recipient;

/// What can't be right with an address.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Doubt {
    /// The sentence: lower case, what is meant in backticks.
    pub text: String,
    /// What it should be, where only one thing can be meant: the postal code, or the state's code.
    pub proposal: Option<String>,
}

impl Doubt {
    fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), proposal: None }
    }

    fn or(self, proposal: Option<String>) -> Self {
        Self { proposal, ..self }
    }
}

/// Whether a parcel can be addressed to them.
///
/// # Errors
/// What is missing or contradicts itself. US ZIP codes have five digits or nine (Publication 28, section 211, from
/// memory); the codes of other countries follow libaddressinput's patterns.
pub fn check(to: &Recipient) -> Result<(), Doubt> {
    let Some(country) = to.country else {
        return Err(Doubt::new(match &to.country_as_written {
            Some(word) => format!("country `{word}` is not one that could be read; write its two-letter code"),
            None => "no country is given".to_owned(),
        }));
    };
    let says = |text: &str| text.chars().any(char::is_alphanumeric);
    if !says(&to.name) && !to.company.as_deref().is_some_and(says) {
        return Err(Doubt::new("no name is given"));
    }
    if !to.lines.iter().any(|line| says(line)) {
        return Err(Doubt::new("no street is given"));
    }
    // In Hong Kong the area is enough.
    let area = country.code() == "HK" && says(&to.region);
    if !says(&to.city) && postal::has_town(country) && !area {
        return Err(Doubt::new("no town is given"));
    }
    if country_of(to).0.is_some_and(|country| country.code() == "US") {
        return check_us(to);
    }
    let code = to.postal_code.trim();
    if !says(code) {
        return if postal::is_required(country) { Err(Doubt::new("no postal code is given")) } else { Ok(()) };
    }
    // A country's sign that belongs to the code and is often left out: "LV-1073", "CP 1101".
    let signed = [format!("{country}-{code}"), format!("CP {code}")];
    if postal::fits(country, code) != Fit::No || signed.iter().any(|code| postal::fits(country, code) == Fit::Yes) {
        return Ok(());
    }
    Err(match postal::with_lost_zeros(country, code) {
        Some(whole) => Doubt::new(too_short(code, country.code())).or(Some(whole)),
        None => Doubt::new(match postal::example(country) {
            Some(example) => format!("postal code `{code}` is not one of {country}; they look like `{example}`"),
            None => format!("postal code `{code}` is not one of {country}"),
        }),
    })
}

fn too_short(code: &str, country: &str) -> String {
    format!("postal code `{code}` is too short for {country}; a leading zero may be lost")
}

fn check_us(to: &Recipient) -> Result<(), Doubt> {
    let (_, territory) = country_of(to);
    let written = words(&letters(&to.region, Digraphs::Letters)).join(" ");
    let region = territory.map_or_else(|| regions::standard("US", &written), str::to_owned);
    let code = to.postal_code.trim();
    let zip: String = letters(code, Digraphs::Letters).chars().filter(|c| c.is_alphanumeric()).collect();
    if zip.is_empty() {
        return Err(Doubt::new("no ZIP code is given"));
    }
    let digits = zip.bytes().all(|b| b.is_ascii_digit());
    let whole = digits && (zip.len() == 5 || zip.len() == 9);
    if !whole {
        return Err(not_a_zip(code, &zip, digits, &region));
    }
    let states = tables::states_of(&zip);
    let names: Vec<&str> = states.iter().map(String::as_str).collect();
    let only = || if let [one] = names.as_slice() { Some((*one).to_owned()) } else { None };
    let listed = names.join(" or ");
    if region.is_empty() {
        return Err(match listed.as_str() {
            "" => Doubt::new("no state is given"),
            _ => Doubt::new(format!("no state is given; postal code `{code}` belongs to {listed}")).or(only()),
        });
    }
    if super::us::state(&region).is_none() {
        let text = format!("state `{}` is not one of the US; write its two-letter code", to.region.trim());
        return Err(Doubt::new(text).or(only()));
    }
    if names.is_empty() {
        return Err(Doubt::new(format!("postal code `{code}` belongs to no state of the US")));
    }
    if !states.contains(&region) {
        // Which of the two is wrong, nobody can tell from here: no proposal.
        return Err(Doubt::new(format!("postal code `{code}` belongs to {listed}, not to {region}")));
    }
    Ok(())
}

/// A code of the wrong length: four or eight digits have lost a zero, if the state says nothing else.
fn not_a_zip(code: &str, zip: &str, digits: bool, region: &str) -> Doubt {
    let four = code.split_once('-').map(|(first, _)| first.trim().len());
    let short = digits && (zip.len() < 5 && !code.contains('-') || zip.len() == 8 && four.is_none_or(|four| four == 4));
    if !short {
        return Doubt::new(format!("postal code `{code}` is not a US ZIP code of five or nine digits"));
    }
    let zero = format!("0{zip}");
    let states = tables::states_of(&zero);
    let fits = [4, 8].contains(&zip.len()) && (states.contains(region) || region.is_empty() && !states.is_empty());
    let whole = fits.then(|| match zero.split_at_checked(5) {
        Some((zip, plus)) if !plus.is_empty() => format!("{zip}-{plus}"),
        Some(_) | None => zero.clone(),
    });
    Doubt::new(too_short(code, "US")).or(whole)
}
