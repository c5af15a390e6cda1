//! The one integration target: every further one would link typst again.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod bad_input;
mod days;
mod desk;
mod drops;
mod house;
mod laws;
mod order_life;
mod proof;
mod questions;
mod quote;
mod recipients;
mod scale;
mod service;
mod sharing;
mod sheets;
mod standards;
mod told_again;
mod unmapped;
mod workbook;
