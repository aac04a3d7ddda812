"""One station's working for one night, step by step, so that every number can be followed to its source."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.plan import Step, WeekPlan
from etsched.model.site import Station
from etsched.tables.assumptions import terminals_text
from etsched.tables.clock import night_text
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.tables.rests import rest_text
from etsched.tables.week import find_run, week_table
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
    area = plain(find_station(plan, terminal).area)
    night = next((night for night in plan.nights if night.night.opens_on == opens_on), None)
    run = None if night is None else find_run(night, terminal)
    return WorkingTable(
        terminal=terminal,
        area=area,
        night=day_text(opens_on) if night is None else night_text(night.night),
        outcome=_outcome(plan, terminal, opens_on, read),
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


def _outcome(plan: WeekPlan, terminal: int, opens_on: date, system: UnitSystem) -> str:
    rest = next((rest for rest in plan.rests if (rest.terminal, rest.opens_on) == (terminal, opens_on)), None)
    if rest is not None:
        return f"does not run ({rest.kind}): {rest_text(rest, system)}"
    table = week_table(plan, system)
    row = next(row for row in table.rows if row.terminal == terminal)
    for column, cell in zip(table.nights, row.cells, strict=True):
        if column.opens_on == opens_on and cell is not None:
            return cell.text
    days = sorted({rest.opens_on for rest in plan.rests} | {column.opens_on for column in table.nights})
    nights = f"{day_text(days[0])} to {day_text(days[-1])}"
    raise PlanRefused(f"this week has no night that begins on {day_text(opens_on)}; its nights are {nights}")


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
