"""The heat check from files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from etsched.days import day_text
from etsched.documents.clock_document import read_clock_document
from etsched.documents.earlier_week import read_week_document
from etsched.documents.visit_file import read_visit, read_visits
from etsched.errors import PlanRefused
from etsched.model.heat import HeatSpell
from etsched.model.visit import ClockFound
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.planning.visit_evaluation import after_visits
from etsched.planning.week import Earlier
from etsched.usecases.week import Before, earlier_from

if TYPE_CHECKING:
    from etsched.model.heat import HeatCheck
    from etsched.model.site import Site
    from etsched.usecases.inputs import Inputs

DEFAULT_D = 5


@dataclass(frozen=True, slots=True)
class HeatAsk:
    """What is to be checked and how much hotter; the table is in one file.

    `found` is a record of a visit, `table` a week's document, `keyed` a document of programs for the clock.
    """

    found: Path | None = None
    table: Path | None = None
    keyed: Path | None = None
    hotter_c: float | None = None
    length_d: int | None = None
    first: date | None = None


def heat_from_inputs(inputs: Inputs, ask: HeatAsk, before: Before) -> HeatCheck:
    """Check the table of a file from tonight on. Raises AppliedRefused, VisitRefused, PlanRefused.

    What the visit measured, and the water of a week's document, count in the check unless `before` says otherwise.
    """
    if sum(file is not None for file in (ask.found, ask.table, ask.keyed)) != 1:
        raise PlanRefused(
            "there is no one table to check; name what is in the clock: a record of a visit that read its programs "
            "(--found), the JSON document of the week that was keyed in (--table), or that of the programs (--now)"
        )
    if ask.hotter_c is None and (ask.length_d is not None or ask.first is not None):
        raise PlanRefused('days alone say nothing of heat; say too how much hotter they are, as --hotter "8 F"')
    first_day = inputs.today + timedelta(days=1)
    earlier = earlier_from(inputs, before)
    files = before.visits
    held: ClockFound | WeekMinutes
    if ask.table is not None:
        held, its_water = _week(ask.table, inputs.site, first_day)
        if before.week_document is None and before.ran is None:
            earlier = its_water
    if ask.found is not None:
        held = clock_found(ask.found, inputs)
        files = (*(each for each in files if each != ask.found), ask.found)
    if ask.keyed is not None:
        held = ClockFound(read_clock_document(ask.keyed, inputs.site), source="the clock as it was keyed in")
    site, earlier = after_visits(inputs.site, read_visits(files, inputs.site, inputs.today), earlier)
    return heat_check(HeatCase(site, inputs.weather, first_day, held, _spell(ask, first_day), earlier))


def clock_found(path: Path, inputs: Inputs) -> ClockFound:
    """Read the clock as a visit found it. Raises VisitRefused, and PlanRefused where it read no program."""
    visit = read_visit(path, inputs.site, inputs.today)
    if visit.clock is None or not visit.clock.programs:
        raise PlanRefused(
            f"{path}: the {visit.name} read no program of the clock, so nothing is known of what is keyed in; name a "
            "record that did"
        )
    return visit.clock


def _spell(ask: HeatAsk, first_day: date) -> HeatSpell | None:
    if ask.hotter_c is None:
        return None
    length_d = DEFAULT_D if ask.length_d is None else ask.length_d
    return HeatSpell(ask.hotter_c, ask.first or first_day, length_d)


def _week(path: Path, site: Site, first_day: date) -> tuple[WeekMinutes, Earlier]:
    """Read a week's table and the water it began with; a week still to come tells nothing of today's water."""
    state, minutes = read_week_document(path, site)
    source = f"the table of the week from {day_text(state.morning)} on"
    known = Earlier(state, minutes) if state.morning <= first_day else Earlier()
    return WeekMinutes({key: float(each) for key, each in minutes.items()}, source), known
