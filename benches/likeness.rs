//! How long grouping takes, from 2,000 to 200,000 orders of which three in ten go to somebody who ordered before, half
//! of those written another way. Run with `cargo bench --bench likeness [LARGEST]`; the curve is in DEVELOPERS.md.

use std::time::Instant;

use dawnpack::model::recipient::Recipient;
use dawnpack::plan::likeness::groups::{Candidate, group};
use dawnpack::plan::likeness::known::Known;

/// The minimal standard generator of Park and Miller (1988), so that every run groups the same.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0 * 48_271 % 0x7fff_ffff;
        usize::try_from(self.0).unwrap_or(0) % sides
    }

    fn word(&mut self, syllables: usize) -> String {
        const SYLLABLES: [&str; 24] = [
            "ba", "den", "fo", "gar", "hel", "in", "jo", "ka", "lor", "mi", "na", "ot", "per", "qua", "ro", "sen",
            "ti", "ul", "va", "wes", "xi", "yo", "zan", "mer",
        ];
        (0..syllables).map(|_| SYLLABLES[self.roll(SYLLABLES.len())]).collect()
    }
}

fn people(count: usize) -> Vec<Recipient> {
    let mut dice = Dice(20_261_125);
    let given: Vec<String> = (0..800).map(|_| dice.word(2)).collect();
    let surnames: Vec<String> = (0..5_000).map(|_| dice.word(3)).collect();
    let streets: Vec<String> = (0..3_000).map(|_| dice.word(3)).collect();
    let towns: Vec<String> = (0..2_000).map(|_| dice.word(3)).collect();
    let mut all: Vec<Recipient> = Vec::new();
    while all.len() < count {
        if all.len() > 10 && dice.roll(10) < 3 {
            let mut again = all[dice.roll(all.len())].clone();
            match dice.roll(6) {
                0 => again.name = again.name.to_uppercase(),
                1 => again.name.insert(3, 'x'),
                2 => again.lines = again.lines.iter().map(|line| line.replace("Street", "St.")).collect(),
                _ => {}
            }
            all.push(again);
            continue;
        }
        let town = dice.roll(towns.len());
        let unit = (dice.roll(4) == 0).then(|| format!("Apt {}", dice.roll(40) + 1));
        all.push(Recipient {
            name: format!("{} {}", given[dice.roll(given.len())], surnames[dice.roll(surnames.len())]),
            company: None,
            lines: [Some(format!("{} {} Street", dice.roll(400) + 1, streets[dice.roll(streets.len())])), unit]
                .into_iter()
                .flatten()
                .collect(),
            city: towns[town].clone(),
            region: "OR".to_owned(),
            postal_code: format!("97{:03}", town % 1000),
            country: "US".parse().ok(),
            country_as_written: None,
            email: None,
        });
    }
    all
}

fn main() {
    let largest = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(200_000);
    for count in [2_000, 6_000, 20_000, 60_000, 200_000].into_iter().filter(|count| *count <= largest) {
        let people = people(count);
        let candidates: Vec<Candidate<'_>> =
            people.iter().enumerate().map(|(id, to)| Candidate { id: format!("s:{id}"), to }).collect();
        let started = Instant::now();
        let grouping = group(&candidates, &Known::default());
        let took = started.elapsed();
        println!(
            "{count:>7} orders, {:>6} groups, {:>5} questions: {took:?}",
            grouping.groups.len(),
            grouping.questions.len()
        );
    }
}
