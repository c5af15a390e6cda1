//! Which loose pieces share a roll, so that the least wrap is cut.
//!
//! A roll costs the area of its strip, width by length, and its length follows from the tallest and the thickest
//! piece on it. So like belongs with like; but two thin rolls cost two margins, and a strip must not be wider than the
//! mailer is long nor hold more shares than the rules allow.
//!
//! All rolls that can be made are listed (`candidates.rs`) and every kind of piece gets a price such that no roll costs
//! less than its pieces (`bound.rs`). Then divisions are searched a roll at a time: of the pieces left, the one that
//! asks for the longest strip leads the next roll, and the rolls that it leads are tried in the order of what they cost
//! beyond the prices of their pieces. Once what is spent, and the prices of what is left, are no better than the
//! best division found, no roll further down the list can lead to a better one. So where the search ends, what it found
//! is the least; that is whole numbers throughout, and no rounding is in it.
//!
//! It is exact for up to 60 pieces that make no more rolls than are listed, as 30 pins all unlike do at five to a
//! roll; beyond, it takes the best of three simple ways: runs of the order by length, and first fit by falling length
//! and by falling width. Where it would take more than 400,000 steps, it ends with the best so far. Steps are counted,
//! not seconds: the same pieces make the same rolls on every machine. Turned down: those simple ways alone, none of
//! which is the least where pieces differ; and a dynamic program over subsets, which 30 unlike pins put out of reach.
//!
//! The caller may also say which rolls fit together, as a mailer does; it must hold of that that fewer rolls fit where
//! more do. Then rolls are tried as they are chosen, and a second set of prices, of what pieces cover of the mailer,
//! ends the search where even their least would be too much. That search is exact up to 400 sets of rolls tried for a
//! dozen pieces, 160 for thirty; beyond, the mailer may be passed over, or given a cut that isn't the least.

use super::search::{Listed, Room};
use super::simple::simply;

/// Thousandths of a millimetre; areas in their squares.
pub(super) type Micro = i64;

/// A loose piece as the search sees it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Loose {
    /// Height of the face.
    pub(super) high: Micro,
    /// With post and clutch.
    pub(super) thick: Micro,
    /// Width of the face.
    pub(super) wide: Micro,
    /// Places it takes, in millionths.
    pub(super) share: i64,
}

/// What a strip costs and may hold. Its length is `per_high` times the height of the tallest piece on it, `per_thick`
/// times the thickness of the thickest, and `more`.
pub(super) struct Strip {
    /// A number.
    pub(super) per_high: i64,
    /// A number.
    pub(super) per_thick: i64,
    /// A length.
    pub(super) more: Micro,
    /// Between neighbours.
    pub(super) gap: Micro,
    /// Beyond the outermost, both sides together.
    pub(super) margins: Micro,
    /// Widest strip; a single piece may need a wider one.
    pub(super) widest: Micro,
    /// Shares of a roll, in millionths; a single piece may count for more.
    pub(super) shares: i64,
}

/// A roll while it is filled: its tallest, its thickest, width of the strip, shares.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Filled {
    /// Height of the tallest piece.
    pub(super) high: Micro,
    /// Thickness of the thickest.
    pub(super) thick: Micro,
    /// Width of the strip.
    pub(super) wide: Micro,
    share: i64,
}

impl Strip {
    fn length(&self, high: Micro, thick: Micro) -> Micro {
        self.per_high * high + self.per_thick * thick + self.more
    }

    /// One more piece on a roll.
    pub(super) fn with(&self, roll: Option<Filled>, piece: &Loose) -> Filled {
        let Loose { high, thick, wide, share } = *piece;
        roll.map_or(Filled { high, thick, wide: self.margins + wide, share }, |roll| Filled {
            high: roll.high.max(high),
            thick: roll.thick.max(thick),
            wide: roll.wide + self.gap + wide,
            share: roll.share + share,
        })
    }

    /// Whether several pieces may lie on one strip.
    pub(super) fn fits(&self, roll: Filled) -> bool {
        roll.wide <= self.widest && roll.share <= self.shares
    }

    /// Area of the strip.
    pub(super) fn area(&self, roll: Filled) -> Micro {
        roll.wide * self.length(roll.high, roll.thick)
    }
}

/// Pieces alike, and their places among all.
pub(super) struct Kind {
    /// One of them.
    pub(super) piece: Loose,
    /// Where they stand.
    pub(super) places: Vec<usize>,
}

/// The division of `pieces` that needs the least wrap, each roll by places in `pieces`; and of those the one with the
/// fewest rolls.
pub(super) fn wrap(pieces: &[Loose], strip: &Strip) -> Vec<Vec<usize>> {
    let kinds = kinds(pieces, strip);
    let least = Listed::of(&kinds, strip).and_then(|listed| listed.least(None));
    let rolls = least.unwrap_or_else(|| simply(&kinds, strip));
    places(&kinds, &rolls)
}

/// The same, of the divisions whose rolls fit together; `None` where none was found.
pub(super) fn wrap_to_fit(pieces: &[Loose], strip: &Strip, room: &mut Room<'_>) -> Option<Vec<Vec<usize>>> {
    if least_covered(pieces, strip, room.grown) > i128::from(room.covered) {
        return None;
    }
    let kinds = kinds(pieces, strip);
    let listed = Listed::of(&kinds, strip);
    let rolls = match &listed {
        // The least of all is seldom more than fits; only then is there more to search.
        Some(listed) => {
            listed.least(None).filter(|rolls| room.takes(&kinds, strip, rolls)).or_else(|| listed.least(Some(room)))
        }
        None => Some(simply(&kinds, strip)).filter(|rolls| room.takes(&kinds, strip, rolls)),
    };
    rolls.map(|rolls| places(&kinds, &rolls))
}

/// No rolls cover less than this, told without listing any: each piece lies beside a gap or a margin on a roll no lower than
/// itself, and there are at least as many rolls, with the rest of their margins, as shares and widths need.
fn least_covered(pieces: &[Loose], strip: &Strip, grown: Micro) -> i128 {
    let sum = |of: &dyn Fn(&Loose) -> i128| pieces.iter().map(of).sum::<i128>();
    let own = |piece: &Loose| i128::from(piece.wide + strip.gap);
    let ends = i128::from(strip.margins - strip.gap).max(0);
    let room = (i128::from(strip.widest) - ends).max(1);
    // A piece that is too much for a roll has one to itself and leaves no room that others could use.
    let shares = i128::from(strip.shares).max(1);
    let by_share = sum(&|piece| i128::from(piece.share).min(shares)) / shares;
    let rolls = by_share.max(sum(&|piece| own(piece).min(room)) / room);
    let lowest = pieces.iter().map(|piece| piece.high).min().unwrap_or(0);
    sum(&|piece| own(piece) * i128::from(piece.high + grown)) + rolls * ends * i128::from(lowest + grown)
}

/// By falling length of their own strip.
fn kinds(pieces: &[Loose], strip: &Strip) -> Vec<Kind> {
    let length = |piece: &Loose| strip.length(piece.high, piece.thick);
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by_key(|place| pieces.get(*place).map(|piece| std::cmp::Reverse((length(piece), *piece))));
    let mut kinds: Vec<Kind> = Vec::new();
    for place in order {
        let Some(piece) = pieces.get(place).copied() else { continue };
        match kinds.last_mut().filter(|kind| kind.piece == piece) {
            Some(kind) => kind.places.push(place),
            None => kinds.push(Kind { piece, places: vec![place] }),
        }
    }
    kinds
}

/// From kinds to pieces.
fn places(kinds: &[Kind], rolls: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut free: Vec<_> = kinds.iter().map(|kind| kind.places.iter().copied()).collect();
    let mut piece = |kind: &usize| free.get_mut(*kind)?.next();
    rolls.iter().map(|roll| roll.iter().filter_map(&mut piece).collect()).collect()
}

/// What a roll of these kinds measures.
pub(super) fn fill(kinds: &[Kind], strip: &Strip, roll: &[usize]) -> Option<Filled> {
    let pieces = roll.iter().filter_map(|kind| kinds.get(*kind));
    pieces.fold(None, |filled, kind| Some(strip.with(filled, &kind.piece)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::plan::rolls::search::MOST_STEPS;

    const SHARE: i64 = 1_000_000;

    fn strip(widest: Micro) -> Strip {
        Strip { per_high: 7, per_thick: 4, more: 32, gap: 10, margins: 40, widest, shares: 5 * SHARE }
    }

    fn area(roll: &[Loose], strip: &Strip) -> i64 {
        let wide: Micro = roll.iter().map(|piece| piece.wide + strip.gap).sum::<Micro>() - strip.gap + strip.margins;
        let most = |side: fn(&Loose) -> Micro| roll.iter().map(side).max().unwrap();
        let share: i64 = roll.iter().map(|piece| piece.share).sum();
        let fits = roll.len() == 1 || (wide <= strip.widest && share <= strip.shares);
        if fits { wide * strip.length(most(|piece| piece.high), most(|piece| piece.thick)) } else { i64::MAX / 64 }
    }

    /// Every division there is: the next piece joins each roll so far, or starts one.
    fn least_of_all(pieces: &[Loose], rolls: &mut Vec<Vec<Loose>>, strip: &Strip) -> i64 {
        let Some((next, rest)) = pieces.split_first() else {
            return rolls.iter().map(|roll| area(roll, strip)).sum();
        };
        let mut least = i64::MAX;
        for place in 0..=rolls.len() {
            if place == rolls.len() {
                rolls.push(Vec::new());
            }
            rolls[place].push(*next);
            least = least.min(least_of_all(rest, rolls, strip));
            rolls[place].pop();
            rolls.retain(|roll| !roll.is_empty());
        }
        least
    }

    fn found(pieces: &[Loose], strip: &Strip) -> i64 {
        let rolls = wrap(pieces, strip);
        let mut places: Vec<usize> = rolls.iter().flatten().copied().collect();
        places.sort_unstable();
        assert_eq!(places, (0..pieces.len()).collect::<Vec<_>>());
        rolls.iter().map(|roll| area(&roll.iter().map(|place| pieces[*place]).collect::<Vec<_>>(), strip)).sum()
    }

    fn loose() -> impl Strategy<Value = Loose> {
        (10_i64..70, 6_i64..16, 10_i64..70, 1_i64..7).prop_map(|(high, thick, wide, halves)| Loose {
            high,
            thick,
            wide,
            share: halves * SHARE / 2,
        })
    }

    proptest! {
        #[test]
        fn it_is_the_least_of_all_divisions(pieces in prop::collection::vec(loose(), 0..8), widest in 60_i64..320) {
            let strip = strip(widest);
            prop_assert_eq!(found(&pieces, &strip), least_of_all(&pieces, &mut Vec::new(), &strip));
        }

        #[test]
        fn a_piece_more_never_needs_less_wrap(pieces in prop::collection::vec(loose(), 1..12), widest in 60_i64..320) {
            let strip = strip(widest);
            prop_assert!(found(&pieces[1..], &strip) <= found(&pieces, &strip));
        }
    }

    /// By hand: a pin 60 high and 30 wide with four 20 high and 30 wide, all 10 thick. Together: (150 + 40 + 40) · (7 · 60 +
    /// 72 = 492) = 113,160. The large one alone, 70 · 492 = 34,440, and the four, 190 · 212 = 40,280: 74,720.
    #[test]
    fn small_pins_are_not_rolled_into_the_strip_of_a_large_one() {
        let pin = |high| Loose { high, thick: 10, wide: 30, share: SHARE };
        let pieces = [pin(20), pin(60), pin(20), pin(20), pin(20)];
        let mut rolls = wrap(&pieces, &strip(300));
        rolls.sort();
        assert_eq!(rolls, [vec![0, 2, 3, 4], vec![1]]);
        assert_eq!(found(&pieces, &strip(300)), 74_720);
    }

    /// Where a gap costs as much as two margins, a roll for each needs no more wrap than one for all.
    #[test]
    fn of_equal_areas_the_fewest_rolls_are_taken() {
        let pieces = [Loose { high: 20, thick: 10, wide: 30, share: SHARE }; 5];
        assert_eq!(wrap(&pieces, &Strip { gap: 40, ..strip(400) }).len(), 1);
        let unlike = [20, 21, 22].map(|wide| Loose { wide, ..pieces[0] });
        assert_eq!(wrap(&unlike, &Strip { gap: 40, ..strip(400) }).len(), 1);
    }

    fn simply_area(order: &[Loose], strip: &Strip) -> i64 {
        let mut rolls: Vec<Vec<Loose>> = Vec::new();
        for piece in order {
            let room = |roll: &&mut Vec<Loose>| {
                let with: Vec<Loose> = roll.iter().copied().chain([*piece]).collect();
                area(&with, strip) < i64::MAX / 64
            };
            match rolls.iter_mut().find(room) {
                Some(roll) => roll.push(*piece),
                None => rolls.push(vec![*piece]),
            }
        }
        rolls.iter().map(|roll| area(roll, strip)).sum()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn of_many_pieces_it_is_never_worse_than_first_fit(pieces in prop::collection::vec(loose(), 20..90), widest in 80_i64..320) {
            let strip = strip(widest);
            let found = found(&pieces, &strip);
            let mut order = pieces;
            order.sort_by_key(|piece| std::cmp::Reverse((strip.length(piece.high, piece.thick), *piece)));
            prop_assert!(found <= simply_area(&order, &strip));
            order.sort_by_key(|piece| std::cmp::Reverse((piece.wide, strip.length(piece.high, piece.thick), *piece)));
            prop_assert!(found <= simply_area(&order, &strip));
        }

        /// Metres or thousandths of an inch: with every length times the same number, the same pieces share rolls.
        #[test]
        fn other_units_change_nothing(pieces in prop::collection::vec(loose(), 1..16), widest in 60_i64..320, times in 2_i64..255) {
            let strip = strip(widest);
            let scaled = Strip {
                more: strip.more * times,
                gap: strip.gap * times,
                margins: strip.margins * times,
                widest: strip.widest * times,
                ..strip
            };
            let large: Vec<Loose> = pieces
                .iter()
                .map(|piece| Loose { high: piece.high * times, thick: piece.thick * times, wide: piece.wide * times, ..*piece })
                .collect();
            prop_assert_eq!(wrap(&large, &scaled), wrap(&pieces, &strip));
        }
    }

    /// Thirty pins no two of which are alike, five to a roll and no width to forbid any: 174,436 rolls, and the search
    /// ends well below its bound, so what it finds is the least.
    #[test]
    fn thirty_unlike_pins_are_searched_to_the_end() {
        let pieces: Vec<Loose> = (0..30)
            .map(|i| Loose {
                high: 18_000 + i * 7_919 % 30_000,
                thick: 9_000 + i * 613 % 4_000,
                wide: 18_000 + i * 5_281 % 29_000,
                share: SHARE,
            })
            .collect();
        for widest in [158_000, 243_000, 1_000_000] {
            let strip = Strip {
                per_high: 7,
                per_thick: 4,
                more: 32_000,
                gap: 10_000,
                margins: 40_000,
                widest,
                shares: 5 * SHARE,
            };
            let kinds = kinds(&pieces, &strip);
            let listed = Listed::of(&kinds, &strip).unwrap();
            assert!(widest < 1_000_000 || listed.candidates.all().len() == 174_436);
            let (least, steps) = listed.searched(None);
            assert!(least.is_some() && steps < MOST_STEPS / 4, "{widest}: {steps}");
        }
    }
}
