"""Measured days of one weather station in NOAA's GHCN-Daily: temperatures and rain, sometimes wind, no sun.

Values come as text, each with flags; without `units=metric` they would be tenths.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from etsched.core.atmosphere import wind_at_2m
from etsched.documents.refusals import shown
from etsched.errors import FeedRefused
from etsched.feeds.day_rows import daily_frame, days_text
from etsched.feeds.json_answer import json_of, other_form, table
from etsched.frames.provenance import Origin
from etsched.frames.weather import Weather
from etsched.http_client import Request

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.http_client import HttpClient, RawBody

FEED = "ghcn daily"
_PATH = "/access/services/data/v1"
_COLUMNS = {"tmin_c": "TMIN", "tmax_c": "TMAX", "wind_m_s": "AWND", "rain_mm": "PRCP"}
_SEVERAL_DAYS_RAIN, _SEVERAL_DAYS = "MDPR", "DAPR"
_ELEMENTS = (*_COLUMNS.values(), _SEVERAL_DAYS_RAIN, _SEVERAL_DAYS)
_MOST_DAYS = 366
_ANEMOMETER_M = 10.0  # of automated stations; from memory, to be verified
_TRACE = "T"  # too little to measure
_NUMBER = re.compile(r"-?\d{1,6}(\.\d{1,6})?", re.ASCII)
_MORNING = re.compile(r"(?!0000)(0\d|1[01])[0-5]\d", re.ASCII)  # after midnight and before noon
_ENOUGH_TO_TELL = 5  # temperatures: that so many have no tenth by chance does not happen


def fetch_ghcn_daily(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, Weather]:
    """Ask for the days of the station that `ask` names; see `parse_ghcn_daily`. Raises FeedFailed."""
    if not ask.station:
        raise FeedRefused("GHCN-Daily has stations only, and the site names none")
    params = {
        "dataset": "daily-summaries",
        "stations": ask.station,
        "startDate": f"{ask.first:%Y-%m-%d}",
        "endDate": f"{min(ask.last, ask.today):%Y-%m-%d}",
        "dataTypes": ",".join(_ELEMENTS),
        "units": "metric",
        "format": "json",
        "includeAttributes": "true",
    }
    request = Request(host.base_url.rstrip("/") + _PATH, params)
    return client.get(request, lambda raw: parse_ghcn_daily(raw, ask), known=known)


def parse_ghcn_daily(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read an answer.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        Days as `day_rows.daily_frame` makes them, wind brought to 2 m. Values that failed the archive's own checks
        are left out, and so is the rain of days that were read together.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for: another station, days still to come, tenths, another form.
    FeedFailed
        Where it was cut short.
    """
    days = _days(json_of(raw), ask)
    _refuse_tenths(days)
    unknown, together = _read_together(days)
    rows = {pd.Timestamp(day): _row(readings, day in unknown) for day, readings in sorted(days.items())}
    daily, notes = daily_frame(pd.DataFrame.from_dict(rows, orient="index"), ask)
    notes = (*_flagged(days), *together, *_read_in_the_morning(days), *_wind(daily), *notes)
    return Weather(daily, None, f"GHCN-Daily {ask.station}", notes, Origin(FEED, raw.fetched, None, True, ""))


@dataclass(frozen=True, slots=True)
class _Reading:
    """One value and its flags: how it was measured, which check it failed, when it was read."""

    text: str
    measured: str
    failed: str
    hour: str

    @property
    def value(self) -> float:
        """What the archive vouches for, NaN where it does not."""
        if self.failed:
            return math.nan
        return 0.0 if self.measured == _TRACE else float(self.text)


_Readings = dict[str, _Reading]


def _row(readings: _Readings, rain_unknown: bool) -> dict[str, float]:
    """Give a day's values by column."""
    row = {column: readings[name].value if name in readings else math.nan for column, name in _COLUMNS.items()}
    row["wind_m_s"] = float(wind_at_2m(row["wind_m_s"], _ANEMOMETER_M))
    return row | {"rain_mm": math.nan} if rain_unknown else row


def _days(answer: object, ask: FeedAsk) -> dict[date, _Readings]:
    """Give the readings of each day. Raises FeedRefused where they are not those asked for."""
    if not isinstance(answer, list):
        raise other_form("it is no list of days")
    if not answer:
        raise FeedRefused(f"it has nothing of station {ask.station} for {days_text(ask.first, ask.last)}")
    days: dict[date, _Readings] = {}
    for each in answer:
        row = table(each, "a day")
        if row.get("STATION") != ask.station:
            raise FeedRefused(f"it answers for station {shown(row.get('STATION'))}, not for {ask.station}")
        day = _day(row.get("DATE"))
        if day in days:
            raise FeedRefused(f"it gives {day} twice")
        if day > ask.today:
            raise FeedRefused(f"it gives {day}, which is still to come")
        days[day] = {name: _reading(row, name, day) for name in _ELEMENTS if name in row}
    return days


def _day(text: object) -> date:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise other_form(f"{shown(text)} is no day") from None


def _reading(row: dict[str, object], name: str, day: date) -> _Reading:
    text, flags = row[name], row.get(f"{name}_ATTRIBUTES")
    if not isinstance(text, str) or not _NUMBER.fullmatch(text.strip()):
        raise FeedRefused(f"it gives {shown(text)} as {name} of {day}, which is no number in text")
    if not isinstance(flags, str):
        raise FeedRefused(f"it gives {name} of {day} without the flags of the archive's checks")
    measured, failed, _, hour = [*(flag.strip() for flag in flags.split(",")), "", "", ""][:4]
    return _Reading(text.strip(), measured, failed, hour)


def _refuse_tenths(days: dict[date, _Readings]) -> None:
    """Refuse temperatures that are all whole numbers: metric ones have a decimal, tenths have none."""
    texts = [readings[name].text for readings in days.values() for name in ("TMIN", "TMAX") if name in readings]
    if len(texts) >= _ENOUGH_TO_TELL and not any("." in text for text in texts):
        raise FeedRefused(f"it gives temperatures such as {texts[0]} without a decimal, which are tenths of a degree")


def _read_together(days: dict[date, _Readings]) -> tuple[set[date], list[str]]:
    """Give the days whose rain was read in one reading: how it fell among them nobody knows."""
    unknown: set[date] = set()
    notes = []
    for day, readings in sorted(days.items()):
        if _SEVERAL_DAYS_RAIN not in readings:
            continue
        count = float(readings[_SEVERAL_DAYS].text) if _SEVERAL_DAYS in readings else 1.0
        begin = day - timedelta(days=min(max(int(count), 1), _MOST_DAYS) - 1)
        unknown |= {begin + timedelta(days=number) for number in range((day - begin).days + 1)}
        total = f"{readings[_SEVERAL_DAYS_RAIN].text} mm of rain"
        notes.append(f"{total} of {days_text(begin, day)} were read in one: no day's rain is known from it")
    return unknown, notes


def _flagged(days: dict[date, _Readings]) -> list[str]:
    """Tell which values failed the archive's checks."""
    failed = [
        f"{name} of {day} ({reading.failed})"
        for day, readings in sorted(days.items())
        for name, reading in readings.items()
        if reading.failed
    ]
    return [f"left out, as the archive's own checks reject them: {', '.join(failed)}"] if failed else []


def _read_in_the_morning(days: dict[date, _Readings]) -> list[str]:
    """Tell that a station-day ends in the morning, so that the highest temperature and the rain may be yesterday's."""
    hours = {
        readings[name].hour
        for readings in days.values()
        for name in ("TMAX", "PRCP")
        if name in readings and _MORNING.fullmatch(readings[name].hour)
    }
    if not hours:
        return []
    at = " and ".join(f"{hour[:2]}:{hour[2:]}" for hour in sorted(hours))
    return [f"the station's day ends at {at}: its highest temperature and its rain may belong to the day before"]


def _wind(daily: pd.DataFrame) -> list[str]:
    known = daily["wind_m_s"].notna().any()
    return [f"wind is taken as measured at {_ANEMOMETER_M:g} m and brought to 2 m"] if known else []
