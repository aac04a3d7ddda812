"""What the programs found in a clock deliver in a week, station by station, before anything is changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class ClockStart:
    """One start of a program, in true local time: when it was set to begin, and when it could."""

    program: str
    set_for: datetime
    begins: datetime
    ends: datetime
    waited_for: str = ""  # the program whose run had not finished; "" where nothing stood in its way

    @property
    def pushed_back_min(self) -> float:
        """How long it waited for the run before it."""
        return (self.begins - self.set_for).total_seconds() / 60.0


@dataclass(frozen=True, slots=True)
class StationDelivers:
    """What one station gets in the week. Depths are means over its area."""

    terminal: int
    runs_count: int
    minutes_min: float
    depth_mm: float  # lands; 0 where a fault blocks the station, whatever the clock does
    use_mm: float  # what its turf uses in the same week, unstressed
    kept_mm: float  # of what lands, what does not run off
    of_use_pct: float | None  # kept ÷ use; None in a week without use
    wetted_mm: float  # depth of dried-out soil that the runs of one night bring to field capacity
    runoff_mm: float
    beyond_min: float  # minutes that ran on after the ground could hold no more
    daytime_min: float  # minutes with the sun up
    forbidden_min: float  # minutes outside the allowed hours and days
    volume_l: float | None  # through the valve; None where its flow is not known
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ClockDelivers:
    """The week that a clock makes: its starts in order, its stations in order of terminal."""

    first_day: date
    starts: tuple[ClockStart, ...]
    stations: tuple[StationDelivers, ...]
    ahead_min: float = 0.0  # how far the clock's date and time are ahead of the true ones
    remarks: tuple[str, ...] = ()  # about the clock as a whole
