"""Measure what filling costs in ETo, by blanking complete days of real station-years; prints the data file.

    python -m tests.cross.measure_filling_spread > etsched/reference/filling_spread.toml

Days from some of the years set the spreads; the others are kept aside and tell how much of what nobody looked at
the spreads hold. Of each place the 5th and the 95th percentile of true over filled ETo are taken, and of the places
of a climate the widest: the 10th and 90th held only 67 to 80 % of days kept aside, since years and places differ.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import compress, product

import numpy as np
import pandas as pd

from etsched.planning.weather_filling import Climate, fill_days
from etsched.planning.weather_quality import grade_days
from tests.cross.station_years import StationYear, andalusia, european, typical, wageningen

FULL_DAY_MM, LEAST_MM = 2.0, 1.0
PERCENTILES = (5.0, 95.0)
BLANKS = {
    "humidity": ("vapour_pressure_kpa", "dewpoint_c", "rh_min_pct", "rh_mean_pct", "rh_max_pct"),
    "sun": ("solar_mj_m2_d", "sunshine_h"),
    "wind": ("wind_m_s",),
}
WHATS = [" ".join(compress(BLANKS, on)) for on in product((False, True), repeat=3) if any(on)]
STATED = [climate for climate in Climate if climate is not Climate.NOT_STATED]

HEAD = f"""\
# What filling costs in ETo: true over filled ETo of days of which something was blanked, its {PERCENTILES[0]:g}th and
# {PERCENTILES[1]:g}th percentile at the widest place of each climate. Small days are those whose filled ETo is below
# `full_day_mm`; a day below `least_mm` has the width of one of `least_mm`. Humidity, sun and wind blanked together is
# Hargreaves. `unseen_fraction` is the share of days inside the range on station-years that did not set it.
# Written by: python -m tests.cross.measure_filling_spread > etsched/reference/filling_spread.toml
source = "blanked on complete days of real station-years: pvlib's typical years, pcse 6.0.13's stations and grid cell"
mark = "measured"
full_day_mm = {FULL_DAY_MM}
least_mm = {LEAST_MM}
"""


def split_years() -> Iterator[tuple[StationYear, bool]]:
    """Give the station-years in parts, each with whether it sets the spreads or is kept aside."""
    for station in european():
        yield from _parted(station, "2014-01-01")
    yield from _parted(andalusia(), "2000-12-01")
    for year in wageningen():
        yield replace(year, name="wageningen"), year.daily.index[0].year % 2 == 0
    for year in typical():
        yield year, year.name != "723170TYA.CSV"


def _parted(station: StationYear, second: str) -> Iterator[tuple[StationYear, bool]]:
    begins = station.daily.index >= pd.Timestamp(second)
    yield replace(station, daily=station.daily[~begins]), True
    yield replace(station, daily=station.daily[begins]), False


def complete_days(year: StationYear) -> pd.DataFrame:
    """Days of which all is known after checking; days that were not are left out."""
    clean = grade_days(year.daily, year.place).daily
    whole = fill_days(clean, year.place).gaps
    return clean[(whole.drivers_count == 0) & ~whole.temperature]


def true_and_filled(year: StationYear, days: pd.DataFrame, blanked: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """ETo from all readings, and from what is left when some columns are blanked, mm."""
    true = fill_days(days, year.place, year.climate).eto_mm
    return true, fill_days(days.assign(**dict.fromkeys(blanked, np.nan)), year.place, year.climate).eto_mm


def blanked_columns(what: str) -> tuple[str, ...]:
    """Columns that are blank where `what` is not known."""
    return tuple(column for part in what.split() for column in BLANKS[part])


Days = list[tuple[str, np.ndarray, np.ndarray]]  # place, true and filled ETo


def measured(what: str, climate: Climate | None) -> tuple[Days, Days]:
    """Days that set the spread of what is blanked, and days kept aside; `sunshine` blanks radiation alone."""
    parts: tuple[Days, Days] = ([], [])
    for year, sets in split_years():
        if climate not in (None, year.climate):
            continue
        days = complete_days(year)
        if what == "sunshine":
            days = days[days["sunshine_h"].notna()]
        columns = ("solar_mj_m2_d",) if what == "sunshine" else blanked_columns(what)
        if len(days):
            parts[not sets].append((year.name, *true_and_filled(year, days, columns)))
    return parts


def ratio(true_mm: np.ndarray, filled_mm: np.ndarray) -> np.ndarray:
    """True over filled ETo, the difference of a day below `LEAST_MM` taken on that."""
    return 1.0 + (true_mm - filled_mm) / np.maximum(filled_mm, LEAST_MM)


def factors(days: Days, *, full: bool) -> tuple[float, float]:
    """Percentiles of the widest place, over full days or small ones, rounded away from 1."""
    ends = []
    for place in dict.fromkeys(name for name, _, _ in days):
        ratios = [ratio(t, f)[(f >= FULL_DAY_MM) == full] for name, t, f in days if name == place]
        joined = np.concatenate(ratios)
        if len(joined) >= 60:  # of fewer days the percentiles would be single days
            ends.append(np.percentile(joined, PERCENTILES))
    low, high = np.min([end[0] for end in ends]), np.max([end[1] for end in ends])
    return float(np.floor(low * 100.0) / 100.0), float(np.ceil(high * 100.0) / 100.0)


def inside(days: Days, small: tuple[float, float], full: tuple[float, float]) -> float:
    """Share of days whose true ETo the range holds; a range never leaves its middle out."""
    ratios = np.concatenate([ratio(true, filled) for _, true, filled in days])
    is_full = np.concatenate([filled >= FULL_DAY_MM for _, _, filled in days])
    low, high = (np.where(is_full, full[end], small[end]) for end in (0, 1))
    return float(np.mean((ratios >= np.minimum(low, 1.0)) & (ratios <= np.maximum(high, 1.0))))


def entry(key: str, what: str, climate: Climate | None) -> str:
    """Write one entry of the data file."""
    sets, aside = measured(what, climate)
    small, full = factors(sets, full=False), factors(sets, full=True)
    lines = [f"\n[{key}]", f"small_day_factors = {list(small)}", f"full_day_factors = {list(full)}"]
    lines.append(f"days_count = {sum(len(true) for _, true, _ in sets)}")
    lines.append(f"unseen_fraction = {inside(aside, small, full):.2f}")
    return "\n".join(lines) + "\n"


def data_file() -> str:
    """Write the whole data file."""
    text = HEAD + entry('"any climate".sunshine', "sunshine", None)
    for climate in STATED:
        text += "".join(entry(f'"{climate}"."{what}"', what, climate) for what in WHATS)
    return text


if __name__ == "__main__":
    print(data_file(), end="")  # noqa: T201 - that is what it is for
