"""The programs of a clock on random sites, run by a simulation of their own: minute by minute, by the wall clock.

The simulation knows nothing of how the table was made. It reads days, starts and minutes as a person keys them in,
walks through the week in real minutes, and lets a start wait while a valve is open or its delay has not passed.
"""

import itertools
import math
from collections import defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etsched.model.site import Ban, Controller, Exposure, Head, Place, TurfGroup
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.programs import clock_table
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of, plan_week
from etsched.reference.tables import soil_textures
from tests.planning.made import known, site, station, weather

_FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
_MANY = settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def _stations(draw):
    made = []
    for terminal in range(1, draw(st.integers(1, 8)) + 1):
        maybe = {
            "uniformity": st.floats(0.25, 0.95).map(known),
            "root_depth": st.floats(60.0, 400.0).map(known),
            "first_runoff": st.integers(1, 12).map(lambda m: known(float(m))),
            "least_cycle": st.integers(1, 9).map(lambda m: known(float(m))),
            "most_min": st.integers(5, 90).map(float),
            "priority_count": st.integers(1, 3),
            "blocked": st.just("no water arrives"),
        }
        over = {name: draw(value) for name, value in maybe.items() if draw(st.integers(0, 2)) == 0}
        made.append(
            station(
                terminal,
                head=draw(st.sampled_from(Head)),
                turf=draw(st.sampled_from(TurfGroup)),
                soil=draw(st.sampled_from(soil_textures())),
                exposure=draw(st.sampled_from(Exposure)),
                precip_rate=known(draw(st.floats(10.0, 60.0))),
                slope_pct=draw(st.floats(0.0, 20.0)),
                area_m2=draw(st.one_of(st.none(), st.floats(20.0, 400.0))),
                **over,
            )
        )
    return made


@st.composite
def _cases(draw):
    zone, first = draw(
        st.sampled_from(
            [
                ("America/Denver", date(2026, 7, 14)),
                ("America/Denver", date(2026, 7, 14)),
                ("America/Denver", date(2026, 3, 5)),
                ("America/Denver", date(2026, 10, 28)),
                ("Australia/Sydney", date(2026, 10, 1)),
                ("Australia/Sydney", date(2026, 4, 2)),
            ]
        )
    )
    opens, closes = draw(
        st.sampled_from(
            [
                (time(22), time(6)),
                (time(22), time(2)),
                (time(23, 30), time(1)),
                (time(21), time(23)),
                (time(0), time(5, 45)),
                (time(1), time(3)),
                (time(19, 45), time(9)),
                (time(2, 30), time(7)),
            ]
        )
    )
    bans = ()
    if draw(st.integers(0, 3)) == 0:
        barred = draw(st.sampled_from([frozenset(), frozenset({1}), frozenset({1, 2})]))
        start = first + timedelta(days=draw(st.integers(-1, 5)))
        bans = (Ban(start, start + timedelta(days=draw(st.integers(0, 2))), "a ban", barred),)
    made = site(
        *draw(_stations()),
        opens=opens,
        closes=closes,
        water_days=draw(st.one_of(st.just(frozenset(range(7))), st.sets(st.integers(0, 6), min_size=1))),
        max_valves_count=draw(st.integers(1, 2)),
        place=Place(39.0, -105.0, 1000.0, ZoneInfo(zone)),
        controller=Controller(draw(st.integers(1, 4)), draw(st.integers(1, 4))),
        bans=bans,
    )
    made = replace(made, rules=replace(made.rules, valve_delay_min=draw(st.sampled_from([0, 0, 1, 3]))))
    rain = draw(st.lists(st.sampled_from([0.0, 0.0, 0.0, 0.0, 4.0, 20.0]), min_size=30, max_size=30))
    heat = draw(st.floats(30.0, 42.0))
    return made, weather(first - timedelta(days=20), rain_mm=rain, tmax_c=heat, tmin_c=heat - 15.0), first


def compiled(case):
    made, sky, first = case
    plan = plan_week(made, sky, first)
    return clock_table(outlook_of(made, days_from_weather(sky, made), first), plan), plan


def simulated(table):
    """Every opening of a valve in the week that follows the keying in: (terminal, opens, closes) as instants."""
    rules = table.site.rules
    zone = table.site.place.zone
    keyed_on = table.first_day - timedelta(days=int(rules.closes_at <= rules.opens_at))
    # The clock's own time is set by day only: it shows the offset of the noon before the night throughout.
    due = []
    for program in table.programs:
        for ahead in range(9):
            day = keyed_on + timedelta(days=ahead)
            if day.weekday() not in program.days:
                continue
            for start in program.starts:
                shown = datetime.combine(day, start.at)
                evening = day if rules.opens_at >= time(12) and start.at >= time(12) else day - timedelta(days=1)
                offset = datetime.combine(evening, time(12), zone).utcoffset()
                due.append(((shown - offset).replace(tzinfo=UTC), program.letter))
    opened_first = datetime.combine(keyed_on, rules.opens_at)
    until = opened_first + timedelta(days=7)
    free, found = None, []
    programs = {program.letter: program for program in table.programs}
    for begins, letter in sorted(due):
        wall = begins.astimezone(zone).replace(tzinfo=None)
        # From the first opening on, until a week later the next table is keyed in before its window opens.
        if not opened_first - timedelta(hours=2) <= wall < until - timedelta(hours=2):
            continue
        now = begins if free is None else max(begins, free)
        for terminal in sorted(programs[letter].minutes_min):
            ends = now + timedelta(minutes=programs[letter].minutes_min[terminal])
            found.append((terminal, now, ends))
            now = free = ends + timedelta(minutes=rules.valve_delay_min)
    return found


def check(case):
    table, plan = compiled(case)
    made, _, first = case
    land = ground(made, facts_by_station(made, first.month))
    at = {int(terminal): index for index, terminal in enumerate(land.terminal)}
    assert len(table.programs) <= made.controller.programs_count
    assert all(1 <= len(each.starts) <= made.controller.starts_count for each in table.programs)
    assert all(each.days and each.minutes_min for each in table.programs)
    openings = simulated(table)
    nightly = defaultdict(list)
    for terminal, opens, closes in openings:
        window = [night for night in table.nights if night.opens <= opens and closes <= night.closes]
        assert len(window) == 1, (terminal, opens, closes)
        banned = [ban for ban in made.bans if ban.first <= window[0].opens_on <= ban.last]
        assert all(ban.terminals and terminal not in ban.terminals for ban in banned)
        nightly[terminal, window[0].serves].append((opens, closes))
        assert made.stations[at[terminal]].blocked is None
        assert (closes - opens) / timedelta(minutes=1) <= land.longest_cycle_min[at[terminal]] + 1e-6
    in_order = sorted((opens, closes) for _, opens, closes in openings)
    for before, after in itertools.pairwise(in_order):
        assert (after[0] - before[1]) / timedelta(minutes=1) >= made.rules.valve_delay_min
    for (terminal, _), runs in nightly.items():
        here = at[terminal]
        assert sum((closes - opens) / timedelta(minutes=1) for opens, closes in runs) <= land.most_min[here]
        for before, after in itertools.pairwise(runs):
            ran = (before[1] - before[0]) / timedelta(minutes=1)
            surplus = max(land.wet_rate_mm_h[here] - land.intake_mm_h[here], 0.0)
            soak = math.ceil(ran * surplus / land.intake_mm_h[here] - 1e-9)
            assert (after[0] - before[1]) / timedelta(minutes=1) >= soak
    check_figures(table, plan, land, nightly)


def check_figures(table, plan, land, nightly):
    for at, each in enumerate(table.stations):
        mine = {day: runs for (terminal, day), runs in nightly.items() if terminal == each.terminal}
        minutes = sum((closes - opens) / timedelta(minutes=1) for runs in mine.values() for opens, closes in runs)
        assert each.week_min == minutes
        assert each.nights_count == len(mine)
        assert each.applied_mm == pytest.approx(minutes * land.landing_rate_mm_h[at] / 60.0)
        assert each.credited_mm == pytest.approx(each.applied_mm / land.multiplier_factor[at])
        pauses = [b[0] - a[1] for runs in mine.values() for a, b in itertools.pairwise(runs)]
        least = min(pauses, default=None)
        assert each.soak_min == (None if least is None else least / timedelta(minutes=1))
        assert each.over_mm == pytest.approx(each.credited_mm - each.wanted_mm)
        # Whoever the plan waters gets minutes here, or stands there with a reason.
        watered = any(run.terminal == each.terminal for night in plan.nights for run in night.runs)
        assert not watered or minutes or (each.reason and each.missing_min)
    assert table.entries_count == sum(len(p.days) + len(p.starts) + len(p.minutes_min) for p in table.programs)


@given(_cases())
@_FEW
def test_the_table_as_a_clock_runs_it_keeps_every_rule(case):
    check(case)


@pytest.mark.slow
@given(_cases())
@_MANY
def test_the_table_keeps_every_rule_on_many_sites(case):
    check(case)


@given(_cases())
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_the_same_site_gives_the_same_table(case):
    assert compiled(case)[0] == compiled(case)[0]
