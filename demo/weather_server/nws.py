"""The US NWS service: a point leads to a grid cell, and the cell to layers of merged intervals. No sun is told."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime, parsedate_to_datetime
from typing import Any

from .exchange import Ask, Feed, Reply, World, json_reply
from .nws_layers import layers, span_of
from .weather import Spot, spot_at

OFFICE = "CFY"  # of an invented forecast office: one for the whole map
GEO, PROBLEM = "application/geo+json", "application/problem+json"
_POINT = re.compile(r"/points/(-?\d{1,2}(?:\.\d+)?),(-?\d{1,3}(?:\.\d+)?)")
_CELL = re.compile(r"/gridpoints/([A-Z]{3})/(\d{1,4}),(\d{1,4})")
_MOST_DECIMALS = 4
_HALF_CELL_DEG = 0.0125
# Rough zones by longitude, enough for an invented map.
_ZONES = (
    (-67.5, "America/New_York"),
    (-82.5, "America/Chicago"),
    (-97.5, "America/Denver"),
    (-112.5, "America/Los_Angeles"),
)
Words = tuple[str, str, str]
_TROUBLES: dict[int, Words] = {
    429: ("RateLimitExceeded", "Rate Limit Exceeded", "Too many requests."),  # from memory, to be verified
    500: ("UnexpectedProblem", "Unexpected Problem", "An unexpected problem has occurred."),
    503: ("ForecastGridExpired", "Forecast Grid Expired", "The requested forecast grid has expired."),
}


def _problem(status: int, words: Words, **more: object) -> Reply:
    kind, title, detail = words
    found: dict[str, object] = {
        "correlationId": "1f2e3d4c",
        "title": title,
        "type": f"https://api.weather.gov/problems/{kind}",
        "status": status,
        "detail": detail,
        "instance": "https://api.weather.gov/requests/1f2e3d4c",
    }
    return json_reply(found | more, status, PROBLEM)


def trouble(status: int) -> Reply:
    """Tell that the service cannot answer."""
    return _problem(status, _TROUBLES.get(status, _TROUBLES[500]))


def answer(ask: Ask, world: World) -> Reply:
    """Answer one request for a point or for a grid cell."""
    agent = ask.headers.get("user-agent", "")
    if "@" not in agent and "://" not in agent:  # how the service knows a contact is not published
        return _problem(403, ("Forbidden", "Forbidden", "A User-Agent that names a contact is required."))
    for name in ask.query:
        fault = {"parameter": f"query.{name}", "message": f'Query parameter "{name}" is not recognized'}
        return _problem(400, ("BadRequest", "Bad Request", "Bad Request"), parameterErrors=[fault])
    point, cell = _POINT.fullmatch(ask.path), _CELL.fullmatch(ask.path)
    if point:
        return _point(ask, world, point[1], point[2])
    if cell:
        return _gridpoint(ask, world, cell)
    return _problem(404, ("NotFound", "Not Found", f"'{ask.path}' is not a valid resource path"))


def _point(ask: Ask, world: World, latitude: str, longitude: str) -> Reply:
    """Lead from a point to its cell; a point told too exactly is sent on to its rounded self."""
    if any(len(number.partition(".")[2]) > _MOST_DECIMALS for number in (latitude, longitude)):
        rounded = ",".join(f"{float(number):.4f}".rstrip("0").rstrip(".") for number in (latitude, longitude))
        found = _problem(301, ("AdjustPointPrecision", "Adjusting Precision Of Point Coordinate", "Too many decimals."))
        return Reply(301, found.body, PROBLEM, {"Location": f"/nws/points/{rounded}"})
    place = (float(latitude), float(longitude))
    if not (17 <= place[0] <= 72 and -180 <= place[1] <= -60):
        detail = f"Unable to provide data for requested point {latitude},{longitude}"
        return _problem(404, ("InvalidPoint", "Data Unavailable For Requested Point", detail))
    spot = spot_at(world.seed, *place)
    x, y = spot.longitude_tenths + 1800, spot.latitude_tenths + 900
    cell = f"{world.base_url}/nws/gridpoints/{OFFICE}/{x},{y}"
    properties = {
        "@id": f"{world.base_url}/nws/points/{latitude},{longitude}",
        "cwa": OFFICE,
        "gridId": OFFICE,
        "gridX": x,
        "gridY": y,
        "forecast": f"{cell}/forecast",
        "forecastHourly": f"{cell}/forecast/hourly",
        "forecastGridData": cell,
        "observationStations": f"{cell}/stations",
        "timeZone": next((zone for edge, zone in reversed(_ZONES) if place[1] < edge), "America/Puerto_Rico"),
    }
    geometry = {"type": "Point", "coordinates": [place[1], place[0]]}
    found_at = datetime.combine(world.today - timedelta(days=7), datetime.min.time(), UTC)
    return _dated(ask, {"type": "Feature", "geometry": geometry, "properties": properties}, found_at)


def _gridpoint(ask: Ask, world: World, cell: re.Match[str]) -> Reply:
    """Tell the layers of a cell, issued an hour ago."""
    spot = Spot(world.seed, int(cell[3]) - 900, int(cell[2]) - 1800)
    if cell[1] != OFFICE or not (170 <= spot.latitude_tenths <= 720 and -1800 <= spot.longitude_tenths <= -600):
        return _problem(404, ("NotFound", "Not Found", "Marine Forecast Not Supported"))
    age = world.today - world.issued
    updated = world.now - age - timedelta(hours=1)
    start = world.now - age - timedelta(hours=3)
    told, hours = layers(spot, world, start)
    properties = {
        "@id": f"{world.base_url}/nws{ask.path}",
        "updateTime": updated.isoformat(),
        "validTimes": f"{start.isoformat()}/{span_of(hours)}",
        "elevation": {"unitCode": "wmoUnit:m", "value": spot.elevation_m},
        "gridId": OFFICE,
        "gridX": cell[2],  # text here, a number in the answer for a point (from memory, to be verified)
        "gridY": cell[3],
    }
    feature = {"type": "Feature", "geometry": _around(spot, world.far_deg), "properties": properties | told}
    return _dated(ask, feature, updated)


def _around(spot: Spot, far_deg: float) -> Mapping[str, Any]:
    """Outline of the cell, not centred on what was asked for."""
    south, west = spot.latitude_deg + far_deg - _HALF_CELL_DEG / 2, spot.longitude_deg - _HALF_CELL_DEG / 2
    north, east = south + 2 * _HALF_CELL_DEG, west + 2 * _HALF_CELL_DEG
    ring = [(west, south), (west, north), (east, north), (east, south), (west, south)]
    return {"type": "Polygon", "coordinates": [[[round(x, 7), round(y, 7)] for x, y in ring]]}


def _dated(ask: Ask, feature: Mapping[str, Any], changed: datetime) -> Reply:
    """Answer in full, or with 304 where the asker has it already."""
    headers = {"Last-Modified": format_datetime(changed, usegmt=True), "Cache-Control": "public, max-age=3600"}
    try:
        known = parsedate_to_datetime(ask.headers.get("if-modified-since", ""))
        is_known = known.astimezone(UTC) >= changed
    except ValueError:
        is_known = False
    if is_known:
        return Reply(304, b"", GEO, headers)
    found = json_reply(feature, 200, GEO)
    return Reply(200, found.body, GEO, headers)


HOSTS = {"nws": Feed(answer, trouble)}
