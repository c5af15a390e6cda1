//! Composing a message and delivering it, by folder or SMTP.
//!
//! Handed finished bodies and attachments; promises the same bytes for the same letter, so that a message can be
//! composed again after a crash and still be the same message. The queue's rows are the ledger's; this room knows
//! how long to wait between tries. Turned down: composing at each try, which would send two different messages
//! under one Message-ID.

mod compose;
mod deliver;
mod password;

use jiff::SignedDuration;

pub use compose::{Attachment, ComposeError, Letter, compose};
pub use deliver::{DeliverError, Delivered, Envelope, Security, Smtp, Transport, deliver, file_name, test_connection};
pub use password::{Password, PasswordError, read_password};

/// How long to wait after the `attempts`-th failed try: 1, 2, 5, 15, 30 minutes, then an hour each. Short enough
/// for a router that restarts, long enough not to be taken for abuse.
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
