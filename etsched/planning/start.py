"""How wet the ground is on the plan's first morning: stated, carried on from what was applied, or assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.model.plan import WaterState
from etsched.planning import water

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.site import Site, Station
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

ASSUMED = (
    "nobody has read the soil: taken as just due for water, or as wet as the rain left it (common practice, no source)"
)


@dataclass(frozen=True, slots=True)
class Reading:
    """Water by layer that was read in the soil of some stations on some morning, and how."""

    water: WaterState
    source: str


def assumed_deficit(site: Site, ground: Ground, days: Days, index: int, share: float = 1.0) -> NDArray[np.float64]:
    """Deficit by layer where nobody measured it: `share` of the allowable depletion, the layers below as dry.

    At its allowable depletion a station is due for water, so the first table rewets every root zone: a guess on the
    dry side costs one refill, one on the wet side costs turf. A stated depletion outranks the guess.
    """
    _, fraction = water.demand(ground, days, index)
    allowable = root_zone.readily_available_water(ground.total_available_mm, fraction)
    stated = np.array([s.depletion.value if s.depletion else np.nan for s in site.stations])
    roots = np.where(np.isnan(stated), share * allowable, np.minimum(stated, ground.total_available_mm))
    return np.asarray((roots / ground.total_available_mm)[:, None] * ground.layer_available_mm)


def unread_deficit(site: Site, ground: Ground, days: Days, index: int) -> NDArray[np.float64]:
    """Deficit by layer on a first morning that nobody read: just due for water, or wetter where the rain says so.

    The books run without irrigation from the weather's first day, when the ground is taken as just due; where they
    end wetter than just due, it has rained. A stated depletion outranks both.
    """
    due = assumed_deficit(site, ground, days, index)
    wet = assumed_deficit(site, ground, days, 0)
    for day in range(index):
        wet = water.pass_day(ground, days, day, wet, np.zeros(len(wet)))[1].deficit_mm
    stated = np.array([station.depletion is not None for station in site.stations])
    return np.where(stated[:, None], due, np.minimum(due, wet))


def sources(site: Site, readings: Sequence[Reading], *, carried: bool) -> tuple[str, ...]:
    """Say for every station how the water on the plan's first morning is known; of several readings the last."""
    read = {terminal: each.source for each in readings for terminal in each.water.deficit_mm}

    def known(station: Station) -> str:
        if station.terminal in read:
            return f"{read[station.terminal]}, carried on in the water books"
        if carried:
            return "carried on in the water books"
        return (
            ASSUMED if station.depletion is None else station.depletion.note or f"site file, {station.depletion.basis}"
        )

    return tuple(known(station) for station in site.stations)


def reset_by(
    ground: Ground,
    days: Days,
    reading: Reading,
    first_day: date,
    deficit_mm: NDArray[np.float64],
    applied_min: Mapping[tuple[int, date], int],
) -> NDArray[np.float64]:
    """Let the stations that were read begin from what was found; `deficit_mm` is that of all on the first morning."""
    found = reading.water
    read = np.isin(ground.terminal, sorted(found.deficit_mm))
    unread = water.state_of(ground, found.morning, deficit_mm)
    whole = WaterState(found.morning, unread.deficit_mm | found.deficit_mm, unread.thickness_mm | found.thickness_mm)
    since = ran_since(reading, applied_min)
    return np.where(read[:, None], carry_on(ground, days, whole, first_day, since), deficit_mm)


def ran_since(reading: Reading, applied_min: Mapping[tuple[int, date], int]) -> dict[tuple[int, date], int]:
    """Leave out the minutes of the night before a reading where it was read: the soil held them already."""
    night = {(terminal, reading.water.morning) for terminal in reading.water.deficit_mm}
    return {run: minutes for run, minutes in applied_min.items() if run not in night}


def carry_on(
    ground: Ground,
    days: Days,
    start: WaterState,
    first_day: date,
    applied_min: Mapping[tuple[int, date], int],
) -> NDArray[np.float64]:
    """Run the books from a kept state to the plan's first morning with the minutes that ran (terminal, day served)."""
    deficit = water.deficit_from(ground, start)
    for carried in carried_days(ground, days, start, first_day, applied_min):
        deficit = carried.water.deficit_mm
    return deficit


@dataclass(frozen=True, slots=True)
class CarriedDay:
    """One day on the way from a kept state to a plan: the deficit before it (S, L), what it asked and what it did."""

    index: int
    before_mm: NDArray[np.float64]
    asked: root_zone.DayDemand
    water: root_zone.DayWater


def carried_days(
    ground: Ground,
    days: Days,
    start: WaterState,
    first_day: date,
    applied_min: Mapping[tuple[int, date], int],
) -> Iterator[CarriedDay]:
    """Go day by day from a kept state up to the plan's first morning with the minutes that ran."""
    deficit = water.deficit_from(ground, start)
    for index in range((start.morning - days.first).days, (first_day - days.first).days):
        day = days.records[index].day
        minutes = np.array([applied_min.get((int(t), day), 0) for t in ground.terminal], dtype=np.int64)
        _, credit = water.credited(ground, minutes)
        asked, done = water.pass_day(ground, days, index, deficit, credit)
        yield CarriedDay(index, deficit, asked, done)
        deficit = done.deficit_mm
