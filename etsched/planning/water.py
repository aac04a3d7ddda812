"""The water books: what the turf asks, what minutes are credited, what a day does to the water in the ground."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone, runtime, turf_use
from etsched.errors import BalanceBroken
from etsched.model.plan import StationDay, WaterState

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

CLOSES_TO_MM = 1e-9


@dataclass(frozen=True, slots=True)
class ByDay:
    """Water that enters by day: credited depth (S, P), and the share of the day's ET gone before each (P,)."""

    credited_mm: NDArray[np.float64]
    after_fraction: NDArray[np.float64]


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
    by_day: ByDay | None = None,
) -> tuple[root_zone.DayDemand, root_zone.DayWater]:
    """Carry every station through one day and insist that its books close.

    The night's irrigation enters before the day's ET, water `by_day` at its place in it; the books call both
    irrigation.
    """
    etc, fraction = demand(ground, days, index)
    pulses = np.broadcast_to(days.pulse_mm[index], (len(etc), days.pulse_mm.shape[1]))
    asked = root_zone.DayDemand(etc, fraction, irrigation_mm, pulses, days.et_before_fraction[index])
    if by_day is None:
        water = root_zone.day_step(deficit_mm, ground.total_available_mm, asked)
    else:
        water = root_zone.day_step(deficit_mm, ground.total_available_mm, _with_pulses(asked, by_day))
        asked = replace(asked, irrigation_mm=irrigation_mm + by_day.credited_mm.sum(axis=1))
    error = np.abs(root_zone.balance_error(deficit_mm, asked, water))
    if not np.all(error <= CLOSES_TO_MM):
        worst = int(np.nanargmax(error))
        raise BalanceBroken(
            f"station {ground.terminal[worst]}, {days.first + timedelta(days=index)}: the water books are off by "
            f"{error[worst]:.3g} mm; this is a defect of the program, please report it with the input"
        )
    return asked, water


def _with_pulses(asked: root_zone.DayDemand, by_day: ByDay) -> root_zone.DayDemand:
    """Let water enter by day between the pulses of rain, in the order of the day."""
    shares = np.concatenate([asked.et_before_fraction, by_day.after_fraction])
    order = np.argsort(shares, kind="stable")
    pulses = np.hstack([asked.rain_mm, by_day.credited_mm])
    return replace(asked, rain_mm=pulses[:, order], et_before_fraction=shares[order])


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
