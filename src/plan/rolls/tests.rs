//! Rolls by hand, and their laws.

use proptest::prelude::*;

use super::*;
use crate::model::catalogue::Code;
use crate::model::mass::Mass;

fn mm(value: i64) -> Length {
    Length::from_mm(Decimal::from(value))
}

fn pin(code: &str, width: i64, height: i64) -> Piece {
    Piece {
        code: Code(code.into()),
        kind: Kind::Pin,
        width: mm(width),
        height: mm(height),
        thickness: mm(10),
        share: dec!(1),
        mass: Mass::from_g(dec!(8)),
        mass_sd: Mass::ZERO,
    }
}

/// Worked by hand from the formulas above: two pins of 30 × 30 × 10. Width 30 + 10 + 30 + 2 · 20 = 110; core
/// 30 high and 14 thick; length 3 · 30 + 88 + (88 + 16) = 282; outside 110 × 38 × 22.
#[test]
fn two_pins_by_hand() {
    let rolls = cut(&[pin("A", 30, 30), pin("A", 30, 30)], &PackingRules::USUAL, mm(300));
    let [roll] = rolls.as_slice() else { panic!("{rolls:?}") };
    assert_eq!((roll.strip_width, roll.strip_length), (mm(110), mm(282)));
    assert_eq!(roll.size, Size::laid(mm(110), mm(38), mm(22)));
}

/// A card of 55 × 85: 25 beyond every edge.
#[test]
fn wrap_reaches_beyond_a_card_on_every_edge() {
    let card = Piece { kind: Kind::Carded, ..pin("C", 55, 85) };
    let rolls = cut(&[card, pin("A", 30, 30)], &PackingRules::USUAL, mm(300));
    let [_, roll] = rolls.as_slice() else { panic!("{rolls:?}") };
    assert_eq!(roll.strip_width, mm(105));
    assert_eq!(roll.laid[0].y, mm(25));
    assert_eq!(roll.folds[0], mm(135));
}

#[test]
fn seven_pins_make_two_rolls_and_a_large_one_counts_for_more() {
    let seven = vec![pin("A", 20, 20); 7];
    assert_eq!(cut(&seven, &PackingRules::USUAL, mm(400)).len(), 2);
    let large = Piece { share: dec!(3), ..pin("L", 60, 60) };
    let four = [large, pin("A", 20, 20), pin("A", 20, 20), pin("A", 20, 20)];
    assert_eq!(cut(&four, &PackingRules::USUAL, mm(400)).len(), 2);
}

/// By hand: a pin 60 high and 30 wide with four 20 high and 30 wide. Together: (150 + 40 + 40) · (7 · 60 + 72 = 492) =
/// 113,160 mm² of wrap. The large one alone takes 70 · 492 = 34,440, the four 190 · 212 = 40,280.
#[test]
fn a_large_pin_is_rolled_alone_where_that_saves_wrap() {
    let pins = [pin("S", 30, 20), pin("S", 30, 20), pin("L", 30, 60), pin("S", 30, 20), pin("S", 30, 20)];
    let rolls = cut(&pins, &PackingRules::USUAL, mm(300));
    let strips: Vec<_> = rolls.iter().map(|roll| (roll.strip_width, roll.strip_length)).collect();
    assert_eq!(strips, [(mm(70), mm(492)), (mm(190), mm(212))]);
    // One of 22 shares theirs: 230 · 226 = 51,980 and not 70 · 226 + 190 · 212 = 56,100.
    let like = [pin("S", 30, 20), pin("S", 30, 20), pin("L", 30, 22), pin("S", 30, 20), pin("S", 30, 20)];
    assert_eq!(cut(&like, &PackingRules::USUAL, mm(300)).len(), 1);
}

/// Girths with square corners along the inside of each turn, against a spiral with round corners along the middle of the
/// layer, `2 (h + t + w) + 2 π (2 k − 1) w / 4`: up to five turns of it are no more than 2.3 layers longer and one shorter.
#[test]
fn a_spiral_is_no_further_off_than_the_formula_says() {
    for turns in 1..=5_u32 {
        let rules = PackingRules { turns, ..PackingRules::USUAL };
        let formula = strip_length(mm(30), mm(10), &rules).as_f64();
        let spiral: f64 = 90.0
            + (1..=turns).map(|k| 88.0 + std::f64::consts::TAU * (2.0 * f64::from(k) - 1.0) * 4.0 / 4.0).sum::<f64>();
        assert!((-4.0..=9.2).contains(&(spiral - formula)), "{turns}: {spiral} {formula}");
    }
}

/// Sizes in inches or in the millimetres that they are make the same rolls.
#[test]
fn inches_make_the_same_rolls() {
    let sides = [(dec!(0.9), dec!(1.25)), (dec!(1.5), dec!(1)), (dec!(0.75), dec!(0.8)), (dec!(1.1), dec!(1.3))];
    let with = |length: fn(Decimal) -> Length| {
        let piece = |(w, h): &(Decimal, Decimal)| Piece { width: length(*w), height: length(*h), ..pin("A", 1, 1) };
        cut(&sides.iter().map(piece).collect::<Vec<_>>(), &PackingRules::USUAL, mm(160))
    };
    assert_eq!(with(Length::from_inches), with(|inches| Length::from_mm(inches * dec!(25.4))));
}

#[test]
fn why_says_which_strips_to_cut() {
    let card = Piece { kind: Kind::Carded, thickness: mm(11), ..pin("C", 55, 85) };
    let pieces = [pin("A", 30, 30), pin("A", 30, 30), card];
    let rolls = cut(&pieces, &PackingRules::USUAL, mm(300));
    assert_eq!(
        why(&rolls, &pieces, &PackingRules::USUAL),
        [
            "2 pins in one roll: strip 110 × 282 mm",
            "1 carded pin rolled alone, wrap 25 mm beyond every edge: strip 105 × 1021 mm",
        ]
    );
    let seven = vec![pin("A", 30, 30); 7];
    let rolls = cut(&seven, &PackingRules::USUAL, mm(300));
    assert_eq!(
        why(&rolls, &seven, &PackingRules::USUAL),
        ["7 pins in 2 rolls, the least wrap that fits: strips 230 × 282 mm, 110 × 282 mm",]
    );
}

/// More than a parcel holds: filled in order, at once.
#[test]
fn a_thousand_pins_are_rolled_five_by_five() {
    let many = vec![pin("A", 20, 20); 1000];
    let rolls = cut(&many, &PackingRules::USUAL, mm(400));
    assert_eq!(rolls.len(), 200);
    assert!(rolls.iter().all(|roll| roll.laid.len() == 5));
}

proptest! {
    #[test]
    fn every_piece_lies_on_one_roll_and_no_roll_is_overfull(
        sides in prop::collection::vec((10_i64..70, 10_i64..70, 1_u32..4), 0..14),
        widest in 100_i64..400,
    ) {
        let pieces: Vec<Piece> = sides
            .iter()
            .enumerate()
            .map(|(i, (w, h, share))| Piece { share: Decimal::from(*share), ..pin(&format!("P{i}"), *w, *h) })
            .collect();
        let rolls = cut(&pieces, &PackingRules::USUAL, mm(widest));
        let mut seen: Vec<&Code> = rolls.iter().flat_map(|roll| roll.laid.iter().map(|laid| &laid.code)).collect();
        seen.sort();
        let mut given: Vec<&Code> = pieces.iter().map(|piece| &piece.code).collect();
        given.sort();
        prop_assert_eq!(seen, given);
        for roll in &rolls {
            let shares: u32 = roll.laid.iter().map(|laid| sides[laid.code.0[1..].parse::<usize>().unwrap()].2).sum();
            prop_assert!(shares <= 5);
            prop_assert!(roll.laid.len() == 1 || roll.strip_width <= mm(widest));
        }
        // Never more wrap than filling the rolls in order would take.
        let loose: Vec<&Piece> = pieces.iter().collect();
        let area = |rolls: &[Roll]| rolls.iter().map(|roll| roll.strip_width.mm() * roll.strip_length.mm()).sum::<Decimal>();
        let simple: Vec<Roll> = in_order(&loose, &PackingRules::USUAL, mm(widest)).iter().map(|strip| roll(strip, &PackingRules::USUAL)).collect();
        prop_assert!(area(&rolls) <= area(&simple));
        let turned: Vec<Piece> = pieces.iter().rev().cloned().collect();
        prop_assert_eq!(cut(&turned, &PackingRules::USUAL, mm(widest)), rolls);
    }
}
