//! Which mailer takes these rolls.
//!
//! A padded mailer is a flat bag: filled to a thickness `t`, a bag of inner width `W` has `W − t` left for the
//! contents, and of its length `L` as much less (common practice, no source). Rolls lie flat, with their long side
//! along either side of the bag, in rows, and in layers on top of one another while the bag closes. Flat things
//! lie against its wall and only have to fit its face.
//!
//! Promises that a larger mailer never takes less, and that one roll more never fits a smaller one. Turned down:
//! packing boxes in three dimensions, which no bag is.

use std::collections::BTreeMap;

use crate::model::length::{Length, Size};
use crate::model::mailer::Mailer;
use crate::model::parcel::{Piece, Roll};

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
    let mut best: Option<(Length, usize)> = None;
    for along_width in [true, false] {
        if let Some((thickness, layers)) = stack(load.rolls, mailer, along_width, paper)
            && best.is_none_or(|(thinner, _)| thickness < thinner)
        {
            best = Some((thickness, layers));
        }
    }
    let (thickness, layers) = best?;
    let laid = match layers {
        0 => "flat things only".to_owned(),
        1 => "rolls in one layer".to_owned(),
        _ => format!("rolls in {layers} layers"),
    };
    Some(Fit {
        mailer,
        size: Size::laid(mailer.inner_width, mailer.inner_length, thickness),
        why: vec![format!(
            "mailer {}: the smallest on hand that closes; {laid}, {} mm thick of {} mm",
            mailer.code,
            thickness.mm().round_dp(1).normalize(),
            mailer.max_thickness.mm().normalize()
        )],
    })
}

/// Lays the rolls thickest first, row by row, layer by layer; tells the thickness and the layers, or `None` where
/// the bag doesn't close.
fn stack(rolls: &[Roll], mailer: &Mailer, along_width: bool, paper: Length) -> Option<(Length, usize)> {
    let mut sizes: Vec<&Size> = rolls.iter().map(|roll| &roll.size).collect();
    sizes.sort_by_key(|size| std::cmp::Reverse((size.thickness, size.length, size.width)));
    if sizes.is_empty() {
        return (paper <= mailer.max_thickness).then_some((paper, 0));
    }
    // The bag narrows with what it holds, so what lies in a layer depends on the thickness, and that on the
    // layers: each number of layers is tried with the room that the thickest rolls would leave it.
    (1..=sizes.len()).find_map(|layers| {
        let thickness = paper + sizes.iter().take(layers).map(|size| size.thickness).sum();
        if thickness > mailer.max_thickness {
            return None;
        }
        let room = |side: Length| if side > thickness { side - thickness } else { Length::ZERO };
        let shelf = Shelf { wide: room(mailer.inner_width), long: room(mailer.inner_length), along_width };
        let heights = shelf.layers(&sizes)?;
        (heights.len() <= layers).then(|| (paper + heights.iter().copied().sum(), heights.len()))
    })
}

/// The room of one layer.
struct Shelf {
    wide: Length,
    long: Length,
    along_width: bool,
}

impl Shelf {
    /// Thickness of each layer that the rolls need, or `None` where one doesn't fit at all.
    fn layers(&self, sizes: &[&Size]) -> Option<Vec<Length>> {
        let mut layers = Vec::new();
        let (mut row_start, mut row_high, mut x) = (Length::ZERO, Length::ZERO, Length::ZERO);
        for size in sizes {
            let (across, along) = if self.along_width { (size.length, size.width) } else { (size.width, size.length) };
            if across > self.wide || along > self.long {
                return None;
            }
            let begun = !layers.is_empty();
            if begun && x + across <= self.wide && row_start + along.max(row_high) <= self.long {
                row_high = row_high.max(along);
                x = x + across;
            } else if begun && row_start + row_high + along <= self.long {
                row_start = row_start + row_high;
                (row_high, x) = (along, across);
            } else {
                layers.push(size.thickness);
                (row_start, row_high, x) = (Length::ZERO, along, across);
            }
        }
        Some(layers)
    }
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
    /// length, two side by side (76 of 98); a third goes on top, 44 thick, which leaves 76 × 116: just enough.
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
