//! Inbox → ledger → archive. A file is recorded before it is moved: after a crash in between it is known by its
//! hash, and only moved. What is moved is what was recorded: a file that was written to in between stays, and is read
//! at the next run.

use std::time::Duration;

use anyhow::{Context, Result};
use serde::Serialize;

use crate::inbox::{self, ReadError, folder};
use crate::ledger;
use crate::model::day::{Refused, Waiting};
use crate::model::drop::Rows;

use super::Desk;
use super::seam::{self, Seam};

/// What became of one file.
#[derive(Debug, Serialize)]
pub struct FileTaken {
    /// Its name.
    pub file: String,
    /// `taken`, `known`, `refused`.
    pub outcome: &'static str,
    /// What it was.
    pub kind: Option<&'static str>,
    /// The column map it was read with.
    pub source: Option<String>,
    /// Rows counted.
    pub rows: Option<Rows>,
    /// Orders and trades the ledger didn't know.
    pub new: u32,
    /// Those it knew and that changed.
    pub changed: u32,
    /// Those it knew just so.
    pub same: u32,
}

/// What became of all files.
#[derive(Debug, Default, Serialize)]
pub struct TakeIn {
    /// Files that were taken or refused.
    pub files: Vec<FileTaken>,
    /// Files that wait in it.
    pub waiting: Vec<Waiting>,
    /// Rows and files that could not be read.
    pub refused: Vec<Refused>,
    /// Of those that wait, the names of those that nothing but a fault of the system, or somebody writing to them, kept
    /// from being read: to be tried again without anybody's doing.
    #[serde(skip)]
    pub again: Vec<String>,
}

impl TakeIn {
    /// Whether the seller has to look at something.
    #[must_use]
    pub const fn needs_seller(&self) -> bool {
        !self.waiting.is_empty() || !self.refused.is_empty()
    }
}

/// Whether files are moved to where they belong, or only read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Files {
    /// To the archive, or to the refused.
    Move,
    /// Left where they are: a dry run.
    Leave,
}

/// Takes in what lies in the inbox. Given `settled`, only these files, and only while nobody has written to them since.
///
/// # Errors
/// Where the inbox can't be listed, or the ledger can't be written.
pub fn take_in(desk: &mut Desk, files: Files, settled: Option<&[folder::Found]>) -> Result<TakeIn> {
    let inbox = desk.home.inbox();
    if files == Files::Move {
        desk.take_turn()?;
        folder::put_back(&inbox).context("what a stop left in the inbox's `.taking` can't be put back")?;
    }
    let entries = folder::scan(&inbox).with_context(|| format!("the inbox `{}` can't be listed", inbox.display()))?;
    let mut done = TakeIn::default();
    let mut found = Vec::new();
    for entry in entries {
        match entry {
            folder::Entry::File(file) if settled.is_none_or(|settled| settled.contains(&file)) => found.push(file),
            folder::Entry::File(_) => {}
            folder::Entry::Odd(waiting) => done.waiting.push(waiting),
        }
    }
    for file in &found {
        take_file(desk, files, file, &mut done)?;
    }
    let answered = desk.ledger.date_orders()?;
    if answered != desk.dates {
        // Among the files was the answer that others wait for.
        desk.dates = answered;
        let asked: Vec<Waiting> = done.waiting.extract_if(.., |waiting| waiting.date_asked.is_some()).collect();
        for file in found.iter().filter(|file| asked.iter().any(|waiting| waiting.file == file.name)) {
            take_file(desk, files, file, &mut done)?;
        }
    }
    done.waiting.sort();
    Ok(done)
}

fn take_file(desk: &mut Desk, files: Files, found: &folder::Found, done: &mut TakeIn) -> Result<()> {
    let now = desk.now.timestamp();
    let (name, today, root) = (found.name.clone(), desk.today(), desk.home.root.clone());
    let (read, bytes) = match folder::load(found) {
        Ok(read) => read,
        Err(error @ folder::LoadError::TooLarge { .. }) => {
            let why = whole_file(&name, error.to_string());
            // What was never read has no hash of its bytes; its name, size and time stand for them.
            let hash = ledger::hash(format!("{name} {} {:?}", found.size, found.modified).as_bytes());
            desk.ledger.refuse(&name, &hash, &why, now)?;
            seam::pass(Seam::FileRecorded);
            if files == Files::Move {
                let moved = folder::refuse(&root, found, today, &why).context("a file can't be moved to refused/")?;
                done.moved(&name, &moved);
            }
            done.refuse(name, why);
            return Ok(());
        }
        Err(folder::LoadError::Gone) => return Ok(()),
        Err(error @ (folder::LoadError::Io(_) | folder::LoadError::Changing)) => {
            done.again.push(name.clone());
            done.waiting.push(Waiting::new(name, error.to_string()));
            return Ok(());
        }
    };
    let hash = ledger::hash(&bytes);
    if desk.ledger.knows(&hash)? {
        if files == Files::Move {
            let moved = folder::archive(&root, &read, today).context("a file can't be moved to archive/")?;
            done.moved(&name, &moved);
        }
        done.files.push(FileTaken::moved(name, "known"));
        return Ok(());
    }
    match inbox::read(&name, &bytes, &desk.read_rules()) {
        Ok(mut reading) => {
            let taken = desk.ledger.take(&name, &hash, &mut reading, &desk.now)?;
            seam::pass(Seam::FileRecorded);
            if files == Files::Move {
                if let Some((ending, rows)) = inbox::refused_rows(&reading) {
                    folder::write_refused_rows(&root, &name, today, ending, &rows)
                        .context("refused rows can't be written")?;
                    seam::pass(Seam::RowsGivenBack);
                }
                let moved = folder::archive(&root, &read, today).context("a file can't be moved to archive/")?;
                done.moved(&name, &moved);
            }
            done.refused.extend(reading.refused.iter().map(|row| row.why.clone()));
            done.files.push(FileTaken {
                file: name,
                outcome: "taken",
                kind: Some(reading.content.kind()),
                source: reading.source,
                rows: Some(reading.rows),
                new: taken.new,
                changed: taken.changed,
                same: taken.same,
            });
        }
        Err(ReadError::Unreadable(why)) => {
            desk.ledger.refuse(&name, &hash, &why, now)?;
            seam::pass(Seam::FileRecorded);
            if files == Files::Move {
                let moved = folder::refuse(&root, &read, today, &why).context("a file can't be moved to refused/")?;
                done.moved(&name, &moved);
            }
            done.refuse(name, why);
        }
        Err(ReadError::Waiting(waiting)) => done.waiting.push(*waiting),
    }
    Ok(())
}

impl TakeIn {
    fn refuse(&mut self, file: String, why: Refused) {
        self.refused.push(why);
        self.files.push(FileTaken::moved(file, "refused"));
    }

    /// A file that somebody wrote to meanwhile waits for the next run.
    fn moved(&mut self, file: &str, moved: &folder::Moved) {
        match moved {
            folder::Moved::To(_) | folder::Moved::Gone => {}
            folder::Moved::Changed => {
                self.again.push(file.to_owned());
                self.waiting.push(Waiting::new(
                    file,
                    "was written to or saved anew while it was taken in; what it is now is read at the next run",
                ));
            }
        }
    }
}

impl FileTaken {
    /// One of which nothing went into the ledger.
    const fn moved(file: String, outcome: &'static str) -> Self {
        Self { file, outcome, kind: None, source: None, rows: None, new: 0, changed: 0, same: 0 }
    }
}

fn whole_file(file: &str, reason: String) -> Refused {
    Refused { file: file.to_owned(), line: None, column: None, value: None, reason }
}

/// How long a file must lie unchanged before the daemon takes it: longer than the pauses of a slow copy.
pub(super) const QUIET: Duration = Duration::from_secs(3);
