"""A season lived day by day: each dusk a policy says what to run tonight, then the real day passes over the ground."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Protocol

import numpy as np

from etsched.core import root_zone, runtime
from etsched.planning import water
from tests.bench import _seasons, _tonight

if TYPE_CHECKING:
    from collections.abc import Callable

    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days
    from tests.bench._seasons import Season

WATERED_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Dusk:
    """What is known at dusk: the site, the weather so far with its forecast, and the water on the next morning."""

    site: Site
    ground: Ground
    serves: date
    weather: Weather
    deficit_mm: np.ndarray  # (S, L)


class Policy(Protocol):
    """Anything that says at dusk how much net water each station gets tonight, (S,), mm."""

    def __call__(self, dusk: Dusk) -> np.ndarray: ...


@dataclass(frozen=True, slots=True, eq=False)
class Lived:
    """What a season came to, all (D, S) in net mm but the last two."""

    net_mm: np.ndarray
    past_allowable_mm: np.ndarray  # depletion beyond the allowable one, before the day's rain
    et_mm: np.ndarray
    rain_mm: np.ndarray
    passed_mm: np.ndarray
    start_mm: np.ndarray  # (S,) root-zone depletion on the first morning
    end_mm: np.ndarray  # (S,) and on the morning after the last day

    @property
    def water_mm(self) -> np.ndarray:
        """Net water of each station (S,), with what it would take to end with a full root zone."""
        return self.net_mm.sum(axis=0) + self.end_mm

    @property
    def waterings_count(self) -> np.ndarray:
        """How often each station was watered, (S,)."""
        return (self.net_mm > WATERED_MM).sum(axis=0)


def planner(heard: list[str] | None = None, missing: list[int] | None = None) -> Policy:
    """The project's own planner; `heard` collects what it says of each night, `missing` what did not fit."""

    def decide(dusk: Dusk) -> np.ndarray:
        state = water.state_of(dusk.ground, dusk.serves, dusk.deficit_mm)
        plan = _tonight.week_from(dusk.site, dusk.weather, state)
        net, short_min = _tonight.tonight(plan)
        if heard is not None:
            heard.append(_tonight.tonight_as_text(plan))
        if missing is not None:
            missing.append(short_min)
        return net

    return decide


def whole_minutes(ground: Ground, net_mm: np.ndarray) -> np.ndarray:
    """What whole minutes credit where so much net water is wanted: rounded up, as people key it in."""
    exact = runtime.run_minutes(runtime.gross_depth(net_mm, ground.multiplier_factor), ground.landing_rate_mm_h)
    return water.credited(ground, np.ceil(exact - 1e-9).astype(np.int64))[1]


def live(season: Season, site: Site, policy: Policy, told: Callable[[date], Weather]) -> Lived:
    """Live a season from a full root zone on; of the weather the policy knows what is `told` it each evening."""
    ground, truth = _seasons.ground_of(site, season), _seasons.truth_of(season, site)
    deficit = np.zeros_like(ground.layer_available_mm)
    rows = []
    for n in range(season.days_count):
        serves = season.first + timedelta(days=n)
        net = policy(Dusk(site, ground, serves, told(serves), deficit))
        row, deficit = _pass(ground, truth, serves, deficit, net)
        rows.append(row)
    columns = (np.array(column) for column in zip(*rows, strict=True))
    return Lived(*columns, np.zeros(len(deficit)), deficit[:, 0].copy())


def _pass(
    ground: Ground, truth: Days, day: date, deficit: np.ndarray, net: np.ndarray
) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    index = (day - truth.first).days
    asked, done = water.pass_day(ground, truth, index, deficit, net)
    allowable = root_zone.readily_available_water(ground.total_available_mm, asked.depletion_fraction)
    # The seasons have daily rain, which falls after ET: the day's driest moment is just before it.
    driest = np.maximum(deficit[:, 0] - net, 0.0) + done.et_mm
    past = np.maximum(driest - allowable, 0.0)
    return (net, past, done.et_mm, asked.rain_mm.sum(axis=1), done.passed_mm), done.deficit_mm
