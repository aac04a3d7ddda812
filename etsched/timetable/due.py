"""Which periods of a property's daily jobs are due: pure, by the clock on the property's own wall.

Each job has one period a local date, so that no change of the clock can lose or double one. A time of day that the
change leaves out comes at the first instant after the gap, one that comes twice at its first reading (`days.instant`).
What was missed is caught up in order; a fetch or a plan whose time is over is passed over, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Protocol

from etsched.days import instant, night
from etsched.model.service import Period
from etsched.usecases.first_plan import PLAN_JOB, plan_due

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from zoneinfo import ZoneInfo

REFRESH_MORNING, CLOSE_DAY = "refresh weather morning", "close day"
REFRESH_EVENING, PLAN_TONIGHT = "refresh weather evening", PLAN_JOB
# In the order in which they are done on one day: a plan wants fresh weather and closed books.
JOBS = (REFRESH_MORNING, REFRESH_EVENING, CLOSE_DAY, PLAN_TONIGHT)
FETCHES = (REFRESH_MORNING, REFRESH_EVENING)
# Why a plan is passed over, whether it came too late or took too long.
NIGHT_BEGAN = "its window opened before it could be made, and the last plan went on"
_ONE_DAY = timedelta(days=1)


class JobTimes(Protocol):
    """Times of day on the wall of a property; the settings have them."""

    @property
    def refresh_morning(self) -> time:
        """The first fetch of weather."""
        ...

    @property
    def close_day(self) -> time:
        """The closing of the day before."""
        ...

    @property
    def refresh_evening(self) -> time:
        """The second fetch of weather, before the plan."""
        ...

    @property
    def plan_tonight(self) -> time:
        """The plan of tonight, or an hour before the window opens where that is earlier."""
        ...


@dataclass(frozen=True, slots=True)
class Wall:
    """What of a property decides when its jobs are due."""

    zone: ZoneInfo
    opens_at: time
    closes_at: time


@dataclass(frozen=True, slots=True)
class Due:
    """A period that is due since an instant; `passed` says why it is of no use any more, "" where it is."""

    period: Period
    since: datetime
    passed: str = ""


def due_periods(
    site: str, wall: Wall, times: JobTimes, now: datetime, next_days: Mapping[str, date]
) -> list[Due]:
    """Give what is due of every job from its next period on, in the order in which it is to be done."""
    found: list[Due] = []
    for job in JOBS:
        day = next_days[job]
        while (begins := due_at(job, day, wall, times)) <= now:
            found.append(Due(Period(site, job, day), begins, passed(job, day, wall, times, now)))
            day += _ONE_DAY
    return in_order(found)


def in_order(found: Iterable[Due]) -> list[Due]:
    """Put periods into the order in which they are done: what is passed over, fetches, then day by day."""

    def place(each: Due) -> tuple[bool, bool, date, int]:
        job, day = each.period.job, each.period.day
        return not each.passed, job not in FETCHES, day + _after(job), JOBS.index(job)

    return sorted(found, key=place)


def next_due(wall: Wall, times: JobTimes, next_days: Mapping[str, date]) -> datetime:
    """Give the instant at which the first of the next periods falls due."""
    return min(due_at(job, next_days[job], wall, times) for job in JOBS)


def due_at(job: str, day: date, wall: Wall, times: JobTimes) -> datetime:
    """Give the instant at which a job's period falls due."""
    match job:
        case "refresh weather morning":
            return instant(day, times.refresh_morning, wall.zone)
        case "refresh weather evening":
            return instant(day, times.refresh_evening, wall.zone)
        case "close day":
            return instant(day + _ONE_DAY, times.close_day, wall.zone)
        case _:
            return plan_due(instant(day, times.plan_tonight, wall.zone), _opening(day, wall))


def passed(job: str, day: date, wall: Wall, times: JobTimes, now: datetime) -> str:
    """Say why a period is of no use any more; a day that is over can always be closed."""
    match job:
        case "refresh weather morning":
            over, why = due_at(REFRESH_EVENING, day, wall, times), "the evening's fetch was due before it could be done"
        case "refresh weather evening":
            over = due_at(REFRESH_MORNING, day + _ONE_DAY, wall, times)
            why = "the next morning's fetch was due before it could be done"
        case "plan tonight":
            over, why = _opening(day, wall), NIGHT_BEGAN
        case _:
            return ""
    return passed_over(why) if over <= now else ""


def passed_over(why: str) -> str:
    """Write down that a period is passed over."""
    return f"passed over: {why}"


def first_days(wall: Wall, begun: datetime) -> dict[str, date]:
    """Give the first period of every job of a property that is kept since an instant: the day before is closed too."""
    today = begun.astimezone(wall.zone).date()
    return {job: today - _after(job) for job in JOBS}


def after_last(wall: Wall, begun: datetime, last: Iterable[tuple[str, date | None]]) -> dict[str, date]:
    """Give every job's next period, from its last one that is in the table of job runs."""
    return first_days(wall, begun) | {job: day + _ONE_DAY for job, day in last if day is not None}


def _after(job: str) -> timedelta:
    """How long after a period's date its work is done."""
    return _ONE_DAY if job == CLOSE_DAY else timedelta()


def _opening(day: date, wall: Wall) -> datetime:
    """Give the opening of the window that serves the day after."""
    opens_on = day + _ONE_DAY - timedelta(days=int(wall.closes_at <= wall.opens_at))
    return night(opens_on, wall.opens_at, wall.closes_at, wall.zone).opens
