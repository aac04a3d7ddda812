"""Orders made from lists: whenever a valve is free, the station that stands highest of those that may run begins.

A list costs next to nothing, so several are tried: by what is most urgent, each mirrored in time again and again, then
the same shaken. As the cycles of a station are alike, a night read backwards keeps its soaks and limits: an order is
also a list for arranging the night from its end, which closes up what was left idle there.

Source: own search; to and fro is known from project scheduling as justification (from memory, to be verified).
"""

from __future__ import annotations

from bisect import insort
from heapq import heappop, heappush
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.core.night.chains import Limits
    from etsched.core.night.moments import Starts, Task

# Places on a list, station by station and cycle by cycle: the lower begins first.
Places = list[list[float]]

# Tuned on nights of 6 to 24 stations: twice the cycles on three times the lists gained less than 0.1 % of the end.
_MOST_CYCLES = 6_000  # cycles put in order over all lists that are tried
_LISTS_A_STATION = 2  # few stations have few orders, and there a beam search finds the rest
_SHAKEN_PCT = (60, 140)


class Arranged(NamedTuple):
    """A whole night in order: when its last valve closes, and the start minutes station by station."""

    end_min: int
    starts_min: Starts


class Lists:
    """The chains of a night, put in order by one list after another."""

    def __init__(self, tasks: tuple[Task, ...], limits: Limits) -> None:
        self._tasks = tasks
        self._limits = limits
        self._left = 0

    def best(self, lists: tuple[Places, ...], good_min: int) -> Arranged:
        """Give the earliest end of all lists tried, the given ones first, content with one by `good_min`."""
        counts = [task.cycles_count for task in self._tasks if task.cycles_count]
        self._left = min(_LISTS_A_STATION * len(counts), _MOST_CYCLES // max(sum(counts), 1))
        found = self._mirrored(lists[0], good_min)
        for places in self._further(lists):
            if found.end_min <= good_min or self._left <= 0:
                break
            found = min(found, self._mirrored(places, good_min), key=lambda arranged: arranged.end_min)
        return found

    def _further(self, lists: tuple[Places, ...]) -> Iterator[Places]:
        """Give the other lists as they are, then all of them shaken: each station's places by a whole percentage."""
        yield from lists[1:]
        least, most = _SHAKEN_PCT
        dice = 1
        while True:
            for places in lists:
                shaken = []
                for row in places:
                    # The same throws on every machine: x ← 48271 x mod 2³¹ − 1 (from memory, to be verified).
                    dice = dice * 48271 % 2147483647
                    factor = least + dice % (most - least + 1)
                    shaken.append([place * factor for place in row])
                yield shaken

    def _mirrored(self, places: Places, good_min: int) -> Arranged:
        """Arrange a night by a list, then backwards and forwards by its own order until that gains nothing."""
        best = now = self._arranged(places)
        vain = 0
        while best.end_min > good_min and vain < 2 and self._left > 0:
            # Either direction can be run as it is, so it does not matter in which one the best is found.
            now = self._arranged(
                [
                    [now.end_min - start - task.cycle_min for start in reversed(starts)]
                    for task, starts in zip(self._tasks, now.starts_min, strict=True)
                ]
            )
            vain = 0 if now.end_min < best.end_min else vain + 1
            best = min(best, now, key=lambda arranged: arranged.end_min)
        return best

    def _arranged(self, places: Places) -> Arranged:
        self._left -= 1
        return _Listing(self._tasks, self._limits, places).arranged()


class _Listing:
    """One night being arranged by one list."""

    def __init__(self, tasks: tuple[Task, ...], limits: Limits, places: Places) -> None:
        self._tasks = tasks
        self._limits = limits
        self._places = places
        self._flows = [task.flow_l_min for task in tasks]
        self._least_flow = min(self._flows, default=0.0)
        self._now_min = 0
        self._starts: Starts = [[] for _ in tasks]
        self._able = sorted((places[station][0], station) for station, task in enumerate(tasks) if task.cycles_count)
        self._soaking: list[tuple[int, int]] = []  # (minute from which it may run again, station)
        self._open: list[tuple[int, int]] = []  # (minute at which it closes, station)

    def arranged(self) -> Arranged:
        """Go through the night from one start, closing valve or ended soak to the next."""
        end_min = 0
        while self._able or self._soaking:
            at = self._highest()
            if at is None:
                self._wait()
            else:
                end_min = max(end_min, self._begin(self._able.pop(at)[1]))
        return Arranged(end_min, self._starts)

    def _highest(self) -> int | None:
        """Find the highest on the list of those that valves and flow have room for."""
        if len(self._open) >= self._limits.max_valves_count:
            return None
        flows = self._flows
        room = self._limits.flow_l_min - sum([flows[station] for _, station in self._open])
        if room < self._least_flow:
            return None
        for at, (_, station) in enumerate(self._able):
            if flows[station] <= room:
                return at
        return None

    def _begin(self, station: int) -> int:
        task, starts = self._tasks[station], self._starts[station]
        starts.append(self._now_min)
        end_min = self._now_min + task.cycle_min
        heappush(self._open, (end_min, station))
        if len(starts) < task.cycles_count:
            heappush(self._soaking, (end_min + task.soak_min, station))
        return end_min

    def _wait(self) -> None:
        """Go on to the minute at which the next valve closes or, where a valve is free, the next soak ends."""
        free = len(self._open) < self._limits.max_valves_count
        coming = [*self._open[:1], *(self._soaking[:1] if free else ())]
        self._now_min = min(coming)[0]
        while self._open and self._open[0][0] <= self._now_min:
            heappop(self._open)
        while self._soaking and self._soaking[0][0] <= self._now_min:
            _, station = heappop(self._soaking)
            insort(self._able, (self._places[station][len(self._starts[station])], station))
