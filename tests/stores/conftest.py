"""A new database for each test, of each kind that is there: SQLite always, PostgreSQL where a server answers."""

import os
import shutil
import uuid
from contextlib import ExitStack, contextmanager
from functools import cache

import pytest
import sqlalchemy as sa

from etsched.stores import migrate
from etsched.stores.database import Database

# Where a server is: tests/run.sh sets it, else the one of this machine.
SERVER = os.environ.get("ETSCHED_TEST_POSTGRESQL", "postgresql:///postgres")


def connected(**more):
    import psycopg

    return psycopg.connect(SERVER.replace("+psycopg", ""), autocommit=True, **more)


@cache
def postgresql_answers():
    import psycopg

    try:
        connected(connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


@contextmanager
def new_url(kind, folder, like=None):
    """The address of a database that holds nothing, or what the one at another address holds; dropped afterwards."""
    name = f"etsched_{uuid.uuid4().hex[:12]}"
    if kind == "sqlite":
        if like is not None:
            shutil.copyfile(sa.make_url(like).database, folder / f"{name}.db")
        yield f"sqlite:///{folder / name}.db"
        return
    if not postgresql_answers():
        pytest.skip("no PostgreSQL answers; bash tests/run.sh starts one, or set ETSCHED_TEST_POSTGRESQL")
    with connected() as server:
        server.execute(f"CREATE DATABASE {name}" + ("" if like is None else f" TEMPLATE {sa.make_url(like).database}"))
    yield sa.make_url(SERVER).set(database=name).render_as_string(hide_password=False)
    with connected() as server:
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def with_tables(tmp_path_factory):
    """Gives, by its kind, the address of a database with this program's tables: made once, to be copied."""
    with ExitStack() as until_the_end:

        @cache
        def url(kind):
            made = until_the_end.enter_context(new_url(kind, tmp_path_factory.mktemp("tables")))
            with Database(made) as empty:
                migrate.upgrade(empty)
            return made

        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request):
    return request.param


@pytest.fixture
def empty_url(kind, tmp_path):
    """The address of a database that holds nothing."""
    with new_url(kind, tmp_path) as url:
        yield url


@pytest.fixture
def database(kind, with_tables, tmp_path):
    """A database with this program's tables."""
    with new_url(kind, tmp_path, with_tables(kind)) as url, Database(url) as made:
        yield made


@pytest.fixture
def stride(request):
    """On a server each failure costs a connection and more, so that only a campaign lets every statement fail."""
    return 1 if request.config.getoption("--campaign") else 7
