//! Two recipients, field by field.
//!
//! Handed two recipients made ready ([`Traits`]); promises a [`Comparison`]: for each field how far it agrees, what of
//! it speaks against a merge ([`Objection`]), and how much the agreements weigh. It looks at nothing but the two, so that
//! no third record ever changes what is said of them. Turned down: rarer surnames weighing more, counted over the
//! day's orders: then an order that leaves would merge two others.

mod levels;
mod objections;
mod streets;

use std::cmp::Reverse;
use std::collections::BTreeSet;

use crate::model::address::Country;
use crate::model::recipient::Recipient;

use super::names::{self, Name, Names};
use super::standard::{Agreement, Digraphs, Standard, as_street, is_numberless, letters, standard};
use super::weights;
use levels::{codes, emails, numbers, option, texts, units};
pub use streets::Line;
use streets::{doors, rests, streets, towns};

pub use levels::Level;
pub use objections::Objection;

/// A recipient made ready for comparing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Traits {
    /// The name.
    pub name: Name,
    /// The address, standardised.
    pub standard: Standard,
    /// The street's letters and digits in a row.
    pub street: String,
    /// The further lines in a row.
    pub rest: String,
    /// The street, in standard form and as written.
    pub line: Line,
    /// Each further line as a street.
    pub further: Vec<Line>,
    /// Whether the lines say that the house has no number: "s/n".
    pub numberless: bool,
    /// Each address line as written, its letters and digits in a row, without house number.
    pub lines: Vec<String>,
    /// All address lines as written in a row.
    pub written: String,
    /// The town in a row.
    pub city: String,
    /// The company in a row.
    pub company: String,
    /// Email address, lower case.
    pub email: Option<String>,
}

impl Traits {
    /// Of a recipient.
    #[must_use]
    pub fn new(to: &Recipient) -> Self {
        let mut standard = standard(to);
        // A line of nothing but figures is a house number without its street.
        if standard.number.is_empty() && is_figures(&standard.street.concat()) {
            standard.number = std::mem::take(&mut standard.street).concat();
        }
        let number = in_a_row(&standard.number);
        let line = |line: &String| {
            let row = in_a_row(line);
            row.strip_prefix(number.as_str()).map_or_else(|| row.clone(), str::to_owned)
        };
        let country = standard.country.map_or("", Country::code);
        let parts = parts_as_written(to);
        let as_line = |line: &String| Line {
            words: as_street(line, country),
            written: as_written(&parts, &number, line.split(' ')),
        };
        let further = standard.rest.iter().map(as_line).collect();
        let street_line =
            Line { words: standard.street.clone(), written: street_as_written(&parts, &number, &standard.street) };
        let numberless = standard.number.is_empty() && is_numberless(&to.lines, country);
        let email = to.email.as_deref().map(|email| email.trim().to_lowercase()).filter(|email| email.contains('@'));
        Self {
            name: Name::new(&to.name),
            street: in_a_row(&standard.street.concat()),
            rest: in_a_row(&standard.rest.concat()),
            line: street_line,
            further,
            numberless,
            lines: to.lines.iter().map(line).filter(|line| !line.is_empty()).collect(),
            written: in_a_row(&to.lines.concat()),
            city: in_a_row(&standard.city),
            company: to.company.as_deref().map(in_a_row).unwrap_or_default(),
            email,
            standard,
        }
    }

    fn country(&self) -> &'static str {
        self.standard.country.map_or("", Country::code)
    }
}

/// The words of the line that the street was read from, without house number.
fn street_as_written(parts: &[String], number: &str, street: &[String]) -> Vec<String> {
    // The development of a Puerto Rican street stands in a line of its own.
    if street.iter().any(|word| word == "URB") {
        return Vec::new();
    }
    as_written(parts, number, street.iter().map(String::as_str))
}

/// What the lines hold between commas, folded.
fn parts_as_written(to: &Recipient) -> Vec<String> {
    to.lines.iter().flat_map(|line| line.split([',', ';'])).map(|part| letters(part, Digraphs::Umlauts)).collect()
}

/// The words of the part that `words` in standard form were read from, without house number; none if it isn't found.
fn as_written<'w>(parts: &[String], number: &str, words: impl Iterator<Item = &'w str>) -> Vec<String> {
    let mut words: Vec<String> = words.map(in_a_row).filter(|word| word.len() > 2).collect();
    words.sort_by_key(|word| Reverse(word.len()));
    // The longest that stands there as it is: "N" is "North" in standard form.
    let Some(line) = words.iter().find_map(|word| parts.iter().find(|line| in_a_row(line).contains(word))) else {
        return Vec::new();
    };
    line.split(' ').map(in_a_row).filter(|word| !word.is_empty() && *word != number).collect()
}

fn is_figures(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_digit())
}

fn in_a_row(text: &str) -> String {
    letters(text, Digraphs::Umlauts).chars().filter(|c| c.is_alphanumeric()).collect()
}

/// What can be said of two recipients.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Verdict {
    /// One recipient.
    Same,
    /// Only the seller can tell; with what speaks against it.
    Ask(BTreeSet<Objection>),
    /// Two.
    Apart,
}

/// Two recipients, field by field.
#[derive(Clone, PartialEq, Debug)]
pub struct Comparison {
    /// Names.
    pub names: Names,
    /// House numbers.
    pub number: Level,
    /// Flats, and post boxes.
    pub unit: Level,
    /// Streets; [`Level::Slip`] also where street and a further line changed places.
    pub street: Level,
    /// Further lines.
    pub rest: Level,
    /// Towns.
    pub city: Level,
    /// Postal codes.
    pub postal: Level,
    /// States, provinces, regions.
    pub region: Level,
    /// Email addresses; [`Level::Near`] where they differ but speak of no two people.
    pub email: Level,
    /// Companies.
    pub company: Level,
    /// Whether the countries are one, or one isn't known.
    pub country: bool,
    /// What keeps them from being merged unasked.
    pub objections: BTreeSet<Objection>,
}

impl Comparison {
    /// Of two.
    #[must_use]
    pub fn new(a: &Traits, b: &Traits) -> Self {
        let (sa, sb) = (&a.standard, &b.standard);
        let boxes = option(sa.box_.as_ref(), sb.box_.as_ref());
        let unit = match (units(sa, sb), boxes) {
            (Level::Neither, level) | (level, Level::Neither) => level,
            (unit, boxes) => unit.max(boxes),
        };
        // "Villa 3" and "Villa3" name one door, whichever of them was known for one.
        let unit = if unit == Level::Missing && a.written == b.written { Level::Equal } else { unit };
        // What stands in further lines tells a door too.
        let told = doors(a, b);
        let unit = if told == Level::Neither { unit } else { unit.max(told) };
        // A town of that name in another state is another town; an Australian code says its state itself.
        let city = match sa.region_agreement(sb) {
            Agreement::Differs if a.country() != "AU" => towns(a, b).max(Level::Garbled),
            Agreement::Same | Agreement::Silent | Agreement::Differs => towns(a, b),
        };
        let mut this = Self {
            names: names::compare(&a.name, &b.name),
            number: numbers(a, b),
            unit,
            street: streets(a, b),
            rest: rests(a, b),
            city,
            postal: codes(a, b),
            region: texts(&sa.region, &sb.region),
            email: emails(a, b),
            company: texts(&a.company, &b.company),
            country: sa.country.is_none() || sb.country.is_none() || sa.country == sb.country,
            objections: BTreeSet::new(),
        };
        this.objections = objections::find(&this, a, b);
        this
    }

    /// The evidence in bits: log2 of how much likelier this agreement is in two records of one recipient than in two
    /// of any two ([`weights`]).
    #[must_use]
    pub fn bits(&self) -> f64 {
        weights::bits(self)
    }

    /// What can be said of the two.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        if !self.country {
            return Verdict::Apart;
        }
        let bits = self.bits();
        if self.objections.is_empty() && bits >= weights::UPPER {
            return Verdict::Same;
        }
        if self.objections.len() > 3 || bits < weights::LOWER {
            return Verdict::Apart;
        }
        Verdict::Ask(self.objections.clone())
    }

    /// Whether one says less than the other of name or number, so that it may be a third's as well.
    #[must_use]
    pub fn leaves_out(&self) -> bool {
        self.names == Names::NoSurname || self.number == Level::Missing
    }

    /// Whether no chain of merges may join the two.
    #[must_use]
    pub fn contradicts(&self) -> bool {
        !self.country || self.objections.iter().any(|objection| objection.contradicts())
    }
}
