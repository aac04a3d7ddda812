"""Where numbers and days lie on a sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from itertools import count

# Between two ticks, so that their figures have room on a small screen too.
LEAST_STEP_PX = 24.0


@dataclass(frozen=True, slots=True)
class Axis:
    """An upright axis from a first to a last round number, in the reader's unit; it may run up or down."""

    ticks: tuple[float, ...]
    decimals: int
    first_px: float
    last_px: float

    def y(self, number: float) -> float:
        """Give the height of a number on the sheet."""
        share = (number - self.ticks[0]) / (self.ticks[-1] - self.ticks[0])
        return self.first_px + share * (self.last_px - self.first_px)

    def text(self, tick: float) -> str:
        """Write a tick with the decimals of its step: 0.05 beside 0.10, 80 beside 100."""
        return f"{tick:.{self.decimals}f}"


def round_axis(low: float, high: float, first_px: float, last_px: float) -> Axis:
    """Lay an axis over `low` to `high`, which differ, in the least step of 1, 2 or 5 × 10ⁿ whose ticks have room."""
    most = max(1, int(abs(last_px - first_px) // LEAST_STEP_PX))
    for power in count(math.floor(math.log10((high - low) / most))):
        for unit in (1, 2, 5):
            # Division by a whole power of ten gives the float nearest to the round number, multiplication may not.
            step = unit * 10**power if power >= 0 else unit / 10**-power
            first, last = math.floor(round(low / step, 9)), math.ceil(round(high / step, 9))
            if last - first <= most:
                ticks = tuple(_tick(number * unit, power) for number in range(first, last + 1))
                return Axis(ticks, max(0, -power), first_px, last_px)
    raise AssertionError("a larger step always needs fewer ticks")  # pragma: no cover


def _tick(number: int, power: int) -> float:
    return float(number * 10**power) if power >= 0 else number / 10**-power


@dataclass(frozen=True, slots=True)
class DayAxis:
    """Days side by side from a first one on, each in a slot of the same width."""

    first: date
    days: int
    left_px: float
    width_px: float

    @property
    def slot_px(self) -> float:
        """Width of a day."""
        return self.width_px / self.days

    def begin(self, day: date) -> float:
        """Give the left edge of a day."""
        return self.left_px + (day - self.first).days * self.slot_px

    def middle(self, day: date) -> float:
        """Give the middle of a day."""
        return self.begin(day) + self.slot_px / 2
