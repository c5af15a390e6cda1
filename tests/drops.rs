//! The corpus of drops: files as people really have them, each read by the real program and compared with what a
//! careful person would read in it. `tests/drops/README.md` has the form of a case.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::desk::{NOW, program};

/// One file and what is expected of it.
struct Case {
    name: String,
    path: PathBuf,
    hard: String,
    expect: Value,
    /// What to write for what in the rows that are given back, after which all of them are taken.
    mend: Vec<(String, String)>,
    /// Whether the rows that are given back are taken as they are.
    taken_unmended: bool,
    /// What the mended rows are read as.
    mended: Value,
}

/// The column maps of a home, and what it says of itself.
type Home = (Vec<String>, BTreeMap<String, String>);

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/drops")
}

fn texts(value: &Value) -> Vec<String> {
    value.as_array().into_iter().flatten().map(|text| text.as_str().unwrap().to_owned()).collect()
}

/// Where a file of the corpus is read from: from `DROPS_SAVED_ANEW`, where `tests/peers/run` has had it saved by the
/// `LibreOffice` that is installed now, else from the corpus.
fn path(name: &str) -> PathBuf {
    let anew = std::env::var_os("DROPS_SAVED_ANEW").map(|saved| PathBuf::from(saved).join(name));
    anew.filter(|path| path.is_file()).unwrap_or_else(|| folder().join(name))
}

/// All cases, those of one home together.
fn cases() -> BTreeMap<Home, Vec<Case>> {
    let mut homes: BTreeMap<Home, Vec<Case>> = BTreeMap::new();
    let mut names: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_type().unwrap().is_file())
        .map(|entry| entry.file_name().to_str().unwrap().to_owned())
        .filter(|name| {
            Path::new(name).extension().is_none_or(|ending| ending != "json" && ending != "py" && ending != "md")
        })
        .collect();
    names.sort();
    for name in names {
        let path = path(&name);
        let told = fs::read_to_string(folder().join(format!("{name}.json")))
            .unwrap_or_else(|error| panic!("{name}.json, which says how {name} should be read: {error}"));
        let told: Value = serde_json::from_str(&told).unwrap_or_else(|error| panic!("{name}.json: {error}"));
        let known = ["hard", "maps", "home", "expect", "mend", "unmended", "mended"];
        for key in told.as_object().unwrap().keys() {
            assert!(known.contains(&key.as_str()), "{name}.json: `{key}` is unknown");
        }
        let mut home: BTreeMap<String, String> =
            [("country", "US"), ("currency", "USD"), ("time_zone", "America/New_York")]
                .map(|(key, value)| (key.to_owned(), value.to_owned()))
                .into();
        for (key, value) in told["home"].as_object().into_iter().flatten() {
            let before = home.insert(key.clone(), value.as_str().unwrap().to_owned());
            assert!(before.is_some(), "{name}.json: `home.{key}` is unknown");
        }
        let pairs = told["mend"].as_array().into_iter().flatten().map(texts);
        let case = Case {
            hard: told["hard"].as_str().unwrap_or_else(|| panic!("{name}.json: what is hard about it?")).to_owned(),
            expect: told["expect"].clone(),
            mend: pairs.map(|pair| <[String; 2]>::try_from(pair).unwrap().into()).collect(),
            taken_unmended: told["unmended"] == "taken",
            mended: told["mended"].clone(),
            name,
            path,
        };
        homes.entry((texts(&told["maps"]), home)).or_default().push(case);
    }
    homes
}

/// A home that says no more than it must.
struct Desk(TempDir);

impl Desk {
    fn new((maps, home): &Home) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| fs::write(dir.path().join(name), text).unwrap();
        for name in ["columns", "inbox", "rates"] {
            fs::create_dir(dir.path().join(name)).unwrap();
        }
        write(
            "dawnpack.toml",
            &format!(
                "[seller]\nname = \"Saltmarsh Badge Works\"\naddress = [\"3 Ropewalk Lane\"]\ncountry = \"{}\"\n\
                 email = \"owner@example.org\"\n[day]\ntime_zone = \"{}\"\n[money]\ncurrency = \"{}\"\n",
                home["country"], home["time_zone"], home["currency"]
            ),
        );
        write(
            "catalogue.csv",
            "code,title,aliases,kind,width_mm,height_mm,thickness_mm,mass_g,mass_sd_g,roll_share,card_width_mm,\
             card_height_mm,contains,price,cost,on_hand,place,customs_description,hs_code,origin\n",
        );
        write("mailers.csv", "code,title,inner_width_mm,inner_length_mm,max_thickness_mm,tare_g,cost,on_hand,reused\n");
        for map in maps {
            let file = format!("columns/{map}.toml");
            fs::copy(folder().join(&file), dir.path().join(&file)).unwrap();
        }
        Self(dir)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn json(&self, command: &str, files: &[PathBuf]) -> Value {
        let mut run = program();
        run.arg("-C").arg(self.0.path()).args(["--now", NOW, command, "--json"]).args(files);
        let output = run.output().unwrap();
        assert!(matches!(output.status.code(), Some(0 | 3)), "{command}: {output:?}");
        serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{command}: {error}: {output:?}"))
    }

    fn drop(&self, name: &str, bytes: &[u8]) {
        fs::write(self.path("inbox").join(name), bytes).unwrap();
    }

    /// What `take-in` says of a file, by its name.
    fn take_in(&self) -> BTreeMap<String, Value> {
        let taken = self.json("take-in", &[]);
        let files = taken["files"].as_array().unwrap().iter();
        files.map(|file| (file["file"].as_str().unwrap().to_owned(), file.clone())).collect()
    }

    /// The rows of a file that were given back, where there are any.
    fn given_back(&self, name: &str) -> Option<PathBuf> {
        let day = NOW.split('T').next().unwrap();
        let at = |ending| self.path(&format!("refused/{day}/{name}.refused.{ending}"));
        ["csv", "txt"].map(at).into_iter().find(|path| path.exists())
    }
}

/// What differs, each with where it stands. Of an object only the expected keys count, of a list everything.
fn differences(expected: &Value, got: &Value, at: &str, found: &mut Vec<String>) {
    match (expected, got) {
        (Value::Object(wanted), Value::Object(_)) => {
            for (key, value) in wanted {
                differences(value, &got[key], &format!("{at}.{key}"), found);
            }
        }
        (Value::Array(wanted), Value::Array(all)) if wanted.len() == all.len() => {
            for (index, (value, other)) in wanted.iter().zip(all).enumerate() {
                differences(value, other, &format!("{at}[{index}]"), found);
            }
        }
        (Value::Object(_) | Value::Array(_), _) => found.push(format!("{at}: expected {expected}, got {got}")),
        (Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_), _) => {
            if expected != got {
                found.push(format!("{at}: expected {expected}, got {got}"));
            }
        }
    }
}

/// Everything that is wrong, told at once, each file with what is hard about it.
struct Report(Vec<String>);

impl Report {
    fn add(&mut self, case: &Case, found: &[String]) {
        if !found.is_empty() {
            self.0.push(format!("{} ({})\n    {}", case.name, case.hard, found.join("\n    ")));
        }
    }

    fn end(self) {
        assert!(self.0.is_empty(), "{} files:\n{}", self.0.len(), self.0.join("\n"));
    }
}

fn count(rows: &Value, key: &str) -> u64 {
    rows[key].as_u64().unwrap()
}

#[test]
fn every_drop_is_read_as_a_careful_person_would() {
    let mut report = Report(Vec::new());
    let mut seen = 0;
    for (home, cases) in cases() {
        let paths: Vec<PathBuf> = cases.iter().map(|case| case.path.clone()).collect();
        let read = Desk::new(&home).json("read", &paths);
        let files = read["files"].as_array().unwrap();
        assert_eq!(files.len(), cases.len());
        for (case, file) in cases.iter().zip(files) {
            let mut found = Vec::new();
            assert_eq!(file["file"], case.name.as_str());
            differences(&case.expect, file, "", &mut found);
            let rows = &file["rows"];
            if count(rows, "read") != count(rows, "taken") + count(rows, "refused") + count(rows, "skipped") {
                found.push(format!("rows don't add up: {rows}"));
            }
            report.add(case, &found);
            seen += 1;
        }
    }
    report.end();
    assert!(seen >= 120, "only {seen} drops");
}

#[test]
fn the_readme_lists_every_drop() {
    let readme = fs::read_to_string(folder().join("README.md")).unwrap();
    let all = cases().into_values().flatten();
    let missing: Vec<String> = all
        .map(|case| format!("| `{}` | {} |", case.name, case.hard.replace('|', "\\|")))
        .filter(|row| !readme.contains(row.as_str()))
        .collect();
    assert!(missing.is_empty(), "run `python3 tests/drops/list.py`; these rows are missing:\n{}", missing.join("\n"));
    for name in readme.lines().filter_map(|line| line.strip_prefix("| `")?.split_once("` |")).map(|(name, _)| name) {
        assert!(!name.contains('.') || folder().join(name).exists(), "README.md lists `{name}`, which isn't there");
    }
}

/// What makes two refusals the same: the cell that is to blame. A row that is refused as a whole, for cells too many
/// or too few, is given back as wide as its table, and may then be refused for the cell that it lacked. A value that
/// only the rest of its column showed to be wrong is given back between question marks, and refused for them.
fn same_refusals(first: &Value, again: &Value) -> bool {
    let cells = |file: &Value| -> Vec<(Value, Value)> {
        let rows = file["refused"].as_array().unwrap().iter();
        rows.map(|why| (why["column"].clone(), why["value"].clone())).collect()
    };
    let (first, again) = (cells(first), cells(again));
    let marked = |one: &Value, other: &Value| {
        one.as_str().is_some_and(|value| other.as_str() == Some(format!("?{value}?").as_str()))
    };
    let alike = |one: &(Value, Value), other: &(Value, Value)| {
        one.0.is_null() || (one.0 == other.0 && (one.1 == other.1 || marked(&one.1, &other.1)))
    };
    first.len() == again.len() && first.iter().zip(&again).all(|(one, other)| alike(one, other))
}

/// Cases that can be taken in together. Trades and sheets are each taken in alone, since several of their files tell
/// of one trade or parcel; of those, only the ones for which `worth` holds of what was read.
fn batches(worth: impl Fn(&Value) -> bool) -> Vec<(Home, Vec<Case>)> {
    let mut all = Vec::new();
    for (home, cases) in cases() {
        let is_alone = |case: &Case| case.name.starts_with("trade-") || case.name.starts_with("sheet-");
        let (alone, together): (Vec<Case>, Vec<Case>) = cases.into_iter().partition(is_alone);
        if !alone.is_empty() {
            let read = Desk::new(&home).json("read", &alone.iter().map(|case| case.path.clone()).collect::<Vec<_>>());
            let worthy = alone.into_iter().zip(read["files"].as_array().unwrap()).filter(|(_, file)| worth(file));
            all.extend(worthy.map(|(case, _)| (home.clone(), vec![case])));
        }
        if !together.is_empty() {
            all.push((home, together));
        }
    }
    all
}

#[test]
fn every_refused_row_is_given_back_to_be_mended() {
    let mut report = Report(Vec::new());
    let mut mended = 0;
    for (home, cases) in batches(|file| count(&file["rows"], "refused") > 0) {
        let desk = Desk::new(&home);
        for case in &cases {
            desk.drop(&case.name, &fs::read(&case.path).unwrap());
        }
        let taken = desk.take_in();
        let paths: Vec<PathBuf> = cases.iter().map(|case| case.path.clone()).collect();
        let before = desk.json("read", &paths);
        for (case, first) in cases.iter().zip(before["files"].as_array().unwrap()) {
            let mut found = Vec::new();
            let by_ledger = taken.get(&case.name).map_or(0, |taken| refused_by_ledger(first, taken));
            let refused = count(&first["rows"], "refused") + by_ledger;
            match desk.given_back(&case.name) {
                None if refused == 0 => {}
                None => found.push(format!("{refused} rows were refused, and none was given back")),
                Some(path) => {
                    let again = desk.json("read", std::slice::from_ref(&path));
                    let again = &again["files"][0];
                    // Without a map, the few rows that are given back may tell too little before they are mended.
                    let waits = first["columns"] == "matched" && again["kind"] == "waiting";
                    if !waits {
                        found.extend(given_back_otherwise(case, first, again, by_ledger));
                    }
                    if !case.mend.is_empty() && found.is_empty() {
                        found.extend(mend(&desk, case, first, &path));
                        mended += 1;
                    }
                }
            }
            if refused > by_ledger && taken_otherwise(first, &taken[&case.name], by_ledger) {
                found.push(format!("taken in otherwise than read: {}", taken[&case.name]));
            }
            report.add(case, &found);
        }
    }
    report.end();
    assert!(mended >= 10, "only {mended} were mended");
}

/// Rows of a sheet that can be read and fit nothing in this ledger, which holds no parcel.
fn refused_by_ledger(first: &Value, taken: &Value) -> u64 {
    let is_sheet = ["handoff", "questions", "incoming"].iter().any(|kind| first["kind"] == *kind);
    if is_sheet { count(&taken["rows"], "refused") - count(&first["rows"], "refused") } else { 0 }
}

fn taken_otherwise(first: &Value, taken: &Value, by_ledger: u64) -> bool {
    let [first, taken] =
        [first, taken].map(|file| ["read", "taken", "refused", "skipped"].map(|key| count(&file["rows"], key)));
    taken != [first[0], first[1] - by_ledger, first[2] + by_ledger, first[3]]
}

/// What is other when the rows of a file that were given back are read as they are.
fn given_back_otherwise(case: &Case, first: &Value, again: &Value, by_ledger: u64) -> Vec<String> {
    let (rows, refused) = (&again["rows"], count(&first["rows"], "refused") + by_ledger);
    let mut found = Vec::new();
    for key in ["kind", "source", "columns"] {
        if first[key] != again[key] {
            found.push(format!("{key} is {}, given back {}", first[key], again[key]));
        }
    }
    if count(rows, "refused") + count(rows, "taken") != refused {
        found.push(format!("of {refused} refused rows, those given back are {rows}"));
    } else if (count(rows, "taken") > by_ledger) != case.taken_unmended {
        found.push(format!("unmended, the rows given back are {rows}"));
    } else if !case.taken_unmended && !same_refusals(first, again) {
        found.push(format!("refused for {}, then for {}", first["refused"], again["refused"]));
    }
    found
}

/// What is wrong once the rows given back were mended and dropped.
fn mend(desk: &Desk, case: &Case, first: &Value, given_back: &Path) -> Vec<String> {
    let mut text = fs::read_to_string(given_back).unwrap();
    for (from, to) in &case.mend {
        if !text.contains(from) {
            return vec![format!("no `{from}` to be mended in:\n{text}")];
        }
        text = text.replacen(from, to, 1);
    }
    let name = format!("mended {}.csv", case.name);
    desk.drop(&name, text.as_bytes());
    let read = desk.json("read", &[desk.path("inbox").join(&name)]);
    let mut found = Vec::new();
    if !case.mended.is_null() {
        differences(&case.mended, &read["files"][0]["orders"], "mended", &mut found);
    }
    let taken = desk.take_in();
    let file = taken.get(&name).unwrap_or(&Value::Null);
    let refused = &first["rows"]["refused"];
    let whole = file["rows"]["taken"] == *refused && file["rows"]["refused"] == 0 && file["source"] == first["source"];
    if !whole {
        found.push(format!("mended, {refused} rows became {file} ({}) of:\n{text}", read["files"][0]["refused"]));
    }
    found
}

/// A file with refused rows is read once more, since a home that was mended may read them now; the rest of it is
/// known. Every other file is known whole.
#[test]
fn a_drop_that_comes_twice_changes_nothing() {
    let mut report = Report(Vec::new());
    for (home, cases) in batches(|file| file["kind"] != "unreadable") {
        let desk = Desk::new(&home);
        let drop_all = |prefix: &str| {
            for case in &cases {
                desk.drop(&format!("{prefix}{}", case.name), &fs::read(&case.path).unwrap());
            }
            desk.take_in()
        };
        let first = drop_all("");
        let list = || ["orders", "trades"].map(|what| desk.json("list", &[what.into()]));
        let listed = (cases.len() > 1).then(list);
        let second = drop_all("copy of ");
        for case in &cases {
            let mut found = Vec::new();
            let once = first.get(&case.name).unwrap_or(&Value::Null);
            let twice = second.get(&format!("copy of {}", case.name)).unwrap_or(&Value::Null);
            let whole = once["outcome"] == "taken" && once["rows"]["refused"] == 0;
            if once.is_null() != twice.is_null() || (whole && twice["outcome"] != "known") {
                found.push(format!("first {once}, then {twice}"));
            }
            if ["new", "changed"].iter().any(|key| twice[*key].as_u64().is_some_and(|count| count > 0)) {
                found.push(format!("its copy brought something: {twice}"));
            }
            report.add(case, &found);
        }
        assert_eq!(listed, (cases.len() > 1).then(list), "{home:?}");
    }
    report.end();
}
