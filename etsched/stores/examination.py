"""What the doctor asks of a database: is it whole, how late is it by its own rows, what failed, what runs out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import JobState
from etsched.stores.schema import job_runs, keys, plans, trail

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.stores.database import Database


def damage(database: Database) -> str:
    """Give what SQLite's own quick check says is wrong with its file; empty where nothing is, or where there is none.

    A server checks its pages itself.
    """
    if not database.is_sqlite:
        return ""
    with database.reading() as reading:
        said = reading.exec_driver_sql("PRAGMA quick_check(1)").scalar()
        lost = reading.exec_driver_sql("PRAGMA foreign_key_check").first()
    if said != "ok":
        return str(said)
    return f"a row of {lost[0]} belongs to nothing" if lost else ""


def latest_instant(reading: Connection) -> datetime | None:
    """Give the last instant at which anything was written down."""
    columns = (trail.c.at, job_runs.c.began, plans.c.at)
    latest = [reading.execute(sa.select(sa.func.max(column))).scalar() for column in columns]
    return max((instant for instant in latest if instant is not None), default=None)


def failed_since(reading: Connection, since: datetime) -> list[tuple[str, str, str]]:
    """Give site, job and note of the job runs that failed after an instant and have not been done since."""
    query = (
        sa.select(job_runs.c.site, job_runs.c.job, job_runs.c.note)
        .where(job_runs.c.state == JobState.FAILED.value, job_runs.c.ended >= since)
        .order_by(job_runs.c.ended.desc(), job_runs.c.site, job_runs.c.job)
    )
    return [(row[0], row[1], row[2]) for row in reading.execute(query)]


def expiring(reading: Connection, now: datetime, until: datetime) -> list[tuple[str, datetime]]:
    """Give the name and the end of every key that is good now and will not be at a later instant."""
    query = (
        sa.select(keys.c.name, keys.c.expires)
        .where(keys.c.revoked.is_(None), keys.c.expires > now, keys.c.expires <= until)
        .order_by(keys.c.expires, keys.c.key_id)
    )
    return [(row[0], row[1]) for row in reading.execute(query)]
