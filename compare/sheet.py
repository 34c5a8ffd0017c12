"""Asking both sides, and keeping the largest deviation of each quantity."""

import csv
import json
import math
import os
import subprocess
from pathlib import Path

HERE = Path(__file__).parent


class NotThere(Exception):
    """A calculator, or one of its options, that the program does not have yet."""


class Sheet:
    def __init__(self, folder):
        self.folder = Path(folder)
        self.folder.mkdir(parents=True, exist_ok=True)
        self.lines = {}
        self.missing = []
        self.absent = []
        self.broken = []

    # -- asking ---------------------------------------------------------------------------------

    def table(self, name, rows):
        """Writes rows (dictionaries; None is blank) as a CSV and returns its path."""
        path = self.folder / name
        with open(path, "w", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            for row in rows:
                writer.writerow({k: "" if v is None else plain(v) for k, v in row.items()})
        return path

    def umbel(self, *words):
        words = [os.environ["UMBEL"], "calc", *map(str, words)]
        done = subprocess.run(words, capture_output=True, text=True)
        if done.returncode == 0:
            return json.loads(done.stdout)
        unknown = ("unrecognized subcommand", "invalid value", "unexpected argument")
        if done.returncode == 2 and any(u in done.stderr for u in unknown):
            raise NotThere(done.stderr.strip().splitlines()[0])
        raise RuntimeError(f"{' '.join(words)}: status {done.returncode}: {done.stderr.strip()}")

    def r(self, script, *words):
        """Runs an R script of this folder; it prints key,value lines, and the values come back."""
        command = ["Rscript", "--vanilla", HERE / script, *map(str, words)]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode != 0:
            raise RuntimeError(f"{script}: {done.stderr.strip()}")
        pairs = (line.rsplit(",", 1) for line in done.stdout.splitlines() if "," in line)
        return {key: math.nan if value in ("NA", "NaN") else float(value) for key, value in pairs}

    # -- keeping --------------------------------------------------------------------------------

    def near(self, quantity, reference, actual, expected, absolute=0.0, relative=0.0):
        """Compares two numbers: |a − e| ≤ absolute + relative·|e|.

        The deviation is kept on the scale of the tolerance that is named first of the two not 0.
        """
        key = (quantity, reference)
        share = math.inf
        if actual is not None and math.isfinite(actual) and math.isfinite(expected):
            share = abs(actual - expected) / (absolute + relative * abs(expected))
        unit, kind = (relative, "rel") if relative else (absolute, "abs")
        line = self.lines.setdefault(key, {"n": 0, "worst": 0.0, "unit": unit, "kind": kind})
        line["n"] += 1
        line["worst"] = max(line["worst"], share * unit)

    def all_near(self, quantity, reference, actual, expected, **tolerance):
        actual, expected = list(actual), list(expected)
        if len(actual) != len(expected):
            self.near(quantity, reference, None, float(len(expected)), absolute=1.0)
        for a, e in zip(actual, expected):
            self.near(quantity, reference, a, e, **tolerance)

    def same(self, quantity, reference, actual, expected):
        """Things that must be equal, counted as deviations of 0 or 1."""
        self.near(quantity, reference, 0.0 if actual == expected else 1.0, 0.0, absolute=0.5)

    def not_there(self, name, why):
        self.missing.append((name, str(why)))

    def not_compared(self, why):
        """A reference that is not on this machine; the comparison goes on without it."""
        self.absent.append(why)

    def broke_off(self, name, why):
        self.broken.append((name, f"{type(why).__name__}: {why}"))

    # -- saying ---------------------------------------------------------------------------------

    def say(self):
        """Prints the table; whether everything holds."""
        wide = [max((len(k[i]) for k in self.lines), default=0) for i in (0, 1)]
        exceeded = 0
        print(f"{'quantity':{wide[0]}}  {'reference':{wide[1]}}  values   deviation  tolerance")
        for (quantity, reference), line in self.lines.items():
            bad = line["worst"] > line["unit"]
            exceeded += bad
            print(
                f"{quantity:{wide[0]}}  {reference:{wide[1]}}  {line['n']:6}  {line['worst']:10.1e}"
                f"  {line['unit']:7.1e} {line['kind']}{'  EXCEEDED' if bad else ''}"
            )
        for name, why in self.missing:
            print(f"not there yet: {name} ({why})")
        for why in self.absent:
            print(f"not compared: {why}")
        for name, why in self.broken:
            print(f"broke off: {name}: {why}")
        print(
            f"{len(self.lines)} quantities, {exceeded} beyond their tolerance,"
            f" {len(self.missing)} comparisons not there yet, {len(self.broken)} broken off"
        )
        return bool(self.lines) and not (exceeded or self.missing or self.broken)


def plain(value):
    """A number in its shortest form, without the dress of numpy."""
    return value.item() if hasattr(value, "item") else value


def coefficients(found):
    """Terms of a fit by the name that R would give them."""
    return {c["term"] + (c["level"] or ""): c for c in found["terms"]}
