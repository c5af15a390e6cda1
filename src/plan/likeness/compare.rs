//! Two recipients, field by field.
//!
//! Handed two recipients made ready ([`Traits`]); promises a [`Comparison`]: for each field how far it agrees, what of
//! it speaks against a merge ([`Objection`]), and how much the agreements weigh. It looks at nothing but the two, so that
//! no third record ever changes what is said of them. Turned down: rarer surnames weighing more, counted over the
//! day's orders: then an order that leaves would merge two others.

use std::collections::BTreeSet;

use strsim::damerau_levenshtein;

use crate::model::recipient::Recipient;

use super::names::{self, Name, Names};
use super::standard::{Agreement, Digraphs, Standard, letters, standard};
use super::weights;

/// A recipient made ready for comparing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Traits {
    /// The name.
    pub name: Name,
    /// The address, standardised.
    pub standard: Standard,
    /// The street's letters and digits in a row, and those of the lines beside it.
    pub street: String,
    /// The further lines in a row.
    pub rest: String,
    /// Each address line as written, its letters and digits in a row, without house number.
    pub lines: Vec<String>,
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
        let standard = standard(to);
        let number = in_a_row(&standard.number);
        let line = |line: &String| {
            let row = in_a_row(line);
            row.strip_prefix(number.as_str()).map_or_else(|| row.clone(), str::to_owned)
        };
        let email = to.email.as_deref().map(|email| email.trim().to_lowercase()).filter(|email| email.contains('@'));
        Self {
            name: Name::new(&to.name),
            street: in_a_row(&standard.street.concat()),
            rest: in_a_row(&standard.rest.concat()),
            lines: to.lines.iter().map(line).filter(|line| !line.is_empty()).collect(),
            city: in_a_row(&standard.city),
            company: to.company.as_deref().map(in_a_row).unwrap_or_default(),
            email,
            standard,
        }
    }
}

fn in_a_row(text: &str) -> String {
    letters(text, Digraphs::Umlauts).chars().filter(|c| c.is_alphanumeric()).collect()
}

/// How two values of one field agree.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Level {
    /// Equal.
    Equal,
    /// Equal but for a slip of the pen.
    Slip,
    /// Neither has one.
    Neither,
    /// One has none.
    Missing,
    /// Too far apart for a slip, and not far enough to be surely another.
    Garbled,
    /// Two house numbers that are near one another, as those of neighbours are.
    Near,
    /// Different.
    Differs,
}

/// What keeps two recipients from being merged unasked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Objection {
    /// A given name only as an initial.
    Initial,
    /// A part of the name on one side only.
    NamePart,
    /// A part of the name a letter apart, and both are names.
    CloseName,
    /// A part of the name two letters apart.
    GarbledName,
    /// Another given name: two people of one surname.
    Given,
    /// Another surname.
    Surname,
    /// Another name altogether.
    Name,
    /// The elder or the younger.
    Generation,
    /// No house number on one side.
    NumberMissing,
    /// House numbers that one slip apart, but not neighbours': 12 and 21.
    NumberSlip,
    /// House numbers like those of neighbours.
    NumberNear,
    /// Other house numbers.
    Number,
    /// A flat or a box on one side only.
    UnitMissing,
    /// Another flat or box.
    Unit,
    /// No street on one side.
    StreetMissing,
    /// Streets that may be one.
    GarbledStreet,
    /// Another street.
    Street,
    /// Towns or postal codes that may be one.
    GarbledTown,
    /// Another town by name and by postal code.
    Town,
    /// No town and no postal code to compare.
    TownMissing,
    /// Email addresses that speak of two people.
    Email,
}

impl Objection {
    /// All, in order.
    pub const ALL: [Self; 21] = [
        Self::Initial,
        Self::NamePart,
        Self::CloseName,
        Self::GarbledName,
        Self::Given,
        Self::Surname,
        Self::Name,
        Self::Generation,
        Self::NumberMissing,
        Self::NumberSlip,
        Self::NumberNear,
        Self::Number,
        Self::UnitMissing,
        Self::Unit,
        Self::StreetMissing,
        Self::GarbledStreet,
        Self::Street,
        Self::GarbledTown,
        Self::Town,
        Self::TownMissing,
        Self::Email,
    ];

    /// Whether it says that they are two, where the others only fail to say that they are one. No chain of merges
    /// joins two records with such a objection between them.
    #[must_use]
    pub const fn contradicts(self) -> bool {
        match self {
            Self::Given
            | Self::Surname
            | Self::Name
            | Self::Generation
            | Self::NumberSlip
            | Self::NumberNear
            | Self::Number
            | Self::Unit
            | Self::Street
            | Self::Town
            | Self::Email => true,
            Self::Initial
            | Self::CloseName
            | Self::NamePart
            | Self::GarbledStreet
            | Self::GarbledTown
            | Self::GarbledName
            | Self::NumberMissing
            | Self::UnitMissing
            | Self::StreetMissing
            | Self::TownMissing => false,
        }
    }
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
        let mut this = Self {
            names: names::compare(&a.name, &b.name),
            number: numbers(&sa.number, &sb.number),
            unit,
            street: streets(a, b),
            rest: texts(&a.rest, &b.rest),
            city: texts(&a.city, &b.city),
            postal: codes(&sa.postal, &sb.postal),
            region: texts(&sa.region, &sb.region),
            email: emails(a, b),
            company: texts(&a.company, &b.company),
            country: sa.country.is_none() || sb.country.is_none() || sa.country == sb.country,
            objections: BTreeSet::new(),
        };
        this.objections = this.find_objections(a, b);
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

    /// Whether no chain of merges may join the two.
    #[must_use]
    pub fn contradicts(&self) -> bool {
        !self.country || self.objections.iter().any(|objection| objection.contradicts())
    }

    fn find_objections(&self, a: &Traits, b: &Traits) -> BTreeSet<Objection> {
        let one_mailbox = self.email == Level::Equal;
        let mailbox_names_both = one_mailbox && names_in_full(a, b);
        let name = match self.names {
            Names::Same | Names::Slip => None,
            Names::Initial => (!mailbox_names_both).then_some(Objection::Initial),
            Names::Shorter => (!one_mailbox).then_some(Objection::NamePart),
            Names::Close => (!mailbox_names_both).then_some(Objection::CloseName),
            Names::Garbled => (!one_mailbox).then_some(Objection::GarbledName),
            Names::OtherGiven => Some(Objection::Given),
            Names::OtherSurname => Some(Objection::Surname),
            Names::Other => Some(Objection::Name),
            Names::OtherGeneration => Some(Objection::Generation),
        };
        // A number in a further line may be the house's or the flat's.
        let further = rest_numbers(a, b).then_some(Objection::Number);
        let number = match self.number {
            Level::Equal | Level::Neither => None,
            Level::Missing => Some(Objection::NumberMissing),
            Level::Slip | Level::Garbled => Some(Objection::NumberSlip),
            Level::Near => Some(Objection::NumberNear),
            Level::Differs => Some(Objection::Number),
        };
        let unit = match self.unit {
            Level::Equal | Level::Neither => None,
            Level::Missing => Some(Objection::UnitMissing),
            Level::Slip | Level::Garbled | Level::Near | Level::Differs => Some(Objection::Unit),
        };
        let street = match self.street {
            // A box needs no street, and some villages have none.
            Level::Equal | Level::Slip | Level::Neither => None,
            Level::Missing => Some(Objection::StreetMissing),
            Level::Garbled => Some(Objection::GarbledStreet),
            Level::Near | Level::Differs => Some(Objection::Street),
        };
        let email = (self.email == Level::Differs).then_some(Objection::Email);
        [name, number, further, unit, street, self.town(), email].into_iter().flatten().collect()
    }

    fn town(&self) -> Option<Objection> {
        let one_city = matches!(self.city, Level::Equal | Level::Slip);
        let one_code = matches!(self.postal, Level::Equal | Level::Slip);
        let other_code = matches!(self.postal, Level::Garbled | Level::Near | Level::Differs);
        let garbled = self.city == Level::Garbled || matches!(self.postal, Level::Garbled | Level::Slip);
        let other_region = matches!(self.region, Level::Near | Level::Differs);
        match (one_city, one_code) {
            (true, true) => None,
            // One town may have many codes, and one code many places: enough where the street is the same.
            (true, false) if !other_code || (!other_region && self.city == Level::Equal) => None,
            (false, true) if self.postal == Level::Equal && !other_region => None,
            (true | false, true | false) if self.city == Level::Neither && self.postal == Level::Neither => None,
            (true | false, true | false) if self.city == Level::Missing && !other_code => Some(Objection::TownMissing),
            (true | false, true | false) if one_city || garbled => Some(Objection::GarbledTown),
            (true | false, true | false) => Some(Objection::Town),
        }
    }
}

/// Whether both have numbers in their further lines, and other ones.
fn rest_numbers(a: &Traits, b: &Traits) -> bool {
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    let (a, b) = (digits(&a.rest), digits(&b.rest));
    !a.is_empty() && !b.is_empty() && a != b
}

/// Whether the mailbox they share holds the fuller name's every part of more than one letter.
fn names_in_full(a: &Traits, b: &Traits) -> bool {
    let fuller = if letters_in(&a.name) >= letters_in(&b.name) { a } else { b };
    let Some(local) = fuller.email.as_deref().and_then(|email| email.split('@').next()) else { return false };
    let local = local.to_uppercase();
    let first_of = |traits: &Traits| {
        let surname = traits.name.surname().map(str::to_owned);
        traits.name.parts.iter().find(|part| Some(*part) != surname.as_ref()).cloned()
    };
    first_of(fuller).is_some_and(|given| given.len() > 2 && local.contains(&given))
}

fn letters_in(name: &Name) -> usize {
    name.parts.iter().map(String::len).sum()
}

fn units(a: &Standard, b: &Standard) -> Level {
    match (&a.unit, &b.unit) {
        (None, None) => Level::Neither,
        (Some(_), Some(_)) => match a.unit_agreement(b) {
            Agreement::Same => Level::Equal,
            Agreement::Silent => Level::Missing,
            Agreement::Differs => Level::Differs,
        },
        (None, Some(_)) | (Some(_), None) => Level::Missing,
    }
}

fn option(a: Option<&String>, b: Option<&String>) -> Level {
    match (a, b) {
        (None, None) => Level::Neither,
        (None, Some(_)) | (Some(_), None) => Level::Missing,
        (Some(a), Some(b)) if in_a_row(a) == in_a_row(b) => Level::Equal,
        (Some(_), Some(_)) => Level::Differs,
    }
}

fn missing(a: &str, b: &str) -> Option<Level> {
    match (a.is_empty(), b.is_empty()) {
        (true, true) => Some(Level::Neither),
        (true, false) | (false, true) => Some(Level::Missing),
        (false, false) => None,
    }
}

/// Neighbours' numbers differ by this much at most.
const NEIGHBOURS: u64 = 10;

fn numbers(a: &str, b: &str) -> Level {
    if let Some(level) = missing(a, b) {
        return level;
    }
    if a == b {
        return Level::Equal;
    }
    let value = |text: &str| {
        let digits: String = text.chars().take_while(char::is_ascii_digit).collect();
        digits.parse::<u64>().ok()
    };
    if let (Some(x), Some(y)) = (value(a), value(b))
        && x.abs_diff(y) <= NEIGHBOURS
    {
        return Level::Near;
    }
    if damerau_levenshtein(a, b) == 1 { Level::Slip } else { Level::Differs }
}

fn codes(a: &str, b: &str) -> Level {
    missing(a, b).unwrap_or_else(|| match damerau_levenshtein(a, b) {
        0 => Level::Equal,
        1 => Level::Slip,
        2 => Level::Garbled,
        _ => Level::Differs,
    })
}

/// From this many letters on there may be two slips: in "Tern Street" and "Heron Street" two make another street.
const LONG: usize = 14;

/// One slip or two, and none in the digits: "1st" is not "2nd".
fn texts(a: &str, b: &str) -> Level {
    missing(a, b).unwrap_or_else(|| if a == b { Level::Equal } else { slip(a, b) })
}

fn slip(a: &str, b: &str) -> Level {
    let long = a.len().max(b.len());
    let allowed = if long < LONG { 1 } else { 2 };
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    if long < 4 || a.len().abs_diff(b.len()) > 2 * allowed || digits(a) != digits(b) {
        return Level::Differs;
    }
    match damerau_levenshtein(a, b) {
        edits if edits <= allowed => Level::Slip,
        edits if edits <= 2 * allowed => Level::Garbled,
        _ => Level::Differs,
    }
}

fn streets(a: &Traits, b: &Traits) -> Level {
    let level = match missing(&a.street, &b.street) {
        Some(Level::Neither) => return texts(&a.rest, &b.rest),
        Some(level) => level,
        None if a.street == b.street => return Level::Equal,
        // Tern St and Tern Ct are two streets, and so are W Tern St and E Tern St.
        None if differ_in_a_short_word(&a.standard.street, &b.standard.street) => return Level::Differs,
        None => slip(&a.street, &b.street),
    };
    if level == Level::Slip {
        return level;
    }
    // The street may stand in another line on one side, or be written so that it could not be standardised.
    let turned = |street: &str, rest: &str| street.len() >= 6 && texts(street, rest) <= Level::Slip;
    let alike = |x: Option<&String>, y: Option<&String>| match (x, y) {
        (Some(x), Some(y)) => x.len() >= 8 && texts(x, y) <= Level::Slip,
        (None, _) | (_, None) => false,
    };
    let (a1, b1) = (a.lines.first(), b.lines.first());
    let as_written = alike(a1, b1) || alike(a1, b.lines.get(1)) || alike(a.lines.get(1), b1);
    let found = as_written || turned(&a.street, &b.rest) || turned(&b.street, &a.rest);
    if found { Level::Slip } else { level }
}

fn differ_in_a_short_word(a: &[String], b: &[String]) -> bool {
    let other: Vec<(&String, &String)> = a.iter().zip(b).filter(|(x, y)| x != y).collect();
    a.len() == b.len() && matches!(other.as_slice(), [(x, y)] if x.len() <= 4 && y.len() <= 4)
}

/// [`Level::Differs`] where one mailbox is named after a person whom the other recipient isn't; else
/// [`Level::Near`]: people have several.
fn emails(a: &Traits, b: &Traits) -> Level {
    let (Some(x), Some(y)) = (&a.email, &b.email) else {
        return if a.email == b.email { Level::Neither } else { Level::Missing };
    };
    if x == y {
        return Level::Equal;
    }
    let other_person = |own: &str, other: &str| {
        let given = |email: &str| names::given_in(email.split('@').next().unwrap_or(email));
        let (own, other) = (given(own), given(other));
        !own.is_empty() && !other.is_empty() && own.is_disjoint(&other)
    };
    if other_person(x, y) { Level::Differs } else { Level::Near }
}
