"""The best that somebody could have done who knew all weather of a season: least water, then fewest waterings.

One station at a time, a mixed-integer program over the whole season, solved by HiGHS (scipy). Its days are those of
the water books: before the night's water rain that fell ahead of it (none in the seasons, all of it in the virtual
areas), then the night's water, the day's ET in full, then rain that fell behind it. Depletion never passes the
allowable one further than it must: on a day whose ET alone exceeds it, from a full root zone. Watering as often as
every night makes that possible on each day by itself, so that Ks stays 1 on every day the program may choose and
Eq. 84 needs no straight line put in its place.

What it relaxes, all in its favour: depths are any number from the least depth on, not whole minutes; no window, no
flow limit, no neighbour on the same valve; a watering may run over the brim (so that a least depth is never in the
way), which counts as water.

At its end every policy, this one too, is charged the depletion that it leaves as water: all end with a full root zone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

# What one watering costs in the objective. With no season of more than 200 nights, waterings together cost less than
# 0.2 mm of water: less water comes first, and fewer waterings second.
WATERING_MM = 1e-3
NODES_COUNT = 20_000
TRACE_MM = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """One station's season as it will be, (D,) in mm."""

    etc_mm: np.ndarray
    allowable_mm: np.ndarray
    rain_before_mm: np.ndarray
    rain_after_mm: np.ndarray
    start_mm: float
    least_depth_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Best:
    """Depths (D,), their water with the end's depletion, how many waterings, and how far the proof fell short."""

    net_mm: np.ndarray
    spilt_mm: np.ndarray  # rain that the root zone could not hold (D,)
    water_mm: float
    waterings_count: int
    unproved_mm: float
    past_allowable_mm: float


def unavoidable_mm(truth: Truth) -> np.ndarray:
    """Depletion past allowable that no watering avoids: ET of one day beyond it, from a full root zone, (D,)."""
    return np.maximum(truth.etc_mm - truth.allowable_mm, 0.0)


def best(truth: Truth, *, fewest: bool = True) -> Best:
    """Solve one station's season; stopped by nodes and never by the clock.

    Without `fewest` only the least water is asked for, of no least depth, which is a linear program.
    """
    days = len(truth.etc_mm)
    program = _Program(days)
    # Columns of a day: depth, its over-the-brim part, spilt before, spilt after, depletion on the next morning, ran.
    depth, over, before, after, left, ran = (program.block(n) for n in range(6))
    highest = float(np.max(truth.allowable_mm + unavoidable_mm(truth))) + float(np.max(truth.etc_mm))
    carried = np.concatenate([[truth.start_mm], np.zeros(days - 1)])
    allowed = truth.allowable_mm + unavoidable_mm(truth)

    # Depletion after the rain ahead, after the watering, and on the next morning; none of them below nought.
    rained = [(left[:-1], 1.0, 1), (before, 1.0, 0)]
    wetted = [*rained, (depth, -1.0, 0), (over, 1.0, 0)]
    program.between(rained, truth.rain_before_mm - carried, np.inf)
    program.between(wetted, truth.rain_before_mm - carried, allowed - truth.etc_mm + truth.rain_before_mm - carried)
    gone = truth.rain_before_mm + truth.rain_after_mm - truth.etc_mm - carried
    program.between([*wetted, (after, 1.0, 0), (left, -1.0, 0)], gone, gone)
    program.between([(depth, 1.0, 0), (ran, -(highest + truth.least_depth_mm), 0)], -np.inf, 0.0)
    program.between([(depth, 1.0, 0), (ran, -truth.least_depth_mm, 0)], 0.0, np.inf)

    cost = np.zeros(6 * days)
    cost[depth], cost[left[-1]], cost[ran] = 1.0, 1.0, WATERING_MM if fewest else 0.0
    upper = np.full(6 * days, np.inf)
    upper[ran] = 1.0
    solved = milp(
        cost,
        constraints=program.constraint(),
        integrality=np.isin(np.arange(6 * days), ran).astype(int) if fewest else None,
        bounds=Bounds(0.0, upper),
        options={"node_limit": NODES_COUNT, "mip_rel_gap": 1e-6},
    )
    if solved.x is None:
        raise ValueError(f"the clairvoyant found no season: {solved.message}")
    x = solved.x
    watered = x[ran] > 0.5 if fewest else x[depth] > TRACE_MM
    net = np.where(watered, x[depth], 0.0)
    return Best(
        net,
        x[before] + x[after],
        float(net.sum() + x[left[-1]]),
        int(watered.sum()),
        float(solved.fun - solved.mip_dual_bound) if fewest else 0.0,
        float(unavoidable_mm(truth).sum()),
    )


class _Program:
    """Rows of a constraint matrix, a block of `days` rows at a time."""

    def __init__(self, days: int) -> None:
        self.days = days
        self._entries: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        self._low: list[np.ndarray] = []
        self._high: list[np.ndarray] = []

    def block(self, number: int) -> np.ndarray:
        """Columns of the days of one kind of variable."""
        return np.arange(number * self.days, (number + 1) * self.days)

    def between(self, terms: list[tuple[np.ndarray, float, int]], low: np.ndarray | float, high: np.ndarray | float):
        """One row a day: the sum of columns times factors, each from its day on (`first`), lies between two values."""
        top = len(self._low) * self.days
        for columns, factor, first in terms:
            rows = top + first + np.arange(len(columns))
            self._entries.append((rows, columns, np.full(len(columns), factor)))
        self._low.append(np.broadcast_to(np.asarray(low, dtype=float), self.days))
        self._high.append(np.broadcast_to(np.asarray(high, dtype=float), self.days))

    def constraint(self) -> LinearConstraint:
        """Everything said so far."""
        rows, columns, values = (np.concatenate(part) for part in zip(*self._entries, strict=True))
        shape = (len(self._low) * self.days, 6 * self.days)
        matrix = coo_array((values, (rows, columns)), shape=shape).tocsr()
        return LinearConstraint(matrix, np.concatenate(self._low), np.concatenate(self._high))
