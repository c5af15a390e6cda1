//! A morning that is stopped at every seam in turn, without any tidying up, and run again: the home has to be the one
//! that never stopped. Archive, refused, papers and ledger are compared byte for byte; the mail server counts.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime};

use rusqlite::Connection;
use rusqlite::types::Value;

use crate::desk::server::{Manner, Server};
use crate::desk::{Desk, NOW, program};

/// A file with a refused row, one that is taken whole, and one that can't be read at all; small, since a morning is run
/// some fifty times.
const DROPS: [(&str, &[u8]); 3] = [
    (
        "sales.csv",
        b"Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Writes from,Pin code,How many,Each,In all\n\
          7,11/23/2026,11/23/2026,settled,Ines Okonjo,88 Tern Street,Brackwater,MA,01999,US,,PUFFIN,1,9.00,9.00\n\
          8,11/23/2026,11/23/2026,settled,Bo Lind,2 Quay,Brackwater,MA,01999,US,,PUFFIN,two,9.00,9.00\n",
    ),
    ("trade.txt", include_bytes!("../inbox/trade-okonjo.txt")),
    ("noise.csv", &[0, 159, 146, 150, 0, 1, 2, 3]),
];

fn renew(desk: &Desk, server: &Server) {
    desk.renew();
    let folder = "transport = \"folder\"           # writes messages to outbox/mail; or \"smtp\"";
    desk.edit("dawnpack.toml", folder, &server.rules(""));
    for (name, bytes) in DROPS {
        desk.drop(name, bytes);
        // They are taken in the order of their age, which has to be the same each time.
        let file = fs::File::options().write(true).open(desk.path("inbox").join(name)).unwrap();
        file.set_modified(SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000_000)).unwrap();
    }
}

/// Every file of the home but the ledger and the locks, and every row of every table.
fn everything(desk: &Desk) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    files(&desk.home(), &desk.home(), &mut all);
    let ledger = Connection::open(desk.path("ledger.db")).unwrap();
    let mut tables = ledger.prepare("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").unwrap();
    for table in tables.query_map([], |row| row.get::<_, String>(0)).unwrap().map(Result::unwrap) {
        let mut rows = ledger.prepare(&format!("SELECT * FROM \"{table}\"")).unwrap();
        let width = rows.column_count();
        let mut told: Vec<String> = rows
            .query_map([], |row| (0..width).map(|column| row.get::<_, Value>(column)).collect::<Result<Vec<_>, _>>())
            .unwrap()
            .map(|row| format!("{:?}", row.unwrap()))
            .collect();
        told.sort();
        all.insert(format!("ledger: {table}"), told.join("\n").into_bytes());
    }
    all
}

fn files(home: &Path, dir: &Path, all: &mut BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let name = path.strip_prefix(home).unwrap().display().to_string();
        if path.is_dir() {
            files(home, &path, all);
        } else if !name.starts_with("ledger.db") && !name.starts_with(".dawnpack") {
            all.insert(name, fs::read(&path).unwrap());
        }
    }
}

/// The seam at which it was stopped, or `None` where it came to its end.
fn run(desk: &Desk, stop_at: usize) -> Option<String> {
    let mut command = program();
    command.arg("-C").arg(desk.home()).args(["--now", NOW, "morning"]).env("DAWNPACK_STOP_AT", stop_at.to_string());
    let output = command.output().unwrap();
    let stderr = String::from_utf8(output.stderr).unwrap();
    let seam = stderr.split("stopped at ").nth(1).map(|rest| rest.trim().to_owned());
    assert_eq!(seam.is_none(), output.status.code() == Some(3), "{stderr}");
    seam
}

fn same(found: &BTreeMap<String, Vec<u8>>, expected: &BTreeMap<String, Vec<u8>>, seam: &str) {
    let names = |all: &BTreeMap<String, Vec<u8>>| all.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(found), names(expected), "after {seam}");
    for (name, bytes) in expected {
        assert!(found[name] == *bytes, "after {seam}, {name} is another");
    }
}

#[test]
fn a_run_that_stops_at_any_seam_is_made_good_by_the_next() {
    if !cfg!(debug_assertions) {
        // A release build has no seams to stop at.
        return;
    }
    let server = Server::start(Manner::Takes);
    let desk = Desk::new();
    renew(&desk, &server);
    assert_eq!(run(&desk, 0), None);
    let (expected, message) = (everything(&desk), server.last());
    assert_eq!(server.heard(), 1);
    let mut seams = BTreeSet::new();
    for stop_at in 1.. {
        renew(&desk, &server);
        let before = server.heard();
        let Some(seam) = run(&desk, stop_at) else { break };
        if seam == "FileRecorded" && seams.insert("Claimed".to_owned()) {
            // Stopped a moment later: the file is out of everybody's reach already.
            let name =
                DROPS.map(|(name, _)| name).into_iter().find(|name| desk.path("inbox").join(name).exists()).unwrap();
            fs::create_dir(desk.path("inbox/.taking")).unwrap();
            fs::rename(desk.path("inbox").join(name), desk.path("inbox/.taking").join(name)).unwrap();
        }
        assert_eq!(run(&desk, 0), None, "after {seam}");
        same(&everything(&desk), &expected, &seam);
        // The one seam at which a message goes twice, each time the same: no server and no ledger change in one step.
        let times = if seam == "MailDelivered" { 2 } else { 1 };
        assert_eq!(server.heard() - before, times, "after {seam}");
        assert_eq!(server.last(), message, "after {seam}");
        seams.insert(seam);
    }
    let all =
        ["Claimed", "FileRecorded", "MailDelivered", "MailQueued", "PaperWritten", "PlanRecorded", "RowsGivenBack"];
    assert_eq!(seams.into_iter().collect::<Vec<_>>(), all);
}
