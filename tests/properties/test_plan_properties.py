"""What must hold for every week of every site: random sites, random weather, both clock changes."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etsched.core import cycle_soak
from etsched.model.plan import RestKind
from etsched.model.site import Ban, Exposure, Head, HoldKind, Place, TurfGroup
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.season import replay_season
from etsched.planning.week import plan_week
from etsched.reference.tables import soil_textures
from tests.planning.made import known, site, station, weather

_MANY = settings(max_examples=500, deadline=None, suppress_health_check=list(HealthCheck))
_CAMPAIGN = settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))
_SLOW_ENOUGH = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def _stations(draw):
    made = []
    for terminal in range(1, draw(st.integers(1, 7)) + 1):
        maybe = {
            "uniformity": st.floats(0.25, 0.95).map(known),
            "root_depth": st.floats(60.0, 400.0).map(known),
            "precip_rate": st.floats(4.0, 70.0).map(known),
            "first_runoff": st.integers(3, 20).map(lambda m: known(float(m))),
            "slope_pct": st.floats(0.0, 20.0),
            "blocked": st.just("no water arrives"),
            "priority_count": st.integers(1, 3),
            "most_min": st.integers(10, 90).map(float),
            "least_depth": st.floats(1.0, 12.0).map(known),
        }
        over = {name: draw(value) for name, value in maybe.items() if draw(st.integers(0, 2)) == 0}
        made.append(
            station(
                terminal,
                head=draw(st.sampled_from(Head)),
                turf=draw(st.sampled_from(TurfGroup)),
                soil=draw(st.sampled_from(soil_textures())),
                exposure=draw(st.sampled_from(Exposure)),
                area_m2=draw(st.floats(20.0, 400.0)),
                **over,
            )
        )
    return made


@st.composite
def _cases(draw):
    # Weeks that hold a clock change of either hemisphere are drawn as often as others.
    zone, first = draw(
        st.sampled_from(
            [
                ("America/Denver", date(2026, 7, 14)),
                ("America/Denver", date(2026, 3, 5)),
                ("America/Denver", date(2026, 10, 28)),
                ("Australia/Sydney", date(2026, 10, 1)),
                ("Australia/Sydney", date(2026, 4, 2)),
            ]
        )
    )
    made = site(
        *draw(_stations()),
        opens=time(draw(st.integers(19, 23)), draw(st.sampled_from([0, 30]))),
        closes=time(draw(st.integers(1, 9)), draw(st.sampled_from([0, 45]))),
        water_days=draw(st.sets(st.integers(0, 6), min_size=1)),
        max_valves_count=draw(st.integers(1, 3)),
        max_flow_l_min=draw(st.one_of(st.none(), st.floats(40.0, 200.0))),
        place=Place(39.0, -105.0, 1000.0, ZoneInfo(zone)),
    )
    rules = replace(made.rules, valve_delay_min=draw(st.sampled_from([0, 0, 1, 3])))
    bans = draw(st.lists(_bans(first, len(made.stations)), max_size=2))
    made = replace(made, rules=rules, bans=tuple(bans))
    wind = draw(st.lists(st.sampled_from([1.0, 3.0, 9.0]), min_size=30, max_size=30))
    rain = draw(st.lists(st.one_of(st.just(0.0), st.floats(0.0, 40.0)), min_size=30, max_size=30))
    heat = draw(st.floats(20.0, 42.0))
    sky = weather(first - timedelta(days=20), rain_mm=rain, wind_m_s=wind, tmax_c=heat, tmin_c=heat - 15.0)
    return made, sky, first


@st.composite
def _bans(draw, first, stations):
    begins = first + timedelta(days=draw(st.integers(-3, 6)))
    of = draw(st.one_of(st.just(frozenset()), st.sets(st.integers(1, stations), min_size=1).map(frozenset)))
    return Ban(begins, begins + timedelta(days=draw(st.integers(0, 3))), "town water is off", of)


@given(_cases())
@_MANY
def test_every_plan_keeps_the_rules(case):
    _keeps_the_rules(*case)


@pytest.mark.slow
@given(_cases())
@_CAMPAIGN
def test_every_plan_of_a_long_campaign_keeps_the_rules(case):
    _keeps_the_rules(*case)


def _keeps_the_rules(made, sky, first):
    plan = plan_week(made, sky, first)
    _every_night_has_its_answer(made, plan, first)
    arrays = ground(made, facts_by_station(made, first.month))
    at = {int(terminal): index for index, terminal in enumerate(arrays.terminal)}
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
                assert cycle.length_min <= arrays.longest_cycle_min[at[run.terminal]] + 1e-6
                assert cycle.start_min >= 0
                assert cycle.end_min <= night.night.length_min
                events.append((cycle, run))
            for before, after in zip(run.cycles, run.cycles[1:], strict=False):
                assert after.start_min - before.end_min >= run.soak_min
            needed = cycle_soak.least_soak(
                float(run.cycles[0].length_min),
                arrays.wet_rate_mm_h[at[run.terminal]],
                arrays.intake_mm_h[at[run.terminal]],
            )
            assert run.soak_min >= needed - 1e-6
        _check_supply(made, arrays, at, events)
        _check_delay(made.rules, [cycle for cycle, _ in events])
        wanted = {run.terminal: run.wanted_min for run in night.runs}
        short = {gap.terminal: gap.missing_min for gap in night.shortfalls}
        for run in night.runs:
            assert run.length_min + short.get(run.terminal, 0) == wanted[run.terminal]


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


def _check_delay(rules, cycles):
    """With one valve at a time, the delay lies between each valve and the next."""
    if rules.max_valves_count == 1:
        inorder = sorted(cycles, key=lambda cycle: cycle.start_min)
        for before, after in pairwise(inorder):
            assert after.start_min - before.end_min >= rules.valve_delay_min


def _check_supply(made, arrays, at, events):
    for begin in {cycle.start_min for cycle, _ in events}:
        open_now = [run for cycle, run in events if cycle.start_min <= begin < cycle.end_min]
        assert len(open_now) <= made.rules.max_valves_count
        assert len({run.terminal for run in open_now}) == len(open_now)
        if made.rules.max_flow_l_min is not None:
            flow = sum(arrays.flow_l_min[at[run.terminal]] for run in open_now)
            assert flow <= made.rules.max_flow_l_min * (1 + 1e-6)


@given(_cases(), st.randoms(use_true_random=False))
@_SLOW_ENOUGH
def test_the_order_of_stations_changes_no_plan(case, random):
    made, sky, first = case
    shuffled = list(made.stations)
    random.shuffle(shuffled)
    one, other = plan_week(made, sky, first), plan_week(replace(made, stations=tuple(shuffled)), sky, first)
    for left, right in zip(one.nights, other.nights, strict=True):
        assert sorted(left.runs, key=lambda r: r.terminal) == sorted(right.runs, key=lambda r: r.terminal)
        assert left.used_min == right.used_min


@given(_cases())
@_SLOW_ENOUGH
def test_the_books_of_the_week_close(case):
    made, sky, first = case
    plan = plan_week(made, sky, first)
    for one in made.stations:
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
