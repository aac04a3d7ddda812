"""What the settings do not want kept is forgotten, and what they do want is not."""

from datetime import UTC, datetime, timedelta

import pytest

from etsched.bootstrap.chores import forget_old
from etsched.model.service import JobState, KeptSite, Period
from etsched.settings import Retention, Settings
from etsched.stores import job_runs, sites
from etsched.usecases.service import Service
from tests.stores.conftest import database, kind, with_tables  # noqa: F401 - fixtures: SQLite and PostgreSQL

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)


@pytest.mark.parametrize(("job_runs_days", "left"), [(3, [1, 3]), (5, [1, 3, 5]), (400, [1, 3, 5, 8])])
def test_job_runs_are_kept_as_long_as_the_settings_say(database, tmp_path, job_runs_days, left):  # noqa: F811
    settings = Settings(weather_kept_in=str(tmp_path), retention=Retention(job_runs_days=job_runs_days))
    service = Service(database, None, None, settings)
    with database.writing() as writing:
        sites.put_site(writing, KeptSite("quillmere", "Quillmere", "America/Denver", 1, "1"), NOW, "test")
    for days in (8, 5, 3, 1):
        at = NOW - timedelta(days=days)
        claim = job_runs.claim(database, Period("quillmere", "close day", at.date()), "test", at)
        with database.writing() as writing:
            job_runs.finish(writing, claim, at, JobState.DONE)
    forget_old(service, NOW)
    with database.reading() as reading:
        assert [(NOW - run.began).days for run in job_runs.last_runs(reading, "quillmere")] == left
