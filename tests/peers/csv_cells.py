#!/usr/bin/env python3
"""What Python's csv module reads in the tables of tests/drops, kept as tests/standards/data/python-csv.json.

Run from anywhere: python3 tests/peers/csv_cells.py. Each .csv, .tsv and .txt there is read with the encoding and the
delimiter that its .json names; where it names none, UTF-8 if it is that, and the delimiter that csv.Sniffer finds, else
the commonest. For each file the result holds encoding, delimiter and every row with the line it begins on, or that the file is cut off
inside a quote. Files that are no table (letters, pictures) are left out, each with its reason. The room's own test
beside src/inbox/delimited.rs compares.
"""

import codecs
import csv
import io
import json
import platform
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DROPS = ROOT / "tests" / "drops"
OUT = ROOT / "tests" / "standards" / "data" / "python-csv.json"
CANDIDATES = ",;\t|"
TWICE = ", encoded twice"


class Skipped(Exception):
    pass


def as_windows_1252(text):
    """Bytes of text that was taken for Windows-1252, where that has nothing, of Latin 1."""
    return b"".join(c.encode("cp1252") if c.encode("cp1252", "ignore") else c.encode("latin-1") for c in text)


def decoded(data, named):
    twice = named is not None and named.endswith(TWICE)
    encoding = named.removesuffix(TWICE) if named else None
    if encoding is None:
        encoding = "UTF-8"
        for mark, known in ((codecs.BOM_UTF16_LE, "UTF-16LE"), (codecs.BOM_UTF16_BE, "UTF-16BE")):
            if data.startswith(mark):
                encoding = known
    try:
        text = data.decode(encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise Skipped(f"its encoding is not named and it is not {encoding}") from error
    text = text.removeprefix("\ufeff").replace("\0", "")
    text = re.sub("\x1a+\\s*$", "", text)
    return (as_windows_1252(text).decode("utf-8") if twice else text), encoding


def dialect(text, named):
    first, _, rest = text.partition("\n")
    note = re.fullmatch(r'"?sep=(.)"?', first.rstrip("\r"), re.IGNORECASE)
    if note:
        text, delimiter, skipped = rest, note[1], 1
    else:
        delimiter, skipped = named, 0
        if delimiter is None:
            try:
                delimiter = csv.Sniffer().sniff(text[:4096], CANDIDATES).delimiter
            except csv.Error:
                # Which one it is doesn't matter here: both read by the same.
                delimiter = max(CANDIDATES, key=text.count)
    mark = re.escape(delimiter)
    how = {"delimiter": delimiter, "skipinitialspace": bool(re.search(mark + r' +"', text))}
    if re.search(r'\\"(?!' + mark + r'|["\r\n]|$)', text):
        how |= {"escapechar": "\\"}
    return text, skipped, how


def rows(text, skipped, how):
    """Rows with the line each begins on; None where the text ends inside a quote."""
    try:
        return read(text, skipped, how | {"strict": True})
    except csv.Error as error:
        if "unexpected end of data" in str(error):
            return None
        return read(text, skipped, how)


def read(text, skipped, how):
    reader = csv.reader(io.StringIO(text, newline=""), **how)
    found, before = [], 0
    for cells in reader:
        found.append([skipped + before + 1, cells])
        before = reader.line_num
    return found


def main():
    csv.field_size_limit(1 << 24)
    files, left_out = {}, {}
    for path in sorted(DROPS.iterdir()):
        beside = path.with_name(path.name + ".json")
        if path.suffix not in (".csv", ".tsv", ".txt") or not beside.exists():
            continue
        expected = json.loads(beside.read_text("utf-8")).get("expect", {})
        try:
            if expected.get("kind") in ("trade", "unreadable"):
                raise Skipped("it is no table")
            data = path.read_bytes()
            if data.startswith(b"PK"):
                raise Skipped("it is a ZIP file")
            text, encoding = decoded(data, expected.get("encoding"))
            text, skipped, how = dialect(text, expected.get("delimiter"))
        except Skipped as why:
            left_out[path.name] = str(why)
            continue
        found = rows(text, skipped, how)
        files[path.name] = {"encoding": encoding, "delimiter": how["delimiter"]}
        files[path.name] |= {"cut_off": True} if found is None else {"rows": found}
    head = {"made_by": "tests/peers/csv_cells.py", "python": platform.python_version(), "left_out": left_out}
    lines = [f"{json.dumps(name)}: {json.dumps(found, ensure_ascii=False)}" for name, found in files.items()]
    head_text = json.dumps(head, indent=1, ensure_ascii=False)[:-2]
    OUT.write_text(head_text + ',\n "files": {\n  ' + ",\n  ".join(lines) + "\n }\n}\n", "utf-8")
    print(f"{len(files)} tables, {len(left_out)} files left out: {OUT.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
