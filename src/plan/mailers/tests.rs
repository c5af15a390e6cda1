//! Mailers by hand, and their laws.

use proptest::prelude::*;
use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, dec};

use super::*;
use crate::model::catalogue::Code;
use crate::model::mass::Mass;
use crate::model::money::{Currency, Money};

fn mm(value: i64) -> Length {
    Length::from_mm(Decimal::from(value))
}

fn piece(kind: Kind, width: i64, height: i64, thickness: i64) -> Piece {
    Piece {
        code: Code(format!("{kind:?}-{width}-{height}")),
        kind,
        width: mm(width),
        height: mm(height),
        thickness: mm(thickness),
        share: Decimal::ONE,
        mass: Mass::from_g(dec!(8)),
        mass_sd: Mass::ZERO,
    }
}

fn mailer(code: &str, width: i64, length: i64, deepest: i64) -> Mailer {
    Mailer {
        code: code.into(),
        title: code.into(),
        inner_width: mm(width),
        inner_length: mm(length),
        max_thickness: mm(deepest),
        tare: Mass::ZERO,
        cost: None,
        on_hand: None,
        reused: false,
    }
}

fn costing(mailer: Mailer, cost: Decimal) -> Mailer {
    Mailer { cost: Some(Money::new(cost, Currency::USD)), ..mailer }
}

fn codes(ranked: &Ranked<'_>) -> String {
    ranked.choices.iter().map(|choice| choice.mailer.code.as_str()).collect::<Vec<_>>().join(" ")
}

fn thickness(pieces: &[Piece], mailer: &Mailer) -> Option<Length> {
    let ranked = rank(pieces, &PackingRules::USUAL, std::slice::from_ref(mailer), &BTreeMap::new());
    ranked.choices.first().map(|choice| choice.size.thickness)
}

/// By hand: a bag of 120 × 160 round a roll 22 thick leaves 98 × 138. A roll of 110 × 38 lies along its length, two side
/// by side (76 of 98); a third goes on top, 44 thick, which leaves 76 × 116: just enough, and enough for a fourth
/// beside it.
#[test]
fn two_rolls_lie_side_by_side_and_a_third_on_top() {
    let fit = |count: usize| thickness(&vec![piece(Kind::Other, 70, 30, 10); count], &mailer("A", 120, 160, 45));
    assert_eq!(fit(2), Some(mm(22)));
    assert_eq!(fit(3), Some(mm(44)));
    assert_eq!(fit(4), Some(mm(44)));
    assert_eq!(fit(5), None);
}

/// A print of 140 × 90 lies against the wall of a bag of 100 × 150 either way up, and one of 140 × 110 doesn't. Its
/// thickness counts.
#[test]
fn flat_things_fit_the_face() {
    let bag = mailer("A", 100, 150, 45);
    let with = |width, height, thick| {
        thickness(&[piece(Kind::Pin, 30, 30, 10), piece(Kind::Flat, width, height, thick)], &bag)
    };
    assert_eq!(with(140, 90, 1), Some(mm(23)));
    assert_eq!(with(90, 140, 1), Some(mm(23)));
    assert_eq!(with(140, 110, 1), None);
    assert_eq!(with(90, 140, 24), None);
    assert_eq!(thickness(&[piece(Kind::Flat, 90, 140, 2)], &bag), Some(mm(2)));
}

/// By hand: five pins of 20 × 20 × 10 want a strip of 5 · 20 + 4 · 10 + 40 = 180, and rolls are 28 high and 22 thick. A
/// bag of 190 long leaves 168 round them: one strip cut for the whole side would not lie in it, but four with one
/// beside them do, 150 and 60 wide and 28 + 28 of the 78 that 100 leaves high.
#[test]
fn rolls_are_cut_for_what_a_mailer_has_left() {
    let ranked_mailers = [mailer("A", 100, 190, 30)];
    let pins = vec![piece(Kind::Pin, 20, 20, 10); 5];
    let ranked = rank(&pins, &PackingRules::USUAL, &ranked_mailers, &BTreeMap::new());
    let widths: Vec<Length> = ranked.choices[0].rolls.iter().map(|roll| roll.strip_width).collect();
    assert_eq!(widths.iter().copied().sum::<Length>(), mm(210));
    assert_eq!((ranked.choices[0].layers, ranked.choices[0].size.thickness), (1, mm(22)));
}

#[test]
fn the_cheapest_comes_first_whatever_its_size() {
    let large = costing(mailer("L", 200, 250, 45), dec!(0.10));
    let mailers = [costing(mailer("S", 120, 160, 45), dec!(0.28)), large];
    let ranked = rank(&[piece(Kind::Pin, 20, 20, 10)], &PackingRules::USUAL, &mailers, &BTreeMap::new());
    assert_eq!(codes(&ranked), "L S");
    assert_eq!(ranked.why(0), ["mailer L: the cheapest that takes 1 roll (22 of 45 mm thick); S would cost 0.18 more"]);
    assert_eq!(
        ranked.why(1),
        ["mailer S: with postage the cheapest that takes 1 roll (22 of 45 mm thick); \
        L would cost 0.18 less, but no service takes it for as little"]
    );
}

/// A reused bag without a cost is reckoned at 0.28, as the bag that is no larger costs; one smaller than all at the
/// 0.28 of the next larger; the free reused one says nothing of prices.
#[test]
fn an_empty_cost_is_not_nothing() {
    let free = Mailer { reused: true, ..costing(mailer("F", 110, 150, 45), dec!(0)) };
    let mailers = [
        mailer("U", 130, 170, 45),
        costing(mailer("A", 120, 160, 45), dec!(0.28)),
        costing(mailer("B", 150, 210, 45), dec!(0.36)),
        mailer("T", 100, 140, 45),
        free,
    ];
    let ranked = rank(&[piece(Kind::Pin, 20, 20, 10)], &PackingRules::USUAL, &mailers, &BTreeMap::new());
    assert_eq!(codes(&ranked), "F A T U B");
    let of = |code: &str| ranked.choices.iter().find(|choice| choice.mailer.code == code).map(|choice| choice.cost);
    assert_eq!(of("U"), Some(Cost::Reckoned(dec!(0.28))));
    assert_eq!(of("T"), Some(Cost::Reckoned(dec!(0.28))));
    let unknown = [mailer("U", 130, 170, 45), mailers[4].clone(), mailer("T", 100, 140, 45)];
    let ranked = rank(&[piece(Kind::Pin, 20, 20, 10)], &PackingRules::USUAL, &unknown, &BTreeMap::new());
    assert_eq!(codes(&ranked), "F T U");
}

#[test]
fn what_is_used_up_is_passed_over_and_said() {
    let few = Mailer { on_hand: Some(1), ..costing(mailer("A", 120, 160, 45), dec!(0.28)) };
    let mailers = [costing(mailer("B", 200, 250, 45), dec!(0.36)), few];
    let pins = [piece(Kind::Pin, 20, 20, 10)];
    assert_eq!(codes(&rank(&pins, &PackingRules::USUAL, &mailers, &BTreeMap::new())), "A B");
    let ranked = rank(&pins, &PackingRules::USUAL, &mailers, &BTreeMap::from([("A".into(), 1)]));
    assert_eq!(codes(&ranked), "B");
    assert_eq!(
        ranked.why(0),
        [
            "mailer B: the only one on hand that takes 1 roll (22 of 45 mm thick)",
            "mailer A would come first, but none is left",
        ]
    );
    // One that would not take it is no loss.
    let large = [piece(Kind::Pin, 95, 95, 10)];
    assert_eq!(
        rank(&large, &PackingRules::USUAL, &mailers, &BTreeMap::from([("A".into(), 1)])).used_up,
        Vec::<&Mailer>::new()
    );
}

#[test]
fn what_fits_none_has_no_choice() {
    assert!(
        rank(&[piece(Kind::Pin, 300, 300, 10)], &PackingRules::USUAL, &[mailer("A", 120, 160, 45)], &BTreeMap::new())
            .choices
            .is_empty()
    );
}

/// Whether rolls lie in a room, parted by straight cuts again and again: any way that up to four can lie.
fn lie(rolls: &[(i64, i64)], w: i64, l: i64) -> bool {
    match rolls {
        [] => true,
        [(a, b)] => (*a <= w && *b <= l) || (*b <= w && *a <= l),
        _ => (1..(1_usize << rolls.len()) - 1).any(|part| {
            let side = |inside: bool| {
                let of = rolls.iter().enumerate().filter(move |(place, _)| (part >> place & 1 == 1) == inside);
                of.map(|(_, roll)| *roll).collect::<Vec<_>>()
            };
            let (these, others) = (side(true), side(false));
            (1..w).any(|cut| lie(&these, cut, l) && lie(&others, w - cut, l))
                || (1..l).any(|cut| lie(&these, w, cut) && lie(&others, w, l - cut))
        }),
    }
}

/// All ways to divide so many things.
fn divisions(count: usize) -> Vec<Vec<Vec<usize>>> {
    (0..count).fold(vec![Vec::new()], |ways, next| {
        let join = |way: Vec<Vec<usize>>| {
            (0..=way.len()).map(move |place| {
                let mut way = way.clone();
                if place == way.len() {
                    way.push(Vec::new());
                }
                way[place].push(next);
                way
            })
        };
        ways.into_iter().flat_map(join).collect()
    })
}

/// Least wrap of pins (width, height) in a bag, from all ways to divide them into rolls and these into layers;
/// written anew from the formulas, all pins 10 thick and so all rolls 22.
fn least_wrap(pins: &[(i64, i64)], (w, l, deepest): (i64, i64, i64)) -> Option<i64> {
    let ways = divisions(pins.len()).into_iter().filter_map(|rolls| {
        let of = |roll: &Vec<usize>| {
            let count = i64::try_from(roll.len()).unwrap();
            let wide = roll.iter().map(|pin| pins[*pin].0).sum::<i64>() + 10 * (count - 1) + 40;
            let high = roll.iter().map(|pin| pins[*pin].1).max().unwrap();
            (wide, high)
        };
        let rolls: Vec<(i64, i64)> = rolls.iter().map(of).collect();
        let lies = divisions(rolls.len()).into_iter().any(|layers| {
            let thick = 22 * i64::try_from(layers.len()).unwrap();
            thick <= deepest
                && layers.iter().all(|layer| {
                    let sizes: Vec<(i64, i64)> =
                        layer.iter().map(|roll| (rolls[*roll].0, rolls[*roll].1 + 8)).collect();
                    lie(&sizes, w - thick, l - thick)
                })
        });
        let area: i64 =
            rolls.iter().map(|(wide, high)| wide * (3 * high + 2 * (high + 14) + 2 * (high + 14) + 16)).sum();
        lies.then_some(area)
    });
    ways.min()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_mailer_takes_what_it_can_with_the_least_wrap_there_is(
        pins in prop::collection::vec((4_i64..12, 4_i64..12), 1..5), w in 14_i64..26, l in 16_i64..40, deep in 22_i64..70,
    ) {
        // In steps of five millimetres, so that many ways just fit.
        let pins: Vec<(i64, i64)> = pins.iter().map(|(a, b)| (a * 5, b * 5)).collect();
        let bag = (w * 5, l * 5, deep);
        let pieces: Vec<Piece> = pins.iter().map(|(a, b)| piece(Kind::Pin, *a, *b, 10)).collect();
        let mailers = [mailer("A", bag.0, bag.1, deep)];
        let ranked = rank(&pieces, &PackingRules::USUAL, &mailers, &BTreeMap::new());
        let found = ranked.choices.first().and_then(|choice| choice.wrap.to_i64());
        prop_assert_eq!(found, least_wrap(&pins, bag));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_piece_more_never_makes_it_cheaper_nor_lighter(
        sides in prop::collection::vec((15_i64..60, 15_i64..60, 8_i64..14, 0_usize..8), 2..9), last in 0_usize..9,
    ) {
        let kind = |kind| match kind { 0 => Kind::Carded, 1 => Kind::Flat, _ => Kind::Pin };
        let all: Vec<Piece> = sides.iter().map(|(w, h, t, k)| piece(kind(*k), *w, *h, *t)).collect();
        let mut fewer = all.clone();
        fewer.remove(last % all.len());
        let mailers = [
            costing(mailer("A", 105, 175, 35), dec!(0.28)),
            Mailer { reused: true, ..costing(mailer("R", 105, 180, 35), dec!(0)) },
            costing(mailer("B", 150, 215, 45), dec!(0.36)),
            mailer("U", 180, 260, 50),
            costing(mailer("C", 220, 265, 60), dec!(0.52)),
        ];
        let (more, less) = (rank(&all, &PackingRules::USUAL, &mailers, &BTreeMap::new()), rank(&fewer, &PackingRules::USUAL, &mailers, &BTreeMap::new()));
        if let Some(first) = more.choices.first() {
            let cost = |choice: &Choice<'_>| (choice.cost.key(), choice.wrap);
            prop_assert!(less.choices.first().is_some_and(|other| cost(other) <= cost(first)));
        }
        // In one mailer neither wrap nor mass ever falls.
        for choice in &more.choices {
            let same = less.choices.iter().find(|other| other.mailer.code == choice.mailer.code);
            prop_assert!(same.is_some_and(|same| same.wrap <= choice.wrap));
            let grams = |choice: &Choice<'_>, pieces: &[Piece]| {
                let contents = crate::plan::weighing::Contents {
                    pieces, rolls: &choice.rolls, mailer: choice.mailer, sheets: 1,
                };
                crate::plan::weighing::estimate(&contents, &PackingRules::USUAL).mean_g
            };
            prop_assert!(same.is_some_and(|same| grams(same, &fewer) < grams(choice, &all)));
        }
        // No piece is lost, and no order of arrival matters.
        let turned: Vec<Piece> = all.iter().rev().cloned().collect();
        prop_assert_eq!(&rank(&turned, &PackingRules::USUAL, &mailers, &BTreeMap::new()), &more);
        for choice in &more.choices {
            let mut laid: Vec<&Code> = choice.rolls.iter().flat_map(|roll| roll.laid.iter().map(|laid| &laid.code)).collect();
            let mut given: Vec<&Code> = all.iter().filter(|piece| piece.kind != Kind::Flat).map(|piece| &piece.code).collect();
            laid.sort();
            given.sort();
            prop_assert_eq!(laid, given);
        }
    }
}

/// The ends of what the walls let in, and something usual.
fn extreme_length() -> impl Strategy<Value = Length> {
    let ends = [dec!(0.000001), dec!(0.001), dec!(1), dec!(30), dec!(999.9995), dec!(99999.999999)];
    prop::sample::select(ends.to_vec()).prop_map(Length::from_mm)
}

fn extreme_piece() -> impl Strategy<Value = Piece> {
    let kinds = prop::sample::select(vec![Kind::Pin, Kind::Carded, Kind::Flat, Kind::Other]);
    let shares = prop::sample::select(vec![dec!(0.000001), dec!(1), dec!(999999.999999)]);
    (kinds, extreme_length(), extreme_length(), extreme_length(), shares).prop_map(
        |(kind, width, height, thickness, share)| Piece { width, height, thickness, share, ..piece(kind, 1, 1, 1) },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// What is within [`Length::BOUND`] and [`Money::BOUND`] is reckoned to an end, whatever it is, and a mailer that
    /// takes it takes all of it.
    #[test]
    fn nothing_within_the_bounds_of_the_walls_is_too_much(
        pieces in prop::collection::vec(extreme_piece(), 1..12),
        bags in prop::collection::vec((extreme_length(), extreme_length(), extreme_length(), any::<bool>()), 1..4),
        turns in prop::sample::select(vec![0, 2, PackingRules::MOST_TURNS]),
        layer in extreme_length(),
        overhang in extreme_length(),
        pins in prop::sample::select(vec![dec!(1), dec!(5), dec!(999999.999999)]),
    ) {
        let rules =
            PackingRules { turns, wrap_layer: layer, card_overhang: overhang, pins_per_roll: pins, ..PackingRules::USUAL };
        let mailers: Vec<Mailer> = bags
            .into_iter()
            .enumerate()
            .map(|(place, (width, length, deepest, dear))| Mailer {
                inner_width: width,
                inner_length: length,
                max_thickness: deepest,
                cost: dear.then(|| Money::new(dec!(999999999999.99999999), Currency::USD)),
                ..mailer(&place.to_string(), 1, 1, 1)
            })
            .collect();
        let wrapped = pieces.iter().filter(|piece| piece.kind != Kind::Flat).count();
        for choice in rank(&pieces, &rules, &mailers, &BTreeMap::new()).choices {
            prop_assert_eq!(choice.rolls.iter().map(|roll| roll.laid.len()).sum::<usize>(), wrapped);
        }
    }
}
