//! Recipients put together, and the questions where only the seller can tell.
//!
//! Handed everybody who is due something and what the seller has answered before; promises that each candidate is in
//! exactly one group, that no chain joins two who contradict one another, that the order they came in changes
//! nothing, and that nobody is merged because somebody else is gone (save where a record between two who contradict
//! one another could be either's). Turned down: joining whatever chains together, which makes one person of two
//! flats and a neighbour who left out his own; and asking about each two records, four of one person making six
//! questions.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::recipient::Recipient;

use super::blocking;
use super::compare::{Comparison, Objection, Traits, Verdict};
use super::known::{Fingerprint, Known};
use super::questions::{self, GroupQuestion};
use super::{sets::Sets, words};

/// Somebody who is due something.
#[derive(Clone, Debug)]
pub struct Candidate<'a> {
    /// Of the order or trade: `stall:1001`, `T-0007`.
    pub id: String,
    /// To whom it goes.
    pub to: &'a Recipient,
}

/// Everybody in groups, and what is to be asked.
#[derive(Clone, PartialEq, Debug)]
pub struct Grouping {
    /// The groups by their first id; every candidate is in one.
    pub groups: Vec<Group>,
    /// What only the seller can tell, likeliest first.
    pub questions: Vec<GroupQuestion>,
}

/// What goes to one recipient.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Group {
    /// Ids, sorted.
    pub ids: Vec<String>,
    /// Why they are one, a line for each spelling that was joined; empty where all are spelt alike.
    pub reasons: Vec<String>,
}

/// Candidates of one spelling and one mailbox.
pub(super) struct Node<'a> {
    pub(super) fingerprint: Fingerprint,
    pub(super) to: &'a Recipient,
    pub(super) ids: BTreeSet<String>,
}

/// Who goes together.
#[must_use]
pub fn group(candidates: &[Candidate<'_>], known: &Known) -> Grouping {
    let (nodes, traits) = nodes(candidates);
    let desk = Desk { nodes: &nodes, traits: &traits, known };
    let judged = desk.judge();
    let (groups, ambiguous) = desk.merge(&judged);
    let questions = questions::ask(&desk, &groups, &judged, &ambiguous);
    let mut told: Vec<Group> = groups.iter().map(|group| desk.told(group)).collect();
    told.sort_by(|a, b| a.ids.cmp(&b.ids));
    Grouping { groups: told, questions }
}

fn nodes<'a>(candidates: &[Candidate<'a>]) -> (Vec<Node<'a>>, Vec<Traits>) {
    let mut by_spelling: BTreeMap<(Fingerprint, Option<String>), Node<'a>> = BTreeMap::new();
    for candidate in candidates {
        let fingerprint = Fingerprint::of(candidate.to);
        let email = candidate.to.email.as_deref().map(|email| email.trim().to_lowercase());
        let node = by_spelling.entry((fingerprint.clone(), email)).or_insert_with(|| Node {
            fingerprint,
            to: candidate.to,
            ids: BTreeSet::new(),
        });
        node.to = node.to.min(candidate.to);
        node.ids.insert(candidate.id.clone());
    }
    let nodes: Vec<Node<'a>> = by_spelling.into_values().collect();
    let traits = nodes.iter().map(|node| Traits::new(node.to)).collect();
    (nodes, traits)
}

/// All spellings, and what is known of them.
pub(super) struct Desk<'d> {
    pub(super) nodes: &'d [Node<'d>],
    pub(super) traits: &'d [Traits],
    pub(super) known: &'d Known,
}

/// Pairs of clusters, the lower first.
type Edges = BTreeSet<(usize, usize)>;

/// What comparing found: the pairs that are not apart, with the bits for them.
pub(super) type Judged = BTreeMap<(usize, usize), (Verdict, f64)>;

impl Desk<'_> {
    fn judge(&self) -> Judged {
        let mut pairs = blocking::pairs(self.traits);
        // One spelling with two mailboxes lies side by side.
        pairs.extend((1..self.nodes.len()).map(|at| (at - 1, at)).filter(|&(a, b)| self.one_spelling(a, b)));
        let judge = |(a, b): (usize, usize)| {
            let comparison = self.comparison(a, b)?;
            let verdict = self.verdict(a, b, &comparison);
            (verdict != Verdict::Apart).then(|| ((a, b), (verdict, comparison.bits())))
        };
        pairs.into_iter().filter_map(judge).collect()
    }

    fn one_spelling(&self, a: usize, b: usize) -> bool {
        match (self.nodes.get(a), self.nodes.get(b)) {
            (Some(a), Some(b)) => a.fingerprint == b.fingerprint,
            (None, _) | (_, None) => false,
        }
    }

    pub(super) fn comparison(&self, a: usize, b: usize) -> Option<Comparison> {
        Some(Comparison::new(self.traits.get(a)?, self.traits.get(b)?))
    }

    fn verdict(&self, a: usize, b: usize, comparison: &Comparison) -> Verdict {
        if self.one_spelling(a, b) {
            let said =
                self.nodes.get(a).is_some_and(|node| self.known.are_together(&node.fingerprint, &node.fingerprint));
            let two = !said && comparison.objections.contains(&Objection::Email);
            return if two { Verdict::Ask(BTreeSet::from([Objection::Email])) } else { Verdict::Same };
        }
        comparison.verdict()
    }

    /// Whether the seller said that the two are not one.
    pub(super) fn said_apart(&self, a: usize, b: usize) -> bool {
        match (self.nodes.get(a), self.nodes.get(b)) {
            (Some(a), Some(b)) => self.known.are_apart(&a.fingerprint, &b.fingerprint),
            (None, _) | (_, None) => false,
        }
    }

    fn contradicts(&self, a: usize, b: usize) -> bool {
        if self.said_apart(a, b) {
            return true;
        }
        self.comparison(a, b).is_none_or(|comparison| {
            if self.one_spelling(a, b) {
                self.verdict(a, b, &comparison) != Verdict::Same
            } else {
                comparison.contradicts()
            }
        })
    }

    fn contradict(&self, a: &[usize], b: &[usize]) -> bool {
        a.iter().any(|&x| b.iter().any(|&y| self.contradicts(x, y)))
    }

    /// The groups, and the spellings that could be either of two who contradict one another.
    fn merge(&self, judged: &Judged) -> (Vec<Vec<usize>>, BTreeSet<usize>) {
        let clusters = self.said_together();
        let mut home = vec![0; self.nodes.len()];
        for (cluster, members) in clusters.iter().enumerate() {
            for &member in members {
                if let Some(home) = home.get_mut(member) {
                    *home = cluster;
                }
            }
        }
        let at_home = |node: usize| home.get(node).copied().unwrap_or(node);
        let mut ambiguous = BTreeSet::new();
        let (edges, doubtful) = self.edges(judged, &at_home, &clusters, &mut ambiguous);
        let mut sets = Sets::new(clusters.len());
        for &(x, y) in &edges {
            sets.join(x, y);
        }
        let mut groups = Vec::new();
        let of = |places: &[usize]| -> Vec<usize> {
            let mut members: Vec<usize> = places.iter().filter_map(|&at| clusters.get(at)).flatten().copied().collect();
            members.sort_unstable();
            members
        };
        for component in sets.all() {
            for places in self.without_contradictions(&component, &edges, &doubtful, &clusters, &mut ambiguous) {
                groups.push(of(&places));
            }
        }
        let ambiguous = of(&ambiguous.into_iter().collect::<Vec<usize>>()).into_iter().collect();
        (groups, ambiguous)
    }

    /// Which clusters are one by a pair of theirs. Where the pair leaves out what would tell them from others, only if
    /// the one that leaves it out can't be another's, who contradicts the other. Those are given by themselves too.
    fn edges(
        &self,
        judged: &Judged,
        at_home: &impl Fn(usize) -> usize,
        clusters: &[Vec<usize>],
        ambiguous: &mut BTreeSet<usize>,
    ) -> (Edges, Edges) {
        let mut whole = Edges::new();
        let mut partly = Edges::new();
        let mut near: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for (&(a, b), (verdict, _)) in judged {
            let (x, y) = (at_home(a), at_home(b));
            let likely = match verdict {
                Verdict::Same => true,
                Verdict::Ask(objections) => !objections.iter().any(|objection| objection.contradicts()),
                Verdict::Apart => false,
            };
            if x == y || !likely {
                continue;
            }
            near.entry(x).or_default().insert(y);
            near.entry(y).or_default().insert(x);
            if *verdict == Verdict::Same {
                let leaves_out = self.comparison(a, b).is_none_or(|comparison| comparison.leaves_out());
                if leaves_out { &mut partly } else { &mut whole }.insert((x.min(y), x.max(y)));
            }
        }
        let members = |at: usize| clusters.get(at).map_or(&[][..], Vec::as_slice);
        let has_rival = |x: usize, y: usize| {
            near.get(&x).is_some_and(|near| near.iter().any(|&z| z != y && self.contradict(members(y), members(z))))
        };
        let mut made_good = Edges::new();
        for &(x, y) in partly.difference(&whole) {
            let rivals: Vec<usize> =
                [(x, y), (y, x)].into_iter().filter(|&(x, y)| has_rival(x, y)).map(|(x, _)| x).collect();
            if rivals.is_empty() {
                made_good.insert((x, y));
            }
            ambiguous.extend(rivals);
        }
        whole.extend(&made_good);
        (whole, made_good)
    }

    /// What the seller said is one, whatever it looks like.
    fn said_together(&self) -> Vec<Vec<usize>> {
        // An answer is about all that is written so, whatever the mailbox.
        let mut written: BTreeMap<&Fingerprint, Vec<usize>> = BTreeMap::new();
        for (at, node) in self.nodes.iter().enumerate() {
            written.entry(&node.fingerprint).or_default().push(at);
        }
        let mut sets = Sets::new(self.nodes.len());
        for (a, b) in self.known.together() {
            if let (Some(a), Some(b)) = (written.get(a), written.get(b)) {
                let all: Vec<usize> = a.iter().chain(b).copied().collect();
                all.iter().skip(1).zip(&all).for_each(|(&x, &y)| sets.join(x, y));
            }
        }
        // Answers that contradict one another say nothing.
        let sound = |set: &Vec<usize>| !set.iter().any(|&a| set.iter().any(|&b| a < b && self.said_apart(a, b)));
        let split =
            |set: Vec<usize>| if sound(&set) { vec![set] } else { set.into_iter().map(|at| vec![at]).collect() };
        sets.all().into_iter().flat_map(split).collect()
    }

    /// A component of merges as it is, if nothing in it contradicts; else without the merges that join one to either of
    /// two who contradict one another; else each by itself.
    fn without_contradictions(
        &self,
        component: &[usize],
        edges: &Edges,
        doubtful: &Edges,
        clusters: &[Vec<usize>],
        ambiguous: &mut BTreeSet<usize>,
    ) -> Vec<Vec<usize>> {
        let members = |at: usize| clusters.get(at).map_or(&[][..], Vec::as_slice);
        let clash = |x: usize, y: usize| self.contradict(members(x), members(y));
        let clashes = |places: &[usize]| -> bool {
            places.iter().enumerate().any(|(at, &x)| places.iter().skip(at + 1).any(|&y| clash(x, y)))
        };
        if component.len() < 2 || !clashes(component) {
            return vec![component.to_vec()];
        }
        let edge = |x: usize, y: usize| (x.min(y), x.max(y));
        let mut left: BTreeSet<(usize, usize)> = BTreeSet::new();
        let mut torn: BTreeSet<(usize, usize)> = BTreeSet::new();
        for &x in component {
            let near: Vec<usize> = component.iter().copied().filter(|&y| edges.contains(&edge(x, y))).collect();
            for (at, &y) in near.iter().enumerate() {
                left.insert(edge(x, y));
                if clash(x, y) {
                    torn.insert(edge(x, y));
                }
                for &z in near.iter().skip(at + 1).filter(|&&z| clash(y, z)) {
                    torn.extend([edge(x, y), edge(x, z)]);
                    ambiguous.insert(x);
                }
            }
        }
        let mut sets = Sets::new(clusters.len());
        left.difference(&torn).for_each(|&(x, y)| sets.join(x, y));
        let mut apart = Vec::new();
        for places in sets.of(component) {
            if !clashes(&places) {
                apart.push(places);
                continue;
            }
            // Somewhere in the chain one says too little; without such links the others may be told.
            ambiguous.extend(&places);
            let mut sure = Sets::new(clusters.len());
            left.difference(&torn).filter(|edge| !doubtful.contains(edge)).for_each(|&(x, y)| sure.join(x, y));
            for places in sure.of(&places) {
                if clashes(&places) {
                    apart.extend(places.iter().map(|&at| vec![at]));
                } else {
                    apart.push(places);
                }
            }
        }
        apart
    }

    fn told(&self, group: &[usize]) -> Group {
        let nodes: Vec<&Node<'_>> = group.iter().filter_map(|&at| self.nodes.get(at)).collect();
        let mut ids: Vec<String> = nodes.iter().flat_map(|node| node.ids.iter().cloned()).collect();
        ids.sort();
        Group { ids, reasons: words::reasons(self, group) }
    }
}

#[cfg(test)]
mod tests;
