"""Night by night until the soil is wet down to a depth: from the top, in the window, in the books of the balance."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak, root_zone, runtime
from etsched.core.night import pack
from etsched.days import day_text
from etsched.model.recovery import Rewet, RewetNight
from etsched.planning import choice, water
from etsched.planning.night_asked import chains_of, limits_of
from etsched.planning.outlook import WEEK_D, ground_tonight, span_to_last, watering_night
from etsched.planning.weather_days import extend
from etsched.reference import recovery as figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.model.recovery import RecoveryAsk
    from etsched.planning.ground import Ground
    from etsched.planning.outlook import Outlook

REACHED_WITHIN_MM = 1e-6

REPELLENT_STEPS = (
    "Water repellency first: spike or core-aerate the patch.",
    "Then a wetting agent made for turf, as its label says, watered in at once.",
    "Then water in short pulses, each the least useful cycle, so that it sinks in instead of running off.",
)


@dataclass(slots=True)
class _Course:
    """What has happened so far, a station an element."""

    deficit_mm: NDArray[np.float64]
    begin_mm: NDArray[np.float64]
    taken_mm: NDArray[np.float64]
    reached: list[date | None]
    moist: list[date | None]
    nights: list[list[RewetNight]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Ran:
    """What a night did, a station an element."""

    net_mm: NDArray[np.float64]
    cycles: NDArray[np.int64]
    cycle_min: NDArray[np.int64]
    soak_min: NDArray[np.int64]
    dropped: NDArray[np.int64]
    applied_mm: NDArray[np.float64]
    credit_mm: NDArray[np.float64]


def rewet(outlook: Outlook, deficit_mm: NDArray[np.float64], ask: RecoveryAsk) -> tuple[Rewet, ...]:
    """Rewet every station that water reaches, from its deficit (S, L) on the first morning; one result a station.

    Each night a station asks for all that is missing down to the target depth; what the window cannot hold waits for
    the next night, and what the days take is asked for again. A station that has got there, or whose repair is not
    done, is watered as in any week meanwhile, so that the window is shared as it will be.
    """
    begins = _begins(outlook, ask)
    waits = max(((begin - outlook.first_day).days for begin in begins if begin is not None), default=0)
    horizon = waits + round(figures.rewet("patience").value)
    outlook = replace(
        outlook,
        days=extend(outlook.days, outlook.first_day + timedelta(days=horizon + WEEK_D)),
        ground=_pulsed(outlook.ground, ask),
    )
    course = _course(deficit_mm)
    for later in range(horizon):
        _one_day(outlook, outlook.first_day + timedelta(days=later), begins, course)
        if all(begin is None or day is not None for begin, day in zip(begins, course.reached, strict=True)):
            break
    return tuple(_told(outlook, ask, at, begins[at], course) for at in range(len(begins)))


def _course(deficit_mm: NDArray[np.float64]) -> _Course:
    count = len(deficit_mm)
    nothing: list[list[RewetNight]] = [[] for _ in range(count)]
    return _Course(deficit_mm, deficit_mm.copy(), np.zeros(count), [None] * count, [None] * count, nothing)


def _pulsed(ground: Ground, ask: RecoveryAsk) -> Ground:
    """Let repellent soil have its least cycles only."""
    sheds = np.isin(ground.terminal, sorted(ask.repellent))
    pulse = np.minimum(ground.longest_cycle_min, np.maximum(ground.least_cycle_min, 1.0))
    return replace(ground, longest_cycle_min=np.where(sheds, pulse, ground.longest_cycle_min))


def _begins(outlook: Outlook, ask: RecoveryAsk) -> list[date | None]:
    """Give the first day whose night may rewet each station: its repair done, its soil treated; None: none in sight."""
    treatment = timedelta(days=round(figures.rewet("treatment").value))
    found: list[date | None] = []
    for terminal, works in zip(outlook.ground.terminal.tolist(), outlook.ground.works.tolist(), strict=True):
        ready = ask.ready.get(terminal)
        begin = _first_served(outlook, ready) if ready is not None else outlook.first_day if works else None
        found.append(begin + treatment if begin is not None and terminal in ask.repellent else begin)
    return found


def _first_served(outlook: Outlook, ready: date) -> date:
    """First day of the plan whose night opens on the day of a repair or later."""
    rules = outlook.site.rules
    return max(ready + timedelta(days=int(rules.closes_at <= rules.opens_at)), outlook.first_day)


def _one_day(outlook: Outlook, serves: date, begins: Sequence[date | None], course: _Course) -> None:
    begun = np.array([begin is not None and begin <= serves for begin in begins])
    starts = np.array([begin == serves for begin in begins])
    course.begin_mm = np.where(starts[:, None], course.deficit_mm, course.begin_mm)
    working = replace(outlook.ground, works=outlook.ground.works | begun)
    unreached = begun & np.array([day is None for day in course.reached])
    ran = _night(replace(outlook, ground=working), serves, unreached, course.deficit_mm)
    morning = root_zone.wet_from_above(course.deficit_mm, ran.credit_mm)[0]
    _, day = water.pass_day(working, outlook.days, outlook.index(serves), course.deficit_mm, ran.credit_mm)
    wet = morning.sum(axis=1) <= REACHED_WITHIN_MM
    fit = (morning * _share_above(working, figures.feed("moist_depth").value)).sum(axis=1) <= REACHED_WITHIN_MM
    still = unreached & ~wet
    course.taken_mm += np.where(still, (day.deficit_mm - morning).sum(axis=1), 0.0)
    for at in np.flatnonzero(unreached).tolist():
        course.reached[at] = serves if wet[at] else None
        if ran.cycles[at] or ran.dropped[at]:
            course.nights[at].append(_night_of(serves, ran, at, morning, day))
            # What dries out again because a full night leaves it waiting is not yet moist.
            course.moist[at] = course.moist[at] if fit[at] else None
        course.moist[at] = course.moist[at] or (serves if fit[at] else None)
    course.deficit_mm = day.deficit_mm


def _share_above(ground: Ground, depth_mm: float) -> NDArray[np.float64]:
    """Share of each layer (S, L) that lies above a depth."""
    top = np.cumsum(ground.thickness_mm, axis=1) - ground.thickness_mm
    above = np.clip(depth_mm - top, 0.0, ground.thickness_mm)
    return np.divide(above, ground.thickness_mm, out=np.zeros_like(above), where=ground.thickness_mm > 0.0)


def _night_of(serves: date, ran: _Ran, at: int, morning: NDArray[np.float64], day: root_zone.DayWater) -> RewetNight:
    return RewetNight(
        serves=serves,
        cycles_count=int(ran.cycles[at]),
        cycle_min=int(ran.cycle_min[at]),
        soak_min=int(ran.soak_min[at]),
        dropped_count=int(ran.dropped[at]),
        net_mm=float(ran.net_mm[at]),
        applied_mm=float(ran.applied_mm[at]),
        credited_mm=float(ran.credit_mm[at]),
        morning_mm=tuple(morning[at].tolist()),
        evening_mm=tuple(day.deficit_mm[at].tolist()),
        taken_mm=float(day.et_mm[at]),
    )


def _night(outlook: Outlook, serves: date, unreached: NDArray[np.bool_], deficit_mm: NDArray[np.float64]) -> _Ran:
    """Pack one night: what is missing down to the target for the unreached, an ordinary night's need for the rest."""
    count = len(deficit_mm)
    window = watering_night(outlook.site, serves)
    if window is None:
        none, still = np.zeros(count, dtype=np.int64), np.zeros(count)
        return _Ran(deficit_mm.sum(axis=1), none, none, none, none, still, still)
    ground = ground_tonight(outlook, window)
    unreached = unreached & ground.works
    usual = choice.need(ground, outlook.days, span_to_last(outlook, serves), deficit_mm)
    net = np.where(unreached, deficit_mm.sum(axis=1), usual.net_mm)
    exact = runtime.run_minutes(runtime.gross_depth(net, ground.multiplier_factor), ground.landing_rate_mm_h)
    cycles, cycle = cycle_soak.split_run(exact, ground.longest_cycle_min, ground.least_cycle_min)
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h).astype(np.int64)
    # The drier the roots, the sooner in line.
    rank = np.empty(count, dtype=np.int64)
    rank[np.lexsort((ground.terminal, -deficit_mm[:, 0] / ground.total_available_mm))] = np.arange(count)
    packed = pack(chains_of(outlook, cycles, cycle, soak, rank), limits_of(outlook, window))
    held = np.array([len(starts) for starts in packed.starts_min], dtype=np.int64)
    applied, credit = water.credited(ground, held * cycle)
    return _Ran(net, held, cycle, soak, np.asarray(packed.dropped_count, dtype=np.int64), applied, credit)


def _told(outlook: Outlook, ask: RecoveryAsk, at: int, begin: date | None, course: _Course) -> Rewet:
    station = outlook.site.stations[at]
    path = "by hand" if begin is None else "repellent" if station.terminal in ask.repellent else "plain"
    thickness = outlook.ground.thickness_mm[at]
    return Rewet(
        station.terminal,
        station.area,
        path,
        float(thickness.sum()),
        begin,
        tuple(thickness.tolist()),
        tuple(course.begin_mm[at].tolist()),
        float(course.taken_mm[at]),
        tuple(course.nights[at]),
        course.reached[at],
        course.moist[at],
        REPELLENT_STEPS if station.terminal in ask.repellent else (),
        _sentence(station.terminal, begin, course.nights[at], course.reached[at]),
    )


def _sentence(terminal: int, begin: date | None, nights: Sequence[RewetNight], reached: date | None) -> str:
    who = f"Station {terminal}"
    if begin is None:
        return (
            f"{who}: no water arrives and no day of repair is known, so minutes would be worthless; water it by hand."
        )
    if reached is None:
        if any(night.dropped_count for night in nights):
            why = "the window does not hold its cycles and soaks; a longer window or more water days would do"
        elif nights:
            why = "the days take what the nights bring; more water days would help"
        else:
            why = "no cycle is short enough to stay off the paving; nozzles with a lower rate would let it soak in"
        return f"{who}: rewetting does not get down to the target depth in four weeks: {why}."
    watered = [night for night in nights if night.cycles_count]
    if not watered:
        return f"{who}: wet down to the target depth by itself from {day_text(reached)}."
    runs = f"{len(watered)} night{'' if len(watered) == 1 else 's'}"
    return f"{who}: {runs} from {day_text(watered[0].serves)} on; wet down to the target depth on {day_text(reached)}."
