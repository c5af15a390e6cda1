//! How a delimited text is written: its delimiter, and what it does round quotes and inside them.
//!
//! Handed text; promises the delimiters that may part its cells, the likeliest first, and the same text with every
//! quote where RFC 4180 has it. Turned down: one delimiter as the answer, since whether it is the right one shows
//! only in the headers that it makes.

use std::borrow::Cow;

use super::Text;

const DELIMITERS: [char; 4] = [',', ';', '\t', '|'];

/// Bytes and rows by which a delimiter is judged; common practice, no source.
const LOOKED_AT: usize = 64 << 10;
const ROWS_LOOKED_AT: usize = 50;

/// A first line such as `sep=;` is a spreadsheet's note to itself: the delimiter, lines passed over, and the rest.
pub(super) fn spreadsheet_note(text: &str) -> (Option<char>, u64, &str) {
    let end = text.find(['\r', '\n']).unwrap_or(text.len());
    let (first, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let named = first.trim_matches('"').get(..4).filter(|name| name.eq_ignore_ascii_case("sep="));
    let mut after = first.trim_matches('"').chars().skip(4);
    match (named, after.next(), after.next()) {
        (Some(_), Some(delimiter), None) if delimiter.is_ascii() => {
            (Some(delimiter), 1, rest.strip_prefix("\r\n").or_else(|| rest.get(1..)).unwrap_or(""))
        }
        _ => (None, 0, text),
    }
}

/// The delimiters that may part the cells of a text, the likeliest first: the one it names itself; else those by
/// which most of its first rows have equally many cells, and of these the one that makes more of them.
pub(in crate::inbox) fn delimiters(text: &Text<'_>) -> Vec<char> {
    let (noted, _, body) = spreadsheet_note(&text.text);
    if let Some(noted) = noted {
        return vec![noted];
    }
    let start = body.get(..body.floor_char_boundary(LOOKED_AT)).unwrap_or(body);
    let is_cut = start.len() < body.len();
    let mut found: Vec<(usize, usize, char)> = DELIMITERS
        .into_iter()
        .filter(|delimiter| start.contains(*delimiter))
        .map(|delimiter| {
            let (alike, width) = commonest_width(start, is_cut, delimiter);
            (alike, width, delimiter)
        })
        .collect();
    found.sort_by_key(|(alike, width, _)| std::cmp::Reverse((*alike, *width)));
    if found.is_empty() { vec![','] } else { found.into_iter().map(|(_, _, delimiter)| delimiter).collect() }
}

/// How many in a thousand of the first rows have equally many cells, more than one, and how many that is.
fn commonest_width(start: &str, is_cut: bool, delimiter: char) -> (usize, usize) {
    let start: &str = &without_spaces_round_quotes(start, delimiter, false);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(start.as_bytes());
    let mut widths: Vec<usize> = Vec::new();
    let mut record = csv::ByteRecord::new();
    while widths.len() <= ROWS_LOOKED_AT && reader.read_byte_record(&mut record).is_ok_and(|read| read) {
        widths.push(record.len());
    }
    if is_cut && widths.len() <= ROWS_LOOKED_AT {
        widths.pop();
    }
    let all = widths.len();
    widths.retain(|width| *width > 1);
    widths.sort_unstable();
    let runs = widths.chunk_by(|one, other| one == other);
    let (alike, width) = runs.filter_map(|run| Some((run.len(), *run.first()?))).max().unwrap_or_default();
    (alike * 1000 / all.max(1), width)
}

/// Whether quotes inside cells are written `\"`: then one is followed by more of its cell, which the closing quote
/// of RFC 4180 never is.
pub(super) fn escapes_quotes(text: &str, delimiter: char) -> bool {
    text.match_indices("\\\"").any(|(place, pair)| {
        let next = text.get(place + pair.len()..).and_then(|rest| rest.chars().next());
        next.is_some_and(|c| c != delimiter && !matches!(c, '\r' | '\n' | '"'))
    })
}

/// The text without the spaces that some programs put between a delimiter and a quote. RFC 4180 counts them to the
/// cell, which then isn't quoted, so that a delimiter in it would part it.
pub(super) fn without_spaces_round_quotes(text: &str, delimiter: char, escapes: bool) -> Cow<'_, str> {
    let is_end = |byte: u8| byte == u8::try_from(delimiter).unwrap_or(b',') || matches!(byte, b'\r' | b'\n');
    let bytes = text.as_bytes();
    let spaced = |(place, _): (usize, &str)| {
        let before = bytes.get(..place).unwrap_or_default();
        let bare = before.trim_ascii_end_of_spaces();
        bare.len() < before.len() && bare.last().is_none_or(|byte| is_end(*byte))
    };
    if !text.match_indices('"').any(spaced) {
        return Cow::Borrowed(text);
    }
    let mut tidy: Vec<u8> = Vec::with_capacity(bytes.len());
    let mut at = 0;
    let mut found = false;
    let from = |place: usize| bytes.get(place..).unwrap_or_default();
    while at < bytes.len() {
        let opening = at + from(at).iter().take_while(|byte| **byte == b' ').count();
        let end_after = |place: usize| place + from(place).iter().take_while(|byte| !is_end(**byte)).count();
        let end = if from(opening).first() != Some(&b'"') {
            let end = end_after(at);
            tidy.extend_from_slice(bytes.get(at..end).unwrap_or_default());
            end
        } else if let Some(closing) = closing_quote(bytes, opening, escapes) {
            let behind = closing + 1 + from(closing + 1).iter().take_while(|byte| **byte == b' ').count();
            if from(behind).first().is_none_or(|byte| is_end(*byte)) {
                found |= opening > at;
                tidy.extend_from_slice(bytes.get(opening..=closing).unwrap_or_default());
                behind
            } else {
                // More of the cell follows: the quotes are part of it, as far as RFC 4180 goes.
                let end = end_after(if opening > at { at } else { closing + 1 });
                tidy.extend_from_slice(bytes.get(at..end).unwrap_or_default());
                end
            }
        } else {
            // Cut off inside quotes, if others stand so too.
            tidy.extend_from_slice(from(if found { opening } else { at }));
            bytes.len()
        };
        tidy.extend(from(end).first());
        at = end + 1;
    }
    // Only spaces were taken out, which are letters of one byte.
    String::from_utf8(tidy).map_or(Cow::Borrowed(text), Cow::Owned)
}

trait Spaces {
    fn trim_ascii_end_of_spaces(&self) -> &[u8];
}

impl Spaces for [u8] {
    fn trim_ascii_end_of_spaces(&self) -> &[u8] {
        let kept = self.iter().rposition(|byte| *byte != b' ').map_or(0, |last| last + 1);
        self.get(..kept).unwrap_or_default()
    }
}

/// Where the quote closes that opens at that place.
fn closing_quote(bytes: &[u8], opening: usize, escapes: bool) -> Option<usize> {
    let mut at = opening + 1;
    loop {
        match (bytes.get(at)?, bytes.get(at + 1)) {
            (b'\\', Some(_)) if escapes => at += 2,
            (b'"', Some(b'"')) => at += 2,
            (b'"', _) => return Some(at),
            _ => at += 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<char> {
        delimiters(&Text { text: Cow::Borrowed(text), encoding: "UTF-8".into(), lines: None })
    }

    #[test]
    fn the_delimiter_is_the_one_by_which_rows_are_alike() {
        for (text, delimiter) in [
            // Decimal commas, commas in addresses and in quotes.
            ("Ref;Name;Each\n1;Ines;9,50\n2;Bo, Anna, Per;12,00\n", ';'),
            ("Ref,Name,Each\n1,\"Ines; Bo\",\"9,50\"\n2,\"a;b;c\",\"12,00\"\n", ','),
            ("Ref|Name|Said\n1|Ines|a, b; c\n2|Bo|a, b; c\n", '|'),
            ("Ref\tName\tSaid\n1\tInes\ta, b, c, d\n2\tBo\ta, b, c, d\n", '\t'),
            // Quoted line breaks make lines of which none is a row.
            ("Ref;Said\n1;\"one,\ntwo,\nthree,\"\n2;\"four,\nfive,\"\n", ';'),
            // Other delimiters before the table.
            ("Orders, all, of 1, 2 and 3, November\n\nRef;Name\n1;Ines\n2;Bo\n", ';'),
            ("Shop: Saltmarsh; list: all; by: day; in: USD\nRef,Name\n1,Ines\n2,Bo\n", ','),
        ] {
            assert_eq!(found(text)[0], delimiter, "{text}");
        }
        assert_eq!(found("one\ntwo\n"), [',']);
    }

    #[test]
    fn a_note_names_the_delimiter_and_nothing_else_does() {
        assert_eq!(found("sep=|\na;b|c\n"), ['|']);
        assert_eq!(found("sep=\t\na;b\n"), ['\t']);
        assert_eq!(found("sep=;;\na;b\n"), [';']);
        assert_eq!(found("separate;b\n1;2\n"), [';']);
    }

    #[test]
    fn long_files_are_judged_by_their_start() {
        let rows = "1;2,5;3,5\n".repeat(LOOKED_AT);
        assert_eq!(found(&format!("a;b;c\n{rows}"))[0], ';');
    }

    fn tidy(text: &str) -> String {
        without_spaces_round_quotes(text, ',', false).into_owned()
    }

    #[test]
    fn spaces_round_quotes_are_taken_out_and_others_kept() {
        for (text, tidied) in [
            ("a, \"b, c\" , d\n", "a,\"b, c\", d\n"),
            ("  \"a\",   \"b\"  \r\n \"c\n,\"\"\" ", "\"a\",\"b\"\r\n\"c\n,\"\"\""),
            (" a , b\n", " a , b\n"),
            ("5, \"Gull\" pin, x\n", "5, \"Gull\" pin, x\n"),
            ("5, 3\" pin, 4\"\n", "5, 3\" pin, 4\"\n"),
            // One that never closes is a sign, unless others stand so too: then the file is cut off.
            ("6, \"big\n7, x\n", "6, \"big\n7, x\n"),
            ("6, \"a\", \"big\n7, x\n", "6,\"a\",\"big\n7, x\n"),
            ("Zoë, \"灯, 台\" ,Ж\n", "Zoë,\"灯, 台\",Ж\n"),
        ] {
            assert_eq!(tidy(text), tidied, "{text:?}");
        }
        assert_eq!(without_spaces_round_quotes("a, \"b \\\" c\" ,d", ',', true), "a,\"b \\\" c\",d");
    }
}
