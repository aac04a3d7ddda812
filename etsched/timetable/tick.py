"""One look at every property: what is due is claimed, done and ended; what fails hurts its own property only."""

from __future__ import annotations

import logging
from collections import defaultdict
from datetime import time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from etsched.errors import ClaimLost, EtschedError, NightBegun, SiteRefused, Stopping, StoreRefused
from etsched.model.service import JobState
from etsched.stores import job_runs, sites
from etsched.timetable import due
from etsched.usecases import daily, outbox
from etsched.usecases.properties import site_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import datetime

    from etsched.model.service import Claim, KeptSite, Period
    from etsched.timetable.due import Due, JobTimes
    from etsched.usecases.service import Service

    Work = Callable[[Service, Claim], None]

WORKS: Mapping[str, Work] = {
    due.REFRESH_MORNING: daily.refresh_weather,
    due.REFRESH_EVENING: daily.refresh_weather,
    due.CLOSE_DAY: daily.close_day,
    due.PLAN_TONIGHT: daily.plan_tonight,
}
# The bounds below are own choices. A tick ends after so many periods, so that a stop never waits long.
MOST_PERIODS = 200
# After so many failed fetches a tick leaves the other fetches to the next one: closes and plans of other properties
# must not wait until a dead feed has run out of time a thousand times.
MOST_FAILED_FETCHES = 3
_LONGEST_NOTE = 500
# Failures end a period after so many tries, and so do processes that ended before the period did.
_GIVEN_UP = (
    f"given up after {job_runs.MOST_TRIES} tries: the last one ended with its process and came to nothing; the "
    "machine's log may say what ended it"
)
_PAGE = 500

_log = logging.getLogger(__name__)


class Ticker:
    """Does what is due, tick by tick; any number of them, in any number of processes, share one database."""

    def __init__(
        self, service: Service, worker: str, times: JobTimes, works: Mapping[str, Work] = WORKS
    ) -> None:
        self._service = service
        self._worker = worker
        self._times = times
        self._works = works
        # By property: its revision when nothing was due, and until when nothing will be.
        self._quiet: dict[str, tuple[int, datetime]] = {}
        self._failed_fetches = 0

    def tick(self, stopping: Callable[[], bool] = lambda: False, most: int = MOST_PERIODS) -> int:
        """Do what is due, no more than so many periods; gives how many were settled. Raises StoreRefused, Stopping."""
        self._failed_fetches = 0
        settled = 0
        left = self._left()
        for kept in self._properties():
            known = self._quiet.get(kept.site)
            quiet = known is not None and known[0] == kept.revision and self._service.clock.now() < known[1]
            if quiet and kept.site not in left:
                continue
            try:
                for each in self._due(kept, left.get(kept.site, [])):
                    if stopping() or settled >= most:
                        return settled
                    settled += self._settle(each)
            except StoreRefused as error:  # what the database did not let begin is done by the next tick
                _log.warning("%s is left to the next tick: %s", kept.site, error)
        return settled

    def _properties(self) -> Iterator[KeptSite]:
        after = ""
        while True:
            with self._service.database.reading() as reading:
                page = sites.list_sites(reading, after, _PAGE)
            if not page:
                return
            yield from page
            after = page[-1].site

    def _left(self) -> dict[str, list[Period]]:
        """Give by property what others began and left, and what failed and is to be tried again."""
        left: dict[str, list[Period]] = defaultdict(list)
        with self._service.database.reading() as reading:
            for period in job_runs.unfinished(reading, self._service.clock.now()):
                if period.job in due.JOBS:
                    left[period.site].append(period)
        return dict(left)

    def _due(self, kept: KeptSite, left: list[Period]) -> list[Due]:
        """Give what is due at a property; where that is nothing, remember until when."""
        now = self._service.clock.now()
        wall = _wall(kept)
        with self._service.database.reading() as reading:
            last = job_runs.last_periods(reading, kept.site, due.JOBS)
            begun = None if all(last.values()) else sites.kept_since(reading, kept.site)
        next_days = due.after_last(wall, begun or now, last.items())
        again = [
            due.Due(period, now, due.passed(period.job, period.day, wall, self._times, now)) for period in left
        ]
        found = due.in_order([*again, *due.due_periods(kept.site, wall, self._times, now, next_days)])
        self._quiet.pop(kept.site, None)
        if not found:
            self._quiet[kept.site] = (kept.revision, due.next_due(wall, self._times, next_days))
        return found

    def _settle(self, each: Due) -> bool:
        """Do a period or pass it over; False where somebody else has it, or it is left to the next tick."""
        is_fetch = each.period.job in due.FETCHES
        if is_fetch and not each.passed and self._failed_fetches >= MOST_FAILED_FETCHES:
            return False
        database, now = self._service.database, self._service.clock.now()
        claim = job_runs.claim(database, each.period, self._worker, now)
        if claim is None:
            return False
        try:
            self._do(claim, each.passed)
        except ClaimLost as error:
            _log.warning("%s", error)
        except Stopping:
            with database.writing() as writing:
                job_runs.give_back(writing, claim, self._service.clock.now())
            raise
        except Exception as error:
            self._failed_fetches += is_fetch
            self._end_failed(claim, error)
        return True

    def _do(self, claim: Claim, passed: str) -> None:
        """Do a claimed period unless it is passed over, or took every process that tried it down with it."""
        if not passed:
            if claim.tries > job_runs.MOST_TRIES:
                raise EtschedError(_GIVEN_UP)
            try:
                self._works[claim.period.job](self._service, claim)
            except NightBegun:  # what was done before it, such as a slow fetch, took too long
                passed = due.passed_over(due.NIGHT_BEGAN)
        if passed:
            with self._service.database.writing() as writing:
                job_runs.finish(writing, claim, self._service.clock.now(), JobState.SKIPPED, passed)

    def _end_failed(self, claim: Claim, error: Exception) -> None:
        """Write down that a try failed; where even that fails, the lease runs out and somebody tries again."""
        what, tries = claim.period, min(claim.tries, job_runs.MOST_TRIES)
        if isinstance(error, EtschedError):
            note = " ".join(str(error).split())[:_LONGEST_NOTE]
            _log.warning("%s of %s for %s, try %d: %s", what.job, what.site, what.day, tries, note)
        else:
            note = f"a defect of the program ({type(error).__name__}); its log says more"
            _log.error("%s of %s for %s, try %d", what.job, what.site, what.day, tries, exc_info=error)
        now = self._service.clock.now()
        try:
            with self._service.database.writing() as writing:
                job_runs.finish(writing, claim, now, JobState.FAILED, note)
                if tries >= job_runs.MOST_TRIES:
                    body = {"job": what.job, "day": what.day.isoformat(), "tries_count": tries, "words": note}
                    outbox.announce(writing, now, what.site, "job failed", body)
        except Exception as second:
            _log.error("%s of %s for %s: its failure could not be kept (%s)", what.job, what.site, what.day, second)


def _wall(kept: KeptSite) -> due.Wall:
    try:
        site = site_of(kept)
    except SiteRefused:  # its jobs will say what is wrong with it; until then any hours will do
        return due.Wall(ZoneInfo(kept.zone), time(22), time(6))
    return due.Wall(site.place.zone, site.rules.opens_at, site.rules.closes_at)
