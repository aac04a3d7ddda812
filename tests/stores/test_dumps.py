"""Databases as programs of earlier steps left them: every later program takes them up and reads every row."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from etsched.stores import migrate
from etsched.stores.backup import write_backup
from etsched.stores.database import Database
from etsched.stores.restore import restore_backup
from tests.stores.invented_rows import KEPT

DUMPS = sorted((Path(__file__).parent / "dumps").glob("*.sqlite.sql"))


@pytest.fixture(params=DUMPS, ids=lambda path: path.name.partition(".")[0])
def left(request, tmp_path):
    """An SQLite database as a dump left it."""
    file = tmp_path / "left.db"
    with closing(sqlite3.connect(file)) as plain:
        plain.executescript(request.param.read_text("utf-8"))
    with Database(f"sqlite:///{file}") as database:
        yield database


def assert_whole(database):
    migrate.check(database)
    for kept in KEPT:
        with database.reading() as reading:
            assert kept.read(reading) == kept.expected, kept.table


def test_there_is_a_dump_of_every_step(root):
    steps = sorted(path.name[:4] for path in (root / "etsched/stores/migrations/versions").glob("0*.py"))
    assert [path.name.partition(".")[0] for path in DUMPS] == steps


def test_the_rows_are_of_every_table():
    from etsched.stores.schema import metadata

    assert {kept.table for kept in KEPT} == set(metadata.tables)


def test_it_is_taken_up_to_this_program_with_every_row(left):
    migrate.upgrade(left)
    assert_whole(left)


def test_it_moves_to_any_database_by_a_backup(left, empty_url, tmp_path):
    write_backup(left, tmp_path / "b.gz")
    with Database(empty_url) as moved:
        restore_backup(moved, tmp_path / "b.gz")
        assert_whole(moved)
        # What is put after it goes on counting where it ended.
        from etsched.stores import trail
        from tests.stores.invented_rows import LATER

        with moved.writing() as writing:
            trail.note(writing, LATER, "ann", "site put")
        with moved.reading() as reading:
            assert [entry.entry for entry in trail.entries(reading)] == [1, 2, 3]
