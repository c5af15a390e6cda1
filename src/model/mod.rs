//! The words of the trade as types. Uses nothing else of the house.
//!
//! Everything that crosses from one room to another is one of these. They are checked when they are made;
//! nothing behind the wall validates them again. Turned down: one big "record" type with string fields, which
//! would have pushed every check into every room.

pub mod address;
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
pub mod postal;
pub mod proof;
pub mod rates;
pub mod recipient;
pub mod reply;
pub mod rules;
pub mod scale;
pub mod sending;
pub mod subject;
pub mod supply;
pub mod text;
pub mod trade;
