//! What is wrong with a home, said so that it can be mended in an editor.
//!
//! Faults are collected over all files and told together: mending one at a time, with a run between each, is
//! what makes people give up on configuration. Turned down: one error type with a variant for each mistake,
//! which says the same in five times the words.

use std::fmt;

use crate::model::text::one_line;

/// Longer values are cut in messages; the line number leads to the rest.
const SHOWN: usize = 60;

/// One thing to mend.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fault {
    /// File, relative to the home; the home itself where that is at fault.
    pub file: String,
    /// Line in it, the first is 1.
    pub line: Option<u64>,
    /// Which key or column, such as ``column `mass_g` ``; empty where the whole file is meant.
    pub what: String,
    /// What stands there.
    pub value: Option<String>,
    /// What is wrong with it, and what to write instead.
    pub mend: String,
}

impl Fault {
    /// Of a whole file.
    pub(super) fn file(file: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { file: file.into(), line: None, what: String::new(), value: None, mend: mend.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if !self.what.is_empty() {
            write!(f, ", {}", self.what)?;
        }
        f.write_str(": ")?;
        if let Some(value) = &self.value {
            write!(f, "`{}` ", shown(value))?;
        }
        f.write_str(&self.mend)
    }
}

fn shown(value: &str) -> String {
    let line = one_line(value);
    match line.char_indices().nth(SHOWN) {
        Some((cut, _)) => format!("{}…", line.get(..cut).unwrap_or_default()),
        None => line,
    }
}

/// All that is wrong with a home, each on its own line; never empty.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HomeFaults(pub Vec<Fault>);

impl fmt::Display for HomeFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, fault) in self.0.iter().enumerate() {
            if place > 0 {
                f.write_str("\n")?;
            }
            fault.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for HomeFaults {}

/// The one of `known` that `word` was most likely meant to be: at most two slips away, or near by Jaro-Winkler
/// similarity. Offered, never taken.
pub(super) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let folded = word.to_lowercase();
    known
        .into_iter()
        .map(|candidate| {
            let other = candidate.to_lowercase();
            (strsim::damerau_levenshtein(&folded, &other), strsim::jaro_winkler(&folded, &other), candidate)
        })
        .filter(|(slips, likeness, candidate)| (*slips <= 2 && candidate.chars().count() > 3) || *likeness >= 0.85)
        .min_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)))
        .map(|(_, _, candidate)| candidate)
}

/// `; did you mean …?` where a known word is near, else the list of what could stand there.
pub(super) fn suggestion(word: &str, known: &[&str]) -> String {
    match nearest(word, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("known are {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_reads_as_one_sentence() {
        let fault = Fault {
            file: "catalogue.csv".into(),
            line: Some(7),
            what: "column `mass_g`".into(),
            value: Some("9,5".into()),
            mend: "is not a number; write it with a point, such as 9.5".into(),
        };
        let text = "catalogue.csv, line 7, column `mass_g`: `9,5` is not a number; write it with a point, such as 9.5";
        assert_eq!(fault.to_string(), text);
        assert_eq!(HomeFaults(vec![fault.clone(), fault]).to_string(), format!("{text}\n{text}"));
    }

    #[test]
    fn a_long_value_is_cut_between_letters_and_kept_on_one_line() {
        let fault = Fault { value: Some("é\n".repeat(100)), ..Fault::file("a.csv", "is long") };
        let text = fault.to_string();
        assert!(text.chars().count() < 90 && !text.contains('\n'), "{text}");
    }

    #[test]
    fn a_near_word_is_offered_and_a_far_one_is_not() {
        assert_eq!(nearest("timezone", ["time_zone", "morning"]), Some("time_zone"));
        assert_eq!(nearest("mas_g", ["mass_sd_g", "mass_g"]), Some("mass_g"));
        assert_eq!(nearest("colour", ["time_zone", "morning"]), None);
        assert_eq!(nearest("to", ["up", "tax"]), None);
    }
}
