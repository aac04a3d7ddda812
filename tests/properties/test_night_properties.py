"""What must hold for every packed night: random stations, valves, flows and windows."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.core.cycle_soak import cycles_that_fit
from etsched.core.night import Chains, Limits, bound, pack
from tests.core.test_night import chains_of

_SLOW_ENOUGH = settings(max_examples=120, deadline=None)


@st.composite
def _nights(draw):
    everyone = draw(st.integers(1, 9))
    column = lambda values: draw(st.lists(values, min_size=everyone, max_size=everyone))  # noqa: E731
    stations = list(zip(column(st.integers(0, 4)), column(st.integers(1, 30)), column(st.integers(0, 80)), strict=True))
    chains = chains_of(
        *stations,
        flows=column(st.floats(1.0, 60.0)),
        ranks=column(st.integers(0, 3)),
        terminals=draw(st.permutations(range(3, 3 + everyone))),
    )
    flow = draw(st.none() | st.floats(5.0, 150.0))
    return chains, Limits(draw(st.integers(1, 420)), draw(st.integers(1, 3)), flow)


def _minutes(chains, packed, limits):
    """Which station is open in which minute, (S, W); fails on a start that is no minute of the night."""
    on = np.zeros((chains.terminal.size, limits.window_min), dtype=int)
    for at, starts in enumerate(packed.starts_min):
        for start in starts:
            assert 0 <= start <= limits.window_min - chains.cycle_min[at]
            on[at, start : start + chains.cycle_min[at]] += 1
    return on


def _may_also_run(chains, packed, limits, on, at):
    """Say whether one more cycle of a station has room anywhere on the night as it stands."""
    cycle, soak = int(chains.cycle_min[at]), int(chains.soak_min[at])
    flow = chains.flow_l_min
    room = on.sum(axis=0) < limits.max_valves_count
    if limits.max_flow_l_min is not None:
        room &= flow @ on + flow[at] <= limits.max_flow_l_min - 1e-6
    return any(
        room[start : start + cycle].all()
        and all(start + cycle + soak <= other or other + cycle + soak <= start for other in packed.starts_min[at])
        for start in range(limits.window_min - cycle + 1)
    )


@_SLOW_ENOUGH
@given(_nights())
def test_valves_flow_soaks_and_window_are_kept_to(night):
    chains, limits = night
    packed = pack(chains, limits)
    on = _minutes(chains, packed, limits)
    assert on.max(initial=0) <= 1
    assert on.sum(axis=0).max(initial=0) <= limits.max_valves_count
    if limits.max_flow_l_min is not None:
        assert (chains.flow_l_min @ on).max(initial=0.0) <= limits.max_flow_l_min + 1e-6
    for starts, cycle, soak in zip(packed.starts_min, chains.cycle_min, chains.soak_min, strict=True):
        assert all(later - earlier >= cycle + soak for earlier, later in pairwise(starts))
    open_minutes = np.flatnonzero(on.any(axis=0))
    assert packed.used_min == (open_minutes[-1] + 1 if open_minutes.size else 0)


@_SLOW_ENOUGH
@given(_nights())
def test_every_cycle_is_placed_or_reported_and_none_is_dropped_for_nothing(night):
    chains, limits = night
    packed = pack(chains, limits)
    placed = np.array([len(starts) for starts in packed.starts_min])
    assert (placed + packed.dropped_count == chains.cycles_count).all()
    assert (packed.dropped_count >= 0).all()
    on = _minutes(chains, packed, limits)
    for at in np.flatnonzero(packed.dropped_count):
        assert not _may_also_run(chains, packed, limits, on, at)


@pytest.mark.parametrize("seed", [12, 16, 29, 37, 47, 53])
def test_none_is_dropped_for_nothing_on_a_long_night_with_a_flow_limit(seed):
    """Two dozen stations of unlike flow: on these nights the order leaves gaps that dropped cycles still fit."""
    rng = np.random.default_rng(seed)
    stations = [(rng.integers(1, 5), rng.integers(3, 30), rng.integers(0, 60)) for _ in range(24)]
    chains, limits = chains_of(*stations, flows=rng.uniform(20.0, 60.0, 24)), Limits(360, 3, 90.0)
    packed = pack(chains, limits)
    on = _minutes(chains, packed, limits)
    assert on.max() == 1
    assert (chains.flow_l_min @ on).max() <= 90.0 + 1e-6
    for at, starts in enumerate(packed.starts_min):
        assert all(b - a >= chains.cycle_min[at] + chains.soak_min[at] for a, b in pairwise(starts))
        if packed.dropped_count[at]:
            assert not _may_also_run(chains, packed, limits, on, at)


@_SLOW_ENOUGH
@given(_nights())
def test_the_bound_holds(night):
    chains, limits = night
    packed = pack(chains, limits)
    assert bound(chains, limits) <= packed.bound_min
    if not packed.dropped_count.any():
        assert packed.bound_min <= packed.used_min


@_SLOW_ENOUGH
@given(_nights())
def test_the_most_urgent_station_gets_all_that_a_window_of_its_own_would_hold(night):
    chains, limits = night
    packed = pack(chains, limits)
    first = np.lexsort((chains.terminal, chains.rank_count))[0]
    alone = min(
        chains.cycles_count[first],
        cycles_that_fit(chains.cycle_min[first], chains.soak_min[first], np.array(limits.window_min)),
    )
    if limits.max_flow_l_min is not None and chains.flow_l_min[first] > limits.max_flow_l_min:
        alone = 0
    assert len(packed.starts_min[first]) == alone


@_SLOW_ENOUGH
@given(_nights(), st.randoms(use_true_random=False))
def test_the_order_of_the_stations_changes_nothing(night, random):
    chains, limits = night
    order = list(range(chains.terminal.size))
    random.shuffle(order)
    names = ("terminal", "cycles_count", "cycle_min", "soak_min", "flow_l_min", "rank_count")
    shuffled = Chains(*(getattr(chains, name)[order] for name in names))
    packed, again = pack(chains, limits), pack(shuffled, limits)
    assert again.starts_min == tuple(packed.starts_min[at] for at in order)
    assert again.dropped_count.tolist() == packed.dropped_count[order].tolist()
    assert (again.used_min, again.bound_min) == (packed.used_min, packed.bound_min)
