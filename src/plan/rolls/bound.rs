//! What each piece costs at least: prices such that no roll costs less than its pieces together.
//!
//! With such prices no division of the pieces costs less than the sum over them, which is what tells the search where
//! to stop looking (weak duality of linear programming; Dantzig 1963, chapter 6). The best prices are the dual of
//! covering every piece by fractions of rolls (Gilmore and Gomory, "A linear programming approach to the cutting-stock
//! problem", Operations Research 9, 1961), found here by the simplex method with rolls as columns.
//!
//! The simplex reckons in floating point, and nothing rests on it: its prices are made whole numbers, tried on
//! every roll and lowered where one would cost less than its pieces. Prices from a simplex that stopped early are only
//! worse, never wrong. Turned down: a solver of its own crate, for one program of at most 60 rows.

use rust_decimal::prelude::ToPrimitive;

use super::candidates::Candidates;

/// Prices are in this part of the unit of costs, so that rounding them down loses next to nothing.
pub(super) const PARTS: i64 = 16;
/// Looks through all rolls, after which prices are taken as they are.
const MOST_ROUNDS: usize = 200;
/// What floating point may be wrong by, as a part of the dearest roll.
const SLACK: f64 = 1e-9;

/// Prices of the kinds, in [`PARTS`] of the unit of `costs`, which has one for each roll; `demand` is how many of each
/// kind there are.
pub(super) fn prices(candidates: &Candidates, costs: &[i64], demand: &[usize]) -> Vec<i64> {
    let guessed = simplex(candidates, costs, demand);
    let parts = PARTS.to_f64().unwrap_or(1.0);
    let mut prices: Vec<i64> =
        guessed.into_iter().map(|price| (price * parts).floor().to_i64().unwrap_or(0).max(0)).collect();
    for (candidate, cost) in candidates.all().iter().zip(costs) {
        let kinds = candidates.kinds_of(candidate);
        let mut over: i64 = kinds.iter().filter_map(|kind| prices.get(*kind)).sum::<i64>() - cost * PARTS;
        for kind in kinds {
            if let Some(price) = prices.get_mut(*kind).filter(|_| over > 0) {
                let less = over.min(*price);
                *price -= less;
                over -= less;
            }
        }
    }
    prices
}

/// The simplex' table, kept as the inverse of its basis.
struct Table {
    inverse: Vec<Vec<f64>>,
    /// How many of each basic roll are cut.
    cut: Vec<f64>,
    prices: Vec<f64>,
}

impl Table {
    /// Takes in a column with the reduced cost `gain`, which is below zero.
    fn pivot(&mut self, column: &[(usize, f64)], gain: f64) {
        let entering: Vec<f64> = self
            .inverse
            .iter()
            .map(|row| column.iter().filter_map(|(kind, count)| Some(row.get(*kind)? * count)).sum())
            .collect();
        let ratios = entering.iter().zip(&self.cut).enumerate().filter(|(_, (by, _))| **by > 1e-7);
        let Some((leaving, by, ratio)) =
            ratios.map(|(row, (by, cut))| (row, *by, cut / by)).min_by(|a, b| a.2.total_cmp(&b.2))
        else {
            return;
        };
        let Some(pivot) = self.inverse.get(leaving).map(|row| row.iter().map(|x| x / by).collect::<Vec<f64>>()) else {
            return;
        };
        for (price, x) in self.prices.iter_mut().zip(&pivot) {
            *price += gain * x;
        }
        for (row, ((line, cut), by)) in self.inverse.iter_mut().zip(&mut self.cut).zip(&entering).enumerate() {
            if row == leaving {
                line.clone_from(&pivot);
                *cut = ratio;
            } else {
                *cut -= by * ratio;
                for (x, p) in line.iter_mut().zip(&pivot) {
                    *x -= by * p;
                }
            }
        }
    }

    fn gain(&self, kinds: &[usize], cost: f64) -> f64 {
        cost - kinds.iter().filter_map(|kind| self.prices.get(*kind)).sum::<f64>()
    }
}

fn simplex(candidates: &Candidates, costs: &[i64], demand: &[usize]) -> Vec<f64> {
    let floats: Vec<f64> = costs.iter().map(|cost| cost.to_f64().unwrap_or(f64::MAX)).collect();
    let least = -SLACK * floats.iter().copied().fold(1.0, f64::max);
    let n = demand.len();
    // It starts with every piece alone: the first roll that each kind leads.
    let alone = (0..n).map(|kind| floats.get(candidates.led_by(kind).0).copied().unwrap_or(0.0));
    let unit = |row: usize| (0..n).map(|column| if row == column { 1.0 } else { 0.0 }).collect();
    let mut table = Table {
        inverse: (0..n).map(unit).collect(),
        cut: demand.iter().map(|count| count.to_f64().unwrap_or(0.0)).collect(),
        prices: alone.collect(),
    };
    for _ in 0..MOST_ROUNDS {
        let mut done = true;
        for kind in 0..n {
            // A piece that is covered twice over: its price can't be below nothing.
            if let Some(price) = table.prices.get(kind).copied().filter(|price| *price < least) {
                table.pivot(&[(kind, -1.0)], price);
                done = false;
            }
            let (first, led) = candidates.led_by(kind);
            let of = |(place, candidate)| {
                Some((table.gain(candidates.kinds_of(candidate), *floats.get(first + place)?), candidate))
            };
            let best = led.iter().enumerate().filter_map(of).min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((gain, candidate)) = best.filter(|(gain, _)| *gain < least) {
                let mut column: Vec<(usize, f64)> = Vec::new();
                for kind in candidates.kinds_of(candidate) {
                    match column.last_mut().filter(|(last, _)| last == kind) {
                        Some((_, count)) => *count += 1.0,
                        None => column.push((*kind, 1.0)),
                    }
                }
                table.pivot(&column, gain);
                done = false;
            }
        }
        if done {
            break;
        }
    }
    table.prices
}
