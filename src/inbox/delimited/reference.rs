//! Delimited text against what others say it holds: RFC 4180, csv-spectrum, Python's csv module.
//!
//! Handed the data that `tests/standards/data` keeps, with what made it; promises the same cells, and against Python
//! the same lines. Turned down: running Python here, which `cargo test` shall not need.

use std::borrow::Cow;
use std::path::PathBuf;

use super::*;
use crate::inbox::decode::{Decoded, decode};

fn data(name: &str) -> PathBuf {
    [env!("CARGO_MANIFEST_DIR"), "tests", name].iter().collect()
}

fn cells(text: &str) -> Vec<Vec<String>> {
    let text = Text { text: Cow::Borrowed(text), encoding: "UTF-8".into(), lines: None };
    table("a.csv", &text, ',').unwrap().rows.into_iter().map(|row| row.cells).collect()
}

/// RFC 4180, section 2, rules 1 to 7, with the examples that stand there.
#[test]
fn the_seven_rules_of_rfc_4180_hold() {
    let both = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]];
    // Rule 1: each record on a line of its own. Rule 2: the last may lack its end.
    assert_eq!(cells("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"), both);
    assert_eq!(cells("aaa,bbb,ccc\r\nzzz,yyy,xxx"), both);
    // Rule 3: a header is a record as the others are.
    let header = cells("field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n");
    assert_eq!(header, [[["field_name"; 3]].as_slice(), &both].concat());
    // Rule 4: commas part fields, blanks are part of them, and none follows the last field.
    assert_eq!(cells("aaa,bbb,ccc"), [both[0]]);
    assert_eq!(cells(" aaa , bbb,ccc "), [[" aaa ", " bbb", "ccc "]]);
    // Rule 5: fields may stand in quotes. Rule 6: with line breaks, quotes and commas in them they do.
    assert_eq!(cells("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"), both);
    assert_eq!(cells("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"), [["aaa", "b\r\nbb", "ccc"], both[1]]);
    assert_eq!(cells("\"a,aa\",bbb,ccc"), [["a,aa", "bbb", "ccc"]]);
    // Rule 7: a quote in quotes is doubled.
    assert_eq!(cells("\"aaa\",\"b\"\"bb\",\"ccc\""), [["aaa", "b\"bb", "ccc"]]);
}

fn text_of(name: &str, bytes: &[u8]) -> Text<'static> {
    match decode(name, bytes, "US".parse().unwrap()) {
        Ok(Decoded::Text(text)) => {
            Text { text: Cow::Owned(text.text.into_owned()), encoding: text.encoding, lines: text.lines }
        }
        Ok(Decoded::Email(_) | Decoded::Sheets(_)) => panic!("{name} is no text"),
        Err(error) => panic!("{name}: {error:?}"),
    }
}

/// csv-spectrum 2.0.0 (npm, BSD-2-Clause): each of its twelve cases.
#[test]
fn the_cases_of_csv_spectrum_are_read_as_they_expect() {
    let folder = data("standards/data/csv-spectrum");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "csv") {
            continue;
        }
        count += 1;
        let name = path.display().to_string();
        let expected = std::fs::read(path.with_extension("json")).unwrap();
        // A table of one row is written without brackets once.
        let expected: Vec<serde_json::Map<String, serde_json::Value>> = match serde_json::from_slice(&expected) {
            Ok(serde_json::Value::Object(row)) => vec![row],
            rows => serde_json::from_value(rows.unwrap()).unwrap(),
        };
        let text = text_of(&name, &std::fs::read(&path).unwrap());
        let rows = table(&name, &text, delimiters(&text)[0]).unwrap().rows;
        let (header, rows) = rows.split_first().unwrap();
        assert_eq!(rows.len(), expected.len(), "{name}");
        for (row, expected) in rows.iter().zip(expected) {
            assert_eq!((row.cells.len(), expected.len()), (header.cells.len(), header.cells.len()), "{name}");
            for (column, cell) in header.cells.iter().zip(&row.cells) {
                assert_eq!(expected[column], cell.as_str(), "{name}");
            }
        }
    }
    assert_eq!(count, 12);
}

#[derive(serde::Deserialize)]
struct Reference {
    files: std::collections::BTreeMap<String, ReadByPython>,
}

#[derive(serde::Deserialize)]
struct ReadByPython {
    encoding: String,
    delimiter: char,
    #[serde(default)]
    cut_off: bool,
    #[serde(default)]
    rows: Vec<(u64, Vec<String>)>,
}

/// What Python's csv module read in the tables of `tests/drops`, as `tests/peers/csv_cells.py` kept it.
#[test]
fn the_drops_have_the_cells_that_pythons_csv_module_reads() {
    let reference = std::fs::read(data("standards/data/python-csv.json")).unwrap();
    let reference: Reference = serde_json::from_slice(&reference).unwrap();
    let mut differ = Vec::new();
    for (name, python) in &reference.files {
        let bytes = std::fs::read(data("drops").join(name)).unwrap();
        let text = text_of(name, &bytes);
        if !text.encoding.starts_with(&python.encoding) {
            differ.push(format!("{name}: {} and not {}", text.encoding, python.encoding));
        }
        match table(name, &text, python.delimiter) {
            Ok(_) if python.cut_off => differ.push(format!("{name}: is cut off")),
            Ok(table) => {
                let rows: Vec<(u64, Vec<String>)> = table.rows.into_iter().map(|row| (row.line, row.cells)).collect();
                let at = rows.iter().zip(&python.rows).find(|(ours, theirs)| ours != theirs);
                if at.is_some() || rows.len() != python.rows.len() {
                    differ.push(format!("{name}: {} rows, {} of Python's; {at:?}", rows.len(), python.rows.len()));
                }
            }
            Err(ReadError::Waiting(_)) if python.cut_off => {}
            Err(error) => differ.push(format!("{name}: {error:?}")),
        }
    }
    assert!(differ.is_empty(), "{}", differ.join("\n"));
    assert!(reference.files.len() >= 120, "only {} tables", reference.files.len());
}
