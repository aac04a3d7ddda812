"""One season under every policy and under the clairvoyant, station by station, in figures that can be compared."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.planning import water
from tests.bench import _baselines, _clairvoyant, _forecast, _replay, _seasons

if TYPE_CHECKING:
    from etsched.model.site import Site
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days
    from tests.bench._seasons import Season

SEED = 20_261_125
PLANNER, PERCENT, FIXED, REFILL = "this planner", "fixed minutes, percent adjust", "fixed minutes", "refill at MAD"
POLICIES = (PLANNER, REFILL, PERCENT, FIXED)


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What one way of watering came to, a station (S,); depletion past the allowable one is summed over the season."""

    water_mm: np.ndarray
    waterings_count: np.ndarray
    past_allowable_mm: np.ndarray
    smallest_share: np.ndarray  # the smallest watering as a share of the station's least depth


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """A season under every way; `unproved_mm` is how far the clairvoyant's proof fell short, all stations together."""

    name: str
    dry: bool
    rain_mm: float
    eto_mm: float
    best: Outcome
    ways: dict[str, Outcome]
    unproved_mm: float
    planner_s: float
    missing_min: int


def truths(season: Season, site: Site, days: Days, ground: Ground) -> list[_clairvoyant.Truth]:
    """The season of each station as it will be."""
    first = (season.first - days.first).days
    asked = [water.demand(ground, days, first + n) for n in range(season.days_count)]
    etc = np.array([row[0] for row in asked])
    allowable = np.array([root_zone.readily_available_water(ground.total_available_mm, row[1]) for row in asked])
    rain = days.pulse_mm[first : first + season.days_count].sum(axis=1)
    least = [station.least_depth.value for station in site.stations if station.least_depth is not None]
    return [
        _clairvoyant.Truth(etc[:, s], allowable[:, s], np.zeros_like(rain), rain, 0.0, depth)
        for s, depth in enumerate(least)
    ]


def compare(season: Season, seed: int = SEED) -> Compared:
    """Live a season with each policy under the same forecasts, and solve it knowing all."""
    site = _seasons.lawns(season)
    days, ground = _seasons.truth_of(season, site), _seasons.ground_of(site, season)
    told = _forecast.teller(season.daily, _forecast.issuer(season.daily, season.rain, seed))
    missing: list[int] = []
    policies: dict[str, _replay.Policy] = {
        PLANNER: _replay.planner(missing=missing),
        REFILL: _baselines.refill_at_allowable,
        PERCENT: _baselines.fixed_minutes(season, days, ground, adjusted=True),
        FIXED: _baselines.fixed_minutes(season, days, ground, adjusted=False),
    }
    least = np.array([truth.least_depth_mm for truth in truths(season, site, days, ground)])
    ways, seconds = {}, {}
    for name, policy in policies.items():
        begin = perf_counter()
        lived = _replay.live(season, site, policy, told)
        seconds[name] = perf_counter() - begin
        ways[name] = _outcome(lived, least)
    solved = [_clairvoyant.best(truth) for truth in truths(season, site, days, ground)]
    during = days.between(season.first, season.days_count)
    return Compared(
        season.name,
        _seasons.is_dry(season, days),
        float(during.rain_mm.sum()),
        float(during.eto_mm.sum()),
        _best(solved, least),
        ways,
        sum(each.unproved_mm for each in solved),
        seconds[PLANNER],
        sum(missing),
    )


def _outcome(lived: _replay.Lived, least_mm: np.ndarray) -> Outcome:
    ran = np.where(lived.net_mm > _replay.WATERED_MM, lived.net_mm, np.inf)
    return Outcome(
        lived.water_mm, lived.waterings_count, lived.past_allowable_mm.sum(axis=0), ran.min(axis=0) / least_mm
    )


def _best(solved: list[_clairvoyant.Best], least_mm: np.ndarray) -> Outcome:
    ran = np.array([np.where(each.net_mm > 0.0, each.net_mm, np.inf).min() for each in solved])
    return Outcome(
        np.array([each.water_mm for each in solved]),
        np.array([each.waterings_count for each in solved]),
        np.array([each.past_allowable_mm for each in solved]),
        ran / least_mm,
    )


def ratio(compared: Compared, way: str) -> float:
    """Water of a way over the clairvoyant's, all stations together."""
    return float(compared.ways[way].water_mm.sum() / compared.best.water_mm.sum())


def gap_closed_pct(compared: Compared, way: str) -> float:
    """Share of the water between plain refill and the clairvoyant that a way saves; below 0 where it uses more."""
    refill, least = compared.ways[REFILL].water_mm.sum(), compared.best.water_mm.sum()
    return float(100.0 * (refill - compared.ways[way].water_mm.sum()) / (refill - least))


def past_unavoidable_mm(compared: Compared, way: str) -> np.ndarray:
    """Depletion past the allowable one, summed over the season, beyond what nobody could have avoided, (S,)."""
    return np.asarray(compared.ways[way].past_allowable_mm - compared.best.past_allowable_mm)
