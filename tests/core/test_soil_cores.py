"""Soil cores and salts against hand arithmetic and the printed feel table."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.core.leaching import leaching_fraction, with_leaching
from etsched.core.soil_cores import (
    Readings,
    class_deficit,
    inches_check,
    moist_depth,
    nearest_cup,
    shares_by_layer,
    weighted_median,
)


def readings(*rows):
    return Readings(*np.array(rows, dtype=float).T)


def test_a_class_lacks_what_its_middle_lacks_give_or_take_half_a_class():
    # 25–50 % of 27 mm: the middle, 37.5 %, is there, so 62.5 % of 27 mm lacks; half a class is 12.5 %.
    deficit, half = class_deficit(np.array([0.25, 1.0]), np.array([0.5, 1.0]), np.array([27.0, 27.0]))
    assert deficit == pytest.approx([16.875, 0.0])
    assert half == pytest.approx([3.375, 0.0])


def test_inches_are_a_check_that_a_sand_fails_where_its_class_promises_more_than_it_holds():
    # Coarse soil, 0–25 %: 1.2 to 0.5 in short per foot. A foot of sand at 8 % holds 24.4 mm; 87.5 % of it lacks:
    # 21.3 mm, 0.84 in. A foot of loam at 16 % lacks 42.7 mm, 1.68 in, which no coarse soil could.
    foot = np.array([304.8, 304.8])
    deficit, _ = class_deficit(np.zeros(2), np.full(2, 0.25), np.array([0.08, 0.16]) * foot)
    assert inches_check(deficit, foot, np.full(2, 12.7), np.full(2, 30.48)).tolist() == [True, False]


def test_layers_of_a_core_are_laid_on_the_layers_of_the_books_by_depth():
    # Read 0–100 at 50–75 %, 100–200 at 0–25 %: books cut at 150 take two parts of the first to one of the second.
    low, middle, high = shares_by_layer(readings((0, 100, 0.5, 0.75), (100, 200, 0.0, 0.25)), np.array([150.0, 50.0]))
    assert low == pytest.approx([1 / 3, 0.0])
    assert middle == pytest.approx([(0.625 * 2 + 0.125) / 3, 0.125])
    assert high == pytest.approx([(0.75 * 2 + 0.25) / 3, 0.25])


def test_what_was_not_read_widens_the_class_and_less_than_half_read_says_nothing():
    # 100 of 150 mm at 50–75 %: two thirds at ± 12.5 %, one third at ± 50 %: ± 25 % about 62.5 %.
    low, middle, high = shares_by_layer(readings((0, 100, 0.5, 0.75)), np.array([150.0, 25.0, 0.0]))
    assert (low[0], middle[0], high[0]) == pytest.approx((0.375, 0.625, 0.875))
    assert np.isnan(low[1:]).all()
    assert np.isnan(high[1:]).all()
    assert np.isnan(shares_by_layer(readings((0, 70, 0.5, 0.75)), np.array([150.0]))[0]).all()


@pytest.mark.parametrize(
    ("values", "weights", "median"),
    [
        ([3.0, 1.0, 2.0], [1, 1, 1], 2.0),
        ([1.0, 2.0, 3.0, 10.0], [1, 1, 1, 1], 2.5),
        ([1.0, 2.0, 10.0], [1, 1, 5], 10.0),
        ([1.0, 2.0, 10.0], [1, 1, 2], 6.0),
        ([7.0], [0.2], 7.0),
    ],
)
def test_the_weighted_median_is_where_half_of_the_weight_lies_below(values, weights, median):
    assert weighted_median(np.array(values), np.array(weights, dtype=float)) == pytest.approx(median)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=9))
def test_with_equal_weights_it_is_the_median(values):
    assert weighted_median(np.array(values), np.ones(len(values))) == pytest.approx(float(np.median(values)))


def test_moist_depth_goes_through_moist_layers_and_into_the_first_dry_one():
    available, thickness = np.array([[20.0, 10.0]] * 4), np.array([[150.0, 50.0]] * 4)
    deficit = np.array([[0.0, 0.0], [10.0, 8.0], [15.0, 0.0], [20.0, 10.0]])
    # Full; half full is moist and then 20 % of 50 mm; 25 % of 150 mm, and nothing below counts; bone dry.
    assert moist_depth(deficit, available, thickness) == pytest.approx([200.0, 160.0, 37.5, 0.0])


def test_the_nearest_cup_tells_what_lands_at_a_place():
    cups, caught = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0], [10.0, 10.0]]), np.array([4.0, 8.0, 12.0, 16.0])
    assert nearest_cup((1.0, 0.0), cups, caught) == pytest.approx((0.4, 1.0))
    # Between two cups both count.
    assert nearest_cup((5.0, 0.0), cups, caught) == pytest.approx((0.6, 5.0))


def test_leaching_by_hand():
    # 1.1 / (5 × 2 − 1.1) = 0.1236; 1 dS/m on soil at 1.5: 1 / 6.5 = 0.1538.
    assert leaching_fraction(np.array([1.1, 1.0, 0.0]), np.array([2.0, 1.5, 2.0])) == pytest.approx(
        [0.12360, 0.15385, 0.0], abs=1e-5
    )
    assert with_leaching(np.array([20.0]), np.array([0.2])) == pytest.approx([25.0])


def test_water_too_salty_for_the_soil_has_no_leaching_fraction():
    # At 5 ECe = 2 ECw all the water would have to pass.
    assert np.isnan(leaching_fraction(np.array([5.0, 9.0]), np.array([2.0, 2.0]))).all()
    assert leaching_fraction(np.array([4.9]), np.array([2.0]))[0] == pytest.approx(4.9 / 5.1)
