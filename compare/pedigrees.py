"""Kinship, inbreeding, relationship inverse and founders' shares of random pedigrees."""

import numpy as np

try:
    import sgkit
    import xarray
except ImportError as why:
    sgkit, MISSING = None, str(why)


def diploids(n, seed):
    """Rows in order: a tenth founders, then crosses, selfings and unknown pollen parents."""
    dice = np.random.default_rng(seed)
    rows = []
    for i in range(n):
        seed_parent = pollen_parent = None
        if i >= n // 10:
            low = max(0, i - n // 3)
            seed_parent, pollen_parent = map(int, dice.integers(low, i, 2))
            fate = dice.random()
            if fate < 0.08:
                pollen_parent = seed_parent
            elif fate < 0.16:
                pollen_parent = None
        rows.append(((seed_parent, pollen_parent), (1, 1), (0.0, 0.0)))
    return rows


def polyploids(n, seed):
    """Diploids, triploids and tetraploids with double reduction; 2n gametes of diploids."""
    dice = np.random.default_rng(seed)
    rows, ploidy = [], []
    for i in range(n):
        if i < n // 8:
            tau = (1, 1) if dice.random() < 0.4 else (2, 2)
            parents, double = (None, None), (0.0, 0.0)
        else:
            parents = tuple(map(int, dice.integers(0, i, 2)))
            fate = dice.random()
            if fate < 0.1:
                parents = (parents[0], parents[0])
            # A triploid gives one or two; an even plant half of its copies, now and then all of two.
            gamete = lambda p: int(dice.choice([1, 2])) if ploidy[p] < 4 else 2
            tau = tuple(gamete(p) for p in parents)
            double = tuple(round(float(dice.uniform(0, 0.2)), 3) if t > 1 else 0.0 for t in tau)
            if 0.1 <= fate < 0.2:
                parents = (parents[0], None)
        rows.append((parents, tau, double))
        ploidy.append(sum(tau))
    return rows


def name(i):
    return None if i is None else f"p{i:03}"


def table(sheet, file, rows, order):
    return sheet.table(
        file,
        [
            {
                "id": name(i),
                "seed_parent": name(rows[i][0][0]),
                "pollen_parent": name(rows[i][0][1]),
                "tau_seed": rows[i][1][0],
                "tau_pollen": rows[i][1][1],
                "lambda_seed": rows[i][2][0],
                "lambda_pollen": rows[i][2][1],
            }
            for i in order
        ],
    )


def by_sgkit(rows):
    """The same pedigree as a data set of sgkit."""
    parent = np.array([[-1 if p is None else p for p in row[0]] for row in rows])
    data = xarray.Dataset()
    data["parent"] = ["samples", "parents"], parent
    data["stat_Hamilton_Kerr_tau"] = ["samples", "parents"], np.array(
        [r[1] for r in rows], dtype=np.uint64
    )
    data["stat_Hamilton_Kerr_lambda"] = ["samples", "parents"], np.array([r[2] for r in rows])
    return data


def by_definition(rows):
    """Kinship from the recursion over younger plants, without any library of pedigrees."""
    n = len(rows)
    kin, f = np.zeros((n, n)), np.zeros(n)
    settled = lambda x, k: x * (k / 2 - 1) / (k + x * (k / 2 - 1))
    for i, (parents, tau, double) in enumerate(rows):
        k = sum(tau)
        if parents == (None, None):
            f[i] = settled(sum(double), k)
        else:
            alike = 0.0
            for p, t, d in zip(parents, tau, double):
                of = settled(2 * d, 2 * t) if p is None else f[p]
                alike += t * (t - 1) * (d + (1 - d) * of)
                if p is not None:
                    kin[i, :i] += t / k * kin[p, :i]
            if None not in parents:
                alike += 2 * tau[0] * tau[1] * kin[parents[0], parents[1]]
            f[i] = alike / (k * (k - 1))
        kin[:i, i] = kin[i, :i]
        kin[i, i] = (1 + (k - 1) * f[i]) / k
    return kin, f


def compared(sheet, kind, rows, seed):
    if sgkit is None:
        sheet.not_compared(f"{kind} with sgkit ({MISSING})")
    order = np.random.default_rng(seed).permutation(len(rows))
    file = table(sheet, f"pedigree-{kind}.csv", rows, order)
    found = sheet.umbel("descent", file, "--all-pairs", "--inverse", "--founders")
    place = {name(i): i for i in range(len(rows))}
    references = [("the definition", *by_definition(rows), None)]
    if sgkit is not None:
        data = by_sgkit(rows)
        how = {"method": "Hamilton-Kerr", "allow_half_founders": True}
        kin = sgkit.pedigree_kinship(data, **how)["stat_pedigree_kinship"].values
        f = sgkit.pedigree_inbreeding(data, **how)["stat_pedigree_inbreeding"].values
        inverse = sgkit.pedigree_inverse_kinship(data, return_relationship=True, **how)
        inverse = inverse["stat_pedigree_inverse_relationship"].values
        references.append(("sgkit", kin, f, inverse))
    for reference, kin, f, inverse in references:
        quantity = lambda what: f"{kind}: {what}"
        for one in found["individuals"]:
            expected = f[place[one["id"]]]
            sheet.near(quantity("inbreeding"), reference, one["inbreeding"], expected, absolute=1e-9)
        for pair in found["pairs"]:
            expected = kin[place[pair["a"]], place[pair["b"]]]
            sheet.near(quantity("kinship"), reference, pair["kinship"], expected, absolute=1e-9)
        if inverse is None:
            k = np.array([sum(r[1]) for r in rows])
            inverse = np.linalg.inv(kin * np.sqrt(np.outer(k, k)))
        mine = np.zeros((len(rows), len(rows)))
        for cell in found["inverse"]:
            i, j = place[cell["a"]], place[cell["b"]]
            mine[i, j] = mine[j, i] = cell["value"]
        # Long selfing makes entries of hundreds, and as many digits are lost in inverting.
        for a, e in zip(mine.ravel(), inverse.ravel()):
            sheet.near(
                quantity("inverse of the relationship"), reference, a, e, absolute=1e-7, relative=1e-7
            )
    for one in found["individuals"]:
        total = sum(s["share"] for s in one["founders"])
        sheet.near(f"{kind}: founders' shares", "their sum", total, 1.0, absolute=1e-12)


def of_diploids(sheet):
    """Random pedigree of diploids"""
    compared(sheet, "diploids", diploids(250, 71), 72)


def of_polyploids(sheet):
    """Random pedigree of mixed ploidy"""
    compared(sheet, "polyploids", polyploids(120, 73), 74)


COMPARISONS = [of_diploids, of_polyploids]
