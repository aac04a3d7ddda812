"""How much of what there is, for whoever watches the service."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import JobState
from etsched.stores.schema import job_runs, outbox

if TYPE_CHECKING:
    from sqlalchemy import Connection


def jobs_by_state(reading: Connection) -> dict[str, int]:
    """Count the periods of jobs by their state; every state is there."""
    found = reading.execute(sa.select(job_runs.c.state, sa.func.count()).group_by(job_runs.c.state))
    counts = {state.value: 0 for state in JobState}
    for state, number in found:
        counts[state] = number
    return counts


def events_waiting(reading: Connection) -> int:
    """Count the events that are still to be sent."""
    query = sa.select(sa.func.count()).select_from(outbox).where(outbox.c.next_try.is_not(None))
    return reading.execute(query).scalar_one()
