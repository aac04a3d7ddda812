"""What a clock delivers today: its programs as they were found, against the ground and what the turf uses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import radiation, runtime, sun_position
from etsched.days import instant
from etsched.errors import PlanRefused
from etsched.model.clock_delivers import ClockDelivers, ClockStart, StationDelivers
from etsched.planning import clock_remarks, water
from etsched.planning.clock_passes import DAY_MIN, WEEK_MIN, Pass, ahead_min, passes
from etsched.planning.outlook import WEEK_D
from etsched.planning.weather_days import extend

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.site import Place, Site, WateringRules
    from etsched.model.visit import ClockFound
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

# A soil that takes water faster than it lands drains what stands on it with the first minute of a pause.
_AT_ONCE_FACTOR = 1.0e9


def delivered(clock: ClockFound, site: Site, ground: Ground, days: Days, first_day: date) -> ClockDelivers:
    """Say what every station gets of the clock in the seven days from `first_day` on, and what its turf uses then.

    Of a clock whose programs nobody read no station is told, since nobody knows what it runs.
    Raises PlanRefused where the weather begins after `first_day`, or is too short to stand in for days it lacks.
    """
    if not clock.programs:
        unread = ClockDelivers(first_day, (), (), ahead_min(clock))
        return replace(unread, remarks=clock_remarks.of_clock(clock, site, unread))
    all_passes = passes(clock, first_day)
    week = _openings(all_passes, ground)
    facts = _facts(week, site, ground, turf_use_of_week(ground, days, first_day), first_day)
    result = ClockDelivers(
        first_day,
        tuple(_start(each, first_day) for each in all_passes if 0.0 <= each.begins_min < WEEK_MIN),
        facts,
        ahead_min(clock),
    )
    return replace(
        result,
        stations=tuple(
            replace(each, remarks=clock_remarks.of_station(clock, station, each, ground))
            for station, each in zip(site.stations, facts, strict=True)
        ),
        remarks=clock_remarks.of_clock(clock, site, result),
    )


def turf_use_of_week(ground: Ground, days: Days, first_day: date) -> NDArray[np.float64]:
    """Add up what the turf of every station uses in seven days, unstressed, mm (S,)."""
    reach = extend(days, first_day + timedelta(days=WEEK_D - 1))
    begin = (first_day - reach.first).days
    if begin < 0:
        raise PlanRefused(
            f"the weather begins on {reach.first}, after {first_day}; give weather from {first_day} on, or ask for a "
            "later week"
        )
    return np.asarray(sum(water.demand(ground, reach, begin + later)[0] for later in range(WEEK_D)))


@dataclass(frozen=True, slots=True)
class _Openings:
    """Every time a valve of the site opens within the week (N,): its place among the stations, when, how long."""

    at: NDArray[np.int64]
    opens_min: NDArray[np.float64]
    length_min: NDArray[np.float64]
    beyond_min: NDArray[np.float64]  # of its length, what came after the ground could hold no more


def _openings(all_passes: Sequence[Pass], ground: Ground) -> _Openings:
    """Follow what stands on the ground of every station from opening to opening: it fills, runs off, soaks in.

    Water stands as minutes of running, so that a first runoff seen on site serves as it is. A pause lets in
    intake ÷ (rate − intake) minutes for each of its own, as the least soak has it.
    """
    surplus = ground.wet_rate_mm_h - ground.intake_mm_h
    soaks = np.full(len(surplus), _AT_ONCE_FACTOR)
    np.divide(ground.intake_mm_h, surplus, out=soaks, where=surplus > 0.0)
    standing, closed = np.zeros(len(surplus)), np.full(len(surplus), -1.0e9)
    columns: list[tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]] = []
    for each in all_passes:
        known = np.isin(each.terminal, ground.terminal)
        at = np.searchsorted(ground.terminal, each.terminal[known])
        opens, length = each.opens_min[known], each.length_min[known]
        left = np.maximum(standing[at] - (opens - closed[at]) * soaks[at], 0.0)
        standing[at] = np.minimum(left + length, ground.longest_cycle_min[at])
        columns.append((at, opens, length, left + length - standing[at]))
        closed[at] = opens + length
    if not columns:
        return _Openings(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0), np.zeros(0))
    places, opens, length, beyond = (np.concatenate(column) for column in zip(*columns, strict=True))
    inside = (opens >= 0.0) & (opens < WEEK_MIN)
    return _Openings(places.astype(np.int64)[inside], opens[inside], length[inside], beyond[inside])


def _facts(
    week: _Openings, site: Site, ground: Ground, use_mm: NDArray[np.float64], first_day: date
) -> tuple[StationDelivers, ...]:
    def total(each: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.bincount(week.at, weights=each, minlength=len(ground.terminal)), dtype=np.float64)

    minutes, beyond = total(week.length_min), total(week.beyond_min)
    depth = np.where(ground.works, runtime.applied_depth(minutes, ground.landing_rate_mm_h), 0.0)
    # What runs off is reckoned with the mean rate; a wet quarter that begins to run off earlier makes it more.
    surplus = np.maximum(ground.landing_rate_mm_h - ground.intake_mm_h, 0.0)
    runoff = np.where(ground.works, runtime.applied_depth(beyond, surplus), 0.0)
    kept = depth - runoff
    available = ground.total_available_mm / ground.thickness_mm[:, 0]
    wetted = kept / np.maximum(_nights(week, len(minutes)), 1) / available
    daytime = total(week.length_min * _sun_up(week, site.place, first_day))
    forbidden = total(week.length_min - _allowed_min(week, site.rules, first_day))
    volume = ground.flow_l_min * minutes
    return tuple(
        StationDelivers(
            terminal=int(ground.terminal[at]),
            runs_count=int((week.at == at).sum()),
            minutes_min=float(minutes[at]),
            depth_mm=float(depth[at]),
            use_mm=float(use_mm[at]),
            kept_mm=float(kept[at]),
            of_use_pct=float(100.0 * kept[at] / use_mm[at]) if use_mm[at] > 0.0 else None,
            wetted_mm=float(wetted[at]),
            runoff_mm=float(runoff[at]),
            beyond_min=float(beyond[at]),
            daytime_min=float(daytime[at]),
            forbidden_min=float(forbidden[at]),
            volume_l=None if np.isnan(volume[at]) or not ground.works[at] else float(volume[at]),
        )
        for at in range(len(minutes))
    )


def _nights(week: _Openings, stations_count: int) -> NDArray[np.int64]:
    """Count for every station the nights, from noon to noon, in which it runs."""
    nights = np.unique(np.column_stack([week.at, np.floor(week.opens_min / DAY_MIN - 0.5).astype(np.int64)]), axis=0)
    return np.asarray(np.bincount(nights[:, 0], minlength=stations_count), dtype=np.int64)


def _sun_up(week: _Openings, place: Place, first_day: date) -> NDArray[np.bool_]:
    """Say for every opening whether the sun stands above the horizon in its middle."""
    middle = [_wall(first_day, float(minute)) for minute in week.opens_min + week.length_min / 2.0]
    moments = [instant(each.date(), each.time(), place.zone) for each in middle]
    day = np.array([each.timetuple().tm_yday for each in moments], dtype=np.float64)
    utc = np.array([each.hour + each.minute / 60.0 for each in moments])
    angle = sun_position.solar_hour_angle(day, utc, place.longitude_deg)
    height = sun_position.sun_elevation(place.latitude_deg, radiation.solar_declination(day), angle)
    return np.asarray(height > 0.0)


def _allowed_min(week: _Openings, rules: WateringRules, first_day: date) -> NDArray[np.float64]:
    """Minutes of every opening that lie inside an allowed window."""
    begin, end = (wall.hour * 60 + wall.minute for wall in (rules.opens_at, rules.closes_at))
    length = end - begin if end > begin else end - begin + DAY_MIN
    opens = np.array(
        [day * DAY_MIN + begin for day in range(-1, WEEK_D + 2) if (first_day.weekday() + day) % 7 in rules.water_days]
    )
    starts, stops = week.opens_min[:, None], (week.opens_min + week.length_min)[:, None]
    inside = np.minimum(stops, opens + length) - np.maximum(starts, opens)
    return np.asarray(np.maximum(inside, 0.0).sum(axis=1))


def _start(each: Pass, first_day: date) -> ClockStart:
    set_for, begins, ends = (_wall(first_day, m) for m in (each.set_for_min, each.begins_min, each.ends_min))
    return ClockStart(each.program, set_for, begins, ends, each.waited_for)


def _wall(first_day: date, minute: float) -> datetime:
    return datetime.combine(first_day, time(0)) + timedelta(minutes=minute)
