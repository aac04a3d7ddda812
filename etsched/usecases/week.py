"""The week's table and the working behind it, from files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.documents.earlier_week import read_applied, read_week_document
from etsched.documents.visit_file import read_visits
from etsched.errors import PlanRefused
from etsched.planning import start, water
from etsched.planning.remedies import with_remedies
from etsched.planning.savings import with_savings
from etsched.planning.visit_evaluation import after_visits
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, outlook_of, plan_week

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from etsched.model.plan import WeekPlan
    from etsched.usecases.inputs import Inputs


@dataclass(frozen=True, slots=True)
class Before:
    """What is known of the days before: last week's document, a list of what ran, records of visits."""

    week_document: Path | None = None
    ran: Path | None = None
    visits: tuple[Path, ...] = ()


def week_from_inputs(inputs: Inputs, before: Before) -> WeekPlan:
    """Plan the seven nights from tonight on; the first morning they serve is tomorrow's.

    Raises AppliedRefused, VisitRefused, PlanRefused.
    """
    visits = read_visits(before.visits, inputs.site, inputs.today)
    site, earlier = after_visits(inputs.site, visits, earlier_from(inputs, before))
    plan = plan_week(site, inputs.weather, inputs.today + timedelta(days=1), earlier)
    return with_savings(with_remedies(plan, inputs.weather, earlier))


def visit_days(inputs: Inputs, before: Before) -> tuple[date, ...]:
    """Give the days of the visits whose records are handed over. Raises VisitRefused."""
    return tuple(visit.day for visit in read_visits(before.visits, inputs.site, inputs.today))


def earlier_from(inputs: Inputs, before: Before) -> Earlier:
    """Read what is known of the water and the runs before a plan. Raises AppliedRefused."""
    ran = None if before.ran is None else read_applied(before.ran, inputs.site)
    if before.week_document is not None:
        state, planned = read_week_document(before.week_document, inputs.site)
        # A list of what ran outranks what was planned: what it leaves out did not run. Runs before that week stay.
        older = {run: minutes for run, minutes in planned.items() if run[1] < state.morning}
        return Earlier(state, planned if ran is None else {**older, **ran})
    if ran is None:
        return Earlier()
    days = days_from_weather(inputs.weather, inputs.site)
    outlook = outlook_of(inputs.site, days, days.first)
    deficit = start.assumed_deficit(inputs.site, outlook.ground, days, 0)
    return Earlier(water.state_of(outlook.ground, days.first, deficit), ran)


def check_station(plan: WeekPlan, terminal: int) -> None:
    """Raise PlanRefused unless the site has the station."""
    terminals = [station.terminal for station in plan.site.stations]
    if terminal not in terminals:
        known = ", ".join(str(number) for number in terminals)
        raise PlanRefused(f"{plan.site.name} has no station {terminal}; its terminals are {known}")
