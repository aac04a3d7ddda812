"""The grid forecast of the US National Weather Service: a point leads to a cell, and the cell to a week of hours."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.core import atmosphere
from etsched.days import day_bounds
from etsched.errors import FeedRefused
from etsched.feeds.hourly_weather import CHANCE_COLUMN, weather_of_hours
from etsched.feeds.json_answer import json_of, number, other_form, part, table
from etsched.feeds.nearness import check_near
from etsched.feeds.nws_layers import instant, layer_hours
from etsched.feeds.nws_point import FEED, fetch_nws_point, nws_request, parse_nws_point, point_request
from etsched.frames.provenance import Origin

if TYPE_CHECKING:
    from datetime import datetime

    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.frames.weather import Weather
    from etsched.http_client import HttpClient, RawBody

ATTRIBUTION = "Forecast: US National Weather Service"  # public domain, and no endorsement
_OLDEST = timedelta(hours=24)
_WIND_HEIGHT_M = 10.0
_KM_H_PER_M_S = 3.6
_NO_SUN_NOTE = "the US NWS forecasts no solar radiation, so that it has to be estimated"
_WIND_NOTE = "the wind of the US NWS is the highest that prevails in an hour, not its mean"


def fetch_nws_grid(
    client: HttpClient,
    host: FeedHost,
    ask: FeedAsk,
    known: RawBody | None = None,
    *,
    known_point: RawBody | None = None,
) -> tuple[RawBody, Weather]:
    """Ask for the forecast of the cell a place lies in.

    Parameters
    ----------
    client : HttpClient
    host : FeedHost
        With a contact, without which the service answers nobody.
    ask : FeedAsk
    known : RawBody, optional
        An earlier answer of the grid.
    known_point : RawBody, optional
        An answer of `fetch_nws_point`; asked for here where it is not given, too old, or leads nowhere any more.

    Returns
    -------
    raw : RawBody
        Of the grid.
    weather : Weather
        See `parse_nws_grid`.

    Raises
    ------
    FeedFailed
        Where nothing usable came.
    """
    point, cell = fetch_nws_point(client, host, ask, known_point)
    try:
        return _fetch_cell(client, host, ask, cell, known)
    except FeedRefused:
        if point is not known_point:
            raise
        _, moved = client.get(point_request(host, ask), parse_nws_point)
        if moved == cell:
            raise
    return _fetch_cell(client, host, ask, moved, known)


def _fetch_cell(
    client: HttpClient, host: FeedHost, ask: FeedAsk, cell: str, known: RawBody | None
) -> tuple[RawBody, Weather]:
    request = nws_request(host, f"/gridpoints/{cell}")
    return client.get(request, lambda raw: parse_nws_grid(raw, ask), known=known)


def parse_nws_grid(raw: RawBody, ask: FeedAsk) -> Weather:
    """Read the answer for a cell.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    weather : Weather
        Hours and days as `hour_rows.hourly_and_daily` makes them, wind brought to 2 m, without solar radiation;
        today is left out where its first hours are over.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for, or was issued more than a day ago.
    FeedFailed
        Where it was cut short.
    """
    answer = json_of(raw)
    properties = part(answer, "properties")
    origin = _origin(answer, raw, ask)
    wind = layer_hours(properties, "windSpeed", "km_h-1")
    wind_m_s = atmosphere.wind_at_2m(np.asarray(wind, dtype=np.float64) / _KM_H_PER_M_S, _WIND_HEIGHT_M)
    layers = {
        "temperature_c": layer_hours(properties, "temperature", "degC"),
        "rh_pct": layer_hours(properties, "relativeHumidity", "percent"),
        "dewpoint_c": layer_hours(properties, "dewpoint", "degC"),
        "wind_m_s": pd.Series(wind_m_s, index=wind.index),
        "rain_mm": layer_hours(properties, "quantitativePrecipitation", "mm", is_total=True),
        CHANCE_COLUMN: layer_hours(properties, "probabilityOfPrecipitation", "percent"),
    }
    hours = pd.concat(layers, axis=1, sort=True)
    return weather_of_hours(hours, ask, origin, (_NO_SUN_NOTE, _WIND_NOTE))


def _origin(answer: object, raw: RawBody, ask: FeedAsk) -> Origin:
    properties = part(answer, "properties")
    issued = instant(part(properties, "updateTime"), "updateTime")
    if (age := _now(raw, ask) - issued) > _OLDEST:
        raise FeedRefused(f"it gives a stale forecast, issued {age / timedelta(hours=1):.0f} hours ago")
    longitude, latitude = _middle(part(answer, "geometry", "coordinates"))
    check_near(ask.place, latitude, longitude)
    told = table(properties, "properties").get("elevation")
    elevation = None if told is None else number(part(told, "value"), "elevation")
    return Origin(FEED, raw.fetched, issued, False, ATTRIBUTION, latitude, longitude, elevation)


def _now(raw: RawBody, ask: FeedAsk) -> datetime:
    """Give the moment an answer's age is told at: that of fetching it, or else the beginning of today."""
    begins, ends = day_bounds(ask.today, ask.place.zone)
    return raw.fetched if begins <= raw.fetched < ends else begins


def _middle(rings: object) -> tuple[float, float]:
    """Give longitude and latitude of the middle of a cell's outline."""
    ring = rings[0] if isinstance(rings, list) and rings else None
    if not isinstance(ring, list) or not ring:
        raise other_form("geometry.coordinates is no outline")
    corners = [corner if isinstance(corner, list) and len(corner) == 2 else [None, None] for corner in ring]
    longitudes, latitudes = ([number(value, "a corner") for value in values] for values in zip(*corners, strict=True))
    return (min(longitudes) + max(longitudes)) / 2, (min(latitudes) + max(latitudes)) / 2
