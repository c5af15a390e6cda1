//! Lines of a text by how often they were quoted in replies, and where older mail begins.
//!
//! Handed a text with its lines in the file; promises each line bare of its `>` marks, with their number. Turned
//! down: cutting all quoted text off, since a partner who answers "agreed" above a quoted confirmation has
//! confirmed it.

use super::decode::Text;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Line<'t> {
    /// The file's line, the first being 1.
    pub(super) number: u64,
    /// How many `>` stood before it.
    pub(super) depth: usize,
    pub(super) text: &'t str,
}

pub(super) fn lines<'t>(text: &'t Text<'_>) -> Vec<Line<'t>> {
    // Line ends are CR LF, LF or, in old files, CR alone.
    let whole: &str = &text.text;
    whole
        .split(if whole.contains('\n') { '\n' } else { '\r' })
        .enumerate()
        .map(|(index, line)| {
            let (depth, line) = unquoted(line.trim_end_matches('\r'));
            Line { number: text.line(index), depth, text: line }
        })
        .collect()
}

/// RFC 3676, section 4.5: a line is quoted as often as there are `>` at its beginning; one space may follow each.
fn unquoted(line: &str) -> (usize, &str) {
    let (mut depth, mut rest) = (0, line);
    while let Some(inner) = rest.trim_start().strip_prefix('>') {
        depth += 1;
        rest = inner.strip_prefix(' ').filter(|inner| !inner.is_empty()).unwrap_or(inner);
    }
    (depth, rest)
}

/// Whether older mail begins here, as where a program copies it in without quoting: a rule with words in it, such as
/// `----- Original message -----` (common practice, no source).
pub(super) fn begins_older_mail(text: &str) -> bool {
    let text = text.trim();
    let bare = text.trim_matches(['-', '_']);
    text.starts_with("--") && text.ends_with("--") && bare.chars().any(char::is_alphabetic)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_counted_and_indents_kept() {
        for (line, depth, bare) in [
            ("  2 x A", 0, "  2 x A"),
            (">   2 x A", 1, "  2 x A"),
            ("> > hi", 2, "hi"),
            (">>hi", 2, "hi"),
            (">", 1, ""),
        ] {
            assert_eq!(unquoted(line), (depth, bare), "{line}");
        }
    }

    #[test]
    fn a_rule_with_words_begins_older_mail() {
        assert!(begins_older_mail("-----Original Message-----"));
        assert!(begins_older_mail("---------- Forwarded message ---------"));
        assert!(!begins_older_mail("--"));
        assert!(!begins_older_mail("----------"));
        assert!(!begins_older_mail("-- Ines"));
    }
}
