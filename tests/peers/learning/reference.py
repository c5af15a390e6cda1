"""Fits simulated parcels with scikit-learn's BayesianRidge, for tests/standards/scale.rs.

    pip install numpy scikit-learn
    python tests/peers/learning/reference.py            writes tests/standards/data/learning_reference.json
    python tests/peers/learning/reference.py --compare  fits what is kept there again, and fails where it differs

The model is that of src/plan/weighing/learning.rs: reading - packing = sum(copies * mass) + e, with the masses' prior from
the files and e's spread as planned. In units of those spreads it is BayesianRidge without an intercept, and the Gamma priors
around 1 are its alpha_1, alpha_2, lambda_1 and lambda_2, each half of ten. What it finds is checked here against the
closed form at its own alpha and lambda (numpy.linalg.solve), and against both fixed-point equations.

Kept are the parcels, the masses and their spreads, and the two precisions. Parcels with "slip" lack a piece and are left
out of the fit: the program has to find them itself. The numbers that are kept were made by scikit-learn 1.9.1 and numpy
2.4.6.
"""

import json
import platform
import sys
from pathlib import Path

import numpy as np
import sklearn
from sklearn.linear_model import BayesianRidge

OUT = Path(__file__).resolve().parents[2] / "standards" / "data" / "learning_reference.json"
HALF_OF_TEN = 5.0


def month(rng, articles, parcels, claimed, off, slips, step):
    """Masses, what the files say of them, and parcels; figures rounded to what a JSON file shows exactly."""
    true = rng.uniform(4, 15, articles)
    known = np.round(true * (1 + off * rng.standard_normal(articles)), 2)
    sds = np.round(known * claimed, 3)
    tares = np.array([7.5, 11.5])
    things = [(f"P{i:02}", k, s) for i, (k, s) in enumerate(zip(known, sds))]
    mailers = [("A", 7.3, 0.375), ("B", 11.9, 0.575)]
    rows = []
    for number in range(parcels):
        chosen = rng.integers(0, articles, rng.integers(1, 7))
        mailer = int(rng.integers(0, 2))
        packing = round(float(rng.uniform(7, 12)), 2)
        sd = round(float(rng.uniform(0.5, 0.9)), 2)
        slip = number in slips
        # The heaviest piece was planned and is missing: enough for the parcel to be told.
        inside = chosen
        if slip:
            heavy = int(np.argmax(true))
            chosen = np.append(chosen, heavy)
        mass = true[inside].sum() + tares[mailer] + packing + 0.8 * rng.standard_normal()
        reading = round(mass / step) * step
        copies = {}
        for place in chosen:
            copies[f"P{place:02}"] = copies.get(f"P{place:02}", 0) + 1
        rows.append({"copies": dict(sorted(copies.items())), "mailer": "AB"[mailer], "packing_g": packing,
                     "packing_sd_g": sd, "reading_g": round(reading, 1), "slip": slip})
    return things, mailers, rows


def fit(things, mailers, rows, step):
    kept = [row for row in rows if not row["slip"]]
    names = [name for name, _, _ in things + mailers]
    mean = np.array([mean for _, mean, _ in things + mailers])
    sd = np.array([sd for _, _, sd in things + mailers])
    counts = np.zeros((len(kept), len(names)))
    for place, row in enumerate(kept):
        for name, copies in row["copies"].items():
            counts[place, names.index(name)] = copies
        counts[place, names.index(row["mailer"])] = 1
    noise = np.sqrt(np.array([row["packing_sd_g"] ** 2 for row in kept]) + step**2 / 12)
    off = np.array([row["reading_g"] - row["packing_g"] for row in kept]) - counts @ mean
    x, y = counts * sd / noise[:, None], off / noise
    model = BayesianRidge(max_iter=1_000_000, tol=1e-15, alpha_1=HALF_OF_TEN, alpha_2=HALF_OF_TEN, lambda_1=HALF_OF_TEN,
                          lambda_2=HALF_OF_TEN, alpha_init=1, lambda_init=1, fit_intercept=False)
    model.fit(x, y)
    alpha, lam, w = model.alpha_, model.lambda_, model.coef_
    precision = alpha * x.T @ x + lam * np.eye(len(names))
    closed = np.linalg.solve(precision, alpha * x.T @ y)
    spread = np.linalg.inv(precision)
    assert np.abs(closed - w).max() < 1e-9, np.abs(closed - w).max()
    assert np.abs(spread - model.sigma_).max() < 1e-9
    determined = len(names) - lam * np.trace(spread)
    assert abs(lam - (determined + 10) / (w @ w + 10)) < 1e-8
    assert abs(alpha - (len(y) - determined + 10) / (((y - x @ w) ** 2).sum() + 10)) < 1e-8
    learnt = {name: [float(m), float(s)] for name, m, s in zip(names, mean + sd * w, sd * np.sqrt(np.diag(spread)))}
    return {"alpha": float(alpha), "lambda": float(lam), "learnt": learnt}


def compare():
    """The last digits differ with the build of the linear algebra beneath numpy."""
    for case in json.loads(OUT.read_text(encoding="utf-8"))["cases"]:
        again = fit(case["articles"], case["mailers"], case["parcels"], case["step_g"])
        pairs = [(again[key], case[key]) for key in ("alpha", "lambda")]
        for name, learnt in case["learnt"].items():
            pairs += zip(again["learnt"][name], learnt)
        worst = max(abs(here - there) for here, there in pairs)
        print(f"{case['title']}: {worst:.1e}")
        if worst > 1e-7:
            sys.exit("differs from what is kept")


def main():
    rng = np.random.default_rng(20261125)
    cases = []
    for title, articles, parcels, claimed, off, slips, step in [
        ("a month of 200 parcels, catalogue 12% off where it claims 5%", 40, 200, 0.05, 0.12, set(), 1.0),
        ("five parcels, and articles that none of them holds", 30, 5, 0.12, 0.12, set(), 1.0),
        ("a good catalogue, and a scale of 0.1 g", 12, 60, 0.05, 0.03, set(), 0.1),
        ("three of 150 parcels lack a heavy piece", 25, 150, 0.12, 0.12, {17, 60, 141}, 1.0),
    ]:
        things, mailers, rows = month(rng, articles, parcels, claimed, off, slips, step)
        cases.append({"title": title, "step_g": step, "articles": things, "mailers": mailers, "parcels": rows,
                      **fit(things, mailers, rows, step)})
    kept = {"python": platform.python_version(), "numpy": np.__version__, "scikit-learn": sklearn.__version__,
            "made_by": "tests/peers/learning/reference.py", "cases": cases}
    text = json.dumps(kept, ensure_ascii=False, default=float)
    # One parcel and one case a line, so that a change can be read.
    text = text.replace('{"copies"', '\n{"copies"').replace('{"title"', '\n{"title"').replace('"alpha"', '\n"alpha"')
    OUT.write_text(text + "\n", encoding="utf-8")


if "--compare" in sys.argv[1:]:
    compare()
else:
    main()
