//! What can't be right with an address.
//!
//! Handed a recipient; promises one precise sentence, with the mend where only one is possible. A lawful address is
//! never refused: what a country leaves out is not asked for, and a unit never is. Turned down: asking a service
//! whether the address exists, which gives a stranger's address away.

use std::collections::BTreeSet;

use super::fold::{Digraphs, letters, words};
use super::{country_of, regions, tables, towns};
use crate::model::address::Country;
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
            None => "no country is given; write its two-letter code".to_owned(),
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
        return if postal::is_required(country) { Err(missing("postal code", country, to)) } else { Ok(()) };
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
        })
        .or(postal::misread(country, code)),
    })
}

/// No code in its field; one in the town's is told, and proposed where it is the only one.
fn missing(what: &str, country: Country, to: &Recipient) -> Doubt {
    let words: Vec<&str> = to.city.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let ends = [1, 2].into_iter().flat_map(|length| {
        let behind = words.len().checked_sub(length).and_then(|start| words.get(start..));
        [words.get(..length), behind].into_iter().flatten().map(|words| words.join(" "))
    });
    let codes: BTreeSet<String> = ends
        .filter(|code| code.contains(|c: char| c.is_ascii_digit()))
        .filter_map(|code| postal::standard(country, &code))
        .collect();
    let mut codes = codes.into_iter();
    match (codes.next(), codes.next()) {
        (Some(code), None) => Doubt::new(format!("no {what} is given; the town has `{code}` in it")).or(Some(code)),
        (Some(_) | None, _) => Doubt::new(format!("no {what} is given")),
    }
}

fn too_short(code: &str, country: &str) -> String {
    format!("postal code `{code}` is too short for {country}; a leading zero may be lost")
}

fn check_us(to: &Recipient) -> Result<(), Doubt> {
    let (_, territory) = country_of(to);
    let written = words(&letters(&to.region, Digraphs::Letters)).join(" ");
    let region = territory.map_or_else(|| regions::standard("US", &written), str::to_owned);
    let code = to.postal_code.trim();
    let region = if region.is_empty() { state_in_town(to) } else { region };
    let zip: String = letters(code, Digraphs::Letters).chars().filter(|c| c.is_alphanumeric()).collect();
    if zip.is_empty() {
        return Err(country_of(to)
            .0
            .map_or_else(|| Doubt::new("no ZIP code is given"), |us| missing("ZIP code", us, to)));
    }
    let digits = zip.bytes().all(|b| b.is_ascii_digit());
    let whole = digits && (zip.len() == 5 || zip.len() == 9);
    if !whole {
        return Err(not_a_zip(code, &zip, digits, &region, country_of(to).0));
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
fn not_a_zip(code: &str, zip: &str, digits: bool, region: &str, us: Option<Country>) -> Doubt {
    let four = code.split_once('-').map(|(first, _)| first.trim().len());
    let short = digits && (zip.len() < 5 && !code.contains('-') || zip.len() == 8 && four.is_none_or(|four| four == 4));
    if !short {
        let meant = us.and_then(|us| postal::misread(us, code).or_else(|| bare(us, code)));
        let meant = meant.filter(|zip| region.is_empty() || tables::states_of(zip).contains(region));
        return Doubt::new(format!("postal code `{code}` is not a US ZIP code of five or nine digits")).or(meant);
    }
    let zero = format!("0{zip}");
    let states = tables::states_of(&zero);
    let fits = [4, 8].contains(&zip.len()) && (states.contains(region) || region.is_empty() && !states.is_empty());
    let whole = fits.then(|| match zero.split_at_checked(5) {
        Some((zip, plus)) if !plus.is_empty() => format!("{zip}-{plus}"),
        Some(_) | None => zero.clone(),
    });
    // The zero alone doesn't mend it; where one stands there already, nobody can say what was lost.
    let elsewhere =
        !zip.starts_with('0') && [4, 8].contains(&zip.len()) && !fits && !states.is_empty() && !region.is_empty();
    let text = too_short(code, "US");
    match (elsewhere, zero.get(..5)) {
        (true, Some(zip)) => {
            let states: Vec<&str> = states.iter().map(String::as_str).collect();
            Doubt::new(format!("{text}, but `{zip}` belongs to {}, not to {region}", states.join(" or ")))
        }
        (true | false, _) => Doubt::new(text).or(whole),
    }
}

/// The only code among the words of its field: "OR 97099", "97099 USA", "97099.0".
fn bare(us: Country, code: &str) -> Option<String> {
    let whole = code.strip_suffix(".0").or_else(|| code.strip_suffix(".00")).unwrap_or(code);
    let mut codes = whole
        .split([' ', ',', ';'])
        .filter(|word| word.contains(|c: char| c.is_ascii_digit()))
        .map(|word| postal::standard(us, word));
    match (codes.next(), codes.next()) {
        (Some(code), None) => code,
        (Some(_) | None, _) => None,
    }
}

/// The state that the town's field has in it: "Gullhaven, OR".
fn state_in_town(to: &Recipient) -> String {
    let zip = super::postal_of(country_of(to).0, &to.postal_code).0;
    towns::region_behind("US", &mut words(&letters(&to.city, Digraphs::Letters)), &zip)
}
