"""What the three Open-Meteo hosts are asked: variables by the hour, in GMT, in the units of this program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.core import atmosphere
from etsched.days import day_bounds
from etsched.errors import FeedRefused
from etsched.feeds.cells import cell_of, degrees_text
from etsched.feeds.day_rows import days_text
from etsched.feeds.hourly_weather import CHANCE_COLUMN, ET_COLUMN
from etsched.http_client import Request, user_agent

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    from etsched.feeds.ask import FeedAsk, FeedHost

    Array = NDArray[np.float64]


def _as_it_is(values: Array) -> Array:
    return values


def _at_2m(wind_m_s: Array) -> Array:
    return atmosphere.wind_at_2m(wind_m_s, 10.0)


def _of_an_hour(solar_w_m2: Array) -> Array:
    return solar_w_m2 * 0.0036  # 3600 s, in MJ


@dataclass(frozen=True, slots=True)
class Variable:
    """A variable as the hosts call it, the unit it is asked in, and the column it fills.

    Sun and rain are stamped with the end of the hour they hold for; the state of the air with its moment, which
    stands for the hour that begins then. An answer without an optional variable is good enough.
    """

    name: str
    unit: str
    column: str
    stamps_end: bool = False
    optional: bool = False
    into_column: Callable[[Array], Array] = _as_it_is


TEMPERATURE = Variable("temperature_2m", "°C", "temperature_c")
HUMIDITY = Variable("relative_humidity_2m", "%", "rh_pct")
DEWPOINT = Variable("dew_point_2m", "°C", "dewpoint_c")
WIND = Variable("wind_speed_10m", "m/s", "wind_m_s", into_column=_at_2m)
SUN = Variable("shortwave_radiation", "W/m²", "solar_mj_m2_h", stamps_end=True, into_column=_of_an_hour)
RAIN = Variable("precipitation", "mm", "rain_mm", stamps_end=True)
ET = Variable("et0_fao_evapotranspiration", "mm", ET_COLUMN, stamps_end=True, optional=True)
RAIN_CHANCE = Variable("precipitation_probability", "%", CHANCE_COLUMN, stamps_end=True, optional=True)


@dataclass(frozen=True, slots=True)
class Source:
    """One of the hosts: its path, its name as a feed, its attribution and what it is asked for."""

    path: str
    feed: str
    attribution: str
    variables: tuple[Variable, ...]


def question(source: Source, host: FeedHost, ask: FeedAsk, days: tuple[date, date]) -> Request:
    """Put the question for the hours of some days in UTC.

    The hosts cut days by the distance from UTC of the moment they are asked in, whatever the season of the day: so
    hours are asked for, in GMT, and days are made of them here. The elevation goes along so that a cell's air is
    brought to the height of the place.
    """
    latitude, longitude = cell_of(source.feed, ask.place)
    params = {
        "latitude": degrees_text(latitude),
        "longitude": degrees_text(longitude),
        "elevation": f"{ask.place.elevation_m:.0f}",
        "hourly": ",".join(variable.name for variable in source.variables),
        "start_date": f"{days[0]:%Y-%m-%d}",
        "end_date": f"{days[1]:%Y-%m-%d}",
        "timezone": "GMT",
        "timeformat": "unixtime",
        "temperature_unit": "celsius",
        "wind_speed_unit": "ms",
        "precipitation_unit": "mm",
    }
    secret = {"apikey": host.api_key} if host.api_key else {}
    headers = {"User-Agent": user_agent(host.contact)} if host.contact else {}
    return Request(host.base_url.rstrip("/") + source.path, params, headers, secret)


def days_in_utc(first: date, last: date, ask: FeedAsk) -> tuple[date, date]:
    """Give the first and last day in UTC with a stamp of these local days: the last hour is stamped with its end."""
    return day_bounds(first, ask.place.zone)[0].date(), day_bounds(last, ask.place.zone)[1].date()


def days_within(ask: FeedAsk, source: Source, past_count: int, ahead_count: int) -> tuple[date, date]:
    """Give the days in UTC to ask a host that knows so many before its own today and, with today, so many ahead.

    Raises
    ------
    FeedRefused
        Where it knows none of the days asked for.
    """
    first, last = days_in_utc(ask.first, ask.last, ask)
    # On the local day of today the host's own day may be this one or that one.
    earlier, later = days_in_utc(ask.today, ask.today, ask)
    first = max(first, later - timedelta(days=past_count))
    last = min(last, earlier + timedelta(days=ahead_count - 1))
    if first > last:
        raise FeedRefused(f"{source.feed} knows nothing of {days_text(ask.first, ask.last)}")
    return first, last
