"""The programs for an ordinary clock from files, and what to change in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.documents.clock_document import read_clock_document
from etsched.documents.visit_file import read_visits
from etsched.errors import PlanRefused
from etsched.planning.clock_differences import differences, relettered
from etsched.planning.heat_table import terminals_of, unknown_note
from etsched.planning.programs import clock_of, clock_table
from etsched.planning.visit_evaluation import after_visits
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of, plan_week
from etsched.usecases.heat import clock_found
from etsched.usecases.week import earlier_from

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.model.clock_table import ClockTable, Difference
    from etsched.model.visit import Program
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


@dataclass(frozen=True, slots=True)
class ClockNow:
    """Where to read what is keyed in now: a record of a visit, or an earlier clock document."""

    found: Path | None = None
    document: Path | None = None


@dataclass(frozen=True, slots=True)
class ClockSheet:
    """The table to key in and what differs from the clock as it is; None where nobody said what that is.

    `held` says by whose word the service knows how the clock is.
    """

    table: ClockTable
    changes: tuple[Difference, ...] | None = None
    held: str = ""


def clock_from_inputs(inputs: Inputs, now: ClockNow, before: Before) -> ClockSheet:
    """Plan the week from tonight on and set it for the site's clock. Raises AppliedRefused, VisitRefused, PlanRefused.

    What the visit that read the clock measured counts in the plan.
    """
    clock_of(inputs.site)  # a site without a clock is told so before anything else is read
    if now.found is not None and now.document is not None:
        raise PlanRefused("the clock as it is was named twice; name it with --found or with --now, one of them")
    held = _held(inputs, now)
    files = before.visits
    if now.found is not None:
        files = (*(each for each in files if each != now.found), now.found)
    visits = read_visits(files, inputs.site, inputs.today)
    site, earlier = after_visits(inputs.site, visits, earlier_from(inputs, before))
    first_day = inputs.today + timedelta(days=1)
    plan = plan_week(site, inputs.weather, first_day, earlier)
    table = clock_table(outlook_of(site, days_from_weather(inputs.weather, site), first_day, earlier), plan)
    if held is None:
        return ClockSheet(table)
    table = relettered(held, table)
    unknown = sorted(terminals_of(held) - {station.terminal for station in site.stations})
    if unknown:
        table = replace(table, notes=(*table.notes, unknown_note(unknown)))
    return ClockSheet(table, differences(held, table))


def _held(inputs: Inputs, now: ClockNow) -> tuple[Program, ...] | None:
    if now.document is not None:
        return read_clock_document(now.document, inputs.site)
    return None if now.found is None else clock_found(now.found, inputs).programs
