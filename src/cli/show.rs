//! What the commands print: a few lines for a person within 80 columns, or one JSON document.

use std::io;
use std::path::Path;

use anyhow::{Result, bail};
use serde::Serialize;
use serde_json::{Value, json};
use tracing_subscriber::EnvFilter;

use crate::model::day::DayPlan;
use crate::papers;
use crate::plan::manifest;
use crate::run::{Checked, FileRead, FileTaken, Morning, Proved, TakeIn};

use super::Done;
use super::out::say;

/// Logs go to stderr, without times: the journal adds its own.
pub(super) fn set_up_log(verbose: bool, quiet: bool) {
    let level = match (verbose, quiet) {
        (true, _) => "debug",
        (false, true) => "error",
        (false, false) => "info",
    };
    // A second set-up in one process, as in tests, keeps the first.
    let _already = tracing_subscriber::fmt()
        .with_env_filter(EnvFilter::new(format!("warn,dawnpack={level}")))
        .with_writer(io::stderr)
        .without_time()
        .with_target(false)
        .try_init();
}

pub(super) fn document(value: &impl Serialize) -> Result<()> {
    say!("{}", serde_json::to_string_pretty(value)?);
    Ok(())
}

pub(super) fn said(sentence: &str) -> Done {
    say!("{sentence}");
    Done::All
}

pub(super) fn new_home(dir: &Path) -> Done {
    say!("A home to fill in lies in {}", dir.display());
    say!("  1. dawnpack.toml: your name, address, time zone and currency");
    say!("  2. catalogue.csv, mailers.csv: what you send, and what in");
    say!("  3. rates/: your carrier's current prices; columns/: how to read your exports");
    say!("then: dawnpack -C {} check", dir.display());
    Done::All
}

/// A show: its morning needs the seller on purpose, and what it shows is no state of anybody's home.
pub(super) fn demo(dir: &Path, morning: &Morning) -> Done {
    summary(&morning.plan);
    let papers = &morning.papers;
    say!("\nLook at:");
    say!("  the email      {}", papers.join("dispatch.html").display());
    say!("                 {}", dir.join("outbox/mail").display());
    say!("  the print pack {}", papers.join("dispatch.pdf").display());
    say!("  the manifest   {}", papers.join("manifest.json").display());
    Done::All
}

fn summary(plan: &DayPlan) {
    say!(
        "{}, revision {}: {}, postage {} {}",
        plan.date,
        plan.revision,
        papers::words::count(plan.parcels.len(), "parcel", "parcels"),
        plan.totals.postage.plain(),
        plan.totals.postage.currency
    );
    for parcel in &plan.parcels {
        let name: String = parcel.recipient.name.chars().take(28).collect();
        say!(
            "  {:<8} {name:<28} {:>2} in {:<4} {:>9} {:>8}  by {}",
            parcel.r#ref.0,
            parcel.pieces(),
            parcel.mailer.code,
            parcel.postage.declared.to_string(),
            parcel.postage.price.plain(),
            parcel.last_day().strftime("%a %d %b")
        );
    }
    let told = [
        (plan.held.len(), "held"),
        (plan.questions.len(), "to decide"),
        (plan.refused.len(), "refused"),
        (plan.waiting.len(), "waiting in the inbox"),
        (plan.listed_earlier.len(), "listed earlier, hand-off not recorded"),
        (plan.taken_off.len(), "taken off the list"),
    ];
    let told: Vec<String> =
        told.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
    if !told.is_empty() {
        say!("  {}", told.join(", "));
    }
}

/// The plan of a dry run.
pub(super) fn plan(plan: &DayPlan, as_json: bool) -> Result<Done> {
    if as_json {
        document(&papers::manifest_json(plan))?;
    } else {
        summary(plan);
        say!("Nothing was changed.");
    }
    Ok(Done::needs_seller(manifest::needs_seller(plan)))
}

pub(super) fn morning(morning: &Morning, as_json: bool) -> Result<Done> {
    if as_json {
        document(&papers::manifest_json(&morning.plan))?;
    } else if morning.new {
        summary(&morning.plan);
        say!("Papers: {}", morning.papers.display());
    } else {
        say!("Nothing new since revision {} of {}.", morning.plan.revision, morning.plan.date);
    }
    for subject in &morning.mail.sent {
        eprintln!("sent: {subject}");
    }
    for kept in &morning.mail.kept {
        eprintln!("not sent: {kept}");
    }
    if morning.mail.elsewhere {
        eprintln!("another dawnpack is sending this home's mail; what is queued is left to it");
    }
    Ok(Done::needs_seller(morning.needs_seller()))
}

/// Orders, trades and table rows are new, changed or known; what a filled-in sheet says is only taken.
fn counted(file: &FileTaken) -> String {
    let (new, changed, same) = (file.new, file.changed, file.same);
    match file.rows {
        Some(rows) if new + changed + same == 0 => format!("{} of {} rows taken", rows.taken, rows.read),
        Some(_) | None => format!("{new} new, {changed} changed, {same} known"),
    }
}

pub(super) fn taken(taken: &TakeIn, as_json: bool) -> Result<Done> {
    if as_json {
        document(&serde_json::to_value(taken)?)?;
    } else {
        if taken.files.is_empty() && taken.waiting.is_empty() {
            say!("The inbox is empty.");
        }
        for file in &taken.files {
            let kind = file.kind.unwrap_or(file.outcome);
            say!("{kind:<8} {}: {}", file.file, counted(file));
        }
        for waiting in &taken.waiting {
            say!("waits    {}: {}", waiting.file, papers::words::with_days(&waiting.why));
        }
        for refused in &taken.refused {
            say!("refused  {}", papers::words::with_days(&refused.to_string()));
        }
    }
    Ok(Done::needs_seller(taken.needs_seller()))
}

pub(super) fn read(files: &[FileRead], as_json: bool) -> Result<Done> {
    if as_json {
        let documents: Vec<&Value> = files.iter().map(|file| &file.document).collect();
        document(&json!({"files": documents}))?;
    } else {
        for file in files {
            say!("{}", file.line);
            for line in &file.shown {
                say!("  {line}");
            }
            for refused in &file.refused {
                say!("  refused  {}", papers::words::with_days(&refused.to_string()));
            }
        }
    }
    Ok(Done::needs_seller(files.iter().any(|file| !file.refused.is_empty())))
}

pub(super) fn proof(proved: &Proved, as_json: bool) -> Result<Done> {
    if as_json {
        document(&serde_json::to_value(proved)?)?;
    } else {
        say!("{}", proved.file.display());
        if !proved.other_days.is_empty() {
            let others: Vec<String> = proved.other_days.iter().map(ToString::to_string).collect();
            eprintln!(
                "this is the parcel {} listed on {}; that ref was also used on {}: put the year before it, such as {}:{}",
                proved.parcel,
                proved.listed,
                others.join(", "),
                proved.listed.year(),
                proved.parcel
            );
        }
        for file in proved.files.iter().filter(|file| file.kept.is_none()) {
            eprintln!("no file with the bytes of `{}` lies in archive/ any more; restore it from a backup", file.name);
        }
    }
    Ok(Done::needs_seller(proved.needs_seller()))
}

/// What a check found; a fault ends the command, as its JSON document says already.
pub(super) fn checked(checked: &Checked, as_json: bool) -> Result<Done> {
    if as_json {
        document(checked)?;
    } else {
        for line in &checked.well {
            say!("well   {line}");
        }
    }
    if !checked.faults.is_empty() {
        bail!("{}", checked.faults.join("\n"));
    }
    Ok(Done::All)
}
