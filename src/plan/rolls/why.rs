//! How rolls came about, in the short lines that every parcel carries.

use std::collections::BTreeMap;

use crate::model::catalogue::{Code, Kind};
use crate::model::length::Length;
use crate::model::parcel::{Piece, Roll};
use crate::model::rules::PackingRules;

/// How the rolls came about, in short lines; `pieces` are those they were cut for.
#[must_use]
pub fn why(rolls: &[Roll], pieces: &[Piece], rules: &PackingRules) -> Vec<String> {
    let kinds: BTreeMap<&Code, Kind> = pieces.iter().map(|piece| (&piece.code, piece.kind)).collect();
    let of = |wanted: Kind| {
        let is = |roll: &&Roll| roll.laid.iter().all(|laid| kinds.get(&laid.code) == Some(&wanted));
        rolls.iter().filter(is).collect::<Vec<&Roll>>()
    };
    let mut why = Vec::new();
    let (shared, carded, other) = (of(Kind::Pin), of(Kind::Carded), of(Kind::Other));
    let pins: usize = shared.iter().map(|roll| roll.laid.len()).sum();
    match shared.as_slice() {
        [] => {}
        [one] => why.push(format!("{} in one roll: strip {}", counted(pins, "pin"), strip_words(one))),
        several => why.push(format!(
            "{} in {} rolls, the least wrap that fits: strips {}",
            counted(pins, "pin"),
            several.len(),
            strips_words(several)
        )),
    }
    if !carded.is_empty() {
        why.push(format!(
            "{} rolled alone, wrap {} mm beyond every edge: strip {}",
            counted(carded.len(), "carded pin"),
            rules.card_overhang.mm().normalize(),
            strips_words(&carded)
        ));
    }
    if !other.is_empty() {
        why.push(format!("{} rolled alone: strip {}", counted(other.len(), "piece"), strips_words(&other)));
    }
    why
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

fn strip_words(roll: &Roll) -> String {
    let whole = |length: Length| length.mm().ceil().normalize();
    format!("{} × {} mm", whole(roll.strip_width), whole(roll.strip_length))
}

/// Each size once, with how often it is cut.
fn strips_words(rolls: &[&Roll]) -> String {
    let mut words: Vec<(String, usize)> = Vec::new();
    for roll in rolls {
        let strip = strip_words(roll);
        match words.iter_mut().find(|(other, _)| *other == strip) {
            Some((_, count)) => *count += 1,
            None => words.push((strip, 1)),
        }
    }
    let words = words.into_iter().map(|(strip, count)| if count == 1 { strip } else { format!("{count} of {strip}") });
    words.collect::<Vec<_>>().join(", ")
}
