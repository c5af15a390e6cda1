//! Tidying of text that came from outside.

/// Control and invisible formatting characters out, runs of white space (line breaks too) to one space, ends
/// trimmed. Letters are kept as they came.
#[must_use]
pub fn one_line(text: &str) -> String {
    let visible: String =
        text.chars().map(|c| if c.is_control() { ' ' } else { c }).filter(|c| !is_invisible(*c)).collect();
    visible.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Bidirectional controls, zero-width characters, soft hyphen, byte order mark: they show nothing and make two
/// equal words differ (Unicode Technical Report 36, section 3.1.1). The zero-width joiners are kept: scripts
/// and emoji need them.
#[must_use]
pub const fn is_invisible(c: char) -> bool {
    matches!(c, '\u{00AD}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn breaks_become_one_space_and_bidi_overrides_go() {
        assert_eq!(one_line(" 88 Tern\r\n Street\u{202E}\u{FEFF} "), "88 Tern Street");
    }
}
