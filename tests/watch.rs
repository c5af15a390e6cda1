//! The daemon, turn by turn, under a clock that the test sets: a machine that sleeps, a clock put right.

use std::cell::Cell;
use std::thread;
use std::time::Duration;

use dawnpack::run::{Watch, When};
use jiff::{SignedDuration, Timestamp};

use crate::desk::Desk;

/// A wall clock as the system has it: it may jump.
struct Wall(Cell<Timestamp>);

impl Wall {
    fn at(time: &str) -> Self {
        Self(Cell::new(time.parse().unwrap()))
    }

    fn set(&self, time: &str) {
        self.0.set(time.parse().unwrap());
    }
}

/// As long as a file has to lie unchanged, and a little more.
const SETTLED: Duration = Duration::from_millis(3_200);

#[test]
fn a_machine_that_slept_runs_the_morning_when_it_wakes_and_knows_the_day() {
    let desk = Desk::new();
    let home = desk.home();
    let wall = Wall::at("2026-11-24T23:00-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    watch.turn().unwrap();
    // Set up at night, it made up for that day's morning.
    let before = desk.names("outbox/mail").len();
    wall.set("2026-11-25T06:31-05:00");
    watch.turn().unwrap();
    assert_eq!(desk.names("outbox/mail").len(), before + 1);
    assert!(desk.names("outbox").contains(&"2026-11-25".to_owned()));
    // Thanksgiving is slept through; two days on it is Friday.
    wall.set("2026-11-27T14:30-05:00");
    watch.turn().unwrap();
    assert!(desk.names("outbox").contains(&"2026-11-27".to_owned()), "{:?}", desk.names("outbox"));
    assert!(!desk.names("outbox").contains(&"2026-11-26".to_owned()));
}

/// A clock that ran two days fast and is put right: files settle and the morning comes all the same.
#[test]
fn a_clock_that_is_put_back_stops_nothing() {
    let desk = Desk::new();
    let home = desk.home();
    let wall = Wall::at("2026-11-27T05:00-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    desk.drop("a.csv", &std::fs::read("inbox/stall-week-48.csv").unwrap());
    assert!(watch.turn().unwrap(), "the file has not settled yet");
    wall.set("2026-11-25T10:00-05:00");
    thread::sleep(SETTLED);
    watch.turn().unwrap();
    assert_eq!(desk.names("inbox"), Vec::<String>::new());
    assert!(desk.names("outbox").contains(&"2026-11-25".to_owned()));
}

/// A machine that slept while a file was being copied: what lay unchanged was only asleep.
#[test]
fn a_file_does_not_settle_by_the_machine_sleeping() {
    let desk = Desk::new();
    let home = desk.home();
    let wall = Wall::at("2026-11-26T01:00-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    desk.drop("half.csv", b"Slip,Taken on\n7,11/");
    assert!(watch.turn().unwrap());
    wall.set("2026-11-26T09:00-05:00");
    assert!(watch.turn().unwrap(), "the half file was read");
    assert_eq!(desk.names("inbox"), ["half.csv"]);
}

#[test]
fn with_now_the_clock_is_put_forward_and_still_jumps() {
    let desk = Desk::new();
    let home = desk.home();
    let wall = Wall::at("2031-03-01T00:00-05:00");
    let clock = || wall.0.get();
    let start: When = "2026-11-25T05:00".parse().unwrap();
    let mut watch = Watch::new(&home, Some(&start), &clock).unwrap();
    watch.turn().unwrap();
    assert!(!desk.names("outbox").contains(&"2026-11-25".to_owned()));
    wall.0.set(wall.0.get().checked_add(SignedDuration::from_hours(8)).unwrap());
    watch.turn().unwrap();
    assert!(desk.names("outbox").contains(&"2026-11-25".to_owned()));
}

/// A plan made the evening before, or by hand before the hour, doesn't know what came overnight.
#[test]
fn a_morning_that_was_run_ahead_is_run_again_at_its_time() {
    let desk = Desk::new();
    let home = desk.home();
    desk.drop("a.csv", &std::fs::read("inbox/stall-week-48.csv").unwrap());
    desk.run_at("2026-11-24T20:00", &["morning", "--date", "2026-11-25"]);
    desk.run_at("2026-11-25T05:00", &["morning"]);
    assert_eq!(desk.names("outbox/mail").len(), 1);
    let wall = Wall::at("2026-11-25T06:29-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    desk.drop("b.csv", &std::fs::read("inbox/quay-november.csv").unwrap());
    watch.turn().unwrap();
    thread::sleep(SETTLED);
    watch.turn().unwrap();
    assert_eq!((desk.names("inbox").len(), desk.names("outbox/mail").len()), (0, 1));
    wall.set("2026-11-25T06:30-05:00");
    watch.turn().unwrap();
    assert_eq!(desk.names("outbox/mail").len(), 2);
    assert!(desk.names("outbox/2026-11-25").contains(&"manifest-r2.json".to_owned()));
}

/// With nothing new there is no second email, and no morning at every turn.
#[test]
fn a_morning_that_was_run_ahead_is_silent_where_nothing_is_new() {
    let desk = Desk::new();
    let home = desk.home();
    desk.run_at("2026-11-25T05:00", &["morning"]);
    let wall = Wall::at("2026-11-25T06:30-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    watch.turn().unwrap();
    assert_eq!(desk.names("outbox/mail").len(), 1);
    // What comes later in the day waits for the next morning.
    desk.drop("b.csv", &std::fs::read("inbox/quay-november.csv").unwrap());
    watch.turn().unwrap();
    thread::sleep(SETTLED);
    watch.turn().unwrap();
    assert_eq!((desk.names("inbox").len(), desk.names("outbox/mail").len()), (0, 1));
}

/// A fault that passes, such as a full disk: here the archive can't be made for a while.
#[test]
fn a_file_that_a_passing_fault_kept_is_tried_again_at_the_next_turn() {
    let desk = Desk::new();
    let home = desk.home();
    let wall = Wall::at("2026-11-26T09:00-05:00");
    let clock = || wall.0.get();
    let mut watch = Watch::new(&home, None, &clock).unwrap();
    desk.drop("a.csv", &std::fs::read("inbox/stall-week-48.csv").unwrap());
    std::fs::remove_dir(desk.path("archive")).unwrap();
    std::fs::write(desk.path("archive"), "in the way").unwrap();
    watch.turn().unwrap();
    thread::sleep(SETTLED);
    let fault = format!("{:#}", watch.turn().unwrap_err());
    assert!(fault.contains("a file can't be moved to archive/"), "{fault}");
    assert_eq!(desk.names("inbox"), ["a.csv"]);
    std::fs::remove_file(desk.path("archive")).unwrap();
    watch.turn().unwrap();
    assert_eq!(desk.names("inbox"), Vec::<String>::new());
    assert_eq!(desk.names("archive/2026-11-26"), ["a.csv"]);
}
