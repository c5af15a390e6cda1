//! Header text that can be folded and that says nothing of its own.
//!
//! Handed names, addresses and a subject; promises headers whose lines keep RFC 5322's limits, and which no part of
//! the text can end or be read as something else. lettre folds at spaces only, so that one word of 2,000 letters
//! would be one line; it doesn't fold a list of bare addresses at all; and it passes on what looks like an encoded
//! word, which readers then decode. Turned down: cutting what is long, which loses words; encoding every header,
//! which nobody could read in a raw message.

use lettre::Address;
use lettre::message::Mailbox;
use lettre::message::header::{HeaderName, HeaderValue};

use crate::model::text::one_line;

/// With a header's name before it, a word of this length keeps its line within 78 octets (RFC 5322, section 2.1.1).
const LONGEST_WORD: usize = 64;
const OPEN: &str = "=?utf-8?Q?";
const CLOSE: &str = "?=";

/// A header of ASCII text with spaces to fold it at.
pub(super) fn plain(name: &'static str, value: String) -> HeaderValue {
    HeaderValue::new(HeaderName::new_from_ascii_str(name), value)
}

pub(super) fn subject(text: &str) -> HeaderValue {
    let line = one_line(text);
    plain("Subject", if is_foldable(&line) { line } else { encoded_words(&line) })
}

/// The sender: `"Name" <address>`, or the bare address where there is no name.
pub(super) fn from(name: &str, address: Address) -> HeaderValue {
    let name = one_line(name);
    let value = if name.is_empty() {
        address.to_string()
    } else if name.is_ascii() && is_foldable(&name) {
        Mailbox::new(Some(name), address).to_string()
    } else {
        format!("{} <{address}>", encoded_words(&name))
    };
    plain("From", value)
}

pub(super) fn to(addresses: &[Address]) -> HeaderValue {
    plain("To", addresses.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
}

fn is_foldable(line: &str) -> bool {
    line.split(' ').all(|word| word.len() <= LONGEST_WORD) && !line.contains("=?")
}

/// The "Q" encoding of RFC 2047, sections 2 and 4.2, with no more letters left plain than section 5 (3) allows in a
/// name. A reader drops the spaces between the words.
fn encoded_words(line: &str) -> String {
    let mut words = String::new();
    let mut room = 0;
    for c in line.chars() {
        // A letter's octets may not be split over two words (section 5).
        let cell = match c {
            ' ' => "_".to_owned(),
            c if c.is_ascii_alphanumeric() => c.to_string(),
            c => c.encode_utf8(&mut [0; 4]).bytes().fold(String::new(), |cell, octet| format!("{cell}={octet:02X}")),
        };
        if cell.len() > room {
            if !words.is_empty() {
                words.push_str(CLOSE);
                words.push(' ');
            }
            words.push_str(OPEN);
            room = LONGEST_WORD - OPEN.len() - CLOSE.len();
        }
        room -= cell.len();
        words.push_str(&cell);
    }
    if !words.is_empty() {
        words.push_str(CLOSE);
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 2047, section 8: `=?ISO-8859-1?Q?a_b?=` is "a b".
    #[test]
    fn words_are_of_bounded_length_and_letters_stay_whole() {
        assert_eq!(encoded_words("a b"), "=?utf-8?Q?a_b?=");
        assert_eq!(encoded_words("=?é"), "=?utf-8?Q?=3D=3F=C3=A9?=");
        let words = encoded_words(&"ü".repeat(50));
        assert!(words.split(' ').all(|word| word.len() <= LONGEST_WORD && (word.len() - 12) % 6 == 0), "{words}");
        assert_eq!(encoded_words(""), "");
    }
}
