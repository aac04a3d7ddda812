"""By day: the light runs of new seed and new sod, a row a station and day, with the times of the wall clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.model.light_runs import LightRun
from etsched.model.plan import WeekPlan
from etsched.tables.clock import NightClock
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.tables.volume import Volume, volume
from etsched.units import UnitSystem

LIGHT_TITLE = "By day: new seed and sod"


@dataclass(frozen=True, slots=True)
class LightRow:
    """One station's light runs of one day; all are equally long."""

    day: date
    label: str  # "Tue Jul 14"
    terminal: int
    plan_number: str
    area: str
    starts: tuple[str, ...]
    each_min: int
    minutes: int
    depth: Figure  # that all runs of the day put down
    volume: Volume


def light_table(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[LightRow, ...]:
    """List the light runs of the week by day and terminal; no rows where there are none."""
    read = reader_system(plan, system)
    rows = []
    for day in plan.light:
        clock = NightClock(day.hours, plan.site.place.zone, read)
        for terminal in sorted({run.terminal for run in day.runs}):
            runs = [run for run in day.runs if run.terminal == terminal]
            rows.append(_row(plan, day.hours.serves, runs, tuple(clock.text(run.start_min) for run in runs), read))
    return tuple(rows)


def _row(plan: WeekPlan, day: date, runs: list[LightRun], starts: tuple[str, ...], system: UnitSystem) -> LightRow:
    station = next(each for each in plan.site.stations if each.terminal == runs[0].terminal)
    return LightRow(
        day=day,
        label=day_text(day),
        terminal=station.terminal,
        plan_number=plain(station.plan_number or ""),
        area=plain(station.area),
        starts=starts,
        each_min=runs[0].length_min,
        minutes=sum(run.length_min for run in runs),
        depth=figure(sum(run.applied_mm for run in runs), "mm", system),
        volume=volume(runs, system, plan.site.water_price),
    )
