//! Rolls drawn to scale: the strip as it is cut, the pins as they lie on it, and the folds.
//!
//! Handed a parcel's rolls; gives measures in millimetres on paper, so that a template only places boxes. The
//! strip lies on its side: its start is at the left, and it is rolled up towards the right.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::model::catalogue::{Code, Kind};
use crate::model::parcel::{Parcel, Roll};

use super::super::words;

/// Widest drawing, mm on paper: beside it a card still holds that of an ordinary roll.
const WIDEST: f64 = 105.0;

/// Rolls that are alike, and how to make one of them.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct RollView {
    /// `Roll 1`, or `Rolls 1 to 3, alike`.
    pub title: String,
    /// The strip to cut: `120 × 310 mm`.
    pub cut: String,
    /// Outside of the finished roll: `100 × 35 × 22 mm`.
    pub size: String,
    /// What lies on it: `1, 1, 2`.
    pub pieces_words: String,
    /// Where the wrap is folded over the face: `fold at 90 mm`; empty where nothing is folded.
    pub folds_words: String,
    /// Scale of the drawing: `1 : 5`.
    pub scale: String,
    /// Width of the drawn strip, mm on paper.
    pub width_mm: f64,
    /// Height of the drawn strip, mm on paper.
    pub height_mm: f64,
    /// Pieces on the strip.
    pub pieces: Vec<PieceView>,
    /// Folds, mm on paper from the start of the strip.
    pub folds_mm: Vec<f64>,
    /// The drawing in words, for those who can't see it.
    pub alt: String,
}

/// A piece as it lies, mm on paper from the upper left corner of the drawn strip.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PieceView {
    /// From the left.
    pub x_mm: f64,
    /// From above.
    pub y_mm: f64,
    /// To the right.
    pub width_mm: f64,
    /// Downwards.
    pub height_mm: f64,
    /// Number of the item in the card's contents.
    pub label: String,
    /// On its backing card.
    pub carded: bool,
}

/// Numbers of a parcel's articles, in the order of its contents: what stands on the drawn pieces.
#[must_use]
pub fn numbers(parcel: &Parcel) -> BTreeMap<&Code, usize> {
    let mut numbers = BTreeMap::new();
    for item in &parcel.items {
        let next = numbers.len() + 1;
        numbers.entry(&item.code).or_insert(next);
    }
    numbers
}

/// The parcel's rolls, those alike drawn once.
#[must_use]
pub fn rolls(parcel: &Parcel) -> Vec<RollView> {
    let mut alike: Vec<(&Roll, Vec<usize>)> = Vec::new();
    for (at, roll) in parcel.rolls.iter().enumerate() {
        match alike.iter_mut().find(|(first, _)| *first == roll) {
            Some((_, places)) => places.push(at + 1),
            None => alike.push((roll, vec![at + 1])),
        }
    }
    alike.into_iter().map(|(roll, places)| draw(parcel, roll, &places)).collect()
}

fn draw(parcel: &Parcel, roll: &Roll, places: &[usize]) -> RollView {
    let longest = roll.strip_length.max(roll.strip_width).as_f64();
    let scale = [5.0, 10.0, 20.0].into_iter().find(|scale| longest / scale <= WIDEST).unwrap_or(50.0);
    let numbers = numbers(parcel);
    let label = |code: &Code| numbers.get(code).map_or_else(String::new, ToString::to_string);
    let carded = |code: &Code| parcel.items.iter().any(|item| item.code == *code && item.kind == Kind::Carded);
    let paper = |mm: f64| (mm / scale * 100.0).round() / 100.0;
    let title = match places {
        [one] => format!("Roll {one}"),
        several => {
            let words: Vec<String> = several.iter().map(ToString::to_string).collect();
            format!("Rolls {}, alike", words::and_list(&words))
        }
    };
    let cut = format!("{} × {} mm", words::mm(roll.strip_width), words::mm(roll.strip_length));
    let size = [roll.size.length, roll.size.width, roll.size.thickness].map(words::mm).join(" × ") + " mm";
    let on_it: Vec<String> = roll.laid.iter().map(|piece| label(&piece.code)).collect();
    let folds: Vec<String> = roll.folds.iter().map(|fold| words::mm(*fold)).collect();
    let folds_words = if folds.is_empty() { String::new() } else { format!("fold at {} mm", words::and_list(&folds)) };
    RollView {
        alt: format!("{title}: strip of {cut} with items {} on it; {folds_words}", on_it.join(", ")),
        title,
        cut,
        size,
        pieces_words: on_it.join(", "),
        folds_words,
        scale: format!("1 : {scale}"),
        width_mm: paper(roll.strip_length.as_f64()),
        height_mm: paper(roll.strip_width.as_f64()),
        pieces: roll
            .laid
            .iter()
            .map(|piece| PieceView {
                x_mm: paper(piece.y.as_f64()),
                y_mm: paper(piece.x.as_f64()),
                width_mm: paper(piece.height.as_f64()),
                height_mm: paper(piece.width.as_f64()),
                label: label(&piece.code),
                carded: carded(&piece.code),
            })
            .collect(),
        folds_mm: roll.folds.iter().map(|fold| paper(fold.as_f64())).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::sample;
    use super::*;

    #[test]
    fn pieces_lie_within_the_drawn_strip_and_alike_rolls_are_drawn_once() {
        let (_, mut plan) = sample::day().unwrap();
        let parcel = plan.parcels.iter_mut().find(|parcel| !parcel.rolls.is_empty()).unwrap();
        let twin = parcel.rolls[0].clone();
        parcel.rolls = vec![twin.clone(), twin];
        let drawn = rolls(parcel);
        assert_eq!(drawn.len(), 1);
        assert_eq!(drawn[0].title, "Rolls 1 and 2, alike");
        for piece in &drawn[0].pieces {
            assert!(piece.x_mm + piece.width_mm <= drawn[0].width_mm + 0.01, "{piece:?}");
            assert!(piece.y_mm + piece.height_mm <= drawn[0].height_mm + 0.01, "{piece:?}");
        }
    }
}
