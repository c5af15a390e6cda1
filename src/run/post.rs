//! Sending what is queued. A message that can't be sent stays in the ledger and is tried again.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::Duration;
use std::{env, fmt};

use anyhow::Result;
use jiff::Timestamp;

use crate::home::{SmtpSecurity, TransportRules};
use crate::inbox::folder;
use crate::mail::{self, DeliverError, Envelope, Security, Smtp, Transport};
use crate::model::mail::QueuedMail;

use super::seam::{self, Seam};
use super::turn::Delivery;
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
    /// Those that are not.
    pub kept: Vec<Kept>,
    /// Whether another run is delivering, and was left to it.
    pub elsewhere: bool,
}

impl Posted {
    /// Whether a message goes only once the seller has mended something.
    #[must_use]
    pub fn needs_seller(&self) -> bool {
        self.kept.iter().any(|kept| kept.needs_seller)
    }
}

/// A message that stays queued. It is tried again by itself, later and later, whether or not it needs the seller: what
/// was mended shows at the next try.
#[derive(Debug)]
pub struct Kept {
    /// Its subject.
    pub subject: String,
    /// What keeps it, and what to do.
    pub why: String,
    /// Whether only the seller can get it going: a refused login, a refused address.
    pub needs_seller: bool,
}

impl Kept {
    fn new(subject: String, error: DeliverError) -> Self {
        match error {
            DeliverError::Transient(why) => Self { subject, why, needs_seller: false },
            DeliverError::Permanent(why) => Self { subject, why: format!("needs you: {why}"), needs_seller: true },
        }
    }
}

impl fmt::Display for Kept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\" is kept and tried again: {}", self.subject, self.why)
    }
}

/// Tries what is queued. The home is let go first, since a mail server may take its time; what a try came to is one
/// note in the ledger, made before anybody else may deliver.
///
/// # Errors
/// Where the ledger can't be written; never for a message that can't be sent.
pub(super) fn send(desk: &mut Desk, hurry: Hurry) -> Result<Posted> {
    desk.end_turn();
    let mut posted = Posted::default();
    let Some(_delivery) = Delivery::try_take(&desk.home.root)? else {
        posted.elsewhere = true;
        return Ok(posted);
    };
    let transport = transport(desk);
    let mut tried = BTreeSet::new();
    // What others queue meanwhile goes with it: they found the delivery taken.
    while let Some(letter) = next(desk, hurry, &tried)? {
        // A server that doesn't answer may take its time over each message; the daemon is alive all the same.
        service::watchdog();
        tried.insert(letter.id);
        deliver(desk, &transport, letter, &mut posted)?;
    }
    Ok(posted)
}

fn next(desk: &Desk, hurry: Hurry, tried: &BTreeSet<u32>) -> Result<Option<QueuedMail>> {
    let now = desk.now.timestamp();
    let due = desk.ledger.mail_due(now, true)?;
    Ok(due.into_iter().filter(|letter| !tried.contains(&letter.id)).find(|letter| match hurry {
        Hurry::Now => true,
        Hurry::InTime => letter.next_try.is_none_or(|next| is_due(next, now)),
    }))
}

fn deliver(
    desk: &mut Desk,
    transport: &Result<Transport, String>,
    letter: QueuedMail,
    posted: &mut Posted,
) -> Result<()> {
    let now = desk.now.timestamp();
    // All mail is to the seller: an address that was refused and has been mended since counts, not the one it had.
    let envelope = Envelope { from: desk.home.seller.email.clone(), to: desk.home.mail.to.clone() };
    let delivered = match transport {
        Ok(transport) => mail::deliver(transport, &letter.message_id, &envelope, &letter.message),
        Err(why) => Err(DeliverError::Permanent(why.clone())),
    };
    match delivered {
        Ok(_) => {
            seam::pass(Seam::MailDelivered);
            desk.ledger.mail_sent(letter.id, now)?;
            posted.sent.push(letter.subject);
        }
        Err(error) => {
            let kept = Kept::new(letter.subject, error);
            let next = now.checked_add(mail::retry_after(letter.attempts + 1)).unwrap_or(now);
            desk.ledger.mail_failed(letter.id, &kept.why, next)?;
            posted.kept.push(kept);
        }
    }
    Ok(())
}

/// A try that lies further ahead than the longest wait was set before the clock was put back: it is due.
fn is_due(next_try: Timestamp, now: Timestamp) -> bool {
    next_try <= now || next_try.duration_since(now) > mail::retry_after(u32::MAX)
}

/// The transport that the home names, with its password read.
pub(super) fn transport(desk: &Desk) -> Result<Transport, String> {
    match &desk.home.mail.transport {
        TransportRules::Folder => Ok(Transport::Folder(desk.home.outbox_mail(), folder::write_whole)),
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
