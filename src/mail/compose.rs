//! From a letter to the bytes of a message (RFC 5322, MIME by RFC 2045 to 2047).

use std::time::{Duration, SystemTime};

use jiff::ZonedDateTime;
use lettre::message::header::{ContentType, HeaderName, HeaderValue};
use lettre::message::{Attachment as Part, Mailbox, Message, MultiPart, SinglePart};

/// All that a message says.
#[derive(Clone, Debug)]
pub struct Letter<'a> {
    /// Sender's name.
    pub from_name: &'a str,
    /// Sender's address.
    pub from: &'a str,
    /// Recipients' addresses.
    pub to: &'a [String],
    /// Subject; line breaks become spaces.
    pub subject: &'a str,
    /// Message-ID without angle brackets.
    pub message_id: &'a str,
    /// The moment the message tells of itself.
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
    /// Contents.
    pub bytes: &'a [u8],
}

/// A letter that can't be a message.
#[derive(Debug, thiserror::Error)]
pub enum ComposeError {
    /// Not an address.
    #[error("`{address}` is not an email address: {why}; mend it in dawnpack.toml")]
    Address {
        /// What stood there.
        address: String,
        /// What is wrong with it.
        why: String,
    },
    /// Not a media type.
    #[error("`{0}` is not a media type")]
    Mime(String),
    /// The message could not be put together.
    #[error("the message could not be put together: {0}")]
    Build(#[from] lettre::error::Error),
}

/// The message: mixed, of an alternative of the two bodies, and the attachments.
///
/// # Errors
/// [`ComposeError`] where an address or media type is none.
pub fn compose(letter: &Letter<'_>) -> Result<Vec<u8>, ComposeError> {
    // Boundaries come from the Message-ID: random ones would make another message of the same letter.
    let boundary =
        |part: &str| format!("={part}_{}", blake3::hash(letter.message_id.as_bytes()).to_hex().split_at(24).0);
    let bodies = MultiPart::alternative()
        .boundary(boundary("bodies"))
        .singlepart(SinglePart::plain(letter.text.to_owned()))
        .singlepart(SinglePart::html(letter.html.to_owned()));
    let mut whole = MultiPart::mixed().boundary(boundary("whole")).multipart(bodies);
    for attached in &letter.attachments {
        let mime = ContentType::parse(attached.mime).map_err(|_| ComposeError::Mime(attached.mime.to_owned()))?;
        whole = whole.singlepart(Part::new(attached.name.to_owned()).body(attached.bytes.to_vec(), mime));
    }
    let mut message = Message::builder()
        .from(Mailbox::new(Some(one_line(letter.from_name)), address(letter.from)?))
        .subject(one_line(letter.subject))
        .message_id(Some(format!("<{}>", letter.message_id)))
        .date(moment(letter.date));
    for to in letter.to {
        message = message.to(Mailbox::new(None, address(to)?));
    }
    let mut message = message.multipart(whole)?;
    // RFC 3834: tells responders that nobody reads answers to an automatic message.
    message
        .headers_mut()
        .insert_raw(HeaderValue::new(HeaderName::new_from_ascii_str("Auto-Submitted"), "auto-generated".to_owned()));
    Ok(message.formatted())
}

fn address(text: &str) -> Result<lettre::Address, ComposeError> {
    text.parse().map_err(|error: lettre::address::AddressError| ComposeError::Address {
        address: text.to_owned(),
        why: error.to_string(),
    })
}

fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn moment(date: &ZonedDateTime) -> SystemTime {
    let seconds = u64::try_from(date.timestamp().as_second()).unwrap_or(0);
    SystemTime::UNIX_EPOCH + Duration::from_secs(seconds)
}

#[cfg(test)]
mod tests {
    use mail_parser::{MessageParser, MimeHeaders};

    use super::*;

    fn letter<'a>(to: &'a [String], subject: &'a str, date: &'a ZonedDateTime, pdf: &'a [u8]) -> Letter<'a> {
        Letter {
            from_name: "Saltmarsh Badge Works",
            from: "owner@example.org",
            to,
            subject,
            message_id: "2026-11-25.r1.abc@example.org",
            date,
            text: "Two parcels for Zoë.\n",
            html: "<p>Two parcels for Zoë.</p>",
            attachments: vec![Attachment { name: "dispatch.pdf", mime: "application/pdf", bytes: pdf }],
        }
    }

    fn date() -> ZonedDateTime {
        "2026-11-25T06:30:00-05:00[America/New_York]".parse().unwrap()
    }

    #[test]
    fn an_independent_reader_finds_all_parts_again() {
        let pdf: Vec<u8> = (0..=255_u8).cycle().take(5000).collect();
        let to = ["owner@example.org".to_owned()];
        let date = date();
        let bytes = compose(&letter(&to, "Mi 25. Nov: 2 Päckchen", &date, &pdf)).unwrap();
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert_eq!(read.subject(), Some("Mi 25. Nov: 2 Päckchen"));
        assert_eq!(read.message_id(), Some("2026-11-25.r1.abc@example.org"));
        assert_eq!(read.body_text(0).unwrap().trim(), "Two parcels for Zoë.");
        assert_eq!(read.body_html(0).unwrap().trim(), "<p>Two parcels for Zoë.</p>");
        let attached = read.attachment(0).unwrap();
        assert_eq!(attached.attachment_name(), Some("dispatch.pdf"));
        assert_eq!(attached.contents(), pdf);
        assert_eq!(read.date().unwrap().to_timestamp(), date.timestamp().as_second());
    }

    #[test]
    fn the_same_letter_is_the_same_bytes() {
        let to = ["owner@example.org".to_owned()];
        let date = date();
        let letter = letter(&to, "Wed 25 Nov", &date, b"%PDF");
        assert_eq!(compose(&letter).unwrap(), compose(&letter).unwrap());
    }

    /// RFC 5322, section 2.1.1: no line beyond 998 octets, and header lines within 78 where they can be folded.
    #[test]
    fn lines_keep_within_the_limits_and_no_header_can_be_slipped_in() {
        let to = ["owner@example.org".to_owned()];
        let date = date();
        let subject = format!("{}\r\nBcc: thief@example.net", "gull ".repeat(2000));
        let bytes = compose(&letter(&to, &subject, &date, &[0; 4000])).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.split("\r\n").all(|line| line.len() <= 998 && !line.contains('\n')));
        let (head, _) = text.split_once("\r\n\r\n").unwrap();
        assert!(head.split("\r\n").all(|line| line.len() <= 78), "{head}");
        assert!(!head.split("\r\n").any(|line| line.starts_with("Bcc")));
    }

    #[test]
    fn what_is_no_address_is_named() {
        let to = ["nobody".to_owned()];
        let error = compose(&letter(&to, "x", &date(), b"")).unwrap_err().to_string();
        assert!(error.starts_with("`nobody` is not an email address"), "{error}");
    }
}
