"""Writes the table of README.md from the .json of each drop. `cargo test` compares the two."""

import json
from pathlib import Path

HERE = Path(__file__).parent
BEGIN, END = "<!-- the table is written by list.py -->\n", "<!-- end of the table -->\n"

rows = []
for told in sorted(HERE.glob("*.json")):
    hard = json.loads(told.read_text(encoding="utf-8"))["hard"]
    rows.append(f"| `{told.name.removesuffix('.json')}` | {hard.replace('|', chr(92) + '|')} |\n")
readme = HERE / "README.md"
before, rest = readme.read_text(encoding="utf-8").split(BEGIN)
after = rest.split(END)[1]
table = f"{len(rows)} files.\n\n| file | what is hard |\n|---|---|\n" + "".join(rows)
readme.write_text(f"{before}{BEGIN}{table}{END}{after}", encoding="utf-8")
