"""Whether the nights hold the clock's minutes with all that is to be added."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak
from etsched.core.night import Chains, Limits, pack
from etsched.model.heat import HeatNight, HeatRun

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.site import Site
    from etsched.planning.ground import Ground
    from etsched.planning.heat_table import Minutes

_TOLERANCE_MIN = 1e-9


def whole_minutes(exact_min: NDArray[np.float64]) -> NDArray[np.int64]:
    """Round additions (N, S) to whole minutes so that up to every night there are enough and not one too many."""
    so_far = np.ceil(np.cumsum(exact_min, axis=0) - _TOLERANCE_MIN)
    return np.asarray(np.diff(so_far, axis=0, prepend=0.0).astype(np.int64))


def heat_nights(
    site: Site,
    ground: Ground,
    windows: Sequence[Night | None],
    table: Minutes,
    extra_min: NDArray[np.int64],
    urgency_mm: NDArray[np.float64],
) -> tuple[HeatNight, ...]:
    """Pack every allowed night; `table`, `extra_min` and `urgency_mm` hold at least as many rows as `windows` (N, S).

    The whole run of a station is cut anew into cycles that do not run off. Where a night is too short, a station with
    a higher priority is served first, then the one that would pass its allowable depletion by most.
    """
    limits = site.rules.max_valves_count, site.rules.max_flow_l_min
    most = np.array([np.inf if station.most_min is None else float(station.most_min) for station in site.stations])
    found = []
    for day, window in enumerate(windows):
        if window is None:
            continue
        asked = np.where(ground.works, table.kept_min[day] + extra_min[day], 0.0)
        chains = _chains(site, ground, np.minimum(asked, most), urgency_mm[day])
        packed = pack(chains, Limits(window.length_min, *limits))
        placed = (chains.cycles_count - packed.dropped_count) * chains.cycle_min
        missing = np.maximum(np.ceil(asked - placed - _TOLERANCE_MIN), 0.0)
        runs = tuple(
            HeatRun(
                terminal=int(ground.terminal[at]),
                table_min=float(table.run_min[day, at]),
                kept_min=float(table.kept_min[day, at]),
                extra_min=int(extra_min[day, at]),
                cycles_count=int(chains.cycles_count[at]),
                cycle_min=int(chains.cycle_min[at]),
                soak_min=int(chains.soak_min[at]) if chains.cycles_count[at] > 1 else 0,
                missing_min=int(missing[at]),
            )
            for at in np.flatnonzero(asked > 0.0).tolist()
        )
        found.append(HeatNight(window, runs, packed.used_min, packed.bound_min))
    return tuple(found)


def _chains(site: Site, ground: Ground, run_min: NDArray[np.float64], urgency_mm: NDArray[np.float64]) -> Chains:
    count, cycle = cycle_soak.split_run(run_min, ground.longest_cycle_min, ground.least_cycle_min)
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
    priority = np.array([station.priority_count or 1 for station in site.stations])
    rank = np.empty(len(run_min), dtype=np.int64)
    rank[np.lexsort((ground.terminal, -urgency_mm, priority))] = np.arange(len(run_min))
    # A station whose flow nobody knows takes the whole supply, so that it runs alone.
    alone = site.rules.max_flow_l_min if site.rules.max_flow_l_min is not None else 0.0
    flow = np.where(np.isnan(ground.flow_l_min), alone, ground.flow_l_min)
    return Chains(ground.terminal, count, cycle, soak.astype(np.int64), flow, rank)
