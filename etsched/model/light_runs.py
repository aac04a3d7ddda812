"""Light runs by day, which keep the top of new seed and new sod moist until its roots reach down."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.days import Night


@dataclass(frozen=True, slots=True)
class LightRun:
    """One short run of one valve, in minutes after the hours by day open."""

    terminal: int
    start_min: int
    length_min: int
    applied_mm: float  # what the whole minutes put down
    credited_mm: float  # what the books of the drier part credit
    flow_l: float | None
    after_fraction: float  # share of the day's ET that has gone before it, as the books count it


@dataclass(frozen=True, slots=True)
class LightDay:
    """One day's light runs in the order of time; `hours` opens on and serves this day."""

    hours: Night
    runs: tuple[LightRun, ...]
    dropped: tuple[tuple[int, int], ...] = ()  # (terminal, runs that these hours do not hold)
