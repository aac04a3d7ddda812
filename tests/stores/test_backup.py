"""Backups: every row as it was, into either kind of database, whole or not at all."""

import gzip
import hashlib
import json
import os
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa

from etsched.errors import OutputRefused, StoreRefused
from etsched.stores import migrate, trail
from etsched.stores.backup import write_backup
from etsched.stores.database import Database
from etsched.stores.restore import restore_backup
from etsched.stores.schema import metadata

from .conftest import new_url
from .full_rows import fill


@contextmanager
def new_database(kind, folder):
    """A second database that holds nothing."""
    with new_url(kind, folder) as url, Database(url) as made:
        yield made


@pytest.fixture
def full(database):
    database.rows_count = fill(database)
    return database


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    """A backup of invented rows."""
    folder = tmp_path_factory.mktemp("good")
    with new_database("sqlite", folder) as database:
        migrate.upgrade(database)
        fill(database)
        write_backup(database, folder / "b.gz")
    return folder / "b.gz"


@pytest.fixture
def empty(empty_url):
    """A database that holds nothing, not even tables."""
    with Database(empty_url) as made:
        yield made


def rows(database):
    """Every row of every table, in one order."""
    with database.reading() as reading:
        return {
            table.name: sorted((tuple(row) for row in reading.execute(sa.select(table))), key=repr)
            for table in metadata.sorted_tables
        }


def changed(path, to, change):
    """Write a backup anew with its lines changed, and a digest that fits them."""
    lines = gzip.decompress(path.read_bytes()).splitlines(keepends=True)[:-1]
    lines = change(lines)
    last = json.dumps({"sha256": hashlib.sha256(b"".join(lines)).hexdigest()}).encode() + b"\n"
    to.write_bytes(gzip.compress(b"".join(lines) + last))
    return to


def with_head(path, to, **said):
    return changed(
        path, to, lambda lines: [json.dumps(json.loads(lines[0]) | said).encode() + b"\n", *lines[1:]]
    )


@pytest.mark.parametrize("other_kind", ["sqlite", "postgresql"])
def test_everything_comes_back_in_either_kind_and_a_second_backup_has_the_same_bytes(full, other_kind, tmp_path):
    first, second = tmp_path / "first.gz", tmp_path / "second.gz"
    assert write_backup(full, first) == full.rows_count
    with new_database(other_kind, tmp_path) as other:
        assert restore_backup(other, first) == full.rows_count
        migrate.check(other)
        assert rows(other) == rows(full)
        write_backup(other, second)
        assert second.read_bytes() == first.read_bytes()
        with other.writing() as writing:
            trail.note(writing, datetime(2026, 7, 15, tzinfo=UTC), "test", "restored")
        with other.reading() as reading:
            assert [entry.entry for entry in trail.entries(reading)] == [1, 2, 3, 4, 5, 6, 7]
        with pytest.raises(sa.exc.DBAPIError, match="stays as it is"), other.writing() as writing:
            writing.exec_driver_sql("DELETE FROM trail")


def test_the_rows_are_there_for_anybody_to_read(full, tmp_path):
    write_backup(full, tmp_path / "b.gz")
    lines = gzip.decompress((tmp_path / "b.gz").read_bytes()).splitlines()
    head = json.loads(lines[0])
    assert (head["format"], head["step"]) == ("etsched.backup/1", migrate.head())
    assert {table["name"]: table["rows"] for table in head["tables"]} == dict.fromkeys(metadata.tables, 6)
    sites = next(table for table in head["tables"] if table["name"] == "sites")
    at = 1 + 6 * [table["name"] for table in head["tables"]].index("sites")
    keys = [json.loads(line)[[name for name, _ in sites["columns"]].index("site")] for line in lines[at : at + 6]]
    # By their bytes: capitals, then - (2d), _ (5f), small letters (61 on), ä (c3 a4).
    assert keys == ["Quillmere", "quill-mere", "quill_mere", "quillmere", "zed", "äpfel"]


def test_an_empty_set_of_tables_is_a_backup_too(database, tmp_path):
    assert write_backup(database, tmp_path / "b.gz") == 0
    with new_database("sqlite", tmp_path) as other:
        assert restore_backup(other, tmp_path / "b.gz") == 0
        with other.writing() as writing:
            trail.note(writing, datetime(2026, 7, 15, tzinfo=UTC), "test", "restored")


def test_tables_that_were_made_before_and_are_empty_take_it(good, empty):
    migrate.upgrade(empty)
    assert restore_backup(empty, good) == 6 * len(metadata.tables)
    assert {len(each) for each in rows(empty).values()} == {6}


def test_a_database_that_holds_something_stays_as_it_is(full, tmp_path):
    write_backup(full, tmp_path / "b.gz")
    before = rows(full)
    with pytest.raises(StoreRefused, match="holds something already and stays as it is"):
        restore_backup(full, tmp_path / "b.gz")
    assert rows(full) == before


def test_a_backup_that_lost_any_part_is_refused_and_nothing_is_made(good, tmp_path):
    whole = good.read_bytes()
    text = gzip.decompress(whole)
    lines = text.splitlines(keepends=True)
    torn = [whole[: len(whole) * part // 10] for part in range(1, 10)]
    torn += [gzip.compress(b"".join(lines[:-1])), gzip.compress(b"".join(lines[:40] + lines[41:]))]
    torn += [gzip.compress(text.replace(b"2026-07", b"2026-08", 1)), gzip.compress(b"".join([*lines, lines[-1]]))]
    torn += [gzip.compress(lines[0]), whole[:-1]]
    with new_database("sqlite", tmp_path) as other:
        for data in torn:
            (tmp_path / "torn.gz").write_bytes(data)
            with pytest.raises(StoreRefused, match=r"damaged or was cut short"):
                restore_backup(other, tmp_path / "torn.gz")
            assert migrate.step_of(other) == migrate.NEW


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"this is a letter", "is no backup of etsched"),
        (b"", "damaged or was cut short"),
        (gzip.compress(b"", mtime=0), "damaged or was cut short"),
        (gzip.compress(b"hello\n", mtime=0), "is no backup of etsched"),
        (gzip.compress(b'["a"]\n', mtime=0), "is no backup of etsched"),
        (gzip.compress(b'{"format": "etsched.backup/1"}\n', mtime=0), "is no backup of etsched"),
    ],
)
def test_what_is_no_backup(data, said, tmp_path):
    (tmp_path / "x.gz").write_bytes(data)
    with new_database("sqlite", tmp_path) as other, pytest.raises(StoreRefused, match=said):
        restore_backup(other, tmp_path / "x.gz")


def test_a_backup_that_is_not_there(tmp_path):
    with new_database("sqlite", tmp_path) as other, pytest.raises(StoreRefused, match="No such file"):
        restore_backup(other, tmp_path / "x.gz")


def test_a_newer_form_or_step_or_a_row_that_does_not_fit_is_refused_whole(good, empty, tmp_path):
    other_file = tmp_path / "other.gz"

    def with_a_naive_instant(lines):
        at = next(number for number, line in enumerate(lines) if number and b"+00:00" in line)
        return [*lines[:at], lines[at].replace(b"+00:00", b""), *lines[at + 1 :]]

    def with_a_row_of_no_site(lines):
        at = next(number for number, line in reversed(list(enumerate(lines))) if b'"zed"' in line)
        return [*lines[:at], lines[at].replace(b'"zed"', b'"gone"'), *lines[at + 1 :]]

    made = [
        (lambda: with_head(good, other_file, format="etsched.backup/2"), "form etsched.backup/2 is not known here"),
        (lambda: with_head(good, other_file, step="9999"), "its step 9999 is not known here"),
        (lambda: with_head(good, other_file, tables=[]), "does not hold the rows that it says it holds"),
        (lambda: changed(good, other_file, lambda lines: lines[:-1]), "does not hold the rows"),
        (lambda: changed(good, other_file, with_a_naive_instant), "cannot take the backup .*; nothing was changed"),
        (lambda: changed(good, other_file, with_a_row_of_no_site), "cannot take the backup .*; nothing was changed"),
        (lambda: changed(good, other_file, lambda lines: [*lines[:-1], b"[1]\n"]), "cannot take the backup"),
        (lambda: changed(good, other_file, lambda lines: [*lines[:-1], b"}\n"]), "cannot take the backup"),
    ]
    for make, said in made:
        with pytest.raises(StoreRefused, match=said):
            restore_backup(empty, make())
        assert migrate.step_of(empty) == migrate.NEW, said


def test_a_database_without_tables_or_of_a_newer_program_is_not_backed_up(database, tmp_path):
    with new_database("sqlite", tmp_path) as bare, pytest.raises(StoreRefused, match="nothing to back up"):
        write_backup(bare, tmp_path / "b.gz")
    with database.writing() as writing:
        writing.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreRefused, match="written by a newer one"):
        write_backup(database, tmp_path / "b.gz")
    assert not (tmp_path / "b.gz").exists()


def test_tables_of_an_earlier_step_are_written_as_they_are(full, tmp_path):
    """As before a migration: a column is not there yet, another one is still there."""
    with full.writing() as writing:
        writing.exec_driver_sql("ALTER TABLE webhooks DROP COLUMN ended")
        writing.exec_driver_sql("ALTER TABLE webhooks ADD COLUMN colour TEXT")
    write_backup(full, tmp_path / "b.gz")
    head = json.loads(gzip.decompress((tmp_path / "b.gz").read_bytes()).splitlines()[0])
    columns = next(dict(table["columns"]) for table in head["tables"] if table["name"] == "webhooks")
    assert "ended" not in columns
    assert (columns["colour"], columns["made"]) == ("text", "instant")


def test_a_backup_is_whole_or_not_there_and_for_its_owner_alone(full, tmp_path, monkeypatch):
    target = tmp_path / "b.gz"
    write_backup(full, target)
    assert target.stat().st_mode & 0o077 == 0
    before = target.read_bytes()
    with full.writing() as writing:
        trail.note(writing, datetime(2026, 7, 15, tzinfo=UTC), "test", "one more")

    def fails(*words):
        raise OSError(28, "No space left on device")

    for owner, name in ((os, "fsync"), (Path, "replace"), (gzip.GzipFile, "write")):
        with monkeypatch.context() as patch:
            patch.setattr(owner, name, fails)
            with pytest.raises(OutputRefused, match=r"cannot be written \(No space left on device\)"):
                write_backup(full, target)
        assert target.read_bytes() == before
        assert [path.name for path in tmp_path.iterdir() if ".db" not in path.name] == ["b.gz"]
    with pytest.raises(OutputRefused, match="cannot be written"):
        write_backup(full, tmp_path / "no" / "b.gz")


def test_a_backup_is_of_one_moment(full, tmp_path, monkeypatch):
    """A trail entry that is written while the backup runs is in neither the counts nor the rows."""
    from etsched.stores import backup

    plain, wrote = backup._rows, []

    def rows_and_a_write(reading, table):
        if not wrote:
            wrote.append(table.name)
            with full.writing() as writing:
                trail.note(writing, datetime(2026, 7, 15, tzinfo=UTC), "test", "meanwhile")
        return plain(reading, table)

    monkeypatch.setattr(backup, "_rows", rows_and_a_write)
    assert write_backup(full, tmp_path / "b.gz") == full.rows_count
    assert wrote
    assert b"meanwhile" not in gzip.decompress((tmp_path / "b.gz").read_bytes())
