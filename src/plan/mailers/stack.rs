//! How thin a bag lies round its rolls.
//!
//! Of all ways to lay the rolls in layers and the layers on one another, each roll along or across, the thinnest is
//! found by trying them all: in a layer of up to [`FEW`] rolls they lie in any way at all (`layer.rs`), in one of more
//! they lie in rows. What a bag takes is therefore a matter of what *can* be laid: take a roll out, or make the bag
//! larger, and every way there was is still there. That is what makes a larger bag never take less, and it is why
//! simple rules (thickest first, next row when full) were turned down: each of them now and then does worse in a larger
//! bag. It holds as far as [`MOST_STEPS`] reach; past them only rows are looked at, which errs to the larger bag.
//!
//! The bag narrows by as much as it thickens, so the thickness is reckoned until it holds still: starting from the
//! thickest roll, each round asks how thin the stack can be in the room that the last thickness left. The answers
//! only rise, and where they stop is the least thickness that goes together with its own room.
//!
//! Rolls of one size are interchangeable, which keeps the ways few. Where they would still be more than
//! [`MOST_STATES`], sizes are rounded up, ever more coarsely, until they aren't: that errs to the larger bag.

use std::collections::{BTreeMap, HashMap};

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::model::length::{Length, Size};

use super::layer::{self, Alike};

/// Rolls that lie in one layer in any way at all.
const FEW: usize = 9;
/// Most ways to take some of the rolls that are looked through: ten rolls of ten sizes.
const MOST_STATES: usize = 1024;
/// Steps that the search for layers takes for all rolls tried in one bag: a tenth of a second. Ordinary parcels take
/// thousands.
const MOST_STEPS: u32 = 40_000;
/// Layers that are reckoned with; a bag of that many closes over nothing but paper.
const MOST_LAYERS: u32 = 50;
/// Steps to which sizes are rounded up, mm; each is a multiple of the one before, so that a coarser step never
/// makes a roll smaller.
const STEPS_MM: [i64; 5] = [5, 10, 20, 40, 80];

/// Thousandths of a millimetre: exact for what a ruler or a catalogue says, and quick to compare.
pub(super) type Micro = i64;

/// Stands for any length that is beyond counting; small enough that sums and products of some don't overflow.
const FARTHEST: Micro = 1 << 40;

/// A bag, empty.
pub(super) struct Bag {
    /// One inner side.
    pub(super) width: Length,
    /// The other.
    pub(super) length: Length,
    /// Thickest contents it closes over.
    pub(super) deepest: Length,
    /// Thickness of what lies against its wall.
    pub(super) lining: Length,
}

impl Bag {
    /// The most that rolls may cover in it with all their footprints, mm², of which the thinnest and the thickest
    /// are so thick: in one layer what the thickest leaves of the sides, in two twice what those two leave, and so on.
    /// `None` where it doesn't close over the thickest.
    pub(super) fn covered_at_most(&self, thinnest: Length, thickest: Length) -> Option<Decimal> {
        let room = |layers: u32| {
            let thick = self.lining + thickest + thinnest * (layers - 1);
            let (width, length) = ((self.width - thick).mm(), (self.length - thick).mm());
            let closes = thick <= self.deepest && width >= Decimal::ZERO && length >= Decimal::ZERO;
            closes.then(|| width * length * Decimal::from(layers))
        };
        (1..=MOST_LAYERS).map_while(room).max()
    }
}

/// Rolls laid in a bag.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Stack {
    /// With the lining.
    pub(super) thickness: Length,
    /// How many lie on one another.
    pub(super) layers: usize,
}

/// The thinnest way to lay `rolls` in the bag, or `None` where it doesn't close over any.
#[cfg(test)]
fn thinnest(rolls: &[Size], bag: &Bag) -> Option<Stack> {
    Stacks::of(bag).thinnest(rolls)
}

/// Ways to lay rolls in one bag; it remembers which of them lie in a layer.
pub(super) struct Stacks<'a> {
    bag: &'a Bag,
    lain: Lain,
}

/// What was told of layers.
struct Lain {
    /// By room and rolls.
    told: HashMap<(Micro, Micro, Vec<Alike>), bool>,
    /// Steps left to tell of others; without any, only rows are looked at.
    steps: u32,
}

impl<'a> Stacks<'a> {
    pub(super) fn of(bag: &'a Bag) -> Self {
        Self { bag, lain: Lain { told: HashMap::new(), steps: MOST_STEPS } }
    }

    /// The thinnest way to lay `rolls` in the bag, or `None` where it doesn't close over any.
    pub(super) fn thinnest(&mut self, rolls: &[Size]) -> Option<Stack> {
        let bag = self.bag;
        let (width, length, deepest) = (floor(bag.width), floor(bag.length), floor(bag.deepest));
        let lining = ceil(bag.lining);
        // What covers more than the bag can hold is told at once, however many rolls it is.
        if let (Some(thickest), Some(thinnest)) =
            (rolls.iter().map(|roll| roll.thickness).max(), rolls.iter().map(|roll| roll.thickness).min())
        {
            let covered: Decimal = rolls.iter().map(|roll| roll.length.mm() * roll.width.mm()).sum();
            if covered > bag.covered_at_most(thinnest, thickest)? {
                return None;
            }
        }
        let lots = Lots::of(rolls);
        let mut thickness = lining + rolls.iter().map(|roll| ceil(roll.thickness)).max().unwrap_or(0);
        while thickness <= deepest {
            let (needed, layers) =
                lots.thinnest(width - thickness, length - thickness, deepest - lining, &mut self.lain)?;
            if lining + needed <= thickness {
                return Some(Stack { thickness: Length::from_mm(Decimal::new(thickness, 3).normalize()), layers });
            }
            thickness = lining + needed;
        }
        None
    }
}

fn ceil(length: Length) -> Micro {
    (length.mm() * Decimal::ONE_THOUSAND).ceil().to_i64().unwrap_or(FARTHEST)
}

fn floor(length: Length) -> Micro {
    (length.mm() * Decimal::ONE_THOUSAND).floor().to_i64().unwrap_or(0)
}

/// Rolls of one size, and how many.
struct Lot {
    long: Micro,
    short: Micro,
    thick: Micro,
    count: usize,
}

/// All rolls, by size. Some of them are named by a *state*: how many of each lot, written as one number in the
/// mixed base of the counts.
struct Lots(Vec<Lot>);

impl Lots {
    fn of(rolls: &[Size]) -> Self {
        let exact = Self::rounded(rolls, |side| side);
        let coarser = STEPS_MM.iter().map(|step| {
            let step = step * 1000;
            Self::rounded(rolls, move |side| (side + step - 1) / step * step)
        });
        let fit = |lots: &Self| lots.states() <= MOST_STATES;
        // Beyond all steps, every roll counts as large as the largest.
        let largest = |side: fn(&Size) -> Length| rolls.iter().map(side).max().unwrap_or_default();
        let uniform = Size {
            length: largest(|roll| roll.length),
            width: largest(|roll| roll.width),
            thickness: largest(|roll| roll.thickness),
        };
        std::iter::once(exact)
            .chain(coarser)
            .find(fit)
            .unwrap_or_else(|| Self::rounded(&vec![uniform; rolls.len()], |side| side))
    }

    fn rounded(rolls: &[Size], round: impl Fn(Micro) -> Micro) -> Self {
        let mut counts: BTreeMap<[Micro; 3], usize> = BTreeMap::new();
        for roll in rolls {
            let (a, b) = (round(ceil(roll.length)), round(ceil(roll.width)));
            *counts.entry([a.max(b), a.min(b), round(ceil(roll.thickness))]).or_default() += 1;
        }
        Self(counts.into_iter().map(|([long, short, thick], count)| Lot { long, short, thick, count }).collect())
    }

    fn states(&self) -> usize {
        self.0.iter().fold(1, |states, lot| states.saturating_mul(lot.count + 1))
    }

    /// How many of each lot a state takes.
    fn taken(&self, state: usize) -> Vec<usize> {
        let mut rest = state;
        self.0
            .iter()
            .map(|lot| {
                let count = rest % (lot.count + 1);
                rest /= lot.count + 1;
                count
            })
            .collect()
    }

    /// The ways to divide a state in two, as the state of the first part: those in which the first part has one of
    /// the first lot that there is. Which part is called first makes no difference, so this leaves none out.
    fn parts(&self, state: usize) -> Vec<usize> {
        let taken = self.taken(state);
        let mut parts = vec![0];
        let (mut place, mut begun) = (1, false);
        for (lot, count) in self.0.iter().zip(taken) {
            let least = usize::from(!begun && count > 0);
            begun |= count > 0;
            parts = parts.iter().flat_map(|part| (least..=count).map(move |some| part + some * place)).collect();
            place *= lot.count + 1;
        }
        parts
    }

    /// The least sum for every state over all ways to divide it into parts; `add` puts a part to the sum of the
    /// others, where it may.
    fn least<T: Copy + Ord>(&self, nothing: T, mut add: impl FnMut(T, usize) -> Option<T>) -> Vec<Option<T>> {
        let mut least: Vec<Option<T>> = vec![Some(nothing)];
        for state in 1..self.states() {
            let best = self.parts(state).into_iter().filter_map(|part| add((*least.get(state - part)?)?, part)).min();
            least.push(best);
        }
        least
    }

    /// Depth of the shallowest row of these rolls across `room`: each lies lengthwise where the row is deep enough
    /// for that, as it then takes least room, else crosswise.
    fn row(&self, state: usize, room: Micro) -> Option<Micro> {
        let taken = self.taken(state);
        let here = || self.0.iter().zip(&taken).filter(|(_, count)| **count > 0);
        let mut depths: Vec<Micro> = here().flat_map(|(lot, _)| [lot.short, lot.long]).collect();
        depths.sort_unstable();
        depths.into_iter().find(|depth| {
            let mut across = 0;
            for (lot, count) in here() {
                let side = if lot.long <= *depth {
                    lot.short
                } else if lot.short <= *depth {
                    lot.long
                } else {
                    return false;
                };
                across += side * Micro::try_from(*count).unwrap_or(Micro::MAX / side.max(1));
            }
            across <= room
        })
    }

    /// Which states lie in one layer of rows across `room`, `deep` in all.
    fn layers(&self, room: Micro, deep: Micro) -> Vec<bool> {
        let rows: Vec<Option<Micro>> = (0..self.states()).map(|state| self.row(state, room)).collect();
        let depth = self.least(0, |above: Micro, row| {
            let sum = above + (*rows.get(row)?)?;
            (sum <= deep).then_some(sum)
        });
        depth.into_iter().map(|depth| depth.is_some()).collect()
    }

    /// Thickness of a layer of these rolls.
    fn thick(&self, state: usize) -> Micro {
        let taken = self.taken(state);
        self.0.iter().zip(taken).filter(|(_, count)| *count > 0).map(|(lot, _)| lot.thick).max().unwrap_or(0)
    }

    /// Least thickness of all rolls in a room of `width` by `length`, no more than `deepest`, and its layers.
    fn thinnest(&self, width: Micro, length: Micro, deepest: Micro, lain: &mut Lain) -> Option<(Micro, usize)> {
        let all = self.states() - 1;
        if all == 0 {
            return Some((0, 0));
        }
        let mut layers = Layers::of(self, width, length, lain);
        let (thickest, thinnest) = (self.thick(all), self.0.iter().map(|lot| lot.thick).min().unwrap_or(0));
        if thickest > deepest {
            return None;
        }
        if layers.lies(all) {
            return Some((thickest, 1));
        }
        if thickest + thinnest > deepest {
            return None;
        }
        if thickest + 2 * thinnest > deepest {
            // Two layers at most: the thinner pairs first, and of them those that lie in rows, which are told sooner.
            let pair = |part: usize| (self.thick(part) + self.thick(all - part), layers.unsure(part, all - part), part);
            let mut pairs: Vec<(Micro, bool, usize)> =
                self.parts(all).into_iter().filter(|part| *part != all).map(pair).collect();
            pairs.retain(|(thick, ..)| *thick <= deepest);
            pairs.sort_unstable();
            let lie = |(.., part): &(Micro, bool, usize)| layers.lies(*part) && layers.lies(all - part);
            return pairs.into_iter().find(lie).map(|(thick, ..)| (thick, 2));
        }
        let stacks = self.least((0, 0), |(below, count): (Micro, usize), layer| {
            let thick = below + self.thick(layer);
            (thick <= deepest && layers.lies(layer)).then_some((thick, count + 1))
        });
        stacks.last().copied().flatten()
    }
}

/// Which states lie in one layer of a room, told when asked.
struct Layers<'l> {
    lots: &'l Lots,
    width: Micro,
    length: Micro,
    /// Those that lie in rows.
    rows: Vec<bool>,
    lain: &'l mut Lain,
}

impl<'l> Layers<'l> {
    fn of(lots: &'l Lots, width: Micro, length: Micro, lain: &'l mut Lain) -> Self {
        let (across, along) = (lots.layers(width, length), lots.layers(length, width));
        let rows = across.into_iter().zip(along).map(|(across, along)| across || along).collect();
        Self { lots, width, length, rows, lain }
    }

    /// Whether it takes a search to tell of one of the two.
    fn unsure(&self, one: usize, other: usize) -> bool {
        ![one, other].iter().all(|state| self.rows.get(*state).copied().unwrap_or(false))
    }

    /// In rows, or in any way where there are no more than [`FEW`].
    fn lies(&mut self, state: usize) -> bool {
        if self.rows.get(state).copied().unwrap_or(false) {
            return true;
        }
        let taken = self.lots.taken(state);
        if taken.iter().sum::<usize>() > FEW || self.width <= 0 || self.length <= 0 {
            return false;
        }
        let lots = self.lots.0.iter().zip(&taken);
        let alike = lots.map(|(lot, count)| Alike { long: lot.long, short: lot.short, count: *count });
        let mut rolls: Vec<Alike> = alike.filter(|alike| alike.count > 0).collect();
        // The largest first: what doesn't lie is told soonest.
        rolls.sort_by_key(|alike| std::cmp::Reverse((alike.long, alike.short)));
        let key = (self.width, self.length, rolls);
        if let Some(known) = self.lain.told.get(&key) {
            return *known;
        }
        // Where a roll less doesn't lie, these don't; few rolls are told soon, and of many states.
        let mut place = 1;
        let mut fewer_lie = true;
        for (lot, count) in self.lots.0.iter().zip(&taken) {
            fewer_lie = fewer_lie && (*count == 0 || self.lies(state - place));
            place *= lot.count + 1;
        }
        let (width, length, mut rolls) = key.clone();
        let lies = fewer_lie && layer::lies(&mut rolls, width, length, &mut self.lain.steps);
        self.lain.told.insert(key, lies);
        lies
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn mm(value: i64) -> Length {
        Length::from_mm(Decimal::from(value))
    }

    fn size((a, b, thickness): (i64, i64, i64)) -> Size {
        Size::laid(mm(a), mm(b), mm(thickness))
    }

    fn bag(width: i64, length: i64, deepest: i64) -> Bag {
        Bag { width: mm(width), length: mm(length), deepest: mm(deepest), lining: Length::ZERO }
    }

    /// Whether three rolls at most lie in a room, by cases: two or more of them are parted from the last by a straight
    /// cut, as any two or three rectangles are.
    fn lie(rolls: &[(i64, i64)], w: i64, l: i64) -> bool {
        match rolls {
            [] => true,
            [(a, b)] => (*a <= w && *b <= l) || (*b <= w && *a <= l),
            _ => (0..rolls.len()).any(|place| {
                let (a, b) = rolls[place];
                let others: Vec<(i64, i64)> =
                    rolls.iter().enumerate().filter(|(other, _)| *other != place).map(|(_, roll)| *roll).collect();
                [(a, b), (b, a)]
                    .into_iter()
                    .any(|(a, b)| a <= w && b <= l && (lie(&others, w - a, l) || lie(&others, w, l - b)))
            }),
        }
    }

    /// Every way there is, written as plainly as possible: each roll in one of as many layers as there are rolls.
    fn thinnest_of_all(rolls: &[(i64, i64, i64)], width: i64, length: i64, deepest: i64) -> Option<i64> {
        let n = rolls.len();
        let ways = n.pow(u32::try_from(n).unwrap());
        (0..ways)
            .filter_map(|way| {
                let mut rest = way;
                let mut layers: Vec<Vec<(i64, i64)>> = vec![Vec::new(); n];
                let mut thick = vec![0; n];
                for (a, b, t) in rolls {
                    let layer = rest % n;
                    rest /= n;
                    layers[layer].push((*a, *b));
                    thick[layer] = thick[layer].max(*t);
                }
                let total: i64 = thick.iter().sum();
                let all = layers.iter().all(|rolls| lie(rolls, width - total, length - total));
                (all && total <= deepest).then_some(total)
            })
            .min()
    }

    fn found(rolls: &[(i64, i64, i64)], bag: &Bag) -> Option<i64> {
        let sizes: Vec<Size> = rolls.iter().copied().map(size).collect();
        thinnest(&sizes, bag).map(|stack| stack.thickness.mm().to_i64().unwrap())
    }

    /// By hand: two rolls of 110 × 38 × 22 lie side by side in what 120 × 160 leaves, 98 × 138. Four lie in two
    /// layers, 44 thick, in 76 × 116: two of 38 side by side just fill it.
    #[test]
    fn a_bag_that_is_just_filled() {
        let rolls = [(110, 38, 22); 4];
        assert_eq!(found(&rolls[..2], &bag(120, 160, 45)), Some(22));
        assert_eq!(found(&rolls, &bag(120, 160, 44)), Some(44));
        assert_eq!(found(&rolls, &bag(119, 160, 44)), None);
        assert_eq!(found(&rolls, &bag(120, 160, 43)), None);
    }

    #[test]
    fn a_hundred_rolls_of_many_sizes_end_soon_and_never_lie_thinner_than_exact() {
        let rolls: Vec<(i64, i64, i64)> = (0..100).map(|i| (60 + i * 7 % 50, 30 + i * 3 % 20, 15 + i % 9)).collect();
        assert!(found(&rolls, &bag(600, 800, 200)).is_some());
        assert_eq!(found(&rolls, &bag(150, 200, 45)), None);
        assert_eq!(found(&vec![(60, 30, 15); 100_000], &bag(600, 800, 200)), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]

        #[test]
        fn it_is_the_thinnest_of_all_ways(
            rolls in prop::collection::vec((20_i64..120, 20_i64..60, 8_i64..25), 1..4),
            width in 60_i64..160, length in 60_i64..200, deepest in 15_i64..60,
        ) {
            let all = thinnest_of_all(&rolls, width, length, deepest);
            prop_assert_eq!(found(&rolls, &bag(width, length, deepest)), all);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100))]

        #[test]
        fn a_larger_bag_or_a_roll_less_never_lies_thicker(
            rolls in prop::collection::vec((20_i64..120, 20_i64..60, 8_i64..25), 1..11),
            width in 60_i64..220, length in 60_i64..240, deepest in 15_i64..90,
            more in (0_i64..40, 0_i64..40, 0_i64..20),
        ) {
            if let Some(thickness) = found(&rolls, &bag(width, length, deepest)) {
                let larger = found(&rolls, &bag(width + more.0, length + more.1, deepest + more.2));
                prop_assert!(larger.is_some_and(|larger| larger <= thickness));
                let fewer = found(&rolls[1..], &bag(width, length, deepest));
                prop_assert!(fewer.is_some_and(|fewer| fewer <= thickness));
                let turned: Vec<_> = rolls.iter().rev().map(|(a, b, t)| (*b, *a, *t)).collect();
                prop_assert_eq!(found(&turned, &bag(length, width, deepest)), Some(thickness));
            }
        }
    }
}
