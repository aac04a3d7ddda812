"""A property before its first plan: when that comes, and what it still lacks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text, instant, time_text, wall_time
from etsched.model.service import JobState
from etsched.stores import job_runs, water
from etsched.tables.figure import plain
from etsched.usecases.properties import site_in, site_of
from etsched.usecases.what_ran import window_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence
    from datetime import date

    from etsched.model.service import JobRun
    from etsched.model.site import Site
    from etsched.usecases.service import Service

# A plan is made so long before its window opens at the latest (common practice, no source).
PLAN_BEFORE = timedelta(hours=1)
PLAN_JOB = "plan tonight"
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class FirstPlan:
    """What a reader is told where a plan would stand."""

    name: str
    comes: str  # a sentence
    missing: tuple[str, ...]  # sentences


def plan_due(usual: datetime, opens: datetime) -> datetime:
    """Give the instant at which the plan of a night falls due: its usual time, earlier where the window is."""
    return min(usual, opens - PLAN_BEFORE)


def next_plan(service: Service, key: str) -> str:
    """Say when a property's next plan is made: `today about 3:00 pm`; "" where none is. Raises NotKept, SiteRefused."""
    with service.database.reading() as reading:
        kept = site_in(reading, key)
        runs = job_runs.last_runs(reading, key)
    site = site_of(kept)
    if kept.put_away is not None:
        return ""
    due, now = _due(service, site, _ended(runs)), service.clock.now()
    if due <= now:
        return "in some minutes"
    at = wall_time(due, site.place.zone)
    today = at.date() == service.clock.today(site.place.zone)
    return f"{'today' if today else f'on {day_text(at.date())}'} about {time_text(at.time(), site.units)}"


def first_plan(service: Service, key: str) -> FirstPlan:
    """Say when a property's first plan comes and what is missing for it. Raises NotKept, SiteRefused."""
    with service.database.reading() as reading:
        kept = site_in(reading, key)
        has_weather = water.latest_weather(reading, key) is not None
        runs = job_runs.last_runs(reading, key)
    site = site_of(kept)
    if kept.put_away is not None:
        away = "It is put away: nothing is fetched and planned for it until it is taken up again at the machine."
        return FirstPlan(kept.name, "No plan comes as things are.", (away,))
    missing = [*_weather(service, site), *_failed(runs)] if not has_weather else list(_failed(runs))
    return FirstPlan(kept.name, _comes(service, site, _ended(runs)), tuple(missing))


def _ended(runs: Sequence[JobRun]) -> set[date]:
    """Give the days whose plan is made or given up."""
    return {run.period.day for run in runs if run.period.job == PLAN_JOB and _is_over(run)}


def _is_over(run: JobRun) -> bool:
    """Say whether a period is not tried any more."""
    return run.state in {JobState.DONE, JobState.SKIPPED} or (
        run.state is JobState.FAILED and run.tries >= job_runs.MOST_TRIES
    )


def _due(service: Service, site: Site, ended: Collection[date]) -> datetime:
    """Give the instant at which the next plan falls due; it has passed where the plan is due now."""
    now, zone = service.clock.now(), site.place.zone
    day = now.astimezone(zone).date()
    while day in ended or window_of(site, day + _ONE_DAY).opens <= now:  # given up, or tonight's hours have begun
        day += _ONE_DAY
    usual = instant(day, service.settings.jobs.plan_tonight, zone)
    return plan_due(usual, window_of(site, day + _ONE_DAY).opens)


def _comes(service: Service, site: Site, ended: Collection[date]) -> str:
    due = _due(service, site, ended)
    if due <= service.clock.now():
        return "The first plan is due now: look again in some minutes."
    at = wall_time(due, site.place.zone)
    when = f"{day_text(at.date())} at {time_text(at.time(), site.units)}"
    return f"The first plan comes on {when}, by the clock of the place, and from then on one every day."


def _weather(service: Service, site: Site) -> Iterator[str]:
    times = service.settings.jobs
    morning, evening = (time_text(each, site.units) for each in (times.refresh_morning, times.refresh_evening))
    yield f"Weather: none of it is kept yet. It is fetched every day at {morning} and {evening}."


def _failed(runs: Sequence[JobRun]) -> Iterator[str]:
    """Tell the jobs whose last try failed, and why."""
    last = {run.period.job: run for run in reversed(runs)}
    for job, run in sorted(last.items()):
        if run.state is JobState.FAILED:
            yield f'The last try of the job "{job}" failed: {plain(run.note)}'
