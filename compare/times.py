"""Accelerated failure times with covariates and interval censoring."""

import math

import numpy as np

FORMS = ("exponential", "weibull", "lognormal", "loglogistic")


def rooting(n, seed):
    """Cuttings looked at now and then: warmth is a number, mix has three levels."""
    dice = np.random.default_rng(seed)
    rows = []
    for _ in range(n):
        warmth, mix = round(dice.normal(), 3), dice.choice(["bark", "moss", "perlite"])
        shift = 0.3 * warmth + {"bark": 0.0, "moss": -0.4, "perlite": 0.2}[mix]
        rows.append(
            {"warmth": warmth, "mix": str(mix)}
            | seen(dice, math.exp(2.7 + shift + 0.45 * math.log(dice.exponential())))
        )
    return rows


def seen(dice, time):
    """What looks every few days say about a time; one in ten is seen exactly."""
    if dice.random() < 0.1:
        return {"left": round(time, 3), "right": round(time, 3)}
    days = np.cumsum(dice.integers(1, 7, 10))
    before = [int(d) for d in days if d < time]
    after = [int(d) for d in days if d >= time]
    return {"left": before[-1] if before else None, "right": after[0] if after else None}


def forms(sheet):
    """Times with covariates (four forms)"""
    new = sheet.table(
        "rooting-new.csv", [{"warmth": 0.5, "mix": "moss"}, {"warmth": -1.2, "mix": "bark"}]
    )
    for n, seed in ((80, 11), (3000, 12)):
        file = sheet.table(f"rooting-{n}.csv", rooting(n, seed))
        reference = sheet.r("times.R", file, new)
        for form in FORMS:
            found = sheet.umbel(
                "time-to-event",
                file,
                "--fit",
                form,
                "--terms",
                "warmth,mix",
                "--quantiles",
                "0.1,0.5,0.9",
                "--predict",
                new,
            )
            one(sheet, form, found, reference)


def one(sheet, form, found, reference):
    terms = {c["term"] + (c["level"] or ""): c for c in found["terms"]}
    near = lambda what, actual, expected: sheet.near(
        f"{form} {what}", "R survreg", actual, expected, absolute=1e-5, relative=1e-4
    )
    expected = {
        key.split("|")[1]
        for key in reference
        if key.startswith(form + "|") and key.count("|") == 2 and key.endswith("|se")
    }
    sheet.same(f"{form} names of terms", "R survreg", set(terms), expected)
    for name in expected & set(terms):
        near("coefficients", terms[name]["estimate"], reference[f"{form}|{name}|estimate"])
        near("standard errors", terms[name]["se"], reference[f"{form}|{name}|se"])
    near("scale", found["scale"], reference[f"{form}|scale"])
    if form != "exponential":
        near("standard errors", found["log_scale_se"], reference[f"{form}|log_scale_se"])
    for what in ("log_likelihood", "log_likelihood_null"):
        sheet.near(
            f"{form} log-likelihood",
            "R survreg",
            found[what],
            reference[f"{form}|{what}"],
            absolute=1e-5,
        )
    for i, row in enumerate(found["predictions"], 1):
        for j, quantile in enumerate(row["quantiles"], 1):
            at = f"{form}|predicted|{i}|{j}|"
            near("quantiles", quantile["estimate"], reference[at + "estimate"])
            near("quantiles' errors", quantile["se"], reference[at + "se"])


COMPARISONS = [forms]
