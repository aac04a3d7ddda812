"""How much of what there is, for whoever watches the service."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import JobState
from etsched.stores.schema import job_runs, outbox

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection


def jobs_by_state(reading: Connection, since: datetime) -> dict[str, int]:
    """Count the periods of jobs by their state: all that run, the others that ended after an instant.

    One that ended is leased until its end, a failed one for the wait before its next try too. So each state is a
    stretch of the index, and the years before it are not read.
    """
    lately = job_runs.c.leased_until > since
    parts = [
        sa.select(sa.literal(state.value), sa.func.count()).where(
            job_runs.c.state == state.value, sa.true() if state is JobState.RUNNING else lately
        )
        for state in JobState
    ]
    return dict(reading.execute(sa.union_all(*parts)).tuples().all())


def events_waiting(reading: Connection) -> int:
    """Count the events that are still to be sent."""
    query = sa.select(sa.func.count()).select_from(outbox).where(outbox.c.next_try.is_not(None))
    return reading.execute(query).scalar_one()
