//! Letters that the print pack's fonts have, and those that they lack.
//!
//! Handed a view; promises that what is printed can be shown: a character that no font has becomes `▯` in print,
//! and the word it stood in is told, so that nobody finds an empty box first. Turned down: transliterating such
//! words, which would be a guess at a name on a parcel.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use serde_json::Value;
use typst_kit::fonts::FontStore;

use crate::model::day::DayPlan;
use crate::model::parcel::Parcel;
use crate::model::text::{is_invisible, one_line};

/// What stands for a character that can't be shown; the embedded fonts have it.
const UNSHOWN: char = '▯';
/// Longest run of characters without a place to break, before one is made.
const RUN: usize = 18;

/// The fonts that are compiled in.
pub(super) static FONTS: LazyLock<FontStore> = LazyLock::new(|| {
    let mut fonts = FontStore::new();
    fonts.extend(typst_kit::fonts::embedded());
    fonts
});

/// Codepoints that some font has, as ranges would be slower to build than to ask.
static SHOWN: LazyLock<BTreeSet<u32>> = LazyLock::new(|| {
    let mut shown = BTreeSet::new();
    let mut index = 0;
    while let Some(info) = FONTS.book().info(index) {
        shown.extend(info.coverage.iter());
        index += 1;
    }
    shown
});

/// Makes every string of the view printable: on one line, without invisible characters, with a place to break in
/// long runs, and with [`UNSHOWN`] for what no font has.
pub(super) fn printable(value: &mut Value) {
    match value {
        Value::String(text) => *text = broken(&shown(text)),
        Value::Array(entries) => entries.iter_mut().for_each(printable),
        Value::Object(fields) => fields.values_mut().for_each(printable),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn shown(text: &str) -> String {
    one_line(text).chars().filter(|c| !joins(*c)).map(|c| if has(c) { c } else { UNSHOWN }).collect()
}

/// Joiners and variation selectors choose between shapes; without a font for the shape they are dropped.
const fn joins(c: char) -> bool {
    matches!(c, '\u{200C}' | '\u{200D}' | '\u{FE00}'..='\u{FE0F}')
}

fn has(c: char) -> bool {
    // Private use says nothing to anybody else, and the archival standards forbid it.
    let private = matches!(c, '\u{E000}'..='\u{F8FF}' | '\u{F0000}'..='\u{10FFFF}');
    !private && (c == ' ' || SHOWN.contains(&u32::from(c)))
}

/// Zero-width spaces in runs that no line holds.
fn broken(text: &str) -> String {
    let mut run = 0;
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        run = if c.is_whitespace() || c == '-' { 0 } else { run + 1 };
        if run > RUN {
            out.push('\u{200B}');
            run = 1;
        }
        out.push(c);
    }
    out
}

/// What the print pack can't show: one line a parcel, with the words as they are.
pub(super) fn missing(plan: &DayPlan) -> Vec<String> {
    plan.parcels
        .iter()
        .map(|parcel| (parcel, lacking(parcel)))
        .filter(|(_, words)| !words.is_empty())
        .map(|(parcel, words)| {
            format!(
                "{}: the print pack's fonts lack letters of {}; write them by hand",
                parcel.r#ref,
                words.join(" · ")
            )
        })
        .collect()
}

/// Words of a parcel's papers with a character that no font has.
pub(super) fn lacking(parcel: &Parcel) -> Vec<String> {
    let to = &parcel.recipient;
    let mut texts = vec![&to.name, &to.city, &to.region];
    texts.extend(to.company.iter().chain(&to.lines));
    for item in &parcel.items {
        texts.push(&item.title);
        texts.extend(&item.options);
    }
    for order in &parcel.orders {
        texts.extend(order.lines.iter().map(|line| &line.title));
        texts.extend(order.buyer.iter().chain(&order.gift_message).chain(&order.note));
    }
    for (_, trade) in &parcel.trades {
        texts.extend(trade.get.iter().map(|item| &item.what).chain(&trade.note));
    }
    let mut words: Vec<String> = Vec::new();
    for text in texts.into_iter().map(|text| one_line(text)) {
        if text.chars().any(|c| !joins(c) && !is_invisible(c) && !has(c)) && !words.contains(&text) {
            words.push(text);
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_font_has_is_marked_and_what_one_has_is_kept() {
        assert_eq!(shown("Zoë Łukasz Ñandú Ωμέγα Жук"), "Zoë Łukasz Ñandú Ωμέγα Жук");
        assert_eq!(shown("山田 a\u{202E}b"), "▯▯ ab");
        assert!(has(UNSHOWN));
    }

    #[test]
    fn a_parcel_with_such_a_name_is_told() {
        let (_, mut plan) = super::super::sample::day().unwrap();
        assert_eq!(missing(&plan), Vec::<String>::new());
        plan.parcels[1].recipient.name = "山田 太郎".into();
        let said = missing(&plan);
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with(&plan.parcels[1].r#ref.0) && said[0].contains("山田 太郎"), "{said:?}");
    }
}
