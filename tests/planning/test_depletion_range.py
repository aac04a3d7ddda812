"""The likely range of depletion ahead, held against the books as a pencil would carry them.

The station holds 0.15 × 150 = 22.5 mm, of which 0.5 may go: 11.25 mm; turf uses 0.8 × ETo. 10 mm are missing on the
first morning and only the first night is a water night, so that one run of known credit is all that is planned.
"""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pandas as pd
import pytest

from etsched.model.site import NewTurfHours, Restriction, TurfMode
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)  # a Wednesday; its night opens on Tuesday
SURE = {
    "available_water": known(0.15),
    "allowable_depletion": known(0.5),
    "crop_factor": known(0.8),
    "density": known(1.0),
    "microclimate": known(1.0),
    "depletion": known(10.0),
}


def planned(**spread):
    sky = weather(forecast_from="2026-07-01")
    index = sky.daily.index
    unknown = dict.fromkeys(("eto_low_mm", "eto_high_mm", "rain_low_mm", "rain_high_mm"), np.nan)
    moved = pd.DataFrame({name: np.full(len(index), value) for name, value in (unknown | spread).items()}, index=index)
    moved[moved.index < pd.Timestamp(FIRST)] = np.nan
    made = replace(site(station(1, **SURE), water_days={1}), target_depth_mm=200.0)
    return plan_week(made, replace(sky, spread=moved), FIRST)


def of_day(plan, later):
    (found,) = [each for each in plan.depletion_ranges if each.day == FIRST + timedelta(days=later)]
    return found


def morning_mm(plan):
    """What is missing after the one night that waters; what its whole minutes put down beyond 10 mm passes."""
    (night,) = [night for night in plan.nights if night.runs]
    assert night.night.serves == FIRST
    left = max(10.0 - night.runs[0].credited_mm, 0.0)
    assert left + 8.8 < 11.25  # so that two days of much ET begin unstressed
    return left


def test_without_a_range_of_the_weather_there_is_none_of_the_water():
    plan = planned()
    for line in plan.books:
        (found,) = [each for each in plan.depletion_ranges if each.day == line.day]
        assert (found.low_mm, found.high_mm) == pytest.approx((line.end_mm, line.end_mm), abs=1e-9)
    assert len(plan.depletion_ranges) == 7


def test_the_wet_end_takes_the_least_et_and_the_dry_end_the_most():
    plan = planned(eto_low_mm=5.0, eto_high_mm=11.0)
    left = morning_mm(plan)
    # Little ET: 0.8 × 5 = 4 mm a day, never held back within these two days.
    assert [of_day(plan, later).low_mm for later in (0, 1)] == pytest.approx([left + 4.0, left + 8.0])
    # Much ET: 8.8 mm a day. On the third morning `dry` is past 11.25 mm, so the turf uses (22.5 − dry)/11.25 of it.
    dry = left + 2 * 8.8
    assert [of_day(plan, later).high_mm for later in (0, 1)] == pytest.approx([left + 8.8, dry])
    assert of_day(plan, 2).high_mm == pytest.approx(dry + 8.8 * (22.5 - dry) / 11.25)


def test_rain_that_may_come_reaches_the_wet_end_only():
    plan, dry = planned(rain_low_mm=0.0, rain_high_mm=3.0), planned()
    left = morning_mm(plan)
    assert left == morning_mm(dry)
    use = dry.books[0].et_mm
    assert use > 3.0
    # The hour of rain that is only a range is not known, so it falls after the day's use.
    assert of_day(plan, 0).low_mm == pytest.approx(left + use - 3.0)
    assert of_day(plan, 0).high_mm == pytest.approx(left + use)


def test_the_planned_evening_lies_in_its_range():
    plan = planned(eto_low_mm=4.0, eto_high_mm=12.0, rain_low_mm=0.0, rain_high_mm=2.0)
    for line, found in zip(plan.books, plan.depletion_ranges, strict=True):
        assert (found.terminal, found.day) == (line.terminal, line.day)
        assert found.low_mm < line.end_mm < found.high_mm


def test_light_runs_that_a_cut_takes_are_in_no_range():
    new = {"mode": TurfMode.NEW_SEED, "mode_since": FIRST - timedelta(days=3), "depletion": known(0.0)}
    sown = station(1, **(SURE | new))
    hours = NewTurfHours(time(9), time(17), "the town's permit")
    cut = Restriction(FIRST, FIRST + timedelta(days=6), "water district", cut_pct=50.0)
    made = site(sown, water_days={1}, new_turf=hours, restrictions=(cut,))
    plan = plan_week(made, weather(), FIRST)
    whole = plan_week(replace(made, restrictions=()), weather(), FIRST)
    assert 0 < sum(len(day.runs) for day in plan.light) < sum(len(day.runs) for day in whole.light)
    for line, found in zip(plan.books, plan.depletion_ranges, strict=True):
        assert (found.low_mm, found.high_mm) == pytest.approx((line.end_mm, line.end_mm), abs=1e-9)


def test_rain_that_may_come_counts_where_the_forecast_is_too_little_to_soak_in():
    # 2 mm are less than the first 0.1 in, of which the roots get nothing.
    sky = weather(forecast_from="2026-07-01", rain_mm=[0.0] * 11 + [2.0] + [0.0] * 18)
    spread = pd.DataFrame({"rain_low_mm": 0.0, "rain_high_mm": 20.0}, index=sky.daily.index[11:12])
    spread[["eto_low_mm", "eto_high_mm"]] = np.nan
    plan = plan_week(site(station(1, **SURE), water_days={1}), replace(sky, spread=spread), FIRST)
    assert of_day(plan, 0).low_mm == 0.0
    assert of_day(plan, 0).high_mm > 3.0
