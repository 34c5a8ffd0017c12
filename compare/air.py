"""Vapour of air and leaf, dew point, wet bulb."""

import numpy as np
import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)
PRESSURE = 101325.0


def vapour(sheet):
    """Vapour pressure, dew point, wet bulb"""
    dice = np.random.default_rng(81)
    rows = [
        {
            "T_C": round(float(dice.uniform(2, 42)), 2),
            "RH_pct": round(float(dice.uniform(8, 99.5)), 2),
            "leaf_minus_air": round(float(dice.uniform(-3, 4)), 2),
        }
        for _ in range(400)
    ]
    for row in sheet.umbel("air", sheet.table("air.csv", rows)):
        t, rh, leaf = row["T_C"], row["RH_pct"] / 100, row["T_C"] + row["leaf_minus_air"]
        tetens = lambda c: 0.6108 * np.exp(17.27 * c / (c + 237.3))
        sheet.near(
            "vapour pressure [kPa]", "FAO-56 eq. 11", row["es_kPa"], tetens(t), absolute=1e-9
        )
        sheet.near(
            "deficit of air [kPa]",
            "FAO-56 eq. 11",
            row["vpd_kPa"],
            tetens(t) * (1 - rh),
            absolute=1e-9,
        )
        sheet.near(
            "deficit of leaf [kPa]",
            "FAO-56 eq. 11",
            row["leaf_vpd_kPa"],
            tetens(leaf) - tetens(t) * rh,
            absolute=1e-9,
        )
        sheet.near(
            "vapour pressure",
            "PsychroLib",
            row["es_kPa"],
            psychrolib.GetSatVapPres(t) / 1000,
            relative=0.004,
        )
        sheet.near(
            "dew or frost point [C]",
            "PsychroLib",
            row["dewpoint_C"],
            psychrolib.GetTDewPointFromRelHum(t, rh),
            absolute=0.1,
        )
        bulb = psychrolib.GetTWetBulbFromRelHum(t, rh, PRESSURE)
        sheet.near("wet bulb [C]", "PsychroLib", row["wetbulb_C"], bulb, absolute=0.15)
        ratio = psychrolib.GetHumRatioFromRelHum(t, rh, PRESSURE)
        density = 1000 * ratio / psychrolib.GetMoistAirVolume(t, ratio, PRESSURE)
        sheet.near("absolute humidity", "PsychroLib", row["absolute_g_m3"], density, relative=0.005)


COMPARISONS = [vapour]
