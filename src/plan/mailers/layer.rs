//! Whether a few rolls lie side by side in one layer, in any way whatever.
//!
//! Rolls are laid one after another, each as far to the left and to the front as those before it let it. What lies to the
//! left and in front of a laid roll's far corner counts as taken, so what is taken ends in a staircase, and the next
//! roll is tried along and across in every inner corner of it. That finds a way wherever there is one: rectangles
//! that don't overlap can be numbered so that none lies left of or in front of one before it, and moved into
//! such corners in that order (Martello, Pisinger and Vigo, "The three-dimensional bin packing problem", Operations
//! Research 48, 2000, section 3, for two dimensions). Rows alone, which suit most mailers, miss a roll turned across
//! the end of others.
//!
//! Only the staircase and what is left decide what follows, so each pair of them is tried once; and a room counts only as
//! far as sides of rolls add up to.

use std::collections::{BTreeSet, HashSet};

use super::stack::Micro;

/// So many rolls of two sides.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct Alike {
    /// Along the roll.
    pub(super) long: Micro,
    /// Across it.
    pub(super) short: Micro,
    /// How many are left to lay.
    pub(super) count: usize,
}

/// Whether all of `rolls` lie in a room of `wide` by `deep`, as far as `steps` reach, which are counted down.
pub(super) fn lies(rolls: &mut [Alike], wide: Micro, deep: Micro, steps: &mut u32) -> bool {
    Room { wide: reached(rolls, wide), deep: reached(rolls, deep), laid: Vec::new(), failed: HashSet::new() }
        .takes(rolls, steps)
}

/// The longest row, of no more than `room`, that sides of the rolls add up to.
fn reached(rolls: &[Alike], room: Micro) -> Micro {
    let mut sums = BTreeSet::from([0]);
    for alike in rolls.iter().flat_map(|alike| std::iter::repeat_n(alike, alike.count)) {
        let more: Vec<Micro> = sums.iter().flat_map(|sum| [sum + alike.long, sum + alike.short]).collect();
        sums.extend(more.into_iter().filter(|sum| *sum <= room));
    }
    sums.last().copied().unwrap_or(0)
}

/// A place on the floor of the bag.
type Corner = (Micro, Micro);

struct Room {
    wide: Micro,
    deep: Micro,
    /// Outer corners of the staircase: far corners of rolls that no other reaches beyond on both sides.
    laid: Vec<Corner>,
    /// Staircases with what was left and didn't lie.
    failed: HashSet<(Vec<Corner>, Vec<usize>)>,
}

impl Room {
    fn takes(&mut self, rolls: &mut [Alike], steps: &mut u32) -> bool {
        let needed: i128 = rolls.iter().map(|alike| area(alike.long, alike.short) * count(alike.count)).sum();
        if needed == 0 {
            return true;
        }
        let corners = self.corners();
        let narrowest = rolls.iter().filter(|alike| alike.count > 0).map(|alike| alike.short).min().unwrap_or(0);
        if needed > self.left(&corners, narrowest) || !rolls.iter().all(|alike| self.can_take(&corners, *alike)) {
            return false;
        }
        let key = (self.laid.clone(), rolls.iter().map(|alike| alike.count).collect::<Vec<usize>>());
        if *steps == 0 || self.failed.contains(&key) {
            return false;
        }
        *steps -= 1;
        for place in 0..rolls.len() {
            let Some(alike) = rolls.get(place).copied().filter(|alike| alike.count > 0) else { continue };
            let along = (alike.long, alike.short);
            let across = Some((alike.short, alike.long)).filter(|turned| *turned != along);
            for (x, y) in &corners {
                for (w, d) in std::iter::once(along).chain(across) {
                    let far = (x + w, y + d);
                    if far.0 > self.wide || far.1 > self.deep {
                        continue;
                    }
                    let mut laid: Vec<Corner> =
                        self.laid.iter().copied().filter(|corner| corner.0 > far.0 || corner.1 > far.1).collect();
                    laid.push(far);
                    laid.sort_unstable();
                    let before = std::mem::replace(&mut self.laid, laid);
                    change(rolls, place, alike.count - 1);
                    let takes = self.takes(rolls, steps);
                    change(rolls, place, alike.count);
                    self.laid = before;
                    if takes {
                        return true;
                    }
                }
            }
        }
        self.failed.insert(key);
        false
    }

    /// Inner corners of the staircase, from the left: each further right and less deep than the one before.
    fn corners(&self) -> Vec<Corner> {
        let mut lefts: Vec<Micro> = self.laid.iter().map(|(right, _)| *right).chain([0]).collect();
        lefts.sort_unstable();
        let mut corners: Vec<Corner> = Vec::new();
        for x in lefts {
            let y = self.laid.iter().filter(|(right, _)| *right > x).map(|(_, far)| *far).max().unwrap_or(0);
            if corners.last().is_none_or(|(_, before)| y < *before) {
                corners.push((x, y));
            }
        }
        corners
    }

    /// Whether a roll could still be laid in some corner; the staircase only grows, so what can't now never can.
    fn can_take(&self, corners: &[Corner], alike: Alike) -> bool {
        let fits = |(x, y): &Corner, w, d| x + w <= self.wide && y + d <= self.deep;
        let (long, short) = (alike.long, alike.short);
        alike.count == 0 || corners.iter().any(|corner| fits(corner, long, short) || fits(corner, short, long))
    }

    /// Area beyond the staircase that rolls no narrower than this could lie in: not where it leaves less than that
    /// to the far wall, or less to the right one, whichever is more.
    fn left(&self, corners: &[Corner], narrowest: Micro) -> i128 {
        let free = |side: Micro| if side < narrowest { 0 } else { side };
        let nexts = corners.iter().skip(1).map(|(x, _)| *x).chain([self.wide]);
        let far = corners.iter().zip(nexts).map(|((x, y), next)| area(next - x, free(self.deep - y))).sum::<i128>();
        // From the left, each corner starts a step that reaches back to the one before it, the first to the far wall.
        let befores = std::iter::once(self.deep).chain(corners.iter().map(|(_, y)| *y));
        let right =
            corners.iter().zip(befores).map(|((x, y), before)| area(before - y, free(self.wide - x))).sum::<i128>();
        far.min(right)
    }
}

fn area(a: Micro, b: Micro) -> i128 {
    i128::from(a) * i128::from(b)
}

fn count(of: usize) -> i128 {
    i128::try_from(of).unwrap_or(i128::MAX)
}

fn change(rolls: &mut [Alike], place: usize, count: usize) {
    if let Some(alike) = rolls.get_mut(place) {
        alike.count = count;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Every way on a grid of whole millimetres: each roll along or across with its near corner on any square.
    fn lies_on_a_grid(rolls: &[(i64, i64)], wide: i64, deep: i64, laid: &mut Vec<[i64; 4]>) -> bool {
        let Some(((a, b), rest)) = rolls.split_first() else { return true };
        for (w, d) in [(*a, *b), (*b, *a)] {
            for x in 0..=wide - w {
                for y in 0..=deep - d {
                    let free = laid.iter().all(|[l, f, r, n]| x + w <= *l || *r <= x || y + d <= *f || *n <= y);
                    if free {
                        laid.push([x, y, x + w, y + d]);
                        let lies = lies_on_a_grid(rest, wide, deep, laid);
                        laid.pop();
                        if lies {
                            return true;
                        }
                    }
                }
            }
        }
        false
    }

    fn found(rolls: &[(i64, i64)], wide: i64, deep: i64) -> bool {
        let mut alike: Vec<Alike> =
            rolls.iter().map(|(a, b)| Alike { long: *a.max(b), short: *a.min(b), count: 1 }).collect();
        lies(&mut alike, wide, deep, &mut 1_000_000)
    }

    /// Four of 2 × 1 round a square of 1 × 1 fill 3 × 3, and no rows do.
    #[test]
    fn a_pinwheel_lies() {
        assert!(found(&[(2, 1), (2, 1), (2, 1), (2, 1), (1, 1)], 3, 3));
        assert!(!found(&[(2, 1), (2, 1), (2, 1), (2, 1), (2, 1)], 3, 3));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn it_lies_where_any_place_on_a_grid_lets_it(
            rolls in prop::collection::vec((1_i64..6, 1_i64..4), 1..5), wide in 3_i64..8, deep in 3_i64..8,
        ) {
            prop_assert_eq!(found(&rolls, wide, deep), lies_on_a_grid(&rolls, wide, deep, &mut Vec::new()));
        }
    }
}
