"""The daily step of the root zone, by hand and by published example."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.core import root_zone as rz


def _day(etc, fraction=0.5, irrigation=0.0, rain=(0.0,), before=(1.0,)):
    stations = len(np.atleast_1d(etc))
    return rz.DayDemand(
        np.atleast_1d(np.asarray(etc, float)),
        np.full(stations, fraction),
        np.full(stations, irrigation),
        np.tile(np.asarray(rain, float), (stations, 1)),
        np.asarray(before, float),
    )


def test_irrigation_enters_before_the_days_use_and_rain_after_it():
    water = rz.day_step(np.array([[10.0, 0.0]]), np.array([40.0]), _day(5.0, irrigation=12.0, rain=(4.0,)))
    # 12 mm fill the 10 that are missing and 2 pass to a full layer below, which drains them; 5 are used; 4 rain back.
    assert water.deficit_mm.tolist() == [[1.0, 0.0]]
    assert (water.passed_mm[0], water.drained_mm[0], water.et_mm[0]) == (2.0, 2.0, 5.0)


def test_rain_at_its_hour_runs_to_waste_where_the_roots_are_full():
    early = rz.day_step(np.array([[0.0]]), np.array([40.0]), _day(4.0, rain=(3.0,), before=(0.25,)))
    # A quarter of the day's 4 mm is gone before the rain: 1 of its 3 mm fits, 2 drain, 3 mm are used after it.
    assert early.drained_mm[0] == pytest.approx(2.0)
    assert early.deficit_mm[0, 0] == pytest.approx(3.0)


def test_what_passes_the_roots_stays_in_the_books_until_the_deepest_layer_is_full():
    water = rz.day_step(np.array([[5.0, 3.0, 2.0]]), np.array([20.0]), _day(0.0, irrigation=9.0))
    assert water.deficit_mm.tolist() == [[0.0, 0.0, 1.0]]
    assert (water.passed_mm[0], water.drained_mm[0]) == (4.0, 0.0)


def test_use_stops_at_an_empty_root_zone():
    water = rz.day_step(np.array([[0.0]]), np.array([3.4]), _day(8.0, fraction=0.28))
    assert water.et_mm[0] == pytest.approx(3.4)
    assert water.deficit_mm[0, 0] == pytest.approx(3.4)


def test_move_layers_takes_water_along_with_its_depth():
    # 100 mm of roots missing 10 mm over 100 mm missing 4: roots grow to 150 mm and take half of the layer below.
    moved = rz.move_layers(np.array([[10.0, 4.0]]), np.array([[100.0, 100.0]]), np.array([[150.0, 50.0]]))
    assert moved.tolist() == [[12.0, 2.0]]


def test_soil_below_the_old_books_enters_at_field_capacity():
    moved = rz.move_layers(np.array([[10.0, 0.0]]), np.array([[100.0, 0.0]]), np.array([[120.0, 80.0]]))
    assert moved.tolist() == [[10.0, 0.0]]


_depth = st.floats(0.0, 60.0)


@st.composite
def _cases(draw):
    taw = draw(st.floats(2.0, 60.0))
    deficit = [draw(st.floats(0.0, 1.0)) * taw, draw(st.floats(0.0, 20.0)), draw(st.floats(0.0, 20.0))]
    pulses = draw(st.integers(1, 4))
    before = sorted(draw(st.lists(st.floats(0.0, 1.0), min_size=pulses, max_size=pulses)))
    rain = draw(st.lists(_depth, min_size=pulses, max_size=pulses))
    return taw, deficit, before, rain, draw(st.floats(0.0, 14.0)), draw(st.floats(0.1, 0.8)), draw(_depth)


def _step(case, rain):
    taw, deficit, before, _, etc, fraction, irrigation = case
    day = _day(etc, fraction, irrigation, rain, before)
    start = np.array([deficit])
    return start, day, rz.day_step(start, np.array([taw]), day)


@given(_cases())
def test_books_close_and_stay_within_the_soil(case):
    start, day, water = _step(case, case[3])
    assert abs(rz.balance_error(start, day, water)[0]) <= 1e-9
    assert water.deficit_mm.min() >= 0.0
    assert water.deficit_mm[0, 0] <= case[0] * (1 + 1e-12)
    assert water.drained_mm[0] <= water.passed_mm[0] + 1e-12


@given(_cases(), st.lists(_depth, min_size=4, max_size=4), st.floats(0.0, 1.0))
def test_more_rain_never_raises_depletion_on_the_day_or_the_next(case, more, drier):
    _, _, less_rain = _step(case, case[3])
    _, _, more_rain = _step(case, [a + b for a, b in zip(case[3], more, strict=False)])
    assert np.all(more_rain.deficit_mm <= less_rain.deficit_mm + 1e-9)
    taw, _, _, _, etc, fraction, _ = case
    tomorrow = _day(etc * (0.5 + drier), fraction)
    after_less = rz.day_step(less_rain.deficit_mm, np.array([taw]), tomorrow).deficit_mm
    after_more = rz.day_step(more_rain.deficit_mm, np.array([taw]), tomorrow).deficit_mm
    assert np.all(after_more <= after_less + 1e-9)


@given(st.lists(st.floats(0.0, 30.0), min_size=3, max_size=3), st.floats(50.0, 300.0), st.floats(50.0, 300.0))
def test_moving_layers_keeps_all_water_where_both_cuts_reach_equally_deep(deficit, old, new):
    def cut(roots):
        return np.array([[roots, (400.0 - roots) / 2, (400.0 - roots) / 2]])

    moved = rz.move_layers(np.array([deficit]), cut(old), cut(new))
    assert moved.sum() == pytest.approx(sum(deficit), abs=1e-9)
