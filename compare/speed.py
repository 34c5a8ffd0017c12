"""Times sgkit on the two registers that `cargo bench -p descent` is timed on.

    target/compare/python/bin/python compare/speed.py

It prints seconds of the processor for inbreeding, compiling left out, and the largest memory. The broad
register takes minutes and some gigabytes; --quick leaves it out.
"""

import resource
import sys
import time

import numpy as np
import sgkit
import xarray


def register(n, broad):
    """500 founders, 40 seasons; parents from the last three (120 and 60 of them unless broad)."""
    dice = np.random.default_rng(20240611)
    founders, seasons = 500, 40
    parent = np.full((n, 2), -1)
    edge = np.linspace(founders, n, seasons + 1).astype(int)
    for season in range(seasons):
        a, b = edge[season], edge[season + 1]
        low = edge[max(0, season - 3)] if season else 0
        high = a if season else founders
        seeds, pollens = dice.integers(low, high, 120), dice.integers(low, high, 60)
        if broad:
            s, p = dice.integers(low, high, b - a), dice.integers(low, high, b - a)
        else:
            s, p = seeds[dice.integers(0, 120, b - a)], pollens[dice.integers(0, 60, b - a)]
        chance, back = dice.random(b - a), dice.integers(0, founders, b - a)
        p = np.where(chance < 0.06, s, np.where(chance < 0.11, -1, np.where(chance < 0.15, back, p)))
        parent[a:b, 0], parent[a:b, 1] = s, p
    return parent


def timed(parent):
    data = xarray.Dataset()
    data["parent"] = ["samples", "parents"], parent
    start = time.process_time()
    found = sgkit.pedigree_inbreeding(data, method="diploid", allow_half_founders=True)
    sum_f = float(found["stat_pedigree_inbreeding"].values.sum())
    return time.process_time() - start, sum_f


timed(register(1_000, False))
for what, n, broad in [("nursery", 1_000_000, False), ("broad", 50_000, True)]:
    if broad and "--quick" in sys.argv:
        continue
    seconds, sum_f = timed(register(n, broad))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"sgkit {sgkit.__version__}, {what} {n}: {seconds:.2f} s, sum of F {sum_f:.6f}, {peak:.1f} GB")
