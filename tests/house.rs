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

/// Rooms that a text names by `crate::room` or `crate::{room, …}`.
fn used(text: &str) -> Vec<&'static str> {
    let mut used = Vec::new();
    for (place, _) in text.match_indices("crate::") {
        let rest = &text[place + "crate::".len()..];
        let words: Vec<&str> = match rest.strip_prefix('{') {
            Some(list) => list.split('}').next().unwrap().split(',').map(str::trim).collect(),
            None => vec![rest],
        };
        for word in words {
            let name: String = word.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            used.extend(ROOMS.iter().find(|room| **room == name));
        }
    }
    used
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
        for other in used(&text) {
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

/// A file that no `mod` names isn't compiled, and nobody would notice.
#[test]
fn every_file_is_declared_and_every_module_says_why_it_exists() {
    let sources = sources();
    for (file, text) in &sources {
        assert!(text.starts_with("//!"), "{file} doesn't open with why it exists");
        let path = Path::new(file);
        let stem = path.file_stem().unwrap().to_str().unwrap();
        if ["lib", "main"].contains(&stem) {
            continue;
        }
        let folder = path.parent().unwrap();
        let (name, parent) = if stem == "mod" {
            (folder.file_name().unwrap().to_str().unwrap(), folder.parent().unwrap())
        } else {
            (stem, folder)
        };
        let parents = [parent.join("mod.rs"), parent.with_extension("rs"), PathBuf::from("lib.rs")];
        let declared = parents
            .iter()
            .filter_map(|parent| sources.get(parent.to_str().unwrap()))
            .any(|text| text.lines().any(|line| line.trim_end().ends_with(&format!("mod {name};"))));
        assert!(declared, "{file} is declared by nobody");
    }
}

#[test]
fn main_stays_short() {
    let main = &sources()["main.rs"];
    assert!(main.lines().count() < 50);
}
