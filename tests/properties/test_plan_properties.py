"""What must hold for every week of every site: random sites, random weather, both clock changes.

Turf in modes of its own, restrictions, water known from before and the ranges of an ensemble are among what is drawn.
"""

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etsched.core import cycle_soak
from etsched.days import wall_time
from etsched.model.plan import Cycle, RestKind
from etsched.model.site import HoldKind
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.modes import dormant_on, stage_on
from etsched.planning.season import replay_season
from etsched.planning.so_far import cut_on
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather
from tests.properties.plan_cases import cases

_MANY = settings(max_examples=500, deadline=None, suppress_health_check=list(HealthCheck))
_CAMPAIGN = settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))
_SLOW_ENOUGH = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(cases())
@_MANY
def test_every_plan_keeps_the_rules(case):
    _keeps_the_rules(case)


@pytest.mark.slow
@given(cases())
@_CAMPAIGN
def test_every_plan_of_a_long_campaign_keeps_the_rules(case):
    _keeps_the_rules(case)


def _keeps_the_rules(case):
    made = case.site
    plan = plan_week(made, case.sky, case.first, case.earlier)
    arrays = ground(made, facts_by_station(made, case.first.month))
    at = {int(terminal): index for index, terminal in enumerate(arrays.terminal)}
    _every_night_has_its_answer(made, plan, case.first)
    _nights_keep_the_rules(made, plan, arrays, at)
    _light_runs_keep_the_rules(made, plan, arrays, at)
    _dormant_turf_waters_once(made, plan)
    _restrictions_are_kept(case, plan, arrays, at)
    _begins_where_the_days_before_end(case, plan)
    _ranges_hold_what_is_planned(plan)


def _nights_keep_the_rules(made, plan, arrays, at):
    for night in plan.nights:
        assert night.night.opens_on.weekday() in made.rules.water_days
        bans = [ban for ban in plan.site.bans if ban.kind is not HoldKind.WIND]
        banned = [ban for ban in bans if ban.first <= night.night.opens_on <= ban.last]
        assert all(ban.terminals for ban in banned)
        events = []
        for run in night.runs:
            assert made.stations[at[run.terminal]].blocked is None
            assert not any(run.terminal in ban.terminals for ban in banned)
            assert run.length_min <= arrays.most_min[at[run.terminal]]
            assert run.cycles
            for cycle in run.cycles:
                assert cycle.start_min >= 0
                assert cycle.end_min <= night.night.length_min
                events.append((cycle, run))
            assert _soaks(arrays, at[run.terminal], run.cycles) >= run.soak_min
        _check_supply(made, arrays, at, events)
        wanted = {run.terminal: run.wanted_min for run in night.runs}
        # What a cut takes of the week is told beside what a night could not hold.
        short = {gap.terminal: gap.missing_min for gap in night.shortfalls if "restriction" not in gap.reason}
        for run in night.runs:
            assert run.length_min + short.get(run.terminal, 0) == wanted[run.terminal]


def _soaks(arrays, at, cycles):
    """Give the shortest pause between a station's cycles, none of which may run off nor follow too soon."""
    longest = max(cycle.length_min for cycle in cycles)
    assert longest <= arrays.longest_cycle_min[at] + 1e-6
    needed = cycle_soak.least_soak(float(longest), arrays.wet_rate_mm_h[at], arrays.intake_mm_h[at])
    pauses = [after.start_min - before.end_min for before, after in pairwise(cycles)]
    assert all(pause >= needed - 1e-6 for pause in pauses)
    return min(pauses, default=10_000)


def _every_night_has_its_answer(made, plan, first):
    """Each station runs or rests, once, on each of the seven nights; what rests with enough really has it."""
    ran = {(run.terminal, night.night.serves) for night in plan.nights for run in night.runs if run.cycles}
    rested = [(rest.terminal, rest.serves) for rest in plan.rests]
    asked = {(one.terminal, first + timedelta(days=n)) for one in made.stations for n in range(7)}
    assert len(rested) == len(set(rested))
    assert ran.isdisjoint(rested)
    assert ran.union(rested) == asked
    for rest in plan.rests:
        if rest.kind is RestKind.ENOUGH:
            assert rest.peak_mm <= rest.allowable_mm + 1e-9 or rest.depletion_mm <= 1e-9
    assert plan.bound.least_past_mm <= plan.bound.past_mm + 1e-6


def _light_runs_keep_the_rules(made, plan, arrays, at):
    """Light runs are those of the turf's stage, inside the hours stated, and no more valves or flow than supplied."""
    assert made.new_turf is not None or plan.light == ()
    for day in plan.light:
        opens, closes = (wall_time(each, made.place.zone) for each in (day.hours.opens, day.hours.closes))
        assert (opens.date(), opens.time(), closes.time()) == (
            day.hours.serves,
            made.new_turf.opens_at,
            made.new_turf.closes_at,
        )
        banned = [ban for ban in plan.site.bans if ban.first <= day.hours.opens_on <= ban.last]
        assert all(ban.terminals for ban in banned)
        cycles = {}
        for run in day.runs:
            assert not any(run.terminal in ban.terminals for ban in banned)
            assert run.length_min >= 1
            cycles.setdefault(run.terminal, []).append(Cycle(run.start_min, run.length_min))
        dropped = dict(day.dropped)
        for terminal, its in cycles.items():
            stage = stage_on(made.stations[at[terminal]], day.hours.serves)
            assert made.stations[at[terminal]].blocked is None
            assert its[0].start_min >= 0
            assert its[-1].end_min <= day.hours.length_min
            _soaks(arrays, at[terminal], its)
            ran = len(its) + dropped.get(terminal, 0)
            assert ran <= stage.runs_count if cut_on(made, day.hours.opens_on) else ran == stage.runs_count
        events = [(Cycle(run.start_min, run.length_min), run) for run in day.runs]
        _check_supply(made, arrays, at, events)


def _dormant_turf_waters_once(made, plan):
    """Its rests are three weeks long: a week holds one run of dormant turf, unless a night cut that one short."""
    for one in made.stations:
        runs = [run for night in plan.nights for run in night.runs if run.terminal == one.terminal]
        if dormant_on(one, plan.first_day) and not any(made.restrictions):
            assert sum(run.length_min == run.wanted_min for run in runs) <= 1


def _restrictions_are_kept(case, plan, arrays, at):
    """No more nights than each allows, and no more water on the days of a cut than it leaves of the week without."""
    made = case.site
    for each in made.restrictions:
        opened = [night for night in plan.nights if each.first <= night.night.opens_on <= each.last]
        assert each.most_nights_count is None or len(opened) <= each.most_nights_count
    if not any(each.cut_pct for each in made.restrictions):
        return
    free = plan_week(replace(made, restrictions=()), case.sky, case.first, case.earlier)

    def litres(week):
        held = [(night.night.opens_on, night.runs) for night in week.nights]
        held += [(day.hours.opens_on, day.runs) for day in week.light]
        return [
            (cut_on(made, day), arrays.flow_l_min[at[run.terminal]] * run.length_min)
            for day, runs in held
            for run in runs
            if cut_on(made, day)
        ]

    allowed = sum((1.0 - cut / 100.0) * water for cut, water in litres(free))
    assert sum(water for _, water in litres(plan)) <= allowed * (1 + 1e-9) + 1e-6


def _begins_where_the_days_before_end(case, plan):
    """The week's books carry on from the water that was known, day by day; those of the last seven days are kept."""
    before = plan.before.books
    if case.earlier is None:
        assert before == ()
        return
    begin, ran = case.earlier.water, case.earlier.applied_min
    kept = [day for n in range(7, 0, -1) if (day := case.first - timedelta(days=n)) >= begin.morning]
    books = {(line.terminal, line.day): line for line in (*before, *plan.books)}
    assert {(line.terminal, line.day) for line in before} == {(at, day) for at in begin.deficit_mm for day in kept}
    dry = {one.terminal for one in case.site.stations if one.blocked}
    for line in before:
        assert (line.irrigation_mm > 0.0) == ((line.terminal, line.day) in ran and line.terminal not in dry)
        after = books[line.terminal, line.day + timedelta(days=1)]
        assert after.start_mm == pytest.approx(line.end_mm, abs=1e-9)
    if begin.morning in {*kept, case.first}:
        for terminal, layers in begin.deficit_mm.items():
            assert books[terminal, begin.morning].start_mm == pytest.approx(layers[0], abs=1e-9)


def _ranges_hold_what_is_planned(plan):
    """Likely ranges hold the figure that they are of, where the weather's own range holds the weather."""
    for day in plan.days:
        assert day.eto_low_mm <= day.eto_mm <= day.eto_high_mm
        assert day.rain_low_mm is None or day.rain_low_mm <= day.rain_high_mm
    for each in plan.ranges:
        assert 0 <= each.low_min <= each.wanted_min <= each.high_min
    ends = {(line.terminal, line.day): line.end_mm for line in plan.books}
    whole = all(day.rain_low_mm is None or day.rain_low_mm <= day.rain_mm <= day.rain_high_mm for day in plan.days)
    for each in plan.depletion_ranges:
        assert each.low_mm <= each.high_mm
        assert not whole or each.low_mm - 1e-9 <= ends[each.terminal, each.day] <= each.high_mm + 1e-9


def _check_supply(made, arrays, at, events):
    """Valves open at once, each with the delay after it, and their flow stay within what is supplied."""
    for begin in {cycle.start_min for cycle, _ in events}:
        held = [run for cycle, run in events if cycle.start_min <= begin < cycle.end_min + made.rules.valve_delay_min]
        assert len(held) <= made.rules.max_valves_count
        open_now = [run for cycle, run in events if cycle.start_min <= begin < cycle.end_min]
        assert len({run.terminal for run in open_now}) == len(open_now)
        if made.rules.max_flow_l_min is not None:
            flow = sum(arrays.flow_l_min[at[run.terminal]] for run in open_now)
            assert flow <= made.rules.max_flow_l_min * (1 + 1e-6)


@given(cases(), st.randoms(use_true_random=False))
@_SLOW_ENOUGH
def test_the_order_of_stations_changes_no_plan(case, random):
    shuffled = list(case.site.stations)
    random.shuffle(shuffled)
    one, other = (
        plan_week(made, case.sky, case.first, case.earlier)
        for made in (case.site, replace(case.site, stations=tuple(shuffled)))
    )
    for left, right in zip(one.nights, other.nights, strict=True):
        assert sorted(left.runs, key=lambda r: r.terminal) == sorted(right.runs, key=lambda r: r.terminal)
        assert left.used_min == right.used_min


@given(cases())
@_SLOW_ENOUGH
def test_the_books_of_the_week_close(case):
    plan = plan_week(case.site, case.sky, case.first, case.earlier)
    for one in case.site.stations:
        lines = [line for line in plan.books if line.terminal == one.terminal]
        for line in lines:
            # Root zone: what comes in and stays is what is used and what passes below.
            change = line.end_mm - line.start_mm
            assert change == pytest.approx(line.et_mm + line.passed_mm - line.irrigation_mm - line.rain_mm, abs=1e-9)
        for before, after in combinations(lines, 2):
            if after.day - before.day == timedelta(days=1):
                assert after.start_mm == before.end_mm
        total = sum(line.et_mm + line.drained_mm - line.irrigation_mm - line.rain_mm for line in lines)
        change = sum(plan.end.deficit_mm[one.terminal]) - sum(plan.start.deficit_mm[one.terminal])
        assert change == pytest.approx(total, abs=1e-9)


@given(
    st.lists(st.one_of(st.just(0.0), st.floats(0.0, 30.0)), min_size=70, max_size=70),
    st.lists(st.one_of(st.just(0.0), st.just(0.0), st.floats(0.0, 30.0)), min_size=70, max_size=70),
    st.floats(80.0, 300.0),
)
@settings(max_examples=40, deadline=None)
def test_more_rain_over_a_season_never_adds_more_than_one_refill(rain, more, roots):
    made = site(station(1, root_depth=known(roots), precip_rate=known(15.0), intake=known(30.0)))
    first = date(2026, 6, 1)

    def applied(falls):
        sky = weather(date(2026, 5, 25), days=77, rain_mm=[0.0] * 7 + falls)
        plans = list(replay_season(made, sky, first, first + timedelta(days=69)))
        runs = [run for plan in plans for night in plan.nights for run in night.runs]
        return sum(run.applied_mm for run in runs), max((run.applied_mm for run in runs), default=0.0)

    less, refill = applied(rain)
    wetter, _ = applied([a + b for a, b in zip(rain, more, strict=True)])
    full = roots * 0.155 / 0.76  # all the water a loam holds for these roots, through the multiplier
    assert wetter <= less + max(refill, full) + 1e-9
