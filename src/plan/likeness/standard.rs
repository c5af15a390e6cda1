//! Addresses in the form in which two ways of writing one place are equal.
//!
//! Handed recipients as they were written; promises a [`Standard`] for any text at all, and a [`Doubt`] where an
//! address can't be right. US addresses follow Publication 28, others the habits of their country. What is printed
//! stays as it was written: this form is for comparing only. Turned down: one key of all text without punctuation,
//! which parts "88 Tern St., Apt. 4" from "88 tern street #4"; and a model learnt from addresses, whose mistakes
//! nobody could explain to the seller.

mod abroad;
mod boxes;
mod doors;
mod doubt;
mod fold;
mod habits;
mod highways;
mod languages;
mod lines;
mod ordinals;
mod regions;
mod script;
mod tables;
mod telling;
mod towns;
mod units;
mod us;
mod wide;

use crate::model::address::Country;
use crate::model::postal;
use crate::model::recipient::Recipient;

pub use doubt::{Doubt, check};
pub use fold::{Digraphs, letters};
pub(super) use telling::{
    NAME, as_street, is_inflected, is_known, is_misspelt, is_numberless, parted, tells, tells_alone,
};

/// A recipient's address in the form in which two ways of writing the same place are equal. Upper case throughout.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Standard {
    /// Country; the US for its territories too, which are regions here. `None` where it could not be read.
    pub country: Option<Country>,
    /// Postal code without spaces, hyphens and the country's sign: "97099", "1234AB"; of a US one the first five digits.
    pub postal: String,
    /// The four digits behind a ZIP code.
    pub postal_plus: Option<String>,
    /// State or province: the code in the US, Canada and Australia, the folded name elsewhere.
    pub region: String,
    /// Town, folded.
    pub city: String,
    /// House number: "88", "88A", "12-14", "88 1/2".
    pub number: String,
    /// The street's words, without number and unit: `["TERN", "ST"]`; a route of delivery: `["RR", "2"]`.
    pub street: Vec<String>,
    /// Units, from the larger to the smaller: "APT 4", "FL 2", "BLDG C APT 4", "REAR"; "# 4" where none is named.
    pub unit: Option<String>,
    /// Number of the post office box, or of the box on a route; with its kind where that is counted apart from boxes:
    /// "LOCKED BAG 5".
    pub box_: Option<String>,
    /// Lines that fit nothing (firm, care of, house name), folded and sorted.
    pub rest: Vec<String>,
}

/// Whether two ways of saying something agree.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Agreement {
    /// They say the same.
    Same,
    /// One says less than the other.
    Silent,
    /// They contradict each other.
    Differs,
}

impl Agreement {
    fn of(a: &str, b: &str) -> Self {
        if a == b {
            Self::Same
        } else if a.is_empty() || b.is_empty() {
            Self::Silent
        } else {
            Self::Differs
        }
    }
}

/// What a reader of one kind of address hands back.
#[derive(Default, Debug)]
struct Parts {
    number: String,
    street: Vec<String>,
    units: Vec<units::Unit>,
    box_: Option<String>,
    rest: Vec<String>,
}

/// A jumble of words may read otherwise once its parts stand on lines of their own; after so many readings it has
/// settled. An address that makes sense has after the first.
const READINGS: usize = 6;

/// Puts an address into standard form. Takes any text; standardising what [`Standard::rendered`] gives changes
/// nothing.
#[must_use]
pub fn standard(to: &Recipient) -> Standard {
    let mut read = read(to);
    for _ in 1..READINGS {
        let again = self::read(&read.rendered());
        if again == read {
            break;
        }
        read = again;
    }
    read
}

fn read(to: &Recipient) -> Standard {
    let (country, territory) = country_of(to);
    let code = country.map_or("", Country::code);
    let habit = habits::of(code);
    let fold = |text: &str| lines::folded(text, code, &habit);
    let (postal, postal_plus) = postal_of(country, &to.postal_code);
    let region = match territory {
        Some(territory) => territory.to_owned(),
        None => regions::standard(code, &fold(&to.region).join(" ")),
    };
    let mut city = fold(&to.city);
    let region = if region.is_empty() { towns::region_behind(code, &mut city, &postal) } else { region };
    let region = if region.is_empty() && code == "US" { only_state(&postal) } else { region };
    let city = towns::standard(code, city, &region, &postal);
    let known = lines::Known { country, region: &region, city: &city, postal: &postal };
    let (lines, mut rest) = lines::parted(to, &habit, &known);
    let mut parts = match (code, region.as_str()) {
        ("US", "PR") => us::read(us::puerto_rican(lines), false),
        ("US", _) => {
            let military = ["APO", "FPO", "DPO"].contains(&city.as_str());
            us::read(lines, military || ["AA", "AE", "AP"].contains(&region.as_str()))
        }
        _ => abroad::read(lines, &habit),
    };
    rest.append(&mut parts.rest);
    // A firm is the same in its field and on a line.
    let firm = |company: &String| match code {
        "US" => us::further(fold(company)),
        _ => abroad::further(fold(company), &habit),
    };
    rest.extend(to.company.iter().map(firm).filter(|firm| !firm.is_empty()));
    rest.sort();
    rest.dedup();
    Standard {
        country,
        postal,
        postal_plus,
        region,
        city,
        number: units::without_zeros(&parts.number).to_owned(),
        street: parts.street,
        unit: units::written(parts.units),
        box_: parts.box_,
        rest,
    }
}

impl Standard {
    /// Whether both name one place: equal in all that both say, where a ZIP+4, a region beside a postal code, a unit's
    /// designator, and a firm or a house name beside a number may be missing from one. A unit may not: a house is not
    /// each of its flats.
    #[must_use]
    pub fn same_place(&self, other: &Self) -> bool {
        let has_number = !self.number.is_empty() || self.box_.is_some();
        let houses = self.rest_agreement(other);
        self.country == other.country
            && self.postal == other.postal
            && self.city == other.city
            && self.number == other.number
            && self.street == other.street
            && self.box_ == other.box_
            && self.unit_agreement(other) == Agreement::Same
            && self.region_agreement(other) != Agreement::Differs
            && (houses == Agreement::Same || has_number && houses == Agreement::Silent)
    }

    /// Whether the units agree. "# 4" agrees with any designator of that value, and "Unit 4" with a flat or suite 4: no
    /// house has both. A building or floor that only one names is silence.
    #[must_use]
    pub fn unit_agreement(&self, other: &Self) -> Agreement {
        let (Some(a), Some(b)) = (&self.unit, &other.unit) else {
            return if self.unit == other.unit { Agreement::Same } else { Agreement::Silent };
        };
        let (a, b) = (units::parts(a), units::parts(b));
        let (few, many) = if a.len() <= b.len() { (&a, &b) } else { (&b, &a) };
        let mut left = many.clone();
        for (designator, value) in few {
            let found = left.iter().position(|(theirs, same)| {
                value == same && (designator == theirs || !value.is_empty() && units::may_be_one(designator, theirs))
            });
            let Some(found) = found else { return Agreement::Differs };
            left.remove(found);
        }
        if left.is_empty() { Agreement::Same } else { Agreement::Silent }
    }

    /// Whether the lines that fit nothing agree. A line with a figure in it may name a door: left out, it differs.
    #[must_use]
    pub fn rest_agreement(&self, other: &Self) -> Agreement {
        let figures = |rest: &[String]| -> Vec<String> {
            rest.iter().filter(|line| line.contains(|c: char| c.is_ascii_digit())).cloned().collect()
        };
        if self.rest == other.rest {
            Agreement::Same
        } else if (self.rest.is_empty() || other.rest.is_empty()) && figures(&self.rest) == figures(&other.rest) {
            Agreement::Silent
        } else {
            Agreement::Differs
        }
    }

    /// Whether the regions agree. Outside of the US, a postal code that both have settles the place, and regions are
    /// written in too many ways to contradict it.
    #[must_use]
    pub fn region_agreement(&self, other: &Self) -> Agreement {
        let agreement = Agreement::of(&self.region, &other.region);
        let in_us = self.country.is_some_and(|country| country.code() == "US");
        let settled = !in_us && !self.postal.is_empty() && self.postal == other.postal;
        if agreement == Agreement::Differs && settled { Agreement::Silent } else { agreement }
    }

    /// The address written out again, for tests and for showing what was compared. The name is left empty.
    #[must_use]
    pub fn rendered(&self) -> Recipient {
        let mut lines = Vec::new();
        let on_route = self.number.is_empty() && !self.street.is_empty() && self.box_.is_some();
        let street = self.street.join(" ");
        let numbered = if habits::of(self.country.map_or("", Country::code)).number == habits::Number::Ahead {
            [self.number.as_str(), street.as_str()]
        } else {
            [street.as_str(), self.number.as_str()]
        };
        let numbered: Vec<&str> = numbered.into_iter().filter(|part| !part.is_empty()).collect();
        if !numbered.is_empty() {
            lines.push(numbered.join(" "));
        }
        if let Some(unit) = &self.unit {
            lines.extend(
                units::parts(unit)
                    .into_iter()
                    .map(|(designator, value)| format!("{designator} {value}").trim_end().to_owned()),
            );
        }
        if let Some(value) = &self.box_ {
            // One of another kind has its name in it: "LOCKED BAG 5".
            let kind = if value.contains(' ') {
                ""
            } else if on_route {
                "BOX "
            } else {
                "PO BOX "
            };
            lines.push(format!("{kind}{value}"));
        }
        lines.extend(self.rest.iter().cloned());
        let postal_code = match &self.postal_plus {
            Some(plus) => format!("{}-{plus}", self.postal),
            None => self.postal.clone(),
        };
        Recipient {
            name: String::new(),
            company: None,
            lines,
            city: self.city.clone(),
            region: self.region.clone(),
            postal_code,
            country: self.country,
            country_as_written: None,
            email: None,
        }
    }
}

/// The country; of a US territory the US, and the territory's code. Publication 28 treats territories as states
/// (appendix B).
fn country_of(to: &Recipient) -> (Option<Country>, Option<&'static str>) {
    let territory = match to.country.map_or("", Country::code) {
        "AS" => "AS",
        "FM" => "FM",
        "GU" => "GU",
        "MH" => "MH",
        "MP" => "MP",
        "PR" => "PR",
        "PW" => "PW",
        "VI" => "VI",
        _ => return (to.country, None),
    };
    ("US".parse().ok().or(to.country), Some(territory))
}

/// Compact code, and the four digits of a ZIP+4.
fn postal_of(country: Option<Country>, written: &str) -> (String, Option<String>) {
    let fitted = country.and_then(|country| postal::standard(country, written));
    let code = fitted.unwrap_or_else(|| letters(written, Digraphs::Letters));
    let compact: String = code.chars().filter(|c| c.is_alphanumeric()).collect();
    let code = country.map_or("", Country::code);
    // Latvia's sign is part of its code, and is left out all the same.
    let signed = compact.strip_prefix(code).filter(|bare| code == "LV" && !bare.is_empty()).map(str::to_owned);
    let compact = signed.unwrap_or(compact);
    let digits = compact.bytes().all(|b| b.is_ascii_digit());
    match compact.split_at_checked(5) {
        Some((zip, plus)) if code == "US" && digits && plus.len() == 4 => (zip.to_owned(), Some(plus.to_owned())),
        Some(_) | None => (compact, None),
    }
}

/// The state of a ZIP code, where its prefix serves one only.
fn only_state(zip: &str) -> String {
    let states = tables::states_of(zip);
    let mut states = states.into_iter();
    match (states.next(), states.next()) {
        (Some(only), None) => only,
        (Some(_) | None, _) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(country: &str, lines: &[&str]) -> Recipient {
        Recipient {
            name: "Ines Okonjo".into(),
            company: Some("Gull Club".into()),
            lines: lines.iter().map(|line| (*line).to_owned()).collect(),
            city: "Gullhaven".into(),
            region: String::new(),
            postal_code: "97099".into(),
            country: country.parse().ok(),
            country_as_written: None,
            email: None,
        }
    }

    #[test]
    fn an_address_that_makes_sense_has_settled_at_the_first_reading() {
        for (country, lines) in [
            ("US", &["88 N Tern Street SW", "Bldg C Apt 4 Rear"][..]),
            ("US", &["c/o Ben Auk", "88 1/2 Avenue N"]),
            ("US", &["RR 2 Box 5"]),
            ("US", &["88 Dr. Tern, Jr. Boulevard, PO Box 7"]),
            ("PR", &["Urb Las Gaviotas Calle 4 #88"]),
            ("GB", &["Flat 4 Tern House", "12-14 Gull Close"]),
            ("AU", &["Unit 4/88 Tern Pde"]),
            ("DE", &["Möwen-Straße 12a, 2. OG links"]),
            ("ES", &["Calle Gaviota 12, piso 3, puerta 2"]),
            ("IT", &["Via Gabbiano 12/A scala B int. 5"]),
            ("RO", &["Str. Albatros nr. 12, bl. A, sc. 2, ap. 5"]),
            ("JP", &["カモメ町1丁目2番3号 カモメビル501号室"]),
        ] {
            let first = read(&at(country, lines));
            assert_eq!(first, read(&first.rendered()), "{lines:?}");
        }
    }

    #[test]
    fn each_part_stands_in_its_field() {
        let place =
            standard(&at("US", &["Gull Club", "c/o Ben Auk", "88A North Tern Street", "Apartment 4", "PO Box 7"]));
        assert_eq!((place.number.as_str(), place.street.join(" ").as_str()), ("88A", "N TERN ST"));
        assert_eq!((place.unit.as_deref(), place.box_.as_deref()), (Some("APT 4"), Some("7")));
        assert_eq!(place.rest, ["C/O BEN AUK", "GULL CLUB"]);
        // Given by the ZIP code alone.
        assert_eq!(place.region, "OR");
    }

    #[test]
    fn the_house_number_is_told_from_the_other_numbers() {
        for (country, line, number, street) in [
            ("US", "88 A Tern Street", "88A", "TERN ST"),
            ("US", "88 A Street", "88", "A ST"),
            ("US", "88 A Park St", "88", "A PARK ST"),
            ("US", "88 5th Avenue", "88", "5 AVE"),
            ("US", "112-10 E 500 S", "112-10", "E 500 S"),
            ("FR", "12 rue du 8 Mai 1945", "12", "RUE DU 8 MAI 1945"),
            ("PL", "3 Maja 5", "5", "3 MAJA"),
            ("DE", "Straße des 17. Juni 135", "135", "STRASSE DES 17 JUNI"),
            ("NL", "Plein 1944 88", "88", "PLEIN 1944"),
            ("GB", "88 N Tern Close", "88", "N TERN CL"),
        ] {
            let place = standard(&at(country, &[line]));
            assert_eq!((place.number.as_str(), place.street.join(" ").as_str()), (number, street), "{line}");
        }
    }

    #[test]
    fn what_the_fields_say_is_not_said_again_by_the_lines() {
        let place = standard(&at("US", &["Ines Okonjo", "88 Tern St, Gullhaven, OR 97099", "United States"]));
        assert_eq!(place.rest, ["GULL CLUB"]);
    }

    #[test]
    fn a_line_without_a_figure_may_be_missing_and_one_with_a_figure_may_not() {
        let place = |line: &str| standard(&at("GB", &[line, "88 Gull Road"]));
        assert_eq!(place("Tern House").rest_agreement(&place("Gull Club")), Agreement::Differs);
        let bare = Standard { rest: Vec::new(), ..place("Gull Club") };
        assert_eq!(place("Gull Club").rest_agreement(&bare), Agreement::Silent);
        assert!(place("Gull Club").same_place(&bare));
        assert_eq!(place("4 Tern House").rest_agreement(&bare), Agreement::Differs);
        assert!(!place("4 Tern House").same_place(&bare));
    }
}
