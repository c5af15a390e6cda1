//! A message in the ledger's queue.

use std::str::FromStr;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Where a message stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MailState {
    /// To be sent, for the first time or again.
    Queued,
    /// Gone.
    Sent,
}

impl MailState {
    /// The word of the ledger and of JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Queued => "queued",
            Self::Sent => "sent",
        }
    }
}

/// No word of [`MailState`].
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is not a state of a message")]
pub struct UnknownMailState(pub String);

impl FromStr for MailState {
    type Err = UnknownMailState;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text {
            "queued" => Ok(Self::Queued),
            "sent" => Ok(Self::Sent),
            _ => Err(UnknownMailState(text.to_owned())),
        }
    }
}

/// A composed message with its envelope.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct QueuedMail {
    /// The ledger's number; 0 before it has one.
    pub id: u32,
    /// Message-ID without angle brackets.
    pub message_id: String,
    /// Subject, for listings.
    pub subject: String,
    /// Envelope sender.
    pub envelope_from: String,
    /// Envelope recipients.
    pub envelope_to: Vec<String>,
    /// Where it stands.
    pub state: MailState,
    /// Tries so far.
    pub attempts: u32,
    /// Not before this.
    pub next_try: Option<Timestamp>,
    /// What the last failed try said.
    pub last_error: Option<String>,
    /// The message, whole, as it goes over the wire.
    pub message: Vec<u8>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_state_is_read_from_its_own_word_and_no_other_word_is_one() {
        for state in [MailState::Queued, MailState::Sent] {
            assert_eq!(state.word().parse(), Ok(state));
            assert_eq!(serde_json::to_string(&state).unwrap(), format!("\"{}\"", state.word()));
        }
        assert_eq!("Sent".parse::<MailState>(), Err(UnknownMailState("Sent".to_owned())));
    }
}
