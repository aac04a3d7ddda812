"""A week around every change of the clock: each night once, and its minutes kept within the allowed hours."""

from datetime import time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from etsched.model.site import Place
from etsched.planning.week import plan_week
from tests.clock_changes import ZONES, changes
from tests.planning.made import known, site, station, weather

DAY = timedelta(days=1)
OPENS, CLOSES = time(22), time(6)


def test_forty_zones_are_tried_and_most_of_them_change():
    assert len(ZONES) == len(set(ZONES)) == 40
    assert sum(bool(changes(ZoneInfo(name), 2025, 2025)) for name in ZONES) >= 20


def planned(zone, first, sky):
    """Three stations, one with cycles and soaks, which even the shortest night holds."""
    stations = (station(1), station(2, root_depth=known(80.0)), station(3, soil="clay", slope_pct=8.0))
    made = site(*stations, opens=OPENS, closes=CLOSES, place=Place(39.5, -105.0, 1600.0, zone))
    return plan_week(made, sky, first)


def minutes(plan):
    return {(run.terminal, night.night.opens_on): run.length_min for night in plan.nights for run in night.runs}


def check_nights(zone, change):
    first = change - 3 * DAY
    sky = weather(first - 10 * DAY, 25, tmax_c=26.0)
    plan = planned(zone, first, sky)
    nights = [night.night for night in plan.nights]
    assert [night.opens_on for night in nights] == [first - DAY + n * DAY for n in range(7)]
    assert all(before.closes <= after.opens for before, after in pairwise(nights))
    assert minutes(plan) == minutes(planned(ZoneInfo("UTC"), first, sky))
    for night in plan.nights:
        for run in night.runs:
            for cycle in run.cycles:
                for minute in (cycle.start_min, cycle.end_min - 1):
                    wall = (night.night.opens + timedelta(minutes=minute)).astimezone(zone).time()
                    assert wall >= OPENS or wall < CLOSES, (zone, night.night.opens_on)


@pytest.mark.parametrize("name", ZONES)
def test_around_each_change_of_two_years(name):
    zone = ZoneInfo(name)
    for change in changes(zone, 2025, 2026)[:4]:
        check_nights(zone, change)


@pytest.mark.slow
@pytest.mark.parametrize("name", ZONES)
def test_around_each_change_2020_to_2037(name):
    zone = ZoneInfo(name)
    for change in changes(zone, 2020, 2037):
        check_nights(zone, change)
