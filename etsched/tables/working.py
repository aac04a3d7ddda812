"""One station's working for one night, step by step, so that every number can be followed to its source."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.plan import NightPlan, Step, WeekPlan
from etsched.model.site import Station
from etsched.tables.assumptions import terminals_text
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.tables.week import StationRow, find_run, week_table
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class WorkingRow:
    """One step, shown one digit finer than in the week's table so that it can be worked by hand."""

    name: str
    formula: str
    value: Figure
    source: str


@dataclass(frozen=True, slots=True)
class WorkingTable:
    """What a station does in a night, the reason in words, and the steps that led there, if it runs."""

    terminal: int
    area: str
    night: str
    outcome: str  # the cell of the week's table, or why the station does not run
    reason: str
    steps: tuple[WorkingRow, ...]


def working_table(plan: WeekPlan, terminal: int, opens_on: date, system: UnitSystem | None = None) -> WorkingTable:
    """Write the working of one station for the night that opens on a day.

    Raises PlanRefused if the property has no such station or the week no such night.
    """
    read = reader_system(plan, system)
    table = week_table(plan, read)
    find_station(plan, terminal)
    row = next(row for row in table.rows if row.terminal == terminal)
    index, night = _night(plan, opens_on)
    run = next((run for run in night.runs if run.terminal == terminal), None)
    return WorkingTable(
        terminal=terminal,
        area=row.area,
        night=table.nights[index].label,
        outcome=_outcome(row, index, plan.nights[index]),
        reason="" if run is None else plain(run.reason),
        steps=() if run is None else tuple(_step(step, read) for step in run.working),
    )


def find_station(plan: WeekPlan, terminal: int) -> Station:
    """Give the station at a terminal; raise PlanRefused with the terminals there are if there is none."""
    for station in plan.site.stations:
        if station.terminal == terminal:
            return station
    known = terminals_text(tuple(sorted(station.terminal for station in plan.site.stations)))
    raise PlanRefused(f"there is no station at terminal {terminal}; this property has {known}")


def _night(plan: WeekPlan, opens_on: date) -> tuple[int, NightPlan]:
    for index, night in enumerate(plan.nights):
        if night.night.opens_on == opens_on:
            return index, night
    nights = ", ".join(day_text(night.night.opens_on) for night in plan.nights) or "none"
    raise PlanRefused(f"no watering night opens on {day_text(opens_on)}; the nights of this week: {nights}")


def _outcome(row: StationRow, index: int, night: NightPlan) -> str:
    cell = row.cells[index]
    if cell is not None:
        return cell.text
    if row.blocked:
        return f"does not run; blocked: {row.blocked}"
    for short in night.shortfalls:
        if short.terminal == row.terminal:
            return f"does not run this night: {short.missing_min} min were wanted; {plain(short.reason)}"
    return "does not run this night: its root zone can wait for the next chance"


def _step(step: Step, system: UnitSystem) -> WorkingRow:
    return WorkingRow(
        name=plain(step.name),
        formula=plain(step.formula),
        value=figure(step.value, step.suffix, system, more_digits=1),
        source=plain(step.source),
    )


def first_night(plan: WeekPlan, terminal: int) -> date | None:
    """Give the opening day of the first night in which a station runs; None where it never does."""
    return next((night.night.opens_on for night in plan.nights if find_run(night, terminal)), None)
