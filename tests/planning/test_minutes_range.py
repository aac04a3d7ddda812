"""The likely range of minutes: each uncertain number at its bounds, put together, and what would narrow it."""

from dataclasses import replace
from datetime import date
from math import hypot

import pandas as pd
import pytest

from etsched.model.site import Basis, Known
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)
# Everything that a plan could guess, said: nothing is left uncertain but what a test makes so.
SURE = {
    "root_depth": known(150.0),
    "available_water": known(0.15),
    "allowable_depletion": known(0.5),
    "crop_factor": known(0.8),
    "density": known(1.0),
    "microclimate": known(1.0),
    "intake": known(500.0),
    "surface_storage": known(8.0),
    "least_cycle": known(1.0),
    "depletion": known(10.0),
}


def plan(*stations, sky=None):
    made = replace(site(*stations), target_depth_mm=200.0)
    # Weather with all its drivers measured has no range of its own.
    return plan_week(made, sky or weather(), FIRST)


def range_of(*stations, sky=None):
    return plan(*stations, sky=sky).ranges[0]


def minutes(**over):
    return sum(run.wanted_min for night in plan(station(1, **(SURE | over))).nights for run in night.runs)


def test_what_is_measured_has_no_range():
    found = range_of(station(1, **SURE))
    assert (found.low_min, found.high_min) == (found.wanted_min, found.wanted_min)
    assert (found.widest, found.narrows, found.measure) == ("", "", "")


def test_one_measured_range_alone_is_that_of_the_minutes():
    between = Known(40.0, Basis.MEASURED, "8 cups", 32.0, 50.0)
    found = range_of(station(1, **(SURE | {"precip_rate": between})))
    # A slower rate needs more minutes, so the ends change places.
    assert found.low_min == minutes(precip_rate=known(50.0))
    assert found.high_min == minutes(precip_rate=known(32.0))
    assert found.low_min < found.wanted_min < found.high_min
    assert (found.widest, found.narrows) == ("precip_rate", "precip_rate")
    assert "catch-cup" in found.measure


def test_two_independent_ranges_add_like_the_sides_of_a_right_angle():
    rate = Known(40.0, Basis.MEASURED, "8 cups", 32.0, 50.0)
    even = Known(0.6, Basis.MEASURED, "8 cups", 0.5, 0.7)
    found = range_of(station(1, **(SURE | {"precip_rate": rate, "uniformity": even})))
    now = minutes()
    more = hypot(minutes(precip_rate=known(32.0)) - now, minutes(uniformity=known(0.5)) - now)
    assert found.wanted_min == now
    assert found.high_min == pytest.approx(now + more, abs=0.51)


def test_a_forecast_that_may_be_hotter_widens_the_range_and_no_tool_on_site_narrows_it():
    sky = weather(forecast_from="2026-07-01")
    index = sky.daily.index
    spread = pd.DataFrame(
        {"eto_low_mm": 5.0, "eto_high_mm": 11.0, "rain_low_mm": 0.0, "rain_high_mm": 0.0}, index=index
    )
    found = range_of(station(1, **SURE), sky=replace(sky, spread=spread))
    assert found.high_min > found.wanted_min
    assert (found.widest, found.narrows) == ("weather", "")
    assert found.measure.startswith("nothing on site")


def test_rain_that_may_come_widens_it_to_the_low_side():
    sky = weather(forecast_from="2026-07-01")
    index = sky.daily.index
    spread = pd.DataFrame({"rain_low_mm": 0.0, "rain_high_mm": 30.0}, index=index)
    spread[["eto_low_mm", "eto_high_mm"]] = float("nan")
    found = range_of(station(1, **SURE), sky=replace(sky, spread=spread))
    assert found.low_min < found.wanted_min
    assert found.high_min == found.wanted_min


def test_an_unread_first_morning_counts_until_a_core_is_read():
    unread = {name: value for name, value in SURE.items() if name != "depletion"}
    found = range_of(station(1, **unread))
    assert (found.widest, found.narrows) == ("depletion", "depletion")
