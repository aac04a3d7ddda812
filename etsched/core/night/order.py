"""The search for an order of cycles that ends early."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from etsched.core.night.bound import Outlook
from etsched.core.night.lists import Arranged, Lists
from etsched.core.night.moments import Moment, Task, Valves

if TYPE_CHECKING:
    from collections.abc import Callable

    from etsched.core.night.chains import Limits
    from etsched.core.night.lists import Places

# On nights of 24 and 48 stations the lists ended as early as a beam search did, in a fraction of the time.
_MANY_STATIONS = 16
# Tuned on nights of 2 to 48 stations: more of any of these finds little and takes long.
_WIDEST = 128  # half arranged nights followed up side by side
_BRANCHES = 3  # cycles tried next on each, the urgent ones first …
_FEW_STATIONS = 6  # … but all of them where there are so few stations that the search may become a proof


class Order:
    """The chains of a night and the limits under which their cycles are put in order."""

    def __init__(self, tasks: tuple[Task, ...], limits: Limits) -> None:
        self._tasks = tasks
        self._busy_count = sum(task.cycles_count > 0 for task in tasks)
        self._lists = Lists(tasks, limits)
        self._valves = Valves(tasks, limits)
        self._outlook = Outlook(self._valves, limits)

    def bound_min(self) -> int:
        """Give a minute before which no order of these chains ends."""
        return self._outlook.end_min(self._valves.opening)

    def search(self, good_min: int, latest_min: int, most_looks: int) -> tuple[Arranged | None, bool]:
        """Find an order that ends by `latest_min`, as early as may be, content with one that ends by `good_min`.

        Lists first, which is all that most nights need; then, where the stations are not many, a beam search over what
        they leave to gain, looking at stations at most `most_looks` times. The flag says whether that search left
        nothing out: then no order ends earlier than the one found, and where none was found none ends in time.
        """
        found, proven = self._lists.best((self._places(self._urgency), self._places(self._tail)), good_min), False
        if found.end_min > good_min and self._busy_count <= _MANY_STATIONS:
            better, proven = self._beam(min(found.end_min, latest_min + 1), most_looks)
            found = found if better is None else Arranged(better.end_min(), better.starts_min())
        return (found if found.end_min <= latest_min else None), proven

    @cached_property
    def _largest_share(self) -> list[float]:
        return [max(shares) for shares in zip(*self._outlook.capacities, strict=True)]

    def _places(self, rule: Callable[[int, int], float]) -> Places:
        """Put the stations on a list by a rule for what is left of their chains, the most first."""
        return [
            [-rule(station, left) for left in range(task.cycles_count, 0, -1)]
            for station, task in enumerate(self._tasks)
        ]

    def _urgency(self, station: int, left_count: int) -> float:
        """What is left of a chain, by what it takes of the night's capacity."""
        return self._tasks[station].chain_min(left_count) * self._largest_share[station]

    def _tail(self, station: int, left_count: int) -> float:
        return self._tasks[station].tail_min(left_count)

    def _beam(self, before_min: int, most_looks: int) -> tuple[Moment | None, bool]:
        """Follow up the most promising half arranged nights side by side, cycle by cycle.

        Gives the best order that ends before a minute, if it comes upon one, and whether it looked at every order.
        """
        cycles, stations = sum(self._valves.opening.left), self._busy_count
        branches = stations if stations <= _FEW_STATIONS else _BRANCHES
        width = min(most_looks // (cycles * stations * branches), _WIDEST)
        kept, every = [self._valves.opening], True
        for _ in range(cycles):
            # Of nights in the same state one stands for all.
            states: dict[tuple[object, ...], tuple[int, int, Moment]] = {}
            for moment in kept:
                sensible = self._sensible(moment)
                every = every and len(sensible) <= branches
                for start, station in sensible[:branches]:
                    new = self._valves.begin(moment, station, start)
                    end = self._outlook.end_min(new)
                    if end < before_min:
                        states.setdefault(self._valves.state(new), (end, self._chain_ends(new), new))
            every = every and len(states) <= width
            kept = [rated[2] for rated in sorted(states.values())[:width]]
        return min(kept, key=Moment.end_min, default=None), every

    def _sensible(self, moment: Moment) -> list[tuple[int, int]]:
        """Pick the starts worth a try, the urgent ones first: (start, station).

        A cycle that could only start once another could have run and ended is not: with the other run first
        nothing is later. And of stations that are alike in everything one stands for all.
        """
        possible = self._valves.possible(moment)
        first_end = min(start + self._tasks[station].cycle_min for start, station in possible)
        possible = [choice for choice in possible if choice[0] < first_end]
        urgent = sorted((-self._urgency(station, moment.left[station]), station, start) for start, station in possible)
        picked: dict[tuple[object, ...], tuple[int, int]] = {}
        for _, station, start in urgent:
            picked.setdefault((start, moment.left[station], self._tasks[station][1:]), (start, station))
        return list(picked.values())

    def _chain_ends(self, moment: Moment) -> int:
        """Sum of the minutes at which the chains could end at best: of nights bound alike the lower is ahead."""
        free = self._valves.free_min(moment)
        chains = zip(self._tasks, moment.left, moment.ready, strict=True)
        return sum(max(free, ready) + task.chain_min(left) for task, left, ready in chains if left)
