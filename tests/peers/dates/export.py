"""Long dates of Unicode CLDR as Babel writes them, for the languages that papers are written in.

Writes tests/standards/data/date_long_vectors.csv. English is that of the United Kingdom, day before month, as the
print pack writes it everywhere.
"""

import datetime
from pathlib import Path

import babel
from babel.dates import format_date

OUT = Path(__file__).parents[2] / "standards" / "data" / "date_long_vectors.csv"
DAYS = [datetime.date(2026, month, 25) for month in range(1, 13)] + [datetime.date(2026, 11, 1)]

lines = [
    f"# Long dates (CLDR via PyPI babel {babel.__version__}, BSD-3; CLDR data Unicode-3.0 licence), made by"
    " tests/peers/dates/export.py.",
    "locale,date,long",
]
for locale in ["de_DE", "en_GB", "es_ES", "fr_FR", "ja_JP"]:
    lines += [f"{locale},{day.isoformat()},{format_date(day, 'long', locale)}" for day in DAYS]
OUT.write_text("\n".join(lines) + "\n", encoding="utf-8")
