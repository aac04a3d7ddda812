"""What repairs would save in the week as planned: the same net depth with fewer minutes, where water lands evenly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from etsched.model.plan import Saving
from etsched.model.site import Basis, Known
from etsched.planning.ground import facts_by_station, ground
from etsched.reference import tables

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from etsched.model.plan import Run, WeekPlan
    from etsched.model.site import Site, Station


def even_again(station: Station) -> Station:
    """Give a station that waters as evenly as a good one of its kind, or as it does now if that is better."""
    good = tables.uniformity(station.head)
    as_found = station.uniformity.value if station.uniformity else good.value
    return replace(station, uniformity=Known(max(good.high, as_found), Basis.TYPICAL, good.source))


def with_savings(plan: WeekPlan) -> WeekPlan:
    """Give the plan with what every station that waters in it would save."""
    return replace(plan, savings=tuple(_savings(plan)))


def _savings(plan: WeekPlan) -> Iterator[Saving]:
    even = tuple(even_again(station) for station in plan.site.stations)
    now, then = (_multipliers(site, plan) for site in (plan.site, replace(plan.site, stations=even)))
    by_terminal: dict[int, list[Run]] = {}
    for run in (run for night in plan.nights for run in night.runs if run.cycles):
        by_terminal.setdefault(run.terminal, []).append(run)
    for at, station in enumerate(plan.site.stations):
        runs = by_terminal.get(station.terminal)
        found, good = station.uniformity, even[at].uniformity
        if not runs or good is None:
            continue
        if found is None or found.basis is not Basis.MEASURED:
            yield Saving(station.terminal, None, good.value, None)
        elif found.value < good.value:
            share = float(then[at] / now[at])
            yield Saving(station.terminal, found.value, good.value, _saved_l(runs, share))


def _multipliers(site: Site, plan: WeekPlan) -> NDArray[np.float64]:
    return ground(site, facts_by_station(site, plan.first_day.month)).multiplier_factor


def _saved_l(runs: list[Run], share: float) -> float | None:
    """Add up what each run would not need; where a night cuts it short, evenness first makes up for that."""
    saved_l = 0.0
    for run in runs:
        if run.flow_l is None:
            return None
        spare_min = max(0.0, run.length_min - share * run.wanted_min)
        saved_l += run.flow_l * spare_min / run.length_min
    return saved_l
