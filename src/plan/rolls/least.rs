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
//! and by falling width. Where it would take more than [`MOST_STEPS`] steps, it ends with the best so far. Steps are
//! counted, not seconds: the same pieces make the same rolls on every machine. Turned down: those simple ways alone,
//! which waste a tenth of the wrap and more; and a dynamic program over subsets, which 30 unlike pins put out of reach.
//!
//! The caller may also say which rolls fit together, as a mailer does; it must hold of that that fewer rolls fit where
//! more do. Then rolls are tried as they are chosen, and a second set of prices, of what pieces cover of the mailer,
//! ends the search where even their least would be too much. That search is exact up to [`MOST_TRIED`] sets of rolls
//! tried; beyond, the mailer may be passed over, or given a cut that isn't the least.

use std::collections::BTreeMap;

use super::bound::{self, PARTS};
use super::candidates::{Candidate, Candidates};

/// Steps after which the best so far is taken.
const MOST_STEPS: u32 = 400_000;
/// Sets of rolls that are tried in a mailer, likewise.
const MOST_TRIED: usize = 150;
/// Pieces that are divided exactly.
const MOST_PIECES: usize = 60;

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

/// Where rolls have to go.
pub(super) struct Room<'a> {
    /// The most that their footprints may cover together.
    pub(super) covered: i64,
    /// By how much a roll is higher than the tallest piece in it.
    pub(super) grown: Micro,
    /// Whether rolls that measure this fit; fewer must fit where more do.
    pub(super) fits: &'a mut dyn FnMut(&[Filled]) -> bool,
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

impl Room<'_> {
    fn takes(&mut self, kinds: &[Kind], strip: &Strip, rolls: &[Vec<usize>]) -> bool {
        (self.fits)(&rolls.iter().filter_map(|roll| fill(kinds, strip, roll)).collect::<Vec<_>>())
    }
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

fn fill(kinds: &[Kind], strip: &Strip, roll: &[usize]) -> Option<Filled> {
    let pieces = roll.iter().filter_map(|kind| kinds.get(*kind));
    pieces.fold(None, |filled, kind| Some(strip.with(filled, &kind.piece)))
}

/// The best of three simple ways.
fn simply(kinds: &[Kind], strip: &Strip) -> Vec<Vec<usize>> {
    let by_length: Vec<usize> =
        kinds.iter().enumerate().flat_map(|(kind, alike)| alike.places.iter().map(move |_| kind)).collect();
    let mut by_width = by_length.clone();
    by_width.sort_by_key(|kind| std::cmp::Reverse(kinds.get(*kind).map(|alike| alike.piece.wide)));
    let cost = |rolls: &Vec<Vec<usize>>| {
        let area: Micro =
            rolls.iter().filter_map(|roll| fill(kinds, strip, roll)).map(|filled| strip.area(filled)).sum();
        (area, rolls.len())
    };
    let ways = [first_fit(kinds, strip, &by_length), first_fit(kinds, strip, &by_width)];
    ways.into_iter().chain(runs(kinds, strip, &by_length)).min_by_key(cost).unwrap_or_default()
}

/// Each piece on the first roll that has room for it.
fn first_fit(kinds: &[Kind], strip: &Strip, order: &[usize]) -> Vec<Vec<usize>> {
    let mut rolls: Vec<(Filled, Vec<usize>)> = Vec::new();
    for kind in order {
        let Some(alike) = kinds.get(*kind) else { continue };
        let mut more = rolls.iter_mut().map(|(filled, roll)| (strip.with(Some(*filled), &alike.piece), filled, roll));
        if let Some((more, filled, roll)) = more.find(|(more, ..)| strip.fits(*more)) {
            *filled = more;
            roll.push(*kind);
        } else {
            rolls.push((strip.with(None, &alike.piece), vec![*kind]));
        }
    }
    rolls.into_iter().map(|(_, roll)| roll).collect()
}

/// The best division into rolls that each take pieces next to one another in the order.
fn runs(kinds: &[Kind], strip: &Strip, order: &[usize]) -> Option<Vec<Vec<usize>>> {
    // For the first so many pieces: least area and rolls, and where the last run starts.
    let mut best: Vec<((Micro, usize), usize)> = vec![((0, 0), 0)];
    for end in 1..=order.len() {
        let mut filled: Option<Filled> = None;
        let mut least: Option<((Micro, usize), usize)> = None;
        for start in (0..end).rev() {
            let more = strip.with(filled, &kinds.get(*order.get(start)?)?.piece);
            if filled.is_some() && !strip.fits(more) {
                break;
            }
            filled = Some(more);
            let (area, rolls) = best.get(start)?.0;
            let cost = (area + strip.area(more), rolls + 1);
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
        rolls.push(order.get(start..end)?.to_vec());
        end = start;
    }
    Some(rolls)
}

/// All rolls that can be made, with what they cost.
struct Listed {
    candidates: Candidates,
    /// What each costs.
    costs: Vec<i64>,
    /// How many there are of each kind.
    demand: Vec<usize>,
    /// What each kind costs at least.
    prices: Vec<i64>,
    /// For each kind, the rolls that it leads by what they cost beyond the prices of their pieces.
    lists: Vec<Vec<(i64, usize)>>,
}

impl Listed {
    /// `None` where they are too many.
    fn of(kinds: &[Kind], strip: &Strip) -> Option<Self> {
        let demand: Vec<usize> = kinds.iter().map(|kind| kind.places.len()).collect();
        let count: usize = demand.iter().sum();
        let candidates = (count <= MOST_PIECES).then(|| Candidates::of(kinds, strip))??;
        // Areas in the largest unit that measures all of them; then one more roll is dearer by one, which no sum of
        // areas can make up for.
        let unit = candidates.all().iter().map(|candidate| candidate.area).fold(0, gcd).max(1);
        let more_than_rolls = i64::try_from(count).ok()? + 1;
        let costs: Vec<i64> =
            candidates.all().iter().map(|candidate| candidate.area / unit * more_than_rolls + 1).collect();
        let prices = bound::prices(&candidates, &costs, &demand);
        let list = |kind: usize| {
            let (first, led) = candidates.led_by(kind);
            let of = |(candidate, number): (&Candidate, usize)| {
                let cost = costs.get(number)? * PARTS;
                Some((cost - sum(&prices, candidates.kinds_of(candidate)), number))
            };
            let mut list: Vec<(i64, usize)> = led.iter().zip(first..).filter_map(of).collect();
            list.sort_unstable();
            list
        };
        let lists = (0..kinds.len()).map(list).collect();
        Some(Self { candidates, costs, demand, prices, lists })
    }

    /// The least of all divisions, or of all whose rolls fit; `None` where nothing fits, or nothing was found to.
    fn least(&self, room: Option<&mut Room<'_>>) -> Option<Vec<Vec<usize>>> {
        self.searched(room).0
    }

    /// The same, and the steps it took.
    fn searched(&self, room: Option<&mut Room<'_>>) -> (Option<Vec<Vec<usize>>>, u32) {
        let covers: Vec<i64> = match &room {
            Some(room) => {
                let footprint = |candidate: &Candidate| candidate.filled.wide * (candidate.filled.high + room.grown);
                self.candidates.all().iter().map(footprint).collect()
            }
            None => Vec::new(),
        };
        let least_covered = match &room {
            Some(_) => bound::prices(&self.candidates, &covers, &self.demand),
            None => Vec::new(),
        };
        let all = |prices: &[i64]| -> i64 {
            prices.iter().zip(&self.demand).map(|(price, count)| price * i64::try_from(*count).unwrap_or(0)).sum()
        };
        let mut search = Search {
            listed: self,
            covers: &covers,
            least_covered: &least_covered,
            room,
            fitting: Vec::new(),
            misfits: Vec::new(),
            tried: 0,
            rolls: Vec::new(),
            best: None,
            reached: BTreeMap::new(),
            steps: 0,
        };
        search.divide(&mut self.demand.clone(), 0, all(&self.prices), all(&least_covered));
        let kinds_of = |number: &usize| Some(self.candidates.kinds_of(self.candidates.all().get(*number)?).to_vec());
        let best = search.best.map(|(_, rolls)| rolls.iter().filter_map(kinds_of).collect());
        (best, search.steps)
    }
}

fn sum(prices: &[i64], kinds: &[usize]) -> i64 {
    kinds.iter().filter_map(|kind| prices.get(*kind)).sum()
}

const fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

struct Search<'a, 'f, 'r> {
    listed: &'a Listed,
    /// What each roll covers, where rolls have to fit.
    covers: &'a [i64],
    /// What each kind covers at least, likewise, in [`PARTS`].
    least_covered: &'a [i64],
    room: Option<&'f mut Room<'r>>,
    /// Rolls that fit together, and rolls that don't.
    fitting: Vec<Vec<Filled>>,
    misfits: Vec<Vec<Filled>>,
    tried: usize,
    /// Rolls so far, by number.
    rolls: Vec<usize>,
    best: Option<(i64, Vec<usize>)>,
    /// The least cost with which so many of each kind were left before, by the same rolls where they must fit.
    reached: BTreeMap<(Vec<usize>, Vec<Filled>), i64>,
    steps: u32,
}

impl Search<'_, '_, '_> {
    /// Divides what is left, with so much spent; `bound` is that and the prices of what is left, in [`PARTS`], and
    /// `covered` likewise what the rolls so far cover and what is left covers at least.
    fn divide(&mut self, left: &mut Vec<usize>, spent: i64, bound: i64, covered: i64) {
        let Some(leader) = left.iter().position(|count| *count > 0) else {
            if self.best.as_ref().is_none_or(|(cost, _)| spent < *cost) {
                self.best = Some((spent, self.rolls.clone()));
            }
            return;
        };
        self.steps += 1;
        if self.is_over() {
            return;
        }
        let key = (left.clone(), self.measures());
        if self.reached.get(&key).is_some_and(|before| *before <= spent) {
            return;
        }
        self.reached.insert(key, spent);
        let listed = self.listed;
        for (beyond, number) in listed.lists.get(leader).into_iter().flatten() {
            // Whatever costs less costs less by a whole unit.
            if self.best.as_ref().is_some_and(|(best, _)| bound + beyond > (best - 1) * PARTS) || self.is_over() {
                return;
            }
            let Some(candidate) = listed.candidates.all().get(*number) else { continue };
            let kinds = listed.candidates.kinds_of(candidate);
            let covered =
                covered + self.covers.get(*number).map_or(0, |covers| covers * PARTS - sum(self.least_covered, kinds));
            if self.room.as_ref().is_some_and(|room| covered > room.covered * PARTS) || !take(left, kinds) {
                continue;
            }
            self.rolls.push(*number);
            if self.fit() {
                let cost = listed.costs.get(*number).copied().unwrap_or(0);
                self.divide(left, spent + cost, bound + beyond, covered);
            }
            self.rolls.pop();
            give_back(left, kinds);
        }
    }

    fn is_over(&self) -> bool {
        self.steps > MOST_STEPS || self.tried > MOST_TRIED
    }

    /// What the rolls so far measure, where that matters.
    fn measures(&self) -> Vec<Filled> {
        if self.room.is_none() {
            return Vec::new();
        }
        let filled = |number: &usize| self.listed.candidates.all().get(*number).map(|candidate| candidate.filled);
        let mut measures: Vec<Filled> = self.rolls.iter().filter_map(filled).collect();
        measures.sort_unstable();
        measures
    }

    fn fit(&mut self) -> bool {
        let measures = self.measures();
        let Some(room) = &mut self.room else { return true };
        // What is no smaller than rolls that didn't fit doesn't either, and the other way round.
        if self.misfits.iter().any(|misfit| goes_into(misfit, &measures)) {
            return false;
        }
        if self.fitting.iter().any(|fitting| goes_into(&measures, fitting)) {
            return true;
        }
        self.tried += 1;
        let fits = (room.fits)(&measures);
        if fits { &mut self.fitting } else { &mut self.misfits }.push(measures);
        fits
    }
}

/// Whether each of `small` has one of `large` to itself that is no smaller on any side: as far as taking the
/// first such one tells.
fn goes_into(small: &[Filled], large: &[Filled]) -> bool {
    let mut free: Vec<&Filled> = large.iter().collect();
    small.len() <= large.len()
        && small.iter().all(|one| {
            let holds = |other: &&Filled| one.high <= other.high && one.thick <= other.thick && one.wide <= other.wide;
            free.iter().position(holds).map(|place| free.remove(place)).is_some()
        })
}

/// Takes one of each kind named; nothing where there aren't as many.
fn take(left: &mut [usize], kinds: &[usize]) -> bool {
    for (taken, kind) in kinds.iter().enumerate() {
        match left.get_mut(*kind).filter(|count| **count > 0) {
            Some(count) => *count -= 1,
            None => {
                give_back(left, kinds.get(..taken).unwrap_or_default());
                return false;
            }
        }
    }
    true
}

fn give_back(left: &mut [usize], kinds: &[usize]) {
    for kind in kinds {
        if let Some(count) = left.get_mut(*kind) {
            *count += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

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
