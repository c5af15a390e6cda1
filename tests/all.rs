//! The one integration target: every further one would link typst again.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod bad_input;
mod crash;
mod days;
mod desk;
mod drops;
mod hand_off;
mod holding;
mod house;
mod laws;
mod open_parcels;
mod order_life;
mod post;
mod proof;
mod questions;
mod quote;
mod recipients;
mod scale;
mod service;
mod sharing;
mod sheets;
mod splits;
mod standards;
mod told_again;
mod trades;
mod unmapped;
mod watch;
mod workbook;
