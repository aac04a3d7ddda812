"""The daily jobs of a property: fetch its weather, close yesterday's books, plan tonight.

Each reads, reckons without holding anything up, and then commits its result together with the end of its claim in one
transaction, so that a result is never there twice and never without its job.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import day_text
from etsched.errors import EtschedError, NightBegun
from etsched.frames.weather_text import weather_text
from etsched.model.service import JobState, KeptBalance, KeptPlan, Supposing
from etsched.planning.remedies import with_remedies
from etsched.planning.savings import with_savings
from etsched.planning.water import state_of
from etsched.planning.week import Earlier, plan_week
from etsched.reports.week_json import week_json
from etsched.stores import job_runs, plans, trail, water
from etsched.usecases import outbox
from etsched.usecases.books import drier, is_drier, morning_of, read_books, still
from etsched.usecases.controller import NOBODY_SAID, SILENT, tell_silence
from etsched.usecases.days_before import days_before
from etsched.usecases.properties import get_site, site_of
from etsched.usecases.what_ran import night_seen, window_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date, datetime

    from sqlalchemy import Connection

    from etsched.model.plan import WaterState, WeekPlan
    from etsched.model.service import Claim, NightSeen
    from etsched.model.site import Site, Station
    from etsched.usecases.books import Books, Morning
    from etsched.usecases.service import Service

# Weather older than this is told on the plan: both of a day's fetches must have failed (common practice, no source).
_OLD = timedelta(hours=30)
_ONE_DAY = timedelta(days=1)


def refresh_weather(service: Service, claim: Claim) -> None:
    """Ask a property's feeds anew and keep what they say. Raises NotKept, FeedFailed, PlanRefused."""
    key = claim.period.site
    text = weather_text(service.weather_of(site_of(get_site(service, key))))
    now = service.clock.now()
    with service.database.writing() as writing:
        fresh = water.put_weather(writing, key, now, text)
        job_runs.finish(writing, claim, now, JobState.DONE, "" if fresh else "the feeds say what they said before")


def close_day(service: Service, claim: Claim) -> None:
    """Carry the books through a day that is over, under both suppositions. Raises NotKept, PlanRefused.

    Mornings before it that are not kept, because a late word on a night made them void, are reckoned anew as well.
    """
    key, morning = claim.period.site, claim.period.day + _ONE_DAY
    books = read_books(service, key, morning)
    now = service.clock.now()
    if morning <= books.days.first:
        with service.database.writing() as writing:
            note = f"passed over: the weather that is kept begins on {books.days.first}"
            job_runs.finish(writing, claim, now, JobState.SKIPPED, note)
        return
    closed = [
        KeptBalance(key, supposing, state, now)
        for supposing in Supposing
        for state in _mornings(books, supposing, morning)
    ]
    with service.database.writing() as writing:
        still(books, writing)
        for balance in closed:
            water.put_balance(writing, balance)
        tell_silence(writing, key, books.state, now)
        seen = night_seen(writing, key, books.site, claim.period.day)
        job_runs.finish(writing, claim, now, JobState.DONE, "; ".join(_told(seen)))


def _mornings(books: Books, supposing: Supposing, last: date) -> Iterator[WaterState]:
    """Reckon the mornings after the last balance kept up to a day, each from the one before."""
    base = books.balances[supposing]
    reckoned = base is not None and base.morning >= books.days.first
    day = base.morning + _ONE_DAY if base is not None and reckoned else last
    state = None
    while day <= last:
        state = morning_of(books, supposing, day, state).state
        yield state
        day += _ONE_DAY


def _told(seen: Iterable[NightSeen]) -> Iterator[str]:
    for each in seen:
        if each.what not in {"as planned", "not told"}:
            yield f"station {each.terminal} {each.what} ({each.ran_min} min of {each.planned_min})"


def plan_tonight(service: Service, claim: Claim) -> None:
    """Plan the week from tonight on; the same document again is no new revision.

    Raises NotKept, PlanRefused; NightBegun where its window has opened meanwhile.
    """
    made = _made(service, claim.period.site, claim.period.day + _ONE_DAY)
    with service.database.writing() as writing:
        kept = _keep(writing, made)
        note = f"revision {kept.revision}" if kept.at == made.plan.at else f"nothing new since revision {kept.revision}"
        job_runs.finish(writing, claim, made.plan.at, JobState.DONE, note)


def plan_now(service: Service, site_key: str, actor: str) -> KeptPlan:
    """Plan because a person asks. Raises NotKept, PlanRefused, also while a window is open, and FeedFailed."""
    site = site_of(get_site(service, site_key))
    _have_weather(service, site_key, site)
    made = _made(service, site_key, service.clock.now().astimezone(site.place.zone).date() + _ONE_DAY)
    with service.database.writing() as writing:
        kept = _keep(writing, made)
        trail.note(writing, made.plan.at, actor, "plan made", site_key, f"revision {kept.revision}")
    return kept


def plan_after_visit(service: Service, site_key: str, actor: str) -> None:
    """Plan anew by what a visit found, or no longer says, where a plan stands and its night has not begun.

    Where that cannot be done the next plan of the daily job takes it in, and says what is wrong.
    """
    with service.database.reading() as reading:
        standing = plans.latest_head(reading, site_key)
    if standing is not None:
        with suppress(EtschedError):
            plan_now(service, site_key, actor)


def _have_weather(service: Service, key: str, site: Site) -> None:
    """Ask the feeds where no weather is kept yet, as of a property that has just been put."""
    with service.database.reading() as reading:
        known = water.latest_weather(reading, key)
    if known is None:
        text = weather_text(service.weather_of(site))
        with service.database.writing() as writing:
            water.put_weather(writing, key, service.clock.now(), text)


@dataclass(frozen=True, slots=True, eq=False)
class _Made:
    """A plan on its way into the store; its revision is settled there."""

    books: Books
    plan: KeptPlan


def _made(service: Service, key: str, first_day: date) -> _Made:
    books = read_books(service, key, first_day)
    window, now = window_of(books.site, first_day), service.clock.now()
    if window.opens <= now:
        raise NightBegun(
            f"the window of {day_text(window.opens_on)} is open already, and what runs in it is not changed any more; "
            "plan again when it has closed"
        )
    document = week_json(_week(service, books, first_day, now))
    digest = hashlib.sha256(document.encode()).hexdigest()
    return _Made(books, KeptPlan(key, 0, first_day, now, window.closes, document, digest))


def _keep(writing: Connection, made: _Made) -> KeptPlan:
    """Keep a plan under the next revision unless it says what the last one says; gives the one that holds."""
    still(made.books, writing)
    plan, books = made.plan, made.books
    tell_silence(writing, plan.site, books.state, plan.at)
    last = plans.latest_plan(writing, plan.site)
    if last is not None and (last.digest, last.valid_until) == (plan.digest, plan.valid_until):
        return last
    plan = replace(plan, revision=1 if last is None else last.revision + 1)
    plans.put_plan(writing, plan)
    body = {
        "plan_revision": plan.revision,
        "first_day": plan.first_day.isoformat(),
        "valid_until": plan.valid_until.isoformat(),
        "digest": plan.digest,
    }
    outbox.announce(writing, plan.at, plan.site, "plan made", body)
    return plan


def _week(service: Service, books: Books, first_day: date, now: datetime) -> WeekPlan:
    """Plan from the drier of both suppositions; where they differ, tonight brings no more than one refill."""
    reported, planned = (morning_of(books, each, first_day) for each in (Supposing.REPORTED, Supposing.PLANNED))
    deficit = drier(reported.deficit_mm, planned.deficit_mm)
    begin = state_of(reported.outlook.ground, first_day, deficit)
    unread = reported.earlier.water is None and not np.any(deficit != reported.deficit_mm)
    earlier = reported.earlier if unread else replace(reported.earlier, water=begin)
    plan = _planned(reported.site, books, first_day, earlier)
    unsure = not np.allclose(reported.deficit_mm, planned.deficit_mm, rtol=0.0, atol=1e-9)
    if unsure and (most := _one_refill(plan)):
        stations = tuple(_at_most(station, most) for station in reported.site.stations)
        plan = _planned(replace(reported.site, stations=stations), books, first_day, earlier)
    before = days_before(service, books, reported, _by_supposing(reported, planned))
    return replace(plan, notes=(*_notes(books, now, unsure=unsure), *plan.notes), before=before)


def _by_supposing(reported: Morning, planned: Morning) -> dict[Supposing, frozenset[int]]:
    """Say which stations the plan takes by which supposition, by terminal."""
    drier_as_planned = is_drier(reported.deficit_mm, planned.deficit_mm)
    terminals = reported.outlook.ground.terminal
    return {
        Supposing.REPORTED: frozenset(terminals[~drier_as_planned].tolist()),
        Supposing.PLANNED: frozenset(terminals[drier_as_planned].tolist()),
    }


def _planned(site: Site, books: Books, first_day: date, earlier: Earlier) -> WeekPlan:
    return with_savings(with_remedies(plan_week(site, books.weather, first_day, earlier), books.weather, earlier))


def _one_refill(plan: WeekPlan) -> dict[int, int]:
    """Give the whole minutes that refill the roots, of the stations that would get more on the first night."""
    runs = plan.nights[0].runs if plan.nights and plan.nights[0].night.serves == plan.first_day else ()
    return {
        run.terminal: max(1, int(run.length_min * run.depletion_mm / run.credited_mm))
        for run in runs
        if run.credited_mm > run.depletion_mm
    }


def _at_most(station: Station, most: dict[int, int]) -> Station:
    if station.terminal not in most:
        return station
    known = station.most_min
    cap = float(most[station.terminal])
    return replace(station, most_min=cap if known is None else min(known, cap))


def _notes(books: Books, now: datetime, *, unsure: bool) -> Iterator[str]:
    """Say what stands behind the plan that no table shows."""
    if books.state.kind == SILENT or (unsure and books.state.kind == NOBODY_SAID):
        yield f"{books.state.words[0].upper()}{books.state.words[1:]}."
    if unsure:
        yield (
            "It is not known what ran on some nights, so every station is taken as the drier of what was planned and "
            "what was reported, and tonight brings none of them more than one refill of its root zone."
        )
    if now - books.fetched > _OLD:
        fetched = books.fetched.astimezone(books.site.place.zone)
        yield f"The weather was fetched on {day_text(fetched.date())} and no feed has answered since."
    yield from books.remarks
