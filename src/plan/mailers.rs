//! Which mailer takes a parcel's pieces, and what it costs to take each that would.
//!
//! A padded mailer is a flat bag: filled to a thickness `t`, a bag of inner width `W` has `W − t` left for the
//! contents, and of its length `L` as much less (common practice, no source). Rolls lie flat, each along or across
//! the bag, in layers on top of one another while the bag closes; see `mailers/stack.rs`. Flat things lie against its
//! wall and only have to fit its face. For every mailer the rolls are cut anew: no strip wider than the longer side
//! has left round the thickest roll, and of all cuts whose rolls fit the mailer together the one of least wrap.
//!
//! # Which is cheapest
//!
//! First by cost, then by wrap, then by area. An empty cost isn't nothing: such a mailer is reckoned at the most
//! that any mailer no larger is known to cost, since a larger bag is seldom cheaper; where none is smaller, at the
//! least that a larger one is known to cost. Reused ones, which cost nothing or next to it, say nothing of a bag's
//! price, and are left out of that. At equal cost a known one comes before a reckoned one. Where no cost is known that
//! says anything, mailers without one come after those with one, the smaller before the larger. What is reckoned orders
//! mailers and is never shown as a price. (A rule of this program's own.)
//!
//! Postage can differ between mailers, by thickness and mass, so all that would do are handed out, cheapest first, and
//! the caller takes the cheapest sum. Promises that a larger mailer never takes less, and that a piece more never makes
//! the first choice cheaper by cost of mailer and then wrap, as far as the searches end. Not promised: that a piece more
//! never saves wrap or mass by itself, as the dearer mailer that it takes may let strips be wider, or be lighter.
//! Turned down: packing boxes in three dimensions, which no bag is; the smallest that fits, which may be the dearest.

mod layer;
mod stack;
mod why;

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::model::catalogue::Kind;
use crate::model::length::{Length, Size};
use crate::model::mailer::Mailer;
use crate::model::parcel::{Piece, Roll};
use crate::model::rules::PackingRules;
use crate::plan::rolls;

use stack::{Bag, Stacks};

/// What a mailer is reckoned to cost, in the seller's currency.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Cost {
    /// As `mailers.csv` says.
    Known(Decimal),
    /// Reckoned from others, to order by.
    Reckoned(Decimal),
    /// Nothing says anything of it.
    Unknown,
}

impl Cost {
    /// To add postage to and order by; `None` sorts after every amount.
    #[must_use]
    pub const fn amount(self) -> Option<Decimal> {
        match self {
            Self::Known(amount) | Self::Reckoned(amount) => Some(amount),
            Self::Unknown => None,
        }
    }

    /// Sorts by amount, known before reckoned, unknown last.
    fn key(self) -> (bool, Decimal, bool) {
        match self {
            Self::Known(amount) => (false, amount, false),
            Self::Reckoned(amount) => (false, amount, true),
            Self::Unknown => (true, Decimal::ZERO, true),
        }
    }
}

/// A mailer that takes the pieces, and how.
#[derive(Clone, PartialEq, Debug)]
pub struct Choice<'a> {
    /// Which.
    pub mailer: &'a Mailer,
    /// What it is reckoned to cost.
    pub cost: Cost,
    /// The rolls as cut for it.
    pub rolls: Vec<Roll>,
    /// Area of their strips, mm².
    pub wrap: Decimal,
    /// Outside of the packed mailer: its flat sides, as thick as its contents.
    pub size: Size,
    /// How many rolls lie on one another.
    pub layers: usize,
}

/// All mailers that take the pieces.
#[derive(Clone, PartialEq, Debug)]
pub struct Ranked<'a> {
    /// Those on hand, the cheapest first.
    pub choices: Vec<Choice<'a>>,
    /// Those that would take them and come before the first choice, and of which none is left.
    pub used_up: Vec<&'a Mailer>,
}

/// Every mailer that takes `pieces`, the cheapest first; `taken` is what other parcels take of each.
#[must_use]
pub fn rank<'a>(
    pieces: &[Piece],
    rules: &PackingRules,
    mailers: &'a [Mailer],
    taken: &BTreeMap<String, u32>,
) -> Ranked<'a> {
    let (used_up, on_hand): (Vec<&Mailer>, Vec<&Mailer>) = mailers.iter().partition(|mailer| {
        let used = taken.get(&mailer.code).copied().unwrap_or(0);
        mailer.on_hand.is_some_and(|on_hand| used >= on_hand)
    });
    let taking = |mailer: &&'a Mailer| takes(pieces, rules, mailer, cost(mailer, mailers));
    let mut choices: Vec<Choice<'a>> = on_hand.iter().filter_map(taking).collect();
    choices.sort_by(|a, b| a.key().cmp(&b.key()));
    let first = choices.first().map(Choice::key);
    let mut missed: Vec<Choice<'a>> = used_up.iter().filter_map(taking).collect();
    missed.retain(|choice| first.as_ref().is_none_or(|first| choice.key() < *first));
    missed.sort_by(|a, b| a.key().cmp(&b.key()));
    let used_up = missed.into_iter().map(|choice| choice.mailer).collect();
    Ranked { choices, used_up }
}

impl Choice<'_> {
    fn key(&self) -> ((bool, Decimal, bool), Decimal, Decimal, &str) {
        let area = area(self.mailer);
        let (unknown, amount, reckoned) = self.cost.key();
        // Where nothing says anything of costs, size does.
        let amount = if unknown { area } else { amount };
        ((unknown, amount, reckoned), self.wrap, area, &self.mailer.code)
    }
}

fn area(mailer: &Mailer) -> Decimal {
    mailer.inner_width.mm() * mailer.inner_length.mm()
}

/// What `mailer` is reckoned to cost among `all`; the rule stands at the head of this module.
fn cost(mailer: &Mailer, all: &[Mailer]) -> Cost {
    if let Some(known) = mailer.cost {
        return Cost::Known(known.amount);
    }
    let bought =
        || all.iter().filter(|other| !other.reused).filter_map(|other| Some((area(other), other.cost?.amount)));
    let no_larger = bought().filter(|(size, _)| *size <= area(mailer)).map(|(_, cost)| cost).max();
    let larger = || bought().filter(|(size, _)| *size > area(mailer)).map(|(_, cost)| cost).min();
    no_larger.or_else(larger).map_or(Cost::Unknown, Cost::Reckoned)
}

/// How this mailer takes the pieces, if it does.
fn takes<'a>(pieces: &[Piece], rules: &PackingRules, mailer: &'a Mailer, cost: Cost) -> Option<Choice<'a>> {
    let (short, long) = (mailer.inner_width.min(mailer.inner_length), mailer.inner_width.max(mailer.inner_length));
    let flats = || pieces.iter().filter(|piece| piece.kind == Kind::Flat);
    if !flats().all(|flat| flat.width.min(flat.height) <= short && flat.width.max(flat.height) <= long) {
        return None;
    }
    let lining: Length = flats().map(|flat| flat.thickness).sum();
    let wrapped = || pieces.iter().filter(|piece| piece.kind != Kind::Flat);
    let thick = || wrapped().map(|piece| rolls::rolled(piece.thickness, rules));
    let (thinnest, thickest) = (thick().min().unwrap_or_default(), thick().max().unwrap_or_default());
    let bag = Bag { width: mailer.inner_width, length: mailer.inner_length, deepest: mailer.max_thickness, lining };
    let mut stacks = Stacks::of(&bag);
    let widest = long - lining - thickest;
    let covered = bag.covered_at_most(thinnest, thickest)?;
    let mut fits = |sizes: &[Size]| stacks.thinnest(sizes).is_some();
    let rolls = rolls::cut_to_fit(pieces, rules, widest, &mut rolls::Room { covered, fits: &mut fits })?;
    let sizes: Vec<Size> = rolls.iter().map(|roll| roll.size).collect();
    let stack = stacks.thinnest(&sizes)?;
    Some(Choice {
        mailer,
        cost,
        wrap: rolls::area(&rolls),
        rolls,
        size: Size::laid(mailer.inner_width, mailer.inner_length, stack.thickness),
        layers: stack.layers,
    })
}

#[cfg(test)]
mod tests;
