//! Things joined step by step.
//!
//! Handed how many there are and which two belong together; promises the sets that follow, by place, whatever the
//! order of joining. Turned down: a graph crate for thirty lines.

use std::collections::BTreeMap;

/// Disjoint sets of `0..n`.
pub(super) struct Sets {
    parent: Vec<usize>,
}

impl Sets {
    pub(super) fn new(count: usize) -> Self {
        Self { parent: (0..count).collect() }
    }

    /// The least of the set that holds `at`.
    pub(super) fn find(&mut self, at: usize) -> usize {
        let mut root = at;
        while let Some(&up) = self.parent.get(root)
            && up != root
        {
            root = up;
        }
        let mut step = at;
        while let Some(up) = self.parent.get_mut(step)
            && *up != root
        {
            step = std::mem::replace(up, root);
        }
        root
    }

    pub(super) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        if let Some(up) = self.parent.get_mut(a.max(b)) {
            *up = a.min(b);
        }
    }

    /// The sets that hold any of `places`, as far as they are among them.
    pub(super) fn of(&mut self, places: &[usize]) -> Vec<Vec<usize>> {
        let mut sets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for &at in places {
            sets.entry(self.find(at)).or_default().push(at);
        }
        sets.into_values().collect()
    }

    /// All sets.
    pub(super) fn all(&mut self) -> Vec<Vec<usize>> {
        let places: Vec<usize> = (0..self.parent.len()).collect();
        self.of(&places)
    }
}
