//! The daemon, as a service manager would run it.

use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::desk::{Desk, program};

/// A daemon, which a test that fails doesn't leave behind.
struct Daemon(Child);

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ended = self.0.kill();
        let _reaped = self.0.wait();
    }
}

fn watch(desk: &Desk, now: &str) -> Daemon {
    let mut command = program();
    command.arg("-C").arg(desk.home()).args(["--now", now, "watch"]).stderr(Stdio::null());
    Daemon(command.spawn().unwrap())
}

fn until(what: &str, done: impl Fn() -> bool) {
    let begun = Instant::now();
    while !done() {
        assert!(begun.elapsed() < Duration::from_mins(1), "{what} never came");
        thread::sleep(Duration::from_millis(100));
    }
}

fn terminate(mut daemon: Daemon) -> Option<i32> {
    let killed = Command::new("kill").arg("-TERM").arg(daemon.0.id().to_string()).status().unwrap();
    assert!(killed.success());
    daemon.0.wait().unwrap().code()
}

#[test]
fn it_takes_drops_once_settled_runs_the_morning_at_its_time_and_ends_cleanly() {
    let desk = Desk::with_sample_drops();
    desk.drop("half.csv.part", b"still coming");
    let child = watch(&desk, "2026-11-25T06:29:54");
    until("the morning", || desk.names("outbox/mail").len() == 1);
    assert_eq!(desk.names("inbox"), ["half.csv.part"]);
    let second = program().arg("-C").arg(desk.home()).arg("watch").output().unwrap();
    assert_eq!(second.status.code(), Some(1));
    assert!(String::from_utf8(second.stderr).unwrap().contains("another dawnpack watches"));
    assert_eq!(terminate(child), Some(0));
}

#[test]
fn a_morning_that_was_missed_is_made_up_at_start_and_only_once() {
    let desk = Desk::with_sample_drops();
    for _ in 0..2 {
        let child = watch(&desk, "2026-11-25T11:00:00");
        until("the morning", || desk.names("outbox/mail").len() == 1);
        thread::sleep(Duration::from_secs(2));
        assert_eq!(terminate(child), Some(0));
    }
    assert_eq!(desk.names("outbox/mail").len(), 1);
    assert!(!desk.names("outbox/2026-11-25").iter().any(|name| name.contains("-r2")));
}

/// A crash after the plan was recorded: the daemon finishes what the record says, on the same day.
#[test]
fn papers_that_a_crash_left_unwritten_are_written_at_start() {
    let desk = Desk::with_sample_drops();
    desk.run(&["morning"]);
    std::fs::remove_dir_all(desk.path("outbox")).unwrap();
    let ledger = rusqlite::Connection::open(desk.path("ledger.db")).unwrap();
    ledger.execute_batch("DELETE FROM mail; UPDATE manifests SET written_at = NULL;").unwrap();
    drop(ledger);
    let child = watch(&desk, "2026-11-25T11:00:00");
    until("the email", || desk.names("outbox/mail").len() == 1);
    assert_eq!(terminate(child), Some(0));
    assert!(desk.names("outbox/2026-11-25").contains(&"dispatch.pdf".to_owned()));
}

#[test]
fn a_day_off_has_no_morning() {
    let desk = Desk::with_sample_drops();
    let child = watch(&desk, "2026-11-26T11:00:00");
    until("the drops' being taken", || desk.names("inbox").is_empty());
    thread::sleep(Duration::from_secs(2));
    assert_eq!(terminate(child), Some(0));
    assert!(desk.names("outbox/mail").is_empty());
}

/// A mail server that isn't there: the papers lie ready, the message waits and goes later.
#[test]
fn mail_that_can_not_be_sent_is_kept_and_sent_later() {
    let desk = Desk::with_sample_drops();
    let smtp = "transport = \"smtp\"\nsmtp = { host = \"127.0.0.1\", port = 1, security = \"none\" }";
    desk.edit("dawnpack.toml", "transport = \"folder\"           # writes messages to outbox/mail; or \"smtp\"", smtp);
    let said = desk.run(&["morning"]);
    assert!(said.stderr.contains("not sent"), "{said:?}");
    assert!(desk.names("outbox/2026-11-25").contains(&"dispatch.pdf".to_owned()));
    assert_eq!(desk.json(&["list", "mail", "--json"])["mail"][0]["state"], "queued");
    desk.edit("dawnpack.toml", smtp, "transport = \"folder\"");
    desk.run_at("2026-11-25T07:00", &["morning"]);
    assert_eq!(desk.names("outbox/mail").len(), 1);
    assert_eq!(desk.json(&["list", "mail", "--json"])["mail"][0]["state"], "sent");
}
