"""The whole days of a file: morning readings dated back, incomplete ends left out, gaps inside refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.errors import PlanRefused, Problem, WeatherRefused
from etsched.feeds.csv_checks import check_columns
from etsched.frames.hours_to_days import hours_to_days, missing_hours

if TYPE_CHECKING:
    from datetime import date
    from zoneinfo import ZoneInfo

    from etsched.feeds.csv_clock import Timed
    from etsched.feeds.csv_table import Table

_NOON = 12
_CUT = "add what is missing, or cut the file before or after the gap"


def whole_days(table: Table, days: pd.DataFrame, timed: Timed) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Make daily rows into days that all have their temperatures.

    Parameters
    ----------
    table : Table
        The file.
    days : DataFrame
        Its rows in order of their dates, columns as DAILY_COLUMNS.
    timed : Timed
        Where each row stands in the file.

    Returns
    -------
    daily : DataFrame
        With morning readings on the day before.
    notes : tuple of str
        Which days at either end are left out, and what is not known of the last.

    Raises
    ------
    WeatherRefused
        Where a day inside lacks a temperature, or columns contradict each other.
    """
    late = [key for key, column in table.mapping.columns.items() if 0 < column.day_ends_at < _NOON]
    rows = pd.Series(timed.rows, index=timed.index)
    if late:
        days, rows = _dated_back(days, rows, [table.frame_column(key) for key in late])
    known = np.flatnonzero(days[["tmin_c", "tmax_c"]].notna().all(axis=1))
    if len(known) == 0:
        wrong = "no day has both its lowest and its highest temperature"
        raise WeatherRefused([table.cells.at_heading("", wrong, "complete the file, or correct the column mapping")])
    whole = slice(known[0], known[-1] + 1)
    daily = days.iloc[whole]
    read_on = {key: rows.shift(-1, fill_value=rows.iloc[-1]) if key in late else rows for key in ("tmin", "tmax")}
    for key, each in read_on.items():
        _refuse_gaps(table, daily, each.iloc[whole], key)
    check_columns(table, daily, read_on["tmin"].iloc[whole])
    left_out = days.index.difference(daily.index)
    notes = [f"{day:%Y-%m-%d} lacks its lowest or highest temperature and is left out" for day in left_out]
    notes += [
        f"{key} of {daily.index[-1]:%Y-%m-%d} is read on the morning after and not known"
        for key in late
        if daily.index[-1] == days.index[-1]
    ]
    return daily.copy(), tuple(notes)


def _dated_back(days: pd.DataFrame, rows: pd.Series[int], late: list[str]) -> tuple[pd.DataFrame, pd.Series[int]]:
    """Move what was read in the morning to the day before, which one more row in front makes room for."""
    index = days.index.insert(0, days.index[0] - pd.Timedelta(days=1))
    days = days.reindex(index)
    days[late] = days[late].shift(-1)
    return days, rows.reindex(index, fill_value=rows.iloc[0])


def _refuse_gaps(table: Table, daily: pd.DataFrame, rows: pd.Series[int], key: str) -> None:
    """Refuse days inside that lack a temperature, each told on the row where it should have been."""
    lacking = daily[table.frame_column(key)].isna().to_numpy()
    day = dict(zip(rows[lacking].tolist(), daily.index[lacking], strict=True))

    def say(row: int) -> tuple[str, str]:
        return f"{day[row]:%Y-%m-%d} has no value here", _CUT

    if day:
        raise WeatherRefused(table.cells.at_rows(list(day), table.heading(key), say))


def days_of_hours(
    table: Table, hourly: pd.DataFrame, timed: Timed, zone: ZoneInfo, today: date
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Make hours into site-local days, as `hours_to_days` does, and tell gaps with their lines.

    Parameters
    ----------
    table : Table
        The file.
    hourly : DataFrame
        Its rows in order of time, columns as HOURLY_COLUMNS.
    timed : Timed
        Where each row stands in the file.
    zone : ZoneInfo
        Of the site.
    today : date
        Days from here on are forecast.

    Returns
    -------
    daily : DataFrame
        Daily rows.
    notes : tuple of str
        What was left out.

    Raises
    ------
    WeatherRefused
        Where hours inside are missing, no day is whole, or columns contradict each other.
    """
    _refuse_missing_hours(table, hourly, timed, zone)
    check_columns(table, hourly, pd.Series(timed.rows, index=timed.index))
    try:
        return hours_to_days(hourly, zone, today)
    except PlanRefused as error:
        remedy = "give at least one day with all its hours"
        raise WeatherRefused([Problem(table.cells.file, None, "", str(error), remedy)]) from None


def _refuse_missing_hours(table: Table, hourly: pd.DataFrame, timed: Timed, zone: ZoneInfo) -> None:
    """Refuse gaps, each told on the row before it or on the first row that has no temperature."""
    lacking = missing_hours(hourly, zone)
    if len(lacking) == 0:
        return
    before = timed.rows[timed.index.searchsorted(lacking, side="right") - 1]
    local = lacking.tz_convert(zone)

    def say(row: int) -> tuple[str, str]:
        hours = local[before == row]
        span = f"the hour of {hours[0]:%Y-%m-%d %H:%M}"
        if len(hours) > 1:
            span = f"the {len(hours)} hours of {hours[0]:%Y-%m-%d %H:%M} to {hours[-1]:%Y-%m-%d %H:%M}"
        return f"no temperature is known for {span}", _CUT

    raise WeatherRefused(table.cells.at_rows(list(dict.fromkeys(before.tolist())), table.heading("temperature"), say))
