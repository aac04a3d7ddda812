"""One station's root zone day by day, from the days before as far as they are known to the end of the week."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from etsched.model.plan import DayWeather, WeekPlan
from etsched.tables.books import BooksRow, books_rows
from etsched.tables.figure import Figure, figure, plain, reader_system, span
from etsched.tables.working import find_station
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class RootZoneRow:
    """One day: its line of the books, its weather, and between which depletions its dusk likely lies."""

    books: BooksRow
    weather: DayWeather
    by_night: Figure  # of the irrigation: what enters before the day's ET
    low: Figure  # at dusk; where no range is known, both ends are what the books say
    high: Figure
    visited: bool

    @property
    def likely(self) -> str:
        """The range as its reader reads it; nothing where it would show one figure twice."""
        return "" if self.low.shown == self.high.shown else span(self.low, self.high)


@dataclass(frozen=True, slots=True)
class RootZoneTable:
    """The days of one station."""

    terminal: int
    area: str
    capacity: Figure  # from full to empty
    rows: tuple[RootZoneRow, ...]
    visits_elsewhere: tuple[date, ...]  # visits on days that the rows do not hold


def root_zone_table(
    plan: WeekPlan, terminal: int, system: UnitSystem | None = None, visits: Sequence[date] = ()
) -> RootZoneTable:
    """Write what fills and empties a station's root zone. Raises PlanRefused if the property has no such station."""
    read = reader_system(plan, system)
    area = plain(find_station(plan, terminal).area)
    lines = [line for line in (*plan.before.books, *plan.books) if line.terminal == terminal]
    weather = {day.day: day for day in (*plan.before.days, *plan.days)}
    ranges = {each.day: each for each in plan.depletion_ranges if each.terminal == terminal}

    def row(books: BooksRow) -> RootZoneRow:
        likely = ranges.get(books.date)
        night_mm = (books.irrigation.value or 0.0) - _by_day_mm(plan, terminal, books.date)
        return RootZoneRow(
            books=books,
            weather=weather[books.date],
            by_night=figure(max(night_mm, 0.0), "mm", read),
            low=figure(likely.low_mm, "mm", read) if likely else books.end,
            high=figure(likely.high_mm, "mm", read) if likely else books.end,
            visited=books.date in visits,
        )

    rows = tuple(row(books) for books in books_rows(lines, read))
    days = {each.books.date for each in rows}
    capacity_mm = max((line.capacity_mm for line in lines), default=None)
    elsewhere = tuple(sorted(day for day in visits if day not in days))
    return RootZoneTable(terminal, area, figure(capacity_mm, "mm", read), rows, elsewhere)


def _by_day_mm(plan: WeekPlan, terminal: int, day: date) -> float:
    """Sum what light runs of new turf put down by day."""
    return math.fsum(
        run.credited_mm
        for light in plan.light
        if light.hours.serves == day
        for run in light.runs
        if run.terminal == terminal
    )
