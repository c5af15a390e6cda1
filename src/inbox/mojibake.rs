//! Letters that a program garbled by taking UTF-8 for Windows-1252 and encoding it once more: `ZoÃ«` for `Zoë`.
//!
//! Handed text; promises to undo it where the whole text is garbled alike, and to point at it where only a cell is.
//! A label with such a name on it gets lost. Turned down: mending single cells, where the two readings of a pair of
//! letters can't be told apart with certainty.

use encoding_rs::WINDOWS_1252;

/// The text as it was before it was encoded twice, where all its letters beyond ASCII say so.
pub(super) fn repaired(text: &str) -> Option<String> {
    // Most text has a letter that no encoding of one byte knows, or none beyond ASCII: nothing is copied for it.
    if text.is_ascii() || text.chars().any(|c| byte_of(c).is_none()) {
        return None;
    }
    let once = String::from_utf8(text.chars().filter_map(byte_of).collect()).ok()?;
    let (mut letters, mut ideographs, mut pairs, mut common) = (0, 0, 0, false);
    let mut before = ' ';
    for c in once.chars() {
        if is_ideograph(c) {
            ideographs += 1;
            pairs += usize::from(is_ideograph(before));
        } else if !c.is_ascii() {
            if !is_european(c) {
                return None;
            }
            letters += 1;
            common |= is_common(c);
        }
        before = c;
    }
    // One pair of letters may be chance; a vowel with its accent, as most European text has, is none, nor are three
    // pairs, nor are four ideographs of three letters each of which two are neighbours.
    let certain = letters > 2 || common || (ideographs > 3 && pairs > 0);
    certain.then_some(once)
}

/// Whether a cell holds letters garbled so.
pub(super) fn is_garbled(cell: &str) -> bool {
    let mut runs = cell.split(|c: char| c.is_ascii());
    runs.any(|run| {
        let bytes: Option<Vec<u8>> = run.chars().map(byte_of).collect();
        let once = bytes.filter(|bytes| !bytes.is_empty()).and_then(|bytes| String::from_utf8(bytes).ok());
        once.is_some_and(|once| {
            let ideographs = once.chars().count() > 1 && once.chars().all(is_ideograph);
            ideographs || once.chars().all(|c| is_common(c) || is_mark(c))
        })
    })
}

/// The byte of Windows-1252, or of Latin 1 where Windows has nothing.
fn byte_of(c: char) -> Option<u8> {
    if let Ok(byte) = u8::try_from(c) {
        return Some(byte);
    }
    let mut buffer = [0; 4];
    let (bytes, _, unknown) = WINDOWS_1252.encode(c.encode_utf8(&mut buffer));
    bytes.first().copied().filter(|_| !unknown)
}

/// Latin 1 letters and signs: behind `Ã` and `Â` when garbled.
fn is_common(c: char) -> bool {
    matches!(c, '\u{A0}'..='\u{FF}')
}

/// Japanese and Chinese letters, Korean syllables, and the signs that stand among them.
fn is_ideograph(c: char) -> bool {
    matches!(c, '\u{3000}'..='\u{30FF}' | '\u{4E00}'..='\u{9FFF}' | '\u{AC00}'..='\u{D7A3}' | '\u{FF00}'..='\u{FFEF}')
}

/// Dashes, curly quotes and the like: behind `â€` when garbled.
fn is_mark(c: char) -> bool {
    matches!(c, '\u{2010}'..='\u{2026}' | '€' | '™')
}

fn is_european(c: char) -> bool {
    is_common(c) || is_mark(c) || matches!(c, '\u{100}'..='\u{24F}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn garbled(text: &str) -> String {
        WINDOWS_1252.decode_without_bom_handling(text.as_bytes()).0.into_owned()
    }

    #[test]
    fn what_was_garbled_comes_back_and_what_was_not_stays() {
        for text in ["Zoë", "Größe 12 €", "Łucja Żółkiewska", "Ines’ “Puffin”, très joli", "灯台守の山田花子"]
        {
            assert_eq!(repaired(&garbled(text)).as_deref(), Some(text));
        }
        for text in [
            "Zoë",
            "Größe",
            "plain",
            "café”…",
            "„Spaß”",
            "Spaß” Spaß” Spaß”",
            "MAÇÃ",
            "灯台",
            "Zoë and ZoÃ«",
            "Â£5 or £5",
        ] {
            assert_eq!(repaired(text), None, "{text}");
        }
    }

    #[test]
    fn a_garbled_cell_is_known_among_sound_ones() {
        assert!(is_garbled("Zoë and ZoÃ«"));
        assert!(is_garbled(&garbled("灯台")));
        assert!(is_garbled(&garbled("L’Écuyer")));
        for text in ["Zoë", "„Spaß”", "MAÇÃ", "灯台", "Łucja", "«É»", ""] {
            assert!(!is_garbled(text), "{text}");
        }
    }
}
