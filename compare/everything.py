"""Runs the comparisons, all or those that are named."""

import importlib
import sys

from sheet import NotThere, Sheet

ENGINES = [
    "curves",
    "times",
    "random_times",
    "rates",
    "effects",
    "breeding",
    "proportions",
    "ratios",
    "light",
    "colours",
    "air",
    "evapotranspiration",
    "pedigrees",
]


def main(folder, *wanted):
    unknown = [name for name in wanted if name not in ENGINES]
    if unknown:
        sys.exit(f"{unknown[0]} is none of {', '.join(ENGINES)}")
    sheet = Sheet(folder)
    for name in wanted or ENGINES:
        for comparison in importlib.import_module(name).COMPARISONS:
            try:
                comparison(sheet)
            except NotThere as why:
                sheet.not_there(comparison.__doc__, why)
            except Exception as why:
                # The others are still worth asking.
                sheet.broke_off(comparison.__doc__, why)
    sys.exit(0 if sheet.say() else 1)


if __name__ == "__main__":
    main(*sys.argv[1:])
