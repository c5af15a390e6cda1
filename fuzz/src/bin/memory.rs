//! The most that reading costs: hostile and huge files, each with the memory and the time it took.
//!
//! Handed nothing, or a word of the cases to try; promises to fail where a file takes more than 64 MiB beyond its own
//! bytes, or 5 s of reckoning, as built for development. It stands here since counting memory takes an allocator of
//! one's own, which a test of the house can't have beside its others.

use std::io::{Cursor, Write as _};
use std::process::ExitCode;
use std::time::Instant;

use peak_alloc::PeakAlloc;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

#[global_allocator]
static ALLOCATOR: PeakAlloc = PeakAlloc;

const MOST_BYTES: usize = 64 << 20;
const LONGEST_SECONDS: f64 = 5.0;
const MIB: usize = 1 << 20;

fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let how = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    for (name, bytes) in parts {
        writer.start_file(*name, how).expect("memory takes it");
        writer.write_all(bytes).expect("memory takes it");
    }
    writer.finish().expect("memory takes it").into_inner()
}

fn xlsx(texts: &str, styles: &str, sheet: &str) -> Vec<u8> {
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let relation = |kind: &str, target: &str| {
        format!("<Relationships><Relationship Id=\"a\" Type=\"{OFFICE}/{kind}\" Target=\"{target}\"/></Relationships>")
    };
    zipped(&[
        ("[Content_Types].xml", b"<Types><Override ContentType=\"a.spreadsheetml.sheet.main+xml\"/></Types>"),
        ("_rels/.rels", relation("officeDocument", "xl/workbook.xml").as_bytes()),
        ("xl/workbook.xml", b"<workbook><sheets><sheet name=\"a\" sheetId=\"1\" r:id=\"a\"/></sheets></workbook>"),
        ("xl/_rels/workbook.xml.rels", relation("worksheet", "worksheets/sheet1.xml").as_bytes()),
        ("xl/styles.xml", format!("<styleSheet><cellXfs>{styles}</cellXfs></styleSheet>").as_bytes()),
        ("xl/sharedStrings.xml", texts.as_bytes()),
        ("xl/worksheets/sheet1.xml", format!("<worksheet><sheetData>{sheet}</sheetData></worksheet>").as_bytes()),
    ])
}

fn ods(content: &str) -> Vec<u8> {
    zipped(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", b"<manifest:manifest><manifest:file-entry/></manifest:manifest>"),
        ("content.xml", content.as_bytes()),
    ])
}

fn ods_table(rows: &str) -> Vec<u8> {
    ods(&format!("<office:spreadsheet><table:table table:name=\"a\">{rows}</table:table></office:spreadsheet>"))
}

fn utf16(text: &str) -> Vec<u8> {
    [0xFEFF].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect()
}

/// As many whole repeats as fit.
fn fill(head: &str, row: &str, bytes: usize) -> Vec<u8> {
    let mut file = head.as_bytes().to_vec();
    while file.len() + row.len() <= bytes {
        file.extend_from_slice(row.as_bytes());
    }
    file
}

fn texts(cases: &mut Vec<(&'static str, Vec<u8>)>) {
    let head = dawnpack_fuzz::SALES_HEADER;
    for (name, piece) in [
        ("8 MiB of commas", ","),
        ("8 MiB of semicolons", ";"),
        ("8 MiB of quotes", "\""),
        ("8 MiB of line ends", "\n"),
        ("8 MiB of carriage returns", "\r"),
        ("8 MiB of comma, line end", ",\n"),
        ("8 MiB of quoted line ends", "\"\n\","),
        ("8 MiB of blank, quote", ", \""),
        ("8 MiB of backslash, quote", "\\\"a"),
        ("8 MiB of one letter a line", "a\n"),
        ("8 MiB in one cell", "a"),
        ("8 MiB of blanks", " "),
        ("8 MiB of escapes", "\u{1B}$"),
        ("8 MiB of `Trade with:`", "Trade with: a\n"),
    ] {
        cases.push((name, fill("a,b\n", piece, 8 * MIB)));
        if name.contains("comma, ") || name.contains("one letter") {
            cases.push(("the same below a header", fill(head, piece, 8 * MIB)));
        }
    }
    let row = "1001,1,11/25/2026,11/25/2026,open,Bo Vik,Ines Okonjo,88 Tern Street,Gullhaven,97099,US,ines@example.net,GULL,\
               Gull,red,2,4.50,9.00,5.25,0,0,14.25,USD,hello,no,,11/27/2026\n";
    let own = |number: usize| row.replacen("1001", &number.to_string(), 1);
    let many: String = (0..12_000).map(own).collect();
    cases.push(("12,000 orders", [head, &many].concat().into_bytes()));
    cases.push(("12,000 refused orders", [head, &many.replace(",2,", ",two,")].concat().into_bytes()));
    cases.push(("40,000 rows of one order", fill(head, row, 12 * MIB)));
    let short: String = (0..24_900).map(|number| format!("{number},,,,,,A,,,,,,P,,,x\n")).collect();
    cases.push((
        "24,900 short refused rows",
        format!("Ref,Row,Taken on,Paid on,State,Buyer,Name,Street,Town,ZIP,Land,Mail,Pin,Title,Options,Qty\n{short}")
            .into_bytes(),
    ));
    let plain: String = (0..24_900).map(|number| format!("{number},open,A,P,1,1\n")).collect();
    cases.push(("24,900 short orders", format!("Ref,State,Name,Pin,Qty,Each\n{plain}").into_bytes()));
    let matched: String = (0..12_000)
        .map(|number| {
            format!("{number},2026-11-25,paid,Ines Okonjo,88 Tern Street,Gullhaven,97099,Bell buoy,2,4.50,9.00\n")
        })
        .collect();
    cases.push(("12,000 orders, columns matched", format!("Order number,Order date,Payment status,Recipient,Street,City,Postal code,Item,Quantity,Unit price,Line total\n{matched}").into_bytes()));
    let wide = "番号,宛名,灯台\n".repeat(12 * MIB / 20);
    cases.push(("12 MiB of Japanese as UTF-16", utf16(&wide)));
    cases.push(("24 MiB of UTF-16", utf16(&"a,b\n".repeat(3 * MIB - 8))));
    cases.push(("12 MiB of Shift-JIS", b"\x94\xD4\x8D\x86,\x88\xB6\x96\xBC\n".repeat(12 * MIB / 10)));
    cases.push(("12 MiB of Windows-1252", b"Zo\xEB,Gr\xF6\xDFe\n".repeat(MIB)));
    cases.push(("12 MiB encoded twice", "ZoÃ«,GrÃ¶ÃŸe\n".repeat(12 * MIB / 20).into_bytes()));
    cases.push(("12 MiB of accents", "é".repeat(6 * MIB).into_bytes()));
    cases.push(("64 MiB of one letter", vec![b'a'; 64 * MIB]));
    cases.push(("64 MiB of zeros", vec![0; 64 * MIB]));
    cases.push(("64 MiB of rows", b"a,b\n".repeat(16 * MIB)));
    cases.push(("12 MiB with zeros", b"a\0,b\n".repeat(12 * MIB / 5)));
    let noise: Vec<u8> = (0..64 * MIB as u32).map(|place| place.wrapping_mul(2_654_435_761).to_le_bytes()[3]).collect();
    cases.push(("64 MiB of noise", noise));
}

fn letters(cases: &mut Vec<(&'static str, Vec<u8>)>) {
    let head = "From: a@example.org\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\nMIME-Version: 1.0\r\n";
    let attachment = "QUJDREVGR0hJSktMTU5PUFFSU1RVVldYWVphYmNkZWZnaGlqa2xtbm9wcXJzdHV2d3h5\r\n";
    let mixed = format!(
        "{head}Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\n\r\nTrade with: Ines\r\n--b\r\nContent-Type: image/png\r\n\
         Content-Transfer-Encoding: base64\r\n\r\n"
    );
    cases.push(("an email with 31 MiB of pictures", fill(&mixed, attachment, 31 * MIB)));
    cases.push(("an email of 31 MiB of text", fill(&format!("{head}\r\n"), "Trade with: Ines\r\n", 31 * MIB)));
    let html = format!("{head}Content-Type: text/html\r\n\r\n");
    cases.push(("an email of 8 MiB of HTML", fill(&html, "<div><p>a &amp; b", 8 * MIB)));
    cases.push(("an email of 31 MiB of HTML", fill(&html, "<div>", 31 * MIB)));
    let parts = format!("{head}Content-Type: multipart/mixed; boundary=b\r\n\r\n");
    cases.push(("an email of very many parts", fill(&parts, "--b\r\n\r\na\r\n", 31 * MIB)));
    let nested = "Content-Type: message/rfc822\r\n\r\nFrom: a@example.org\r\n";
    cases.push(("an email in an email, very often", fill(head, nested, 4 * MIB)));
    let quoted = format!("{head}Content-Transfer-Encoding: quoted-printable\r\n\r\n");
    cases.push(("an email of 31 MiB quoted-printable", fill(&quoted, "=\r\n", 31 * MIB)));
    cases.push(("a trade of 1 MiB", fill("Trade with: Ines\nI send:\n", "  1 x A\n", MIB)));
    cases.push(("1 MiB of trades", fill("", "Trade with: a\n", MIB)));
    cases.push(("1 MiB of quoted lines", fill("Trade with: Ines\n", &format!("{}\n", ">".repeat(1000)), MIB)));
}

fn archives(cases: &mut Vec<(&'static str, Vec<u8>)>) {
    let csv = fill(dawnpack_fuzz::SALES_HEADER, "1,,,,,,A,,,,,,P,,,x\n", 12 * MIB);
    cases.push(("12 MiB of rows in a ZIP", zipped(&[("a.csv", &csv)])));
    cases.push(("a ZIP of 12 MiB of commas", zipped(&[("a.csv", &vec![b','; 12 * MIB])])));
    cases.push(("a ZIP bomb of 500 MiB", zipped(&[("a.csv", &vec![b'a'; 500 * MIB])])));
    let mut claims = zipped(&[("a.csv", &b"a,b\n".repeat(MIB))]);
    claims.resize(8 * MIB, 0);
    claims.extend(b"PK\x05\x06\0\0\0\0\xFE\xFF\xFE\xFF\0\0\x60\0\0\0\x60\0\0\0");
    cases.push(("a ZIP that claims 65,534 entries", claims));
    let names: Vec<String> = (0..1000).map(|place| format!("{place}/{}", "a".repeat(60_000))).collect();
    let parts: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), &b""[..])).collect();
    cases.push(("a ZIP of 1,000 long names", zipped(&parts)));
    let mut inner = zipped(&[("a.csv", b"a,b\n")]);
    for _ in 0..20 {
        inner = zipped(&[("a.zip", &inner)]);
    }
    cases.push(("ZIP files in one another", inner));
}

fn workbooks(cases: &mut Vec<(&'static str, Vec<u8>)>) {
    let none = "<sst/>";
    let cell = |name: &str| format!("<c r=\"{name}\"><v>1</v></c>");
    cases.push((
        "XLSX: a cell at XFD1048576",
        xlsx(none, "", &format!("<row r=\"1\">{}</row><row r=\"1048576\">{}</row>", cell("A1"), cell("XFD1048576"))),
    ));
    let far: String = (1..2000).map(|row| format!("<row r=\"{row}\">{}</row>", cell(&format!("XFD{row}")))).collect();
    cases.push(("XLSX: 2,000 cells in column XFD", xlsx(none, "", &far)));
    let text = format!("<sst><si><t>{}</t></si></sst>", "x".repeat(32_767));
    let shared: String =
        (1..100_000).map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\" t=\"s\"><v>0</v></c></row>")).collect();
    cases.push(("XLSX: one long text in 100,000 cells", xlsx(&text, "", &shared)));
    cases.push((
        "XLSX: 149,000 texts",
        xlsx(&format!("<sst>{}</sst>", "<si><t>a</t></si>".repeat(149_000)), "", &shared),
    ));
    cases.push(("XLSX: 399,000 empty texts", xlsx(&format!("<sst>{}</sst>", "<si/>".repeat(399_000)), "", &shared)));
    cases.push((
        "XLSX: 11 MiB of long texts",
        xlsx(&format!("<sst>{}</sst>", format!("<si><t>{}</t></si>", "y".repeat(30_000)).repeat(370)), "", &shared),
    ));
    cases.push(("XLSX: room for 199,999 texts claimed", xlsx("<sst uniqueCount=\"199999\"/>", "", "")));
    cases.push(("XLSX: room for very many texts claimed", xlsx("<sst uniqueCount=\"9999999999\"/>", "", "")));
    cases.push(("XLSX: 59,000 styles", xlsx(none, &"<xf numFmtId=\"14\"/>".repeat(59_000), "")));
    cases.push(("XLSX: deeply nested", xlsx(none, "", &"<a>".repeat(MIB))));
    cases.push(("XLSX: deeply nested and balanced", xlsx(none, "", &["<a>".repeat(MIB), "</a>".repeat(MIB)].concat())));
    cases.push((
        "XLSX: one text of 1 MB",
        xlsx(none, "", &format!("<c r=\"A1\" t=\"inlineStr\"><is><t>{}</t></is></c>", "x".repeat(1_000_000))),
    ));
    cases.push((
        "XLSX: 20 texts of 1 MB",
        xlsx(none, "", &format!("<c t=\"inlineStr\"><is><t>{}</t></is></c>", "x".repeat(1_000_000)).repeat(20)),
    ));
    cases.push((
        "XLSX: one text of very many",
        xlsx(none, "", &format!("<c t=\"inlineStr\"><is>{}</is></c>", "<r><t>x</t></r>".repeat(400_000))),
    ));
    cases.push(("XLSX: 39 MiB of blanks", xlsx(none, "", &" ".repeat(39 * MIB))));
    cases.push(("XLSX: 1,249,000 empty cells", xlsx(none, "", &"<c r=\"A1\" s=\"0\"/>".repeat(1_249_000))));
    cases.push(("XLSX: 300 MiB of tags", xlsx(none, "", &"<c/>".repeat(75 * MIB))));
    let rows: String = (1..10_000)
        .map(|row| format!("<row r=\"{row}\">{}</row>", "<c t=\"inlineStr\"><is><t>ab</t></is></c>".repeat(40)))
        .collect();
    cases.push(("XLSX: 10,000 rows of 40 texts", xlsx(none, "", &rows)));
    let value = "<table:table-cell office:value-type=\"string\"><text:p>ab</text:p></table:table-cell>";
    let repeated = |columns: usize, rows: usize| {
        format!(
            "<table:table-row table:number-rows-repeated=\"{rows}\"><table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"{columns}\"><text:p>TEXT</text:p></table:table-cell></table:table-row>"
        )
    };
    cases.push((
        "ODS: 6,000 rows of 40 texts",
        ods_table(&format!("<table:table-row>{}</table:table-row>", value.repeat(40)).repeat(6_000)),
    ));
    cases.push(("ODS: 40 columns, 6,000 rows, repeated", ods_table(&repeated(40, 6_000))));
    cases.push((
        "ODS: 4,900 rows of 40 texts",
        ods_table(&format!("<table:table-row>{}</table:table-row>", value.repeat(40)).repeat(4_900)),
    ));
    cases.push((
        "ODS: 40 columns, 4,900 rows of long texts, repeated",
        ods_table(&repeated(40, 4_900).replace("TEXT", &"x".repeat(30))),
    ));
    cases.push((
        "ODS: 39 MiB of long attributes",
        ods_table(
            &format!(
                "<table:table-row><table:table-cell office:string-value=\"{}\"/></table:table-row>",
                "x".repeat(200_000)
            )
            .repeat(190),
        ),
    ));
    cases.push(("ODS: 16,384 columns repeated, 15 rows", ods_table(&repeated(16_384, 15))));
    cases.push(("ODS: 16,384 columns, 1,048,576 rows", ods_table(&repeated(16_384, 1_048_576))));
    cases.push(("ODS: 1 column, 1,048,576 rows", ods_table(&repeated(1, 1_048_576))));
    cases.push(("ODS: a long text repeated", ods_table(&repeated(16_384, 1).replace("TEXT", &"x".repeat(32_767)))));
    cases.push(("ODS: very many blanks by one tag", ods_table("<table:table-row><table:table-cell office:value-type=\"string\"><text:p><text:s text:c=\"2000000000\"/></text:p></table:table-cell></table:table-row>")));
    cases.push(("ODS: many blanks by many tags", ods_table(&format!("<table:table-row><table:table-cell office:value-type=\"string\"><text:p>{}</text:p></table:table-cell></table:table-row>", "<text:s text:c=\"32767\"/>".repeat(20_000)))));
    cases.push(("ODS: cut off", ods("<office:spreadsheet><table:table table:name=\"a\"><table:table-row>")));
    cases.push(("ODS: 1,249,000 empty rows", ods_table(&"<table:table-row/>".repeat(1_249_000))));
    cases.push(("ODS: deeply nested", ods_table(&["<a>".repeat(MIB), "</a>".repeat(MIB)].concat())));
    old_workbooks(cases);
}

/// A record of an XLS workbook.
fn record(number: u16, data: &[u8]) -> Vec<u8> {
    let length = u16::try_from(data.len()).expect("records are short");
    [&number.to_le_bytes(), &length.to_le_bytes(), data].concat()
}

/// A container of 512-byte sectors around a workbook of one sheet.
fn xls(texts: &[Vec<u8>], cells: &[u8]) -> Vec<u8> {
    let beginning = record(0x0809, &[0, 6, 16, 0]);
    let mut stream = [beginning.clone(), texts.concat()].concat();
    let at = stream.len() + 4 + 9 + 4;
    stream
        .extend(record(0x0085, &[&u32::try_from(at).expect("small").to_le_bytes()[..], &[0, 0, 1, 0, b'a']].concat()));
    stream.extend(record(0x000A, &[]));
    stream.extend(beginning);
    stream.extend(cells);
    stream.extend(record(0x000A, &[]));
    stream.resize(stream.len().max(4096), 0);
    let sectors = stream.len().div_ceil(512);
    let tables = (1..).find(|tables| tables * 128 >= tables + 1 + sectors).expect("some number");
    let number = |number: usize| u32::try_from(number).expect("small");
    let mut file = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
    file.extend([0; 16]);
    file.extend([62_u16, 3, 0xFFFE, 9, 6, 0, 0, 0].into_iter().flat_map(u16::to_le_bytes));
    file.extend(
        [0, number(tables), number(tables), 0, 4096, u32::MAX - 1, 0, u32::MAX - 1, 0]
            .into_iter()
            .flat_map(u32::to_le_bytes),
    );
    file.extend((0..109).flat_map(|place| if place < tables { number(place) } else { u32::MAX }.to_le_bytes()));
    let mut next = vec![u32::MAX - 2; tables];
    next.push(u32::MAX - 1);
    next.extend((1..sectors).map(|place| number(tables + 1 + place)));
    next.push(u32::MAX - 1);
    next.resize(tables * 128, u32::MAX);
    file.extend(next.into_iter().flat_map(u32::to_le_bytes));
    for (name, kind, start, size) in
        [("Root Entry", 5, u32::MAX - 1, 0), ("Workbook", 2, number(tables + 1), number(stream.len()))]
    {
        let mut entry: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let length = u16::try_from(entry.len() + 2).expect("short");
        entry.resize(64, 0);
        entry.extend(length.to_le_bytes());
        entry.extend([kind, 1]);
        entry.resize(116, 0xFF);
        entry.extend(start.to_le_bytes());
        entry.extend(size.to_le_bytes());
        entry.resize(128, 0);
        file.extend(entry);
    }
    file.resize(file.len() + 256, 0);
    file.extend(stream);
    file.resize(file.len().next_multiple_of(512), 0);
    file
}

fn old_workbooks(cases: &mut Vec<(&'static str, Vec<u8>)>) {
    let place = |row: usize, column: usize| {
        let part = |part: usize| u16::try_from(part).expect("small").to_le_bytes();
        [part(row), part(column), [0, 0]].concat()
    };
    let label = |row, column, text: u32| record(0x00FD, &[&place(row, column)[..], &text.to_le_bytes()].concat());
    let long: Vec<Vec<u8>> = {
        let mut first = vec![0; 8];
        first.extend(8000_u16.to_le_bytes());
        first.push(0);
        first.resize(8011, b'x');
        vec![record(0x00FC, &first)]
    };
    let shared: Vec<u8> = (0..200_000).flat_map(|cell| label(cell / 4, cell % 4, 0)).collect();
    cases.push(("XLS: one long text in 200,000 cells", xls(&long, &shared)));
    let empty: Vec<Vec<u8>> =
        std::iter::once(record(0x00FC, &[0; 8])).chain((0..380).map(|_| record(0x003C, &[0; 8190]))).collect();
    cases.push(("XLS: a million empty texts", xls(&empty, &label(0, 0, 7))));
    let number = |row, column| record(0x0203, &[&place(row, column)[..], &[0; 8]].concat());
    let many: Vec<u8> = (0..240_000).flat_map(|cell| number(cell / 40, cell % 40)).collect();
    cases.push(("XLS: 6,000 rows of 40 numbers", xls(&[], &many)));
    cases.push(("XLS: a cell at the far end", xls(&[], &[number(0, 0), number(65_535, 65_535)].concat())));
    let dimensions = record(0x0200, &[0, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0x7F, 0, 0, 0xFF, 0xFF, 0, 0]);
    cases.push(("XLS: room for very many cells claimed", xls(&[], &[dimensions, number(0, 0)].concat())));
    let mut circle = xls(&[], &number(0, 0));
    circle[512 + 12..512 + 16].copy_from_slice(&2_u32.to_le_bytes());
    circle[1024 + 128 + 120..1024 + 128 + 124].copy_from_slice(&u32::MAX.to_le_bytes());
    cases.push(("XLS: sectors in a circle", circle));
}

/// Seconds that this thread has reckoned, where the system tells: others may be at work too.
fn seconds_reckoned(since: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds: Option<f64> = told.split(' ').next().and_then(|told| told.parse().ok());
    nanoseconds.map_or_else(|| since.elapsed().as_secs_f64(), |nanoseconds| nanoseconds / 1e9)
}

fn main() -> ExitCode {
    let mut cases: Vec<(&'static str, Vec<u8>)> = Vec::new();
    let only = std::env::args().nth(1).unwrap_or_default();
    let mut sound = true;
    for make in [texts, letters, archives, workbooks] {
        make(&mut cases);
        for (name, file) in cases.drain(..).filter(|(name, _)| name.contains(&only)) {
            let before = ALLOCATOR.current_usage();
            ALLOCATOR.reset_peak_usage();
            let start = Instant::now();
            let reckoned = seconds_reckoned(start);
            let read = dawnpack_fuzz::read(&file, &dawnpack_fuzz::maps());
            let seconds = seconds_reckoned(start) - reckoned;
            let peak = ALLOCATOR.peak_usage().saturating_sub(before);
            let fits = peak <= MOST_BYTES && seconds <= LONGEST_SECONDS;
            sound &= fits;
            let outcome = match &read {
                Ok(reading) => format!("{:?}", reading.rows),
                Err(dawnpack_fuzz::inbox::ReadError::Unreadable(why)) => why.reason.clone(),
                Err(dawnpack_fuzz::inbox::ReadError::Waiting(waiting)) => format!("waits: {}", waiting.why),
            };
            let mark = if fits { ' ' } else { '!' };
            println!("{mark} {:>6.1} MiB {seconds:>5.2} s  {name}: {outcome:.150}", peak as f64 / MIB as f64);
        }
    }
    if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
