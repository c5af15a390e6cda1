//! Which mailer takes these rolls.
//!
//! A padded mailer is a flat bag: filled to a thickness `t`, a bag of inner width `W` has `W − t` left for the
//! contents, and of its length `L` as much less (common practice, no source). Rolls lie flat, each along or across
//! the bag, in rows, and the rows in layers on top of one another while the bag closes: of all ways to do that the
//! thinnest. Flat things lie against its wall and only have to fit its face.
//!
//! Promises that a larger mailer never takes less, and that one roll more never fits a smaller one. Turned down:
//! packing boxes in three dimensions, which no bag is.

mod stack;

use std::collections::BTreeMap;

use crate::model::length::{Length, Size};
use crate::model::mailer::Mailer;
use crate::model::parcel::{Piece, Roll};

use stack::Bag;

/// What has to go in.
#[derive(Clone, Copy, Debug)]
pub struct Load<'a> {
    /// Rolls.
    pub rolls: &'a [Roll],
    /// Flat things.
    pub flats: &'a [Piece],
}

/// A mailer that takes the load.
#[derive(Clone, PartialEq, Debug)]
pub struct Fit<'a> {
    /// Which.
    pub mailer: &'a Mailer,
    /// Outside of the packed mailer: its flat sides, as thick as its contents.
    pub size: Size,
    /// How it fits, in short lines.
    pub why: Vec<String>,
}

/// The smallest mailer on hand, by area, then cost, then code, that takes the load; `taken` is what other parcels
/// take of each.
#[must_use]
pub fn smallest<'a>(load: &Load<'_>, mailers: &'a [Mailer], taken: &BTreeMap<String, u32>) -> Option<Fit<'a>> {
    by_size(mailers).into_iter().find_map(|mailer| takes(load, mailer, taken))
}

/// Smallest first; of equal ones the cheaper, then by code.
#[must_use]
pub fn by_size(mailers: &[Mailer]) -> Vec<&Mailer> {
    let mut sorted: Vec<&Mailer> = mailers.iter().collect();
    sorted.sort_by(|a, b| {
        let key = |mailer: &Mailer| (mailer.inner_width.mm() * mailer.inner_length.mm(), mailer.cost.map(|c| c.amount));
        key(a).cmp(&key(b)).then_with(|| a.code.cmp(&b.code))
    });
    sorted
}

/// How this mailer takes the load, if one is on hand and it does.
#[must_use]
pub fn takes<'a>(load: &Load<'_>, mailer: &'a Mailer, taken: &BTreeMap<String, u32>) -> Option<Fit<'a>> {
    let used = taken.get(&mailer.code).copied().unwrap_or(0);
    if mailer.on_hand.is_some_and(|on_hand| used >= on_hand) {
        return None;
    }
    let face = (mailer.inner_width.min(mailer.inner_length), mailer.inner_width.max(mailer.inner_length));
    let flats_fit =
        load.flats.iter().all(|flat| flat.width.min(flat.height) <= face.0 && flat.width.max(flat.height) <= face.1);
    let paper: Length = load.flats.iter().map(|flat| flat.thickness).sum();
    if !flats_fit {
        return None;
    }
    let bag =
        Bag { width: mailer.inner_width, length: mailer.inner_length, deepest: mailer.max_thickness, lining: paper };
    let sizes: Vec<Size> = load.rolls.iter().map(|roll| roll.size).collect();
    let stack = stack::thinnest(&sizes, &bag)?;
    let laid = match stack.layers {
        0 => "flat things only".to_owned(),
        1 => "rolls in one layer".to_owned(),
        layers => format!("rolls in {layers} layers"),
    };
    Some(Fit {
        mailer,
        size: Size::laid(mailer.inner_width, mailer.inner_length, stack.thickness),
        why: vec![format!(
            "mailer {}: the smallest on hand that closes; {laid}, {} mm thick of {} mm",
            mailer.code,
            stack.thickness.mm().round_dp(1).normalize(),
            mailer.max_thickness.mm().normalize()
        )],
    })
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::model::mass::Mass;

    fn mm(value: i64) -> Length {
        Length::from_mm(Decimal::from(value))
    }

    fn roll(length: i64, width: i64, thickness: i64) -> Roll {
        Roll {
            laid: Vec::new(),
            strip_width: mm(length),
            strip_length: mm(300),
            folds: Vec::new(),
            size: Size::laid(mm(length), mm(width), mm(thickness)),
        }
    }

    fn mailer(code: &str, width: i64, length: i64, on_hand: Option<u32>) -> Mailer {
        Mailer {
            code: code.into(),
            title: code.into(),
            inner_width: mm(width),
            inner_length: mm(length),
            max_thickness: mm(45),
            tare: Mass::ZERO,
            cost: None,
            on_hand,
            reused: false,
        }
    }

    /// By hand: a bag of 120 × 160 around a roll 22 thick leaves 98 × 138. A roll of 110 × 38 lies along its
    /// length, two side by side (76 of 98); a third goes on top, 44 thick, which leaves 76 × 116: just enough, and
    /// enough for a fourth beside it.
    #[test]
    fn two_rolls_lie_side_by_side_and_a_third_on_top() {
        let bag = [mailer("A", 120, 160, None)];
        let fit = |count: usize| {
            let rolls = vec![roll(110, 38, 22); count];
            smallest(&Load { rolls: &rolls, flats: &[] }, &bag, &BTreeMap::new()).map(|fit| fit.size.thickness)
        };
        assert_eq!(fit(2), Some(mm(22)));
        assert_eq!(fit(3), Some(mm(44)));
        assert_eq!(fit(5), None);
    }

    /// A print of 140 × 90 lies against the wall of a bag of 100 × 150 either way up, and one of 140 × 110 doesn't. Its
    /// thickness counts.
    #[test]
    fn flat_things_fit_the_face() {
        let flat = |width, height, thickness| Piece {
            code: crate::model::catalogue::Code("PRINT".into()),
            kind: crate::model::catalogue::Kind::Flat,
            width: mm(width),
            height: mm(height),
            thickness: mm(thickness),
            share: Decimal::ONE,
            mass: Mass::ZERO,
            mass_sd: Mass::ZERO,
        };
        let bag = [mailer("A", 100, 150, None)];
        let rolls = [roll(70, 38, 22)];
        let thickness = |flat: Piece| {
            smallest(&Load { rolls: &rolls, flats: &[flat] }, &bag, &BTreeMap::new()).map(|fit| fit.size.thickness)
        };
        assert_eq!(thickness(flat(140, 90, 1)), Some(mm(23)));
        assert_eq!(thickness(flat(90, 140, 1)), Some(mm(23)));
        assert_eq!(thickness(flat(140, 110, 1)), None);
        assert_eq!(thickness(flat(90, 140, 24)), None);
    }

    #[test]
    fn what_is_used_up_is_passed_over() {
        let bags = [mailer("B", 200, 250, None), mailer("A", 120, 160, Some(1))];
        let rolls = [roll(100, 38, 22)];
        let load = Load { rolls: &rolls, flats: &[] };
        let code = |taken: &BTreeMap<String, u32>| smallest(&load, &bags, taken).map(|fit| fit.mailer.code.clone());
        assert_eq!(code(&BTreeMap::new()).as_deref(), Some("A"));
        assert_eq!(code(&BTreeMap::from([("A".into(), 1)])).as_deref(), Some("B"));
    }
}
