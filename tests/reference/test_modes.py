"""Figures of new seed, new sod and dormant turf."""

from itertools import pairwise

import pytest

from etsched.reference import modes


@pytest.mark.parametrize("mode", ["new seed", "new sod"])
def test_stages_follow_one_another_without_a_gap_and_never_ask_for_more(mode):
    stages = modes.stages(mode)
    assert stages[0].first_d == 0
    for before, after in pairwise(stages):
        assert before.end_d == after.first_d
        assert before.runs_count > after.runs_count
    # Ordinary nights with young roots come after the last stage.
    assert modes.young_roots(mode)[1].value > stages[-1].end_d


def test_sleeping_turf_has_no_stages_and_a_little_water_every_two_to_four_weeks():
    assert modes.stages("dormant") == ()
    depth, interval = modes.dormant("depth"), modes.dormant("interval")
    assert (depth.low, depth.high) == (pytest.approx(6.35), pytest.approx(12.7))  # a quarter and half an inch
    assert (interval.low, interval.high) == (14.0, 28.0)
    assert depth.mark == interval.mark == "memory"
