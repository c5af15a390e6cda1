//! Mail that doesn't go, and a mail server that takes its time: who is told, and who has to wait.

use std::fs;
use std::io::Read as _;
use std::process::{Child, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::desk::server::{Manner, Server};
use crate::desk::{Desk, NOW, program};

const FOLDER: &str = "transport = \"folder\"           # writes messages to outbox/mail; or \"smtp\"";

/// A home without drops, so that nothing but its mail can need the seller.
fn home(server: &Server, more: &str) -> Desk {
    let desk = Desk::new();
    desk.edit("dawnpack.toml", FOLDER, &server.rules(more));
    desk
}

fn last_error(desk: &Desk) -> String {
    desk.json(&["list", "mail", "--json"])["mail"][0]["last_error"].as_str().unwrap().to_owned()
}

#[test]
fn a_refused_login_needs_the_seller_and_is_told_with_its_mend() {
    let server = Server::start(Manner::RefusesLogin);
    let desk = Desk::new();
    let secret = desk.path("secret");
    fs::write(&secret, "wrong\n").unwrap();
    #[cfg(unix)]
    fs::set_permissions(&secret, std::os::unix::fs::PermissionsExt::from_mode(0o600)).unwrap();
    let login = format!(", user = \"owner\", password_file = \"{}\"", secret.display());
    desk.edit("dawnpack.toml", FOLDER, &server.rules(&login));
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    for told in [&said.stderr, &desk.run(&["list", "mail"]).stdout, &last_error(&desk)] {
        assert!(told.contains("needs you: ") && told.contains("refuses the login of `owner`"), "{told}");
        assert!(told.contains("check `user` and what `password_file` names"), "{told}");
    }
}

/// The mend that is told has to be one: the message that was queued goes to the address as it is now.
#[test]
fn a_refused_address_needs_the_seller_and_the_message_goes_once_it_is_mended() {
    let server = Server::start(Manner::Knows("right@example.org"));
    let desk = home(&server, "");
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(3), "{said:?}");
    assert!(said.stderr.contains("check the addresses in dawnpack.toml"), "{said:?}");
    assert!(last_error(&desk).starts_with("needs you: "));
    desk.edit("dawnpack.toml", "to = [\"owner@example.org\"]", "to = [\"right@example.org\"]");
    let said = desk.run(&["morning"]);
    assert_eq!((said.code, server.heard()), (Some(0), 1), "{said:?}");
}

/// Nothing to mend: a server that is away comes back.
#[test]
fn a_server_that_is_away_does_not_need_the_seller() {
    let desk = Desk::new();
    desk.edit(
        "dawnpack.toml",
        FOLDER,
        "transport = \"smtp\"\nsmtp = { host = \"127.0.0.1\", port = 1, security = \"none\" }",
    );
    let said = desk.run(&["morning"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert!(said.stderr.contains("not sent") && !said.stderr.contains("needs you"), "{said:?}");
    assert!(!last_error(&desk).contains("needs you"));
}

/// A run in the background; ended with the test.
struct Run(Child);

impl Run {
    fn start(desk: &Desk, args: &[&str]) -> Self {
        let mut command = program();
        command.arg("-C").arg(desk.home()).args(["--now", NOW]).args(args);
        Self(command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap())
    }

    fn end(mut self) -> (Option<i32>, String) {
        let code = self.0.wait().unwrap().code();
        let mut said = String::new();
        self.0.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        (code, said)
    }
}

impl Drop for Run {
    fn drop(&mut self) {
        let _ended = self.0.kill();
        let _reaped = self.0.wait();
    }
}

fn until(what: &str, done: impl Fn() -> bool) {
    let begun = Instant::now();
    while !done() {
        assert!(begun.elapsed() < Duration::from_mins(1), "{what} never came");
        thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn a_slow_mail_server_keeps_nobody_from_the_home_and_gets_one_message_once() {
    let server = Server::start(Manner::Takes);
    server.answers(false);
    let desk = home(&server, "");
    let first = Run::start(&desk, &["morning"]);
    until("the message", || desk.json(&["list", "mail", "--json"])["mail"].as_array().unwrap().len() == 1);
    // Both read and change the home while the first one waits for the server.
    desk.drop("a.csv", &fs::read("inbox/stall-week-48.csv").unwrap());
    assert_eq!(desk.run(&["take-in"]).code, Some(3));
    assert_eq!(desk.run(&["hold", "stall:1001"]).code, Some(0));
    // The other leaves the delivery to the first, and says so.
    let second = desk.run_at("2026-11-25T07:00", &["morning"]);
    assert!(second.stderr.contains("another dawnpack is sending"), "{second:?}");
    assert_eq!(server.heard(), 0);
    server.answers(true);
    let (code, said) = first.end();
    assert_eq!(code, Some(0), "{said}");
    // What the other queued went with it; each of the two once.
    assert_eq!(server.heard(), 2);
    desk.run_at("2026-11-25T08:00", &["morning"]);
    assert_eq!(server.heard(), 2);
}

/// While another run changes the home, whoever changes it waits and says so, and whoever reads it doesn't wait.
#[test]
fn who_waits_for_another_run_says_so_and_who_reads_does_not_wait() {
    let desk = Desk::with_sample_drops();
    let turn = fs::File::create(desk.path(".dawnpack.turn")).unwrap();
    turn.lock().unwrap();
    let waiting = Run::start(&desk, &["take-in"]);
    let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/inbox/stall-week-48.csv");
    for args in [
        &["list", "orders"][..],
        &["read", sample],
        &["quote", "--mass", "113g", "--to", "US:97099"],
        &["identify", "RR473124829GB"],
        &["check"],
        &["morning", "--dry-run"],
    ] {
        let said = desk.run(args);
        assert!(matches!(said.code, Some(0 | 3)), "{args:?}: {said:?}");
    }
    turn.unlock().unwrap();
    let (code, said) = waiting.end();
    assert_eq!(code, Some(3));
    assert!(said.contains("waits for another dawnpack on this home"), "{said}");
}

#[test]
fn reading_makes_no_ledger() {
    let desk = Desk::with_sample_drops();
    let before = desk.names("");
    let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/inbox/stall-week-48.csv");
    for args in [&["read", sample][..], &["list", "orders"], &["quote", "--mass", "4oz", "--to", "US"]] {
        assert_ne!(desk.run(args).code, Some(1), "{args:?}");
    }
    assert_eq!(desk.names(""), before);
    desk.run(&["morning"]);
    let after = desk.names("");
    desk.run(&["list", "orders"]);
    assert_eq!(desk.names(""), after);
}
