//! Which loose pins share a roll, so that the least wrap is cut.
//!
//! A roll costs the area of its strip, width by length, and its length follows from the tallest and the thickest
//! piece on it. So like belongs with like; but two thin rolls cost two margins, and a strip must not be wider than the
//! mailer is long nor hold more shares than the rules allow. All ways to divide the pieces are searched, a roll at a
//! time: the piece that needs the longest strip of those left leads the next roll, and every choice of companions for
//! it is tried, save where even the best that can follow is no better than what was found before.
//!
//! The best that can follow is never less than this: take the pieces left by falling length of strip. Each lies on a
//! strip at least as long as the nearest leader before it asks for; and of the first so many pieces there are at
//! least as many leaders as their shares and widths need rolls. The cheapest choice of leaders under these two rules
//! is reckoned exactly, and no real division can be cheaper.
//!
//! It starts from the best division into runs of the order, and ends with the least for up to 20 pieces all unlike one
//! another, and more where some are alike. Where it would take more than [`MOST_STEPS`] steps, it ends with the best so
//! far. Steps are counted, not seconds: the same pieces make the same rolls on every machine. Turned down: the division
//! into runs alone, which is the least only where all pieces are equally wide.

use std::collections::BTreeMap;

/// Steps after which the best so far is taken.
const MOST_STEPS: u32 = 400_000;

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

impl Strip {
    fn length(&self, high: Micro, thick: Micro) -> Micro {
        self.per_high * high + self.per_thick * thick + self.more
    }
}

/// The division of `pieces` that needs the least wrap, each roll by places in `pieces`; and of those the one with the
/// fewest rolls.
pub(super) fn wrap(pieces: &[Loose], strip: &Strip) -> Vec<Vec<usize>> {
    let length = |piece: &Loose| strip.length(piece.high, piece.thick);
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by_key(|place| pieces.get(*place).map(|piece| std::cmp::Reverse((length(piece), *piece))));
    // Pieces alike are interchangeable: a roll takes so many of a kind.
    let mut kinds: Vec<(Loose, Vec<usize>)> = Vec::new();
    for place in order {
        let Some(piece) = pieces.get(place) else { continue };
        match kinds.last_mut().filter(|(kind, _)| kind == piece) {
            Some((_, places)) => places.push(place),
            None => kinds.push((*piece, vec![place])),
        }
    }
    let mut search = Search {
        strip,
        kinds: kinds.iter().map(|(piece, _)| (*piece, length(piece))).collect(),
        rolls: Vec::new(),
        best: None,
        reached: BTreeMap::new(),
        steps: 0,
    };
    let left: Vec<u32> = kinds.iter().map(|(_, places)| u32::try_from(places.len()).unwrap_or(u32::MAX)).collect();
    search.best = search.runs(&left);
    search.divide(&left, Cost::default());
    let mut places: Vec<_> = kinds.into_iter().map(|(_, places)| places.into_iter()).collect();
    let rolls = search.best.map(|(_, rolls)| rolls).unwrap_or_default();
    rolls
        .into_iter()
        .map(|roll| {
            let of_kind = |(count, places): (&u32, &mut std::vec::IntoIter<usize>)| {
                places.by_ref().take(usize::try_from(*count).unwrap_or(usize::MAX)).collect::<Vec<_>>()
            };
            roll.iter().zip(&mut places).flat_map(of_kind).collect()
        })
        .collect()
}

/// Area first, then rolls.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
struct Cost {
    area: i64,
    rolls: u32,
}

/// A roll while it is filled.
#[derive(Clone, Copy)]
struct Filled {
    high: Micro,
    thick: Micro,
    wide: Micro,
    share: i64,
}

struct Search<'a> {
    strip: &'a Strip,
    /// By falling length of their own strip, which stands beside them.
    kinds: Vec<(Loose, Micro)>,
    /// Rolls so far: how many of each kind.
    rolls: Vec<Vec<u32>>,
    best: Option<(Cost, Vec<Vec<u32>>)>,
    /// The least cost with which so many of each kind were left before.
    reached: BTreeMap<Vec<u32>, Cost>,
    steps: u32,
}

impl Search<'_> {
    /// The best division into runs: rolls that each take pieces next to one another by length of strip. Seldom far
    /// from the least, and a good start for the search.
    fn runs(&self, left: &[u32]) -> Option<(Cost, Vec<Vec<u32>>)> {
        let order: Vec<usize> =
            left.iter().enumerate().flat_map(|(kind, count)| (0..*count).map(move |_| kind)).collect();
        // For the first so many pieces: the least cost, and where its last run starts.
        let mut best: Vec<(Cost, usize)> = vec![(Cost::default(), 0)];
        for end in 1..=order.len() {
            let mut filled: Option<Filled> = None;
            let mut least: Option<(Cost, usize)> = None;
            for start in (0..end).rev() {
                let (piece, _) = self.kinds.get(*order.get(start)?)?;
                let more = self.with(filled, piece);
                if filled.is_some() && !self.fits(more) {
                    break;
                }
                filled = Some(more);
                let before = best.get(start)?.0;
                let cost = Cost { area: before.area + self.area(more), rolls: before.rolls + 1 };
                if least.is_none_or(|(other, _)| cost < other) {
                    least = Some((cost, start));
                }
            }
            best.push(least?);
        }
        let mut rolls = Vec::new();
        let mut end = order.len();
        while end > 0 {
            let start = best.get(end)?.1;
            let mut roll = vec![0; left.len()];
            for kind in order.get(start..end)? {
                *roll.get_mut(*kind)? += 1;
            }
            rolls.push(roll);
            end = start;
        }
        Some((best.last()?.0, rolls))
    }

    /// One more piece on a roll.
    fn with(&self, roll: Option<Filled>, piece: &Loose) -> Filled {
        let Loose { high, thick, wide, share } = *piece;
        roll.map_or(Filled { high, thick, wide: self.strip.margins + wide, share }, |roll| Filled {
            high: roll.high.max(high),
            thick: roll.thick.max(thick),
            wide: roll.wide + self.strip.gap + wide,
            share: roll.share + share,
        })
    }

    fn fits(&self, roll: Filled) -> bool {
        roll.wide <= self.strip.widest && roll.share <= self.strip.shares
    }

    fn area(&self, roll: Filled) -> i64 {
        roll.wide * self.strip.length(roll.high, roll.thick)
    }

    fn divide(&mut self, left: &[u32], so_far: Cost) {
        let Some(leader) = left.iter().position(|count| *count > 0) else {
            if self.best.as_ref().is_none_or(|(cost, _)| so_far < *cost) {
                self.best = Some((so_far, self.rolls.clone()));
            }
            return;
        };
        self.steps += 1;
        if self.steps > MOST_STEPS || self.reached.get(left).is_some_and(|before| *before <= so_far) {
            return;
        }
        let least = self.least_for(left);
        let least = Cost { area: so_far.area + least.area, rolls: so_far.rolls + least.rolls };
        if self.best.as_ref().is_some_and(|(best, _)| least >= *best) {
            return;
        }
        self.reached.insert(left.to_vec(), so_far);
        let Some((piece, _)) = self.kinds.get(leader).copied() else { return };
        let mut left = left.to_vec();
        let mut roll = vec![0; left.len()];
        take(&mut left, &mut roll, leader);
        let filled = self.with(None, &piece);
        self.companions(leader, &mut left, &mut roll, filled, so_far);
    }

    /// Tries every choice of companions from kind `from` on, the fullest rolls first.
    fn companions(&mut self, from: usize, left: &mut Vec<u32>, roll: &mut Vec<u32>, filled: Filled, so_far: Cost) {
        for kind in from..left.len() {
            let Some((piece, _)) = self.kinds.get(kind).copied() else { continue };
            let more = self.with(Some(filled), &piece);
            if self.fits(more) && left.get(kind).is_some_and(|count| *count > 0) {
                take(left, roll, kind);
                self.companions(kind, left, roll, more, so_far);
                take(roll, left, kind);
                if self.steps > MOST_STEPS {
                    return;
                }
            }
        }
        self.rolls.push(roll.clone());
        self.divide(left, Cost { area: so_far.area + self.area(filled), rolls: so_far.rolls + 1 });
        self.rolls.pop();
    }

    /// No division of what is left costs less than this, nor has fewer rolls.
    fn least_for(&self, left: &[u32]) -> Cost {
        let ends = self.strip.margins - self.strip.gap;
        let room = (self.strip.widest - ends).max(1);
        // By the number of leaders among the pieces so far: the least cost for each last leader that may still pay,
        // which is one with a shorter strip or a lower cost than every other.
        let mut led: Vec<Vec<(Micro, i64)>> = vec![vec![(0, 0)]];
        let (mut share, mut wide) = (0, 0);
        for ((piece, length), count) in self.kinds.iter().zip(left) {
            let own = piece.wide + self.strip.gap;
            for _ in 0..*count {
                // A piece that is too much for a roll has one to itself and leaves no room that others could use.
                share += piece.share.min(self.strip.shares);
                wide += own.min(room);
                let needed = div_ceil(share, self.strip.shares).max(div_ceil(wide, room));
                let needed = usize::try_from(needed).unwrap_or(0).max(1);
                led.push(Vec::new());
                for leaders in (0..led.len()).rev() {
                    let less =
                        leaders.checked_sub(1).and_then(|less| led.get(less)?.iter().map(|(_, cost)| *cost).min());
                    let Some(costs) = led.get_mut(leaders) else { continue };
                    if leaders < needed {
                        // Looked at once more by the number above it, which has been reckoned.
                        costs.clear();
                        continue;
                    }
                    for (last, cost) in costs.iter_mut() {
                        *cost += own * *last;
                    }
                    if let Some(less) = less {
                        let cost = less + (own + ends) * length;
                        costs.retain(|(_, other)| *other < cost);
                        costs.push((*length, cost));
                    }
                }
            }
        }
        let area = led.iter().flatten().map(|(_, cost)| *cost).min().unwrap_or(0);
        let rolls = led.iter().position(|costs| !costs.is_empty()).unwrap_or(0);
        Cost { area, rolls: u32::try_from(rolls).unwrap_or(u32::MAX) }
    }
}

fn div_ceil(of: i64, by: i64) -> i64 {
    (of + by - 1) / by.max(1)
}

/// Moves one of a kind.
fn take(from: &mut [u32], to: &mut [u32], kind: usize) {
    if let (Some(from), Some(to)) = (from.get_mut(kind), to.get_mut(kind)) {
        *from -= 1;
        *to += 1;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const SHARE: i64 = 1_000_000;

    fn strip(widest: Micro) -> Strip {
        Strip { per_high: 7, per_thick: 4, more: 24, gap: 10, margins: 40, widest, shares: 5 * SHARE }
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
    /// 64 = 484) = 111,320. The large one alone, 70 · 484 = 33,880, and the four, 190 · 204 = 38,760: 72,640.
    #[test]
    fn small_pins_are_not_rolled_into_the_strip_of_a_large_one() {
        let pin = |high| Loose { high, thick: 10, wide: 30, share: SHARE };
        let pieces = [pin(20), pin(60), pin(20), pin(20), pin(20)];
        let mut rolls = wrap(&pieces, &strip(300));
        rolls.sort();
        assert_eq!(rolls, [vec![0, 2, 3, 4], vec![1]]);
        assert_eq!(found(&pieces, &strip(300)), 72_640);
    }

    /// Where a gap costs as much as two margins, a roll for each needs no more wrap than one for all.
    #[test]
    fn of_equal_areas_the_fewest_rolls_are_taken() {
        let pieces = [Loose { high: 20, thick: 10, wide: 30, share: SHARE }; 5];
        assert_eq!(wrap(&pieces, &Strip { gap: 40, ..strip(400) }).len(), 1);
        let unlike = [20, 21, 22].map(|wide| Loose { wide, ..pieces[0] });
        assert_eq!(wrap(&unlike, &Strip { gap: 40, ..strip(400) }).len(), 1);
    }
}
