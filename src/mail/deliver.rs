//! Delivering a composed message.
//!
//! Handed a transport, an envelope and the message's bytes; promises that the bytes go as they are, and an error by
//! what comes next: a transient one is tried again in a while, a permanent one needs the seller. Turned down: errors
//! by where they arose, which every caller would have to sort again.

use std::path::PathBuf;
use std::time::Duration;

use super::folder::WriteWhole;
use super::password::Password;
use super::{folder, smtp};

/// Where messages go.
#[derive(Clone, Debug)]
pub enum Transport {
    /// Each as an `.eml` file in this directory, written by this.
    Folder(PathBuf, WriteWhole),
    /// To a mail server.
    Smtp(Smtp),
}

/// A mail server.
#[derive(Clone, Debug)]
pub struct Smtp {
    /// Host name, as its certificate has it.
    pub host: String,
    /// Port.
    pub port: u16,
    /// How the connection is guarded.
    pub security: Security,
    /// Login name; goes with `password`, both or neither.
    pub user: Option<String>,
    /// Login secret.
    pub password: Option<Password>,
    /// For each step of the conversation.
    pub timeout: Duration,
    /// A certificate authority of one's own, PEM, besides the public ones.
    pub ca_file: Option<PathBuf>,
}

/// How a connection is guarded. None of them is opportunistic: a server that doesn't offer what is asked for is not
/// spoken to, and its certificate has to hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Security {
    /// TLS from the first byte (RFC 8314).
    Tls,
    /// TLS after STARTTLS (RFC 3207), required.
    StartTls,
    /// None: for a server on the same machine. A password goes to no other.
    None,
}

/// Sender and recipients of the envelope.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Envelope {
    /// Sender.
    pub from: String,
    /// Recipients.
    pub to: Vec<String>,
}

/// Where a message went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Delivered {
    /// Into this file.
    File(PathBuf),
    /// To the server, which answered this.
    Server(String),
}

/// Why a message is not gone, by what comes next. The text names the place and the mend, in one line.
#[derive(Debug, thiserror::Error)]
pub enum DeliverError {
    /// Try again later.
    #[error("{0}")]
    Transient(String),
    /// The seller has to mend something.
    #[error("{0}")]
    Permanent(String),
}

/// Delivers a message. Delivered again to a folder, it is the same file again; to a server, the same message with
/// the same Message-ID. Where a server refuses one recipient, nobody gets the message: a part of them would get it
/// twice when the refusal is mended.
///
/// # Errors
/// [`DeliverError`]. A transient one may also be a message that arrived whose receipt did not (RFC 5321, section
/// 4.5.3.2.6); its Message-ID lets the reader's side tell.
pub fn deliver(
    transport: &Transport,
    message_id: &str,
    envelope: &Envelope,
    message: &[u8],
) -> Result<Delivered, DeliverError> {
    match transport {
        Transport::Folder(dir, whole) => folder::write(dir, *whole, message_id, message).map(Delivered::File),
        Transport::Smtp(server) => smtp::send(server, envelope, message).map(Delivered::Server),
    }
}

/// Tries the way without sending anything: writes and removes a file, or connects and logs in. Says what it found,
/// in one line.
///
/// # Errors
/// [`DeliverError`].
pub fn test_connection(transport: &Transport) -> Result<String, DeliverError> {
    match transport {
        Transport::Folder(dir, _) => folder::probe(dir),
        Transport::Smtp(server) => smtp::probe(server),
    }
}
