"""Who waters on a night, and how deep: as late as the turf allows, deep, with room left for rain that may come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak, root_zone, runtime
from etsched.planning import water
from etsched.planning.outlook import WEEK_D
from etsched.reference import planning as figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

    Array = NDArray[np.float64]

# Rain of less is none to compare a range with; no forecast tells less (own choice).
_LEAST_TOLD_MM = 0.01


# A thousandth of an inch: what a working shows in either system. What is less than that no sentence calls less.
SHOWN_MM = 0.0254


@dataclass(frozen=True, slots=True)
class Need:
    """What every station wants of one night, (S,); stations that want nothing have 0 cycles."""

    depletion_mm: Array  # at dusk
    peak_mm: Array  # depletion reached before the next chance, if nothing ran tonight
    allowable_mm: Array  # on the day of that peak
    wanted: NDArray[np.bool_]
    must: NDArray[np.bool_]  # would pass its allowable depletion before the next chance
    room_mm: Array  # left for rain that may come
    cut_mm: Array  # less than that because the night is too short
    net_mm: Array
    gross_mm: Array
    exact_min: Array
    cycles_count: NDArray[np.int64]
    cycle_min: NDArray[np.int64]
    soak_min: NDArray[np.int64]
    rank_count: NDArray[np.int64]  # 0 = the one that is served first


def need(
    ground: Ground,
    days: Days,
    span: range,
    deficit_mm: Array,
    early: NDArray[np.bool_] | None = None,
    fullness_fraction: float = 1.0,
) -> Need:
    """Decide what a night wants whose water must last for a span of days, up to that of the next allowed night.

    A station waters when it must: when without water tonight it would pass its allowable depletion before the next
    allowed night, forecast rain left aside. It then gets all that its root zone lacks, less the room for rain that
    may come before that water is used up; never less than what keeps it to the next chance, nor than the least
    depth of a watering. `early` names stations to water although they need not yet; a `fullness_fraction` under 1
    takes everybody so far down towards what just keeps them to the next chance, for nights that are too short.
    """
    depletion = deficit_mm[:, 0]
    peak, allowable = peak_before(ground, days, span, depletion)
    must = ground.works & (peak > allowable) & (depletion > 0.0)
    wanted = must if early is None else must | (early & ground.works & (depletion > 0.0))
    room = np.where(wanted, rain_room(ground, days, span.start), 0.0)
    survive = np.clip(peak - allowable, 0.0, depletion)
    least = np.maximum(survive, np.minimum(depletion, least_depth(ground, allowable)))
    full = np.maximum(depletion - room, least)
    spare = np.where(must, full - survive, full)
    net = np.where(wanted, full - (1.0 - fullness_fraction) * spare, 0.0)
    exact = _minutes(ground, net)
    count, cycle = cycle_soak.split_run(exact, ground.longest_cycle_min, ground.least_cycle_min)
    cycle = _within(ground, (count, cycle), exact, _minutes(ground, np.where(must, least, 0.0)))
    count, cycle = capped(ground, count, cycle)
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
    urgency = np.where(wanted, (peak - allowable) / ground.total_available_mm, -np.inf)
    rank = np.empty(len(peak), dtype=np.int64)
    rank[np.lexsort((ground.terminal, -urgency, ground.priority_count))] = np.arange(len(peak))
    return Need(
        depletion_mm=depletion,
        peak_mm=peak,
        allowable_mm=allowable,
        wanted=wanted,
        must=must,
        room_mm=np.where(wanted, depletion - full, 0.0),
        cut_mm=np.where(wanted, full - net, 0.0),
        net_mm=net,
        gross_mm=runtime.gross_depth(net, ground.multiplier_factor),
        exact_min=exact,
        cycles_count=count,
        cycle_min=cycle,
        soak_min=soak.astype(np.int64),
        rank_count=rank,
    )


def least_depth(ground: Ground, allowable_mm: Array) -> Array:
    """Least net depth of a watering: as stated, else a share of what the roots may give up."""
    usual = figures.least_depth().value * allowable_mm
    return np.where(np.isnan(ground.least_depth_mm), usual, ground.least_depth_mm)


def _minutes(ground: Ground, net_mm: Array) -> Array:
    gross = runtime.gross_depth(net_mm, ground.multiplier_factor)
    return runtime.run_minutes(gross, ground.landing_rate_mm_h)


def _within(
    ground: Ground, run: tuple[NDArray[np.int64], NDArray[np.int64]], exact_min: Array, least_min: Array
) -> NDArray[np.int64]:
    """Minutes a cycle, a minute less where whole minutes would overfill the roots and less still does what it must."""
    count, cycle = run
    shorter = cycle - 1
    over = count * cycle > exact_min + 1e-9
    enough = (count * shorter >= least_min) & (shorter >= np.minimum(np.ceil(ground.least_cycle_min), cycle))
    return np.where(over & enough & (shorter >= 1), shorter, cycle)


def capped(
    ground: Ground, count: NDArray[np.int64], cycle: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Keep a night's minutes within each station's own cap (S,), in cycles as long as before or shorter."""
    most = np.where(np.isinf(ground.most_min), count * cycle, np.floor(ground.most_min))
    over = count * cycle > most
    fewer = np.where(over, np.minimum(count, most), count).astype(np.int64)
    return fewer, np.where(over, most // np.maximum(fewer, 1), cycle).astype(np.int64)


def peak_before(ground: Ground, days: Days, span: range, depletion_mm: Array) -> tuple[Array, Array]:
    """Depletion and allowable depletion at the worst moment of a span of days, if nothing runs tonight.

    Rain that fell counts after the ET of its day, for rain that may fall late saves no turf at noon; rain that is
    only forecast does not count, for whoever waits for it and is wrong pays in turf.
    """
    reached = depletion_mm
    worst = np.full(len(depletion_mm), -np.inf)
    peak = allowable = np.zeros(len(depletion_mm))
    for later in span:
        etc, fraction = water.demand(ground, days, later)
        limit = root_zone.readily_available_water(ground.total_available_mm, fraction)
        # A forecast that is a little too cool must not cost turf.
        reached = reached + etc * (1.0 + figures.et_margin().value * days.records[later].forecast)
        worse = reached - limit > worst
        worst = np.where(worse, reached - limit, worst)
        peak, allowable = np.where(worse, reached, peak), np.where(worse, limit, allowable)
        if not days.records[later].forecast:
            reached = np.maximum(reached - days.pulse_mm[later].sum(), 0.0)
    return peak, allowable


def rain_room(ground: Ground, days: Days, index: int) -> Array:
    """Room to leave for rain that may come before a full root zone is used up, (S,).

    Each mm that is not applied tonight is a mm that the rain can fill, up to the most by which the rain outruns the
    turf's use: max over days j of Σ (trusted rain − ET).
    """
    surplus = room = used = np.zeros(len(ground.terminal))
    lasts = np.ones(len(ground.terminal), dtype=np.bool_)
    for ahead in range(min(WEEK_D, len(days.records) - index)):
        etc, fraction = water.demand(ground, days, index + ahead)
        used = used + etc
        # Once what was applied is used up there is another watering, which leaves its own room.
        lasts = lasts & (
            (used <= root_zone.readily_available_water(ground.total_available_mm, fraction)) | (ahead == 0)
        )
        surplus = surplus + trusted_rain_mm(days, index + ahead, ahead) - etc
        room = np.where(lasts, np.maximum(room, surplus), room)
    return room


def trusted_rain_mm(days: Days, at: int, ahead: int) -> float:
    """Rain of a day that room is left for, so many days ahead: all that fell, of a forecast what may be counted on.

    That is a share which shrinks with the days ahead and is never above the forecast's own chance of rain; where an
    ensemble tells the likely range, it lies between the range's low end and its middle.
    """
    day, rain = days.records[at], float(days.pulse_mm[at].sum())
    if not day.forecast:
        return rain
    share = figures.rain_trust()[0][ahead]
    if day.rain_chance_pct is not None:
        share = min(share, day.rain_chance_pct / 100.0)
    if day.rain_low_mm is not None and day.rain_high_mm is not None and day.rain_mm >= _LEAST_TOLD_MM:
        middle = (day.rain_low_mm + day.rain_high_mm) / 2.0
        share = min(max(share, day.rain_low_mm / day.rain_mm), middle / day.rain_mm)
    return share * rain
