"""The three Open-Meteo hosts: forecast, archive and ensemble, in the shape and key order of their own writer."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import partial
from math import isfinite
from typing import Any
from urllib.parse import urlencode, urlsplit

from .exchange import LONGER_TAIL_DAYS, Ask, Feed, Reply, World, json_reply
from .limits import SENTENCES, weight
from .open_meteo_ask import ARCHIVE, ENSEMBLE, FORECAST, Host, Refused, Wanted, wanted
from .open_meteo_spoiled import spoil
from .open_meteo_values import DAILY, HOURLY, Moment, Values, together, unit_of, written
from .sun import daylight_h, solar_noon_utc_h
from .weather import TRUTH, Run, Spot, hour_at, spot_at, utc_hour_of

ARCHIVE_LAG_DAYS = 5  # newest days of the reanalysis that are still null (from memory, to be verified)
PATHS = {FORECAST.name: "/v1/forecast", ARCHIVE.name: "/v1/archive", ENSEMBLE.name: "/v1/ensemble"}
Answer = dict[str, Any]


def _refusal(reason: str, status: int = 400) -> Reply:
    return json_reply({"error": True, "reason": reason}, status)


def trouble(status: int) -> Reply:
    """Tell in the hosts' words that they cannot answer; they set no Retry-After."""
    return _refusal(SENTENCES["minutely"] if status == 429 else "The service is overloaded", status)


def answer(ask: Ask, world: World, *, host: Host, is_paid: bool) -> Reply:
    """Answer one request of a host, count what it weighs and refuse where the limit is reached."""
    if "apikey" in ask.query and not is_paid:  # which 3xx the hosts send is not known
        return Reply(302, b"", headers={"Location": _paid_url(ask, world, host)})
    if is_paid and not ask.query.get("apikey"):
        return _refusal("The supplied API key is invalid.")  # from memory, to be verified
    cost = 1.0  # a failed request counts too
    limited = world.allowance.enter()
    try:
        if limited:
            return _refusal(limited, 429)
        if ask.path != PATHS[host.name]:
            return _refusal("Not Found", 404)
        asked = wanted(ask, host, world)
        cost = len(asked.places) * weight(asked.variables, asked.days)
        found = [_located(asked, host, world, number) for number in range(len(asked.places))]
        return json_reply(found[0] if len(found) == 1 else found)
    except Refused as refused:
        return _refusal(str(refused))
    finally:
        world.allowance.leave(cost)


def _paid_url(ask: Ask, world: World, host: Host) -> str:
    """Address of the customers' host: the same machine under another name, so that a wrong client would succeed."""
    here = urlsplit(world.base_url)
    return f"http://localhost:{here.port}/customer-{host.name}{ask.path}?{urlencode(dict(ask.query))}"


def _located(asked: Wanted, host: Host, world: World, number: int) -> Answer:
    """Give the answer for one location."""
    latitude, longitude, height = asked.places[number]
    spot = spot_at(world.seed, latitude, longitude)
    elevation = height if height is not None and isfinite(height) else spot.elevation_m
    minutes = abs(asked.offset_s) // 60
    clock = f"{minutes // 60}" + (f":{minutes % 60:02d}" if minutes % 60 else "")
    found: Answer = {
        "latitude": _cell(latitude + world.far_deg, host, 90),
        "longitude": _cell(longitude, host, 180),
        "generationtime_ms": 0.21,
        "utc_offset_seconds": asked.offset_s,
        "timezone": asked.zone,
        "timezone_abbreviation": f"GMT{'-' if asked.offset_s < 0 else '+'}{clock}" if minutes else "GMT",
    }
    if height is None or isfinite(height):
        found["elevation"] = elevation
    if number:
        found["location_id"] = number
    teller = _Teller(asked, host, world, spot, elevation)
    if asked.hourly:
        found["hourly_units"], found["hourly"] = teller.hourly()
    if asked.daily:
        found["daily_units"], found["daily"] = teller.daily()
    return spoil(found, world.fault)


def _cell(degrees: float, host: Host, limit: int) -> float:
    """Middle of the grid cell a coordinate falls into: half a step off the grid, hence hardly ever what was asked."""
    return round(min(limit, max(-limit, (degrees // host.grid_deg + 0.5) * host.grid_deg)), 4)


class _Teller:
    """Makes the blocks of one location; every series it gives is in the asked units, null where nothing is known."""

    def __init__(self, asked: Wanted, host: Host, world: World, spot: Spot, elevation_m: float) -> None:
        self._asked, self._host, self._world, self._spot = asked, host, world, spot
        self._elevation_m = elevation_m
        first = utc_hour_of(asked.first) - asked.offset_s // 3600
        self._hours = range(first, first + 24 * asked.days)
        lag = ARCHIVE_LAG_DAYS - 1 + (LONGER_TAIL_DAYS if world.fault == "null-tail" else 0)
        known = timedelta(days=-lag if host.is_archive else host.ahead_days)
        self._known_until = utc_hour_of(world.issued + known)
        if world.fault == "null-tail" and not host.is_archive:
            self._known_until = min(self._known_until, self._hours.stop - 24 * 4)

    def hourly(self) -> tuple[dict[str, str], Answer]:
        """Units and series of the hourly block; an ensemble's members follow their control."""
        stamps = [hour * 3600 - self._asked.offset_s % 3600 for hour in self._hours]
        units, block = self._begun(stamps, "%Y-%m-%dT%H:%M")
        for name in self._asked.hourly:
            made = HOURLY[name]
            unit = unit_of(made.kind, self._asked.units)
            for label, model, member in self._labels(name):
                units[label] = unit[0]
                block[label] = written(self._series(name, model, member), unit, made.digits)
        return units, block

    def daily(self) -> tuple[dict[str, str], Answer]:
        """Units and series of the daily block; a day is the 24 stamps of the answer's one distance from UTC."""
        stamps = [hour * 3600 - self._asked.offset_s % 3600 for hour in self._hours[::24]]
        units, block = self._begun(stamps, "%Y-%m-%d")
        for name in self._asked.daily:
            made = DAILY[name]
            unit = unit_of(made.kind, self._asked.units)
            for label, model, member in self._labels(name):
                units[label] = unit[0]
                if made.how == "sun":
                    block[label] = [self._sun(name, stamp) for stamp in stamps]
                    continue
                hours = self._series(made.hourly, model, member)
                days = [together(hours[at : at + 24], made.how) for at in range(0, len(hours), 24)]
                scaled: Values = [None if day is None else day * made.factor for day in days]
                block[label] = written(scaled, unit, made.digits)
        return units, block

    def _begun(self, stamps: list[int], pattern: str) -> tuple[dict[str, str], Answer]:
        name = unit_of("time", self._asked.units)[0]
        return {"time": name}, {"time": [self._stamp(stamp, pattern) for stamp in stamps]}

    def _stamp(self, unix: float, pattern: str) -> int | str:
        """Write an instant: as seconds of UTC, or by the answer's clock."""
        if self._asked.is_unix:
            return int(unix)
        return datetime.fromtimestamp(unix + self._asked.offset_s, UTC).strftime(pattern)

    def _labels(self, name: str) -> list[tuple[str, str, int]]:
        """Label, model and member of each series of a variable: several models add their name (from memory)."""
        models = self._asked.models
        return [
            (f"{name}{f'_member{member:02d}' if member else ''}{end}", model, member)
            for model, end in zip(models, [f"_{model}" for model in models] if len(models) > 1 else [""], strict=True)
            for member in range(self._host.models[model] + 1)
        ]

    def _series(self, name: str, model: str, member: int) -> Values:
        """One variable hour by hour, in °C, m/s or mm; models other than the first are a member of the spread."""
        if name == "precipitation_probability" and self._host is not FORECAST:
            return [None] * len(self._hours)
        number = member + 100 * list(self._host.models).index(model)
        run = TRUTH if self._host.is_archive else Run(self._world.issued.toordinal(), number)
        value, shift = HOURLY[name].value, self._world.shift_h
        found: Values = []
        past = hour_at(self._spot, run, self._hours.start - 1 - shift)
        for hour in self._hours:
            now = hour_at(self._spot, run, hour - shift)
            found.append(value(Moment(now, past, self._elevation_m)) if hour < self._known_until else None)
            past = now
        return found

    def _sun(self, name: str, midnight: int) -> int | str | float:
        """Sunrise, sunset or seconds of daylight of the day that begins at `midnight`."""
        day = datetime.fromtimestamp(midnight + self._asked.offset_s, UTC)
        day_of_year = day.timetuple().tm_yday
        length_h = daylight_h(self._spot.latitude_deg, day_of_year)
        if name == "daylight_duration":
            return round(length_h * 3600, 2)
        noon_h = solar_noon_utc_h(self._spot.longitude_deg, day_of_year)
        side = -length_h / 2 if name == "sunrise" else length_h / 2
        noon = day.timestamp() + noon_h * 3600
        return self._stamp(round((noon + side * 3600) / 60) * 60, "%Y-%m-%dT%H:%M")


def _feed(host: Host, *, is_paid: bool) -> Feed:
    return Feed(partial(answer, host=host, is_paid=is_paid), trouble)


HOSTS = {
    ("customer-" if is_paid else "") + host.name: _feed(host, is_paid=is_paid)
    for host in (FORECAST, ARCHIVE, ENSEMBLE)
    for is_paid in (False, True)
}
