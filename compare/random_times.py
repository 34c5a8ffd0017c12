"""Accelerated failure times with a normal random intercept: exact marginal likelihood.

The integral over the intercept is a sum over a fine grid, from -9 to 9 standard deviations: for so
smooth a function every halving of the step squares the error.
"""

import math

import numpy as np
from scipy.optimize import minimize
from scipy.special import log_ndtr, logsumexp

from times import seen

# Steps of the grid; twice as many give the same.
GRID = 181


def pods(families, each, seed):
    """Times to germination of families that differ."""
    dice = np.random.default_rng(seed)
    rows = []
    for family in range(families):
        effect = 0.35 * dice.normal()
        for _ in range(each):
            treated = int(dice.random() < 0.5)
            time = math.exp(2.6 + 0.25 * treated + effect + 0.4 * math.log(dice.exponential()))
            rows.append({"family": f"f{family:02}", "treated": treated} | seen(dice, time))
    return rows


def log_survival(form, z):
    if form == "weibull":
        return -np.exp(z)
    if form == "lognormal":
        return log_ndtr(-z)
    return -np.logaddexp(0.0, z)


def log_density(form, z):
    if form == "weibull":
        return z - np.exp(z)
    if form == "lognormal":
        return -0.5 * z * z - 0.5 * math.log(2 * math.pi)
    return z - 2 * np.logaddexp(0.0, z)


class Marginal:
    def __init__(self, form, rows, nodes):
        self.form = form
        self.nodes = np.linspace(-9, 9, nodes)
        step = self.nodes[1] - self.nodes[0]
        self.weights = math.log(step) - 0.5 * (self.nodes**2 + math.log(2 * math.pi))
        self.left = np.array([math.nan if r["left"] is None else r["left"] for r in rows])
        self.right = np.array([math.nan if r["right"] is None else r["right"] for r in rows])
        self.treated = np.array([r["treated"] for r in rows], float)
        names = sorted({r["family"] for r in rows})
        self.family = np.array([names.index(r["family"]) for r in rows])
        self.families = len(names)

    def __call__(self, parameters):
        b0, b1, log_scale, log_sd = parameters
        scale = math.exp(log_scale)
        middle = (b0 + b1 * self.treated)[:, None] + math.exp(log_sd) * self.nodes[None, :]
        z = lambda t: (np.log(t)[:, None] - middle) / scale
        exact = self.left == self.right
        lower, upper = z(np.where(np.isnan(self.left), 1.0, self.left)), z(
            np.where(np.isnan(self.right), 1.0, self.right)
        )
        above = np.where(np.isnan(self.left)[:, None], 0.0, log_survival(self.form, lower))
        beyond = np.where(np.isnan(self.right)[:, None], -np.inf, log_survival(self.form, upper))
        with np.errstate(divide="ignore", invalid="ignore"):
            between = above + np.log1p(-np.exp(beyond - above))
        density = (
            log_density(self.form, lower)
            - log_scale
            - np.log(np.where(exact, self.left, 1.0))[:, None]
        )
        each = np.where(exact[:, None], density, between)
        sums = np.zeros((self.families, len(self.nodes)))
        np.add.at(sums, self.family, each)
        return -logsumexp(sums + self.weights, axis=1).sum()


def maximum(likelihood):
    start = np.array([2.5, 0.2, -1.0, -1.0])
    best = minimize(
        likelihood,
        start,
        method="Nelder-Mead",
        options={"maxiter": 4000, "xatol": 1e-7, "fatol": 1e-10},
    )
    best = minimize(likelihood, best.x, method="BFGS", options={"gtol": 1e-5})
    best = minimize(
        likelihood,
        best.x,
        method="Nelder-Mead",
        options={"maxiter": 4000, "xatol": 1e-8, "fatol": 1e-12},
    )
    return best.x, -best.fun


def curvature(f, x, step=1e-4):
    n = len(x)
    at = lambda *moves: f(x + sum(s * step * np.eye(n)[i] for i, s in moves))
    return np.array(
        [
            [
                (
                    at((i, 1), (j, 1))
                    - at((i, 1), (j, -1))
                    - at((i, -1), (j, 1))
                    + at((i, -1), (j, -1))
                )
                / (4 * step * step)
                for j in range(n)
            ]
            for i in range(n)
        ]
    )


def intercepts(sheet):
    """Times with a random intercept"""
    rows = pods(20, 15, 21)
    file = sheet.table("pods.csv", rows)
    for form in ("weibull", "lognormal", "loglogistic"):
        found = sheet.umbel(
            "time-to-event", file, "--fit", form, "--terms", "treated", "--random", "family"
        )
        best, likelihood = maximum(Marginal(form, rows, GRID))
        errors = np.sqrt(np.diag(np.linalg.inv(curvature(Marginal(form, rows, GRID), best))))
        finer = -Marginal(form, rows, 2 * GRID)(best)
        assert abs(finer - likelihood) < 1e-8, "the grid is too coarse"
        terms = {c["term"]: c for c in found["terms"]}
        for i, name in enumerate(("(intercept)", "treated")):
            near(sheet, "coefficients", terms[name]["estimate"], best[i])
            near(sheet, "standard errors", terms[name]["se"], errors[i])
        near(sheet, "scale", found["scale"], math.exp(best[2]))
        near(sheet, "random sd", random_sd(found), math.exp(best[3]))
        sheet.near(
            "random intercept log-likelihood",
            "fine grid (numpy)",
            found["log_likelihood"],
            likelihood,
            absolute=0.002,
        )


def random_sd(found):
    sd = found["random_sd"]
    if isinstance(sd, list):
        sd = sd[0]["sd"]
    return sd


def near(sheet, what, actual, expected):
    sheet.near(f"random intercept {what}", "fine grid (numpy)", actual, expected, absolute=0.003)


COMPARISONS = [intercepts]
