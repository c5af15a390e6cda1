//! Letters and words in the form in which spellings of one word are equal.
//!
//! Handed a text as it was written; promises upper case letters without diacritics and words without
//! punctuation, but for what carries meaning in an address: `#`, and `-`, `/` or `.` inside of a number. Turned
//! down: transliterating every script, which needs large tables and helps only where one person writes one
//! address in two scripts.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

use crate::model::text::is_invisible;

/// What two letters in a row may stand for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Digraphs {
    /// `AE`, `OE`, `UE` and `AA` are two letters.
    Letters,
    /// They are spellings of ä or æ, ö or ø, ü and å, as in German and the northern languages: "Müller", "Mueller"
    /// and "Muller" are one word (common practice, no source). A `UE` after a vowel or a Q is none: "Bauer", "Neue",
    /// "Quelle".
    Umlauts,
}

/// Upper case, without diacritics, in compatibility form (NFKC); letters that decompose into nothing are written
/// with the usual ones: ß `SS`, æ `AE`, œ `OE`, ø `O`, ł `L`, đ and ð `D`, þ `TH`, ı `I`.
#[must_use]
pub fn letters(text: &str, digraphs: Digraphs) -> String {
    let plain = if text.is_ascii() { text.to_ascii_uppercase() } else { stripped(text) };
    match digraphs {
        Digraphs::Letters => plain,
        Digraphs::Umlauts => joined(&plain),
    }
}

fn stripped(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut apart = String::with_capacity(text.len());
    let mut before = ' ';
    for c in text.chars() {
        match c {
            // "12½" is 12 1/2 and not 121/2.
            '¼'..='¾' | '\u{2150}'..='\u{215E}' => apart.extend([' ', c]),
            // "3º 2ª" and "3º2ª" are two numbers; behind letters ("nº") the mark is a letter.
            'º' | 'ª' | '°' if before.is_numeric() => apart.push(' '),
            c => apart.push(c),
        }
        before = c;
    }
    for c in apart.nfkd() {
        // Only the marks of the European scripts: those of Indic scripts and of kana tell words apart.
        if ('\u{0300}'..='\u{036F}').contains(&c) || is_invisible(c) {
            continue;
        }
        match c {
            'ß' | 'ẞ' => plain.push_str("SS"),
            'æ' | 'Æ' => plain.push_str("AE"),
            'œ' | 'Œ' => plain.push_str("OE"),
            'ø' | 'Ø' => plain.push('O'),
            'ł' | 'Ł' => plain.push('L'),
            'đ' | 'Đ' | 'ð' | 'Ð' => plain.push('D'),
            'þ' | 'Þ' => plain.push_str("TH"),
            'ħ' | 'Ħ' => plain.push('H'),
            'ı' => plain.push('I'),
            '‐' | '‑' | '‒' | '–' | '—' | '―' | '−' => plain.push('-'),
            '⁄' => plain.push('/'),
            // A long vowel never follows a figure: "１ー２" is a dash from a Japanese keyboard.
            'ー' if plain.ends_with(|c: char| c.is_ascii_digit()) => plain.push('-'),
            '’' | '‘' | 'ʼ' | '`' | '´' => plain.push('\''),
            c if c.is_control() => plain.push(' '),
            c => plain.extend(c.to_uppercase()),
        }
    }
    // Hangul and kana back into one piece; and what upper case took apart again goes too.
    if plain.is_ascii() { plain } else { plain.nfkc().filter(|c| !('\u{0300}'..='\u{036F}').contains(c)).collect() }
}

fn joined(plain: &str) -> String {
    let mut short = String::with_capacity(plain.len());
    let mut before = ' ';
    let mut letters = plain.chars().peekable();
    while let Some(c) = letters.next() {
        short.push(c);
        let second = match c {
            'A' => letters.peek().is_some_and(|next| ['A', 'E'].contains(next)),
            'O' => letters.peek() == Some(&'E'),
            'U' => letters.peek() == Some(&'E') && !"AEIOUQ".contains(before),
            _ => false,
        };
        if second {
            letters.next();
        }
        before = c;
    }
    short
}

/// The words of a text that is already folded.
pub(super) fn words(folded: &str) -> Vec<String> {
    let letters: Vec<char> = folded.chars().collect();
    let at = |place: usize| letters.get(place).copied().unwrap_or(' ');
    let mut words = Vec::new();
    let mut word = String::new();
    let mut place = 0;
    while place < letters.len() {
        let c = at(place);
        let before = if place == 0 { ' ' } else { at(place - 1) };
        let after = at(place + 1);
        let mut cut = false;
        if is_letter(c) {
            // "中山路88号": a number amid letters that are written without spaces.
            if word.chars().next_back().is_some_and(|last| is_wide(last) != is_wide(c) && both_count(last, c)) {
                words.push(std::mem::take(&mut word));
            }
            word.push(c);
        } else if c == '#' || c == '&' {
            push(&mut words, &mut word);
            words.push(if c == '#' { "#".to_owned() } else { "AND".to_owned() });
        } else if keeps(c, before, after) || (c == '/' && alone(&letters, place)) {
            word.push(c);
        } else if matches!(c, '-' | '/') && spaced_range(&letters, place) {
            let Some(next) = (place..letters.len()).find(|next| at(*next).is_ascii_digit()) else { break };
            if word.is_empty() {
                word = words.pop().unwrap_or_default();
            }
            word.push(c);
            place = next;
            continue;
        } else if c == '.' && is_letter(before) && is_letter(after) {
            // "P.O.Box" is "PO Box", "N.W." is "NW", "St.Paul" is "St Paul", "m.3" is "m 3".
            cut = after.is_numeric() || !alone(&letters, place);
        } else {
            cut = c != '\'';
        }
        if cut {
            push(&mut words, &mut word);
        }
        place += 1;
    }
    push(&mut words, &mut word);
    words
}

fn push(words: &mut Vec<String>, word: &mut String) {
    if !word.is_empty() {
        words.push(std::mem::take(word));
    }
}

fn is_letter(c: char) -> bool {
    c.is_alphanumeric() || is_combining_mark(c)
}

/// Han, kana and hangul.
pub(super) fn is_wide(c: char) -> bool {
    matches!(c, '\u{3005}' | '\u{3040}'..='\u{30FF}' | '\u{3400}'..='\u{9FFF}' | '\u{F900}'..='\u{FAFF}' | '\u{20000}'..='\u{3FFFF}' | '\u{AC00}'..='\u{D7A3}')
}

/// One of the two is a digit.
fn both_count(a: char, b: char) -> bool {
    a.is_ascii_digit() || b.is_ascii_digit()
}

/// `-` and `/` stay beside a digit ("12-14", "4-B", "1/2", "3/F"), `.` between digits.
fn keeps(c: char, before: char, after: char) -> bool {
    let (left, right) = (before.is_alphanumeric(), after.is_alphanumeric());
    let a_digit = before.is_ascii_digit() || after.is_ascii_digit();
    match c {
        '-' | '/' => left && right && a_digit,
        '.' => before.is_ascii_digit() && after.is_ascii_digit(),
        _ => false,
    }
}

/// A dash or a stroke with spaces between two numbers: "12 - 14", "12 / 14".
fn spaced_range(letters: &[char], place: usize) -> bool {
    let left = letters.iter().take(place).rev().find(|c| **c != ' ');
    let right = letters.iter().skip(place + 1).find(|c| **c != ' ');
    left.is_some_and(char::is_ascii_digit) && right.is_some_and(char::is_ascii_digit)
}

/// Between two single letters: the points of "P.O." and the stroke of "c/o", not those of "St.Paul" and "C/Mayor".
fn alone(letters: &[char], place: usize) -> bool {
    let before = letters.iter().take(place).rev().take_while(|c| is_letter(**c)).count();
    let after = letters.iter().skip(place + 1).take_while(|c| is_letter(**c)).count();
    before == 1 && after == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> String {
        words(&letters(text, Digraphs::Letters)).join("|")
    }

    #[test]
    fn umlauts_in_three_spellings_are_one_word_and_two_vowels_stay_two() {
        let of = |text| letters(text, Digraphs::Umlauts);
        for same in [["Müller", "Mueller", "MULLER"], ["Ærø", "Aeroe", "Aro"], ["Åby", "Aaby", "ABY"]] {
            assert_eq!(of(same[0]), of(same[1]));
            assert_eq!(of(same[0]), of(same[2]));
        }
        assert_ne!(of("Bauer"), of("Baur"));
        assert_ne!(of("Quelle"), of("Qulle"));
        assert_eq!(letters("Mueller", Digraphs::Letters), "MUELLER");
    }

    #[test]
    fn letters_without_a_decomposition_are_written_with_the_usual_ones() {
        assert_eq!(letters("Łódź Straße œuvre þing đak ıI", Digraphs::Letters), "LODZ STRASSE OEUVRE THING DAK II");
        assert_eq!(letters("１２号 ﬁn", Digraphs::Letters), "12号 FIN");
        assert_ne!(letters("がか", Digraphs::Letters), letters("かか", Digraphs::Letters));
    }

    #[test]
    fn points_and_dashes_stay_only_where_they_mean_something() {
        assert_eq!(read("P.O.Box 5"), "PO|BOX|5");
        assert_eq!(read("88 St.Paul St., N.W."), "88|ST|PAUL|ST|NW");
        assert_eq!(read("12 – 14 Tern-Court"), "12-14|TERN|COURT");
        assert_eq!(read("88 1/2 O'Hara Rd #4-B c/o X"), "88|1/2|OHARA|RD|#|4-B|C/O|X");
        assert_eq!(read("39.2 Road, C/Mayor"), "39.2|ROAD|C|MAYOR");
        assert_eq!(read("中山路88号5室"), "中山路|88|号|5|室");
    }
}
