"""Success rates: logistic mixed models and the beta-binomial."""

import math

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit
from scipy.stats import betabinom

from sheet import coefficients


def crosses(seeds, pollens, seed):
    """Fruit set of every seed parent with every pollen parent, in one or two batches."""
    dice = np.random.default_rng(seed)
    mother, father = dice.normal(0, 0.9, seeds), dice.normal(0, 0.6, pollens)
    rows = []
    for i in range(seeds):
        for j in range(pollens):
            for _ in range(int(dice.integers(1, 3))):
                humid, method = round(dice.normal(), 3), str(dice.choice(["brush", "needle"]))
                n = int(dice.integers(2, 9))
                p = expit(-0.4 + 0.3 * humid + 0.5 * (method == "needle") + mother[i] + father[j])
                rows.append(
                    {
                        "seed_parent": f"s{i:02}",
                        "pollen_parent": f"p{j:02}",
                        "humid": humid,
                        "method": method,
                        "fruits": int(dice.binomial(n, p)),
                        "pollinated": n,
                    }
                )
    return rows


def logistic(sheet):
    """Logistic mixed models"""
    for seeds, pollens, seed in ((12, 8, 31), (30, 15, 32)):
        file = sheet.table(f"crosses-{seeds}.csv", crosses(seeds, pollens, seed))
        reference = sheet.r("rates.R", file)
        words = [
            "success",
            file,
            "--successes",
            "fruits",
            "--trials",
            "pollinated",
            "--terms",
            "humid,method",
        ]
        for kind, more in (
            ("laplace", ["--random", "seed_parent", "--quadrature", "1"]),
            ("nodes", ["--random", "seed_parent", "--quadrature", "15"]),
            ("crossed", ["--random", "seed_parent,pollen_parent"]),
        ):
            one(sheet, kind, sheet.umbel(*words, *more), reference)


def one(sheet, kind, found, reference):
    title = {
        "laplace": "logistic, one term, Laplace",
        "nodes": "logistic, one term, 15 nodes",
        "crossed": "logistic, crossed, Laplace",
    }[kind]
    near = lambda what, actual, expected: sheet.near(
        f"{title}: {what}", "R lme4", actual, expected, absolute=0.002
    )
    terms = coefficients(found)
    for name in ("(intercept)", "humid", "methodneedle"):
        near("coefficients", terms[name]["estimate"], reference[f"{kind}|term|{name}|estimate"])
        near("standard errors", terms[name]["se"], reference[f"{kind}|term|{name}|se"])
    for group in found["random"]:
        near("random sd", group["sd"], reference[f"{kind}|sd|{group['group']}"])
        for level in group["levels"]:
            at = f"{kind}|level|{group['group']}|{level['level']}|"
            near("levels", level["estimate"], reference[at + "estimate"])
            near("levels' errors", level["se"], reference[at + "se"])
    sheet.near(
        f"{title}: log-likelihood",
        "R lme4" if kind != "nodes" else "101 nodes (R)",
        found["log_likelihood"],
        reference[f"{kind}|log_likelihood"],
        absolute=0.001,
    )


def beta_binomial(sheet):
    """Beta-binomial"""
    for rows, seed in ((25, 33), (400, 34)):
        dice = np.random.default_rng(seed)
        n = dice.integers(3, 40, rows)
        k = dice.binomial(n, dice.beta(2.0, 5.0, rows))
        file = sheet.table(
            f"sowings-{rows}.csv", [{"up": int(a), "sown": int(b)} for a, b in zip(k, n)]
        )
        found = sheet.umbel(
            "success", file, "--successes", "up", "--trials", "sown", "--beta-binomial"
        )
        f = lambda x: -betabinom.logpmf(k, n, *np.exp(x)).sum()
        best = minimize(
            f,
            [0.5, 1.0],
            method="Nelder-Mead",
            options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 5000},
        )
        alpha, beta = np.exp(best.x)
        for what, expected in (
            ("alpha", alpha),
            ("beta", beta),
            ("mean", alpha / (alpha + beta)),
            ("rho", 1 / (alpha + beta + 1)),
        ):
            sheet.near(f"beta-binomial {what}", "scipy", found[what], expected, relative=0.002)
        sheet.near(
            "beta-binomial log-likelihood",
            "scipy",
            found["log_likelihood"],
            -best.fun,
            absolute=1e-4,
        )


COMPARISONS = [logistic, beta_binomial]
