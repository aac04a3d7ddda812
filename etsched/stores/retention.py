"""What is kept for a time only. The trail, visits, reports and balances are kept for good."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import JobState
from etsched.stores.job_runs import MOST_TRIES
from etsched.stores.schema import (
    answers_given,
    job_runs,
    outbox,
    plans,
    sessions,
    site_revisions,
    sites,
    tables_keyed_in,
    weathers,
)

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Limits:
    """How long things are kept once they are past: replaced, answered, delivered. Common practice, no source."""

    weathers: timedelta = timedelta(days=400)  # a season can be looked at again from the next one
    site_revisions: timedelta = timedelta(days=1100)
    plans: timedelta = timedelta(days=1100)
    answers: timedelta = timedelta(days=7)  # a client that tries a write again for longer is broken
    events: timedelta = timedelta(days=30)
    job_runs: timedelta = timedelta(days=400)


def prune(writing: Connection, now: datetime, limits: Limits) -> dict[str, int]:
    """Remove what is past its limit; gives how many rows went, by table.

    A weather, a site file, a plan is past from the moment the next one took its place, so that what holds now is
    never removed, however old it is. A plan that somebody said is in the clock stays as well.
    """
    keyed_in = sa.exists().where(
        tables_keyed_in.c.site == plans.c.site, tables_keyed_in.c.plan_revision == plans.c.revision
    )
    holds_now = sa.exists().where(
        sites.c.site == site_revisions.c.site, sites.c.revision == site_revisions.c.revision
    )
    last_moved = sa.func.coalesce(outbox.c.delivered, outbox.c.made)
    removed = {
        weathers: _replaced(weathers, "fetched", "fetched", now - limits.weathers),
        site_revisions: sa.and_(
            _replaced(site_revisions, "revision", "at", now - limits.site_revisions), sa.not_(holds_now)
        ),
        plans: sa.and_(_replaced(plans, "revision", "at", now - limits.plans), sa.not_(keyed_in)),
        answers_given: answers_given.c.at < now - limits.answers,
        # Without a next try it is delivered or given up.
        outbox: sa.and_(outbox.c.next_try.is_(None), last_moved < now - limits.events),
        sessions: sessions.c.expires <= now,
        job_runs: _ended(now - limits.job_runs),
    }
    return {
        table.name: writing.execute(sa.delete(table).where(condition)).rowcount for table, condition in removed.items()
    }


def _replaced(table: sa.Table, order: str, at: str, before: datetime) -> sa.ColumnElement[bool]:
    """Say of a row that a later one of its site took its place before an instant."""
    later = table.alias()
    return sa.exists().where(
        later.c.site == table.c.site, later.c[order] > table.c[order], later.c[at] < before
    )


def _ended(before: datetime) -> sa.ColumnElement[bool]:
    """Say of a job's period that it ended for good before an instant and is not the last one of its job.

    From the last one it is known which periods are due, however long ago that was.
    """
    later = job_runs.alias()
    return sa.and_(
        job_runs.c.ended < before,
        sa.or_(
            job_runs.c.state.in_([JobState.DONE.value, JobState.SKIPPED.value]),
            sa.and_(job_runs.c.state == JobState.FAILED.value, job_runs.c.tries >= MOST_TRIES),
        ),
        sa.exists().where(
            later.c.site == job_runs.c.site, later.c.job == job_runs.c.job, later.c.period > job_runs.c.period
        ),
    )
