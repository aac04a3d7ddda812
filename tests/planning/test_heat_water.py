"""The least that must be added: by hand, and against every other way to add."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.planning.heat_water import Demand, follow


def demand(etc, allowable, holds=40.0, rain=None, before=1.0, may=None):
    """One station; rain in one pulse a day after a share of the day's use."""
    days = len(etc)
    column = np.ones((days, 1))
    return Demand(
        etc_mm=np.array(etc, dtype=float)[:, None],
        allowable_mm=column * np.asarray(allowable, dtype=float).reshape(-1, 1),
        rain_mm=np.array(rain if rain is not None else [0.0] * days, dtype=float)[:, None],
        et_before_fraction=column * before,
        may_water=np.array(may if may is not None else [True] * days)[:, None],
        holds_mm=np.array([holds]),
    )


def run(asked, depletion, credit=None, adds=True):
    days = len(asked.etc_mm)
    table = np.array(credit if credit is not None else [0.0] * days, dtype=float)[:, None]
    return follow(asked, np.array([float(depletion)]), table, adds=adds)


def test_it_adds_just_enough_on_the_last_night_that_can_bear_it():
    # From 5: 9, then 13 > 10 asks for 3 before the second day, and 4 before each later one.
    found = run(demand([4, 4, 4], 10), 5)
    assert found.added_mm[:, 0].tolist() == [0.0, 3.0, 4.0]
    assert found.reached_mm[:, 0].tolist() == [9.0, 10.0, 10.0]
    plain = run(demand([4, 4, 4], 10), 5, adds=False)
    assert plain.reached_mm[:, 0].tolist() == [9.0, 13.0, 17.0]


def test_the_tables_water_counts_and_what_the_root_zone_cannot_take_is_surplus():
    found = run(demand([4, 4], 10), 5, credit=[7, 1])
    assert found.surplus_mm[:, 0].tolist() == [2.0, 0.0]
    assert found.reached_mm[:, 0].tolist() == [4.0, 7.0]
    assert not found.added_mm.any()


def test_before_nights_that_may_not_water_it_adds_ahead():
    # Nights 2 and 3 are closed: 5 + 3 × 4 = 17 must be 10 by the third day, with 2 from the table on the third.
    found = run(demand([4, 4, 4, 4], 10, may=[True, False, False, True]), 5, credit=[0, 0, 2, 0])
    assert found.added_mm[:, 0].tolist() == [5.0, 0.0, 0.0, 4.0]


def test_rain_counts_after_its_hour_and_not_for_the_noon_before_it():
    # 9 mm of rain at half the day's use: day one reaches 5 + 4 by noon's reckoning, dusk is 5 + 2 − 9 → 0 + 2.
    found = run(demand([4, 4], 10, rain=[9, 0], before=0.5), 5)
    assert found.reached_mm[:, 0].tolist() == [9.0, 6.0]
    assert not found.added_mm.any()


def test_rain_on_the_way_to_a_closed_night_lets_the_night_before_do_less():
    # The second day may begin at 5. Back from there: 2 of use after noon, 3 of rain, 2 of use before it: dawn at 4.
    found = run(demand([4, 5], 10, rain=[3, 0], before=0.5, may=[True, False]), 5)
    assert found.added_mm[:, 0].tolist() == [1.0, 0.0]
    assert found.reached_mm[:, 0].tolist() == [8.0, 10.0]


def test_roots_that_hold_less_than_a_day_are_filled_and_no_more():
    found = run(demand([8, 8], 5, holds=12.0), 3)
    assert found.added_mm[:, 0].tolist() == [3.0, 8.0]
    assert found.reached_mm[:, 0].tolist() == [8.0, 8.0]


def test_an_empty_root_zone_lacks_no_more_than_it_holds():
    assert run(demand([8, 8, 8], 5, holds=12.0), 3, adds=False).reached_mm[:, 0].tolist() == [11.0, 12.0, 12.0]


DAYS = st.integers(1, 4)


@st.composite
def small(draw):
    """Whole millimetres throughout, so that whole additions hold the optimum."""
    days = draw(DAYS)

    def each(values):
        return draw(st.lists(values, min_size=days, max_size=days))

    asked = demand(
        each(st.integers(0, 6)),
        each(st.integers(2, 8)),
        holds=10.0,
        rain=each(st.sampled_from([0, 0, 2, 5])),
        before=draw(st.sampled_from([0.0, 1.0])),
        may=each(st.booleans()),
    )
    return asked, draw(st.integers(0, 10)), each(st.sampled_from([0, 0, 3, 6]))


@given(small())
def test_no_other_additions_keep_as_well_with_less_water_up_to_any_night(case):
    asked, depletion, credit = case
    found = run(asked, depletion, credit)
    so_far = np.cumsum(found.added_mm[:, 0])
    full = _reached_when_filled_every_night(asked, depletion, credit)
    mine = _kept(asked, found.reached_mm[:, 0], full)
    for added in product(range(9), repeat=len(credit)):
        if any(more and not may for more, may in zip(added, asked.may_water[:, 0], strict=True)):
            continue
        reached = _by_hand(asked, depletion, np.add(credit, added))
        if np.all(_kept(asked, reached, full) <= mine + 1e-9):
            assert np.all(np.cumsum(added) >= so_far - 1e-9)
    assert np.all(mine <= 1e-9)


def _by_hand(asked, depletion, water):
    """The days written anew for one station: irrigation, use before rain, rain, use after it."""
    state, reached = float(depletion), []
    for day, etc in enumerate(asked.etc_mm[:, 0]):
        state = max(state - water[day], 0.0)
        reached.append(min(state + etc, asked.holds_mm[0]))
        share = asked.et_before_fraction[day, 0] if asked.rain_mm[day, 0] else 1.0
        state = min(state + share * etc, asked.holds_mm[0])
        state = max(state - asked.rain_mm[day, 0], 0.0)
        state = min(state + (1.0 - share) * etc, asked.holds_mm[0])
    return np.array(reached)


def _reached_when_filled_every_night(asked, depletion, credit):
    return _by_hand(asked, depletion, np.where(asked.may_water[:, 0], 99.0, credit))


def _kept(asked, reached, full):
    """By how much a day passes what it must not: its allowable depletion, or what even full nights lead to."""
    return reached - np.maximum(asked.allowable_mm[:, 0], full)


@given(small(), st.integers(0, 3), st.integers(0, 2))
def test_heat_never_adds_less_up_to_any_night_and_never_leaves_more_over(case, hotter, lower):
    asked, depletion, credit = case
    hot = Demand(
        asked.etc_mm + hotter,
        np.maximum(asked.allowable_mm - lower, 1.0),
        asked.rain_mm,
        asked.et_before_fraction,
        asked.may_water,
        asked.holds_mm,
    )
    cool, warm = run(asked, depletion, credit), run(hot, depletion, credit)
    assert np.all(np.cumsum(warm.added_mm) >= np.cumsum(cool.added_mm) - 1e-9)
    dry, drier = run(asked, depletion, credit, adds=False), run(hot, depletion, credit, adds=False)
    assert np.all(drier.surplus_mm <= dry.surplus_mm + 1e-9)
    assert np.all(drier.reached_mm >= dry.reached_mm - 1e-9)


def test_hand_made_days_are_those_of_the_module():
    asked = demand([4, 5, 3], 9, rain=[0, 6, 0], before=0.5)
    found = run(asked, 7, credit=[2, 0, 5], adds=False)
    assert found.reached_mm[:, 0].tolist() == pytest.approx(_by_hand(asked, 7, [2, 0, 5]).tolist())
