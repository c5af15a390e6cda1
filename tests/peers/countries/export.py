"""Countries of ISO 3166-1 and their names in Unicode CLDR, as pycountry and Babel have them.

Writes tests/standards/data/countries.csv: codes and English names from pycountry (Debian's iso-codes), and the
territory names of CLDR in the languages of the exports and in the official languages of each country.
"""

import csv
from pathlib import Path

import babel
import pycountry
from babel.languages import get_official_languages

OUT = Path(__file__).parents[2] / "standards" / "data" / "countries.csv"
EXPORTS = ["en", "de", "fr", "es", "it", "nl", "pt", "ja", "pl"]


def own_languages(code):
    for language in get_official_languages(code, regional=False, de_facto=True):
        try:
            yield language, babel.Locale.parse(language)
        except (babel.UnknownLocaleError, ValueError):
            continue


rows = []
for country in sorted(pycountry.countries, key=lambda country: country.alpha_2):
    code = country.alpha_2
    said = [("alpha2", code), ("alpha3", country.alpha_3), ("numeric", country.numeric), ("iso", country.name)]
    said += [(kind, getattr(country, kind)) for kind in ["common_name", "official_name"] if hasattr(country, kind)]
    said += [(language, babel.Locale(language).territories[code]) for language in EXPORTS]
    for language, locale in own_languages(code):
        if language not in EXPORTS and code in locale.territories:
            said.append((f"own {language}", locale.territories[code]))
    rows += [(code, kind, name) for kind, name in said]

with OUT.open("w", encoding="utf-8", newline="") as out:
    out.write(
        f"# Countries (PyPI pycountry {pycountry.__version__}, LGPL-2.1, data of iso-codes; PyPI babel {babel.__version__},"
        " BSD-3, CLDR data Unicode-3.0 licence), made by tests/peers/countries/export.py.\n"
    )
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["country", "kind", "name"])
    writer.writerows(rows)
