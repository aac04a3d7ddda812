"""The one invented weather behind every feed: drawn from (seed, place to 0.1°, day) and the same on every machine.

A day has a few drivers (how warm, how dry, how clear, how windy, how much rain and when). They are made of standard
normal draws that vary smoothly over the map, so that two feeds asked for neighbouring points tell nearly the same
weather. A forecast is the same recipe made from draws that are off by a little more for every day ahead; it is
therefore as consistent as the truth, and comes nearer to it each time it is issued. All constants of this climate
are our own invention; only the laws it keeps are physics.
"""

from __future__ import annotations

import hashlib
import math
import struct
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from statistics import NormalDist
from typing import NamedTuple

from .sun import CLEAR_SHARE, above_the_air_mj_m2_h

EPOCH_DAY = date(1970, 1, 1).toordinal()
_NORMAL = NormalDist()
_MAP_STEP_DEG = 4  # distance of the points between which the weather is interpolated
_ERROR_A_DAY = 0.08  # standard deviations by which a forecast's draws are off, for every day ahead
_SPREAD_A_DAY = 0.06  # the same between the members of an ensemble
Draws = tuple[float, ...]


class Spot(NamedTuple):
    """A place on the map in tenths of a degree, and the seed of its weather."""

    seed: int
    latitude_tenths: int
    longitude_tenths: int

    @property
    def latitude_deg(self) -> float:
        return self.latitude_tenths / 10

    @property
    def longitude_deg(self) -> float:
        return self.longitude_tenths / 10

    @property
    def solar_offset_h(self) -> int:
        """Whole hours between UTC and the solar clock of the 15° band: the day's weather turns at its midnight."""
        return round(self.longitude_deg / 15)

    @property
    def elevation_m(self) -> float:
        """Height of the invented ground, gentle enough that cells near each other differ little."""
        latitude, longitude = math.radians(self.latitude_deg), math.radians(self.longitude_deg)
        waves = 315 * math.sin(9 * latitude) * math.cos(7 * longitude) + 180 * math.sin(11 * longitude)
        return round(max(2.0, 440 + waves), 1)


class Run(NamedTuple):
    """What a feed knows: the truth (`issued` None) or a forecast of that day's ordinal; member 0 is the control."""

    issued: int | None = None
    member: int = 0


TRUTH = Run()


class Hour(NamedTuple):
    """The air at the beginning of an hour, and what falls on the ground in the course of it."""

    temperature_c: float
    dewpoint_c: float
    wind_10m_m_s: float
    clear_sky_mj_m2: float
    solar_mj_m2: float
    rain_mm: float
    rain_chance_pct: float

    @property
    def rh_pct(self) -> float:
        """Relative humidity, from the dew point (FAO-56 Eq. 10, 11, 14)."""
        return 100 * saturation_kpa(self.dewpoint_c) / saturation_kpa(self.temperature_c)


@dataclass(frozen=True, slots=True)
class Drivers:
    """What makes up a day's weather. `swing_c` is half the way from the lowest to the highest temperature."""

    mean_c: float
    swing_c: float
    dewpoint_c: float
    clearness: float
    wind_10m_m_s: float
    rain_mm: float
    rain_from_h: int
    rain_hours: int
    rain_chance_pct: float


def spot_at(seed: int, latitude_deg: float, longitude_deg: float) -> Spot:
    """Round a place to the 0.1° that its weather is drawn for."""
    return Spot(seed, round(latitude_deg * 10), round(longitude_deg * 10))


def saturation_kpa(temperature_c: float) -> float:
    """Saturation vapour pressure (FAO-56 Eq. 11)."""
    return 0.6108 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


@lru_cache(maxsize=65536)
def chances(*key: int | str) -> Draws:
    """Give six numbers between 0 and 1 that look random and depend on nothing but the key."""
    digest = hashlib.blake2b(repr(key).encode(), digest_size=48).digest()
    return tuple((number + 0.5) / 2**64 for number in struct.unpack("<6Q", digest))


@lru_cache(maxsize=65536)
def _normals(*key: int | str) -> Draws:
    return tuple(_NORMAL.inv_cdf(chance) for chance in chances(*key))


def _over_the_map(spot: Spot, *key: int | str) -> Draws:
    """Give six standard normal draws that differ little between neighbouring spots."""
    south, north_share = divmod(spot.latitude_deg / _MAP_STEP_DEG, 1)
    west, east_share = divmod(spot.longitude_deg / _MAP_STEP_DEG, 1)
    weights, corners = [], []
    for row, row_share in ((0, 1 - north_share), (1, north_share)):
        for column, column_share in ((0, 1 - east_share), (1, east_share)):
            weights.append(row_share * column_share)
            corners.append(_normals(spot.seed, int(south) + row, int(west) + column, *key))
    weights.append(0.05)  # what is the spot's very own
    corners.append(_normals(spot.seed, "own", spot.latitude_tenths, spot.longitude_tenths, *key))
    length = math.sqrt(sum(weight * weight for weight in weights))
    return tuple(
        sum(w * c for w, c in zip(weights, column, strict=True)) / length for column in zip(*corners, strict=True)
    )


@lru_cache(maxsize=32768)
def _draws(spot: Spot, run: Run, day: int) -> Draws:
    """Draws of a day: the truth's, or off by an error that grows with the days ahead of the forecast's issue."""
    truth = _over_the_map(spot, "day", day)
    lead = 0 if run.issued is None else min(max(day - run.issued, 0), 16)
    if lead == 0:
        return truth
    steady = _over_the_map(spot, "error", day)
    anew = _over_the_map(spot, "issue", day, run.issued or 0)
    off = [_ERROR_A_DAY * lead * (s + 0.3 * a) for s, a in zip(steady, anew, strict=True)]
    if run.member:
        apart = _over_the_map(spot, "member", day, run.member)
        off = [o + _SPREAD_A_DAY * lead * m for o, m in zip(off, apart, strict=True)]
    return tuple(t + o for t, o in zip(truth, off, strict=True))


def _season(spot: Spot, day: int) -> float:
    """From -1 in the depth of winter to 1 in the height of summer, in either hemisphere; weaker near the equator."""
    day_of_year = date.fromordinal(day).timetuple().tm_yday
    return math.copysign(min(1.0, abs(spot.latitude_deg) / 30), spot.latitude_deg) * math.cos(
        2 * math.pi * (day_of_year - 201) / 365
    )


@lru_cache(maxsize=32768)
def drivers(spot: Spot, run: Run, day: int) -> Drivers:
    """Make a day's drivers; `day` is the ordinal of the date by the solar clock."""
    warm, dry, clear, wind, wet, burst = _draws(spot, run, day)
    before = _draws(spot, run, day - 1)[0], _draws(spot, run, day - 2)[0]
    season = _season(spot, day)
    threshold = 0.75 + 0.45 * season  # rain on about 12 days of 100 in summer, on 38 in winter
    lead = 0 if run.issued is None else max(day - run.issued, 0)
    is_wet = wet > threshold
    anomaly = (warm + 0.7 * before[0] + 0.4 * before[1]) / 1.28
    latitude = abs(spot.latitude_deg)
    yearly_c = 31 - 0.0095 * latitude**2 - 0.004 * spot.elevation_m
    clearness = 0.50 - 0.08 * min(2.0, abs(clear)) if is_wet else 0.98 - 0.07 * min(4.0, abs(clear))
    mean_c = yearly_c + 0.3 * latitude * season + 2.6 * anomaly - (3.0 if is_wet else 0.0)
    swing_c = 4.0 + 5.5 * clearness
    depression = max(0.3, 0.9 + 0.4 * dry) if is_wet else max(0.6, 5.5 + 2.5 * season + 1.8 * dry)
    hours = 2 + int(6 * _NORMAL.cdf(burst)) if is_wet else 0
    latest = 24 - hours
    return Drivers(
        mean_c=mean_c,
        swing_c=swing_c,
        dewpoint_c=mean_c - swing_c - depression,
        clearness=clearness,
        wind_10m_m_s=3.2 * math.exp(0.3 * wind),
        rain_mm=min(80.0, 1.0 + 9.0 * (wet - threshold) * math.exp(0.6 * burst)) if is_wet else 0.0,
        rain_from_h=int(latest * _NORMAL.cdf(dry)),
        rain_hours=hours,
        rain_chance_pct=100 * _NORMAL.cdf((wet - threshold) / (0.12 + 1.2 * _ERROR_A_DAY * lead)),
    )


def _shape(solar_h: float) -> float:
    """Course of a day's temperature: -1 at 5 in the morning, 1 at 3 in the afternoon."""
    if 5 <= solar_h <= 15:
        return -math.cos(math.pi * (solar_h - 5) / 10)
    return math.cos(math.pi * ((solar_h - 15) % 24) / 14)


@lru_cache(maxsize=8192)
def _hours(spot: Spot, run: Run, day: int) -> tuple[Hour, ...]:
    """The 24 hours of a day by the solar clock, midnight first."""
    today = drivers(spot, run, day)
    day_of_year = date.fromordinal(day).timetuple().tm_yday
    rain_hours = range(today.rain_from_h, today.rain_from_h + today.rain_hours)
    found = []
    for hour in range(24):
        beside = drivers(spot, run, day + (1 if hour >= 12 else -1))
        share = abs(hour - 12) / 24  # drivers hold at noon; between two noons they change over evenly
        mean = today.mean_c + share * (beside.mean_c - today.mean_c)
        swing = today.swing_c + share * (beside.swing_c - today.swing_c)
        dewpoint = today.dewpoint_c + share * (beside.dewpoint_c - today.dewpoint_c)
        temperature = mean + swing * _shape(hour)
        utc_h = hour - spot.solar_offset_h
        clear = CLEAR_SHARE * above_the_air_mj_m2_h(spot.latitude_deg, spot.longitude_deg, day_of_year, utc_h)
        rains = hour in rain_hours
        found.append(
            Hour(
                temperature_c=temperature,
                dewpoint_c=dewpoint,
                wind_10m_m_s=today.wind_10m_m_s * (1 + 0.35 * _shape(hour)),
                clear_sky_mj_m2=clear,
                solar_mj_m2=clear * today.clearness * (0.45 if rains else 1.0),
                rain_mm=today.rain_mm / today.rain_hours if rains else 0.0,
                rain_chance_pct=today.rain_chance_pct * (1.0 if rains or not rain_hours else 0.4),
            )
        )
    return tuple(found)


def hour_at(spot: Spot, run: Run, utc_hour: int) -> Hour:
    """Give the hour that begins `utc_hour` whole hours after 1970-01-01 00:00 UTC."""
    day, hour = divmod(utc_hour + spot.solar_offset_h, 24)
    return _hours(spot, run, EPOCH_DAY + day)[hour]


def utc_hour_of(day: date, offset_h: int = 0) -> int:
    """Count of whole hours from 1970 to the midnight of a day, by a clock ahead of UTC by `offset_h`."""
    return (day.toordinal() - EPOCH_DAY) * 24 - offset_h
