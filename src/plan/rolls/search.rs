//! The search for the least of all divisions; `least.rs` says how it goes and why it may stop where it does.

use std::collections::BTreeMap;

use super::bound::{self, PARTS};
use super::candidates::{Candidate, Candidates};
use super::least::{Filled, Kind, Micro, Strip, fill};

/// Steps after which the best so far is taken.
pub(super) const MOST_STEPS: u32 = 400_000;
/// Sets of rolls that are tried in a mailer, times pieces: 400 for a dozen, 160 for thirty.
const MOST_TRIED: usize = 4_800;
/// Pieces that are divided exactly.
const MOST_PIECES: usize = 60;

/// Where rolls have to go.
pub(super) struct Room<'a> {
    /// The most that their footprints may cover together.
    pub(super) covered: i64,
    /// By how much a roll is higher than the tallest piece in it.
    pub(super) grown: Micro,
    /// Whether rolls that measure this fit; fewer must fit where more do.
    pub(super) fits: &'a mut dyn FnMut(&[Filled]) -> bool,
}

impl Room<'_> {
    pub(super) fn takes(&mut self, kinds: &[Kind], strip: &Strip, rolls: &[Vec<usize>]) -> bool {
        (self.fits)(&rolls.iter().filter_map(|roll| fill(kinds, strip, roll)).collect::<Vec<_>>())
    }
}

/// All rolls that can be made, with what they cost.
pub(super) struct Listed {
    pub(super) candidates: Candidates,
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
    pub(super) fn of(kinds: &[Kind], strip: &Strip) -> Option<Self> {
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
    pub(super) fn least(&self, room: Option<&mut Room<'_>>) -> Option<Vec<Vec<usize>>> {
        self.searched(room).0
    }

    /// The same, and the steps it took.
    pub(super) fn searched(&self, room: Option<&mut Room<'_>>) -> (Option<Vec<Vec<usize>>>, u32) {
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
            most_tried: MOST_TRIED / self.demand.iter().sum::<usize>().max(1),
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
    most_tried: usize,
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
        self.steps > MOST_STEPS || self.tried > self.most_tried
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
        if let Some(count) = left.get_mut(*kind).filter(|count| **count > 0) {
            *count -= 1;
        } else {
            give_back(left, kinds.get(..taken).unwrap_or_default());
            return false;
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
