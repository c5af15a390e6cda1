//! What a service of the system needs: one instance a home, signals, notice to the service manager, and word of
//! changes in the inbox.

use std::fs::{File, TryLockError};
use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::time::Duration;

use anyhow::{Context, Result, bail};
use notify::{RecommendedWatcher, RecursiveMode, Watcher};
use sd_notify::NotifyState;
use signal_hook::consts::{SIGINT, SIGTERM};

/// Set once the service is asked to end.
pub(super) struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Listens for SIGTERM and SIGINT.
    pub(super) fn on_signals() -> io::Result<Self> {
        let flag = Arc::new(AtomicBool::new(false));
        for signal in [SIGTERM, SIGINT] {
            signal_hook::flag::register(signal, Arc::clone(&flag))?;
        }
        Ok(Self(flag))
    }

    pub(super) fn is_set(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Held while a daemon has a home.
pub(super) struct Lock {
    _file: File,
}

/// Takes a home for one daemon. The lock goes with the process, however that ends.
pub(super) fn lock(home: &Path) -> Result<Lock> {
    let path = home.join(".dawnpack.lock");
    let file = File::create(&path).with_context(|| format!("`{}` can't be written", path.display()))?;
    match file.try_lock() {
        Ok(()) => Ok(Lock { _file: file }),
        Err(TryLockError::WouldBlock) => {
            bail!("another dawnpack watches `{}` already; stop that one first", home.display())
        }
        Err(TryLockError::Error(error)) => Err(error).with_context(|| format!("`{}` can't be locked", path.display())),
    }
}

/// Tells of every change in the inbox; what is missed, the rescan finds.
pub(super) fn watch_inbox(inbox: &Path, tell: Sender<()>) -> notify::Result<RecommendedWatcher> {
    let mut watcher = notify::recommended_watcher(move |_event: notify::Result<notify::Event>| {
        // Nobody listens any more only while the program ends.
        let _ended = tell.send(());
    })?;
    watcher.watch(inbox, RecursiveMode::NonRecursive)?;
    Ok(watcher)
}

/// Without a service manager these do nothing; with one that doesn't listen, there is nobody to tell.
fn notify_manager(states: &[NotifyState<'_>]) {
    let _nobody = sd_notify::notify(states);
}

pub(super) fn ready() {
    notify_manager(&[NotifyState::Ready]);
}

pub(super) fn status(text: &str) {
    notify_manager(&[NotifyState::Status(text)]);
}

pub(super) fn watchdog() {
    notify_manager(&[NotifyState::Watchdog]);
}

pub(super) fn stopping() {
    notify_manager(&[NotifyState::Stopping]);
}

/// How often the manager wants to hear that the service is alive: half of the time it waits.
pub(super) fn watchdog_interval() -> Option<Duration> {
    sd_notify::watchdog_enabled().map(|limit| limit / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_home_is_watched_once() {
        let home = tempfile::tempdir().unwrap();
        let first = lock(home.path()).unwrap();
        let second = lock(home.path()).err().unwrap().to_string();
        assert!(second.starts_with("another dawnpack watches"), "{second}");
        drop(first);
        assert!(lock(home.path()).is_ok());
    }

    #[test]
    fn a_new_file_is_told() {
        let inbox = tempfile::tempdir().unwrap();
        let (tell, told) = std::sync::mpsc::channel();
        let _watcher = watch_inbox(inbox.path(), tell).unwrap();
        std::fs::write(inbox.path().join("a.csv"), "x").unwrap();
        assert!(told.recv_timeout(Duration::from_secs(5)).is_ok());
    }
}
