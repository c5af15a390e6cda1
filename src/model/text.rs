//! Tidying of text that came from outside.
//!
//! Handed text as it lies in a file or a message; promises the same letters without what shows nothing. Turned down:
//! normalising all of it (NFKC), which makes 5² to 52 and rewrites names that people chose to write so.

use unicode_normalization::UnicodeNormalization as _;

/// Control and invisible formatting characters out, runs of white space (line breaks too) to one space, ends
/// trimmed. Letters are kept as they came, and joiners where a script or an emoji needs them.
#[must_use]
pub fn one_line(text: &str) -> String {
    let visible: String = visible(text).map(|c| if c.is_control() { ' ' } else { c }).collect();
    visible.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether [`one_line`] takes more away from it than white space and control characters: what shows nothing, may
/// turn the letters round, and that somebody or some program put there.
#[must_use]
pub fn has_invisible(text: &str) -> bool {
    visible(text).count() != text.chars().count()
}

fn visible(text: &str) -> impl Iterator<Item = char> {
    let mut before = None;
    let mut rest = text.chars();
    std::iter::from_fn(move || {
        loop {
            let c = rest.next()?;
            let keep = if is_joiner(c) {
                before.is_some_and(takes_joiners) && rest.clone().next().is_some_and(takes_joiners)
            } else {
                !is_invisible(c)
            };
            if keep {
                before = Some(c);
                return Some(c);
            }
        }
    })
}

/// Bidirectional controls, zero-width characters, soft hyphen, byte order mark, fillers: they show nothing and make
/// two equal words differ (Unicode Technical Report 36, section 3.1.1). The zero-width joiners are not among them:
/// scripts and emoji need them.
#[must_use]
pub const fn is_invisible(c: char) -> bool {
    matches!(
        c,
        '\u{00AD}'
            | '\u{034F}'
            | '\u{061C}'
            | '\u{180E}'
            | '\u{200B}'
            | '\u{200E}'
            | '\u{200F}'
            | '\u{202A}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}'
            | '\u{3164}'
            | '\u{FEFF}'
            | '\u{FFA0}'
            | '\u{FFF9}'..='\u{FFFB}'
    )
}

const fn is_joiner(c: char) -> bool {
    matches!(c, '\u{200C}' | '\u{200D}')
}

/// Joiners are for Arabic, the Indic scripts and emoji (RFC 5892, appendix A.1 and A.2; Unicode Technical Standard
/// 51, section 2.3): all of them stand behind the European alphabets, which end with Armenian. Between digits, marks
/// of punctuation and European letters they are dirt.
const fn takes_joiners(c: char) -> bool {
    c > '\u{058F}' && !matches!(c, '\u{1E00}'..='\u{1FFF}' | '\u{2000}'..='\u{206F}')
}

/// Full-width and small forms of letters, digits and signs as their plain ones, and any kind of space as a space, so
/// that figures can be read that a Japanese keyboard wrote. By NFKC, for those two blocks only (Unicode Standard
/// Annex 15; blocks U+FE50 and U+FF00).
#[must_use]
pub fn narrow(text: &str) -> String {
    let mut narrow = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{FE50}'..='\u{FE6F}' | '\u{FF00}'..='\u{FFEF}' => narrow.extend(std::iter::once(c).nfkc()),
            _ if c.is_whitespace() => narrow.push(' '),
            _ => narrow.push(c),
        }
    }
    narrow
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn breaks_become_one_space_and_bidi_overrides_go() {
        assert_eq!(one_line(" 88 Tern\r\n Street\u{202E}\u{FEFF} "), "88 Tern Street");
        assert_eq!(one_line("Ines\u{2028}Okonjo\u{3164}"), "Ines Okonjo");
    }

    #[test]
    fn joiners_stay_where_a_script_or_an_emoji_needs_them_and_nowhere_else() {
        // A family, a Persian word with a non-joiner, a Sinhala conjunct.
        for text in ["\u{1F469}\u{200D}\u{1F467}", "می\u{200C}خواهم", "ක\u{0DCA}\u{200D}ෂ"] {
            assert_eq!(one_line(text), text);
            assert!(!has_invisible(text), "{text}");
        }
        for (text, tidy) in [
            ("10\u{200D}01", "1001"),
            ("GULL\u{200C}", "GULL"),
            ("\u{200D}é\u{200C}è", "éè"),
            ("A\u{200D}\u{1F467}", "A\u{1F467}"),
            ("\u{1F467}\u{200D}A", "\u{1F467}A"),
        ] {
            assert_eq!(one_line(text), tidy);
            assert!(has_invisible(text), "{text}");
        }
    }

    #[test]
    fn what_shows_nothing_is_known_and_white_space_is_none_of_it() {
        assert!(has_invisible("Ines\u{200B}"));
        assert!(has_invisible("\u{202E}senI"));
        // One of each kind: soft hyphen, joiner of graphemes, marks of direction, separators, fillers.
        for c in "\u{AD}\u{34F}\u{61C}\u{180E}\u{200B}\u{200E}\u{200F}\u{2066}\u{206F}\u{3164}\u{FEFF}\u{FFA0}\u{FFFA}"
            .chars()
        {
            assert_eq!(one_line(&format!("In{c}es")), "Ines", "{c:?}");
        }
        assert!(!has_invisible(" 88 Tern\r\n\u{A0}Street\t"));
    }

    #[test]
    fn full_width_figures_become_plain_and_raised_ones_stay() {
        assert_eq!(narrow("￥１，２３４．５０－"), "¥1,234.50-");
        assert_eq!(narrow("1\u{202F}234\u{3000}5² ½ ①"), "1 234 5² ½ ①");
    }
}
