"""One station's working for one night, step by step, so that every number can be followed to its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.plan import NightPlan, Run, Step, WeekPlan
from etsched.model.site import Station
from etsched.planning.working import FIRST_RUNOFF, LONGEST_CYCLE
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
    in_short: str  # what it gets this night and this week, why so split, and what is left out


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
        in_short=" ".join(_in_short(plan, terminal, night, read)),
    )


def _in_short(plan: WeekPlan, terminal: int, night: NightPlan | None, system: UnitSystem) -> Iterator[str]:
    row = next(row for row in week_table(plan, system).rows if row.terminal == terminal)
    run = None if night is None else find_run(night, terminal)
    this_week = f"this week {row.minutes} min ({row.depth.text})"
    if row.blocked:
        yield f"It gets no water until it is mended: {row.blocked}."
        return
    if run is None:
        yield f"It does not run this night; {this_week}." if row.minutes else "It does not run this week."
    else:
        put_down = figure(run.applied_mm, "mm", system).text
        yield f"It runs {run.length_min} min this night, which puts down {put_down} of water; {this_week}."
        yield from _split(run)
    for short in night.shortfalls if night is not None else ():
        if short.terminal == terminal:
            yield f"{short.missing_min} min do not fit this night and are left out: {plain(short.reason)}."


def _split(run: Run) -> Iterator[str]:
    """Say why a run is cut into cycles, by the step of its working that found the longest one."""
    longest = next((step for step in run.working if step.name == LONGEST_CYCLE), None)
    if longest is None or len(run.cycles) == 1:
        return
    seen = " was seen to" if longest.formula == FIRST_RUNOFF else ""
    yield (
        f"It is split into {len(run.cycles)} cycles, because after {longest.value:.3g} min without a pause water"
        f"{seen or ' would'} run off instead of sinking in."
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
