"""One database behind one URL: SQLite beside the program, or PostgreSQL; readers see one moment, writers are safe."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Self

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, OperationalError

from etsched.errors import StoreRefused

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

# How long a writer waits for another one on SQLite before it gives up.
_BUSY_MS = 10_000


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
        return sa.create_engine(url, pool_pre_ping=True, hide_parameters=True)
    engine = sa.create_engine(url, connect_args={"timeout": _BUSY_MS / 1000}, hide_parameters=True)

    @sa.event.listens_for(engine, "connect")
    def prepare(raw: Any, record: object) -> None:  # noqa: ANN401 - a DBAPI connection has no type
        raw.isolation_level = None  # transactions are begun below, not by the driver
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL", f"busy_timeout={_BUSY_MS}"):
            raw.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


@contextmanager
def _told(url: sa.URL) -> Iterator[None]:
    """Turn what a database says of itself into a sentence; what a constraint says goes on as it is."""
    try:
        yield
    except OperationalError as error:
        raise StoreRefused(_sentence(url, str(error.orig))) from error
    except DBAPIError as error:
        if "not a database" in str(error.orig) or "malformed" in str(error.orig):
            raise StoreRefused(_sentence(url, str(error.orig))) from error
        raise


_SENTENCES = (
    ("locked", "another program is writing to it; try again, or end the other program"),
    ("readonly", "it may not be written; give this user the right to write the file and its folder"),
    ("read-only", "it may not be written; give this user the right to write it"),
    ("unable to open", "it cannot be opened; name a file in a folder that exists and may be written"),
    ("not a database", "this is no database; name another file, or restore a backup"),
    ("malformed", "it is damaged; restore a backup"),
    ("disk is full", "the disk is full; make room, nothing was changed"),
    ("disk i/o error", "the disk is full or failing; make room, or restore a backup elsewhere; nothing was changed"),
    ("no such table", "its tables are missing; run etsched migrate"),
    ("does not exist", "it does not exist or its tables are missing; create it and run etsched migrate"),
    ("connection", "it does not answer; start it, or name another one"),
)


def _sentence(url: sa.URL, said: str) -> str:
    where = url.database or url.render_as_string(hide_password=True)
    for sign, sentence in _SENTENCES:
        if sign in said.lower():
            return f"the database {where}: {sentence}"
    return f"the database {where} failed: {' '.join(said.split())}"
