"""A night half arranged, and what may begin next on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from etsched.core.night.chains import Limits

# Start minutes, stations by terminal: the order of the input decides nothing.
Starts = list[list[int]]


class Task(NamedTuple):
    """One station's chain: so many cycles, their length, the least soak between two, the flow while one runs."""

    cycles_count: int
    cycle_min: int
    soak_min: int
    flow_l_min: float

    def tail_min(self, left_count: int) -> int:
        """Least time from the end of the next cycle to the end of the chain, with so many cycles left."""
        return (left_count - 1) * (self.cycle_min + self.soak_min)

    def chain_min(self, left_count: int) -> int:
        """Least time that so many cycles and the soaks between them take."""
        return self.cycle_min + self.tail_min(left_count)


class Moment(NamedTuple):
    """A night half arranged. Cycles are begun in order of time: nothing starts before `now_min` any more."""

    now_min: int
    left: tuple[int, ...]  # cycles each station still has to begin
    ready: tuple[int, ...]  # minute from which each station may begin its next
    running: tuple[tuple[int, int], ...]  # (end, station) of the valves open now, by end
    begun: tuple[tuple[int, int], ...]  # (start, station)

    def end_min(self) -> int:
        """Give the minute at which the last open valve closes."""
        return self.running[-1][0] if self.running else self.now_min

    def starts_min(self) -> Starts:
        """Give the start minutes of the cycles begun, station by station."""
        return [[start for start, begun in self.begun if begun == station] for station in range(len(self.left))]


class Valves:
    """The stations of a night and what may run at once."""

    def __init__(self, tasks: tuple[Task, ...], limits: Limits) -> None:
        self.tasks = tasks
        self._at_once = limits.max_valves_count
        self._flow_l_min = limits.flow_l_min
        self.opening = Moment(0, tuple(task.cycles_count for task in tasks), (0,) * len(tasks), (), ())

    def possible(self, moment: Moment) -> list[tuple[int, int]]:
        """Each station with cycles left, at the first minute at which it can begin one: (start, station)."""
        return [(self._earliest(moment, station), station) for station, left in enumerate(moment.left) if left]

    def begin(self, moment: Moment, station: int, start_min: int) -> Moment:
        """Go on to the minute at which a station begins its next cycle."""
        task = self.tasks[station]
        end_min = start_min + task.cycle_min
        left, ready = list(moment.left), list(moment.ready)
        left[station] -= 1
        ready[station] = end_min + task.soak_min
        running = [valve for valve in moment.running if valve[0] > start_min]
        return Moment(
            start_min,
            tuple(left),
            tuple(ready),
            tuple(sorted([*running, (end_min, station)])),
            (*moment.begun, (start_min, station)),
        )

    def free_min(self, moment: Moment) -> int:
        """Give the first minute at which any valve is free."""
        return moment.running[0][0] if len(moment.running) >= self._at_once else moment.now_min

    def state(self, moment: Moment) -> tuple[object, ...]:
        """Give what decides how a night can go on: who is ready before a valve is free is just ready."""
        free = self.free_min(moment)
        return moment.left, tuple([max(ready, free) for ready in moment.ready]), moment.running

    def _earliest(self, moment: Moment, station: int) -> int:
        """Give the first minute at which a station is soaked and a valve and the flow are free for it."""
        start = max(moment.now_min, moment.ready[station])
        room = self._flow_l_min - self.tasks[station].flow_l_min
        running = [valve for valve in moment.running if valve[0] > start]
        while running and (
            len(running) >= self._at_once or sum(self.tasks[other].flow_l_min for _, other in running) > room
        ):
            start = running.pop(0)[0]
        return start
