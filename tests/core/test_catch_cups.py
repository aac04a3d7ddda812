"""Catch cups against hand arithmetic, their properties, and normal order statistics."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from etsched.core import catch_cups as cups
from etsched.reference import cups as known

caught = arrays.arrays(float, st.integers(4, 40), elements=st.floats(0.0, 200.0).map(lambda value: round(value, 2)))
UNIFORMITIES = (cups.lower_quarter_uniformity, cups.lower_half_uniformity, cups.christiansen_uniformity)


def test_depth_and_rate_by_hand():
    # 30 mL on 100 cm² stand 3 mm deep; 3 mm in 15 min are 12 mm/h.
    depth = cups.depth_from_volume(np.array([30.0, 20.0, 40.0]), 100.0)
    assert depth == pytest.approx([3.0, 2.0, 4.0])
    assert cups.rate_from_depths(depth, 15.0) == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("depths", "quarter", "half", "wettest"),
    [
        # 8 cups, mean 4.5: lowest two 1.5, lower half 2.5, wettest two 7.5.
        ([8, 7, 6, 5, 4, 3, 2, 1], 1.5 / 4.5, 2.5 / 4.5, 7.5 / 4.5),
        # 10 cups, mean 5.5: 2.5 cups are a quarter: (1 + 2 + 3/2) / 2.5 = 1.8; (10 + 9 + 8/2) / 2.5 = 9.2.
        ([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], 1.8 / 5.5, 3.0 / 5.5, 9.2 / 5.5),
        # 9 cups, mean 5: (1 + 2 + 0.75) / 2.25 = 5/3; (10 + 2.5) / 4.5 = 25/9; (9 + 8 + 1.75) / 2.25 = 25/3.
        ([1, 2, 3, 4, 5, 6, 7, 8, 9], 1 / 3, 5 / 9, 25 / 15),
        ([2, 2, 2, 2, 2], 1.0, 1.0, 1.0),
        ([0, 0, 0, 4], 0.0, 0.0, 4.0),
    ],
)
def test_quarters_and_halves_by_hand(depths, quarter, half, wettest):
    depth = np.array(depths, dtype=float)
    assert cups.lower_quarter_uniformity(depth) == pytest.approx(quarter)
    assert cups.lower_half_uniformity(depth) == pytest.approx(half)
    assert cups.wettest_quarter_ratio(depth) == pytest.approx(wettest)


def test_christiansen_by_hand_and_never_below_zero():
    # Mean 4.5, deviations 3.5 2.5 1.5 0.5 twice: 16 / 36.
    assert cups.christiansen_uniformity(np.arange(1.0, 9.0)) == pytest.approx(1 - 16 / 36)
    # One wet cup of four: deviations add up to 1.5 times the sum of the cups.
    assert cups.christiansen_uniformity(np.array([0.0, 0.0, 0.0, 4.0])) == 0.0


def test_many_tests_at_once_are_each_judged_alone():
    many = np.array([[1.0, 2.0, 3.0, 4.0, 5.0], [9.0, 9.0, 9.0, 9.0, 3.0]])
    for judge in (*UNIFORMITIES, cups.wettest_quarter_ratio, cups.rate_spread, cups.shortfall_spread):
        assert judge(many) == pytest.approx([float(judge(row)) for row in many])


@given(caught, st.floats(0.01, 100.0), st.randoms())
def test_uniformity_is_a_share_and_knows_neither_cup_size_nor_unit_nor_order(depth, scale, random):
    assume(depth.mean() > 0.5)
    shuffled = depth.copy()
    random.shuffle(shuffled)
    for judge in UNIFORMITIES:
        found = float(judge(depth))
        assert 0.0 <= found <= 1.0
        assert float(judge(depth * scale)) == pytest.approx(found, abs=1e-9)
        assert float(judge(shuffled)) == pytest.approx(found, abs=1e-9)
    quarter, half, _ = (float(judge(depth)) for judge in UNIFORMITIES)
    assert quarter <= half + 1e-9
    assert 1.0 <= float(cups.wettest_quarter_ratio(depth)) <= 4.0 + 1e-9


@given(caught)
def test_every_test_twice_over_is_as_uniform(depth):
    """The part that a boundary cup counts makes a quarter of any number of cups comparable."""
    assume(depth.mean() > 0.5)
    twice = np.concatenate([depth, depth])
    for judge in UNIFORMITIES:
        assert float(judge(twice)) == pytest.approx(float(judge(depth)), abs=1e-9)


@given(caught)
def test_ranges_hold_what_was_found_and_stay_possible(depth):
    assume(depth.mean() > 0.5)
    low, high = cups.uniformity_range(depth, 1.0, 2.0)
    assert 0.0 <= low <= 1.0 - cups.shortfall(depth) + 1e-9
    assert 1.0 - cups.shortfall(depth) - 1e-9 <= high <= 1.0
    rate = depth.mean()
    least, most = cups.rate_range(rate, cups.rate_spread(depth), 1.0, 2.0)
    assert 0.0 <= least <= rate <= most


def test_ranges_by_hand():
    # Cups that agree still stray by 0.2/√N: 16 cups, 5 % of the mean; a shortfall of at least 1 % by 0.6/√16 = 15 %.
    even = np.full(16, 10.0)
    assert cups.rate_spread(even) == pytest.approx(0.05)
    assert cups.rate_range(np.array(40.0), np.array(0.05), 2.0, 3.0) == (pytest.approx(36.0), pytest.approx(46.0))
    low, high = cups.uniformity_range(even, 1.0, 2.0)
    assert (low, high) == (pytest.approx(1 - 0.01 * np.exp(0.3)), pytest.approx(1 - 0.01 * np.exp(-0.15)))


def test_the_error_of_the_shortfall_is_that_of_many_tests():
    """On a wide normal field the influence of the cups tells how far 400 of them stray, before the floor."""
    tests = np.random.default_rng(5).normal(1.0, 0.25, (3000, 400))
    strays = np.log(cups.shortfall(tests)).std()
    told = np.sqrt(cups.shortfall_spread(tests) ** 2 - cups.LEAST_SHORTFALL_SPREAD**2 / 400).mean()
    assert told == pytest.approx(strays, rel=0.05)


@pytest.mark.parametrize(("count", "lowest"), [(8, (1.42360, 0.85222)), (12, (1.62923, 1.11573, 0.79284))])
def test_the_correction_is_near_that_of_normal_fields(count, lowest):
    """Tabled means of normal order statistics give the bias without a draw; in truth the driest quarter of a normal
    field lies φ(q)/0.25 = 1.27111 deviations below its mean."""
    normal = 1.27111 / np.mean(lowest)
    assert known.uniformity_correction(count) - 1.0 == pytest.approx(normal - 1.0, rel=0.25)


def test_one_cup_moves_the_rate_by_hand():
    # Without the 40 the mean of 10 10 10 10 40 falls from 16 to 10.
    moved = cups.mean_without_each(np.array([10.0, 10.0, 10.0, 10.0, 40.0]))
    assert moved == pytest.approx([17.5 / 16] * 4 + [10 / 16])
