"""The site's own rain gauge: a table `date,rain_in` or `date,rain_mm`, a row for each day on which it was read.

A day without a row, or with an empty cell, is a day nobody knows, not one without rain: that is a 0. A `T` is a
trace, too little to measure, and counts as none. The date is the local day on which the rain fell.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pandas as pd

from etsched.documents.column_names import in_own_unit
from etsched.documents.refusals import shown, written_out
from etsched.errors import FeedRefused, QuantityRefused
from etsched.feeds.csv_answer import cells_of, filled_in, numbers_of, parsed_file, refused_at
from etsched.feeds.day_rows import daily_frame
from etsched.frames.provenance import Origin
from etsched.frames.weather import Weather
from etsched.http_client import Request

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.feeds.csv_cells import Cells
    from etsched.http_client import HttpClient, RawBody

FEED = "rain gauge"
_RAIN = re.compile(r"rain_(\w+)")
_TRACES = ("T", "t")


def fetch_rain_gauge(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, Weather]:
    """Ask for the table at the host's address, see `csv_answer.filled_in`, and parse it. Raises FeedFailed."""
    request = Request(filled_in(host.base_url, ask))
    return client.get(request, lambda raw: parse_rain_gauge(raw, ask), known=known)


def read_rain_gauge(path: Path, ask: FeedAsk) -> Weather:
    """Read the gauge's table from a file; see `parse_rain_gauge`. Raises FeedFailed, with the file's name."""
    return parsed_file(path, lambda raw: parse_rain_gauge(raw, ask))


def parse_rain_gauge(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read the gauge's table.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        Days as `day_rows.daily_frame` makes them; rain is all that they know.

    Raises
    ------
    FeedRefused
        Where the table has other headings, a day twice or ahead of today, or rain that cannot be.
    FeedFailed
        Where it was cut short.
    """
    cells = cells_of(raw)
    date_at, rain_at, unit = _columns(cells)
    days = _days(cells, date_at, ask.today)
    traces = [day for day, text in zip(days, cells.column(rain_at), strict=True) if text in _TRACES]
    rain = numbers_of(cells, rain_at, ("", *_TRACES))
    try:
        rain_mm = pd.Series(in_own_unit(rain, unit, "rain_mm"), pd.DatetimeIndex(days))
    except QuantityRefused as error:
        raise FeedRefused(f"its heading rain_{unit} names no depth: {error}") from None
    rain_mm.loc[pd.DatetimeIndex(traces)] = 0.0
    daily, notes = daily_frame(rain_mm.sort_index().to_frame("rain_mm"), ask)
    return Weather(
        daily.assign(is_forecast=False), None, "rain gauge", notes, Origin(FEED, raw.fetched, None, True, "")
    )


def _columns(cells: Cells) -> tuple[int, int, str]:
    """Find the two columns and the unit of the rain."""
    found = [(at, match[1]) for at, heading in enumerate(cells.headings) if (match := _RAIN.fullmatch(heading))]
    if "date" not in cells.headings or len(found) != 1:
        headings = written_out(cells.headings[:5], "and")
        raise FeedRefused(f"its headings are {headings}, where date and rain_in or rain_mm should stand")
    return cells.headings.index("date"), *found[0]


def _days(cells: Cells, date_at: int, today: date) -> list[date]:
    lines: dict[date, int] = {}
    for row, text in enumerate(cells.column(date_at)):
        try:
            day = date.fromisoformat(text)
        except ValueError:
            raise refused_at(cells, row, f"{shown(text)} is no date as YYYY-MM-DD") from None
        if day in lines:
            raise refused_at(cells, row, f"{day} stands again, after line {lines[day]}")
        if day > today:
            raise refused_at(cells, row, f"{day} is still to come, and no gauge has measured it")
        lines[day] = cells.lines[row]
    return list(lines)
