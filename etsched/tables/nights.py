"""The nights of the week: the head of each night's column, and the order of its starts at the controller."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.model.plan import NightPlan, WeekPlan
from etsched.tables.clock import NightClock, night_text
from etsched.tables.figure import NOT_KNOWN, plain, reader_system
from etsched.tables.volume import Volume, volume
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class NightColumn:
    """What holds for a whole night; `minutes` counts valves, `used_min` and `bound_min` the clock."""

    opens_on: date
    serves: date
    label: str  # "Mon Jul 13 into Tue Jul 14"
    window: str  # "10:00 pm–6:00 am"
    length_min: int
    minutes: int
    finishes: str  # wall time of the last valve's closing, a dash where none opens
    used_min: int
    bound_min: int
    volume: Volume

    @property
    def packed(self) -> str:
        """How tightly the night is packed, beside what no order of its cycles and soaks could better."""
        ends = f"{self.label}: the last valve closes {self.used_min} min after opening"
        if self.bound_min > self.used_min:
            return f"{ends}; all that was asked for would need at least {self.bound_min} min."
        return f"{ends}; no order of these cycles and soaks could end before {self.bound_min} min."


@dataclass(frozen=True, slots=True)
class Start:
    """One opening of one valve."""

    start_min: int
    day: str
    start: str
    end: str
    terminal: int
    area: str
    minutes: int
    cycle: str  # "2 of 3"


@dataclass(frozen=True, slots=True)
class NightOrder:
    """One night's starts in the order of time."""

    night: NightColumn
    starts: tuple[Start, ...]


def night_clock(plan: WeekPlan, night: NightPlan, system: UnitSystem) -> NightClock:
    """Give the wall clock of a night of the plan."""
    return NightClock(night.night, plan.site.place.zone, system)


def night_columns(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[NightColumn, ...]:
    """Give the head of every night of the plan, in order."""
    read = reader_system(plan, system)
    return tuple(_column(plan, night, read) for night in plan.nights)


def _column(plan: WeekPlan, night: NightPlan, system: UnitSystem) -> NightColumn:
    clock = night_clock(plan, night, system)
    minutes = sum(run.length_min for run in night.runs)
    return NightColumn(
        opens_on=night.night.opens_on,
        serves=night.night.serves,
        label=night_text(night.night),
        window=clock.window,
        length_min=night.night.length_min,
        minutes=minutes,
        finishes=clock.text(night.used_min) if minutes else NOT_KNOWN,
        used_min=night.used_min,
        bound_min=night.bound_min,
        volume=volume(night.runs, system, plan.site.water_price),
    )


def night_order(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[NightOrder, ...]:
    """List, night by night, every opening of a valve in the order of time."""
    read = reader_system(plan, system)
    return tuple(
        NightOrder(column, _starts(plan, night, read))
        for column, night in zip(night_columns(plan, read), plan.nights, strict=True)
    )


def _starts(plan: WeekPlan, night: NightPlan, system: UnitSystem) -> tuple[Start, ...]:
    clock = night_clock(plan, night, system)
    areas = {station.terminal: plain(station.area) for station in plan.site.stations}
    starts = [
        Start(
            start_min=cycle.start_min,
            day=day_text(clock.local(cycle.start_min).date()),
            start=clock.text(cycle.start_min),
            end=clock.text(cycle.end_min),
            terminal=run.terminal,
            area=areas[run.terminal],
            minutes=cycle.length_min,
            cycle=f"{number} of {len(run.cycles)}",
        )
        for run in night.runs
        for number, cycle in enumerate(run.cycles, start=1)
    ]
    return tuple(sorted(starts, key=lambda start: (start.start_min, start.terminal)))
