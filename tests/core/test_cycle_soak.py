"""Cycles without runoff, soaks, and the split of a run into equal cycles a person can key in."""

from math import inf, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.core import cycle_soak as cs

MM_PER_INCH = 25.4
# Intake 0.20 in/h and allowable surface accumulation 0.26 in of clay loam at 0-3 % slope, as printed in a second-hand
# copy of the tables of the trade; the minutes below are arithmetic on them.
CLAY_LOAM_INTAKE_MM_H = 0.20 * MM_PER_INCH
CLAY_LOAM_STORAGE_MM = 0.26 * MM_PER_INCH


def _mm_h(*inches_per_hour):
    return MM_PER_INCH * np.array(inches_per_hour)


@pytest.mark.parametrize(("rate_in_h", "printed_min"), [(1.6, 11.1), (2.3, 7.4)])
def test_clay_loam_fills_its_surface_storage_in_the_worked_minutes(rate_in_h, printed_min):
    found = cs.longest_cycle(_mm_h(rate_in_h), CLAY_LOAM_INTAKE_MM_H, CLAY_LOAM_STORAGE_MM)
    assert found[0] == pytest.approx(printed_min, abs=0.05)


def test_a_rate_the_soil_takes_as_it_lands_has_no_longest_cycle():
    found = cs.longest_cycle(_mm_h(0.2, 0.19, 0.0, 0.5), CLAY_LOAM_INTAKE_MM_H, CLAY_LOAM_STORAGE_MM)
    assert found[:3].tolist() == [inf, inf, inf]
    assert found[3] == pytest.approx(60 * 0.26 / 0.3)


def test_no_surface_storage_means_runoff_at_once():
    assert cs.longest_cycle(_mm_h(1.0), _mm_h(0.2), np.zeros(1)).tolist() == [0.0]


@pytest.mark.parametrize(("cycle_min", "worked_soak_min"), [(60 * 0.26 / 1.4, 78.0), (6.0, 42.0)])
def test_clay_loam_soaks_the_worked_minutes(cycle_min, worked_soak_min):
    assert cs.least_soak(np.array([cycle_min]), _mm_h(1.6), _mm_h(0.2)).tolist() == [worked_soak_min]


def test_a_soak_is_rounded_up_but_not_for_a_float_that_missed_its_whole_minute():
    # 7 min x (10/3 - 1) = 16.33; 9 min x (0.4/0.3 - 1) = 3 exactly, which floats put at 3.0000000000000013.
    assert 9 * (0.4 - 0.3) / 0.3 > 3.0
    assert cs.least_soak(np.array([7.0, 9.0]), np.array([10.0, 0.4]), np.array([3.0, 0.3])).tolist() == [17, 3]


def test_a_soil_that_takes_all_needs_no_soak_and_one_that_takes_nothing_soaks_for_ever():
    cycle = np.array([10.0, 10.0, 0.0, 10.0])
    rate, intake = np.array([5.0, 4.0, 9.0, 9.0]), np.array([5.0, 6.0, 0.0, 0.0])
    assert cs.least_soak(cycle, rate, intake).tolist() == [0.0, 0.0, 0.0, inf]


def test_horton_ponding_by_hand():
    # f0 60, fc 10, P 20 mm/h, b 2 per h: (60 - 20 + 10 ln 5) / (20 x 2) h.
    found = cs.longest_cycle_horton(*(np.array([x]) for x in (20.0, 60.0, 10.0, 2.0)))
    assert found[0] == pytest.approx(60 * (40 + 10 * log(5)) / 40)


@given(st.floats(1.0, 20.0), st.floats(1.05, 10.0), st.floats(0.05, 0.95), st.floats(0.5, 10.0))
def test_at_horton_ponding_the_soil_has_taken_all_that_landed(final, ratio, place, decay):
    """Water landed = water that the curve lets in until it has fallen to the rate, summed numerically."""
    initial = final * ratio
    rate = final + place * (initial - final)
    hours = np.linspace(0.0, log((initial - final) / (rate - final)) / decay, 20_001)
    capacity = final + (initial - final) * np.exp(-decay * hours)
    taken_mm = np.trapezoid(capacity, hours)
    found = cs.longest_cycle_horton(*(np.array([x]) for x in (rate, initial, final, decay)))
    assert rate * found[0] / 60 == pytest.approx(taken_mm, rel=1e-6)


def test_horton_outside_its_range():
    rate = np.array([10.0, 5.0, 60.0, 80.0])
    assert cs.longest_cycle_horton(rate, 60.0, 10.0, 2.0).tolist() == [inf, inf, 0.0, 0.0]


def _split(run, longest, least):
    count, cycle = cs.split_run(np.array([run]), np.array([longest]), np.array([least]))
    return int(count[0]), int(cycle[0])


@pytest.mark.parametrize(
    ("run", "longest", "least", "expected"),
    [
        # A need of 48 minutes that runs off at 18 takes at least three runs (University of California, integrated
        # pest management pages on lawns; read).
        (48.0, 18.0, 3.0, (3, 16)),
        (34.0, 60 * 0.26 / 1.4, 3.0, (4, 9)),  # 5 x 7 = 35 would be closer, but takes a start more
        (13.0, 11.0, 3.0, (2, 7)),  # 13 cycles of a minute would be exact, but useless
        (12.0, 12.0, 3.0, (1, 12)),
        (12.0, inf, 3.0, (1, 12)),
        (11.000000001, 11.0, 3.0, (1, 11)),
        (33.0, 10.999999999999998, 3.0, (3, 11)),
        (33.0, 10.99, 3.0, (4, 9)),
        (31.2, 10.9, 3.0, (4, 8)),
        (2.0, 11.0, 3.0, (1, 3)),  # one least cycle, though less was asked for
        (7.0, 5.0, 6.0, (2, 4)),  # no useful cycle is short enough
        (17.0, 2.0, 3.0, (9, 2)),
        (0.0, 11.0, 3.0, (0, 0)),
        (20.0, 0.9, 3.0, (0, 0)),  # runs off within the first minute
    ],
)
def test_split_into_equal_cycles(run, longest, least, expected):
    assert _split(run, longest, least) == expected


@given(st.integers(1, 150), st.integers(1, 60), st.integers(1, 12))
def test_no_split_takes_fewer_cycles_or_as_few_shorter_ones(run, longest, least):
    count, cycle = _split(float(run), float(longest), float(least))
    assert count * cycle >= run
    assert cycle <= longest
    if least > longest:
        assert count == -(-run // longest)
        return
    assert cycle >= least
    others = [(-(-run // m), m) for m in range(least, longest + 1)]
    assert (count, cycle) == min(others)


def test_stations_are_split_each_for_itself():
    runs, longest, least = np.array([48.0, 0.0, 13.0]), np.array([18.0, 5.0, 0.5]), np.array([3.0, 3.0, 3.0])
    count, cycle = cs.split_run(runs, longest, least)
    assert (count.tolist(), cycle.tolist()) == ([3, 0, 0], [16, 0, 0])
    nobody = np.array([])
    assert [found.tolist() for found in cs.split_run(nobody, nobody, nobody)] == [[], []]


@pytest.mark.parametrize(
    ("cycle", "soak", "window", "expected"),
    [
        (11.0, 78.0, 278.0, 4),  # 4 x 11 + 3 x 78 = 278
        (11.0, 78.0, 277.0, 3),
        (6.0, 42.0, 6.0, 1),
        (6.0, 42.0, 5.0, 0),
        (0.1, 0.2, 0.7, 3),  # 3 x 0.1 + 2 x 0.2, which floats put a hair beyond 0.7
        (6.0, inf, 300.0, 1),
        (6.0, 0.0, 60.0, 10),
        (0.0, 10.0, 60.0, 0),
    ],
)
def test_cycles_that_fit_a_window(cycle, soak, window, expected):
    assert cs.cycles_that_fit(np.array([cycle]), np.array([soak]), np.array([window])).tolist() == [expected]
