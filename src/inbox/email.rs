//! The text of a saved email, and which lines of the file it comes from.
//!
//! Handed the bytes of a file that begins with header lines; promises the text that a mail program would show
//! (quoted-printable, base64, character sets and broken lines undone; HTML as text) of the part that holds a
//! confirmation, be it an attached text or an email sent along, and else of the first. A line's number is that of
//! the file, in HTML and quoted-printable too; a part in base64, of which the file shows nothing, stands whole on its
//! first line. Turned down: the first part alone, since some programs write only "see below" into it.

mod flowed;
mod html;
mod letter;

use mail_parser::{MessageParser, MimeHeaders as _};

use crate::model::text::one_line;

use super::trades;
use letter::{Part, breaks};

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
    let part = chosen(bytes)?.joined();
    // One number is that of every line.
    let hidden = part.lines.first().filter(|_| part.hidden).map(|(_, line)| vec![*line]);
    let (mut texts, lines): (Vec<String>, Vec<u64>) = part.lines.into_iter().unzip();
    let text = if texts.len() == 1 { texts.pop()? } else { texts.join("\n") };
    Some(Body { text, lines: hidden.unwrap_or(lines) })
}

/// Names of the files that come with it.
pub(super) fn attached(bytes: &[u8]) -> Vec<String> {
    let message = MessageParser::default().parse(bytes);
    let named = message.iter().flat_map(mail_parser::Message::attachments);
    named.filter_map(|part| part.attachment_name().map(one_line)).filter(|name| !name.is_empty()).collect()
}

/// The part that holds a confirmation, else the first that holds anything.
fn chosen(bytes: &[u8]) -> Option<Part> {
    // The parser takes a mailbox's first line for a header that isn't one.
    let start = if bytes.starts_with(b"From ") { bytes.iter().position(|byte| *byte == b'\n')? + 1 } else { 0 };
    let mail = bytes.get(start..)?;
    let message = MessageParser::default().parse(mail)?;
    let before = breaks(bytes.get(..start).unwrap_or_default());
    let mut parts = letter::parts(&message, mail, before);
    parts.retain(|part| !part.is_blank());
    let holds = |part: &Part| part.lines.iter().any(|(line, _)| trades::looks_like_one(line));
    let place = parts.iter().position(holds).unwrap_or(0);
    parts.into_iter().nth(place)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use serde_json::Value;

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
        assert_eq!(body.lines, [7; 4]);
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

    #[test]
    fn a_letter_of_a_million_lines_is_kept_whole_and_not_line_by_line() {
        let mail = format!("{HEAD}\r\nTrade with: Ines\n{}", "\n".repeat(100_000));
        let long = body(mail.as_bytes()).unwrap();
        assert_eq!((long.text.len(), long.lines.len()), (100_017, 1));
        let html = format!("{HEAD}Content-Type: text/html\r\n\r\n{}", "a<br>".repeat(100_000));
        assert_eq!(body(html.as_bytes()).unwrap().lines.len(), letter::MOST_LINES);
    }

    /// Files that Python reads otherwise, and why ours is what a person expects.
    const READ_OTHERWISE: [(&str, &str); 2] = [
        ("trade-eml-no-set.eml", "without a declared set it takes ASCII and replaces every letter beyond"),
        ("trade-eml-set-belied.eml", "it believes the declared set, and garbles the letters"),
    ];

    fn folded(part: &Value) -> Vec<String> {
        let lines = part["lines"].as_array().unwrap().iter().map(|line| line.as_str().unwrap().to_owned());
        // Marks of quotes are ours: HTML has none.
        let bare = |line: String| {
            line.split_whitespace().filter(|word| !word.trim_matches('>').is_empty()).collect::<Vec<_>>().join(" ")
        };
        lines.map(bare).filter(|line| !line.is_empty()).collect()
    }

    /// The `email` package of Python, <https://docs.python.org/3/library/email.html>: what it read in the same files
    /// is kept in `python-email.json`, which says by what it was made.
    #[test]
    fn bodies_are_those_that_another_parser_reads() {
        let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
        let read = std::fs::read_to_string(tests.join("standards/data/python-email.json")).unwrap();
        let read: Value = serde_json::from_str(&read).unwrap();
        let files = read["files"].as_array().unwrap();
        assert!(files.len() >= 20);
        for read in files {
            let name = read["file"].as_str().unwrap();
            let bytes = std::fs::read(tests.join("drops").join(name)).unwrap();
            let part = chosen(&bytes).unwrap_or_else(|| panic!("{name} has no body"));
            let lines: Vec<&str> = part.lines.iter().map(|(line, _)| line.as_str()).collect();
            let ours = |html: bool| {
                let whole = [lines.join(" ")];
                let lines: Vec<&str> = if html { vec![&whole[0]] } else { lines.clone() };
                folded(&serde_json::json!({ "lines": lines }))
            };
            let same = |part: &Value| folded(part) == ours(part["type"] == "html");
            let holds = |part: &Value| part["lines"].to_string().contains("Trade with:");
            let otherwise = READ_OTHERWISE.iter().any(|(file, _)| *file == name);
            // Where the body holds no confirmation, another part that does is read.
            let fits = if holds(&read["body"]) || !read["parts"].as_array().unwrap().iter().any(holds) {
                same(&read["body"])
            } else {
                read["parts"].as_array().unwrap().iter().any(same)
            };
            assert_eq!(fits, !otherwise, "{name}: {lines:#?}");
        }
    }
}
