//! What agreement is worth: the weights of Fellegi and Sunter, "A Theory for Record Linkage" (1969), in one table.
//!
//! A weight is log2(m / u): m is how often two records of one person agree so far, u how often any two records do.
//! They are learnt from the labelled pairs of FEBRL set 1 (1,000 records, 500 pairs; all other pairs for u), by the
//! command in `tests/standards/README.md`, rounded to half a bit and never beyond ±12. What FEBRL has no field for
//! (flat, email, company) is set by hand, and says so. Turned down: learning on a seller's own orders, where a
//! handful of pairs would set the weights and a quiet week would change who is merged.

use super::compare::{Comparison, Level, Objection};
use super::names::Names;

/// From here two recipients are one, if nothing speaks against it. The least of the merged pairs of set 1 has 31 bits;
/// and against the pairs that are two people something speaks in each.
pub const UPPER: f64 = 20.0;

/// Below this two recipients are two. Set by hand: lower, and two of one surname in two towns are asked about.
pub const LOWER: f64 = 14.0;

/// The evidence in bits.
pub(super) fn bits(of: &Comparison) -> f64 {
    names(of.names)
        + number(of.number)
        + street(of.street)
        + rest(of.rest)
        + city(of.city)
        + postal(of.postal)
        + region(of.region)
        + unit(of.unit)
        + email(of.email)
        + company(of.company)
}

/// Learnt.
const fn names(level: Names) -> f64 {
    match level {
        Names::Same | Names::Slip | Names::SurnameSlip | Names::Close => 12.0,
        Names::Garbled => 10.0,
        // By hand: FEBRL has neither.
        Names::Initial | Names::OtherGeneration => 8.0,
        Names::Shorter => 6.5,
        Names::NoSurname => 6.0,
        Names::OtherGiven => 3.5,
        Names::OtherSurname => 3.0,
        Names::Other => -6.5,
    }
}

/// Learnt.
const fn number(level: Level) -> f64 {
    match level {
        Level::Equal => 6.0,
        Level::Neither => 3.5,
        Level::Missing => -1.0,
        Level::Garbled => 2.0,
        Level::Slip => -2.0,
        Level::Near => -2.5,
        Level::Differs => -3.0,
    }
}

/// Learnt.
const fn street(level: Level) -> f64 {
    match level {
        Level::Equal => 11.0,
        Level::Slip => 10.5,
        Level::Garbled => 5.5,
        Level::Missing => 1.5,
        Level::Neither => 0.0,
        Level::Near | Level::Differs => -4.5,
    }
}

/// Learnt.
const fn rest(level: Level) -> f64 {
    match level {
        Level::Equal | Level::Slip => 10.5,
        Level::Garbled => 8.5,
        Level::Neither => 2.0,
        Level::Missing => -1.0,
        Level::Near | Level::Differs => -3.5,
    }
}

/// Learnt.
const fn city(level: Level) -> f64 {
    match level {
        Level::Equal => 10.0,
        Level::Slip => 9.5,
        Level::Garbled => 6.0,
        // Learnt are 5.5, as FEBRL leaves out a town as seldom as it has two people of one; a seller's export may do so
        // throughout.
        Level::Neither => 0.0,
        Level::Missing => -1.5,
        Level::Near | Level::Differs => -4.0,
    }
}

/// Learnt.
const fn postal(level: Level) -> f64 {
    match level {
        Level::Equal => 9.5,
        Level::Slip => 3.5,
        Level::Neither | Level::Missing => 0.0,
        Level::Garbled => -4.5,
        Level::Near | Level::Differs => -6.5,
    }
}

/// Learnt.
const fn region(level: Level) -> f64 {
    match level {
        Level::Equal => 2.0,
        Level::Slip | Level::Neither => 0.0,
        Level::Missing => -1.5,
        Level::Garbled | Level::Near | Level::Differs => -4.5,
    }
}

/// By hand: FEBRL has no flats. One flat in a hundred has the same number by chance.
const fn unit(level: Level) -> f64 {
    match level {
        Level::Equal => 6.0,
        Level::Neither => 0.0,
        Level::Missing => -1.0,
        Level::Slip | Level::Garbled | Level::Near | Level::Differs => -6.0,
    }
}

/// By hand: FEBRL has no email. A mailbox is one household's at most; another one says little.
const fn email(level: Level) -> f64 {
    match level {
        Level::Equal => 12.0,
        Level::Slip | Level::Neither | Level::Missing => 0.0,
        Level::Garbled | Level::Near => -0.5,
        Level::Differs => -6.0,
    }
}

/// By hand: FEBRL has no companies, and colleagues share one.
const fn company(level: Level) -> f64 {
    match level {
        Level::Equal | Level::Slip => 2.0,
        Level::Neither | Level::Missing => 0.0,
        Level::Garbled | Level::Near | Level::Differs => -1.0,
    }
}

/// On how many pairs of one person an objection is expected for each pair that is merged: learnt, but for initials,
/// generations, flats and email, which FEBRL lacks.
pub(super) const fn share(objection: Objection) -> f64 {
    match objection {
        Objection::Number => 0.14,
        Objection::Given => 0.125,
        // Hardly ever the only objection, so counted beside others too.
        Objection::NumberMissing | Objection::NamePart => 0.07,
        Objection::CloseName => 0.095,
        Objection::Surname | Objection::NumberNear => 0.06,
        Objection::Initial | Objection::Street => 0.05,
        Objection::NumberSlip | Objection::GarbledName => 0.025,
        Objection::NumberTurned => 0.015,
        Objection::Name | Objection::Generation | Objection::UnitMissing => 0.02,
        Objection::StreetMissing | Objection::GarbledStreet => 0.03,
        Objection::GarbledTown
        | Objection::TownByName
        | Objection::Unit
        | Objection::Town
        | Objection::TownMissing
        | Objection::Email => 0.01,
    }
}
