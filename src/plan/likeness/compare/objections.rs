//! What keeps two recipients from being merged unasked.
//!
//! Handed a comparison; promises every [`Objection`] there is to the two being one. Turned down: a sum of weights alone,
//! in which a street, a town and a name that agree outweigh another flat.

use std::collections::BTreeSet;

use super::super::names::{Name, Names};
use super::{Comparison, Level, Traits};

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
    /// House numbers of which one is the other with two digits turned round, and not neighbours': 135 and 153.
    NumberTurned,
    /// House numbers another slip apart, but not neighbours': 4 and 47.
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
    /// Towns that may be one by name, with codes that don't agree.
    GarbledTown,
    /// Another town by name, and a postal code that may be the same but for slips.
    TownByName,
    /// Another town by name and by postal code.
    Town,
    /// No town and no postal code to compare.
    TownMissing,
    /// Email addresses that speak of two people.
    Email,
}

impl Objection {
    /// All, in order.
    pub const ALL: [Self; 23] = [
        Self::Initial,
        Self::NamePart,
        Self::CloseName,
        Self::GarbledName,
        Self::Given,
        Self::Surname,
        Self::Name,
        Self::Generation,
        Self::NumberMissing,
        Self::NumberTurned,
        Self::NumberSlip,
        Self::NumberNear,
        Self::Number,
        Self::UnitMissing,
        Self::Unit,
        Self::StreetMissing,
        Self::GarbledStreet,
        Self::Street,
        Self::GarbledTown,
        Self::TownByName,
        Self::Town,
        Self::TownMissing,
        Self::Email,
    ];

    /// Whether it says that they are two, where the others only fail to say that they are one. No chain of merges
    /// joins two records with such an objection between them.
    #[must_use]
    pub const fn contradicts(self) -> bool {
        match self {
            Self::Given
            | Self::Surname
            | Self::Name
            | Self::Generation
            | Self::NumberTurned
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
            | Self::TownByName
            | Self::GarbledName
            | Self::NumberMissing
            | Self::UnitMissing
            | Self::StreetMissing
            | Self::TownMissing => false,
        }
    }
}

/// What keeps the two of `of` from being merged unasked.
pub(super) fn find(of: &Comparison, a: &Traits, b: &Traits) -> BTreeSet<Objection> {
    // A number in a further line may be the house's or the flat's.
    let further = rest_numbers(a, b).then_some(Objection::Number);
    let unit = match of.unit {
        Level::Equal | Level::Neither => None,
        Level::Missing => Some(Objection::UnitMissing),
        Level::Slip | Level::Garbled | Level::Near | Level::Differs => Some(Objection::Unit),
    };
    let street = match of.street {
        // A box needs no street, and some villages have none.
        Level::Equal | Level::Slip | Level::Neither => None,
        Level::Missing => Some(Objection::StreetMissing),
        // The house has a name, and that agrees.
        Level::Garbled if is_one_house(of, a, b) && town(of, a, b).is_none() => None,
        Level::Garbled => Some(Objection::GarbledStreet),
        // Such a house may stand at a corner, or its street be wrong on one side.
        Level::Near | Level::Differs if is_one_house(of, a, b) && town(of, a, b).is_none() => {
            Some(Objection::GarbledStreet)
        }
        Level::Near | Level::Differs => Some(Objection::Street),
    };
    let email = (of.email == Level::Differs).then_some(Objection::Email);
    [name(of, a, b), number(of, a, b), further, unit, street, town(of, a, b), email].into_iter().flatten().collect()
}

fn name(of: &Comparison, a: &Traits, b: &Traits) -> Option<Objection> {
    let one_mailbox = of.email == Level::Equal;
    let mailbox_names_both = one_mailbox && names_in_full(a, b);
    match of.names {
        Names::Same | Names::Slip => None,
        // One given name behind one door; elsewhere in the street may be another who has it.
        Names::SurnameSlip => {
            let one_door = matches!(of.number, Level::Equal | Level::Neither) && is_one_street(of, a, b);
            (!(mailbox_names_both || one_door)).then_some(Objection::CloseName)
        }
        // One given name behind one door.
        Names::NoSurname => {
            (!(one_mailbox || of.number == Level::Equal && is_one_street(of, a, b))).then_some(Objection::NamePart)
        }
        Names::Initial => (!mailbox_names_both).then_some(Objection::Initial),
        Names::Shorter => (!one_mailbox).then_some(Objection::NamePart),
        Names::Close => (!mailbox_names_both).then_some(Objection::CloseName),
        Names::Garbled => (!one_mailbox).then_some(Objection::GarbledName),
        Names::OtherGiven => Some(Objection::Given),
        Names::OtherSurname => Some(Objection::Surname),
        Names::Other => Some(Objection::Name),
        Names::OtherGeneration => Some(Objection::Generation),
    }
}

fn number(of: &Comparison, a: &Traits, b: &Traits) -> Option<Objection> {
    match of.number {
        Level::Equal | Level::Neither => None,
        // Nobody of the same whole name lives in the same street, as far as is known: who does is in another group, and
        // then this one could be either's.
        // Not with a slip in the name too: Conor Hilotn may be the Connor of another house.
        Level::Missing => {
            let one_name = of.names == Names::Same && is_whole_name(of, a, b);
            (!(one_name && is_one_street(of, a, b))).then_some(Objection::NumberMissing)
        }
        Level::Garbled => Some(Objection::NumberTurned),
        Level::Slip => Some(Objection::NumberSlip),
        Level::Near => Some(Objection::NumberNear),
        Level::Differs => Some(Objection::Number),
    }
}

/// Whether all that is said of street, town and flat is the same but for slips, so that a thing left out elsewhere is
/// made good.
fn is_one_street(of: &Comparison, a: &Traits, b: &Traits) -> bool {
    matches!(of.street, Level::Equal | Level::Slip)
        && matches!(of.unit, Level::Equal | Level::Neither)
        && town(of, a, b).is_none()
        && digits(&a.rest) == digits(&b.rest)
}

/// The same whole name but for slips, of more than one part.
fn is_whole_name(of: &Comparison, a: &Traits, b: &Traits) -> bool {
    matches!(of.names, Names::Same | Names::Slip) && a.name.parts.len().min(b.name.parts.len()) > 1
}

/// The same whole name at one number, and nothing of flats against it.
fn is_at_one_door(of: &Comparison, a: &Traits, b: &Traits) -> bool {
    is_whole_name(of, a, b) && of.number == Level::Equal && matches!(of.unit, Level::Equal | Level::Neither)
}

/// The same whole name at one number, and a further line that names the house.
fn is_one_house(of: &Comparison, a: &Traits, b: &Traits) -> bool {
    is_at_one_door(of, a, b)
        && matches!(of.rest, Level::Equal | Level::Slip)
        && a.rest.chars().filter(|c| c.is_alphabetic()).count() >= HOUSE_NAME
}

/// So many letters name a house; fewer may be "bldg" or "lot".
const HOUSE_NAME: usize = 5;

fn town(of: &Comparison, a: &Traits, b: &Traits) -> Option<Objection> {
    let one_city = matches!(of.city, Level::Equal | Level::Slip);
    let one_code = matches!(of.postal, Level::Equal | Level::Slip);
    let other_code = matches!(of.postal, Level::Garbled | Level::Near | Level::Differs);
    let other_region = matches!(of.region, Level::Near | Level::Differs);
    // A house of that name and number is not in both parts of a town.
    let told_apart = other_code && !is_one_post_town(a) && !is_one_house(of, a, b);
    match (one_city, one_code) {
        (true, true) => None,
        // One town may have many codes, and one code many places: enough where the street is the same.
        // Not where the other of the two has slipped: Hawthorn and Hawthorne are two towns.
        (true, false) if !other_code || !told_apart && !other_region && of.city == Level::Equal => None,
        (false, true)
            if !other_region
                && of.postal == Level::Equal
                && (is_one_post_town(a) || matches!(of.city, Level::Neither | Level::Missing)) =>
        {
            None
        }
        // But nobody of one name lives in each of two such towns, at one number of one street.
        (true | false, true | false) if !told_apart && !other_region && is_town_made_good(of, a, b) => None,
        (true | false, true | false) if of.city == Level::Neither && of.postal == Level::Neither => None,
        (true | false, true | false) if of.city == Level::Missing && !other_code => Some(Objection::TownMissing),
        (true | false, true | false) if one_city || of.city == Level::Garbled => Some(Objection::GarbledTown),
        (true | false, true | false) if matches!(of.postal, Level::Garbled | Level::Slip) => {
            Some(Objection::TownByName)
        }
        (true | false, true | false) => Some(Objection::Town),
    }
}

/// Whether a slip in the town's name, or one in its code, is made good by name, number and street, whatever is with the
/// other of the two.
fn is_town_made_good(of: &Comparison, a: &Traits, b: &Traits) -> bool {
    let by_the_other = match of.city {
        Level::Slip => true,
        Level::Garbled | Level::Neither => matches!(of.postal, Level::Slip | Level::Near),
        // Of a namesake in another town of the region no more may be left than a code a figure apart.
        Level::Equal | Level::Missing | Level::Near | Level::Differs => false,
    };
    by_the_other && matches!(of.street, Level::Equal | Level::Slip) && is_at_one_door(of, a, b)
}

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}

/// Whether both have numbers in their further lines, and other ones.
fn rest_numbers(a: &Traits, b: &Traits) -> bool {
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

/// Whether towns that share a postal code are one for the post, so that people write either: in Australia (common
/// practice, no source). Elsewhere villages of one code have a street of one name each.
fn is_one_post_town(of: &Traits) -> bool {
    of.country() == "AU"
}
