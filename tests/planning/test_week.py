"""The week: when a station waters, how much, and what the books say, by hand arithmetic."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest

from etsched.documents.site_file import parse_site
from etsched.errors import PlanRefused
from etsched.model.site import Basis, RainRule
from etsched.planning.week import Earlier, plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)


def _plan(*stations, **over):
    made = over.pop("weather", None) or weather()
    return plan_week(site(*stations, **over), made, FIRST)


def test_the_working_follows_by_hand_from_depletion_to_cycles():
    plan = _plan(
        station(
            7,
            available_water=known(0.18),
            allowable_depletion=known(0.5),
            depletion=known(13.0),
            intake=known(10.0),
            surface_storage=known(5.0),
        )
    )
    run = plan.nights[0].runs[0]
    # 0.18 × 150 mm = 27 mm, half of which, 13.5 mm, may go: 13.0 mm and a hot day pass it. DU 0.6 → 1/(0.4+0.36).
    assert run.allowable_mm == pytest.approx(13.5)
    assert run.net_mm == pytest.approx(13.0)
    assert run.gross_mm == pytest.approx(13.0 / 0.76)
    # 60 × 17.105 / 40 = 25.66 min; a cycle may last 60 × 5 / (40 − 10) = 10 min, so three. Of 9 they would
    # overfill the roots, so of 8, which keep it going all the same; 8 × (40 / 10 − 1) = 24 min apart.
    assert [cycle.length_min for cycle in run.cycles] == [8, 8, 8]
    assert run.soak_min == 24
    assert run.applied_mm == pytest.approx(24 * 40 / 60)
    assert run.credited_mm == pytest.approx(24 * 40 / 60 * 0.76)


def test_what_the_books_credit_is_applied_over_multiplier_never_the_gross():
    plan = _plan(station(1))
    run = plan.nights[0].runs[0]
    line = next(line for line in plan.books if line.day == plan.nights[0].night.serves)
    assert line.irrigation_mm == pytest.approx(run.applied_mm * (0.4 + 0.6 * 0.6))


def test_a_cup_rate_takes_no_efficiency_and_a_flow_rate_does():
    # 40 L/min on 60 m² is 40 mm/h as it leaves the nozzles, of which 80 % lands.
    flow = station(
        1,
        precip_rate=None,
        flow=known(40.0),
        application_efficiency=known(0.8),
        depletion=known(8.0),
        intake=known(60.0),
    )
    cups = station(2, depletion=known(8.0), intake=known(60.0))
    by_terminal = {run.terminal: run for run in _plan(flow, cups).nights[0].runs}
    exact = 60 * 8.0 / 0.76 / 40.0
    assert by_terminal[2].length_min == int(np.floor(exact))
    assert by_terminal[1].length_min == int(np.floor(exact / 0.8))


def test_a_station_rests_until_it_must():
    # 27 mm of available water, 12 of which may go; from full, at nearly 7 mm a day, the second dusk is the last chance.
    plan = _plan(station(1, available_water=known(0.18), allowable_depletion=known(12 / 27), depletion=known(0.0)))
    dry = {line.day: (line.start_mm, line.end_mm) for line in plan.books}
    for night in plan.nights:
        start, _ = dry[night.night.serves]
        use = next(line.et_mm for line in plan.books if line.day == night.night.serves)
        assert bool(night.runs) == (start + use > 12.0)
    assert [bool(night.runs) for night in plan.nights][:2] == [False, True]


def test_with_few_water_days_it_waters_ahead_for_the_nights_it_may_not():
    deep = station(1, root_depth=known(600.0), allowable_depletion=known(0.5), depletion=known(10.0))
    daily = _plan(deep)
    weekly = _plan(deep, water_days=[daily.nights[0].night.opens_on.weekday()])
    assert not daily.nights[0].runs
    assert len(weekly.nights) == 1
    assert weekly.nights[0].runs


def test_a_blocked_station_never_gets_minutes():
    plan = _plan(station(1), station(2, blocked="the valve never opens"))
    assert {run.terminal for night in plan.nights for run in night.runs} == {1}
    assert any("Station 2" in note and "the valve never opens" in note for note in plan.notes)


def test_minutes_to_first_runoff_outrank_the_table():
    plan = _plan(station(1, depletion=known(12.0), first_runoff=known(4.0)))
    assert max(cycle.length_min for cycle in plan.nights[0].runs[0].cycles) <= 4


def test_the_wet_quarter_shortens_the_cycle():
    mean = _plan(station(1, depletion=known(12.0))).nights[0].runs[0]
    wet = _plan(station(1, depletion=known(12.0), wettest_quarter_rate=known(60.0))).nights[0].runs[0]
    assert wet.cycles[0].length_min < mean.cycles[0].length_min
    assert wet.soak_min >= wet.cycles[0].length_min * (60.0 / (0.35 * 25.4) - 1) - 1e-9


def test_days_without_weather_take_the_mean_of_seven_and_no_rain():
    plan = _plan(weather=weather(days=24, rain_mm=3.0))
    standing_in = [day for day in plan.days if day.standing_in]
    assert len(standing_in) == 7
    assert {day.rain_mm for day in standing_in} == {0.0}
    assert len({day.eto_mm for day in standing_in}) == 1


def test_weather_that_ends_some_days_before_the_week_is_bridged_and_said():
    plan = _plan(weather=weather(days=20))
    assert all(day.standing_in for day in plan.days)
    assert any(note.startswith("The weather ends on Thu Jul 9") for note in plan.notes)


def test_weather_that_does_not_reach_the_week_is_refused():
    with pytest.raises(PlanRefused, match="does not lead up to a week that begins on 2026-07-14"):
        _plan(weather=weather(days=16))


def test_a_window_too_short_is_said_and_only_what_ran_is_credited():
    plan = _plan(station(1, depletion=known(14.0)), opens=time(3), closes=time(3, 30))
    night = plan.nights[0]
    assert night.shortfalls
    ran = night.runs[0].length_min if night.runs else 0
    assert ran + night.shortfalls[0].missing_min == (
        night.runs[0].wanted_min if night.runs else night.shortfalls[0].missing_min
    )
    line = next(line for line in plan.books if line.day == night.night.serves)
    assert line.irrigation_mm == pytest.approx(ran * 40 / 60 * 0.76)


def test_the_next_week_begins_with_the_water_the_last_one_left():
    first = _plan(station(1), station(2, soil="clay"))
    days = weather(days=40)
    second = plan_week(first.site, days, FIRST + timedelta(days=7), Earlier(first.end))
    assert second.start == first.end
    assert not any(guess.field == "depletion" for guess in second.assumptions)


def test_the_books_from_what_ran_equal_the_books_of_the_plan():
    plan = _plan(station(1), station(2, soil="clay", root_depth=known(100.0)), weather=weather(days=40))
    applied = {(run.terminal, night.night.serves): run.length_min for night in plan.nights for run in night.runs}
    again = plan_week(plan.site, weather(days=40), FIRST + timedelta(days=7), Earlier(plan.start, applied))
    for terminal, layers in plan.end.deficit_mm.items():
        assert again.start.deficit_mm[terminal] == pytest.approx(layers, abs=1e-9)


def test_guesses_are_listed_with_what_they_would_change():
    plan = _plan(station(1, uniformity=None))
    guess = next(guess for guess in plan.assumptions if guess.field == "uniformity")
    assert guess.basis is Basis.TYPICAL
    assert guess.low < guess.value < guess.high
    assert guess.minutes_low > guess.minutes_now > guess.minutes_high  # less even water needs more minutes


def test_measured_numbers_are_no_guesses():
    fields = {guess.field for guess in _plan(station(1)).assumptions if guess.terminal == 1}
    assert not fields & {"precip_rate", "uniformity", "root_depth", "slope", "application_efficiency"}


def test_the_order_of_stations_changes_nothing():
    made = [station(1), station(5, soil="clay", slope_pct=8.0), station(3, precip_rate=known(12.0))]
    one, other = _plan(*made), _plan(*reversed(made))
    for left, right in zip(one.nights, other.nights, strict=True):
        assert sorted(left.runs, key=lambda r: r.terminal) == sorted(right.runs, key=lambda r: r.terminal)


def test_rain_in_the_file_saves_water():
    dry, wet = _plan(weather=weather()), _plan(weather=weather(rain_mm=[0.0] * 24 + [25.0] + [0.0] * 5))
    assert sum(r.length_min for n in wet.nights for r in n.runs) < sum(r.length_min for n in dry.nights for r in n.runs)


def test_a_rain_rule_is_a_choice_of_the_site():
    rain = weather(rain_mm=5.0)
    lines = {
        rule: replace(plan_week(site(station(1), rain_rule=rule), rain, FIRST)).books[0].rain_mm for rule in RainRule
    }
    # 5 mm: all of it; 80 %; 0.1 in less.
    assert lines == pytest.approx({RainRule.ALL: 5.0, RainRule.SHARE: 4.0, RainRule.EVENT: 2.46})


def test_a_site_in_metric_and_in_us_units_gives_one_plan():
    us = """
name = "Quillmere Green"
[place]
latitude = 39.5
longitude = -105.0
elevation = "5249.343832020997 ft"
time_zone = "America/Denver"
[watering]
opens = "22:00"
closes = "06:00"
water_days = "every day"
max_flow = "15.850323141489 gpm"
[[station]]
terminal = 1
area = "lawn"
head = "spray"
turf = "cool-season"
soil = "clay loam"
size = "1076.391041670972 sq ft"
root_depth = { value = "6 in", known = "measured" }
precip_rate = { value = "1.6 in/h", known = "measured" }
uniformity = "60 %"
"""
    metric = us
    for old, new in (
        ("5249.343832020997 ft", "1600 m"),
        ("15.850323141489 gpm", "60 L/min"),
        ("1076.391041670972 sq ft", "100 m2"),
        ('"6 in"', '"152.4 mm"'),
        ("1.6 in/h", "40.64 mm/h"),
    ):
        assert old in metric
        metric = metric.replace(old, new)
    one, other = (plan_week(parse_site(text, "site.toml"), weather(), FIRST) for text in (us, metric))
    assert [night.runs and night.runs[0].cycles for night in one.nights] == [
        night.runs and night.runs[0].cycles for night in other.nights
    ]
    for left, right in zip(one.books, other.books, strict=True):
        assert left.end_mm == pytest.approx(right.end_mm, abs=1e-9)


def test_rain_before_the_first_week_is_in_the_ground_and_drought_is_not_beyond_just_due():
    dry = _plan(weather=weather())
    soaked = _plan(weather=weather(rain_mm=[0.0] * 22 + [60.0, 40.0] + [0.0] * 6))
    assert soaked.start.deficit_mm[1][0] < dry.start.deficit_mm[1][0]
    assert _wanted(soaked) < _wanted(dry)
    # A month without rain leaves the ground just due for water, as it is taken where nothing is known.
    just_due = dry.books[0].allowable_mm
    assert dry.start.deficit_mm[1][0] == pytest.approx(just_due)


def _wanted(plan):
    return sum(run.length_min for night in plan.nights for run in night.runs)
