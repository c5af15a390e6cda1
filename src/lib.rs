//! The map of the house. A drop walks through the rooms in one direction and comes out as paper and mail.
//!
//! ```text
//! inbox ──► ledger ──► plan ──► papers ──► mail
//! ```
//!
//! A room may use `model` and the rooms above it in the list below; `inbox`, `ledger`, `papers` and `mail` don't
//! use one another. `tests/house.rs` holds the walls.

// The words of the trade as types. Uses nothing of the house.
pub mod model;
// Each room on its own line, in the order in which one may use another.
// The commands, as types.
pub mod cli;
// The seller's files to one checked home.
pub mod home;
// Bytes to model, with line-numbered refusals.
pub mod inbox;
// The database, and the only user of SQLite.
pub mod ledger;
// Composes messages and delivers them.
pub mod mail;
// View models, Handlebars and Typst to bytes.
pub mod papers;
// Pure reckoning: model in, model out.
pub mod plan;
// The only place where rooms meet.
pub mod run;
