"""What one night's window holds: everything where that is possible, otherwise the more urgent stations first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core.night.bound import TOLERANCE_MIN, capacities
from etsched.core.night.chains import Chains, Limits, Packing
from etsched.core.night.moments import Task
from etsched.core.night.order import Order
from etsched.errors import PlanRefused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.core.night.moments import Starts

_MOST_LOOKS = 30_000  # stations looked at in a beam search; more gained nothing on the nights of the benches
_MOST_LOOKS_EACH = 6_000  # the same for each of the many searches of a night that is too short
# Searches that may find no order while stations are let in one by one on a night that is too short; after these the
# rest gets what room the night as arranged still has. With 6 or 12 instead of 3 at most 3 % more minutes ran.
_MOST_VAIN_SEARCHES = 4


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

    Where the window does not hold everything, the stations are served by rank and then terminal: as many from the
    first on as are found to fit whole together, then one after another with as many cycles as still fit beside those
    before it, and last what room the night as arranged still has. Cycles that do not fit are dropped and counted. So
    the first station gets all that the window would hold of it alone, and no dropped cycle has room on the night as
    arranged; that another order would not have held more is not promised. A station whose own flow exceeds the limit
    never runs.

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
    found, proven = None, False
    if bound_min <= limits.window_min:
        found, proven = order.search(bound_min, limits.window_min, _MOST_LOOKS)
    if proven:
        bound_min = max(bound_min, limits.window_min + 1 if found is None else found.end_min)
    if found is None:
        ranks = chains.rank_count[np.argsort(chains.terminal)]
        ranked: list[int] = np.argsort(ranks, kind="stable").tolist()
        starts = _filled(_by_rank(tasks, limits, ranked), tasks, limits, ranked)
    else:
        starts = found.starts_min
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
    return _packing(chains, tasks, found.starts_min, max(bound_min, found.end_min) if proven else bound_min)


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
    """Let stations in by rank: as many whole as are found to fit together, then one after another with what still fits.

    How many go in whole is found by halving, so that it takes a few searches however many stations there are.
    """
    nobody = tuple(task._replace(cycles_count=0) for task in tasks)
    admitted, whole, over = nobody, 0, len(ranked) + 1
    starts: Starts = [[] for _ in tasks]
    while over - whole > 1:
        middle = (whole + over) // 2
        first = set(ranked[:middle])
        trial = tuple(task if at in first else nobody[at] for at, task in enumerate(tasks))
        found = _fitting(trial, limits)
        if found is None:
            over = middle
        else:
            whole, admitted, starts = middle, trial, found
    return _one_by_one(admitted, starts, tasks, limits, ranked[whole:])


def _one_by_one(
    admitted: tuple[Task, ...], starts: Starts, tasks: tuple[Task, ...], limits: Limits, ranked: Sequence[int]
) -> Starts:
    """Let one station after another in, each with as many cycles as are found to fit beside those let in before it."""
    vain = 0
    for station in ranked:
        for count in range(_most_count(admitted, tasks, limits, station), 0, -1):
            trial = (*admitted[:station], tasks[station]._replace(cycles_count=count), *admitted[station + 1 :])
            if Order(trial, limits).bound_min() > limits.window_min:
                continue
            if vain == _MOST_VAIN_SEARCHES:
                return starts
            found = _fitting(trial, limits)
            if found is not None:
                admitted, starts = trial, found
                break
            vain += 1
    return starts


def _most_count(admitted: tuple[Task, ...], tasks: tuple[Task, ...], limits: Limits, station: int) -> int:
    """Cycles of a station that the night's capacity has room for beside those let in, all soaks left aside."""
    count, cycle, _, _ = tasks[station]
    for share in capacities(tasks, limits):
        taken = sum(task.cycles_count * task.cycle_min * share[at] for at, task in enumerate(admitted))
        if count and share[station] > 0.0:
            count = min(count, int((limits.window_min - taken + TOLERANCE_MIN) / (cycle * share[station])))
    return count


def _fitting(tasks: tuple[Task, ...], limits: Limits) -> Starts | None:
    """Find an order of all these cycles within the window, if a search comes upon one."""
    order = Order(tasks, limits)
    if order.bound_min() > limits.window_min:
        return None
    found, _ = order.search(limits.window_min, limits.window_min, _MOST_LOOKS_EACH)
    return None if found is None else found.starts_min


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
    minutes = limits.window_min + 1
    counts = [len(its) for its in starts]
    begin = np.array([start for its in starts for start in its], dtype=np.int64)
    end = begin + np.repeat([task.cycle_min for task in tasks], counts)
    flows = np.repeat([task.flow_l_min for task in tasks], counts)
    valves = np.cumsum(np.bincount(begin, minlength=minutes) - np.bincount(end, minlength=minutes))
    open_flow = np.cumsum(np.bincount(begin, flows, minutes) - np.bincount(end, flows, minutes))
    free = (valves < limits.max_valves_count) & (open_flow + flow <= limits.flow_l_min)
    for start in starts[station]:
        free[max(start - soak, 0) : start + cycle + soak] = False
    # A cycle fits where as many minutes as it takes are free in a row.
    before = np.concatenate(([0], np.cumsum(free[:-1])))
    fitting = np.flatnonzero(before[cycle:] - before[:-cycle] == cycle)
    return int(fitting[0]) if fitting.size else None
