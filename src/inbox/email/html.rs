//! The text of an email that is only HTML, line by line as a mail program shows it.
//!
//! Handed a part's HTML; promises its lines, each with the line of the HTML it begins on, cells of a table row on
//! one line, and `>` before what stands in a block quote, as a text reply has it. Entities and white space are the
//! mail parser's business. Turned down: the parser's own text, which runs `div`s, list items and table rows
//! together; and a browser's engine, for the sake of a dozen tags.

use std::sync::LazyLock;

use mail_parser::decoders::html::html_to_text;
use regex::Regex;

use super::letter::MOST_LINES;

/// What no reader sees.
static HIDDEN: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let names = ["head", "style", "script", "template", "title"];
    let elements: Vec<String> = names.map(|name| format!(r"<{name}\b[^>]*>.*?(?:</{name}\s*>|\z)")).into();
    Regex::new(&format!("(?is)<!--.*?(?:-->|\\z)|<!\\[[^>]*>|{}", elements.join("|"))).ok()
});

/// Tags that begin or end a line, or a cell of one (HTML Living Standard, section 15.3, `display: block`).
static BREAKING: LazyLock<Option<Regex>> = LazyLock::new(|| {
    Regex::new(concat!(
        r"(?is)<(/?)(address|article|blockquote|br|caption|center|dd|div|dl|dt|fieldset|figure|footer|form|h[1-6]|",
        r"header|hr|li|main|nav|ol|p|pre|section|table|tbody|td|tfoot|th|thead|tr|ul)(?:[\s/][^>]*)?>"
    ))
    .ok()
});

/// Any other tag.
static TAG: LazyLock<Option<Regex>> = LazyLock::new(|| Regex::new(r"</?[A-Za-z!?][^>]*>").ok());

/// Text with entities read and white space folded. Tags are taken out before: behind one, the parser loses a space.
fn plain(html: &str) -> String {
    let Some(tag) = TAG.as_ref() else { return String::new() };
    html_to_text(&tag.replace_all(html, "").replace('<', "&lt;"))
}

/// A line and the line of the HTML, the first being 0, that it begins on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) source: usize,
}

/// Its lines.
pub(super) fn lines(html: &str) -> Vec<Line> {
    let (Some(hidden), Some(breaking)) = (HIDDEN.as_ref(), BREAKING.as_ref()) else { return Vec::new() };
    let shown = hidden.replace_all(html, |found: &regex::Captures<'_>| {
        "\n".repeat(found.get(0).map_or(0, |found| found.as_str().matches('\n').count()))
    });
    // One word processor writes every line as a paragraph without a gap, and says so in its class.
    let gaps = !shown.contains("MsoNormal");
    let mut page = Page::default();
    let mut at = 0;
    for tag in breaking.captures_iter(&shown) {
        let Some(whole) = tag.get(0).filter(|_| page.lines.len() < MOST_LINES) else { break };
        page.write(shown.get(at..whole.start()).unwrap_or_default());
        page.source += whole.as_str().matches('\n').count();
        at = whole.end();
        let closes = tag.get(1).is_some_and(|slash| !slash.is_empty());
        let name = tag.get(2).map_or_else(String::new, |name| name.as_str().to_ascii_lowercase());
        match (name.as_str(), closes) {
            ("br", _) => page.end_line(),
            ("td" | "th", false) => page.gap(),
            ("td" | "th", true) => {}
            ("p", true) if gaps => {
                page.break_line();
                page.blank = true;
            }
            ("blockquote", closes) => {
                page.break_line();
                page.depth = if closes { page.depth.saturating_sub(1) } else { page.depth + 1 };
            }
            ("pre", closes) => {
                page.break_line();
                page.verbatim = !closes;
            }
            _ => page.break_line(),
        }
    }
    if page.lines.len() < MOST_LINES {
        page.write(shown.get(at..).unwrap_or_default());
    }
    page.break_line();
    page.lines
}

#[derive(Default)]
struct Page {
    lines: Vec<Line>,
    line: Option<Line>,
    /// Line of the HTML that is read.
    source: usize,
    /// Block quotes round it.
    depth: usize,
    /// Whether line breaks are kept, as in `pre`.
    verbatim: bool,
    /// Whether a gap stands before the next line, as after a paragraph.
    blank: bool,
}

impl Page {
    fn marks(&self) -> String {
        match self.depth {
            0 => String::new(),
            depth => ">".repeat(depth) + " ",
        }
    }

    fn write(&mut self, piece: &str) {
        let breaks = |text: &str| text.matches('\n').count();
        if !self.verbatim {
            let text = piece.trim_start();
            self.source += breaks(piece) - breaks(text);
            if !text.is_empty() {
                self.push(plain(text).trim_start_matches(' '));
            }
            self.source += breaks(text);
            return;
        }
        for (index, line) in piece.split('\n').enumerate() {
            if index > 0 {
                self.source += 1;
                self.end_line();
            }
            let indent: String = line.chars().take_while(|c| *c == ' ' || *c == '\t').collect();
            self.push(&(indent + &plain(line)));
        }
    }

    fn push(&mut self, text: &str) {
        let text = text.replace('\u{A0}', " ");
        if text.is_empty() {
            return;
        }
        if self.line.is_none() {
            if std::mem::take(&mut self.blank) && !self.lines.is_empty() {
                self.lines.push(Line { text: self.marks(), source: self.source });
            }
            self.line = Some(Line { text: self.marks(), source: self.source });
        }
        if let Some(line) = &mut self.line {
            line.text.push_str(&text);
        }
    }

    /// A cell of a table begins.
    fn gap(&mut self) {
        if self.line.is_some() {
            self.push(" ");
        }
    }

    /// Ends the line, an empty one too.
    fn end_line(&mut self) {
        let empty = Line { text: self.marks(), source: self.source };
        let line = self.line.take().unwrap_or(empty);
        self.lines.push(line);
    }

    /// Ends the line if there is one.
    fn break_line(&mut self) {
        if self.line.is_some() {
            self.end_line();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(html: &str) -> Vec<String> {
        lines(html).into_iter().map(|line| line.text.trim_end().to_owned()).collect()
    }

    #[test]
    fn every_block_is_a_line_and_a_row_of_cells_is_one() {
        assert_eq!(read("<div>one</div><div>two <b>bold</b></div>three<br>four"), ["one", "two bold", "three", "four"]);
        assert_eq!(read("<ul><li>2 x A</li><li>1 &times; B</li></ul>"), ["2 x A", "1 × B"]);
        assert_eq!(
            read("<table><tr><td>Agreed:</td>\n<td>2026-11-20</td></tr><tr><th>Note:</th><td>hi</td></tr></table>"),
            ["Agreed: 2026-11-20", "Note: hi"]
        );
        assert_eq!(read("<b>Email:</b> <i>a</i> b<span> c</span>"), ["Email: a b c"]);
        assert_eq!(read("2 < 3 &lt;a@example.net&gt; &nbsp; 4"), ["2 < 3 <a@example.net>   4"]);
        assert_eq!(read("<DIV CLASS=x>a</DIV\n><DIV>b</DIV>"), ["a", "b"]);
    }

    #[test]
    fn gaps_are_blank_lines_and_a_word_processors_paragraphs_have_none() {
        assert_eq!(read("<p>a</p><p>b</p>"), ["a", "", "b"]);
        assert_eq!(read("<p class=MsoNormal>a</p><p class=MsoNormal>b</p>"), ["a", "b"]);
        assert_eq!(read("<div>a</div><div><br></div><div>b</div>"), ["a", "", "b"]);
        assert_eq!(read("a<br><br>b"), ["a", "", "b"]);
    }

    #[test]
    fn quotes_get_marks_and_preformatted_text_keeps_its_lines() {
        assert_eq!(
            read("yes<blockquote>no<blockquote>why</blockquote></blockquote>then"),
            ["yes", "> no", ">> why", "then"]
        );
        assert_eq!(read("<pre>a:\n  2 x B &amp; C\n</pre>d"), ["a:", "  2 x B & C", "d"]);
    }

    #[test]
    fn what_no_reader_sees_is_left_out() {
        assert_eq!(
            read(
                "<html><head><title>t</title></head><style>p{}</style><!-- <p>no</p> -->\n<body>a<script>1<2</script>b</body>"
            ),
            ["ab"]
        );
    }

    #[test]
    fn lines_know_where_they_stood() {
        let at: Vec<(String, usize)> =
            lines("<!-- a\nb -->\n<div\nclass=x>one</div>\n\n<div>two\nand more</div>\n<p>\n\nthree</p>")
                .into_iter()
                .map(|line| (line.text, line.source))
                .collect();
        assert_eq!(at, [("one".to_owned(), 3), ("two and more".to_owned(), 5), ("three".to_owned(), 9)]);
    }

    proptest::proptest! {
        #[test]
        fn no_html_panics(html in "(<[/!]?(p|br|div|td|pre|blockquote|head|x)[ a>]|&[a-z#0-9]{0,4};?|--|[ -~é灯\n]){0,60}") {
            let _ = lines(&html);
        }
    }
}
