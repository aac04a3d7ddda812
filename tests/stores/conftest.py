"""A new database for each test, of each kind that is there: SQLite always, PostgreSQL where a server answers."""

import os
import uuid

import pytest
import sqlalchemy as sa

from etsched.stores import migrate
from etsched.stores.database import Database

# Where a server is: tests/run.sh sets it, else the one of this machine.
SERVER = os.environ.get("ETSCHED_TEST_POSTGRESQL", "postgresql:///postgres")


def postgresql_answers():
    import psycopg

    try:
        psycopg.connect(SERVER.replace("+psycopg", ""), connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request, tmp_path):
    """The address of a database that holds nothing."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'etsched.db'}"
        return
    if not postgresql_answers():
        pytest.skip("no PostgreSQL answers; bash tests/run.sh starts one, or set ETSCHED_TEST_POSTGRESQL")
    import psycopg

    name = f"etsched_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(SERVER.replace("+psycopg", ""), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
    yield sa.make_url(SERVER).set(database=name).render_as_string(hide_password=False)
    with psycopg.connect(SERVER.replace("+psycopg", ""), autocommit=True) as server:
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def database(empty_url):
    """A database with this program's tables."""
    made = Database(empty_url)
    migrate.upgrade(made)
    yield made
    made.close()
