"""Sun, day length, light on an upright window, light under a panel."""

from datetime import datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pvlib
import refet.calcs
from scipy.integrate import dblquad


def places(n, seed, most=64):
    """Latitudes and longitudes; the poles have their own rules of day and night."""
    dice = np.random.default_rng(seed)
    day = lambda: datetime(2000, 1, 1, tzinfo=timezone.utc) + timedelta(
        seconds=int(dice.integers(0, 50 * 365 * 86400))
    )
    return [
        (
            round(float(dice.uniform(-most, most)), 3),
            round(float(dice.uniform(-180, 180)), 3),
            day(),
        )
        for _ in range(n)
    ]


def spa(times, lat, lon):
    """Geometric zenith and azimuth by the algorithm of NREL."""
    index = pd.DatetimeIndex(times)
    return pvlib.solarposition.spa_python(
        index, lat, lon, altitude=0, pressure=101325, temperature=12, delta_t=69
    )


def position(sheet):
    """Position of the sun"""
    rows = [
        {"lat": lat, "lon": lon, "utc": at.isoformat().replace("+00:00", "Z")}
        for lat, lon, at in places(300, 61, 89)
    ]
    for row in sheet.umbel("sun", sheet.table("sun.csv", rows)):
        expected = spa([row["utc"]], row["lat"], row["lon"]).iloc[0]
        sheet.near("sun zenith [deg]", "pvlib", row["zenith"], expected["zenith"], absolute=0.05)
        # Below the zenith itself a direction means little.
        if expected["zenith"] > 3:
            turn = (row["azimuth"] - expected["azimuth"] + 180) % 360 - 180
            sheet.near("sun azimuth [deg]", "pvlib", turn, 0.0, absolute=0.1)


def day(sheet):
    """Length of the day"""
    rows = [
        {"lat": lat, "lon": lon, "date": at.date().isoformat()} for lat, lon, at in places(40, 62)
    ]
    for row in sheet.umbel("day", sheet.table("days.csv", rows)):
        noon = pd.Timestamp(row["date"], tz="UTC") + pd.Timedelta(hours=12 - row["lon"] / 15)
        steps = pd.date_range(noon - pd.Timedelta(hours=12), periods=1440, freq="1min")
        altitude = 90 - spa(steps, row["lat"], row["lon"])["zenith"]
        for limit, name in ((-0.833, "hours_above_minus0p833"), (-6, "hours_above_minus6")):
            sheet.near(
                "day hours [h]",
                "pvlib, counted",
                row[name],
                (altitude > limit).sum() / 60,
                absolute=0.06,
            )
        # Crossings of the horizon within the day of the place, whose noon lies in the middle.
        above = steps[(altitude > -0.833).to_numpy()]
        for name, expected in (("sunrise_utc", above[0]), ("sunset_utc", above[-1])):
            off = (pd.Timestamp(row[name]) - expected).total_seconds()
            sheet.near("sunrise and sunset [s]", "pvlib, counted", off, 0.0, absolute=150)
        doy, lat = pd.Timestamp(row["date"]).dayofyear, np.radians(row["lat"])
        sheet.near(
            "radiation above the air [MJ/m2]",
            "refet",
            row["Ra_MJ"],
            float(refet.calcs.ra_daily(np.array([lat]), np.array([doy]), method="asce")[0]),
            absolute=0.05,
        )


def facade(sheet):
    """Light on an upright plane"""
    dice = np.random.default_rng(63)
    rows = []
    for _ in range(300):
        zenith, dni, dhi = dice.uniform(0, 100), dice.uniform(0, 950), dice.uniform(0, 350)
        if zenith >= 90:
            dni = 0.0
        rows.append(
            {
                "zenith": zenith,
                "azimuth": dice.uniform(0, 360),
                "ghi": dhi + dni * max(np.cos(np.radians(zenith)), 0),
                "dni": dni,
                "dhi": dhi,
                "window_azimuth": float(dice.integers(0, 360)),
            }
        )
    for row in sheet.umbel("facade", sheet.table("facade.csv", rows), "--albedo", "0.2"):
        plane = pvlib.irradiance.get_total_irradiance(
            90,
            row["window_azimuth"],
            row["zenith"],
            row["azimuth"],
            row["dni"],
            row["ghi"],
            row["dhi"],
            albedo=0.2,
            model="isotropic",
        )
        for mine, theirs in (
            ("direct", "poa_direct"),
            ("sky", "poa_sky_diffuse"),
            ("ground", "poa_ground_diffuse"),
            ("total", "poa_global"),
        ):
            sheet.near(
                "window light [W/m2]", "pvlib, isotropic", row[mine], plane[theirs], absolute=0.5
            )


def cloudless(sheet):
    """Sums of a cloudless day on an upright plane"""
    dice = np.random.default_rng(64)
    rows = [
        {
            "lat": lat,
            "lon": lon,
            "date": at.date().isoformat(),
            "window_azimuth": int(dice.integers(0, 360)),
        }
        for lat, lon, at in places(12, 65, 55)
    ]
    for row in sheet.umbel(
        "facade",
        sheet.table("cloudless.csv", rows),
        "--daily",
        "--turbidity",
        "3",
        "--albedo",
        "0.2",
    ):
        midnight = pd.Timestamp(row["date"], tz="UTC") - pd.Timedelta(hours=row["lon"] / 15)
        steps = pd.date_range(midnight + pd.Timedelta(minutes=5), periods=144, freq="10min")
        sun = spa(steps, row["lat"], row["lon"])
        mass = pvlib.atmosphere.get_absolute_airmass(
            pvlib.atmosphere.get_relative_airmass(sun["apparent_zenith"]), 101325
        )
        sky = pvlib.clearsky.ineichen(sun["apparent_zenith"], mass, 3.0, altitude=0, dni_extra=1364)
        plane = pvlib.irradiance.get_total_irradiance(
            90,
            row["window_azimuth"],
            sun["apparent_zenith"],
            sun["azimuth"],
            sky["dni"],
            sky["ghi"],
            sky["dhi"],
            albedo=0.2,
            model="isotropic",
        )
        expected = plane["poa_global"].fillna(0).sum() * 600 / 1e6
        sheet.near(
            "cloudless day on a window", "pvlib, Ineichen", row["total"], expected, relative=0.02
        )


def panel(sheet):
    """Light under a panel"""
    dice = np.random.default_rng(66)
    rows = [
        {
            "width_m": dice.uniform(0.03, 0.8),
            "length_m": dice.uniform(0.1, 1.2),
            "photon_flux_umol_s": dice.uniform(10, 300),
            "x_m": dice.uniform(-0.6, 0.6),
            "y_m": dice.uniform(-0.6, 0.6),
            "z_m": dice.uniform(0.1, 0.9),
        }
        for _ in range(40)
    ]
    for row in sheet.umbel("panel", sheet.table("panel.csv", rows)):
        w, l, x, y, z = (row[k] for k in ("width_m", "length_m", "x_m", "y_m", "z_m"))
        # Both surfaces face each other: cos² over π·r².
        f = lambda v, u: z * z / (np.pi * ((u - x) ** 2 + (v - y) ** 2 + z * z) ** 2)
        factor, _ = dblquad(f, -w / 2, w / 2, -l / 2, l / 2, epsabs=1e-11, epsrel=1e-10)
        sheet.near(
            "panel view factor", "scipy, integrated", row["view_factor"], factor, relative=1e-6
        )
        sheet.near(
            "panel light",
            "scipy, integrated",
            row["ppfd"],
            factor * row["photon_flux_umol_s"] / (w * l),
            relative=1e-6,
        )


COMPARISONS = [position, day, facade, cloudless, panel]
