"""The service's commands as a person calls them: from nothing to a running service, and what each refuses."""

import json
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing, contextmanager, suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import pytest

from etsched.model.service import KeptPlan
from etsched.settings import HOSTS
from etsched.stores import plans
from etsched.stores.database import Database
from etsched.stores.migrate import head

from .called import ENVIRONMENT, ROOT, etsched

SITE = ROOT / "demo" / "site.toml"
# The commands go by the real clock; at noon UTC it is the same day in California.
MADE = datetime.now(UTC).replace(hour=12) - timedelta(days=2)


class Place:
    """A machine of its own: folders, settings, a port."""

    def __init__(self, folder):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.file = folder / "data" / "etsched.db"
        self.settings = {
            "XDG_CACHE_HOME": str(folder / "cache"),
            "ETSCHED_DATABASE": f"sqlite:///{self.file}",
            "ETSCHED_BACKUPS_KEPT_IN": str(folder / "backups"),
            "ETSCHED_WEB_PORT": str(self.port),
            "ETSCHED_JOBS_TICK_S": "1",
        }
        # The service asks its feeds by itself: here none of them leads off this machine.
        for feed in (feed for feed, host in HOSTS.items() if host):
            name = feed.upper().replace(" ", "_").replace("-", "_")
            self.settings[f"ETSCHED_FEED_{name}_BASE_URL"] = "http://127.0.0.1:1"
        self.folder = folder

    def run(self, *words, **environment):
        return etsched(*words, cwd=self.folder, **self.settings | environment)

    @contextmanager
    def serving(self, *words):
        """Run `etsched serve` until the block ends, which ends it unless it has ended by itself."""
        with subprocess.Popen(
            [sys.executable, "-m", "etsched", "serve", *words],
            stderr=subprocess.PIPE,
            text=True,
            env=ENVIRONMENT | self.settings,
            cwd=self.folder,
        ) as process:
            try:
                self.wait_until_it_answers(process)
                yield process
            finally:
                process.kill()

    def wait_until_it_answers(self, process):
        for _ in range(600):
            assert process.poll() is None, process.stderr.read()
            try:
                assert self.get("/health")[0] == 200
                return
            except URLError:
                time.sleep(0.05)
        pytest.fail("the service does not answer")

    def post(self, path, key):
        headers = {"Authorization": f"Bearer {key}", "Idempotency-Key": "one", "Content-Type": "application/json"}
        asked = Request(f"http://127.0.0.1:{self.port}{path}", b"{}", headers)
        with suppress(HTTPError):
            urlopen(asked, timeout=60).close()  # noqa: S310 - the service under test

    def get(self, path, key=None):
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        asked = Request(f"http://127.0.0.1:{self.port}{path}", headers=headers)
        try:
            with urlopen(asked, timeout=10) as answer:  # noqa: S310 - the service under test
                return answer.status, answer.read()
        except HTTPError as error:
            with error:
                return error.code, error.read()


@pytest.fixture
def place(tmp_path):
    return Place(tmp_path)


@pytest.fixture
def ready(place):
    """A place whose database is made and holds the demo property."""
    assert place.run("migrate").returncode == 0
    assert place.run("site", "put", "grange", SITE).returncode == 0
    return place


def test_from_nothing_to_a_property(place):
    for words in ("serve", "doctor", "backup x.gz", "site list"):
        done = place.run(*words.split())
        assert done.returncode in {1, 8}
        assert "run etsched migrate, which makes it" in done.stdout + done.stderr
    assert not place.file.exists()
    assert place.run("migrate").stdout == "The database went from step 0000 to step 0002.\n"
    assert place.file.parent.stat().st_mode & 0o077 == 0
    assert place.run("migrate").stdout == "The database is at step 0002 already; nothing was changed.\n"
    put = place.run("site", "put", "grange", SITE)
    assert put.stdout == "grange: Thistledown Grange, Cobble Ferry, revision 1.\n"
    assert place.run("site", "list").stdout == "grange  1  Thistledown Grange, Cobble Ferry\n"
    shown = place.run("site", "show", "grange")
    assert shown.stdout == SITE.read_text("utf-8")
    assert "revision 1" in shown.stderr


def test_putting_away_and_taking_up(ready):
    assert ready.run("site", "put-away", "grange").returncode == 0
    assert ready.run("site", "list").stdout == ""
    assert ready.run("site", "take-up", "grange").returncode == 0
    assert ready.run("site", "list").stdout.startswith("grange")
    missing = ready.run("site", "put-away", "nowhere")
    assert (missing.returncode, missing.stdout) == (3, "")


def test_a_revision_that_moved_is_refused(ready):
    other = ready.folder / "other.toml"
    other.write_text(SITE.read_text("utf-8") + "\n# changed\n", encoding="utf-8")
    assert ready.run("site", "put", "grange", other, "--revision", 1).returncode == 0
    late = ready.run("site", "put", "grange", SITE, "--revision", 1)
    assert late.returncode == 3
    assert "revision 2" in late.stderr
    assert ready.run("site", "list").stdout.startswith("grange  2 ")


def test_a_table_cannot_be_in_the_clock_before_there_is_one(ready):
    done = ready.run("site", "table-in-clock", "grange", "--since", "2026-07-13")
    assert done.returncode == 4
    assert "has no plan yet" in done.stderr


def test_programs_of_the_clock_command_are_said_to_be_in_the_clock(ready):
    programs = ready.folder / "programs.json"
    week = (SITE, SITE.with_name("weather.csv"), "--today", "2026-07-13")
    assert ready.run("clock", *week, "--json", programs).returncode == 0
    with Database(f"sqlite:///{ready.file}") as database, database.writing() as writing:
        plans.put_plan(writing, KeptPlan("grange", 1, date(2026, 7, 14), MADE, MADE + timedelta(days=1), "{}", "d"))
    words = ("site", "table-in-clock", "grange", "--since", MADE.date(), "--programs", programs)
    said = f"grange: the programs of plan revision 1 are in the clock since {MADE.date()}.\n"
    assert ready.run(*words).stdout == said
    with Database(f"sqlite:///{ready.file}") as database, database.reading() as reading:
        kept = plans.keyed_in_on(reading, "grange", MADE.date())
    document = json.loads(programs.read_text("utf-8"))
    assert [each.name for each in kept.programs] == [each["letter"] for each in document["programs"]]
    programs.write_text(json.dumps(document | {"site": "Elsewhere"}), encoding="utf-8")
    refused = ready.run(*words)
    assert (refused.returncode, "it is of \"Elsewhere\"" in refused.stderr) == (3, True)


def test_a_backup_goes_into_an_empty_database_and_nowhere_else(ready):
    assert ready.run("backup", "b.gz").returncode == 0
    assert (ready.folder / "b.gz").stat().st_mode & 0o077 == 0
    assert ready.run("backup", "b.gz").returncode == 6
    full = ready.run("restore", "b.gz")
    assert (full.returncode, "holds something already" in full.stderr) == (8, True)
    moved = {"ETSCHED_DATABASE": f"sqlite:///{ready.folder / 'moved' / 'm.db'}"}
    assert ready.run("restore", "b.gz", **moved).returncode == 0
    assert ready.run("site", "list", **moved).stdout.startswith("grange  1 ")
    torn = ready.folder / "torn.gz"
    torn.write_bytes((ready.folder / "b.gz").read_bytes()[:-20])
    nowhere = {"ETSCHED_DATABASE": f"sqlite:///{ready.folder / 'torn.db'}"}
    done = ready.run("restore", "torn.gz", **nowhere)
    assert (done.returncode, "damaged or was cut short" in done.stderr) == (8, True)


def at_step(place, step):
    with closing(sqlite3.connect(place.file)) as plain, plain:
        plain.execute("UPDATE alembic_version SET version_num = ?", (step,))


def test_a_newer_database_is_left_alone(ready):
    at_step(ready, "9999")
    for words in ("serve", "migrate", "backup x.gz", "site list"):
        done = ready.run(*words.split())
        assert (done.returncode, "written by a newer one" in done.stderr) == (8, True)
    assert not (ready.folder / "backups").exists()
    doctor = ready.run("doctor")
    assert (doctor.returncode, "WRONG  database:" in doctor.stdout) == (1, True)


def test_an_older_database_is_backed_up_before_it_is_moved(ready, root):
    """A step that comes after all there are is laid into a copy of the program."""
    copy = ready.folder / "program"
    shutil.copytree(root / "etsched", copy / "etsched", ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "etsched/stores/migrations/versions/9000_more.py").write_text(
        '"""More."""\n\nimport sqlalchemy as sa\nfrom alembic import op\n\nrevision = "9000"\n'
        f'down_revision = "{head()}"\n\n\ndef upgrade() -> None:\n    """Add."""\n'
        '    op.add_column("sites", sa.Column("more", sa.Text(), nullable=True))\n',
        encoding="utf-8",
    )
    newer = {"PYTHONPATH": str(copy)}
    served = ready.run("serve", **newer)
    assert served.returncode == 8
    assert f"is at step {head()} and this program needs 9000; run etsched migrate, which backs up" in served.stderr
    moved = ready.run("migrate", **newer)
    assert moved.stdout == f"The database went from step {head()} to step 9000.\n"
    (backup,) = (ready.folder / "backups").iterdir()
    assert str(backup) in moved.stderr
    back = {"ETSCHED_DATABASE": f"sqlite:///{ready.folder / 'back.db'}"}
    assert ready.run("restore", backup, **back).returncode == 0
    assert ready.run("site", "list", **back).stdout.startswith("grange  1 ")


def test_config_show_tells_values_and_origins(place):
    (place.folder / "s.toml").write_text('contact = "a@example.org"\n', encoding="utf-8")
    secret = {"ETSCHED_DATABASE": "postgresql://ann:hunter2@db/x", "ETSCHED_WEB_PROT": "3"}
    done = place.run("config", "show", "--settings", "s.toml", **secret)
    assert done.returncode == 0
    rows = {line.split()[0]: line.split() for line in done.stdout.splitlines()}
    assert rows["contact"] == ["contact", "a@example.org", "s.toml,", "line", "1"]
    assert rows["database"] == ["database", "postgresql://ann:***@db/x", "ETSCHED_DATABASE"]
    assert rows["web.host"][-1] == "default"
    assert "ETSCHED_WEB_PROT in the environment is no setting" in done.stderr
    assert "hunter2" not in done.stdout + done.stderr
    (place.folder / "s.toml").write_text("[web]\nport = 0\n", encoding="utf-8")
    del place.settings["ETSCHED_WEB_PORT"]
    refused = place.run("config", "show", "--settings", "s.toml")
    assert (refused.returncode, refused.stderr) == (
        3,
        "s.toml, line 2, web.port: it is too low; write 1 or more.\n",
    )


def test_the_doctor_finds_what_is_wrong_and_says_what_to_do(ready):
    soon = datetime.now(UTC) + timedelta(days=3)
    key = ("key", "create", "--name", "hut", "--scope", "read", "--site", "grange", "--expires", soon.date())
    assert ready.run(*key).returncode == 0
    done = ready.run("doctor")
    assert (done.returncode, done.stderr) == (1, "2 of these need somebody.\n")
    wrong = [line for line in done.stdout.splitlines() if line.startswith("WRONG")]
    assert wrong == [
        f'WRONG  keys: "hut" ends on {soon:%Y-%m-%d}; make a new one with etsched key create',
        "WRONG  site grange: no address is set for its rain gauge; give it a base_url in the settings",
    ]
    with closing(sqlite3.connect(ready.file)) as plain, plain:
        plain.execute("UPDATE sites SET revision = 2")
        later = (datetime.now(UTC) + timedelta(days=400)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
        row = (later, "someone", "dreamt", "")
        plain.execute("INSERT INTO trail (at, actor, did, detail) VALUES (?, ?, ?, ?)", row)
        plain.execute("INSERT INTO site_revisions VALUES ('grange', 2, 'name = 3', ?, 'x')", (later,))
        failed = (datetime.now(UTC) - timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
        run = ("grange", "close day", "2026-07-13", "failed", 1, "w", failed, 5, failed, failed, "no feed")
        plain.execute("INSERT INTO job_runs VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", run)
    said = ready.run("doctor").stdout
    assert "set the machine's clock" in said
    assert "WRONG  jobs: close day of grange failed within a day: no feed" in said
    assert "grange, line 1, name: 3 is not text; write it in double quotes." in said


def test_the_doctor_sees_a_damaged_file(ready):
    page = bytearray(ready.file.read_bytes())
    page[4096 : 4096 + 2000] = b"\xa5" * 2000
    ready.file.write_bytes(page)
    for leftover in ("-wal", "-shm"):
        Path(str(ready.file) + leftover).unlink(missing_ok=True)
    done = ready.run("doctor")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    (said,) = [line for line in done.stdout.splitlines() if line.startswith("WRONG  database")]
    assert "restore a backup" in said


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_it_answers_and_stops_when_told(ready, how):
    key = ready.run("key", "create", "--name", "hut", "--scope", "read", "--site", "grange").stdout.strip()
    with ready.serving() as process:
        status, body = ready.get("/v1/sites/grange", key)
        assert (status, json.loads(body)["revision"]) == (200, 1)
        assert ready.get("/v1/sites/grange")[0] == 401
        taken = ready.run("serve")
        assert taken.returncode == 1
        assert f"cannot listen on 127.0.0.1:{ready.port}" in taken.stderr
        process.send_signal(how)
        assert process.wait(timeout=30) == 0
        log = [json.loads(line) for line in process.stderr.read().splitlines()]
    said = [line["message"] for line in log]
    assert f"serving on http://127.0.0.1:{ready.port}, with jobs" in said
    assert said[-1] == "stopped"
    # It may be asking its dead feeds, each of them again and again: a stop does not wait for that.
    ended, told = (datetime.fromisoformat(log[said.index(words)]["at"]) for words in ("stopped", "stopping"))
    assert ended - told < timedelta(seconds=8)
    assert key not in str(log)


def test_it_does_not_wait_for_a_request_that_asks_a_feed(ready):
    key = ready.run("key", "create", "--name", "hut", "--scope", "manage", "--site", "grange").stdout.strip()
    with socket.create_server(("127.0.0.1", 0)) as silent:  # takes a connection and says nothing, for 60 s a feed
        silent.settimeout(60)
        asked = f"http://127.0.0.1:{silent.getsockname()[1]}"
        ready.settings |= {
            name: asked for name in ready.settings if name.startswith("ETSCHED_FEED_") and name.endswith("_BASE_URL")
        }
        with ready.serving("--no-jobs") as process:
            planning = threading.Thread(target=ready.post, args=("/v1/sites/grange/plan", key))
            planning.start()
            connection, _ = silent.accept()
            process.terminate()
            assert process.wait(timeout=30) == 0
            log = [json.loads(line) for line in process.stderr.read().splitlines()]
        planning.join(30)
        connection.close()
    at = {line["message"]: datetime.fromisoformat(line["at"]) for line in log}
    assert at["stopped"] - at["Shutting down"] < timedelta(seconds=8)
    (answered,) = (words for words in at if "POST" in words)
    assert answered.endswith(" 503")


def test_pulling_the_plug_loses_nothing_and_it_starts_again(ready):
    with ready.serving("--no-jobs") as process:
        process.kill()
        process.wait(timeout=30)
    with ready.serving("--no-jobs") as process:
        assert ready.run("site", "list").stdout.startswith("grange  1 ")
        process.terminate()
        assert process.wait(timeout=30) == 0
        assert "without jobs" in process.stderr.read()
