"""A night as strips of time: one lane a station, one bar a cycle, so that its packing can be seen."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import NightPlan, WeekPlan
from etsched.tables.nights import night_clock
from etsched.units import UnitSystem

_HOUR_MIN = 60


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of the night: where it begins and how long it is, both in percent of the window."""

    left_pct: float
    width_pct: float


@dataclass(frozen=True, slots=True)
class Lane:
    """One station's cycles."""

    terminal: int
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """One night: the full hours after opening with their wall time, and the lanes by first start."""

    ticks: tuple[tuple[float, str], ...]
    lanes: tuple[Lane, ...]


def night_strip(plan: WeekPlan, night: NightPlan, system: UnitSystem) -> Strip:
    """Lay out one night."""
    length, clock = night.night.length_min, night_clock(plan, night, system)
    watering = (run for run in night.runs if run.cycles)
    runs = sorted(watering, key=lambda run: (run.cycles[0].start_min, run.terminal))
    return Strip(
        ticks=tuple((_share(m, length), clock.text(m)) for m in range(0, length, _HOUR_MIN)),
        lanes=tuple(
            Lane(
                run.terminal,
                tuple(Bar(_share(c.start_min, length), _share(c.length_min, length)) for c in run.cycles),
            )
            for run in runs
        ),
    )


def _share(minutes: int, length_min: int) -> float:
    return round(100.0 * minutes / length_min, 3)
