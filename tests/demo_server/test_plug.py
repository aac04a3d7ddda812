"""The demo's night with the service's plug pulled: nothing acknowledged is lost, nothing is twice, all is told."""

import json
import os
import random
import re
import socket
import subprocess
import sys
import time
import uuid
from collections import Counter
from contextlib import contextmanager
from datetime import date
from urllib.error import URLError
from urllib.request import urlopen

import pytest
import sqlalchemy as sa

from demo.serve import SITE
from etsched.stores import schema
from etsched.stores.database import Database
from etsched.usecases import reports_in

NIGHT = date(2026, 7, 13)
SPEED = 800.0  # the eight hours of the window in 36 s
KILLS, WITHIN_S = 5, 20.0  # the last ones are left out where a busy machine has no time for them in the night


class Demo:
    """The demo's service in processes of its own, one after the other, on one folder."""

    def __init__(self, root, folder):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.root, self.folder, self.said = root, folder, folder / "serve.log"
        self.url = f"http://127.0.0.1:{self.port}"

    @contextmanager
    def serving(self):
        """Run it until the block ends, and kill it then."""
        command = [sys.executable, "demo/serve.py", "--out", self.folder, "--port", self.port, "--speed", SPEED]
        with self.said.open("a") as said:
            process = subprocess.Popen([*map(str, command)], cwd=self.root, stderr=said)
        try:
            self.wait_until_it_answers(process)
            yield
        finally:
            process.kill()
            process.wait(timeout=30)

    def wait_until_it_answers(self, process):
        for _ in range(1200):
            assert process.poll() is None, self.said.read_text()
            try:
                urlopen(f"{self.url}/health", timeout=5).close()  # noqa: S310 - the service under test
                return
            except (URLError, OSError):
                time.sleep(0.05)
        pytest.fail("the service does not answer")

    def controller(self, state):
        key = re.search(r"ets_\S+", self.said.read_text())[0]
        command = [sys.executable, "demo/controller.py", "--url", self.url, "--site", SITE, "--state", state]
        environment = os.environ | {"ETSCHED_KEY": key, "DEMO_SPEED": str(SPEED)}
        return subprocess.Popen(
            [*map(str, command)], cwd=self.root, env=environment, stdout=subprocess.PIPE, text=True
        )

    def rows(self, table):
        with Database(f"sqlite:///{self.folder / 'etsched.db'}") as database, database.reading() as reading:
            return list(reading.execute(sa.select(table)).mappings())


def kept_as(report):
    """Give the id under which the service keeps what the controller calls so."""
    return str(uuid.uuid5(reports_in._IDS, f"{SITE}/{report}"))


def report_of(terminal, cycle):
    return kept_as(f"{NIGHT}.{terminal}.{cycle[11:16]}")


def acknowledged(state):
    """Give the reports of runs that the controller knows to have been taken."""
    if not state.exists():
        return set()
    known = json.loads(state.read_text("utf-8"))
    waiting = {kept_as(run["report"]) for each in known["outbox"] for run in each["body"]["runs"]}
    return {report_of(terminal, cycle) for cycle, terminal in known["ran"].items()} - waiting


def test_a_night_in_which_the_service_is_killed_again_and_again(root, tmp_path):
    chance = random.Random(20_260_713)  # noqa: S311 - moments are drawn, no secrets
    demo, state, kills_count = Demo(root, tmp_path), tmp_path / "controller.json", 1
    until_s = time.monotonic() + WITHIN_S
    with demo.serving():
        client = demo.controller(state)
        time.sleep(chance.uniform(0.2, 3.0))
    try:
        while kills_count < KILLS and time.monotonic() < until_s:
            with demo.serving():
                time.sleep(chance.uniform(0.2, 3.0))
            kills_count += 1
            # Nobody is there who could write still: what was acknowledged by now is kept.
            assert acknowledged(state) <= {row["report"] for row in demo.rows(schema.applied)}
        # The night ends with nobody to tell: the controller keeps its reports and tries again.
        while not (known := json.loads(state.read_text("utf-8")))["told"]:
            assert client.poll() is None
            time.sleep(0.1)
        assert known["outbox"]
        with demo.serving():
            said, _ = client.communicate(timeout=180)
    finally:
        client.kill()
        client.stdout.close()
        client.wait(timeout=30)
    assert kills_count >= 2
    assert client.returncode == 0, said
    check_night(demo, json.loads(state.read_text("utf-8")), said)


def check_night(demo, known, said):
    runs = demo.rows(schema.applied)
    assert known["outbox"] == []
    assert [row["opens_on"] for row in demo.rows(schema.night_reports)] == [NIGHT]
    # Every cycle of the plan that the controller had is there once with its minutes, unless it came too late for it.
    cycles = [(run["terminal"], each) for run in known["tonight"]["night"]["runs"] for each in run["cycles"]]
    assert len(cycles) == len(runs) + said.count("is left out")
    assert {row["report"] for row in runs} == {report_of(terminal, cycle) for cycle, terminal in known["ran"].items()}
    planned = {report_of(terminal, each["start_utc"]): each["minutes"] for terminal, each in cycles}
    assert {row["report"]: row["minutes"] for row in runs}.items() <= planned.items()
    assert {(row["how"], row["opens_on"]) for row in runs} == {("program", NIGHT)}
    # The service's own work is there once as well.
    plans = demo.rows(schema.plans)
    assert sorted(row["revision"] for row in plans) == list(range(1, len(plans) + 1))
    assert max(Counter(row["digest"] for row in plans).values()) == 1
    assert [row["did"] for row in demo.rows(schema.trail)].count("site put") == 1
