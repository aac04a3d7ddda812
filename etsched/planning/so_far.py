"""What the nights planned so far leave to a later one: what a cut still allows, and which station has watered."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.planning.dormant import asked

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from etsched.days import Night
    from etsched.model.plan import NightPlan
    from etsched.model.site import Site
    from etsched.planning.choice import Need
    from etsched.planning.outlook import Outlook


def cut_on(site: Site, opens_on: date) -> float:
    """Give the part of the water, percent, that restrictions take on a day; the largest where several hold."""
    return max((each.cut_pct for each in site.restrictions if each.first <= opens_on <= each.last), default=0.0)


def so_far(outlook: Outlook, nights: Sequence[NightPlan]) -> Outlook:
    """Give the outlook as it is after some nights of the plan."""
    ran = {(run.terminal, each.night.serves): run.length_min for each in nights for run in each.runs}
    after = replace(outlook, watered_min={**outlook.watered_min, **ran})
    if outlook.allowance_min is None:
        return after
    place = {int(terminal): at for at, terminal in enumerate(outlook.ground.terminal)}
    left = outlook.allowance_min.copy()
    for each in nights:
        if cut_on(outlook.site, each.night.opens_on):
            for run in each.runs:
                left[place[run.terminal]] -= run.length_min
    return replace(after, allowance_min=left)


def as_allowed(outlook: Outlook, window: Night, need: Need) -> Need:
    """Add what dormant turf is due to a night's needs, and keep them all within what a cut still allows.

    Whole cycles are left out; a station with less than a cycle left runs once, unless that is of no use.
    """
    need = asked(outlook, window, need)
    left = outlook.allowance_min
    if left is None or not cut_on(outlook.site, window.opens_on):
        return need
    over = need.cycles_count * need.cycle_min > left
    fewer = np.where(over, left // np.maximum(need.cycle_min, 1), need.cycles_count)
    last = over & (fewer == 0) & (left >= np.maximum(np.ceil(outlook.ground.least_cycle_min), 1.0))
    count = np.where(last, 1, fewer)
    return replace(
        need,
        cycles_count=count,
        cycle_min=np.where(last, left, need.cycle_min),
        wanted=need.wanted & ~(over & (count == 0)),
    )
