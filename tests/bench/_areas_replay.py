"""The virtual areas watered by the planner day by day, and their scores in every valid window of 30 days."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.frames.weather import HOURLY_COLUMNS, Weather
from etsched.planning import water
from tests.bench import _areas, _clairvoyant, _forecast, _seasons, _tonight
from tests.bench._areas import AREAS

if TYPE_CHECKING:
    from etsched.model.plan import WeekPlan
    from etsched.planning.ground import Ground
    from tests.bench._seasons import Season

SEED = 20_261_126
WINDOW_D = 30
# What makes a window valid (read): reference ET, rain, and days that may be missing, in all and in a row.
LEAST_ETO_MM, LEAST_RAIN_MM, MOST_MISSING_D, MOST_IN_A_ROW_D = 63.5, 10.2, 3, 2


@dataclass(frozen=True, slots=True, eq=False)
class Watered:
    """The areas' books over a season by name, each (D, A), with its weather (D,)."""

    books: dict[str, np.ndarray]
    eto_mm: np.ndarray
    rain_mm: np.ndarray
    missing: np.ndarray


def live(season: Season, *, rain_known: bool, seed: int = SEED) -> Watered:
    """Water the areas through a season.

    Each dusk the planner is told how full each area is, the weather up to today and the forecast model's seven days.
    With `rain_known` tomorrow's rain has already fallen into the ground when it decides, as the draft counts it.
    """
    site = _areas.site_of(season)
    ground = _seasons.ground_of(site, season)
    truth = _seasons.truth_of(season, site)
    told_at_dusk = _forecast.teller(season.daily, _forecast.issuer(season.daily, season.rain, seed))
    storage = np.array([area.storage_mm for area in AREAS]) * _areas.START_SHARE
    full = np.array([area.storage_mm for area in AREAS])
    days = []
    for n in range(season.days_count):
        serves = season.first + timedelta(days=n)
        index = (serves - truth.first).days
        net_rain = _areas.NET_RAIN_SHARE * float(truth.rain_mm[index])
        seen = told_at_dusk(serves)
        held = np.minimum(storage + net_rain, full) if rain_known else storage
        weather = rain_at_midnight(fallen(seen, serves) if rain_known else seen, season)
        plan = _tonight.week_from(site, weather, _state(ground, serves, full - held))
        cycles = cycles_of(plan)
        eto = float(truth.eto_mm[index])
        day = [
            _areas.pass_day(area, float(storage[a]), net_rain, cycles[a], eto * area.crop_factor(serves.month))
            for a, area in enumerate(AREAS)
        ]
        days.append(day)
        storage = np.array([area.storage_mm for area in day])
    during = truth.between(season.first, season.days_count)
    return Watered(_areas.columns(days), during.eto_mm, during.rain_mm, _seasons.missing_days(season))


def _state(ground: Ground, morning: date, deficit_mm: np.ndarray):
    below = np.zeros((len(deficit_mm), ground.layer_available_mm.shape[1] - 1))
    return water.state_of(ground, morning, np.hstack([deficit_mm[:, None], below]))


def fallen(weather: Weather, serves: date) -> Weather:
    """The same weather where the rain of one day is in the ground already and no more is to come that day."""
    daily = weather.daily.copy()
    daily.loc[str(serves), "rain_mm"] = 0.0
    extra = None if weather.extra is None else weather.extra.copy()
    if extra is not None:
        extra.loc[str(serves), "rain_probability_pct"] = 0.0
    return replace(weather, daily=daily, extra=extra)


def rain_at_midnight(weather: Weather, season: Season) -> Weather:
    """Give the day's rain its hour, the first: the draft's areas get it before the day's use."""
    index = pd.DatetimeIndex(weather.daily.index).tz_localize(season.place.zone).tz_convert("UTC")
    hourly = pd.DataFrame(np.nan, index=index.rename("hour_start"), columns=list(HOURLY_COLUMNS))
    hourly["rain_mm"] = weather.daily["rain_mm"].to_numpy()
    return replace(weather, hourly=hourly)


def cycles_of(plan: WeekPlan) -> list[list[tuple[int, int]]]:
    """Tonight's cycles of every area: start and length in minutes."""
    found: list[list[tuple[int, int]]] = [[] for _ in plan.site.stations]
    for night in plan.nights:
        if night.night.serves == plan.first_day:
            for run in night.runs:
                found[run.terminal - 1] = [(cycle.start_min, cycle.length_min) for cycle in run.cycles]
    return found


def valid_windows(watered: Watered) -> list[slice]:
    """Every run of 30 days that has the ET, the rain and the readings that make it valid."""
    starts = range(len(watered.eto_mm) - WINDOW_D + 1)
    return [window for start in starts if _valid(watered, window := slice(start, start + WINDOW_D))]


def _valid(watered: Watered, window: slice) -> bool:
    missing = watered.missing[window]
    in_a_row = max((len(run) for run in "".join(" x"[int(m)] for m in missing).split()), default=0)
    return bool(
        watered.eto_mm[window].sum() >= LEAST_ETO_MM
        and watered.rain_mm[window].sum() >= LEAST_RAIN_MM
        and missing.sum() <= MOST_MISSING_D
        and in_a_row <= MOST_IN_A_ROW_D
    )


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """Scores of one stretch of days, an area each (A,), percent."""

    adequacy: np.ndarray
    excess_of_net: np.ndarray  # 0 where nothing was watered and nothing lost
    excess_of_use: np.ndarray
    rain_efficiency: np.ndarray


def scores(watered: Watered, stretch: slice) -> Scores:
    """Score the areas over some days."""
    total = {name: book[stretch].sum(axis=0) for name, book in watered.books.items()}
    lost = total["direct_mm"] + total["soak_mm"] + total["surplus_mm"]
    return Scores(
        100.0 * (total["etc_mm"] - total["deficit_mm"]) / total["etc_mm"],
        100.0 * np.divide(lost, total["net_mm"], out=np.zeros_like(lost), where=total["net_mm"] > 0.0),
        100.0 * lost / total["etc_mm"],
        100.0 * (1.0 - total["rain_surplus_mm"] / total["net_rain_mm"]),
    )


def clairvoyant_rain_efficiency(watered: Watered) -> np.ndarray:
    """Rain efficiency over the season of somebody who knew all weather and watered least, (A,), percent."""
    found = []
    for a, area in enumerate(AREAS):
        use, rain = watered.books["etc_mm"][:, a], watered.books["net_rain_mm"][:, a]
        start = area.storage_mm * (1.0 - _areas.START_SHARE)
        nothing = np.zeros_like(rain)
        best = _clairvoyant.best(
            _clairvoyant.Truth(use, np.full_like(use, area.storage_mm), rain, nothing, start, 0.0), fewest=False
        )
        found.append(100.0 * (1.0 - best.spilt_mm.sum() / rain.sum()))
    return np.array(found)
