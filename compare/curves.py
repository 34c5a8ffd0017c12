"""Curves without a form: Kaplan–Meier, log-rank, Turnbull."""

import math

import numpy as np
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test


def right_censored(n, seed):
    """Flowers of three plants in whole days, with ties; some still open."""
    dice = np.random.default_rng(seed)
    group = dice.integers(0, 3, n)
    time = np.ceil(dice.weibull(1.7, n) * (20 + 4 * group))
    open_until = np.ceil(dice.uniform(3, 60, n))
    return [
        {"time": min(t, o), "event": int(t <= o), "group": f"g{g}"}
        for t, o, g in zip(time, open_until, group)
    ]


def kaplan_meier(sheet):
    """Kaplan–Meier and log-rank"""
    for n, seed in ((60, 1), (2000, 2)):
        rows = right_censored(n, seed)
        file = sheet.table(f"curves-{n}.csv", rows)
        reference = sheet.r("curves.R", file)
        words = [
            "time-to-event",
            file,
            "--fit",
            "km",
            "--time",
            "time",
            "--event",
            "event",
            "--by",
            "group",
        ]
        for kind in ("plain", "log", "log-log"):
            found = sheet.umbel(*words, "--interval", kind)
            limits(sheet, found, kind, reference)
        sheet.near(
            "log-rank chi-square",
            "R survival",
            found["test"]["chi_square"],
            reference["chi_square"],
            relative=1e-8,
        )
        sheet.near("log-rank p", "R survival", found["test"]["p"], reference["p"], absolute=1e-8)
        with_lifelines(sheet, found, rows)


def limits(sheet, found, kind, reference):
    for group in found["groups"]:
        for step in group["steps"]:
            if not step["events"]:
                continue
            at = f"{kind}|{group['group']}|{step['time']:g}|"
            for what in ("survival", "se", "lower", "upper"):
                value, expected = step[what], reference[at + what]
                # At S = 0 the logarithms have no limits; R says NA.
                if not math.isnan(expected):
                    sheet.near(
                        (
                            f"Kaplan-Meier {what} ({kind})"
                            if what in ("lower", "upper")
                            else f"Kaplan-Meier {what}"
                        ),
                        "R survival",
                        value,
                        expected,
                        absolute=1e-8,
                    )
        for quantile in group["quantiles"]:
            at = f"{kind}|q|{group['group']}|q|{quantile['q']:g}|"
            for what in ("estimate", "lower", "upper"):
                # Limits may turn up again near the end; R then sorts them, and reads another day.
                if what != "estimate" and not falling([s[what] for s in group["steps"]]):
                    continue
                expected = reference[at + what]
                sheet.same(
                    "Kaplan-Meier quantiles",
                    "R survival",
                    quantile[what],
                    None if math.isnan(expected) else expected,
                )


def falling(values):
    known = [v for v in values if v is not None]
    return all(a >= b for a, b in zip(known, known[1:]))


def with_lifelines(sheet, found, rows):
    columns = {name: [row[name] for row in rows] for name in rows[0]}
    for group in found["groups"]:
        mine = [(r["time"], r["event"]) for r in rows if r["group"] == group["group"]]
        fit = KaplanMeierFitter().fit(*zip(*mine))
        times = [s["time"] for s in group["steps"]]
        expected = fit.survival_function_at_times(times)
        sheet.all_near(
            "Kaplan-Meier survival",
            "lifelines",
            (s["survival"] for s in group["steps"]),
            expected,
            absolute=1e-8,
        )
    test = multivariate_logrank_test(columns["time"], columns["group"], columns["event"])
    sheet.near(
        "log-rank chi-square",
        "lifelines",
        found["test"]["chi_square"],
        test.test_statistic,
        relative=1e-8,
    )


def looks(n, seed):
    """Germination between looks on irregular days: left, right and interval censored, a few exact."""
    dice = np.random.default_rng(seed)
    rows = []
    for _ in range(n):
        time = 6 * dice.weibull(1.4) + 2
        days = np.cumsum(dice.integers(1, 5, 8))
        if dice.random() < 0.05:
            rows.append({"left": math.ceil(time), "right": math.ceil(time)})
            continue
        before = [int(d) for d in days if d < time]
        after = [int(d) for d in days if d >= time]
        rows.append({"left": before[-1] if before else None, "right": after[0] if after else None})
    return rows


def turnbull(sheet):
    """Turnbull"""
    for n, seed in ((40, 3), (400, 4)):
        rows = looks(n, seed)
        file = sheet.table(f"looks-{n}.csv", rows)
        group = sheet.umbel("time-to-event", file, "--fit", "turnbull")["groups"][0]
        sets, mass, likelihood = iterated(rows)
        sheet.near(
            "Turnbull log-likelihood",
            "EM to 1e-12 (numpy)",
            group["log_likelihood"],
            likelihood,
            absolute=1e-4,
        )
        mine = [
            (m["left"] or 0.0, math.inf if m["right"] is None else m["right"], m["mass"])
            for m in group["masses"]
        ]
        for day in range(1, 40):
            # Inside an interval that holds mass the curve is not defined.
            if any(left < day < right for left, right in sets):
                continue
            actual = sum(m for left, right, m in mine if left >= day and (right > day))
            expected = sum(m for (left, right), m in zip(sets, mass) if left >= day and right > day)
            sheet.near("Turnbull survival", "EM to 1e-12 (numpy)", actual, expected, absolute=2e-4)


def iterated(rows):
    """Turnbull's sets, and the masses by self-consistency until nothing moves."""
    spans = []
    for row in rows:
        left = -math.inf if row["left"] is None else row["left"]
        right = math.inf if row["right"] is None else row["right"]
        # Half-open (left, right]; an exact time is the point itself.
        spans.append((left, right))
    # An end that is reached belongs to the interval, a beginning does not: at one and the same
    # number a point begins after the ends of others' beginnings.
    marks = sorted(
        {(left, 1 if left < right else 0) for left, right in spans}
        | {(right, 0.5) for left, right in spans}
    )
    sets = []
    for (a, kind_a), (b, kind_b) in zip(marks, marks[1:]):
        if kind_a != 0.5 and kind_b == 0.5:
            sets.append((max(a, 0.0) if math.isinf(a) else a, b))
    holds = np.array([[inside(s, span) for s in sets] for span in spans], float)
    mass = np.full(len(sets), 1 / len(sets))
    for _ in range(2_000_000):
        chance = holds @ mass
        after = mass * (holds / chance[:, None]).mean(0)
        moved = np.abs(after - mass).max()
        mass = after
        if moved < 1e-12:
            break
    return sets, mass, float(np.log(holds @ mass).sum())


def inside(part, span):
    (a, b), (left, right) = part, span
    if left == right:
        return a == b == left
    if a == b:
        return left < a <= right
    return max(left, 0.0) <= a and b <= right


COMPARISONS = [kaplan_meier, turnbull]
