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
            Level::Differs | Level::Garbled | Level::Near => why.push(format!("another {field}")),
            Level::Neither | Level::Missing => {}
        }
    }
    if comparison.email == Level::Equal {
        why.push("same email".to_owned());
    }
    why.join(", ")
}

/// What is asked about groups, each spoken for by one of its spellings.
pub(super) fn question(desk: &Desk<'_>, lead: &[usize], ids: &[Vec<String>], whole: bool) -> String {
    let nodes: Vec<&Node<'_>> = lead.iter().filter_map(|&at| desk.nodes.get(at)).collect();
    let one_spelling =
        nodes.iter().all(|node| nodes.first().is_some_and(|first| first.fingerprint == node.fingerprint));
    let one_town = nodes.iter().all(|node| nodes.first().is_some_and(|first| first.to.city == node.to.city));
    let written = |node: &&Node<'_>| {
        let to = node.to;
        let mut parts = vec![to.name.clone()];
        parts.extend(to.company.clone());
        parts.push(to.lines.join(" "));
        parts.push(to.city.clone());
        if !one_town {
            parts.push(to.postal_code.clone());
        }
        if one_spelling {
            parts.extend(to.email.clone());
        }
        parts.retain(|part| !part.is_empty());
        parts.join(", ")
    };
    let all: Vec<String> = nodes.iter().map(written).collect();
    let about = ids.iter().flatten().cloned().collect::<Vec<_>>().join(", ");
    match all.as_slice() {
        [one, other] => format!("{one} and {other}: one person? ({about})"),
        [first, others @ ..] if !whole => {
            let others: Vec<String> = (2..).zip(others).map(|(n, other)| format!("{n}. {other}")).collect();
            format!("1. {first}: the same as {}, or neither? ({about})", others.join(" or "))
        }
        all => {
            let all: Vec<String> = (1..).zip(all).map(|(n, one)| format!("{n}. {one}")).collect();
            format!("{}: one person? ({about})", all.join("; "))
        }
    }
}
