//! The text of a saved email, and which lines of the file it comes from.
//!
//! Handed the bytes of a file that begins with header lines; promises the text that a mail program would show
//! (quoted-printable, base64 and character sets undone; HTML as text where there is nothing else). Turned down:
//! reading attachments, which are files of their own: save one and drop that.

use mail_parser::{Encoding, MessageParser, MessagePart, PartType};

pub(super) struct Body {
    pub(super) text: String,
    /// The file's line of each line of the text.
    pub(super) lines: Vec<u64>,
}

/// Bytes of header lines that an email may have: mail servers take a quarter of it (common practice, no source).
const LONGEST_HEAD: usize = 256 * 1024;

/// Header lines as RFC 5322 has them, before the first blank line, with at least a sender and a date; before them
/// may stand the `From ` line that mailbox files have (RFC 4155).
pub(super) fn is_one(text: &str) -> bool {
    let head = text.get(..text.floor_char_boundary(LONGEST_HEAD + 1)).unwrap_or_default();
    if head.len() > LONGEST_HEAD && !head.contains("\n\n") && !head.contains("\r\n\r\n") {
        return false;
    }
    let head = text.lines().take_while(|line| !line.trim().is_empty());
    let (mut from, mut date, mut all) = (false, false, true);
    for (place, line) in head.enumerate() {
        if place == 0 && line.starts_with("From ") {
            continue;
        }
        let name = line.split_once(':').map(|(name, _)| name);
        let folded = line.starts_with([' ', '\t']);
        from |= name.is_some_and(|name| name.eq_ignore_ascii_case("from"));
        date |= name.is_some_and(|name| name.eq_ignore_ascii_case("date"));
        all &= folded || name.is_some_and(|name| !name.is_empty() && !name.contains(char::is_whitespace));
    }
    from && date && all
}

pub(super) fn body(bytes: &[u8]) -> Option<Body> {
    // The parser takes a mailbox's first line for a header that isn't one.
    let start = if bytes.starts_with(b"From ") { bytes.iter().position(|byte| *byte == b'\n')? + 1 } else { 0 };
    let mail = bytes.get(start..)?;
    let message = MessageParser::default().parse(mail)?;
    let text = message.body_text(0).filter(|text| !text.trim().is_empty())?.into_owned();
    let part = message.text_body.first().or(message.html_body.first()).and_then(|id| message.parts.get(*id as usize));
    let lines = part.map_or_else(Vec::new, |part| lines_of(part, mail, breaks(bytes, start)));
    Some(Body { text, lines })
}

fn breaks(bytes: &[u8], end: usize) -> u64 {
    let before = bytes.get(..end).unwrap_or_default();
    before.iter().map(|byte| u64::from(*byte == b'\n')).sum()
}

/// The file's line of each line of a part's text. One in base64, or made from HTML, stands whole on its first line.
fn lines_of(part: &MessagePart<'_>, mail: &[u8], lines_before: u64) -> Vec<u64> {
    let (start, end) = (part.offset_body as usize, part.offset_end as usize);
    let first = 1 + lines_before + breaks(mail, start);
    let raw = mail.get(start..end).unwrap_or_default();
    let plain = matches!(part.body, PartType::Text(_));
    let mut lines = Vec::new();
    let mut continues = false;
    for (line, text) in (first..).zip(raw.split(|byte| *byte == b'\n')) {
        match part.encoding {
            Encoding::None if plain => lines.push(line),
            Encoding::QuotedPrintable if plain => {
                if !continues {
                    lines.push(line);
                }
                // RFC 2045, section 6.7, rule 5: an equals sign at the end of a line joins the next one to it.
                continues = text.trim_ascii_end().ends_with(b"=");
            }
            Encoding::None | Encoding::QuotedPrintable | Encoding::Base64 => return vec![first],
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "From: Ines <ines@example.net>\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\nSubject: trade\r\n";

    #[test]
    fn an_email_is_known_by_its_header_lines() {
        assert!(is_one(&format!("{HEAD}\r\nHello")));
        assert!(is_one(&format!("From ines@example.net Fri Nov 20 10:00:00 2026\n{HEAD}\r\nHello")));
        assert!(!is_one(&format!("{HEAD}{}\r\n\r\nHello", "X: y\r\n".repeat(LONGEST_HEAD / 4))));
        assert!(!is_one("From,Date\nInes,2026\n"));
        assert!(!is_one("Trade with: Ines\nDate: now\n"));
    }

    #[test]
    fn each_line_of_the_body_knows_its_line_in_the_file() {
        let mail = format!(
            "{HEAD}MIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: \
             quoted-printable\r\n\r\none\r\ntwo =\r\nand a half\r\nZo=C3=AB\r\n"
        );
        let body = body(mail.as_bytes()).unwrap();
        let lines: Vec<(&str, u64)> = body.text.lines().zip(body.lines).collect();
        assert_eq!(lines, [("one", 8), ("two and a half", 9), ("Zoë", 11)]);
    }

    #[test]
    fn of_a_multipart_email_the_plain_part_is_read() {
        let mail = format!(
            "{HEAD}MIME-Version: 1.0\r\nContent-Type: multipart/alternative; boundary=b\r\n\r\n--b\r\nContent-Type: \
             text/html\r\n\r\n<p>rich</p>\r\n--b\r\nContent-Type: text/plain\r\n\r\nplain\r\n--b--\r\n"
        );
        let body = body(mail.as_bytes()).unwrap();
        assert_eq!((body.text.trim(), body.lines[0]), ("plain", 14));
    }

    #[test]
    fn an_email_that_is_only_html_is_read_as_text() {
        let mail =
            format!("{HEAD}MIME-Version: 1.0\r\nContent-Type: text/html\r\n\r\n<p>one</p><p>two<br>three</p>\r\n");
        let body = body(mail.as_bytes()).unwrap();
        let lines: Vec<&str> = body.text.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        assert_eq!(lines, ["one", "two", "three"]);
        assert_eq!(body.lines, [7]);
    }

    #[test]
    fn base64_is_undone() {
        let mail = format!(
            "{HEAD}MIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: \
             base64\r\n\r\nWm/Dqwp0d28K\r\n"
        );
        let body = body(mail.as_bytes()).unwrap();
        assert_eq!((body.text.as_str(), body.lines), ("Zoë\ntwo\n", vec![8]));
    }
}
