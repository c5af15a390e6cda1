//! Composing a message and delivering it, by folder or SMTP.
//!
//! Handed finished bodies and attachments; promises the same bytes for the same letter, so that a message composed
//! again after a crash is still the same message, and a word on what comes next where it can't be delivered. The
//! queue's rows are the ledger's; this room knows how long to wait between tries. Turned down: composing at each
//! try, which would send two different messages under one Message-ID.

mod address;
mod compose;
mod deliver;
mod folder;
mod headers;
mod password;
mod smtp;

use jiff::SignedDuration;

pub use address::{NotAnAddress, address};
pub use compose::{Attachment, ComposeError, Letter, compose};
pub use deliver::{DeliverError, Delivered, Envelope, Security, Smtp, Transport, deliver, test_connection};
pub use folder::{WriteWhole, file_name};
pub use password::{Password, PasswordError, read_password};

/// How long to wait after the `attempts`-th failed try: 1, 2, 5, 15, 30 minutes, then an hour each. Short enough
/// for a router that restarts, long enough not to be taken for abuse. Common practice, no source; there is no last
/// try, since the message stays true and the seller sees that it waits.
#[must_use]
pub const fn retry_after(attempts: u32) -> SignedDuration {
    SignedDuration::from_mins(match attempts {
        0 | 1 => 1,
        2 => 2,
        3 => 5,
        4 => 15,
        5 => 30,
        _ => 60,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tries_come_slower_and_never_stop() {
        let minutes: Vec<i64> = (1..=8).map(|attempts| retry_after(attempts).as_mins()).collect();
        assert_eq!(minutes, [1, 2, 5, 15, 30, 60, 60, 60]);
        assert_eq!(retry_after(u32::MAX), SignedDuration::from_hours(1));
        assert_eq!(retry_after(0), retry_after(1));
    }
}
