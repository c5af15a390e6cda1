#!/usr/bin/env python3
"""What Chromium, axe-core and Python's own `email` and `jsonschema` make of the morning's email and manifest.

Runs the program on invented days (one parcel, twelve, sixty, none, many questions, very long and hostile names), and
checks of each email, at 320, 390 and 1200 px, light and dark: nothing is wider than the window, no text is smaller
than 12 px, nothing is fetched, axe finds no violation; of each message, that Python's parser finds what the outbox has
and no header of anybody else's; of each manifest, that it is as its published schema says.

Then it compares pictures with those kept in tests/peers/pictures/email. They are taken in one font (DejaVu Serif) and
compared as a person sees them from a step back: in blocks of 8 × 8 pixels, of which one in 200 may differ visibly.
A fault here means that the layout changed. If that was meant, look at the new pictures and keep them:

    python3 tests/peers/email_pictures.py --keep

Needs chromium, fonts-dejavu-core, node and npm, and the Python packages pillow and jsonschema. `tests/peers/run`
installs them.
"""

import csv
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
from email import message_from_bytes, policy
from pathlib import Path

import jsonschema
from PIL import Image, ImageChops

ROOT = Path(__file__).resolve().parent.parent.parent
KEPT = ROOT / "tests/peers/pictures/email"
MODULES = ["playwright-core@1.65.1", "axe-core@4.14.1"]
NOW = "2026-11-25T06:30"
DAY = "2026-11-25"

HEADER = ("Slip,Taken on,Paid on,Standing,Bought by,For whom,Door,More of the address,Town,State,ZIP,Land,"
          "Writes from,Pin code,Pin,How many,Each,Post paid by buyer,In all,A present,Words with it,Said").split(",")
PINS = ["PUFFIN", "KITTIWAKE", "GANNET", "RAZORBILL", "FULMAR", "EIDER", "ARCTIC-TERN", "GREAT-SKUA", "HERRING-GULL",
        "CORMORANT", "BLACK-GUILLEMOT", "LOW-POINT", "CAPE-FATHOM", "GREY-LEDGE"]
GIVEN = ["Ada", "Bo", "Cal", "Dara", "Edda", "Finn", "Greta", "Hale", "Ines", "Juno"]
FAMILY = ["Quist", "Lind", "Moe", "Farrow", "Marsh", "Roe", "Oduya", "Venn"]
LONG = "Wilhelmina Featherstonehaugh-Cholmondeley of the Outer Skerries Lighthouse Keepers' Benevolent Society"
HOSTILE = ["{{x}} {{{seller}}} #eval(\"1\")", "<script>alert(1)</script><img src=x onerror=alert(1)>",
           "=HYPERLINK(\"http://example.org\",\"x\")", "Ivo\r\nBcc: a@example.org\r\n\r\n<b>x", "Word" * 2500,
           "\u202eeman desrever", "</td></table><style>*{display:none}</style>", "&lt;b&gt; \u200b\u0007 x"]


def order(number, name, code, quantity=1, taken="11/23/2026", title=""):
    door = f"{number} Heron Way"
    return [str(number), taken, taken, "settled", "", name, door, "", "Gullhaven", "OR", "97099", "US",
            f"buyer{number}@example.net", code, title, str(quantity), "9.00", "5.00", "", "", "", ""]


def people(count):
    return [order(2000 + n, f"{GIVEN[n % 10]} {FAMILY[n // 10 % 8]}", PINS[n % len(PINS)], 1 + n % 3,
                  "11/20/2026" if n % 7 == 0 else "11/24/2026") for n in range(count)]


SCENES = {
    "one": people(1),
    "twelve": people(12),
    "sixty": people(60),
    "nothing": [],
    "questions": people(2) + [order(3000 + n, f"{GIVEN[n % 10]} Holm", f"NEW-BIRD-{n}") for n in range(14)],
    "long": [order(4000 + n, f"{LONG} {n}", PINS[n]) for n in range(3)]
    + [order(4100, "Ada " + "Ж" * 300, "PUFFIN"), order(4200, "Bo Lind", "A" * 200)],
    "hostile": [order(5000 + n, name, PINS[n], title=name) for n, name in enumerate(HOSTILE)],
}


def run(program, home, *args):
    done = subprocess.run([program, "-C", home, "--now", NOW, *args], capture_output=True, text=True)
    if done.returncode not in (0, 3):
        sys.exit(f"dawnpack {' '.join(args)}: {done.stderr}")


def scenes(program, work):
    """A home a scene, its morning run."""
    homes = {"demo": work / "demo"}
    subprocess.run([program, "--now", NOW, "demo", homes["demo"]], check=True, capture_output=True)
    for name, rows in SCENES.items():
        homes[name] = work / name
        subprocess.run([program, "new", homes[name]], check=True, capture_output=True)
        # Enough of everything: what is short on the shelf would be held.
        for path in ("catalogue.csv", "mailers.csv"):
            lines = list(csv.DictReader((homes[name] / path).read_text(encoding="utf-8").splitlines()))
            for line in lines:
                line["on_hand"] = "500"
            text = io.StringIO()
            writer = csv.DictWriter(text, lines[0].keys(), lineterminator="\n")
            writer.writeheader()
            writer.writerows(lines)
            (homes[name] / path).write_text(text.getvalue(), encoding="utf-8")
        if rows:
            text = io.StringIO()
            csv.writer(text).writerows([HEADER, *rows])
            (homes[name] / "inbox/drop.csv").write_text(text.getvalue(), encoding="utf-8", newline="")
        run(program, homes[name], "morning")
    return homes


def check_message(name, home, faults):
    """Python's parser, under the policy for SMTP (RFC 5321 and 5322), against the papers in the outbox."""
    [path] = (home / "outbox/mail").glob("*.eml")
    raw = path.read_bytes()
    message = message_from_bytes(raw, policy=policy.SMTP)
    papers = home / "outbox" / DAY
    told = lambda what: faults.append(f"{name}: the message {what}")
    for part in message.walk():
        if part.defects:
            told(f"has defects: {part.defects}")
    for kind, file in (("plain", "dispatch.txt"), ("html", "dispatch.html")):
        body = message.get_body((kind,)).get_content().replace("\r\n", "\n")
        if body.rstrip("\n") != (papers / file).read_text(encoding="utf-8").rstrip("\n"):
            told(f"has another {kind} body than {file}")
    for part in message.iter_attachments():
        if part.get_content_type() != "text/plain":
            held = part.get_content()
            held = held.encode() if isinstance(held, str) else held
            if held.replace(b"\r\n", b"\n") != (papers / part.get_filename()).read_bytes().replace(b"\r\n", b"\n"):
                told(f"has another {part.get_filename()} than the outbox")
    names = [part.get_filename() for part in message.iter_attachments()]
    parcels = json.loads((papers / "manifest.json").read_text(encoding="utf-8"))["parcels"]
    if names[:3] != (["dispatch.pdf", "handoff.csv", "handoff.xlsx"] if parcels else []):
        told(f"brings {names}")
    headers = sorted(header.lower() for header in message.keys())
    if len(set(headers)) != len(headers) or "bcc" in headers or "cc" in headers:
        told(f"has headers {headers}")
    if any(len(line) > 998 for line in raw.split(b"\r\n")):
        told("has a line of more than 998 octets (RFC 5322, section 2.1.1)")
    text = (papers / "dispatch.txt").read_text(encoding="utf-8")
    if any(len(line) > 72 for line in text.splitlines()):
        told("has a text line of more than 72 columns")
    if any(line.lstrip().lower().startswith("bcc:") for line in text.splitlines()):
        told("lets a name begin a line")


def check_manifest(name, home, faults):
    schema = json.loads((ROOT / "examples/schemas/manifest.schema.json").read_text(encoding="utf-8"))
    manifest = json.loads((home / "outbox" / DAY / "manifest.json").read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    validator.check_schema(schema)
    faults += [f"{name}: manifest.json, {fault.json_path}: {fault.message}" for fault in validator.iter_errors(manifest)]
    # Nothing is told that the schema doesn't know.
    strict = json.loads(json.dumps(schema), object_hook=lambda part: (
        part | {"additionalProperties": False} if "properties" in part and part.get("type") == "object" else part))
    faults += [f"{name}: manifest.json, {fault.json_path}: {fault.message}"
               for fault in jsonschema.Draft202012Validator(strict).iter_errors(manifest)]


def compare(made, kept):
    """The share of blocks of 8 × 8 pixels that differ by more than a tenth of the way from black to white."""
    a, b = Image.open(made).convert("L"), Image.open(kept).convert("L")
    if abs(a.height - b.height) > 0.02 * b.height or a.width != b.width:
        return 1.0
    size = (b.width // 8, b.height // 8)
    a, b = a.resize(size, Image.Resampling.BOX), b.resize(size, Image.Resampling.BOX)
    return sum(ImageChops.difference(a, b).histogram()[26:]) / (size[0] * size[1])


def check_pictures(out, keep, faults):
    for name in ("demo", "nothing", "questions"):
        for width in (390, 1200):
            for scheme in ("light", "dark"):
                file = f"{name}-{width}-{scheme}.png"
                if keep:
                    KEPT.mkdir(exist_ok=True)
                    Image.open(out / file).convert("RGB").quantize(64).save(KEPT / file, optimize=True)
                share = compare(out / file, KEPT / file)
                if share > 1 / 200:
                    faults.append(f"{file}: {share:.1%} of it differs from the picture kept; {out / file}")


def main():
    keep = "--keep" in sys.argv
    subprocess.run(["cargo", "build", "--locked", "--quiet"], cwd=ROOT, check=True)
    program = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug/dawnpack"
    work = Path(tempfile.mkdtemp())
    modules, pages, out = work / "modules", work / "pages", work / "out"
    for folder in (modules, pages, out):
        folder.mkdir()
    subprocess.run(["npm", "install", "--silent", "--no-audit", "--no-fund", "--prefix", modules, *MODULES], check=True)
    faults = []
    homes = scenes(program, work)
    for name, home in homes.items():
        check_message(name, home, faults)
        check_manifest(name, home, faults)
        shutil.copy(home / "outbox" / DAY / "dispatch.html", pages / f"{name}.html")
    looked = subprocess.run(["node", ROOT / "tests/peers/pictures/email.mjs", pages, out, modules],
                            capture_output=True, text=True)
    if looked.returncode and not looked.stdout:
        sys.exit(looked.stderr)
    faults += looked.stdout.splitlines()
    check_pictures(out, keep, faults)
    if faults:
        sys.exit("\n".join(faults))
    print(f"{len(homes)} emails and manifests, {len(list(out.glob('*.png')))} pictures")
    shutil.rmtree(work)


if __name__ == "__main__":
    main()
