"""The week's table: one row a station with what to key in for each night, and what in it is a guess."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Literal

from etsched.days import day_text
from etsched.model.plan import MinutesRange, NightPlan, Run, WeekPlan
from etsched.model.site import Station
from etsched.tables.assumptions import AssumptionRow, assumption_table
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.tables.nights import NightColumn, night_clock, night_columns
from etsched.tables.volume import Volume, cost_of, volume
from etsched.units import UnitSystem

# runs: waters at least once · rests: needs nothing · short: needs water, but no night holds any of it ·
# blocked: minutes are worthless until something is mended.
State = Literal["runs", "rests", "short", "blocked"]
MARKS = {
    "*": "some of its figures are guessed, not measured",
    "!": "some of its minutes come a night late or not at all, because a night is too short",
    "x": "blocked: no minutes help until it is mended",
}


@dataclass(frozen=True, slots=True)
class NightCell:
    """What one station does in one night."""

    start: str  # of the first cycle
    starts: tuple[str, ...]
    cycles: str  # minutes: "3 × 8", "12+11+11"
    soak_min: int  # least pause between two cycles, 0 where there is one cycle only
    minutes: int
    depth: Figure  # that the whole minutes put down
    volume: Figure
    cost: Figure | None  # None where no price is stated

    @property
    def soak(self) -> str:
        """The soak in words, nothing where there is one cycle only."""
        return f"soak ≥ {self.soak_min} min" if self.soak_min else ""

    @property
    def text(self) -> str:
        """The whole cell in one line."""
        return ", ".join(part for part in (self.start, f"{self.cycles} min", self.soak) if part)


@dataclass(frozen=True, slots=True)
class StationRow:
    """One station's week; `cells` has one place a night, None where it does not run."""

    terminal: int
    plan_number: str
    area: str
    state: State
    cells: tuple[NightCell | None, ...]
    minutes: int
    depth: Figure
    volume: Volume
    guessed: tuple[str, ...]  # fields nobody measured, the one that moves the minutes most first
    likely: MinutesRange | None  # of the minutes that the week wants
    missing: tuple[int, ...]  # minutes that each night could not hold
    blocked: str  # why no water arrives

    @property
    def missing_min(self) -> int:
        """Minutes that the nights could not hold, added up."""
        return sum(self.missing)

    def state_on(self, index: int) -> State:
        """Say what the station does on one night."""
        if self.blocked:
            return "blocked"
        if self.cells[index] is not None:
            return "runs"
        return "short" if self.missing[index] else "rests"

    @property
    def mark(self) -> str:
        """The signs of `MARKS` that hold for this station."""
        signs = (("x", self.blocked), ("!", self.missing_min), ("*", self.guessed))
        return "".join(sign for sign, holds in signs if holds)

    @property
    def soak_min(self) -> int:
        """The longest of the week's least pauses between two cycles, 0 where no night has two."""
        return max((cell.soak_min for cell in self.cells if cell), default=0)

    @property
    def could_be(self) -> str:
        """The likely range of the week's minutes: `51–90`, nothing where nothing uncertain moves them."""
        if self.likely is None or self.likely.low_min == self.likely.high_min:
            return ""
        return f"{self.likely.low_min}–{self.likely.high_min}"

    @property
    def would_tell(self) -> str:
        """The measurement that would narrow the range most, nothing where none would."""
        return plain(self.likely.measure) if self.likely is not None and self.could_be else ""

    @property
    def short(self) -> str:
        """What its nights could not hold, in words; nothing where all fits."""
        return f"{self.missing_min} min late or left out" if self.missing_min else ""

    @property
    def remark(self) -> str:
        """What a person must know beside the minutes."""
        parts = []
        if self.blocked:
            parts.append(f"blocked: {self.blocked}")
        if self.missing_min:
            parts.append(self.short)
        if self.guessed:
            parts.append(_guesses_text(self.guessed))
        return "; ".join(parts)


@dataclass(frozen=True, slots=True)
class WeekTable:
    """Every station of the property by terminal, blocked ones too, and what holds for each night."""

    site: str
    week: str  # its seven nights by the days they begin on: "Mon Jul 13–Sun Jul 19, 2026"
    system: UnitSystem
    nights: tuple[NightColumn, ...]
    rows: tuple[StationRow, ...]
    minutes: int
    volume: Volume
    currency: str  # of the costs; nothing where no price is stated


def week_table(plan: WeekPlan, system: UnitSystem | None = None) -> WeekTable:
    """Write the plan as the table a manager keys in."""
    read = reader_system(plan, system)
    runs = [run for night in plan.nights for run in night.runs]
    rows = assumption_table(plan, read)
    return WeekTable(
        site=plain(plan.site.name),
        week=_nights_text(plan),
        system=read,
        nights=night_columns(plan, read),
        rows=tuple(
            _row(plan, station, [row for row in rows if station.terminal in row.terminals], read)
            for station in sorted(plan.site.stations, key=lambda station: station.terminal)
        ),
        minutes=sum(run.length_min for run in runs),
        volume=volume(runs, read, plan.site.water_price),
        currency=plan.site.water_price.currency if plan.site.water_price else "",
    )


def _nights_text(plan: WeekPlan) -> str:
    """Name the seven nights by the days they begin on, whether or not a valve may open on each."""
    leads = [night.night.serves - night.night.opens_on for night in plan.nights]
    leads += [rest.serves - rest.opens_on for rest in plan.rests]
    first = plan.first_day - (leads[0] if leads else timedelta(days=1))
    last = first + timedelta(days=6)
    return f"{day_text(first)}–{day_text(last)}, {last.year}"


def _row(plan: WeekPlan, station: Station, assumed: list[AssumptionRow], system: UnitSystem) -> StationRow:
    runs = [find_run(night, station.terminal) for night in plan.nights]
    watering = [run for run in runs if run is not None]
    missing = tuple(
        sum(short.missing_min for short in night.shortfalls if short.terminal == station.terminal)
        for night in plan.nights
    )
    return StationRow(
        terminal=station.terminal,
        plan_number=plain(station.plan_number or ""),
        area=plain(station.area),
        state=_state(station, bool(watering), sum(missing)),
        cells=tuple(
            None if run is None else _cell(plan, night, run, system)
            for night, run in zip(plan.nights, runs, strict=True)
        ),
        minutes=sum(run.length_min for run in watering),
        depth=figure(sum(run.applied_mm for run in watering), "mm", system),
        volume=volume(watering, system, plan.site.water_price),
        guessed=tuple(row.field for row in assumed if row.guessed),
        likely=next((each for each in plan.ranges if each.terminal == station.terminal), None),
        missing=missing,
        blocked="" if station.blocked is None else plain(station.blocked) or "no reason given",
    )


def _state(station: Station, runs: bool, missing_min: int) -> State:
    if station.blocked is not None:
        return "blocked"
    if runs:
        return "runs"
    return "short" if missing_min else "rests"


def _cell(plan: WeekPlan, night: NightPlan, run: Run, system: UnitSystem) -> NightCell:
    clock = night_clock(plan, night, system)
    starts = tuple(clock.text(cycle.start_min) for cycle in run.cycles)
    return NightCell(
        start=starts[0],
        starts=starts,
        cycles=cycles_text(run),
        soak_min=run.soak_min if len(run.cycles) > 1 else 0,
        minutes=run.length_min,
        depth=figure(run.applied_mm, "mm", system),
        volume=figure(run.flow_l, "l", system),
        cost=cost_of(run.flow_l, plan.site.water_price),
    )


def find_run(night: NightPlan, terminal: int) -> Run | None:
    """Give the station's run of a night if it opens its valve at all."""
    return next((run for run in night.runs if run.terminal == terminal and run.cycles), None)


def cycles_text(run: Run) -> str:
    """Write a run's cycles in minutes: `3 × 8`, or `12+11+11` where they differ."""
    lengths = [cycle.length_min for cycle in run.cycles]
    if len(set(lengths)) == 1:
        return f"{len(lengths)} × {lengths[0]}"
    return "+".join(str(length) for length in lengths)


def _guesses_text(fields: tuple[str, ...]) -> str:
    """Name the guess that moves the minutes most, and count the others."""
    if len(fields) == 1:
        return f"guessed: {fields[0]}"
    return f"guessed: {fields[0]} and {len(fields) - 1} more"
