"""Which minutes the water books credit to each night: as reported, as keyed in, as planned, or none.

Of a night that a controller has told wholly, both suppositions credit what it told. Of one that a table in the clock
ran, both credit the table, and what ran by hand beside it. Of one that nobody has told, the supposition "reported"
credits what was reported all the same and "planned" the plan, so that silence never counts as success. A night that
may still be told counts as planned.
"""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.days import night
from etsched.model.service import How, NightSeen, Supposing
from etsched.planning.heat_table import minutes_of_night
from etsched.planning.outlook import WEEK_D, opening_day
from etsched.stores import plans, water

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.days import Night
    from etsched.model.service import AppliedRun, KeptPlan
    from etsched.model.site import Site

    Minutes = Mapping[int, int]  # by terminal
    Ran = dict[tuple[int, date], int]  # by terminal and day served

# How long after its window closes a night may still be told (common practice, no source).
REPORT_WITHIN = timedelta(hours=3)


def what_ran(
    reading: Connection, key: str, site: Site, first: date, last: date, now: datetime
) -> dict[Supposing, Ran]:
    """Give the minutes of the nights that serve two days and those between them, under each supposition."""
    ran: dict[Supposing, Ran] = {Supposing.REPORTED: {}, Supposing.PLANNED: {}}
    opens = opening_day(site.rules, first), opening_day(site.rules, last)
    whole = water.nights_reported(reading, key, *opens)
    runs = water.applied_between(reading, key, *opens)
    for back in range((last - first).days + 1):
        serves = first + timedelta(days=back)
        window = window_of(site, serves)
        told = [run for run in runs if run.opens_on == window.opens_on]
        reported = planned = _sums(told)
        if window.opens_on not in whole:
            keyed = table_in_clock(reading, key, site, window)
            if keyed is not None:
                reported = planned = _added(keyed, _sums(run for run in told if run.how is How.HAND))
            else:
                planned = _larger(planned_minutes(reading, key, serves), planned)
                reported = reported if is_due(window, now) else planned
        for supposing, minutes in ((Supposing.REPORTED, reported), (Supposing.PLANNED, planned)):
            ran[supposing] |= {(terminal, serves): spent for terminal, spent in minutes.items()}
    return ran


def window_of(site: Site, serves: date) -> Night:
    """Give the hours of the night that serves a day, whether or not water may run in them."""
    return night(opening_day(site.rules, serves), site.rules.opens_at, site.rules.closes_at, site.place.zone)


def served_by(site: Site, opens_on: date) -> date:
    """Give the day that the night beginning on a date serves."""
    return opens_on + (opens_on - opening_day(site.rules, opens_on))


def is_due(window: Night, now: datetime) -> bool:
    """Say whether a night should have been told by now."""
    return window.closes + REPORT_WITHIN <= now


def table_in_clock(reading: Connection, key: str, site: Site, window: Night) -> Minutes | None:
    """Give the minutes of a night by what a person said is in the clock: programs, or a plan's table by station.

    A clock repeats both by the weekday. None where nobody said so, or a controller has told a night since.
    """
    keyed = plans.keyed_in_on(reading, key, window.opens_on)
    if keyed is None or water.nights_reported(reading, key, keyed.since, window.opens_on):
        return None
    if keyed.programs:
        return minutes_of_night(keyed.programs, site.rules, window.serves)
    plan = plans.find_plan(reading, key, keyed.plan_revision)
    if plan is None:  # pragma: no cover - a foreign key keeps it
        return None
    weekday = (window.serves - plan.first_day).days % WEEK_D
    return _minutes_of(plan, plan.first_day + timedelta(days=weekday))


def planned_minutes(reading: Connection, key: str, serves: date) -> dict[int, int]:
    """Give the minutes that the plan in force had for the night that serves a day; none past its week."""
    plan = plans.plan_in_force(reading, key, serves)
    return {} if plan is None else _minutes_of(plan, serves)


def _minutes_of(plan: KeptPlan, serves: date) -> dict[int, int]:
    runs = json.loads(plan.document)["applied"]
    if serves < plan.first_day:  # what the document says of the time before its week is no plan
        return {}
    return {run["terminal"]: run["minutes"] for run in runs if run["serves"] == serves.isoformat()}


def night_seen(reading: Connection, key: str, site: Site, serves: date) -> tuple[NightSeen, ...]:
    """Hold what was reported of a night against its plan, by terminal."""
    opens_on = opening_day(site.rules, serves)
    whole = bool(water.nights_reported(reading, key, opens_on, opens_on))
    by_terminal: dict[int, list[AppliedRun]] = defaultdict(list)
    for run in water.applied_between(reading, key, opens_on, opens_on):
        by_terminal[run.terminal].append(run)
    planned = planned_minutes(reading, key, serves)
    return tuple(
        _seen(terminal, planned.get(terminal, 0), by_terminal[terminal], whole=whole)
        for terminal in sorted(planned.keys() | by_terminal.keys())
    )


def _seen(terminal: int, planned_min: int, runs: list[AppliedRun], *, whole: bool) -> NightSeen:
    ran_min = _sums(runs).get(terminal, 0)
    if not runs:
        what = "skipped" if whole else "not told"
    elif any(run.how is How.HAND for run in runs):
        what = "by hand"
    elif ran_min == 0:
        what = "skipped"
    elif ran_min < planned_min or any(run.how is How.CUT_SHORT for run in runs):
        what = "cut short"
    else:
        what = "as planned" if ran_min == planned_min else "longer than planned"
    return NightSeen(terminal, planned_min, ran_min, what)


def _sums(runs: Iterable[AppliedRun]) -> dict[int, int]:
    """Add up a night's minutes; what is left of a minute is not credited, which errs on the dry side."""
    sums: dict[int, float] = defaultdict(float)
    for run in runs:
        sums[run.terminal] += run.minutes_min
    return {terminal: int(minutes + 1e-6) for terminal, minutes in sums.items()}


def _added(one: Minutes, other: Minutes) -> dict[int, int]:
    return {terminal: one.get(terminal, 0) + other.get(terminal, 0) for terminal in sorted(one.keys() | other.keys())}


def _larger(one: Minutes, other: Minutes) -> dict[int, int]:
    return {
        terminal: max(one.get(terminal, 0), other.get(terminal, 0)) for terminal in sorted(one.keys() | other.keys())
    }
