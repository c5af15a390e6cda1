//! Text folded at spaces, so that it reads in a window of 72 columns.

/// `text` with no line longer than `columns` characters. What runs over stands below, two further in than its line;
/// a single word that is longer is cut. Blank lines are kept one at a time, and none at the ends.
pub(super) fn wrapped(text: &str, columns: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines().map(str::trim_end) {
        if line.is_empty() {
            if lines.last().is_some_and(|last| !last.is_empty()) {
                lines.push(String::new());
            }
        } else {
            fold(line, columns, &mut lines);
        }
    }
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines.join("\n") + "\n"
}

fn fold(line: &str, columns: usize, lines: &mut Vec<String>) {
    let indent = line.chars().take_while(|c| *c == ' ').count().min(columns / 2);
    let hang = (indent + 2).min(columns / 2);
    let words = pieces(line.trim_start(), columns.saturating_sub(hang).max(1));
    lines.extend(folded(words, indent, hang, columns));
}

/// Words in lines of at most `columns` characters, the first `indent` further in, what runs over `hang`; a word that is
/// longer stands alone.
pub fn folded(
    words: impl IntoIterator<Item = impl AsRef<str>>,
    indent: usize,
    hang: usize,
    columns: usize,
) -> Vec<String> {
    let mut lines = Vec::new();
    let mut current = " ".repeat(indent);
    let mut width = indent;
    let mut empty = true;
    for word in words {
        let word = word.as_ref();
        let long = word.chars().count();
        if !empty && width + 1 + long > columns {
            lines.push(std::mem::replace(&mut current, " ".repeat(hang)));
            width = hang;
            empty = true;
        }
        if !empty {
            current.push(' ');
            width += 1;
        }
        current.push_str(word);
        width += long;
        empty = false;
    }
    lines.push(current);
    lines
}

/// Words, those longer than `most` in pieces. Runs of spaces inside a line are kept within it as they are, for
/// columns.
fn pieces(line: &str, most: usize) -> Vec<String> {
    let mut pieces = Vec::new();
    for word in line.split(' ') {
        let characters: Vec<char> = word.chars().collect();
        if characters.is_empty() {
            pieces.push(String::new());
        }
        pieces.extend(characters.chunks(most).map(|chunk| chunk.iter().collect::<String>()));
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_wider_and_no_word_is_lost() {
        let text = format!("  1125-01  {} end\n\n\n\n{}\n", "word ".repeat(40), "x".repeat(200));
        let folded = wrapped(&text, 72);
        assert!(folded.lines().all(|line| line.chars().count() <= 72), "{folded}");
        assert_eq!(folded.matches("word").count(), 40);
        assert_eq!(folded.matches('x').count(), 200);
        assert!(!folded.contains("\n\n\n"));
        assert!(folded.lines().nth(1).unwrap().starts_with("    word"), "{folded}");
    }
}
