"""Time to check, grade and fill a station-year, and the worst day against an independent reference ET."""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from etsched.core import net_radiation, radiation
from etsched.planning.weather_filling import fill_days
from etsched.planning.weather_quality import grade_days
from tests.cross import station_years

ROUNDS = 15


def check_a_year() -> None:
    """Check and fill the 365 days and 8760 hours of Greensboro, held against a neighbour."""
    if station_years.pvlib_files() is None:
        print(f"skipped check_station_year_s: {station_years.PVLIB_NEEDED}")
        return
    year = station_years.typical()[0]
    neighbour = year.daily.assign(tmin_c=year.daily["tmin_c"] + 0.5)
    seconds = []
    for turn in range(ROUNDS + 1):
        start = time.perf_counter()
        graded = grade_days(year.daily, year.place, neighbour, year.hourly)
        fill_days(graded.daily, year.place, year.climate)
        if turn:
            seconds.append(time.perf_counter() - start)
    print(f"figure check_station_year_s {statistics.median(seconds):.4f} s")


def compare_with_pcse() -> None:
    """Tell the largest difference of all days, and that of the days with at least 0.3 of a clear sky's sun."""
    if station_years.pcse_files() is None:
        print(f"skipped et0_pcse_worst_mm: {station_years.PCSE_NEEDED}")
        return
    worst, bright = [], []
    for year in station_years.european():
        filled = fill_days(year.daily, year.place)
        difference = np.abs(filled.eto_mm - year.et0_mm)
        above = radiation.extraterrestrial_radiation(year.place.latitude_deg, filled.drivers.day_of_year)
        clear = radiation.clear_sky_simple(above, year.place.elevation_m)
        share = filled.drivers.solar_mj_m2_d / clear
        worst.append(np.nanmax(difference))
        bright.append(np.nanmax(difference[share >= net_radiation.LEAST_RELATIVE_SHORTWAVE_FRACTION]))
    print(f"figure et0_pcse_worst_mm {max(worst):.3f} mm")
    print(f"figure et0_pcse_worst_bright_mm {max(bright):.3f} mm")


if __name__ == "__main__":
    check_a_year()
    compare_with_pcse()
