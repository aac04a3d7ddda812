"""Speed of a day's ETo over 1e6 station-days, against pyet, refet and plain numpy; medians, interleaved.

The job of `eto_vs_pyet`, `eto_vs_refet` and `eto_vs_numpy` is one thousand sites, each with a latitude and an
elevation of its own, over one thousand days. pyet takes it as an xarray, its quickest form for many places; a
second job, one place for all, lets it use its quickest forms for a single place, a Series or an xarray.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.daily_et_steps import fao56_daily_step_by_step

DAYS_COUNT = SITES_COUNT = 1000
ROUNDS = 9

Runs = dict[str, Callable[[], object]]


def random_weather() -> DailyDrivers:
    """Give 1e6 random station-days."""
    draw = np.random.default_rng(6)
    shape = (DAYS_COUNT, SITES_COUNT)
    tmin = draw.uniform(0.0, 22.0, shape)
    return DailyDrivers(
        tmin_c=tmin,
        tmax_c=tmin + draw.uniform(3.0, 18.0, shape),
        vapour_pressure_kpa=0.6108 * np.exp(17.27 * tmin / (tmin + 237.3)) * draw.uniform(0.5, 1.0, shape),
        wind_m_s=draw.uniform(0.3, 6.0, shape),
        solar_mj_m2_d=draw.uniform(3.0, 31.0, shape),
        latitude_deg=draw.uniform(-60.0, 60.0, SITES_COUNT),
        elevation_m=draw.uniform(0.0, 2500.0, SITES_COUNT),
        day_of_year=np.arange(DAYS_COUNT)[:, None] % 365 + 1.0,
    )


def plain_numpy(w: DailyDrivers) -> np.ndarray:
    """Compute the same formula as a person writes it down."""

    def e0(t: np.ndarray) -> np.ndarray:
        return 0.6108 * np.exp(17.27 * t / (t + 237.3))

    t = (w.tmin_c + w.tmax_c) / 2
    delta = 4098 * e0(t) / (t + 237.3) ** 2
    gamma = 0.665e-3 * 101.3 * ((293 - 0.0065 * w.elevation_m) / 293) ** 5.26
    es = (e0(w.tmin_c) + e0(w.tmax_c)) / 2
    phi = np.deg2rad(w.latitude_deg)
    dr = 1 + 0.033 * np.cos(2 * np.pi / 365 * w.day_of_year)
    dec = 0.409 * np.sin(2 * np.pi / 365 * w.day_of_year - 1.39)
    ws = np.arccos(np.clip(-np.tan(phi) * np.tan(dec), -1, 1))
    ra = 24 * 60 / np.pi * 0.082 * dr
    ra = ra * (ws * np.sin(phi) * np.sin(dec) + np.cos(phi) * np.cos(dec) * np.sin(ws))
    rso = (0.75 + 2e-5 * w.elevation_m) * ra
    ratio = np.clip(w.solar_mj_m2_d / rso, 0.3, 1)
    rnl = 4.903e-9 * ((w.tmax_c + 273.16) ** 4 + (w.tmin_c + 273.16) ** 4) / 2
    rnl = rnl * (0.34 - 0.14 * np.sqrt(w.vapour_pressure_kpa)) * (1.35 * ratio - 0.35)
    rn = 0.77 * w.solar_mj_m2_d - rnl
    drying = gamma * 900 / (t + 273) * w.wind_m_s * (es - w.vapour_pressure_kpa)
    return np.maximum((0.408 * delta * rn + drying) / (delta + gamma * (1 + 0.34 * w.wind_m_s)), 0)


def medians(runs: Runs) -> dict[str, float]:
    """Give each run's median seconds; every round runs all of them, after one round to warm up."""
    seconds: dict[str, list[float]] = {name: [] for name in runs}
    for turn in range(ROUNDS + 1):
        for name, run in runs.items():
            start = time.perf_counter()
            run()
            if turn:
                seconds[name].append(time.perf_counter() - start)
    return {name: statistics.median(times) for name, times in seconds.items()}


def same(found: object, wanted: np.ndarray) -> None:
    """Stop if two that are raced do not compute the same thing: a quick wrong answer is no answer."""
    np.testing.assert_allclose(np.asarray(found).reshape(wanted.shape), wanted, rtol=0.0, atol=0.005)


def refet_runs(w: DailyDrivers) -> Runs:
    """Give refet in its broadcast form: days down, sites across."""
    import refet

    def run() -> np.ndarray:
        day = refet.Daily(
            w.tmin_c,
            w.tmax_c,
            w.solar_mj_m2_d,
            w.wind_m_s,
            2.0,
            w.elevation_m,
            w.latitude_deg,
            w.day_of_year,
            ea=w.vapour_pressure_kpa,
            rso_type="simple",
        )
        return np.maximum(day.eto(), 0.0)

    return {"refet": run}


def pyet_grids(w: DailyDrivers) -> dict[str, object]:
    """Lay the weather out for pyet, which wants time, y and x; the days repeat a year without 29 February."""
    import xarray as xr

    time_axis = np.datetime64("2023-01-01") + (np.arange(DAYS_COUNT) % 365).astype("m8[D]")
    values = {
        "tmean": (w.tmin_c + w.tmax_c) / 2,
        "wind": w.wind_m_s,
        "rs": w.solar_mj_m2_d,
        "tmax": w.tmax_c,
        "tmin": w.tmin_c,
        "ea": w.vapour_pressure_kpa,
    }
    coords = {"time": time_axis.astype("M8[ns]")}
    return {
        name: xr.DataArray(value[:, :, None], dims=("time", "y", "x"), coords=coords) for name, value in values.items()
    }


def race_many_places(w: DailyDrivers) -> None:
    """Race all four over sites that each lie elsewhere."""
    ours = fao56_daily_from_weather(w)
    runs: Runs = {"ours": lambda: fao56_daily_from_weather(w), "numpy": lambda: plain_numpy(w)}
    try:
        runs |= refet_runs(w)
    except ImportError:
        print("skipped eto_vs_refet: needs the test extra, pip install -e .[test]")
    try:
        import pyet
        import xarray as xr

        grids = pyet_grids(w)
        place = {
            "elevation": xr.DataArray(w.elevation_m[:, None], dims=("y", "x")),
            "lat": xr.DataArray(np.deg2rad(w.latitude_deg)[:, None], dims=("y", "x")),
        }
        runs["pyet"] = lambda: pyet.pm_fao56(**grids, **place).values
    except ImportError:
        print("skipped eto_vs_pyet: needs the test extra, pip install -e .[test]")
    for run in runs.values():
        same(run(), ours)
    took = medians(runs)
    for name in ("pyet", "refet", "numpy"):
        if name in took:
            print(f"figure eto_vs_{name} {took[name] / took['ours']:.2f} ratio")


def race_one_place(w: DailyDrivers) -> None:
    """Race pyet's two forms for one latitude and elevation; the quicker one counts."""
    try:
        import pyet
    except ImportError:
        return
    latitude_deg, elevation_m = 38.6, 10.0
    here = replace(w, latitude_deg=latitude_deg, elevation_m=elevation_m)
    place = {"elevation": elevation_m, "lat": np.deg2rad(latitude_deg)}
    grids = pyet_grids(w)
    runs: Runs = {
        "ours": lambda: fao56_daily_from_weather(here),
        "xarray": lambda: pyet.pm_fao56(**grids, **place).values,
    }
    same(runs["xarray"](), fao56_daily_from_weather(here))
    took = medians(runs)
    # A Series of 1e6 rows writes out and reads back 1e6 dates: seconds, so that one run tells.
    series = {name: grid.to_series() for name, grid in grids.items()}
    series = {name: values.droplevel(["y", "x"]) for name, values in series.items()}
    start = time.perf_counter()
    found = pyet.pm_fao56(**series, **place)
    took["series"] = time.perf_counter() - start
    same(found, fao56_daily_from_weather(here))
    quickest = min(took["xarray"], took["series"])
    print(f"figure eto_vs_pyet_one_place {quickest / took['ours']:.2f} ratio")


def main() -> None:
    """Race, and see that the quick way and the plain one agree."""
    w = random_weather()
    race_many_places(w)
    race_one_place(w)
    difference = np.abs(fao56_daily_from_weather(w) - fao56_daily_step_by_step(w)).max()
    print(f"figure eto_difference_mm {difference:.1e} mm")


if __name__ == "__main__":
    main()
