//! Any bytes as a file: as they are, or packed as a ZIP, or as the part of a workbook that is read first.

#![no_main]

use std::io::{Cursor, Write as _};

use libfuzzer_sys::fuzz_target;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let how = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in parts {
        writer.start_file(*name, how).expect("memory takes it");
        writer.write_all(bytes).expect("memory takes it");
    }
    writer.finish().expect("memory takes it").into_inner()
}

const TYPES: &[u8] = b"<Types><Override ContentType=\"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml\"/></Types>";
const RELATIONS: &[u8] = b"<Relationships><Relationship Id=\"r\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>";
const BOOK_RELATIONS: &[u8] = b"<Relationships><Relationship Id=\"a\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>";
const BOOK: &[u8] = b"<workbook><sheets><sheet name=\"a\" sheetId=\"1\" r:id=\"a\"/></sheets></workbook>";
const STYLES: &[u8] =
    b"<styleSheet><cellXfs count=\"2\"><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>";
const MIME: &[u8] = b"application/vnd.oasis.opendocument.spreadsheet";
const MANIFEST: &[u8] = b"<manifest:manifest><manifest:file-entry manifest:full-path=\"/\"/></manifest:manifest>";

fuzz_target!(|bytes: &[u8]| {
    let (first, rest) = bytes.split_first().unwrap_or((&b'.', &[]));
    // Texts and cells of a workbook, parted by a zero byte.
    let (texts, cells) = match rest.iter().position(|byte| *byte == 0) {
        Some(place) => (&rest[..place], &rest[place + 1..]),
        None => (&b"<sst/>"[..], rest),
    };
    let file = match first {
        b'X' => zipped(&[
            ("[Content_Types].xml", TYPES),
            ("_rels/.rels", RELATIONS),
            ("xl/workbook.xml", BOOK),
            ("xl/_rels/workbook.xml.rels", BOOK_RELATIONS),
            ("xl/styles.xml", STYLES),
            ("xl/sharedStrings.xml", texts),
            ("xl/worksheets/sheet1.xml", cells),
        ]),
        b'O' => zipped(&[("mimetype", MIME), ("META-INF/manifest.xml", MANIFEST), ("content.xml", rest)]),
        b'Z' => zipped(&[("a.csv", rest)]),
        _ => bytes.to_vec(),
    };
    dawnpack_fuzz::laws(&file, &dawnpack_fuzz::maps());
});
