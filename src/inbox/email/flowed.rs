//! Lines that a mail program broke and another is to join again: `format=flowed`, RFC 3676.
//!
//! Handed the lines of a part that is flowed; promises the lines their writer wrote. Only a line as long as
//! programs break them is joined: a space at the end of a short one was typed, and joining an address to the next
//! key would lose both. Turned down: joining lines of parts that don't say that they are flowed.

/// Programs break lines at 66 to 78 characters (RFC 3676, section 4.2, and common practice): a line this short with
/// the next word would still have fitted.
const FITS: usize = 56;

/// Joined lines, each with the number of its first.
pub(super) fn joined(lines: Vec<(String, u64)>, del_sp: bool) -> Vec<(String, u64)> {
    let mut all: Vec<(String, u64)> = Vec::new();
    // How often the last line was quoted, and whether it goes on.
    let mut open: Option<usize> = None;
    for (line, number) in lines {
        let (depth, text) = unstuffed(&line);
        let goes_on = text.ends_with(' ') && text.trim_end() != "--" && !text.trim().is_empty();
        let word = text.split_whitespace().next().map_or(0, |word| word.chars().count());
        match all.last_mut().filter(|_| open == Some(depth) && !text.trim().is_empty()) {
            Some((last, _)) if last.chars().count() + word > FITS => {
                if del_sp {
                    last.pop();
                }
                last.push_str(text);
            }
            Some(_) | None => all.push((marked(depth, text), number)),
        }
        open = goes_on.then_some(depth);
    }
    all
}

fn marked(depth: usize, text: &str) -> String {
    if depth == 0 { text.to_owned() } else { format!("{} {text}", ">".repeat(depth)) }
}

/// How often a line is quoted, and its text without the space that was put before it (section 4.4).
fn unstuffed(line: &str) -> (usize, &str) {
    let text = line.trim_start_matches('>');
    (line.len() - text.len(), text.strip_prefix(' ').unwrap_or(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn join(text: &str, del_sp: bool) -> Vec<(String, u64)> {
        joined(text.lines().map(str::to_owned).zip(1..).collect(), del_sp)
    }

    fn texts(text: &str) -> Vec<String> {
        join(text, false).into_iter().map(|(text, _)| text).collect()
    }

    const LONG: &str = "Note: please use mint backs only, and wrap each of them in ";

    #[test]
    fn long_lines_are_joined_and_know_their_first() {
        let read = join(&format!("Hi\n{LONG}\nits own bag\nBye"), false);
        let whole = format!("{LONG}its own bag");
        assert_eq!(read, [("Hi".to_owned(), 1), (whole, 2), ("Bye".to_owned(), 4)]);
    }

    #[test]
    fn quotes_join_within_their_depth_and_a_typed_space_joins_nothing() {
        assert_eq!(
            texts(&format!("> {LONG}\n> bags\n{LONG}\n> b")),
            [format!("> {LONG}bags"), LONG.to_owned(), "> b".to_owned()]
        );
        assert_eq!(texts("I send: \n  2 x A \nI get:"), ["I send: ", " 2 x A ", "I get:"]);
        assert_eq!(texts(" From me\n-- \nInes"), ["From me", "-- ", "Ines"]);
    }

    #[test]
    fn a_space_that_only_marks_the_break_goes() {
        assert_eq!(join(&format!("{LONG}\nx"), true)[0].0, format!("{}x", LONG.trim_end()));
    }
}
