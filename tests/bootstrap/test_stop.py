"""A stop while a job is at work: the job ends and is kept, once, and none begins after it."""

import os
import signal
import socket
import time
from dataclasses import replace
from datetime import time as wall

import pytest
import sqlalchemy as sa

from etsched.bootstrap.serving import serve
from etsched.settings import Settings
from etsched.settings.values import WebSettings
from etsched.stores import schema
from etsched.stores.database import Database
from etsched.timetable import due
from etsched.timetable.tick import Ticker
from etsched.usecases import daily
from tests.stores.conftest import database, kind, with_tables  # noqa: F401 - pytest hands fixtures over by their names
from tests.usecases.killing import begun
from tests.usecases.made import TIMES, day, put, service_on

WORKS_ON_S = 1.5  # after the stop was told


def evening(database):  # noqa: F811
    """A service on whose property the first close and the first plan are due."""
    service = service_on(database)
    service.clock.set(day(1), wall(17, 1))
    return service


def serve_and_say(url, says, nth, port):
    """Serve with jobs; the nth of them, a close or a plan, says when it is in its transaction and works on."""
    still, calls = daily.still, []

    def slowly(books, writing):
        calls.append(books)
        if len(calls) == nth:
            os.write(says, b"at work\n")
            time.sleep(WORKS_ON_S)
        still(books, writing)

    daily.still = slowly
    with Database(url) as mine:
        serve(replace(evening(mine), settings=Settings(web=WebSettings(port=port))), with_jobs=True)
    os._exit(0)


def jobs_of(database):  # noqa: F811
    with database.reading() as reading:
        rows = reading.execute(sa.select(schema.job_runs)).mappings()
        return {row["job"]: (row["state"], row["tries"], row["fence"]) for row in rows}


def kept(database):  # noqa: F811
    with database.reading() as reading:
        plans, balances = (
            reading.execute(sa.select(sa.func.count()).select_from(table)).scalar()
            for table in (schema.plans, schema.balances)
        )
    return {due.CLOSE_DAY: balances // 2, due.PLAN_TONIGHT: plans}


@pytest.mark.parametrize(("nth", "job"), [(1, due.CLOSE_DAY), (2, due.PLAN_TONIGHT)])
def test_the_job_that_is_at_work_is_kept_once_and_none_begins_after_it(database, nth, job):  # noqa: F811
    put(service_on(database))
    database.close()
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    child, heard = begun(serve_and_say, database.url.render_as_string(hide_password=False), nth, port)
    with heard:
        assert heard.readline() == "at work\n"
        told_s = time.monotonic()
        os.kill(child, signal.SIGTERM)
        _, status = os.waitpid(child, 0)
        assert (status, heard.read()) == (0, "")
    assert time.monotonic() - told_s >= WORKS_ON_S / 2
    after = jobs_of(database)
    assert after[job] == ("done", 1, 1)
    assert (due.PLAN_TONIGHT in after) is (job == due.PLAN_TONIGHT)
    assert kept(database)[job] == 1
    # The next start does what is left and nothing again.
    service = evening(database)
    Ticker(service, "started again", TIMES).tick()
    assert kept(database) == {due.CLOSE_DAY: 1, due.PLAN_TONIGHT: 1}
    assert set(jobs_of(database).values()) - {("skipped", 1, 1)} == {("done", 1, 1)}
