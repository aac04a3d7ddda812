"""Which valve waters what: against brute force over every wiring, and the contradictions each by its sentence."""

from datetime import date, time
from itertools import product
from math import comb, inf, perm

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.model.visit import ClockFound, ElectricalReading, Program, StationRun, Visit
from etsched.planning.runs_seen import areas_of, terminals_seen
from etsched.planning.valve_map import choice_of, valve_map, with_valves_needed
from etsched.planning.wirings import Choice, count_wirings, expected_left, split_by_trial

from .made import site, station

NORTH, SOUTH, EAST = "North lawn", "South lawn", "East lawn"
THREE = site(
    station(1, area=NORTH, plan_number="N"),
    station(2, area=SOUTH, plan_number="S"),
    station(3, area=EAST, plan_number="E"),
)


def wet(terminal, *areas, **over):
    return StationRun(terminal, **({"from_controller": True, "wet_areas": areas} | over))


def map_of(*runs, a_site=THREE, **over):
    return valve_map(a_site, Visit(date(2026, 7, 6), runs=runs, **over))


def kinds(found):
    return {each.kind: each for each in found.contradictions}


def row(found, terminal):
    (only,) = [each for each in found.chart if each.terminal == terminal]
    return only


def brute_force(choices, valves):
    """Write down every wiring: a valve (area, number) or None for each terminal, no valve twice."""
    each_valve = [(area, number) for area, count in enumerate(valves) for number in range(count)]
    wirings = []
    for wiring in product([None, *each_valve], repeat=len(choices)):
        used = [valve for valve in wiring if valve is not None]
        fits = all(
            choice.may_be_nothing if valve is None else choice.areas is None or valve[0] in choice.areas
            for choice, valve in zip(choices, wiring, strict=True)
        )
        if fits and len(used) == len(set(used)):
            wirings.append(wiring)
    return wirings


CHOICES = st.lists(
    st.builds(Choice, st.none() | st.frozensets(st.integers(0, 2), max_size=3), st.booleans()), max_size=4
)
VALVES = st.lists(st.integers(0, 2), min_size=3, max_size=3).map(tuple)


@given(CHOICES, VALVES)
@settings(max_examples=400, deadline=None)
def test_the_count_is_that_of_brute_force(choices, valves):
    assert count_wirings(choices, valves) == len(brute_force(choices, valves))


@given(CHOICES.filter(bool), VALVES, st.data())
@settings(max_examples=300, deadline=None)
def test_a_trial_splits_the_wirings_as_brute_force_does(choices, valves, data):
    at = data.draw(st.integers(0, len(choices) - 1))
    shows = {}
    for wiring in brute_force(choices, valves):
        shown = None if wiring[at] is None else wiring[at][0]
        shows[shown] = shows.get(shown, 0) + 1
    split = split_by_trial(choices, valves, at)
    assert split == shows
    if split:
        total = sum(shows.values())
        assert expected_left(split) == pytest.approx(sum(n * n / total for n in shows.values()))


def test_many_terminals_are_counted_without_writing_them_down():
    # 24 terminals that must each have one of 24 valves: 24!
    assert count_wirings([Choice(None, False)] * 24, (1,) * 24) == 620448401733239439360000
    # 30 chained pairs: terminal n waters area n or n + 1, 31 areas: one area stays dry, and any of the 31 may.
    chain = [Choice(frozenset({n, n + 1}), False) for n in range(30)]
    assert count_wirings(chain, (1,) * 31) == 31


RUNS = st.lists(
    st.builds(
        StationRun,
        st.integers(1, 4),
        st.none() | st.booleans(),
        st.none() | st.booleans(),
        st.none() | st.lists(st.sampled_from([NORTH, SOUTH, EAST, "Far bank"]), max_size=2, unique=True).map(tuple),
    ),
    max_size=5,
)


@given(RUNS)
@settings(max_examples=300, deadline=None)
def test_the_map_fits_every_observation_and_its_next_try_leaves_the_fewest(runs):
    found = map_of(*runs)
    areas = areas_of(THREE, runs)
    seen = terminals_seen(THREE, runs, areas)
    choices = [choice_of(each) for each in seen]
    enough = with_valves_needed(areas, choices)
    wirings = brute_force(choices, enough.valves)
    assert found.wirings_count == len(wirings) >= 1
    for at, (each, line) in enumerate(zip(seen, found.chart, strict=True)):
        places = {None if wiring[at] is None else wiring[at][0] for wiring in wirings}
        if each.wet:
            assert places <= each.wet  # its valve is where it was seen
            assert line.area == ", ".join(enough.names[area] for area in sorted(each.wet))
        if each.state == "nothing":
            assert places == {None}
        if line.area and not each.wet:
            assert {enough.names[area] for area in places} == {line.area}
    dry = {name for area, name in enumerate(areas.names) if not any((area, 0) in w or (area, 1) in w for w in wirings)}
    assert {c.areas[0] for c in found.contradictions if c.kind == "an area no terminal waters"} == dry
    if found.next_try is not None:
        left = {}
        for at, each in enumerate(seen):
            groups = {}
            for wiring in wirings:
                shown = None if wiring[at] is None else wiring[at][0]
                groups[shown] = groups.get(shown, 0) + 1
            if each.state in {"not tried", "place not seen"}:
                left[each.terminal] = sum(n * n for n in groups.values()) / len(wirings)
        assert found.next_try.expected_left_count == pytest.approx(min(left.values()))
        assert left[found.next_try.terminal] == pytest.approx(min(left.values()))


def test_all_as_filed_is_one_wiring_without_contradictions():
    found = map_of(wet(1, NORTH), wet(2, "south  LAWN"), wet(3, EAST))
    assert (found.wirings_count, found.contradictions, found.next_try) == (1, (), None)
    assert [(line.terminal, line.plan_number, line.area, line.state) for line in found.chart] == [
        (1, "N", NORTH, "seen"),
        (2, "S", SOUTH, "seen"),
        (3, "E", EAST, "seen"),
    ]
    assert all(line.certain for line in found.chart)


def test_nothing_tried_leaves_every_wiring_and_claims_nothing():
    found = map_of()
    # Three terminals, three valves, any terminal may have none: 1 + 9 + 18 + 6.
    assert found.wirings_count == 34
    assert found.contradictions == ()
    # One terminal: each of the three areas leaves two terminals and two valves, 1 + 4 + 2 = 7; none leaves
    # two terminals and three valves, 1 + 6 + 6 = 13. (3 × 49 + 169) / 34.
    assert found.next_try.expected_left_count == pytest.approx((3 * 49 + 169) / 34)
    assert found.next_try.sentence == f"Run terminal {found.next_try.terminal} next and look where it waters."
    assert not any(line.looked for line in found.chart)
    assert {line.area for line in found.chart} == {""}


def test_a_swap_corrects_the_chart_and_the_displaced_terminal_is_tried_next():
    found = map_of(wet(1, EAST))
    assert (row(found, 1).plan_number, row(found, 1).area, row(found, 1).filed_as) == ("E", EAST, NORTH)
    assert found.next_try.terminal == 3  # its filed area is taken
    said = kinds(found)["filed under another area"].sentence
    assert said == "Terminal 1 waters East lawn and not North lawn, as the site file has it."


def test_two_terminals_on_one_area_and_the_area_left_dry():
    found = map_of(wet(1, NORTH), wet(2, NORTH), wet(3, EAST))
    shared = kinds(found)["two terminals, one area"]
    assert (shared.terminals, shared.areas) == ((1, 2), (NORTH,))
    assert kinds(found)["an area no terminal waters"].areas == (SOUTH,)
    assert found.wirings_count == 2  # North is given a second valve, and looking does not tell the two apart


def test_two_terminals_on_an_area_with_two_valves_are_no_contradiction():
    two = site(station(1, area=NORTH, plan_number="N1"), station(2, area=NORTH, plan_number="N2"))
    found = map_of(wet(1, NORTH), wet(2, NORTH), a_site=two)
    assert found.contradictions == ()
    assert [line.plan_number for line in found.chart] == ["N1", "N2"]
    assert found.wirings_count == 2  # by looking at what gets wet nobody can tell them apart
    stray = map_of(wet(3, NORTH), a_site=two)
    assert (row(stray, 3).plan_number, row(stray, 3).note) == ("", "one of N1, N2 on the drawing")


def test_a_terminal_that_waters_nothing():
    found = map_of(wet(1), wet(2, SOUTH), wet(3, EAST))
    assert kinds(found)["a terminal that waters nothing"].terminals == (1,)
    assert kinds(found)["an area no terminal waters"].areas == (NORTH,)
    assert (row(found, 1).state, row(found, 1).area) == ("nothing", "")


def test_by_hand_but_not_from_the_controller_is_wiring_coil_or_program():
    run = StationRun(1, from_controller=False, by_hand=True, wet_areas=(NORTH,))
    readings = (ElectricalReading(1, coil_ohm=inf, volts_v=25.0),)
    other = ClockFound((Program("A", (time(5),), frozenset({0}), {2: 10.0}),))
    found = map_of(run, electrical=readings, clock=other)
    said = kinds(found)["by hand but not from the controller"]
    assert "Terminal 1 (North lawn) opens by hand but not from the controller: wiring, coil or program" in said.sentence
    assert "No program of the clock runs it." in said.sentence
    unread = kinds(map_of(run, electrical=readings, clock=ClockFound(())))["by hand but not from the controller"]
    assert "program of the clock" not in unread.sentence
    assert "open line" in said.sentence
    assert (row(found, 1).state, row(found, 1).area, row(found, 1).certain) == ("by hand", NORTH, False)
    assert row(found, 1).looked


def test_by_hand_where_nobody_tried_the_controller_is_not_as_good_as_seen():
    found = map_of(StationRun(1, by_hand=True, wet_areas=(NORTH,)))
    assert found.contradictions == ()
    assert (row(found, 1).state, row(found, 1).certain) == ("by hand", False)
    assert row(found, 1).note == "not tried from the controller"


def test_one_that_does_not_come_on_may_still_have_any_valve():
    found = map_of(StationRun(1, from_controller=False, wet_areas=()))
    assert found.wirings_count == 34  # as if nobody had tried: it is dead, and where it belongs is open
    assert row(found, 1).state == "not on"
    assert "open its valve by hand" in kinds(found)["not on"].sentence
    assert found.next_try.terminal == 2


def test_a_run_that_failed_shows_nothing_of_where_a_later_one_waters():
    found = map_of(StationRun(1, from_controller=False, wet_areas=()), StationRun(1, from_controller=True))
    assert row(found, 1).state == "place not seen"


def test_sixty_terminals_nobody_ran_are_quick():
    many = site(*(station(n, area=f"lawn {n}") for n in range(1, 61)))
    runs = [wet(n, f"lawn {n}", f"lawn {n + 1}") for n in range(1, 30)]
    found = map_of(*runs, a_site=many)
    # Of the 30 areas that 29 chained pairs share any one may stay free; 31 open terminals share it and 30 others.
    assert found.wirings_count == 30 * sum(comb(31, k) * perm(31, k) for k in range(32))
    assert found.next_try.terminal == 30


def test_a_terminal_that_came_on_unseen_has_the_only_place_left():
    found = map_of(wet(1, NORTH), wet(2, SOUTH), StationRun(3, from_controller=True))
    assert found.wirings_count == 1
    assert (row(found, 3).area, row(found, 3).state) == (EAST, "place not seen")
    assert row(found, 3).note == "the only place left; nobody saw it"
    assert found.next_try is None


def test_more_terminals_come_on_than_the_drawing_has_valves():
    found = map_of(wet(1, NORTH), wet(2, SOUTH), wet(3, EAST), StationRun(4, from_controller=True))
    assert found.wirings_count >= 1
    assert kinds(found)["a terminal the site file lacks"].terminals == (4,)
    assert row(found, 4).area == ""


def test_one_terminal_on_two_areas_and_another_time_elsewhere():
    found = map_of(wet(1, NORTH, SOUTH))
    assert "two valves hang on it" in kinds(found)["one terminal, several areas"].sentence
    found = map_of(wet(1, NORTH), wet(1, SOUTH))
    assert "one terminal, several areas" not in kinds(found)
    assert "(North lawn; then South lawn)" in kinds(found)["not the same each time"].sentence


def test_a_name_the_site_file_does_not_have():
    found = map_of(wet(1, "Nort lawn"))
    named = kinds(found)["an area the site file does not name"]
    assert (named.terminals, named.areas) == ((1,), ("Nort lawn",))
    assert "The nearest is North lawn." in named.sentence
    assert "nearest" not in kinds(map_of(wet(1, "Qqq")))["an area the site file does not name"].sentence


def test_every_coil_open_is_the_common_wire():
    readings = tuple(ElectricalReading(n, coil_ohm=inf) for n in (1, 2, 3))
    assert "common wire" in kinds(map_of(electrical=readings))["every coil open"].sentence
    one_good = (*readings, ElectricalReading(4, coil_ohm=30.0))
    assert "every coil open" not in kinds(map_of(electrical=one_good))
    assert "every coil open" not in kinds(map_of(electrical=readings[:1]))


def test_cautions_come_with_every_map():
    assert any("licensed electrician" in caution for caution in map_of().cautions)
