//! What the seller has said about who is who.
//!
//! Handed the keys of questions and their answers; promises who is together and who is apart, by how they are
//! written ([`Fingerprint`]) and not by order, so that an answer holds for every later order of the two. Turned down:
//! remembering by order id, which asks again with each order.

use std::collections::BTreeSet;
use std::fmt;

use crate::model::recipient::Recipient;
use crate::model::reply::SameRecipient;

/// Stands for one spelling of name and address, as [`super::key`] reads it: its first sixteen digits of BLAKE3. Hangs
/// on no table of streets or states, so that answers outlive changes of those.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Fingerprint(String);

impl Fingerprint {
    /// Of a recipient.
    #[must_use]
    pub fn of(to: &Recipient) -> Self {
        let hash = blake3::hash(super::key(to).0.as_bytes()).to_hex();
        Self(hash.chars().take(16).collect())
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Between the groups in the key of a question, and between the spellings of a group.
const BETWEEN_GROUPS: char = '/';
const BETWEEN_SPELLINGS: char = '+';

/// The key of a question about `groups`.
pub(super) fn key(groups: &[BTreeSet<Fingerprint>]) -> String {
    let group = |group: &BTreeSet<Fingerprint>| {
        group.iter().map(ToString::to_string).collect::<Vec<_>>().join(&BETWEEN_SPELLINGS.to_string())
    };
    groups.iter().map(group).collect::<Vec<_>>().join(&BETWEEN_GROUPS.to_string())
}

/// What the seller has said. The last word on a pair holds.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Known {
    together: BTreeSet<(Fingerprint, Fingerprint)>,
    apart: BTreeSet<(Fingerprint, Fingerprint)>,
}

impl Known {
    /// Takes in the answer to the question of `key`; answers are taken in in the order they were given. An answer that
    /// is none of the question's choices says nothing.
    pub fn learn(&mut self, key: &str, said: &SameRecipient) {
        let groups: Vec<Vec<Fingerprint>> = key
            .split(BETWEEN_GROUPS)
            .map(|group| group.split(BETWEEN_SPELLINGS).map(|one| Fingerprint(one.to_owned())).collect())
            .collect();
        let one: BTreeSet<usize> = match said {
            SameRecipient::Together => (1..=groups.len()).collect(),
            SameRecipient::Apart => BTreeSet::new(),
            SameRecipient::These(some) if some.iter().all(|n| (1..=groups.len()).contains(n)) => some.clone(),
            SameRecipient::These(_) => return,
        };
        for (x, a) in (1..).zip(&groups) {
            for (y, b) in (1..).zip(&groups).skip(x) {
                let together = one.contains(&x) && one.contains(&y);
                for a in a {
                    for b in b {
                        self.say(a, b, together);
                    }
                }
            }
        }
    }

    fn say(&mut self, a: &Fingerprint, b: &Fingerprint, together: bool) {
        let pair = ordered(a, b);
        self.together.remove(&pair);
        self.apart.remove(&pair);
        if together {
            self.together.insert(pair)
        } else {
            self.apart.insert(pair)
        };
    }

    pub(super) fn are_apart(&self, a: &Fingerprint, b: &Fingerprint) -> bool {
        !self.apart.is_empty() && self.apart.contains(&ordered(a, b))
    }

    pub(super) fn are_together(&self, a: &Fingerprint, b: &Fingerprint) -> bool {
        self.together.contains(&ordered(a, b))
    }

    pub(super) fn together(&self) -> impl Iterator<Item = (&Fingerprint, &Fingerprint)> {
        self.together.iter().map(|(a, b)| (a, b))
    }
}

fn ordered(a: &Fingerprint, b: &Fingerprint) -> (Fingerprint, Fingerprint) {
    (a.min(b).clone(), a.max(b).clone())
}
