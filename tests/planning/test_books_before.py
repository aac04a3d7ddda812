"""The books of the days before a plan, as far as somebody told of them."""

from datetime import date, timedelta

import pytest

from etsched.model.plan import WaterState
from etsched.planning.start import Reading
from etsched.planning.week import Earlier, plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)
SURE = {"available_water": known(0.15), "allowable_depletion": known(0.5)}


def on(day):
    return FIRST - timedelta(days=day)


def layers(terminals, missing_mm):
    """Root zones of 150 mm over two layers that are full."""
    return dict.fromkeys(terminals, (missing_mm, 0.0, 0.0)), dict.fromkeys(terminals, (150.0, 26.6, 26.6))


def planned(earlier=None):
    return plan_week(site(station(1, **SURE), station(2, **SURE)), weather(), FIRST, earlier)


def carried(days, missing_mm=5.0, ran=None):
    return Earlier(WaterState(on(days), *layers((1, 2), missing_mm)), ran or {})


def test_nobody_told_so_there_are_none():
    assert planned().before.books == ()
    assert planned().before.days == ()


def test_they_lead_from_the_kept_water_to_the_plans_first_morning():
    plan = planned(carried(2))
    assert [(line.day, line.terminal) for line in plan.before.books] == [
        (on(2), 1), (on(2), 2), (on(1), 1), (on(1), 2),
    ]  # fmt: skip
    assert [day.day for day in plan.before.days] == [on(2), on(1)]
    first, _, second, _ = plan.before.books
    assert (first.start_mm, second.start_mm) == (5.0, first.end_mm)
    assert plan.books[0].start_mm == second.end_mm


def test_what_ran_stands_in_them():
    plan = planned(carried(2, 20.0, {(1, on(1)): 20}))
    irrigated = {(line.terminal, line.day): line.irrigation_mm for line in plan.before.books}
    # 20 min at 40 mm/h are 13.33 mm; DU 0.6 asks for 1 ÷ (0.4 + 0.6 × 0.6), so 0.76 of it counts.
    assert irrigated.pop((1, on(1))) == pytest.approx(13.3333333 * 0.76)
    assert set(irrigated.values()) == {0.0}


def test_soil_that_was_read_outranks_them_from_its_morning_on():
    read = Reading(WaterState(on(1), *layers((2,), 1.0)), "core")
    both = Earlier(carried(2).water, {}, (read,))
    plan = planned(both)
    start = {(line.terminal, line.day): line.start_mm for line in plan.before.books}
    assert (start[2, on(2)], start[2, on(1)]) == (5.0, 1.0)
    assert start[1, on(1)] > 5.0
    ends = {line.terminal: line.end_mm for line in plan.before.books if line.day == on(1)}
    assert {line.terminal: line.start_mm for line in plan.books if line.day == FIRST} == ends


def test_a_station_that_alone_was_read_stands_in_them_alone():
    plan = planned(Earlier(readings=(Reading(WaterState(on(3), *layers((2,), 1.0)), "core"),)))
    assert [(line.terminal, line.day) for line in plan.before.books] == [(2, on(3)), (2, on(2)), (2, on(1))]


def test_they_reach_back_a_week_and_no_further():
    plan = planned(carried(10))
    assert plan.before.books[0].day == on(7)
    assert plan.before.books[0].start_mm > 5.0
    assert len(plan.before.books) == 14
