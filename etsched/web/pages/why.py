"""A station's minutes unfolded step by step, and what in them nobody measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import Response

from etsched.days import day_text
from etsched.errors import NotKept
from etsched.tables.assumptions import assumption_table, first_to_measure
from etsched.tables.figure import plain
from etsched.tables.working import find_station, first_night, working_table
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.properties import get_site
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import NOT_FOUND, Refused

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.plan import WeekPlan

_SHOWN = 40  # letters of what was typed


def terminal_in(asked: Asked, plan: WeekPlan) -> int:
    """Give the terminal in the address. Raises NotKept where the property has no such station."""
    for station in plan.site.stations:
        if str(station.terminal) == asked.request.path_params["terminal"]:
            return station.terminal
    raise NotKept("the property has no such station")


def show(asked: Asked) -> Response:
    """Unfold a station's minutes of one night, by default of the first that it waters."""
    name = get_site(asked.service, asked.site).name
    _, plan = week_plan(asked.service, asked.site)
    terminal = terminal_in(asked, plan)
    days = [night.night.opens_on for night in plan.nights]
    chosen = _chosen(asked, sorted({*days, *(rest.opens_on for rest in plan.rests)})) or first_night(plan, terminal)
    chosen = chosen or days[0]
    guesses = [row for row in assumption_table(plan) if not row.terminals or terminal in row.terminals]
    blocked = find_station(plan, terminal).blocked
    return asked.page(
        "why.html.j2",
        site=asked.site,
        clock=plan.site.controller is not None,
        name=name,
        table=working_table(plan, terminal, chosen),
        nights=[(day.isoformat(), day_text(day)) for day in days],
        chosen=chosen.isoformat(),
        blocked="" if blocked is None else plain(blocked),
        guesses=guesses,
        to_measure=first_to_measure(sorted(guesses, key=lambda row: -row.swing)),
        stations=sorted(station.terminal for station in plan.site.stations),
    )


def _chosen(asked: Asked, days: list[date]) -> date | None:
    """Give the night in the address; raises Refused where it is none of the week's."""
    given = asked.request.query_params.get("night", "")
    chosen = next((day for day in days if day.isoformat() == given), None)
    if given and chosen is None:
        nights = f"{day_text(days[0])} to {day_text(days[-1])}"
        raise Refused(NOT_FOUND, f'This week has no night "{plain(given[:_SHOWN])}"; its nights are {nights}.')
    return chosen


PAGES = (Page("/sites/{site}/why/{terminal}", show),)
