"""The likely range of depletion ahead: the books once more with the planned water, in likely weather on either side."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.model.plan import DepletionRange
from etsched.planning import water
from etsched.planning.light_runs import by_day
from etsched.planning.tried import SIDES, weather_at

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.plan import WeekPlan
    from etsched.planning.outlook import Outlook
    from etsched.planning.weather_days import Days


def depletion_ranges(outlook: Outlook, plan: WeekPlan) -> tuple[DepletionRange, ...]:
    """Give every station's evenings their likely range, if what is planned runs whatever the weather does.

    One end takes every day's ETo at its low and its rain at its high end, the other the reverse; only the weather is
    moved, not what is guessed of the ground.
    """
    # Of the light runs those that are planned: a cut may have taken some.
    outlook = replace(outlook, light=plan.light)
    sides = np.stack([_evenings(outlook, weather_at(outlook.days, side), plan) for side in SIDES])
    return tuple(
        DepletionRange(terminal, outlook.first_day + timedelta(days=served), low, high)
        for served, ends in enumerate(zip(sides.min(axis=0).tolist(), sides.max(axis=0).tolist(), strict=True))
        for terminal, low, high in zip(outlook.ground.terminal.tolist(), *ends, strict=True)
    )


def _evenings(outlook: Outlook, days: Days, plan: WeekPlan) -> NDArray[np.float64]:
    """Depletion of the root zone on every evening of the week (D, S) in this weather with the planned water."""
    deficit = water.deficit_from(outlook.ground, plan.start)
    evenings = []
    for day in plan.days:
        credit = _credited(outlook, plan, day.day)
        index = outlook.index(day.day)
        light = by_day(outlook, day.day)
        deficit = water.pass_day(outlook.ground, days, index, deficit, credit, light)[1].deficit_mm
        evenings.append(deficit[:, 0])
    return np.array(evenings)


def _credited(outlook: Outlook, plan: WeekPlan, serves: date) -> NDArray[np.float64]:
    credit = {
        run.terminal: run.credited_mm for night in plan.nights if night.night.serves == serves for run in night.runs
    }
    return np.array([credit.get(terminal, 0.0) for terminal in outlook.ground.terminal.tolist()])
