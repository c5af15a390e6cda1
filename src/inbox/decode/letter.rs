//! Whether a saved email stays small once it is taken apart.
//!
//! Handed its bytes; promises that its parts, headers and the emails in it are no more than any real one has: each
//! becomes many times its size when it is parsed. Turned down: a largest size alone, since pictures make large emails
//! that cost nothing.

/// Bytes of a saved email, its pictures included; mail servers take 25 MB (common practice, no source).
const LARGEST: usize = 32 << 20;
/// Bytes of all lines that may be headers, with the lines that continue them.
const LARGEST_HEADERS: usize = 1 << 20;
const MOST_PARTS: usize = 5_000;
/// Emails within emails, as forwarded ones are.
const MOST_LETTERS: usize = 50;

/// Why an email is not taken apart, if it is not.
pub(super) fn too_much(bytes: &[u8]) -> Option<&'static str> {
    if bytes.len() > LARGEST {
        return Some("the saved email has more than the 32 MiB that are read of one; save it without its attachments");
    }
    let (mut headers, mut parts, mut letters) = (0, 0, 0);
    let mut in_header = false;
    for line in bytes.split(|byte| *byte == b'\n') {
        // RFC 5322, section 2.2.3: a line that begins with a blank continues the one before.
        in_header = if line.starts_with(b" ") || line.starts_with(b"\t") { in_header } else { line.contains(&b':') };
        if in_header {
            headers += line.len() + 1;
            letters += usize::from(is_letter(line));
        }
        parts += usize::from(line.starts_with(b"--"));
    }
    let is_too_much = headers > LARGEST_HEADERS || parts > MOST_PARTS || letters > MOST_LETTERS;
    is_too_much
        .then_some("the saved email has more parts or headers than any that is sent; save its text and drop that")
}

/// RFC 2046, section 5.2.1, and RFC 6532, section 3.7: a part that is an email itself.
fn is_letter(line: &[u8]) -> bool {
    let kinds: [&[u8]; 2] = [b"message/rfc822", b"message/global"];
    kinds.iter().any(|kind| line.windows(kind.len()).any(|window| window.eq_ignore_ascii_case(kind)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "From: Ines <ines@example.net>\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\n";

    #[test]
    fn pictures_are_no_reason_and_parts_headers_and_letters_are() {
        let with = |piece: &str, times: usize| format!("{HEAD}\r\n{}", piece.repeat(times)).into_bytes();
        assert_eq!(
            too_much(&with("QUJDREVGR0hJSktMTU5PUFFSU1RVVldYWVphYmNkZWZnaGlqa2xtbm9wcXJzdHV2d3h5\r\n", 100_000)),
            None
        );
        for (piece, times) in [
            ("--b\r\n\r\na\r\n", MOST_PARTS + 1),
            ("a:b\r\n", LARGEST_HEADERS / 5 + 1),
            ("Content-Type: Message/RFC822\r\n\r\n", MOST_LETTERS + 1),
        ] {
            assert!(too_much(&with(piece, times)).is_some(), "{piece}");
            assert_eq!(too_much(&with(piece, times / 2)), None, "{piece}");
        }
        let folded = format!("To: a,\r\n{}", " a@example.org,\r\n".repeat(LARGEST_HEADERS / 17 + 1));
        assert!(too_much(folded.as_bytes()).is_some());
        assert!(too_much(&vec![b'a'; LARGEST + 1]).unwrap().contains("32 MiB"));
    }
}
