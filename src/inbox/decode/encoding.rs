//! Bytes to text, by the encoding that they are in.
//!
//! Handed bytes that are no known kind of binary file; promises every letter as the encoding has it, or the reason
//! why no encoding is certain. Turned down: putting a mark in the place of bytes that can't be read, which ends up on
//! a label; and taking the first encoding that accepts the bytes, since those of one byte a letter accept all.

use std::borrow::Cow;

use encoding_rs::{Encoding, ISO_2022_JP, ISO_8859_2, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1250};

use crate::model::address::Country;

use super::{LARGEST_TEXT, mojibake};

/// What is told where bytes are no text at all.
const NO_TEXT: &str = "this is not text, nor a spreadsheet or saved email; export it as CSV and drop that";
const NOT_CERTAIN: &str =
    "its letters beyond English ones are in no encoding that can be told for certain; save it as UTF-8 and drop that";
const CUT_OFF: &str = "its last letter is cut off in the middle; export it again";

/// The text, and the name of its encoding: by byte order mark, by the zero bytes that UTF-16 has in Latin letters,
/// signs and line ends, as UTF-8, else by detection.
pub(super) fn of(bytes: &[u8], country: Country) -> Result<(Cow<'_, str>, String), String> {
    let (text, encoding) = found(bytes, country)?;
    if text.len() > LARGEST_TEXT {
        return Err(too_large());
    }
    let text = match text {
        // Room was made for the longest letters there are.
        Cow::Owned(mut text) => {
            text.shrink_to_fit();
            Cow::Owned(text)
        }
        Cow::Borrowed(text) => Cow::Borrowed(text),
    };
    Ok((without_end_mark(text), encoding.name().to_owned()))
}

fn too_large() -> String {
    format!("has more than the {LARGEST_TEXT} bytes that are read of one; export a shorter span of time")
}

type Found<'b> = (Cow<'b, str>, &'static Encoding);

fn found(bytes: &[u8], country: Country) -> Result<Found<'_>, String> {
    // Only UTF-16 needs more bytes for a letter than UTF-8 has in one.
    if bytes.len() > LARGEST_TEXT * 2 {
        return Err(too_large());
    }
    if let Some((encoding, length)) = Encoding::for_bom(bytes) {
        let text = bytes.get(length..).unwrap_or_default();
        let cut_off = encoding != UTF_8 && text.len() % 2 == 1;
        let why = || if cut_off { CUT_OFF } else { NO_TEXT }.to_owned();
        return strict(encoding, text).filter(|(text, _)| !text.contains('\0')).ok_or_else(why);
    }
    let has_zeros = bytes.contains(&0);
    if let Some(encoding) = utf16_of(bytes).filter(|_| has_zeros) {
        let text = strict(encoding, bytes).filter(|(text, _)| !text.contains('\0') && is_printable(text));
        return text.ok_or_else(|| NO_TEXT.to_owned());
    }
    if bytes.len() > LARGEST_TEXT {
        return Err(too_large());
    }
    if !has_zeros {
        return found_without_zeros(bytes, country);
    }
    let bare = without_zeros(bytes)?;
    let (text, encoding) = found_without_zeros(&bare, country)?;
    Ok((Cow::Owned(text.into_owned()), encoding))
}

fn found_without_zeros(bytes: &[u8], country: Country) -> Result<Found<'_>, String> {
    let no_text = || NO_TEXT.to_owned();
    // ISO 2022: letters of two bytes, both of seven bits, between marks that begin with an escape.
    if bytes.is_ascii() && bytes.windows(2).any(|pair| pair == b"\x1B$") {
        return strict(ISO_2022_JP, bytes).filter(|(text, _)| is_printable(text)).ok_or_else(no_text);
    }
    if let Some(utf8) = strict(UTF_8, bytes) {
        return Some(utf8).filter(|(text, _)| is_printable(text)).ok_or_else(no_text);
    }
    let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
    feed(&mut detector, bytes);
    let code = country.code().to_ascii_lowercase();
    let domain = if code == "gb" { "uk" } else { code.as_str() };
    let guess = detector.guess(Some(domain.as_bytes()), chardetng::Utf8Detection::Deny);
    let read = strict(guess, bytes).filter(|(text, _)| is_printable(text)).ok_or_else(no_text)?;
    if is_likely(&read.0) {
        return Ok(read);
    }
    // Far from home, the letters of Central Europe are taken for those of the West.
    let mut central = [ISO_8859_2, WINDOWS_1250].into_iter().filter_map(|encoding| strict(encoding, bytes));
    central.find(|(text, _)| is_likely(text)).ok_or_else(|| NOT_CERTAIN.to_owned())
}

/// Bytes of telling lines that an encoding is told from; reading more takes long and tells no more.
const MOST_TELLING: usize = 256 << 10;

/// The lines that have letters beyond ASCII.
fn feed(detector: &mut chardetng::EncodingDetector, bytes: &[u8]) {
    let mut left = MOST_TELLING;
    for line in bytes.split_inclusive(|byte| *byte == b'\n').filter(|line| !line.is_ascii()) {
        let line = line.get(..line.len().min(left)).unwrap_or_default();
        detector.feed(line, false);
        left -= line.len();
        if left == 0 {
            break;
        }
    }
    detector.feed(b"", true);
}

fn strict<'b>(encoding: &'static Encoding, bytes: &'b [u8]) -> Option<Found<'b>> {
    encoding.decode_without_bom_handling_and_without_replacement(bytes).map(|text| (text, encoding))
}

/// Bytes by whose letters the end of UTF-16 is known.
const LOOKED_AT: usize = 16 << 10;

/// UTF-16 without a byte order mark: the end in which there are line ends, delimiters, digits and Latin letters, of
/// which a table has many in whatever script it is, and which come out as letters of far scripts in the other end.
fn utf16_of(bytes: &[u8]) -> Option<&'static Encoding> {
    if bytes.len() % 2 == 1 {
        return None;
    }
    let start = bytes.get(..bytes.len().min(LOOKED_AT)).unwrap_or_default();
    let plain = |unit: fn([u8; 2]) -> u16| {
        let units = start.chunks_exact(2).filter_map(|pair| pair.try_into().ok()).map(unit);
        units.filter(|unit| matches!(unit, 0x09 | 0x0A | 0x0D | 0x20..=0x7E)).count()
    };
    let (little, big) = (plain(u16::from_le_bytes), plain(u16::from_be_bytes));
    // Common practice, no source: one in ten at the least, even among ideographs.
    let fits = little.max(big) * 20 >= start.len();
    fits.then_some(if little >= big { UTF_16LE } else { UTF_16BE })
}

/// Zero bytes pad cells of fixed width, and the end of a file that was written in blocks. A whole block of them
/// anywhere else stands for rows that were lost when the file was saved.
fn without_zeros(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let kept = bytes.iter().rposition(|byte| *byte != 0).map_or(0, |last| last + 1);
    let (text, behind) = bytes.split_at_checked(kept).unwrap_or((bytes, &[]));
    let damaged = |before: &[u8]| {
        let line = before.split(|byte| *byte == b'\n').count();
        format!("has zero bytes in place of text from line {line} on, as files have that were damaged; export it again")
    };
    if behind.len() >= SMALLEST_BLOCK && !text.ends_with(b"\n") && !text.ends_with(b"\r") {
        return Err(damaged(text));
    }
    let mut run = 0;
    for (place, byte) in text.iter().enumerate() {
        run = if *byte == 0 { run + 1 } else { 0 };
        if run >= SMALLEST_BLOCK {
            return Err(damaged(text.get(..place).unwrap_or_default()));
        }
    }
    let bare: Vec<u8> = text.iter().copied().filter(|byte| *byte != 0).collect();
    // In a file of numbers and marks that is no text, zeros are common.
    if bare.len() * 2 < text.len() { Err(NO_TEXT.to_owned()) } else { Ok(bare) }
}

/// Bytes that disks write at once; from memory.
const SMALLEST_BLOCK: usize = 512;

/// Text has few control characters besides tabs and line ends.
fn is_printable(text: &str) -> bool {
    let is_odd = |c: &char| c.is_ascii_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{0B}' | '\u{0C}' | '\u{1A}');
    text.chars().filter(is_odd).count() * 100 <= text.chars().count()
}

/// Whether letters beyond ASCII stand where such letters do, in a reading that may be the wrong one: a sign in the
/// middle of a word, or a capital behind a small letter, shows that it is.
fn is_likely(text: &str) -> bool {
    let (mut all, mut odd) = (0_usize, 0_usize);
    let mut place = 0;
    let mut before = ' ';
    while let Some(rest) = text.get(place..) {
        let Some(start) = rest.find(|c: char| !c.is_ascii()) else { break };
        let run = rest.get(start..).unwrap_or_default();
        let run = run.get(..run.find(|c: char| c.is_ascii()).unwrap_or(run.len())).unwrap_or_default();
        before = rest.get(..start).and_then(|skipped| skipped.chars().next_back()).unwrap_or(before);
        place += start + run.len();
        let behind = text.get(place..).and_then(|rest| rest.chars().next()).unwrap_or(' ');
        // Where the encodings of one byte have no letter (ISO 8859-1: controls), the bytes are in another.
        if run.contains(|c| matches!(c, '\u{80}'..='\u{9F}')) {
            return false;
        }
        // Garbled before, these letters are told where they stand.
        if mojibake::is_garbled(run) {
            continue;
        }
        let mut letters = run.chars().peekable();
        while let Some(letter) = letters.next() {
            let after = letters.peek().copied().unwrap_or(behind);
            all += 1;
            odd += usize::from(is_odd(before, letter, after));
            before = letter;
        }
    }
    odd * 4 <= all
}

/// Whether a letter beyond ASCII is none that people write between these two.
fn is_odd(before: char, letter: char, after: char) -> bool {
    let inside = before.is_alphabetic() && after.is_lowercase();
    match letter {
        // Beside numbers and between words, never in words.
        '£' | '¤' | '¥' | '¦' | '§' | '¬' | '±' | '¶' => before.is_alphabetic() || after.is_alphabetic(),
        // Before words.
        '¡' | '¿' | '«' | '„' | '“' => before.is_alphabetic() && after.is_alphabetic(),
        '¨' | '¯' | '¸' | 'ˆ' | '˜' | '˛' | '˝' | 'ˇ' | '˘' | '˙' => true,
        '¢'
        | '©'
        | '®'
        | '²'
        | '³'
        | '¹'
        | '´'
        | '»'
        | '¼'..='¾'
        | '×'
        | '÷'
        | 'ƒ'
        | '‚'
        | '†'
        | '‡'
        | '‰'
        | '•'
        | '…'
        | '€'
        | '™' => inside,
        // Alone among Latin letters: two bytes of an encoding of one byte a letter.
        _ if is_wide(letter) => {
            !is_wide(before) && !is_wide(after) && (before.is_ascii_alphabetic() || after.is_ascii_alphabetic())
        }
        _ => letter.is_uppercase() && before.is_lowercase(),
    }
}

/// Ideographs and the letters and signs that stand among them.
fn is_wide(c: char) -> bool {
    matches!(c, '\u{2E80}'..='\u{FFEF}')
}

/// A Ctrl-Z marked the end of text files once, and some programs still write it.
fn without_end_mark(text: Cow<'_, str>) -> Cow<'_, str> {
    let length = text.trim_end().len();
    if !text.get(..length).is_some_and(|text| text.ends_with('\u{1A}')) {
        return text;
    }
    let kept = text.trim_end().trim_end_matches('\u{1A}').len();
    match text {
        Cow::Borrowed(text) => Cow::Borrowed(text.get(..kept).unwrap_or(text)),
        Cow::Owned(mut text) => {
            text.truncate(kept);
            Cow::Owned(text)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], country: &str) -> Result<(String, String), String> {
        of(bytes, country.parse().unwrap()).map(|(text, encoding)| (text.into_owned(), encoding))
    }

    fn utf16(text: &str, big: bool) -> Vec<u8> {
        text.encode_utf16().flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect()
    }

    #[test]
    fn utf16_without_a_mark_is_known_in_every_script() {
        for text in ["番号,宛名\n1,灯台守の山田　花子\n", "Ref,Name\n1,Zoë\n", "Номер;Имя\n1;Маяк\n", "札\n灯\n"]
        {
            for (big, name) in [(false, "UTF-16LE"), (true, "UTF-16BE")] {
                assert_eq!(read(&utf16(text, big), "US").unwrap(), (text.to_owned(), name.to_owned()));
            }
        }
        let mut cut = vec![0xFF, 0xFE];
        cut.extend(utf16("Ref,Name\n1,Zoë\n", false));
        cut.pop();
        assert_eq!(read(&cut, "US").unwrap_err(), CUT_OFF);
        assert_eq!(read(&utf16("Ref\0,Name\n", false), "US").unwrap_err(), NO_TEXT);
    }

    #[test]
    fn zeros_that_pad_are_nothing_and_a_block_of_them_is_lost_text() {
        let text = |bytes: &[u8]| read(bytes, "US").map(|(text, _)| text);
        assert_eq!(text(b"Ref,Qty\nA\0\0\0\0,2\0\n").unwrap(), "Ref,Qty\nA,2\n");
        let block = vec![0; SMALLEST_BLOCK];
        assert_eq!(text(&[b"Ref,Qty\nA,2\n", &block[..]].concat()).unwrap(), "Ref,Qty\nA,2\n");
        let why = text(&[b"Ref,Qty\nA,", &block[..]].concat()).unwrap_err();
        assert!(why.starts_with("has zero bytes in place of text from line 2 on"), "{why}");
        let why = text(&[&b"Ref,Qty\nA,2\n".repeat(100), &block[..], b"C,2\n"].concat()).unwrap_err();
        assert!(why.contains("from line 201 on"), "{why}");
        assert_eq!(text(&[0, 0, 0, 1, 0, 0, 0, 2, 0]).unwrap_err(), NO_TEXT);
    }

    // ECMA-48 and DOS, from memory: a form feed parts pages, Ctrl-Z ends the file.
    #[test]
    fn signs_of_old_systems_are_no_letters() {
        assert_eq!(read(b"Ref\n1\n\x1A", "US").unwrap().0, "Ref\n1\n");
        assert_eq!(read(b"Ref\n1\n\x1A\x1A\r\n", "US").unwrap().0, "Ref\n1\n");
        assert_eq!(read("Ref\n1é\n\u{1A}".as_bytes(), "US").unwrap().0, "Ref\n1é\n");
        assert_eq!(read(b"Ref\n1\x1A2\n", "US").unwrap().0, "Ref\n1\u{1A}2\n");
        assert_eq!(read(b"Ref\n\x0C1\x0B\n", "US").unwrap().0, "Ref\n\u{0C}1\u{0B}\n");
    }

    #[test]
    fn japanese_encodings_of_one_two_and_seven_bits_are_told_apart() {
        let text = "番号,宛名,数量\n1,灯台守の山田花子,2\n2,港町の鈴木,1\n";
        for encoding in [encoding_rs::SHIFT_JIS, encoding_rs::EUC_JP, ISO_2022_JP] {
            let (bytes, _, _) = encoding.encode(text);
            assert_eq!(read(&bytes, "US").unwrap(), (text.to_owned(), encoding.name().to_owned()));
        }
    }

    #[test]
    fn central_european_letters_are_known_far_from_home() {
        let text = "Numer;Odbiorca;Ulica\n1;Łucja Źródlana;Świętosławska 3\n2;Stanisław Śnieżek;Łąkowa 1\n";
        for encoding in [ISO_8859_2, WINDOWS_1250] {
            for home in ["US", "DE", "PL"] {
                let (bytes, _, _) = encoding.encode(text);
                assert_eq!(read(&bytes, home).unwrap(), (text.to_owned(), encoding.name().to_owned()), "{home}");
            }
        }
    }

    #[test]
    fn western_letters_and_signs_are_read_as_they_stand() {
        for text in [
            "Ref;Name\n1;Zoë Größe\n2;François L’Écuyer\n",
            "Ref;Name;Each\n1;Añorga;12 £\n2;¿Qué?;£5\n",
            "Ref;Name\n1;Saltmarsh® Badges™ 9 m²\n2;«Été» – „Öl“\n",
            "Ref;Pin\n1;5 € Möwe…\n",
        ] {
            let (bytes, _, _) = encoding_rs::WINDOWS_1252.encode(text);
            assert_eq!(read(&bytes, "US").unwrap().0, text);
        }
    }

    // From memory: bytes of Mac Roman, and of the encodings of DOS.
    #[test]
    fn an_encoding_that_is_not_certain_is_refused() {
        for bytes in [
            &b"Ref;Name\n1;M\x81ller\n2;Gr\x81n\n"[..],
            b"Ref;Name\n1;Zo\x91 Gr\x9A\xA7e\n2;J\x9Arg Wei\xA7enau\n",
            b"Ref;Name\n1;Fran\x8Dois\n",
        ] {
            assert_eq!(read(bytes, "US").unwrap_err(), NOT_CERTAIN, "{bytes:?}");
        }
    }

    #[test]
    fn text_that_would_not_fit_into_memory_is_refused() {
        let row = b"Ref,Name,Qty\n";
        let long = row.repeat(LARGEST_TEXT / row.len() + 1);
        assert!(read(&long, "US").unwrap_err().contains("export a shorter span"));
        assert!(read(&vec![b'a'; LARGEST_TEXT * 2 + 1], "US").unwrap_err().contains("export a shorter span"));
    }
}
