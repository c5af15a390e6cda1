//! The morning: take in, plan, record, write, queue, send. Each step starts from what the one before recorded, so
//! that a run after a crash finishes what was begun, byte for byte, and a run with nothing new does nothing.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use jiff::civil::Date;

use crate::inbox::folder;
use crate::ledger::Recorded;
use crate::mail;
use crate::model::day::{DayPlan, Waiting};
use crate::model::mail::{MailState, QueuedMail};
use crate::papers::{self, DayPapers, Look};
use crate::plan::manifest;

use super::seam::{self, Seam};
use super::take_in::Files;
use super::{Desk, TakeIn, post, take_in};

/// What a morning run did.
#[derive(Debug)]
pub struct Morning {
    /// What was taken in.
    pub taken: TakeIn,
    /// The plan: the new one, or where nothing is new, the day's last.
    pub plan: DayPlan,
    /// Whether it is new.
    pub new: bool,
    /// Where its papers lie.
    pub papers: PathBuf,
    /// What became of the mail.
    pub mail: post::Posted,
}

impl Morning {
    /// Whether the seller has to look at something.
    #[must_use]
    pub fn needs_seller(&self) -> bool {
        self.taken.needs_seller() || self.mail.needs_seller() || manifest::needs_seller(&self.plan)
    }
}

/// Runs the morning of `date`.
///
/// # Errors
/// Where the ledger, the outbox or a template fails. Mail that can't be sent is no error: it stays queued, and
/// [`Posted`](post::Posted) says whether it needs the seller.
pub fn morning(desk: &mut Desk, date: Date) -> Result<Morning> {
    morning_with(desk, date, None)
}

/// Runs the morning of `date`, with only these files where they are given: to the daemon, what lies in
/// the inbox may be half a file.
///
/// # Errors
/// As [`morning`].
pub(super) fn morning_with(desk: &mut Desk, date: Date, settled: Option<&[folder::Found]>) -> Result<Morning> {
    let taken = take_in(desk, Files::Move, settled)?;
    finish(desk)?;
    let (plan, new) = plan(desk, date, taken.waiting.clone())?;
    if new {
        desk.ledger.record(&plan, &desk.counts(), desk.now.timestamp())?;
        seam::pass(Seam::PlanRecorded);
        finish(desk)?;
    }
    let mail = post::send(desk, post::Hurry::Now)?;
    Ok(Morning { taken, papers: desk.home.outbox_day(plan.date), plan, new, mail })
}

/// The plan that a morning run would make: on a copy of the ledger, with the inbox left as it is.
///
/// # Errors
/// As [`morning`].
pub fn dry_run(desk: &mut Desk, date: Date) -> Result<(TakeIn, DayPlan)> {
    desk.ledger = desk.ledger.scratch_copy()?;
    let taken = take_in(desk, Files::Leave, None)?;
    let (plan, _) = plan(desk, date, taken.waiting.clone())?;
    Ok((taken, plan))
}

/// The plan of `date` and whether it is new; where it isn't, the last one recorded.
fn plan(desk: &Desk, date: Date, waiting: Vec<Waiting>) -> Result<(DayPlan, bool)> {
    let plan = desk.plan(date, waiting)?;
    let last = desk.ledger.last_plan(date)?;
    let new = manifest::is_news(&plan, last.as_ref());
    Ok((last.filter(|_| !new).unwrap_or(plan), new))
}

/// Writes the papers and queues the email of every recorded plan that still lacks them.
pub(super) fn finish(desk: &mut Desk) -> Result<()> {
    let unfinished = desk.ledger.unfinished()?;
    if unfinished.is_empty() {
        return Ok(());
    }
    let templates = desk.templates()?;
    for recorded in unfinished {
        let look = Look { seller: &desk.home.seller, page: desk.home.packing.sheet, templates: &templates };
        let papers = papers::day(&recorded.plan, &look)
            .with_context(|| format!("the papers of {} could not be written", recorded.plan.date))?;
        let outbox = desk.home.outbox_day(recorded.plan.date);
        for (name, bytes) in &papers.files {
            folder::write_whole(&outbox, name, bytes).with_context(|| {
                format!(
                    "`{}` can't be written; is the disk full, or the folder another user's?",
                    outbox.join(name).display()
                )
            })?;
            seam::pass(Seam::PaperWritten);
        }
        let letter = letter(desk, &recorded, &papers)?;
        desk.ledger.finish(&recorded, &letter, desk.now.timestamp())?;
        seam::pass(Seam::MailQueued);
    }
    Ok(())
}

fn letter(desk: &Desk, recorded: &Recorded, papers: &DayPapers) -> Result<QueuedMail> {
    let plan = &recorded.plan;
    let seller = &desk.home.seller;
    let message_id = format!("{}.r{}.{}@{}", plan.date, plan.revision, desk.ledger.id()?, desk.domain()?);
    let attachments = papers.attached.iter().filter_map(|name| {
        let bytes = papers.files.get(name)?;
        Some(mail::Attachment { name, mime: mime(name), bytes })
    });
    let message = mail::compose(&mail::Letter {
        from_name: &seller.name,
        from: &seller.email,
        to: &desk.home.mail.to,
        subject: &papers.subject,
        message_id: &message_id,
        date: &recorded.at.to_zoned_datetime(desk.home.day.time_zone.clone()),
        text: &papers.text,
        html: &papers.html,
        attachments: attachments.collect(),
    })?;
    Ok(QueuedMail {
        id: 0,
        message_id,
        subject: papers.subject.clone(),
        envelope_from: seller.email.clone(),
        envelope_to: desk.home.mail.to.clone(),
        state: MailState::Queued,
        attempts: 0,
        next_try: None,
        last_error: None,
        message,
    })
}

/// What a paper is, by its ending.
fn mime(name: &str) -> &'static str {
    match Path::new(name).extension().and_then(std::ffi::OsStr::to_str) {
        Some("pdf") => "application/pdf",
        Some("csv") => "text/csv; charset=utf-8",
        Some("xlsx") => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        Some("toml") => "text/plain; charset=utf-8",
        Some(_) | None => "application/octet-stream",
    }
}
