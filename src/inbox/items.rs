//! Several items in one cell: `2x A; 3 × B`.
//!
//! Handed the code, title and quantity of a row as they lie in the file; promises the items one by one where that is
//! the only reading, nothing where the row has one item, or a sentence where it could be either. A comma or an "and"
//! makes no list: titles have them. Counts do, and codes alone. Turned down: looking each part up in the catalogue,
//! which would read a list only where the articles are known, and split a title whose halves are articles too.

use std::sync::LazyLock;

use regex::Regex;

use crate::model::text::one_line;

use super::values;

/// One item of several.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Item {
    pub(super) code: Option<String>,
    pub(super) title: String,
    pub(super) quantity: u32,
}

/// What a row says of its items: unwrapped, `None` for an empty cell, line breaks as they are.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Given<'c> {
    pub(super) code: Option<&'c str>,
    pub(super) title: Option<&'c str>,
    pub(super) quantity: Option<&'c str>,
}

/// The items of a row, where it has several, or one with its count and no other quantity.
///
/// # Errors
/// What is unclear, in a sentence about the code, or the title where there is no code.
pub(super) fn several(given: Given<'_>) -> Result<Option<Vec<Item>>, String> {
    let (Some(text), is_code) = (given.code.or(given.title), given.code.is_some()) else { return Ok(None) };
    let counts = Counts::of(given.quantity);
    let Some((mark, parts)) = list(text, is_code, &counts)? else { return Ok(None) };
    // Titles beside codes are told apart in the same way, or not at all.
    let titles = given.title.filter(|_| is_code).map(|title| split(title, mark)).unwrap_or_default();
    let titles = if titles.len() == parts.len() { titles } else { Vec::new() };
    let mut titles = titles.into_iter().map(|title| Part::of(title).words.to_owned());
    let items = parts.into_iter().map(|(words, quantity)| {
        let (code, title) = if is_code { (Some(words), titles.next().unwrap_or_default()) } else { (None, words) };
        Item { code, title, quantity }
    });
    Ok(Some(items.collect()))
}

/// What stands between items, the surest first. Those in the middle are parts of codes and titles unless spaces stand
/// around them.
const MARKS: [&str; 9] = ["\n", ";", " | ", "|", " / ", "/", " + ", ",", "、"];

/// Whether a title hardly ever holds it.
fn is_sure(mark: &str) -> bool {
    matches!(mark, ";" | " | " | "|")
}

/// What the quantity's cell says.
enum Counts {
    /// It is empty, or there is no column.
    None,
    One(u32),
    /// One for each item: `2; 3`.
    Each(Vec<u32>),
    /// Something that is refused for itself.
    Unread,
}

impl Counts {
    fn of(cell: Option<&str>) -> Self {
        let Some(cell) = cell else { return Self::None };
        if let Ok(count) = values::quantity(cell) {
            return Self::One(count);
        }
        let each = |mark: &&str| -> Option<Vec<u32>> {
            let parts = split(cell, mark);
            let counts: Option<Vec<u32>> = parts.iter().map(|part| values::quantity(part).ok()).collect();
            counts.filter(|counts| counts.len() > 1)
        };
        // A comma alone would make two quantities of `1,5`.
        ["\n", ";", "|", "/"].iter().find_map(each).map_or(Self::Unread, Self::Each)
    }

    /// Whether they can be those of a list with these counts; `None` where the list has to say it alone.
    fn agree(&self, counts: &[u32]) -> Option<bool> {
        match self {
            Self::None => None,
            Self::One(count) => {
                Some(*count == counts.iter().sum::<u32>() || usize::try_from(*count).is_ok_and(|c| c == counts.len()))
            }
            Self::Each(each) => Some(each == counts),
            Self::Unread => Some(false),
        }
    }
}

/// A part of a cell between two marks.
struct Part<'c> {
    words: &'c str,
    count: Option<u32>,
    how: How,
}

/// How a part is counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum How {
    /// With a sign or a word for it: `2 x A`, `A ×2`, `2 pcs A`.
    Signed,
    /// With figures before it, which may be of its title: `2 A`.
    Bare,
    Not,
    /// Not, but with a size that looks like a count: `Print 20 x 30`.
    Sized,
    /// Twice, or with a count inside.
    Unclear,
}

/// `2 x A`, `2x A`, `2× A`, `2 * A`; `4x4` is no count.
static BEFORE: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"^(\d{1,4})(?: ?[xX](?: |$)| ?[×*] ?)(.*)$").ok());
/// `A x2`, `A x 2`, `A ×2`, `A×2`, `A (x2)`.
static AFTER: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"^(.*?)(?: \(?[xX] ?| ?\(?[×*] ?)(\d{1,4})\)?$").ok());
/// A count anywhere.
static INSIDE: LazyLock<Option<Regex>> = LazyLock::new(|| {
    Regex::new(r"(?:^|[\s,;/(&+])\d{1,4} ?[xX×*](?:[\s;,]|$|\p{L})|\s[xX×*] ?\d{1,4}(?:$|[\s,;/)&+])").ok()
});
/// A size: figures on both sides of the sign.
static SIZE: LazyLock<Option<Regex>> = LazyLock::new(|| Regex::new(r"\d[\d.,]*(?: ?[xX×*] ?\d[\d.,]*)+").ok());
static FIGURES_FIRST: LazyLock<Option<Regex>> = LazyLock::new(|| Regex::new(r"^(\d{1,4}) (.+)$").ok());

fn taken_apart<'c>(
    regex: &LazyLock<Option<Regex>>,
    text: &'c str,
    count: usize,
    words: usize,
) -> Option<(u32, &'c str)> {
    let found = regex.as_ref()?.captures(text)?;
    let words = found.get(words)?.as_str().trim();
    // A count of nothing stays a count, and is refused as unclear further on.
    let count = found.get(count)?.as_str().parse().ok()?;
    Some((count, words))
}

impl<'c> Part<'c> {
    fn of(text: &'c str) -> Self {
        let text = text.trim();
        let before = taken_apart(&BEFORE, text, 1, 2);
        let after = taken_apart(&AFTER, text, 2, 1);
        let bare = taken_apart(&FIGURES_FIRST, text, 1, 2).map(|(count, words)| {
            let (first, rest) = words.split_once(' ').unwrap_or((words, ""));
            let is_piece = values::is_piece(&first.to_lowercase()) && !rest.is_empty();
            if is_piece { (count, rest.trim(), How::Signed) } else { (count, words, How::Bare) }
        });
        let is_size = before.is_some_and(|(_, words)| words.starts_with(|c: char| c.is_ascii_digit()))
            || after.is_some_and(|(_, words)| words.ends_with(|c: char| c.is_ascii_digit()));
        if is_size && counts_inside(text) == 0 {
            return Self { words: text, count: None, how: How::Sized };
        }
        let by_piece = bare.is_some_and(|(_, _, how)| how == How::Signed);
        let (count, words, how) = match (before, after, bare) {
            (Some(_), Some(_), _) => (None, text, How::Unclear),
            (None, Some(_), Some(_)) if by_piece => (None, text, How::Unclear),
            // Of `9 Lives x3`, the figures in front are of the title.
            (Some((count, words)), None, _) | (None, Some((count, words)), _) => (Some(count), words, How::Signed),
            (None, None, Some(bare)) => (Some(bare.0), bare.1, bare.2),
            (None, None, None) => (None, text, How::Not),
        };
        let words = words.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(words).trim();
        let is_nothing = !words.contains(char::is_alphanumeric);
        let is_wrong = is_nothing || (how != How::Not && (count == Some(0) || counts_inside(words) > 0));
        Self { words, count, how: if is_wrong { How::Unclear } else { how } }
    }
}

/// How many counts stand in a text, sizes left out.
fn counts_inside(text: &str) -> usize {
    let without_sizes = SIZE.as_ref().map(|size| size.replace_all(text, "")).unwrap_or_default();
    INSIDE.as_ref().map_or(0, |inside| inside.find_iter(&without_sizes).count())
}

/// The parts of a text between marks that stand outside quotes and parentheses, empty ones left out.
fn split<'c>(text: &'c str, mark: &str) -> Vec<&'c str> {
    let (mut depth, mut quoted, mut start) = (0_u32, false, 0);
    let mut parts = Vec::new();
    for (place, c) in text.char_indices() {
        let rest = text.get(place..).unwrap_or_default();
        if depth == 0 && !quoted && place >= start && rest.starts_with(mark) {
            parts.extend(text.get(start..place));
            start = place + mark.len();
        }
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            '"' => quoted = !quoted,
            _ => {}
        }
    }
    parts.extend(text.get(start..));
    let bare = |part: &'c str| part.trim_matches(|c: char| c.is_whitespace() || matches!(c, ';' | ',' | '|'));
    parts.into_iter().map(bare).filter(|part| !part.is_empty()).collect()
}

/// No spaces and no small letters: `GULL-01`, and not a word of a title.
fn is_code_like(word: &str) -> bool {
    word.chars().count() > 1
        && word.chars().all(|c| !c.is_whitespace() && !c.is_lowercase() && (c.is_alphanumeric() || "-_.".contains(c)))
}

/// As [`is_code_like`], and not just a title in capitals.
fn is_surely_a_code(word: &str) -> bool {
    is_code_like(word) && word.contains(|c: char| c.is_ascii_digit() || "-_".contains(c))
}

const UNCLEAR: &str = "may be one item or several; write each with its count and a `;` between, such as `2 x A; 1 x B`, or one item a row";

type Parts = (&'static str, Vec<(String, u32)>);

fn list(text: &str, is_code: bool, counts: &Counts) -> Result<Option<Parts>, String> {
    for mark in MARKS {
        let parts: Vec<Part<'_>> = split(text, mark).into_iter().map(Part::of).collect();
        if parts.len() > 1
            && let Some(list) = of_parts(&parts, mark, is_code, counts)?
        {
            return Ok(Some((mark, list)));
        }
    }
    let text = one_line(text);
    let part = Part::of(&text);
    let counted_twice = counts_inside(&text) > 1;
    match (part.how, counts) {
        // `2x A` and nothing else that says how many.
        (How::Signed, Counts::None) => Ok(part.count.map(|count| ("\n", vec![(part.words.to_owned(), count)]))),
        (How::Unclear, _) if text.contains(char::is_alphanumeric) => Err(UNCLEAR.to_owned()),
        (How::Signed | How::Bare | How::Not | How::Sized | How::Unclear, _) if counted_twice => Err(UNCLEAR.to_owned()),
        (How::Signed | How::Bare | How::Not | How::Sized | How::Unclear, _) => Ok(None),
    }
}

/// The list that the parts between one kind of mark make; none where they look like no list.
fn of_parts(
    parts: &[Part<'_>],
    mark: &str,
    is_code: bool,
    counts: &Counts,
) -> Result<Option<Vec<(String, u32)>>, String> {
    let unclear = || Err(UNCLEAR.to_owned());
    let number = |how: How| parts.iter().filter(|part| part.how == how).count();
    let (signed, bare, sized) = (number(How::Signed), number(How::Bare), number(How::Sized));
    let uncounted = number(How::Not) + sized;
    let said: Vec<u32> = parts.iter().map(|part| part.count.unwrap_or(1)).collect();
    let whole =
        |counts: &[u32]| Some(parts.iter().zip(counts).map(|(part, count)| (one_line(part.words), *count)).collect());
    if signed > 0 && sized > 0 {
        return unclear();
    }
    if number(How::Unclear) > 0 {
        // Perhaps another mark tells them apart.
        return if mark == "," || mark == "、" { unclear() } else { Ok(None) };
    }
    match (signed, bare, uncounted) {
        (0, 0, _) => {
            if let Counts::Each(each) = counts
                && each.len() == parts.len()
            {
                return Ok(whole(each));
            }
            let codes = if is_code { is_code_like } else { is_surely_a_code };
            let apart = !matches!(mark, "/" | "|") && parts.iter().all(|part| codes(part.words));
            match counts.agree(&said) {
                _ if !apart => Ok(None),
                None | Some(true) => Ok(whole(&said)),
                Some(false) if is_code => unclear(),
                Some(false) => Ok(None),
            }
        }
        (0, _, 0) => match counts.agree(&said) {
            None | Some(true) => Ok(whole(&said)),
            // `2 Gulls, 1 Tern` is the title of one thing then.
            Some(false) => Ok(None),
        },
        (0, _, _) => Ok(None),
        (_, 0, 0) => agreed(&said, counts).map(|()| whole(&said)),
        (_, 0, _) => {
            let are_codes = parts
                .iter()
                .filter(|part| part.how == How::Not)
                .all(|part| is_code_like(part.words) && is_code || is_surely_a_code(part.words));
            if are_codes || is_sure(mark) { agreed(&said, counts).map(|()| whole(&said)) } else { unclear() }
        }
        // The figures that begin a part may be of its title, unless the sum tells.
        (_, _, 0) if matches!(counts, Counts::One(count) if *count == said.iter().sum::<u32>()) => Ok(whole(&said)),
        (_, _, _) => unclear(),
    }
}

fn agreed(said: &[u32], counts: &Counts) -> Result<(), String> {
    match counts.agree(said) {
        None | Some(true) => Ok(()),
        Some(false) => Err(format!(
            "lists {} pieces of {} items, and the quantity says otherwise; make them alike, or write one item a row",
            said.iter().sum::<u32>(),
            said.len()
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Read = Result<Option<Vec<(String, u32)>>, String>;

    fn read(title: &str, quantity: &str) -> Read {
        let given =
            Given { title: Some(title), quantity: Some(quantity).filter(|q| !q.is_empty()), ..Given::default() };
        Ok(several(given)?.map(|items| items.into_iter().map(|item| (item.title, item.quantity)).collect()))
    }

    fn coded(code: &str, quantity: &str) -> Read {
        let given = Given { code: Some(code), quantity: Some(quantity).filter(|q| !q.is_empty()), ..Given::default() };
        let items = several(given)?;
        Ok(items.map(|items| items.into_iter().map(|item| (item.code.unwrap(), item.quantity)).collect()))
    }

    fn listed(all: &[(&str, u32)]) -> Vec<(String, u32)> {
        all.iter().map(|(words, count)| ((*words).to_owned(), *count)).collect()
    }

    #[test]
    fn counted_parts_make_a_list() {
        for (text, quantity) in [
            ("2x Gull; 3 × Cape Fathom, night", ""),
            ("2x Gull; 3 × Cape Fathom, night", "5"),
            ("2 x Gull\n3 x Cape Fathom, night", "2"),
            ("Gull x2;\r\nCape Fathom, night ×3;", ""),
            ("Gull (x2) | Cape Fathom, night (x3)", ""),
            ("2× Gull / 3× Cape Fathom, night", "5"),
            ("2 pcs Gull + 3 Stück Cape Fathom, night", ""),
            ("2 x \"Gull\", 3 x \"Cape Fathom, night\"", ""),
            ("2 Gull; 3 Cape Fathom, night", "5"),
            ("2 Gull / 3 Cape Fathom, night", ""),
        ] {
            assert_eq!(read(text, quantity), Ok(Some(listed(&[("Gull", 2), ("Cape Fathom, night", 3)]))), "{text}");
        }
        assert_eq!(read("2x Gull, 1x Tern", "3"), Ok(Some(listed(&[("Gull", 2), ("Tern", 1)]))));
        assert_eq!(read("Gull x2; Tern", ""), Ok(Some(listed(&[("Gull", 2), ("Tern", 1)]))));
        assert_eq!(read("Gull (red, blue) x2; Tern x1", ""), Ok(Some(listed(&[("Gull (red, blue)", 2), ("Tern", 1)]))));
        assert_eq!(read("3x Gull", ""), Ok(Some(listed(&[("Gull", 3)]))));
        assert_eq!(read("Gull; Tern; Puffin", "2; 1; 4"), Ok(Some(listed(&[("Gull", 2), ("Tern", 1), ("Puffin", 4)]))));
    }

    #[test]
    fn codes_alone_make_a_list() {
        assert_eq!(coded("GULL, TERN", "2"), Ok(Some(listed(&[("GULL", 1), ("TERN", 1)]))));
        assert_eq!(coded("GULL\nTERN", ""), Ok(Some(listed(&[("GULL", 1), ("TERN", 1)]))));
        assert_eq!(coded("GULL x2, TERN", "3"), Ok(Some(listed(&[("GULL", 2), ("TERN", 1)]))));
        assert_eq!(coded("GULL;TERN", "2;3"), Ok(Some(listed(&[("GULL", 2), ("TERN", 3)]))));
        assert_eq!(read("PIN-01, PIN-02", ""), Ok(Some(listed(&[("PIN-01", 1), ("PIN-02", 1)]))));
        for whole in ["PIN/RED", "GULL.TERN", "GULL-TERN", "GULL+TERN", "A|B", "gull"] {
            assert_eq!(coded(whole, "1"), Ok(None), "{whole}");
        }
    }

    #[test]
    fn titles_stay_whole() {
        for (text, quantity) in [
            ("Cape Fathom, night", "2"),
            ("Cape Fathom, night", ""),
            ("Gull and Tern", "2"),
            ("Gull & Tern / Puffin", "3"),
            ("NIGHT, CAPE", "2"),
            ("4x4 truck, red", "2"),
            ("2 Gulls, 1 Tern", "1"),
            ("Lightship\nNo. 9", "1"),
            ("9 Lives", ""),
            ("3x Gull", "1"),
            ("Gull; Tern", "1"),
            ("Box2, x-ray", "1"),
            ("", ""),
            ("-; *", "1"),
            ("Print 20 x 30", ""),
            ("Print 20×30", ""),
            ("20 x 30 print", ""),
            ("Box 20 x 30 x 2 cm", ""),
            ("Pin 2 x 3 cm", "2"),
            ("Print 20 x 30; Print 30 x 40", "2"),
        ] {
            assert_eq!(read(text, quantity), Ok(None), "{text}");
        }
    }

    #[test]
    fn what_could_be_either_is_asked() {
        for (text, quantity) in [
            ("Cape Fathom, night x2", ""),
            ("2x Cape Fathom, night", ""),
            ("2x Gull and 3x Tern", "5"),
            ("2x Gull, 3x Tern; 1x Puffin", ""),
            ("2x Gull x3; 1x Tern", ""),
            ("0x Gull; 1x Tern", ""),
            ("2x; 1x Tern", ""),
            ("9 Lives; 2x Tern", ""),
            ("2 x 3D pin; 1x Tern", ""),
            ("2 x Print 20 x 30, 1x Tern", ""),
            ("2x Gull\nTern", ""),
        ] {
            assert_eq!(read(text, quantity), Err(UNCLEAR.to_owned()), "{text}");
        }
        for quantity in ["1", "4", "many"] {
            let why = read("2x Gull; 3x Tern", quantity).unwrap_err();
            assert!(why.starts_with("lists 5 pieces of 2 items, and the quantity says otherwise"), "{why}");
        }
        assert_eq!(coded("GULL, TERN", "1"), Err(UNCLEAR.to_owned()));
    }

    #[test]
    fn titles_beside_codes_go_with_them_where_they_are_as_many() {
        let of = |code, title| {
            let items = several(Given { code: Some(code), title: Some(title), quantity: None }).unwrap().unwrap();
            items.into_iter().map(|item| format!("{}={}", item.code.unwrap(), item.title)).collect::<Vec<_>>()
        };
        assert_eq!(of("2x GULL; TERN", "2x Gull, red; Tern"), ["GULL=Gull, red", "TERN=Tern"]);
        assert_eq!(of("2x GULL; TERN", "Gull and Tern"), ["GULL=", "TERN="]);
        let one = Given { code: Some("SET"), title: Some("2x Gull; 3x Tern"), quantity: Some("1") };
        assert_eq!(several(one), Ok(None));
    }

    proptest::proptest! {
        /// Items written in any of the forms read as the same items, and as many.
        #[test]
        fn what_is_written_as_a_list_reads_back(
            all in proptest::collection::vec(("[A-Z][a-z]{1,8}( [A-Z][a-z]{1,6}){0,2}(, [a-z]{3,6})?", 1_u32..200), 2..6),
            form in 0_usize..6,
            mark in proptest::sample::select(vec!["; ", ";", "\n", "\r\n", " | ", ";\n"]),
            told in 0_usize..3,
        ) {
            let written = |(words, count): &(String, u32)| match form {
                0 => format!("{count}x {words}"),
                1 => format!("{count} × {words}"),
                2 => format!("{words} x{count}"),
                3 => format!("{words} (×{count})"),
                4 => format!("{count} pcs {words}"),
                _ => format!("{count} * \"{words}\""),
            };
            let text = all.iter().map(written).collect::<Vec<_>>().join(mark);
            let quantity = match told {
                0 => String::new(),
                1 => all.iter().map(|(_, count)| count).sum::<u32>().to_string(),
                _ => all.len().to_string(),
            };
            proptest::prop_assert_eq!(read(&text, &quantity), Ok(Some(all)), "{}", text);
        }

        #[test]
        fn no_text_panics_and_no_count_is_made_up(text in ".{0,30}", other in "[0-9xX×; ,/AB\n()\"*+|]{0,24}") {
            for text in [&text, &other] {
                for is_code in [true, false] {
                    let given = if is_code {
                        Given { code: Some(text), ..Given::default() }
                    } else {
                        Given { title: Some(text), ..Given::default() }
                    };
                    if let Ok(Some(items)) = several(given) {
                        proptest::prop_assert!(items.iter().all(|item| (1..=9999).contains(&item.quantity)));
                        // Nothing is listed that isn't written.
                        for item in &items {
                            let words = item.code.clone().unwrap_or(item.title.clone());
                            proptest::prop_assert!(!words.is_empty() && one_line(text).contains(&words), "{} {:?}", text, items);
                        }
                    }
                }
            }
        }
    }
}
