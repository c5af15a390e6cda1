//! Grouping by example. Common practice, no source: who shares a parcel and who doesn't.

use super::*;
use crate::model::recipient::Recipient;
use crate::model::reply::SameRecipient;

fn at(name: &str, lines: &[&str]) -> Recipient {
    Recipient {
        name: name.into(),
        company: None,
        lines: lines.iter().map(|line| (*line).to_owned()).collect(),
        city: "Gullhaven".into(),
        region: "OR".into(),
        postal_code: "97099".into(),
        country: "US".parse().ok(),
        country_as_written: None,
        email: None,
    }
}

fn mail(name: &str, lines: &[&str], email: &str) -> Recipient {
    Recipient { email: Some(email.into()), ..at(name, lines) }
}

/// The groups of `people` as letters, and how many questions there are: a is the first of them.
fn grouped(people: &[Recipient], known: &Known) -> (String, Vec<GroupQuestion>) {
    let letters = ["a", "b", "c", "d", "e"];
    let candidates: Vec<Candidate<'_>> =
        letters.iter().zip(people).map(|(id, to)| Candidate { id: (*id).to_owned(), to }).collect();
    let grouping = group(&candidates, known);
    (grouping.groups.iter().map(|group| group.ids.concat()).collect::<Vec<_>>().join(" "), grouping.questions)
}

fn two(a: Recipient, b: Recipient) -> &'static str {
    let (groups, questions) = grouped(&[a, b], &Known::default());
    match (groups.as_str(), questions.len()) {
        ("ab", 0) => "same",
        ("a b", 1) => "asked",
        ("a b", 0) => "apart",
        _ => "neither",
    }
}

#[test]
fn one_person_written_twice_is_one() {
    let ines = || at("Ines Okonjo", &["88 Tern Street", "Apt 4"]);
    for other in [
        at("OKONJO, INES", &["88 Tern St #4"]),
        at("Ms. Ines Okonjo", &["88 TERN STREET APT. 4"]),
        at("Inés Okonjo", &["88 Tern St", "Apartment 4"]),
        at("Ines Okonkjo", &["88 Tern Street", "Apt 4"]),
        at("Ines Okonoj", &["88 Tern Street", "Apt 4"]),
        Recipient { company: Some("Gull Club".into()), ..ines() },
        Recipient { postal_code: "97909".into(), ..ines() },
        Recipient { postal_code: "97099-1234".into(), ..ines() },
        Recipient { city: "Gullhavn".into(), ..ines() },
    ] {
        assert_eq!(two(ines(), other.clone()), "same", "{other:?}");
    }
}

#[test]
fn what_one_lacks_is_asked() {
    let ines = || at("Ines Okonjo", &["88 Tern Street", "Apt 4"]);
    for other in [
        at("I. Okonjo", &["88 Tern St Apt 4"]),
        at("Ines Okonjo", &["88 Tern St"]),
        at("Okonjo", &["88 Tern St Apt 4"]),
        at("Ines Maria Okonjo", &["88 Tern St Apt 4"]),
    ] {
        assert_eq!(two(ines(), other.clone()), "asked", "{other:?}");
    }
}

#[test]
fn what_one_lacks_is_made_good_by_all_the_rest() {
    let ines = || at("Ines Okonjo", &["88 Tern Street", "Apt 4"]);
    for other in [at("Ines", &["88 Tern St Apt 4"]), at("Ines Okonjo", &["Tern St Apt 4"])] {
        assert_eq!(two(ines(), other.clone()), "same", "{other:?}");
    }
    // Not where another one could be meant: of another surname behind the door, or of the name in the street.
    let people = [at("Ines", &["88 Tern St"]), at("Ines Okonjo", &["88 Tern St"]), at("Ines Adler", &["88 Tern St"])];
    assert_eq!(grouped(&people, &Known::default()).0, "a b c");
    let people =
        [at("Ines Okonjo", &["Tern St"]), at("Ines Okonjo", &["88 Tern St"]), at("Ines Okonkjo", &["12 Tern St"])];
    assert_eq!(grouped(&people, &Known::default()).0, "a b c");
    // Nor where that other one is himself in doubt.
    let people =
        [at("Ines Okonjo", &["Tern St"]), at("Ines Okonjo", &["88 Tern St"]), at("I. Okonjo", &["12 Tern St"])];
    assert_eq!(grouped(&people, &Known::default()).0, "a b c");
}

#[test]
fn a_slip_that_tears_two_apart_leaves_the_others_together() {
    // b and c are each one with a, and not with one another; d and e are one with a.
    let flat = ["88 Tern St", "Apt 4"];
    let people = ["Ivo Sandlersk", "Ivo Sandler", "Ivo Sandlerskij", "Ivo Sandlersk", "Ivo Sandlersj"];
    let people = people.map(|name| at(name, &flat));
    assert_eq!(grouped(&people, &Known::default()).0, "ade b c");
}

#[test]
fn two_people_are_never_one_unasked() {
    let ines = || at("Ines Okonjo", &["88 Tern Street", "Apt 4"]);
    for other in [
        at("Ines Adler", &["88 Tern Street", "Apt 4"]),
        at("Tomas Okonjo", &["88 Tern Street", "Apt 4"]),
        at("Ines Okonjo", &["88 Tern Street", "Apt 5"]),
        at("Ines Okonjo", &["86 Tern Street", "Apt 4"]),
        at("Ines Okonjo", &["88 Tern Court", "Apt 4"]),
        at("Ines Okonjo", &["88 Heron Street", "Apt 4"]),
        at("Inez Okonjo", &["88 Tern Street", "Apt 4"]),
        Recipient { city: "Fogport".into(), postal_code: "97203".into(), ..ines() },
        Recipient { city: "Fogport".into(), region: "WA".into(), ..ines() },
        Recipient { country: "CA".parse().ok(), ..ines() },
    ] {
        assert_ne!(two(ines(), other.clone()), "same", "{other:?}");
    }
    assert_ne!(two(at("William Okonjo", &["8 Tern St"]), at("Bill Okonjo", &["8 Tern St"])), "same");
    assert_ne!(two(at("Julian Okonjo", &["8 Tern St"]), at("Juliana Okonjo", &["8 Tern St"])), "same");
    assert_ne!(two(at("Jan Okonjo", &["8 Tern St"]), at("Jon Okonjo", &["8 Tern St"])), "same");
    assert_ne!(two(at("Ivo Okonjo Jr.", &["8 Tern St"]), at("Ivo Okonjo Sr.", &["8 Tern St"])), "same");
    assert_ne!(two(at("Ivo Okonjo", &["21 Tern St"]), at("Ivo Okonjo", &["12 Tern St"])), "same");
}

#[test]
fn a_mailbox_speaks_for_an_initial_only_if_it_holds_the_name() {
    let street = ["88 Tern Street"];
    let initial = |email| mail("I. Okonjo", &street, email);
    assert_eq!(two(mail("Ines Okonjo", &street, "ines@example.net"), initial("ines@example.net")), "same");
    assert_eq!(two(mail("Ines Okonjo", &street, "i.okonjo@example.net"), initial("i.okonjo@example.net")), "asked");
    let other = two(mail("Ines Okonjo", &street, "ines@example.net"), mail("Ines Okonjo", &street, "tom@example.net"));
    assert_eq!(other, "asked");
    let two_boxes =
        two(mail("Ines Okonjo", &street, "ines@example.net"), mail("Ines Okonjo", &street, "pins@example.org"));
    assert_eq!(two_boxes, "same");
}

#[test]
fn whoever_could_be_either_joins_neither_and_is_asked_about_once() {
    let people = [
        at("Ines Okonjo", &["88 Tern St", "Apt 4"]),
        at("Ines Okonjo", &["88 Tern St"]),
        at("Ines Okonjo", &["88 Tern St", "Apt 5"]),
    ];
    let (groups, questions) = grouped(&people, &Known::default());
    assert_eq!(groups, "a b c");
    assert_eq!(questions.len(), 1, "{questions:?}");
}

#[test]
fn a_chain_of_slips_never_joins_two_who_contradict() {
    let flat = ["88 Tern St", "Apt 4"];
    let people = ["Ivo Sandler", "Ivo Sandlersk", "Ivo Sandlerskij"].map(|name| at(name, &flat));
    assert_eq!(grouped(&people[..2], &Known::default()).0, "ab");
    assert_eq!(grouped(&people[1..], &Known::default()).0, "ab");
    let (groups, questions) = grouped(&people, &Known::default());
    assert_eq!((groups.as_str(), questions.len()), ("a b c", 1));
    assert_eq!(questions[0].choices, ["together", "1+2", "1+3", "2+3", "apart"]);
    let mut known = Known::default();
    for (answer, held) in [("together", ["abc"; 3]), ("1+2", ["a bc", "ab c", "ac b"]), ("apart", ["a b c"; 3])] {
        known.learn(&questions[0].key, &answer.parse().unwrap());
        let (groups, left) = grouped(&people, &known);
        assert!(held.contains(&groups.as_str()), "{answer}: {groups}");
        assert_eq!(left, [], "{answer}");
    }
}

#[test]
fn an_answer_holds_and_can_be_taken_back() {
    let people = [at("Ines Okonjo", &["88 Tern Street", "Apt 4"]), at("I. Okonjo", &["88 Tern St"])];
    let (groups, questions) = grouped(&people, &Known::default());
    // Two things in doubt at once are asked about only where it can be counted how often that happens.
    assert_eq!((groups.as_str(), questions.len()), ("a b", 0));
    let people = [at("Ines Okonjo", &["88 Tern Street"]), at("I. Okonjo", &["88 Tern St"])];
    let (_, questions) = grouped(&people, &Known::default());
    let mut known = Known::default();
    known.learn(&questions[0].key, &SameRecipient::Together);
    assert_eq!(grouped(&people, &known), ("ab".to_owned(), Vec::new()));
    known.learn(&questions[0].key, &SameRecipient::Apart);
    assert_eq!(grouped(&people, &known), ("a b".to_owned(), Vec::new()));
    // For ever and for every order: by how they are written, whatever the case.
    let shouted = [at("INES OKONJO", &["88 TERN STREET"]), at("I OKONJO", &["88 tern st."])];
    assert_eq!(grouped(&shouted, &known), ("a b".to_owned(), Vec::new()));
}

#[test]
fn a_question_can_be_decided_by_reading_it() {
    let people = [at("Ines Okonjo", &["88 Tern Street"]), at("I. Okonjo", &["88 Tern St"])];
    let (_, questions) = grouped(&people, &Known::default());
    let text = &questions[0].text;
    let either = [
        "Ines Okonjo, 88 Tern Street, Gullhaven and I. Okonjo, 88 Tern St, Gullhaven: one person? (a, b)",
        "I. Okonjo, 88 Tern St, Gullhaven and Ines Okonjo, 88 Tern Street, Gullhaven: one person? (b, a)",
    ];
    assert!(either.contains(&text.as_str()), "{text}");
    assert_eq!(questions[0].choices, ["together", "apart"]);
}

#[test]
fn a_merge_says_why() {
    let people = [at("Ines Okonjo", &["88 Tern Street"]), at("Ines Okonkjo", &["88 Tern St"])];
    let candidates: Vec<Candidate<'_>> =
        ["a", "b"].iter().zip(&people).map(|(id, to)| Candidate { id: (*id).to_owned(), to }).collect();
    let grouping = group(&candidates, &Known::default());
    let reason = &grouping.groups[0].reasons[0];
    assert!(reason.contains("name but for a slip") && reason.contains("same house number"), "{reason}");
}
