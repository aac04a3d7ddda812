"""The table of job runs: whoever inserts or takes over a row does the work, and only its last claim may commit."""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from etsched.errors import ClaimLost
from etsched.model.service import Claim, JobRun, JobState, Period
from etsched.stores.schema import job_runs

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy import Connection

    from etsched.stores.database import Database

LEASE = timedelta(minutes=10)
MOST_TRIES = 5


def claim(database: Database, period: Period, worker: str, now: datetime) -> Claim | None:
    """Claim a job's period; None where it is done, has failed for good, or somebody else holds it.

    A claim of more than the most tries is there to end the period: so often did processes end before it.
    """
    until = now + LEASE
    try:
        with database.writing() as writing:
            held = writing.execute(
                sa.select(job_runs).where(_is(period)).with_for_update()
            ).mappings().first()
            if held is None:
                writing.execute(
                    _new(period, JobState.RUNNING, fence=1, worker=worker, leased_until=until, tries=1, began=now)
                )
                return Claim(period, 1, worker, until, 1)
            if not _free(held, now):
                return None
            fence, tries = held["fence"] + 1, held["tries"] + 1
            writing.execute(
                sa.update(job_runs)
                .where(_is(period))
                .values(
                    state=JobState.RUNNING.value,
                    fence=fence,
                    worker=worker,
                    leased_until=until,
                    tries=tries,
                    began=now,
                    ended=None,
                )
            )
            return Claim(period, fence, worker, until, tries)
    except IntegrityError:
        return None  # somebody else inserted the row at the same moment


def _free(held: sa.RowMapping, now: datetime) -> bool:
    """Say whether a row may be taken over: its lease has run out, or it failed and its wait is over."""
    if held["state"] == JobState.RUNNING.value:
        return bool(held["leased_until"] <= now)
    return bool(
        held["state"] == JobState.FAILED.value and held["tries"] < MOST_TRIES and held["leased_until"] <= now
    )


def finish(writing: Connection, held: Claim, now: datetime, state: JobState, note: str = "") -> None:
    """End a claim in the transaction that commits its work. Raises ClaimLost where somebody else claimed it since.

    A failed period may be tried again after a wait that doubles with each try.
    """
    wait = timedelta(minutes=2**held.tries) if state is JobState.FAILED else timedelta()
    changed = writing.execute(
        sa.update(job_runs)
        .where(
            _is(held.period),
            job_runs.c.fence == held.fence,
            job_runs.c.state == JobState.RUNNING.value,
        )
        .values(state=state.value, ended=now, note=note, leased_until=now + wait)
    )
    if changed.rowcount != 1:
        what = held.period
        raise ClaimLost(f"{what.job} of {what.site} for {what.day} was taken over; nothing of this try is kept")


def give_back(writing: Connection, held: Claim, now: datetime) -> None:
    """Leave a claim as if it had not been tried, to whoever comes next; nothing where somebody has it since."""
    writing.execute(
        sa.update(job_runs)
        .where(_is(held.period), job_runs.c.fence == held.fence, job_runs.c.state == JobState.RUNNING.value)
        .values(leased_until=now, tries=held.tries - 1)
    )


def skip(writing: Connection, period: Period, worker: str, now: datetime, note: str) -> None:
    """Write down that a period is passed over for good, where nobody has begun it."""
    known = writing.execute(sa.select(job_runs.c.state).where(_is(period))).first()
    if known is None:
        writing.execute(
            _new(
                period,
                JobState.SKIPPED,
                fence=0,
                worker=worker,
                leased_until=now,
                tries=0,
                began=now,
                ended=now,
                note=note,
            )
        )


def last_periods(reading: Connection, site: str, jobs: tuple[str, ...]) -> dict[str, date | None]:
    """Give the last period of each job that there is a row of; None for a job without one."""
    return dict(reading.execute(_last_of(jobs), {"site": site}).tuples().all())


@cache  # each property asks the same thing again and again
def _last_of(jobs: tuple[str, ...]) -> sa.CompoundSelect[tuple[str, date | None]]:
    # A look into the index for each job; grouping would read every row of the site.
    return sa.union_all(
        *(
            sa.select(sa.literal(job), sa.func.max(job_runs.c.period)).where(
                job_runs.c.site == sa.bindparam("site"), job_runs.c.job == job
            )
            for job in jobs
        )
    )


def unfinished(reading: Connection, now: datetime) -> list[Period]:
    """Give the periods of all sites that somebody began, nobody finished, and that may be taken over now."""
    free = sa.or_(
        job_runs.c.state == JobState.RUNNING.value,
        sa.and_(job_runs.c.state == JobState.FAILED.value, job_runs.c.tries < MOST_TRIES),
    )
    query = (
        sa.select(job_runs.c.site, job_runs.c.job, job_runs.c.period)
        .where(free, job_runs.c.leased_until <= now)
        .order_by(job_runs.c.site, job_runs.c.period, job_runs.c.job)
    )
    return [Period(*row) for row in reading.execute(query)]


def runs_of(reading: Connection, site: str, job: str, since: date) -> dict[date, JobRun]:
    """Give a job's runs from a period on, by period."""
    query = sa.select(job_runs).where(
        job_runs.c.site == site, job_runs.c.job == job, job_runs.c.period >= since
    )
    return {row["period"]: _as_run(row) for row in reading.execute(query).mappings()}


def last_runs(reading: Connection, site: str, most: int = 50) -> list[JobRun]:
    """Give a site's last job runs, the newest first."""
    query = (
        sa.select(job_runs)
        .where(job_runs.c.site == site)
        .order_by(job_runs.c.began.desc(), job_runs.c.job)
        .limit(most)
    )
    return [_as_run(row) for row in reading.execute(query).mappings()]


def _as_run(row: sa.RowMapping) -> JobRun:
    return JobRun(
        Period(row["site"], row["job"], row["period"]),
        JobState(row["state"]),
        row["tries"],
        row["began"],
        row["ended"],
        row["note"],
    )


def _new(period: Period, state: JobState, **values: object) -> sa.Insert:
    whose = {"site": period.site, "job": period.job, "period": period.day, "state": state.value}
    return sa.insert(job_runs).values(**whose, **values)


def _is(period: Period) -> sa.ColumnElement[bool]:
    return sa.and_(job_runs.c.site == period.site, job_runs.c.job == period.job, job_runs.c.period == period.day)
