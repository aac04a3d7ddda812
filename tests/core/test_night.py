"""Nights whose best order is known by hand or by trying every order."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from etsched.core.night import Chains, Limits, bound, order, pack, packing
from etsched.core.night.moments import Task
from etsched.errors import PlanRefused


def chains_of(*stations, flows=None, ranks=None, terminals=None):
    """Chains from (cycles, cycle, soak) of each station."""
    count, cycle, soak = np.array(stations, dtype=np.int64).reshape(-1, 3).T
    everyone = len(count)
    return Chains(
        terminal=np.arange(1, everyone + 1) if terminals is None else np.array(terminals),
        cycles_count=count,
        cycle_min=cycle,
        soak_min=soak,
        flow_l_min=np.full(everyone, np.nan) if flows is None else np.array(flows, dtype=float),
        rank_count=np.zeros(everyone, dtype=np.int64) if ranks is None else np.array(ranks),
    )


@pytest.mark.parametrize(
    ("stations", "best_min", "bound_min"),
    [
        # Five equal stations: the last to start its first cycle starts at 40 at the earliest and then takes 250.
        ([(4, 10, 70)] * 5, 290, 290),
        ([(3, 10, 10)] * 2, 60, 60),  # each soak is just the other's cycle
        ([(4, 11, 78)], 278, 278),
        ([(3, 5, 20), (1, 20, 0)], 55, 55),  # the rotor runs in a soak
        ([(3, 5, 20), (1, 25, 0)], 60, 55),  # too long for it: it stretches one soak by 5
        ([(2, 10, 30), (2, 15, 20)], 65, 60),  # 10 15 and 15 idle for either soak, then 10 15
        ([(1, 7, 99), (0, 9, 9), (1, 8, 99)], 15, 15),  # nobody waits for the soak after a last cycle
        ([], 0, 0),
    ],
)
def test_one_valve_nights_with_a_known_best(stations, best_min, bound_min):
    packed = pack(chains_of(*stations), Limits(window_min=300))
    assert packed.used_min == best_min
    assert packed.bound_min == best_min  # so few stations are proven
    assert bound(chains_of(*stations), Limits(window_min=300)) == bound_min
    assert packed.dropped_count.tolist() == [0] * len(stations)


def test_the_starts_of_a_night_with_one_best_order():
    packed = pack(chains_of((3, 10, 10), (2, 10, 10)), Limits(window_min=50))
    assert packed.starts_min == ((0, 20, 40), (10, 30))


def test_two_valves_run_side_by_side_and_a_flow_limit_parts_them():
    chains = chains_of((1, 30, 0), (1, 30, 0), flows=[30.0, 30.0])
    assert pack(chains, Limits(300, 2)).used_min == 30
    assert pack(chains, Limits(300, 2, 60.0)).used_min == 30
    assert pack(chains, Limits(300, 2, 59.0)).used_min == 60
    assert bound(chains, Limits(300, 2, 59.0)) == 60


def test_a_flow_that_is_met_exactly_is_kept_to():
    # 0.1 + 0.2 is 0.30000000000000004 in floats.
    chains = chains_of((1, 30, 0), (1, 30, 0), flows=[0.1, 0.2])
    assert pack(chains, Limits(300, 2, 0.3)).used_min == 30


def test_three_alike_never_fit_two_by_two_into_less_than_their_share_of_two_valves():
    assert bound(chains_of((1, 10, 0), (1, 10, 0), (1, 10, 0)), Limits(300, 2)) == 15
    assert pack(chains_of((1, 10, 0), (1, 10, 0), (1, 10, 0)), Limits(300, 2)).used_min == 20


def test_a_station_beyond_the_flow_limit_never_runs_and_is_reported():
    packed = pack(chains_of((2, 10, 5), (1, 10, 0), flows=[80.0, 20.0]), Limits(300, 1, 60.0))
    assert packed.starts_min == ((), (0,))
    assert packed.dropped_count.tolist() == [2, 0]
    assert packed.used_min == packed.bound_min == 10


def test_the_more_urgent_are_served_first_when_the_window_is_too_short():
    packed = pack(chains_of((1, 20, 0), (1, 20, 0), (1, 20, 0), ranks=[2, 0, 1]), Limits(window_min=45))
    assert packed.dropped_count.tolist() == [1, 0, 0]
    alike = pack(chains_of((1, 20, 0), (1, 20, 0), (1, 20, 0), terminals=[9, 4, 7]), Limits(window_min=45))
    assert alike.dropped_count.tolist() == [1, 0, 0]  # one rank: by terminal, and 9 is last
    assert packed.bound_min == alike.bound_min == 60  # what all three would take


def test_whole_cycles_are_dropped_and_no_soak_is_shortened():
    packed = pack(chains_of((4, 10, 50), (2, 10, 0), ranks=[0, 1]), Limits(window_min=180))
    # 10 50 10 50 10 is all of the urgent one that 180 minutes hold; a fourth cycle would start at 180.
    assert packed.dropped_count.tolist() == [1, 0]
    first = np.array(packed.starts_min[0])
    assert (np.diff(first) >= 60).all()


def test_the_less_urgent_gets_what_is_left_beside_the_soaks():
    # The urgent station fills 0-10, 40-50 and 80-90; two of three cycles of 30 fit into its soaks.
    packed = pack(chains_of((3, 10, 30), (3, 30, 0), ranks=[0, 1]), Limits(window_min=90))
    assert packed.starts_min == ((0, 40, 80), (10, 50))
    assert packed.dropped_count.tolist() == [0, 1]
    assert packed.bound_min == 120


@pytest.mark.parametrize(("placed", "window", "room"), [(50, 100, 0), (39, 79, None), (40, 79, 0), (39, 89, 79)])
def test_a_dropped_cycle_is_put_back_only_a_soak_before_or_after_its_own(placed, window, room):
    assert packing._room([[placed]], (Task(2, 10, 30, 0.0),), Limits(window), 0) == room


def test_a_cycle_longer_than_the_window_is_dropped_and_the_others_run():
    packed = pack(chains_of((2, 50, 0), (1, 30, 0), ranks=[0, 1]), Limits(window_min=40))
    assert packed.starts_min == ((), (0,))
    assert packed.dropped_count.tolist() == [2, 0]
    assert pack(chains_of((1, 5, 0)), Limits(window_min=0)).dropped_count.tolist() == [1]


def test_stations_that_do_not_water_tonight_change_nothing():
    rng = np.random.default_rng(11)
    asked = [(rng.integers(2, 5), rng.integers(3, 20), rng.integers(10, 60)) for _ in range(6)]
    alone, among = pack(chains_of(*asked), Limits(1000)), pack(chains_of(*asked, *[(0, 0, 0)] * 40), Limits(1000))
    assert among.starts_min == (*alone.starts_min, *[()] * 40)
    assert among.bound_min == alone.bound_min
    short = pack(chains_of(*asked, *[(0, 0, 0)] * 40), Limits(60))
    assert short.starts_min[:6] == pack(chains_of(*asked), Limits(60)).starts_min


@pytest.mark.parametrize("flow", [None, 300.0])
def test_a_night_far_too_short_for_200_stations_takes_few_searches(monkeypatch, flow):
    rng = np.random.default_rng(200)
    stations = [(rng.integers(1, 6), rng.integers(3, 20), rng.integers(0, 60)) for _ in range(200)]
    chains = chains_of(*stations, flows=rng.uniform(20.0, 60.0, 200), ranks=rng.permutation(200))
    searches = []
    search = order.Order.search
    monkeypatch.setattr(order.Order, "search", lambda self, *asked: searches.append(asked) or search(self, *asked))
    packed = pack(chains, Limits(300, 10, flow))
    # Halving 200 takes at most 8; then a few in vain, and as many as let somebody in beside the others.
    assert len(searches) <= 30
    by_rank = packed.dropped_count[np.argsort(chains.rank_count)]
    assert not by_rank[:30].any()
    assert by_rank[-30:].any()


def test_the_order_of_the_stations_and_the_hash_seed_change_nothing():
    script = (
        "from tests.core.test_night import *; rng = np.random.default_rng(3)\n"
        "stations = [(rng.integers(1, 5), rng.integers(3, 25), rng.integers(0, 60)) for _ in range(9)]\n"
        "print(pack(chains_of(*stations, flows=rng.uniform(5, 40, 9)), Limits(300, 2, 60.0)).starts_min)"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(Path.cwd())},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "1", "4242")
    }
    assert len(found) == 1
    assert found.pop().startswith("((")


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: chains_of((1, 5, 0), (1, 5, 0), terminals=[3, 3]), "same terminal"),
        (lambda: chains_of((1, 5, 0), flows=[1.0, 2.0]), "one number each"),
        (lambda: chains_of((1, 5, 0), (1, 0, 0)), "cycles of terminal 2 cannot run"),
        (lambda: chains_of((1, 5, -1)), "cycles of terminal 1 cannot run"),
        (lambda: Limits(300, 0), "no valve"),
        (lambda: Limits(300, 1, 0.0), "no water"),
        (lambda: pack(chains_of((0, 5, 0), (1, 5, 0)), Limits(300, 1, 60.0)), "flow of terminal 2 is not known"),
    ],
)
def test_a_night_that_makes_no_sense_is_refused(make, sentence):
    with pytest.raises(PlanRefused, match=sentence):
        make()


def best_by_trying_every_order(stations, flows, limits):
    """Earliest end over every order of starts, each cycle as early as the minutes before it allow.

    Some best night is among these: take any best one, and move its cycles, in the order of their starts, to the first
    minute that is free for them and not before the start of the one before: none starts later than it did.
    """
    capacity = np.inf if limits.max_flow_l_min is None else limits.max_flow_l_min + 1e-6
    best = sum(n * (c + s) for n, c, s in stations) + 1

    def place(left, ready, spans, now, end):
        nonlocal best
        if end >= best:
            return
        if not any(left):
            best = end
            return
        for i, (_, cycle, soak) in enumerate(stations):
            if not left[i]:
                continue
            start = max(now, ready[i])
            while True:  # everything placed started by now, so the open valves only grow fewer
                still = [flow for to, flow in spans if to > start]
                if len(still) < limits.max_valves_count and sum(still) + flows[i] <= capacity:
                    break
                start += 1
            to = start + cycle
            place(
                [n - (j == i) for j, n in enumerate(left)],
                [to + soak if j == i else r for j, r in enumerate(ready)],
                [*spans, (to, flows[i])],
                start,
                max(end, to),
            )

    place([n for n, _, _ in stations], [0] * len(stations), [], 0, 0)
    return best


def _small_nights(seed, nights):
    rng = np.random.default_rng(seed)
    for _ in range(nights):
        stations = []
        while len(stations) < rng.integers(2, 5):
            count = int(rng.integers(1, 4))
            if count + sum(n for n, _, _ in stations) <= 8:
                stations.append((count, int(rng.integers(2, 30)), int(rng.integers(0, 60))))
            else:
                stations.append((1, int(rng.integers(2, 30)), 0))
        yield stations, rng.uniform(10.0, 60.0, len(stations)).tolist()


@pytest.mark.parametrize(
    "limits", [Limits(1000), Limits(1000, 2), Limits(1000, 3, 90.0), Limits(1000, 2, 70.0)], ids=str
)
def test_small_nights_against_every_order(limits):
    gaps = []
    for stations, flows in _small_nights(seed=17, nights=40):
        best = best_by_trying_every_order(stations, flows, limits)
        packed = pack(chains_of(*stations, flows=flows), limits)
        proven = bound(chains_of(*stations, flows=flows), limits)
        assert proven <= packed.bound_min <= best <= packed.used_min
        gaps.append(packed.used_min / best - 1.0)
        # A window a minute too short is known to be too short, and for no more than that minute.
        short = pack(chains_of(*stations, flows=flows), replace(limits, window_min=best - 1))
        assert short.dropped_count.sum() >= 1
        assert short.bound_min == best
    assert max(gaps) <= 0.02
    assert float(np.mean(gaps)) <= 0.001


@pytest.mark.parametrize("cut", ["_WIDEST", "_BRANCHES"])
def test_a_search_that_left_something_out_proves_nothing(monkeypatch, cut):
    """What a stunted search calls the earliest end is never undercut by a better one."""
    rng = np.random.default_rng(5)
    undercut = 0
    for _ in range(30):
        stations = [(rng.integers(2, 4), rng.integers(3, 20), rng.integers(10, 60)) for _ in range(4)]
        better = pack(chains_of(*stations), Limits(1000))
        with monkeypatch.context() as patch:
            patch.setattr(order, "_FEW_STATIONS", 0 if cut == "_BRANCHES" else 6)
            patch.setattr(order, cut, 1)
            stunted = pack(chains_of(*stations), Limits(1000))
        assert stunted.bound_min <= better.used_min
        undercut += better.used_min < stunted.used_min
    assert undercut >= 3  # otherwise these nights show nothing
