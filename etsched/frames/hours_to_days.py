"""From hours to site-local days: 24 hours long, and 23 or 25 where the clocks change."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.core import atmosphere
from etsched.days import day_bounds
from etsched.errors import PlanRefused
from etsched.frames.weather import DAILY_COLUMNS, check_daily, check_hourly

if TYPE_CHECKING:
    from datetime import date
    from zoneinfo import ZoneInfo

_HOUR = pd.Timedelta(hours=1)
# Daily column, hourly column it comes from, how its hours are put together.
_GATHERED = (
    ("tmin_c", "temperature_c", "min"),
    ("tmax_c", "temperature_c", "max"),
    ("rh_min_pct", "rh_pct", "min"),
    ("rh_max_pct", "rh_pct", "max"),
    ("rh_mean_pct", "rh_pct", "mean"),
    ("dewpoint_c", "dewpoint_c", "mean"),
    ("vapour_pressure_kpa", "vapour_pressure_kpa", "mean"),
    ("wind_m_s", "wind_m_s", "mean"),
    ("solar_mj_m2_d", "solar_mj_m2_h", "sum"),
    ("rain_mm", "rain_mm", "sum"),
)


def hours_to_days(hourly: pd.DataFrame, zone: ZoneInfo, today: date) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Gather hours into site-local days; an hour belongs to the day in which it begins.

    Parameters
    ----------
    hourly : DataFrame
        As `check_hourly` wants it.
    zone : ZoneInfo
        Of the site.
    today : date
        Days from here on are forecast.

    Returns
    -------
    daily : DataFrame
        As `check_daily` wants it.
    notes : tuple of str
        What was left out: an incomplete first or last day, a quantity with hours missing.

    Raises
    ------
    PlanRefused
        Where a day between the first and the last lacks hours, or no day is whole.
    """
    check_hourly(hourly)
    if len(lacking := missing_hours(hourly, zone)):
        shown = ", ".join(f"{hour:%Y-%m-%d %H:%M}" for hour in lacking.tz_convert(zone)[:24])
        raise PlanRefused(f"the hourly weather lacks {len(lacking)} hours inside, by local time: {shown}")
    index = pd.DatetimeIndex(hourly.index)
    day = local_days(index, zone)
    present = hourly["temperature_c"].notna().groupby(day).sum()
    lasts = hours_in_days(index, zone).reindex(present.index)
    whole = present.index[present == lasts]
    if len(whole) == 0:
        raise PlanRefused("the hourly weather holds no whole day of local time")
    daily, notes = _gathered(hourly[day.isin(whole)], day[day.isin(whole)])
    daily["is_forecast"] = daily.index >= pd.Timestamp(today)
    left_out = [
        f"{when:%Y-%m-%d} has {present[when]} of its {lasts[when]} hours and is left out"
        for when in present.index.difference(whole)
    ]
    return check_daily(daily), (*left_out, *notes)


def local_days(hours: pd.DatetimeIndex, zone: ZoneInfo) -> pd.DatetimeIndex:
    """Give the site-local day, as a naive midnight, in which each hour begins."""
    return hours.tz_convert(zone).tz_localize(None).normalize().rename("day")


def hours_in_days(hours: pd.DatetimeIndex, zone: ZoneInfo) -> pd.Series[int]:
    """Give how many hours each local day lasts, from the day of the first of `hours` to that of the last."""
    first, last = local_days(hours[[0, -1]], zone)
    begins, ends = day_bounds(first.date(), zone)[0], day_bounds(last.date(), zone)[1]
    # The grid runs through the given hours, so that a zone half an hour off UTC has whole hours too.
    grid = pd.date_range(hours[0] - (hours[0] - begins) // _HOUR * _HOUR, ends, freq=_HOUR, inclusive="left")
    return pd.Series(1, index=local_days(grid, zone)).groupby(level=0).sum()


def missing_hours(hourly: pd.DataFrame, zone: ZoneInfo) -> pd.DatetimeIndex:
    """Give the UTC hours without a temperature on the local days between the first and the last known."""
    known = pd.DatetimeIndex(hourly.index[hourly["temperature_c"].notna()])
    if len(known) == 0:
        return known
    lacking = pd.date_range(known[0], known[-1], freq=_HOUR).difference(known)
    day = local_days(lacking, zone)
    first, last = local_days(known[[0, -1]], zone)
    return lacking[(day > first) & (day < last)]


def _gathered(hourly: pd.DataFrame, day: pd.DatetimeIndex) -> tuple[pd.DataFrame, list[str]]:
    """Put the hours of whole days together; what lacks an hour is unknown, but rain counts what it has."""
    hours = hourly.assign(vapour_pressure_kpa=_vapour_pressure(hourly)).groupby(day)
    known, lasts = hours.count(), hours.size()
    daily = pd.DataFrame(np.nan, index=lasts.index, columns=list(DAILY_COLUMNS))
    for name, source, how in _GATHERED:
        enough = known[source] > 0 if name == "rain_mm" else known[source] == lasts
        daily[name] = hours[source].agg(how).where(enough)
    notes = []
    for source in hourly.columns:
        partly = known.index[(known[source] > 0) & (known[source] < lasts)]
        if len(partly):
            days = f"{partly[0]:%Y-%m-%d}" + (f" and {len(partly) - 1} more days" if len(partly) > 1 else "")
            then = "the known hours are counted" if source == "rain_mm" else "nothing is known of such a day"
            notes.append(f"{source} lacks hours on {days}: {then}")
    return daily, notes


def _vapour_pressure(hourly: pd.DataFrame) -> pd.Series[float]:
    """Vapour pressure of each hour: as given, else from the dew point, else from relative humidity."""
    from_rh = atmosphere.vapour_pressure_from_rh(hourly["temperature_c"].to_numpy(), hourly["rh_pct"].to_numpy())
    from_dewpoint = atmosphere.vapour_pressure_from_dewpoint(hourly["dewpoint_c"].to_numpy())
    given = hourly["vapour_pressure_kpa"]
    return given.where(given.notna(), np.where(np.isnan(from_dewpoint), from_rh, from_dewpoint))
