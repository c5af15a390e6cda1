"""Writes the drops whose bytes no editor would save: encodings, zero bytes, line ends, archives.

Run it in this directory; it writes the same bytes every time. What each file should be read as stands in its .json,
worked out by hand.
"""

import io
import struct
import zipfile
import zlib
from pathlib import Path

HERE = Path(__file__).parent

ENGLISH = (
    "Ref,Taken,Send to,Street,Town,Postal code,Pin,How many,Each\n"
    "{0}1,11/23/2026,Zoë Grönlund,1 Quay,Eastmere,04999,PUFFIN,2,4.50\n"
    "{0}2,11/24/2026,François L’Écuyer,2 Quay,Gullhaven,97099,TERN,1,12.00\n"
)
GERMAN = (
    "Zettel;Tag;Stand;An wen;Weg;Ort;Leitzahl;Nadel;Wie viele;Je\n"
    "{0}1;23.11.2026;bezahlt;Jörg Weißenau;Möwenstraße 3;Nebelhafen;26999;Möwe;2;4,50{1}\n"
    "{0}2;24.11.2026;offen;Änne Öhlers;Grüner Weg 1;Nebelhafen;26999;Brücke;1;12,00{1}\n"
)
POLISH = (
    "Kartka;Dzień;Dla kogo;Dokąd;Miasto;Kod;Przypinka;Ile;Po ile\n"
    "{0}1;23.11.2026;Łucja Źródlana;ul. Mewia 3;Mglisty Port;00-999;Żaglówka;2;14,50\n"
    "{0}2;24.11.2026;Stanisław Śnieżek;ul. Łąkowa 1;Mglisty Port;00-999;Gęś;1;22,00\n"
)
JAPANESE = (
    "札,日,宛,番地,町,県,〒,品,個,値\n"
    "{0}1,2026/11/23,灯台 守子,かもめ町三丁目1,霧港,潮県,000-0001,ツノメドリ,2,900\n"
    "{0}2,2026/11/24,浜辺 渡,波止場2,霧港,潮県,000-0002,アジサシの缶バッジ,1,1200\n"
)


def write(name, data):
    (HERE / name).write_bytes(data)


def text(name, words, encoding, mark=b"", line_end="\n"):
    write(name, mark + words.replace("\n", line_end).encode(encoding))


def encodings():
    text("encoding-utf8.csv", ENGLISH.format("U8-"), "utf-8")
    text("encoding-utf8-mark.csv", ENGLISH.format("U8M-"), "utf-8", b"\xef\xbb\xbf", "\r\n")
    text("encoding-utf16le-mark.csv", ENGLISH.format("LM-"), "utf-16-le", b"\xff\xfe", "\r\n")
    text("encoding-utf16be-mark.csv", ENGLISH.format("BM-"), "utf-16-be", b"\xfe\xff", "\r\n")
    text("encoding-utf16le.csv", ENGLISH.format("L-"), "utf-16-le")
    text("encoding-utf16be.csv", ENGLISH.format("B-"), "utf-16-be")
    text("encoding-utf16le-japanese.csv", JAPANESE.format("LJ-"), "utf-16-le", b"\xff\xfe", "\r\n")
    text("encoding-windows-1252.csv", GERMAN.format("W-", ""), "cp1252", b"", "\r\n")
    text("encoding-windows-1252-euro.csv", GERMAN.format("WE-", " €"), "cp1252")
    text("encoding-windows-1250.csv", POLISH.format("P0-"), "cp1250", b"", "\r\n")
    text("encoding-iso-8859-2.csv", POLISH.format("P2-"), "iso8859-2")
    text("encoding-shift-jis.csv", JAPANESE.format("SJ-"), "cp932", b"", "\r\n")
    text("encoding-euc-jp.csv", JAPANESE.format("EJ-"), "euc-jp")
    twice = ENGLISH.format("T-").encode().decode("cp1252", errors="strict")
    text("encoding-twice.csv", twice, "utf-8")
    sound = ENGLISH.format("TP-")
    text("encoding-twice-in-one-cell.csv", sound.replace("Zoë Grönlund", "ZoÃ« GrÃ¶nlund"), "utf-8")
    head, first, second, _ = ENGLISH.format("MX-").split("\n")
    write("encoding-two-joined.csv", f"{head}\n{first}\n".encode() + f"{second}\n".encode("cp1252"))
    one = "Ref,Send to,Street,Pin,How many,Each\nOL-1,Jörg Weissenau,1 Quay,PUFFIN,1,4.50\n"
    text("encoding-one-letter.csv", one, "cp1252")
    lost = ENGLISH.format("RC-").replace("Grönlund", "Gr\N{REPLACEMENT CHARACTER}nlund")
    text("encoding-lost-letter.csv", lost, "utf-8")


def line_ends_and_zeros():
    text("line-ends-cr.csv", ENGLISH.format("CR-"), "utf-8", b"", "\r")
    head, first, second, _ = ENGLISH.format("ML-").split("\n")
    write("line-ends-mixed.csv", f"{head}\r\n{first}\r{second}\n\r\nML-3,11/24/2026,Bo Vik,3 Quay,Eastmere,04999,GULL,1,5.00".encode())
    padded = ENGLISH.format("N-").replace("PUFFIN", "PUFFIN\0\0\0\0").replace("TERN", "TERN\0\0\0\0\0\0")
    text("zeros-pad-the-cells.csv", padded, "utf-8")
    write("zeros-after-the-end.csv", ENGLISH.format("NE-").encode() + b"\0" * 200)
    write("control-z-at-the-end.csv", ENGLISH.format("Z-").encode() + b"\x1a")
    write("delimiter-by-note-utf16.csv", b"\xff\xfe" + ("sep=;\n" + ENGLISH.format("SU-").replace(",", ";")).replace("\n", "\r\n").encode("utf-16-le"))


def archive(name, members):
    """With a fixed time, so that the bytes are the same every time."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as box:
        for member, words in members:
            box.writestr(zipfile.ZipInfo(member, (2026, 11, 24, 18, 0, 0)), words, zipfile.ZIP_DEFLATED)
    write(name, data.getvalue())


def archives():
    export = ENGLISH.format("ZP-").encode()
    archive("zip-with-one-export.zip", [("orders.csv", export)])
    archive("zip-with-one-export-and-litter.zip", [
        ("orders/", b""),
        ("orders/week 48.csv", ENGLISH.format("ZL-").encode("utf-16")),
        ("__MACOSX/orders/._week 48.csv", b"\0\5\x16\7\0\2\0\0"),
    ])
    archive("zip-with-two-exports.zip", [
        ("a.csv", ENGLISH.format("ZA-").encode()),
        ("b.csv", ENGLISH.format("ZB-").encode()),
    ])
    archive("zip-named-csv.csv", [("orders.csv", ENGLISH.format("ZN-").encode())])


BOOK_TYPES = (
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="xml" ContentType="application/xml"/>'
    '<Override PartName="/xl/workbook.xml"'
    ' ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>'
)
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def relations(parts):
    inner = "".join(f'<Relationship Id="r{i}" Type="{OFFICE}/{kind}" Target="{at}"/>' for i, (kind, at) in enumerate(parts))
    return f'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{inner}</Relationships>'


def workbook(name, sheets, from_1904=False):
    """A workbook of the least that ECMA-376 asks for; a cell is a text, a number, or a (date as number,)."""

    def cell(value):
        if isinstance(value, tuple):
            return f'<c s="1"><v>{value[0]}</v></c>'
        if isinstance(value, str):
            return f'<c t="inlineStr"><is><t>{value}</t></is></c>'
        return f"<c><v>{value}</v></c>"

    names = "".join(f'<sheet name="{title}" sheetId="{i + 1}" r:id="r{i}"/>' for i, (title, _) in enumerate(sheets))
    system = '<workbookPr date1904="1"/>' if from_1904 else ""
    members = [
        ("[Content_Types].xml", BOOK_TYPES),
        ("_rels/.rels", relations([("officeDocument", "xl/workbook.xml")])),
        ("xl/workbook.xml", f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">{system}<sheets>{names}</sheets></workbook>'),
        ("xl/_rels/workbook.xml.rels", relations(
            [("worksheet", f"worksheets/sheet{i}.xml") for i, _ in enumerate(sheets)] + [("styles", "styles.xml")])),
        ("xl/styles.xml", f'<styleSheet xmlns="{MAIN}"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>'),
    ]
    for i, (_, rows) in enumerate(sheets):
        inner = "".join("<row>" + "".join(cell(value) for value in row) + "</row>" for row in rows)
        members.append((f"xl/worksheets/sheet{i}.xml", f'<worksheet xmlns="{MAIN}"><sheetData>{inner}</sheetData></worksheet>'))
    archive(name, members)


BOOK_HEAD = ["Ref", "Taken", "Send to", "Street", "Pin", "How many", "Each"]


def workbooks():
    first = ["Ines Okonjo", "88 Tern Street", "BELL-BUOY", 2, 4.5]
    second = ["Bo Vik", "1 Quay", "PUFFIN", 1, 12]
    notes = ("Notes", [["To do before the fair"], ["Order more clutches"]])
    workbook("workbook-second-sheet-fits.xlsx", [notes, ("Orders", [BOOK_HEAD, ["WS-1", (46349,), *first], ["WS-2", (46350,), *second]])])
    both = [("November", [BOOK_HEAD, ["WT-1", (46349,), *first]]), ("December", [BOOK_HEAD, ["WT-2", (46358,), *second]])]
    workbook("workbook-two-sheets-fit.xlsx", both)
    # 46349 days from 1899-12-30 are 44887 from 1904-01-01.
    workbook("workbook-from-1904.xlsx", [("Orders", [BOOK_HEAD, ["WF-1", (44887,), *first]])], True)
    # 0.1 + 0.2 as a spreadsheet keeps it, and a price with a third of a cent.
    tail = [BOOK_HEAD, ["WN-1", (46349,), "Ines Okonjo", "88 Tern Street", "BELL-BUOY", 2, 0.30000000000000004]]
    workbook("workbook-binary-fractions.xlsx", [("Orders", tail)])
    workbook("workbook-empty.xlsx", [("Sheet1", []), ("Sheet2", [])])
    inner = (HERE / "workbook-second-sheet-fits.xlsx").read_bytes()
    archive("zip-with-a-workbook.zip", [("orders.xlsx", inner)])
    write("workbook-cut-off.xlsx", inner[: len(inner) // 2])


def no_tables():
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    pixel = zlib.compress(b"\0\x20\x40\x80")
    write("picture.csv", b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixel) + chunk(b"IEND", b""))
    write("empty.csv", b"")
    write("blanks-only.csv", b"\xef\xbb\xbf \r\n\t\r\n")
    write("document.csv", b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<< /Type /Catalog >>\nendobj\ntrailer\n<< /Root 1 0 R >>\n%%EOF\n")


if __name__ == "__main__":
    encodings()
    line_ends_and_zeros()
    archives()
    workbooks()
    no_tables()
