"""Open-Meteo's forecast, which knows the last weeks too, and its archive: hours of models, never of a station."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from etsched.errors import FeedRefused
from etsched.feeds.day_rows import days_text
from etsched.feeds.hourly_weather import weather_of_hours
from etsched.feeds.open_meteo_answer import hourly_block
from etsched.feeds.open_meteo_question import (
    DEWPOINT,
    ET,
    HUMIDITY,
    RAIN,
    RAIN_CHANCE,
    SUN,
    TEMPERATURE,
    WIND,
    Source,
    days_in_utc,
    days_within,
    question,
)
from etsched.frames.hours_to_days import local_days

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.feeds.open_meteo_answer import Block
    from etsched.frames.weather import Weather
    from etsched.http_client import HttpClient, RawBody

ATTRIBUTION = "Weather data by Open-Meteo.com (CC BY 4.0)"  # https://open-meteo.com, asks for a link where one can be
_AIR = (TEMPERATURE, HUMIDITY, DEWPOINT, WIND, SUN, RAIN, ET)
FORECAST = Source("/v1/forecast", "open-meteo forecast", ATTRIBUTION, (*_AIR, RAIN_CHANCE))
ARCHIVE = Source(
    "/v1/archive",
    "open-meteo archive",
    f"{ATTRIBUTION}; contains modified Copernicus Climate Change Service information (ERA5)",
    _AIR,
)
_PAST_COUNT, _AHEAD_COUNT = 93, 16  # days the forecast knows before today, and from today on
_ARCHIVE_BEGINS = date(1940, 1, 1)


def fetch_open_meteo_forecast(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, Weather]:
    """Ask the forecast for the days that it can know; see `parse_open_meteo_forecast`. Raises FeedFailed."""
    days = days_within(ask, FORECAST, _PAST_COUNT, _AHEAD_COUNT)
    request = question(FORECAST, host, ask, days)
    return client.get(request, lambda raw: parse_open_meteo_forecast(raw, ask), known=known)


def fetch_open_meteo_archive(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, Weather]:
    """Ask the archive for the days up to yesterday; see `parse_open_meteo_archive`. Raises FeedFailed."""
    first, last = max(ask.first, _ARCHIVE_BEGINS), min(ask.last, ask.today - timedelta(days=1))
    if first > last:
        raise FeedRefused(f"the archive of Open-Meteo does not know {days_text(ask.first, ask.last)}")
    request = question(ARCHIVE, host, ask, days_in_utc(first, last, ask))
    return client.get(request, lambda raw: parse_open_meteo_archive(raw, ask), known=known)


def parse_open_meteo_forecast(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read an answer of the forecast.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        Hours and days as `hour_rows.hourly_and_daily` makes them, wind brought to 2 m, with `extra`.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for, or ends before today although today was asked for.
    FeedFailed
        Where it was cut short.
    """
    block = hourly_block(raw, FORECAST, ask)
    known = block.members["temperature_c"].dropna().index
    newest = local_days(pd.DatetimeIndex(known[-1:]), ask.place.zone)
    if len(newest) and newest[0].date() < ask.today <= ask.last:
        raise FeedRefused(f"it gives a stale forecast, which ends on {newest[0]:%Y-%m-%d}, and today is {ask.today}")
    return _weather(block, ask)


def parse_open_meteo_archive(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read an answer of the archive, whose last days are not there yet; else like `parse_open_meteo_forecast`.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        As that of the forecast.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for, or knows none of the days.
    FeedFailed
        Where it was cut short.
    """
    return _weather(hourly_block(raw, ARCHIVE, ask), ask)


def _weather(block: Block, ask: FeedAsk) -> Weather:
    columns = {column: members.iloc[:, 0] for column, members in block.members.items() if len(members.columns)}
    return weather_of_hours(pd.concat(columns, axis=1, sort=True), ask, block.origin, ())
