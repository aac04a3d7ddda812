"""A process that plans is killed at random moments: nothing acknowledged is lost, nothing is torn, nothing twice."""

import hashlib
import json
import os
import random
import signal
import time
import warnings
from datetime import timedelta

import pytest
import sqlalchemy as sa

from etsched.stores import schema
from etsched.timetable import due
from tests.usecases.living import live_on
from tests.usecases.made import put, service_on


@pytest.fixture
def rounds(request):
    """Fifty kills a database in the suite, a thousand in the campaign."""
    return 1000 if request.config.getoption("--campaign") else 50


def begun(url):
    """Fork a process that lives on; gives its number and where to hear it."""
    hears, says = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # threads of other tests are of no use to the child
        child = os.fork()
    if child == 0:  # pragma: no cover - it is killed
        os.close(hears)
        try:
            live_on(url, says)
        except BaseException as error:
            os.write(says, f"died {error!r}\n".encode())
        os._exit(1)
    os.close(says)
    return child, os.fdopen(hears)


def killed(child, heard):
    """Kill it, and give what it said whole; a line that the kill cut off was not acknowledged."""
    os.kill(child, signal.SIGKILL)
    with heard:
        lines = heard.readlines()
    _, status = os.waitpid(child, 0)
    assert os.WTERMSIG(status) == signal.SIGKILL, lines
    return [line for line in lines if line.endswith("\n")]


def test_killed_at_random_moments_nothing_is_lost_torn_or_twice(database, rounds):
    put(service_on(database))
    url = database.url.render_as_string(hide_password=False)
    database.close()  # a connection must not be shared with a child
    chance = random.Random(20_260_714)  # noqa: S311 - moments are drawn, no secrets
    # The first one lives until it has planned, which says how long that takes on this machine.
    since = time.monotonic()
    child, heard = begun(url)
    said = [heard.readline()]
    while not said[-1].startswith("plan"):
        assert said[-1], "it ended before it had planned"
        said.append(heard.readline())
    planned_s = time.monotonic() - since
    said += killed(child, heard)
    for _ in range(rounds):
        child, heard = begun(url)
        time.sleep(chance.uniform(0.0, planned_s))
        said += killed(child, heard)
    check(database, said)


def check(database, said):
    with database.reading() as reading:
        plans = list(reading.execute(sa.select(schema.plans).order_by(schema.plans.c.revision)).mappings())
        jobs = list(reading.execute(sa.select(schema.job_runs)).mappings())
        nights = set(reading.execute(sa.select(schema.night_reports.c.opens_on)).scalars())
        ran = list(reading.execute(sa.select(schema.applied.c.opens_on)).scalars())
    # Lost: what was acknowledged is there, as it was.
    by_revision = {row["revision"]: row["digest"] for row in plans}
    acknowledged = [line.split() for line in said]
    assert {words[0] for words in acknowledged} == {"plan", "night"}
    for words in acknowledged:
        if words[0] == "plan":
            assert by_revision[int(words[1])] == words[2]
        else:
            assert words[1] in {night.isoformat() for night in nights}
    # Torn: every document is whole, and a night told is there with its run.
    for row in plans:
        assert hashlib.sha256(row["document"].encode()).hexdigest() == row["digest"]
        assert json.loads(row["document"])["first_day"] == row["first_day"].isoformat()
    assert sorted(ran) == sorted(nights)
    # Twice: revisions without a gap, a plan for each first day, and each of them with the job that made it.
    assert [row["revision"] for row in plans] == list(range(1, len(plans) + 1))
    first_days = [row["first_day"] for row in plans]
    assert len(first_days) == len(set(first_days))
    planned = [row for row in jobs if row["job"] == due.PLAN_TONIGHT and row["state"] == "done"]
    done = {row["period"] + timedelta(days=1) for row in planned}
    assert done == set(first_days)
