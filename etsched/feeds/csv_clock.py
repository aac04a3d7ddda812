"""From stamps as a file writes them to days and to UTC hours: clock, year, doubled and missing rows."""

from __future__ import annotations

from calendar import isleap
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.errors import WeatherRefused
from etsched.feeds.csv_stamps import stamp_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    from etsched.feeds.csv_table import Table

_HOUR, _DAY = pd.Timedelta(hours=1), pd.Timedelta(days=1)
_ONE_AN_HOUR = "give one row for each hour"


@dataclass(frozen=True, slots=True)
class Timed:
    """The days or hours of a file in order of time; `rows` holds the file's row of each."""

    index: pd.DatetimeIndex
    rows: NDArray[np.intp]
    notes: tuple[str, ...]


def days_in_order(table: Table, stamps: pd.Series[pd.Timestamp]) -> Timed:
    """Give the days of a file, each once and none missing; the order of the rows means nothing.

    Parameters
    ----------
    table : Table
        The file.
    stamps : Series
        Of each row, at midnight.

    Raises
    ------
    WeatherRefused
        Where a day stands twice or is missing.
    """
    days, rows, notes = _in_one_year(table, stamps, pd.Timedelta(0))
    timed = _in_order(table, days, rows, notes)
    gaps = np.flatnonzero(np.diff(timed.index.to_numpy()) > _DAY.to_timedelta64()) + 1

    def say(row: int) -> tuple[str, str]:
        at = int(np.flatnonzero(timed.rows == row)[0])
        before, after = timed.index[at - 1], timed.index[at]
        count = (after - before).days - 1
        lacking = f"{before + _DAY:%Y-%m-%d}" + (f" to {after - _DAY:%Y-%m-%d}" if count > 1 else "")
        wrong = f"{lacking} {'are' if count > 1 else 'is'} missing before {after:%Y-%m-%d}"
        return wrong, "add what is missing, or cut the file there"

    if len(gaps):
        raise WeatherRefused(table.cells.at_rows(timed.rows[gaps].tolist(), table.heading("date"), say))
    return timed


def hours_in_order(table: Table, stamps: pd.Series[pd.Timestamp], zone: ZoneInfo) -> Timed:
    """Give the UTC starts of the hours of a file, each once, in order; missing hours are not looked for.

    Parameters
    ----------
    table : Table
        The file.
    stamps : Series
        Of each row, by the clock that the mapping names.
    zone : ZoneInfo
        Of the site.

    Raises
    ------
    WeatherRefused
        Where a stamp is not on the full hour, does not exist by the clock, or stands twice.
    """
    uneven = np.flatnonzero(stamps.dt.minute + stamps.dt.second)
    _refuse(table, uneven, lambda _: "is not on the full hour", _ONE_AN_HOUR)
    length = _HOUR if table.mapping.time.stamps == "end" else pd.Timedelta(0)
    stamps, rows, notes = _in_one_year(table, stamps, length)
    starts = _utc(table, stamps, zone) - length
    skipped = f"does not exist, as the clock of {zone.key} skips it"
    _refuse(table, rows[starts.isna()], lambda _: skipped, _standard_time(stamps, zone))
    uneven = rows[np.flatnonzero((starts - starts.min()) % _HOUR)]
    _refuse(table, uneven, lambda _: "is no whole number of hours after the first", _ONE_AN_HOUR)
    return _in_order(table, starts, rows, notes)


def _refuse(table: Table, rows: NDArray[np.intp], say: Callable[[int], str], remedy: str) -> None:
    """Refuse rows for their stamps; `say` tells of a row what is wrong with its stamp."""
    if len(rows):
        field = table.heading("time" if "time" in table.positions else "date")
        raise WeatherRefused(
            table.cells.at_rows(rows.tolist(), field, lambda row: (f"{stamp_text(table, row)} {say(row)}", remedy))
        )


def _in_one_year(
    table: Table, stamps: pd.Series[pd.Timestamp], length: pd.Timedelta
) -> tuple[pd.Series[pd.Timestamp], NDArray[np.intp], tuple[str, ...]]:
    """Move stamps into the mapping's year, if it names one; give the rows that stay and what was left out."""
    rows, year = np.arange(len(stamps)), table.mapping.time.year
    if year is None:
        return stamps, rows, ()
    starts = stamps - length  # the last hour of a year may be stamped in the next
    leap = (starts.dt.month == 2) & (starts.dt.day == 29) & (not isleap(year))
    if leap.all():
        _refuse(table, rows, lambda _: f"is no day of {year}", "name a leap year, or give other days")
    rows, starts = rows[~leap], starts[~leap]
    month = starts.to_numpy().astype("datetime64[M]")
    into = np.datetime64(year - 1970, "Y").astype("datetime64[M]") + (starts.dt.month.to_numpy() - 1)
    moved = into.astype("datetime64[us]") + (starts.to_numpy() - month.astype("datetime64[us]"))
    notes = (f"29 February is left out, as {year} has none",) if leap.any() else ()
    return pd.Series(moved) + length, rows, notes


def _utc(table: Table, stamps: pd.Series[pd.Timestamp], zone: ZoneInfo) -> pd.DatetimeIndex:
    """Give the instants of stamps by the mapping's clock, NaT where it skips one."""
    clock, written = table.mapping.time.clock, pd.DatetimeIndex(stamps)
    if clock != "local":
        return written.tz_localize((clock or "utc").upper()).tz_convert("UTC")
    # Of a doubled hour the earlier row has summer time; in a file with the newest row on top it is the lower.
    newest_first = bool(stamps.iloc[0] > stamps.iloc[-1])
    later = stamps.duplicated(keep="last" if newest_first else "first").to_numpy()
    return written.tz_localize(zone, ambiguous=~later, nonexistent="NaT").tz_convert("UTC")


def _standard_time(stamps: pd.Series[pd.Timestamp], zone: ZoneInfo) -> str:
    halves = [datetime(stamps.iloc[0].year, month, 1, tzinfo=zone) for month in (1, 7)]
    offset = f"{min(halves, key=lambda moment: moment.utcoffset() or timedelta(0)):%z}"
    return f'if the station keeps standard time all year, set clock = "{offset[:3]}:{offset[3:]}" in [time]'


def _in_order(
    table: Table,
    index: pd.Series[pd.Timestamp] | pd.DatetimeIndex,
    rows: NDArray[np.intp],
    notes: tuple[str, ...],
) -> Timed:
    """Sort, and refuse what stands twice."""
    index = pd.DatetimeIndex(index).as_unit("us")
    order = np.argsort(index.asi8, kind="stable")
    index, rows = index[order], rows[order]
    twice = np.flatnonzero(index.duplicated())
    earlier = dict(zip(rows[twice].tolist(), rows[twice - 1].tolist(), strict=True))
    lines = table.cells.lines
    again = "take one of the two rows out"
    _refuse(table, rows[twice], lambda row: f"stands on line {lines[earlier[row]]} already", again)
    return Timed(index, rows, notes)
