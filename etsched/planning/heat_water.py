"""The root zone under a table that is given: who passes allowable, and the least that must be added, night by night.

Turf is taken to use water unslowed by drought until its root zone is empty. Until a station first passes its allowable
depletion that is what the water books say; after it, it says how much is missing. Everything here moves one way: more
heat never makes a root zone wetter, a bound looser or an addition smaller, summed up to any night.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.planning import water

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days


@dataclass(frozen=True, slots=True)
class Demand:
    """What days ask of the root zones: by day and station (N, S), rain in pulses (N, P)."""

    etc_mm: NDArray[np.float64]
    allowable_mm: NDArray[np.float64]
    rain_mm: NDArray[np.float64]  # (N, P)
    et_before_fraction: NDArray[np.float64]  # (N, P)
    may_water: NDArray[np.bool_]  # (N, S) the night before the day is allowed, and the station works
    holds_mm: NDArray[np.float64]  # (S,) total available water of the root zone


@dataclass(frozen=True, slots=True)
class Followed:
    """What came of it, (N, S): depletion reached in the day, water added, water that the root zone could not take."""

    reached_mm: NDArray[np.float64]
    added_mm: NDArray[np.float64]
    surplus_mm: NDArray[np.float64]


def demand_of(ground: Ground, days: Days, first: int, may_water: NDArray[np.bool_]) -> Demand:
    """Gather what the days from place `first` on ask, as many as `may_water` has rows."""
    asked = [water.demand(ground, days, first + day) for day in range(len(may_water))]
    cut = slice(first, first + len(may_water))
    return Demand(
        etc_mm=np.array([etc for etc, _ in asked]),
        allowable_mm=np.array(
            [root_zone.readily_available_water(ground.total_available_mm, fraction) for _, fraction in asked]
        ),
        rain_mm=days.pulse_mm[cut],
        et_before_fraction=days.et_before_fraction[cut],
        may_water=may_water & ground.works,
        holds_mm=ground.total_available_mm,
    )


def follow(
    demand: Demand, depletion_mm: NDArray[np.float64], credit_mm: NDArray[np.float64], *, adds: bool
) -> Followed:
    """Carry the root zones (S,) through the days with the table's water (N, S), adding the least or nothing.

    An addition comes on the last night that can bear it and is just enough to stay within the allowable depletion
    until the next allowed night, or fills the root zone where that is not enough. Of all ways to do that it takes the
    least water up to every night: water put down early is never worth more than water put down late.
    """
    bounds = _bounds(demand, credit_mm) if adds else np.full(credit_mm.shape, np.inf)
    reached, added, surplus = (np.zeros(credit_mm.shape) for _ in range(3))
    state = depletion_mm
    for day, credit in enumerate(credit_mm):
        surplus[day] = np.maximum(credit - state, 0.0)
        state = np.maximum(state - credit, 0.0)
        added[day] = np.where(demand.may_water[day], np.maximum(state - bounds[day], 0.0), 0.0)
        state = state - added[day]
        reached[day] = np.minimum(state + demand.etc_mm[day], demand.holds_mm)
        state = _evening(demand, day, state)
    return Followed(reached, added, surplus)


def _evening(demand: Demand, day: int, state: NDArray[np.float64]) -> NDArray[np.float64]:
    """Depletion at the end of a day, from that of its dawn."""
    etc, gone = demand.etc_mm[day], 0.0
    for pulse in np.flatnonzero(demand.rain_mm[day]):
        share = float(demand.et_before_fraction[day, pulse])
        state = np.minimum(state + (share - gone) * etc, demand.holds_mm)
        state = np.maximum(state - demand.rain_mm[day, pulse], 0.0)
        gone = share
    return np.asarray(np.minimum(state + (1.0 - gone) * etc, demand.holds_mm))


def _bounds(demand: Demand, credit_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Highest depletion after each night's water (N, S) that stays within allowable until the next allowed night.

    Found backwards: what a day may reach, and what its dawn may be so that its evening is no more than the night after
    can bear. Where even a full root zone passes, 0 is the bound. Past the last day nothing is asked.
    """
    bounds = np.zeros(credit_mm.shape)
    evening = np.full(credit_mm.shape[1], np.inf)
    for day in reversed(range(len(credit_mm))):
        within = np.maximum(demand.allowable_mm[day] - demand.etc_mm[day], 0.0)
        bounds[day] = np.minimum(within, _dawn(demand, day, evening))
        # A night that may water can mend any depletion; one that may not has only what the table brings.
        evening = np.where(demand.may_water[day], np.inf, bounds[day] + credit_mm[day])
    return bounds


def _dawn(demand: Demand, day: int, evening_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Highest depletion at dawn from which the evening is within a bound, 0 where there is none."""
    etc, left, bound = demand.etc_mm[day], 1.0, evening_mm
    for pulse in reversed(np.flatnonzero(demand.rain_mm[day]).tolist()):
        share = float(demand.et_before_fraction[day, pulse])
        bound = np.maximum(bound - (left - share) * etc, 0.0) + demand.rain_mm[day, pulse]
        left = share
    return np.asarray(np.maximum(bound - left * etc, 0.0))
