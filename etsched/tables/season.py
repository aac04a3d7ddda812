"""A season week by week: weather, minutes, water, and how often the turf went dry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from etsched.days import day_text
from etsched.model.plan import Run, WeekPlan
from etsched.tables.figure import Figure, figure, reader_system
from etsched.tables.volume import Volume, volume
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class SeasonRow:
    """One week, or all of them together."""

    week: str
    eto: Figure
    rain: Figure
    minutes: int
    waterings: int  # station-nights that ran
    depth: Figure  # mean over the stations that can run
    volume: Volume
    dry_days: int  # station-days that ended past the allowable depletion
    missing_min: int  # that no night could hold


@dataclass(frozen=True, slots=True)
class SeasonTable:
    """Every week in order, and the whole season."""

    rows: tuple[SeasonRow, ...]
    total: SeasonRow


def season_table(plans: Sequence[WeekPlan], system: UnitSystem | None = None) -> SeasonTable:
    """Add up each week of a season, and the season; `plans` holds at least one week."""
    read = reader_system(plans[0], system)
    rows = tuple(_row([plan], day_text(plan.first_day), read) for plan in plans)
    return SeasonTable(rows, _row(plans, "season", read))


def _row(plans: Sequence[WeekPlan], name: str, system: UnitSystem) -> SeasonRow:
    days = [day for plan in plans for day in plan.days]
    nights = [night for plan in plans for night in plan.nights]
    runs: list[Run] = [run for night in nights for run in night.runs]
    able = {station.terminal for station in plans[0].site.stations if station.blocked is None}
    return SeasonRow(
        week=name,
        eto=figure(sum(day.eto_mm for day in days), "mm", system),
        rain=figure(sum(day.rain_mm for day in days), "mm", system),
        minutes=sum(run.length_min for run in runs),
        waterings=len(runs),
        depth=figure(sum(run.applied_mm for run in runs) / len(able) if able else None, "mm", system),
        volume=volume(runs, system, plans[0].site.water_price),
        dry_days=sum(
            line.end_mm > line.allowable_mm + 1e-9 and line.terminal in able for plan in plans for line in plan.books
        ),
        missing_min=sum(short.missing_min for night in nights for short in night.shortfalls),
    )
