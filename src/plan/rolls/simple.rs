//! Simple ways to share rolls: what a hand does, and no worse than which the rest is promised to be.

use super::least::{Filled, Kind, Micro, Strip, fill};

/// The best of three simple ways.
pub(super) fn simply(kinds: &[Kind], strip: &Strip) -> Vec<Vec<usize>> {
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
