"""Which programs to make and whom each runs: the least cost in turf and water that the window holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.planning.program_patterns import (
    Pattern,
    Priced,
    costs_at,
    least_cycle,
    nightly_min,
    patterns_of,
    priced,
    soak_after,
)
from etsched.planning.program_times import Block, Hours, start_times
from etsched.planning.program_wants import followed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from etsched.model.site import Controller
    from etsched.planning.program_wants import Counts, Wants

# Where not all fit, all take less in these steps, and below the last of them some are left out: half the water keeps
# turf alive, less is no plan (common practice, no source).
FULLNESS_FRACTIONS = (1.0, 0.875, 0.75, 0.625, 0.5)
# What a further program or start must bring in depth, all stations together, to be worth keying in (common practice,
# no source).
_PROGRAM_MM, _START_MM = 0.5, 0.1
# Choices that fit no window, or leave somebody without a program, are worse than any that do.
_UNFIT_MM, _UNSERVED_MM = 1.0e6, 1.0e8
_MOST_ROUNDS = 20


@dataclass(frozen=True, slots=True)
class Draft:
    """Programs that fit: each one's pattern and starts, each station's program and minutes a cycle (K,)."""

    patterns: tuple[Pattern, ...]  # (U,)
    starts_min: tuple[tuple[int, ...], ...]
    runs: NDArray[np.bool_]  # (U, K)
    cycle_min: Counts
    fullness_fraction: float


@dataclass(frozen=True, slots=True)
class Chosen:
    """The programs, the stations they run, and which of those that want water no program runs, in order of leaving."""

    wants: Wants
    draft: Draft | None  # None where no station is left
    left_out: tuple[int, ...]  # terminals
    unfit: tuple[int, ...]  # terminals that no program of this clock could run, however long the night


def choose(wants: Wants, controller: Controller, hours: Hours) -> Chosen:
    """Find the programs; where the window does not hold all, all take less, and only then some are left out."""
    patterns = patterns_of(wants, controller.starts_count)
    if not patterns or not len(wants.week_min):
        return Chosen(wants, None, (), ())
    prices = priced(wants, patterns)
    possible = np.asarray(np.isfinite(prices.cost_mm).any(axis=1))
    unfit = tuple(wants.ground.terminal[~possible].tolist())
    wants, prices = wants.kept(possible), _kept(prices, possible)
    leaving = _order_of_leaving(wants)

    def without(count: int) -> Chosen:
        keep = ~np.isin(np.arange(len(leaving)), leaving[:count])
        staying = wants.kept(keep)
        draft = _Search(staying, _kept(prices, keep), hours, controller.programs_count).best() if keep.any() else None
        return Chosen(staying, draft, tuple(wants.ground.terminal[leaving[:count]].tolist()), unfit)

    found = without(0)
    if found.draft is not None:
        return replace(found, draft=_with_second(found.wants, found.draft, hours))
    fails, holds = 0, len(leaving)
    while holds - fails > 1:
        middle = (fails + holds) // 2
        fails, holds = (fails, middle) if without(middle).draft else (middle, holds)
    return without(holds)


def blocks_of(
    wants: Wants, patterns: Sequence[Pattern], runs: NDArray[np.bool_], cycle: Counts, delay: int
) -> list[Block]:
    """Give the passes of the programs: how long, and how far apart for the longest cycle with its soak."""
    soak = soak_after(wants, cycle)
    blocks = []
    for (nights, count), mine in zip(patterns, runs, strict=True):
        length = int((cycle[mine] + delay).sum())
        apart = max(length, int((cycle + soak)[mine].max()))
        gaps = tuple(int(soak[mine & other].max(initial=0)) for other in runs)
        blocks.append(Block(frozenset(nights), count, length, apart, gaps))
    return blocks


def _kept(prices: Priced, keep: NDArray[np.bool_]) -> Priced:
    return replace(prices, cost_mm=prices.cost_mm[keep], cycle_min=prices.cycle_min[keep])


def _order_of_leaving(wants: Wants) -> Counts:
    """Places of the stations, the one that is served last first: by priority, then by what its turf suffers least."""
    nothing = np.zeros((len(wants.nights), len(wants.week_min)), dtype=np.int64)
    past, _ = followed(wants.outlook, wants.ground, wants.deficit_mm, nothing)
    return np.lexsort((-wants.ground.terminal, wants.wanted_mm, past, -wants.ground.priority_count))


class _Search:
    """Grows a set of patterns one by one, then exchanges single ones as long as that makes it better."""

    def __init__(self, wants: Wants, prices: Priced, hours: Hours, programs_count: int) -> None:
        self._wants, self._prices, self._hours, self._most = wants, prices, hours, programs_count
        self._least = least_cycle(wants)

    def best(self) -> Draft | None:
        """Give the best set found; None where no set serves all within the window."""
        chosen: tuple[int, ...] = ()
        value, draft = np.inf, None
        for _ in range(self._most + _MOST_ROUNDS):
            before = value
            for others in self._neighbours(chosen):
                if self._bound(others) >= value - 1e-9:
                    continue
                its_value, its_draft = self._settle(others)
                if its_value < value - 1e-9:
                    value, draft, better = its_value, its_draft, others
            if value >= before - 1e-9:
                break
            chosen = better
        return draft

    def _neighbours(self, chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if len(chosen) > 1:
            yield from (chosen[:at] + chosen[at + 1 :] for at in range(len(chosen)))
        for pattern in range(len(self._prices.patterns)):
            if pattern in chosen:
                continue
            if len(chosen) < self._most:
                yield (*chosen, pattern)
            for at in range(len(chosen)):
                yield (*chosen[:at], pattern, *chosen[at + 1 :])

    def _bound(self, chosen: tuple[int, ...]) -> float:
        """No set of these patterns costs less, whatever the window."""
        least = self._prices.cost_mm[:, chosen].min(axis=1)
        served = np.isfinite(least)
        return float(least[served].sum()) + _UNSERVED_MM * int((~served).sum())

    def _settle(self, chosen: tuple[int, ...]) -> tuple[float, Draft | None]:
        """Give each station its cheapest pattern, and all less in steps until the window holds them."""
        cost = self._prices.cost_mm[:, chosen]
        if not np.isfinite(cost.min(axis=1)).all():
            return self._bound(chosen), None
        which = np.array(chosen, dtype=np.int64)[np.argmin(cost, axis=1)]
        full = self._prices.cycle_min[np.arange(len(which)), which]
        used = sorted(set(which.tolist()))
        patterns = tuple(self._prices.patterns[each] for each in used)
        runs = which == np.array(used)[:, None]
        for fullness, cycle in self._takes(full, patterns, runs):
            blocks = blocks_of(self._wants, patterns, runs, cycle, self._hours.delay_min)
            starts = start_times(blocks, self._hours)
            if starts is not None:
                draft = Draft(patterns, starts, runs, cycle, fullness)
                spent = costs_at(self._wants, patterns, runs, cycle).sum()
                return float(spent) + _keying(patterns), draft
        return _UNFIT_MM + 100.0 * self._hours.overload_min(blocks) + self._bound(chosen), None

    def _takes(
        self, full: Counts, patterns: Sequence[Pattern], runs: NDArray[np.bool_]
    ) -> Iterator[tuple[float, Counts]]:
        """Give the minutes of a cycle to try: at best, then no more than the plan wants, then all less in steps."""
        cycles = np.array([len(pattern.nights) * pattern.cycles_count for pattern in patterns])[runs.argmax(axis=0)]
        even = np.maximum(-(-self._wants.week_min // cycles), 1)
        least = np.minimum(self._least, full)
        yield 1.0, full
        for fullness in FULLNESS_FRACTIONS:
            yield fullness, np.maximum(np.floor(np.minimum(full, even) * fullness + 1e-9).astype(np.int64), least)


def _keying(patterns: Sequence[Pattern]) -> float:
    return sum(_PROGRAM_MM + _START_MM * pattern.cycles_count for pattern in patterns)


def _with_second(wants: Wants, draft: Draft, hours: Hours) -> Draft:
    """Let stations that one program waters too little run in a second one, the worst off first, where starts allow."""
    cost = costs_at(wants, draft.patterns, draft.runs, draft.cycle_min)
    for station in np.lexsort((wants.ground.terminal, -cost)).tolist():
        for program in np.flatnonzero(~draft.runs[:, station]).tolist():
            draft = _also_run(wants, draft, hours, (program, station)) or draft
    return draft


def _also_run(wants: Wants, draft: Draft, hours: Hours, more: tuple[int, int]) -> Draft | None:
    """Let a program run one station more; None where that is not worth it, or does not fit."""
    runs = draft.runs.copy()
    runs[more] = True
    station = more[1]
    if nightly_min(draft.patterns, runs, draft.cycle_min)[:, station].max() > wants.ground.most_min[station]:
        return None
    before, after = (costs_at(wants, draft.patterns, each, draft.cycle_min)[station] for each in (draft.runs, runs))
    if after > before - _PROGRAM_MM:
        return None
    starts = start_times(blocks_of(wants, draft.patterns, runs, draft.cycle_min, hours.delay_min), hours)
    return None if starts is None else replace(draft, runs=runs, starts_min=starts)
