"""Faults, injected: databases that cannot be used as they are, the n-th statement or call that fails.

Rights of files are not used for that: they do not bind everybody who runs tests.
"""

import errno
import os
import sqlite3
from contextlib import contextmanager

import sqlalchemy as sa

from etsched.errors import EtschedError
from etsched.stores.database import Database


def address(database, **query):
    """The address of a database, saying more."""
    return database.url.update_query_dict(query).render_as_string(hide_password=False)


def read_only(database):
    """An address under which it may only be read."""
    if database.is_sqlite:
        return f"sqlite:///file:{database.url.database}?mode=ro&uri=true"
    return address(database, options="-c default_transaction_read_only=on")


def impatient(database):
    """An address under which nobody is waited for long."""
    waits = {"timeout": "0.1"} if database.is_sqlite else {"options": "-clock_timeout=100"}
    return address(database, **waits)


@contextmanager
def held(database):
    """Another program is writing: it holds the one lock of SQLite, or every table of PostgreSQL."""
    with Database(address(database)) as other, other.writing() as writing:
        if not other.is_sqlite:
            tables = ", ".join(sorted(set(sa.inspect(writing).get_table_names()) - {"alembic_version"}))
            writing.exec_driver_sql(f"LOCK TABLE {tables} IN EXCLUSIVE MODE")
        yield


def rows(database):
    """Everything that is kept, as text, through a connection that has seen nothing of the fault."""
    with Database(address(database)) as fresh, fresh.reading() as reading:
        tables = sa.inspect(reading).get_table_names()
        return {name: sorted(map(str, reading.exec_driver_sql(f"SELECT * FROM {name}"))) for name in tables}  # noqa: S608


def refused(work):
    """Do something and give what it was refused with; None where it was done."""
    try:
        work()
    except EtschedError as error:
        return error
    return None


@contextmanager
def failing_statement(database, number):
    """Let the number-th statement fail, counted from now; gives how many there were."""
    seen = []

    def fail(connection, *_):
        seen.append(connection)
        if len(seen) == number:
            break_off(database, connection)

    sa.event.listen(database.engine, "before_cursor_execute", fail)
    try:
        yield seen
    finally:
        sa.event.remove(database.engine, "before_cursor_execute", fail)


@contextmanager
def failing_commit(database):
    def fail(connection):
        break_off(database, connection)

    sa.event.listen(database.engine, "commit", fail)
    try:
        yield
    finally:
        sa.event.remove(database.engine, "commit", fail)


def break_off(database, connection):
    if database.is_sqlite:
        raise sa.exc.OperationalError("", {}, sqlite3.OperationalError("disk I/O error"))
    backend = connection.connection.dbapi_connection.info.backend_pid
    with Database(database.url.render_as_string(hide_password=False)) as other, other.writing() as killing:
        killing.exec_driver_sql(f"SELECT pg_terminate_backend({backend}, 5000)")


@contextmanager
def failing_call(monkeypatch, number):
    """Let the number-th call fail by which this program opens, syncs, marks or renames a file of its own."""
    seen = []

    def failing(real):
        def call(*given, **named):
            seen.append(real.__name__)
            if len(seen) == number:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            return real(*given, **named)

        return call

    with monkeypatch.context() as patched:
        for name in ("open", "fsync", "chmod", "fchmod", "replace", "rename"):
            patched.setattr(os, name, failing(getattr(os, name)))
        yield seen
