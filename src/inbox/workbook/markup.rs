//! The tags of a workbook's parts, looked at before a reader that trusts them gets them.
//!
//! Handed the bytes of one part as they are unpacked; promises each tag in turn, and that tags are balanced, that
//! none is longer than any real one, that they don't nest deeper than any real ones, and that no more bytes come
//! than were allowed. What it keeps is one tag and the names of those that are open. Turned down: trusting the
//! reader, which waits for closing tags that never come and makes room for as many cells as a part claims to have.

use std::io::{BufRead as _, BufReader, Read};

/// A long cell of text may stand in an attribute, each of its letters escaped.
const LONGEST_TAG: u64 = 256 << 10;
/// Text between two tags: what a cell may hold, each of its letters escaped.
const LONGEST_TEXT: u64 = 1 << 20;
/// Common practice, no source: real parts nest a dozen deep.
const DEEPEST: usize = 64;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    Open,
    /// Opened and closed at once.
    Empty,
    Close,
}

/// A tag of a part.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tag<'t> {
    pub(super) kind: Kind,
    /// With its prefix.
    pub(super) name: &'t [u8],
    attributes: &'t [u8],
    /// Where in the part it ends.
    pub(super) at: u64,
    /// Bytes of text right before it.
    pub(super) text: u64,
}

impl<'t> Tag<'t> {
    fn of(written: &'t [u8], at: u64, text: u64) -> Option<Self> {
        let (kind, inner) = match (written.strip_prefix(b"/"), written.strip_suffix(b"/")) {
            (Some(inner), _) => (Kind::Close, inner),
            (None, Some(inner)) => (Kind::Empty, inner),
            (None, None) => (Kind::Open, written),
        };
        let end = inner.iter().position(u8::is_ascii_whitespace).unwrap_or(inner.len());
        let (name, attributes) = inner.split_at_checked(end)?;
        (!name.is_empty()).then_some(Self { kind, name, attributes, at, text })
    }

    pub(super) fn local_name(&self) -> &'t [u8] {
        self.name.rsplit(|byte| *byte == b':').next().unwrap_or(self.name)
    }

    /// The attribute of that name, with its prefix, as it is written.
    pub(super) fn attribute(&self, name: &str) -> Option<&'t [u8]> {
        let mut rest = self.attributes;
        loop {
            let start = rest.iter().position(|byte| !byte.is_ascii_whitespace())?;
            rest = rest.get(start..)?;
            let sign = rest.iter().position(|byte| *byte == b'=')?;
            let (known, after) = rest.split_at_checked(sign)?;
            let after = after.get(1..)?.trim_ascii_start();
            let quote = *after.first().filter(|byte| matches!(**byte, b'"' | b'\''))?;
            let inner = after.get(1..)?;
            let end = inner.iter().position(|byte| *byte == quote)?;
            if known.trim_ascii_end() == name.as_bytes() {
                return inner.get(..end);
            }
            rest = inner.get(end + 1..)?;
        }
    }

    /// Whether it has an attribute whose name begins so.
    pub(super) fn has_attribute_like(&self, start: &str) -> bool {
        self.attributes.windows(start.len()).any(|window| window == start.as_bytes())
    }
}

/// What may still come of a workbook; of tags, those that close others aside.
#[derive(Clone, Copy, Debug)]
pub(super) struct Allowed {
    pub(super) bytes: u64,
    pub(super) tags: u64,
}

/// Hands every tag of a part to `each`; lessens what may come by what does.
pub(super) fn tags(
    part: impl Read,
    allowed: &mut Allowed,
    mut each: impl FnMut(&Tag<'_>) -> Result<(), String>,
) -> Result<(), String> {
    let mut part = BufReader::new(part.take(allowed.bytes.saturating_add(1)));
    let mut read_to = |end: u8, most: u64, read: &mut Vec<u8>| {
        let length =
            (&mut part).take(most).read_until(end, read).map_err(|error| format!("it is damaged ({error})"))?;
        allowed.bytes =
            allowed.bytes.checked_sub(length as u64).ok_or("it unpacks to more than is read of one file")?;
        if length as u64 == most && !read.ends_with(&[end]) {
            return Err("it has a tag or text longer than any spreadsheet writes".to_owned());
        }
        Ok(length as u64)
    };
    let mut open: Vec<Vec<u8>> = Vec::new();
    let mut written: Vec<u8> = Vec::new();
    let mut at = 0;
    loop {
        written.clear();
        let text = read_to(b'<', LONGEST_TEXT, &mut written)?;
        at += text;
        if !written.ends_with(b"<") {
            break;
        }
        written.clear();
        loop {
            let length = read_to(b'>', LONGEST_TAG, &mut written)?;
            at += length;
            if length == 0 || written.len() as u64 > LONGEST_TAG {
                return Err("it is cut off".to_owned());
            }
            if is_whole(&written) {
                break;
            }
        }
        written.pop();
        if !written.starts_with(b"/") {
            allowed.tags = allowed.tags.checked_sub(1).ok_or("it has more tags than are read of one file")?;
        }
        // The sign that ends it aside.
        tag(&written, (at, text - 1), &mut open, &mut each)?;
    }
    if open.is_empty() { Ok(()) } else { Err("it is cut off".to_owned()) }
}

/// Whether the `>` at its end ends it, and doesn't stand in a comment, in text or in quotes.
fn is_whole(written: &[u8]) -> bool {
    let Some(written) = written.strip_suffix(b">") else { return false };
    if written.starts_with(b"!--") {
        return written.len() >= 5 && written.ends_with(b"--");
    }
    if written.starts_with(b"![CDATA[") {
        return written.ends_with(b"]]");
    }
    if written.starts_with(b"?") {
        return written.len() >= 2 && written.ends_with(b"?");
    }
    let mut quote = None;
    for byte in written.iter().filter(|byte| matches!(byte, b'"' | b'\'')) {
        quote = match quote {
            None => Some(byte),
            Some(open) if open == byte => None,
            Some(open) => Some(open),
        };
    }
    quote.is_none()
}

fn tag(
    written: &[u8],
    (at, text): (u64, u64),
    open: &mut Vec<Vec<u8>>,
    each: &mut impl FnMut(&Tag<'_>) -> Result<(), String>,
) -> Result<(), String> {
    if written.starts_with(b"?") || written.starts_with(b"!--") || written.starts_with(b"![CDATA[") {
        return Ok(());
    }
    if written.contains(&0) {
        return Err("it has zero bytes in its tags".to_owned());
    }
    let unbalanced = || "its tags are not balanced".to_owned();
    let tag = Tag::of(written, at, text).filter(|_| !written.starts_with(b"!")).ok_or_else(unbalanced)?;
    match tag.kind {
        Kind::Open if open.len() == DEEPEST => return Err("it nests deeper than any spreadsheet".to_owned()),
        Kind::Open => open.push(tag.name.to_vec()),
        Kind::Close if open.pop().as_deref() != Some(tag.name) || !tag.attributes.trim_ascii().is_empty() => {
            return Err(unbalanced());
        }
        Kind::Close | Kind::Empty => {}
    }
    each(&tag)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(part: &str) -> Result<Vec<String>, String> {
        let mut seen = Vec::new();
        tags(part.as_bytes(), &mut Allowed { bytes: 3_000_000, tags: 100 }, |tag| {
            seen.push(format!("{:?} {}", tag.kind, String::from_utf8_lossy(tag.name)));
            Ok(())
        })
        .map(|()| seen)
    }

    #[test]
    fn tags_are_told_from_what_looks_like_them() {
        let part = "<?xml version=\"1.0\"?><a:b c='>' d=\"/\"><!-- <x> --><e f=\"'\"/>4 > 3<![CDATA[<y>]]></a:b>";
        assert_eq!(seen(part).unwrap(), ["Open a:b", "Empty e", "Close a:b"]);
    }

    #[test]
    fn attributes_are_found_by_their_whole_name() {
        let tag = Tag::of(b"a x:n=\"1\" n = '2' m=\"a n='3'\"", 0, 0).unwrap();
        assert_eq!(tag.attribute("n"), Some(&b"2"[..]));
        assert_eq!(tag.attribute("x:n"), Some(&b"1"[..]));
        assert_eq!(tag.attribute("m"), Some(&b"a n='3'"[..]));
        assert_eq!(tag.attribute("o"), None);
    }

    #[test]
    fn what_no_spreadsheet_writes_is_refused() {
        let deep = "<a>".repeat(DEEPEST + 1);
        let long = format!("<a b=\"{}\"/>", "x".repeat(256 << 10));
        let wordy = format!("<a>{}</a>", "x".repeat(1 << 20));
        for (part, why) in [
            ("<a><b></a></b>", "balanced"),
            ("<a>", "cut off"),
            ("<a", "cut off"),
            ("<!DOCTYPE a [<!ENTITY b \"c\">]><a/>", "balanced"),
            ("<a b=\"\0\"/>", "zero bytes"),
            (&deep, "deeper"),
            (&long, "longer"),
            (&wordy, "longer"),
            (&"<a/>".repeat(101), "more tags"),
        ] {
            assert!(seen(part).unwrap_err().contains(why), "{part:.40}");
        }
        let why = tags("<a/>".as_bytes(), &mut Allowed { bytes: 3, tags: 9 }, |_| Ok(())).unwrap_err();
        assert!(why.contains("more than is read"), "{why}");
    }
}
