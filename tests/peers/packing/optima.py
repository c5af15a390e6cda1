"""Optima of 200 generated parcels by OR-Tools CP-SAT, and layers that rectpack packs, for tests/standards/packing.rs.

    pip install ortools==9.15.6755 rectpack==0.2.2
    python tests/peers/packing/optima.py [optima|rolls|layers]   # writes tests/standards/data/packing_*.json, or one

Written from the formulas at the head of src/plan/rolls.rs and src/plan/mailers.rs, in whole millimetres, which nothing here
goes below. A parcel is solved for one mailer after another, by falling preference; the first that has a solution
is the answer:

- every pin lies on one roll; a roll holds five shares at most, unless a single pin has more;
- rolls are as wide as their strip, as high as their tallest pin and its turns, as thick as their thickest pin and its wrap;
- every roll lies in one layer, along or across, and no two of a layer overlap; the layers' thicknesses add up to what the
  mailer closes over at most, and both of its sides are shorter by that sum;
- the least area of all strips.

CP-SAT proves each answer: a parcel for which it doesn't within the limit is drawn again, and how many were is written
down. So the parcels kept are the smaller ones. What is proven of 13 to 30 pins is the least wrap in strips no wider
than a given one, without a mailer: every roll that can be made is listed, and so many of each are chosen that all
pins are rolled (Gilmore and Gomory 1961). rectpack (plain rectangle packing, no layers) packs footprints into one layer by its bottom-left heuristics and
says yes or no.
"""

import json
import random
import sys
from pathlib import Path

import ortools
import rectpack
from ortools.sat.python import cp_model

DATA = Path(__file__).resolve().parents[2] / "standards/data"
SEED = 20261125
GAP, MARGIN, OVERHANG = 10, 20, 25
TURNS, LAYER, SHARES = 2, 4, 5
# code, width, length, thickest, cents; in the order of cost.
MAILERS = [("R", 105, 180, 35, 0), ("A", 120, 190, 35, 28), ("B", 150, 215, 45, 36), ("C", 220, 265, 60, 52)]


def strip_length(high, thick):
    """The layer under, the double layer over the face, then each turn round what has grown by a layer."""
    total, (h, t) = 3 * high, (high, thick + LAYER)
    for _ in range(TURNS):
        total += 2 * (h + t)
        h, t = h + LAYER, t + LAYER
    return total


def alone(piece):
    """A carded pin's roll: strip width and length, and its three sides."""
    wide, high = piece["width"] + 2 * OVERHANG, piece["height"] + 2 * OVERHANG
    return wide, strip_length(high, piece["thickness"]), (wide, high + TURNS * LAYER, piece["thickness"] + (1 + TURNS) * LAYER)


def solve(parcel, mailer, seconds):
    """Least area for a mailer, None where nothing fits, or "unproven"."""
    _, width, length, deepest, _ = mailer
    carded = [p for p in parcel if p["kind"] == "carded"]
    pins = [p for p in parcel if p["kind"] == "pin"]
    m = cp_model.CpModel()
    longest = max(width, length)
    most_layers = max(1, deepest // min(p["thickness"] + (1 + TURNS) * LAYER for p in parcel))
    # A roll's number is that of its first pin, so that no division is counted twice.
    on = {(i, r): m.new_bool_var(f"on{i}_{r}") for i in range(len(pins)) for r in range(i + 1)}
    rolls, areas = [], []
    for i in range(len(pins)):
        m.add_exactly_one(on[i, r] for r in range(i + 1))
        for r in range(i):
            m.add_implication(on[i, r], on[r, r])
    for r in range(len(pins)):
        used = on[r, r]
        members = range(r, len(pins))
        # More shares than a roll holds are lawful for one pin alone.
        shares = sum(pins[i]["share"] * on[i, r] for i in members)
        if pins[r]["share"] > SHARES:
            for i in members:
                if i != r:
                    m.add(on[i, r] == 0)
        else:
            m.add(shares <= SHARES)
        wide = m.new_int_var(0, longest, f"wide{r}")
        m.add(wide == sum((pins[i]["width"] + GAP) * on[i, r] for i in members) + (2 * MARGIN - GAP) * used)
        high, thick = m.new_int_var(0, longest, f"high{r}"), m.new_int_var(0, deepest, f"thick{r}")
        for i in members:
            m.add(high >= pins[i]["height"] * on[i, r])
            m.add(thick >= pins[i]["thickness"] * on[i, r])
        # 0 where it isn't used; else the linear formula, whose numbers are asked of strip_length.
        base = strip_length(0, 0)
        per_high, per_thick = strip_length(1, 0) - base, strip_length(0, 1) - base
        cut = m.new_int_var(0, 10 * longest, f"cut{r}")
        m.add(cut >= per_high * high + per_thick * thick + base * used)
        area = m.new_int_var(0, 10 * longest * longest, f"area{r}")
        m.add_multiplication_equality(area, [wide, cut])
        areas.append(area)
        rolls.append((used, wide, high + TURNS * LAYER, thick + (1 + TURNS) * LAYER))
    for piece in carded:
        wide, cut, (w, h, t) = alone(piece)
        areas.append(wide * cut)
        rolls.append((1, w, h, t))
    tall = [m.new_int_var(0, deepest, f"tall{k}") for k in range(most_layers)]
    m.add(sum(tall) <= deepest)
    for below, above in zip(tall, tall[1:]):
        m.add(below >= above)
    xs, ys = [[] for _ in tall], [[] for _ in tall]
    for r, (used, w, h, t) in enumerate(rolls):
        lies = [m.new_bool_var(f"lies{r}_{k}") for k in range(most_layers)]
        m.add(sum(lies) == used)
        turned = m.new_bool_var(f"turned{r}")
        x, y = m.new_int_var(0, width, f"x{r}"), m.new_int_var(0, length, f"y{r}")
        dx, dy = m.new_int_var(0, longest, f"dx{r}"), m.new_int_var(0, longest, f"dy{r}")
        for here, across in ((turned.negated(), (w, h)), (turned, (h, w))):
            m.add(dx == across[0]).only_enforce_if(here)
            m.add(dy == across[1]).only_enforce_if(here)
        right, far = m.new_int_var(0, 2 * longest, f"r{r}"), m.new_int_var(0, 2 * longest, f"f{r}")
        m.add(right == x + dx)
        m.add(far == y + dy)
        for k, here in enumerate(lies):
            m.add(tall[k] >= t).only_enforce_if(here)
            m.add(right <= width - sum(tall)).only_enforce_if(here)
            m.add(far <= length - sum(tall)).only_enforce_if(here)
            xs[k].append(m.new_optional_interval_var(x, dx, right, here, f"ix{r}_{k}"))
            ys[k].append(m.new_optional_interval_var(y, dy, far, here, f"iy{r}_{k}"))
    for x, y in zip(xs, ys):
        m.add_no_overlap_2d(x, y)
    m.minimize(sum(areas))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = SEED
    status = solver.solve(m)
    if status == cp_model.OPTIMAL:
        return round(solver.objective_value)
    return None if status == cp_model.INFEASIBLE else "unproven"


def draw(dice, largest):
    count = dice.randint(1, largest)
    designs = [
        {"kind": "pin", "width": dice.randint(15, 60), "height": dice.randint(15, 60), "thickness": dice.randint(8, 14),
         "share": dice.choice([1, 1, 1, 1, 2, 3])}
        for _ in range(dice.randint(1, count))
    ]
    parcel = [dict(dice.choice(designs)) for _ in range(count)]
    for _ in range(dice.choice([0, 0, 0, 1, 2])):
        card = {"kind": "carded", "width": 55, "height": dice.choice([75, 85]), "thickness": dice.randint(9, 12), "share": 1}
        parcel.append(card)
    return parcel


def optima():
    dice = random.Random(SEED)
    kept, again = [], 0
    while len(kept) < 200:
        # Most small, as most parcels are; every tenth up to 30 pins.
        largest = 30 if len(kept) % 10 == 9 else 14 if len(kept) % 10 >= 7 else 8
        parcel, answer, area = draw(dice, largest), None, None
        for mailer in MAILERS:
            area = solve(parcel, mailer, 15)
            if area is not None:
                answer = mailer[0]
                break
        if area == "unproven":
            again += 1
            print(f"drawn again: {len(parcel)} pieces", file=sys.stderr, flush=True)
            continue
        kept.append({"pieces": [[p["kind"], p["width"], p["height"], p["thickness"], p["share"]] for p in parcel],
                     "mailer": answer, "wrap_mm2": area})
        print(len(kept), len(parcel), answer, area, file=sys.stderr, flush=True)
    return kept, again


def every_roll(kinds, widest):
    """All rolls by how many of each kind they hold, with the area of their strips."""
    found = []

    def extend(first, counts, wide, high, thick, share):
        for k in range(first, len(kinds)):
            (w, h, t, s), count = kinds[k]
            if counts[k] == count:
                continue
            wider = wide + w + (GAP if any(counts) else 2 * MARGIN)
            if any(counts) and (wider > widest or share + s > SHARES):
                continue
            counts[k] += 1
            found.append((tuple(counts), wider * strip_length(max(high, h), max(thick, t))))
            extend(k, counts, wider, max(high, h), max(thick, t), share + s)
            counts[k] -= 1

    extend(0, [0] * len(kinds), 0, 0, 0, 0)
    return found


def least_wrap(pins, widest, seconds):
    counted = {}
    for pin in pins:
        counted[tuple(pin)] = counted.get(tuple(pin), 0) + 1
    kinds = sorted(counted.items())
    listed = every_roll(kinds, widest)
    m = cp_model.CpModel()
    cut = [m.new_int_var(0, len(pins), "") for _ in listed]
    for k, (_, count) in enumerate(kinds):
        m.add(sum(roll[k] * n for (roll, _), n in zip(listed, cut) if roll[k]) == count)
    m.minimize(sum(area * n for (_, area), n in zip(listed, cut)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = SEED
    status = solver.solve(m)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else "unproven"


def rolls():
    dice = random.Random(SEED)
    kept, again = [], 0
    while len(kept) < 60:
        count = dice.randint(13, 30)
        designs = [[dice.randint(15, 50), dice.randint(15, 50), dice.randint(8, 14), dice.choice([1, 1, 1, 1, 2, 3])]
                   for _ in range(dice.choice([4, 8, 12, count]))]
        pins = [dice.choice(designs) for _ in range(count)] if len(designs) < count else designs
        widest = dice.randint(110, 200)
        area = least_wrap(pins, widest, 60)
        print(len(kept), count, len(designs), area, file=sys.stderr, flush=True)
        if area == "unproven":
            again += 1
            continue
        kept.append({"pins": pins, "widest": widest, "wrap_mm2": area})
    return kept, again


def layers():
    dice = random.Random(SEED)
    cases = []
    while len(cases) < 300:
        _, width, length, _, _ = mailer = dice.choice(MAILERS)
        rolls = [[dice.randint(60, 160), dice.randint(26, 70)] for _ in range(dice.randint(2, 9))]
        thick = dice.randint(18, 26)
        # Not what is hopeless by its area.
        room = (width - thick) * (length - thick)
        if sum(a * b for a, b in rolls) > room:
            continue
        packs = False
        for algorithm in (rectpack.MaxRectsBssf, rectpack.MaxRectsBl, rectpack.MaxRectsBaf, rectpack.SkylineBl,
                          rectpack.GuillotineBssfSas):
            packer = rectpack.newPacker(pack_algo=algorithm, rotation=True)
            for a, b in rolls:
                packer.add_rect(a, b)
            packer.add_bin(width - thick, length - thick)
            packer.pack()
            packs |= len(packer.rect_list()) == len(rolls)
        cases.append({"mailer": mailer[0], "thick": thick, "rolls": rolls, "packs": packs})
    return cases


def write(name, head, key, rows):
    lines = ",\n".join("  " + json.dumps(row) for row in rows)
    text = json.dumps(head)[:-1] + f', "{key}": [\n{lines}\n]}}\n'
    json.loads(text)
    (DATA / name).write_text(text)


if __name__ == "__main__":
    head = {"by": "tests/peers/packing/optima.py", "seed": SEED,
            "mailers": [dict(zip(("code", "width", "length", "thickness", "cents"), m)) for m in MAILERS]}
    wanted = sys.argv[1:] or ["layers", "rolls", "optima"]
    if "layers" in wanted:
        write("packing_layers.json", {**head, "rectpack": "0.2.2"}, "layers", layers())
    for name, solved, key in (("rolls", rolls, "rolls"), ("optima", optima, "parcels")):
        if name in wanted:
            kept, again = solved()
            write(f"packing_{name}.json", {**head, "ortools": ortools.__version__, "drawn_again": again}, key, kept)
