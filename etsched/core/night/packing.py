"""What one night's window holds: everything where that is possible, otherwise the more urgent stations first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core.night.chains import Chains, Limits, Packing
from etsched.core.night.moments import Task
from etsched.core.night.order import Order
from etsched.errors import PlanRefused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.core.night.moments import Starts

# Stations looked at in a search: a quarter of a second for a whole night, less for each of the many searches that
# find out how far down the ranks a window reaches.
_MOST_LOOKS = 200_000
_MOST_LOOKS_A_STATION = 50_000


def bound(chains: Chains, limits: Limits) -> int:
    """Minute before which no order of these cycles and soaks ends, however long the window.

    Parameters
    ----------
    chains : Chains
        (S,)
    limits : Limits

    Returns
    -------
    bound_min : int

    Raises
    ------
    PlanRefused
        The flow is limited and the flow of a station with cycles is not known.

    Source: own proof, beside `Outlook`.
    """
    return Order(_tasks(chains, limits), limits).bound_min()


def pack(chains: Chains, limits: Limits) -> Packing:
    """Put a night's cycles in order: no soak shortened, no limit exceeded, nothing outside the window.

    Where the window does not hold everything, the stations are served by rank and then terminal; cycles that do
    not fit are dropped and counted. A station whose own flow exceeds the limit never runs.

    Parameters
    ----------
    chains : Chains
        (S,)
    limits : Limits

    Returns
    -------
    packing : Packing

    Raises
    ------
    PlanRefused
        The flow is limited and the flow of a station with cycles is not known.

    Source: own search; already one valve at a time is single-machine scheduling, NP-hard in general.
    """
    tasks = _tasks(chains, limits)
    order = Order(tasks, limits)
    bound_min = order.bound_min()
    found, proven = order.search(bound_min, limits.window_min, _MOST_LOOKS)
    if proven:
        bound_min = max(bound_min, limits.window_min + 1 if found is None else found.end_min())
    if found is None:
        ranks = chains.rank_count[np.argsort(chains.terminal)]
        ranked: list[int] = np.argsort(ranks, kind="stable").tolist()
        starts = _filled(_by_rank(tasks, limits, ranked), tasks, limits, ranked)
    else:
        starts = found.starts_min()
    return _packing(chains, tasks, starts, bound_min)


def pack_whole(chains: Chains, limits: Limits) -> Packing | None:
    """Put a night's cycles in order as `pack` does, or give None where the window does not hold them all.

    Parameters
    ----------
    chains : Chains
        (S,)
    limits : Limits

    Returns
    -------
    packing : Packing or None

    Source: own search, as `pack`.
    """
    tasks = _tasks(chains, limits)
    order = Order(tasks, limits)
    bound_min = order.bound_min()
    if bound_min > limits.window_min:
        return None
    found, proven = order.search(bound_min, limits.window_min, _MOST_LOOKS)
    if found is None:
        return None
    return _packing(chains, tasks, found.starts_min(), max(bound_min, found.end_min()) if proven else bound_min)


def _packing(chains: Chains, tasks: tuple[Task, ...], starts: Starts, bound_min: int) -> Packing:
    """Write what was found in the order of the input, where tasks are in the order of terminals."""
    ends = [start + task.cycle_min for task, its in zip(tasks, starts, strict=True) for start in its]
    given = tuple(tuple(starts[station]) for station in np.argsort(np.argsort(chains.terminal)))
    placed = np.array([len(its) for its in given], dtype=np.int64)
    return Packing(given, max(ends, default=0), bound_min, chains.cycles_count - placed)


def _tasks(chains: Chains, limits: Limits) -> tuple[Task, ...]:
    """Give the chains by terminal; those that can never run without a cycle."""
    flow = np.where(chains.cycles_count > 0, chains.flow_l_min, 0.0)
    if limits.max_flow_l_min is None:
        flow = np.zeros_like(flow)
    if np.isnan(flow).any():
        terminal = chains.terminal[np.isnan(flow)].min()
        raise PlanRefused(f"the flow is limited, but the flow of terminal {terminal} is not known")
    count = np.where(flow > limits.flow_l_min, 0, chains.cycles_count)
    by_terminal = np.argsort(chains.terminal)
    columns = [column[by_terminal].tolist() for column in (count, chains.cycle_min, chains.soak_min, flow)]
    return tuple(Task(*row) for row in zip(*columns, strict=True))


def _by_rank(tasks: tuple[Task, ...], limits: Limits, ranked: Sequence[int]) -> Starts:
    """Let one station after another in, each with as many cycles as still fit beside those let in before it."""
    admitted = [task._replace(cycles_count=0) for task in tasks]
    starts: Starts = [[] for _ in tasks]
    for station in ranked:
        for count in range(tasks[station].cycles_count, 0, -1):
            trial = [*admitted[:station], tasks[station]._replace(cycles_count=count), *admitted[station + 1 :]]
            order = Order(tuple(trial), limits)
            if order.bound_min() > limits.window_min:
                continue
            found, _ = order.search(limits.window_min, limits.window_min, _MOST_LOOKS_A_STATION)
            if found is not None:
                admitted, starts = trial, found.starts_min()
                break
    return starts


def _filled(starts: Starts, tasks: tuple[Task, ...], limits: Limits, ranked: Sequence[int]) -> Starts:
    """Put dropped cycles where the night as arranged has room for them, the more urgent first."""
    for station in ranked:
        while len(starts[station]) < tasks[station].cycles_count:
            start = _room(starts, tasks, limits, station)
            if start is None:
                break
            starts[station] = sorted([*starts[station], start])
    return starts


def _room(starts: Starts, tasks: tuple[Task, ...], limits: Limits, station: int) -> int | None:
    """Find the first start at which one more cycle of a station fits into a night as arranged."""
    _, cycle, soak, flow = tasks[station]
    if cycle > limits.window_min:
        return None
    valves, open_flow = np.zeros(limits.window_min, dtype=np.int64), np.zeros(limits.window_min)
    own = np.zeros(limits.window_min, dtype=np.bool_)
    for task, its in zip(tasks, starts, strict=True):
        for start in its:
            valves[start : start + task.cycle_min] += 1
            open_flow[start : start + task.cycle_min] += task.flow_l_min
    for start in starts[station]:
        own[max(start - soak, 0) : start + cycle + soak] = True
    free = ~own & (valves < limits.max_valves_count) & (open_flow + flow <= limits.flow_l_min)
    fitting = np.flatnonzero(np.lib.stride_tricks.sliding_window_view(free, cycle).all(axis=-1))
    return int(fitting[0]) if fitting.size else None
