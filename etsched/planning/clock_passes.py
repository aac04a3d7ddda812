"""The programs of an ordinary clock laid out over a week: which valve opens when, one program waiting for another.

A start time belongs to a program and runs all its stations in order. A start that comes before the last run has
finished waits until it has (common practice, no source). Times here are minutes after the true midnight on which
the week begins.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import date, time

    from numpy.typing import NDArray

    from etsched.model.visit import ClockFound, Program

DAY_MIN, WEEK_MIN = 1440, 10080


@dataclass(frozen=True, slots=True)
class Pass:
    """One run of a program through its stations (K,), in minutes after the week's first midnight."""

    program: str
    set_for_min: float
    begins_min: float
    waited_for: str
    terminal: NDArray[np.int64]
    opens_min: NDArray[np.float64]
    length_min: NDArray[np.float64]

    @property
    def ends_min(self) -> float:
        """When its last valve closes."""
        return float(self.opens_min[-1] + self.length_min[-1])


def ahead_min(clock: ClockFound) -> float:
    """Minutes by which the clock's date and time are ahead of the true ones, 0 where nobody compared them."""
    if clock.reads is None or clock.really is None:
        return 0.0
    return (clock.reads - clock.really) / timedelta(minutes=1)


def passes(clock: ClockFound, first_day: date, delay_min: int = 0) -> tuple[Pass, ...]:
    """Lay out the starts of the week and of the one before it, which may still run when the week begins.

    `delay_min` passes between one valve and the next, in the next program too.
    """
    found: list[Pass] = []
    free, busy = -np.inf, ""
    for set_for, order in _starts(clock, first_day):
        program = clock.programs[order]
        terminal, length = stations_of(program)
        waits = free > set_for
        begins = free if waits else set_for
        opens = begins + np.cumsum(length + delay_min) - length - delay_min
        found.append(Pass(program.name, set_for, begins, busy if waits else "", terminal, opens, length))
        free, busy = found[-1].ends_min + delay_min, program.name
    return tuple(found)


def stations_of(program: Program) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Give the terminals of a program that have minutes, in their order, and the minutes after percent adjust.

    Minutes stay as they were found; what percent adjust makes of them is not rounded, because clocks differ there.
    """
    found = {terminal: minutes for terminal, minutes in program.minutes_min.items() if minutes > 0.0}
    length = np.array(list(found.values()), dtype=np.float64) * program.percent_adjust_pct / 100.0
    return np.array(list(found), dtype=np.int64), length


def runs_at_all(program: Program) -> bool:
    """Say whether a program has what a run takes: a start, a day, and minutes."""
    return bool(program.starts and program.days and stations_of(program)[1].sum() > 0.0)


def _starts(clock: ClockFound, first_day: date) -> list[tuple[float, int]]:
    """When each program starts, by true time; the clock's own weekday decides, even where it is wrong."""
    ahead = ahead_min(clock)
    today = int(ahead // DAY_MIN)
    return sorted(
        (day * DAY_MIN + _minute(start) - ahead, order)
        for order, program in enumerate(clock.programs)
        if runs_at_all(program)
        for day in range(today - 7, today + 8)
        if (first_day.weekday() + day) % 7 in program.days
        for start in program.starts
    )


def _minute(wall: time) -> float:
    return wall.hour * 60 + wall.minute + wall.second / 60.0
