//! Things of which each may stand once.
//!
//! Handed a list and what a thing is known by; promises each that was there before, with the first of its kind, so that a
//! fault can name where that stands. Turned down: keeping the last, which drops the others in silence.

use std::collections::BTreeMap;

/// Each of `items` whose key an earlier one has too: the first of that key, and it. What has no key repeats nothing.
pub(super) fn repeats<'t, T, K: Ord>(items: &'t [T], key: impl Fn(&'t T) -> Option<K>) -> Vec<(&'t T, &'t T)> {
    let mut first: BTreeMap<K, &T> = BTreeMap::new();
    let mut repeats = Vec::new();
    for item in items {
        let Some(key) = key(item) else { continue };
        let known = *first.entry(key).or_insert(item);
        if !std::ptr::eq(known, item) {
            repeats.push((known, item));
        }
    }
    repeats
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_repeat_comes_with_the_first() {
        let words = ["a", "b", "", "A", "", "a"];
        let found = repeats(&words, |word| (!word.is_empty()).then(|| word.to_lowercase()));
        assert_eq!(found, [(&"a", &"A"), (&"a", &"a")]);
    }
}
