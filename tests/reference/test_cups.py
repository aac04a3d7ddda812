"""The table of cup pivots holds what it promises, on fields and seeds that did not set it."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import catch_cups as cups
from etsched.reference import cups as known
from tests.cross.cup_fields import ASIDE, SETTING, truth
from tests.cross.measure_cup_intervals import caught_on, ends, inside, rate_pivots, shortfall_pivots

TESTS = 2_000
SEED = 99
FIELDS = {**ASIDE, **SETTING}


def covered(field, count):
    caught = caught_on(field, count, TESTS, SEED)
    pivots = known.uniformity_pivots(count)
    low, high = cups.uniformity_range(caught, pivots.less_factor, pivots.more_factor)
    return float(np.mean((low <= truth(field)[1]) & (truth(field)[1] <= high)))


@pytest.mark.parametrize("count", [12, 17, 24, 48, 96])
@pytest.mark.parametrize("name", FIELDS)
def test_from_12_cups_on_du_is_held_in_85_of_100_tests(name, count):
    assert covered(FIELDS[name], count) >= 0.85


@pytest.mark.parametrize("count", [4, 8, 12, 24, 96])
@pytest.mark.parametrize("name", FIELDS)
def test_the_rate_is_held_in_85_of_100_tests(name, count):
    caught = caught_on(FIELDS[name], count, TESTS, SEED)
    pivots = known.rate_pivots(count)
    assert inside(rate_pivots(FIELDS[name], caught), pivots.less_factor, pivots.more_factor) >= 0.85


@pytest.mark.parametrize("count", [8, 12, 24])
def test_stored_coverage_is_what_another_seed_finds(count):
    found = [covered(field, count) for field in ASIDE.values()]
    assert known.uniformity_pivots(count).usual_fraction == pytest.approx(np.mean(found), abs=0.01)
    least = min(found + [covered(field, count) for field in SETTING.values()])
    assert known.uniformity_pivots(count).hardest_fraction == pytest.approx(least, abs=0.025)


@pytest.mark.parametrize("count", [8, 12, 24, 32, 64])
def test_the_middle_is_unbiased_over_fields(count):
    bias = []
    for field in (*SETTING.values(), *ASIDE.values()):
        caught = cups.lower_quarter_uniformity(caught_on(field, count, TESTS, SEED))
        bias.append(cups.without_bias(caught, known.uniformity_correction(count)).mean() - truth(field)[1])
    assert abs(np.mean(bias)) < 0.01
    assert max(map(abs, bias)) < 0.09 if count < 12 else 0.07


@pytest.mark.parametrize("count", [12, 24])
def test_the_table_is_what_its_script_measures(count):
    less, more = ends(shortfall_pivots(f, caught_on(f, count, 8_000, SEED)) for f in SETTING.values())
    pivots = known.uniformity_pivots(count)
    assert pivots.less_factor == pytest.approx(less, rel=0.1)
    assert pivots.more_factor == pytest.approx(more, rel=0.1)


def test_more_cups_than_tabled_are_taken_as_the_last():
    assert known.rate_pivots(5000) == known.rate_pivots(32)
    # The bias falls off as 1/N.
    assert known.uniformity_correction(64) - 1.0 == pytest.approx((known.uniformity_correction(32) - 1.0) / 2.0)


def test_too_few_cups_have_no_pivots():
    assert (known.least_for_rate(), known.least_for_uniformity()) == (4, 8)
    with pytest.raises(ValueError, match="3 cups tell no rate"):
        known.rate_pivots(3)
    with pytest.raises(ValueError, match="7 cups tell no uniformity"):
        known.uniformity_pivots(7)


def test_rules_are_in_canonical_units_with_their_source():
    # 5 mph are 2.2352 m/s.
    assert known.rule("most_wind").value == pytest.approx(2.2352)
    assert "from memory" in known.rule("least_catch").source
    assert known.run_minutes("rotor") == (15.0, 30.0)
    assert known.run_minutes("drip") is None
