"""Databases that cannot be used as they are, injected: rights of files bind not everybody who runs tests."""

from contextlib import contextmanager

import sqlalchemy as sa

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
