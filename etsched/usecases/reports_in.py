"""What comes back from the ground: runs that a controller or a person reports, and tables that a person keyed in."""

from __future__ import annotations

import math
import uuid
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.errors import AppliedRefused, Problem
from etsched.model.service import KeyedIn
from etsched.planning.heat_table import terminals_of
from etsched.stores import plans, sites, trail, water
from etsched.usecases.controller import state_in
from etsched.usecases.properties import site_in, site_of
from etsched.usecases.what_ran import night_seen, served_by, window_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from etsched.model.service import AppliedRun, ControllerState, NightSeen
    from etsched.model.site import Site
    from etsched.model.visit import Program
    from etsched.usecases.service import Service

_DAY_MIN = 24 * 60
# Older than this it is a slip of the pen, and the weather that the books need is not kept (own limit).
_OLDEST_D = 366
_LONGEST_ID = 128
# Reporters choose their ids for themselves, so that two properties may well use the same one.
_IDS = uuid.UUID("5b0a6f0e-6f4d-4c0e-9a53-0d0f3a1c7b21")


def report_applied(
    service: Service, site_key: str, runs: Sequence[AppliedRun], nights_whole: Sequence[date], actor: str
) -> int:
    """Keep runs, and that nights are told wholly; gives how many runs were new.

    A run whose id is known is passed over. The balances after a night that is told late are reckoned anew when the
    next day is closed. Raises NotKept, AppliedRefused with every problem; then nothing is kept.
    """
    now = service.clock.now()
    with service.database.writing() as writing:
        site = site_of(site_in(writing, site_key))
        problems = [*_wrong_runs(site, runs, now), *_wrong_nights(site, nights_whole, now)]
        if problems:
            raise AppliedRefused(problems)
        sites.hold(writing, site_key)
        own = [replace(run, report=str(uuid.uuid5(_IDS, f"{site_key}/{run.report}"))) for run in runs]
        fresh = water.put_applied(writing, site_key, own, now, actor)
        known = water.nights_reported(writing, site_key, min(nights_whole), max(nights_whole)) if nights_whole else ()
        whole = sorted(set(nights_whole) - set(known))
        for opens_on in whole:
            water.put_night_report(writing, site_key, opens_on, now, actor)
        if fresh or whole:
            first = min([*(run.opens_on for run in runs), *whole])
            water.forget_balances(writing, site_key, served_by(site, first))
            trail.note(writing, now, actor, "applied reported", site_key, f"{fresh} runs, {len(whole)} whole nights")
    return fresh


def _wrong_runs(site: Site, runs: Sequence[AppliedRun], now: datetime) -> Iterator[Problem]:
    terminals = {station.terminal for station in site.stations}
    for at, run in enumerate(runs):
        if not 0 < len(run.report) <= _LONGEST_ID:
            yield _problem(f"runs.{at}.report", "it is no id", f"give each run an id of 1 to {_LONGEST_ID} characters")
        if run.terminal not in terminals:
            known = ", ".join(str(terminal) for terminal in sorted(terminals))
            yield _problem(f"runs.{at}.terminal", f"there is no station {run.terminal}", f"use one of {known}")
        if not (math.isfinite(run.minutes_min) and 0.0 <= run.minutes_min <= _DAY_MIN):
            yield _problem(f"runs.{at}.minutes", "it is no number of minutes of a day", f"give 0 to {_DAY_MIN}")
        yield from _wrong_date(site, run.opens_on, now, f"runs.{at}.opens_on")


def _wrong_nights(site: Site, nights: Sequence[date], now: datetime) -> Iterator[Problem]:
    for at, opens_on in enumerate(nights):
        field = f"nights_whole.{at}"
        late = list(_wrong_date(site, opens_on, now, field))
        if not late and window_of(site, served_by(site, opens_on)).opens > now:
            late = [_problem(field, f"the night of {opens_on} has not begun", "tell a night when it is over")]
        yield from late


def _wrong_date(site: Site, opens_on: date, now: datetime, field: str) -> Iterator[Problem]:
    today = now.astimezone(site.place.zone).date()
    if opens_on > today:
        yield _problem(field, f"{opens_on} lies ahead, and there it is {today}", "give the date the night began on")
    elif opens_on < today - timedelta(days=_OLDEST_D):
        yield _problem(field, f"{opens_on} is more than a year ago", "give the date the night began on")


def _problem(field: str, wrong: str, remedy: str) -> Problem:
    return Problem("report", None, field, wrong, remedy)


def confirm_keyed_in(
    service: Service, site_key: str, since: date, plan_revision: int, actor: str, programs: tuple[Program, ...] = ()
) -> None:
    """Keep a person's word that a plan is in the clock since the night that begins on a date.

    Without `programs` it is the plan's table by station, as it stands. Raises NotKept, AppliedRefused.
    """
    now = service.clock.now()
    with service.database.writing() as writing:
        site = site_of(site_in(writing, site_key))
        plan = plans.find_plan(writing, site_key, plan_revision)
        problems = list(_wrong_date(site, since, now, "since"))
        if plan is None:
            wrong = f"{site_key} has no plan of revision {plan_revision}"
            problems.append(_problem("plan_revision", wrong, "name one that is kept"))
        elif since < plan.at.astimezone(site.place.zone).date():
            remedy = "give the first night on which the clock ran it"
            problems.append(_problem("since", f"plan {plan_revision} was made after {since}", remedy))
        foreign = sorted(terminals_of(programs) - {station.terminal for station in site.stations})
        if foreign:
            wrong = f"the site has no station {', '.join(map(str, foreign))}"
            problems.append(_problem("programs", wrong, "give the programs of this site's clock"))
        if problems:
            raise AppliedRefused(problems)
        sites.hold(writing, site_key)
        plans.keep_keyed_in(writing, site_key, KeyedIn(since, plan_revision, now, actor, programs))
        water.forget_balances(writing, site_key, served_by(site, since))
        detail = f"{'programs' if programs else 'table'} of plan {plan_revision} since {since}"
        trail.note(writing, now, actor, "table in the clock", site_key, detail)


def take_back_keyed_in(service: Service, site_key: str, since: date, actor: str) -> None:
    """Take back the word that a plan is in the clock since a night, so that the one before it holds; twice is once.

    Raises NotKept.
    """
    now = service.clock.now()
    with service.database.writing() as writing:
        site = site_of(site_in(writing, site_key))
        sites.hold(writing, site_key)
        if plans.drop_keyed_in(writing, site_key, since):
            water.forget_balances(writing, site_key, served_by(site, since))
            trail.note(writing, now, actor, "table not in the clock", site_key, f"since {since}")


def controller_state(service: Service, site_key: str) -> ControllerState:
    """Say how it is known what runs at a property. Raises NotKept."""
    with service.database.reading() as reading:
        site = site_of(site_in(reading, site_key))
        return state_in(reading, site_key, site, service.clock.now())


def what_was_seen(service: Service, site_key: str, opens_on: date) -> tuple[NightSeen, ...]:
    """Hold what was reported of a night against its plan, by terminal. Raises NotKept."""
    with service.database.reading() as reading:
        site = site_of(site_in(reading, site_key))
        return night_seen(reading, site_key, site, served_by(site, opens_on))
