"""Stations at the terminals that were seen to water them, and what stays as it is filed."""

from dataclasses import replace
from datetime import date

import pytest

from etsched.model.finding import Effect
from etsched.model.site import Ban
from etsched.model.visit import StationRun, Visit
from etsched.planning.rewired import rewired
from tests.planning.made import site, station

DAY = date(2026, 7, 13)
NORTH, SOUTH, EAST = "North lawn", "South lawn", "East lawn"
THREE = site(station(1, area=NORTH), station(2, area=SOUTH), station(3, area=EAST))


def wet(terminal, *areas, **over):
    return StationRun(terminal, **({"from_controller": True, "wet_areas": areas} | over))


def wire(*runs, made=THREE):
    return rewired(made, Visit(DAY, runs=runs))


def areas(made):
    return {each.terminal: each.area for each in made.stations}


def blocked(made):
    return {each.terminal: each.blocked for each in made.stations if each.blocked is not None}


@pytest.mark.parametrize(
    "runs",
    [
        (),
        (wet(1, NORTH), wet(2, SOUTH)),
        (wet(1, " north  LAWN "),),
        (StationRun(2, True), StationRun(3, False, True), wet(1)),
        (wet(1, "By the gate"),),
    ],
)
def test_where_nothing_speaks_against_the_file_it_stands(runs):
    assert wire(*runs) == (THREE, (), {1: 1, 2: 2, 3: 3})


def test_two_crossed_stations_change_places():
    made, found, wired = wire(wet(1, SOUTH), wet(2, NORTH))
    assert areas(made) == {1: SOUTH, 2: NORTH, 3: EAST}
    assert blocked(made) == {}
    assert wired == {1: 2, 2: 1, 3: 3}
    assert [(each.terminal, each.effect) for each in found] == [(1, Effect.MOVES), (2, Effect.MOVES)]
    assert found[1].sentence == "North lawn is watered by terminal 2; the site file has it at terminal 1."


def test_three_go_round():
    made, found, wired = wire(wet(1, EAST), wet(2, NORTH), wet(3, SOUTH))
    assert areas(made) == {1: EAST, 2: NORTH, 3: SOUTH}
    assert wired == {1: 2, 2: 3, 3: 1}
    assert len(found) == 3


def test_a_station_goes_with_all_that_is_known_of_it():
    made, _, _ = wire(wet(2, NORTH), wet(1, SOUTH))
    assert made.stations[1] == replace(THREE.stations[0], terminal=2)


def test_a_terminal_that_the_file_lacks_is_a_place_like_any_other():
    made, found, wired = wire(wet(9, SOUTH))
    assert areas(made) == {1: NORTH, 3: EAST, 9: SOUTH}
    assert blocked(made) == {}
    assert wired == {1: 1, 2: 9, 3: 3}
    assert [each.terminal for each in found] == [9]


def test_a_station_whose_terminal_is_anothers_and_that_nobody_saw_gets_no_minutes():
    made, found, wired = wire(wet(2, NORTH))
    assert areas(made) == {1: SOUTH, 2: NORTH, 3: EAST}
    why = "its terminal 2 waters North lawn, and nobody saw which one waters this area"
    assert blocked(made) == {1: why}
    assert wired == {1: 2, 2: 1, 3: 3}
    assert [(each.terminal, each.effect, each.reason) for each in found] == [
        (1, Effect.BLOCKS, why),
        (2, Effect.MOVES, ""),
    ]


def test_of_two_terminals_that_were_left_over_each_is_given_once():
    four = site(*THREE.stations, station(4, area="West lawn"))
    made, _, wired = wire(wet(3, NORTH), wet(4, SOUTH), made=four)
    assert areas(made)[3] == NORTH
    assert areas(made)[4] == SOUTH
    assert {areas(made)[1], areas(made)[2]} == {EAST, "West lawn"}
    assert set(blocked(made)) == {1, 2}
    assert sorted(wired.values()) == [1, 2, 3, 4]


def test_a_displaced_station_goes_where_its_area_was_seen_wet():
    # The south has two valves, so that no single terminal settles it; both of them watered.
    two = site(station(1, area=NORTH), station(2, area=SOUTH), station(3, area=SOUTH))
    made, found, wired = wire(wet(2, NORTH), wet(1, SOUTH), wet(3, SOUTH), made=two)
    assert areas(made) == {1: SOUTH, 2: NORTH, 3: SOUTH}
    assert blocked(made) == {}
    assert wired == {1: 2, 2: 1, 3: 3}
    assert [each.effect for each in found] == [Effect.MOVES, Effect.MOVES]


def test_a_displaced_station_that_was_seen_wet_from_elsewhere_is_not_said_to_be_unseen():
    made, found, _ = wire(wet(2, NORTH), wet(3, SOUTH, EAST))
    assert list(blocked(made)) == [1]
    assert "nobody saw" not in found[0].reason
    assert "was seen wet from terminal 3" in found[0].reason


@pytest.mark.parametrize(
    "runs",
    [
        (wet(2, NORTH, EAST),),  # a terminal of two areas
        (wet(2, NORTH), wet(3, NORTH)),  # an area of two terminals
        (wet(1, NORTH), wet(2, NORTH)),
        (wet(2, NORTH), wet(2, SOUTH)),  # a run recorded twice that contradicts itself
        (StationRun(2, False, None, (),),),
    ],
)  # fmt: skip
def test_what_does_not_settle_it_moves_nothing(runs):
    assert wire(*runs)[0] == THREE


def test_an_area_of_two_stations_is_left_as_filed():
    two = site(station(1, area=NORTH), station(2, area=NORTH), station(3, area=EAST))
    assert wire(wet(3, NORTH), wet(1, NORTH), made=two)[0] == two


def test_a_run_recorded_twice_counts_once():
    assert wire(wet(1, SOUTH), wet(1, SOUTH), wet(2, NORTH)) == wire(wet(1, SOUTH), wet(2, NORTH))


def test_water_that_a_hand_let_in_shows_the_place_too():
    made, _, _ = wire(wet(1, SOUTH, from_controller=False, by_hand=True), wet(2, NORTH))
    assert areas(made) == {1: SOUTH, 2: NORTH, 3: EAST}


def test_a_blocked_station_moves_and_stays_blocked_until_it_is_freed():
    dead = site(replace(THREE.stations[0], blocked="dug up"), *THREE.stations[1:])
    made, _, _ = wire(wet(1, SOUTH), wet(2, NORTH), made=dead)
    assert blocked(made) == {2: "dug up"}


def test_a_ban_goes_with_the_ground_it_is_of():
    new = Ban(DAY, DAY, "sown", frozenset({1}))
    everywhere = Ban(DAY, DAY, "town water is off")
    made, _, _ = wire(wet(1, SOUTH), wet(2, NORTH), made=replace(THREE, bans=(new, everywhere)))
    assert made.bans == (replace(new, terminals=frozenset({2})), everywhere)
