//! The words of the trade as types. Uses nothing else of the house.
//!
//! Everything that crosses from one room to another is one of these, and nothing behind the wall validates it again. What
//! has a `FromStr` or a `TryFrom` can't be made wrong. Of the rest the walls promise what each field's comment says: numbers
//! within [`bound`], a code that isn't empty and stands in the catalogue once, at least one line in an order and one
//! piece in a line. Turned down for those: a type each, which a hundred places would unwrap to look up, count and print. Turned down: one big "record" type with string fields, which
//! would have pushed every check into every room.

pub mod address;
pub mod bound;
pub mod calendar;
pub mod carrier;
pub mod catalogue;
pub mod customs;
pub mod day;
pub mod drop;
pub mod handoff;
pub mod language;
pub mod length;
pub mod mail;
pub mod mailer;
pub mod mass;
pub mod money;
pub mod order;
pub mod parcel;
pub mod place;
pub mod postal;
pub mod proof;
pub mod rates;
pub mod recipient;
pub mod reply;
pub mod rules;
pub mod said;
pub mod scale;
pub mod sending;
pub mod subject;
pub mod supply;
pub mod text;
pub mod trade;
