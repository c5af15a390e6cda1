//! Padded bags.

use super::length::Length;
use super::mass::Mass;
use super::money::Money;

/// One row of `mailers.csv`.
#[derive(Clone, PartialEq, Debug)]
pub struct Mailer {
    /// The key.
    pub code: String,
    /// Title as printed.
    pub title: String,
    /// Usable inside width, flat and empty.
    pub inner_width: Length,
    /// Usable inside length below the flap.
    pub inner_length: Length,
    /// Thickest contents it closes over.
    pub max_thickness: Length,
    /// Mass of the empty mailer.
    pub tare: Mass,
    /// What one costs.
    pub cost: Option<Money>,
    /// How many there are; `None` where the seller doesn't count.
    pub on_hand: Option<u32>,
    /// Used before: taped along the whole flap, old labels covered.
    pub reused: bool,
}
