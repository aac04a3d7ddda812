"""What no plan on the same nights could better: the turf's thirst and the water, with the week's own beside them."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.model.plan import WeekBound
from etsched.planning import water
from etsched.planning.light_runs import by_day
from etsched.planning.outlook import WEEK_D, ground_tonight, watering_night
from etsched.planning.thirst import past_allowable_mm

if TYPE_CHECKING:
    from etsched.model.plan import StationDay, WeekPlan
    from etsched.planning.outlook import Outlook


def week_bound(outlook: Outlook, plan: WeekPlan) -> WeekBound:
    """Hold a week against bounds that leave windows, valves and whole minutes out of account.

    The least thirst is that of filling every root zone on every night on which the station may water. The least water
    is what remains once that which passed below the deepest layer is taken off: a plan that ends as moist and lets
    the turf use as much cannot put down less.
    """
    credited = sum(line.irrigation_mm for line in plan.books)
    return WeekBound(
        past_mm=past_allowable_mm(plan.site, plan.first_day, plan.books),
        least_past_mm=past_allowable_mm(plan.site, plan.first_day, _filled_nightly(outlook, plan)),
        credited_mm=credited,
        least_credited_mm=max(credited - sum(line.drained_mm for line in plan.books), 0.0),
    )


def _filled_nightly(outlook: Outlook, plan: WeekPlan) -> list[StationDay]:
    deficit = water.deficit_from(outlook.ground, plan.start)
    lines: list[StationDay] = []
    for served in range(WEEK_D):
        serves = outlook.first_day + timedelta(days=served)
        window = watering_night(outlook.site, serves)
        credit = np.zeros(len(deficit))
        if window is not None:
            credit = np.where(ground_tonight(outlook, window).works, deficit[:, 0], 0.0)
        light = by_day(outlook, serves)
        asked, day = water.pass_day(outlook.ground, outlook.days, outlook.index(serves), deficit, credit, light)
        lines += water.book_lines(outlook.ground, serves, deficit, asked, day)
        deficit = day.deficit_mm
    return lines
