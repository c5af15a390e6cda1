//! Pairs of addresses: one place written in two lawful ways, and two places that differ in one part that matters.

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
    for (a, b) in pairs("same", 300, 400) {
        let verdict = Comparison::new(&Traits::new(&to(&a)), &Traits::new(&to(&b))).verdict();
        assert_eq!(verdict, Verdict::Same, "{a}\n{b}");
    }
}
