//! A TOML file as keys with their lines, so that everything wrong in it can be told at once.
//!
//! Handed the text of a file; promises exact decimals (a number is read from its source text, never through a
//! float), the line of every key, and a suggestion for every unknown one. Turned down: serde's
//! `deny_unknown_fields`, which stops at the first mistake and hands out floats.

use std::fmt::Display;
use std::str::FromStr;

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::de::IntoDeserializer;
use serde::de::value::StrDeserializer;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::{Fault, suggestion};
use super::number;
use crate::model::bound::Bound;
use crate::model::length::Length;
use crate::model::money::{Currency, Money};

/// A file's name and text, for lines in messages.
#[derive(Clone, Copy)]
pub(super) struct Source<'t> {
    pub(super) file: &'t str,
    pub(super) text: &'t str,
}

impl Source<'_> {
    fn line(self, offset: usize) -> u64 {
        let before = self.text.as_bytes().get(..offset).unwrap_or(self.text.as_bytes());
        before.iter().fold(1, |line, byte| line + u64::from(*byte == b'\n'))
    }
}

/// Parses a file, or tells all places where it isn't TOML.
pub(super) fn parse<'t>(source: Source<'t>, faults: &mut Vec<Fault>) -> Option<DeTable<'t>> {
    let (table, errors) = DeTable::parse_recoverable(source.text);
    let mut last = None;
    for error in &errors {
        let line = error.span().map(|span| source.line(span.start));
        // One slip makes the parser stumble several times on the same line.
        if line.is_none() || line != last {
            let mend = format!("is not TOML here: {}", error.message());
            faults.push(Fault { line, ..Fault::file(source.file, mend) });
        }
        last = line;
    }
    errors.is_empty().then(|| table.into_inner())
}

/// A table of a TOML file.
#[derive(Clone)]
pub(super) struct Table<'t> {
    source: Source<'t>,
    table: &'t DeTable<'t>,
    path: String,
    line: Option<u64>,
}

impl<'t> Table<'t> {
    pub(super) const fn root(source: Source<'t>, table: &'t DeTable<'t>) -> Self {
        Self { source, table, path: String::new(), line: None }
    }

    /// Tells of every key that isn't known.
    pub(super) fn only(&self, known: &[&str], faults: &mut Vec<Fault>) {
        for key in self.table.keys() {
            let word = key.get_ref().as_ref();
            if !known.contains(&word) {
                faults.push(Fault {
                    file: self.source.file.to_owned(),
                    line: Some(self.source.line(key.span().start)),
                    what: format!("key `{}`", self.path_of(word)),
                    value: None,
                    mend: format!("is unknown; {}", suggestion(word, known)),
                });
            }
        }
    }

    pub(super) fn get(&self, key: &str) -> Option<Item<'t>> {
        let value = self.table.get(key)?;
        Some(Item { source: self.source, value, path: self.path_of(key) })
    }

    /// The value, or a fault that says to `write` it.
    pub(super) fn must(&self, key: &str, write: &str, faults: &mut Vec<Fault>) -> Option<Item<'t>> {
        let item = self.get(key);
        if item.is_none() {
            faults.push(self.fault(key, format!("is missing; {write}")));
        }
        item
    }

    pub(super) fn fault(&self, key: &str, mend: impl Into<String>) -> Fault {
        Fault {
            file: self.source.file.to_owned(),
            line: self.line,
            what: format!("key `{}`", self.path_of(key)),
            value: None,
            mend: mend.into(),
        }
    }

    /// Keys and values in order of key.
    pub(super) fn items(&self) -> Vec<(&'t str, Item<'t>)> {
        let item = |key: &'t str, value| (key, Item { source: self.source, value, path: self.path_of(key) });
        self.table.iter().map(|(key, value)| item(key.get_ref().as_ref(), value)).collect()
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }
}

/// A value of a TOML file.
#[derive(Clone)]
pub(super) struct Item<'t> {
    source: Source<'t>,
    value: &'t Spanned<DeValue<'t>>,
    path: String,
}

impl<'t> Item<'t> {
    /// A fault of this value, which the message quotes.
    pub(super) fn fault(&self, mend: impl Into<String>) -> Fault {
        Fault {
            file: self.source.file.to_owned(),
            line: Some(self.source.line(self.value.span().start)),
            what: format!("key `{}`", self.path),
            value: Some(self.as_written().to_owned()),
            mend: mend.into(),
        }
    }

    /// Strings without their quotes, all else as it stands in the file.
    fn as_written(&self) -> &'t str {
        match self.value.get_ref() {
            DeValue::String(text) => text.as_ref(),
            DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => self.source.text.get(self.value.span()).unwrap_or_default(),
        }
    }

    pub(super) fn table(&self, faults: &mut Vec<Fault>) -> Option<Table<'t>> {
        let DeValue::Table(table) = self.value.get_ref() else {
            faults.push(self.fault("is not a table; write its keys below it in brackets"));
            return None;
        };
        let line = Some(self.source.line(self.value.span().start));
        Some(Table { source: self.source, table, path: self.path.clone(), line })
    }

    pub(super) fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    pub(super) fn list(&self, faults: &mut Vec<Fault>) -> Option<Vec<Self>> {
        let DeValue::Array(array) = self.value.get_ref() else {
            faults.push(self.fault("is not a list; write it in square brackets"));
            return None;
        };
        let item = |(place, value)| Self { source: self.source, value, path: format!("{}[{place}]", self.path) };
        Some((1..).zip(array.iter()).map(item).collect())
    }

    /// Text, where it is that.
    pub(super) fn as_text(&self) -> Option<&'t str> {
        self.value.get_ref().as_str()
    }

    /// Text that isn't empty.
    pub(super) fn text(&self, faults: &mut Vec<Fault>) -> Option<&'t str> {
        match self.value.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => {
                faults.push(Fault { value: None, ..self.fault("is empty; fill it in") });
                None
            }
            DeValue::String(text) => Some(text.as_ref()),
            DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => {
                faults.push(self.fault("is not text; write it in quotes"));
                None
            }
        }
    }

    /// A list of texts, none of them empty.
    pub(super) fn texts(&self, faults: &mut Vec<Fault>) -> Option<Vec<String>> {
        let items = self.list(faults)?;
        let read: Vec<Option<&str>> = items.iter().map(|item| item.text(faults)).collect();
        read.into_iter().map(|text| text.map(str::to_owned)).collect()
    }

    /// Text that is one of a type's words, whose error message says what to write.
    pub(super) fn parsed<T>(&self, faults: &mut Vec<Fault>) -> Option<T>
    where
        T: FromStr,
        T::Err: Display,
    {
        let text = self.text(faults)?;
        text.parse().map_err(|error: T::Err| faults.push(self.fault(without_value(&error.to_string(), text)))).ok()
    }

    /// One of `words`, by the names that serde gives the variants of `T`.
    pub(super) fn word<'d, T>(&self, words: &[&str], faults: &mut Vec<Fault>) -> Option<T>
    where
        't: 'd,
        T: serde::Deserialize<'d>,
    {
        let text = self.text(faults)?;
        let reader: StrDeserializer<'d, serde::de::value::Error> = text.into_deserializer();
        T::deserialize(reader).map_err(|_| faults.push(self.fault(one_of(words)))).ok()
    }

    /// An exact decimal within `bound`, given as a number or as text.
    pub(super) fn decimal(&self, bound: Bound, faults: &mut Vec<Fault>) -> Option<Decimal> {
        let read = match self.value.get_ref() {
            DeValue::Integer(integer) if integer.radix() == 10 => number::decimal(integer.as_str(), bound),
            DeValue::Float(float) if float.as_str().contains(['e', 'E']) => {
                let number = Decimal::from_scientific(float.as_str()).map_err(|_| "is out of range".to_owned());
                number.and_then(|number| bound.check(number).map_err(|out| out.to_string()))
            }
            DeValue::Float(float) => number::decimal(float.as_str(), bound),
            DeValue::String(text) => number::decimal(text.trim(), bound),
            DeValue::Integer(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => Err("is not a number; write it in digits, such as 5.25".to_owned()),
        };
        read.map_err(|mend| faults.push(self.fault(mend))).ok()
    }

    /// A decimal that is at least zero.
    pub(super) fn not_negative(&self, bound: Bound, faults: &mut Vec<Fault>) -> Option<Decimal> {
        let number = self.decimal(bound, faults)?;
        number::not_negative(number).map_err(|mend| faults.push(self.fault(mend))).ok()
    }

    /// A decimal above zero.
    pub(super) fn positive(&self, bound: Bound, faults: &mut Vec<Fault>) -> Option<Decimal> {
        let number = self.decimal(bound, faults)?;
        number::positive(number).map_err(|mend| faults.push(self.fault(mend))).ok()
    }

    /// A length in millimetres above zero.
    pub(super) fn mm(&self, faults: &mut Vec<Fault>) -> Option<Length> {
        self.positive(Length::BOUND, faults).map(Length::from_mm)
    }

    /// An amount of at least nothing.
    pub(super) fn money(&self, currency: Currency, faults: &mut Vec<Fault>) -> Option<Money> {
        self.not_negative(Money::BOUND, faults).map(|amount| Money::new(amount, currency))
    }

    pub(super) fn whole(&self, faults: &mut Vec<Fault>) -> Option<u32> {
        let read = match self.value.get_ref() {
            DeValue::Integer(integer) if integer.radix() == 10 => number::whole(integer.as_str()),
            DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::String(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => Err("is not a whole number; write it in digits, such as 2".to_owned()),
        };
        read.map_err(|mend| faults.push(self.fault(mend))).ok()
    }

    pub(super) fn flag(&self, faults: &mut Vec<Fault>) -> Option<bool> {
        let flag = self.value.get_ref().as_bool();
        if flag.is_none() {
            faults.push(self.fault("is neither true nor false; write one of them without quotes"));
        }
        flag
    }

    /// A day, as a TOML date or as text.
    pub(super) fn date(&self, faults: &mut Vec<Fault>) -> Option<Date> {
        let text = self.as_written();
        // A time of day would be dropped in silence by the parser of dates.
        let day = (text.len() == 10).then(|| text.parse().ok()).flatten();
        if day.is_none() {
            faults.push(self.fault("is not a day; write year, month and day, such as 2026-07-12"));
        }
        day
    }

    /// A time of day, as a TOML time or as text.
    pub(super) fn time(&self, faults: &mut Vec<Fault>) -> Option<jiff::civil::Time> {
        let text = self.as_written();
        let of_day = matches!(text.len(), 5 | 8) && text.as_bytes().get(2) == Some(&b':');
        let time = of_day.then(|| text.parse().ok()).flatten();
        if time.is_none() {
            faults.push(self.fault("is not a time of day; write hours and minutes, such as 06:30"));
        }
        time
    }
}

/// A message of a model type without the value it begins with, since a fault tells that itself.
pub(super) fn without_value<'m>(message: &'m str, value: &str) -> &'m str {
    message.strip_prefix('`').and_then(|m| m.strip_prefix(value)).and_then(|m| m.strip_prefix("` ")).unwrap_or(message)
}

/// The mend for a word that is none of `words`.
pub(super) fn one_of(words: &[&str]) -> String {
    match words {
        [before @ .., last] if !before.is_empty() => {
            format!("is none of the words that can stand here; write {} or {last}", before.join(", "))
        }
        _ => format!("can't stand here; write {}", words.join("")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rust_decimal::dec;

    fn read<T>(text: &str, read: impl FnOnce(&Table<'_>, &mut Vec<Fault>) -> T) -> (T, Vec<String>) {
        let source = Source { file: "a.toml", text };
        let mut faults = Vec::new();
        let table = parse(source, &mut faults).unwrap();
        let value = read(&Table::root(source, &table), &mut faults);
        (value, faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn a_number_is_exact_however_it_is_written() {
        // 0.1 + 0.2 as floats is not 0.3, and 16777217.1 has no float of 32 bits.
        for text in ["x = 16777217.10000001", "x = \"16777217.10000001\""] {
            let (value, faults) = read(text, |table, faults| table.get("x")?.decimal(Money::BOUND, faults));
            assert_eq!((value, faults), (Some(dec!(16777217.10000001)), vec![]), "{text}");
        }
        let (value, _) = read("x = 1_000", |table, faults| table.get("x")?.decimal(Money::BOUND, faults));
        assert_eq!(value, Some(dec!(1000)));
        let (value, faults) = read("\nx = 0x10", |table, faults| table.get("x")?.decimal(Money::BOUND, faults));
        assert_eq!(value, None);
        assert_eq!(faults, ["a.toml, line 2, key `x`: `0x10` is not a number; write it in digits, such as 5.25"]);
        let (_, faults) = read("x = nan", |table, faults| table.get("x")?.decimal(Money::BOUND, faults));
        assert_eq!(faults.len(), 1);
    }

    #[test]
    fn all_slips_of_syntax_are_told_with_their_lines() {
        let source = Source { file: "a.toml", text: "a = 1\nb = = 2\nc = 3\nd = \"open\ne = 5\n" };
        let mut faults = Vec::new();
        assert!(parse(source, &mut faults).is_none());
        let lines: Vec<Option<u64>> = faults.iter().map(|fault| fault.line).collect();
        assert_eq!(lines, [Some(2), Some(4)], "{faults:?}");
    }

    #[test]
    fn an_unknown_key_gets_the_nearest_known_one() {
        let ((), faults) = read("[day]\ntimezone = 1\nzzz = 2", |table, faults| {
            table.get("day").unwrap().table(faults).unwrap().only(&["time_zone", "morning"], faults);
        });
        assert_eq!(
            faults,
            [
                "a.toml, line 2, key `day.timezone`: is unknown; did you mean `time_zone`?",
                "a.toml, line 3, key `day.zzz`: is unknown; known are time_zone, morning",
            ]
        );
    }

    #[test]
    fn a_day_with_a_time_is_refused() {
        let (day, faults) = read("d = 2026-07-12T10:00:00", |table, faults| table.get("d")?.date(faults));
        assert_eq!((day, faults.len()), (None, 1));
        let (day, _) = read("d = \"2026-07-12\"", |table, faults| table.get("d")?.date(faults));
        assert_eq!(day, Some(jiff::civil::date(2026, 7, 12)));
    }
}
