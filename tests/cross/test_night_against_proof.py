"""The night's order against an earliest end that another program has proven, on part of the made-up family.

The whole family is measured by `tests/bench/night_gap.py`.
"""

from __future__ import annotations

from hashlib import sha256

import numpy as np
import pytest

pytest.importorskip("ortools", reason="needs the test extra: pip install -e .[test]")

from etsched.core.night import Chains, Limits, bound, pack

from .night_family import (
    MadeNight,
    as_text,
    flow_limited,
    flow_limited_delayed,
    one_valve,
    one_valve_delayed,
    too_short,
)
from .night_gaps import Held, held, proven_gaps_pct, whole_after_all
from .night_solver import earliest_end

# A quarter of what the bench lets the solver work: the nights it does not prove by then do not count.
MOST_WORK = 0.5


@pytest.fixture(scope="module")
def one_valve_nights() -> list[Held]:
    return held(one_valve()[:54], MOST_WORK)


@pytest.fixture(scope="module")
def flow_limited_nights() -> list[Held]:
    return held([night for night in flow_limited()[:40] if night.chains.terminal.size <= 12], MOST_WORK)


@pytest.fixture(scope="module")
def one_valve_delayed_nights() -> list[Held]:
    return held(one_valve_delayed(), MOST_WORK)


@pytest.fixture(scope="module")
def flow_limited_delayed_nights() -> list[Held]:
    return held([night for night in flow_limited_delayed() if night.chains.terminal.size <= 12], MOST_WORK)


def test_one_valve_at_a_time_ends_close_to_the_proven_earliest_end(one_valve_nights):
    gaps = proven_gaps_pct(one_valve_nights)
    assert len(gaps) >= 50  # of 54; the others say nothing
    assert float(np.mean(gaps)) <= 2.0
    assert max(gaps) <= 5.0


def test_with_a_flow_limit_the_mean_is_close_to_the_proven_earliest_end(flow_limited_nights):
    gaps = proven_gaps_pct(flow_limited_nights)
    assert len(flow_limited_nights) == 28
    assert len(gaps) >= 25
    assert float(np.mean(gaps)) <= 5.0


def test_with_a_delay_between_valves_nights_end_as_close(one_valve_delayed_nights, flow_limited_delayed_nights):
    gaps = proven_gaps_pct(one_valve_delayed_nights)
    assert len(one_valve_delayed_nights) == 24
    assert len(gaps) >= 20
    assert float(np.mean(gaps)) <= 2.0
    assert max(gaps) <= 5.0
    gaps = proven_gaps_pct(flow_limited_delayed_nights)
    assert len(flow_limited_delayed_nights) == 15
    assert len(gaps) >= 12
    assert float(np.mean(gaps)) <= 5.0


def test_no_order_ends_before_what_is_proven_and_no_bound_lies_above_it(
    one_valve_nights, flow_limited_nights, one_valve_delayed_nights, flow_limited_delayed_nights
):
    for night in one_valve_nights + flow_limited_nights + one_valve_delayed_nights + flow_limited_delayed_nights:
        assert not night.packed.dropped_count.any()
        assert night.packed.used_min >= night.proof.least_min, night.night.name
        if night.proof.found_min is not None:
            assert night.bound_min <= night.packed.bound_min <= night.proof.found_min, night.night.name


def test_on_a_night_too_short_nobody_is_cut_who_is_proven_to_fit_with_room_to_spare():
    """The first station by rank that did not get all would, whole, have ended beyond 95 % of the window."""
    proven = 0
    for night in too_short()[:12]:
        best = whole_after_all(night, pack(night.chains, night.limits), MOST_WORK).best_min
        proven += best is not None
        assert best is None or best > 0.95 * night.limits.window_min, night.name
    assert proven >= 10


def test_the_family_is_the_one_that_was_measured():
    """Figures of one family say nothing about another: whoever changes it measures anew and writes this anew."""
    text = as_text([*one_valve(), *flow_limited(), *too_short()])
    assert sha256(text.encode()).hexdigest()[:16] == "8419d8e448b4d454"
    delayed = as_text([*one_valve_delayed(), *flow_limited_delayed()])
    assert sha256(delayed.encode()).hexdigest()[:16] == "b66fae4058f47456"


@pytest.mark.parametrize(
    ("rows", "limits", "best_min"),
    [
        # Five equal stations: the last to start its first cycle starts at 40 at the earliest and then takes 250.
        ([(4, 10, 70, 0)] * 5, Limits(300), 290),
        ([(2, 10, 30, 0), (2, 15, 20, 0)], Limits(300), 65),  # 10 15 and 15 idle for either soak, then 10 15
        ([(1, 10, 0, 20)] * 3, Limits(300, 2), 20),  # two at once, then one
        ([(1, 10, 0, 20)] * 3, Limits(300, 3, 39.0), 30),  # the flow lets only one run
    ],
)
def test_the_solver_agrees_with_nights_solved_by_hand(rows, limits, best_min):
    count, cycle, soak, flow = np.array(rows).T
    chains = Chains(np.arange(len(rows)), count, cycle, soak, flow.astype(float), np.zeros(len(rows), dtype=int))
    assert earliest_end(chains, limits).best_min == best_min


@pytest.mark.parametrize(
    ("rows", "limits", "delay_min", "best_min"),
    [
        ([(1, 10, 0, 20)] * 3, Limits(300), 2, 34),  # 10 2 10 2 10
        ([(2, 10, 5, 20)], Limits(300), 2, 25),  # the delay lies within the soak
        ([(2, 10, 0, 20)], Limits(300), 2, 22),  # a valve that opens again waits for the delay too
        ([(1, 10, 0, 20)] * 3, Limits(300, 2), 2, 22),  # two at once, then one in the place of either
        ([(1, 10, 0, 20)] * 3, Limits(300, 3, 39.0), 2, 34),  # the flow lets only one run
    ],
)
def test_solver_and_program_agree_with_delayed_nights_solved_by_hand(rows, limits, delay_min, best_min):
    count, cycle, soak, flow = np.array(rows).T
    chains = Chains(np.arange(len(rows)), count, cycle, soak, flow.astype(float), np.zeros(len(rows), dtype=int))
    (night,) = held([MadeNight("by hand", chains, limits, delay_min)])
    assert night.proof.best_min == night.packed.used_min == best_min


def test_the_bound_takes_every_reason_on_one_valve():
    """All runs; the longest chain; for every set its next cycles, less the longest, and its shortest chain."""
    for night in one_valve()[::7]:
        chains = night.chains
        count, cycle, soak = chains.cycles_count, chains.cycle_min, chains.soak_min
        whole = count * cycle + (count - 1) * soak
        reasons = [int((count * cycle).sum()), int(whole.max())]
        # Of the sets of equal shortest chain and longest cycle the one with all that is shorter and longer says most.
        for shortest in np.unique(whole):
            for longest in np.unique(cycle):
                chosen = (whole >= shortest) & (cycle <= longest)
                if chosen.any():
                    reasons.append(int(cycle[chosen].sum() - cycle[chosen].max() + whole[chosen].min()))
        assert bound(chains, night.limits) >= max(reasons), night.name
