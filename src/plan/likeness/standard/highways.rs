//! Streets that are numbers of a road or of a delivery route: highways, rural routes, military units.
//!
//! Handed folded words; promises one form for each by Publication 28 (rural routes section 24, highway contract
//! routes 25, military 38, numbered roads appendix F; from memory). Turned down: leaving them to the suffix table,
//! which parts "CR 20" from "County Road 20".

use super::units::{compact, is_digits, is_ordinal, is_value, starts_with_digit};
use super::us::state;

/// The words that begin a numbered road, and the form that stands for all of them. State Road, State Route and SR
/// are one: SR is written for both.
const ROADS: [(&[&str], &[&str]); 41] = [
    (&["CR"], &["COUNTY", "RD"]),
    (&["CNTY", "RD"], &["COUNTY", "RD"]),
    (&["CNTY", "ROAD"], &["COUNTY", "RD"]),
    (&["CTY", "RD"], &["COUNTY", "RD"]),
    (&["CO", "RD"], &["COUNTY", "RD"]),
    (&["CO", "ROAD"], &["COUNTY", "RD"]),
    (&["COUNTY", "RD"], &["COUNTY", "RD"]),
    (&["COUNTY", "ROAD"], &["COUNTY", "RD"]),
    (&["CNTY", "HWY"], &["COUNTY", "HWY"]),
    (&["CNTY", "HIGHWAY"], &["COUNTY", "HWY"]),
    (&["CO", "HWY"], &["COUNTY", "HWY"]),
    (&["COUNTY", "HIGHWAY"], &["COUNTY", "HWY"]),
    (&["HIGHWAY", "FM"], &["FM"]),
    (&["HWY", "FM"], &["FM"]),
    (&["FM", "RD"], &["FM"]),
    (&["FM", "ROAD"], &["FM"]),
    (&["FARM", "TO", "MARKET", "RD"], &["FM"]),
    (&["FARM", "TO", "MARKET", "ROAD"], &["FM"]),
    (&["FARM", "TO", "MARKET"], &["FM"]),
    (&["INTERSTATE", "HWY"], &["INTERSTATE"]),
    (&["INTERSTATE", "HIGHWAY"], &["INTERSTATE"]),
    (&["IH"], &["INTERSTATE"]),
    (&["I"], &["INTERSTATE"]),
    (&["SR"], &["STATE", "RD"]),
    (&["STATE", "ROAD"], &["STATE", "RD"]),
    (&["STATE", "ROUTE"], &["STATE", "RD"]),
    (&["STATE", "RTE"], &["STATE", "RD"]),
    (&["STATE", "RT"], &["STATE", "RD"]),
    (&["ST", "RD"], &["STATE", "RD"]),
    (&["ST", "RT"], &["STATE", "RD"]),
    (&["ST", "RTE"], &["STATE", "RD"]),
    (&["ST", "ROUTE"], &["STATE", "RD"]),
    (&["ST", "HWY"], &["STATE", "HWY"]),
    (&["ST", "HIGHWAY"], &["STATE", "HWY"]),
    (&["STATE", "HIGHWAY"], &["STATE", "HWY"]),
    (&["TSR"], &["TOWNSHIP", "RD"]),
    (&["RT"], &["RTE"]),
    (&["US", "HIGHWAY"], &["US", "HWY"]),
    (&["US", "ROUTE"], &["US", "HWY"]),
    (&["US", "RTE"], &["US", "HWY"]),
    (&["US"], &["US", "HWY"]),
];

/// "CR 20" as "COUNTY RD 20", "I-10" as "INTERSTATE 10", "Kentucky Hwy 75" as "KY HWY 75"; everything else as it came.
pub(super) fn standard_highway(mut words: Vec<String>) -> Vec<String> {
    if let Some(first) = words.first() {
        // "I-10", "US-41", "SR20".
        let stem: String = first.chars().take_while(char::is_ascii_alphabetic).collect();
        let number = first.get(stem.len()..).unwrap_or_default().trim_start_matches('-').to_owned();
        let known = ["I", "IH", "US", "CR", "SR", "FM", "HWY", "RT", "RTE"].contains(&stem.as_str())
            || stem.len() == 2 && state(&stem).is_some();
        if known && starts_with_digit(&number) && !is_ordinal(&number) {
            words.splice(..1, [stem, number]);
        }
    }
    if let Some((used, code)) = state_ahead(&words) {
        // "Kentucky 440" is Kentucky Highway 440 (appendix F).
        let road = words.get(used).is_some_and(|next| starts_with_digit(next)).then(|| "HWY".to_owned());
        words.splice(..used, std::iter::once(code.to_owned()).chain(road));
    }
    // Behind a directional ahead and a state's code.
    for start in 0..words.len().min(3) {
        let rest = words.get(start..).unwrap_or_default();
        let road = ROADS.iter().find(|(given, _)| {
            given.len() < rest.len()
                && given.iter().zip(rest).all(|(a, b)| a == b)
                && rest.get(given.len()).is_some_and(|number| is_value(number))
        });
        if let Some((given, standard)) = road {
            let end = start + given.len();
            if let Some(number) = words.get_mut(end) {
                *number = compact(std::slice::from_ref(number));
            }
            words.splice(start..end, standard.iter().map(|word| (*word).to_owned()));
            break;
        }
    }
    words
}

/// A state before a numbered road: "Kentucky 440", "KY Hwy 75". A code of two letters only before the word for a road
/// or digits: "LA Paz St" has none.
fn state_ahead(words: &[String]) -> Option<(usize, &'static str)> {
    (1..=2).find_map(|used| {
        let name = words.get(..used)?.join(" ");
        let code = state(&name)?;
        let next = words.get(used)?;
        let road = ["HWY", "HIGHWAY", "STATE", "ST", "COUNTY", "CNTY", "ROUTE", "RTE", "RT"].contains(&next.as_str());
        let numbered = words.get(used + 1).is_some_and(|word| is_value(word))
            || words.get(used + 2).is_some_and(|word| starts_with_digit(word));
        (starts_with_digit(next) && !is_ordinal(next) || road && numbered).then_some((used, code))
    })
}

/// Whether what stands before a number is what a numbered road begins with, so that the number is the road's.
pub(super) fn counts_its_roads(before: &[String]) -> bool {
    let ends = |head: &[&str]| before.iter().rev().zip(head.iter().rev()).filter(|(a, b)| a == b).count() == head.len();
    // "I" and "US" are names too.
    let long = |head: &[&str]| head.concat().len() > 2;
    ROADS.iter().flat_map(|(given, standard)| [*given, *standard]).any(|head| long(head) && ends(head))
}

/// The route that words begin with, in standard form, and how many words it took.
pub(super) fn route(words: &[String], military: bool) -> Option<(usize, Vec<String>)> {
    let word = |place: usize| words.get(place).map_or("", String::as_str);
    if (word(0), word(1)) == ("GENERAL", "DELIVERY") || (word(0), word(1)) == ("GEN", "DEL") {
        return Some((2, vec!["GENERAL".into(), "DELIVERY".into()]));
    }
    let (kind, mut used) = match (word(0), word(1), word(2)) {
        ("HIGHWAY", "CONTRACT", "ROUTE" | "RTE" | "RT") => ("HC", 3),
        ("HIGHWAY", "CONTRACT", _) | ("STAR" | "HC", "ROUTE" | "RTE" | "RT", _) => ("HC", 2),
        ("HC" | "HCR", _, _) => ("HC", 1),
        ("RURAL" | "RFD", "ROUTE" | "RTE" | "RT", _) | ("R", "R", _) => ("RR", 2),
        ("R", "F", "D") => ("RR", 3),
        ("RR" | "RFD", _, _) => ("RR", 1),
        // "RD 2" is a road too, but for the box behind it.
        ("RD" | "RT" | "RTE" | "ROUTE", _, _) if behind_number(words).is_some_and(is_box) => ("RR", 1),
        ("PSC", _, _) => ("PSC", 1),
        ("CMR", _, _) => ("CMR", 1),
        ("UNIT", _, _) if military => ("UNIT", 1),
        _ => return None,
    };
    if is_mark(word(used)) {
        used += 1;
    }
    let number = Some(word(used)).filter(|number| starts_with_digit(number))?;
    // "RR 03" is "RR 3".
    let number = match number.trim_start_matches('0') {
        "" => number,
        bare => bare,
    };
    Some((used + 1, vec![kind.to_owned(), number.to_owned()]))
}

fn is_mark(word: &str) -> bool {
    ["#", "NO"].contains(&word)
}

/// Whether a word is one for the box on a route.
pub(super) fn is_box(word: &str) -> bool {
    ["BOX", "BX"].contains(&word)
}

/// What follows "RD 2" or "RD NO 2"; "" at the end.
fn behind_number(words: &[String]) -> Option<&str> {
    let number = 1 + usize::from(words.get(1).is_some_and(|word| is_mark(word)));
    words.get(number).filter(|number| is_digits(number))?;
    Some(words.get(number + 1).map_or("", String::as_str))
}

/// Whether a line says no more than a route that needs its box to be known for one: "RT 2".
pub(super) fn wants_a_box(words: &[String]) -> bool {
    let first = words.first().map_or("", String::as_str);
    ["RD", "RT", "RTE", "ROUTE"].contains(&first) && behind_number(words) == Some("")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn road(text: &str) -> String {
        standard_highway(text.split(' ').map(str::to_owned).collect()).join(" ")
    }

    #[test]
    fn a_numbered_road_has_one_form() {
        for (written, standard) in [
            ("CR 1185", "COUNTY RD 1185"),
            ("CNTY RD 1185", "COUNTY RD 1185"),
            ("COUNTY ROAD 1185", "COUNTY RD 1185"),
            ("FARM TO MARKET 187", "FM 187"),
            ("HWY FM 187", "FM 187"),
            ("I-10", "INTERSTATE 10"),
            ("IH 280", "INTERSTATE 280"),
            ("INTERSTATE HWY 680", "INTERSTATE 680"),
            ("SR 220", "STATE RD 220"),
            ("ST RT 175", "STATE RD 175"),
            ("US 41", "US HWY 41"),
            ("KENTUCKY HIGHWAY 189", "KY HIGHWAY 189"),
            ("KENTUCKY 440", "KY HWY 440"),
            ("KY-1207", "KY HWY 1207"),
            ("KENTUCKY 5TH", "KENTUCKY 5TH"),
            ("TSR 45", "TOWNSHIP RD 45"),
        ] {
            assert_eq!(road(written), standard);
        }
        assert_eq!(road("ST CLAIR AVE"), "ST CLAIR AVE");
        assert_eq!(road("I STREET"), "I STREET");
    }

    #[test]
    fn a_route_has_one_form_and_a_road_is_none() {
        let of = |text: &str| {
            let words: Vec<String> = text.split(' ').map(str::to_owned).collect();
            route(&words, true).map(|(_, route)| route.join(" "))
        };
        for written in ["RR 2 BOX 18", "RURAL ROUTE 2 BOX 18", "RFD ROUTE 2 BOX 18", "R R 02 BOX 18", "RD 2 BOX 18"] {
            assert_eq!(of(written).as_deref(), Some("RR 2"), "{written}");
        }
        for written in ["HC 68 BOX 23A", "HCR 68 BOX 23A", "HIGHWAY CONTRACT ROUTE 68", "STAR ROUTE 68 BOX 23A"] {
            assert_eq!(of(written).as_deref(), Some("HC 68"), "{written}");
        }
        assert_eq!(of("UNIT 2050 BOX 4190").as_deref(), Some("UNIT 2050"));
        assert_eq!(of("RT 2"), None);
        assert_eq!(of("RR ST"), None);
    }
}
