#!/usr/bin/env python3
"""The program's own handoff.xlsx, filled in by a person in a real LibreOffice Calc, saved, and dropped again.

Types into it what a seller types in each of two countries: a tracking number of 22 digits, a scale's reading, a price
and a day. What the program then lists must be what was typed. Needs `soffice` and Debian's `python3-uno`:

    /usr/bin/python3 tests/peers/handoff_workbook.py
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import sheets_roundtrip
from sheets_roundtrip import HANDOFF, LANGUAGES, Calc, Sheet, value

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAM = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug/dawnpack"
TRACKING = "9405511899223197428490"
TYPED = {
    "en-US": {"tracking": TRACKING, "scale": "1.35", "postage_paid": "5.25", "handed_over_on": "11/25/2026"},
    "de-DE": {"tracking": TRACKING, "scale": "1,35", "postage_paid": "5,25", "handed_over_on": "25.11.2026"},
}


def dawnpack(home, now, *args):
    done = subprocess.run([PROGRAM, "-C", home, "--now", now, *args], capture_output=True, text=True)
    if done.returncode not in (0, 3):
        sys.exit(done.stderr)
    return done.stdout


def main():
    subprocess.run(["cargo", "build", "--locked", "--quiet"], cwd=ROOT, check=True)
    for language, typed in TYPED.items():
        with tempfile.TemporaryDirectory() as folder:
            home = Path(folder) / "home"
            subprocess.run([PROGRAM, "--now", "2026-11-25T06:30", "demo", home], check=True, capture_output=True)
            sheets_roundtrip.DROPS = home / "inbox"
            calc = Calc(language, folder)
            try:
                document = calc.desktop.loadComponentFromURL(
                    (home / "outbox/2026-11-25/handoff.xlsx").as_uri(), "_blank", 0, (value("Hidden", True),))
                sheet = Sheet(document, HANDOFF, LANGUAGES[language])
                for column, text in typed.items():
                    # As a key press does it: a cell that is text takes what is typed, any other makes sense of it.
                    cell = sheet.cell(2, column)
                    if cell.NumberFormat == document.NumberFormats.queryKey("@", cell.CharLocale, False):
                        cell.String = text
                    else:
                        cell.FormulaLocal = text
                sheet.save("filled.xlsx")
            finally:
                calc.close()
            dawnpack(home, "2026-11-25T18:00", "take-in")
            parcels = json.loads(dawnpack(home, "2026-11-25T18:00", "list", "parcels", "--json"))["parcels"]
            [parcel] = [parcel for parcel in parcels if parcel["ref"] == "1125-01"]
            read = (parcel["state"], parcel["tracking"], parcel["handed_over_on"])
            if read != ("handed-over", TRACKING, "2026-11-25"):
                sys.exit(f"{language}: {read} of {parcel}")
            export = [path.name for path in (home / "refused").rglob("filled*")]
            if export:
                sys.exit(f"{language}: {export}")


if __name__ == "__main__":
    main()
