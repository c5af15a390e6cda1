//! Which pins share a roll, and the strip of bubble wrap that each roll needs.
//!
//! Handed pieces with their sizes; promises that every piece but the flat ones lies on exactly one roll, that no
//! roll holds more shares than the rules allow, and that the same pieces make the same rolls in any order.
//!
//! # The strip, so that it can be redone with a ruler
//!
//! All lengths in millimetres, `w` the thickness of one layer of wrap, `n` the turns.
//!
//! - *Width* across the roll: the widths of the pieces, 10 between neighbours, and 20 beyond the outermost on
//!   either side. A card instead has the overhang beyond it on every edge.
//! - *Core*: the tallest piece is `h` high (with a card, plus the overhang above and below) and the thickest `t`
//!   thick. The post goes through the layer under it, so that layer adds nothing; two layers lie over the face,
//!   and wrap gives way to half its thickness when it is rolled: the core is `t + w` thick.
//! - *Length*: `3 h` for the layer under and the double layer over the face, then for turn `k = 1 … n` once round
//!   what is there. A core of `h` by `t + w` has the girth `2 (h + t + w)`. Every turn before laid half a layer above,
//!   below, before and behind: each of the four sides is longer by `w` with every turn, so turn `k` takes
//!   `2 (h + t + w) + 4 (k − 1) w`.
//! - *Outside*: as wide as the strip, `h + n w` high, `t + w + n w` thick.
//!
//! Girths are taken with square corners and along the inside of the turn. Round corners and the middle of the layer
//! would give `2 (h + t + w) + 2 π (2 k − 1) w / 4`: up to five turns that is 2.3 `w` more in all at most, and one
//! `w` less, which is less than a hand cuts.
//!
//! A turn is one whole wrap round the core. For a card of 55 × 85 with 25 beyond every edge, 11 thick, in wrap of 4, two
//! turns make 3 · 135 + 300 + 316 = 1021 mm. Most of that is the rule and not the geometry: wrap that reaches 25
//! beyond the card's upper and lower edge makes a core of 135 and not of 85. A packer who kept the overhang at the
//! open ends only and rolled tight round the card would cut 3 · 85 + 200 + 216 = 671; but then those two edges have only
//! the turns before them, some 8 mm, and dent first. The rule says every edge, so it is 1021. Of two packages weighed
//! with a card in them (common practice, no source) the model falls a tenth short with the longer strip, and more with
//! the shorter.
//!
//! Of all ways to share rolls, the one is taken that needs the least wrap, the areas of the strips summed; see
//! `rolls/least.rs`. Gaps, margin and the halving are common practice, no source. Turned down: as few rolls as can be,
//! which rolls a small pin into a strip as long as a large one needs.

mod bound;
mod candidates;
mod least;
mod search;
mod simple;
mod why;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, dec};

use crate::model::catalogue::Kind;
use crate::model::length::{Length, Size};
use crate::model::parcel::{Laid, Piece, Roll};
use crate::model::rules::PackingRules;

use least::{Filled, Loose, Strip};
pub use why::why;

/// Between neighbours on a strip: posts and clutches must not touch. Common practice, no source.
const GAP: Length = Length::from_mm(dec!(10));
/// Beyond the outermost pieces, to fold in. Common practice, no source.
const MARGIN: Length = Length::from_mm(dec!(20));

/// Longest side of anything, in thousandths of a millimetre: a metre.
const LONGEST: i64 = 1_000_000;

/// The rolls for `pieces`, none wider than `widest` unless a single piece is. A mailer asks [`cut_to_fit`]; this is the same
/// search without one, for the published cases of strips, which know of no mailer.
#[must_use]
pub fn cut(pieces: &[Piece], rules: &PackingRules, widest: Length) -> Vec<Roll> {
    let loose = loose(pieces);
    let strips = match Reckoning::of(&loose, rules, widest) {
        Some(reckoning) => strips(&loose, least::wrap(&reckoning.pieces, &reckoning.strip)),
        None => in_order(&loose, rules, widest),
    };
    rolls(&strips, &alone(pieces), rules)
}

/// Where rolls have to go.
pub struct Room<'a> {
    /// The most that their footprints may cover together, mm²: what no rolls can keep to isn't searched.
    pub covered: Decimal,
    /// Whether rolls of these sizes fit; fewer must fit where more do.
    pub fits: &'a mut dyn FnMut(&[Size]) -> bool,
}

/// The rolls for `pieces` that need the least wrap of all that fit the room together; `None` where none do, or none
/// were found in so many tries (see `rolls/least.rs`).
pub fn cut_to_fit(pieces: &[Piece], rules: &PackingRules, widest: Length, room: &mut Room<'_>) -> Option<Vec<Roll>> {
    let (loose, alone) = (loose(pieces), alone(pieces));
    let sizes: Vec<Size> = alone.iter().map(|piece| roll(&[*piece], rules).size).collect();
    if !(room.fits)(&sizes) {
        return None;
    }
    let strips = match Reckoning::of(&loose, rules, widest) {
        Some(reckoning) => {
            let taken: Decimal = sizes.iter().map(|size| size.length.mm() * size.width.mm()).sum();
            // In square thousandths; rounded up, as the sides of what is compared with it are.
            let left = ((room.covered - taken) * Decimal::from(1_000_000)).ceil().to_i64()?;
            let mut all_fit = |filled: &[Filled]| {
                let shared = filled
                    .iter()
                    .map(|filled| outside(exact(filled.wide), exact(filled.high), exact(filled.thick), rules));
                (room.fits)(&sizes.iter().copied().chain(shared).collect::<Vec<_>>())
            };
            let grown = whole(rules.wrap_layer * rules.turns)?;
            let found = least::wrap_to_fit(
                &reckoning.pieces,
                &reckoning.strip,
                &mut search::Room { covered: left, grown, fits: &mut all_fit },
            )?;
            strips(&loose, found)
        }
        None => in_order(&loose, rules, widest),
    };
    let rolls = rolls(&strips, &alone, rules);
    (room.fits)(&rolls.iter().map(|roll| roll.size).collect::<Vec<_>>()).then_some(rolls)
}

/// How thick a roll is with nothing in it thicker than `thickness`.
#[must_use]
pub fn rolled(thickness: Length, rules: &PackingRules) -> Length {
    thickness + rules.wrap_layer + rules.wrap_layer * rules.turns
}

/// Area of all strips, mm².
#[must_use]
pub fn area(rolls: &[Roll]) -> Decimal {
    rolls.iter().map(|roll| roll.strip_width.mm() * roll.strip_length.mm()).sum()
}

/// Loose pins, tallest first, as a hand would lay them; the code settles ties, so that order of arrival doesn't matter.
fn loose(pieces: &[Piece]) -> Vec<&Piece> {
    let mut loose: Vec<&Piece> = pieces.iter().filter(|piece| piece.kind == Kind::Pin).collect();
    loose.sort_by(|a, b| (b.height, b.width, &a.code).cmp(&(a.height, a.width, &b.code)));
    loose
}

/// What has a roll to itself.
fn alone(pieces: &[Piece]) -> Vec<&Piece> {
    let mut alone: Vec<&Piece> =
        pieces.iter().filter(|piece| matches!(piece.kind, Kind::Carded | Kind::Other)).collect();
    alone.sort_by(|a, b| a.code.cmp(&b.code));
    alone
}

fn rolls(strips: &[Vec<&Piece>], alone: &[&Piece], rules: &PackingRules) -> Vec<Roll> {
    strips.iter().map(|strip| roll(strip, rules)).chain(alone.iter().map(|piece| roll(&[*piece], rules))).collect()
}

/// Loose pieces and what holds of their strips, in whole numbers.
struct Reckoning {
    pieces: Vec<Loose>,
    strip: Strip,
}

impl Reckoning {
    /// `None` where something is beyond what the areas of rolls can be summed in.
    fn of(loose: &[&Piece], rules: &PackingRules, widest: Length) -> Option<Self> {
        micro(rules.wrap_layer * PackingRules::MOST_TURNS).filter(|_| rules.turns <= PackingRules::MOST_TURNS)?;
        // The length of a strip is linear in the two sides: one formula, asked for its numbers.
        let one = Length::from_mm(Decimal::ONE);
        let length = |high: u32, thick: u32| whole(strip_length(one * high, one * thick, rules));
        let more = length(0, 0)?;
        let strip = Strip {
            per_high: (length(1, 0)? - more) / 1000,
            per_thick: (length(0, 1)? - more) / 1000,
            more,
            gap: micro(GAP)?,
            margins: micro(MARGIN * 2)?,
            widest: micro(widest).unwrap_or(LONGEST),
            shares: millionths(rules.pins_per_roll)?,
        };
        Some(Self { pieces: loose.iter().map(|piece| searched(piece)).collect::<Option<_>>()?, strip })
    }
}

/// From places to pieces, each roll and all rolls from the tallest down.
fn strips<'p>(loose: &[&'p Piece], mut found: Vec<Vec<usize>>) -> Vec<Vec<&'p Piece>> {
    for strip in &mut found {
        strip.sort_unstable();
    }
    found.sort_unstable();
    found.iter().map(|strip| strip.iter().filter_map(|place| loose.get(*place).copied()).collect()).collect()
}

fn searched(piece: &Piece) -> Option<Loose> {
    Some(Loose {
        high: micro(piece.height)?,
        thick: micro(piece.thickness)?,
        wide: micro(piece.width)?,
        share: millionths(piece.share)?,
    })
}

/// In thousandths of a millimetre; `None` beyond what the areas of rolls can be summed in.
fn micro(length: Length) -> Option<i64> {
    whole(length).filter(|micro| (0..=LONGEST).contains(micro))
}

/// Up to the next thousandth of a millimetre.
fn whole(length: Length) -> Option<i64> {
    length.mm().checked_mul(Decimal::ONE_THOUSAND)?.ceil().to_i64()
}

fn exact(micro: i64) -> Length {
    Length::from_mm(Decimal::new(micro, 3).normalize())
}

fn millionths(share: Decimal) -> Option<i64> {
    let millionths = share.checked_mul(Decimal::ONE_THOUSAND * Decimal::ONE_THOUSAND)?.to_i64()?;
    (1..=LONGEST * 100).contains(&millionths).then_some(millionths)
}

/// Each piece on the first roll that has room for it.
fn in_order<'p>(loose: &[&'p Piece], rules: &PackingRules, widest: Length) -> Vec<Vec<&'p Piece>> {
    let mut strips: Vec<Vec<&Piece>> = Vec::new();
    for piece in loose {
        // A share above the limit still gets a roll, of its own.
        let room = strips.iter_mut().find(|strip| {
            let shares: Decimal = strip.iter().map(|laid| laid.share).sum::<Decimal>() + piece.share;
            let wide = width(strip.iter().copied().chain([*piece]));
            shares <= rules.pins_per_roll && wide <= widest
        });
        match room {
            Some(strip) => strip.push(piece),
            None => strips.push(vec![piece]),
        }
    }
    strips
}

fn width<'p>(strip: impl Iterator<Item = &'p Piece>) -> Length {
    let (mut sum, mut count) = (Length::ZERO, 0);
    for piece in strip {
        sum = sum + piece.width;
        count += 1;
    }
    sum + GAP * u32::saturating_sub(count, 1) + MARGIN * 2
}

fn roll(strip: &[&Piece], rules: &PackingRules) -> Roll {
    let carded = strip.iter().any(|piece| piece.kind == Kind::Carded);
    let beyond = if carded { rules.card_overhang } else { Length::ZERO };
    let margin = if carded { rules.card_overhang } else { MARGIN };
    let high = strip.iter().map(|piece| piece.height).max().unwrap_or_default() + beyond * 2;
    let thick = strip.iter().map(|piece| piece.thickness).max().unwrap_or_default();
    let strip_width = strip.iter().map(|piece| piece.width).sum::<Length>()
        + GAP * u32::try_from(strip.len().saturating_sub(1)).unwrap_or(u32::MAX)
        + margin * 2;
    let mut x = margin;
    let laid = strip
        .iter()
        .map(|piece| {
            let place = Laid { code: piece.code.clone(), x, y: beyond, width: piece.width, height: piece.height };
            x = x + piece.width + GAP;
            place
        })
        .collect();
    Roll {
        laid,
        strip_width,
        strip_length: strip_length(high, thick, rules),
        folds: vec![high, high * 2],
        size: outside(strip_width, high, thick, rules),
    }
}

/// The finished roll.
fn outside(strip_width: Length, high: Length, thick: Length, rules: &PackingRules) -> Size {
    Size::laid(strip_width, high + rules.wrap_layer * rules.turns, rolled(thick, rules))
}

/// For the tallest piece, with what the wrap reaches beyond it, and the thickest.
fn strip_length(high: Length, thick: Length, rules: &PackingRules) -> Length {
    let layer = rules.wrap_layer;
    let turns: Length = (0..rules.turns).map(|done| (high + thick + layer) * 2 + layer * 4 * done).sum();
    high * 3 + turns
}

#[cfg(test)]
mod tests;
