//! How merges and questions are put.
//!
//! Handed groups; promises short sentences with names and addresses as they were written. Turned down: showing
//! weights to the seller, who can't check them.

use super::compare::{Comparison, Level};
use super::groups::{Desk, Node};
use super::names::Names;

/// A line for each spelling beyond the first that says why it belongs to one before it.
pub(super) fn reasons(desk: &Desk<'_>, group: &[usize]) -> Vec<String> {
    let mut reasons = Vec::new();
    for (place, &at) in group.iter().enumerate().skip(1) {
        let likest = group.iter().take(place).filter_map(|&before| {
            let comparison = desk.comparison(before, at)?;
            Some((comparison.objections.len(), -comparison.bits(), before, comparison))
        });
        let likest = likest.min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
        let Some((_, _, before, comparison)) = likest else { continue };
        if let (Some(a), Some(b)) = (desk.nodes.get(before), desk.nodes.get(at)) {
            reasons.push(format!("{} with {}: {}", ids(a), ids(b), why(&comparison, a, b)));
        }
    }
    reasons
}

fn ids(node: &Node<'_>) -> String {
    node.ids.iter().cloned().collect::<Vec<_>>().join(", ")
}

fn why(comparison: &Comparison, a: &Node<'_>, b: &Node<'_>) -> String {
    if a.fingerprint == b.fingerprint {
        return "same name and address".to_owned();
    }
    if !comparison.objections.is_empty() {
        return "you said that they are one".to_owned();
    }
    let mut why = vec![match comparison.names {
        Names::Same => "same name".to_owned(),
        Names::Slip => format!("name but for a slip (`{}`, `{}`)", a.to.name, b.to.name),
        Names::SurnameSlip => {
            format!("same given name, and surname but for a slip (`{}`, `{}`)", a.to.name, b.to.name)
        }
        Names::NoSurname if comparison.email != Level::Equal => {
            format!("`{}` and `{}` at one address", a.to.name, b.to.name)
        }
        Names::Initial | Names::NoSurname | Names::Shorter | Names::Close | Names::Garbled => {
            format!("`{}` and `{}` with one mailbox", a.to.name, b.to.name)
        }
        Names::OtherGiven | Names::OtherSurname | Names::OtherGeneration | Names::Other => "one mailbox".to_owned(),
    }];
    match comparison.number {
        Level::Equal => why.push("same house number".to_owned()),
        Level::Missing => why.push("house number on one only".to_owned()),
        Level::Slip | Level::Neither | Level::Garbled | Level::Near | Level::Differs => {}
    }
    if comparison.unit == Level::Equal {
        why.push("same flat or box".to_owned());
    }
    let fields = [("street", comparison.street), ("town", comparison.city), ("postal code", comparison.postal)];
    for (field, level) in fields {
        match level {
            Level::Equal => why.push(format!("same {field}")),
            Level::Slip => why.push(format!("{field} but for a slip")),
            Level::Garbled => why.push(format!("{field} nearly the same")),
            Level::Differs | Level::Near => why.push(format!("another {field}")),
            Level::Neither | Level::Missing => {}
        }
    }
    if comparison.email == Level::Equal {
        why.push("same email".to_owned());
    }
    why.join(", ")
}

/// What is asked about groups, each spoken for by one of its spellings. What they have in common is said once, so that
/// the eye falls on what differs.
pub(super) fn question(desk: &Desk<'_>, lead: &[usize], ids: &[Vec<String>], whole: bool) -> String {
    let nodes: Vec<&Node<'_>> = lead.iter().filter_map(|&at| desk.nodes.get(at)).collect();
    let told = Told::of(&nodes);
    let all: Vec<String> = nodes.iter().map(|node| told.own(node)).collect();
    let (before, behind) = (told.before(&nodes), told.behind(&nodes));
    let about = ids.iter().flatten().cloned().collect::<Vec<_>>().join(", ");
    match all.as_slice() {
        [one, other] => format!("{before}{one} and {other}{behind}: one person? ({about})"),
        [first, others @ ..] if !whole => {
            let others: Vec<String> = (2..).zip(others).map(|(n, other)| format!("{n}. {other}")).collect();
            format!("{before}1. {first}: the same as {}, or neither{behind}? ({about})", others.join(" or "))
        }
        all => {
            let all: Vec<String> = (1..).zip(all).map(|(n, one)| format!("{n}. {one}")).collect();
            format!("{before}{}{behind}: one person? ({about})", all.join("; "))
        }
    }
}

/// What is said of each of those asked about, and what of all at once.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    /// Name and address of each; the postal code too where the towns differ.
    Whole { codes: bool },
    /// One address, and each name.
    Names,
    /// One name, and each address.
    Addresses { codes: bool },
    /// Nothing differs but the mailbox.
    Mailboxes,
}

impl Told {
    fn of(nodes: &[&Node<'_>]) -> Self {
        let alike = |same: &dyn Fn(&Node<'_>, &Node<'_>) -> bool| {
            nodes.iter().all(|node| nodes.first().is_some_and(|first| same(first, node)))
        };
        let codes = !alike(&|a, b| a.to.city == b.to.city);
        let one_company = alike(&|a, b| a.to.company == b.to.company);
        let one_place =
            alike(&|a, b| a.to.lines == b.to.lines && a.to.city == b.to.city && a.to.postal_code == b.to.postal_code);
        if alike(&|a, b| a.fingerprint == b.fingerprint) {
            Self::Mailboxes
        } else if one_company && one_place {
            Self::Names
        } else if one_company && alike(&|a, b| a.to.name == b.to.name) {
            Self::Addresses { codes }
        } else {
            Self::Whole { codes }
        }
    }

    fn own(self, node: &Node<'_>) -> String {
        let to = node.to;
        let address = |codes: bool| {
            let mut parts = vec![to.lines.join(" "), to.city.clone()];
            if codes {
                parts.push(to.postal_code.clone());
            }
            parts
        };
        let named = |rest: Vec<String>| [vec![to.name.clone()], to.company.iter().cloned().collect(), rest].concat();
        let parts = match self {
            Self::Whole { codes } => named(address(codes)),
            Self::Names => vec![to.name.clone()],
            Self::Addresses { codes } => address(codes),
            Self::Mailboxes => named([address(false), to.email.iter().cloned().collect()].concat()),
        };
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }

    fn before(self, nodes: &[&Node<'_>]) -> String {
        match (self, nodes.first()) {
            (Self::Addresses { .. }, Some(first)) => {
                let company = first.to.company.as_ref().map(|company| format!(", {company}")).unwrap_or_default();
                format!("{}{company}, at ", first.to.name)
            }
            (Self::Addresses { .. } | Self::Whole { .. } | Self::Names | Self::Mailboxes, _) => String::new(),
        }
    }

    fn behind(self, nodes: &[&Node<'_>]) -> String {
        match (self, nodes) {
            (Self::Names, [first, ..]) => {
                let to = first.to;
                let company = to.company.clone().unwrap_or_default();
                let parts = [company, to.lines.join(" "), to.city.clone()];
                let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
                format!(", {} at {}", if nodes.len() == 2 { "both" } else { "all" }, parts.join(", "))
            }
            (Self::Names | Self::Addresses { .. } | Self::Whole { .. } | Self::Mailboxes, _) => String::new(),
        }
    }
}
