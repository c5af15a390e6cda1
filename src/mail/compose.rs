//! From a letter to the bytes of a message (RFC 5322; MIME by RFC 2045 to 2047, 2183 and 2231).
//!
//! Handed a letter; promises bytes that depend on it alone (no clock, nothing random), ASCII throughout, every line
//! ended by CRLF and within 78 octets wherever it can be broken, and no header that the letter's text could have
//! slipped in. Bodies are quoted-printable and attachments base64 whatever is in them: lettre's choice by content
//! would pass a file with bare line feeds as it is, and servers change those on the way. Turned down: writing MIME
//! by hand.

use std::time::SystemTime;

use jiff::ZonedDateTime;
use lettre::message::header::{self, ContentTransferEncoding, ContentType};
use lettre::message::{Attachment as Part, Body, Mailbox, Mailboxes, Message, MultiPart, SinglePart};

use crate::model::text::one_line;

use super::address::{NotAnAddress, address};
use super::headers;

/// All that a message says.
#[derive(Clone, Debug)]
pub struct Letter<'a> {
    /// Sender's name; may be empty.
    pub from_name: &'a str,
    /// Sender's address.
    pub from: &'a str,
    /// Recipients' addresses.
    pub to: &'a [String],
    /// Subject; line breaks become spaces.
    pub subject: &'a str,
    /// Message-ID without angle brackets, as `name@domain`; unique for ever.
    pub message_id: &'a str,
    /// The moment the message tells of itself, with the offset it tells it in.
    pub date: &'a ZonedDateTime,
    /// Plain body.
    pub text: &'a str,
    /// HTML body.
    pub html: &'a str,
    /// Files attached.
    pub attachments: Vec<Attachment<'a>>,
}

/// A file attached.
#[derive(Clone, Debug)]
pub struct Attachment<'a> {
    /// File name.
    pub name: &'a str,
    /// Media type.
    pub mime: &'a str,
    /// Contents; they arrive byte for byte.
    pub bytes: &'a [u8],
}

/// A letter that can't be a message.
#[derive(Debug, thiserror::Error)]
pub enum ComposeError {
    /// Not an address.
    #[error("`{address}` {why}; mend it in dawnpack.toml")]
    Address {
        /// What stood there.
        address: String,
        /// What is wrong with it.
        why: NotAnAddress,
    },
    /// Nobody to send it to.
    #[error("the message has no recipient; write one as `to` under [mail] in dawnpack.toml")]
    NoRecipient,
    /// Not a Message-ID.
    #[error("`{0}` is not a Message-ID; it has to be name@domain, in ASCII letters, digits and dots")]
    MessageId(String),
    /// Not a media type.
    #[error("`{0}` is not a media type; write one such as application/pdf")]
    Mime(String),
    /// A date that no message can tell.
    #[error("`{0}` can't be the date of a message; check the clock")]
    Date(String),
    /// The message could not be put together.
    #[error("the message could not be put together: {0}")]
    Build(#[from] lettre::error::Error),
}

/// The message: mixed, of an alternative of the two bodies, and the attachments.
///
/// # Errors
/// [`ComposeError`] where an address, Message-ID, date or media type is none.
pub fn compose(letter: &Letter<'_>) -> Result<Vec<u8>, ComposeError> {
    let message_id = checked_id(letter.message_id)?;
    if letter.to.is_empty() {
        return Err(ComposeError::NoRecipient);
    }
    // Boundaries come from the Message-ID: random ones would make another message of the same letter. `=_` stands
    // in no quoted-printable or base64 line (RFC 2045, section 6.7), so that no part can end early.
    let boundary = |part: &str| format!("=_{part}_{}", blake3::hash(message_id.as_bytes()).to_hex().split_at(24).0);
    let bodies = MultiPart::alternative()
        .boundary(boundary("bodies"))
        .singlepart(SinglePart::plain(quoted_printable(letter.text)))
        .singlepart(SinglePart::html(quoted_printable(letter.html)));
    let mut whole = MultiPart::mixed().boundary(boundary("whole")).multipart(bodies);
    for attached in &letter.attachments {
        let mime = ContentType::parse(attached.mime).map_err(|_| ComposeError::Mime(attached.mime.to_owned()))?;
        let body = encoded(attached.bytes.to_vec(), ContentTransferEncoding::Base64);
        whole = whole.singlepart(Part::new(one_line(attached.name)).body(body, mime));
    }
    let from = checked_address(letter.from)?;
    let to = letter.to.iter().map(|to| checked_address(to)).collect::<Result<Vec<_>, _>>()?;
    let mut message = Message::builder()
        // Without a date lettre would read the clock; this one, like both addresses, is overwritten below.
        .date(SystemTime::UNIX_EPOCH)
        .from(Mailbox::new(None, from.clone()))
        .raw_header(headers::subject(letter.subject))
        .message_id(Some(format!("<{message_id}>")))
        .mailbox(header::To::from(to.iter().map(|to| Mailbox::new(None, to.clone())).collect::<Mailboxes>()))
        .multipart(whole)?;
    let head = message.headers_mut();
    // lettre tells the time in UTC only.
    head.insert_raw(headers::plain("Date", date(letter.date)?));
    head.insert_raw(headers::from(letter.from_name, from));
    head.insert_raw(headers::to(&to));
    // RFC 3834, section 5: responders leave an automatic message unanswered.
    head.insert_raw(headers::plain("Auto-Submitted", "auto-generated".to_owned()));
    Ok(message.formatted())
}

fn quoted_printable(text: &str) -> Body {
    // Lone carriage returns too are line breaks: RFC 5322, section 2.3, has neither half without the other.
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    encoded(text, ContentTransferEncoding::QuotedPrintable)
}

/// Quoted-printable and base64 take any contents, so that lettre's refusal never comes; it would hand back the
/// contents as they were.
fn encoded<B>(contents: B, encoding: ContentTransferEncoding) -> Body
where
    B: Into<lettre::message::MaybeString>,
{
    Body::new_with_encoding(contents, encoding).unwrap_or_else(Body::new)
}

fn checked_address(text: &str) -> Result<lettre::Address, ComposeError> {
    address(text).map_err(|why| ComposeError::Address { address: text.to_owned(), why })
}

/// RFC 5322, section 3.6.4, without the obsolete forms: two dot-atoms.
fn checked_id(text: &str) -> Result<&str, ComposeError> {
    let is_atom = |atom: &str| {
        !atom.is_empty()
            && atom.bytes().all(|octet| octet.is_ascii_alphanumeric() || b"!#$%&'*+-/=?^_`{|}~".contains(&octet))
    };
    let is_dot_atom = |part: &str| part.split('.').all(is_atom);
    match text.split_once('@') {
        // It can't be folded, so that it has to fit a line.
        Some((left, right)) if is_dot_atom(left) && is_dot_atom(right) && text.len() <= 900 => Ok(text),
        Some(_) | None => Err(ComposeError::MessageId(text.to_owned())),
    }
}

fn date(date: &ZonedDateTime) -> Result<String, ComposeError> {
    jiff::fmt::rfc2822::to_string(date).map_err(|_| ComposeError::Date(date.to_string()))
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use mail_parser::{Message as Read, MessageParser, MimeHeaders};
    use proptest::prelude::*;

    use super::*;

    const ID: &str = "2026-11-25.r1.abc@example.org";

    static TO: LazyLock<[String; 1]> = LazyLock::new(|| ["owner@example.org".to_owned()]);
    static DATE: LazyLock<ZonedDateTime> =
        LazyLock::new(|| "2026-11-25T06:30:00-05:00[America/New_York]".parse().unwrap());

    /// A letter with nothing odd in it, for tests to change one thing of.
    fn composed<'a>(change: impl FnOnce(&mut Letter<'a>)) -> Result<Vec<u8>, ComposeError> {
        let mut letter = Letter {
            from_name: "Saltmarsh Badge Works",
            from: "owner@example.org",
            to: &*TO,
            subject: "Wed 25 Nov: 2 parcels",
            message_id: ID,
            date: &DATE,
            text: "Two parcels for Zoë.\n",
            html: "<p>Two parcels for Zoë.</p>\n",
            attachments: vec![Attachment { name: "dispatch.pdf", mime: "application/pdf", bytes: b"%PDF-1.7\n" }],
        };
        change(&mut letter);
        compose(&letter)
    }

    fn read(bytes: &[u8]) -> Read<'_> {
        MessageParser::default().parse(bytes).unwrap()
    }

    fn sender(bytes: &[u8]) -> (Option<String>, String) {
        let read = read(bytes);
        let from = read.from().and_then(|from| from.first()).unwrap();
        (from.name().map(str::to_owned), from.address().unwrap().to_owned())
    }

    fn head(bytes: &[u8]) -> String {
        String::from_utf8_lossy(bytes).split_once("\r\n\r\n").unwrap().0.to_owned()
    }

    /// The names of the message's own headers, in order.
    fn names(bytes: &[u8]) -> Vec<String> {
        head(bytes)
            .split("\r\n")
            .filter(|line| !line.starts_with([' ', '\t']))
            .map(|line| line.split(':').next().unwrap().to_owned())
            .collect()
    }

    const NAMES: [&str; 8] =
        ["Date", "From", "Subject", "Message-ID", "To", "MIME-Version", "Auto-Submitted", "Content-Type"];

    /// RFC 5322, sections 2.1.1 and 2.3, and ASCII throughout. Returns the longest line.
    fn longest_line(bytes: &[u8]) -> usize {
        let text = std::str::from_utf8(bytes).unwrap();
        assert!(text.is_ascii() && text.ends_with("\r\n"));
        text.split("\r\n")
            .map(|line| {
                assert!(!line.contains(['\r', '\n', '\0']), "{line:?}");
                line.len()
            })
            .max()
            .unwrap()
    }

    #[test]
    fn an_independent_reader_finds_all_parts_again() {
        let pdf: Vec<u8> = (0..=255_u8).cycle().take(5000).collect();
        let bytes = composed(|letter| {
            letter.subject = "Mi 25. Nov: 2 Päckchen";
            letter.from_name = "Zoë \"Gull\" O'Ley, pins";
            letter.attachments.push(Attachment { name: "Päckchen 1.pdf", mime: "application/pdf", bytes: &pdf });
            letter.attachments.push(Attachment { name: "handoff.csv", mime: "text/csv", bytes: b"a,b\n1,2\r\n.\n\n" });
        })
        .unwrap();
        let read = read(&bytes);
        assert_eq!(read.subject(), Some("Mi 25. Nov: 2 Päckchen"));
        assert_eq!(read.message_id(), Some(ID));
        assert_eq!(sender(&bytes), (Some("Zoë \"Gull\" O'Ley, pins".into()), "owner@example.org".into()));
        assert_eq!(read.to().and_then(|to| to.first()).and_then(|to| to.address()), Some("owner@example.org"));
        assert_eq!(read.text_body_count(), 1);
        assert_eq!(read.body_text(0).unwrap().replace("\r\n", "\n").trim_end(), "Two parcels for Zoë.");
        assert_eq!(read.body_html(0).unwrap().replace("\r\n", "\n").trim_end(), "<p>Two parcels for Zoë.</p>");
        let attached: Vec<_> = read.attachments().map(|a| (a.attachment_name().unwrap(), a.contents())).collect();
        let expected: [(&str, &[u8]); 3] =
            [("dispatch.pdf", b"%PDF-1.7\n"), ("Päckchen 1.pdf", &pdf), ("handoff.csv", b"a,b\n1,2\r\n.\n\n")];
        assert_eq!(attached, expected);
        assert_eq!(names(&bytes), NAMES);
        // Base64 adds a third and line breaks; quoted-printable would double such a file.
        assert!(bytes.len() < pdf.len() * 3 / 2 + 2500, "{}", bytes.len());
    }

    #[test]
    fn the_date_is_told_in_the_sellers_own_time() {
        let bytes = composed(|_| ()).unwrap();
        assert!(head(&bytes).contains("Date: Wed, 25 Nov 2026 06:30:00 -0500\r\n"), "{}", head(&bytes));
        assert_eq!(read(&bytes).date().unwrap().to_timestamp(), DATE.timestamp().as_second());
    }

    #[test]
    fn the_same_letter_is_the_same_bytes_and_another_has_other_boundaries() {
        let bytes = composed(|_| ()).unwrap();
        assert_eq!(composed(|_| ()).unwrap(), bytes);
        let other = composed(|letter| letter.message_id = "2026-11-25.r2.abc@example.org").unwrap();
        let boundary = |bytes: &[u8]| head(bytes).split_once("boundary=").unwrap().1.to_owned();
        assert_ne!(boundary(&other), boundary(&bytes));
    }

    #[test]
    fn long_subjects_are_folded_and_kept_whole() {
        for subject in
            ["gull ".repeat(2000), "g".repeat(100), "g".repeat(10_000), "Möwe".repeat(2500), "Möwe ".repeat(2000)]
        {
            let bytes = composed(|letter| letter.subject = &subject).unwrap();
            assert!(longest_line(&bytes) <= 78);
            assert_eq!(read(&bytes).subject(), Some(subject.trim_end()));
        }
    }

    #[test]
    fn what_looks_encoded_is_shown_as_it_is() {
        let text = "re =?utf-8?Q?Bcc:_x?= and more";
        let bytes = composed(|letter| (letter.subject, letter.from_name) = (text, text)).unwrap();
        assert_eq!(read(&bytes).subject(), Some(text));
        assert_eq!(sender(&bytes), (Some(text.to_owned()), "owner@example.org".to_owned()));
    }

    #[test]
    fn long_names_of_senders_are_folded_and_kept_whole() {
        let names = ["Salt, \"Marsh\" & Sons of Eastmere ".repeat(20), "Zoë's ".repeat(100), "g".repeat(2000)];
        for name in names {
            let bytes = composed(|letter| letter.from_name = &name).unwrap();
            assert!(longest_line(&bytes) <= 78, "{}", head(&bytes));
            assert_eq!(sender(&bytes), (Some(name.trim_end().to_owned()), "owner@example.org".to_owned()));
        }
        let bytes = composed(|letter| letter.from_name = " ").unwrap();
        assert_eq!(sender(&bytes), (None, "owner@example.org".to_owned()));
    }

    #[test]
    fn no_header_can_be_slipped_in() {
        for slip in
            ["x\r\nBcc: thief@example.net", "x\nBcc: thief@example.net", "x\rBcc: thief@example.net", "x\r\n\r\nbody"]
        {
            let bytes = composed(|letter| {
                letter.subject = slip;
                letter.from_name = slip;
                letter.attachments.push(Attachment { name: slip, mime: "text/csv", bytes: b"" });
            })
            .unwrap();
            assert_eq!(names(&bytes), NAMES, "{slip:?}");
            assert!(!String::from_utf8_lossy(&bytes).contains("\r\nBcc"), "{slip:?}");
            let read = read(&bytes);
            let name = read.attachment(1).and_then(|attached| attached.attachment_name()).unwrap();
            assert!(name.starts_with("x ") && !name.contains(char::is_control), "{name:?}");
            let to = [format!("owner@example.org{slip}")];
            let error = composed(|letter| letter.to = &to).unwrap_err();
            assert!(matches!(error, ComposeError::Address { .. }), "{error}");
            let id = format!("{ID}{slip}");
            let error = composed(|letter| letter.message_id = &id).unwrap_err();
            assert!(matches!(error, ComposeError::MessageId(_)), "{error}");
            let mime = format!("text/csv{slip}");
            let error = composed(|letter| {
                letter.attachments.push(Attachment { name: "x", mime: &mime, bytes: b"" });
            });
            assert!(matches!(error, Err(ComposeError::Mime(_))), "{error:?}");
        }
    }

    #[test]
    fn long_body_lines_and_odd_characters_come_back() {
        let text =
            format!("{}\n.\nFrom here\n\ttab and trailing  \nlone\rreturn\u{0}\n--=_bodies\n", "gull ".repeat(500));
        let bytes = composed(|letter| letter.text = &text).unwrap();
        assert!(longest_line(&bytes) <= 78);
        let read = read(&bytes);
        let back = read.body_text(0).unwrap().replace("\r\n", "\n");
        assert_eq!(back.trim_end(), text.replace('\r', "\n").trim_end());
    }

    #[test]
    fn what_is_no_address_is_named_with_a_mend() {
        for (address, why) in [
            ("nobody", "`nobody` is not an email address"),
            ("a@möwe.example", "letters beyond ASCII"),
            ("\"a\r\n b\"@example.org", "control character"),
            ("", "is not an email address"),
        ] {
            let to = [address.to_owned()];
            let error = composed(|letter| letter.to = &to).unwrap_err().to_string();
            assert!(error.contains(why) && error.ends_with("mend it in dawnpack.toml"), "{error}");
        }
        assert!(matches!(composed(|letter| letter.to = &[]), Err(ComposeError::NoRecipient)));
    }

    #[test]
    fn many_recipients_are_folded_and_all_there() {
        let to: Vec<String> = (0..50).map(|n| format!("reader.number.{n}@mail.example.org")).collect();
        let bytes = composed(|letter| letter.to = &to).unwrap();
        assert!(longest_line(&bytes) <= 78, "{}", head(&bytes));
        let read = read(&bytes);
        let back: Vec<_> = read.to().unwrap().iter().filter_map(|to| to.address()).collect();
        assert_eq!(back, to);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// Whatever a letter's text holds, the message has just its own headers and parts, and lawful lines.
        #[test]
        fn any_text_keeps_the_message_lawful(
            from_name in "\\PC{0,120}|[\\x00-\\x7f]{0,2000}",
            subject in any::<String>(),
            text in any::<String>(),
            name in "[\\x00-\\x7fé\"\\\\]{1,300}",
            bytes in proptest::collection::vec(any::<u8>(), 0..2000),
        ) {
            let message = composed(|letter| {
                letter.from_name = &from_name;
                letter.subject = &subject;
                letter.text = &text;
                letter.html = &text;
                letter.attachments.push(Attachment { name: &name, mime: "application/octet-stream", bytes: &bytes });
            })
            .unwrap();
            prop_assert!(longest_line(&message) <= 78, "{}", String::from_utf8_lossy(&message));
            prop_assert_eq!(names(&message), NAMES);
            let read = read(&message);
            prop_assert_eq!(read.attachment_count(), 2);
            prop_assert_eq!(read.attachment(1).unwrap().contents(), &bytes[..]);
            prop_assert_eq!(read.subject().unwrap_or_default(), one_line(&subject));
            prop_assert_eq!(sender(&message).0.unwrap_or_default(), one_line(&from_name));
        }
    }
}
