//! Kinds of files that are known and not read, each with a word on what to drop instead.
//!
//! Handed the first bytes, or the text; promises a reason where a file is certainly of such a kind. Turned down: one
//! reason for everything that is no table, which leaves people to find out what they saved.

/// First bytes and what they are; from memory, as the programs that write them have them.
const SIGNATURES: [(&[u8], &str); 11] = [
    (b"%PDF-", "this is a PDF; export it as CSV and drop that"),
    (b"\x89PNG", "this is a picture; export the orders as CSV and drop that"),
    (b"\xFF\xD8\xFF", "this is a picture; export the orders as CSV and drop that"),
    (
        b"GIF8",
        "this is a picture of a kind that is not read (GIF); save a receipt as PNG or JPEG, export orders as CSV",
    ),
    (b"\x1F\x8B", "this is packed with gzip; unpack it and drop what is in it"),
    (b"7z\xBC\xAF\x27\x1C", "this is packed with 7z; unpack it and drop what is in it"),
    (b"Rar!", "this is packed with RAR; unpack it and drop what is in it"),
    (b"{\\rtf", "this is formatted text (RTF); save it as plain text or CSV and drop that"),
    (b"SQLite format 3\0", "this is a database; export it as CSV and drop that"),
    (b"\xFF\xFE\x00\x00", "this is encoded as UTF-32; save it as UTF-8 and drop that"),
    (b"\x00\x00\xFE\xFF", "this is encoded as UTF-32; save it as UTF-8 and drop that"),
];

/// By its first bytes, why a file is not read.
pub(super) fn known_and_not_read(bytes: &[u8]) -> Option<&'static str> {
    SIGNATURES.iter().find(|(start, _)| bytes.starts_with(start)).map(|(_, why)| *why)
}

/// By how its text begins, why a file is not read.
pub(super) fn markup_and_not_read(text: &str) -> Option<&'static str> {
    let start: String = text.trim_start().chars().take(15).collect::<String>().to_lowercase();
    let begins = |with: &str| start.starts_with(with);
    if begins("<!doctype html") || begins("<html") {
        Some("this is a web page and no export; sign in at the source and export again")
    } else if begins("<table") {
        Some("this is a table of a web page; open it in a spreadsheet, save it as XLSX or CSV and drop that")
    } else if begins("<?xml") {
        Some("this is XML; open it in a spreadsheet, save it as XLSX or CSV and drop that")
    } else if begins("{\"") || begins("[{") || begins("{\n") || begins("{\r\n") {
        Some("this is JSON; export it as CSV and drop that")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_says_what_to_drop_instead() {
        for (bytes, word) in [
            (&b"%PDF-1.7\n"[..], "PDF"),
            (b"\x1F\x8B\x08\x00", "gzip"),
            (b"\xFF\xFE\x00\x00a\x00\x00\x00", "UTF-32"),
            (b"\x00\x00\xFE\xFF\x00\x00\x00a", "UTF-32"),
        ] {
            assert!(known_and_not_read(bytes).unwrap().contains(word), "{word}");
        }
        for (text, word) in [
            ("\n <!DOCTYPE html><p>", "web page"),
            ("<table border=1>", "table of a web page"),
            ("<?xml version=\"1.0\"?><Workbook>", "XML"),
            ("[{\"ref\": 1}]", "JSON"),
            ("{\n  \"orders\": []", "JSON"),
        ] {
            assert!(markup_and_not_read(text).unwrap().contains(word), "{word}");
        }
        for text in ["Ref,Qty\n", "[draft] Ref;Qty\n", "<3 orders\n", "{Ref},Qty\n"] {
            assert_eq!(markup_and_not_read(text), None, "{text}");
        }
    }
}
