"""The paper for the inside of the controller door: the kept plan, set for the ordinary clock of the property."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from etsched.days import day_text
from etsched.model.service import Supposing
from etsched.planning.clock_differences import differences, relettered
from etsched.planning.programs import clock_of, clock_table
from etsched.planning.water import state_of
from etsched.planning.week import outlook_of
from etsched.stores import plans
from etsched.usecases.books import drier, morning_of, read_books
from etsched.usecases.clock import ClockSheet
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.kept_visit import today_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.model.service import KeyedIn
    from etsched.model.visit import Program, Visit
    from etsched.usecases.service import Service


def door_sheet(service: Service, key: str) -> ClockSheet:
    """Set the plan that holds now for the clock, and say what to change where a person said what is in it.

    Raises NotKept, PlanRefused, also where no clock is described.
    """
    _, plan = week_plan(service, key)
    clock_of(plan.site)  # a site without a clock is told so before anything is reckoned
    books = read_books(service, key, plan.first_day)
    reported, planned = (morning_of(books, each, plan.first_day) for each in Supposing)
    deficit = drier(reported.deficit_mm, planned.deficit_mm)
    earlier = replace(reported.earlier, water=state_of(reported.outlook.ground, plan.first_day, deficit))
    table = clock_table(outlook_of(reported.site, books.days, plan.first_day, earlier), plan)
    with service.database.reading() as reading:
        keyed = plans.keyed_in_on(reading, key, today_at(service, key))
    held = _held(keyed, books.visits)
    if held is None:
        return ClockSheet(table)
    programs, words = held
    table = relettered(programs, table)
    return ClockSheet(table, differences(programs, table), words)


def _held(keyed: KeyedIn | None, visits: Sequence[Visit]) -> tuple[tuple[Program, ...], str] | None:
    """Give the programs that are in the clock by the last word, a person's or a visit's, and whose word it is."""
    since = date.min if keyed is None else keyed.since
    found = [each for each in visits if each.clock is not None and each.clock.programs and each.day > since]
    if found and (clock := found[-1].clock) is not None:
        return clock.programs, f"as the {found[-1].name} found it"
    if keyed is not None and keyed.programs:
        return keyed.programs, f"as it was keyed in for the night of {day_text(keyed.since)}"
    return None
