"""A kept plan holds the days before it as the books went, and the likely range ahead, and gives both back."""

import json
from datetime import time
from itertools import pairwise

import pytest

from etsched.charts.root_zone import root_zone
from etsched.reports.kept_plan import plan_from
from etsched.timetable.tick import Ticker
from etsched.usecases import reports_in
from etsched.usecases.kept_plans import week_plan
from tests.usecases.made import TIMES, day, live, plan_minutes, put, service_on, told

MM_PER_MIN = 1.5 * 25.4 / 60  # of the made stations, spread evenly


@pytest.fixture
def service(database):
    made = service_on(database)
    put(made)
    return made


@pytest.fixture
def ticker(service):
    return Ticker(service, "test", TIMES)


def lived(service, ticker, last, share):
    """Let days pass; a controller tells each night, station 2 a share of its minutes. Gives what it told."""
    ran = {}
    for number in range(1, last):
        live(service, ticker, number)
        service.clock.set(day(number + 1), time(4))
        planned = plan_minutes(week_plan(service, "quillmere")[0])
        mine = {1: float(planned.get(1, 0)), 2: float(int(planned.get(2, 0) * share))}
        runs = [told(terminal, day(number), minutes) for terminal, minutes in mine.items() if minutes]
        reports_in.report_applied(service, "quillmere", runs, [day(number)], "controller")
        ran |= {(terminal, day(number + 1)): minutes for terminal, minutes in mine.items()}
    live(service, ticker, last)
    return ran


def test_the_days_before_are_in_the_kept_plan_with_what_ran(service, ticker):
    ran = lived(service, ticker, 6, 0.5)
    plan = week_plan(service, "quillmere")[1]
    lines = {(line.terminal, line.day): line for line in plan.before.books}
    days = sorted({each for _, each in lines})
    assert days[-1] == day(6)
    assert len(days) >= 4
    for (terminal, each), line in lines.items():
        expected = min(ran.get((terminal, each), 0.0) * MM_PER_MIN, line.start_mm + line.passed_mm + line.et_mm)
        assert line.irrigation_mm == pytest.approx(expected, abs=1e-9), (terminal, each)
        assert line.rain_mm == 0.0  # the made weather is dry
    assert sum(line.irrigation_mm for line in lines.values()) > 0.0


def test_one_day_ends_where_the_next_begins_up_to_the_plan(service, ticker):
    lived(service, ticker, 6, 0.5)
    plan = week_plan(service, "quillmere")[1]
    for terminal in (1, 2):
        mine = [line for line in (*plan.before.books, *plan.books) if line.terminal == terminal]
        assert [line.day for line in mine] == sorted({line.day for line in mine})
        for before, after in pairwise(mine):
            assert before.end_mm == pytest.approx(after.start_mm, abs=1e-9), (terminal, after.day)
    assert {each.day for each in plan.before.days} == {line.day for line in plan.before.books}


def test_silence_shows_the_books_that_the_plan_goes_by(service, ticker):
    """Nobody told anything: the drier supposition is that nothing ran."""
    for number in (1, 2, 3, 4):
        live(service, ticker, number)
    plan = week_plan(service, "quillmere")[1]
    assert plan.before.books
    assert {line.irrigation_mm for line in plan.before.books} == {0.0}
    last = {line.terminal: line.end_mm for line in plan.before.books}
    first = {line.terminal: line.start_mm for line in plan.books if line.day == plan.first_day}
    assert last == pytest.approx(first, abs=1e-9)


def test_the_picture_shows_the_days_before(service, ticker):
    lived(service, ticker, 6, 0.5)
    plan = week_plan(service, "quillmere")[1]
    assert len(plan.depletion_ranges) == 14
    ends = {(line.terminal, line.day): line.end_mm for line in plan.books}
    for each in plan.depletion_ranges:
        assert each.low_mm - 1e-9 <= ends[each.terminal, each.day] <= each.high_mm + 1e-9
    assert "Mon Jul 6" in root_zone(plan, 1)


def test_a_plan_of_an_earlier_version_is_still_read(service, ticker):
    lived(service, ticker, 3, 1.0)
    kept, plan = week_plan(service, "quillmere")
    week = json.loads(kept.document)
    del week["likely_depletion"]
    week.pop("before", None)
    older = plan_from(week, plan.site)
    assert (older.before.books, older.depletion_ranges) == ((), ())
    assert older.books == plan.books
