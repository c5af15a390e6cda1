"""Saves tables of tests/drops again with a real LibreOffice, as a person does who opens an export and saves it.

LibreOffice opens a CSV as it does for anybody: figures become numbers (and lose their zeros), dates become dates,
TRUE becomes a truth value. What it writes is kept in tests/drops beside the originals; what each file should be read
as stands in its .json, worked out by hand.

    python3 tests/peers/save_as.py             saves what isn't there yet
    python3 tests/peers/save_as.py --again     saves everything anew
    python3 tests/peers/save_as.py --into DIR  saves everything into another directory

Needs `soffice` (Debian: apt-get install libreoffice-calc). The files that are kept were made by LibreOffice 7.4.7.2.
Turned down: a library that writes the formats, since what is to be read is what a spreadsheet program makes of them.
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

DROPS = Path(__file__).resolve().parent.parent / "drops"

# Numbers of LibreOffice's CSV filter (its help, "CSV filter parameters"): encodings, then languages.
UTF8, WINDOWS_1252, ISO_8859_2, SHIFT_JIS, UTF16 = 76, 1, 13, 64, 65535
US, GERMAN, BRITISH, POLISH, JAPANESE, FRENCH, DUTCH = 1033, 1031, 2057, 1045, 1041, 1036, 1043

WORKBOOKS = {
    "xlsx": "Calc MS Excel 2007 XML",
    "ods": "calc8",
    "xls": "MS Excel 97",
}


def as_csv(delimiter, encoding, quote_all=False, as_shown=True):
    """The filter that writes CSV: delimiter, quote, encoding, first line, columns, language, quote all, as shown."""
    flags = f"{str(quote_all).lower()},{str(as_shown).lower()},false"
    return f"Text - txt - csv (StarCalc):{ord(delimiter)},34,{encoding},1,,0,{flags}"


# Name of the copy: (the original, its delimiter, its encoding, the language it is opened in, how it is saved).
COPIES = {
    "saved-encoding-utf8.xlsx": ("encoding-utf8.csv", ",", UTF8, US, "xlsx"),
    "saved-encoding-windows-1252.ods": ("encoding-windows-1252.csv", ";", WINDOWS_1252, GERMAN, "ods"),
    "saved-encoding-iso-8859-2.xls": ("encoding-iso-8859-2.csv", ";", ISO_8859_2, POLISH, "xls"),
    "saved-encoding-shift-jis.xlsx": ("encoding-shift-jis.csv", ",", SHIFT_JIS, JAPANESE, "xlsx"),
    "saved-encoding-shift-jis.xls": ("encoding-shift-jis.csv", ",", SHIFT_JIS, JAPANESE, "xls"),
    "saved-quotes-round-line-breaks.xlsx": ("quotes-round-line-breaks.csv", ",", UTF8, US, "xlsx"),
    "saved-quotes-doubled.ods": ("quotes-doubled.csv", ",", UTF8, US, "ods"),
    "saved-preamble.xlsx": ("preamble.csv", ",", UTF8, US, "xlsx"),
    "saved-preamble-of-pairs.ods": ("preamble-of-pairs.csv", ";", UTF8, US, "ods"),
    "saved-header-again-in-joined-files.xls": ("header-again-in-joined-files.csv", ",", UTF8, US, "xls"),
    "saved-rows-blank.ods": ("rows-blank.csv", ",", UTF8, US, "ods"),
    "saved-totals-german.xlsx": ("totals-german.csv", ";", UTF8, GERMAN, "xlsx"),
    "saved-table-begins-further-in.xlsx": ("table-begins-further-in.csv", ",", UTF8, US, "xlsx"),
    "saved-table-begins-further-in.ods": ("table-begins-further-in.csv", ",", UTF8, US, "ods"),
    "saved-columns-in-another-order.xls": ("columns-in-another-order.csv", ",", UTF8, US, "xls"),
    "saved-match-english-plain.xlsx": ("match-english-plain.csv", ",", UTF8, US, "xlsx"),
    "saved-match-english-plain.ods": ("match-english-plain.csv", ",", UTF8, US, "ods"),
    "saved-match-english-several-rows.xls": ("match-english-several-rows.csv", ",", UTF8, US, "xls"),
    "saved-match-german-plain.xlsx": ("match-german-plain.csv", ";", UTF8, GERMAN, "xlsx"),
    "saved-match-dutch-plain.ods": ("match-dutch-plain.csv", ";", UTF8, DUTCH, "ods"),
    "saved-match-japanese-plain.ods": ("match-japanese-plain.csv", ",", UTF8, JAPANESE, "ods"),
    "saved-money-point-between-thousands.xlsx": ("money-point-between-thousands.csv", ";", UTF8, GERMAN, "xlsx"),
    "saved-money-sign-behind.ods": ("money-sign-behind.csv", ";", UTF8, GERMAN, "ods"),
    "saved-dates-day-first.ods": ("dates-day-first.csv", ";", UTF8, BRITISH, "ods"),
    "saved-dates-undecidable.xlsx": ("dates-undecidable.csv", ",", UTF8, US, "xlsx"),
    "saved-dates-with-times.xlsx": ("dates-with-times.csv", ";", UTF8, US, "xlsx"),
    "saved-postal-zeros-lost-elsewhere.xlsx": ("postal-zeros-lost-elsewhere.csv", ",", UTF8, US, "xlsx"),
    "saved-order-numbers-long.xlsx": ("order-numbers-long.csv", ",", UTF8, US, "xlsx"),
    "saved-order-numbers-long.ods": ("order-numbers-long.csv", ",", UTF8, US, "ods"),
    "saved-cells-wrapped-as-formulas.xlsx": ("cells-wrapped-as-formulas.csv", ",", UTF8, US, "xlsx"),
    "saved-presents.ods": ("presents.csv", ",", UTF8, US, "ods"),
    "saved-quantities-in-words-and-signs.xls": ("quantities-in-words-and-signs.csv", ",", UTF8, US, "xls"),
    "saved-encoding-utf8-as-utf16-tabs.csv": ("encoding-utf8.csv", ",", UTF8, US, as_csv("\t", UTF16)),
    "saved-quotes-round-line-breaks-quoted.csv": (
        "quotes-round-line-breaks.csv", ",", UTF8, US, as_csv(",", UTF8, quote_all=True),
    ),
    "saved-match-english-plain-semicolons.csv": ("match-english-plain.csv", ",", UTF8, US, as_csv(";", UTF8)),
    "saved-match-german-plain-windows.csv": ("match-german-plain.csv", ";", UTF8, GERMAN, as_csv(";", WINDOWS_1252)),
    "saved-match-french-plain-bars.csv": ("match-french-plain.csv", ";", UTF8, FRENCH, as_csv("|", UTF8, quote_all=True)),
    "saved-dates-day-first-again.csv": ("dates-day-first.csv", ";", UTF8, BRITISH, as_csv(",", UTF8)),
    "saved-order-numbers-long-as-shown.csv": ("order-numbers-long.csv", ",", UTF8, US, as_csv(",", UTF8)),
}


def save(soffice, profile, name, target):
    original, delimiter, encoding, language, saving = COPIES[name]
    # Delimiter, quote, encoding, first line, columns, language, quoted cells as text, special numbers recognised.
    opening = f"CSV:{ord(delimiter)},34,{encoding},1,,{language},false,true"
    ending = name.rsplit(".", 1)[1]
    into = f"{ending}:{WORKBOOKS.get(saving, saving)}"
    with tempfile.TemporaryDirectory() as work:
        copy = Path(work, "in", "table.csv")
        copy.parent.mkdir()
        shutil.copy(DROPS / original, copy)
        command = [
            soffice, "--headless", f"-env:UserInstallation=file://{profile}", f"--infilter={opening}",
            "--convert-to", into, "--outdir", work, str(copy),
        ]
        done = subprocess.run(command, capture_output=True, text=True, timeout=180)
        made = Path(work, f"table.{ending}")
        if not made.exists():
            sys.exit(f"LibreOffice made no {name}: {done.stdout}{done.stderr}")
        shutil.copy(made, target / name)


def main():
    arguments = argparse.ArgumentParser(description="Saves tables of tests/drops again with LibreOffice.")
    arguments.add_argument("--again", action="store_true", help="save what is there already, too")
    arguments.add_argument("--into", type=Path, help="another directory to save into")
    given = arguments.parse_args()
    soffice = shutil.which("soffice")
    if soffice is None:
        sys.exit("there is no `soffice`; install libreoffice-calc")
    target = given.into or DROPS
    target.mkdir(parents=True, exist_ok=True)
    # One run at a time, with a profile of its own, so that nobody's LibreOffice is disturbed.
    with tempfile.TemporaryDirectory() as profile:
        for name in COPIES:
            if given.again or not (target / name).exists():
                save(soffice, profile, name, target)
                print(name)


if __name__ == "__main__":
    main()
