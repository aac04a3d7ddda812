"""The heat check of a property as it is kept: the table in its clock, its weather, its water, what visits found."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text
from etsched.errors import NoPlanYet
from etsched.model.heat import HeatSpell
from etsched.model.service import Supposing
from etsched.model.visit import ClockFound
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.planning.water import state_of
from etsched.stores import plans
from etsched.usecases.books import drier, morning_of, read_books
from etsched.usecases.heat import DEFAULT_D
from etsched.usecases.properties import get_site, site_of

if TYPE_CHECKING:
    from etsched.model.heat import HeatCheck
    from etsched.model.service import KeptPlan
    from etsched.usecases.service import Service


@dataclass(frozen=True, slots=True)
class Hotter:
    """How much hotter than forecast, for how many days, from which day on; None is tomorrow."""

    hotter_c: float
    length_d: int = DEFAULT_D
    first: date | None = None


def heat_of(service: Service, key: str, hotter: Hotter | None) -> HeatCheck:
    """Check what a person said is in the clock, else the last plan's table, from tonight on.

    Raises NotKept, PlanRefused.
    """
    today = service.clock.today(site_of(get_site(service, key)).place.zone)
    held, first_day = _in_clock(service, key, today), today + timedelta(days=1)
    books = read_books(service, key, first_day)
    reported, planned = (morning_of(books, each, first_day) for each in (Supposing.REPORTED, Supposing.PLANNED))
    deficit = drier(reported.deficit_mm, planned.deficit_mm)
    earlier = replace(reported.earlier, water=state_of(reported.outlook.ground, first_day, deficit))
    spell = None if hotter is None else HeatSpell(hotter.hotter_c, hotter.first or first_day, hotter.length_d)
    return heat_check(HeatCase(reported.site, books.weather, first_day, held, spell, earlier))


def _in_clock(service: Service, key: str, today: date) -> WeekMinutes | ClockFound:
    with service.database.reading() as reading:
        keyed = plans.keyed_in_on(reading, key, today)
        if keyed is not None and keyed.programs:
            source = f"the door paper of plan {keyed.plan_revision}, in the clock since {day_text(keyed.since)}"
            return ClockFound(keyed.programs, source=source)
        found = None if keyed is None else plans.find_plan(reading, key, keyed.plan_revision)
        found = found or plans.latest_plan(reading, key)
    if found is None:
        raise NoPlanYet(f"no plan of {get_site(service, key).name} has been made yet, so there is no table to check")
    return _table(found, supposed=keyed is None)


def _table(plan: KeptPlan, *, supposed: bool) -> WeekMinutes:
    """Take the minutes of a plan's own week out of its document."""
    runs = [(run, date.fromisoformat(run["serves"])) for run in json.loads(plan.document)["applied"]]
    minutes = {(run["terminal"], serves): float(run["minutes"]) for run, serves in runs if serves >= plan.first_day}
    source = f"plan {plan.revision}, of the week from {day_text(plan.first_day)} on"
    if supposed:
        source = f"{source}, as if it were in the clock (nobody has said what is)"
    return WeekMinutes(minutes, source)
