"""What must hold for every visit to every site: whatever was looked at and whatever was left out."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from etsched.errors import PlanRefused
from etsched.model.recovery import RecoveryAsk
from etsched.model.site import Head, TurfGroup
from etsched.model.visit import (
    AreaSeen,
    ClockFound,
    Core,
    CoreLayer,
    Cup,
    CupTest,
    ElectricalReading,
    HeadSeen,
    MeterReading,
    Program,
    Salts,
    StationRun,
    Visit,
)
from etsched.planning.findings import found_by
from etsched.planning.visit_evaluation import VisitCase, evaluate
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, plan_week
from etsched.reference.faults import head_faults
from etsched.reference.feel import feel_classes, feel_shares
from etsched.reference.signs import signs
from etsched.reference.tables import soil_textures
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)
DAY = FIRST - timedelta(days=1)
SKY = weather(days=45)
STRANGER = 77  # a terminal that no site has
_ENOUGH = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def _some(draw, what, most=3):
    """Draw a few, and often none: a visit is partial."""
    return tuple(draw(st.one_of(st.just([]), st.lists(what, max_size=most))))


def _maybe(what):
    return st.one_of(st.none(), what)


@st.composite
def _sites(draw, least=1):
    stations = []
    for terminal in range(1, draw(st.integers(least, 5)) + 1):
        maybe = {
            "uniformity": st.floats(0.05, 1.0).map(known),
            "root_depth": st.floats(25.4, 500.0).map(known),
            "precip_rate": st.floats(0.51, 150.0).map(known),
            "flow": st.floats(1.0, 400.0).map(known),
            "first_runoff": st.floats(1.0, 30.0).map(known),
            "depletion": st.floats(0.0, 60.0).map(known),
            "blocked": st.just("the valve box is under water"),
            # Several stations may water one area.
            "area": st.sampled_from(["lawn 1", "lawn 2", "Bank"]),
            "area_m2": st.one_of(st.none(), st.floats(1.0, 2000.0)),
        }
        over = {name: draw(value) for name, value in maybe.items() if draw(st.integers(0, 2)) == 0}
        heads, turf = draw(st.sampled_from(Head)), draw(st.sampled_from(TurfGroup))
        stations.append(station(terminal, head=heads, turf=turf, soil=draw(st.sampled_from(soil_textures())), **over))
    return site(
        *stations,
        water_days=draw(st.sets(st.integers(0, 6), min_size=1)),
        max_valves_count=draw(st.integers(1, 2)),
        max_flow_l_min=draw(st.one_of(st.none(), st.floats(40.0, 200.0))),
    )


def _words(made):
    areas = [each.area for each in made.stations]
    return st.sampled_from([*areas, *(area.upper() for area in areas), "by the gate", ""])


@st.composite
def _cup_tests(draw, terminal):
    stations = tuple(draw(st.lists(terminal, min_size=1, max_size=3, unique=True)))
    volumes = draw(st.booleans())
    caught = st.one_of(st.just(0.0), st.floats(0.0, 200.0), st.just(5000.0))
    count = draw(st.sampled_from([0, 1, 3, 4, 7, 8, 16, 24, 25]))
    values = draw(st.one_of(st.just([0.0] * count), st.lists(caught, min_size=count, max_size=count)))
    placed = draw(st.booleans())
    cups = tuple(
        Cup(
            volume_ml=value if volumes else None,
            depth_mm=None if volumes else value,
            x_m=float(at % 5) if placed else None,
            y_m=float(at // 5) if placed else None,
        )
        for at, value in enumerate(values)
    )
    minutes = tuple(draw(st.floats(1.0, 600.0)) for _ in stations)
    throat = draw(st.floats(0.01, 1900.0)) if volumes else None
    return CupTest(stations, minutes, cups, throat_cm2=throat, wind_m_s=draw(_maybe(st.floats(0.0, 26.0))))


@st.composite
def _cores(draw, terminal, words):
    ends = sorted(draw(st.sets(st.integers(1, 1800), max_size=3)))
    feel = st.sampled_from([each.key for each in feel_classes()])
    layers = tuple(CoreLayer(float(a), float(b), draw(feel)) for a, b in zip([0, *ends], ends, strict=False))
    depth = _maybe(st.floats(0.0, 1800.0))
    return Core(
        area=draw(words),
        station=draw(_maybe(terminal)),
        colour=draw(st.sampled_from(["", "green", "brown"])),
        moist_mm=draw(depth),
        roots_mm=draw(depth),
        layers=layers,
        stone_mm=draw(depth),
        x_m=draw(_maybe(st.floats(-5.0, 5.0))),
        y_m=draw(_maybe(st.floats(-5.0, 5.0))),
    )


def _runs(terminal, words):
    return st.builds(
        StationRun,
        terminal,
        from_controller=_maybe(st.booleans()),
        by_hand=_maybe(st.booleans()),
        wet_areas=_maybe(st.lists(words.filter(bool), max_size=2).map(tuple)),
        leak=st.sampled_from(["", "at the second head"]),
        first_runoff_min=_maybe(st.floats(0.0, 600.0)),
    )


def _areas(words):
    return st.builds(
        AreaSeen,
        words.filter(bool),
        pattern=st.sampled_from(["", *signs("pattern")]),
        colour=st.sampled_from(["", *signs("colour")]),
        signs=st.lists(st.sampled_from([*signs("sign")]), max_size=4).map(tuple),
        living_cover_pct=_maybe(st.floats(0.0, 100.0)),
        tug=st.sampled_from(["", "holds", "lifts"]),
        drop_s=_maybe(st.floats(0.0, 3600.0)),
        thatch_mm=_maybe(st.floats(0.0, 150.0)),
    )


def _programs(terminal):
    return st.builds(
        Program,
        st.sampled_from("ABC"),
        st.lists(st.times(min_value=time(0), max_value=time(23, 59)), max_size=3).map(tuple),
        st.frozensets(st.integers(0, 6)),
        st.dictionaries(terminal, st.floats(0.5, 240.0), max_size=4),
        st.floats(0.0, 300.0),
    )


@st.composite
def _visits(draw, made, day=DAY):
    terminal = st.sampled_from([*(each.terminal for each in made.stations)] * 3 + [STRANGER])
    own = st.sampled_from([each.terminal for each in made.stations])
    words = _words(made)
    clock = st.builds(
        ClockFound,
        st.lists(_programs(terminal), max_size=2, unique_by=lambda program: program.name).map(tuple),
        st.sampled_from(["", "on", "bypassed", "none"]),
        # What a clock shows bears no zone.
        _maybe(st.datetimes(datetime(2001, 1, 1), datetime(2030, 1, 1))),  # noqa: DTZ001
        _maybe(st.just(datetime.combine(day, time(9)))),
    )
    ready = st.dictionaries(own, st.integers(0, 12).map(lambda later: day + timedelta(days=later)), max_size=2)
    return Visit(
        day,
        clock=draw(_maybe(clock)),
        areas=_some(draw, _areas(words)),
        runs=_some(draw, _runs(terminal, words), most=6),
        heads=_some(draw, st.builds(HeadSeen, terminal, st.sampled_from([*head_faults()]), st.integers(1, 9)), most=5),
        electrical=_some(
            draw,
            st.builds(
                ElectricalReading,
                terminal,
                _maybe(st.floats(0.0, 1e6)),
                _maybe(st.floats(0.0, 60.0)),
                st.sampled_from(["", "terminal", "valve"]),
            ),
        ),
        cup_tests=_some(draw, _cup_tests(terminal)),
        cores=_some(draw, _cores(terminal, words), most=8),
        meters=_some(
            draw, st.builds(MeterReading, _maybe(terminal), st.floats(0.0, 400_000.0), st.floats(0.5, 1440.0))
        ),
        salts=draw(_maybe(st.builds(Salts, _maybe(st.floats(0.0, 60.0)), _maybe(st.floats(0.0, 60.0))))),
        recovery=RecoveryAsk(
            target_depth_mm=draw(_maybe(st.floats(25.4, 1000.0))),
            ready=draw(ready),
            repellent=frozenset(draw(st.sets(own, max_size=2))),
        ),
    )


@st.composite
def _cases(draw):
    """A site, its visit, and often one before it; sometimes books and runs from before both."""
    made = draw(_sites())
    visit = draw(_visits(made))
    before = draw(st.one_of(st.just(()), _visits(made, DAY - timedelta(days=14)).map(lambda each: (each,))))
    earlier = Earlier()
    if draw(st.booleans()):
        began = plan_week(made, SKY, DAY - timedelta(days=draw(st.integers(0, 16)))).start
        ran = st.dictionaries(
            st.tuples(
                st.sampled_from([each.terminal for each in made.stations]),
                st.integers(0, 16).map(lambda ago: DAY - timedelta(days=ago)),
            ),
            st.integers(0, 90),
            max_size=6,
        )
        earlier = Earlier(began, draw(ran))
    return VisitCase(made, visit, SKY, FIRST, earlier, before)


@given(_cases())
@_ENOUGH
def test_every_visit_is_judged_and_no_dead_station_gets_minutes(case):
    outcome = evaluate(case)
    filed = {each.terminal for each in case.site.stations}
    assert sorted(each.area for each in outcome.found.stations) == sorted(each.area for each in case.site.stations)
    terminals = [each.terminal for each in outcome.found.stations]
    assert terminals == sorted(set(terminals))
    assert set(terminals) <= filed | {STRANGER}
    for one in outcome.found.stations:
        if one.uniformity is not None:
            assert 0.0 <= one.uniformity.value <= 1.0
        if one.blocked is not None:
            assert one.blocked
            assert any(one.blocked in note for note in outcome.plan.notes)
    dead = {each.terminal for each in outcome.found.stations if each.blocked is not None}
    assert not dead & {run.terminal for night in outcome.plan.nights for run in night.runs}
    assert not dead & {gap.terminal for night in outcome.plan.nights for gap in night.shortfalls}
    ready = case.visit.recovery.ready
    for told in outcome.recovery.rewets:
        if told.terminal in dead:
            begins = ready.get(told.terminal)
            # The night that serves the day of the repair is over before it.
            assert not [each for each in told.nights if begins is None or each.serves <= begins]


@given(_cases())
@_ENOUGH
def test_what_sets_a_number_names_the_visit_and_a_station_of_the_site(case):
    found = found_by(case.site, case.visit)
    stations = {each.terminal: each for each in found.site.stations}
    for each in found.findings.findings:
        assert each.sentence.endswith(".")
        if each.effect in {"sets", "discounts"} and each.known is not None:
            assert case.visit.name in each.known.note
            assert each.terminal in stations
        if each.effect == "blocks":
            assert each.reason
            assert case.visit.name in each.reason or each.field == "terminal"
    for one in stations.values():
        mine = [each for each in found.findings.findings if each.terminal == one.terminal]
        if "blocks" in {each.effect for each in mine}:
            assert one.blocked is not None


@given(_sites())
@_ENOUGH
def test_a_visit_with_nothing_but_a_date_changes_no_minute(made):
    told = evaluate(VisitCase(made, Visit(DAY), SKY, FIRST, Earlier()))
    assert told.found == made
    assert told.findings.findings == ()
    assert told.findings.remarks == ()
    assert told.plan == plan_week(made, SKY, FIRST)


@given(_sites(), st.data())
@_ENOUGH
def test_more_faults_never_make_a_station_surer(made, data):
    faults = st.builds(
        HeadSeen, st.sampled_from([each.terminal for each in made.stations]), st.sampled_from([*head_faults()])
    )
    some = data.draw(st.lists(faults, max_size=4))
    more = data.draw(st.lists(faults, min_size=1, max_size=4))
    cups = tuple(data.draw(st.lists(_cup_tests(st.sampled_from([1, 2, 3])), max_size=2)))

    def taken(heads):
        found = found_by(made, Visit(DAY, heads=tuple(heads), cup_tests=cups))
        return [each.uniformity for each in found.site.stations]

    for few, many in zip(taken(some), taken(some + more), strict=True):
        if many is None:
            assert few is None
        elif few is not None:
            assert many.value <= few.value
            assert few.basis == many.basis or many.basis == "typical"


@given(st.data())
@_ENOUGH
def test_two_crossed_terminals_cross_their_minutes(data):
    rates = data.draw(st.lists(st.floats(20.0, 60.0), min_size=3, max_size=3))
    roots = data.draw(st.lists(st.floats(100.0, 300.0), min_size=3, max_size=3))
    made = site(
        *(
            station(at + 1, precip_rate=known(rates[at]), root_depth=known(roots[at]), intake=known(100.0))
            for at in range(3)
        ),
        opens=time(18),
        closes=time(9),
    )
    one, other = data.draw(st.permutations([1, 2, 3]))[:2]
    swap = {one: other, other: one}

    def minutes(wires):
        runs = tuple(StationRun(wires.get(t, t), True, None, (f"lawn {t}",)) for t in (1, 2, 3))
        plan = evaluate(VisitCase(made, Visit(DAY, runs=runs), SKY, FIRST, Earlier())).plan
        assume(not any(night.shortfalls for night in plan.nights))
        ran = {}
        for night in plan.nights:
            for run in night.runs:
                ran[run.terminal] = ran.get(run.terminal, 0) + run.length_min
        return ran

    straight, crossed = minutes({}), minutes(swap)
    assert straight
    assert crossed == {swap.get(terminal, terminal): total for terminal, total in straight.items()}


@given(
    st.lists(st.sampled_from([each.key for each in feel_classes()]), min_size=3, max_size=5),
    st.integers(1, 12),
    st.floats(80.0, 300.0),
    st.floats(0.1, 0.2),
)
@_ENOUGH
def test_the_books_start_from_the_cores_and_the_days_between(feels, days_between, roots_mm, available):
    made = site(
        station(
            1,
            root_depth=known(roots_mm),
            available_water=known(available),
            allowable_depletion=known(0.5),
            crop_factor=known(0.8),
            density=known(1.0),
            microclimate=known(1.0),
        ),
        target_depth_mm=roots_mm,
    )
    day = FIRST - timedelta(days=days_between)
    cores = tuple(Core(station=1, layers=(CoreLayer(0.0, roots_mm, feel),)) for feel in feels)
    plan = evaluate(VisitCase(made, Visit(day, cores=cores), SKY, FIRST, Earlier())).plan
    # A class weighs by one over its width, a point as much as a quarter; the median is where half of the weight lies.
    lacks = sorted((1.0 - sum(feel_shares()[feel]) / 2.0, 1.0 / _width(feel)) for feel in feels)
    held = roots_mm * available
    missing = _middle(lacks) * held
    outside = days_from_weather(SKY, made)
    for later in range(days_between):
        eto = float(outside.eto_mm[(day - outside.first).days + later])
        # FAO-56 Eq. 84: below the allowable depletion, half of what the roots hold, the turf uses less and less.
        stress = min((held - missing) / (0.5 * held), 1.0)
        missing = min(missing + stress * 0.8 * eto, held)
    assert plan.start.deficit_mm[1][0] == pytest.approx(missing, abs=1e-6)


def _width(feel):
    low, high = feel_shares()[feel]
    return max(high - low, 0.25)


def _middle(pairs):
    half, gone = sum(weight for _, weight in pairs) / 2.0, 0.0
    for at, (value, weight) in enumerate(pairs):
        gone += weight
        if abs(gone - half) < 1e-9:
            return (value + pairs[at + 1][0]) / 2.0
        if gone > half:
            return value
    raise AssertionError(pairs)


@given(_sites(), st.data())
@_ENOUGH
def test_cups_of_another_size_say_the_same(made, data):
    caught = data.draw(st.lists(st.floats(0.5, 40.0), min_size=8, max_size=24))
    throat = data.draw(st.floats(20.0, 500.0))

    def taken(cups, throat_cm2):
        test = CupTest((1,), (15.0,), tuple(cups), throat_cm2=throat_cm2)
        return found_by(made, Visit(DAY, cup_tests=(test,))).site.stations[0]

    by_depth = taken([Cup(depth_mm=depth) for depth in caught], None)
    # A millimetre over a square centimetre is a tenth of a millilitre.
    by_volume = taken([Cup(volume_ml=depth * throat / 10.0) for depth in caught], throat)
    assert by_depth.precip_rate is not None
    assert by_depth.uniformity is not None
    for name in ("precip_rate", "uniformity", "wettest_quarter_rate"):
        one, other = getattr(by_depth, name), getattr(by_volume, name)
        if one is not None:
            assert one.value == pytest.approx(other.value, rel=1e-9)


@given(_cases(), st.integers(1, 60))
@_ENOUGH
def test_weather_that_does_not_reach_is_refused_in_a_sentence(case, short):
    sky = weather(DAY + timedelta(days=10 - short), days=45)
    try:
        evaluate(replace(case, weather=sky))
    except PlanRefused as refused:
        assert "weather" in str(refused)  # noqa: PT017 - days that reach after all are planned
