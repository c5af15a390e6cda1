//! A seller's month, simulated: what things really weigh, what the files say, and parcels on a scale.

use std::collections::BTreeMap;

use dawnpack::model::catalogue::Code;
use dawnpack::model::mass::{Estimate, Mass, MassUnit, Weight};
use dawnpack::model::parcel::ParcelRef;
use dawnpack::model::scale::{Reading, Thing};
use dawnpack::plan::weighing::learning::Weighed;
use dawnpack::plan::weighing::masses::{Known, Sealed};
use dawnpack::plan::weighing::scale::OnScale;
use rust_decimal::Decimal;

/// Scatter of packing, g, and what of it is planned.
pub(super) const SCATTER_G: f64 = 0.8;
const PLANNED_G: f64 = 0.65;
/// How far the catalogue is off, and what it claims.
pub(super) const OFF: f64 = 0.12;
const CLAIMED: f64 = 0.05;
/// How far the mailers' tares are off.
pub(super) const TARES_OFF: f64 = 0.05;

/// `SplitMix64` (Steele, Lea, Flood: Fast Splittable Pseudorandom Number Generators, OOPSLA 2014): the same numbers on every
/// machine and with every version of every crate.
pub(super) struct Random(u64);

impl Random {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 up to 1.
    fn unit(&mut self) -> f64 {
        f64::from(u32::try_from(self.next() >> 32).unwrap()) / 4_294_967_296.0
    }

    pub(super) fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(end).unwrap()).unwrap()
    }

    /// Of a normal distribution, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

pub(super) struct Month {
    pub(super) random: Random,
    pub(super) known: Known,
    pub(super) true_g: BTreeMap<Thing, f64>,
    codes: Vec<Code>,
    step: Decimal,
    count: u32,
}

const MAILERS: [(&str, f64); 3] = [("A", 7.5), ("B", 11.5), ("C", 19.0)];

impl Month {
    pub(super) fn new(mut random: Random, articles: usize, step_g: f64) -> Self {
        let (mut known, mut true_g, mut codes) = (Known::new(), BTreeMap::new(), Vec::new());
        for number in 0..articles {
            let code = Code(format!("P{number:03}"));
            let thing = Thing::Article(code.clone());
            let really = 4.0 + 11.0 * random.unit();
            let mean_g = really * (1.0 + OFF * random.normal());
            known.insert(thing.clone(), Estimate { mean_g, sd_g: mean_g * CLAIMED });
            true_g.insert(thing, really);
            codes.push(code);
        }
        for (code, mean_g) in MAILERS {
            let thing = Thing::Mailer(code.to_owned());
            true_g.insert(thing.clone(), mean_g * (1.0 + TARES_OFF * random.normal()));
            known.insert(thing, Estimate { mean_g, sd_g: mean_g * TARES_OFF });
        }
        Self { random, known, true_g, codes, step: Decimal::try_from(step_g).unwrap(), count: 0 }
    }

    /// A parcel of 1 to 6 pins.
    pub(super) fn parcel(&mut self, place: usize) -> Sealed {
        self.count += 1;
        let pins = 1 + self.random.below(6);
        let mut articles = BTreeMap::new();
        for _ in 0..pins {
            let code = self.codes[self.random.below(self.codes.len())].clone();
            *articles.entry(code).or_default() += 1;
        }
        Sealed {
            parcel: ParcelRef(format!("{:05}-{place:02}", self.count)),
            planned: Estimate { mean_g: 0.0, sd_g: 0.0 },
            articles,
            mailer: MAILERS[self.random.below(3)].0.to_owned(),
            packing: Estimate { mean_g: 7.0 + 5.0 * self.random.unit(), sd_g: PLANNED_G },
        }
    }

    /// What the scale shows of `sealed` with `inside` in it.
    pub(super) fn on_scale(&mut self, sealed: &Sealed, inside: &BTreeMap<Code, u32>) -> OnScale {
        let of = |thing: Thing| self.true_g[&thing];
        let pins: f64 = inside.iter().map(|(code, n)| f64::from(*n) * of(Thing::Article(code.clone()))).sum();
        let tare = of(Thing::Mailer(sealed.mailer.clone()));
        let mass = pins + tare + sealed.packing.mean_g + SCATTER_G * self.random.normal();
        let steps = (Decimal::try_from(mass).unwrap() / self.step).round();
        let weight = Weight::new(steps * self.step, MassUnit::Gram);
        OnScale { sealed: sealed.clone(), reading: Some(Reading::new(weight, Mass::from_g(self.step))) }
    }

    pub(super) fn piece(&mut self, sealed: &Sealed) -> Code {
        let pieces: Vec<&Code> = sealed.articles.iter().flat_map(|(code, n)| (0..*n).map(move |_| code)).collect();
        pieces[self.random.below(pieces.len())].clone()
    }

    /// Parcels to learn from, of which `slips` lack a piece; and those again that lack none.
    pub(super) fn weighed(&mut self, parcels: usize, slips: f64) -> (Vec<Weighed>, Vec<Weighed>) {
        let (mut all, mut clean) = (Vec::new(), Vec::new());
        for _ in 0..parcels {
            let sealed = self.parcel(0);
            let mut inside = sealed.articles.clone();
            let slip = self.random.unit() < slips;
            if slip {
                let missing = self.piece(&sealed);
                take(&mut inside, &missing);
            }
            let OnScale { sealed, reading } = self.on_scale(&sealed, &inside);
            let weighed = Weighed { sealed, reading: reading.unwrap() };
            if !slip {
                clean.push(weighed.clone());
            }
            all.push(weighed);
        }
        (all, clean)
    }
}

/// Takes one piece out.
pub(super) fn take(inside: &mut BTreeMap<Code, u32>, code: &Code) {
    let copies = inside.get_mut(code).unwrap();
    *copies -= 1;
    if *copies == 0 {
        inside.remove(code);
    }
}

#[test]
fn random_numbers_are_those_of_the_paper() {
    // The reference implementation's first numbers from 1234567 (prng.di.unimi.it/splitmix64.c), from memory.
    let mut random = Random::new(1_234_567);
    assert_eq!([random.next(), random.next()], [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]);
    let mean = (0..10_000).map(|_| random.normal()).sum::<f64>() / 10_000.0;
    let square = (0..10_000).map(|_| random.normal().powi(2)).sum::<f64>() / 10_000.0;
    assert!(mean.abs() < 0.04 && (square - 1.0).abs() < 0.06, "{mean} {square}");
}
