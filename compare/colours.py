"""CIELAB of pixels, and CIEDE2000."""

import warnings

import numpy as np

with warnings.catch_warnings():
    # It warns of plots and tables that are not needed here.
    warnings.simplefilter("ignore")
    import colour

D65 = np.array([0.95047, 1.0, 1.08883])
D50 = np.array([0.96422, 1.0, 0.82521])


def differences(sheet):
    """Differences of colours"""
    dice = np.random.default_rng(71)
    low, high = [0, -100, -100], [100, 100, 100]
    one = dice.uniform(low, high, (2000, 3))
    # Half of the pairs are close, as flowers of one cross are; a tenth are nearly grey.
    other = np.where(
        dice.random((2000, 1)) < 0.5,
        one + dice.normal(0, 2, (2000, 3)),
        dice.uniform(low, high, (2000, 3)),
    )
    grey = dice.random(2000) < 0.1
    one[grey, 1:] = dice.normal(0, 1, (grey.sum(), 2))
    other[:, 0] = other[:, 0].clip(0, 100)
    rows = [
        dict(zip(("L1", "a1", "b1", "L2", "a2", "b2"), map(float, (*a, *b))))
        for a, b in zip(one, other)
    ]
    found = sheet.umbel("colour", sheet.table("pairs.csv", rows))
    expected = colour.difference.delta_E_CIE2000(one, other)
    sheet.all_near(
        "CIEDE2000", "colour-science", (r["dE00"] for r in found), expected, absolute=1e-4
    )


def pixels(sheet):
    """CIELAB of pixels"""
    dice = np.random.default_rng(72)
    codes = dice.integers(0, 256, (500, 3))
    file = sheet.table("pixels.csv", [{"hex": "#{:02x}{:02x}{:02x}".format(*c)} for c in codes])
    found = sheet.umbel("colour", file)
    light = colour.models.eotf_sRGB(codes / 255)
    # The primaries of sRGB with the white that CIELAB is taken against.
    primaries = colour.RGB_COLOURSPACES["sRGB"].primaries
    white = colour.XYZ_to_xy(D65)
    matrix = colour.models.normalised_primary_matrix(primaries, white)
    xyz = light @ matrix.T
    d65 = colour.XYZ_to_Lab(xyz, white)
    change = colour.adaptation.matrix_chromatic_adaptation_VonKries(D65, D50, transform="Bradford")
    d50 = colour.XYZ_to_Lab(xyz @ change.T, colour.XYZ_to_xy(D50))
    for row, a, b in zip(found, d65, d50):
        sheet.all_near(
            "CIELAB D65",
            "colour-science",
            (row[c] for c in ("L65", "a65", "b65")),
            a,
            absolute=0.05,
        )
        sheet.all_near(
            "CIELAB D50",
            "colour-science",
            (row[c] for c in ("L50", "a50", "b50")),
            b,
            absolute=0.05,
        )
        lch = colour.models.Lab_to_LCHab(a)
        sheet.near("chroma", "colour-science", row["C65"], lch[1], absolute=0.05)
        # The hue of a grey is noise; elsewhere 0.05 across is so many degrees.
        if lch[1] > 5:
            turn = (row["h65"] - lch[2] + 180) % 360 - 180
            sheet.near(
                "hue [across]", "colour-science", np.radians(turn) * lch[1], 0.0, absolute=0.05
            )


COMPARISONS = [differences, pixels]
