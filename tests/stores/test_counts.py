"""What is counted for whoever watches the service."""

from datetime import UTC, datetime, timedelta

import sqlalchemy as sa

from etsched.model.service import JobState, KeptSite, Period
from etsched.stores import job_runs, sites
from etsched.stores.counts import jobs_by_state
from etsched.stores.database import Database

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
DAY = timedelta(days=1)


def ended(database, days, state):
    at = NOW - days * DAY
    claim = job_runs.claim(database, Period("quillmere", "close day", at.date()), "test", at)
    if state is not JobState.RUNNING:
        with database.writing() as writing:
            job_runs.finish(writing, claim, at, state)


def with_runs(database):
    with database.writing() as writing:
        sites.put_site(writing, KeptSite("quillmere", "Quillmere", "America/Denver", 1, "1"), NOW, "test")
    for days, state in (
        (9, JobState.DONE),
        (8, JobState.SKIPPED),
        (7, JobState.RUNNING),
        (6, JobState.FAILED),
        (3, JobState.RUNNING),
        (2, JobState.DONE),
        (1, JobState.SKIPPED),
        (0, JobState.DONE),
    ):
        ended(database, days, state)


def test_what_runs_is_counted_however_old_and_the_rest_of_late(database):
    with_runs(database)
    with database.reading() as reading:
        assert jobs_by_state(reading, NOW - DAY) == {"running": 2, "done": 1, "failed": 0, "skipped": 0}
        assert jobs_by_state(reading, NOW - 2 * DAY) == {"running": 2, "done": 1, "failed": 0, "skipped": 1}
        assert jobs_by_state(reading, NOW - 10 * DAY) == {"running": 2, "done": 3, "failed": 1, "skipped": 2}


def test_no_count_reads_the_whole_table(with_tables):
    """SQLite's own word on how it goes about it: a search of the index for each state, nothing scanned."""
    with Database(with_tables("sqlite")) as database, database.reading() as reading:
        asked = []
        sa.event.listen(reading, "before_cursor_execute", lambda *said: asked.append((said[2], said[3])))
        jobs_by_state(reading, NOW)
        (question,) = asked
        steps = [row[3] for row in reading.exec_driver_sql(f"EXPLAIN QUERY PLAN {question[0]}", question[1])]
    ways = [step for step in steps if "job_runs" in step]
    assert len(ways) == len(JobState)
    assert all("USING COVERING INDEX ix_job_runs_state_leased_until" in way for way in ways), ways
