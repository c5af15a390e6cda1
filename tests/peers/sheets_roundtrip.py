#!/usr/bin/env python3
"""The program's own sheets, filled in by a person in a real LibreOffice Calc and saved again.

Opens each sheet as the program writes it, in a Calc of one country, types what a seller there would type, moves
rows and columns about, and saves it as CSV, XLSX, ODS or XLS under tests/drops. What should be read in them stands beside
them, in NAME.json, and was worked out by hand from what is typed below. Needs `soffice` and Debian's `python3-uno`,
whose module only the system's own Python finds:

    /usr/bin/python3 tests/peers/sheets_roundtrip.py [PROFILE_DIRECTORY]

With the environment's INTO, the files go into that directory instead.
"""

import csv
import io
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.table import CellRangeAddress

DROPS = Path(os.environ.get("INTO") or Path(__file__).resolve().parent.parent / "drops")
# Windows' numbers for languages, and LibreOffice's for encodings, as its CSV filter takes them.
LANGUAGES = {"en-US": 1033, "de-DE": 1031, "fr-FR": 1036, "pl-PL": 1045}
UTF8, WINDOWS_1250, WINDOWS_1252, UTF16 = 76, 33, 1, 65535
COMMA, SEMICOLON, TAB = 44, 59, 9

HANDOFF = ["sheet", "parcel", "to", "postal_code", "service", "declared", "scale", "scale_unit", "tracking",
           "postage_paid", "handed_over_on", "place", "note"]
INCOMING = ["sheet", "trade", "from", "expected", "arrived_on", "condition", "note"]
QUESTIONS = ["sheet", "question", "about", "asks", "choices", "answer"]

H = "handoff 2026-11-30 r1"
I = "incoming 2026-11-30 r1"
Q = "questions 2026-11-30 r1"
SHEETS = {
    "handoff": [
        HANDOFF,
        [H, "1130-01", "Amadou Keïta", "02999", "small-parcel", "4 oz", "", "oz", "", "", "", "", ""],
        [H, "1130-02", "Jörg Weißenau", "26999", "parcel-abroad", "100 g", "", "g", "", "", "", "", ""],
        [H, "1130-03", "Łucja Żółkiewska", "99-999", "parcel-abroad", "100 g", "", "g", "", "", "", "", ""],
        [H, "1130-04", "Maren Oduya", "01999", "small-parcel", "4 oz", "", "oz", "", "", "", "", ""],
        [H, "1125-04", "Zoë Brannigan", "", "", "", "", "", "", "", "", "", ""],
    ],
    "incoming": [
        INCOMING,
        [I, "T-0001", "Casper Brandvold", "2026-11-30", "", "", ""],
        [I, "T-0002", "Zoë Brannigan", "2026-12-03", "", "", ""],
        [I, "T-0003", "Ines Okonjo", "2026-12-04", "", "", ""],
    ],
    "questions": [
        QUESTIONS,
        [Q, "Q-0001", "stall:1003 stall:0991", "is it one recipient, so that both may share a parcel?",
         "together | apart", ""],
        [Q, "Q-0002", "stall:1008", "which article is it, \"Kittiwake, small\"?", "KITTIWAKE | KITTI-CARD", ""],
        [Q, "Q-0003", "stall", "day or month first in 03/04/2026?", "day | month", ""],
    ],
}


def value(name, held):
    pair = PropertyValue()
    pair.Name, pair.Value = name, held
    return pair


class Calc:
    """A Calc of one country."""

    def __init__(self, language, profiles):
        self.language = language
        profile = Path(profiles) / language
        (profile / "user").mkdir(parents=True, exist_ok=True)
        (profile / "user" / "registrymodifications.xcu").write_text(
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<oor:items xmlns:oor="http://openoffice.org/2001/registry"'
            ' xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">\n'
            '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">'
            f"<value>{language}</value></prop></item>\n</oor:items>\n",
            encoding="utf-8",
        )
        pipe = f"sheets{language.replace('-', '')}"
        command = ["soffice", f"-env:UserInstallation={profile.resolve().as_uri()}", "--headless", "--norestore",
                   f"--accept=pipe,name={pipe};urp;"]
        self.process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        here = uno.getComponentContext()
        resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
        for _ in range(120):
            try:
                there = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
                break
            except NoConnectException:
                time.sleep(0.5)
        else:
            raise SystemExit(f"soffice for {language} doesn't answer")
        self.desktop = there.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", there)

    def close(self):
        try:
            self.desktop.terminate()
        except Exception:  # It is gone before it has answered.
            pass
        self.process.wait(30)

    def open(self, name):
        """A sheet as the program writes it, opened with the filter's usual choices."""
        text = io.StringIO(newline="")
        csv.writer(text, lineterminator="\r\n").writerows(SHEETS[name])
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{name}.csv"
            path.write_bytes(text.getvalue().encode("utf-8"))
            options = f"{COMMA},34,{UTF8},1,,{LANGUAGES[self.language]},false,false"
            document = self.desktop.loadComponentFromURL(
                path.as_uri(), "_blank", 0,
                (value("Hidden", True), value("FilterName", "Text - txt - csv (StarCalc)"),
                 value("FilterOptions", options)))
        return Sheet(document, SHEETS[name][0], LANGUAGES[self.language])


class Sheet:
    def __init__(self, document, header, language):
        self.document, self.header, self.language = document, list(header), language
        self.cells = document.Sheets.getByIndex(0)

    def cell(self, row, column):
        return self.cells.getCellByPosition(self.header.index(column), row - 1)

    def type(self, row, **texts):
        """Types into the cells of a row, numbered as Calc numbers it."""
        for column, text in texts.items():
            self.cell(row, column).FormulaLocal = text
        return self

    def as_text(self, column):
        """Makes a column text, as somebody does who knows about long numbers."""
        self.cells.Columns.getByIndex(self.header.index(column)).NumberFormat = 100
        return self

    def blank_row_before(self, row):
        self.cells.Rows.insertByIndex(row - 1, 1)
        return self

    def hide(self, column):
        self.cells.Columns.getByIndex(self.header.index(column)).IsVisible = False
        return self

    def widen(self, column):
        self.cells.Columns.getByIndex(self.header.index(column)).Width = 9000
        return self

    def add_column_before(self, column, name, **texts):
        """A column of the seller's own; `texts` by row, as r2="x"."""
        place = self.header.index(column)
        self.cells.Columns.insertByIndex(place, 1)
        self.header = self.header[:place] + [name] + self.header[place:]
        self.type(1, **{name: name})
        for row, text in texts.items():
            self.type(int(row[1:]), **{name: text})
        return self

    def sort_by(self, column, last_row, down=True):
        order = uno.createUnoStruct("com.sun.star.table.TableSortField")
        order.Field, order.IsAscending = self.header.index(column), not down
        area = self.cells.getCellRangeByPosition(0, 1, len(self.header) - 1, last_row - 1)
        fields = uno.Any("[]com.sun.star.table.TableSortField", (order,))
        area.sort((value("SortFields", fields), value("ContainsHeader", False)))
        return self

    def move_column(self, column, before):
        source, target = self.header.index(column), self.header.index(before)
        self.cells.Columns.insertByIndex(target, 1)
        source += source >= target
        place = CellRangeAddress()
        place.Sheet, place.StartColumn, place.EndColumn, place.StartRow, place.EndRow = 0, source, source, 0, 99
        self.cells.moveRange(self.cells.getCellByPosition(target, 0).CellAddress, place)
        self.cells.Columns.removeByIndex(source, 1)
        self.header.remove(column)
        self.header.insert(self.header.index(before), column)
        return self

    def save(self, name, delimiter=COMMA, encoding=UTF8, quote_all=False):
        ending = name.rsplit(".", 1)[1]
        filters = {"csv": "Text - txt - csv (StarCalc)", "xlsx": "Calc MS Excel 2007 XML", "ods": "calc8",
                   "xls": "MS Excel 97"}
        options = f"{delimiter},34,{encoding},1,,{self.language},{'true' if quote_all else 'false'},true"
        chosen = [value("FilterName", filters[ending])]
        chosen += [value("FilterOptions", options)] if ending == "csv" else []
        self.document.storeToURL((DROPS / name).as_uri(), tuple(chosen))
        self.document.close(True)
        print(name)


def american(calc):
    filled = lambda: (calc.open("handoff")
                      .type(2, scale="2.3", tracking="LX 123 456 785 DE", postage_paid="5.25",
                            handed_over_on="11/30/2026", place="Eastmere counter")
                      .type(3, scale="36.9", postage_paid="$12.40", handed_over_on="12/1/2026",
                            note='says "fragile", twice')
                      .type(5, handed_over_on="12/2/2026")
                      .type(6, handed_over_on="11/28/2026"))
    filled().save("sheet-handoff-american.csv")
    filled().sort_by("parcel", 6).blank_row_before(4).save("sheet-handoff-american.xlsx")
    filled().hide("declared").widen("to").save("sheet-handoff-american.xls")
    (calc.open("handoff").type(2, tracking="9405511899223197428490", handed_over_on="11/30/2026")
     .type(3, tracking="012345678912", handed_over_on="11/30/2026").save("sheet-tracking-shortened.csv"))
    (calc.open("handoff").type(2, tracking="9405511899223197428490", handed_over_on="11/30/2026")
     .save("sheet-tracking-shortened.xlsx"))
    (calc.open("handoff").as_text("tracking").type(2, tracking="9405511899223197428490", handed_over_on="11/30/2026")
     .save("sheet-tracking-as-text.xlsx"))
    (calc.open("handoff").type(2, tracking="'0094055118992231974284", handed_over_on="11/30/2026")
     .save("sheet-tracking-behind-an-apostrophe.ods"))
    calc.open("questions").type(2, answer="apart").type(4, answer="day").save("sheet-questions-american.csv")
    (calc.open("questions").type(3, answer="KITTIWAKE").add_column_before("answer", "my own", r3="blue one")
     .save("sheet-questions-american.xlsx"))
    (calc.open("incoming").type(2, arrived_on="12/1/2026", condition="mint").type(4, arrived_on="11/27/2026")
     .save("sheet-incoming-american.csv", delimiter=TAB, encoding=UTF16))


def german(calc):
    filled = lambda: (calc.open("handoff")
                      .type(2, scale="2,3", tracking="LX123456785DE", postage_paid="5,25",
                            handed_over_on="30.11.2026", place="Schalter; Nebelhafen")
                      .type(3, scale="36,9", postage_paid="12,40", handed_over_on="1.12.2026", note="dünn, aber steif")
                      .type(6, handed_over_on="28.11."))
    filled().save("sheet-handoff-german.csv")
    filled().save("sheet-handoff-german-quoted.csv", delimiter=SEMICOLON, encoding=WINDOWS_1252, quote_all=True)
    filled().add_column_before("scale", "gepackt", r2="ja", r3="ja").save("sheet-handoff-german.xlsx")
    filled().move_column("handed_over_on", "to").save("sheet-handoff-german.ods")
    (calc.open("handoff").type(2, scale="2.3", handed_over_on="30.11.2026")
     .type(3, scale="1.234", handed_over_on="30.11.2026").type(5, scale="36,9", handed_over_on="1.12.2026")
     .save("sheet-scale-with-a-point-german.csv", delimiter=SEMICOLON))
    (calc.open("incoming").type(2, arrived_on="1.12.2026", condition="neuwertig").type(3, note="noch nichts")
     .save("sheet-incoming-german.csv", delimiter=SEMICOLON))
    (calc.open("incoming").type(3, arrived_on="2.12.2026").type(4, arrived_on="3.12.26", condition="Nadel verbogen")
     .sort_by("trade", 4).save("sheet-incoming-german.xlsx"))
    calc.open("questions").type(2, answer="together").type(3, answer=" kittiwake ").save("sheet-questions-german.ods")


def french(calc):
    (calc.open("handoff").type(2, scale="2,3", postage_paid="5,25", handed_over_on="30/11/2026", place="Guichet")
     .type(3, scale="36,9", postage_paid="12,4", handed_over_on="1/12/2026")
     .save("sheet-handoff-french.csv", delimiter=SEMICOLON))
    (calc.open("handoff").type(2, scale="2,3", handed_over_on="1/12/2026").type(5, scale="1,9", handed_over_on="2/12/2026")
     .save("sheet-day-told-by-the-listing.csv", delimiter=SEMICOLON))
    (calc.open("incoming").type(2, arrived_on="01/12/2026", condition="très bien").type(3, arrived_on="05/12/2026")
     .blank_row_before(3).save("sheet-incoming-french.ods"))
    (calc.open("incoming").type(2, arrived_on="01/12/2026").save("sheet-incoming-french.csv", delimiter=SEMICOLON))


def polish(calc):
    (calc.open("handoff").type(2, scale="65,2 g", postage_paid="5,25", handed_over_on="30.11.2026")
     .type(4, scale="101", postage_paid="48,00", handed_over_on="2026-12-01", note="Łódź")
     .save("sheet-handoff-polish.csv", delimiter=SEMICOLON, encoding=WINDOWS_1250))
    (calc.open("questions").type(2, answer="apart").type(3, answer="KITTI-CARD")
     .sort_by("question", 4).save("sheet-questions-polish.xls"))


def main():
    with tempfile.TemporaryDirectory() as folder:
        profiles = sys.argv[1] if len(sys.argv) > 1 else folder
        for language, fill_in in [("en-US", american), ("de-DE", german), ("fr-FR", french), ("pl-PL", polish)]:
            calc = Calc(language, profiles)
            try:
                fill_in(calc)
            finally:
                calc.close()


if __name__ == "__main__":
    main()
