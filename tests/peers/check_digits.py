#!/usr/bin/env python3
"""Check digits as two packages reckon them, kept as tests/standards/data/check_digits.csv.

GS1's modulo 10 by python-stdnum 2.2 (stdnum.ean), for US package identifiers of 22, 26, 30 and 34 digits; UPU S10 by
npm's s10 1.0.0, through node. The serials are drawn from a seed, so that a second run writes the same file. To run it:

    pip install python-stdnum==2.2
    npm install --prefix DIR s10@1.0.0
    NODE_PATH=DIR/node_modules python3 tests/peers/check_digits.py
"""
import csv
import json
import pathlib
import random
import subprocess

from stdnum import __version__ as stdnum_version
from stdnum import ean

OUT = pathlib.Path(__file__).parents[1] / "standards" / "data" / "check_digits.csv"
EACH = 250
LENGTHS = (22, 26, 30, 34)


def by_s10(serials):
    """What npm's s10 says of each serial of eight digits."""
    program = """
        const s10 = require("s10");
        const serials = JSON.parse(require("fs").readFileSync(0, "utf8"));
        console.log(JSON.stringify(serials.map((serial) => String(s10.calculateCheckDigit(serial)))));
    """
    said = subprocess.run(["node", "-e", program], input=json.dumps(serials), capture_output=True, text=True, check=True)
    return json.loads(said.stdout)


def main():
    assert stdnum_version == "2.2", stdnum_version
    draw = random.Random(1610)
    serials = ["".join(draw.choices("0123456789", k=8)) for _ in range(4 * EACH)]
    rows = [("s10", serial, digit) for serial, digit in zip(serials, by_s10(serials), strict=True)]
    for length in LENGTHS:
        for _ in range(EACH):
            data = "9" + "".join(draw.choices("0123456789", k=length - 2))
            rows.append(("gs1", data, ean.calc_check_digit(data)))
    with OUT.open("w", newline="") as file:
        file.write("# Check digits as other packages reckon them, by tests/peers/check_digits.py: GS1 modulo 10 by PyPI\n")
        file.write("# python-stdnum 2.2 (LGPL-2.1+, its results only), UPU S10 by npm s10 1.0.0 (Unlicense). Seed 1610.\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow(("scheme", "data", "check"))
        table.writerows(rows)


main()
