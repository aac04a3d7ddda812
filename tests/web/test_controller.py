"""A night by the reference client against a real server: pulled, restarted, nothing lost and nothing twice."""

import json
import os
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import uvicorn

from etsched.model.service import How
from etsched.stores import migrate, water
from etsched.stores.database import Database
from etsched.web.app import make_app
from tests.web.conftest import TODAY, WIDE, play


class FastClock:
    """Begins five minutes before the window opens."""

    def __init__(self, speed):
        self.began_s, self.speed = time.time(), speed

    def now(self):
        passed = timedelta(seconds=(time.time() - self.began_s) * self.speed)
        return datetime(2026, 7, 14, 4, 55, tzinfo=UTC) + passed

    def today(self, zone):
        return self.now().astimezone(zone).date()


@contextmanager
def served(service):
    """Serve on loopback, and stop."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        url = f"http://127.0.0.1:{listening.getsockname()[1]}"
        server = uvicorn.Server(uvicorn.Config(make_app(service, WIDE), log_config=None))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield url
        finally:
            server.should_exit = True
            thread.join()


@pytest.fixture
def planned(tmp_path, root):
    database = Database(f"sqlite:///{tmp_path / 'etsched.db'}")
    migrate.upgrade(database)
    yield play(database, root)
    database.close()


def start(root, url, played, state, speed):
    command = [sys.executable, root / "demo" / "controller.py", "--url", url, "--site", "grange", "--state", state]
    environment = os.environ | {"ETSCHED_KEY": played.secrets["grange"]}
    return subprocess.Popen(
        [*map(str, command), "--speed", str(speed)], env=environment, stdout=subprocess.PIPE, text=True
    )


def reported(played):
    with played.service.database.reading() as reading:
        return (
            water.applied_between(reading, "grange", TODAY, TODAY),
            water.nights_reported(reading, "grange", TODAY, TODAY),
        )


def test_a_whole_night_is_run_and_reported(planned, root, tmp_path):
    night = planned.ask("GET", "/v1/sites/grange/tonight").json()["night"]
    service = replace(planned.service, clock=FastClock(7200.0))  # the eight hours of the window in four seconds
    with served(service) as url:
        client = start(root, url, planned, tmp_path / "controller.json", 7200.0)
        said, _ = client.communicate(timeout=120)
    runs, whole = reported(planned)
    assert whole == {TODAY}
    # Where the machine was too busy for a cycle's time, the client leaves the cycle out and says so.
    planned_min = sorted(
        (run["terminal"], cycle["minutes"]) for run in night["runs"] for cycle in run["cycles"]
    )
    told_min = sorted((run.terminal, int(run.minutes_min)) for run in runs)
    assert len(told_min) + said.count("is left out") == len(planned_min)
    for each in told_min:
        planned_min.remove(each)  # raises where it was not planned, or told twice
    assert {run.how for run in runs} == {How.PROGRAM}
    assert client.returncode == 0


def test_pulling_the_plug_again_and_again_loses_nothing_and_counts_nothing_twice(planned, root, tmp_path):
    state = tmp_path / "controller.json"
    service = replace(planned.service, clock=FastClock(3600.0))
    acknowledged = set()
    with served(service) as url:
        for _ in range(6):
            client = start(root, url, planned, state, 3600.0)
            time.sleep(1.2)  # about half of it until the client has started
            client.kill()
            client.communicate()
            if state.exists():
                known = json.loads(state.read_text("utf-8"))
                waiting = {run["report"] for each in known["outbox"] for run in each["body"]["runs"]}
                acknowledged |= ran_by(known) - waiting
        client = start(root, url, planned, state, 3600.0)
        client.communicate(timeout=120)
    runs, whole = reported(planned)
    known = json.loads(state.read_text("utf-8"))
    assert acknowledged
    assert acknowledged <= ran_by(known)
    assert whole == {TODAY}
    assert known["outbox"] == []
    # Every run that the client remembers is there, and once: a valve opens once at a planned instant.
    assert Counter(run.terminal for run in runs) == Counter(known["ran"].values())
    assert How.CUT_SHORT in {run.how for run in runs}


def ran_by(known):
    """The ids of the runs that the client remembers to have ended."""
    return {f"{TODAY}.{terminal}.{cycle[11:16]}" for cycle, terminal in known["ran"].items()}
