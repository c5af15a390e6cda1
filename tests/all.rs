//! The one integration target: every further one would link typst again.

mod bad_input;
mod days;
mod desk;
mod house;
mod laws;
mod service;
mod standards;
