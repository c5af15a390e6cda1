//! What can be mailed to and from.
//!
//! Handed an address as somebody wrote it; promises one that a message and a server take, or what is wrong with it. The
//! one rule for the wall, where it is told with its line, and for composing, which takes addresses from the record as
//! text. Whether mail arrives there is the server's to say. Turned down: a looser check at the wall, which passes what
//! every morning's message then fails of.

use lettre::Address;

/// Why an address is none; the message follows the address.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum NotAnAddress {
    /// Most servers take no others than ASCII (RFC 6531).
    #[error("holds letters beyond ASCII; write its domain in the xn-- form")]
    NotAscii,
    /// A quoted local part may hold white space and, folded, line breaks; nobody's address needs either.
    #[error("holds a space or control character; write it without")]
    Space,
    /// Not of the form of RFC 5321, section 4.1.2.
    #[error("is not an email address; write it as owner@example.org")]
    Form,
}

/// The address that `text` is.
///
/// # Errors
/// [`NotAnAddress`], where it can't be mailed to.
pub fn address(text: &str) -> Result<Address, NotAnAddress> {
    if !text.is_ascii() {
        return Err(NotAnAddress::NotAscii);
    }
    if text.contains(|c: char| c.is_control() || c == ' ') {
        return Err(NotAnAddress::Space);
    }
    text.parse().map_err(|_| NotAnAddress::Form)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_message_takes_is_no_address() {
        for text in ["owner@example.org", "o'neil+pins@mail.example.org", "\"a.b\"@example.org"] {
            assert_eq!(address(text).map(|address| address.to_string()).as_deref(), Ok(text));
        }
        for (text, why) in [
            ("owner@example..org", NotAnAddress::Form),
            ("owner", NotAnAddress::Form),
            ("a@b@example.org", NotAnAddress::Form),
            ("", NotAnAddress::Form),
            ("a b@example.org", NotAnAddress::Space),
            ("\"a\r\n b\"@example.org", NotAnAddress::Space),
            ("a@möwe.example", NotAnAddress::NotAscii),
        ] {
            assert_eq!(address(text), Err(why), "{text}");
        }
    }
}
