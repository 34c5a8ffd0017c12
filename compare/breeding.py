"""Breeding values, a selection index and combining abilities."""

import itertools
import json

import numpy as np

from sheet import coefficients

EXACT = {"absolute": 1e-9, "relative": 1e-8}


def pedigree(n, seed):
    """Plants of which few are parents, some selfed, some with a parent unknown."""
    dice = np.random.default_rng(seed)
    rows = []
    for i in range(n):
        few = max(4, i // 4)
        pick = lambda: f"p{int(dice.integers(min(i, few))):03}" if i > 3 else None
        mother = pick() if dice.random() < 0.9 else None
        father = mother if dice.random() < 0.1 else pick() if dice.random() < 0.9 else None
        rows.append({"id": f"p{i:03}", "seed_parent": mother, "pollen_parent": father})
    return rows


def records(n, plants, seed):
    dice = np.random.default_rng(seed)
    benches = ["north", "south", "under"]
    return [
        {
            "id": f"p{int(dice.integers(plants)):03}",
            "x": round(dice.normal(), 3),
            "bench": str(dice.choice(benches)),
            "m": int(dice.integers(1, 5)),
            "y": round(10 + 2.5 * dice.normal(), 4),
        }
        for _ in range(n)
    ]


def covariances(traits, seed):
    """P, G, weights and gains wanted, one below the other."""
    dice = np.random.default_rng(seed)
    square = lambda: (lambda m: m @ m.T + 0.3 * np.eye(traits))(dice.normal(size=(traits, traits)))
    g = square()
    p = g + square()
    return p, g, dice.normal(size=traits), np.abs(dice.normal(size=traits))


def crosses(parents, replicates, seed):
    dice = np.random.default_rng(seed)
    rows = []
    for a, b in itertools.combinations(range(parents), 2):
        for _ in range(replicates):
            y = round(20 + a + 0.5 * b + dice.normal(), 4)
            rows.append({"seed_parent": f"k{a}", "pollen_parent": f"k{b}", "y": y})
    return rows


def reference(sheet):
    plants = sheet.table("pedigree.csv", pedigree(200, 51))
    scores = sheet.table("scores.csv", records(350, 200, 52))
    p, g, weights, gains = covariances(4, 53)
    lines = [*p, *g, weights, gains]
    index = sheet.table("index.csv", [{f"t{j}": v for j, v in enumerate(r)} for r in lines])
    set_ = sheet.table("crosses.csv", crosses(7, 3, 54))
    return plants, scores, index, set_, sheet.r("breeding.R", plants, scores, index, set_)


def breeding(sheet):
    """Breeding values"""
    plants, scores, _, _, expected = reference(sheet)
    found = sheet.umbel(
        "mixed", scores, "--response", "y", "--terms", "x,bench", "--pedigree", plants,
        "--individual", "id", "--permanent", "--weight", "m",
        "--variances", "additive=2,permanent=0.7,residual=3",
    )  # fmt: skip
    for name, term in coefficients(found).items():
        for key in ("estimate", "se"):
            what = f"breeding values: coefficients, {key}"
            sheet.near(what, "R", term[key], expected[f"term|{name}|{key}"], **EXACT)
    for level in found["levels"]:
        for key in ("estimate", "pev", "conditional_sd", "reliability"):
            at = f"level|{level['group']}|{level['level']}|{key}"
            sheet.near(f"breeding values: levels, {key}", "R", level[key], expected[at], absolute=1e-8)
    key = "log_restricted_likelihood"
    sheet.near("breeding values: log-likelihood", "R", found[key], expected[key], absolute=1e-8)


def index(sheet):
    """Selection index"""
    *_, expected = reference(sheet)
    p, g, weights, gains = (v.tolist() for v in covariances(4, 53))
    path = sheet.folder / "index.json"
    asked = {"P": p, "G": g, "weights": weights, "intensity": 1, "desired_gains": gains}
    path.write_text(json.dumps(asked | {"restricted": [1]}))
    found = sheet.umbel("index", path)
    several = lambda key: [expected[f"index|{key}|{j}"] for j in range(1, 5)]
    sheet.all_near("index: weights", "R", found["b"], several("b"), **EXACT)
    responses = found["response_traits"]
    sheet.all_near("index: responses", "R", responses, several("response"), **EXACT)
    sheet.near("index: accuracy", "R", found["accuracy"], expected["index|accuracy"], **EXACT)
    held, desired = found["restricted"]["b"], found["desired_gains"]["b"]
    sheet.all_near("index: a trait held still", "R", held, several("held"), **EXACT)
    sheet.all_near("index: gains wanted", "R", desired, several("desired"), **EXACT)


def diallel(sheet):
    """Crosses in all combinations"""
    *_, file, expected = reference(sheet)
    found = sheet.umbel("diallel", file, "--method", "4")
    for g in found["gca"]:
        what = "diallel: general combining ability"
        sheet.near(what, "R", g["effect"], expected[f"gca|{g['parent']}"], absolute=1e-9)
    specific = next(line for line in found["anova"] if line["source"] == "sca")
    for key in ("ss", "f", "p"):
        sheet.near(f"diallel: specific, {key}", "R", specific[key], expected[f"sca|{key}"], **EXACT)


COMPARISONS = [breeding, index, diallel]
