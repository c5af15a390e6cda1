//! Letters that a program garbled by taking UTF-8 for Windows-1252 and encoding it once more: `ZoÃ«` for `Zoë`.
//!
//! Handed text; promises to undo it where the whole text is garbled alike, and to point at it where only a cell is.
//! A label with such a name on it gets lost. Turned down: mending single cells, where the two readings of a pair of
//! letters can't be told apart with certainty.

use encoding_rs::WINDOWS_1252;

/// The text as it was before it was encoded twice, where all its letters beyond ASCII say so.
pub(super) fn repaired(text: &str) -> Option<String> {
    if text.is_ascii() {
        return None;
    }
    let mut bytes = Vec::with_capacity(text.len());
    for c in text.chars() {
        bytes.push(byte_of(c)?);
    }
    let once = String::from_utf8(bytes).ok()?;
    let letters: Vec<char> = once.chars().filter(|c| !c.is_ascii()).collect();
    // One pair may be chance; a vowel with its accent, as most European text has, is none, nor are three pairs.
    let certain = letters.len() > 2 || letters.iter().any(|c| is_common(*c));
    (certain && letters.iter().all(|c| is_european(*c))).then_some(once)
}

/// Whether a cell holds letters garbled so.
pub(super) fn is_garbled(cell: &str) -> bool {
    let mut runs = cell.split(|c: char| c.is_ascii());
    runs.any(|run| {
        let bytes: Option<Vec<u8>> = run.chars().map(byte_of).collect();
        let once = bytes.filter(|bytes| !bytes.is_empty()).and_then(|bytes| String::from_utf8(bytes).ok());
        once.is_some_and(|once| once.chars().all(is_common))
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

fn is_european(c: char) -> bool {
    is_common(c) || matches!(c, '\u{100}'..='\u{24F}' | '\u{2010}'..='\u{2026}' | '€' | '™')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn garbled(text: &str) -> String {
        WINDOWS_1252.decode_without_bom_handling(text.as_bytes()).0.into_owned()
    }

    #[test]
    fn what_was_garbled_comes_back_and_what_was_not_stays() {
        for text in ["Zoë", "Größe 12 €", "Łucja Żółkiewska", "Ines’ “Puffin”, très joli"] {
            assert_eq!(repaired(&garbled(text)).as_deref(), Some(text));
        }
        for text in
            ["Zoë", "Größe", "plain", "„Spaß”", "Spaß” Spaß” Spaß”", "MAÇÃ", "灯台", "Zoë and ZoÃ«", "Â£5 or £5"]
        {
            assert_eq!(repaired(text), None, "{text}");
        }
    }

    #[test]
    fn a_garbled_cell_is_known_among_sound_ones() {
        assert!(is_garbled("Zoë and ZoÃ«"));
        for text in ["Zoë", "„Spaß”", "MAÇÃ", "灯台", "Łucja", "«É»", ""] {
            assert!(!is_garbled(text), "{text}");
        }
    }
}
