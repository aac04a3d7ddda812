"""When the programs of a clock start: every pass within the window, no two at once, soaks between them as asked.

Times are minutes after the window's opening on a clock whose own time nobody changes in the night. All starts of a
program share its weekdays, and a start past midnight falls on the next weekday; so only a program that waters on
every night of the week may start on both sides of midnight.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from math import ceil, floor
from typing import TYPE_CHECKING, NamedTuple

from etsched.planning.outlook import WEEK_D

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from zoneinfo import ZoneInfo

    from etsched.days import Night

DAY_MIN = 1440
# Starts on five minutes are quicker to key in and to read back, so they are tried first (common practice, no source).
_STEPS_MIN = (5, 1)


class Block(NamedTuple):
    """A program's passes: on which nights, how many, how long with the delay after each, how far apart at least.

    `gaps_min` holds the least pause to a pass of each program, in their order: the soak of a station both run.
    """

    nights: frozenset[int]
    passes_count: int
    length_min: int
    apart_min: int
    gaps_min: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Hours:
    """What is allowed on every night alike: from the first minute to the last, and where midnight lies."""

    opens_at_min: int  # minute of the day on which the window opens
    first_min: int
    last_min: int
    delay_min: int

    @property
    def length_min(self) -> int:
        """Minutes in which valves may be open."""
        return max(self.last_min - self.first_min, 0)

    def sides(self, nights: frozenset[int]) -> tuple[range, ...]:
        """Give the minutes in which a program of these nights may start."""
        midnight = DAY_MIN - self.opens_at_min
        both = range(self.first_min, self.last_min)
        if len(nights) == WEEK_D or midnight not in both:
            return (both,)
        return range(self.first_min, midnight), range(midnight, self.last_min)

    def holds(self, blocks: Sequence[Block]) -> bool:
        """Say whether every night is long enough for the passes alone, whatever their order."""
        room = self.length_min + self.delay_min
        chains = (block.length_min + (block.passes_count - 1) * block.apart_min for block in blocks)
        return max(chains, default=0) <= room and self.overload_min(blocks) == 0

    def overload_min(self, blocks: Sequence[Block]) -> int:
        """Minutes by which the passes of the nights outrun the window, all nights together."""
        room = self.length_min + self.delay_min
        sums = (sum(b.passes_count * b.length_min for b in blocks if night in b.nights) for night in range(WEEK_D))
        return sum(max(each - room, 0) for each in sums)


def hours_of(nights: Iterable[Night | None], opens_at: time, zone: ZoneInfo, delay_min: int) -> Hours:
    """Find the minutes that every night allows, as a clock shows them whose time is set by day, not in the night."""
    spans = [_span(night, opens_at, zone) for night in nights if night is not None]
    first = max((ceil(opens) for opens, _ in spans), default=0)
    last = min((floor(closes) for _, closes in spans), default=0)
    return Hours(opens_at.hour * 60 + opens_at.minute, first, last, delay_min)


def _span(night: Night, opens_at: time, zone: ZoneInfo) -> tuple[float, float]:
    """Opening and closing in minutes after the clock shows the opening time, by the offset of the noon before."""
    noon_day = night.opens_on if opens_at >= time(12) else night.opens_on - timedelta(days=1)
    offset = datetime.combine(noon_day, time(12), zone).utcoffset() or timedelta()
    shows = datetime.combine(night.opens_on, opens_at, UTC) - offset
    return (night.opens - shows) / timedelta(minutes=1), (night.closes - shows) / timedelta(minutes=1)


def start_times(blocks: Sequence[Block], hours: Hours) -> tuple[tuple[int, ...], ...] | None:
    """Give every program its starts, in minutes after opening, so that no start ever waits; None if none are found.

    Programs are set one after another, each pass as early as it may be; several orders are tried, the longest first.
    """
    if not hours.holds(blocks):
        return None
    for step in _STEPS_MIN:
        for order in _orders(blocks):
            found = _in_order(blocks, order, hours, step)
            if found is not None:
                return found
    return None


def _orders(blocks: Sequence[Block]) -> Iterator[tuple[int, ...]]:
    def chain(at: int) -> tuple[int, int]:
        return -blocks[at].length_min - (blocks[at].passes_count - 1) * blocks[at].apart_min, at

    longest_first = tuple(sorted(range(len(blocks)), key=chain))
    for turn in range(len(blocks)):
        yield longest_first[turn:] + longest_first[:turn]


def _in_order(
    blocks: Sequence[Block], order: tuple[int, ...], hours: Hours, step: int
) -> tuple[tuple[int, ...], ...] | None:
    placed: dict[int, tuple[int, ...]] = {}
    for at in order:
        block = blocks[at]
        busy = sorted(
            (start - block.gaps_min[other], start + blocks[other].length_min + block.gaps_min[other])
            for other, starts in placed.items()
            if blocks[other].nights & block.nights
            for start in starts
        )
        tries = (_passes(block, side, busy, hours, step) for side in hours.sides(block.nights))
        found = next((starts for starts in tries if starts is not None), None)
        if found is None:
            return None
        placed[at] = found
    return tuple(placed[at] for at in range(len(blocks)))


def _passes(
    block: Block, side: range, busy: list[tuple[int, int]], hours: Hours, step: int
) -> tuple[int, ...] | None:
    """Set the passes of one program as early as they may be; None where the side or the window ends before them."""
    starts: list[int] = []
    ready = side.start
    for _ in range(block.passes_count):
        start = _free(ready, block.length_min, busy, (hours.opens_at_min, step))
        if start not in side or start + block.length_min > hours.last_min + hours.delay_min:
            return None
        starts.append(start)
        ready = start + block.apart_min
    return tuple(starts)


def _free(ready: int, length: int, busy: list[tuple[int, int]], grid: tuple[int, int]) -> int:
    """First minute of the grid from which so long a pass meets no other."""
    start = _on_grid(ready, grid)
    for begins, ends in busy:
        if start < ends and begins < start + length:
            start = _on_grid(ends, grid)
    return start


def _on_grid(minute: int, grid: tuple[int, int]) -> int:
    opens_at, step = grid
    return minute + (-(opens_at + minute)) % step
