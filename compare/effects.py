"""Mixed models: REML with crossed terms and with slopes."""

import numpy as np

from sheet import coefficients

TOLERANCE = {"absolute": 1e-5, "relative": 1e-3}


def bench(clones, shelves, n, seed):
    """Scores of clones on shelves, unbalanced."""
    dice = np.random.default_rng(seed)
    clone, shelf = dice.normal(0, 1.2, clones), dice.normal(0, 0.7, shelves)
    rows = []
    for _ in range(n):
        i, j = int(dice.integers(clones)), int(dice.integers(shelves))
        light, season = round(dice.normal(), 3), str(dice.choice(["autumn", "spring"]))
        y = 5 + 0.4 * light + 0.6 * (season == "spring") + clone[i] + shelf[j] + dice.normal()
        rows.append(
            {
                "clone": f"c{i:03}",
                "shelf": f"h{j:02}",
                "light": light,
                "season": season,
                "y": round(y, 4),
            }
        )
    return rows


def growth(plants, n, seed):
    """Lengths of plants that grow at different rates."""
    dice = np.random.default_rng(seed)
    rows = []
    for i in range(plants):
        start, rate = 20 + dice.normal(0, 3), 1.2 + dice.normal(0, 0.4)
        for days in range(n):
            rows.append(
                {
                    "plant": f"p{i:02}",
                    "days": days,
                    "y": round(start + rate * days + dice.normal(0, 1.5), 4),
                }
            )
    return rows


def reference(sheet):
    crossed = sheet.table("bench.csv", bench(40, 12, 500, 41))
    slope = sheet.table("growth.csv", growth(25, 10, 42))
    return crossed, slope, sheet.r("effects.R", crossed, slope)


def crossed(sheet):
    """Mixed models with crossed terms"""
    file, _, expected = reference(sheet)
    found = sheet.umbel(
        "mixed", file, "--response", "y", "--terms", "light,season", "--random", "clone,shelf"
    )
    fixed(sheet, "crossed", found, expected)
    for variance in found["variances"]:
        sheet.near(
            "mixed crossed: random sd",
            "R lme4",
            variance["sd"],
            expected[f"crossed|sd|{variance['group']}|1"],
            **TOLERANCE,
        )
    for level in found["levels"]:
        at = f"crossed|level|{level['group']}|{level['level']}|1|"
        # A level near 0 has no relative error: it is compared on the scale of the effects.
        sheet.near(
            "mixed crossed: levels",
            "R lme4",
            level["estimate"],
            expected[at + "estimate"],
            absolute=1e-3,
        )
        sheet.near(
            "mixed crossed: levels' errors",
            "R lme4",
            level["conditional_sd"],
            expected[at + "conditional_sd"],
            **TOLERANCE,
        )


def slopes(sheet):
    """Mixed models with slopes"""
    _, file, expected = reference(sheet)
    found = sheet.umbel(
        "mixed", file, "--response", "y", "--terms", "days", "--random", "days|plant"
    )
    fixed(sheet, "slope", found, expected)
    spreads = sorted(v["sd"] for v in found["variances"] if v.get("sd") is not None)
    wanted = sorted(v for k, v in expected.items() if k.startswith("slope|sd|"))
    sheet.all_near("mixed slope: random sd", "R lme4", spreads, wanted, **TOLERANCE)


def fixed(sheet, kind, found, expected):
    title = f"mixed {kind}"
    for name, term in coefficients(found).items():
        at = f"{kind}|term|{name}|"
        sheet.near(
            f"{title}: coefficients",
            "R lme4",
            term["estimate"],
            expected[at + "estimate"],
            **TOLERANCE,
        )
        sheet.near(
            f"{title}: standard errors", "R lme4", term["se"], expected[at + "se"], **TOLERANCE
        )
    sheet.near(
        f"{title}: restricted log-likelihood",
        "R lme4",
        found["log_restricted_likelihood"],
        expected[f"{kind}|log_restricted_likelihood"],
        absolute=1e-4,
    )


COMPARISONS = [crossed, slopes]
