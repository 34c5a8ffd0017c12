"""Counts against ratios."""

import numpy as np


def counts(sheet):
    """Counts against ratios"""
    dice = np.random.default_rng(61)
    kinds = ["3:1", "1:1", "35:1", "9:3:3:1", "1:2:1", "20.8:1", "9:7"]
    cases = [("3:1", [9, 0]), ("3:1", [5474, 1850]), ("1:2:1", [3, 0, 4])]
    for i in range(24):
        ratio = kinds[i % len(kinds)]
        share = np.array([float(part) for part in ratio.split(":")])
        n = int(dice.integers(4, 40 if len(share) > 2 else 600))
        cases.append((ratio, [int(k) for k in dice.multinomial(n, share / share.sum())]))
    rows = [{"ratio": r, "observed": " ".join(map(str, o))} for r, o in cases]
    reference = sheet.r("ratios.R", sheet.table("ratios.csv", rows))
    for i, (ratio, observed) in enumerate(cases, 1):
        words = ["--observed", ",".join(map(str, observed)), "--expected", ratio]
        found = sheet.umbel("ratio", *words)
        for key in ("chi_square", "p", "g", "g_p"):
            sheet.near(f"ratio {key}", "R", found[key], reference[f"{i}|{key}"], absolute=1e-6)
        exact = found["exact"]["p"]
        sheet.near("ratio exact", "R", exact, reference[f"{i}|exact"], absolute=1e-6)


COMPARISONS = [counts]
