//! What the seller said since the last email, in words.

use crate::model::said::Saying;
use crate::papers::words::{self, DateWords};

/// One line: `T-0007: their half came on Tue 24 Nov`.
pub(super) fn line(saying: &Saying) -> String {
    match saying {
        Saying::Answered { question, asked, choice } => {
            format!("{question}: “{choice}”, to: {}", words::quoted(asked))
        }
        Saying::Held { id, until, waits_for, note } => {
            let until = until.map(|day| format!(" until {}", DateWords::from(day).short)).unwrap_or_default();
            let waits = waits_for.as_ref().map(|other| format!(" till {other} can go with it")).unwrap_or_default();
            let note = note.as_ref().map(|note| format!(": “{note}”")).unwrap_or_default();
            format!("{id}: held{until}{waits}{note}")
        }
        Saying::Released { id } => format!("{id}: no longer held by you"),
        Saying::Cancelled { id, unpacked } if unpacked.is_empty() => format!("{id}: called off"),
        Saying::Cancelled { id, unpacked } => {
            format!("{id}: called off; {} is taken off the list: unpack it", unpacked.join(", "))
        }
        Saying::Arrived { trade, with, on, condition } => {
            let condition = condition.as_ref().map(|how| format!(": “{how}”")).unwrap_or_default();
            format!("{trade}: {with}’s half came on {}{condition}", DateWords::from(*on).short)
        }
    }
}
