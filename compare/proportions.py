"""Intervals of a share."""

import numpy as np


def intervals(sheet):
    """Intervals of a share"""
    dice = np.random.default_rng(51)
    cases = [(0, 9, 0.95), (9, 9, 0.95), (1, 1, 0.8)]
    for _ in range(25):
        n = int(dice.integers(1, 400))
        cases.append(
            (
                int(dice.binomial(n, dice.beta(0.7, 0.7))),
                n,
                float(dice.choice([0.8, 0.9, 0.95, 0.99])),
            )
        )
    file = sheet.table("shares.csv", [{"k": k, "n": n, "confidence": c} for k, n, c in cases])
    reference = sheet.r("proportions.R", file)
    for i, (k, n, confidence) in enumerate(cases, 1):
        found = sheet.umbel(
            "proportion", "--successes", k, "--trials", n, "--confidence", confidence
        )
        for kind in ("clopper_pearson", "wilson", "jeffreys"):
            expected = (reference[f"{i}|{kind}|{j}"] for j in (1, 2))
            sheet.all_near(f"proportion {kind}", "R", found[kind], expected, absolute=1e-6)


COMPARISONS = [intervals]
