//! The parts of an email that may hold its text, each as letters with the lines of the file they come from.
//!
//! Handed a parsed message; promises its readable parts in the order in which a person would look: plain text, HTML,
//! attached text, emails sent along. Letters are decoded as strictly as those of any other file: what the declared
//! character set doesn't account for is tried as UTF-8, then detected, and never replaced. Turned down: the parser's
//! decoded text, which puts a question mark where it is at a loss and knows none of the East Asian sets.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use mail_parser::decoders::base64::base64_decode;
use mail_parser::decoders::quoted_printable::quoted_printable_decode;
use mail_parser::{Message, MessagePart, MimeHeaders as _, PartType};

use super::super::trades::LONGEST_LETTER;
use super::{flowed, html};

/// A part's text, line by line, before lines are joined that a mail program broke.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Part {
    pub(super) lines: Vec<(String, u64)>,
    /// Whether all lines stand on the first, since the file shows none of them.
    pub(super) hidden: bool,
    /// `format=flowed`, and whether its breaks take their space with them.
    flowed: Option<bool>,
}

impl Part {
    /// With lines joined that a mail program broke.
    pub(super) fn joined(self) -> Self {
        let Some(del_sp) = self.flowed else { return self };
        Self { lines: flowed::joined(self.lines, del_sp), flowed: None, ..self }
    }

    pub(super) fn is_blank(&self) -> bool {
        self.lines.iter().all(|(line, _)| line.trim().is_empty())
    }
}

/// Lines of a letter that are told apart; one with more was written by no person, and is refused for its length, or
/// has its lines counted in its text.
pub(super) const MOST_LINES: usize = 50_000;
/// Bytes of HTML that are read: a letter's are a hundredth, but for pictures that some programs write into it.
const LONGEST_HTML: usize = 4 << 20;

/// Emails within emails that are opened.
const DEEPEST: usize = 4;

/// The parts of `message`, which was parsed from `raw`; `before` lines of the file stand before that.
pub(super) fn parts(message: &Message<'_>, raw: &[u8], before: u64) -> Vec<Part> {
    let mut found = Vec::new();
    collect(message, raw, Place::Counted { before }, DEEPEST, &mut found);
    found
}

/// How lines of what was parsed are lines of the file.
#[derive(Clone, Copy)]
enum Place {
    Counted {
        before: u64,
    },
    /// All of it is encoded, and stands from that line on.
    Within {
        line: u64,
    },
}

impl Place {
    fn line(self, raw: &[u8], offset: usize) -> u64 {
        match self {
            Self::Counted { before } => 1 + before + breaks(raw.get(..offset).unwrap_or_default()),
            Self::Within { line } => line,
        }
    }
}

pub(super) fn breaks(bytes: &[u8]) -> u64 {
    bytes.iter().map(|byte| u64::from(*byte == b'\n')).sum()
}

fn collect(message: &Message<'_>, raw: &[u8], place: Place, depth: usize, found: &mut Vec<Part>) {
    let part_of = |id: &u32| message.parts.get(*id as usize);
    let is_html = |part: &&MessagePart<'_>| matches!(part.body, PartType::Html(_));
    let body: Vec<&MessagePart<'_>> = message.text_body.iter().chain(&message.html_body).filter_map(part_of).collect();
    let plain = body.iter().copied().filter(|part| !is_html(part));
    let rich = body.iter().copied().filter(is_html);
    let attached = message.attachments.iter().filter_map(part_of);
    let mut seen: Vec<u32> = Vec::new();
    for part in plain.chain(rich).chain(attached) {
        if seen.contains(&part.offset_body) {
            continue;
        }
        seen.push(part.offset_body);
        match &part.body {
            PartType::Text(_) | PartType::Html(_) => found.extend(read(part, raw, place)),
            PartType::Message(inner) if depth > 0 => {
                let own = inner.raw_message.as_ref();
                // An encoded email within was parsed by itself.
                let inside = if own.len() == raw.len() {
                    place
                } else {
                    Place::Within { line: place.line(raw, part.offset_body as usize) }
                };
                collect(inner, own, inside, depth - 1, found);
            }
            PartType::Message(_) | PartType::Binary(_) | PartType::InlineBinary(_) | PartType::Multipart(_) => {}
        }
    }
}

fn read(part: &MessagePart<'_>, mail: &[u8], place: Place) -> Option<Part> {
    let (start, end) = (part.offset_body as usize, part.offset_end as usize);
    let raw = mail.get(start..end)?;
    let first = place.line(mail, start);
    let shown = matches!(place, Place::Counted { .. });
    let encoding = part.content_transfer_encoding().unwrap_or_default().to_ascii_lowercase();
    let (bytes, numbers) = match encoding.as_str() {
        "base64" => (Cow::Owned(base64_decode(raw)?), Vec::new()),
        "quoted-printable" => {
            let (bytes, numbers) = unquoted(raw, first);
            (Cow::Owned(bytes), numbers)
        }
        _ => (Cow::Borrowed(raw), (first..).take(MOST_LINES).collect()),
    };
    let hidden = numbers.is_empty() || !shown;
    let number =
        |line: usize| if hidden { first } else { numbers.get(line).or(numbers.last()).copied().unwrap_or(first) };
    let content = part.content_type();
    let said = |name: &str| content.and_then(|content| content.attribute(name)).unwrap_or_default();
    let text = letters(&bytes, said("charset"))?;
    if let PartType::Html(_) = part.body {
        if text.len() > LONGEST_HTML {
            return None;
        }
        let lines = html::lines(&text).into_iter().map(|line| (line.text, number(line.source))).collect();
        return Some(Part { lines, hidden, flowed: None });
    }
    let flowed = said("format").eq_ignore_ascii_case("flowed").then(|| said("delsp").eq_ignore_ascii_case("yes"));
    // Line ends are CR LF, LF or, in old files, CR alone.
    let ends = if text.contains('\n') { '\n' } else { '\r' };
    if text.len() > LONGEST_LETTER || text.matches(ends).nth(MOST_LINES).is_some() {
        return Some(Part { lines: vec![(text, first)], hidden: true, flowed: None });
    }
    let lines =
        text.split(ends).enumerate().map(|(index, line)| (line.trim_end_matches('\r').to_owned(), number(index)));
    Some(Part { lines: lines.collect(), hidden, flowed })
}

/// A line with every equals sign encoded that encodes nothing, as where somebody edited the saved file by hand.
fn mended(line: &[u8]) -> Vec<u8> {
    let encodes = |rest: &[u8]| match rest {
        [a, b, ..] if a.is_ascii_hexdigit() && b.is_ascii_hexdigit() => true,
        rest => rest.trim_ascii().is_empty(),
    };
    let mut mended = Vec::with_capacity(line.len());
    for (place, byte) in line.iter().enumerate() {
        mended.push(*byte);
        if *byte == b'=' && !encodes(line.get(place + 1..).unwrap_or_default()) {
            mended.extend(b"3D");
        }
    }
    mended
}

/// Quoted-printable undone (RFC 2045, section 6.7), and the file's line of each line.
fn unquoted(raw: &[u8], first: u64) -> (Vec<u8>, Vec<u64>) {
    let (mut bytes, mut numbers) = (Vec::with_capacity(raw.len()), Vec::new());
    let mut continues = false;
    for (number, line) in (first..).zip(raw.split_inclusive(|byte| *byte == b'\n')) {
        if !continues && numbers.len() < MOST_LINES {
            numbers.push(number);
        }
        let whole = quoted_printable_decode(&mended(line)).unwrap_or_else(|| line.to_vec());
        // Rule 5: an equals sign at the end of a line joins the next one to it.
        continues = !whole.ends_with(b"\n");
        bytes.extend(whole);
    }
    (bytes, numbers)
}

fn letters(bytes: &[u8], charset: &str) -> Option<String> {
    let strict = |encoding: &'static Encoding| {
        encoding.decode_without_bom_handling_and_without_replacement(bytes).map(Cow::into_owned)
    };
    let declared = Encoding::for_label(charset.as_bytes());
    // Nobody writes UTF-8's pairs of odd letters by chance: a western set that is declared over them is a slip.
    let slip = declared.is_none_or(|declared| declared == WINDOWS_1252 || declared == UTF_8);
    let utf8 = if slip { strict(UTF_8) } else { None };
    utf8.or_else(|| declared.and_then(strict)).or_else(|| strict(UTF_8)).or_else(|| {
        let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
        detector.feed(bytes, true);
        strict(detector.guess(None, chardetng::Utf8Detection::Deny))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_declared_set_holds_unless_the_bytes_say_otherwise() {
        let (japanese, _, _) = encoding_rs::SHIFT_JIS.encode("灯台");
        assert_eq!(letters(&japanese, "shift_jis").as_deref(), Some("灯台"));
        let (polish, _, _) = encoding_rs::ISO_8859_2.encode("Łąka");
        assert_eq!(letters(&polish, "ISO-8859-2").as_deref(), Some("Łąka"));
        assert_eq!(letters("Zoë".as_bytes(), "iso-8859-1").as_deref(), Some("Zoë"));
        assert_eq!(letters(b"Zo\xEB", "iso-8859-1").as_deref(), Some("Zoë"));
        assert_eq!(letters(b"Zo\xEB Gr\xF6\xDFe", "utf-8").as_deref(), Some("Zoë Größe"));
        assert_eq!(letters(b"Zo\xEB Gr\xF6\xDFe", "").as_deref(), Some("Zoë Größe"));
    }

    #[test]
    fn quoted_printable_that_was_edited_by_hand_is_still_read() {
        let (bytes, numbers) = unquoted(b"Zo=C3=AB =\r\nB\r\n1 x A = 12.00\r\nend", 7);
        assert_eq!(String::from_utf8(bytes).unwrap(), "Zoë B\r\n1 x A = 12.00\r\nend");
        assert_eq!(numbers, [7, 9, 10]);
    }
}
