//! The walls of the house: which room may use which, and that no file stands unused.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// In the order in which one may use another.
const ROOMS: [&str; 9] = ["model", "plan", "inbox", "ledger", "papers", "mail", "home", "run", "cli"];
/// These don't use one another.
const APART: [&str; 4] = ["inbox", "ledger", "papers", "mail"];

fn files(dir: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn sources() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    files(&root, &mut found);
    let name = |path: &PathBuf| path.strip_prefix(&root).unwrap().display().to_string();
    found.iter().map(|path| (name(path), fs::read_to_string(path).unwrap())).collect()
}

fn room_of(file: &str) -> &str {
    file.split(['/', '.']).next().unwrap()
}

/// How many modules a file stands below the crate: `run/watch.rs` two, `run/mod.rs` and `run.rs` one.
fn depth(file: &str) -> usize {
    file.split('/').filter(|part| *part != "mod.rs").count()
}

/// Rooms that the text of a file names: by `crate::room`, by as many `super` as lead out of its own, by the crate's own
/// name; each alone or in a list.
fn used(file: &str, text: &str) -> Vec<&'static str> {
    let mut used = Vec::new();
    let mut heads = Vec::new();
    for way in ["crate::", "dawnpack::"] {
        heads.extend(text.match_indices(way).map(|(place, _)| &text[place + way.len()..]));
    }
    let out = "super::".repeat(depth(file));
    for (place, _) in text.match_indices(&out) {
        // A module within the file needs one more, and what follows is then no room but `super`.
        heads.push(text[place + out.len()..].trim_start_matches("super::"));
    }
    for head in heads {
        for word in firsts(head) {
            used.extend(ROOMS.iter().find(|room| **room == word));
        }
    }
    used
}

/// The first name of a path; of a list `{a::b, c::{d, e}}`, that of each path in it.
fn firsts(path: &str) -> Vec<String> {
    let name = |path: &str| path.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    let Some(list) = path.strip_prefix('{') else { return vec![name(path)] };
    let (mut deep, mut from, mut firsts) = (0, 0, Vec::new());
    for (place, c) in list.char_indices() {
        match c {
            '{' => deep += 1,
            '}' if deep == 0 => {
                firsts.push(name(&list[from..place]));
                break;
            }
            '}' => deep -= 1,
            ',' if deep == 0 => {
                firsts.push(name(&list[from..place]));
                from = place + 1;
            }
            _ => {}
        }
    }
    firsts
}

#[test]
fn a_room_is_seen_however_it_is_named() {
    for (file, text) in [
        ("plan/likeness/names.rs", "use crate::mail::deliver;"),
        ("plan/likeness/names.rs", "use crate::{model::{day, money}, mail};"),
        ("plan/likeness/names.rs", "use super::super::super::mail::deliver;"),
        ("plan/likeness/names.rs", "    mod tests { use super::super::super::super::{mail}; }"),
        ("plan/mod.rs", "use super::mail;"),
        ("plan/mod.rs", "use dawnpack::mail::deliver;"),
    ] {
        assert!(used(file, text).contains(&"mail"), "{file}: {text}");
    }
    // The ledger has a module of that name.
    assert!(used("ledger/record.rs", "use super::mail;").is_empty());
}

#[test]
fn a_room_uses_only_the_rooms_before_it() {
    let place = |room: &str| ROOMS.iter().position(|known| *known == room);
    for (file, text) in sources() {
        let room = room_of(&file);
        if ["lib", "main"].contains(&room) {
            continue;
        }
        let here = place(room).unwrap_or_else(|| panic!("{file} stands in no room"));
        for other in used(&file, &text) {
            assert!(place(other).unwrap() <= here, "{file} uses {other}, which stands after it");
            let apart = room != other && APART.contains(&room) && APART.contains(&other);
            assert!(!apart, "{file} uses {other}; they stand apart");
        }
    }
}

#[test]
fn only_the_ledger_speaks_sql_and_only_the_papers_print() {
    for (file, text) in sources() {
        let room = room_of(&file);
        assert!(room == "ledger" || !text.contains("rusqlite"), "{file} uses SQLite");
        assert!(room == "papers" || !text.contains("typst::"), "{file} uses typst");
        let may_use_anyhow = ["run", "cli", "main"].contains(&room);
        assert!(may_use_anyhow || !text.contains("anyhow"), "{file} uses anyhow");
    }
}

/// Whether the module that a file belongs to declares it: `plan/mail.rs` that of `plan`, whatever `lib.rs` declares.
fn is_declared(sources: &BTreeMap<String, String>, file: &str) -> bool {
    let path = file.strip_suffix("/mod.rs").or_else(|| file.strip_suffix(".rs")).unwrap();
    let (parents, name) = match path.rsplit_once('/') {
        Some((parent, name)) => (vec![format!("{parent}.rs"), format!("{parent}/mod.rs")], name),
        None => (vec!["lib.rs".to_owned()], path),
    };
    let declares = |text: &String| text.lines().any(|line| line.trim_end().ends_with(&format!("mod {name};")));
    parents.iter().filter_map(|parent| sources.get(parent)).any(declares)
}

#[test]
fn a_file_is_declared_by_its_own_parent_alone() {
    let sources: BTreeMap<String, String> =
        [("lib.rs", "pub mod mail;\npub mod plan;"), ("plan/mod.rs", "mod rolls;"), ("plan/rolls.rs", "mod search;")]
            .map(|(file, text)| (file.to_owned(), text.to_owned()))
            .into();
    for (file, declared) in [
        ("mail/mod.rs", true),
        ("plan/mod.rs", true),
        ("plan/rolls.rs", true),
        ("plan/rolls/search.rs", true),
        ("plan/mail.rs", false),
        ("plan/search.rs", false),
        ("plan/rolls/rolls.rs", false),
    ] {
        assert_eq!(is_declared(&sources, file), declared, "{file}");
    }
}

/// A file that no `mod` names isn't compiled, and nobody would notice.
#[test]
fn every_file_is_declared_and_every_module_says_why_it_exists() {
    let sources = sources();
    for (file, text) in &sources {
        assert!(text.starts_with("//!"), "{file} doesn't open with why it exists");
        assert!(
            ["lib.rs", "main.rs"].contains(&file.as_str()) || is_declared(&sources, file),
            "{file} is declared by nobody"
        );
    }
}

/// The commands are a list, a line or a few each; what they do stands in `run`.
#[test]
fn the_commands_reach_for_nothing_but_run() {
    let cli = &sources()["cli.rs"];
    assert!(!cli.contains(".ledger"), "cli.rs reaches past run");
    let run = cli.split("pub fn run(").nth(1).unwrap().split("\n    }\n").next().unwrap();
    assert!(run.lines().count() < 40, "Cli::run is {} lines", run.lines().count());
}

#[test]
fn main_stays_short() {
    let main = &sources()["main.rs"];
    assert!(main.lines().count() < 50);
}
