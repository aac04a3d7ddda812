"""The pages of the water show the days before a plan, in the picture and in the table below it."""

import re
from datetime import time

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.timetable.tick import Ticker
from etsched.usecases.access import make_user
from etsched.web.app import make_app
from tests.usecases.made import TIMES, day, live, put, service_on
from tests.web.conftest import WIDE

PASSWORD = "a few words in a row"  # noqa: S105 - of an invented person


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A property that has lived through five days in which nobody told anything."""
    with Database(f"sqlite:///{tmp_path_factory.mktemp('water') / 'etsched.db'}") as database:
        migrate.upgrade(database)
        service = service_on(database)
        put(service)
        ticker = Ticker(service, "test", TIMES)
        for number in range(1, 6):
            live(service, ticker, number)
        service.clock.set(day(5), time(18))
        make_user(database, service.clock.now(), "mia", PASSWORD, Role.MANAGER, frozenset({"quillmere"}))
        client = TestClient(make_app(service, WIDE), base_url="http://localhost")
        client.post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": "/"})
        yield client


def test_the_table_begins_before_the_week(client):
    rows = re.findall(r'<tr><th scope="row">([^<]+)</th>', client.get("/sites/quillmere/water/1").text)
    assert rows[-7:] == [f"{name} Jul {number}" for name, number in zip(
        ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"), range(6, 13), strict=True)]  # fmt: skip
    assert rows[:-7] == ["Wed Jul 1", "Thu Jul 2", "Fri Jul 3", "Sat Jul 4", "Sun Jul 5"][-len(rows) + 7 :]
    assert len(rows) >= 11


def test_the_pictures_begin_where_the_table_does(client):
    for path in ("root-zone/1.svg", "weather.svg"):
        drawn = client.get(f"/sites/quillmere/{path}").text
        assert "Sat Jul 4" in drawn, path
        assert "Sun Jul 12" in drawn, path
