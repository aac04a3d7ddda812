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
SPEED, NIGHT_S = 500.0, 60.0  # half an hour and the eight hours of the window
# Kills while the property is brought in and in the night. A busy machine has no time for all of the night's: a start
# takes 2 s of it, ten where much else goes on.
BRINGING_IN_KILLS, KILLS, FEWEST_KILLS = 2, 5, 4
BRINGING_IN_S = 1.5  # from the settings written until the first night is planned


class Demo:
    """The demo's service in processes of its own, one after the other, on one folder."""

    def __init__(self, root, folder):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.root, self.folder, self.said = root, folder, folder / "serve.log"
        self.url = f"http://127.0.0.1:{self.port}"

    @contextmanager
    def begun(self):
        """Run it until the block ends, and kill it then."""
        command = [sys.executable, "demo/serve.py", "--out", self.folder, "--port", self.port, "--speed", SPEED]
        with self.said.open("a") as said:
            process = subprocess.Popen([*map(str, command)], cwd=self.root, stderr=said)
        try:
            yield process
        finally:
            process.kill()
            process.wait(timeout=30)

    @contextmanager
    def serving(self):
        """Run it until the block ends, once it answers."""
        with self.begun() as process:
            self.wait_until_it_answers(process)
            yield

    def kill_while_bringing_in(self, after_s):
        """Kill it a while after it has written its settings, with which its work begins; True if it was at that."""
        settings = self.folder / "settings.toml"
        settings.unlink(missing_ok=True)
        with self.begun() as process:
            while not settings.exists():
                assert process.poll() is None, self.said.read_text()
                time.sleep(0.01)
            time.sleep(after_s)
        return not (self.folder / "clock.json").exists()

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
    early = [demo.kill_while_bringing_in(chance.uniform(0.0, BRINGING_IN_S)) for _ in range(BRINGING_IN_KILLS)]
    with demo.serving():
        client = demo.controller(state)
        until_s = time.monotonic() + NIGHT_S
        moments_s = sorted(until_s - chance.uniform(0.0, NIGHT_S) for _ in range(KILLS))
        sleep_until(moments_s[0])
    try:
        for number, moment_s in enumerate(moments_s[1:]):
            if time.monotonic() > until_s:
                break
            # Every other one is killed when its moment has come, whether it answers by then or not.
            with demo.serving() if number % 2 else demo.begun():
                if client.poll() is not None:
                    client.stdout.close()
                    client = demo.controller(state)
                sleep_until(moment_s)
                if number == 1:  # the whole street is dark
                    client.kill()
                    client.wait(timeout=30)
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
    assert any(early), early
    assert kills_count >= FEWEST_KILLS
    assert client.returncode == 0, said
    print(f"\nkills: {sum(early)} of {len(early)} while it was brought in, {kills_count} after")  # noqa: T201 - to be read
    check_night(demo, json.loads(state.read_text("utf-8")), said)


def sleep_until(moment_s):
    """Sleep until a moment of the monotonic clock, a little in any case."""
    time.sleep(max(0.2, moment_s - time.monotonic()))


def check_night(demo, known, said):
    runs = demo.rows(schema.applied)
    assert known["outbox"] == []
    assert [row["opens_on"] for row in demo.rows(schema.night_reports)] == [NIGHT]
    # Every cycle of the plan that the controller had is there once with its minutes, unless it came too late for it or
    # was cut short when the controller died; the one that was started again says of every cycle which it leaves out.
    cycles = [(run["terminal"], each) for run in known["tonight"]["night"]["runs"] for each in run["cycles"]]
    assert len(cycles) == len(runs) + said.count("is left out")
    assert {row["report"] for row in runs} == {report_of(terminal, cycle) for cycle, terminal in known["ran"].items()}
    planned = {report_of(terminal, each["start_utc"]): each["minutes"] for terminal, each in cycles}
    short = [row for row in runs if row["how"] == "cut short"]
    assert len(short) == said.count("cut short by a restart")
    assert all(0 <= row["minutes"] <= planned[row["report"]] for row in short)
    whole = {row["report"]: row["minutes"] for row in runs if row["how"] == "program"}
    assert whole
    assert whole.items() <= planned.items()
    assert len(whole) + len(short) == len(runs)
    assert {row["opens_on"] for row in runs} == {NIGHT}
    # The service's own work is there once as well.
    plans = demo.rows(schema.plans)
    assert sorted(row["revision"] for row in plans) == list(range(1, len(plans) + 1))
    assert max(Counter(row["digest"] for row in plans).values()) == 1
    assert [row["did"] for row in demo.rows(schema.trail)].count("site put") == 1
