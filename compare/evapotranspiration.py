"""Reference evapotranspiration of a day."""

import numpy as np
import refet


def reference(sheet):
    """Reference evapotranspiration"""
    dice = np.random.default_rng(91)
    rows = []
    for _ in range(200):
        lat, doy = round(float(dice.uniform(-55, 55)), 2), int(dice.integers(1, 366))
        coldest = float(dice.uniform(2, 22))
        driest = float(dice.uniform(20, 60))
        above = float(refet.calcs.ra_daily(np.radians([lat]), np.array([doy]), method="asce")[0])
        # Between overcast and clear: outside, the two books bound the cloudiness differently.
        sun = above * float(dice.uniform(0.3, 0.74))
        rows.append(
            {
                "lat": lat,
                "doy": doy,
                "elev": round(float(dice.uniform(0, 1500))),
                "tmax": coldest + float(dice.uniform(3, 15)),
                "tmin": coldest,
                "rhmax": driest + float(dice.uniform(5, 39)),
                "rhmin": driest,
                "u2": float(dice.uniform(0.3, 5)),
                "Rs_MJ": sun,
            }
        )
    for row in sheet.umbel("evapotranspiration", sheet.table("days-of-weather.csv", rows)):
        saturated = lambda t: 0.6108 * np.exp(17.27 * t / (t + 237.3))
        vapour = (
            saturated(row["tmin"]) * row["rhmax"] + saturated(row["tmax"]) * row["rhmin"]
        ) / 200
        day = refet.Daily(
            tmin=row["tmin"],
            tmax=row["tmax"],
            ea=vapour,
            rs=row["Rs_MJ"],
            uz=row["u2"],
            zw=2,
            elev=row["elev"],
            lat=row["lat"],
            doy=row["doy"],
            method="asce",
        )
        sheet.near(
            "evapotranspiration [mm]", "refet", row["ETo_mm"], float(day.eto()[0]), absolute=0.02
        )


COMPARISONS = [reference]
