//! Pairs of addresses: one place written in two lawful ways, and two places that differ in one part that matters.

use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::compare::{Comparison, Traits, Verdict};

use super::super::data::table;
use super::{read, to};

/// The pairs of that kind, as whole texts; at least so many of them of the US and of elsewhere.
fn pairs(kind: &str, us: usize, abroad: usize) -> Vec<(String, String)> {
    let rows = table("address_pairs.csv");
    assert!(rows.iter().all(|row| ["same", "apart"].contains(&row["is"].as_str()) && !row["source"].is_empty()));
    let of_kind = rows.into_iter().filter(|row| row["is"] == kind);
    let pairs: Vec<(String, String)> = of_kind.map(|row| (row["one"].clone(), row["other"].clone())).collect();
    let in_us =
        pairs.iter().filter(|(one, _)| ["US|", "PR|", "GU|", "VI|"].iter().any(|code| one.starts_with(code))).count();
    assert!(in_us >= us && pairs.len() - in_us >= abroad, "{in_us} of {}", pairs.len());
    pairs
}

#[test]
fn one_place_written_in_two_lawful_ways_is_one() {
    let mut parted = Vec::new();
    for (a, b) in pairs("same", 300, 400) {
        let (one, other) = (read(&a), read(&b));
        if !one.same_place(&other) || !other.same_place(&one) {
            parted.push(format!("{a}\n{b}\n{one:?}\n{other:?}\n"));
        }
    }
    assert!(parted.is_empty(), "{} pairs\n{}", parted.len(), parted.join("\n"));
}

#[test]
fn two_places_that_differ_in_one_part_are_two() {
    let mut joined = Vec::new();
    for (a, b) in pairs("apart", 180, 240) {
        let (one, other) = (read(&a), read(&b));
        if one.same_place(&other) || other.same_place(&one) {
            joined.push(format!("{a}\n{b}\n{one:?}\n{other:?}\n"));
        }
    }
    assert!(joined.is_empty(), "{} pairs\n{}", joined.len(), joined.join("\n"));
}

/// Of one name, both writings of one place are one recipient without a question.
#[test]
fn one_name_at_one_place_is_one_recipient_unasked() {
    let mut asked = Vec::new();
    for (a, b) in pairs("same", 300, 400) {
        let comparison = Comparison::new(&Traits::new(&to(&a)), &Traits::new(&to(&b)));
        if comparison.verdict() != Verdict::Same {
            asked.push(format!("{a} // {b} :: {:?}", comparison.objections));
        }
    }
    assert!(asked.is_empty(), "{} asked\nASK {}", asked.len(), asked.join("\nASK "));
}

/// Two places are never one recipient unasked, whatever the name says and however the mailbox agrees.
#[test]
fn one_name_at_two_places_is_nobody_to_merge_unasked() {
    let at = |text: &str, email: Option<&str>| Recipient { email: email.map(str::to_owned), ..to(text) };
    let mailbox = Some("ines.okonjo@example.net");
    let mut merged = Vec::new();
    for (a, b) in pairs("apart", 180, 240) {
        for (x, y) in [(None, None), (mailbox, mailbox), (mailbox, None), (None, mailbox)] {
            let (one, other) = (Traits::new(&at(&a, x)), Traits::new(&at(&b, y)));
            for comparison in [Comparison::new(&one, &other), Comparison::new(&other, &one)] {
                if comparison.verdict() == Verdict::Same {
                    merged.push(format!("{a}\n{b}\n{x:?} {y:?} {comparison:?}\n"));
                }
            }
        }
    }
    assert!(merged.is_empty(), "{} times\n{}", merged.len(), merged.join("\n"));
}
