"""One database behind one URL: SQLite beside the program, or PostgreSQL; readers see one moment, writers are safe."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Self

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, OperationalError

from etsched.errors import StoreRefused

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

# How long one waits for what another program holds before it gives up (own choice). An address may say otherwise, in
# its database's own words: sqlite:///file.db?timeout=0.5 (seconds), postgresql://…?options=-clock_timeout%3D500.
_WAIT_MS = 10_000
_BOUND_UNLESS_SET = (
    f"SELECT set_config('lock_timeout', '{_WAIT_MS}', false) WHERE current_setting('lock_timeout') = '0'"
)


class Database:
    """An open database; every access is a whole transaction of `reading` or `writing`."""

    def __init__(self, url: str) -> None:
        """Open `sqlite:///path` or `postgresql+psycopg://…`; nothing is created. Raises StoreRefused."""
        self.url = _checked(url)
        self.engine = _engine(self.url)
        self.commits_count = 0  # written transactions of this process, so that what was read before can be told stale

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a file beside the program."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Read as of one moment."""
        options: dict[str, Any] = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with self._transaction(options) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Write all or nothing; on SQLite the one writer begins at once, so that it never has to turn back."""
        with self._transaction({"writes": True}) as connection:
            yield connection
        self.commits_count += 1

    @contextmanager
    def _transaction(self, options: dict[str, Any]) -> Iterator[Connection]:
        with _told(self.url), self.engine.connect() as plain:
            connection = plain.execution_options(**options)
            with connection.begin():
                yield connection

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *failure: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _checked(url: str) -> sa.URL:
    try:
        parsed = sa.make_url(url)
    except sa.exc.ArgumentError:
        raise StoreRefused("the database address cannot be read; write sqlite:///path/to/file.db") from None
    if parsed.drivername in {"postgresql", "postgres"}:
        parsed = parsed.set(drivername="postgresql+psycopg")
    if parsed.drivername not in {"sqlite", "postgresql+psycopg"}:
        raise StoreRefused(
            f'"{parsed.drivername}" is no database that etsched keeps things in; write sqlite:///file.db or '
            "postgresql://user@host/name"
        )
    return parsed


def _engine(url: sa.URL) -> Engine:
    # The values of a statement hold secrets, so they are not repeated when it fails.
    if url.drivername != "sqlite":
        engine = sa.create_engine(url, pool_pre_ping=True, hide_parameters=True)

        @sa.event.listens_for(engine, "connect")
        def bound(raw: Any, record: object) -> None:  # noqa: ANN401 - a DBAPI connection has no type
            raw.execute(_BOUND_UNLESS_SET)
            raw.commit()

        return engine
    wait_ms = _wait_ms(url)
    engine = sa.create_engine(url, connect_args={"timeout": wait_ms / 1000}, hide_parameters=True)

    @sa.event.listens_for(engine, "connect")
    def prepare(raw: Any, record: object) -> None:  # noqa: ANN401 - a DBAPI connection has no type
        raw.isolation_level = None  # transactions are begun below, not by the driver
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL", f"busy_timeout={wait_ms}"):
            raw.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _wait_ms(url: sa.URL) -> int:
    try:
        return int(float(str(url.query.get("timeout", _WAIT_MS / 1000))) * 1000)
    except (ValueError, OverflowError):
        raise StoreRefused("the database address names no number of seconds to wait; write ?timeout=10") from None


@contextmanager
def _told(url: sa.URL) -> Iterator[None]:
    """Turn what a database says of itself into a sentence.

    What a constraint says goes on as it is, and so does what only a defect of this program's own SQL brings about.
    """
    try:
        yield
    except DBAPIError as error:
        sentence = _sentence(error)
        if sentence is None:
            raise
        where = url.database or url.render_as_string(hide_password=True)
        raise StoreRefused(f"the database {where}{sentence}") from error


_LOCKED = "another program is writing to it; try again, or end the other program"
_READ_ONLY = "it may not be written; give this user the right to write it"
_FULL = "the disk is full; make room, nothing was changed"
_FAILING = "the disk is full or failing; make room, or restore a backup elsewhere; nothing was changed"
_DAMAGED = "it is damaged; restore a backup"
_NO_TABLES = "its tables are missing; run etsched migrate"
_SILENT = "it does not answer; start it, or name another one"

# PostgreSQL says what it means by a code (its manual, appendix A), whatever language its words are in.
_CODES = {
    "25006": _READ_ONLY,
    "42501": "this user lacks a right; give the user the right to read and write its tables",
    "42P01": _NO_TABLES,
    "53100": _FULL,
    "55P03": _LOCKED,
    "58030": _FAILING,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
}
# These may also come of a defect of this program, which what the database said helps to tell.
_UNSURE = {"42501", "42P01"}

_SIGNS = (
    ("locked", _LOCKED),
    ("readonly", "it may not be written; give this user the right to write the file and its folder"),
    ("read-only", _READ_ONLY),
    ("unable to open", "it cannot be opened; name a file in a folder that exists and may be written"),
    ("not a database", "this is no database; name another file, or restore a backup"),
    ("malformed", _DAMAGED),
    ("disk is full", _FULL),
    ("disk i/o error", _FAILING),
    ("no such table", _NO_TABLES),
    ("does not exist", "it does not exist or its tables are missing; create it and run etsched migrate"),
    ("connection", _SILENT),
)


def _sentence(error: DBAPIError) -> str | None:
    """Say what is wrong with a database and what to do; None where nothing is wrong with the database."""
    said = " ".join(str(error.orig).split())
    code = getattr(error.orig, "sqlstate", None)
    if code in _CODES:
        return f": {_CODES[code]}" + (f" ({said})" if code in _UNSURE else "")
    if error.connection_invalidated:
        return f": {_SILENT}"
    operational = isinstance(error, OperationalError)
    if not operational and type(error.orig) is not sqlite3.DatabaseError:  # so SQLite calls a damaged file
        return None
    for sign, sentence in _SIGNS:
        if sign in said.lower():
            return f": {sentence}" + (f" ({said})" if sentence is _NO_TABLES else "")
    own_defect = getattr(error.orig, "sqlite_errorcode", None) == sqlite3.SQLITE_ERROR  # SQL that cannot be done
    return f" failed: {said}" if operational and not own_defect else None
