"""The paper for the inside of the controller door: the kept plan, set for the ordinary clock of the property."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

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
    if keyed is None or not keyed.programs:
        return ClockSheet(table)
    table = relettered(keyed.programs, table)
    return ClockSheet(table, differences(keyed.programs, table))
