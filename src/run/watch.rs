//! The daemon: takes drops in as they settle, runs the morning at its time, sends what is queued.
//!
//! Every turn opens the home and the ledger afresh, so that an edit of the home counts from the next turn. What it keeps
//! from one turn to the next spares work and words, and losing it costs no more than that: which files still settle,
//! which were tried and wait, what was logged, on which day the morning was run, and until when one that failed rests.
//! A turn that fails adds only that rest: what it didn't get done is tried again. A change in the
//! inbox wakes it; a rescan every half minute finds what the file system didn't tell. The morning is run once a
//! working day, when its time has come and the ledger has no plan for the day from that time on: so a missed one is made
//! up at start, and one that was run ahead is run again, which changes nothing and sends no second email where nothing
//! is new. Turned down: a scheduler with a table of its own, which would be a second truth about what was done.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

use anyhow::{Context, Result};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use tracing::{error, info, warn};

use crate::home::Home;
use crate::inbox::folder::{self, Entry, Found, Settling};
use crate::plan::calendar;

use super::morning::{finish, morning_with};
use super::service::{self, Stop};
use super::take_in::{Files, QUIET};
use super::{Desk, When, post, take_in};

/// The longest it sleeps without looking at the inbox.
const RESCAN: Duration = Duration::from_secs(30);
/// While a file settles, it looks this often.
const SETTLING: Duration = Duration::from_secs(1);
/// After a turn that failed, this long until the next try of the morning.
const AFTER_FAULT: Duration = Duration::from_mins(5);

/// The wall clock, read anew at each turn, and put forward or back by what `--now` says.
///
/// Counting on from the start would lag behind by every hour that the machine sleeps, and miss it when the clock is
/// set. How long something took is another matter: that is measured by [`Instant`], which no setting moves.
struct Clock<'a> {
    read: &'a dyn Fn() -> Timestamp,
    ahead: SignedDuration,
}

impl<'a> Clock<'a> {
    fn new(read: &'a dyn Fn() -> Timestamp, start: Option<&When>, zone: &TimeZone) -> Result<Self> {
        let ahead = match start {
            Some(start) => start.in_zone(zone)?.timestamp().duration_since(read()),
            None => SignedDuration::ZERO,
        };
        Ok(Self { read, ahead })
    }

    fn now(&self, zone: &TimeZone) -> Result<ZonedDateTime> {
        let now = (self.read)().checked_add(self.ahead).context("the clock is beyond what the calendar holds")?;
        Ok(now.to_zoned_datetime(zone.clone()))
    }
}

/// Watches a home until it is told to stop. `clock` reads the wall clock; given `start`, the daemon lives as many
/// hours before or after it as `start` is now.
///
/// # Errors
/// Where the home is faulty at start, another daemon has it, or the inbox can't be watched. Later faults are
/// logged and tried again.
pub fn watch(root: &Path, start: Option<&When>, clock: &dyn Fn() -> Timestamp) -> Result<()> {
    let mut watch = Watch::new(root, start, clock)?;
    let home = Home::load(root)?;
    let _lock = service::lock(root)?;
    let stop = Stop::on_signals().context("signals can't be heard")?;
    let (tell, told) = mpsc::channel();
    let _watcher = service::watch_inbox(&home.inbox(), tell)
        .with_context(|| format!("the inbox `{}` can't be watched", home.inbox().display()))?;
    service::ready();
    info!("watching {}", home.inbox().display());
    while !stop.is_set() {
        service::watchdog();
        let settling = match watch.turn() {
            Ok(settling) => settling,
            Err(fault) => {
                error!("{fault:#}");
                service::status(&format!("{fault:#}"));
                false
            }
        };
        let pause =
            if settling { SETTLING } else { service::watchdog_interval().map_or(RESCAN, |dog| dog.min(RESCAN)) };
        wait(&stop, &told, pause);
    }
    service::stopping();
    info!("stopped");
    Ok(())
}

/// Sleeps until the inbox changes, the pause is over, or it is told to stop.
fn wait(stop: &Stop, told: &mpsc::Receiver<()>, pause: Duration) {
    let until = Instant::now() + pause;
    while !stop.is_set() {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return;
        }
        match told.recv_timeout(left.min(Duration::from_millis(200))) {
            Ok(()) => {
                while told.try_recv().is_ok() {}
                return;
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => std::thread::sleep(left.min(Duration::from_millis(200))),
        }
    }
}

/// The daemon, turn by turn.
pub struct Watch<'a> {
    root: &'a Path,
    clock: Clock<'a>,
    began: Instant,
    settling: Settling,
    /// After a fault, the morning isn't tried again before this.
    not_before: Option<Instant>,
    /// The day whose morning this daemon ran last: where that found nothing new, the ledger has no record of it.
    ran_on: Option<Date>,
    /// What was logged about the inbox already.
    odd: BTreeSet<String>,
    /// Files that were tried and wait, as they were then.
    tried: Vec<Found>,
}

impl<'a> Watch<'a> {
    /// One that has seen nothing yet; `start` and `clock` as for [`watch`].
    ///
    /// # Errors
    /// Where the home is faulty, or `start` is beyond what the calendar holds.
    pub fn new(root: &'a Path, start: Option<&When>, clock: &'a dyn Fn() -> Timestamp) -> Result<Self> {
        Ok(Self {
            root,
            clock: Clock::new(clock, start, &Home::load(root)?.day.time_zone)?,
            began: Instant::now(),
            settling: Settling::new(QUIET),
            not_before: None,
            ran_on: None,
            odd: BTreeSet::new(),
            tried: Vec::new(),
        })
    }

    /// One turn; tells whether a file is still settling.
    ///
    /// # Errors
    /// Where the home, the inbox or the ledger fails; the next turn tries again.
    pub fn turn(&mut self) -> Result<bool> {
        let home = Home::load(self.root)?;
        let now = self.clock.now(&home.day.time_zone)?;
        let mut desk = Desk::of(home, &When::At(now.timestamp()))?;
        // With the home to itself, what is claimed there was left by a stop.
        folder::put_back(&desk.home.inbox()).context("what a stop left in the inbox's `.taking` can't be put back")?;
        let found = self.found(&desk.home)?;
        let settled = self.settling.settled(&found, self.began.elapsed());
        let settling = settled.len() < found.len();
        let taken = self.take(&mut desk, &settled);
        let worked = match taken {
            Ok(()) => self.work_in_time(&mut desk, settling, &settled),
            Err(fault) => Err(fault),
        };
        // What is queued has nothing to do with what failed.
        for kept in post::send(&mut desk, post::Hurry::InTime)?.kept {
            warn!("{kept}");
        }
        worked?;
        let morning = desk.home.day.morning;
        service::status(&format!("watching; morning at {morning}, {} in the inbox", found.len()));
        Ok(settling)
    }

    /// Takes in what has settled. What was tried and waits is only tried again once it changes, or in the morning; what
    /// a passing fault kept from being read or recorded is tried again at the next turn.
    fn take(&mut self, desk: &mut Desk, settled: &[Found]) -> Result<()> {
        let untried: Vec<Found> = settled.iter().filter(|file| !self.tried.contains(file)).cloned().collect();
        if untried.is_empty() {
            return Ok(());
        }
        let taken = take_in(desk, Files::Move, Some(&untried))?;
        self.tried.retain(|tried| settled.contains(tried));
        self.tried.extend(untried.into_iter().filter(|file| !taken.again.contains(&file.name)));
        for file in &taken.files {
            info!("{}: {}, {} new, {} changed", file.file, file.outcome, file.new, file.changed);
        }
        for waiting in taken.waiting {
            self.tell_once(&waiting.file, &waiting.why);
        }
        Ok(())
    }

    /// Works, unless it failed a moment ago.
    fn work_in_time(&mut self, desk: &mut Desk, settling: bool, settled: &[Found]) -> Result<()> {
        if self.not_before.is_some_and(|not_before| Instant::now() < not_before) {
            return Ok(());
        }
        self.work(desk, settling, settled).map_err(|fault| {
            self.not_before = Instant::now().checked_add(AFTER_FAULT);
            fault.context(format!("the morning of {} failed", desk.today()))
        })
    }

    fn found(&mut self, home: &Home) -> Result<Vec<Found>> {
        let entries = folder::scan(&home.inbox())
            .with_context(|| format!("the inbox `{}` can't be listed", home.inbox().display()))?;
        let mut files = Vec::new();
        for entry in entries {
            match entry {
                Entry::File(found) => files.push(found),
                Entry::Odd(odd) => self.tell_once(&odd.file, &odd.why),
            }
        }
        Ok(files)
    }

    fn tell_once(&mut self, file: &str, why: &str) {
        if self.odd.insert(format!("{file}: {why}")) {
            warn!("{file} waits: {why}");
        }
    }

    /// Finishes what an earlier run recorded and a stop left unwritten; then runs the morning, where it is due. A file
    /// that is still settling makes it wait for the next turn, so as to be in it; one that comes after this turn's look
    /// at the inbox is not `settled`, and left alone.
    fn work(&mut self, desk: &mut Desk, settling: bool, settled: &[Found]) -> Result<()> {
        finish(desk)?;
        let today = desk.today();
        if settling || self.ran_on == Some(today) || !is_due(desk)? {
            return Ok(());
        }
        let done = morning_with(desk, today, Some(settled))?;
        self.ran_on = Some(today);
        if done.new {
            info!("morning of {}: {} parcels", done.plan.date, done.plan.parcels.len());
        } else {
            info!("morning of {today}: nothing new since revision {}", done.plan.revision);
        }
        Ok(())
    }
}

/// Whether today's hour has come, on a working day, and no plan of today was recorded since. One that was made ahead
/// of its day, or by hand before the hour, knows nothing of what came overnight.
fn is_due(desk: &Desk) -> Result<bool> {
    let (day, today) = (&desk.home.day, desk.today());
    let hour =
        today.to_datetime(day.morning).to_zoned_datetime(day.time_zone.clone()).context("today has no morning")?;
    Ok(desk.now >= hour
        && calendar::is_business_day(&day.calendar, today)
        && !desk.ledger.is_recorded_since(today, hour.timestamp())?)
}
