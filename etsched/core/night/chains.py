"""What a night is asked to hold, what limits it, and how it was packed."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from etsched.errors import PlanRefused

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Chains:
    """One night's cycles, one chain a station, all (S,): `cycles_count` equal cycles with a soak between two.

    `rank_count` says who is served first when the window is too short, 0 before 1; stations of one rank are
    served by terminal. `flow_l_min` matters only where the flow is limited.
    """

    terminal: NDArray[np.int64]
    cycles_count: NDArray[np.int64]
    cycle_min: NDArray[np.int64]
    soak_min: NDArray[np.int64]
    flow_l_min: NDArray[np.float64]
    rank_count: NDArray[np.int64]

    def __post_init__(self) -> None:
        columns = (self.cycles_count, self.cycle_min, self.soak_min, self.flow_l_min, self.rank_count)
        if any(column.shape != (self.terminal.size,) for column in columns):
            raise PlanRefused("the stations of a night need one number each in every column")
        if np.unique(self.terminal).size != self.terminal.size:
            raise PlanRefused("two stations of a night bear the same terminal")
        wrong = (self.cycles_count < 0) | (self.soak_min < 0) | ((self.cycles_count > 0) & (self.cycle_min < 1))
        if wrong.any():
            raise PlanRefused(
                f"the cycles of terminal {self.terminal[wrong].min()} cannot run: "
                "a cycle takes at least 1 minute, a soak at least 0"
            )


@dataclass(frozen=True, slots=True)
class Limits:
    """What a night may hold: its length, how many valves at once, how much flow at once (None: any)."""

    window_min: int
    max_valves_count: int = 1
    max_flow_l_min: float | None = None

    def __post_init__(self) -> None:
        if self.max_valves_count < 1:
            raise PlanRefused("a night on which no valve may open holds no watering")
        if self.max_flow_l_min is not None and not self.max_flow_l_min > 0.0:
            raise PlanRefused("a night on which no water may flow holds no watering")

    @property
    def flow_l_min(self) -> float:
        """The flow that may run at once. Flows are sums of measured numbers: a limit met exactly is kept to."""
        return inf if self.max_flow_l_min is None else self.max_flow_l_min * (1.0 + 1e-9)


@dataclass(frozen=True, slots=True, eq=False)
class Packing:
    """A packed night, stations in the order they were given.

    `starts_min` holds the start of each placed cycle, station by station; `used_min` is the minute at which the
    last valve closes. No order of all that was asked for ends before `bound_min`, stations beyond the flow limit
    left aside; `dropped_count` (S,) is how many cycles of each station did not fit.
    """

    starts_min: tuple[tuple[int, ...], ...]
    used_min: int
    bound_min: int
    dropped_count: NDArray[np.int64]
