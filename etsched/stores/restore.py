"""A backup back into an empty database: read through and checked first, then all of it in one transaction."""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.exc import StatementError

from etsched.errors import StoreRefused
from etsched.stores import migrate
from etsched.stores.backup import FORMAT
from etsched.stores.schema import Day, Instant

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection
    from sqlalchemy.types import TypeEngine

    from etsched.stores.database import Database

_AT_ONCE = 500  # rows that are in memory together
_TYPES: dict[str, TypeEngine[Any]] = {
    "instant": Instant(),
    "day": Day(),
    "truth": sa.Boolean(),
    "whole number": sa.Integer(),
    "number": sa.Float(),
    "text": sa.Text(),
}
_READ: dict[str, Callable[[str], object]] = {"instant": datetime.fromisoformat, "day": date.fromisoformat}


@dataclass(frozen=True, slots=True)
class _Table:
    name: str
    columns: tuple[tuple[str, str], ...]
    rows: int

    def values(self, row: list[object]) -> dict[str, object]:
        return {
            name: _READ[kind](value) if kind in _READ and isinstance(value, str) else value
            for (name, kind), value in zip(self.columns, row, strict=True)
        }


@dataclass(frozen=True, slots=True)
class _Head:
    step: str
    tables: tuple[_Table, ...]


def restore_backup(database: Database, path: Path) -> int:
    """Put back every row; gives how many. Raises StoreRefused, and then nothing has changed.

    The tables are made at the backup's own step, filled, and then brought to this program's.
    """
    head = _checked(path)
    try:
        with database.writing() as writing:
            _make_room(writing, head.step)
            lines = _lines(path)
            next(lines)
            for table in head.tables:
                _fill(writing, table, lines)
            _count_on(writing)
            migrate.upgrade_within(writing)
    except (StatementError, ValueError, TypeError) as error:
        said = str(error.orig if isinstance(error, StatementError) else error).partition("\n")[0]
        raise StoreRefused(f"{path}: this database cannot take the backup ({said}); nothing was changed") from error
    return sum(table.rows for table in head.tables)


def _checked(path: Path) -> _Head:
    """Read a backup through: every line is there and is what was written."""
    digest, rows_count, head, last = hashlib.sha256(), 0, None, b""
    for line in _lines(path):
        if head is None:
            head = _head_of(path, line)
        else:
            digest.update(last)
            rows_count += 1
        last = line
    if head is None or last != json.dumps({"sha256": digest.hexdigest()}).encode() + b"\n":
        raise StoreRefused(f"{path}: the backup is damaged or was cut short; take another one")
    if rows_count - 1 != sum(table.rows for table in head.tables):
        raise StoreRefused(f"{path}: the backup does not hold the rows that it says it holds; take another one")
    return head


def _head_of(path: Path, line: bytes) -> _Head:
    no_backup = StoreRefused(f"{path}: this is no backup of etsched; name a file that etsched backup wrote")
    try:
        said = json.loads(line)
        kind = str(said["format"])
    except (ValueError, TypeError, KeyError):
        raise no_backup from None
    if kind != FORMAT:
        raise StoreRefused(f"{path}: a backup of form {kind} is not known here; use the newer program that wrote it")
    try:
        tables = tuple(
            _Table(table["name"], tuple((name, kind) for name, kind in table["columns"]), int(table["rows"]))
            for table in said["tables"]
        )
        head = _Head(str(said["step"]), tables)
    except (ValueError, TypeError, KeyError):
        raise no_backup from None
    if head.step not in migrate.known_steps():
        raise StoreRefused(f"{path}: its step {head.step} is not known here; use the newer program that wrote it")
    return head


def _lines(path: Path) -> Iterator[bytes]:
    try:
        with gzip.open(path, "rb") as file:
            yield from file
    except gzip.BadGzipFile:
        raise StoreRefused(f"{path}: this is no backup of etsched; name a file that etsched backup wrote") from None
    except (EOFError, zlib.error):
        raise StoreRefused(f"{path}: the backup is damaged or was cut short; take another one") from None
    except OSError as error:
        raise StoreRefused(f"{path}: the backup cannot be read ({error.strerror}); name a file that exists") from None


def _make_room(writing: Connection, step: str) -> None:
    """Make the tables of a step; refuse a database that holds anything."""
    here = migrate.step_within(writing)
    if here == migrate.NEW:
        migrate.upgrade_within(writing, step)
    elif here != step:
        raise StoreRefused(f"the database is at step {here} and the backup at {step}; name one that holds nothing yet")
    for name in _tables(writing):
        if writing.execute(sa.select(sa.literal(1)).select_from(sa.table(name)).limit(1)).first() is not None:
            raise StoreRefused("the database holds something already and stays as it is; name one that holds nothing")


def _tables(writing: Connection) -> list[str]:
    return [name for name in sorted(sa.inspect(writing).get_table_names()) if name != "alembic_version"]


def _fill(writing: Connection, table: _Table, lines: Iterator[bytes]) -> None:
    into = sa.table(table.name, *(sa.column(name, _TYPES[kind]) for name, kind in table.columns))
    mine = islice(lines, table.rows)
    while batch := list(islice(mine, _AT_ONCE)):
        writing.execute(sa.insert(into), [table.values(json.loads(line)) for line in batch])


def _count_on(writing: Connection) -> None:
    """Let PostgreSQL number the next entry of the trail after the last one; SQLite does so by itself."""
    if writing.dialect.name == "postgresql":
        writing.exec_driver_sql(
            "SELECT setval(pg_get_serial_sequence('trail', 'entry'), coalesce(max(entry), 1), count(*) > 0) FROM trail"
        )
