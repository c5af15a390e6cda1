//! How long it takes to cut rolls and choose a mailer, for 1 to 30 pins and for 60: of five designs, as parcels mostly
//! are, and all unlike, which is the worst there is. Run with `cargo bench --bench packing [PARCELS]`; the table is in
//! DEVELOPERS.md.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use dawnpack::model::catalogue::{Code, Kind};
use dawnpack::model::length::Length;
use dawnpack::model::mailer::Mailer;
use dawnpack::model::mass::Mass;
use dawnpack::model::money::{Currency, Money};
use dawnpack::model::parcel::Piece;
use dawnpack::model::rules::PackingRules;
use dawnpack::plan::{mailers, rolls};
use rust_decimal::Decimal;

/// The minimal standard generator of Park and Miller (1988), so that every run packs the same.
struct Dice(i64);

impl Dice {
    fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0 = self.0 * 48_271 % 0x7fff_ffff;
        low + self.0 % (high - low + 1)
    }
}

fn mm(value: i64) -> Length {
    Length::from_mm(Decimal::from(value))
}

fn pins(dice: &mut Dice, count: i64, designs: i64) -> Vec<Piece> {
    let designs: Vec<Piece> = (0..designs.min(count))
        .map(|design| Piece {
            code: Code(format!("PIN-{design}")),
            kind: Kind::Pin,
            width: mm(dice.between(18, 45)),
            height: mm(dice.between(18, 45)),
            thickness: mm(dice.between(9, 13)),
            share: Decimal::from(if dice.between(1, 12) == 1 { 2 } else { 1 }),
            mass: Mass::from_g(Decimal::from(8)),
            mass_sd: Mass::ZERO,
        })
        .collect();
    designs.iter().cycle().take(usize::try_from(count).unwrap_or(0)).cloned().collect()
}

fn mailer(code: &str, sides: [i64; 3], cents: i64) -> Mailer {
    Mailer {
        code: code.to_owned(),
        title: code.to_owned(),
        inner_width: mm(sides[0]),
        inner_length: mm(sides[1]),
        max_thickness: mm(sides[2]),
        tare: Mass::ZERO,
        cost: Some(Money::new(Decimal::new(cents, 2), Currency::USD)),
        on_hand: None,
        reused: false,
    }
}

fn main() {
    let parcels = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(40_u32);
    let rules = PackingRules::USUAL;
    let bags = [mailer("A", [105, 175, 35], 28), mailer("B", [150, 215, 45], 36), mailer("C", [220, 265, 60], 52)];
    println!("pins designs   rolls mean      worst   mailers mean      worst");
    for count in [1, 2, 3, 5, 8, 12, 16, 20, 25, 30, 60] {
        for designs in [5, count] {
            let mut dice = Dice(20_261_125);
            let (mut cutting, mut choosing) = (Vec::new(), Vec::new());
            for _ in 0..parcels {
                let pieces = pins(&mut dice, count, designs);
                let started = Instant::now();
                let cut = rolls::cut(&pieces, &rules, mm(240));
                cutting.push(started.elapsed());
                let started = Instant::now();
                let ranked = mailers::rank(&pieces, &rules, &bags, &BTreeMap::new());
                choosing.push(started.elapsed());
                assert!(!cut.is_empty() && ranked.choices.len() <= bags.len());
            }
            let mean = |times: &[Duration]| times.iter().sum::<Duration>() / parcels;
            let worst = |times: &[Duration]| times.iter().max().copied().unwrap_or_default();
            println!(
                "{count:>4} {:>7} {:>12.3?} {:>10.3?} {:>14.3?} {:>10.3?}",
                designs.min(count),
                mean(&cutting),
                worst(&cutting),
                mean(&choosing),
                worst(&choosing)
            );
        }
    }
}
