//! Lines of a text by how often they were quoted in replies, and where older mail begins.
//!
//! Handed a text with its lines in the file; promises each line bare of its `>` marks, with their number. Turned
//! down: cutting all quoted text off, since a partner who answers "agreed" above a quoted confirmation has
//! confirmed it.

use std::sync::LazyLock;

use regex::Regex;

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

/// "On Friday Ines wrote:" as mail programs put it before what they quote (common practice, no source).
static ATTRIBUTION: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let opening = "on|am|le|el|op|il|em|den|w dniu|dnia";
    let verb = "wrote|schrieb|a écrit|escribió|schreef|ha scritto|escreveu|skrev|napisał|napisała|napisał\\(a\\)|pisze";
    Regex::new(&format!("(?i)^(?:{opening})\\s.*\\b(?:{verb}).{{0,80}}:$")).ok()
});

/// Header lines of older mail that was copied in: its sender first, then its day, receiver or subject.
static FROM: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"(?i)^\W{0,3}(?:from|von|de|van|da|od|差出人)\*{0,2}\s?[:：]").ok());
static FURTHER: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let words = "sent|date|to|subject|gesendet|datum|an|betreff|envoyé|à|objet|enviado|fecha|para|asunto|verzonden|aan|\\
                 onderwerp|inviato|data|a|oggetto|wysłano|do|temat|送信日時|日付|宛先|件名";
    Regex::new(&format!("(?i)^\\W{{0,3}}(?:{words})\\*{{0,2}}\\s?[:：]")).ok()
});

fn fits(pattern: &LazyLock<Option<Regex>>, text: &str) -> bool {
    pattern.as_ref().is_some_and(|pattern| pattern.is_match(text))
}

/// How many lines further on a quote may begin that a line leads over to.
const NEAR: usize = 4;

/// The next lines that aren't blank.
fn following<'l, 't>(lines: &'l [Line<'t>], place: usize) -> impl Iterator<Item = &'l Line<'t>> {
    lines.iter().skip(place + 1).take(NEAR).filter(|line| !line.text.trim().is_empty())
}

/// Whether a line leads over to text that is quoted more often: it ends in a colon, in whatever language, or is one
/// of two such lines.
pub(super) fn introduces_quote(lines: &[Line<'_>], place: usize) -> bool {
    let Some(line) = lines.get(place) else { return false };
    let leads = |line: &Line<'_>, next: Option<&Line<'_>>| {
        line.text.trim_end().ends_with([':', '：']) && next.is_some_and(|next| next.depth > line.depth)
    };
    let mut next = following(lines, place);
    let (second, third) = (next.next(), next.next());
    leads(line, second)
        || second.is_some_and(|second| {
            let whole = format!("{} {}", line.text.trim(), second.text.trim());
            second.depth == line.depth && leads(second, third) && fits(&ATTRIBUTION, &whole)
        })
}

/// Whether older mail begins here, as where a program copies it in without quoting: a rule with words in it, such as
/// `----- Original message -----`, a line such as "On Friday Ines wrote:", or its header lines (common practice, no
/// source).
pub(super) fn begins_older_mail(lines: &[Line<'_>], place: usize) -> bool {
    let Some(line) = lines.get(place) else { return false };
    let text = line.text.trim();
    let bare = text.trim_matches(['-', '_']);
    if text.starts_with("--") && text.ends_with("--") && bare.chars().any(char::is_alphabetic) {
        return true;
    }
    let next = following(lines, place).next();
    let deeper = next.is_some_and(|next| next.depth > line.depth);
    // What is quoted more often is known for older by that, and new text may follow it.
    let attribution = || {
        fits(&ATTRIBUTION, text)
            || next.is_some_and(|next| {
                next.depth == line.depth
                    && !introduces_quote(lines, place)
                    && text.len() + next.text.len() < 200
                    && fits(&ATTRIBUTION, &format!("{text} {}", next.text.trim()))
            })
    };
    let headers = || {
        let further = lines.iter().skip(place + 1).take(3).filter(|line| fits(&FURTHER, line.text.trim()));
        fits(&FROM, text) && further.count() >= 2
    };
    !deeper && (attribution() || headers())
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

    fn parsed(text: &str) -> Vec<Line<'_>> {
        let read = |(index, line)| {
            let (depth, text) = unquoted(line);
            Line { number: index, depth, text }
        };
        (1..).zip(text.lines()).map(read).collect()
    }

    fn older(text: &str) -> bool {
        begins_older_mail(&parsed(text), 0)
    }

    #[test]
    fn a_rule_with_words_begins_older_mail() {
        assert!(older("-----Original Message-----"));
        assert!(older("---------- Forwarded message ---------"));
        assert!(!older("--"));
        assert!(!older("----------"));
        assert!(!older("-- Ines"));
    }

    #[test]
    fn an_attribution_begins_older_mail_that_is_not_quoted() {
        for text in [
            "On Fri, 20 Nov 2026 at 10:00, Ines <ines@example.net> wrote:",
            "Am 20.11.2026 um 10:00 schrieb Ines Okonjo:",
            "Le ven. 20 nov. 2026 à 10:00, Ines <ines@example.net> a écrit :",
            "El vie, 20 nov 2026 a las 10:00, Ines escribió:",
            "Op vr 20 nov 2026 om 10:00 schreef Ines:",
            "Il giorno ven 20 nov 2026 alle ore 10:00 Ines ha scritto:",
            "W dniu 20.11.2026 o 10:00 Ines pisze:",
            "On Fri, 20 Nov 2026 at 10:00, Ines Okonjo\n<ines@example.net> wrote:",
        ] {
            assert!(older(&format!("{text}\nHello")), "{text}");
            assert!(!older(&format!("{text}\n> Hello")), "{text}");
            assert!(introduces_quote(&parsed(&format!("{text}\n\n> Hello")), 0), "{text}");
        }
        assert!(introduces_quote(&parsed("2026年11月20日(金) 10:00 Ines:\n> Hello"), 0));
        for text in ["I wrote: a note", "On we go:", "Hello", "Am I right:"] {
            assert!(!older(&format!("{text}\nHello")), "{text}");
        }
    }

    #[test]
    fn copied_header_lines_begin_older_mail() {
        assert!(older("From: Ines\nSent: Friday\nTo: me\nSubject: trade"));
        assert!(older("*Von:* Ines\n*Gesendet:* Freitag\n*An:* ich"));
        assert!(older("De : Ines\nEnvoyé : vendredi\nÀ : moi\nObjet : trade"));
        assert!(!older("From: the fair\nTo: you, with thanks\nand so on"));
    }
}
