"""NASA POWER's modelled days of a point: history only, the newest days without sun, the very newest not there."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from etsched.documents.refusals import shown
from etsched.errors import FeedRefused
from etsched.feeds.cells import cell_of, degrees_text
from etsched.feeds.day_rows import daily_frame, days_text
from etsched.feeds.json_answer import json_of, number, other_form, part, table
from etsched.feeds.nearness import check_near
from etsched.frames.provenance import Origin
from etsched.frames.weather import Weather
from etsched.http_client import Request

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.http_client import HttpClient, RawBody

FEED = "nasa power"
ATTRIBUTION = (
    "These data were obtained from the NASA Langley Research Center POWER Project funded through the NASA Earth "
    "Science Directorate Applied Science Program."
)
_PATH = "/api/temporal/daily/point"
# The feed's name of each column, and its unit in the community AG; other communities give the sun in kWh.
_PARAMETERS = {
    "tmin_c": ("T2M_MIN", "C"),
    "tmax_c": ("T2M_MAX", "C"),
    "rh_mean_pct": ("RH2M", "%"),
    "dewpoint_c": ("T2MDEW", "C"),
    "wind_m_s": ("WS2M", "m/s"),
    "solar_mj_m2_d": ("ALLSKY_SFC_SW_DWN", "MJ/m^2/day"),
    "rain_mm": ("PRECTOTCORR", "mm/day"),
}
_OTHER_FILLS = (-999.0, -99.0)  # both have been seen, whatever the header says
_CLOCK = "LST"
_CLOCK_NOTE = (
    "the days of NASA POWER run by local solar time in bands of 15° of longitude, so that they begin up to some "
    "hours before or after midnight on the site's clock"
)


def fetch_nasa_power(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, Weather]:
    """Ask for the days up to yesterday in the place's cell; see `parse_nasa_power`. Raises FeedFailed."""
    last = min(ask.last, ask.today - timedelta(days=1))
    if last < ask.first:
        raise FeedRefused(f"NASA POWER has no forecast, and {days_text(ask.first, ask.last)} is still to come")
    latitude, longitude = cell_of(FEED, ask.place)
    params = {
        "parameters": ",".join(name for name, _ in _PARAMETERS.values()),
        "community": "AG",
        "longitude": degrees_text(longitude),
        "latitude": degrees_text(latitude),
        "start": f"{ask.first:%Y%m%d}",
        "end": f"{last:%Y%m%d}",
        "format": "JSON",
        "time-standard": _CLOCK,
    }
    request = Request(host.base_url.rstrip("/") + _PATH, params)
    return client.get(request, lambda raw: parse_nasa_power(raw, ask), known=known)


def parse_nasa_power(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read an answer.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        Days as `day_rows.daily_frame` makes them: each quantity ends where it is no longer known.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for: another unit, clock, spot or form.
    FeedFailed
        Where it was cut short.
    """
    answer = json_of(raw)
    if (clock := part(answer, "header", "time_standard")) != _CLOCK:
        raise FeedRefused(f"it gives days by {shown(clock)}, not by {_CLOCK}")
    origin = _origin(answer, raw, ask)
    daily, notes = daily_frame(_values(answer), ask)
    return Weather(daily, None, "NASA POWER", (_CLOCK_NOTE, *notes), origin)


def _origin(answer: object, raw: RawBody, ask: FeedAsk) -> Origin:
    at = part(answer, "geometry", "coordinates")
    if not isinstance(at, list) or len(at) != 3:
        raise other_form("geometry.coordinates is no spot")
    longitude, latitude, elevation = (number(value, "geometry.coordinates") for value in at)
    check_near(ask.place, latitude, longitude)
    return Origin(FEED, raw.fetched, None, False, ATTRIBUTION, latitude, longitude, elevation)


def _values(answer: object) -> pd.DataFrame:
    """Give the known values by day; fill values become NaN, each by itself."""
    fills = (number(part(answer, "header", "fill_value"), "header.fill_value"), *_OTHER_FILLS)
    columns: dict[str, dict[pd.Timestamp, float]] = {}
    for column, (name, unit) in _PARAMETERS.items():
        stated = part(answer, "parameters", name, "units")
        if stated != unit:
            raise FeedRefused(f"it gives {name} in {shown(stated)}, not in {unit}")
        days = table(part(answer, "properties", "parameter", name), name)
        columns[column] = {_day(day): number(value, name) for day, value in days.items()}
        if columns[column].keys() != columns["tmin_c"].keys():
            raise FeedRefused(f"it gives other days for {name} than for T2M_MIN")
    values = pd.DataFrame(columns).sort_index()
    return values.mask(values.isin(fills))


def _day(text: str) -> pd.Timestamp:
    try:
        if re.fullmatch(r"\d{8}", text, re.ASCII):
            return pd.Timestamp(date.fromisoformat(text))
    except ValueError:
        pass
    raise other_form(f"{shown(text)} is no day")
