//! Letters that the print pack's typefaces have, and those that they lack.
//!
//! Handed a view; promises that what is printed can be shown and read: letters that no typeface has are printed by
//! their numbers, `[U+5C71 U+7530]`, and the words they stood in are told with the remedy, so that nobody finds an
//! empty box first. Turned down: transliterating such words, which would be a guess at a name on a parcel.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use serde_json::Value;
use unicode_script::{Script, UnicodeScript as _};

use crate::model::day::DayPlan;
use crate::model::parcel::Parcel;
use crate::model::text::{is_invisible, one_line};

use super::fonts::Fonts;

/// Longest run of characters without a place to break, before one is made.
const RUN: usize = 18;
/// Most letters of a run that are printed by number; the rest are counted.
const NUMBERED: usize = 12;
/// Unicode Standard Annex 9, section 2.4: what stands between takes its direction from its own first letter and
/// leaves its neighbours alone.
const ISOLATE: (char, char) = ('\u{2068}', '\u{2069}');
/// A field of the view that holds a drawing of this program's own and no words.
const DRAWING: &str = "svg";

/// Makes every string of the view printable: on one line, without invisible characters, with a place to break in
/// long runs, in its own direction, and with the numbers of what no typeface has.
pub(super) fn printable(value: &mut Value, fonts: &Fonts) {
    match value {
        Value::String(text) => *text = isolated(broken(&shown(text, fonts))),
        Value::Array(entries) => entries.iter_mut().for_each(|entry| printable(entry, fonts)),
        Value::Object(fields) => {
            fields.iter_mut().filter(|(name, _)| *name != DRAWING).for_each(|(_, entry)| printable(entry, fonts));
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Every letter of the view.
pub(super) fn letters(value: &Value, found: &mut BTreeSet<char>) {
    match value {
        Value::String(text) => found.extend(one_line(text).chars().filter(|c| !joins(*c))),
        Value::Array(entries) => entries.iter().for_each(|entry| letters(entry, found)),
        Value::Object(fields) => {
            fields.iter().filter(|(name, _)| *name != DRAWING).for_each(|(_, entry)| letters(entry, found));
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn shown(text: &str, fonts: &Fonts) -> String {
    let text = one_line(text);
    let mut out = String::with_capacity(text.len());
    let mut unshown = Vec::new();
    let mut before = ' ';
    for c in text.chars() {
        // A selector or joiner goes the way of the letter before it.
        if joins(c) {
            if unshown.is_empty() && takes_joiners(before) {
                out.push(c);
            }
        } else if fonts.has(c) {
            number(&mut out, &mut unshown);
            out.push(c);
            before = c;
        } else {
            unshown.push(c);
        }
    }
    number(&mut out, &mut unshown);
    out
}

/// Writes a run of letters that can't be shown, and clears it.
fn number(out: &mut String, run: &mut Vec<char>) {
    if run.is_empty() {
        return;
    }
    let more = run.len().saturating_sub(NUMBERED);
    let codes: Vec<String> = run.iter().take(NUMBERED).map(|c| format!("U+{:04X}", u32::from(*c))).collect();
    out.push('[');
    out.push_str(&codes.join(" "));
    if more > 0 {
        // Writing to a string can't fail.
        let _ = write!(out, " and {more} more");
    }
    out.push(']');
    run.clear();
}

/// Joiners and variation selectors choose between shapes of what stands before them.
const fn joins(c: char) -> bool {
    matches!(c, '\u{200C}' | '\u{200D}' | '\u{FE00}'..='\u{FE0F}')
}

/// European letters and marks have no such shapes in the built-in typefaces.
const fn takes_joiners(c: char) -> bool {
    c > '\u{058F}' && !matches!(c, '\u{1E00}'..='\u{1FFF}' | '\u{2000}'..='\u{206F}')
}

/// Zero-width spaces in runs that no line holds.
fn broken(text: &str) -> String {
    let mut run = 0;
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        run = if c.is_whitespace() || c == '-' { 0 } else { run + 1 };
        // Not before a joiner, which belongs to the letter before it.
        if run > RUN && !joins(c) {
            out.push('\u{200B}');
            run = 1;
        }
        out.push(c);
    }
    out
}

/// Text with letters of a script that runs to the left, kept apart from what it is printed beside.
fn isolated(text: String) -> String {
    if text.chars().any(runs_left) { format!("{}{text}{}", ISOLATE.0, ISOLATE.1) } else { text }
}

/// Hebrew, Arabic and the other scripts of the blocks that the Unicode character database sets aside for writing
/// from the right (`DerivedBidiClass.txt`, default values R and AL).
const fn runs_left(c: char) -> bool {
    matches!(c, '\u{0590}'..='\u{08FF}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFE}'
        | '\u{10800}'..='\u{10FFF}' | '\u{1E800}'..='\u{1EFFF}')
}

/// What the print pack can't show: one line a parcel, with the words as they are and the remedy.
pub(super) fn missing(plan: &DayPlan, fonts: &Fonts) -> Vec<String> {
    plan.parcels
        .iter()
        .map(|parcel| (parcel, lacking(parcel, fonts)))
        .filter(|(_, words)| !words.is_empty())
        .map(|(parcel, words)| {
            let unshown = words.iter().flat_map(|word| word.chars()).filter(|c| is_lacking(*c, fonts));
            format!(
                "{}: no typeface here has all letters of {}; {}, or write them by hand",
                parcel.r#ref,
                words.join(" · "),
                remedy(unshown)
            )
        })
        .collect()
}

/// What its card says of that.
pub(super) fn unshown(parcel: &Parcel, fonts: &Fonts) -> Option<String> {
    (!lacking(parcel, fonts).is_empty()).then(|| {
        "[U+…] stands for letters that no typeface here has: write them by hand, as the email has them.".to_owned()
    })
}

/// Words of a parcel's papers with a character that no typeface has.
pub(super) fn lacking(parcel: &Parcel, fonts: &Fonts) -> Vec<String> {
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
        if text.chars().any(|c| is_lacking(c, fonts)) && !words.contains(&text) {
            words.push(text);
        }
    }
    words
}

fn is_lacking(c: char, fonts: &Fonts) -> bool {
    !joins(c) && !is_invisible(c) && !fonts.has(c)
}

/// What brings the letters: `install a typeface with Japanese letters (Debian: fonts-noto-cjk)`. The packages are
/// Debian's (packages.debian.org, from memory).
#[expect(clippy::wildcard_enum_match_arm, reason = "the scripts are Unicode's, some 170, and each version adds some")]
pub(super) fn remedy(letters: impl Iterator<Item = char>) -> String {
    let letters: BTreeSet<char> = letters.collect();
    // Beside kana, the Chinese letters are Japanese too.
    let kana = letters.iter().any(|c| matches!(c.script(), Script::Hiragana | Script::Katakana));
    let mut needs: BTreeSet<(String, &str)> = BTreeSet::new();
    let mut private = false;
    for c in letters {
        let need = match c.script() {
            Script::Han if !kana => ("Chinese or Japanese letters".to_owned(), "fonts-noto-cjk"),
            Script::Han | Script::Hiragana | Script::Katakana => ("Japanese letters".to_owned(), "fonts-noto-cjk"),
            Script::Hangul => ("Korean letters".to_owned(), "fonts-noto-cjk"),
            Script::Bopomofo => ("Chinese letters".to_owned(), "fonts-noto-cjk"),
            Script::Common | Script::Inherited if u32::from(c) >= 0x1F000 => {
                ("emoji".to_owned(), "fonts-noto-color-emoji")
            }
            Script::Common | Script::Inherited => ("such signs".to_owned(), "fonts-noto-core"),
            Script::Unknown => {
                private = true;
                continue;
            }
            other => (format!("{} letters", other.full_name().replace('_', " ")), "fonts-noto-core"),
        };
        needs.insert(need);
    }
    if needs.is_empty() && private {
        return "these are private signs that no typeface shares: ask what they stand for".to_owned();
    }
    let what: Vec<String> = needs.iter().map(|(what, _)| what.clone()).collect();
    let packages: BTreeSet<&str> = needs.iter().map(|(_, package)| *package).collect();
    let packages = packages.into_iter().collect::<Vec<_>>().join(", ");
    format!(
        "install a typeface with {} (Debian: {packages}) or put its file into the home's fonts/",
        super::words::and_list(&what)
    )
}

/// Scripts by which a machine is told of, each with a few of its letters.
const SCRIPTS: [(&str, &str); 10] = [
    ("Latin, Greek and Cyrillic", "aZéłßΩμЖя"),
    ("Hebrew", "אבגש"),
    ("Arabic", "ابعم"),
    ("Japanese", "あア山田"),
    ("Chinese", "汉字漢简"),
    ("Korean", "한글가"),
    ("Thai", "กขไท"),
    ("Devanagari", "अकहि"),
    ("Georgian", "აბგ"),
    ("emoji", "😀🎁"),
];

/// Which typeface each script is printed in on this machine, or the remedy: a line each.
pub fn typefaces(folder: &std::path::Path) -> Vec<String> {
    let every = SCRIPTS.iter().flat_map(|(_, sample)| sample.chars()).collect();
    // Once for all: every typeface of the machine is read for it.
    let fonts = Fonts::for_letters(&every, Some(folder));
    SCRIPTS
        .iter()
        .map(|(script, sample)| {
            let lacking: Vec<char> = sample.chars().filter(|c| !fonts.has(*c)).collect();
            match (lacking.is_empty(), fonts.used_for(sample).as_slice()) {
                (true, []) => format!("{script}: built in"),
                (true, families) => format!("{script}: {}", families.join(", ")),
                (false, _) => format!("{script}: not here; {}", remedy(lacking.into_iter())),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn built_in(text: &str) -> String {
        shown(text, &Fonts::built_in())
    }

    #[test]
    fn what_no_typeface_has_is_numbered_and_what_one_has_is_kept() {
        assert_eq!(built_in("Zoë Łukasz Ñandú Ωμέγα Жук"), "Zoë Łukasz Ñandú Ωμέγα Жук");
        assert_eq!(built_in("山田 a\u{202E}b \u{1F426}\u{FE0F}"), "[U+5C71 U+7530] ab [U+1F426]");
        assert_eq!(built_in(&"山".repeat(40)), format!("[{} and 28 more]", ["U+5C71"; 12].join(" ")));
    }

    #[test]
    fn a_right_to_left_word_does_not_turn_its_neighbours() {
        assert_eq!(isolated("שרה כהן 5".to_owned()), "\u{2068}שרה כהן 5\u{2069}");
        assert_eq!(isolated("Ines 5".to_owned()), "Ines 5");
        // An isolate that somebody wrote is none of ours.
        assert_eq!(isolated(built_in("a\u{2067}b\u{202E}")), "ab");
    }

    #[test]
    fn a_parcel_with_such_a_name_is_told_with_the_remedy() {
        let (_, mut plan) = super::super::sample::day().unwrap();
        let fonts = Fonts::built_in();
        assert_eq!(missing(&plan, &fonts), Vec::<String>::new());
        plan.parcels[1].recipient.name = "やまだ 太郎".into();
        let said = missing(&plan, &fonts);
        assert_eq!(
            said,
            [format!(
                "{}: no typeface here has all letters of やまだ 太郎; install a typeface with Japanese letters \
                 (Debian: fonts-noto-cjk) or put its file into the home's fonts/, or write them by hand",
                plan.parcels[1].r#ref
            )]
        );
    }
}
