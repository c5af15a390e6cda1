//! The email against the standard of messages.

use std::fs;

use mail_parser::{MessageParser, MimeHeaders};

use crate::desk::Desk;

/// The morning's message, read by an independent reader, and line by line against RFC 5322, section 2.1.1.
#[test]
fn the_message_is_read_back_by_an_independent_reader() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    let name = desk.names("outbox/mail").remove(0);
    let bytes = fs::read(desk.path("outbox/mail").join(name)).unwrap();
    for line in bytes.split(|byte| *byte == b'\n') {
        assert!(line.len() <= 999, "a line of {} octets", line.len());
    }
    let message = MessageParser::default().parse(&bytes).unwrap();
    let body = message.body_text(0).unwrap().replace("\r\n", "\n");
    assert_eq!(body.trim_end(), desk.read("outbox/2026-11-25/dispatch.txt").trim_end());
    assert!(message.subject().unwrap().contains("8 parcels"), "{:?}", message.subject());
    let attached: Vec<(String, Vec<u8>)> = message
        .attachments()
        .map(|part| (part.attachment_name().unwrap().to_owned(), part.contents().to_vec()))
        .collect();
    for (name, bytes) in &attached {
        assert_eq!(&fs::read(desk.path("outbox/2026-11-25").join(name)).unwrap(), bytes, "{name}");
    }
    assert_eq!(
        attached.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(),
        ["dispatch.pdf", "handoff.csv", "handoff.xlsx", "questions.csv", "incoming.csv"]
    );
}
