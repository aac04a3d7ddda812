"""The heat check on random sites, tables and skies: it moves one way with heat, keeps its bounds, and goes back."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from etsched.errors import PlanRefused
from etsched.model.heat import HeatSpell
from etsched.model.site import Controller, Exposure, Head, TurfGroup
from etsched.model.visit import ClockFound, Program
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.planning.week import plan_week
from etsched.reference.tables import soil_textures
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)
_SLOW = [HealthCheck.too_slow]
_FEW = settings(max_examples=12, deadline=None, suppress_health_check=_SLOW)


@st.composite
def _sites(draw):
    stations = []
    for terminal in range(1, draw(st.integers(1, 4)) + 1):
        over = {
            "uniformity": known(draw(st.floats(0.3, 0.9))),
            "root_depth": known(draw(st.floats(40.0, 300.0))),
            "precip_rate": known(draw(st.floats(6.0, 60.0))),
            "soil": draw(st.sampled_from(soil_textures())),
            "turf": draw(st.sampled_from(TurfGroup)),
            "head": draw(st.sampled_from(Head)),
            "exposure": draw(st.sampled_from(Exposure)),
            "blocked": draw(st.sampled_from([None, None, None, "no water arrives"])),
            "priority_count": draw(st.integers(1, 3)),
        }
        stations.append(station(terminal, **over))
    low, step = draw(st.sampled_from([0.0, 10.0])), draw(st.sampled_from([1.0, 5.0, 7.0]))
    dial = Controller(3, 4, low, draw(st.sampled_from([100.0, 150.0, 200.0])), step)
    return site(
        *stations,
        opens=time(draw(st.integers(20, 23))),
        closes=time(draw(st.integers(0, 7)), 30),
        water_days=draw(st.sets(st.integers(0, 6), min_size=2)),
        max_valves_count=draw(st.integers(1, 2)),
        controller=draw(st.sampled_from([None, dial])),
    )


@st.composite
def _tables(draw, terminals):
    if draw(st.booleans()):
        return WeekMinutes(
            {
                (terminal, FIRST + timedelta(days=day)): float(draw(st.integers(0, 60)))
                for terminal in terminals
                for day in range(7)
            },
            "made",
        )
    programs = tuple(
        Program(
            name,
            tuple(draw(st.lists(st.builds(time, st.integers(0, 23), st.just(0)), min_size=1, max_size=3, unique=True))),
            frozenset(draw(st.sets(st.integers(0, 6), min_size=1))),
            {terminal: float(draw(st.integers(0, 40))) for terminal in terminals},
            draw(st.sampled_from([60.0, 100.0, 100.0, 130.0])),
        )
        for name in "AB"[: draw(st.integers(1, 2))]
    )
    return ClockFound(programs)


@st.composite
def _cases(draw):
    made = draw(_sites())
    held = draw(_tables([each.terminal for each in made.stations]))
    high = draw(st.lists(st.floats(14.0, 42.0), min_size=30, max_size=30))
    sky = weather(
        tmax_c=high,
        tmin_c=np.array(high) - draw(st.floats(6.0, 18.0)),
        dewpoint_c=draw(st.sampled_from([np.nan, -2.0, 6.0, 16.0])),
        wind_m_s=draw(st.sampled_from([np.nan, 0.6, 2.0, 5.0])),
        solar_mj_m2_d=draw(st.sampled_from([np.nan, 12.0, 28.0])),
        rain_mm=draw(st.lists(st.sampled_from([0.0, 0.0, 0.0, 3.0, 20.0]), min_size=30, max_size=30)),
    )
    spell = HeatSpell(
        draw(st.floats(0.1, 7.0)), FIRST + timedelta(days=draw(st.integers(0, 3))), draw(st.integers(1, 7))
    )
    return HeatCase(made, sky, FIRST, held, spell)


def _checked(case):
    try:
        return heat_check(case)
    except PlanRefused as refused:
        assume("no table to check" not in str(refused))
        raise


def _so_far(found):
    """Minutes to add up to each night by station."""
    terminals = [each.terminal for each in found.stations]
    rows = [[{run.terminal: run.extra_min for run in n.runs}.get(t, 0) for t in terminals] for n in found.nights]
    return np.cumsum(np.array(rows).reshape(len(rows), len(terminals)), axis=0)


@given(_cases(), st.floats(0.0, 8.0))
@_FEW
def test_hotter_never_asks_for_fewer_minutes_nor_a_lower_percent(case, more_c):
    _moves_one_way(case, more_c)


@pytest.mark.slow
@given(_cases(), st.floats(0.0, 8.0))
@settings(max_examples=400, deadline=None, suppress_health_check=_SLOW)
def test_hotter_never_asks_for_less_on_many_sites(case, more_c):
    _moves_one_way(case, more_c)


def _moves_one_way(case, more_c):
    found, hotter = (
        _checked(replace(case, spell=replace(case.spell, hotter_c=heat)))
        for heat in (case.spell.hotter_c, case.spell.hotter_c + more_c)
    )
    assert np.all(_so_far(hotter) >= _so_far(found))
    assert hotter.percent.set_pct >= found.percent.set_pct
    for cool, hot in zip(found.stations, hotter.stations, strict=True):
        assert hot.extra_min >= cool.extra_min
        assert hot.excess_mm >= cool.excess_mm - 1e-9
        assert cool.passes_on is None or (hot.passes_on is not None and hot.passes_on <= cool.passes_on)


@given(_cases())
@_FEW
def test_more_hot_days_never_ask_for_fewer_minutes(case):
    longer = _checked(replace(case, spell=replace(case.spell, length_d=case.spell.length_d + 3)))
    found = _checked(case)
    nights = min(len(found.nights), len(longer.nights))
    assert np.all(_so_far(longer)[:nights] >= _so_far(found)[:nights])


@given(_cases())
@_FEW
def test_percent_and_minutes_keep_their_bounds(case):
    found = _checked(case)
    dial, percent = case.site.controller, found.percent
    high, step, low = (
        (200.0, 5.0, 0.0)
        if dial is None
        else (dial.percent_adjust_high_pct, dial.percent_adjust_step_pct, dial.percent_adjust_low_pct)
    )
    assert percent.now_pct <= percent.set_pct <= max(high, percent.now_pct)
    assert percent.set_pct == percent.now_pct or (percent.set_pct - low) % step == pytest.approx(0.0, abs=1e-6)
    blocked = {each.terminal for each in found.stations if each.blocked}
    for night in found.nights:
        assert 0 <= night.used_min <= night.night.length_min
        assert night.night.opens_on.weekday() in case.site.rules.water_days
        placed = sum(run.cycles_count * run.cycle_min for run in night.runs) - night.missing_min
        assert placed <= night.night.length_min * case.site.rules.max_valves_count + len(night.runs)
        assert not blocked & {run.terminal for run in night.runs}
    for each in found.stations:
        assert each.extra_min >= each.usual_extra_min >= 0
        assert min(each.under_mm, each.over_mm, each.lacks_mm - each.under_mm) >= -1e-9


@given(_cases())
@_FEW
def test_no_heat_asks_for_the_usual_and_going_back_gives_the_table_as_it_was(case):
    found = _checked(case)
    none = _checked(replace(case, spell=replace(case.spell, hotter_c=0.0)))
    for hot, usual in zip(found.stations, none.stations, strict=True):
        assert usual.extra_min == usual.usual_extra_min
        assert usual.passes_on == usual.usual_passes_on == hot.usual_passes_on
    assert none.days == none.usual_days
    for (terminal, serves), minutes in found.table_min.items():
        keyed = found.keyed_min(terminal, serves)
        assert keyed >= minutes
        if found.back_on is not None and serves >= found.back_on:
            assert keyed == minutes
    assert heat_check(case) == found


@given(_sites())
@_FEW
def test_the_table_of_a_plan_that_fits_asks_for_nothing_without_heat(made):
    sky = weather()
    plan = plan_week(made, sky, FIRST)
    table = {(run.terminal, night.night.serves): float(run.length_min) for night in plan.nights for run in night.runs}
    # Where the first night is closed, turf that begins just due has passed before anything can be done.
    assume(table and plan.nights[0].night.serves == FIRST and not any(night.shortfalls for night in plan.nights))
    found = heat_check(HeatCase(made, sky, FIRST, WeekMinutes(table, "the plan")))
    dry = {line.terminal for line in plan.books if line.end_mm > line.allowable_mm + 1e-9}
    for each in found.stations:
        if each.terminal not in dry:
            assert (each.extra_min, each.passes_on) == (0, None) or each.blocked
