"""Three plain ways of watering to hold the planner against, in whole minutes like it, and with the same forecast."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.planning import water
from etsched.planning.weather_days import days_from_weather
from tests.bench._replay import whole_minutes

if TYPE_CHECKING:
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days
    from tests.bench._replay import Dusk, Policy
    from tests.bench._seasons import Season

NIGHTS = frozenset({0, 2, 4})  # serve Monday, Wednesday and Friday


def monthly_use(season: Season, truth: Days, ground: Ground) -> dict[int, np.ndarray]:
    """Mean use of each station a day (S,) in each month of the season, mm."""
    used: dict[int, list[np.ndarray]] = {}
    for n in range(season.days_count):
        day = season.first + timedelta(days=n)
        etc, _ = water.demand(ground, truth, (day - truth.first).days)
        used.setdefault(day.month, []).append(etc)
    return {month: np.mean(rows, axis=0) for month, rows in used.items()}


def fixed_minutes(season: Season, truth: Days, ground: Ground, *, adjusted: bool) -> Policy:
    """The same minutes three nights a week, sized for the mean of the season's thirstiest month, rain or not.

    `adjusted` turns the percent adjust on the first of each month to that month's share of it. Both means are those of
    the season itself, which nobody could have known: the baseline is better for it.
    """
    use = monthly_use(season, truth, ground)
    peak = np.max(list(use.values()), axis=0)

    def decide(dusk: Dusk) -> np.ndarray:
        if dusk.serves.weekday() not in NIGHTS:
            return np.zeros(len(peak))
        daily = use[dusk.serves.month] if adjusted else peak
        return whole_minutes(dusk.ground, daily * 7.0 / len(NIGHTS))

    return decide


def refill_at_allowable(dusk: Dusk) -> np.ndarray:
    """Fill the root zone whenever tomorrow's forecast use would take it past its allowable depletion; rain ignored."""
    days = days_from_weather(dusk.weather, dusk.site)
    etc, fraction = water.demand(dusk.ground, days, (dusk.serves - days.first).days)
    depletion = dusk.deficit_mm[:, 0]
    limit = root_zone.readily_available_water(dusk.ground.total_available_mm, fraction)
    return whole_minutes(dusk.ground, np.where(depletion + etc > limit, depletion, 0.0))
