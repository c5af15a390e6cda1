#!/usr/bin/env python3
"""The demo's print pack, as poppler, qpdf, pikepdf and zbar see it.

Run from anywhere: python3 tests/peers/pictures/pages.py BINARY [--save]. It runs `BINARY demo` in a directory of its
own and checks that

- each page looks like the picture kept beside this file (72 dpi, grey). Two releases of poppler differ in the grey
  of a letter's edge, so a pixel counts as another one when it differs by more than half of the range, and a page when
  more than one pixel in 2,000 does, which is some three letters. `--save` keeps new pictures: look at each one. Those
  kept were made by poppler 22.12.0;
- a scanner reads the ref of every parcel, once on its card and once on the hand-off list, and nothing else but those of
  the customs pages;
- the words of every parcel are there: each article on the pick list once, on the cards as often as the manifest has
  it, each parcel once to hand over, each paper with its parcel's ref, and no place that something should be filled in;
- qpdf finds nothing wrong with the file, and it is what it claims: tagged, titled, in a language, every typeface in it,
  with the marks of PDF/UA-1 (ISO 14289-1:2014, section 5) and PDF/A-2a (ISO 19005-2:2011, section 6.6.4). Whether it
  holds to those standards is typst's own validation to say, which refuses to write the file otherwise; veraPDF is in
  none of the registries that this script installs from;
- two runs give the same bytes;
- letters that the built-in typefaces lack are set in one that has them, and what the built-in ones have stays in those.
"""

import collections
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pikepdf
from PIL import Image, ImageChops

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
CJK = Path("/usr/share/fonts/opentype/noto/NotoSansCJK-Regular.ttc")
faults = []


def check(holds, what):
    if not holds:
        faults.append(what)


def run(*command, **options):
    return subprocess.run(command, check=True, capture_output=True, text=True, **options).stdout


def demo(binary, home):
    run(binary, "demo", str(home))
    return next((home / "outbox").glob("2*"))


def pictures(pdf, into, dpi):
    run("pdftoppm", "-r", str(dpi), "-gray", "-png", str(pdf), str(into / "page"))
    return sorted(into.glob("page-*.png"))


def compare(pages, save):
    kept = HERE / "kept"
    if save:
        shutil.rmtree(kept, ignore_errors=True)
        kept.mkdir()
        for page in pages:
            Image.open(page).convert("L").quantize(16).save(kept / page.name, optimize=True)
        return
    names = sorted(path.name for path in kept.glob("*.png"))
    check(names == [page.name for page in pages], f"{len(pages)} pages, {len(names)} pictures kept")
    for page in pages:
        if page.name not in names:
            continue
        now, then = Image.open(page).convert("L"), Image.open(kept / page.name).convert("L")
        check(now.size == then.size, f"{page.name}: size {now.size}, kept {then.size}")
        differ = sum(ImageChops.difference(now, then).histogram()[128:])
        check(differ * 2000 <= now.size[0] * now.size[1], f"{page.name}: {differ} pixels are not those of the picture")


def part_of(text):
    """A page's text by the part that its foot names."""
    found = re.search(r"^(Pick list|Packing cards|Papers to wrap|Customs data|Hand-off)\s+page \d+ of \d+\s*$", text, re.M)
    return found[1] if found else None


def texts(pdf):
    parts = collections.defaultdict(str)
    pages = run("pdftotext", "-layout", str(pdf), "-").split("\f")[:-1]
    for number, text in enumerate(pages, 1):
        check(f"page {number} of {len(pages)}" in text, f"page {number} doesn't say which it is")
        check("Wed 25 Nov 2026" in text, f"page {number} bears no date")
        parts[part_of(text)] += text.replace("\u200b", "")
    return parts


def words(pdf, manifest):
    parts = texts(pdf)
    count = lambda part, word: len(re.findall(rf"(?<![\w-]){re.escape(word)}(?![\w-])", parts[part]))
    on_cards = collections.Counter(item["code"] for parcel in manifest["parcels"] for item in parcel["items"])
    for code, times in on_cards.items():
        check(count("Pick list", code) == 1, f"{code} is on the pick list {count('Pick list', code)} times")
        check(count("Packing cards", code) == times, f"{code} is on {count('Packing cards', code)} cards, not {times}")
    for parcel in manifest["parcels"]:
        ref = parcel["ref"]
        check(count("Packing cards", ref) >= 1, f"{ref} has no card")
        check(count("Hand-off", ref) == 1, f"{ref} is to hand over {count('Hand-off', ref)} times")
        check(count("Papers to wrap", ref) == papers(parcel), f"{ref} has {count('Papers to wrap', ref)} papers")
        check(parcel["recipient"]["name"] in parts["Packing cards"], f"the card of {ref} lacks its name")
    for part, text in parts.items():
        check("[U+" not in text and "\ufffd" not in text and "{" not in text, f"{part}: a letter or a word is missing")


def papers(parcel):
    """One an order's invoice or gift slip, one a trade's note."""
    return len(parcel["orders"]) + len(parcel["trades"])


def codes(pages, manifest, customs):
    seen = collections.Counter()
    for page in pages:
        read = subprocess.run(["zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", str(page)],
                              capture_output=True, text=True, check=False).stdout
        seen.update(read.split())
    wanted = collections.Counter({parcel["ref"]: 2 for parcel in manifest["parcels"]})
    wanted.update(customs)
    check(seen == wanted, f"a scanner reads {dict(seen)}, not {dict(wanted)}")


def structure(pdf):
    done = subprocess.run(["qpdf", "--check", str(pdf)], capture_output=True, text=True, check=False)
    check(done.returncode == 0, f"qpdf: {done.stdout}{done.stderr}")
    with pikepdf.open(pdf) as file:
        root = file.Root
        check(bool(root.get("/MarkInfo", {}).get("/Marked")) and "/StructTreeRoot" in root, "it isn't tagged")
        check(str(root.get("/Lang")) == "en", "its language isn't said")
        check(bool(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle")), "its title isn't shown")
        meta = file.open_metadata()
        check(str(meta.get("dc:title")).startswith("Print pack of Wednesday 25 November 2026"), "it has no title")
        names = ["{http://www.aiim.org/pdfua/ns/id/}part", "pdfaid:part", "pdfaid:conformance"]
        marks = tuple(str(meta.get(name)) for name in names)
        check(marks == ("1", "2", "A"), f"it claims {marks}")
        check(any(page.obj.get("/StructParents") is not None for page in file.pages), "its pages aren't in its tree")
    for line in run("pdffonts", str(pdf)).splitlines()[2:]:
        check(re.search(r"\byes (yes|no) +(yes|no) +\d+ +\d+$", line), f"a typeface isn't in the file: {line}")


def other_letters(binary, scratch):
    """A name in Japanese, without and with a typeface that has its letters."""
    home = scratch / "letters"
    shutil.copytree(ROOT / "examples" / "saltmarsh", home)
    (home / "inbox").mkdir()
    (home / "inbox" / "trade.txt").write_text(
        "Trade with: 山田 花子\nAddress:\n  17 Heron Way\n  Brackwater, MA 01999\nAgreed: 2026-11-24\n"
        "Send by: 2026-11-27\nFirst to send: together\nLoss falls on: sender\nI send:\n  1 x PUFFIN\n"
        "I get:\n  1 x \"Ferry at dusk\" = 9.00\n", encoding="utf-8")
    (home / "fonts").mkdir()
    shutil.copy(CJK, home / "fonts" / "own.ttc")
    run(binary, "-C", str(home), "--now", "2026-11-25T06:30", "morning")
    pdf = next((home / "outbox").glob("2*")) / "dispatch.pdf"
    fonts = run("pdffonts", str(pdf))
    check("NotoSansCJK" in fonts, f"the typeface with its letters isn't used:\n{fonts}")
    check("LibertinusSerif" in fonts, "what the built-in typefaces have isn't in those")
    check("山田 花子" in run("pdftotext", "-layout", str(pdf), "-"), "the name can't be read from the file")
    told = run(binary, "-C", str(home), "check")
    check("typefaces: Japanese: Noto Sans CJK" in told and "typefaces: Hebrew: built in" in told, told)


def main():
    binary, save = str(Path(sys.argv[1]).resolve()), "--save" in sys.argv
    with tempfile.TemporaryDirectory() as scratch:
        scratch = Path(scratch)
        day = demo(binary, scratch / "home")
        pdf = day / "dispatch.pdf"
        manifest = json.loads((day / "manifest.json").read_text())
        again = demo(binary, scratch / "again") / "dispatch.pdf"
        check(pdf.read_bytes() == again.read_bytes(), "two runs give two files")
        for name in ["low", "high"]:
            (scratch / name).mkdir()
        compare(pictures(pdf, scratch / "low", 72), save)
        abroad = [parcel["ref"] for parcel in manifest["parcels"] if parcel["recipient"]["country"] != "US"]
        codes(pictures(pdf, scratch / "high", 200), manifest, abroad)
        words(pdf, manifest)
        structure(pdf)
        other_letters(binary, scratch)
    for fault in faults:
        print(f"pages.py: {fault}", file=sys.stderr)
    sys.exit(bool(faults))


main()
