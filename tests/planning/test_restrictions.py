"""Cuts and few nights: the budget is kept, the highest priority number gives first, the best nights are chosen."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import combinations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etsched.model.site import Ban, NewTurfHours, Restriction, TurfMode
from etsched.planning.restrictions import within_budget
from etsched.planning.so_far import cut_on
from etsched.planning.thirst import past_allowable_mm
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, first_deficit, outlook_of, plan_nights, plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)
LONG_BEFORE, LONG_AFTER = date(2026, 7, 1), date(2026, 8, 31)


def cut(pct, first=LONG_BEFORE, last=LONG_AFTER):
    return Restriction(first, last, "water district", cut_pct=pct)


def nights(count, first=LONG_BEFORE, last=LONG_AFTER):
    return Restriction(first, last, "water district", most_nights_count=count)


def planned(made, *restrictions, sky=None):
    return plan_week(replace(made, restrictions=restrictions), sky or weather(), FIRST)


def minutes(plan):
    total = {each.terminal: 0 for each in plan.site.stations}
    for runs in [night.runs for night in plan.nights] + [day.runs for day in plan.light]:
        for run in runs:
            total[run.terminal] += run.length_min
    return total


def test_the_highest_priority_number_gives_up_everything_before_the_next_gives_anything():
    # All deliver 40 L/min (40 mm/h on 60 m²), so water goes as minutes.
    made = site(station(1, priority_count=1), station(2, priority_count=3), station(3, priority_count=2))
    before = minutes(planned(made))
    after = minutes(planned(made, cut(50.0)))
    # Three like stations: half of all is the whole of station 2 and half of station 3.
    assert before[1] == before[2] == before[3]
    assert after[1] == before[1]
    assert after[2] == 0
    assert 0 < after[3] <= before[3] / 2
    assert sum(after.values()) <= sum(before.values()) / 2


def test_among_equals_the_one_that_suffers_least_gives_first_then_the_lower_terminal():
    deep = station(5, root_depth=known(400.0), depletion=known(20.0))
    made = site(station(1), deep)
    before, after = minutes(planned(made)), minutes(planned(made, cut(10.0)))
    assert before[5] > after[5]
    assert after[1] == before[1]
    alike = site(station(1), station(2))
    before, after = minutes(planned(alike)), minutes(planned(alike, cut(30.0)))
    assert after[1] < before[1]
    assert after[2] == before[2]


def test_water_is_counted_in_litres_where_flows_are_known_and_in_minutes_where_one_is_not():
    # Station 2 takes three times the water of station 1 a minute, on three times the area.
    made = site(station(1, priority_count=2), station(2, area_m2=180.0))
    before, after = minutes(planned(made)), minutes(planned(made, cut(25.0)))
    assert before[1] == before[2]
    # A quarter of 40 + 120 L/min is the whole of station 1.
    assert after == {1: 0, 2: before[2]}
    blind = site(station(1, priority_count=2), station(2, area_m2=None))
    before, after = minutes(planned(blind)), minutes(planned(blind, cut(25.0)))
    # A quarter of the minutes of both is half of those of station 1.
    assert 0 < after[1] <= before[1] / 2
    assert after[2] == before[2]


def test_a_station_that_is_cut_is_told_of_with_its_minutes_and_when_it_passes():
    made = site(station(1, priority_count=1), station(2, priority_count=2))
    before, plan = minutes(planned(made)), planned(made, cut(50.0))
    lost = before[2] - minutes(plan)[2]
    (note,) = [note for note in plan.notes if note.startswith("Station 2 (lawn 2) gives up")]
    assert f"gives up {lost} min" in note
    first_dry = next(line.day for line in plan.books if line.terminal == 2 and line.end_mm > line.allowable_mm)
    assert f"{first_dry.day}." in note
    assert sum(gap.missing_min for night in plan.nights for gap in night.shortfalls) == lost
    assert any("50 % less" in note for note in plan.notes)


def test_light_runs_are_in_the_budget():
    sown = {"mode": TurfMode.NEW_SEED, "mode_since": FIRST - timedelta(days=3), "depletion": known(0.0)}
    made = site(station(1, **sown), new_turf=NewTurfHours(time(9), time(17), "permit"))
    before, after = minutes(planned(made)), minutes(planned(made, cut(50.0)))
    assert before[1] > 0
    assert after[1] <= before[1] / 2


def test_a_restriction_outside_the_week_changes_nothing():
    made = site(station(1), station(2))
    past, coming = date(2026, 7, 12), date(2026, 7, 20)
    plain = planned(made)
    for outside in (
        cut(50.0, LONG_BEFORE, past),
        cut(50.0, coming, LONG_AFTER),
        nights(1, LONG_BEFORE, past),
        nights(1, coming, LONG_AFTER),
    ):
        assert replace(planned(made, outside), site=made) == plain


def test_only_the_nights_of_a_cut_are_cut():
    made = site(station(1))
    # Nights that open on 13 and 14 July; the later ones may take what they need.
    plan = planned(made, cut(100.0, FIRST - timedelta(days=1), FIRST))
    opened = {night.night.opens_on for night in plan.nights if night.runs}
    assert opened
    assert min(opened) == FIRST + timedelta(days=1)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_nights_are_those_that_leave_the_least_past_what_is_allowable(count):
    made = site(station(1, root_depth=known(200.0)), station(2, root_depth=known(300.0)))
    plan = planned(made, nights(count))
    chosen = tuple(night.night.opens_on for night in plan.nights)
    assert len(chosen) == count
    every = [FIRST + timedelta(days=later - 1) for later in range(7)]

    def past(kept):
        bans = tuple(Ban(day, day, "no") for day in every if day not in kept)
        books = planned(replace(made, bans=bans)).books
        return round(sum(max(line.end_mm - line.allowable_mm, 0.0) for line in books), 6)

    worth = {kept: past(kept) for kept in combinations(every, count)}
    assert worth[chosen] == min(worth.values())
    assert plan.site.bans == ()


def test_equal_choices_of_nights_take_the_earlier_ones():
    # Full, deep and cool: nobody waters in the week, whatever the nights.
    made = site(station(1, root_depth=known(600.0), depletion=known(0.0)))
    plan = planned(made, nights(2), sky=weather(tmax_c=18.0, tmin_c=8.0, solar_mj_m2_d=8.0))
    assert minutes(plan) == {1: 0}
    assert [night.night.opens_on for night in plan.nights] == [FIRST - timedelta(days=1), FIRST]


_MODES = st.sampled_from([None, None, TurfMode.NEW_SEED, TurfMode.NEW_SOD, TurfMode.DORMANT])


@st.composite
def _cases(draw):
    made = []
    for terminal in range(1, draw(st.integers(1, 4)) + 1):
        mode = draw(_MODES)
        made.append(
            station(
                terminal,
                root_depth=known(draw(st.floats(60.0, 300.0))),
                precip_rate=known(draw(st.floats(8.0, 60.0))),
                area_m2=draw(st.one_of(st.floats(20.0, 300.0), st.just(60.0))),
                priority_count=draw(st.one_of(st.none(), st.integers(1, 3))),
                mode=mode,
                mode_since=FIRST - timedelta(days=draw(st.integers(0, 40))) if mode else None,
            )
        )
    hours = draw(st.one_of(st.none(), st.integers(8, 14).map(lambda h: NewTurfHours(time(h), time(h + 3), "permit"))))
    begins = FIRST + timedelta(days=draw(st.integers(-4, 4)))
    restriction = Restriction(
        begins,
        begins + timedelta(days=draw(st.integers(0, 20))),
        "water district",
        draw(st.one_of(st.just(0.0), st.floats(1.0, 100.0))),
        draw(st.one_of(st.none(), st.none(), st.integers(1, 7))),
    )
    rain = draw(st.lists(st.one_of(st.just(0.0), st.floats(0.0, 30.0)), min_size=30, max_size=30))
    opens = draw(st.sampled_from([time(20), time(22), time(2)]))
    plain = site(*made, opens=opens, new_turf=hours, max_valves_count=draw(st.integers(1, 2)))
    return plain, restriction, weather(rain_mm=rain, forecast_from=draw(st.one_of(st.none(), st.just(FIRST))))


def litres_on(plan, restriction):
    flow = {each.terminal: each.precip_rate.value * each.area_m2 / 60.0 for each in plan.site.stations}
    held = [(night.night.opens_on, night.runs) for night in plan.nights]
    held += [(day.hours.opens_on, day.runs) for day in plan.light]
    return sum(
        flow[run.terminal] * run.length_min
        for day, runs in held
        if restriction.first <= day <= restriction.last
        for run in runs
    )


@given(_cases())
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
def test_every_restricted_week_keeps_its_budget_its_hours_and_its_books(case):
    made, restriction, sky = case
    free, plan = planned(made, sky=sky), planned(made, restriction, sky=sky)
    allowed = litres_on(free, restriction) * (1.0 - restriction.cut_pct / 100.0)
    if restriction.cut_pct:
        assert litres_on(plan, restriction) <= allowed * (1 + 1e-9) + 1e-6
    opened = [n.night.opens_on for n in plan.nights if restriction.first <= n.night.opens_on <= restriction.last]
    assert len(opened) <= (restriction.most_nights_count or 7)
    for line in plan.books:
        closes = line.start_mm - line.irrigation_mm - line.rain_mm + line.et_mm + line.passed_mm
        assert line.end_mm == pytest.approx(closes, abs=1e-6)
    for window, runs in [(night.night, night.runs) for night in plan.nights]:
        assert all(run.cycles[-1].end_min <= window.length_min for run in runs)
    for day in plan.light:
        assert all(run.start_min >= 0 and run.start_min + run.length_min <= day.hours.length_min for run in day.runs)
        begun = sorted((run.start_min, run.start_min + run.length_min) for run in day.runs)
        for start, _ in begun:
            assert sum(s <= start < e for s, e in begun) <= made.rules.max_valves_count


@given(_cases(), st.floats(1.0, 100.0))
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
def test_nobody_is_asked_for_water_while_a_higher_priority_number_has_any(case, pct):
    made, restriction, sky = case
    made = replace(made, restrictions=(replace(restriction, cut_pct=pct, most_nights_count=None),))
    days = days_from_weather(sky, made)
    outlook = outlook_of(replace(made, restrictions=()), days, FIRST)
    whole = plan_nights(outlook, first_deficit(outlook, Earlier()), "made")
    held = within_budget(replace(outlook, site=made), whole, whole)
    if held.allowance_min is None:
        return
    counted = {each.terminal: 0 for each in made.stations}
    left = dict(zip(counted, held.allowance_min.tolist(), strict=True))
    held_on = [(night.night.opens_on, night.runs) for night in whole.nights]
    for day, runs in held_on + [(light.hours.opens_on, light.runs) for light in whole.light]:
        for run in runs:
            counted[run.terminal] += run.length_min if cut_on(made, day) else 0
    for day in held.light:
        for run in day.runs:
            left[run.terminal] += run.length_min if cut_on(made, day.hours.opens_on) else 0
    number = {each.terminal: each.priority_count or 1 for each in made.stations}
    gives = {terminal: counted[terminal] - left[terminal] for terminal in counted}
    assert min(gives.values()) >= 0
    for one in counted:
        for other in counted:
            if number[one] > number[other] and gives[other] > 0:
                assert left[one] == 0


def test_past_allowable_leaves_out_whoever_no_minutes_help():
    made = site(station(1), station(2, blocked="no water arrives"))
    outlook = outlook_of(made, days_from_weather(weather(), made), FIRST)
    books = planned(made).books
    mine = [line for line in books if line.terminal == 1]
    expected = np.maximum([line.end_mm - line.allowable_mm for line in mine], 0.0).sum()
    assert past_allowable_mm(outlook.site, outlook.first_day, books) == pytest.approx(expected, abs=1e-6)
