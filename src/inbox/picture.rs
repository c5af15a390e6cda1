//! Pictures of receipts: PNG, JPEG, WebP and PDF, known by their first bytes.
//!
//! Handed the bytes and the file's name; promises that the picture is whole and of a size that can be printed later, or
//! the reason why it is refused. What is in it can't be read, so the name may say which parcels it is for: `1125-01
//! 1125-02 counter.jpg`, a tracking number, or `1125.jpg` for all of a day's hand-off. The name is never what makes it a
//! picture. Turned down: reading the words in it, which would be a guess at figures that are to be evidence.

use std::collections::BTreeMap;
use std::io::Cursor;
use std::sync::Arc;

use image::{ImageFormat, ImageReader, Limits};

use crate::model::carrier::{PictureFormat, ReceiptPicture};
use crate::model::drop::{Content, Reading, Rows};
use crate::model::parcel::ParcelRef;
use crate::plan::tracking;

use super::{ReadError, unreadable};

/// Bytes of a picture: a telephone's are a quarter of it (common practice, no source).
pub(super) const LARGEST: usize = 16 << 20;

/// Pixels of a picture, four times a usual telephone's: more is a slow print, and may be made to fill the memory.
const MOST_PIXELS: u64 = 50_000_000;

/// Bytes that decoding may take: of [`MOST_PIXELS`] with four channels, and what the decoder needs beside them.
const MOST_MEMORY: u64 = 320 << 20;

/// Pages of a PDF: a receipt has one or two (common practice, no source).
const MOST_PAGES: usize = 20;

/// What a file is by its first bytes; the signatures are those of PNG (W3C, section 5.2), JPEG (ITU-T T.81, annex B.1.1.3),
/// WebP (RFC 9649, section 2.4) and PDF (ISO 32000-2, section 7.5.2).
fn format(bytes: &[u8]) -> Option<PictureFormat> {
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some(PictureFormat::Png)
    } else if bytes.starts_with(b"\xFF\xD8\xFF") {
        Some(PictureFormat::Jpeg)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Some(PictureFormat::Webp)
    } else if bytes.starts_with(b"%PDF-") {
        Some(PictureFormat::Pdf)
    } else {
        None
    }
}

/// Pictures that no page can be made of, by the brand that stands behind their first box (ISO/IEC 14496-12; from memory).
fn is_of_another_kind(bytes: &[u8]) -> bool {
    let brand = bytes.get(8..12).unwrap_or_default();
    bytes.get(4..8) == Some(b"ftyp")
        && [&b"heic"[..], b"heix", b"heim", b"heis", b"mif1", b"msf1", b"avif"].contains(&brand)
}

/// Reads a picture; `None` for what is none.
pub(super) fn read(file: &str, bytes: &[u8]) -> Option<Result<Reading, ReadError>> {
    if is_of_another_kind(bytes) {
        let why = "this is a picture that no page can be made of (HEIC or AVIF); save it as JPEG or PNG and drop that";
        return Some(Err(unreadable(file, why)));
    }
    let format = format(bytes)?;
    Some(whole(format, bytes).map(|shape| reading(file, format, shape)).map_err(|why| unreadable(file, why)))
}

/// Width and height in pixels, and pages.
type Shape = (Option<u32>, Option<u32>, u32);

fn reading(file: &str, format: PictureFormat, (width, height, pages): Shape) -> Reading {
    let (parcels, tracking, day) = named(file);
    Reading {
        content: Content::ReceiptPicture(ReceiptPicture { format, width, height, pages, parcels, tracking, day }),
        source: None,
        encoding: format.word().to_owned(),
        delimiter: None,
        header_line: None,
        rows: Rows::default(),
        refused: Vec::new(),
        remarks: Vec::new(),
        matched: None,
        headers: Vec::new(),
        headers_again: Vec::new(),
        sheet_rows: BTreeMap::new(),
    }
}

/// The shape of a picture that is whole.
fn whole(format: PictureFormat, bytes: &[u8]) -> Result<Shape, String> {
    if bytes.len() > LARGEST {
        let most = LARGEST >> 20;
        return Err(format!("is a picture of more than {most} MiB; save it smaller, or take it with fewer pixels"));
    }
    match format {
        // Decoders don't wait for the end, and fill up what is missing of a JPEG with grey.
        PictureFormat::Png | PictureFormat::Webp | PictureFormat::Jpeg if !is_ended(format, bytes) => {
            Err(damaged("it is cut off"))
        }
        PictureFormat::Png => pixels(ImageFormat::Png, bytes),
        PictureFormat::Webp => pixels(ImageFormat::WebP, bytes),
        PictureFormat::Jpeg => pixels(ImageFormat::Jpeg, bytes),
        PictureFormat::Pdf => pages(bytes),
    }
}

fn damaged(why: &str) -> String {
    format!("is a picture that is damaged ({why}); take it or save it once more, and drop that")
}

fn pixels(format: ImageFormat, bytes: &[u8]) -> Result<Shape, String> {
    let reader = || {
        let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
        let mut limits = Limits::default();
        limits.max_alloc = Some(MOST_MEMORY);
        reader.limits(limits);
        reader
    };
    let (width, height) = reader().into_dimensions().map_err(|error| damaged(&error.to_string()))?;
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        let most = MOST_PIXELS / 1_000_000;
        return Err(format!("is a picture of {width} × {height} pixels, more than {most} million; save it smaller"));
    }
    reader().decode().map_err(|error| damaged(&error.to_string()))?;
    Ok((Some(width), Some(height), 1))
}

/// Whether the picture is there up to its end.
fn is_ended(format: PictureFormat, bytes: &[u8]) -> bool {
    match format {
        // Its last chunk is empty, so the whole of it is known.
        PictureFormat::Png => bytes.windows(8).any(|end| end == b"IEND\xAE\x42\x60\x82"),
        PictureFormat::Jpeg => is_jpeg_ended(bytes),
        PictureFormat::Webp => {
            let length = bytes.get(4..8).and_then(|four| <[u8; 4]>::try_from(four).ok()).map(u32::from_le_bytes);
            length.and_then(|length| usize::try_from(length).ok()).is_some_and(|length| bytes.len() - 8 >= length)
        }
        PictureFormat::Pdf => true,
    }
}

/// Whether the picture's own end mark stands behind its scan: one in a thumbnail, before it, doesn't count (ITU-T T.81,
/// annex B.1: markers, and segments with their lengths).
fn is_jpeg_ended(bytes: &[u8]) -> bool {
    let mut at = 2;
    while let Some([0xFF, marker, high, low]) = bytes.get(at..at + 4) {
        match marker {
            0xDA => return bytes.get(at..).is_some_and(|scan| scan.windows(2).any(|pair| pair == [0xFF, 0xD9])),
            // A fill byte before a marker.
            0xFF => at += 1,
            _ => at += 2 + usize::from(u16::from_be_bytes([*high, *low])),
        }
    }
    false
}

fn pages(bytes: &[u8]) -> Result<Shape, String> {
    let pdf = |why: &str| {
        format!(
            "is a PDF that is damaged ({why}); save the receipt once more and drop that, or if it holds orders, export them as CSV"
        )
    };
    // Readers put a file without its end together as well as they can; ISO 32000-2, section 7.5.5.
    let tail = bytes.get(bytes.len().saturating_sub(1024)..).unwrap_or_default();
    if !tail.windows(5).any(|end| end == b"%%EOF") {
        return Err(pdf("it is cut off"));
    }
    let read = hayro_syntax::Pdf::new(Arc::new(bytes.to_vec())).map_err(|error| match error {
        hayro_syntax::LoadPdfError::Decryption(_) => {
            "is a PDF that is locked with a password; save it without one, and drop that".to_owned()
        }
        hayro_syntax::LoadPdfError::Invalid => pdf("it can't be opened"),
    })?;
    match read.pages().len() {
        0 => Err(pdf("it has no page")),
        count if count > MOST_PAGES => Err(format!(
            "is a PDF of {count} pages, more than the {MOST_PAGES} that a receipt may have; if it holds orders, export \
             them as CSV and drop that"
        )),
        count => Ok((None, None, u32::try_from(count).unwrap_or(u32::MAX))),
    }
}

/// What a name says of whose receipt it is.
type Named = (Vec<ParcelRef>, Vec<String>, Option<(i8, i8)>);

/// The refs, tracking numbers or day in a file's name.
fn named(file: &str) -> Named {
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let words: Vec<&str> =
        stem.split(|c: char| !c.is_alphanumeric() && c != '-').filter(|word| !word.is_empty()).collect();
    let parcels: Vec<ParcelRef> =
        words.iter().filter(|word| is_ref(word)).map(|word| ParcelRef((*word).to_owned())).collect();
    let day = match words.as_slice() {
        // A camera names its pictures by numbers too, but with a word before them.
        [day, rest @ ..] if rest.iter().all(|word| word.chars().all(char::is_alphabetic)) => month_and_day(day),
        _ => None,
    };
    (parcels, numbers(&words), day)
}

/// `1125-01`.
fn is_ref(word: &str) -> bool {
    let Some((day, number)) = word.split_once('-') else { return false };
    let is_number = (2..=3).contains(&number.len()) && number.bytes().all(|b| b.is_ascii_digit());
    month_and_day(day).is_some() && is_number
}

/// `1125`.
fn month_and_day(word: &str) -> Option<(i8, i8)> {
    let is_day = word.len() == 4 && word.bytes().all(|b| b.is_ascii_digit());
    let (month, day) = word.split_at_checked(2).filter(|_| is_day)?;
    let (month, day) = (month.parse().ok()?, day.parse().ok()?);
    // Any leap year will do: the year isn't said.
    jiff::civil::Date::new(2024, month, day).ok().map(|_| (month, day))
}

/// Digits of a group of a number that is written in groups.
const LONGEST_GROUP: usize = 5;

/// Words, or short ones that follow one another, that are a carrier's numbers and whose check digit holds.
fn numbers(words: &[&str]) -> Vec<String> {
    let mut found = Vec::new();
    let mut from = 0;
    while from < words.len() {
        let rest = words.get(from..).unwrap_or_default();
        let short = rest.iter().take_while(|word| word.len() <= LONGEST_GROUP).count().max(1);
        let valid = (1..=short).rev().find_map(|count| {
            let number = tracking::identify(&rest.get(..count)?.concat());
            number.valid.then_some((count, number.number))
        });
        from += valid.as_ref().map_or(1, |(count, _)| *count);
        found.extend(valid.map(|(_, number)| number));
    }
    found
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;
    use crate::inbox::test_home::read_with;

    /// A picture of `width` × `height`.
    fn picture(format: ImageFormat, width: u32, height: u32) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        let picture = image::RgbImage::from_fn(width, height, |x, y| {
            image::Rgb([x, y, 90].map(|shade| u8::try_from(shade % 256).unwrap()))
        });
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    fn read_as(bytes: &[u8]) -> Result<ReceiptPicture, String> {
        match read_with(bytes, &[]) {
            Ok(Reading { content: Content::ReceiptPicture(picture), .. }) => Ok(picture),
            Err(ReadError::Unreadable(why)) => Err(why.reason),
            other => panic!("{other:?}"),
        }
    }

    /// A page with nothing on it, by hand (ISO 32000-2, annex H.2).
    fn pdf(pages: usize) -> Vec<u8> {
        let kids: Vec<String> = (0..pages).map(|page| format!("{} 0 R", page + 3)).collect();
        let mut objects = vec![
            "<</Type/Catalog/Pages 2 0 R>>".to_owned(),
            format!("<</Type/Pages/Count {pages}/Kids[{}]>>", kids.join(" ")),
        ];
        objects.extend((0..pages).map(|_| "<</Type/Page/Parent 2 0 R/MediaBox[0 0 200 300]>>".to_owned()));
        let mut text = "%PDF-1.4\n".to_owned();
        let mut places = Vec::new();
        for (number, object) in (1..).zip(&objects) {
            places.push(text.len());
            write!(text, "{number} 0 obj\n{object}\nendobj\n").unwrap();
        }
        let table = text.len();
        write!(text, "xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1).unwrap();
        for place in places {
            writeln!(text, "{place:010} 00000 n ").unwrap();
        }
        write!(text, "trailer\n<</Size {}/Root 1 0 R>>\nstartxref\n{table}\n%%EOF\n", objects.len() + 1).unwrap();
        text.into_bytes()
    }

    #[test]
    fn whole_pictures_are_known_by_what_they_are() {
        for (format, word) in [(ImageFormat::Png, "png"), (ImageFormat::Jpeg, "jpeg"), (ImageFormat::WebP, "webp")] {
            let found = read_as(&picture(format, 40, 30)).unwrap();
            assert_eq!((found.format.word(), found.width, found.height), (word, Some(40), Some(30)));
        }
        let found = read_as(&pdf(2)).unwrap();
        assert_eq!((found.format, found.width, found.pages), (PictureFormat::Pdf, None, 2));
    }

    #[test]
    fn damaged_pictures_are_refused() {
        for format in [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::WebP] {
            let bytes = picture(format, 60, 60);
            for cut in [bytes.len() / 2, bytes.len() - 3, 16] {
                let why = read_as(&bytes[..cut]).unwrap_err();
                assert!(why.contains("damaged"), "{format:?} {cut}: {why}");
            }
        }
        let whole = pdf(1);
        assert!(read_as(&whole[..whole.len() - 8]).unwrap_err().contains("cut off"));
        assert!(read_as(b"%PDF-1.7\nnothing\n%%EOF\n").unwrap_err().contains("can't be opened"));
        assert!(read_as(&pdf(21)).unwrap_err().contains("21 pages"));
        assert!(read_as(b"\0\0\0\x18ftypheic\0\0\0\0").unwrap_err().contains("HEIC"));
    }

    #[test]
    fn a_thumbnail_has_an_end_of_its_own() {
        let bytes = picture(ImageFormat::Jpeg, 60, 60);
        let mut cut = bytes[..2].to_vec();
        // An application segment that holds an end mark.
        cut.extend([0xFF, 0xE1, 0x00, 0x06, 0xFF, 0xD9, 0x00, 0x00]);
        let whole: Vec<u8> = [cut.as_slice(), &bytes[2..]].concat();
        assert!(read_as(&whole).is_ok());
        cut.extend(&bytes[2..bytes.len() - 2]);
        assert!(read_as(&cut).unwrap_err().contains("cut off"));
    }

    /// A PNG whose header promises 60,000 × 60,000 pixels in a few bytes.
    #[test]
    fn a_picture_that_would_fill_the_memory_is_refused_unseen() {
        let mut bytes = picture(ImageFormat::Png, 8, 8);
        bytes[16..24].copy_from_slice(&[0, 0, 0xEA, 0x60, 0, 0, 0xEA, 0x60]);
        let crc = crc32(&bytes[12..29]);
        bytes[29..33].copy_from_slice(&crc.to_be_bytes());
        assert!(read_as(&bytes).unwrap_err().contains("60000 × 60000"));
        let mut large = picture(ImageFormat::Png, 8, 8);
        large.resize(LARGEST + 1, 0);
        assert!(read_as(&large).unwrap_err().contains("more than 16 MiB"));
    }

    /// CRC-32 as PNG has it (W3C PNG, annex D).
    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0_u32, |sum, byte| {
            (0..8).fold(sum ^ u32::from(*byte), |sum, _| if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 })
        })
    }

    #[test]
    fn a_name_tells_refs_numbers_or_a_day() {
        let refs = |name: &str| named(name).0.into_iter().map(|parcel| parcel.0).collect::<Vec<_>>();
        assert_eq!(refs("1125-01 1125-02 counter.jpg"), ["1125-01", "1125-02"]);
        assert_eq!(refs("receipt_1125-03,1125-04(2).pdf"), ["1125-03", "1125-04"]);
        for none in ["2026-11-25 counter.jpg", "IMG_1125.jpg", "1399-01.png", "1125-1.png", "scan 2026-11.png"] {
            assert_eq!(refs(none), [""; 0], "{none}");
        }
        let day = |name: &str| named(name).2;
        assert_eq!(
            [day("1125.jpg"), day("1125 counter.png"), day("0229.jpg")],
            [Some((11, 25)), Some((11, 25)), Some((2, 29))]
        );
        for none in ["IMG_1125.jpg", "1125 2.jpg", "0230.jpg", "11252.jpg", "1125-01.jpg", ".jpg"] {
            assert_eq!(day(none), None, "{none}");
        }
        // RB123456785GB: check digit worked out by hand with the weights of UPU S10.
        for name in ["RB123456785GB.jpg", "counter RB 1234 5678 5 GB.jpg", "rb123456785gb receipt.png"] {
            assert_eq!(named(name).1, ["RB123456785GB"], "{name}");
        }
        assert_eq!(named("RB123456784GB.jpg").1, [""; 0]);
    }

    proptest::proptest! {
        #[test]
        fn no_bytes_behind_a_signature_panic(
            start in proptest::sample::select(vec![&b"\x89PNG\r\n\x1a\n"[..], b"\xFF\xD8\xFF", b"RIFF\0\0\0\0WEBPVP8 ", b"%PDF-1.7\n"]),
            bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..300),
            name in "[0-9a-zA-Z ._-]{0,40}",
        ) {
            let all = [start, &bytes, b"%%EOF"].concat();
            proptest::prop_assert!(read(&name, &all).is_some());
        }
    }
}
