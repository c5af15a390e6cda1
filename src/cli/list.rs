//! What `dawnpack list` prints: a line for each thing, its id first, or one JSON document.

use std::fmt::Display;

use anyhow::Result;

use crate::ledger::{MailRow, Tie, TiedRow};
use crate::papers::words::{count, with_days};
use crate::papers::wrap::folded;
use crate::run::{Listed, MassRow, MassState};

use super::Done;
use super::out::say;
use super::show::document;

/// Prints a listing.
pub(super) fn list(listed: &Listed, as_json: bool) -> Result<Done> {
    if as_json {
        document(listed)?;
        return Ok(Done::All);
    }
    match listed {
        Listed::Parcels(rows) => lines("parcels", rows, |row| line(&row.r#ref, row.state.word(), &row.name)),
        Listed::Orders(rows) => lines("orders", rows, |row| line(&row.id, row.state.word(), &row.name)),
        Listed::Trades(rows) => lines("trades", rows, |row| line(row.id, row.state.word(), &row.with)),
        Listed::Recipients(rows) => lines("recipients", rows, |row| {
            let orders = row.orders.iter().map(ToString::to_string);
            let open: Vec<String> = orders.chain(row.trades.iter().map(ToString::to_string)).collect();
            line(&row.id, row.state, &format!("{}: {}", row.name, open.join(", ")))
        }),
        Listed::Held(rows) => {
            lines("held", rows, |row| {
                line(&row.id, row.reason.word(), &format!("{}: {}", row.name, with_days(&row.text)))
            });
        }
        Listed::Questions(rows) => lines("questions", rows, |row| {
            let choices =
                if row.choices.is_empty() { String::new() } else { format!(" [{}]", row.choices.join(" | ")) };
            line(row.id, row.kind.word(), &format!("{}{choices}", with_days(&row.text)))
        }),
        Listed::Masses(rows) => lines("masses", rows, mass),
        Listed::Mail(rows) => lines("mail", rows, mail),
        Listed::Pictures(rows) => lines("pictures", rows, tied),
        Listed::Postage(rows) => carrier("postage", rows),
        Listed::Receipts(rows) => carrier("receipts", rows),
    }
    Ok(Done::All)
}

fn lines<T>(what: &str, rows: &[T], line: impl Fn(&T) -> String) {
    if rows.is_empty() {
        say!("No {what}.");
    }
    for row in rows {
        say!("{}", line(row));
    }
}

/// Where the words after id and state begin, and where a terminal ends.
const TEXT_FROM: usize = 28;
const COLUMNS: usize = 80;

fn line(id: impl Display, state: &str, text: &str) -> String {
    let head = format!("{:<14} {state:<12}", id.to_string());
    let first = TEXT_FROM.max(head.chars().count() + 1);
    let told = folded(text.split_whitespace(), first, TEXT_FROM, COLUMNS).join("\n");
    format!("{head}{}", told.get(head.chars().count()..).unwrap_or_default())
}

/// What the last try came to stands below a message that waits.
fn mail(row: &MailRow) -> String {
    let own = line(&row.id, row.state.word(), &row.subject);
    match (&row.last_error, &row.next_try) {
        (Some(why), Some(next)) => format!("{own}\n  {why}; tried again from {next} on"),
        (Some(why), None) => format!("{own}\n  {why}"),
        (None, _) => own,
    }
}

fn carrier(what: &str, rows: &[TiedRow]) {
    lines(what, rows, tied);
    let untied = rows.iter().filter(|row| row.state == Tie::Untied).count();
    if untied > 0 {
        let rows = count(untied, "row is", "rows are");
        say!("{rows} kept, and not tied to a parcel: neither number nor ref is known here.");
    }
}

fn tied(row: &TiedRow) -> String {
    line(&row.id, row.state.word(), &row.parcels.join(", "))
}

/// `BELL-BUOY      to-put-right   7.4 g written, 8.1 ± 0.1 g by 23 parcels`.
fn mass(row: &MassRow) -> String {
    let state = match row.state {
        MassState::AsWritten => "as-written",
        MassState::ToPutRight => "to-put-right",
    };
    let learnt = match row.readings {
        0 => "never on the scale".to_owned(),
        1 => format!("{:.1} ± {:.1} g by 1 parcel", row.learnt_g, row.learnt_sd_g),
        many => format!("{:.1} ± {:.1} g by {many} parcels", row.learnt_g, row.learnt_sd_g),
    };
    format!("{:<22} {state:<12} {:.1} g written, {learnt}", row.id, row.mass_g)
}
