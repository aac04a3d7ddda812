"""Light runs by day of new seed and new sod: how long, when, and how the water books take them."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak, runtime
from etsched.core.night import Packing, pack, pack_whole
from etsched.days import Night, night
from etsched.model.light_runs import LightDay, LightRun
from etsched.planning import water
from etsched.planning.modes import stage_on
from etsched.planning.night_asked import chains_of, limits_of
from etsched.planning.outlook import WEEK_D, bans_on, ground_tonight

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.planning.ground import Ground
    from etsched.planning.outlook import Outlook

    Counts = NDArray[np.int64]


def light_days(outlook: Outlook) -> tuple[LightDay, ...]:
    """Lay out the light runs of the week's days; none where the site states no hours for them.

    They do not depend on the nights: each run brings back what the turf has used since the one before.
    """
    hours = outlook.site.new_turf
    if hours is None:
        return ()
    days = (outlook.first_day + timedelta(days=later) for later in range(WEEK_D))
    windows = (night(day, hours.opens_at, hours.closes_at, outlook.site.place.zone) for day in days)
    return tuple(day for window in windows if (day := _light_day(outlook, window)) is not None)


def light_on(outlook: Outlook, day: date) -> LightDay | None:
    """Give the light runs of one day."""
    return next((each for each in outlook.light if each.hours.serves == day), None)


def by_day(outlook: Outlook, day: date) -> water.ByDay | None:
    """Give what a day's light runs put into the water books; None where there are none."""
    light = light_on(outlook, day)
    if light is None:
        return None
    shares = sorted({run.after_fraction for run in light.runs})
    place = {int(terminal): at for at, terminal in enumerate(outlook.ground.terminal)}
    depth = np.zeros((len(place), len(shares)))
    for run in light.runs:
        depth[place[run.terminal], shares.index(run.after_fraction)] += run.credited_mm
    return water.ByDay(depth, np.array(shares))


def _light_day(outlook: Outlook, window: Night) -> LightDay | None:
    ground = ground_tonight(outlook, window)
    stages = [stage_on(station, window.serves) for station in outlook.site.stations]
    count = np.array([stage.runs_count if stage else 0 for stage in stages], dtype=np.int64)
    if any(not ban.terminals for ban in bans_on(outlook.site, window.opens_on)):
        return None
    moist = np.array([stage.moist_mm if stage else 0.0 for stage in stages])
    cycle = _minutes(outlook, ground, window.serves, count, moist)
    count = np.where(ground.works & (cycle > 0), count, 0)
    if not count.any():
        return None
    packed = _packed(outlook, ground, window, count, cycle)
    applied, credit = water.credited(ground, cycle)
    runs = [
        LightRun(
            terminal=int(ground.terminal[at]),
            start_min=begin,
            length_min=int(cycle[at]),
            applied_mm=float(applied[at]),
            credited_mm=float(credit[at]),
            flow_l=None if np.isnan(ground.flow_l_min[at]) else float(ground.flow_l_min[at] * cycle[at]),
            after_fraction=(number + 1) / int(count[at]),
        )
        for at, starts in enumerate(packed.starts_min)
        for number, begin in enumerate(starts)
    ]
    dropped = [(int(ground.terminal[at]), int(packed.dropped_count[at])) for at in np.flatnonzero(packed.dropped_count)]
    return LightDay(window, tuple(sorted(runs, key=lambda run: (run.start_min, run.terminal))), tuple(dropped))


def _minutes(
    outlook: Outlook, ground: Ground, day: date, count: Counts, moist_mm: NDArray[np.float64]
) -> Counts:
    """Whole minutes of one run (S,): an equal share of the day's use, no more than the moist depth holds.

    The daily books know no hours, so the runs of a day share its use equally. Rain that is only forecast is not
    counted on. A run is never longer than the ground takes without runoff.
    """
    index = outlook.index(day)
    etc, _ = water.demand(ground, outlook.days, index)
    fell = 0.0 if outlook.days.records[index].forecast else float(outlook.days.pulse_mm[index].sum())
    share = np.maximum(etc - fell, 0.0) / np.maximum(count, 1)
    holds = moist_mm * ground.total_available_mm / ground.thickness_mm[:, 0]
    net = np.where(count > 0, np.minimum(share, holds), 0.0)
    exact = runtime.run_minutes(runtime.gross_depth(net, ground.multiplier_factor), ground.landing_rate_mm_h)
    # What a run would take in several cycles, it gets of one of them: the next run is never far.
    return cycle_soak.split_run(
        np.minimum(exact, np.maximum(np.floor(ground.longest_cycle_min + 1e-9), 0.0)),
        ground.longest_cycle_min,
        ground.least_cycle_min,
    )[1]


def _packed(outlook: Outlook, ground: Ground, window: Night, count: Counts, cycle: Counts) -> Packing:
    """Spread the runs over the hours; where that does not hold them, lay them as close as their soaks allow."""
    limits = limits_of(outlook, window)
    rank = np.empty(len(count), dtype=np.int64)
    rank[np.lexsort((ground.terminal, ground.priority_count))] = np.arange(len(count))
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h).astype(np.int64)
    spread = np.maximum(window.length_min // np.maximum(count, 1) - cycle, soak)
    whole = pack_whole(chains_of(outlook, count, cycle, spread, rank), limits)
    return whole or pack(chains_of(outlook, count, cycle, soak, rank), limits)
