//! The map of the house. A drop walks through the rooms in one direction and comes out as paper and mail.
//!
//! ```text
//! inbox ──► ledger ──► plan ──► papers ──► mail
//! ```
//!
//! | room | does | may use |
//! |---|---|---|
//! | `model` | the words of the trade as types | nothing of the house |
//! | `plan` | pure reckoning: model in, model out | `model` |
//! | `inbox` | bytes to model, with line-numbered refusals | `model`, `plan` |
//! | `ledger` | the database, and the only user of `SQLite` | `model`, `plan` |
//! | `papers` | view models, Handlebars and Typst to bytes | `model`, `plan` |
//! | `mail` | composes messages and delivers them | `model`, `plan` |
//! | `home` | the seller's files to one checked home | all above it |
//! | `run` | the only place where rooms meet | all above it |
//! | `cli` | the commands, as types | all above it |
//!
//! `inbox`, `ledger`, `papers` and `mail` don't use one another. `tests/house.rs` holds the walls.

pub mod cli;
pub mod home;
pub mod inbox;
pub mod ledger;
pub mod mail;
pub mod model;
pub mod papers;
pub mod plan;
pub mod run;
