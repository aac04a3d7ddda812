"""A backup that any kind of database can be restored from: gzip, one line of JSON a row, as of one moment.

The first line says the format, the step of the tables and, table by table in the order of their foreign keys, the
columns with the kind of value each holds and the number of rows. The rows follow, each a list. The last line is the
SHA-256 of all lines before it. The same rows give the same bytes, whichever database they come from. The file
holds the secrets of webhooks and is readable by its owner alone.
"""

from __future__ import annotations

import gzip
import hashlib
import json
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from etsched.errors import OutputRefused, StoreRefused
from etsched.stores import migrate
from etsched.stores.schema import Day, Instant, metadata
from etsched.stores.whole_file import whole_file

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Connection

    from etsched.stores.database import Database

FORMAT = "etsched.backup/1"
_AT_ONCE = 500  # rows that are in memory together


def write_backup(database: Database, path: Path) -> int:
    """Write every row of every table, as of one moment; gives how many. Raises StoreRefused, OutputRefused.

    A database that is at an earlier step than this program is written as it is, so that it can be before a migration.
    """
    try:
        # No time and no name in the gzip header, so that the bytes depend on the rows alone.
        with (
            database.reading() as reading,
            whole_file(path) as file,
            gzip.GzipFile("", "wb", fileobj=file, mtime=0) as packed,
        ):
            return _write(reading, packed)
    except OSError as error:
        raise OutputRefused(f"{path}: the backup cannot be written ({error.strerror}); name another place.") from error


def _write(reading: Connection, file: gzip.GzipFile) -> int:
    step = migrate.step_within(reading)
    migrate.check_known(step)
    if step == migrate.NEW:
        raise StoreRefused("the database is empty, so there is nothing to back up")
    tables = _tables(reading)
    counts = [reading.execute(sa.select(sa.func.count()).select_from(table)).scalar_one() for table in tables]
    digest = hashlib.sha256()

    def write(value: object) -> None:
        line = json.dumps(value, separators=(",", ":")).encode() + b"\n"
        digest.update(line)
        file.write(line)

    said = [
        {"name": table.name, "columns": [[column.name, _kind(column)] for column in _columns(table)], "rows": count}
        for table, count in zip(tables, counts, strict=True)
    ]
    write({"format": FORMAT, "step": step, "tables": said})
    for table in tables:
        for row in _rows(reading, table):
            write(row)
    file.write(json.dumps({"sha256": digest.hexdigest()}).encode() + b"\n")
    return sum(counts)


def _tables(reading: Connection) -> list[sa.Table]:
    """Give the tables as they are there, in the order of their foreign keys; what the schema knows of a type, it says.

    A database has no types for an instant on SQLite or for a day; a column that the schema does not know any more
    is taken as the database has it.
    """
    found = sa.MetaData()
    found.reflect(reading, only=lambda name, _: name != "alembic_version")
    for table in found.sorted_tables:
        known = metadata.tables.get(table.name)
        for column in table.columns:
            if known is not None and column.name in known.columns:
                column.type = known.columns[column.name].type
    return found.sorted_tables


def _columns(table: sa.Table) -> list[sa.Column[Any]]:
    """Give the columns by name: their order in a table depends on the steps that made it."""
    return sorted(table.columns, key=lambda column: column.name)


def _rows(reading: Connection, table: sa.Table) -> Iterator[list[object]]:
    keys = [_in_bytes(reading, column) for column in table.primary_key.columns]
    query = sa.select(*_columns(table)).order_by(*keys)
    for row in reading.execute(query, execution_options={"yield_per": _AT_ONCE}):
        yield [_as_json(value) for value in row]


def _in_bytes(reading: Connection, column: sa.Column[Any]) -> sa.ColumnElement[Any]:
    """Order texts by their bytes everywhere, as SQLite does; PostgreSQL would take the order of a language."""
    if reading.dialect.name == "sqlite" or _kind(column) not in {"text", "day"}:
        return column
    return sa.collate(column, "C")


_KINDS: tuple[tuple[type, str], ...] = (
    (Instant, "instant"),
    (Day, "day"),
    (sa.DateTime, "instant"),
    (sa.Boolean, "truth"),
    (sa.Integer, "whole number"),
    (sa.Float, "number"),
    (sa.String, "text"),
)


def _kind(column: sa.Column[Any]) -> str:
    """Give the kind of value that a column holds."""
    return next(word for kind, word in _KINDS if isinstance(column.type, kind))


def _as_json(value: object) -> object:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    return value.isoformat() if isinstance(value, date) else value
