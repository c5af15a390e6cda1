//! Which recipients are worth comparing.
//!
//! Handed recipients made ready; promises pairs, each once, in order, in a number that grows with the recipients and
//! not with their square: only those are compared that share several keys out of many, so that a slip in any one field
//! leaves another key whole. Turned down: one key such as postal code and surname, which loses every pair with a slip
//! in either.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

use super::compare::Traits;

/// Up to this many that share a key are all compared with one another.
const WHOLE: usize = 24;

/// Of more, each is compared with so many that come after it by name.
const WINDOW: usize = 6;

/// Two of one person share so many keys at least; two who share but one do so by chance.
const SHARED: usize = 2;

/// The pairs to compare, as places in `all`, the lesser first.
#[must_use]
pub fn pairs(all: &[Traits]) -> Vec<(usize, usize)> {
    // The blocks' order does not matter, so that a hash may stand for a key: the pairs are sorted.
    let mut blocks: HashMap<u64, Vec<usize>> = HashMap::new();
    for (at, traits) in all.iter().enumerate() {
        for key in keys(traits) {
            let block = blocks.entry(key).or_default();
            if block.last() != Some(&at) {
                block.push(at);
            }
        }
    }
    let mut pairs = Vec::new();
    for mut block in blocks.into_values() {
        let reach = if block.len() <= WHOLE {
            block.len()
        } else {
            block.sort_by_cached_key(|&at| all.get(at).map(|traits| (sorted(traits), traits.street.clone(), at)));
            WINDOW
        };
        for (place, &one) in block.iter().enumerate() {
            pairs.extend(block.iter().skip(place + 1).take(reach).map(|&other| (one.min(other), one.max(other))));
        }
    }
    pairs.sort_unstable();
    pairs
        .chunk_by(|a, b| a == b)
        .filter(|alike| alike.len() >= SHARED)
        .filter_map(|alike| alike.first().copied())
        .collect()
}

/// Name parts with town, postal code, number and street each; the address in several halves; the mailbox; the whole
/// name.
fn keys(of: &Traits) -> Vec<u64> {
    let standard = &of.standard;
    let number = standard.number.as_str();
    // Its digits in order, so that two of them turned round leave the key whole.
    let mut postal: Vec<char> = standard.postal.chars().collect();
    postal.sort_unstable();
    let postal: &str = &String::from_iter(postal);
    let (street, city, rest) = (head(&of.street, 4), head(&of.city, 4), head(&of.rest, 6));
    let mut initials: Vec<&str> = of.name.parts.iter().map(|part| head(part, 1)).collect();
    initials.sort_unstable();
    let initials = initials.concat();
    let mut keys = Vec::new();
    let mut add = |kind: u8, parts: [&str; 2]| {
        if parts.iter().all(|part| !part.is_empty()) {
            let mut hasher = DefaultHasher::new();
            (kind, parts).hash(&mut hasher);
            keys.push(hasher.finish());
        }
    };
    for part in of.name.parts.iter().filter(|part| part.len() > 2) {
        add(1, [part, city]);
        add(2, [part, postal]);
        add(3, [part, number]);
        add(4, [part, street]);
        add(5, [part, rest]);
    }
    add(6, [postal, number]);
    add(7, [street, number]);
    add(8, [head(&of.street, 8), postal]);
    add(9, [rest, number]);
    add(10, [head(&of.street, 8), city]);
    add(11, [&sorted(of), "name"]);
    add(12, [of.email.as_deref().unwrap_or(""), "email"]);
    add(14, [head(&of.rest, 8), postal]);
    add(15, [head(&of.rest, 8), city]);
    add(16, [head(&of.street, 8), rest]);
    add(17, [street, city]);
    add(18, [city, number]);
    add(19, [&initials, postal]);
    add(20, [&initials, street]);
    add(21, [street, postal]);
    add(22, [&initials, city]);
    add(23, [&initials, rest]);
    for line in of.lines.iter().map(|line| head(line, 5)) {
        add(24, [line, postal]);
        add(25, [line, city]);
        add(26, [line, number]);
        add(27, [line, &initials]);
        for part in of.name.parts.iter().filter(|part| part.len() > 2) {
            add(28, [line, head(part, 3)]);
        }
    }
    add(13, [standard.box_.as_deref().unwrap_or(""), city]);
    keys
}

fn sorted(of: &Traits) -> String {
    let mut parts: Vec<&str> = of.name.parts.iter().map(String::as_str).collect();
    parts.sort_unstable();
    parts.join(" ")
}

fn head(text: &str, letters: usize) -> &str {
    text.char_indices().nth(letters).map_or(text, |(end, _)| text.get(..end).unwrap_or(text))
}
