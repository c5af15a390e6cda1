//! One confirmation of a letter, line by line.
//!
//! Handed the lines from one `Trade with:` to the next; promises the trade, or the one line that is to blame. What
//! belongs to it is told by keys, indents, bullets and blank lines, and what could belong to it and isn't understood
//! refuses it: only text set apart from it is passed over. Turned down: passing over whatever isn't understood,
//! which would drop a pin in silence.

use crate::model::text::one_line;
use crate::model::trade::Trade;

use super::super::ReadRules;
use super::super::quoted::{self, Line};
use super::super::trade_form::{Form, Key, has_open_quote, is_bulleted, is_item};
use super::SLIP;

/// Line, what stands there, and what is wrong with it.
pub(super) type Fault = (u64, String, String);

/// Reads one confirmation of the lines from its `Trade with:` on. Lines quoted more or less often than `depth`
/// aren't of it.
pub(super) fn trade(block: &[Line<'_>], depth: usize, rules: &ReadRules<'_>) -> Result<Trade, Fault> {
    let mut reader = Reader { form: Form::default(), key: Key::TradeWith, open: None, other: None, rules };
    let spaced = is_spaced(block, depth);
    let mut after_blank = false;
    for (place, line) in block.iter().enumerate() {
        if line.text.trim().is_empty() {
            after_blank = true;
            continue;
        }
        let blank = std::mem::take(&mut after_blank) && !spaced;
        let introduces = quoted::introduces_quote(block, place) || quoted::begins_older_mail(block, place);
        reader.meet(line, depth, blank, introduces)?;
    }
    reader.close()?;
    let first = block.first().map_or((0, ""), |line| (line.number, line.text));
    reader.form.finish(rules).map_err(|reason| (first.0, one_line(first.1), reason))
}

/// Whether a blank line stands between all lines up to the last key: then blank lines part nothing.
fn is_spaced(block: &[Line<'_>], depth: usize) -> bool {
    let is_key = |line: &Line<'_>| line.depth == depth && Key::of(line.text).is_some();
    let end = block.iter().rposition(is_key).map_or(0, |last| last + 1);
    let form = block.get(..end).unwrap_or_default();
    let blank = |line: &Line<'_>| line.text.trim().is_empty();
    form.len() > 2 && form.windows(2).all(|pair| pair.iter().any(blank))
}

struct Reader<'r, 't> {
    form: Form,
    key: Key,
    /// An item whose quotes are still open at the end of its line, and where it began.
    open: Option<(&'r Line<'t>, String)>,
    /// The line with which other text began.
    other: Option<&'r Line<'t>>,
    rules: &'r ReadRules<'r>,
}

impl<'r, 't> Reader<'r, 't> {
    /// Reads a line that isn't blank; `blank` says that one before it was, `introduces` that older mail follows.
    fn meet(&mut self, line: &'r Line<'t>, depth: usize, blank: bool, introduces: bool) -> Result<(), Fault> {
        let trimmed = line.text.trim();
        let fault = |reason: String| Err((line.number, one_line(trimmed), reason));
        let known = Key::of(line.text).filter(|_| line.depth == depth);
        if let Some((key, value)) = known {
            self.close()?;
            self.stray()?;
            self.key = key;
            self.form.meet(key).map_err(|reason| (line.number, one_line(trimmed), reason))?;
            return if value.is_empty() { Ok(()) } else { self.take(line, value) };
        }
        // A note of this program, as in what it gives back to be mended.
        if trimmed.starts_with("# ") {
            return Ok(());
        }
        if line.depth == depth && self.other.is_some() && is_item(trimmed) && self.key.is_items() {
            self.stray()?;
        }
        if line.depth != depth || self.other.is_some() || introduces && self.form.is_complete() {
            self.close()?;
            self.other = self.other.or(Some(line));
            return Ok(());
        }
        if let Some((_, text)) = self.open.as_mut().filter(|_| !blank) {
            text.push(' ');
            text.push_str(trimmed);
            return if has_open_quote(text) { Ok(()) } else { self.close() };
        }
        self.close()?;
        let near = Key::nearest(line.text).filter(|_| !is_item(trimmed));
        if let Some((slip, _)) = near.filter(|(_, likeness)| *likeness >= SLIP) {
            return fault(not_a_key(slip));
        }
        if self.goes_on(line.text, blank, near.is_some()) {
            return self.take(line, trimmed);
        }
        if let Some(key) = Key::without_colon(trimmed) {
            return fault(format!("begins like a key and has no colon behind it; write `{}: …`", key.word()));
        }
        if self.form.is_complete() && (blank || near.is_none()) {
            self.other = Some(line);
            return Ok(());
        }
        match near {
            Some((nearest, _)) => fault(not_a_key(nearest)),
            None => fault("stands under no key; indent it under `Address:`, `I send:` or `I get:`".to_owned()),
        }
    }

    /// Whether a line without a key belongs to the key before it.
    fn goes_on(&self, text: &str, blank: bool, has_colon: bool) -> bool {
        let ends = text.trim() == "--";
        let indented = text.starts_with(char::is_whitespace) || is_bulleted(text);
        let empty = !self.form.has(self.key);
        match self.key {
            // An address goes on to the next blank line, indented or not.
            Key::Address => (indented || !blank || empty) && !has_colon && !ends,
            // What stands right below an item could be one, and if it isn't, it mustn't be lost.
            Key::ISend | Key::IGet => !ends && (indented || is_item(text) || !blank || empty),
            Key::Note => !ends && (indented || !blank || empty),
            // The value may have slipped to the next line.
            Key::TradeWith
            | Key::Email
            | Key::Agreed
            | Key::OfDay
            | Key::SendBy
            | Key::FirstToSend
            | Key::LossFallsOn
            | Key::OwnParcel => empty && !has_colon,
        }
    }

    fn take(&mut self, line: &'r Line<'t>, value: &str) -> Result<(), Fault> {
        if self.key.is_items() && has_open_quote(value) {
            self.open = Some((line, value.to_owned()));
            return Ok(());
        }
        self.form.take(self.key, value, self.rules).map_err(|reason| (line.number, one_line(value), reason))
    }

    /// Takes the item that was open.
    fn close(&mut self) -> Result<(), Fault> {
        let Some((line, text)) = self.open.take() else { return Ok(()) };
        self.form.take(self.key, &text, self.rules).map_err(|reason| (line.number, one_line(&text), reason))
    }

    /// Other text before what belongs to the confirmation may belong to it too.
    fn stray(&self) -> Result<(), Fault> {
        let Some(stray) = self.other else { return Ok(()) };
        let reason = "stands in the middle of the confirmation; indent it, or move it above or below";
        Err((stray.number, one_line(stray.text), reason.to_owned()))
    }
}

fn not_a_key(nearest: Key) -> String {
    format!("is not a key of a trade confirmation; did you mean `{}:`?", nearest.word())
}
