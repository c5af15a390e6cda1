//! Holidays: by law, none, or the seller's own list.

use std::path::Path;

use jiff::civil::Date;

use super::fault::Fault;
use super::keys::Item;
use super::sheet::{self, Others};
use crate::model::calendar::Holidays;

/// What `holidays` says: `us-federal`, `none`, or a CSV file with a column `date`, relative to `root`.
pub(super) fn read(root: &Path, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Holidays> {
    let word = item.text(faults)?;
    let is_csv = Path::new(word).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"));
    match word {
        "us-federal" => Some(Holidays::UsFederal),
        "none" => Some(Holidays::None),
        file if is_csv => listed(root, file, item, faults),
        _ => {
            faults.push(item.fault("is no list of holidays; write us-federal, none, or the name of a .csv file"));
            None
        }
    }
}

fn listed(root: &Path, file: &str, item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Holidays> {
    let text = match super::files::text(root, file) {
        Ok(text) => text,
        Err(unread) if unread.absent => {
            faults.push(item.fault("is not there; put a table with a column `date` there"));
            return None;
        }
        Err(unread) => {
            faults.push(unread.fault);
            return None;
        }
    };
    let before = faults.len();
    let days = sheet::rows(file, &text, &["date"], Others::Ignored, faults)
        .iter()
        .filter_map(|row| {
            row.must("date", faults)?;
            row.read("date", faults, |cell| {
                let day: Option<Date> = (cell.len() == 10).then(|| cell.parse().ok()).flatten();
                day.ok_or_else(|| "is not a day; write year, month and day, such as 2026-11-26".to_owned())
            })
        })
        .collect();
    (faults.len() == before).then_some(Holidays::Listed(days))
}
