"""How early a night can end at best, whatever the order of its cycles."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from etsched.core.night.chains import Limits
    from etsched.core.night.moments import Moment, Task, Valves

# A sum of shares that is a hair above a whole minute is that minute.
TOLERANCE_MIN = 1e-9


class Outlook:
    """What a night half arranged leads to at best.

    Three reasons, each valid whatever the order. A chain takes its cycles and soaks. All cycles together take the
    time that their shares of the night's capacity add up to. And for any set J of stations: their next cycles take
    Σ_J c × share from the minute a valve is free, so the last of them ends no earlier, and after it its own chain
    still takes its tail (n − 1)(c + s), at least the least tail in J. For a given least tail the largest J is the
    best, so of the stations sorted by tail only the prefixes matter. (With one valve this is Σ_J c + min_J tail,
    which for equal stations is Σ_J c − max_J c + min_J chain.)
    """

    def __init__(self, valves: Valves, limits: Limits) -> None:
        self._valves = valves
        self.capacities = capacities(valves.tasks, limits)

    def end_min(self, moment: Moment) -> int:
        """Give a minute before which no continuation ends."""
        tasks, now, free = self._valves.tasks, moment.now_min, self._valves.free_min(moment)
        waiting = [station for station, left in enumerate(moment.left) if left]
        chains = [max(free, moment.ready[i]) + tasks[i].chain_min(moment.left[i]) for i in waiting]
        end = max([moment.end_min(), *chains])
        tails = sorted([(tasks[station].tail_min(moment.left[station]), station) for station in waiting], reverse=True)
        for share in self.capacities:
            total = sum((valve_end - now) * share[station] for valve_end, station in moment.running)
            next_ones = 0.0
            for tail, station in tails:
                time = tasks[station].cycle_min * share[station]
                total += moment.left[station] * time
                next_ones += time
                if free + tail + next_ones > end + TOLERANCE_MIN:
                    end = free + tail + ceil(next_ones - TOLERANCE_MIN)
            end = max(end, now + ceil(total - TOLERANCE_MIN))
        return end


def capacities(tasks: tuple[Task, ...], limits: Limits) -> list[list[float]]:
    """Give shares of the night's capacity: those of stations that may run at once never exceed 1 in sum.

    By valves: 1 / valves. By flow: q / limit. And, because two stations of more than half the flow cannot run
    together though their litres would fit, (⌈(k + 1) q / limit⌉ − 1) / k for k = 1, 2, 3: each bracket is less
    than (k + 1) q / limit, so the brackets of stations that run together add up to less than k + 1 and, being
    whole, to at most k.

    Parameters
    ----------
    tasks : tuple of Task
        (S,)
    limits : Limits

    Returns
    -------
    share_fraction : list of lists
        One list of (S,) for each capacity: valves, flow, and the three rounded flows.

    Source: own proof.
    """
    by_valve = [1.0 / limits.max_valves_count] * len(tasks)
    if limits.max_flow_l_min is None:
        return [by_valve]
    flows = [task.flow_l_min / limits.flow_l_min for task in tasks]
    stepped = [[max(ceil((k + 1) * flow) - 1, 0) / k for flow in flows] for k in (1, 2, 3)]
    return [by_valve, flows, *stepped]
