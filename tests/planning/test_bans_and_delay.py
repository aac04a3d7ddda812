"""Days on which nothing may begin, and the time between valves."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from etsched.model.site import Ban
from etsched.planning.outlook import watering_night
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)


def plan(made):
    return plan_week(made, weather(days=30), FIRST)


def test_no_window_opens_on_the_days_of_a_ban_and_the_night_before_fills_up_for_them():
    made = site(station(1))
    banned = replace(made, bans=(Ban(FIRST, FIRST + timedelta(days=1), "town water is off"),))
    nights = {night.night.opens_on for night in plan(banned).nights}
    assert nights == {night.night.opens_on for night in plan(made).nights} - {FIRST, FIRST + timedelta(days=1)}
    assert watering_night(banned, FIRST + timedelta(days=1)) is None
    assert plan(banned).nights[0].runs[0].net_mm > 0.0


def test_a_ban_of_one_station_leaves_the_others_alone():
    made = site(station(1), station(2))
    ban = Ban(FIRST, FIRST + timedelta(days=2), "newly sown", frozenset({1}))
    free, banned = plan(made), plan(replace(made, bans=(ban,)))
    held = {FIRST + timedelta(days=n) for n in range(3)}
    for night in banned.nights:
        assert not any(run.terminal == 1 for run in night.runs) or night.night.opens_on not in held

    def of_two(week):
        return {night.night.serves: run.length_min for night in week.nights for run in night.runs if run.terminal == 2}

    assert of_two(banned) == of_two(free)
    assert any(run.terminal == 1 for night in banned.nights for run in night.runs)


def test_a_ban_longer_than_a_week_leaves_a_week_without_nights():
    made = replace(site(station(1)), bans=(Ban(FIRST - timedelta(days=2), FIRST + timedelta(days=60), "drought"),))
    week = plan(made)
    assert week.nights == ()
    assert "No valve may open on any night of this week (drought" in week.notes[0]


def test_between_two_valves_lies_at_least_the_delay_and_soaks_are_no_longer_for_it():
    made = site(*(station(n, intake=known(15.0), surface_storage=known(4.0)) for n in (1, 2, 3)))
    delayed = replace(made, rules=replace(made.rules, valve_delay_min=4))
    for night in plan(delayed).nights:
        spans = sorted((c.start_min, c.start_min + c.length_min) for run in night.runs for c in run.cycles)
        assert all(after[0] - before[1] >= 4 for before, after in pairwise(spans))
        assert max(end for _, end in spans) == night.used_min <= night.night.length_min
    lone = replace(site(station(1)), rules=delayed.rules)
    for night, other in zip(plan(lone).nights, plan(site(station(1))).nights, strict=True):
        assert [run.cycles for run in night.runs] == [run.cycles for run in other.runs]
