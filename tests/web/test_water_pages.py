"""The pages of the water show the days before a plan, in the picture and in the table below it."""

import html
import re
from dataclasses import replace
from datetime import time

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.timetable.tick import Ticker
from etsched.usecases.access import make_user
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.record_visit import record_visit
from etsched.web.app import make_app
from etsched.web.pages import water
from tests.usecases.made import TIMES, day, live, put, service_on
from tests.web.conftest import WIDE

VISIT = """
date = {day}

[clock]
rain_switch = "bypassed"
"""
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
        for visited in ("2026-07-03", "2026-05-20"):
            record_visit(service, "quillmere", VISIT.format(day=visited), "test")
        make_user(database, service.clock.now(), "mia", PASSWORD, Role.MANAGER, frozenset({"quillmere"}))
        client = TestClient(make_app(service, WIDE), base_url="http://localhost")
        client.post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": "/"})
        yield client


def cell(row, name):
    """What a row of a page's table says under a heading."""
    return html.unescape(re.search(f'data-name="{name}">([^<]*)<', row)[1])


def test_the_table_begins_before_the_week(client):
    rows = re.findall(
        r'<tr><th scope="row">([^<]+?)(?: <b>visited</b>)?</th>', client.get("/sites/quillmere/water/1").text
    )
    assert rows[-7:] == [f"{name} Jul {number}" for name, number in zip(
        ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"), range(6, 13), strict=True)]  # fmt: skip
    assert rows[:-7] == ["Wed Jul 1", "Thu Jul 2", "Fri Jul 3", "Sat Jul 4", "Sun Jul 5"][-len(rows) + 7 :]
    assert len(rows) >= 11


def test_the_pictures_begin_where_the_table_does(client):
    for path in ("root-zone/1.svg", "weather.svg"):
        drawn = client.get(f"/sites/quillmere/{path}").text
        assert "Sat Jul 4" in drawn, path
        assert "Sun Jul 12" in drawn, path


def test_the_tables_hold_what_the_pictures_draw_of_visits(client):
    """One visit falls into the days that are shown, one lies before them."""
    page = client.get("/sites/quillmere/water/1").text
    assert re.findall(r'<tr><th scope="row">([^<]+) <b>visited</b></th>', page) == ["Fri Jul 3"]
    assert "Visited too, on days that are not shown: Wed May 20." in page
    assert 'data-panel="visits"' in client.get("/sites/quillmere/root-zone/1.svg").text


def test_the_weathers_table_holds_the_likely_rain(client, monkeypatch):
    """By hand: 12.7 mm are half an inch; a day without a range shows none."""

    def with_range(service, site):
        kept, plan = week_plan(service, site)
        first, *rest = plan.days
        return kept, replace(plan, days=(replace(first, rain_low_mm=0.0, rain_high_mm=12.7), *rest))

    monkeypatch.setattr(water, "week_plan", with_range)
    page = client.get("/sites/quillmere/water").text.split("<h2>The weather</h2>")[1]
    shown = {day: cell(row, "Rain, likely") for day, row in re.findall(r'<th scope="row">([^<]+)</th>(.*?)</tr>', page)}
    assert shown["Mon Jul 6"] == "0.00–0.50 in"
    assert {day: text for day, text in shown.items() if text} == {"Mon Jul 6": "0.00–0.50 in"}
