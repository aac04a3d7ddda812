"""Seasons with rain that somebody measured or that is made, and the invented stations that are watered through them.

Real rain: 23 Wageningen years and two of Andalusia out of pcse, Greensboro's typical year out of pvlib. Years
whose file holds no rain, or lacks it on some days, are left out. A season runs from 1 April to 30 September; it is
dry where its rain is less than half of its reference ET (own choice, made before a plan was run).
Made rain (`_made_rain`): pvlib's three typical years, each with rain of one climate in place of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from etsched.frames.weather import Weather
from etsched.model.site import Basis, Head, HoldLimits, Known, Place, RainRule, Site, Station, TurfGroup, WateringRules
from etsched.planning.ground import Ground, facts_by_station, ground
from etsched.planning.weather_days import Days, days_from_weather
from tests.bench import _made_rain
from tests.bench._forecast import RainClimate
from tests.cross import station_years

if TYPE_CHECKING:
    import pandas as pd

DRY_RAIN_SHARE = 0.5
# How often it rains between April and September (days of at least 1 mm) and how much on such a day, counted on the
# files themselves on 25 November 2026; the forecast model leans on them.
WAGENINGEN_RAIN = RainClimate(0.317, 5.8)
ANDALUSIA_RAIN = RainClimate(0.096, 8.2)
GREENSBORO_RAIN = RainClimate(0.262, 12.6)
MADE_RAIN_SEED = 20_261_127
DRIVERS = ["tmin_c", "tmax_c", "vapour_pressure_kpa", "wind_m_s", "solar_mj_m2_d", "rain_mm"]


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """The days of one file around one season; what is planned serves `first` to `last`, both included."""

    name: str
    place: Place
    climate: str
    daily: pd.DataFrame
    first: date
    last: date
    rain: RainClimate

    @property
    def days_count(self) -> int:
        """How many days are planned."""
        return (self.last - self.first).days + 1


@cache
def real_seasons() -> tuple[Season, ...]:
    """Every season that its file covers with rain, in order of place and year."""
    places = (
        (station_years.wageningen(), WAGENINGEN_RAIN),
        ((station_years.andalusia(),), ANDALUSIA_RAIN),
        (station_years.typical()[:1], GREENSBORO_RAIN),
    )
    return tuple(season for years, rain in places for year in years for season in _of_year(year, rain))


@cache
def made_rain_seasons(draws_count: int) -> tuple[Season, ...]:
    """pvlib's typical years with so many draws of made rain each."""
    climates = (_made_rain.EVEN, _made_rain.LIGHT, _made_rain.SUMMER)
    found = []
    for place, (year, climate) in enumerate(zip(station_years.typical(), climates, strict=True)):
        for draw in range(draws_count):
            rain = _made_rain.rain_of(year.daily.index, climate, MADE_RAIN_SEED + 100 * place + draw)
            name = f"{year.name.split('.')[0]} draw {draw + 1}"
            told = replace(year, name=name, daily=year.daily.assign(rain_mm=rain))
            found += _of_year(told, _made_rain.climate_of(rain[year.daily.index.month.isin(range(4, 10))]))
    return tuple(found)


def _of_year(year: station_years.StationYear, rain: RainClimate) -> list[Season]:
    found = []
    for number in sorted(set(year.daily.index.year)):
        first, last = date(number, 4, 1), date(number, 9, 30)
        # Two weeks before and three after: what a plan wants to know of the past, and what the last forecast tells.
        around = year.daily.loc[str(first - timedelta(days=14)) : str(last + timedelta(days=21))]
        if len(around) < (last - first).days + 36 or around["rain_mm"].isna().any():
            continue
        name = f"{year.name.split('.')[0].removesuffix('TYA')} {number}"
        found.append(Season(name, year.place, year.climate.value, around, first, last, rain))
    return found


def known(value: float) -> Known:
    """A number that is taken as measured."""
    return Known(value, Basis.MEASURED, "made for the replay")


def _lawn(terminal: int, head: Head, turf: TurfGroup, soil: str, ground: tuple[float, float, float]) -> Station:
    """`ground` holds available water (fraction), roots (mm) and the least depth of a watering (mm, net)."""
    available, roots, least = ground
    return Station(
        terminal,
        f"lawn {terminal}",
        head,
        turf,
        soil,
        slope_pct=2.0,
        microclimate=known(1.0),
        density=known(1.0),
        root_depth=known(roots),
        available_water=known(available),
        precip_rate=known(40.0 if head is Head.SPRAY else 13.0),
        uniformity=known(0.75),
        least_depth=known(least),
    )


def lawns(season: Season) -> Site:
    """Four lawns of Thistledown Grange, moved to where the season's weather was measured.

    Least depths are half of what each may lose on a day of 5 mm of ET (own choice, no source). The window is wide, as
    what is held against the clairvoyant is the choice of nights and depths; how nights are packed is another bench's.
    """
    return Site(
        name="Thistledown Grange",
        place=season.place,
        rules=WateringRules(time(19), time(8), frozenset(range(7))),
        stations=(
            _lawn(1, Head.SPRAY, TurfGroup.COOL, "loam", (0.17, 150.0, 5.1)),
            _lawn(2, Head.ROTOR, TurfGroup.COOL, "clay loam", (0.18, 200.0, 7.2)),
            _lawn(3, Head.SPRAY, TurfGroup.WARM, "sandy loam", (0.12, 150.0, 4.5)),
            _lawn(4, Head.ROTOR, TurfGroup.WARM, "sandy loam", (0.12, 100.0, 3.0)),
        ),
        target_depth_mm=200.0,
        climate=season.climate,
        rain_rule=RainRule.EVENT,
        # No frost or wind holds a night: the clairvoyant knows no holds, and both choose from the same nights.
        hold_limits=HoldLimits(most_wind_m_s=1000.0, freeze_c=-90.0),
    )


def truth_of(season: Season, site: Site) -> Days:
    """What the weather really was, as planning counts it: reference ET, and effective rain after the day's ET."""
    return days_from_weather(Weather(season.daily, None, season.name), site)


def ground_of(site: Site, season: Season) -> Ground:
    """The site's stations as arrays; crop factors of all months are among them."""
    return ground(site, facts_by_station(site, season.first.month))


def is_dry(season: Season, truth: Days) -> bool:
    """Say whether the season's rain is less than half of its reference ET."""
    days = truth.between(season.first, season.days_count)
    return bool(days.rain_mm.sum() < DRY_RAIN_SHARE * days.eto_mm.sum())


def shortened(season: Season, first: date, days: int) -> Season:
    """A few days out of a season, for tests."""
    return replace(season, first=first, last=first + timedelta(days=days - 1))


def missing_days(season: Season) -> np.ndarray:
    """Days of the season on which the file lacks a driver, (D,)."""
    planned = season.daily.loc[str(season.first) : str(season.last)]
    return planned[DRIVERS].isna().any(axis=1).to_numpy()
