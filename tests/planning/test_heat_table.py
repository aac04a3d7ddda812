"""The table in the clock by night, and how much of it stays on the ground, by hand.

The station made for tests runs off after 60 × 7.62 / (40 − 8.89) = 14.696 min; of what comes later 40 − 8.89 mm/h of
40 mm/h are lost.
"""

from datetime import date, time

import numpy as np
import pytest

from etsched.errors import PlanRefused
from etsched.model.visit import ClockFound, Program
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.heat_table import WeekMinutes, held_table

from .made import EVERY_DAY, site, station

MONDAY = date(2026, 7, 6)
SUNDAY_NIGHT, MONDAY_NIGHT = 0, 1  # the nights that serve Monday and Tuesday
LONGEST_MIN = 60 * 7.62 / (40 - 8.89)
LOST = (40 - 8.89) / 40


def program(minutes, *starts, days=EVERY_DAY, percent=100.0):
    return Program("A", starts or (time(2),), frozenset(days), minutes, percent)


def held(what, made=None):
    made = made or site(station(1), station(2))
    what = ClockFound((what,)) if isinstance(what, Program) else what
    return held_table(what, ground(made, facts_by_station(made, 7)), made.rules, MONDAY)


def test_water_before_noon_serves_its_day_and_water_after_noon_the_next():
    # Monday's starts: 2:00 is Sunday's night, 22:00 Monday's, noon itself Monday's too.
    for start, night in ((time(2), SUNDAY_NIGHT), (time(11, 59), SUNDAY_NIGHT), (time(12), 1), (time(22), 1)):
        minutes = held(program({1: 5}, start, days={0})).minutes().run_min
        assert np.flatnonzero(minutes[:, 0]).tolist() == [night]
        assert minutes[night].tolist() == [5.0, 0.0]


def test_the_week_before_reaches_into_the_first_night():
    # Sunday 22:00 serves the first day, Monday.
    assert held(program({1: 5}, time(22), days={6})).minutes().run_min[SUNDAY_NIGHT, 0] == 5.0


def test_allowed_hours_of_one_afternoon_serve_that_day():
    made = site(station(1), opens=time(13), closes=time(17))
    assert held(program({1: 5}, time(14), days={0}), made).minutes().run_min[0, 0] == 5.0


def test_of_a_run_too_long_what_runs_off_is_not_counted():
    found = held(program({1: 20, 2: 10}, days={0})).minutes()
    assert found.run_min[SUNDAY_NIGHT].tolist() == [20.0, 10.0]
    assert found.kept_min[SUNDAY_NIGHT, 0] == pytest.approx(20.0 - (20.0 - LONGEST_MIN) * LOST)
    assert found.kept_min[SUNDAY_NIGHT, 1] == 10.0


def test_a_second_run_finds_what_the_first_left_standing():
    # 10 min stand for 10; in the 10 min until 2:20 the soil takes in 10 × 8.89 / 31.11 min of them.
    found = held(program({1: 10}, time(2), time(2, 20), days={0}), site(station(1))).minutes()
    beyond = 10.0 - 10.0 * 8.89 / 31.11 + 10.0 - LONGEST_MIN
    assert found.kept_min[SUNDAY_NIGHT, 0] == pytest.approx(20.0 - beyond * LOST)


def test_percent_scales_minutes_and_what_runs_off():
    table = held(program({1: 10, 2: 20}, days={0}, percent=90.0))
    assert table.now_pct == 90.0
    assert table.minutes().run_min[SUNDAY_NIGHT].tolist() == [9.0, 18.0]
    doubled = table.minutes(2.0)
    assert doubled.run_min[SUNDAY_NIGHT].tolist() == [18.0, 36.0]
    assert doubled.kept_min[SUNDAY_NIGHT, 0] == pytest.approx(18.0 - (18.0 - LONGEST_MIN) * LOST)


def test_programs_at_different_percents_are_taken_together_as_100():
    mixed = ClockFound((program({1: 10}, percent=80.0), program({2: 10}, time(4), percent=120.0)))
    assert (held(mixed).now_pct, held(mixed).mixed) == (100.0, True)


def test_a_weeks_table_stays_on_the_ground_and_repeats_by_weekday():
    # 36 min are three cycles of 12 with their soaks; the week before last was planned.
    table = held(WeekMinutes({(1, date(2026, 6, 23)): 36.0, (99, MONDAY): 5.0}, "the week's table"))
    found = table.minutes()
    assert found.run_min[MONDAY_NIGHT].tolist() == [36.0, 0.0]
    assert found.kept_min[MONDAY_NIGHT, 0] == pytest.approx(36.0)
    assert found.run_min.sum() == 36.0
    # At 150 % each cycle is 18 min, and what passes the longest one is lost at least.
    assert table.minutes(1.5).kept_min[MONDAY_NIGHT, 0] <= 54.0 - 3 * (18.0 - LONGEST_MIN) * LOST + 1e-9


def test_a_table_that_waters_nothing_is_refused():
    with pytest.raises(PlanRefused, match="waters no station of the site in the week from Mon Jul 6 on"):
        held(program({1: 5}, days=()))
    with pytest.raises(PlanRefused, match="no table to check"):
        held(program({9: 5}))
