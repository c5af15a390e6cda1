//! Which of the objections are worth a question, and one question for all that hang together.
//!
//! Handed the groups and the pairs in doubt; promises questions about groups, each decidable by reading it, likeliest
//! first. A kind of objection that is found far more often than people write themselves so is the way of the street and
//! not of one hand (a house where everybody has a flat, a village with three surnames): its pairs are left apart
//! unasked. How often is expected is learnt ([`weights`]); what is left out wastes a postage and sends nothing
//! wrong. Turned down: asking about every pair between two thresholds, which asks about every housemate.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::reply::SameRecipient;

use super::compare::{Objection, Verdict};
use super::groups::{Desk, Judged};
use super::known::{self, Fingerprint};
use super::sets::Sets;
use super::{weights, words};

/// So many of a kind are asked about whatever is expected: with few orders nothing can be counted.
const ALWAYS: f64 = 5.0;

/// From so many merges on it can be counted how often several objections come together; then the one pair in which they
/// do is asked about too, if each of them alone is.
const COUNTED: f64 = 100.0;

/// Asked where at least so many of ten would be answered "together".
const WORTH: f64 = 0.6;

/// Groups in one question; more can't be taken in at a glance.
const AT_ONCE: usize = 4;

/// One question about groups that may be one.
#[derive(Clone, PartialEq, Debug)]
pub struct GroupQuestion {
    /// Stands for the groups by how they are written, so that it is asked once: [`super::known::Known::learn`] reads
    /// it.
    pub key: String,
    /// The ids of each of the groups that may be one.
    pub ids: Vec<Vec<String>>,
    /// What is asked.
    pub text: String,
    /// "together" and "apart"; with three groups and more also "1+2", meaning that those are one and the others
    /// apart, and no "together" where not all can be one.
    pub choices: Vec<String>,
    /// The share of such questions that is expected to be answered with other than "apart".
    pub likely: f64,
}

/// Two groups in doubt.
#[derive(Clone)]
struct Edge {
    groups: (usize, usize),
    objections: BTreeSet<Objection>,
    bits: f64,
}

pub(super) fn ask(
    desk: &Desk<'_>,
    groups: &[Vec<usize>],
    judged: &Judged,
    ambiguous: &BTreeSet<usize>,
) -> Vec<GroupQuestion> {
    let edges = edges(desk, groups, judged);
    let likely = likely(desk, judged, &edges);
    let worth: Vec<(Edge, f64)> = edges
        .into_iter()
        .map(|edge| {
            let likely = likely.get(&edge.objections).copied().unwrap_or(0.0);
            (edge, likely)
        })
        .filter(|(_, likely)| *likely >= WORTH)
        .collect();
    let asked: BTreeSet<Objection> = worth.iter().flat_map(|(edge, _)| edge.objections.iter().copied()).collect();
    let table = Table { desk, groups, asked, ambiguous };
    table.questions(worth)
}

/// For each two groups their best pair in doubt; none where the seller parted any two of them.
fn edges(desk: &Desk<'_>, groups: &[Vec<usize>], judged: &Judged) -> Vec<Edge> {
    let mut home: BTreeMap<usize, usize> = BTreeMap::new();
    for (at, group) in groups.iter().enumerate() {
        home.extend(group.iter().map(|&node| (node, at)));
    }
    let mut best: BTreeMap<(usize, usize), Edge> = BTreeMap::new();
    for (&(a, b), (verdict, bits)) in judged {
        let (Some(&x), Some(&y)) = (home.get(&a), home.get(&b)) else { continue };
        if x == y {
            continue;
        }
        let objections = match verdict {
            Verdict::Same => BTreeSet::new(),
            Verdict::Ask(objections) => objections.clone(),
            Verdict::Apart => continue,
        };
        let edge = Edge { groups: (x.min(y), x.max(y)), objections, bits: *bits };
        let rank = |edge: &Edge| (edge.objections.len(), -edge.bits);
        match best.get_mut(&edge.groups) {
            Some(known) if rank(known) <= rank(&edge) => {}
            Some(known) => *known = edge,
            None => {
                best.insert(edge.groups, edge);
            }
        }
    }
    let said_apart = |edge: &Edge| {
        let (Some(a), Some(b)) = (groups.get(edge.groups.0), groups.get(edge.groups.1)) else { return true };
        a.iter().any(|&a| b.iter().any(|&b| desk.said_apart(a, b)))
    };
    best.into_values().filter(|edge| !said_apart(edge)).collect()
}

/// The share of the pairs with an objection that are one person: those expected by the merges there are, of those found.
///
/// Several objections at once count as a kind of their own. They aren't asked about where nothing can be counted, nor
/// where one of them alone isn't; and another name altogether isn't either.
fn likely(desk: &Desk<'_>, judged: &Judged, edges: &[Edge]) -> BTreeMap<BTreeSet<Objection>, f64> {
    let alike: usize = desk.nodes.iter().map(|node| node.ids.len() - 1).sum();
    let merged = alike + judged.values().filter(|(verdict, _)| *verdict == Verdict::Same).count();
    let merged = f64::from(u32::try_from(merged).unwrap_or(u32::MAX));
    let mut found: BTreeMap<BTreeSet<Objection>, f64> = BTreeMap::new();
    for edge in edges {
        *found.entry(edge.objections.clone()).or_default() += 1.0;
    }
    let share = |kind: &BTreeSet<Objection>, found: f64, always: f64| {
        let share: f64 = kind.iter().map(|&objection| weights::share(objection)).product();
        ((share * merged + always) / found).min(1.0)
    };
    let alone = |kind: &BTreeSet<Objection>| kind.len() < 2;
    let mut likely: BTreeMap<BTreeSet<Objection>, f64> = BTreeMap::new();
    for (kind, &found) in found.iter().filter(|(kind, _)| alone(kind)) {
        let always = if kind.contains(&Objection::Name) { 0.0 } else { ALWAYS };
        likely.insert(kind.clone(), share(kind, found, always));
    }
    let is_in_vain = |objection: &Objection| likely.get(&BTreeSet::from([*objection])).is_some_and(|it| *it < WORTH);
    let several = found.iter().filter(|(kind, _)| !alone(kind)).map(|(kind, &found)| {
        let counted = merged >= COUNTED && !kind.contains(&Objection::Name) && !kind.iter().any(is_in_vain);
        (kind.clone(), share(kind, found, if counted { 1.0 } else { 0.0 }))
    });
    let several: Vec<(BTreeSet<Objection>, f64)> = several.collect();
    likely.extend(several);
    likely
}

struct Table<'t> {
    desk: &'t Desk<'t>,
    groups: &'t [Vec<usize>],
    asked: BTreeSet<Objection>,
    ambiguous: &'t BTreeSet<usize>,
}

impl Table<'_> {
    fn questions(&self, mut edges: Vec<(Edge, f64)>) -> Vec<GroupQuestion> {
        edges.sort_by(|(a, p), (b, q)| {
            q.total_cmp(p).then(b.bits.total_cmp(&a.bits)).then_with(|| a.groups.cmp(&b.groups))
        });
        let mut questions = Vec::new();
        let mut told: BTreeSet<(usize, usize)> = BTreeSet::new();
        for (group, rivals, likely) in self.either(&edges) {
            let mut all = vec![group];
            all.extend(rivals.iter().copied().take(AT_ONCE - 1));
            told.extend(rivals.iter().map(|&rival| (group.min(rival), group.max(rival))));
            questions.push(self.question(&all, likely, false));
        }
        edges.retain(|(edge, _)| !told.contains(&edge.groups));
        let mut clusters: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        let mut sets = Sets::new(self.groups.len());
        let mut chance: BTreeMap<usize, f64> = BTreeMap::new();
        for (edge, likely) in edges {
            let (x, y) = (sets.find(edge.groups.0), sets.find(edge.groups.1));
            let a = clusters.get(&x).cloned().unwrap_or_else(|| BTreeSet::from([x]));
            let b = clusters.get(&y).cloned().unwrap_or_else(|| BTreeSet::from([y]));
            if x == y || a.len() + b.len() > AT_ONCE || a.iter().any(|&a| b.iter().any(|&b| self.bars(a, b))) {
                continue;
            }
            sets.join(x, y);
            let root = sets.find(x);
            let least = [Some(likely), chance.get(&x).copied(), chance.get(&y).copied()];
            chance.insert(root, least.into_iter().flatten().fold(1.0, f64::min));
            clusters.remove(&x);
            clusters.remove(&y);
            clusters.insert(root, a.union(&b).copied().collect());
        }
        for (root, cluster) in clusters {
            let likely = chance.get(&root).copied().unwrap_or(0.0);
            questions.push(self.question(&cluster.into_iter().collect::<Vec<usize>>(), likely, true));
        }
        questions.sort_by(|a, b| b.likely.total_cmp(&a.likely).then_with(|| a.key.cmp(&b.key)));
        questions
    }

    /// Groups that may be one with either of some that can't be one with one another.
    fn either(&self, edges: &[(Edge, f64)]) -> Vec<(usize, Vec<usize>, f64)> {
        let mut near: BTreeMap<usize, Vec<(usize, f64)>> = BTreeMap::new();
        for (edge, likely) in edges {
            near.entry(edge.groups.0).or_default().push((edge.groups.1, *likely));
            near.entry(edge.groups.1).or_default().push((edge.groups.0, *likely));
        }
        let mut taken: BTreeSet<(usize, usize)> = BTreeSet::new();
        let mut either = Vec::new();
        for (group, near) in near {
            let open: Vec<(usize, f64)> = near
                .into_iter()
                .filter(|(rival, _)| !taken.contains(&(group.min(*rival), group.max(*rival))))
                .collect();
            let barred = |a: usize| open.iter().any(|(b, _)| a != *b && self.bars(a, *b));
            let rivals: Vec<(usize, f64)> = open.iter().copied().filter(|(rival, _)| barred(*rival)).collect();
            if rivals.len() < 2 {
                continue;
            }
            taken.extend(rivals.iter().map(|(rival, _)| (group.min(*rival), group.max(*rival))));
            let likely = rivals.iter().map(|(_, likely)| *likely).fold(1.0, f64::min);
            either.push((group, rivals.into_iter().map(|(rival, _)| rival).collect(), likely));
        }
        either
    }

    /// Whether two groups are kept apart by more than what is being asked about.
    fn bars(&self, a: usize, b: usize) -> bool {
        let (Some(a), Some(b)) = (self.groups.get(a), self.groups.get(b)) else { return true };
        a.iter().any(|&x| {
            b.iter().any(|&y| {
                let either = self.ambiguous.contains(&x) || self.ambiguous.contains(&y);
                self.desk.said_apart(x, y)
                    || self.desk.comparison(x, y).is_none_or(|comparison| {
                        !comparison.country
                            || comparison
                                .objections
                                .iter()
                                .any(|objection| objection.contradicts() && (either || !self.asked.contains(objection)))
                    })
            })
        })
    }

    /// `whole`: all of them may be one. Else the first may be one with any of the others.
    fn question(&self, groups: &[usize], likely: f64, whole: bool) -> GroupQuestion {
        let of = |at: &usize| self.groups.get(*at).map_or(&[][..], Vec::as_slice);
        let spellings = |at: &usize| -> BTreeSet<Fingerprint> {
            of(at).iter().filter_map(|&node| self.desk.nodes.get(node)).map(|node| node.fingerprint.clone()).collect()
        };
        let ids = |at: &usize| -> Vec<String> {
            let nodes = of(at).iter().filter_map(|&node| self.desk.nodes.get(node));
            nodes.flat_map(|node| node.ids.iter().cloned()).collect::<BTreeSet<String>>().into_iter().collect()
        };
        let ids: Vec<Vec<String>> = groups.iter().map(ids).collect();
        let lead: Vec<usize> = groups.iter().filter_map(|at| of(at).first().copied()).collect();
        GroupQuestion {
            key: known::key(&groups.iter().map(spellings).collect::<Vec<_>>()),
            text: words::question(self.desk, &lead, &ids, whole),
            choices: choices(groups.len(), whole),
            ids,
            likely,
        }
    }
}

fn choices(count: usize, whole: bool) -> Vec<String> {
    let mut choices = Vec::new();
    if whole || count == 2 {
        choices.push(SameRecipient::Together.to_string());
    }
    if count > 2 {
        for size in (2..count).rev() {
            choices
                .extend(some_of(count, size).into_iter().filter(|some| whole || size == 2 && some.starts_with("1+")));
        }
    }
    choices.push(SameRecipient::Apart.to_string());
    choices
}

/// All ways to take `size` of the numbers 1 to `count`, as "1+3".
fn some_of(count: usize, size: usize) -> Vec<String> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in 0..size {
        let longer = |some: Vec<usize>| {
            let from = some.last().copied().unwrap_or(0) + 1;
            (from..=count).map(move |next| some.iter().copied().chain([next]).collect::<Vec<usize>>())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all.into_iter().map(|some| some.iter().map(ToString::to_string).collect::<Vec<_>>().join("+")).collect()
}
