"""Which stations need water on a night, how much, and what the days do to the water in the ground."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak, root_zone, runtime, turf_use
from etsched.errors import BalanceBroken
from etsched.model.plan import StationDay, WaterState

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

CLOSES_TO_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Need:
    """What every station wants of one night, (S,); stations that want nothing have 0 cycles."""

    depletion_mm: NDArray[np.float64]  # at dusk
    peak_mm: NDArray[np.float64]  # depletion reached before the next chance, if nothing ran tonight
    allowable_mm: NDArray[np.float64]  # on the day of that peak
    wanted: NDArray[np.bool_]
    net_mm: NDArray[np.float64]
    gross_mm: NDArray[np.float64]
    exact_min: NDArray[np.float64]
    cycles_count: NDArray[np.int64]
    cycle_min: NDArray[np.int64]
    soak_min: NDArray[np.int64]
    rank_count: NDArray[np.int64]  # 0 = the one that would suffer first


def crop_factor(ground: Ground, days: Days, index: int) -> NDArray[np.float64]:
    """Crop factor of every station on one day, moved with wind and dryness where its set asks for it, (S,)."""
    tabled = ground.crop_factor[(days.first + timedelta(days=index)).month - 1]
    moved = turf_use.climate_adjusted_crop_factor(
        tabled, days.wind_m_s[index], days.rh_min_pct[index], ground.turf_height_m
    )
    return np.where(np.isnan(ground.turf_height_m), tabled, moved)


def demand(ground: Ground, days: Days, index: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turf use of one day without stress, and the depletion fraction it allows, both (S,)."""
    factor = crop_factor(ground, days, index)
    etc = turf_use.turf_evapotranspiration(days.eto_mm[index], turf_use.landscape_factor(factor, ground.area_factor))
    moved = root_zone.adjusted_depletion_fraction(ground.depletion_fraction, etc)
    return etc, np.where(ground.moves_with_demand, moved, ground.depletion_fraction)


def pass_day(
    ground: Ground,
    days: Days,
    index: int,
    deficit_mm: NDArray[np.float64],
    irrigation_mm: NDArray[np.float64],
) -> tuple[root_zone.DayDemand, root_zone.DayWater]:
    """Carry every station through one day and insist that its books close."""
    etc, fraction = demand(ground, days, index)
    pulses = np.broadcast_to(days.pulse_mm[index], (len(etc), days.pulse_mm.shape[1]))
    asked = root_zone.DayDemand(etc, fraction, irrigation_mm, pulses, days.et_before_fraction[index])
    water = root_zone.day_step(deficit_mm, ground.total_available_mm, asked)
    error = np.abs(root_zone.balance_error(deficit_mm, asked, water))
    if not np.all(error <= CLOSES_TO_MM):
        worst = int(np.nanargmax(error))
        raise BalanceBroken(
            f"station {ground.terminal[worst]}, {days.first + timedelta(days=index)}: the water books are off by "
            f"{error[worst]:.3g} mm; this is a defect of the program, please report it with the input"
        )
    return asked, water


def need(ground: Ground, days: Days, index: int, chance: int, deficit_mm: NDArray[np.float64]) -> Need:
    """Decide what a night wants that serves day `index`, when the next allowed night serves day `chance`.

    A station waters when it must: when without water tonight it would pass its allowable depletion before the next
    allowed night. It then gets all that its root zone lacks.
    """
    peak, allowable = _peak_before(ground, days, index, chance, deficit_mm)
    depletion = deficit_mm[:, 0]
    wanted = ground.works & (peak > allowable) & (depletion > 0.0)
    net = np.where(wanted, depletion, 0.0)
    gross = runtime.gross_depth(net, ground.multiplier_factor)
    exact = runtime.run_minutes(gross, ground.landing_rate_mm_h)
    count, cycle = cycle_soak.split_run(exact, ground.longest_cycle_min, ground.least_cycle_min)
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
    urgency = np.where(wanted, (peak - allowable) / ground.total_available_mm, -np.inf)
    rank = np.empty(len(peak), dtype=np.int64)
    rank[np.lexsort((ground.terminal, -urgency))] = np.arange(len(peak))
    return Need(depletion, peak, allowable, wanted, net, gross, exact, count, cycle, soak.astype(np.int64), rank)


def _peak_before(
    ground: Ground, days: Days, index: int, chance: int, deficit_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Depletion and allowable depletion at the worst moment before the next chance, if nothing runs tonight.

    The worst moment of a day is taken before its rain: rain that may fall late in a day saves no turf at noon.
    """
    state, nothing = deficit_mm, np.zeros(len(deficit_mm))
    worst = np.full(len(deficit_mm), -np.inf)
    peak = allowable = nothing
    for later in range(index, chance):
        etc, fraction = demand(ground, days, later)
        limit = root_zone.readily_available_water(ground.total_available_mm, fraction)
        reached = state[:, 0] + etc
        worse = reached - limit > worst
        worst = np.where(worse, reached - limit, worst)
        peak, allowable = np.where(worse, reached, peak), np.where(worse, limit, allowable)
        if later + 1 < chance:
            state = pass_day(ground, days, later, state, nothing)[1].deficit_mm
    return peak, allowable


def credited(ground: Ground, minutes: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Depth applied by so many minutes, and the part of it that the books credit."""
    applied = runtime.applied_depth(minutes.astype(np.float64), ground.landing_rate_mm_h)
    applied = np.where(ground.works, applied, 0.0)
    return applied, runtime.credited_depth(applied, ground.multiplier_factor)


def book_lines(
    ground: Ground,
    day: date,
    before_mm: NDArray[np.float64],
    asked: root_zone.DayDemand,
    water: root_zone.DayWater,
) -> list[StationDay]:
    """Write one day of the water books, a line a station."""
    allowable = root_zone.readily_available_water(ground.total_available_mm, asked.depletion_fraction)
    columns: Sequence[NDArray[np.float64]] = (
        before_mm[:, 0],
        asked.irrigation_mm,
        asked.rain_mm.sum(axis=1),
        water.et_mm,
        water.passed_mm,
        water.drained_mm,
        water.deficit_mm[:, 0],
        allowable,
        ground.total_available_mm,
    )
    rows = zip(ground.terminal.tolist(), *(column.tolist() for column in columns), strict=True)
    return [StationDay(terminal, day, *numbers) for terminal, *numbers in rows]


def state_of(ground: Ground, morning: date, deficit_mm: NDArray[np.float64]) -> WaterState:
    """Name the water by layer, so that it can be kept and handed on."""
    return WaterState(
        morning,
        {int(t): tuple(row) for t, row in zip(ground.terminal, deficit_mm.tolist(), strict=True)},
        {int(t): tuple(row) for t, row in zip(ground.terminal, ground.thickness_mm.tolist(), strict=True)},
    )


def deficit_from(ground: Ground, state: WaterState) -> NDArray[np.float64]:
    """Take up a kept state, moving water between layers where root depths have changed since."""
    order = ground.terminal.tolist()
    deficit = np.array([state.deficit_mm[terminal] for terminal in order])
    before = np.array([state.thickness_mm[terminal] for terminal in order])
    if not np.array_equal(before, ground.thickness_mm):
        deficit = root_zone.move_layers(deficit, before, ground.thickness_mm)
    # A soil found to hold less than the books thought cannot lack more than it holds.
    return np.asarray(np.minimum(deficit, ground.layer_available_mm))
