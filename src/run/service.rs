//! What a service of the system needs: one instance a home, signals, word to the service manager, and word of
//! changes in the inbox.
//!
//! Promises to do without each of them: no manager, nothing is told; no event, the rescan finds the file. Turned
//! down: a process id in a file as the lock, which outlives a crash; the kernel's lock goes with the process.

use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::time::Duration;

use notify::event::{AccessKind, AccessMode};
use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use sd_notify::NotifyState;
use signal_hook::consts::{SIGINT, SIGTERM};

/// Set once the service is asked to end.
pub(super) struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Listens for SIGTERM and SIGINT. The first lets the turn end; a second one ends the process at once, which a
    /// home bears like any crash.
    pub(super) fn on_signals() -> io::Result<Self> {
        let flag = Arc::new(AtomicBool::new(false));
        for signal in [SIGTERM, SIGINT] {
            // In this order: a signal ends the process where the flag was set before it.
            signal_hook::flag::register_conditional_shutdown(signal, 128 + signal, Arc::clone(&flag))?;
            signal_hook::flag::register(signal, Arc::clone(&flag))?;
        }
        Ok(Self(flag))
    }

    pub(super) fn is_set(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Held while a daemon has a home.
#[derive(Debug)]
pub(super) struct Lock {
    _file: File,
}

/// Why a home can't be had.
#[derive(Debug, thiserror::Error)]
pub(super) enum LockError {
    /// Another daemon has it.
    #[error("another dawnpack watches `{0}` already; stop that one first, or give another home with -C")]
    Taken(PathBuf),
    /// The lock's file can't be written.
    #[error("`{path}` can't be locked: {why}; the home has to be a folder that dawnpack may write")]
    Io {
        /// The lock's file.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
}

/// Takes a home for one daemon. The lock goes with the process, however that ends; its file stays and means nothing.
pub(super) fn lock(home: &Path) -> Result<Lock, LockError> {
    let path = home.join(".dawnpack.lock");
    let locked = OpenOptions::new().create(true).truncate(false).write(true).open(&path).map(|file| {
        let held = file.try_lock();
        (file, held)
    });
    match locked {
        Ok((file, Ok(()))) => Ok(Lock { _file: file }),
        Ok((_, Err(TryLockError::WouldBlock))) => Err(LockError::Taken(home.to_owned())),
        Ok((_, Err(TryLockError::Error(why)))) | Err(why) => Err(LockError::Io { path, why }),
    }
}

/// Tells of every change in the inbox; what is missed, the rescan finds.
pub(super) fn watch_inbox(inbox: &Path, tell: Sender<()>) -> notify::Result<RecommendedWatcher> {
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        if event.as_ref().map_or(true, is_change) {
            // Nobody listens any more only while the program ends.
            let _ended = tell.send(());
        }
    })?;
    watcher.watch(inbox, RecursiveMode::NonRecursive)?;
    Ok(watcher)
}

/// Looking is no change: the daemon's own scan opens the folder, and would wake it for ever.
fn is_change(event: &notify::Event) -> bool {
    match event.kind {
        EventKind::Access(access) => access == AccessKind::Close(AccessMode::Write),
        EventKind::Any | EventKind::Create(_) | EventKind::Modify(_) | EventKind::Remove(_) | EventKind::Other => true,
    }
}

/// Without a service manager these do nothing; with one that doesn't listen, there is nobody to tell.
fn notify_manager(states: &[NotifyState<'_>]) {
    let _nobody = sd_notify::notify(states);
}

pub(super) fn ready() {
    notify_manager(&[NotifyState::Ready]);
}

/// One line for `systemctl status`; a line break would start another of the manager's variables.
pub(super) fn status(text: &str) {
    notify_manager(&[NotifyState::Status(&crate::model::text::one_line(text))]);
}

pub(super) fn watchdog() {
    notify_manager(&[NotifyState::Watchdog]);
}

pub(super) fn stopping() {
    notify_manager(&[NotifyState::Stopping]);
}

/// How often the manager wants to hear that the service is alive: half of the time it waits, as `sd_watchdog_enabled(3)`
/// recommends.
pub(super) fn watchdog_interval() -> Option<Duration> {
    sd_notify::watchdog_enabled().map(|limit| limit / 2)
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::process::{Command, Stdio};
    use std::sync::mpsc;

    use super::*;

    #[test]
    fn a_home_is_watched_once() {
        let home = tempfile::tempdir().unwrap();
        let first = lock(home.path()).unwrap();
        let second = lock(home.path()).unwrap_err().to_string();
        let expected = format!("another dawnpack watches `{}` already; stop that one first", home.path().display());
        assert!(second.starts_with(&expected), "{second}");
        drop(first);
        assert!(lock(home.path()).is_ok());
        let gone = lock(&home.path().join("gone")).unwrap_err().to_string();
        assert!(gone.contains("gone/.dawnpack.lock` can't be locked") && gone.contains("has to be a folder"), "{gone}");
    }

    #[test]
    fn a_new_file_is_told_and_looking_is_not() {
        let inbox = tempfile::tempdir().unwrap();
        let path = inbox.path().join("a.csv");
        fs::write(&path, "x").unwrap();
        let (tell, told) = mpsc::channel();
        let _watcher = watch_inbox(inbox.path(), tell).unwrap();
        assert_eq!(fs::read_dir(inbox.path()).unwrap().count(), 1);
        assert_eq!(fs::read_to_string(&path).unwrap(), "x");
        assert!(told.recv_timeout(Duration::from_millis(300)).is_err());
        fs::rename(&path, inbox.path().join("b.csv")).unwrap();
        assert!(told.recv_timeout(Duration::from_secs(5)).is_ok());
        while told.recv_timeout(Duration::from_millis(300)).is_ok() {}
        fs::write(inbox.path().join("c.csv"), "y").unwrap();
        assert!(told.recv_timeout(Duration::from_secs(5)).is_ok());
    }

    const CHILD: &str = "DAWNPACK_TEST_CHILD";

    /// Runs one ignored test of this module in a process of its own, since signals and the manager's socket belong to
    /// a whole process. Run otherwise, such a test does nothing.
    #[cfg(unix)]
    fn child(test: &str) -> Command {
        let (_, module) = module_path!().split_once("::").unwrap();
        let mut command = Command::new(std::env::current_exe().unwrap());
        command
            .args(["--exact", &format!("{module}::{test}"), "--ignored", "--nocapture"])
            .env(CHILD, "1")
            .stdout(Stdio::piped());
        command
    }

    #[cfg(unix)]
    #[test]
    fn the_manager_hears_each_state() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("notify");
        let socket = std::os::unix::net::UnixDatagram::bind(&path).unwrap();
        socket.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        let mut command = child("tells_the_manager");
        let output = command.env("NOTIFY_SOCKET", &path).env("WATCHDOG_USEC", "20000000").output().unwrap();
        assert!(output.status.success(), "{output:?}");
        let heard: Vec<String> = (0..4)
            .map(|_| {
                let mut said = [0; 200];
                let length = socket.recv(&mut said).unwrap();
                String::from_utf8_lossy(&said[..length]).trim_end().to_owned()
            })
            .collect();
        assert_eq!(heard, ["READY=1", "STATUS=watching READY=0", "WATCHDOG=1", "STOPPING=1"]);
    }

    #[test]
    #[ignore = "run by `the_manager_hears_each_state`"]
    fn tells_the_manager() {
        if std::env::var_os(CHILD).is_none() {
            return;
        }
        ready();
        status("watching\nREADY=0");
        watchdog();
        stopping();
        assert_eq!(watchdog_interval(), Some(Duration::from_secs(10)));
    }

    #[test]
    fn without_a_manager_nothing_happens() {
        if std::env::var_os("NOTIFY_SOCKET").is_none() {
            ready();
            status("x");
            assert_eq!(watchdog_interval(), None);
        }
    }

    #[cfg(unix)]
    #[test]
    fn the_first_signal_is_a_request_and_the_second_an_order() {
        let output = child("is_signalled").output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(said.contains("asked once"), "{said}");
        assert_eq!(output.status.code(), Some(128 + SIGINT), "{said}");
    }

    #[test]
    #[ignore = "run by `the_first_signal_is_a_request_and_the_second_an_order`"]
    fn is_signalled() {
        if std::env::var_os(CHILD).is_none() {
            return;
        }
        let stop = Stop::on_signals().unwrap();
        assert!(!stop.is_set());
        signal_hook::low_level::raise(SIGTERM).unwrap();
        assert!(stop.is_set());
        println!("asked once");
        signal_hook::low_level::raise(SIGINT).unwrap();
        unreachable!("the second signal ends the process");
    }
}
