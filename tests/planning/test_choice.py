"""Which nights and how deep: room for rain, nights too short for all, nights to come, caps and priorities."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pandas as pd
import pytest

from etsched.model.site import RainRule
from etsched.planning import choice, water
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of, plan_week
from etsched.reference import planning as figures
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)


def sky(rain=None, days=30):
    """Hot weather with a forecast from the plan's first day on; `rain` holds mm by days after it."""
    fallen = np.zeros(days)
    for later, amount in (rain or {}).items():
        fallen[(FIRST - date(2026, 6, 20)).days + later] = amount
    return weather(days=days, forecast_from=FIRST, rain_mm=fallen)


def even(terminal, **over):
    """27 mm of available water, half of which may go, watered evenly at 20 mm/h into soil that takes all of it."""
    values = {
        "available_water": known(0.18),
        "allowable_depletion": known(0.5),
        "precip_rate": known(20.0),
        "uniformity": known(1.0),
        "intake": known(60.0),
        "depletion": known(13.0),
        "least_cycle": known(1.0),
    }
    return station(terminal, **(values | over))


def first_night(made, rain=None):
    return plan_week(made, sky(rain), FIRST).nights[0]


def use_mm(made, day):
    outlook = outlook_of(made, days_from_weather(sky(), made), FIRST)
    return float(water.demand(outlook.ground, outlook.days, outlook.index(day))[0][0])


def test_without_rain_the_roots_are_filled_and_not_overfilled():
    run = first_night(site(even(1))).runs[0]
    assert run.net_mm == pytest.approx(13.0)
    assert 13.0 - 20.0 / 60.0 < run.credited_mm <= 13.0 + 1e-9


def test_room_is_left_for_the_rain_that_may_come_and_that_outruns_the_use():
    made = site(even(1), rain_rule=RainRule.ALL)
    run = first_night(made, {0: 16.0}).runs[0]
    trust = figures.rain_trust()[0][0]
    assert run.net_mm == pytest.approx(13.0 - (trust * 16.0 - use_mm(made, FIRST)))
    assert "room is left for rain" in run.reason


def test_a_small_chance_of_rain_is_trusted_no_further_than_itself():
    made = site(even(1), rain_rule=RainRule.ALL)
    likely = sky({0: 30.0})
    index = likely.daily.index
    said = replace(likely, extra=pd.DataFrame({"rain_probability_pct": 40.0}, index=index))
    run = plan_week(made, said, FIRST).nights[0].runs[0]
    assert run.net_mm == pytest.approx(13.0 - (0.40 * 30.0 - use_mm(made, FIRST)))
    sure = replace(likely, extra=pd.DataFrame({"rain_probability_pct": 100.0}, index=index))
    # A sure forecast is trusted no further than its day: 80 % of 30 mm outruns the use by more than the roots lack.
    assert plan_week(made, sure, FIRST).nights[0].runs[0].net_mm < run.net_mm


@pytest.mark.parametrize(("low", "high", "trusted"), [(14.0, 18.0, 14.0), (0.0, 16.0, 8.0), (10.0, 30.0, 12.8)])
def test_an_ensemble_bounds_what_is_trusted(low, high, trusted):
    # Of 16 mm forecast 80 % would be trusted, 12.8 mm: never less than the low end nor more than the middle.
    likely = sky({0: 16.0})
    range_ = {"rain_low_mm": low, "rain_high_mm": high, "eto_low_mm": np.nan, "eto_high_mm": np.nan}
    spread = pd.DataFrame(range_, index=likely.daily.index)
    made = site(even(1), rain_rule=RainRule.ALL)
    days = days_from_weather(replace(likely, spread=spread), made)
    assert choice.trusted_rain_mm(days, (FIRST - days.first).days, 0) == pytest.approx(trusted)


def test_a_watering_with_room_for_rain_still_brings_the_least_depth_and_what_it_must():
    made = site(even(1, least_depth=known(9.0)), rain_rule=RainRule.ALL)
    assert first_night(made, {0: 60.0}).runs[0].net_mm == pytest.approx(9.0)
    must = site(even(1), rain_rule=RainRule.ALL)
    run = first_night(must, {0: 60.0}).runs[0]
    # Without it the next day, a tenth hotter than forecast, would end past what may go: more than half of that.
    assert run.net_mm == pytest.approx(13.0 + 1.1 * use_mm(must, FIRST) - 13.5)
    assert run.net_mm > 0.5 * 13.5


def test_forecast_rain_puts_no_watering_off():
    for rain in ({}, {0: 50.0}, {1: 50.0}):
        assert [run.terminal for run in first_night(site(even(1)), rain).runs] == [1]


def test_rain_that_fell_does_count():
    made = site(even(1, depletion=known(0.0)), water_days={0, 3}, rain_rule=RainRule.ALL)
    dry = plan_week(made, weather(days=30), FIRST)
    wet = plan_week(made, weather(days=30, rain_mm=np.full(30, 9.0)), FIRST)
    assert sum(len(night.runs) for night in dry.nights) > 0
    assert sum(len(night.runs) for night in wet.nights) == 0


def test_on_a_night_too_short_for_full_waterings_all_take_less_and_none_is_left_out():
    # 39 minutes each would fill them: 156 of the 100 that the window holds.
    made = site(*(even(n) for n in (1, 2, 3, 4)), opens=time(22), closes=time(23, 40))
    night = first_night(made)
    assert [run.terminal for run in night.runs] == [1, 2, 3, 4]
    assert night.shortfalls == ()
    assert night.used_min <= 100
    evening = {line.terminal: line for line in plan_week(made, sky(), FIRST).books if line.day == FIRST}
    assert all(line.end_mm <= line.allowable_mm + 1e-9 for line in evening.values())


def test_a_night_that_does_not_hold_what_keeps_all_going_says_who_is_short_by_priority():
    made = site(*(even(n, priority_count=5 - n) for n in (1, 2, 3, 4)), opens=time(22), closes=time(22, 45))
    night = first_night(made)
    served = {run.terminal for run in night.runs}
    assert 4 in served
    assert {short.terminal for short in night.shortfalls} == {1, 2, 3, 4} - served | {
        run.terminal for run in night.runs if run.length_min < run.wanted_min
    }
    assert night.shortfalls


def net_step(run):
    return next(step for step in run.working if step.name == "net depth")


def test_only_who_takes_less_on_a_short_night_is_said_to_take_less():
    # The first must have all that it lacks to reach the next night; the others can spare some.
    shallow = even(1, available_water=known(0.02), depletion=known(1.5))
    night = first_night(site(shallow, *(even(n) for n in (2, 3, 4)), opens=time(22), closes=time(23, 40)))
    assert night.shortfalls == ()
    first, *others = night.runs
    assert (first.terminal, first.net_mm) == (1, pytest.approx(first.depletion_mm))
    assert net_step(first).formula == "all that the root zone lacks at dusk"
    assert "too short" not in first.reason
    for run in others:
        assert run.net_mm < run.depletion_mm - 0.1
        assert "the night is too short" in net_step(run).formula
        assert "leaves time for the others" in run.reason


def test_where_somebody_is_left_out_no_reason_says_that_the_others_had_time():
    lawns = (even(n, priority_count=5 - n, depletion=known(10.0)) for n in (1, 2, 3, 4))
    night = first_night(site(*lawns, opens=time(22), closes=time(22, 45), water_days={0, 2, 4}))
    assert night.shortfalls
    assert night.runs
    for run in night.runs:
        assert "leaves time" not in run.reason
        assert ("just what gets it to the next night" in run.reason) == (run.net_mm < run.depletion_mm - 0.1)


def test_one_cycle_that_does_not_fit_is_told_without_a_soak():
    night = first_night(site(even(1), even(2), opens=time(22), closes=time(22, 2), water_days={0, 2, 4}))
    assert {short.reason for short in night.shortfalls if "one cycle" in short.reason}
    for short in night.shortfalls:
        assert "1 of 1" not in short.reason
        assert " 0 min of soak" not in short.reason


def test_what_a_coming_night_cannot_hold_waters_earlier():
    # Neither must water in the first night and both in the second, which holds 45 of their 70 minutes or so.
    lawns = (even(n, depletion=known(5.0), least_depth=known(4.0)) for n in (1, 2))
    made = site(*lawns, opens=time(22), closes=time(22, 45))
    plan = plan_week(made, sky(), FIRST)
    assert not any(night.shortfalls for night in plan.nights)
    assert any("waters early" in run.reason for night in plan.nights for run in night.runs)
    for line in plan.books:
        assert line.end_mm <= line.allowable_mm + 1e-9


def test_a_cap_of_minutes_is_kept_and_the_rest_waits():
    made = site(even(1, most_min=20.0))
    plan = plan_week(made, sky(), FIRST)
    minutes = [run.length_min for night in plan.nights for run in night.runs]
    assert minutes
    assert max(minutes) <= 20


def test_a_hotter_forecast_never_waits_longer():
    made = site(even(1, depletion=known(4.0)))
    cool = plan_week(made, sky(), FIRST)
    warm = sky()
    frame = warm.daily.copy()
    frame.loc[frame["is_forecast"], "tmax_c"] += 4.0
    hot = plan_week(made, replace(warm, daily=frame), FIRST)

    def first(plan):
        return next(night.night.serves for night in plan.nights if night.runs)

    assert first(hot) <= first(cool)
    assert first(cool) > FIRST - timedelta(days=1)
