//! Where in a file something stands, and how that is said: once, for papers, lists and the reasons beside refused files.

use std::fmt;

use super::day::{Refused, Remark};

/// A place in a file: file, line and column as far as they are known, written `` stall.csv, line 17, column `Qty` ``.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place<'a> {
    file: Option<&'a str>,
    line: Option<u64>,
    column: Option<&'a str>,
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = self.line.map(|line| format!("line {line}"));
        let column = self.column.map(|column| format!("column `{column}`"));
        let parts: Vec<String> = [self.file.map(str::to_owned), line, column].into_iter().flatten().collect();
        f.write_str(&parts.join(", "))
    }
}

impl Refused {
    /// Where it stood.
    #[must_use]
    pub fn place(&self) -> Place<'_> {
        Place { file: Some(&self.file), ..self.place_within() }
    }

    /// Where in its file it stood; empty where it is the whole file.
    #[must_use]
    pub fn place_within(&self) -> Place<'_> {
        Place { file: None, line: self.line, column: self.column.as_deref() }
    }

    /// What stood there and what is wrong, behind a place: `` PLACE: `two`: is no number ``.
    #[must_use]
    pub fn told_at(&self, place: Place<'_>) -> String {
        let value = self.value.as_ref().map(|value| format!("`{value}`"));
        let parts = [Some(place.to_string()).filter(|place| !place.is_empty()), value, Some(self.reason.clone())];
        parts.into_iter().flatten().collect::<Vec<_>>().join(": ")
    }
}

/// File, line, column, value and reason, in one line.
impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told_at(self.place()))
    }
}

impl Remark {
    /// What it is about.
    #[must_use]
    pub fn place(&self) -> Place<'_> {
        Place { file: Some(&self.file), line: self.line, column: self.column.as_deref() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_much_is_said_as_is_known() {
        let mut refused = Refused {
            file: "a.csv".into(),
            line: Some(4),
            column: Some("Qty".into()),
            value: Some("two".into()),
            reason: "is no number".into(),
        };
        assert_eq!(refused.to_string(), "a.csv, line 4, column `Qty`: `two`: is no number");
        assert_eq!(refused.told_at(refused.place_within()), "line 4, column `Qty`: `two`: is no number");
        (refused.line, refused.column, refused.value) = (None, None, None);
        assert_eq!(refused.to_string(), "a.csv: is no number");
        assert_eq!(refused.told_at(refused.place_within()), "is no number");
    }
}
