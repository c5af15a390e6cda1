//! ZIP files: a spreadsheet, or one export that was packed.
//!
//! Handed the bytes; promises what the archive is by what lies in it, and of a packed export its bytes, unpacked no
//! further than any export is long. Turned down: taking several files of one archive in, where a refusal of one
//! could not be told from that of another; and an archive in an archive, which can be as deep as one likes.

use std::io::{Cursor, Read as _};

use zip::ZipArchive;
use zip::result::ZipError;

use super::LARGEST_TEXT;

/// Entries of an archive; common practice, no source: a spreadsheet has some twenty, and one for each picture.
const MOST_ENTRIES: u16 = 1_000;
/// Bytes of the list of their names.
const LONGEST_LIST: usize = 1 << 20;
/// A ZIP's last record is 22 bytes long, with a remark of at most 65,535 behind it (APPNOTE 6.3.10, section 4.3.16).
const LONGEST_TAIL: usize = 22 + 65_535;

/// What an archive turned out to be.
#[derive(Debug)]
pub(in crate::inbox) enum Packed {
    Xlsx,
    Ods,
    /// The bytes of the one file in it.
    Export(Vec<u8>),
}

/// What a ZIP file is.
pub(in crate::inbox) fn open(bytes: &[u8]) -> Result<Packed, String> {
    let damaged = |why: &dyn std::fmt::Display| {
        format!("the ZIP file can't be opened ({why}); pack it again, or drop what is in it")
    };
    if !has_few_entries(bytes) {
        return Err(format!(
            "the ZIP file has more than {MOST_ENTRIES} entries, or is cut off; drop what is in it, one by one"
        ));
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    let mut exports = Vec::new();
    for index in 0..archive.len() {
        let entry = archive.by_index_raw(index).map_err(|error| damaged(&error))?;
        let name = entry.name().map_err(|error| damaged(&error))?.into_owned();
        let is_folder = entry.is_dir() || name.ends_with('\\');
        drop(entry);
        match name.as_str() {
            "[Content_Types].xml" => return kind_of_office_file(&mut archive),
            "mimetype" => return kind_of_open_document(&mut archive),
            _ if is_folder || is_clutter(&name) => {}
            _ => exports.push((index, name)),
        }
    }
    let [(index, name)] = exports.as_slice() else {
        return Err(if exports.is_empty() {
            "the ZIP file has no file in it; drop the export itself".to_owned()
        } else {
            format!("the ZIP file has {} files in it; unpack it and drop them one by one", exports.len())
        });
    };
    let entry = archive.by_index(*index).map_err(|error| {
        if matches!(error, ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) | ZipError::InvalidPassword) {
            format!("`{name}` in the ZIP file is locked with a password; unpack it and drop it")
        } else {
            damaged(&error)
        }
    })?;
    let too_large = || {
        format!(
            "`{name}` in the ZIP file unpacks to more than the {LARGEST_TEXT} bytes that are read; export a shorter span of time"
        )
    };
    if entry.size() > LARGEST_TEXT as u64 {
        return Err(too_large());
    }
    let mut unpacked = Vec::with_capacity(usize::try_from(entry.size()).unwrap_or_default());
    entry.take(LARGEST_TEXT as u64 + 1).read_to_end(&mut unpacked).map_err(|error| damaged(&error))?;
    if unpacked.len() > LARGEST_TEXT {
        return Err(too_large());
    }
    Ok(Packed::Export(unpacked))
}

/// What the packers of some systems put beside what was packed; common practice, no source.
fn is_clutter(name: &str) -> bool {
    let mut parts = name.split(['/', '\\']);
    let last = parts.next_back().unwrap_or_default();
    parts.any(|part| part == "__MACOSX")
        || last.starts_with("._")
        || matches!(last, ".DS_Store" | "Thumbs.db" | "desktop.ini")
}

type Archive<'b> = ZipArchive<Cursor<&'b [u8]>>;

/// The start of a part, as text.
fn start_of(archive: &mut Archive<'_>, name: &str) -> String {
    let mut start = Vec::new();
    if let Ok(part) = archive.by_name(name) {
        // What can't be unpacked is no kind of file that is known.
        let _ = part.take(256 << 10).read_to_end(&mut start);
    }
    String::from_utf8_lossy(&start).into_owned()
}

/// ECMA-376, part 2, section 10.1.2.2: the types of an office file's parts.
fn kind_of_office_file(archive: &mut Archive<'_>) -> Result<Packed, String> {
    let types = start_of(archive, "[Content_Types].xml");
    if types.contains("spreadsheetml.") || types.contains("ms-excel.sheet.macroEnabled") {
        Ok(Packed::Xlsx)
    } else if types.contains("ms-excel.sheet.binary") {
        Err("this spreadsheet is in the binary form XLSB; save it as XLSX or CSV and drop that".to_owned())
    } else {
        Err("this is no spreadsheet but another kind of office file; export it as CSV and drop that".to_owned())
    }
}

/// ODF 1.2, part 3, section 3.3: the first entry names the type of the document.
fn kind_of_open_document(archive: &mut Archive<'_>) -> Result<Packed, String> {
    if start_of(archive, "mimetype").starts_with("application/vnd.oasis.opendocument.spreadsheet") {
        Ok(Packed::Ods)
    } else {
        Err("this is no spreadsheet but another kind of document; export it as CSV and drop that".to_owned())
    }
}

/// Whether the archive's last record claims few entries, and names them in a short list right before it: room is made
/// for as many as it claims, and names are kept. More than 65,535 are claimed in another record, which stands before
/// it (APPNOTE, sections 4.3.15 and 4.3.16).
fn has_few_entries(bytes: &[u8]) -> bool {
    let from = bytes.len().saturating_sub(LONGEST_TAIL);
    let field = |at: usize| bytes.get(at..at + 2).and_then(|field| field.try_into().ok()).map(u16::from_le_bytes);
    let place = |at: usize| {
        let field = bytes.get(at..at + 4).and_then(|field| field.try_into().ok()).map(u32::from_le_bytes);
        field.and_then(|field| usize::try_from(field).ok())
    };
    // One with a longer remark than the file has bytes is none.
    let ends_within = |at: &usize| field(at + 20).is_some_and(|remark| at + 22 + usize::from(remark) <= bytes.len());
    let signed = |at: &usize| bytes.get(*at..at + 4) == Some(b"PK\x05\x06");
    let Some(last) = (from..bytes.len().saturating_sub(21)).rev().filter(signed).find(ends_within) else {
        return false;
    };
    let named = place(last + 12).zip(place(last + 16));
    field(last + 10).is_some_and(|claimed| claimed <= MOST_ENTRIES)
        && named.is_some_and(|(size, start)| size <= LONGEST_LIST && size.checked_add(start) == Some(last))
        && last.checked_sub(20).and_then(|before| bytes.get(before..before + 4)) != Some(b"PK\x06\x07")
}

#[cfg(test)]
pub(in crate::inbox) mod tests {
    use std::io::Write as _;

    use zip::write::SimpleFileOptions;
    use zip::{CompressionMethod, ZipWriter};

    use super::*;

    /// A ZIP file of those entries.
    pub(in crate::inbox) fn zipped(entries: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, bytes) in entries {
            let how = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
            writer.start_file(*name, how).unwrap();
            writer.write_all(bytes).unwrap();
        }
        writer.finish().unwrap().into_inner()
    }

    fn export(entries: &[(&str, &[u8])]) -> Result<Vec<u8>, String> {
        match open(&zipped(entries))? {
            Packed::Export(bytes) => Ok(bytes),
            workbook @ (Packed::Xlsx | Packed::Ods) => panic!("{workbook:?}"),
        }
    }

    #[test]
    fn the_one_export_is_found_among_what_packers_add() {
        let all: [(&str, &[u8]); 5] = [
            ("out/", b""),
            ("out/a.csv", b"Ref,Qty\n"),
            ("__MACOSX/out/._a.csv", b"x"),
            ("out/.DS_Store", b"x"),
            ("._a.csv", b"x"),
        ];
        assert_eq!(export(&all).unwrap(), b"Ref,Qty\n");
    }

    #[test]
    fn an_archive_of_none_or_of_several_is_refused() {
        let why = export(&[("a.csv", b"x"), ("b.csv", b"y")]).unwrap_err();
        assert_eq!(why, "the ZIP file has 2 files in it; unpack it and drop them one by one");
        assert!(export(&[("out/", b"")]).unwrap_err().contains("no file in it"));
    }

    #[test]
    fn office_files_are_known_by_what_is_in_them() {
        let types = |kind: &str| format!("<Types><Override ContentType=\"application/vnd.{kind}.main+xml\"/></Types>");
        let kind = |name: &str, text: String| open(&zipped(&[(name, text.as_bytes())]));
        let types_of = |name: &str| kind("[Content_Types].xml", types(name));
        assert!(matches!(types_of("openxmlformats-officedocument.spreadsheetml.sheet"), Ok(Packed::Xlsx)));
        assert!(matches!(types_of("ms-excel.sheet.macroEnabled"), Ok(Packed::Xlsx)));
        assert!(types_of("ms-excel.sheet.binary").unwrap_err().contains("XLSB"));
        assert!(
            types_of("openxmlformats-officedocument.wordprocessingml.document").unwrap_err().contains("another kind")
        );
        let mime = |name: &str| kind("mimetype", format!("application/vnd.oasis.opendocument.{name}"));
        assert!(matches!(mime("spreadsheet"), Ok(Packed::Ods)));
        assert!(mime("text").unwrap_err().contains("another kind"));
    }

    #[test]
    fn no_more_is_unpacked_than_is_read() {
        let bomb = zipped(&[("a.csv", &vec![b'a'; LARGEST_TEXT + 1])]);
        assert!(open(&bomb).unwrap_err().contains("unpacks to more than"));
        // The same, saying of itself that it is small.
        let mut liar = bomb;
        for signature in [b"PK\x01\x02", b"PK\x03\x04"] {
            let at = liar.windows(4).position(|window| window == signature).unwrap();
            let size = at + if signature == b"PK\x01\x02" { 24 } else { 22 };
            liar[size..size + 4].copy_from_slice(&9_u32.to_le_bytes());
        }
        assert!(open(&liar).unwrap_err().contains("larger than its declared"));
    }

    #[test]
    fn an_archive_that_claims_too_many_entries_is_not_opened() {
        let mut claims = zipped(&[("a.csv", b"x")]);
        let end = claims.len() - 22;
        claims[end + 8..end + 12].copy_from_slice(&[0xFF; 4]);
        assert!(open(&claims).unwrap_err().contains("more than 1000 entries"));
        assert!(open(b"PK\x03\x04 and nothing more").unwrap_err().contains("cut off"));
    }

    #[test]
    fn an_archive_within_an_archive_is_told_from_it() {
        let inner = zipped(&[("a.csv", b"x")]);
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        let how = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        writer.start_file("a.zip", how).unwrap();
        writer.write_all(&inner).unwrap();
        let outer = writer.finish().unwrap().into_inner();
        assert!(matches!(open(&outer), Ok(Packed::Export(bytes)) if bytes == inner));
    }

    #[test]
    fn a_locked_export_says_so() {
        let mut locked = zipped(&[("a.csv", b"x")]);
        for (signature, flags) in [(b"PK\x01\x02", 8), (b"PK\x03\x04", 6)] {
            let at = locked.windows(4).position(|window| window == signature).unwrap();
            locked[at + flags] |= 1;
        }
        assert!(open(&locked).unwrap_err().contains("password"));
    }
}
