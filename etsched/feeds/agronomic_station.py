"""Measured days or hours of an agronomic weather station, as networks of them export their tables.

A quality letter stands in the column after each value, under a heading that repeats, so that it is found by
position. The clock keeps standard time all year, an hour is named by its end (2400 ends the day), and wind is
measured at 2 m already. US and metric tables differ in the units that stand in their headings.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from etsched.documents.column_names import in_own_unit
from etsched.documents.refusals import clean, shown
from etsched.errors import FeedRefused, QuantityRefused
from etsched.feeds.csv_answer import cells_of, filled_in, numbers_of, parsed_file, refused_at
from etsched.feeds.day_rows import daily_frame
from etsched.feeds.hour_rows import hourly_and_daily
from etsched.frames.provenance import Origin
from etsched.frames.weather import Weather
from etsched.http_client import Request

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path
    from zoneinfo import ZoneInfo

    import numpy as np
    from numpy.typing import NDArray

    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.feeds.csv_cells import Cells
    from etsched.http_client import HttpClient, RawBody

FEED = "agronomic station"
# Letters of the values that are used: none, and Y, which marks what is unusual and kept. The others mark what is
# estimated, out of range, missing or not yet looked at. From memory, to be verified.
ACCEPTED_QC = ("", "Y")
_DAILY = {
    "Min Air Temp": "tmin_c",
    "Max Air Temp": "tmax_c",
    "Min Rel Hum": "rh_min_pct",
    "Max Rel Hum": "rh_max_pct",
    "Avg Rel Hum": "rh_mean_pct",
    "Dew Point": "dewpoint_c",
    "Avg Vap Pres": "vapour_pressure_kpa",
    "Avg Vapor Pressure": "vapour_pressure_kpa",
    "Avg Wind Speed": "wind_m_s",
    "Sol Rad": "solar_mj_m2_d",
    "Precip": "rain_mm",
}
_HOURLY = {
    "Air Temp": "temperature_c",
    "Rel Hum": "rh_pct",
    "Dew Point": "dewpoint_c",
    "Vap Pres": "vapour_pressure_kpa",
    "Vapor Pressure": "vapour_pressure_kpa",
    "Wind Speed": "wind_m_s",
    "Sol Rad": "solar_mj_m2_h",
    "Precip": "rain_mm",
}
_UNIT_SPELLINGS = {"W/sq.m": "W/m2"}
_HEADING = re.compile(r"(.+?) \(([^()]+)\)")
_MISSING = ("", "--", "---")
_HOUR_HEADING = re.compile(r"Hour(?: \((\w+)\))?")
_HOUR = re.compile(r"(\d{1,2})00", re.ASCII)
# Hours from UTC of the standard times that an hour's heading may state.
_CLOCKS = {"AST": -4, "EST": -5, "CST": -6, "MST": -7, "PST": -8, "AKST": -9, "HST": -10}
_CLOCK_NOTE = "the station's days run by standard time, so that in summer they begin an hour late by the site's clock"


def fetch_agronomic_station(
    client: HttpClient,
    host: FeedHost,
    ask: FeedAsk,
    known: RawBody | None = None,
    accepted: Collection[str] = ACCEPTED_QC,
) -> tuple[RawBody, Weather]:
    """Ask for the table at the host's address, see `csv_answer.filled_in`, and parse it. Raises FeedFailed."""
    request = Request(filled_in(host.base_url, ask))
    return client.get(request, lambda raw: parse_agronomic_station(raw, ask, accepted), known=known)


def read_agronomic_station(path: Path, ask: FeedAsk, accepted: Collection[str] = ACCEPTED_QC) -> Weather:
    """Read a station's table from a file; see `parse_agronomic_station`. Raises FeedFailed, with the file's name."""
    return parsed_file(path, lambda raw: parse_agronomic_station(raw, ask, accepted))


def parse_agronomic_station(raw: RawBody, ask: FeedAsk, accepted: Collection[str] = ACCEPTED_QC) -> Weather:
    """Read a station's table, daily or hourly as its headings say.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk
        `station` chooses among the stations of a table that holds several.
    accepted : Collection of str
        Quality letters of the values that are used; "" stands for none.

    Returns
    -------
    weather : Weather
        Days as `day_rows.daily_frame` makes them, and hours where the table has them.

    Raises
    ------
    FeedRefused
        Where the table is not one of a station, or its values cannot be true.
    FeedFailed
        Where it was cut short.
    """
    cells = _of_one_station(cells_of(raw), ask.station)
    name, origin = f"agronomic station {ask.station}".strip(), Origin(FEED, raw.fetched, None, True, "")
    days = _days(cells)
    hour = next((match for heading in cells.headings if (match := _HOUR_HEADING.fullmatch(heading))), None)
    if hour is None:
        values, notes = _values(cells, _DAILY, accepted)
        daily, more = daily_frame(_in_order(values, days, "%Y-%m-%d"), ask)
        return Weather(daily, None, name, (*_clock_note(ask), *notes, *more), origin)
    values, notes = _values(cells, _HOURLY, accepted)
    starts = days + _hours(cells, hour[0]) - _standard_time(hour[1], ask)
    in_order = _in_order(values, starts.tz_localize("UTC"), "%Y-%m-%d %H:%M UTC")
    hourly, daily, more = hourly_and_daily(in_order, ask)
    return Weather(daily, hourly, name, (*notes, *more), origin)


def _of_one_station(cells: Cells, station: str) -> Cells:
    """Keep the rows of the station asked for, in a table that says of which station they are."""
    if "Stn Id" not in cells.headings:
        return cells
    ids = cells.column(cells.headings.index("Stn Id"))
    wanted = station or ids[0]
    if not station and len(set(ids)) > 1:
        raise FeedRefused(f"its table holds {len(set(ids))} stations, and the site names none of them")
    kept = [row for row, each in enumerate(ids) if each == wanted]
    if not kept:
        raise FeedRefused(f"its table holds station {shown(ids[0])}, not {station}")
    return replace(cells, rows=tuple(cells.rows[row] for row in kept), lines=tuple(cells.lines[row] for row in kept))


def _days(cells: Cells) -> pd.DatetimeIndex:
    if "Date" not in cells.headings:
        raise FeedRefused("its table has no column Date, so that it is none of an agronomic station")
    days = []
    for row, text in enumerate(cells.column(cells.headings.index("Date"))):
        try:
            month, day, year = map(int, text.split("/"))
            days.append(date(year, month, day))
        except (ValueError, OverflowError):
            raise refused_at(cells, row, f"{shown(text)} is no date as month/day/year") from None
    return pd.DatetimeIndex(days)


def _hours(cells: Cells, heading: str) -> pd.TimedeltaIndex:
    """Give how long after the station's midnight each hour begins: 0100 to 2400 name its end."""
    hours = []
    for row, text in enumerate(cells.column(cells.headings.index(heading))):
        match = _HOUR.fullmatch(text)
        if match is None or not 1 <= int(match[1]) <= 24:
            raise refused_at(cells, row, f"{shown(text)} is no hour from 0100 to 2400")
        hours.append(int(match[1]) - 1)
    return pd.to_timedelta(hours, unit="h")


def _standard_time(stated: str | None, ask: FeedAsk) -> timedelta:
    """Give the offset from UTC that the station's clock keeps: as its heading states it, else that of the site."""
    if stated in _CLOCKS:
        return timedelta(hours=_CLOCKS[stated])
    offsets = (_offset(date(ask.first.year, month, 1), ask.place.zone) for month in (1, 7))
    return min(offsets)


def _offset(day: date, zone: ZoneInfo) -> timedelta:
    return datetime(day.year, day.month, day.day, 12, tzinfo=zone).utcoffset() or timedelta(0)


def _clock_note(ask: FeedAsk) -> list[str]:
    """Say that days by standard time are not the site's days, where they are not."""
    standard = _standard_time(None, ask)
    moved = any(_offset(day, ask.place.zone) != standard for day in (ask.first, ask.last))
    return [_CLOCK_NOTE] if moved else []


def _values(cells: Cells, columns: dict[str, str], accepted: Collection[str]) -> tuple[pd.DataFrame, list[str]]:
    """Read the columns that are known by their headings, in canonical units, without what its letter rejects."""
    values: dict[str, NDArray[np.float64]] = {}
    notes: list[str] = []
    for position, heading in enumerate(cells.headings):
        match = _HEADING.fullmatch(heading)
        column = columns.get(match[1]) if match else None
        if match is None or column is None or column in values:
            continue
        kept, more = _kept(cells, position, accepted)
        unit = _UNIT_SPELLINGS.get(match[2], match[2])
        try:
            values[column] = in_own_unit(numbers_of(kept, position, _MISSING), unit, column)
        except QuantityRefused as error:
            raise FeedRefused(f"it heads a column {shown(heading)}, but {error}") from None
        notes += more
    if lacking := {"tmin_c", "tmax_c", "temperature_c"} & set(columns.values()) - set(values):
        names = " and ".join(name for name, column in columns.items() if column in lacking)
        raise FeedRefused(f"its table has no column {names}")
    return pd.DataFrame(values), notes


def _kept(cells: Cells, position: int, accepted: Collection[str]) -> tuple[Cells, list[str]]:
    """Empty the cells of one column whose quality letter, in the column behind it, is not accepted."""
    behind = position + 1
    if behind >= len(cells.headings) or cells.headings[behind].lower() != "qc":
        return cells, []
    letters = [letter.upper() for letter in cells.column(behind)]
    rejected = Counter(letter for letter in letters if letter not in accepted)
    marked = Counter(letter for letter in letters if letter and letter in accepted)
    said = [f"{_counted(letters)} {what}" for letters, what in ((rejected, "left out"), (marked, "used")) if letters]
    notes = [f"{clean(cells.headings[position])} as marked by the station: {', '.join(said)}"] if said else []
    rows = [list(row) for row in cells.rows]
    for row, letter in zip(rows, letters, strict=True):
        if letter not in accepted:
            row[position] = ""
    return replace(cells, rows=tuple(rows)), notes


def _counted(letters: Counter[str]) -> str:
    return ", ".join(f"{count} × {clean(letter) or 'unmarked'}" for letter, count in sorted(letters.items()))


def _in_order(values: pd.DataFrame, index: pd.DatetimeIndex, form: str) -> pd.DataFrame:
    """Put rows in order of time. Raises FeedRefused where one stands twice."""
    if index.has_duplicates:
        raise FeedRefused(f"it gives {index[index.duplicated()][0]:{form}} twice")
    return values.set_index(index).sort_index()
