"""The planner's own door: what it would run tonight, knowing this weather and this water, and nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.planning.week import Earlier, plan_week

if TYPE_CHECKING:
    from datetime import date

    from etsched.frames.weather import Weather
    from etsched.model.plan import WaterState, WeekPlan
    from etsched.model.site import Site


def week_from(site: Site, weather: Weather, state: WaterState) -> WeekPlan:
    """Plan the week that begins on the morning of `state`, as `etsched week` would."""
    return plan_week(site, weather, state.morning, Earlier(water=state))


def tonight(plan: WeekPlan) -> tuple[np.ndarray, int]:
    """Net depth that the plan's first night credits to every station (S,), and the minutes it could not hold."""
    net = np.zeros(len(plan.site.stations))
    night = _first_night(plan, plan.first_day)
    if night is None:
        return net, 0
    at = {station.terminal: n for n, station in enumerate(plan.site.stations)}
    for run in night.runs:
        net[at[run.terminal]] = run.credited_mm
    return net, sum(short.missing_min for short in night.shortfalls)


def tonight_as_text(plan: WeekPlan) -> str:
    """Everything the plan says of tonight, to compare letter by letter."""
    return repr((_first_night(plan, plan.first_day), plan.start))


def _first_night(plan: WeekPlan, serves: date):
    return next((night for night in plan.nights if night.night.serves == serves), None)
