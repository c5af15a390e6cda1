//! Sending what is queued. A message that can't be sent stays in the ledger and is tried again.

use std::env;
use std::path::PathBuf;
use std::time::Duration;

use anyhow::Result;
use jiff::Timestamp;

use crate::home::{SmtpSecurity, TransportRules};
use crate::mail::{self, DeliverError, Envelope, Security, Smtp, Transport};

use super::{Desk, service};

/// Whether messages wait for their next try.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Hurry {
    /// A person asked: everything queued is tried.
    Now,
    /// The daemon: each in its own time.
    InTime,
}

/// What became of queued messages.
#[derive(Debug, Default)]
pub struct Posted {
    /// Subjects of those that are gone.
    pub sent: Vec<String>,
    /// What kept the others.
    pub kept: Vec<String>,
}

/// Tries what is queued.
///
/// # Errors
/// Where the ledger can't be written; never for a message that can't be sent.
pub(super) fn send(desk: &mut Desk, hurry: Hurry) -> Result<Posted> {
    let now = desk.now.timestamp();
    let mut due = desk.ledger.mail_due(now, true)?;
    due.retain(|letter| hurry == Hurry::Now || letter.next_try.is_none_or(|next| is_due(next, now)));
    let mut posted = Posted::default();
    if due.is_empty() {
        return Ok(posted);
    }
    let transport = transport(desk);
    for letter in due {
        // A server that doesn't answer may take its time over each message; the daemon is alive all the same.
        service::watchdog();
        let envelope = Envelope { from: letter.envelope_from.clone(), to: letter.envelope_to.clone() };
        let delivered = match &transport {
            Ok(transport) => mail::deliver(transport, &letter.message_id, &envelope, &letter.message),
            Err(why) => Err(DeliverError::Permanent(why.clone())),
        };
        match delivered {
            Ok(_) => {
                desk.ledger.mail_sent(letter.id, now)?;
                posted.sent.push(letter.subject);
            }
            Err(DeliverError::Transient(why) | DeliverError::Permanent(why)) => {
                // A refused login is mended by the seller, not by us: it too is tried again, later and later.
                let next = now.checked_add(mail::retry_after(letter.attempts + 1)).unwrap_or(now);
                desk.ledger.mail_failed(letter.id, &why, next)?;
                posted.kept.push(format!("\"{}\" is kept and tried again: {why}", letter.subject));
            }
        }
    }
    Ok(posted)
}

/// A try that lies further ahead than the longest wait was set before the clock was put back: it is due.
fn is_due(next_try: Timestamp, now: Timestamp) -> bool {
    next_try <= now || next_try.duration_since(now) > mail::retry_after(u32::MAX)
}

/// The transport that the home names, with its password read.
pub(super) fn transport(desk: &Desk) -> Result<Transport, String> {
    match &desk.home.mail.transport {
        TransportRules::Folder => Ok(Transport::Folder(desk.home.outbox_mail())),
        TransportRules::Smtp(rules) => {
            let credentials = env::var_os("CREDENTIALS_DIRECTORY").map(PathBuf::from);
            let password = rules
                .password_file
                .as_ref()
                .map(|file| mail::read_password(file.as_ref(), credentials.as_deref()))
                .transpose()
                .map_err(|error| error.to_string())?;
            Ok(Transport::Smtp(Smtp {
                host: rules.host.clone(),
                port: rules.port,
                security: match rules.security {
                    SmtpSecurity::Tls => Security::Tls,
                    SmtpSecurity::StartTls => Security::StartTls,
                    SmtpSecurity::None => Security::None,
                },
                user: rules.user.clone(),
                password,
                timeout: Duration::from_mins(1),
                ca_file: rules.ca_file.clone(),
            }))
        }
    }
}
