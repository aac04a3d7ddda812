"""The week in a few figures."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.light_runs import LightRun
from etsched.model.plan import Run, WeekPlan
from etsched.tables.figure import Figure, figure, reader_system
from etsched.tables.nights import NightColumn, night_columns
from etsched.tables.volume import Volume, volume
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Totals:
    """Weather, minutes and water of the week, runs by day included; each night's own are in `nights`."""

    eto: Figure
    rain: Figure
    minutes: int
    volume: Volume
    by_day: Volume | None  # of the light runs alone; None where there are none
    nights: tuple[NightColumn, ...]
    stations_run: int
    stations_blocked: int


def totals(plan: WeekPlan, system: UnitSystem | None = None) -> Totals:
    """Add up the week from its first day on."""
    read = reader_system(plan, system)
    runs: list[Run | LightRun] = [run for night in plan.nights for run in night.runs if run.cycles]
    by_day = [run for day in plan.light for run in day.runs]
    runs.extend(by_day)
    blocked = {station.terminal for station in plan.site.stations if station.blocked is not None}
    days = [day for day in plan.days if day.day >= plan.first_day]
    return Totals(
        eto=figure(sum(day.eto_mm for day in days), "mm", read),
        rain=figure(sum(day.rain_mm for day in days), "mm", read),
        minutes=sum(run.length_min for run in runs),
        volume=volume(runs, read, plan.site.water_price),
        by_day=volume(by_day, read, plan.site.water_price) if by_day else None,
        nights=night_columns(plan, read),
        stations_run=len({run.terminal for run in runs} - blocked),
        stations_blocked=len(blocked),
    )
