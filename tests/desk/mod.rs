//! One builder for all tests that run the real program: a temporary home, drops, a fixed moment, commands.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

pub(crate) mod server;

/// The moment of the sample's drops.
pub(crate) const NOW: &str = "2026-11-25T06:30";

/// A home in a temporary directory.
pub(crate) struct Desk {
    dir: TempDir,
}

/// What a command said.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) code: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

pub(crate) fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dawnpack"));
    command.env_remove("DAWNPACK_HOME");
    command
}

impl Desk {
    /// The sample home without its drops.
    pub(crate) fn new() -> Self {
        let desk = Self { dir: tempfile::tempdir().unwrap() };
        desk.renew();
        desk
    }

    /// The same home anew, at the same path.
    pub(crate) fn renew(&self) {
        if self.home().exists() {
            fs::remove_dir_all(self.home()).unwrap();
        }
        let made = program().arg("new").arg(self.home()).output().unwrap();
        assert!(made.status.success(), "{made:?}");
    }

    /// The sample home with the sample's drops.
    pub(crate) fn with_sample_drops() -> Self {
        let desk = Self::new();
        for name in
            ["stall-week-48.csv", "quay-november.csv", "trade-okonjo.txt", "trade-brandvold.txt", "trade-brannigan.eml"]
        {
            desk.drop(name, &fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("inbox").join(name)).unwrap());
        }
        desk
    }

    pub(crate) fn home(&self) -> PathBuf {
        self.dir.path().join("home")
    }

    pub(crate) fn path(&self, path: &str) -> PathBuf {
        self.home().join(path)
    }

    pub(crate) fn read(&self, path: &str) -> String {
        fs::read_to_string(self.path(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    pub(crate) fn drop(&self, name: &str, bytes: &[u8]) {
        fs::write(self.path("inbox").join(name), bytes).unwrap();
    }

    /// Replaces text in a file of the home.
    pub(crate) fn edit(&self, path: &str, from: &str, to: &str) {
        let text = self.read(path);
        assert!(text.contains(from), "{path} has no `{from}`");
        fs::write(self.path(path), text.replace(from, to)).unwrap();
    }

    pub(crate) fn run_at(&self, now: &str, args: &[&str]) -> Said {
        let output = program().arg("-C").arg(self.home()).args(["--now", now]).args(args).output().unwrap();
        Said {
            code: output.status.code(),
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub(crate) fn run(&self, args: &[&str]) -> Said {
        self.run_at(NOW, args)
    }

    pub(crate) fn json(&self, args: &[&str]) -> Value {
        let said = self.run(args);
        serde_json::from_str(&said.stdout).unwrap_or_else(|error| panic!("{error}: {said:?}"))
    }

    /// Runs the morning of `now` and gives its manifest.
    pub(crate) fn morning(&self, now: &str) -> Value {
        let said = self.run_at(now, &["morning"]);
        assert!(matches!(said.code, Some(0 | 3)), "{said:?}");
        serde_json::from_str(&self.read(&format!("outbox/{}/manifest.json", &now[..10]))).unwrap()
    }

    /// Names in a folder of the home, sorted; none where there is no such folder.
    pub(crate) fn names(&self, folder: &str) -> Vec<String> {
        let Ok(entries) = fs::read_dir(self.path(folder)) else { return Vec::new() };
        let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().display().to_string()).collect();
        names.sort();
        names
    }
}
