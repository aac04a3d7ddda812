"""The n-th operation fails, for n = 1 until none does: what is kept is the old state or the new one, never between.

What is injected, and how:

- a full disk: the kernel refuses to let any file of this process grow past a size (RLIMIT_FSIZE), a little further
  each time; it says "file too large" where a full disk says "no space left", and stops a write at the same places;
- a failing statement: on SQLite the driver's own error instead of the n-th statement, on PostgreSQL the server ends
  our connection before it; and likewise instead of the commit;
- a failing call: the n-th of open, fsync, chmod and rename that this program makes for files of its own says EIO;
- a database that may only be read (SQLite's `mode=ro`), and a place that cannot be opened (a folder).

What is not: a disk that says it wrote and did not, a torn sector, a failing fsync inside SQLite or PostgreSQL.
"""

from __future__ import annotations

import json
import resource
from contextlib import contextmanager
from dataclasses import replace

import pytest
import sqlalchemy as sa

from etsched.bootstrap.output import write_result
from etsched.errors import OutputRefused, StoreRefused
from etsched.http_client import RawBody
from etsched.stores import migrate, plans, sites, trail
from etsched.stores.backup import write_backup
from etsched.stores.database import Database
from etsched.stores.restore import restore_backup
from etsched.stores.weather_bodies import WeatherBodies
from tests.stores.faulty import failing_call, failing_commit, failing_statement, refused
from tests.stores.invented_rows import AT, KEPT, KEY, LATER, PLAN, SITE, put, put_jobs

# Sixteen pages of SQLite, so that the transaction's log has many places to stop at.
SECOND = replace(PLAN, revision=2, at=LATER, document=json.dumps("water " * 11_000))


@pytest.fixture
def kept(database):
    """A property with one plan."""
    with database.writing() as writing:
        sites.put_site(writing, replace(SITE, revision=1), AT, "test")
        plans.put_plan(writing, PLAN)
    return database


def plan_again(database):
    """Write two things that belong together."""
    with database.writing() as writing:
        plans.put_plan(writing, SECOND)
        trail.note(writing, LATER, "test", "plan made", KEY, "revision 2")


def state(database):
    """Read both, through a connection that has seen nothing of the fault."""
    with Database(database.url.render_as_string(hide_password=False)) as fresh, fresh.reading() as reading:
        latest = plans.latest_plan(reading, KEY)
        return latest.revision, latest.document == SECOND.document, [entry.did for entry in trail.entries(reading)]


OLD, NEW = (1, False, []), (2, True, ["plan made"])


@contextmanager
def room(size_bytes):
    """Let no file grow past a size."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size_bytes, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_the_disk_is_full_at_any_size(tmp_path):
    url = f"sqlite:///{tmp_path / 'etsched.db'}"
    with Database(url) as database:
        migrate.upgrade(database)
        with database.writing() as writing:
            sites.put_site(writing, replace(SITE, revision=1), AT, "test")
            plans.put_plan(writing, PLAN)
        stops, size_bytes = 0, 0
        while True:
            with database.engine.connect() as plain:  # the log begins anew, so that it grows through every size
                plain.connection.dbapi_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            with room(size_bytes):
                error = refused(lambda: plan_again(database))
            if error is None:
                break
            assert isinstance(error, StoreRefused)
            assert "the disk is full" in str(error)
            assert state(database) == OLD
            stops, size_bytes = stops + 1, size_bytes + 2_000
        assert stops >= 30  # 66,000 bytes of document in steps of 2,000
        assert state(database) == NEW


def test_any_statement_fails(kept):
    number = 1
    while True:
        with failing_statement(kept, number) as seen:
            error = refused(lambda: plan_again(kept))
        if len(seen) < number:
            break
        assert isinstance(error, StoreRefused)
        assert state(kept) == OLD
        number += 1
    assert number > 2
    assert error is None
    assert state(kept) == NEW


def test_the_commit_fails(kept):
    with failing_commit(kept):
        assert isinstance(refused(lambda: plan_again(kept)), StoreRefused)
    assert state(kept) == OLD
    plan_again(kept)
    assert state(kept) == NEW


def test_any_statement_of_a_migration_fails(empty_url, stride):
    with Database(empty_url) as empty:
        migrate.step_of(empty)  # the driver's own first questions are asked before anything is counted
        number = 1
        while True:
            with failing_statement(empty, number) as seen:
                error = refused(lambda: migrate.upgrade(empty))
            if len(seen) < number:
                break
            assert isinstance(error, StoreRefused)
            with Database(empty_url) as fresh:
                assert migrate.step_of(fresh) == migrate.NEW
                assert sa.inspect(fresh.engine).get_table_names() == []
            number += 1 if empty.is_sqlite else stride
        assert number > 20  # there are twenty tables
        assert error is None
        migrate.check(empty)


@pytest.fixture
def backup(tmp_path):
    """A backup of a database that holds a row of everything."""
    with Database(f"sqlite:///{tmp_path / 'whole.db'}") as whole:
        migrate.upgrade(whole)
        with whole.writing() as writing:
            put(writing)
        put_jobs(whole)
        write_backup(whole, tmp_path / "backup.gz")
    return tmp_path / "backup.gz"


def test_any_statement_of_a_restore_fails(empty_url, backup, stride):
    with Database(empty_url) as empty:
        migrate.step_of(empty)
        number = 1
        while True:
            with failing_statement(empty, number) as seen:
                error = refused(lambda: restore_backup(empty, backup))
            if len(seen) < number:
                break
            assert isinstance(error, StoreRefused)
            with Database(empty_url) as fresh:
                assert migrate.step_of(fresh) == migrate.NEW
            number += 1 if empty.is_sqlite else stride
        assert number > 40  # twenty tables are made, and a row or more is put into each
        assert error is None
        with empty.reading() as reading:
            assert all(each.read(reading) == each.expected for each in KEPT)


WRITERS = {
    "a backup": lambda folder, kept: write_backup(kept, folder / "x"),
    "a result": lambda folder, kept: write_result(str(folder / "x"), "new " * 30_000),
}


@pytest.mark.parametrize("writer", WRITERS)
@pytest.mark.parametrize("before", [None, b"old"], ids=["no file before", "an old file"])
def test_any_call_of_a_file_fails(monkeypatch, tmp_path, kept, writer, before):
    folder = tmp_path / "files"
    folder.mkdir()
    if before is not None:
        (folder / "x").write_bytes(before)
    number, left = 1, []
    while True:
        with failing_call(monkeypatch, number) as seen:
            error = refused(lambda: WRITERS[writer](folder, kept))
        if len(seen) < number:
            break
        assert isinstance(error, OutputRefused), seen
        left.append({path.name: path.read_bytes() for path in folder.iterdir()})
        number += 1
    assert error is None
    assert [path.name for path in folder.iterdir()] == ["x"]
    old, new = ({} if before is None else {"x": before}), {"x": (folder / "x").read_bytes()}
    assert new != old
    assert left.count(old) >= 3  # open, fsync and rename at least
    assert all(each in (old, new) for each in left)


@pytest.mark.parametrize("writer", WRITERS)
def test_a_file_for_which_there_is_no_room(tmp_path, kept, writer):
    (tmp_path / "x").write_bytes(b"old")
    held = sorted(path.name for path in tmp_path.iterdir())
    with room(100):
        error = refused(lambda: WRITERS[writer](tmp_path, kept))
    assert isinstance(error, OutputRefused)
    assert (tmp_path / "x").read_bytes() == b"old"
    assert [name for name in sorted(path.name for path in tmp_path.iterdir()) if "db-" not in name] == [
        name for name in held if "db-" not in name
    ]


def test_a_database_that_may_only_be_read(tmp_path):
    file = tmp_path / "etsched.db"
    with Database(f"sqlite:///{file}") as database:
        migrate.upgrade(database)
        with database.writing() as writing:
            sites.put_site(writing, replace(SITE, revision=1), AT, "test")
            plans.put_plan(writing, PLAN)
        with Database(f"sqlite:///file:{file}?mode=ro&uri=true") as readable:
            with readable.reading() as reading:
                assert plans.latest_plan(reading, KEY) == PLAN
            assert "it may not be written" in str(refused(lambda: plan_again(readable)))
        assert state(database) == OLD


def test_a_place_that_cannot_be_opened(tmp_path):
    with Database(f"sqlite:///{tmp_path}") as folder:
        assert "it cannot be opened" in str(refused(lambda: migrate.check(folder)))


RAW = RawBody("http://feed/x", AT, 200, "application/json", "", '"e1"', b"first")
NEXT = {
    "the first weather of a place": ("elsewhere", replace(RAW, body=b"new", fetched=LATER), "bb" * 32),
    "other weather": ("here", replace(RAW, body=b"new", fetched=LATER), "bb" * 32),
    "the same weather confirmed": ("here", replace(RAW, body=b"first, said otherwise", fetched=LATER), "aa" * 32),
}


@pytest.mark.parametrize("what", NEXT)
def test_any_call_of_weather_that_is_kept_in_two_files_fails(monkeypatch, tmp_path, what):
    """The answer and the time at which it was confirmed are two files; between them no reader sees anything new."""
    bodies = WeatherBodies(tmp_path)
    bodies.keep("feed", "here", RAW, "aa" * 32)
    place, raw, digest = NEXT[what]

    def seen_by_readers():
        assert [path for path in tmp_path.rglob("*") if path.is_file() and path.suffix not in {".gz", ".json"}] == []
        return bodies.latest("feed", place), bodies.history("feed", place)

    old, number, left = seen_by_readers(), 1, []
    while True:
        with failing_call(monkeypatch, number) as seen:
            error = refused(lambda: bodies.keep("feed", place, raw, digest))
        if len(seen) < number:
            break
        assert isinstance(error, OutputRefused), seen
        left.append(seen_by_readers())
        number += 1
    assert error is None
    new = seen_by_readers()
    assert (new[0].raw.body, new[0].raw.fetched) == (b"first" if digest == "aa" * 32 else b"new", LATER)
    assert new != old
    assert left.count(old) >= 3  # open, fsync and rename at least
    assert all(each in (old, new) for each in left)
    assert len(new[1]) == (2 if what == "other weather" else 1)
