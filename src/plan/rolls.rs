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
//!   what is there: `2 (h + t + w) + 4 (k − 1) w / 2`, as every turn before it added half a layer above, below,
//!   before and behind.
//! - *Outside*: as wide as the strip, `h + n w` high, `t + w + n w` thick.
//!
//! Of all ways to share rolls, the one is taken that needs the least wrap, the areas of the strips summed; see
//! `rolls/least.rs`. Gaps, margin and the halving are common practice, no source. Turned down: a spiral's exact
//! length, which differs by less than a hand cuts; and as few rolls as can be, which rolls a small pin into a strip as
//! long as a large one needs.

mod least;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, dec};

use crate::model::catalogue::Kind;
use crate::model::length::{Length, Size};
use crate::model::parcel::{Laid, Piece, Roll};
use crate::model::rules::PackingRules;

use least::{Loose, Strip};

/// Between neighbours on a strip: posts and clutches must not touch. Common practice, no source.
const GAP: Length = Length::from_mm(dec!(10));
/// Beyond the outermost pieces, to fold in. Common practice, no source.
const MARGIN: Length = Length::from_mm(dec!(20));

/// Loose pieces for which all ways are searched; more are no parcel that closes, and fill their rolls in order.
const MOST_SEARCHED: usize = 60;
/// Turns likewise.
const MOST_TURNS: u32 = 20;
/// Longest side of anything, in thousandths of a millimetre: ten metres.
const LONGEST: i64 = 10_000_000;

/// The rolls for `pieces`, none wider than `widest` unless a single piece is.
#[must_use]
pub fn cut(pieces: &[Piece], rules: &PackingRules, widest: Length) -> Vec<Roll> {
    let mut loose: Vec<&Piece> = pieces.iter().filter(|piece| piece.kind == Kind::Pin).collect();
    // Tallest first, as a hand would lay them; the code settles ties, so that order of arrival doesn't matter.
    loose.sort_by(|a, b| (b.height, b.width, &a.code).cmp(&(a.height, a.width, &b.code)));
    let mut strips = shared(&loose, rules, widest);
    let mut alone: Vec<&Piece> =
        pieces.iter().filter(|piece| matches!(piece.kind, Kind::Carded | Kind::Other)).collect();
    alone.sort_by(|a, b| a.code.cmp(&b.code));
    strips.extend(alone.into_iter().map(|piece| vec![piece]));
    strips.iter().map(|strip| roll(strip, rules)).collect()
}

/// Which loose pieces share a roll, each roll and all rolls from the tallest down.
fn shared<'p>(loose: &[&'p Piece], rules: &PackingRules, widest: Length) -> Vec<Vec<&'p Piece>> {
    let pieces: Option<Vec<Loose>> = loose.iter().map(|piece| searched(piece)).collect();
    let (Some(pieces), Some(_), Some(shares), ..=MOST_SEARCHED, ..=MOST_TURNS) =
        (pieces, micro(rules.wrap_layer * MOST_TURNS), millionths(rules.pins_per_roll), loose.len(), rules.turns)
    else {
        return in_order(loose, rules, widest);
    };
    // The length of a strip is linear in the two sides: one formula, asked for its numbers.
    let length = |high: u32, thick: u32| {
        let one = Length::from_mm(Decimal::ONE);
        micro(strip_length(one * high, one * thick, rules)).unwrap_or_default()
    };
    let more = length(0, 0);
    let strip = Strip {
        per_high: (length(1, 0) - more) / 1000,
        per_thick: (length(0, 1) - more) / 1000,
        more,
        gap: micro(GAP).unwrap_or_default(),
        margins: micro(MARGIN * 2).unwrap_or_default(),
        widest: micro(widest).unwrap_or(LONGEST),
        shares,
    };
    let mut strips: Vec<Vec<usize>> = least::wrap(&pieces, &strip);
    for strip in &mut strips {
        strip.sort_unstable();
    }
    strips.sort_unstable();
    strips.iter().map(|strip| strip.iter().filter_map(|place| loose.get(*place).copied()).collect()).collect()
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
    let micro = length.mm().checked_mul(Decimal::ONE_THOUSAND)?.ceil().to_i64()?;
    (0..=LONGEST).contains(&micro).then_some(micro)
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
    let layer = rules.wrap_layer;
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
        size: Size::laid(strip_width, high + layer * rules.turns, thick + layer + layer * rules.turns),
    }
}

/// For the tallest piece, with what the wrap reaches beyond it, and the thickest.
fn strip_length(high: Length, thick: Length, rules: &PackingRules) -> Length {
    let layer = rules.wrap_layer;
    let turns: Length = (0..rules.turns).map(|done| (high + thick + layer) * 2 + layer * 2 * done).sum();
    high * 3 + turns
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::model::catalogue::Code;
    use crate::model::mass::Mass;
    use crate::model::rules::Combine;

    fn mm(value: i64) -> Length {
        Length::from_mm(Decimal::from(value))
    }

    fn rules() -> PackingRules {
        PackingRules {
            pins_per_roll: dec!(5),
            turns: 2,
            wrap_layer: mm(4),
            wrap_g_per_m2: 60.0,
            card_overhang: mm(25),
            combine: Combine::SameRecipient,
            sheet: crate::model::scale::Sheet::A4,
            declare_with: crate::model::scale::Confidence::USUAL,
        }
    }

    fn pin(code: &str, width: i64, height: i64) -> Piece {
        Piece {
            code: Code(code.into()),
            kind: Kind::Pin,
            width: mm(width),
            height: mm(height),
            thickness: mm(10),
            share: dec!(1),
            mass: Mass::from_g(dec!(8)),
            mass_sd: Mass::ZERO,
        }
    }

    /// Worked by hand from the formulas above: two pins of 30 × 30 × 10. Width 30 + 10 + 30 + 2 · 20 = 110; core
    /// 30 high and 14 thick; length 3 · 30 + 88 + (88 + 8) = 274; outside 110 × 38 × 22.
    #[test]
    fn two_pins_by_hand() {
        let rolls = cut(&[pin("A", 30, 30), pin("A", 30, 30)], &rules(), mm(300));
        let [roll] = rolls.as_slice() else { panic!("{rolls:?}") };
        assert_eq!((roll.strip_width, roll.strip_length), (mm(110), mm(274)));
        assert_eq!(roll.size, Size::laid(mm(110), mm(38), mm(22)));
    }

    /// A card of 55 × 85: 25 beyond every edge.
    #[test]
    fn wrap_reaches_beyond_a_card_on_every_edge() {
        let card = Piece { kind: Kind::Carded, ..pin("C", 55, 85) };
        let rolls = cut(&[card, pin("A", 30, 30)], &rules(), mm(300));
        let [_, roll] = rolls.as_slice() else { panic!("{rolls:?}") };
        assert_eq!(roll.strip_width, mm(105));
        assert_eq!(roll.laid[0].y, mm(25));
        assert_eq!(roll.folds[0], mm(135));
    }

    #[test]
    fn seven_pins_make_two_rolls_and_a_large_one_counts_for_more() {
        let seven = vec![pin("A", 20, 20); 7];
        assert_eq!(cut(&seven, &rules(), mm(400)).len(), 2);
        let large = Piece { share: dec!(3), ..pin("L", 60, 60) };
        let four = [large, pin("A", 20, 20), pin("A", 20, 20), pin("A", 20, 20)];
        assert_eq!(cut(&four, &rules(), mm(400)).len(), 2);
    }

    /// By hand: a pin 60 high and 30 wide with four 20 high and 30 wide. Together: (150 + 40 + 40) · (7 · 60 + 64 = 484) =
    /// 111,320 mm² of wrap. The large one alone takes 70 · 484 = 33,880, the four 190 · 204 = 38,760.
    #[test]
    fn a_large_pin_is_rolled_alone_where_that_saves_wrap() {
        let pins = [pin("S", 30, 20), pin("S", 30, 20), pin("L", 30, 60), pin("S", 30, 20), pin("S", 30, 20)];
        let rolls = cut(&pins, &rules(), mm(300));
        let strips: Vec<_> = rolls.iter().map(|roll| (roll.strip_width, roll.strip_length)).collect();
        assert_eq!(strips, [(mm(70), mm(484)), (mm(190), mm(204))]);
        // One of 22 shares theirs: 230 · 218 = 50,140 and not 70 · 218 + 190 · 204 = 54,020.
        let like = [pin("S", 30, 20), pin("S", 30, 20), pin("L", 30, 22), pin("S", 30, 20), pin("S", 30, 20)];
        assert_eq!(cut(&like, &rules(), mm(300)).len(), 1);
    }

    /// More than a parcel holds: filled in order, at once.
    #[test]
    fn a_thousand_pins_are_rolled_five_by_five() {
        let many = vec![pin("A", 20, 20); 1000];
        let rolls = cut(&many, &rules(), mm(400));
        assert_eq!(rolls.len(), 200);
        assert!(rolls.iter().all(|roll| roll.laid.len() == 5));
    }

    proptest! {
        #[test]
        fn every_piece_lies_on_one_roll_and_no_roll_is_overfull(
            sides in prop::collection::vec((10_i64..70, 10_i64..70, 1_u32..4), 0..14),
            widest in 100_i64..400,
        ) {
            let pieces: Vec<Piece> = sides
                .iter()
                .enumerate()
                .map(|(i, (w, h, share))| Piece { share: Decimal::from(*share), ..pin(&format!("P{i}"), *w, *h) })
                .collect();
            let rolls = cut(&pieces, &rules(), mm(widest));
            let mut seen: Vec<&Code> = rolls.iter().flat_map(|roll| roll.laid.iter().map(|laid| &laid.code)).collect();
            seen.sort();
            let mut given: Vec<&Code> = pieces.iter().map(|piece| &piece.code).collect();
            given.sort();
            prop_assert_eq!(seen, given);
            for roll in &rolls {
                let shares: u32 = roll.laid.iter().map(|laid| sides[laid.code.0[1..].parse::<usize>().unwrap()].2).sum();
                prop_assert!(shares <= 5);
                prop_assert!(roll.laid.len() == 1 || roll.strip_width <= mm(widest));
            }
            // Never more wrap than filling the rolls in order would take.
            let loose: Vec<&Piece> = pieces.iter().collect();
            let area = |rolls: &[Roll]| rolls.iter().map(|roll| roll.strip_width.mm() * roll.strip_length.mm()).sum::<Decimal>();
            let simple: Vec<Roll> = in_order(&loose, &rules(), mm(widest)).iter().map(|strip| roll(strip, &rules())).collect();
            prop_assert!(area(&rolls) <= area(&simple));
            let turned: Vec<Piece> = pieces.iter().rev().cloned().collect();
            prop_assert_eq!(cut(&turned, &rules(), mm(widest)), rolls);
        }
    }
}
